// The car in the round: three views and a free one, the same things in a list beside it.
import * as THREE from "./vendor/three/three.module.js";
import { choose, chosen, piece } from "./app.js";
import { hands, markList, writeOver } from "./hands.js";
import { say } from "./talk.js";

const home = document.getElementById("solid");
const canvas = home.querySelector("canvas");
const labels = home.querySelector(".labels");
const list = document.getElementById("solids");
const find = document.getElementById("find-solid");
// How each kind is drawn: fill and edge by the names of the colours, how solid it is, and its title in the list.
const LOOKS = {
  box: { fill: "hv-tint", edge: "hv", solid: 0.35, title: "Battery boxes" },
  module: { fill: "sheet", edge: "ink", solid: 0.9, title: "Modules" },
  "coolant plate": { fill: "line", edge: "soft", solid: 1, title: "Coolant plates" },
  device: { fill: "sheet", edge: "ink", solid: 0.92, title: "Devices" },
  "HV cable": { fill: "hv-fill", edge: "ink", solid: 1, title: "High-voltage cables" },
  loom: { fill: "ink", edge: "ink", solid: 1, title: "Runs of the looms" },
  hose: { fill: "soft", edge: "soft", solid: 0.55, title: "Hoses" },
  space: { fill: null, edge: "line", dash: true, title: "Spaces" },
  "keep-out": { fill: null, edge: "ink", dash: true, title: "Keep clear" },
  "luggage room": { fill: null, edge: "line", dash: true, title: "Luggage rooms" },
  wheel: { fill: null, edge: "soft", title: "Wheels" },
  "centre before": { fill: null, edge: "soft", title: "Centre of gravity" },
  "centre now": { fill: null, edge: "ink", title: "Centre of gravity" },
};
const VIEWS = {
  free: { towards: [0.85, 1.15, -0.75], up: [0, 0, 1] },
  plan: { towards: [0, 0, -1], up: [0, 1, 0] },
  side: { towards: [0, 1, 0], up: [0, 0, 1] },
  rear: { towards: [-1, 0, 0], up: [0, 0, 1] },
};
// A tube's twelve sides must not show as edges, a box's corners must.
const EDGE_DEG = 35, FAR_MM = 20000, NEAR_PX = 6;
// The ring round what is chosen: so many pixels off, and so wide.
const RING_OFF = 3, RING_WIDE = 3;

const scene = new THREE.Scene();
const camera = new THREE.OrthographicCamera(-1, 1, 1, -1, 1, 2 * FAR_MM);
const target = new THREE.Vector3();
const towards = new THREE.Vector3(...VIEWS.free.towards).normalize();
let renderer, solids = [], data, mmPerPx = 4, viewName = "free", asked = false;

const colour = (name) => new THREE.Color(getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim());

function build(solid) {
  const look = LOOKS[solid.kind];
  const geometry = new THREE.BufferGeometry();
  geometry.setAttribute("position", new THREE.Float32BufferAttribute(solid.places_mm, 3));
  geometry.setIndex(solid.faces);
  geometry.computeVertexNormals();
  geometry.computeBoundingSphere();
  const group = new THREE.Group();
  const made = { ...solid, look, group, mesh: null, lines: null, centre: geometry.boundingSphere.center.clone() };
  const fill = new THREE.MeshBasicMaterial({ transparent: (look.solid ?? 1) < 1, opacity: look.solid ?? 1, depthWrite: (look.solid ?? 1) > 0.5, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 });
  if (look.fill) {
    made.mesh = new THREE.Mesh(geometry, fill);
    made.mesh.userData.solid = made;
    group.add(made.mesh);
  }
  const edges = new THREE.EdgesGeometry(geometry, EDGE_DEG);
  const line = look.dash ? new THREE.LineDashedMaterial({ dashSize: 40, gapSize: 25 }) : new THREE.LineBasicMaterial();
  made.lines = new THREE.LineSegments(edges, line);
  if (look.dash) made.lines.computeLineDistances();
  group.add(made.lines);
  // The centres are marks over the picture, so nothing hides them.
  made.lines.visible = !solid.kind.startsWith("centre");
  return made;
}

function tint() {
  scene.background = colour("sheet");
  for (const solid of solids) {
    if (solid.mesh) solid.mesh.material.color = colour(solid.look.fill);
    solid.lines.material.color = colour(solid.look.edge);
  }
  for (const line of scene.userData.marks ?? []) line.material.color = colour(line.userData.tone);
  draw();
}

// The ground under the car, and an arrow up under each axle.
function marks() {
  const { front_mm: front, rear_mm: rear, wide_mm: wide } = data.car;
  const half = wide / 2;
  const line = (places, tone) => {
    const geometry = new THREE.BufferGeometry();
    geometry.setAttribute("position", new THREE.Float32BufferAttribute(places.flat(), 3));
    const made = new THREE.LineSegments(geometry, new THREE.LineBasicMaterial());
    made.userData.tone = tone;
    scene.add(made);
    return made;
  };
  const corners = [[front, -half, 0], [rear, -half, 0], [rear, half, 0], [front, half, 0]];
  const found = [line(corners.flatMap((corner, index) => [corner, corners[(index + 1) % 4]]), "rule")];
  for (const axle of data.axles) {
    const x = axle.x_mm;
    found.push(line([[x, 0, -330], [x, 0, -20], [x, 0, -20], [x - 25, 0, -95], [x, 0, -20], [x + 25, 0, -95], [x, 0, -20], [x, -25, -95], [x, 0, -20], [x, 25, -95]], "ink"));
  }
  for (const body of data.body) {
    const places = [];
    for (let index = 0; index + 5 < body.length; index += 3) places.push(body.slice(index, index + 3), body.slice(index + 3, index + 6));
    found.push(line(places, "line"));
  }
  scene.userData.marks = found;
}

function place() {
  camera.position.copy(target).addScaledVector(towards, -FAR_MM);
  camera.up.set(...(viewName === "plan" ? VIEWS.plan.up : [0, 0, 1]));
  camera.lookAt(target);
  const wide = home.clientWidth, high = home.clientHeight;
  Object.assign(camera, { left: (-wide / 2) * mmPerPx, right: (wide / 2) * mmPerPx, top: (high / 2) * mmPerPx, bottom: (-high / 2) * mmPerPx });
  camera.updateProjectionMatrix();
  camera.updateMatrixWorld();
}

function draw() {
  if (asked || !renderer) return;
  asked = true;
  requestAnimationFrame(() => {
    asked = false;
    place();
    for (const line of scene.userData.marks) line.visible = line.userData.tone !== "ink" || hasLoads();
    renderer.render(scene, camera);
    ring();
    write();
  });
}

// The least outline round places on the screen, and a margin round it.
function outline(places) {
  const points = places.flatMap(([x, y]) => [0, 1, 2, 3, 4, 5, 6, 7].map((step) => [x + RING_OFF * Math.cos((step * Math.PI) / 4), y + RING_OFF * Math.sin((step * Math.PI) / 4)]));
  points.sort((one, other) => one[0] - other[0] || one[1] - other[1]);
  const half = (order) => {
    const found = [];
    for (const at of order) {
      while (found.length > 1 && (found.at(-1)[0] - found.at(-2)[0]) * (at[1] - found.at(-2)[1]) <= (found.at(-1)[1] - found.at(-2)[1]) * (at[0] - found.at(-2)[0])) found.pop();
      found.push(at);
    }
    return found.slice(0, -1);
  };
  return [...half(points), ...half(points.toReversed())].map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join(" ");
}

// A ring over the picture round whatever is chosen, outside of it, so that nothing hides it and it hides nothing.
function ring() {
  const outlines = [], spot = new THREE.Vector3();
  for (const solid of solids) {
    if (!solid.isChosen) continue;
    const places = [];
    for (let at = 0; at < solid.places_mm.length; at += 3) {
      spot.set(solid.places_mm[at], solid.places_mm[at + 1], solid.places_mm[at + 2]).project(camera);
      places.push([((spot.x + 1) / 2) * home.clientWidth, ((1 - spot.y) / 2) * home.clientHeight]);
    }
    const step = solid.around || places.length;
    if (step === places.length) outlines.push(outline(places));
    for (let from = 0; from + 2 * step <= places.length; from += step) outlines.push(outline(places.slice(from, from + 2 * step)));
  }
  const shapes = outlines.map((points) => `<polygon points="${points}"/>`).join("");
  const text = `<svg xmlns="http://www.w3.org/2000/svg" class="ring"><mask id="outside" maskUnits="userSpaceOnUse" x="0" y="0" width="100%" height="100%"><rect width="100%" height="100%" fill="white"/><g fill="black">${shapes}</g></mask><g mask="url(#outside)" stroke-width="${2 * RING_WIDE}">${shapes}</g></svg>`;
  home.querySelector(".ring").replaceWith(outlines.length ? parsed(text) : parsed('<svg xmlns="http://www.w3.org/2000/svg" class="ring"></svg>'));
}

const parsed = (text) => document.adoptNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement);

// From above and from behind the axles lie on each other or under everything.
const hasLoads = () => viewName === "free" || viewName === "side";

// Words over the picture, where there is room: what is chosen first.
function write() {
  const on = (place, below = 0) => {
    const spot = place.clone().project(camera);
    return { x: ((spot.x + 1) / 2) * home.clientWidth, y: ((1 - spot.y) / 2) * home.clientHeight + below };
  };
  const of = (kind) => solids.filter((solid) => solid.kind === kind);
  const words = solids.filter((solid) => solid.key && solid.key === chosen.key).map((solid) => ({ ...on(solid.centre), words: solid.key.split(":")[1], isChosen: true }));
  for (const axle of hasLoads() ? data.axles : []) words.push({ ...on(new THREE.Vector3(axle.x_mm, 0, -400)), words: `${axle.now_kg.toFixed(0)} kg`, small: `${axle.before_kg.toFixed(0)} before` });
  const centres = [...of("centre now"), ...of("centre before")];
  for (const solid of centres) words.push({ ...on(solid.centre, solid.kind === "centre now" ? 19 : -19), words: `${solid.kind.slice(7)} ${solid.centre.z.toFixed(0)} high` });
  for (const solid of [...of("box"), ...of("device"), ...of("HV cable")]) if (solid.key !== chosen.key) words.push({ ...on(solid.centre), words: solid.name });
  writeOver(labels, words, centres.map((solid) => ({ ...on(solid.centre), size: 18, element: centreMark(solid.kind === "centre now") })));
}

// The mark of the centre of gravity: a quartered disc now, a circle with a cross before.
function centreMark(isNow) {
  const shapes = isNow
    ? '<circle r="8" class="paper-disc"/><path d="M0 0V-8A8 8 0 0 1 8 0ZM0 0V8A8 8 0 0 1 -8 0Z" class="ink-disc"/>'
    : '<circle r="8" class="paper-disc"/><path d="M-8 0H8M0 -8V8" class="paper-disc"/>';
  const text = `<svg xmlns="http://www.w3.org/2000/svg" class="cg" viewBox="-9 -9 18 18" width="18" height="18">${shapes}</svg>`;
  return parsed(text);
}

// Everything in the picture, as large as it goes.
function fit() {
  place();
  const spot = new THREE.Vector3();
  let left = Infinity, right = -Infinity, low = Infinity, high = -Infinity;
  const take = (x, y, z) => {
    spot.set(x, y, z).applyMatrix4(camera.matrixWorldInverse);
    left = Math.min(left, spot.x);
    right = Math.max(right, spot.x);
    low = Math.min(low, spot.y);
    high = Math.max(high, spot.y);
  };
  for (const places of [...solids.map((solid) => solid.places_mm), ...data.body]) for (let at = 0; at < places.length; at += 3) take(places[at], places[at + 1], places[at + 2]);
  for (const axle of hasLoads() ? data.axles : []) take(axle.x_mm, 0, -450);
  const across = new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, 0), up = new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, 1);
  target.addScaledVector(across, (left + right) / 2).addScaledVector(up, (low + high) / 2);
  mmPerPx = 1.08 * Math.max((right - left) / home.clientWidth, (high - low) / home.clientHeight);
  draw();
}

function look(name) {
  viewName = name;
  towards.set(...VIEWS[name].towards).normalize();
  for (const button of document.querySelectorAll("[data-view]")) button.setAttribute("aria-pressed", String(button.dataset.view === name));
  fit();
}

function turn(dx, dy) {
  if (viewName !== "free") {
    viewName = "free";
    for (const button of document.querySelectorAll("[data-view]")) button.setAttribute("aria-pressed", String(button.dataset.view === "free"));
  }
  // Straight down there is no upright to turn about: the eye stays a little off it.
  const turned = new THREE.Spherical().setFromVector3(new THREE.Vector3(towards.x, towards.z, -towards.y));
  turned.theta -= dx * 0.007;
  turned.phi = Math.min(Math.max(turned.phi + dy * 0.007, 0.02), Math.PI - 0.02);
  const back = new THREE.Vector3().setFromSpherical(turned);
  towards.set(back.x, -back.z, back.y).normalize();
  draw();
}

function slide(dx, dy) {
  const right = new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, 0);
  const up = new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, 1);
  target.addScaledVector(right, -dx * mmPerPx).addScaledVector(up, dy * mmPerPx);
  draw();
}

function zoom(by, at) {
  const off = at ? { x: at.x - home.clientWidth / 2, y: at.y - home.clientHeight / 2 } : { x: 0, y: 0 };
  const before = mmPerPx;
  mmPerPx = Math.min(Math.max(mmPerPx / by, 0.05), 40);
  const right = new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, 0);
  const up = new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, 1);
  target.addScaledVector(right, off.x * (before - mmPerPx)).addScaledVector(up, -off.y * (before - mmPerPx));
  draw();
}

function keyAt(at) {
  const ray = new THREE.Raycaster();
  const meshes = solids.filter((solid) => solid.mesh && solid.key).map((solid) => solid.mesh);
  for (const [dx, dy] of [[0, 0], [0, -NEAR_PX], [0, NEAR_PX], [-NEAR_PX, 0], [NEAR_PX, 0]]) {
    ray.setFromCamera(new THREE.Vector2(((at.x + dx) / home.clientWidth) * 2 - 1, 1 - ((at.y + dy) / home.clientHeight) * 2), camera);
    const hits = ray.intersectObjects(meshes, false);
    // Through the thin wall of a box its modules can be chosen; the box by its edge of air or by the list.
    const inside = hits.find((hit) => hit.object.userData.solid.kind !== "box") ?? hits[0];
    if (inside) return inside.object.userData.solid.key;
  }
  return "";
}

hands(canvas, {
  zoom,
  drag: (dx, dy, event) => (event.shiftKey || event.buttons > 1 || viewName !== "free" ? slide : turn)(dx, dy),
  press: (event, at) => {
    const key = solids.length && renderer ? keyAt(at) : "";
    if (key || chosen.key) choose(key === chosen.key ? "" : key, { from: home });
  },
});
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, textarea, select")) return;
  const name = { 1: "free", 2: "plan", 3: "side", 4: "rear" }[event.key];
  if (name && solids.length) return look(name);
  if (document.activeElement !== canvas) return;
  const go = (dx, dy) => (viewName === "free" && !event.shiftKey ? turn(dx, dy) : slide(dx, dy));
  const acts = { ArrowLeft: () => go(-24, 0), ArrowRight: () => go(24, 0), ArrowUp: () => go(0, -24), ArrowDown: () => go(0, 24), "+": () => zoom(1.25), "=": () => zoom(1.25), "-": () => zoom(0.8), 0: fit };
  if (acts[event.key]) {
    event.preventDefault();
    acts[event.key]();
  }
});
document.addEventListener("click", (event) => {
  const name = event.target.closest?.("[data-view]")?.dataset.view;
  if (name && solids.length) look(name);
});
document.addEventListener("theme", tint);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", tint);

function mark() {
  for (const solid of solids) {
    solid.isAlso = chosen.also.includes(solid.key);
    solid.isChosen = Boolean(solid.key) && (solid.key === chosen.key || solid.isAlso);
  }
  markList(list, chosen);
  draw();
}

function fillList() {
  const order = new Intl.Collator("en", { numeric: true });
  const lines = [];
  for (const [kind, look] of Object.entries(LOOKS)) {
    const seen = new Set();
    const own = solids.filter((solid) => solid.kind === kind && solid.key && !seen.has(solid.key) && seen.add(solid.key)).sort((a, b) => order.compare(a.name, b.name));
    if (own.length) lines.push(piece("li", { class: "kind" }, look.title));
    for (const solid of own) {
      const button = piece("button", { type: "button", "data-key": solid.key, "aria-pressed": "false" }, piece("b", {}, solid.key.split(":")[1]), piece("span", {}, solid.about));
      lines.push(piece("li", { "data-find": "" }, button));
    }
  }
  list.replaceChildren(...lines);
}

list.addEventListener("click", (event) => {
  const key = event.target.closest("button[data-key]")?.dataset.key;
  if (key) choose(key === chosen.key ? "" : key, { from: list });
});
find.addEventListener("input", () => {
  const words = find.value.toLowerCase();
  for (const line of list.querySelectorAll("[data-find]")) line.hidden = !line.textContent.toLowerCase().includes(words);
});
document.addEventListener("chosen", mark);

async function load() {
  const answer = await fetch(home.dataset.src);
  if (!answer.ok) throw new Error("The car could not be fetched. Load the page again.");
  data = await answer.json();
  solids = data.solids.map((solid) => ({ ...solid, look: LOOKS[solid.kind] })).filter((solid) => solid.look);
  try {
    renderer = new THREE.WebGLRenderer({ canvas, antialias: true, powerPreference: "low-power" });
  } catch {
    home.querySelector(".waiting").textContent = "This browser cannot draw in the round (no WebGL). The list and the page's leaf Drawing hold the same things.";
  }
  if (renderer) {
    solids = solids.map(build);
    for (const solid of solids) scene.add(solid.group);
    marks();
    const size = () => {
      renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
      renderer.setSize(home.clientWidth, home.clientHeight, false);
      draw();
    };
    home.querySelector(".waiting").remove();
    size();
    tint();
    look("free");
    new ResizeObserver(size).observe(home);
  }
  fillList();
  mark();
  home.dataset.ready = "yes";
}
load().catch((error) => say(error.message));
