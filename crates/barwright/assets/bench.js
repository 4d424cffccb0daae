// Adds to the page's plain forms: dropping a recording, answers without a new page, a live refresh.
// Everything here can be left out; the forms then post and the page comes anew.

const every = 10000; // milliseconds between looks at the bench; changes are told at once
const largest = 64 * 1024 * 1024; // bytes; the program refuses more
let busy = false;

const main = () => document.getElementById("main");
const say = (words) => {
  const line = document.getElementById("progress");
  if (line && line.textContent !== words) line.textContent = words;
};

// Puts the page's new main part in place of the old one; what was folded stays folded.
function show(text, done = "") {
  const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("main");
  if (!fresh || !main()) return;
  const folds = new Map([...main().querySelectorAll("details[id]")].map((d) => [d.id, d.open]));
  const focused = document.activeElement && document.activeElement.id;
  const struck = document.querySelector("input[name=struck]:checked");
  // What is being typed stays: passes as long as they are about the same advice, a thickness until it is entered.
  const typed = new Map(["passes", "caliper-at", "caliper-thickness"].map((id) => [id, document.getElementById(id)?.value]));
  const advice = document.querySelector("[name=revision]")?.value;
  const along = document.getElementById("queue")?.scrollLeft ?? 0;
  // The microphone's parts are alive: they stay as they are.
  for (const alive of main().querySelectorAll("[data-keep]")) fresh.querySelector(`#${alive.id}`)?.replaceWith(alive);
  main().replaceWith(document.adoptNode(fresh));
  for (const [id, open] of folds) {
    const fold = document.getElementById(id);
    if (fold && !fold.dataset.remember && !("keep" in fold.dataset)) fold.open = open;
  }
  if (struck) {
    const again = document.querySelector(`input[name=struck][value="${struck.value}"]`);
    if (again) again.checked = true;
  }
  for (const [id, value] of typed) {
    const again = document.getElementById(id);
    const stays = id === "passes" ? advice === document.querySelector("[name=revision]")?.value : done !== "caliper";
    if (again && value && stays) again.value = value;
  }
  if (document.getElementById("queue")) document.getElementById("queue").scrollLeft = along;
  document.dispatchEvent(new Event("renewed"));
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  recall();
}

// Cautions that were folded away stay so until they say something else.
function recall() {
  for (const fold of document.querySelectorAll("details[data-remember]")) {
    const key = `folded:${fold.id}`;
    try {
      if (localStorage.getItem(key) === fold.dataset.remember) fold.open = false;
      fold.addEventListener("toggle", () => {
        if (fold.open) localStorage.removeItem(key);
        else localStorage.setItem(key, fold.dataset.remember);
      });
    } catch {
      // Without storage they simply open again.
    }
  }
}

async function send(form, body, words) {
  if (busy) return;
  busy = true;
  const began = Date.now();
  const count = () => say(`${words} ${Math.round((Date.now() - began) / 1000)} s`);
  const clock = words ? setInterval(count, 1000) : 0;
  if (words) count();
  try {
    const answer = await fetch(form.action, { method: "POST", body });
    show(await answer.text(), form.id);
    document.getElementById("notice")?.scrollIntoView({ block: "nearest" });
  } catch {
    say("The program did not answer. Is it still running? Nothing was entered as far as this page knows.");
  } finally {
    clearInterval(clock);
    busy = false;
  }
}

function listen(form, file) {
  const body = new FormData(form);
  if (file) body.set("take", file);
  const take = body.get("take");
  if (!take || !take.size) return say("Choose a recording first.");
  if (take.size > largest) return say("This recording is larger than 64 MiB. Send one take with a few blows; ten seconds are plenty.");
  return send(form, body, "Listening…");
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  // Filters are questions, not entries: the browser asks them itself.
  if (form.method === "get") return;
  // A photograph or a new blank leads on to a page of its own, with the browser's own progress.
  if (form.id === "send" || "leadsOn" in form.dataset) return;
  event.preventDefault();
  if (form.id === "strike") listen(form);
  // The button that was pressed says what is wanted, where there are several.
  else send(form, new URLSearchParams(new FormData(form, event.submitter)), form.dataset.words ?? "");
});

document.addEventListener("click", (event) => {
  const step = event.target.closest?.("[data-step]");
  const count = document.getElementById("passes");
  if (!step || !count) return;
  event.preventDefault();
  count.value = Math.min(200, Math.max(1, (parseInt(count.value, 10) || 1) + Number(step.dataset.step)));
});

// Any key is the main action, so that any foot switch will do; but not in a field, and not figures: a caliper with a
// cable types those, and they belong into its field.
const field = (element) => element.matches?.("input:not([type=radio], [type=checkbox]), select, textarea, button, a, summary");
document.addEventListener("keydown", (event) => {
  if (event.defaultPrevented || event.repeat || event.ctrlKey || event.altKey || event.metaKey || field(event.target)) return;
  if (/^[0-9]$/.test(event.key)) {
    const fold = document.getElementById("caliper-fold");
    const thickness = document.getElementById("caliper-thickness");
    if (!fold || !thickness) return;
    fold.open = true;
    thickness.value = "";
    thickness.focus();
    return; // the figure itself goes into the field by the browser's own hand
  }
  const step = { "+": "1", "-": "-1" }[event.key];
  if (step) document.querySelector(`[data-step="${step}"]`)?.click();
  else if (event.key.length === 1 || ["Enter", "PageDown", "PageUp"].includes(event.key)) document.querySelector("[data-main]")?.click();
  else return;
  event.preventDefault();
});

// The number pad types into the field last used.
let padded = "caliper-thickness";
document.addEventListener("focusin", (event) => {
  if (event.target.matches?.("[data-pad]")) padded = event.target.id;
});
document.addEventListener("click", (event) => {
  const key = event.target.closest?.("[data-key]")?.dataset.key;
  const into = key && document.getElementById(padded);
  if (!into) return;
  into.value = key === "⌫" ? into.value.slice(0, -1) : into.value + key;
});

// Links that look like buttons answer to the space bar as buttons do.
document.addEventListener("keydown", (event) => {
  if (event.key === " " && event.target.matches?.("a[role=button]")) {
    event.preventDefault();
    event.target.click();
  }
});

const zone = () => document.querySelector(".drop");
const hasFile = (event) => event.dataTransfer && [...event.dataTransfer.types].includes("Files");
document.addEventListener("dragover", (event) => {
  if (!hasFile(event)) return;
  event.preventDefault();
  zone()?.classList.add("over");
});
document.addEventListener("dragleave", (event) => {
  if (!event.relatedTarget) zone()?.classList.remove("over");
});
document.addEventListener("drop", (event) => {
  if (!hasFile(event)) return;
  event.preventDefault();
  zone()?.classList.remove("over");
  const form = document.getElementById("strike");
  if (form && event.dataTransfer.files.length) listen(form, event.dataTransfer.files[0]);
});

// A look at the bench: shows what another page, another program, or this one has changed.
async function look() {
  const here = main();
  if (busy || document.hidden || !here?.dataset.version) return;
  try {
    const pulse = await (await fetch(`/bench/${here.dataset.bench}/api/pulse`)).json();
    if (busy) return;
    say(pulse.listening > 0 || pulse.version === null ? "The bench is listening…" : "");
    if (pulse.version !== null && String(pulse.version) !== main().dataset.version) await fresh();
  } catch {
    // The program was stopped; the page stays readable.
  }
}

// The page as it is now, without leaving it. Changes that come meanwhile are fetched once more, if they are not in it.
let wanted = "";
let fetching = false;
async function fresh(version = "?") {
  // A form that is being filled in stays as it is.
  if ("still" in (main()?.dataset ?? {})) return;
  wanted = version;
  if (busy || fetching) return;
  fetching = true;
  try {
    do {
      wanted = "";
      const text = await (await fetch(location.pathname + location.search)).text();
      if (busy) return;
      show(text);
    } while (wanted && wanted !== main()?.dataset.version);
  } catch {
    // The program was stopped; the page stays readable.
  } finally {
    fetching = false;
  }
}

// The program tells what changes, wherever it was changed; the look now and then is for what it cannot tell.
let wait = 500; // milliseconds until the line is tried again
function line() {
  if (!main()) return;
  const changes = new WebSocket(`${location.origin.replace(/^http/, "ws")}/changes`);
  changes.onopen = () => {
    wait = 500;
    look();
  };
  changes.onmessage = (message) => {
    const change = JSON.parse(message.data);
    const here = main()?.dataset;
    if (!here) return;
    // The list of all bars has no version of its own.
    const other = here.bench && change.bench && change.bench !== here.bench;
    if (other || (here.version && String(change.version) === here.version)) return;
    fresh(String(change.version));
  };
  changes.onclose = () => {
    revoked();
    setTimeout(line, wait);
    wait = Math.min(2 * wait, 8000);
  };
}

// A phone whose leave was taken learns it when its line closes: the page it shows is not the workshop's any more.
async function revoked() {
  if (!location.protocol.startsWith("https")) return;
  const answer = await fetch("/assets/bench.js", { method: "HEAD", cache: "no-store" }).catch(() => null);
  if (answer?.status === 401) location.assign("/pair");
}

// The age of the reading stays true while the page stays open.
function ages() {
  for (const time of document.querySelectorAll("time[data-age]")) {
    const seconds = (Date.now() - Date.parse(time.dateTime)) / 1000;
    if (seconds >= 60 && seconds < 5400) time.textContent = `${Math.floor(seconds / 60)} min ago`;
  }
}

// Bars cool while the page lies there: the minutes left stay true without touching what is being typed.
async function minutes() {
  if (busy || document.hidden || !main()) return;
  if (!main().dataset.bench) return void fresh();
  if (!document.getElementById("queue")) return;
  try {
    const text = await (await fetch(location.pathname)).text();
    const queue = new DOMParser().parseFromString(text, "text/html").getElementById("queue");
    const old = document.getElementById("queue");
    if (!queue || !old || busy) return;
    const at = old.scrollLeft;
    old.replaceWith(document.adoptNode(queue));
    queue.scrollLeft = at;
  } catch {
    // The program was stopped.
  }
}

// The bar at hand stands in the middle of the strip.
document.querySelector(".queue-bar.here")?.scrollIntoView({ inline: "center", block: "nearest" });

recall();
line();
setInterval(minutes, 60000);
setInterval(look, every);
setInterval(ages, 15000);
