// How one line of the bench looks: a wire, a reading, a stop before the next stage.
import { piece } from "./app.js";

const SVG = "http://www.w3.org/2000/svg";
const LEAST_PX = 9, MOST_PX_PER_MM = 5;
const pictures = new Map();

function drawn(tag, attributes) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  return made;
}

// A picture from the sheet, read once; each line gets a copy to light things on.
function picture(text, words) {
  if (!pictures.has(text)) {
    const read = document.adoptNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement);
    for (const size of ["width", "height"]) read.removeAttribute(size);
    read.setAttribute("preserveAspectRatio", "xMinYMin meet");
    pictures.set(text, read);
  }
  const copy = pictures.get(text).cloneNode(true);
  copy.setAttribute("role", "img");
  copy.setAttribute("aria-label", words);
  return copy;
}

export function showLine(whole, item) {
  const told = piece("dl", { class: "told" }, ...item.words.flatMap(([head, text]) => [piece("dt", {}, head), piece("dd", {}, text)]));
  const caution = whole.caution ? [piece("p", { class: "caution-line" }, whole.caution)] : [];
  if (item.kind === "stage") return [piece("h1", {}, item.title), ...caution, told];
  const ends = piece("div", { class: whole.board ? "ends" : "ends two" }, ...item.ends.map((end) => showEnd(whole, end)));
  if (whole.board) ends.append(showWay(whole, item));
  return [item.kind === "wire" ? wireLine(item) : readingLine(item), ...caution, ends, told];
}

function wireLine(item) {
  return piece("h1", { class: "wire-line" }, piece("b", {}, item.title), swatch(item.tones), piece("span", {}, item.colour),
    piece("span", {}, item.section), piece("span", { class: "cut" }, item.cut));
}

function swatch([base, tracer]) {
  const svg = drawn("svg", { class: "wide-swatch", viewBox: "0 0 60 30", "aria-hidden": "true" });
  svg.append(drawn("rect", { x: 0, y: 0, width: 60, height: 30, fill: base, "data-colour": "wire" }));
  if (tracer) svg.append(drawn("rect", { x: 0, y: 10, width: 60, height: 10, fill: tracer, "data-colour": "wire" }));
  svg.append(drawn("rect", { class: "edge", x: 0.5, y: 0.5, width: 59, height: 29 }));
  return svg;
}

function readingLine(item) {
  const limits = item.quantity === "seen" ? [] : [piece("span", {}, `expect ${item.expect}`), piece("span", { class: "to" }, `passes: ${item.passes}`)];
  return piece("h1", { class: "reading-line" }, piece("b", {}, item.title), ...limits);
}

function showEnd(whole, end) {
  const figure = piece("figure", {}, piece("figcaption", {}, piece("b", {}, end.pin), end.words));
  const face = whole.faces[end.connector];
  const cell = face?.cells[end.cavity];
  if (cell) {
    const svg = picture(face.svg, `${end.connector} seen from the wire side, cavity ${end.cavity} lit`);
    svg.append(...lit(end.cavity, ...cell));
    svg.style.maxWidth = `${svg.viewBox.baseVal.width * MOST_PX_PER_MM}px`;
    figure.append(piece("div", { class: "face" }, svg), piece("p", { class: "soft" }, "seen from the wire side"));
  }
  return figure;
}

// The cavity filled, a little larger than it is, with its number as large as it goes.
function lit(cavity, x, y, breadth) {
  const half = breadth * 0.6;
  const number = drawn("text", { class: "lit", x, y: y + breadth * 0.27, "text-anchor": "middle", "font-size": breadth * Math.min(0.8, 1.7 / cavity.length), "font-weight": 700 });
  number.append(cavity);
  return [drawn("rect", { class: "lit", x: x - half, y: y - half, width: 2 * half, height: 2 * half, "stroke-width": 0.9 }), number];
}

// Words in a picture that come out too small to read are left away.
export function readable(place) {
  for (const svg of place.querySelectorAll(".face svg")) {
    const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    const across = svg.getBoundingClientRect().height / svg.viewBox.baseVal.height;
    for (const word of svg.querySelectorAll("text")) word.toggleAttribute("hidden", Number(word.getAttribute("font-size")) * Math.min(scale, across) < LEAST_PX);
  }
}

function showWay(whole, item) {
  const svg = picture(whole.board, `The board, with the way of ${item.title} lit`);
  for (const group of svg.querySelectorAll("g[data-ref]")) group.classList.toggle("lit", group.dataset.ref === `wire:${item.item}`);
  return piece("div", { class: "way" }, svg);
}

// Where what the meter shows is typed. `changed` is called at each letter.
export function showEntry(item, said, changed) {
  const wrong = piece("p", { class: "wrong", role: "alert", hidden: "" });
  const row = piece("div", { class: "entry" }, piece("span", { class: "expect" }, item.quantity === "seen" ? "Is it so?" : "Found"));
  let field = null;
  if (item.quantity === "seen") row.append(piece("button", { type: "button", "data-found": "no" }, "No"));
  else {
    field = piece("input", { inputmode: "decimal", autocomplete: "off", maxlength: "20", "aria-label": `What the meter shows, ${item.unit}` });
    field.addEventListener("input", changed);
    row.append(field, piece("span", {}, item.unit));
    if (item.quantity === "voltage") row.append(sign(field, changed));
    if (["resistance", "diode"].includes(item.quantity)) row.append(piece("button", { type: "button", "data-found": "open" }, "Open"));
    if (item.quantity === "insulation") row.append(piece("span", { class: "soft" }, "over the range: >550"));
  }
  row.append(wrong);
  return { row, field, wrong: (words) => { wrong.hidden = !words; wrong.textContent = words; } };
}

// Not every tablet's keys for figures have a minus.
function sign(field, changed) {
  const button = piece("button", { type: "button" }, "+ or −");
  button.addEventListener("click", () => {
    field.value = field.value.startsWith("+") ? `-${field.value.slice(1)}` : `+${field.value.replace(/^[-−]/, "")}`;
    field.focus();
    changed();
  });
  return button;
}

export function showSaid(item, said, takeBack) {
  if (!said) return null;
  const clock = new Date(said.at).toLocaleString([], { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  const found = said.found ? `${said.found}${/\d/.test(said.found) ? ` ${item.unit}` : ""}` : "";
  const verdict = said.state === "done" ? (item.kind === "reading" ? "✓ passed" : "✓ done") : (said.found ? "Does not pass" : "Problem");
  const button = piece("button", { type: "button" }, "Take it back");
  button.addEventListener("click", takeBack);
  return piece("p", { class: "is-said" }, piece("span", { class: said.state }, [verdict, found, said.note].filter(Boolean).join(": ")),
    piece("span", { class: "soft" }, [clock, said.by].filter(Boolean).join(", ")), button);
}
