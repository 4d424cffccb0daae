// Adds to the page's plain forms: dropping a recording, answers without a new page, a live refresh.
// Everything here can be left out; the forms then post and the page comes anew.

const every = 2000; // milliseconds between looks at the bench
const largest = 64 * 1024 * 1024; // bytes; the program refuses more
let busy = false;

const main = () => document.getElementById("main");
const say = (words) => {
  const line = document.getElementById("progress");
  if (line && line.textContent !== words) line.textContent = words;
};

// Puts the page's new main part in place of the old one; what was folded stays folded.
function show(text) {
  const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("main");
  if (!fresh || !main()) return;
  const folds = new Map([...main().querySelectorAll("details[id]")].map((d) => [d.id, d.open]));
  const focused = document.activeElement && document.activeElement.id;
  const struck = document.querySelector("input[name=struck]:checked");
  main().replaceWith(document.adoptNode(fresh));
  for (const [id, open] of folds) {
    const fold = document.getElementById(id);
    if (fold && !fold.dataset.remember) fold.open = open;
  }
  if (struck) {
    const again = document.querySelector(`input[name=struck][value="${struck.value}"]`);
    if (again) again.checked = true;
  }
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  recall();
}

// Cautions that were folded away stay so until they say something else.
function recall() {
  for (const fold of document.querySelectorAll("details[data-remember]")) {
    const key = `folded:${fold.id}`;
    try {
      if (sessionStorage.getItem(key) === fold.dataset.remember) fold.open = false;
      fold.addEventListener("toggle", () => {
        if (fold.open) sessionStorage.removeItem(key);
        else sessionStorage.setItem(key, fold.dataset.remember);
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
    show(await answer.text());
    document.getElementById("notice")?.scrollIntoView({ block: "center" });
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
  event.preventDefault();
  if (form.id === "strike") listen(form);
  else send(form, new URLSearchParams(new FormData(form)), "");
});

document.addEventListener("click", (event) => {
  const step = event.target.closest?.("[data-step]");
  const count = document.getElementById("passes");
  if (!step || !count) return;
  event.preventDefault();
  count.value = Math.min(200, Math.max(1, (parseInt(count.value, 10) || 1) + Number(step.dataset.step)));
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

// A look at the bench: shows what another page, or the program itself, has changed.
async function look() {
  if (busy || document.hidden || !main()?.dataset.version) return;
  try {
    const pulse = await (await fetch("/api/pulse")).json();
    if (busy) return;
    say(pulse.listening > 0 || pulse.version === null ? "The bench is listening…" : "");
    if (pulse.version !== null && String(pulse.version) !== main().dataset.version) {
      const text = await (await fetch("/")).text();
      if (!busy) show(text);
    }
  } catch {
    // The program was stopped; the page stays readable.
  }
}

recall();
setInterval(look, every);
