// A board by hand: a branch is turned, another sheet is tried, and lengths are measured. Nothing is kept until somebody says why.
import { base, piece, revision } from "./app.js";
import { sheet } from "./drawing.js";
import { within } from "./hands.js";
import { api, say } from "./talk.js";

const SVG = "http://www.w3.org/2000/svg";
const page = document.getElementById("board"), home = sheet.home;
const rev = `?${document.body.dataset.asked.replace("rev=draft", `rev=${revision.slice(0, 12)}`)}`, root = `${base}/boards/${encodeURIComponent(page.dataset.loom)}`;
const part = (name) => page.querySelector(`[data-${name}]`);
const LEVELS = { stop: "Stop", fix: "Put right", note: "Know" };
const SNAP_DEG = 5, NEAR_PX = 14, POLL_MS = 250;
// What was turned, by the two ends of the stretch; and the sheet, where it is another.
const turns = new Map();
let first = null, board = null, original = null, size = null, mode = "", drag = null, marks = [], busy = false, dropped = false;

const endsOf = (one) => [one.from_node, one.to_node].sort().join(" ");

function shape(tag, attributes) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  return made;
}

// Millimetres of the board to those of its drawing, and back.
const onSheet = ([x, y]) => [x + board.band_mm, board.size_mm[1] + board.band_mm - y];
const onBoard = ({ x, y }) => [x - board.band_mm, board.size_mm[1] + board.band_mm - y];
const placeAt = (event) => onBoard(sheet.place(within(home, event)));
const apart = (one, other) => Math.hypot(one[0] - other[0], one[1] - other[1]);

function clear() {
  for (const old of home.querySelectorAll(".ghost")) old.remove();
}

function ghost(tag, attributes, name = "ghost") {
  sheet.svg.append(shape(tag, { ...attributes, class: name }));
}

function fill() {
  const order = new Intl.Collator("en", { numeric: true }).compare;
  const branch = page.querySelector("#branch"), before = branch.value;
  branch.replaceChildren(...[...board.stretches].sort((a, b) => order(a.from_node, b.from_node) || order(a.to_node, b.to_node)).map((one) =>
    piece("option", { value: endsOf(one) }, `${one.from_node} to ${one.to_node}, ${one.length_mm.toFixed(0)} mm${one.by_hand ? ", by hand" : ""}`)));
  if (before) branch.value = before;
  heading();
  const names = Object.keys(board.places).sort(order);
  for (const id of ["#measure-from", "#measure-to"]) {
    const select = page.querySelector(id), was = select.value;
    select.replaceChildren(piece("option", { value: "" }, "choose"), ...names.map((name) => piece("option", { value: name }, name)));
    if (names.includes(was)) select.value = was;
  }
}

const stretchOf = (ends) => board.stretches.find((one) => endsOf(one) === ends);
function heading() {
  const one = stretchOf(page.querySelector("#branch").value);
  if (one) page.querySelector("#heading").value = Number(one.heading_deg.toFixed(1));
}

function body(more = {}) {
  return { turns: [...turns.values()], width_mm: size?.[0] ?? null, height_mm: size?.[1] ?? null, ...more };
}

async function lay(ends) {
  if (busy) await api(`${root}/try${rev}`, { method: "DELETE" });
  busy = true;
  part("busy").hidden = false;
  try {
    let found = await api(`${root}/try${rev}`, { method: "POST", body: body() });
    while (found.state === "running") {
      await new Promise((done) => setTimeout(done, POLL_MS));
      found = await api(`${root}/try${rev}`);
    }
    if (found.state === "failed") throw new Error(found.words);
    if (found.state === "done") await show(found, ends);
    else {
      turns.delete(ends);
      clear();
    }
  } catch (error) {
    turns.delete(ends);
    clear();
    say(error.message);
  } finally {
    busy = false;
    part("busy").hidden = true;
  }
}

async function show(found, ends) {
  const answer = await fetch(`${root}/try.svg${rev}`);
  if (!answer.ok) throw new Error("The drawing could not be fetched. Try again.");
  board = found.board;
  await sheet.replace(await answer.text());
  clear();
  for (const way of found.let_go) turns.delete(way.split(" to ").sort().join(" "));
  const words = [...found.refused.map((line) => piece("p", { class: "wrong" }, line))];
  if (!found.let_go.length && ends && turns.get(ends)?.heading_deg != null) words.push(piece("p", {}, `${turns.get(ends).from_node} to ${turns.get(ends).to_node} leaves at ${turns.get(ends).heading_deg.toFixed(0)}°; every length is as it was.`));
  words.push(piece("p", { class: "soft" }, `${board.pegs} pegs, sheet ${board.size_mm.map((side) => side.toFixed(0)).join(" × ")} mm.`));
  words.push(...found.findings.filter((item) => !["looms.hand-cannot-be-kept", "looms.board-too-small"].includes(item.rule)).map((item) => piece("p", { class: `said ${item.level}` }, piece("b", { class: "w" }, LEVELS[item.level]), ` ${item.text}`)));
  part("said").replaceChildren(...words);
  part("keep").hidden = !turns.size && !size;
  fill();
}

// The side of a stretch on which one of its ends is: the lines that turn with it.
function beyond(stretch, node) {
  const seen = new Set([stretch]), nodes = [node], found = [];
  for (const at of nodes) {
    for (const one of board.stretches) {
      if (seen.has(one) || (one.from_node !== at && one.to_node !== at)) continue;
      seen.add(one);
      found.push(one);
      nodes.push(one.from_node === at ? one.to_node : one.from_node);
    }
  }
  return found;
}

function near(at) {
  let best = null;
  for (const one of board.stretches) {
    for (let index = 1; index < one.places_mm.length; index += 1) {
      const [a, b] = [one.places_mm[index - 1], one.places_mm[index]];
      const long = apart(a, b) || 1, along = Math.min(Math.max(((at[0] - a[0]) * (b[0] - a[0]) + (at[1] - a[1]) * (b[1] - a[1])) / long ** 2, 0), 1);
      const far = apart(at, [a[0] + along * (b[0] - a[0]), a[1] + along * (b[1] - a[1])]);
      if (!best || far < best.far) best = { one, far };
    }
  }
  return best && best.far * sheet.pxPerMm() < NEAR_PX + best.one.bundle_mm / 2 ? best.one : null;
}

function take(event) {
  const at = placeAt(event), one = near(at);
  if (!one) return false;
  const isEnd = apart(at, one.places_mm.at(-1)) <= apart(at, one.places_mm[0]);
  const line = isEnd ? one.places_mm : [...one.places_mm].reverse();
  const [from, to] = isEnd ? [one.from_node, one.to_node] : [one.to_node, one.from_node];
  const leaves = isEnd ? one.heading_deg : (Math.atan2(line[1][1] - line[0][1], line[1][0] - line[0][0]) * 180) / Math.PI;
  drag = { id: event.pointerId, one, pivot: line[0], from, to, leaves, start: Math.atan2(at[1] - line[0][1], at[0] - line[0][0]), lines: [one, ...beyond(one, to)], heading: null };
  page.querySelector("#branch").value = endsOf(one);
  return true;
}

function turn(event) {
  const at = placeAt(event), [px, py] = drag.pivot;
  const by = ((Math.atan2(at[1] - py, at[0] - px) - drag.start) * 180) / Math.PI;
  drag.heading = (((Math.round((drag.leaves + by) / SNAP_DEG) * SNAP_DEG) % 360) + 360) % 360;
  const angle = ((drag.heading - drag.leaves) * Math.PI) / 180, [c, s] = [Math.cos(angle), Math.sin(angle)];
  const turned = ([x, y]) => onSheet([px + c * (x - px) - s * (y - py), py + s * (x - px) + c * (y - py)]);
  clear();
  for (const one of drag.lines) ghost("path", { d: `M${one.places_mm.map((spot) => turned(spot).map((value) => value.toFixed(1)).join(" ")).join("L")}`, "stroke-width": Math.max(one.bundle_mm, 2 / sheet.pxPerMm()) });
  const [x, y] = onSheet(drag.pivot);
  ghost("circle", { cx: x, cy: y, r: 5 / sheet.pxPerMm() }, "ghost pivot");
  page.querySelector("#heading").value = drag.heading;
}

function drop() {
  const { from, to, heading: deg, one, leaves } = drag;
  drag = null;
  if (deg === null || Math.abs(deg - ((leaves % 360) + 360) % 360) < 0.5) return clear();
  turns.set(endsOf(one), { from_node: from, to_node: to, heading_deg: deg });
  lay(endsOf(one));
}

function measure(from, to) {
  clear();
  const [a, b] = [from.at, to.at], width = 2 / sheet.pxPerMm();
  const [[x1, y1], [x2, y2]] = [onSheet(a), onSheet(b)];
  ghost("path", { d: `M${x1} ${y1}L${x2} ${y2}`, "stroke-width": width });
  for (const [x, y] of [[x1, y1], [x2, y2]]) ghost("circle", { cx: x, cy: y, r: 2 * width, "stroke-width": width });
  part("length").className = "";
  part("length").textContent = `${from.name} to ${to.name}: ${apart(a, b).toFixed(1)} mm; across ${Math.abs(b[0] - a[0]).toFixed(1)}, up ${Math.abs(b[1] - a[1]).toFixed(1)} mm.`;
  part("length").closest("details").open = true;
}

// A place on the board: a peg, holder or mark where one is near, else just there.
function spot(event) {
  const at = placeAt(event);
  const [name, there] = Object.entries(board.places).reduce((best, one) => (apart(one[1], at) < apart(best[1], at) ? one : best), ["", [Infinity, Infinity]]);
  if (apart(there, at) * sheet.pxPerMm() < NEAR_PX) return { name, at: there };
  return { name: `${at.map((value) => value.toFixed(0)).join(", ")}`, at };
}

function point(event) {
  if (marks.length > 1) marks = [];
  marks.push(spot(event));
  if (marks.length > 1) return measure(...marks);
  clear();
  const [x, y] = onSheet(marks[0].at);
  ghost("circle", { cx: x, cy: y, r: 4 / sheet.pxPerMm(), "stroke-width": 2 / sheet.pxPerMm() });
  part("length").textContent = `From ${marks[0].name}; press where to.`;
  part("length").closest("details").open = true;
}

function setMode(name) {
  mode = mode === name ? "" : name;
  marks = [];
  home.classList.toggle("hand", mode !== "");
  for (const button of document.querySelectorAll("[data-mode]")) button.setAttribute("aria-pressed", String(button.dataset.mode === mode));
}

const capture = { capture: true };
home.addEventListener("pointerdown", (event) => {
  dropped = false;
  if (!board || mode !== "turn" || busy || event.button !== 0 || !event.isPrimary || !take(event)) return;
  event.stopPropagation();
  home.setPointerCapture(event.pointerId);
}, capture);
home.addEventListener("pointermove", (event) => {
  if (!drag || event.pointerId !== drag.id) return;
  event.stopPropagation();
  turn(event);
}, capture);
for (const kind of ["pointerup", "pointercancel"]) {
  home.addEventListener(kind, (event) => {
    if (!drag || event.pointerId !== drag.id) return;
    event.stopPropagation();
    if (kind === "pointercancel") drag.heading = null;
    drop();
    dropped = true;
  }, capture);
}
let pressed = null;
home.addEventListener("pointerdown", (event) => {
  pressed = [event.clientX, event.clientY];
}, capture);
home.addEventListener("click", (event) => {
  if (!dropped && mode !== "measure") return;
  event.stopPropagation();
  if (!dropped && board && pressed && apart(pressed, [event.clientX, event.clientY]) < 5) point(event);
  dropped = false;
}, capture);

for (const button of document.querySelectorAll("[data-mode]")) button.addEventListener("click", () => setMode(button.dataset.mode));
page.querySelector("#branch").addEventListener("change", heading);
part("turn").addEventListener("submit", (event) => {
  event.preventDefault();
  const one = stretchOf(page.querySelector("#branch").value), deg = page.querySelector("#heading").valueAsNumber;
  if (!one || !Number.isFinite(deg)) return;
  turns.set(endsOf(one), { from_node: one.from_node, to_node: one.to_node, heading_deg: deg });
  lay(endsOf(one));
});
part("sheet").addEventListener("change", (event) => {
  if (event.target.name !== "size" || !event.target.value) return;
  const [width, height] = event.target.value.split("x");
  page.querySelector("#sheet-width").value = width;
  page.querySelector("#sheet-height").value = height;
});
part("sheet").addEventListener("submit", (event) => {
  event.preventDefault();
  size = [page.querySelector("#sheet-width").valueAsNumber, page.querySelector("#sheet-height").valueAsNumber];
  lay("");
});
part("measure").addEventListener("change", () => {
  const [from, to] = ["#measure-from", "#measure-to"].map((id) => page.querySelector(id).value);
  if (from && to) measure({ name: from, at: board.places[from] }, { name: to, at: board.places[to] });
});
page.addEventListener("click", async (event) => {
  const what = event.target.closest("[data-board]")?.dataset.board;
  if (what === "stop") await api(`${root}/try${rev}`, { method: "DELETE" }).catch((error) => say(error.message));
  if (what === "free") {
    const one = stretchOf(page.querySelector("#branch").value);
    turns.set(endsOf(one), { from_node: one.from_node, to_node: one.to_node, heading_deg: null });
    lay(endsOf(one));
  }
  if (what === "back") {
    turns.clear();
    size = null;
    board = first;
    await sheet.replace(original);
    clear();
    fill();
    part("said").replaceChildren();
    part("keep").hidden = true;
  }
});
part("keep").addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    const done = await api(`${root}/keep${rev}`, { method: "POST", body: body({ reason: event.target.elements.reason.value }) });
    if (done.beside) return say(done.beside);
    turns.clear();
    size = null;
    location.href = location.pathname + new URL(location.href).search.replace(/([?&])rev=[^&]*/, "$1");
  } catch (error) {
    say(error.message);
  }
});
window.addEventListener("beforeunload", (event) => {
  if (turns.size || size) event.preventDefault();
});
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  clear();
  marks = [];
});

async function begin() {
  await sheet.loaded;
  const answer = await fetch(home.dataset.src);
  if (!answer.ok) throw new Error("The drawing could not be fetched. Load the page again.");
  original = await answer.text();
  board = first = await api(`${root}${rev}`);
  fill();
  page.dataset.ready = "yes";
}
begin().catch((error) => say(error.message));
