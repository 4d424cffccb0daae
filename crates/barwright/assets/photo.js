// Marks on a photograph: touched roughly in the whole picture, then exactly in the loupe; by keys as well.
// All places are in pixels of the picture; the form carries them as JSON.
const section = document.getElementById("marking");
const picture = document.getElementById("picture");
const loupe = document.getElementById("loupe");
const hidden = document.getElementById("marks");
const now = document.getElementById("now");
const [width, height] = ["width", "height"].map((key) => Number(section.dataset[key]));
const chips = [...document.querySelectorAll("[data-mark]")];
// Shares of the picture's width in the loupe: after a touch in the picture, after one in the loupe.
const WIDE = 1 / 10;
const CLOSE = 1 / 32;

const empty = () => ({ corners: Array(4).fill(null), left: Array(3).fill(null), right: Array(3).fill(null), ticks: Array(3).fill(null) });
let marks = empty();
try {
  marks = { ...marks, ...JSON.parse(hidden.value) };
} catch {
  // Nothing was sent before.
}
let current = Math.max(0, chips.findIndex((chip) => !mark(chip)));
let view = { x: width / 2, y: height / 2, share: WIDE };

function mark(chip) {
  const [key, index] = chip.dataset.mark.split(".");
  return marks[key][index];
}

function set(place) {
  const [key, index] = chips[current].dataset.mark.split(".");
  marks[key][index] = place && [clamp(place[0], width), clamp(place[1], height)];
  hidden.value = JSON.stringify(marks);
}

const clamp = (x, most) => Math.min(Math.max(Math.round(4 * x) / 4, 0), most);

function element(name, attributes, group) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  group.append(made);
  return made;
}

// Dark on a pale edge, so that it shows on light and dark wood.
function path(d, group, pen) {
  element("path", { d, class: "photo-edge" }, group);
  element("path", { d, class: pen }, group);
}

function cross([x, y], arm, group, pen) {
  const gap = arm / 4;
  path(`M${x - arm} ${y}h${arm - gap}M${x + gap} ${y}h${arm - gap}M${x} ${y - arm}v${arm - gap}M${x} ${y + gap}v${arm - gap}`, group, pen);
}

function draw() {
  const group = document.getElementById("photo-marks");
  group.replaceChildren();
  const corners = marks.corners.filter(Boolean);
  if (corners.length > 1) path(`M${corners.map((p) => p.join(" ")).join("L")}${corners.length === 4 ? "Z" : ""}`, group, "photo-pen thin");
  for (const side of [marks.left, marks.right]) {
    const line = side.filter(Boolean);
    if (line.length > 1) path(`M${line.map((p) => p.join(" ")).join("L")}`, group, "photo-pen thin");
  }
  for (const [index, chip] of chips.entries()) {
    const place = mark(chip);
    if (place) cross(place, width / 60, group, index === current ? "photo-pen bold" : "photo-pen");
    chip.setAttribute("aria-pressed", String(index === current));
    chip.querySelector(".chip-state").textContent = place ? "✓" : "○";
  }
  now.textContent = chips[current].dataset.touch;
  for (const field of document.querySelectorAll("[data-tick]")) field.hidden = field.dataset.tick !== chips[current].dataset.mark;
  const side = view.share * width;
  loupe.setAttribute("viewBox", `${view.x - side / 2} ${view.y - side / 2} ${side} ${side}`);
  const over = document.getElementById("loupe-cross");
  over.replaceChildren();
  const place = mark(chips[current]);
  if (place) cross(place, side / 3, over, "photo-pen thin");
}

function look(place, share) {
  view = { x: place[0], y: place[1], share };
}

function choose(index) {
  current = Math.min(Math.max(index, 0), chips.length - 1);
  const place = mark(chips[current]);
  if (place) look(place, CLOSE);
  draw();
  if (section.dataset.begun) show(place ? loupe : now);
  section.dataset.begun = "yes";
}

function at(svg, event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return [point.x, point.y];
}

function move(dx, dy) {
  const place = mark(chips[current]) ?? [view.x, view.y];
  set([place[0] + dx, place[1] + dy]);
  look(mark(chips[current]), view.share);
  draw();
}

// On a small screen picture and loupe stand one below the other: what is needed next is brought to sight.
const show = (svg) => svg.scrollIntoView({ block: "nearest" });

picture.addEventListener("click", (event) => {
  set(at(picture, event));
  look(mark(chips[current]), WIDE);
  draw();
  show(loupe);
});
loupe.addEventListener("click", (event) => {
  set(at(loupe, event));
  look(mark(chips[current]), CLOSE);
  draw();
});
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
for (const [svg, step] of [[picture, width / 100], [loupe, 1]]) {
  svg.addEventListener("keydown", (event) => {
    const arrow = ARROWS[event.key];
    if (arrow) {
      const by = step * (event.shiftKey ? 10 : 1);
      move(arrow[0] * by, arrow[1] * by);
      event.preventDefault();
    } else if (event.key === "Enter") {
      choose(current + 1);
      event.preventDefault();
    }
  });
}
document.addEventListener("click", (event) => {
  const pressed = event.target.closest?.("button");
  if (!pressed) return;
  if (pressed.dataset.mark) choose(chips.indexOf(pressed));
  else if (pressed.dataset.dx) move(Number(pressed.dataset.dx), Number(pressed.dataset.dy));
  else if (pressed.id === "mark-next") choose(current + 1);
  else if (pressed.id === "mark-back") choose(current - 1);
  else if (pressed.id === "mark-away") {
    set(null);
    draw();
  }
});
choose(current);
