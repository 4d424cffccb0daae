// A touch on the bar fills the field of the nearest line and edge. Without it the figures are typed.
const field = (side, place) => document.getElementById(`salt-${side}-${place}`);

// Millimetres from the left end of the bar, and up from its near edge.
function spot(svg, event) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  const [length, width, room] = ["length", "width", "room"].map((key) => Number(svg.dataset[key]));
  return { x: at.x - room, y: room + width - at.y, length, width };
}

document.addEventListener("click", (event) => {
  const svg = event.target.closest?.("[data-salt]");
  if (!svg) return;
  const { x, y, length, width } = spot(svg, event);
  if (x < 0 || x > length) return;
  const side = x < length / 2 ? "left" : "right";
  const place = y < width / 3 ? "near" : y > (2 * width) / 3 ? "far" : "centre";
  const from = field(side, "from").value === "right" ? length - x : x;
  const inches = document.getElementById("salt-unit").value === "in";
  // To half a millimetre or a thirty-second of an inch: a finger is no finer.
  const figure = inches ? `${Math.round((from / 25.4) * 32) / 32}` : `${Math.round(2 * from) / 2}`;
  const input = field(side, place);
  input.value = figure;
  input.focus({ preventScroll: true });
  marks();
});

// A cross on the bar for every figure that is a number, so that a slip is seen at once.
function marks() {
  const group = document.getElementById("salt-marks");
  const svg = document.querySelector("[data-salt]");
  if (!group || !svg) return;
  const [length, width, room] = ["length", "width", "room"].map((key) => Number(svg.dataset[key]));
  const unit = document.getElementById("salt-unit").value === "in" ? 25.4 : 1;
  const rows = { near: 0, centre: width / 2, far: width };
  group.replaceChildren();
  for (const side of ["left", "right"]) {
    for (const [place, y] of Object.entries(rows)) {
      const text = field(side, place).value.trim().replace(",", ".");
      const read = text === "" ? NaN : Number(text) * unit;
      if (!Number.isFinite(read)) continue;
      const x = field(side, "from").value === "right" ? length - read : read;
      if (x < 0 || x > length) continue;
      const cross = document.createElementNS("http://www.w3.org/2000/svg", "path");
      cross.setAttribute("class", "pen-cut");
      cross.setAttribute("d", `M${room + x - 4} ${room + width - y - 4}l8 8m0 -8l-8 8`);
      group.append(cross);
    }
  }
}
document.addEventListener("input", (event) => {
  if (event.target.closest?.("#salt")) marks();
});
document.addEventListener("renewed", marks);
