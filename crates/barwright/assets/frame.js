// Rails follow the finger: a ring moves one end of a rail, the program says what that does to every bar. Without this the
// figures are typed and kept.
const form = () => document.getElementById("rails");
const live = () => document.getElementById("frame-live");
const figure = (handle) => document.getElementById(`y-${handle}`);
const number = (input) => Number(input.value.trim().replace(",", ".").replace("−", "-"));

// One question at a time; the last one asked meanwhile follows.
let asking = false;
let again = false;
async function tried() {
  if (!form()) return;
  if (asking) return void (again = true);
  asking = true;
  do {
    again = false;
    try {
      const asked = new URLSearchParams(new FormData(form()));
      const answer = await fetch(`${form().dataset.try}?${asked}`);
      const text = await answer.text();
      if (answer.ok) put(text);
      else document.getElementById("progress").textContent = text;
    } catch {
      document.getElementById("progress").textContent = "The program did not answer. Is it still running?";
    }
  } while (again);
  asking = false;
}

// The new drawing in place of the old one; what had the focus keeps it.
function put(text) {
  const focused = document.activeElement?.id;
  const card = live().querySelector(".drawing-card");
  const along = card?.scrollLeft ?? 0;
  live().innerHTML = text;
  const fresh = live().querySelector(".drawing-card");
  if (fresh) fresh.scrollLeft = along;
  document.getElementById("progress").textContent = "Only tried: not kept yet.";
  if (focused?.startsWith("handle-")) document.getElementById(focused)?.focus({ preventScroll: true });
}

function move(handle, millimetres) {
  const input = figure(handle);
  if (!input || !Number.isFinite(millimetres)) return;
  // To a tenth of a millimetre: no rail is laid finer.
  input.value = `${Math.round(millimetres * 10) / 10}`;
  tried();
}

let held = null; // the handle under the finger, where it was, and how many millimetres a pixel is
document.addEventListener("pointerdown", (event) => {
  const handle = event.target.closest?.("[data-handle]")?.dataset.handle;
  const svg = event.target.closest?.(".frame-plan");
  if (!handle || !svg || !figure(handle)) return;
  event.preventDefault();
  held = { handle, from: number(figure(handle)), y: event.clientY, scale: 1 / svg.getScreenCTM().d };
  document.getElementById(`handle-${handle}`)?.focus({ preventScroll: true });
});
document.addEventListener("pointermove", (event) => {
  if (held) move(held.handle, held.from - (event.clientY - held.y) * held.scale);
});
for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, () => (held = null));

document.addEventListener("keydown", (event) => {
  const handle = event.target.closest?.("[data-handle]")?.dataset.handle;
  const step = { ArrowUp: 1, ArrowDown: -1, ArrowRight: 1, ArrowLeft: -1, PageUp: 10, PageDown: -10 }[event.key];
  if (!handle || !step || !figure(handle)) return;
  event.preventDefault();
  event.stopPropagation();
  move(handle, number(figure(handle)) + step);
}, true);
document.addEventListener("input", (event) => {
  if (event.target.closest?.("#rails")) tried();
});
