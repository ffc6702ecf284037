// What was typed and is not saved yet: said in the head of every page, taken back and had again there, and saved as a revision.
import { api, say } from "./talk.js";

const body = document.body;
const conversion = body.dataset.conversion;
const NAME = "halfshaft name";
const [undo, redo, save] = ["undo", "redo", "save"].map((act) => document.querySelector(`[data-act="${act}"]`));
const saving = document.getElementById("saving");
const head = { can_undo: body.dataset.canUndo === "yes", can_redo: body.dataset.canRedo === "yes" };
// An older revision is not typed into, nor is any by somebody who may only look.
const pinned = body.dataset.pinned === "yes" || body.dataset.may === "no";
export const draft = { now: body.dataset.draft ? JSON.parse(body.dataset.draft) : null, rows: null, before: null };

// An address of the API on the line of this page.
export function onLine(path) {
  const line = body.dataset.line;
  return `/api/conversions/${conversion}/${path}${line ? `${path.includes("?") ? "&" : "?"}line=${line}` : ""}`;
}

export const isPinned = () => pinned;

// Another state of the draft: said in the head, and asked for from now on.
export function set(state) {
  draft.now = state;
  if (!pinned) {
    const line = body.dataset.line ? `&line=${body.dataset.line}` : "";
    body.dataset.asked = `rev=${state.is_there && state.reads ? "draft" : state.head.slice(0, 12)}${line}`;
  }
  show();
}

function show() {
  const state = draft.now;
  if (pinned || !state) return;
  undo.disabled = !(state.can_undo || (!state.is_there && head.can_undo));
  redo.disabled = !(state.can_redo || (!state.is_there && head.can_redo));
  save.disabled = !(state.is_there && state.reads);
  const place = document.getElementById("draft");
  const tables = state.tables.map((name) => name.replaceAll("_", " ")).join(", ");
  const mend = state.faults.length;
  place.replaceChildren();
  if (!state.is_there) return;
  if (state.reads) {
    place.textContent = `draft: ${tables}, not saved yet`;
  } else {
    const first = state.faults[0];
    const link = document.createElement("a");
    link.href = `/c/${conversion}/${first.table === "wires" ? "wires" : `tables/${first.table}`}${body.dataset.line ? `?line=${body.dataset.line}` : ""}`;
    link.textContent = `${mend} ${mend === 1 ? "cell" : "cells"} to mend`;
    place.append(`draft: ${tables}, `, link, "; until then other pages show the revision");
  }
}

async function step(way) {
  const state = draft.now;
  const typed = way === "undo" ? state.can_undo : state.can_redo;
  try {
    if (draft.before) await draft.before();
    if (typed) {
      set(await api(onLine(`draft/${way}`), { method: "POST" }));
      if (draft.rows) await draft.rows();
      else location.reload();
    } else {
      await api(onLine(way), { method: "POST", body: { head: state.head } });
      location.reload();
    }
  } catch (error) {
    say(error.message);
  }
}

export function stepBack() {
  if (!undo.disabled) step("undo");
}

export function stepOn() {
  if (!redo.disabled) step("redo");
}

async function keep(event) {
  event.preventDefault();
  const form = event.target;
  const said = Object.fromEntries(new FormData(form));
  if (said.by) localStorage.setItem(NAME, said.by);
  try {
    const done = await api(onLine("draft/save/revision"), { method: "POST", body: said });
    if (done.conflict) location.href = `/c/${conversion}/revisions/merge?aside=${done.conflict.aside}`;
    else location.reload();
  } catch (error) {
    const place = form.querySelector(".wrong");
    place.textContent = error.message;
    place.hidden = false;
  }
}

export function nameOf(form) {
  const field = form.querySelector('[name="by"]');
  if (field && !field.value) field.value = localStorage.getItem(NAME) ?? "";
  return field;
}

export const remember = (name) => name && localStorage.setItem(NAME, name);

if (conversion && saving) {
  undo.addEventListener("click", stepBack);
  redo.addEventListener("click", stepOn);
  save.addEventListener("click", async () => {
    if (draft.before) await draft.before();
    nameOf(saving);
    saving.showModal();
  });
  saving.querySelector("form").addEventListener("submit", keep);
  saving.querySelector("[data-close]").addEventListener("click", () => saving.close());
  show();
}
