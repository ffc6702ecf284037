// Hands on the car: a box, a module or a device is moved, and what follows is shown at once. Nothing is kept until somebody says why.
import { base, choose, chosen, piece } from "./app.js";
import { picture } from "./car.js";
import { api, say } from "./talk.js";

const home = document.getElementById("hands");
const places = home.querySelector("[data-places]");
const follows = home.querySelector("[data-follows]");
const said = home.querySelector("[data-said]");
const toggle = document.querySelector('[data-hands="move"]');
// Which way right and up on the screen are in the car, by the view.
const AXES = { plan: [0, 1], side: [0, 2], rear: [1, 2] };
const NAMES = ["x", "y", "z"];
const STEP_MM = 10, FINE_MM = 1, INSIDE = new Set(["module", "coolant plate", "device"]);
const LEVELS = { stop: "Stop", fix: "Put right", note: "Know" };
// How far each thing has been moved, by its key, in the order in which they were.
const moves = new Map();
let current = null, isMoving = false, drag = null, isAsking = false, wanted = false, changed = new Set();

const total = (key) => moves.get(key) ?? [0, 0, 0];
const refOf = (key) => key.slice(key.indexOf(":") + 1);
const canMove = (key) => /^(device|module):/.test(key);
const solidOf = (key) => picture.solids.find((solid) => solid.key === key);

// The block round the corners of a solid: least and greatest along each axis.
function blockOf(solid) {
  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  solid.places_mm.forEach((value, index) => {
    low[index % 3] = Math.min(low[index % 3], value);
    high[index % 3] = Math.max(high[index % 3], value);
  });
  return { low, high, middle: low.map((value, axis) => (value + high[axis]) / 2) };
}

// The thing that is moved, as it stood; with a box goes what is in it.
function take(key) {
  const solid = key && canMove(key) ? solidOf(key) : null;
  home.hidden = !solid;
  current = null;
  if (!solid) return;
  const first = picture.original(solid.name);
  const block = blockOf(first), isDevice = solid.kind === "device";
  const names = new Set([solid.name]);
  if (solid.kind === "box") {
    for (const other of picture.solids) {
      const middle = INSIDE.has(other.kind) ? blockOf(picture.original(other.name)).middle : null;
      if (middle?.every((value, axis) => value > block.low[axis] && value < block.high[axis])) names.add(other.name);
    }
  }
  current = { key, names, at: isDevice ? block.middle : block.low, shown: total(key) };
  home.querySelector("[data-what]").textContent = refOf(key);
  for (const [axis, words] of [["x", "front face"], ["y", "left face"], ["z", "lower face"]]) {
    home.querySelector(`[data-face="${axis}"]`).textContent = isDevice ? "centre" : words;
  }
  fill();
}

function fill(not = null) {
  const by = total(current.key);
  NAMES.forEach((name, axis) => {
    if (places.elements[name] !== not) places.elements[name].value = Number((current.at[axis] + by[axis]).toFixed(1));
  });
}

// Move it so far from where it stands in this revision.
function moveTo(by, field = null) {
  const rounded = by.map((value) => Number(value.toFixed(1)));
  moves.delete(current.key);
  if (rounded.some((value) => value !== 0)) moves.set(current.key, rounded);
  picture.shift(current.names, rounded.map((value, axis) => value - current.shown[axis]));
  fill(field);
  ask();
}

function nudge(axis, by_mm) {
  const by = [...total(current.key)];
  by[axis] += by_mm;
  moveTo(by);
}

// One question at a time; the latest is always asked.
async function ask() {
  wanted = true;
  if (isAsking) return;
  isAsking = true;
  home.dataset.asking = "yes";
  try {
    while (wanted) {
      wanted = false;
      if (!moves.size) {
        show(null);
        continue;
      }
      const asked = new Map(moves);
      const found = await api(`${base}/moves/try?${document.body.dataset.asked}`, { method: "POST", body: { shifts: shifts(asked) } });
      if (moves.size) show(found, asked);
    }
  } catch (error) {
    say(error.message);
  } finally {
    isAsking = false;
    delete home.dataset.asking;
  }
}

const shifts = (from) => [...from].map(([key, [dx_mm, dy_mm, dz_mm]]) => ({ ref: refOf(key), dx_mm, dy_mm, dz_mm }));

function show(found, asked = new Map()) {
  const names = new Set((found?.solids ?? []).map((solid) => solid.name));
  const back = [...changed].filter((name) => !names.has(name)).map(picture.original).filter(Boolean);
  picture.replace([...(found?.solids ?? []), ...back]);
  changed = names;
  if (current) {
    current.shown = asked.get(current.key) ?? [0, 0, 0];
    picture.shift(current.names, total(current.key).map((value, axis) => value - current.shown[axis]));
  }
  follows.hidden = !found;
  document.getElementById("wheels").hidden = Boolean(found);
  if (!found) return back.length ? restore() : undefined;
  picture.loads(found.loads[0].then_kg, found.loads[1].then_kg);
  kept ??= found.loads.map((row) => row.now_kg);
  const kg = (value) => value.toFixed(0);
  follows.querySelector("[data-loads]").replaceChildren(...found.loads.map((row) =>
    piece("tr", {}, piece("td", {}, row.name), number(kg(row.before_kg)), number(row.now_kg.toFixed(1)), piece("td", { class: "right" }, piece("b", {}, row.then_kg.toFixed(1))), number(kg(row.left_kg)))));
  const more = [];
  more.push(piece("p", {}, `Centre of gravity ${kg(found.now.x_mm)} → ${kg(found.then.x_mm)} mm behind the front axle${found.then.z_mm === null ? "" : `, ${kg(found.now.z_mm)} → ${kg(found.then.z_mm)} mm high`}; front axle ${found.then.front_percent.toFixed(1)} %.`));
  if (found.in_the_way.length) {
    more.push(piece("p", { class: "wrong", "data-way": "" }, `It stands in ${found.in_the_way.map((one) => one.ref).join(", ")}, by the sizes in the catalogue.`));
  }
  more.push(...found.findings.map((item) => piece("p", { class: `said ${item.level}` }, piece("b", { class: "w" }, LEVELS[item.level]), ` ${item.text}`)));
  if (found.cured) more.push(piece("p", {}, `${found.cured} ${found.cured === 1 ? "finding is" : "findings are"} gone.`));
  if (found.lengths.length) {
    more.push(piece("h3", {}, `Cut again: ${found.lengths.length}`), piece("ul", { class: "fo scroll short", tabindex: "0", "aria-label": "Cut again" }, ...found.lengths.map((one) =>
      piece("li", {}, piece("span", {}, `${{ cable: "HV cable", hose: "hose", wire: "wire" }[one.kind]} ${one.ref}`), piece("span", {}, `${kg(one.was_mm)} → ${kg(one.is_mm)} mm`)))));
  }
  more.push(piece("p", { class: "small" }, "Mass, lengths, boxes and handling follow at once; all other findings when it is kept."));
  follows.querySelector("[data-more]").replaceChildren(...more);
  said.textContent = `Front axle ${kg(found.loads[0].then_kg)}, rear axle ${kg(found.loads[1].then_kg)} kilograms. ${found.findings.length} new findings. ${found.in_the_way.length ? "It stands in something." : ""}`;
  home.dataset.shown = String(Number(home.dataset.shown ?? 0) + 1);
}

let kept = null;

function restore() {
  if (kept) picture.loads(kept[0], kept[1]);
  said.textContent = "Everything is where it was.";
}

const number = (words) => piece("td", { class: "right" }, words);

function setMoving(on) {
  isMoving = on;
  toggle.setAttribute("aria-pressed", String(on));
  picture.canvas.classList.toggle("moving", on);
  if (on && picture.view === "free") picture.look("plan");
}

// What a hand takes hold of: what is chosen, where it lies there; else the box, then whatever can be moved.
function heldAt(event) {
  const keys = picture.keysAt(event).filter(canMove);
  if (keys.includes(chosen.key)) return chosen.key;
  return keys.find((key) => solidOf(key)?.kind === "box") ?? keys[0] ?? "";
}

const stage = picture.home;
stage.addEventListener("pointerdown", (event) => {
  if (!isMoving || !AXES[picture.view] || event.button !== 0 || !event.isPrimary) return;
  const key = heldAt(event);
  if (!key) return;
  event.stopPropagation();
  if (key !== current?.key) take(key);
  if (key !== chosen.key) choose(key, { from: stage });
  drag = { id: event.pointerId, x: event.clientX, y: event.clientY, from: total(key), far: 0 };
  picture.canvas.setPointerCapture(event.pointerId);
}, { capture: true });
stage.addEventListener("pointermove", (event) => {
  if (!drag || event.pointerId !== drag.id) return;
  event.stopPropagation();
  const right = (event.clientX - drag.x) * picture.mmPerPx, up = (drag.y - event.clientY) * picture.mmPerPx;
  drag.far = Math.max(drag.far, Math.hypot(event.clientX - drag.x, event.clientY - drag.y));
  if (drag.far < 4) return;
  const [across, high] = AXES[picture.view], by = [...drag.from];
  by[across] += Math.round(right);
  by[high] += Math.round(up);
  moveTo(by);
}, { capture: true });
for (const kind of ["pointerup", "pointercancel"]) {
  stage.addEventListener(kind, (event) => {
    if (!drag || event.pointerId !== drag.id) return;
    event.stopPropagation();
    if (kind === "pointercancel") moveTo(drag.from);
    drag = null;
    stage.dataset.dropped = "yes";
  }, { capture: true });
}
stage.addEventListener("click", (event) => {
  if (!stage.dataset.dropped) return;
  delete stage.dataset.dropped;
  event.stopPropagation();
}, { capture: true });

picture.canvas.addEventListener("keydown", (event) => {
  if (!isMoving || !current || !AXES[picture.view] || event.ctrlKey || event.metaKey || event.altKey) return;
  const [across, high] = AXES[picture.view], step = event.shiftKey ? FINE_MM : STEP_MM;
  const acts = { ArrowLeft: [across, -step], ArrowRight: [across, step], ArrowUp: [high, step], ArrowDown: [high, -step] };
  if (!acts[event.key]) return;
  event.preventDefault();
  event.stopPropagation();
  nudge(...acts[event.key]);
});
document.addEventListener("keydown", (event) => {
  if (event.key.toLowerCase() !== "m" || event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, textarea, select")) return;
  setMoving(!isMoving);
});
toggle.addEventListener("click", () => setMoving(!isMoving));
places.addEventListener("input", (event) => {
  const axis = NAMES.indexOf(event.target.name), value = Number(event.target.value);
  if (!current || axis < 0 || event.target.value === "" || !Number.isFinite(value)) return;
  const by = [...total(current.key)];
  by[axis] = value - current.at[axis];
  moveTo(by, event.target);
});
places.addEventListener("submit", (event) => event.preventDefault());
home.querySelector('[data-hands="back"]').addEventListener("click", () => {
  moves.clear();
  if (current) {
    picture.shift(current.names, current.shown.map((value) => 0 - value));
    fill();
  }
  ask();
});
home.querySelector("[data-keep]").addEventListener("submit", async (event) => {
  event.preventDefault();
  const reason = event.target.elements.reason.value;
  try {
    const done = await api(`${base}/moves?${document.body.dataset.asked}`, { method: "POST", body: { shifts: shifts(moves), reason } });
    moves.clear();
    if (done.beside) return say(done.beside);
    location.href = `${done.href}${done.href.includes("?") ? "&" : "/car?"}sel=${chosen.key}`;
  } catch (error) {
    say(error.message);
  }
});
window.addEventListener("beforeunload", (event) => {
  if (moves.size) event.preventDefault();
});
document.addEventListener("chosen", () => {
  if (chosen.key !== current?.key) take(chosen.key);
});

// The car comes a little later than this page.
const ready = new MutationObserver(() => begin());
function begin() {
  if (!stage.dataset.ready) return;
  ready.disconnect();
  take(chosen.key);
}
ready.observe(stage, { attributes: true });
begin();
