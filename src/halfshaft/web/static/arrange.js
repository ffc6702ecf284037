// Arrangements of the battery: begin a search, see how far it is, look at the best as points and as a table, take one.
import { base, piece, revision } from "./app.js";
import { api, say } from "./talk.js";

const SVG = "http://www.w3.org/2000/svg";
const page = document.getElementById("arrange"), one = document.getElementById("one");
const scatter = document.getElementById("scatter"), rows = document.querySelector("#front tbody");
const pick = (name, root = page) => root.querySelector(`[data-${name}]`);
const rev = `?${document.body.dataset.asked.replace("rev=draft", `rev=${revision.slice(0, 12)}`)}`;
// What may be laid along an axis: its words and how many places are shown.
const GOALS = {
  front_percent: ["front axle, %", 1], cg_height_mm: ["height of the centre of gravity, mm", 1], luggage_lost_l: ["luggage lost, l", 1],
  hv_cable_m: ["HV cable, m", 1], yaw_change_kg_m2: ["yaw inertia added, kg m²", 0], energy_kwh: ["energy, kWh", 1], boxes: ["boxes", 0], cost_eur: ["cost of the boxes, €", 0],
};
const MANY = 40, POLL_MS = 400;
let front = null, chosen = null, hovered = null;

for (const [id, first] of [["axis-x", "front_percent"], ["axis-y", "cg_height_mm"]]) {
  const select = document.getElementById(id);
  select.append(...Object.entries(GOALS).map(([name, [words]]) => piece("option", { value: name }, words)));
  select.value = first;
  select.addEventListener("change", draw);
}

function shape(tag, attributes, ...inside) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...inside);
  return made;
}

const nameOf = (item) => (item.number ? String(item.number) : "now");
const shown = (name, item) => item[name].toFixed(GOALS[name][1]);

// Round numbers from least to most, some five of them.
function ticks(low, high) {
  const rough = (high - low) / 5 || 1, power = 10 ** Math.floor(Math.log10(rough));
  const step = power * [1, 2, 5, 10].find((times) => times * power >= rough);
  const found = [];
  for (let at = Math.ceil(low / step) * step; at <= high + step / 1e6; at += step) found.push(Number(at.toPrecision(12)));
  return found;
}

function draw() {
  if (!front?.found.length) return;
  const across = document.getElementById("axis-x").value, up = document.getElementById("axis-y").value;
  const wide = scatter.parentElement.clientWidth - 16, high = Math.min(Math.max(wide * 0.5, 240), 380);
  const left = 58, right = wide - 24, top = 36, bottom = high - 46;
  const range = (name) => {
    const values = front.found.map((item) => item[name]), low = Math.min(...values), most = Math.max(...values), spare = (most - low) * 0.08 || 1;
    return [low - spare, most + spare];
  };
  const [x0, x1] = range(across), [y0, y1] = range(up);
  const x = (value) => left + ((value - x0) / (x1 - x0)) * (right - left), y = (value) => bottom - ((value - y0) / (y1 - y0)) * (bottom - top);
  const parts = [];
  for (const at of ticks(x0, x1)) parts.push(shape("path", { d: `M${x(at)} ${top}V${bottom}`, class: "rule" }), shape("text", { x: x(at), y: bottom + 18, class: "middle" }, String(at)));
  for (const at of ticks(y0, y1)) parts.push(shape("path", { d: `M${left} ${y(at)}H${right}`, class: "rule" }), shape("text", { x: left - 8, y: y(at) + 4, class: "end" }, String(at)));
  parts.push(shape("path", { d: `M${left} ${top}V${bottom}H${right}`, class: "axis" }));
  parts.push(shape("text", { x: right, y: bottom + 38, class: "end soft" }, GOALS[across][0]), shape("text", { x: 0, y: 14, class: "soft" }, GOALS[up][0]));
  if (across === "front_percent" && front.target_front_percent > x0 && front.target_front_percent < x1) {
    const at = x(front.target_front_percent);
    parts.push(shape("path", { d: `M${at} ${top}V${bottom}`, class: "target" }), shape("text", { x: at + 5, y: top - 6, class: "soft" }, "aimed at"));
  }
  const taken = [];
  const order = [...front.found].sort((a, b) => (b === chosen) - (a === chosen));
  const points = order.map((item) => {
    const px = x(item[across]), py = y(item[up]);
    const name = `point${item === chosen ? " chosen" : ""}${item === hovered ? " hovered" : ""}`;
    const group = shape("g", { class: name, "data-no": item.number, transform: `translate(${px.toFixed(1)} ${py.toFixed(1)})` }, shape("circle", { r: 16, class: "reach" }), shape("circle", { r: item === chosen ? 7 : 5 }));
    if (item.is_now) group.append(shape("path", { d: "M-9 0H9M0 -9V9", class: "cross" }));
    const words = item.is_now ? (item.number ? `${item.number}, as now` : "as now") : nameOf(item), box = { left: px + 8, right: px + 14 + words.length * 7, top: py - 20, bottom: py - 2 };
    const clear = !taken.some((other) => box.left < other.right && box.right > other.left && box.top < other.bottom && box.bottom > other.top);
    if (clear && (front.found.length < MANY || item.best_at.length || item === chosen || item.is_now)) {
      taken.push(box);
      group.append(shape("text", { x: 9, y: -6 }, words));
    }
    return group;
  });
  scatter.setAttribute("viewBox", `0 0 ${wide} ${high}`);
  scatter.setAttribute("width", wide);
  scatter.setAttribute("height", high);
  scatter.replaceChildren(...parts, ...points.reverse());
}

function fill() {
  rows.replaceChildren(...front.found.map((item) => {
    const cell = (words) => piece("td", { class: "right" }, words);
    const row = piece("tr", { "data-no": item.number },
      piece("td", {}, piece("button", { type: "button", class: "pickone", "aria-pressed": String(item === chosen), "aria-label": item.number ? `Number ${item.number}` : "As it is now" }, nameOf(item))),
      piece("td", {}, item.words), cell(shown("cg_height_mm", item)), cell(shown("front_percent", item)), cell(shown("luggage_lost_l", item)), cell(shown("hv_cable_m", item)),
      cell(shown("yaw_change_kg_m2", item)), cell(shown("energy_kwh", item)), cell(shown("cost_eur", item)),
      piece("td", {}, [...(item.is_now ? ["as it is now"] : []), ...item.best_at].join(", ")));
    row.classList.toggle("chosen", item === chosen);
    return row;
  }));
}

function show(found) {
  const number = chosen?.number;
  front = found;
  const running = found.state === "running";
  pick("running").hidden = !running;
  pick("go").disabled = running;
  pick("words").textContent = `${found.count ? `${found.count} kept. ` : ""}${found.words}`;
  pick("bar").max = found.steps;
  pick("bar").value = found.step;
  const ended = { stopped: `Stopped; what had been found is kept: ${found.count} best.`, failed: found.words, none: "" }[found.state];
  pick("done").textContent = running ? "" : (ended ?? `${found.count} best of ${found.looked_at} arrangements.`);
  pick("front").hidden = !found.found.length;
  if (!found.found.length) {
    if (!running && found.nearest) pick("done").textContent += ` ${found.nearest}`;
    return;
  }
  chosen = found.found.find((item) => item.number === number) ?? null;
  pick("notes").textContent = [...found.refused, found.nearest, found.count > found.found.length ? `Shown are the first ${found.found.length}.` : "",
    "Yaw: what battery and boxes add. €: the boxes only, labour counted in."].filter(Boolean).join(". ").replaceAll("..", ".");
  pick("caution").textContent = found.caution;
  fill();
  draw();
}

// The car in plan and from the side, with the boxes of one arrangement.
function sketch(item) {
  const { frontMm, rearMm, wideMm, highMm, baseMm, tyreMm } = Object.fromEntries(Object.entries(one.dataset).map(([name, value]) => [name, Number(value)]));
  const gap = 160, side = highMm + 40, width = rearMm - frontMm + 80, height = side + gap + wideMm + 80;
  const x = (value) => value - frontMm + 40, z = (value) => side - value, y = (value) => side + gap + wideMm / 2 + 20 - value;
  const parts = [
    shape("path", { d: `M0 ${side}H${width}`, class: "thin" }), ...[0, baseMm].map((at) => shape("circle", { cx: x(at), cy: z(tyreMm), r: tyreMm, class: "thin" })),
    shape("rect", { x: x(frontMm), y: z(highMm), width: rearMm - frontMm, height: highMm - 140, rx: 160, class: "thin" }),
    shape("rect", { x: x(frontMm), y: y(wideMm / 2), width: rearMm - frontMm, height: wideMm, rx: 200, class: "thin" }),
  ];
  for (const box of item.blocks) {
    const [left, right] = box.x_mm;
    for (const [top, bottom] of [[z(box.z_mm[1]), z(box.z_mm[0])], [y(box.y_mm[1]), y(box.y_mm[0])]]) parts.push(shape("rect", { x: x(left), y: top, width: right - left, height: bottom - top, class: "box" }));
    parts.push(shape("text", { x: x((left + right) / 2), y: y((box.y_mm[0] + box.y_mm[1]) / 2) + 50, class: "middle", "font-size": 150 }, String(box.modules)));
  }
  const words = item.blocks.map((box) => `${box.modules} modules in ${box.space}`).join(", ");
  return shape("svg", { viewBox: `0 0 ${width} ${height}`, class: "sketch", role: "img", "aria-label": `From the side and from above: ${words}` }, ...parts);
}

async function choose(number) {
  chosen = front.found.find((item) => item.number === number) ?? null;
  fill();
  draw();
  if (!chosen) return;
  const item = chosen;
  pick("title", one).textContent = item.number ? `Number ${item.number}` : "As it is now";
  const facts = [
    ["front axle", `${item.front_kg.toFixed(0)} kg, ${item.front_percent.toFixed(1)} %`], ["rear axle", `${item.rear_kg.toFixed(0)} kg`], ["centre of gravity", `${item.cg_height_mm.toFixed(0)} mm high`],
    ["could be lower by", item.lower_by_mm === null ? "not proven" : `${item.lower_by_mm.toFixed(1)} mm at most`], ["live with the disconnect out", `${item.live_v.toFixed(0)} V`], ["hours for the boxes", String(item.hours)],
  ];
  const list = piece("ul", { class: "fo" }, ...facts.map(([name, words]) => piece("li", {}, piece("span", {}, name), piece("span", {}, words))));
  const boxes = item.blocks.map((box) => piece("p", { class: "small" }, piece("b", {}, box.space), ` ${box.modules} modules: ${box.how}; ${[box.x_mm, box.y_mm, box.z_mm].map(([low, high]) => (high - low).toFixed(0)).join(" × ")} mm`));
  const later = piece("div", {}, piece("p", { class: "soft" }, "What it changes is worked out."));
  pick("one", one).replaceChildren(sketch(item), list, ...boxes, ...(item.number && !item.is_now ? [later] : []));
  pick("take", one).hidden = !item.number || item.is_now;
  if (!item.number || item.is_now) return;
  pick("no", one).textContent = item.number;
  try {
    const taken = await api(`${base}/arrange/${item.number}${rev}`);
    if (item !== chosen) return;
    const part = (title, lines) => (lines.length ? [piece("details", {}, piece("summary", {}, `${title}: ${lines.length}`), piece("ul", { class: "plainlist" }, ...lines.map((line) => piece("li", {}, line))))] : []);
    later.replaceChildren(...part("Taking it changes", taken.changed), ...part("Then still to do", taken.to_do));
  } catch (error) {
    later.replaceChildren(piece("p", { class: "wrong" }, error.message));
    pick("take", one).hidden = true;
  }
}

async function follow() {
  for (;;) {
    const found = await api(`${base}/arrange${rev}`);
    show(found);
    if (found.state !== "running") return;
    await new Promise((done) => setTimeout(done, POLL_MS));
  }
}

pick("search").addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    show(await api(`${base}/arrange${rev}`, { method: "POST", body: { effort_s: Number(event.target.elements.effort_s.value) } }));
    await follow();
  } catch (error) {
    say(error.message);
  }
});
pick("stop").addEventListener("click", () => api(`${base}/arrange${rev}`, { method: "DELETE" }).then(show).catch((error) => say(error.message)));
rows.addEventListener("click", (event) => {
  const row = event.target.closest("tr[data-no]");
  if (!row) return;
  const number = Number(row.dataset.no), byKey = document.activeElement?.classList.contains("pickone");
  choose(number);
  if (byKey) rows.querySelector(`tr[data-no="${number}"] button`)?.focus();
});
const pointAt = (event) => front?.found.find((item) => String(item.number) === event.target.closest?.("g.point")?.dataset.no);
scatter.addEventListener("click", (event) => {
  const item = pointAt(event);
  if (item) choose(item.number);
});
scatter.addEventListener("pointerover", (event) => {
  hovered = pointAt(event) ?? null;
  for (const point of scatter.querySelectorAll(".point")) point.classList.toggle("hovered", Number(point.dataset.no) === hovered?.number);
  pick("hover").textContent = hovered ? `${nameOf(hovered)}: ${hovered.words}; ${hovered.cg_height_mm.toFixed(0)} mm high, front ${hovered.front_percent.toFixed(1)} %${hovered.best_at.length ? `; ${hovered.best_at.join(", ")}` : ""}` : "\u00a0";
});
pick("take", one).addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    const done = await api(`${base}/arrange/${chosen.number}/take${rev}`, { method: "POST", body: { reason: event.target.elements.reason.value, where: event.submitter?.value ?? "main" } });
    if (done.beside) return say(done.beside);
    location.href = done.href;
  } catch (error) {
    say(error.message);
  }
});
new ResizeObserver(draw).observe(scatter.parentElement);
follow().catch((error) => say(error.message));
