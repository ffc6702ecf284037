// A drawing to move about in: pan, zoom, choose what is drawn. The drawing itself is millimetres and is never redrawn.
import { choose, chosen, piece } from "./app.js";
import { hands, markList, writeOver } from "./hands.js";
import { say } from "./talk.js";

const SVG = "http://www.w3.org/2000/svg";
// What is marked by its line; everything else gets a ring round its outline.
const LINES = new Set(["wire", "cable", "run"]);
const KINDS = { device: "Devices", module: "Modules", space: "Spaces", cable: "HV cables", wire: "Wires", splice: "Splices", run: "Runs", point: "Points", "keep-out": "Keep clear" };
const LEAST_PX = 6, NEAR_PX = 7, CLOSEST_PX_PER_MM = 40;
const home = document.getElementById("drawing");
const list = document.getElementById("on-it");
let svg, size, view, labels, asked = false, groups = new Map(), spots = new Map(), heights = [];

async function load() {
  let text;
  if (!home.querySelector("svg")) {
    const answer = await fetch(home.dataset.src);
    if (!answer.ok) throw new Error("The drawing could not be fetched. Load the page again.");
    text = await answer.text();
    home.replaceChildren(document.adoptNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement));
  }
  svg = home.querySelector("svg");
  const [, , width, height] = svg.getAttribute("viewBox").split(" ").map(Number);
  size = { width, height };
  svg.removeAttribute("width");
  svg.removeAttribute("height");
  svg.setAttribute("preserveAspectRatio", "xMidYMid meet");
  // Some browsers show the title of the whole drawing wherever the mouse rests.
  svg.querySelector(":scope > title")?.remove();
  for (const group of svg.querySelectorAll("g[data-ref]")) {
    const key = group.dataset.ref;
    if (!groups.has(key)) groups.set(key, []);
    groups.get(key).push(group);
  }
  labels = piece("div", { class: "labels", "aria-hidden": "true" });
  home.append(labels);
  heights = [...new Set([...svg.querySelectorAll("text")].map((word) => Number(word.getAttribute("font-size"))))].sort((a, b) => a - b);
  for (const word of svg.querySelectorAll("text")) word.dataset.height = heights.indexOf(Number(word.getAttribute("font-size")));
  all();
  // Where a name goes while the drawing's own words are too small to read: on the first outline of the thing.
  for (const [key, found] of groups) {
    const kind = key.split(":")[0];
    const box = kind === "device" || kind === "splice" ? found[0].getBBox() : null;
    if (box && box.width + box.height > 0) spots.set(key, { x: box.x + box.width / 2, y: box.y + box.height / 2, mm: box.height });
  }
  fillList();
  mark(true);
  names();
}

function names() {
  if (asked || !labels) return;
  asked = true;
  requestAnimationFrame(() => {
    asked = false;
    const scale = pxPerMm();
    const order = [...spots].sort(([a], [b]) => (b === chosen.key) - (a === chosen.key));
    const words = order.map(([key, spot]) => ({
      words: key.slice(key.indexOf(":") + 1),
      isChosen: key === chosen.key,
      x: home.clientWidth / 2 + (spot.x - view.x - view.width / 2) * scale,
      y: home.clientHeight / 2 + (spot.y - view.y - view.height / 2) * scale - (spot.mm * scale) / 2 - 10,
    }));
    writeOver(labels, Number(svg.dataset.hidden) >= Math.min(3, heights.length) ? words : []);
  });
}

function pxPerMm() {
  return Math.min(home.clientWidth / view.width, home.clientHeight / view.height);
}

function show() {
  svg.setAttribute("viewBox", `${view.x} ${view.y} ${view.width} ${view.height}`);
  // Words too small to read are left away.
  const scale = pxPerMm();
  const hidden = heights.filter((height) => height * scale < LEAST_PX).length;
  if (svg.dataset.hidden !== String(hidden)) {
    svg.dataset.hidden = hidden;
    for (const word of svg.querySelectorAll("text")) word.toggleAttribute("hidden", Number(word.dataset.height) < hidden);
  }
  names();
  const words = document.querySelector("[data-scale]");
  if (words) words.textContent = `${(scale * 100).toFixed(0)} px to 100 mm`;
}

function all() {
  view = { x: 0, y: 0, width: size.width, height: size.height };
  show();
}

// Zoom by a factor about a place on the screen.
function zoom(by, at = { x: home.clientWidth / 2, y: home.clientHeight / 2 }) {
  const before = place(at);
  const scale = Math.min(Math.max(pxPerMm() * by, 0.6 * Math.min(home.clientWidth / size.width, home.clientHeight / size.height)), CLOSEST_PX_PER_MM);
  view.width = home.clientWidth / scale;
  view.height = home.clientHeight / scale;
  const after = place(at);
  view.x += before.x - after.x;
  view.y += before.y - after.y;
  show();
}

// A place on the screen in millimetres of the drawing.
function place(at) {
  const scale = pxPerMm();
  return {
    x: view.x + view.width / 2 + (at.x - home.clientWidth / 2) / scale,
    y: view.y + view.height / 2 + (at.y - home.clientHeight / 2) / scale,
  };
}

function move(dx, dy) {
  const scale = pxPerMm();
  view.x -= dx / scale;
  view.y -= dy / scale;
  show();
}

function lookAt(box) {
  const room = 2.5, least = 120;
  const wide = Math.max(box.width * room, least), high = Math.max(box.height * room, least);
  if (wide >= size.width || high >= size.height) return all();
  view = { x: box.x + box.width / 2 - wide / 2, y: box.y + box.height / 2 - high / 2, width: wide, height: high };
  show();
}

// What is drawn at a place, or just beside it: lines are thin.
function keyAt(event) {
  for (const [dx, dy] of [[0, 0], [0, -NEAR_PX], [0, NEAR_PX], [-NEAR_PX, 0], [NEAR_PX, 0]]) {
    for (const found of document.elementsFromPoint(event.clientX + dx, event.clientY + dy)) {
      const group = found.closest?.("g[data-ref]");
      if (group && home.contains(group)) return group.dataset.ref;
    }
  }
  return "";
}

hands(home, {
  zoom: (by, at) => svg && zoom(by, at),
  drag: (dx, dy) => svg && move(dx, dy),
  press: (event) => {
    const key = svg ? keyAt(event) : "";
    if (key || chosen.key) choose(key === chosen.key ? "" : key, { from: home });
  },
});
home.addEventListener("keydown", (event) => {
  const step = 60;
  const acts = {
    "+": () => zoom(1.25), "=": () => zoom(1.25), "-": () => zoom(0.8), 0: all,
    ArrowLeft: () => move(step, 0), ArrowRight: () => move(-step, 0), ArrowUp: () => move(0, step), ArrowDown: () => move(0, -step),
  };
  if (svg && acts[event.key] && !event.ctrlKey && !event.metaKey) {
    event.preventDefault();
    acts[event.key]();
  }
});
document.addEventListener("click", (event) => {
  const what = event.target.closest?.("[data-zoom]")?.dataset.zoom;
  if (what && svg) ({ in: () => zoom(1.5), out: () => zoom(1 / 1.5), all })[what]();
});
new ResizeObserver(() => svg && show()).observe(home);

function around(boxes) {
  const x = Math.min(...boxes.map((box) => box.x)), y = Math.min(...boxes.map((box) => box.y));
  const right = Math.max(...boxes.map((box) => box.x + box.width)), bottom = Math.max(...boxes.map((box) => box.y + box.height));
  return { x, y, width: right - x, height: bottom - y };
}

// Boxes that touch or nearly touch become one.
function joined(boxes, near) {
  const found = [];
  for (let box of boxes) {
    for (let index = found.length - 1; index >= 0; index -= 1) {
      const other = found[index];
      const apart = box.x > other.x + other.width + near || other.x > box.x + box.width + near || box.y > other.y + other.height + near || other.y > box.y + box.height + near;
      if (!apart) {
        box = around([box, other]);
        found.splice(index, 1);
      }
    }
    found.push(box);
  }
  return found;
}

function markRing(before, box, extra, more) {
  const ring = document.createElementNS(SVG, "rect");
  const out = 1.2 + extra;
  for (const [name, value] of Object.entries({ x: box.x - out, y: box.y - out, width: box.width + 2 * out, height: box.height + 2 * out, "stroke-width": 1 + extra })) ring.setAttribute(name, value);
  ring.setAttribute("class", more);
  svg.insertBefore(ring, before);
}

// A ring outside the thing, under it: what is chosen keeps its own colours.
function markKey(key, more, ring) {
  const found = groups.get(key) ?? [];
  const boxes = [];
  for (const group of found) {
    boxes.push(group.getBBox());
    if (!LINES.has(key.split(":")[0])) continue;
    for (const shape of [...group.children]) {
      const width = Number(shape.getAttribute("stroke-width") || 0);
      const copy = shape.tagName === "text" ? null : shape.cloneNode();
      if (!copy) {
        const box = shape.getBBox();
        const rect = document.createElementNS(SVG, "rect");
        for (const name of ["x", "y", "width", "height"]) rect.setAttribute(name, box[name]);
        if (shape.hasAttribute("transform")) rect.setAttribute("transform", shape.getAttribute("transform"));
        rect.setAttribute("stroke-width", ring / 2);
        rect.setAttribute("class", more);
        group.insertBefore(rect, shape);
        continue;
      }
      copy.removeAttribute("stroke-dasharray");
      copy.setAttribute("class", more);
      copy.setAttribute("stroke-width", width + 2 * ring);
      group.insertBefore(copy, group.firstChild);
    }
  }
  if (boxes.length && !LINES.has(key.split(":")[0])) for (const box of joined(boxes, 3)) markRing(null, box, ring / 3, more);
  return boxes;
}

function mark(goThere) {
  for (const old of svg.querySelectorAll(".mark")) old.remove();
  const ring = size.width > 1000 ? 4 : 0.8;
  const boxes = chosen.also.flatMap((key) => markKey(key, "mark also", ring));
  const own = chosen.key ? markKey(chosen.key, "mark", ring) : [];
  markList(list, chosen);
  names();
  if (goThere && (own.length || boxes.length)) lookAt(around(own.length ? own : boxes));
}

function fillList() {
  if (!list) return;
  const order = new Intl.Collator("en", { numeric: true });
  const byKind = Map.groupBy ? Map.groupBy(groups.keys(), (key) => key.split(":")[0]) : grouped(groups.keys());
  const lines = [];
  for (const kind of Object.keys(KINDS)) {
    const keys = (byKind.get(kind) ?? []).sort(order.compare);
    if (keys.length) lines.push(piece("li", { class: "kind" }, KINDS[kind]));
    for (const key of keys) {
      const button = piece("button", { type: "button", "data-key": key, "aria-pressed": "false" }, piece("b", {}, key.slice(kind.length + 1)), piece("span", {}, ""));
      lines.push(piece("li", {}, button));
    }
  }
  list.replaceChildren(...lines);
  list.addEventListener("click", (event) => {
    const key = event.target.closest("button[data-key]")?.dataset.key;
    if (key) choose(key === chosen.key ? "" : key, { from: list });
  });
  fetch(home.dataset.src.replace(/drawings\/[^?]*/, "things")).then((answer) => answer.json()).then((things) => {
    const words = new Map(things.map((thing) => [thing.key, thing.words]));
    for (const button of list.querySelectorAll("button[data-key]")) button.lastChild.textContent = words.get(button.dataset.key) ?? "";
  }).catch(() => {});
}

function grouped(keys) {
  const found = new Map();
  for (const key of keys) {
    const kind = key.split(":")[0];
    found.set(kind, [...(found.get(kind) ?? []), key]);
  }
  return found;
}

document.addEventListener("chosen", (event) => svg && mark(event.detail.from !== home));
load().catch((error) => say(error.message));
