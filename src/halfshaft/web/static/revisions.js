// Revisions: going back, what-ifs, choosing between two, and what a change means for the workshop.
import { piece } from "./app.js";
import { draft, nameOf, onLine, remember } from "./draft.js";
import { api, say } from "./talk.js";

const conversion = document.body.dataset.conversion;
const base = `/api/conversions/${conversion}`;

// Whoever acts says who it is, where nobody signs in.
function author() {
  const field = document.querySelector('main [name="by"]');
  if (!field) return {};
  nameOf(document.querySelector("main"));
  if (!field.value) {
    field.focus();
    throw new Error("Give your name first, so that others know who did it.");
  }
  remember(field.value);
  return { by: field.value };
}

async function act(path, body, then) {
  try {
    const done = await api(path, { method: "POST", body: { ...body, ...author() } });
    then(done);
  } catch (error) {
    say(error.message);
  }
}

document.querySelector("main").addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const { back, take, drop, every } = button.dataset;
  if (back) act(onLine("go-back"), { head: draft.now.head, to: back }, () => location.reload());
  if (take) goAndTake(take);
  if (drop) act(`${base}/lines/${drop}/drop`, {}, () => (location.href = `/c/${conversion}/revisions`));
  if (every) for (const one of document.querySelectorAll(`input[value="${every}"]`)) one.checked = true;
});

async function goAndTake(line) {
  try {
    const conflict = await api(`${base}/lines/${line}/conflict`);
    if (conflict) location.href = `/c/${conversion}/revisions/merge?aside=${line}`;
    else act(`${base}/lines/${line}/take`, { theirs: draft.now.head, choices: {} }, () => (location.href = `/c/${conversion}/revisions`));
  } catch (error) {
    say(error.message);
  }
}

document.getElementById("what-if")?.addEventListener("submit", (event) => {
  event.preventDefault();
  const name = event.target.elements.name.value;
  act(onLine("lines"), { name }, (line) => (location.href = `/c/${conversion}/car?line=${line.id}`));
});

document.getElementById("choose")?.addEventListener("submit", (event) => {
  event.preventDefault();
  const form = event.target;
  const choices = Object.fromEntries([...form.querySelectorAll("input:checked")].map((one) => [one.name, one.value]));
  act(`${base}/lines/${form.dataset.aside}/take`, { theirs: form.dataset.theirs, choices }, (done) => {
    if (done.conflict) location.reload();
    else location.href = `/c/${conversion}/revisions`;
  });
});

document.getElementById("bring-in")?.addEventListener("change", async (event) => {
  const [file] = event.target.files;
  event.target.value = "";
  if (!file) return;
  const list = document.getElementById("faults");
  list.hidden = true;
  try {
    const { by } = author();
    const done = await api(onLine(`bring-in?${new URLSearchParams({ base: draft.now.head, by: by ?? "", name: file.name })}`), { method: "POST", body: file, kind: "application/octet-stream" });
    location.href = done.conflict ? `/c/${conversion}/revisions/merge?aside=${done.conflict.aside}` : `/c/${conversion}/revisions`;
  } catch (error) {
    list.replaceChildren(...error.message.split("\n").map((line) => piece("li", {}, line)));
    list.hidden = false;
  }
});

async function work(place) {
  if (!place.querySelector(".waiting")) return;
  try {
    const { before, after } = place.dataset;
    const found = await api(`${base}/changes?before=${before}&after=${after}`);
    const figures = found.figures.length ? [table(["What it does to the car", "Was", "Is", "By", ""], found.figures)] : [];
    const steps = found.steps.flatMap((step) => [
      piece("h3", {}, step.title),
      table(["What", "Ref", "Of it", "Was", "Is", "To do, and why"], step.rows.map((row) => [row.kind, row.ref, row.quantity, row.was, row.now, row.todo])),
    ]);
    place.replaceChildren(piece("h2", {}, "What has to be done"), piece("p", {}, `${found.summary} ${found.steps.length ? found.money : ""}`), ...steps, ...figures);
  } catch (error) {
    place.replaceChildren(piece("h2", {}, "What has to be done"), piece("p", { class: "wrong" }, error.message));
  }
}

function table(heads, rows) {
  return piece("div", { class: "wide", tabindex: "0", role: "region", "aria-label": heads[0] },
    piece("table", { class: heads.length > 5 ? "many" : "" },
      piece("thead", {}, piece("tr", {}, ...heads.map((words) => (words ? piece("th", { scope: "col" }, words) : piece("td"))))),
      piece("tbody", {}, ...rows.map((row) => piece("tr", {}, ...row.map((words) => piece("td", {}, words)))))));
}

const place = document.getElementById("work");
if (place) work(place);
nameOf(document.querySelector("main"));
