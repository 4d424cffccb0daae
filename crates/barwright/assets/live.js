// The microphone: armed once, then every blow is heard by the program and answered over the whole screen.
// Frames that the program has not settled are kept, so that a broken line neither loses a blow nor doubles one.

const shown = 1100; // milliseconds an answer fills the screen
const most = 30; // seconds of sound kept while the line is broken
const byId = (id) => document.getElementById(id);

let sound = null; // the open microphone: context, stream, node, rate
let socket = null;
let held = []; // frames not settled yet: { first, samples }
let next = 0; // number of the next sample
let sent = 0; // number of the next sample to send
let ready = false; // whether the program has said where to go on
let session = "";
let wait = 300; // milliseconds until the line is tried again
let lastLevel = 0;

const tell = (words, hint = "", tone = "") => {
  const line = byId("ear-words");
  if (!line) return;
  if (line.textContent !== words) line.textContent = words;
  line.dataset.tone = tone;
  if (byId("ear-hint").textContent !== hint) byId("ear-hint").textContent = hint;
};

// Words for everything that can keep a microphone from us.
function refusal(error) {
  switch (error.name) {
    case "NotAllowedError":
      return ["The microphone was refused.", "Allow it for this page in the browser's address line, then arm again. Or drop a recording below."];
    case "NotFoundError":
    case "OverconstrainedError":
      return ["No microphone was found.", "Plug one in, or choose another one, then arm again."];
    case "NotReadableError":
      return ["The microphone is in use by another program.", "Close that program, then arm again."];
    default:
      return [`The microphone could not be opened (${error.name || error}).`, "Try another one, or drop a recording below."];
  }
}

// What the browser was asked to leave off, and did not.
function kept(settings) {
  const names = { echoCancellation: "echo cancellation", noiseSuppression: "noise suppression", autoGainControl: "automatic gain" };
  return Object.keys(names).filter((key) => settings[key] === true).map((key) => names[key]);
}

async function arm() {
  if (sound) return;
  if (!window.isSecureContext || !navigator.mediaDevices) {
    tell("This page may not use the microphone here.", "Browsers give it only to pages on this computer (127.0.0.1 or localhost) or over HTTPS. Drop a recording instead.", "caution");
    return;
  }
  tell("Opening the microphone…");
  try {
    const device = byId("ear-device")?.value;
    const off = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: { ideal: 1 } };
    const stream = await navigator.mediaDevices.getUserMedia({ audio: device ? { ...off, deviceId: { exact: device } } : off });
    const settings = stream.getAudioTracks()[0].getSettings();
    // At the microphone's own rate nothing is resampled on the way.
    const context = new AudioContext(settings.sampleRate ? { sampleRate: settings.sampleRate } : {});
    await context.audioWorklet.addModule("/assets/ear.js");
    const node = new AudioWorkletNode(context, "ear", { numberOfOutputs: 0, channelCount: 1, channelCountMode: "explicit" });
    context.createMediaStreamSource(stream).connect(node);
    await context.resume();
    sound = { context, stream, node, doubts: kept(settings) };
    session = [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    [held, next, sent, ready] = [[], 0, 0, false];
    node.port.onmessage = (message) => frame(message.data);
    stream.getAudioTracks()[0].onended = () => {
      disarm();
      tell("The microphone is gone.", "Plug it in and arm again.", "caution");
    };
    connect();
    await devices(settings.deviceId);
    keepAwake();
    state();
  } catch (error) {
    sound = null;
    tell(...refusal(error), "caution");
    state();
  }
}

function disarm() {
  if (!sound) return;
  if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify({ finish: true }));
  sound.node.port.onmessage = null;
  for (const track of sound.stream.getTracks()) track.stop();
  sound.context.close();
  sound = null;
  const closing = socket;
  socket = null;
  setTimeout(() => closing?.close(), 500);
  tell("The microphone is off.");
  state();
}

function frame(samples) {
  held.push({ first: next, samples });
  next += samples.length;
  const limit = next - most * sound.context.sampleRate;
  while (held.length && held[0].first < limit) held.shift();
  send();
}

function send() {
  if (!ready || socket?.readyState !== WebSocket.OPEN) return;
  // Beyond a second of unsent bytes the line is as good as broken: the frames wait here, not there.
  for (const { first, samples } of held) {
    if (first < sent || socket.bufferedAmount > 400000) continue;
    const bytes = new ArrayBuffer(8 + 4 * samples.length);
    const view = new DataView(bytes);
    view.setBigUint64(0, BigInt(first), true);
    samples.forEach((sample, index) => view.setFloat32(8 + 4 * index, sample, true));
    socket.send(bytes);
    sent = first + samples.length;
  }
}

const told = () => ({
  struck: byId("ear-struck")?.value ?? "",
  recorder: byId("ear-recorder")?.value ?? "",
  temperature_c: parseFloat((byId("ear-temperature")?.value ?? "").replace(",", ".")) || null,
});

function connect() {
  const bench = byId("main")?.dataset.bench;
  if (!sound || !bench) return;
  const line = new WebSocket(`${location.origin.replace(/^http/, "ws")}/live/${bench}`);
  socket = line;
  ready = false;
  line.onopen = () => {
    line.send(JSON.stringify({ session, rate: sound.context.sampleRate, first: held[0]?.first ?? next, ...told() }));
  };
  line.onmessage = (message) => hear(JSON.parse(message.data));
  line.onclose = () => {
    ready = false;
    if (!sound || socket !== line) return;
    tell("The line to the program is broken. Blows are kept and sent when it is back.", "", "caution");
    setTimeout(connect, wait);
    wait = Math.min(2 * wait, 4000);
  };
}

function hear(said) {
  switch (said.type) {
    case "go":
      wait = 300;
      // From the frame that holds the sample wanted; what came already is left out there.
      sent = held.find((one) => one.first + one.samples.length > said.from)?.first ?? next;
      ready = true;
      send();
      break;
    case "level":
      while (held.length && held[0].first + held[0].samples.length <= said.safe) held.shift();
      level(said);
      break;
    case "answer":
      answer(said);
      break;
    case "entered":
      tell("Entered.", said.whole ? "" : "Strike again for what is missing.");
      break;
    case "lost":
      tell(`${said.seconds.toFixed(1)} s of sound were lost while the line was broken.`, "Strike again.", "caution");
      break;
    case "refused":
      tell(said.message, said.hint, "caution");
      break;
    default:
  }
}

// The level as a plain bar of the drawing, its full length at full scale, 60 dB long.
function level(said) {
  lastLevel = Date.now();
  const share = said.peak > 0 ? Math.max(0, Math.min(1, 1 + Math.log10(said.peak) / 3)) : 0;
  byId("ear-level")?.setAttribute("width", String(Math.round(200 * share)));
  const word = byId("ear-state");
  const names = { armed: "Strike", struck: "Listening…", ringing: "Ringing…" };
  if (word && word.textContent !== names[said.state]) word.textContent = names[said.state];
  byId("ear")?.setAttribute("data-state", said.state);
  if (said.state !== "armed") return;
  const kept = sound?.doubts ?? [];
  if (kept.length) tell(`The browser keeps ${kept.join(" and ")} on: readings may be off.`, "Use another browser or a plain microphone.", "caution");
  else if (said.doubts.length) tell(said.doubts[0].message, said.doubts[0].hint, "caution");
  else if (byId("ear-words")?.dataset.tone === "caution") tell("");
}

// Two knocks enter the planned cut, if the maker has chosen so: no clean finger is needed. Only the cut, never the
// arming, and Undo stands beside it.
const apart = [0.5, 2.5]; // seconds between the two
let knocked = -Infinity; // number of the first knock's sample
function knock(at) {
  const cut = byId("i-cut-it");
  if (!byId("ear-knock")?.checked || !cut) return false;
  const seconds = (at - knocked) / sound.context.sampleRate;
  if (seconds >= apart[0] && seconds <= apart[1]) {
    knocked = -Infinity;
    tell("Two knocks: the cut is entered.");
    cut.click();
  } else {
    knocked = at;
    tell("One knock. Knock again to enter the cut.");
  }
  return true;
}

let flashed = -1; // sample number of the blow whose answer was shown
let hide = 0;
function answer(said) {
  if (said.knock && knock(said.at)) return;
  // Later answers to the same blow refine it; the screen is filled once, or again if the verdict changed.
  const flash = byId("flash");
  if (flash && !(flashed === said.at && flash.dataset.verdict === said.verdict)) {
    flashed = said.at;
    flash.dataset.verdict = said.verdict;
    byId("flash-word").textContent = said.word;
    byId("flash-why").textContent = said.why;
    const sketch = byId(`shape-${said.verdict}`);
    if (sketch) byId("flash-shape").replaceChildren(sketch.content.cloneNode(true));
    flash.hidden = false;
    clearTimeout(hide);
    hide = setTimeout(() => { flash.hidden = true; }, shown);
  }
  if (said.verdict !== "heard") tell(`${said.word}: ${said.why}`, "", "caution");
  else tell(`Heard: ${said.why}`);
}

function state() {
  const armed = Boolean(sound);
  document.documentElement.toggleAttribute("data-armed", armed);
  const button = byId("ear-arm-word");
  if (button) button.textContent = armed ? "Off" : "Arm";
  byId("ear-arm")?.setAttribute("aria-label", armed ? "Switch the microphone off" : "Arm the microphone");
  const word = byId("ear-state");
  if (word && armed && word.textContent === "Microphone off") word.textContent = "Strike";
  if (word && !armed) word.textContent = "Microphone off";
  byId("ear")?.setAttribute("data-state", armed ? "armed" : "off");
  if (!armed) byId("ear-level")?.setAttribute("width", "0");
}

async function devices(current) {
  const list = byId("ear-device");
  if (!list || !navigator.mediaDevices) return;
  const inputs = (await navigator.mediaDevices.enumerateDevices()).filter((one) => one.kind === "audioinput" && one.deviceId);
  if (!inputs.length) return;
  const chosen = current || list.value;
  list.replaceChildren(...inputs.map((one, index) => new Option(one.label || `microphone ${index + 1}`, one.deviceId, false, one.deviceId === chosen)));
}

async function keepAwake() {
  try {
    await navigator.wakeLock?.request("screen");
  } catch {
    // The tablet then dims as it likes.
  }
}

document.addEventListener("click", (event) => {
  if (event.target.closest?.("[data-arm]")) {
    event.preventDefault();
    if (sound && event.target.closest("#ear-arm")) disarm();
    else arm();
  }
});
document.addEventListener("change", (event) => {
  if (event.target.id === "ear-device" && sound) {
    disarm();
    arm();
  } else if (event.target.closest?.("#ear-more") && socket?.readyState === WebSocket.OPEN) {
    socket.send(JSON.stringify(told()));
  }
});
document.addEventListener("visibilitychange", () => {
  if (document.hidden || !sound) return;
  sound.context.resume();
  keepAwake();
});
byId("flash")?.addEventListener("click", () => { byId("flash").hidden = true; });
const knocking = byId("ear-knock");
if (knocking) {
  knocking.checked = localStorage.getItem("knock") === "yes";
  knocking.addEventListener("change", () => localStorage.setItem("knock", knocking.checked ? "yes" : "no"));
}
document.addEventListener("renewed", state);
setInterval(() => {
  if (sound && Date.now() - lastLevel > 3000 && socket?.readyState === WebSocket.OPEN) tell("No sound comes from the microphone.", "Touch the page, or choose another microphone.", "caution");
}, 3000);

state();
