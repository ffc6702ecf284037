// A table that is edited like a spreadsheet. Only the rows in sight are in the page; what is typed is kept by the app at once, as it was typed.
import { asked, choose, chosen, piece } from "./app.js";
import { draft, isPinned, onLine, set, stepBack, stepOn } from "./draft.js";
import { blockOf, textOf } from "./pasting.js";
import { showFollows } from "./follows.js";
import { api, say } from "./talk.js";
import { swatch } from "./swatch.js";

const ROW_PX = 32;
// Where the grid is narrow, a sentence on what is wrong takes more lines.
const NARROW_PX = 560;
const faultPx = () => (grid.clientWidth < NARROW_PX ? 92 : 44);
const SPARE_ROWS = 12;
const WAIT_MS = 200;
const LOOK_MS = 6_000;

const grid = document.getElementById("grid");
const table = grid.dataset.table;
const kind = grid.dataset.kind;
const can = { edit: !isPinned() };
const count = document.getElementById("grid-count");
const mend = document.querySelector('[data-grid="mend"]');
const find = document.getElementById("grid-find");

// `rows` are all rows in their order in the file; `view` the numbers of those that are shown, sorted and filtered.
let columns = [];
let rows = [];
let base = "";
let faults = new Map();
let view = [];
let tops = [];
let shown = [];
let sort = null;
let at = { row: 0, column: 0 };
let from = { row: 0, column: 0 };
let editor = null;
let allColumns = false;
let released = false;
let extra = {};
const parts = {};

// ---- What is there

async function load() {
  const found = await api(isPinned() ? asked(`tables/${table}`) : onLine(`tables/${table}?rev=draft`));
  columns = found.columns;
  rows = found.rows;
  base = found.base;
  takeFaults(found.faults);
  lay();
}

function takeFaults(found) {
  faults = new Map();
  for (const fault of found) {
    if (fault.table !== table || fault.row === null) continue;
    if (!faults.has(fault.row)) faults.set(fault.row, []);
    faults.get(fault.row).push(fault);
  }
}

const faultAt = (row, column) => faults.get(row)?.find((fault) => fault.column === columns[column].name || fault.column === null);
const keyOf = (row) => columns.map((column, place) => (column.is_key ? rows[row][place] : "")).filter(Boolean).join("/");

function pickColumns() {
  shown = columns.map((_, place) => place).filter((place) => allColumns || columns[place].is_required || columns[place].is_key || rows.some((row) => row[place] !== ""));
}

function pickRows() {
  const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
  view = rows.map((_, row) => row).filter((row) => {
    if (!words.length) return true;
    const text = rows[row].join(" ").toLowerCase();
    return words.every((word) => text.includes(word));
  });
  if (sort) {
    const turn = sort.down ? -1 : 1;
    view.sort((one, other) => turn * compare(rows[one][sort.column], rows[other][sort.column]) || one - other);
  }
  tops = [];
  let top = 0;
  const fault = faultPx();
  grid.style.setProperty("--fault", `${fault}px`);
  for (const row of view) {
    tops.push(top);
    top += ROW_PX + fault * (faults.get(row)?.length ?? 0);
  }
  tops.push(top);
}

function compare(one, other) {
  if (one === "" || other === "") return one === other ? 0 : one === "" ? 1 : -1;
  return one.localeCompare(other, "en", { numeric: true });
}

// ---- What is drawn

function lay() {
  pickColumns();
  pickRows();
  const widths = shown.map((place) => {
    const long = Math.max(columns[place].title.length + 1, ...rows.map((row) => row[place].length + (columns[place].kind === "colour" ? 5 : 0)));
    return `${Math.min(Math.max(long * 7.6 + 20, 56), 260)}px`;
  });
  const cut = hasCut() ? " 5rem" : "";
  grid.style.setProperty("--columns", `3.25rem ${widths.join(" ")}${cut}`);
  grid.setAttribute("aria-rowcount", String(view.length + 1));
  grid.setAttribute("aria-colcount", String(shown.length));
  parts.head = piece("div", { class: "g-row g-head", role: "row", "aria-rowindex": "1" }, piece("span", { class: "g-number", role: "columnheader" }, piece("span", { class: "away" }, "Row")));
  shown.forEach((place, column) => {
    const button = piece("button", { type: "button", tabindex: "-1", "data-sort": String(place), title: columns[place].words }, columns[place].title);
    if (sort?.column === place) button.append(sort.down ? " ↓" : " ↑");
    const cell = piece("span", { role: "columnheader", "aria-colindex": String(column + 1), "aria-sort": sort?.column === place ? (sort.down ? "descending" : "ascending") : "none" }, button);
    if (isNumber(place)) cell.classList.add("right");
    parts.head.append(cell);
  });
  if (hasCut()) parts.head.append(piece("span", { role: "columnheader", class: "right g-cut" }, "Cut, mm"));
  parts.body = piece("div", { class: "g-body", role: "rowgroup" });
  parts.body.style.height = `${tops.at(-1)}px`;
  grid.replaceChildren(piece("div", { role: "rowgroup", class: "g-top" }, parts.head), parts.body);
  at.row = Math.min(at.row, Math.max(view.length - 1, 0));
  at.column = Math.min(at.column, shown.length - 1);
  from = { ...from, row: Math.min(from.row, Math.max(view.length - 1, 0)), column: Math.min(from.column, shown.length - 1) };
  drawn.clear();
  draw();
  say_count();
}

const hasCut = () => table === "wires";
const isNumber = (place) => ["float", "int"].includes(columns[place].kind);
const drawn = new Map();

function rowAt(y) {
  let low = 0;
  let high = view.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (tops[middle] <= y) low = middle;
    else high = middle - 1;
  }
  return low;
}

function draw() {
  grid.style.setProperty("--seen", `${grid.clientWidth}px`);
  const top = grid.scrollTop;
  const first = Math.max(rowAt(top) - SPARE_ROWS, 0);
  const last = Math.min(rowAt(top + grid.clientHeight) + SPARE_ROWS, view.length - 1);
  for (const [place, element] of drawn) {
    if (place < first || place > last) {
      if (editor?.place === place) continue;
      element.remove();
      drawn.delete(place);
    }
  }
  for (let place = first; place <= last; place += 1) {
    if (drawn.has(place)) continue;
    const element = rowOf(place);
    drawn.set(place, element);
    parts.body.append(element);
  }
  mark();
}

function redraw() {
  for (const element of drawn.values()) element.remove();
  drawn.clear();
  draw();
}

function rowOf(place) {
  const row = view[place];
  const key = keyOf(row);
  const element = piece("div", { class: "g-line", role: "presentation", "data-place": String(place) });
  element.style.transform = `translateY(${tops[place]}px)`;
  const cells = piece("div", { class: "g-row", role: "row", "aria-rowindex": String(place + 2) }, piece("span", { class: "g-number", role: "rowheader" }, String(row + 1)));
  if (kind && key) cells.dataset.row = `${kind}:${key}`;
  shown.forEach((column, index) => cells.append(cellOf(row, column, place, index)));
  if (hasCut()) cells.append(piece("span", { class: "right g-cut", role: "gridcell", "data-cut": key }, cutOf(key)));
  element.append(cells);
  for (const fault of faults.get(row) ?? []) element.append(faultLine(row, fault));
  return element;
}

const cutOf = (key) => (extra[key] === undefined ? "" : String(Math.round(extra[key])));

function cellOf(row, column, place, index) {
  const text = rows[row][column];
  const cell = piece("span", { role: "gridcell", id: `g-${place}-${index}`, "aria-colindex": String(index + 1), "data-column": String(index) });
  if (columns[column].kind === "colour" && text) cell.append(swatch(text), " ");
  cell.append(text);
  if (isNumber(column)) cell.classList.add("right");
  if (columns[column].is_key) cell.classList.add("key");
  const fault = faultAt(row, column);
  if (fault) {
    cell.classList.add("bad");
    cell.setAttribute("aria-invalid", "true");
    cell.title = fault.message;
  }
  return cell;
}

function faultLine(row, fault) {
  const stop = piece("span", { class: "g-stop", "aria-hidden": "true" });
  const column = columns.find((item) => item.name === fault.column);
  const line = piece("div", { class: "g-fault", role: "row" }, piece("span", { role: "gridcell" }, stop, piece("span", { class: "words" }, `${column ? `${column.title}: ` : ""}${fault.message}`)));
  if (fault.remedy && can.edit) {
    const button = piece("button", { type: "button", "data-remedy": fault.remedy, "data-bad": `${row} ${columns.indexOf(column)}` }, `Put ${fault.remedy}`);
    line.firstChild.append(button);
  }
  return line;
}

function mark() {
  const [top, bottom] = [Math.min(at.row, from.row), Math.max(at.row, from.row)];
  const [left, right] = [Math.min(at.column, from.column), Math.max(at.column, from.column)];
  const ref = chosen.key.startsWith(`${kind}:`) ? "" : chosen.key.split(":")[1] ?? "";
  const several = top !== bottom || left !== right;
  for (const [place, element] of drawn) {
    const cells = element.firstChild;
    cells.classList.toggle("chosen", chosen.key !== "" && cells.dataset.row === chosen.key);
    for (const cell of cells.querySelectorAll("[data-column]")) {
      const column = Number(cell.dataset.column);
      const inside = several && place >= top && place <= bottom && column >= left && column <= right;
      cell.classList.toggle("at", place === at.row && column === at.column);
      cell.classList.toggle("in", inside);
      cell.classList.toggle("named", names(cell.textContent.trim(), ref));
      if (inside || (place === at.row && column === at.column)) cell.setAttribute("aria-selected", "true");
      else cell.removeAttribute("aria-selected");
    }
  }
  const active = document.getElementById(`g-${at.row}-${at.column}`);
  if (active) grid.setAttribute("aria-activedescendant", active.id);
  else grid.removeAttribute("aria-activedescendant");
}

// Whether a cell names what is chosen in another view: a loom, the device of a pin.
const names = (text, ref) => ref !== "" && (text === ref || text.startsWith(`${ref}.`));

function say_count() {
  const bad = [...faults.values()].reduce((sum, some) => sum + some.length, 0);
  const name = table.replaceAll("_", " ");
  const filtered = view.length !== rows.length ? `${view.length} of ` : "";
  count.textContent = `${filtered}${rows.length} ${rows.length === 1 ? name.replace(/s$/, "") : name}${bad ? "," : ""}`;
  mend.hidden = bad === 0;
  mend.textContent = `${bad} ${bad === 1 ? "cell" : "cells"} to mend`;
}

// ---- Moving about

function go(row, column, { extend = false, scroll = true } = {}) {
  at = { row: Math.max(0, Math.min(row, view.length - 1)), column: Math.max(0, Math.min(column, shown.length - 1)) };
  if (!extend) from = { ...at };
  if (scroll) reveal();
  draw();
  selectLater();
}

function reveal() {
  const headPx = parts.head.offsetHeight;
  const top = tops[at.row];
  const bottom = tops[at.row + 1] + headPx;
  if (top < grid.scrollTop) grid.scrollTop = top;
  else if (bottom > grid.scrollTop + grid.clientHeight) grid.scrollTop = bottom - grid.clientHeight;
  const cell = parts.head.children[at.column + 1];
  const fixed = parts.head.firstChild.offsetWidth;
  if (cell.offsetLeft - fixed < grid.scrollLeft) grid.scrollLeft = cell.offsetLeft - fixed;
  else if (cell.offsetLeft + cell.offsetWidth > grid.scrollLeft + grid.clientWidth) grid.scrollLeft = cell.offsetLeft + cell.offsetWidth - grid.clientWidth;
}

let later = 0;

// The row under the cursor is what is selected in every view, once the cursor rests. A row that does not read yet is no thing.
function selectLater() {
  clearTimeout(later);
  if (!kind || !draft.now?.reads) return;
  later = setTimeout(() => {
    const row = view[at.row];
    if (row === undefined || rows[row] === undefined) return;
    const key = `${kind}:${keyOf(row)}`;
    if (keyOf(row) && key !== chosen.key && !unkept()) choose(key, { from: grid });
  }, WAIT_MS);
}

function findChosen() {
  const [what, key] = chosen.key.split(":");
  const place = key ? view.findIndex((row) => (what === kind ? keyOf(row) === key : rows[row].some((text) => names(text, key)))) : -1;
  if (place >= 0 && place !== at.row) {
    at = { ...at, row: place };
    from = { ...at };
    reveal();
  }
  draw();
}

function block() {
  const [top, bottom] = [Math.min(at.row, from.row), Math.max(at.row, from.row)];
  const [left, right] = [Math.min(at.column, from.column), Math.max(at.column, from.column)];
  return { top, bottom, left, right };
}

// ---- Changing

// One change of the table: typed, pasted, filled, cleared, rows come or gone. It is one step of undo.
function change(edit) {
  if (!can.edit) return;
  edit();
  send();
  lay();
}

function put(row, column, text) {
  rows[row] = rows[row].with ? rows[row].with(column, text) : Object.assign([...rows[row]], { [column]: text });
}

function fill() {
  const { top, bottom, left, right } = block();
  const first = top === bottom && top > 0 ? top - 1 : top;
  change(() => {
    for (let place = first + 1; place <= bottom; place += 1) {
      for (let column = left; column <= right; column += 1) put(view[place], shown[column], rows[view[first]][shown[column]]);
    }
  });
}

function clear() {
  const { top, bottom, left, right } = block();
  change(() => {
    for (let place = top; place <= bottom; place += 1) for (let column = left; column <= right; column += 1) put(view[place], shown[column], "");
  });
}

function add() {
  const under = view.length ? view[at.row] + 1 : 0;
  find.value = "";
  sort = null;
  change(() => rows.splice(under, 0, columns.map(() => "")));
  go(view.indexOf(under), 0);
  grid.focus();
}

function remove() {
  const { top, bottom } = block();
  const gone = new Set(view.slice(top, bottom + 1));
  change(() => {
    rows = rows.filter((_, row) => !gone.has(row));
    faults = new Map();
  });
  go(Math.min(top, view.length - 1), at.column);
  grid.focus();
}

// A block of text from a spreadsheet. A first line of headings says which columns they are; rows beyond the last are new.
function paste(text) {
  const lines = blockOf(text);
  if (!lines.length) return;
  const { top, bottom, left, right } = block();
  const named = lines[0].map((words) => columns.findIndex((column) => [column.name, column.title.toLowerCase()].includes(words.trim().toLowerCase())));
  const hasHeads = lines.length > 1 && named.filter((place) => place >= 0).length > 1 && named.every((place, index) => place >= 0 || lines[0][index] === "");
  const body = hasHeads ? lines.slice(1) : lines;
  const one = body.length === 1 && body[0].length === 1;
  change(() => {
    if (one) {
      for (let place = top; place <= bottom; place += 1) for (let column = left; column <= right; column += 1) put(view[place], shown[column], body[0][0]);
      return;
    }
    const places = hasHeads ? named : body[0].map((_, index) => shown[left + index] ?? -1);
    body.forEach((cells, index) => {
      let row = view[top + index];
      if (row === undefined) {
        row = rows.length;
        rows.push(columns.map(() => ""));
        view.push(row);
      }
      cells.forEach((words, column) => {
        if ((places[column] ?? -1) >= 0) put(row, places[column], words.trim());
      });
    });
  });
  from = { row: top, column: left };
  at = { row: Math.min(top + (one ? bottom - top : body.length - 1), view.length - 1), column: one ? right : Math.min(left + body[0].length - 1, shown.length - 1) };
  draw();
}

function copied() {
  const { top, bottom, left, right } = block();
  return textOf(view.slice(top, bottom + 1).map((row) => shown.slice(left, right + 1).map((column) => rows[row][column])));
}

// ---- Keeping what was typed

let waiting = null;
let sending = null;
const queue = [];
const unkept = () => queue.length > 0 || sending !== null;

function send() {
  queue.push(rows.map((row) => [...row]));
  if (!sending) sending = sendAll();
  return sending;
}

async function sendAll() {
  clearTimeout(waiting);
  try {
    while (queue.length) {
      const state = await api(onLine(`draft/tables/${table}`), { method: "PUT", body: { base, rows: queue[0] } });
      queue.shift();
      set(state);
      if (!queue.length) {
        takeFaults(state.faults);
        elsewhere(state.faults);
        // A cell that is open stays open: what it holds is not in the table yet.
        if (!editor) lay();
        else say_count();
        document.querySelector('[role="alert"]')?.setAttribute("hidden", "");
        showFollows(state, taken);
      }
    }
  } catch (error) {
    if (error.status && error.status < 500) {
      // Sent again, it would be refused again.
      say(`${error.message} What you typed last stands on this page only: copy it, then load the page again.`);
      queue.length = 0;
      sending = null;
      return;
    }
    say(`${error.message} What you typed is kept on this page, and is sent again.`);
    waiting = setTimeout(() => (sending = sendAll()), 3_000);
    return;
  }
  sending = null;
}

function taken(found) {
  extra = found;
  for (const cell of grid.querySelectorAll("[data-cut]")) cell.textContent = cutOf(cell.dataset.cut);
}

// Tables that name what was changed here may not read any more.
function elsewhere(found) {
  const others = [...new Set(found.filter((fault) => fault.table !== table || fault.row === null).map((fault) => `${fault.table}${fault.row === null ? "" : ` row ${fault.row + 1}`}: ${fault.message}`))];
  const place = document.getElementById("others");
  if (place.dataset.kind === "saved") return;
  place.hidden = others.length === 0;
  place.dataset.kind = "faults";
  place.replaceChildren(...others.slice(0, 5).map((words) => piece("p", {}, words)), ...(others.length > 5 ? [piece("p", {}, `and ${others.length - 5} more`)] : []));
}

draft.before = async () => {
  if (editor) close(true);
  if (sending) await sending;
};
draft.rows = async () => {
  await load();
  elsewhere(draft.now.faults);
  showFollows(draft.now, taken);
};

// Somebody else may have saved since.
async function look() {
  if (document.hidden || unkept() || isPinned()) return;
  try {
    const state = await api(onLine("draft"));
    if (unkept() || state.head === draft.now.head) return;
    const seen = draft.now.head;
    set(state);
    const { revisions, cells } = await api(onLine(`changed?since=${seen}`));
    othersSaved(revisions, cells);
    if (!state.is_there) await load();
  } catch {
    // Whoever types next is told.
  }
}

function othersSaved(revisions, cells) {
  const place = document.getElementById("others");
  const who = [...new Set(revisions.map((item) => item.by))].join(", ") || "Somebody";
  const why = revisions.map((item) => item.reason).join("; ");
  place.hidden = false;
  place.dataset.kind = "saved";
  const list = cells.slice(0, 40).map((cell) => piece("li", {}, piece("b", {}, cell.key || cell.table), ` ${cell.field || "row"}: ${cell.was ?? "–"} → ${cell.now ?? "–"}`));
  place.replaceChildren(
    piece("p", {}, piece("b", {}, `${who} saved meanwhile: ${cells.length} ${cells.length === 1 ? "cell" : "cells"}.`), ` ${why}. `,
      draft.now.is_there ? "When you save, both are merged; where both changed a cell, you choose." : "It is shown here now."),
    piece("ul", {}, ...list),
    piece("button", { type: "button", "data-grid": "seen" }, "Seen"));
}

// ---- Editing a cell

function open(text = null) {
  if (!can.edit || !view.length || editor) return;
  const place = at.row;
  const column = shown[at.column];
  reveal();
  draw();
  const cell = document.getElementById(`g-${at.row}-${at.column}`);
  const field = piece("input", { type: "text", "aria-label": `${columns[column].title}, row ${view[place] + 1}`, spellcheck: "false", autocomplete: "off", maxlength: "2000" });
  if (columns[column].options.length) field.setAttribute("list", listOf(column));
  field.value = text ?? rows[view[place]][column];
  cell.classList.add("open");
  cell.replaceChildren(field);
  editor = { place, column, field, row: view[place], was: rows[view[place]][column] };
  field.focus();
  field.setSelectionRange(field.value.length, field.value.length);
  field.addEventListener("blur", () => close(true));
}

function listOf(column) {
  const id = `g-options-${column}`;
  if (!document.getElementById(id)) grid.after(piece("datalist", { id }, ...columns[column].options.map((value) => piece("option", { value }))));
  return id;
}

function close(keep) {
  if (!editor) return;
  const { row, column, field, was } = editor;
  const text = field.value.trim();
  editor = null;
  if (keep && text !== was) change(() => put(row, column, text));
  else redraw();
}

// ---- Hands and keys

const MOVES = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };

function onEditKey(event) {
  if (event.key === "Escape") close(false);
  else if (event.key === "Enter") close(true);
  else if (event.key === "Tab") close(true);
  else return;
  event.preventDefault();
  event.stopPropagation();
  grid.focus();
  if (event.key === "Enter") go(at.row + (event.shiftKey ? -1 : 1), at.column);
  if (event.key === "Tab") sideways(event.shiftKey ? -1 : 1);
}

function sideways(by) {
  const next = at.column + by;
  if (next >= shown.length && at.row < view.length - 1) go(at.row + 1, 0);
  else if (next < 0 && at.row > 0) go(at.row - 1, shown.length - 1);
  else go(at.row, next);
}

function onKey(event) {
  if (editor) {
    if (event.target === editor.field) onEditKey(event);
    return;
  }
  if (event.target !== grid) return;
  const control = event.ctrlKey || event.metaKey;
  const page = Math.max(Math.floor(grid.clientHeight / ROW_PX) - 2, 1);
  if (MOVES[event.key]) {
    const [down, right] = MOVES[event.key];
    if (control) go(down ? (down > 0 ? view.length - 1 : 0) : at.row, right ? (right > 0 ? shown.length - 1 : 0) : at.column, { extend: event.shiftKey });
    else go(at.row + down, at.column + right, { extend: event.shiftKey });
  } else if (event.key === "Tab" && !released) sideways(event.shiftKey ? -1 : 1);
  else if (event.key === "Escape") {
    released = true;
    from = { ...at };
    mark();
  } else if (event.key === "Home") go(control ? 0 : at.row, 0, { extend: event.shiftKey });
  else if (event.key === "End") go(control ? view.length - 1 : at.row, shown.length - 1, { extend: event.shiftKey });
  else if (event.key === "PageDown") go(at.row + page, at.column, { extend: event.shiftKey });
  else if (event.key === "PageUp") go(at.row - page, at.column, { extend: event.shiftKey });
  else if (event.key === "Enter" || event.key === "F2") open();
  else if (event.key === "Delete" || event.key === "Backspace") clear();
  else if (control && event.key.toLowerCase() === "z") event.shiftKey ? stepOn() : stepBack();
  else if (control && event.key.toLowerCase() === "y") stepOn();
  else if (control && event.key.toLowerCase() === "d") fill();
  else if (control && event.key.toLowerCase() === "a") {
    from = { row: 0, column: 0 };
    go(view.length - 1, shown.length - 1, { extend: true, scroll: false });
  } else if (event.key.length === 1 && !control && !event.altKey) open(event.key);
  else return;
  if (event.key !== "Escape") released = false;
  event.preventDefault();
}

function placeOf(event) {
  const cell = event.target.closest("[data-column]");
  const line = event.target.closest("[data-place]");
  return cell && line ? { row: Number(line.dataset.place), column: Number(cell.dataset.column) } : null;
}

let dragging = false;

grid.addEventListener("pointerdown", (event) => {
  if (event.button !== 0 || event.target.closest("button, input")) return;
  const line = event.target.closest("[data-place]");
  const place = placeOf(event);
  if (editor) close(true);
  grid.focus({ preventScroll: true });
  if (place) go(place.row, place.column, { extend: event.shiftKey, scroll: false });
  else if (line && event.target.closest(".g-number")) {
    if (!event.shiftKey) from = { row: Number(line.dataset.place), column: 0 };
    go(Number(line.dataset.place), shown.length - 1, { extend: true, scroll: false });
  } else return;
  dragging = event.pointerType === "mouse";
  if (dragging) event.preventDefault();
});
grid.addEventListener("pointermove", (event) => {
  if (!dragging || event.buttons !== 1) return;
  const place = placeOf(event);
  if (place && (place.row !== at.row || place.column !== at.column)) go(place.row, place.column, { extend: true, scroll: false });
});
addEventListener("pointerup", () => (dragging = false));
grid.addEventListener("dblclick", (event) => placeOf(event) && open());
grid.addEventListener("scroll", () => draw(), { passive: true });
grid.addEventListener("keydown", onKey);
grid.addEventListener("focus", () => (released = false));
grid.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (button?.dataset.sort) {
    const column = Number(button.dataset.sort);
    sort = sort?.column !== column ? { column, down: false } : sort.down ? null : { column, down: true };
    lay();
  }
  if (button?.dataset.remedy) {
    const [row, column] = button.dataset.bad.split(" ").map(Number);
    change(() => put(row, column, button.dataset.remedy));
    grid.focus();
  }
});
for (const [name, act] of [["copy", () => {}], ["cut", clear]]) {
  document.addEventListener(name, (event) => {
    if (document.activeElement !== grid || !view.length) return;
    event.clipboardData.setData("text/plain", copied());
    event.preventDefault();
    act();
  });
}
document.addEventListener("paste", (event) => {
  if (document.activeElement !== grid) return;
  event.preventDefault();
  paste(event.clipboardData.getData("text/plain"));
});
find.addEventListener("input", () => {
  lay();
  grid.scrollTop = 0;
});
document.querySelector(".tools").addEventListener("click", (event) => {
  const act = event.target.closest("[data-grid]")?.dataset.grid;
  if (act === "add") add();
  if (act === "remove") remove();
  if (act === "fill") fill();
  if (act === "mend") toMend();
  if (act === "columns") {
    allColumns = !allColumns;
    event.target.setAttribute("aria-pressed", String(allColumns));
    lay();
  }
});
document.getElementById("others").addEventListener("click", (event) => {
  if (event.target.closest('[data-grid="seen"]')) {
    event.currentTarget.hidden = true;
    event.currentTarget.dataset.kind = "";
  }
});
document.addEventListener("chosen", (event) => event.detail.from !== grid ? findChosen() : mark());
addEventListener("resize", () => !editor && lay());
addEventListener("beforeunload", (event) => {
  if (unkept()) event.preventDefault();
});

// The next bad cell after the cursor, and round again.
function toMend() {
  find.value = "";
  pickRows();
  const bad = view.flatMap((row, place) => (faults.get(row) ?? []).map((fault) => ({ place, name: fault.column })));
  const next = bad.find((item) => item.place > at.row) ?? bad[0];
  if (!next) return;
  if (next.name && !shown.some((place) => columns[place].name === next.name)) allColumns = true;
  lay();
  go(next.place, Math.max(shown.findIndex((place) => columns[place].name === next.name), 0));
  grid.focus();
}

try {
  if (!can.edit) for (const button of document.querySelectorAll('[data-grid="add"], [data-grid="remove"], [data-grid="fill"]')) button.disabled = true;
  await load();
  findChosen();
  grid.dataset.ready = "yes";
  if (draft.now) {
    elsewhere(draft.now.faults);
    showFollows(draft.now, taken);
    if (draft.now.is_behind) {
      const { revisions, cells } = await api(onLine(`changed?since=${draft.now.base}`));
      othersSaved(revisions, cells);
    }
  }
  setInterval(look, LOOK_MS);
} catch (error) {
  say(error.message);
}
