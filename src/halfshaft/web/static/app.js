// What every page does: one selection for all views, undo and redo, dark or light, numbers that come later.
import { api, say } from "./talk.js";

const body = document.body;
const conversion = body.dataset.conversion;
export const revision = body.dataset.revision;
export const base = `/api/conversions/${conversion}`;
export const chosen = { key: body.dataset.sel || "", also: (body.dataset.also || "").split(" ").filter(Boolean) };

// An address of the API for what this page shows: a revision, or what was typed; of a what-if where it is one.
export function asked(path) {
  return `${base}/${path}${path.includes("?") ? "&" : "?"}${body.dataset.asked}`;
}

// A piece of a page: a tag, its attributes, what is in it.
export function piece(tag, attributes = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...inside);
  return made;
}

function withKey(href, key) {
  const url = new URL(href, location.href);
  if (key) url.searchParams.set("sel", key);
  else url.searchParams.delete("sel");
  return url.pathname + url.search.replaceAll("%3A", ":") + url.hash;
}

export const WORDS = { stop: "Stop", fix: "Put right", note: "Know" };

function showThing(thing) {
  const line = document.querySelector(".selection");
  const margin = document.getElementById("chosen");
  if (!thing) {
    line.replaceChildren(piece("span", { class: "soft" }, "Nothing selected"));
    margin.replaceChildren(
      piece("h2", {}, "Selected"),
      piece("p", { class: "soft" }, "Nothing yet. Choose a ref anywhere, and it is marked in every view."),
    );
    return;
  }
  const links = thing.shown_in.map((link) => piece("a", { href: link.href }, link.title));
  line.replaceChildren(
    piece("b", {}, `Selected: ${thing.ref}`), " ", piece("span", { class: "words" }, thing.words), " ",
    ...(links.length ? [piece("span", {}, "shown also in"), " ", ...links.flatMap((link) => [link, " "])] : []),
    piece("a", { class: "drop", href: withKey(location.href, "") }, "nothing"),
  );
  const findings = thing.findings.map((item) =>
    piece("div", { class: `finding ${item.level}` }, level(item.level),
      piece("p", {}, piece("span", { class: "w" }, WORDS[item.level]), ` ${item.text}`)));
  margin.replaceChildren(
    piece("h2", {}, thing.ref), piece("p", {}, thing.words),
    ...(findings.length ? [piece("h3", {}, "Findings about it"), ...findings] : []),
  );
}

export function level(name) {
  const shapes = {
    stop: '<path d="M-4.1-10H4.1L10-4.1V4.1L4.1 10H-4.1L-10 4.1V-4.1Z" fill="currentColor"/><path class="bar" d="M-5.5-2H5.5V2H-5.5Z"/>',
    fix: '<path d="M0-10L10 0 0 10-10 0Z" fill="none" stroke="currentColor" stroke-width="2"/><path d="M0-10L10 0 0 10Z" fill="currentColor"/>',
    note: '<circle r="8.5" fill="none" stroke="currentColor" stroke-width="2"/>',
  };
  const text = `<svg xmlns="http://www.w3.org/2000/svg" class="level ${name}" viewBox="-12 -12 24 24" aria-hidden="true">${shapes[name]}</svg>`;
  return document.adoptNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement);
}

function markRows(scroll) {
  let first = null;
  for (const row of document.querySelectorAll("[data-row]")) {
    const is = chosen.key !== "" && row.dataset.row.split(" ").includes(chosen.key);
    row.classList.toggle("chosen", is);
    if (is && !first) first = row;
  }
  for (const link of document.querySelectorAll("a.ref")) {
    const is = chosen.key !== "" && link.dataset.ref === chosen.key;
    link.classList.toggle("chosen", is);
    if (is) link.setAttribute("aria-current", "true");
    else link.removeAttribute("aria-current");
  }
  for (const group of document.querySelectorAll(".picture g[data-ref]")) {
    const is = group.dataset.ref === chosen.key;
    group.classList.toggle("chosen", is);
    if (is && !first) first = group;
  }
  if (scroll && first) first.scrollIntoView({ block: "center" });
}

function carry() {
  for (const link of document.querySelectorAll(".contents a, .views a, .pick a")) link.setAttribute("href", withKey(link.href, chosen.key));
}

let latest = 0;

// Choose a thing by its key, or nothing by "". `from` says which view it was chosen in, so that this view stays where it is.
export async function choose(key, { from = null, address = true } = {}) {
  const turn = ++latest;
  try {
    const thing = key ? await api(asked(`things/${encodeURIComponent(key)}`)) : null;
    if (turn !== latest) return;
    chosen.key = thing ? thing.key : "";
    chosen.also = thing ? thing.also : [];
    if (address) history.pushState({}, "", withKey(location.href, chosen.key));
    showThing(thing);
    markRows(from === null);
    carry();
    document.dispatchEvent(new CustomEvent("chosen", { detail: { from } }));
  } catch (error) {
    say(error.message);
  }
}

function onClick(event) {
  if (event.defaultPrevented || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey) return;
  const link = event.target.closest("a.ref, .selection .drop");
  if (link) {
    event.preventDefault();
    choose(link.classList.contains("drop") || link.dataset.ref === chosen.key ? "" : link.dataset.ref, { from: link });
    return;
  }
  const drawn = event.target.closest(".picture g[data-ref]");
  if (drawn) {
    choose(drawn.dataset.ref === chosen.key ? "" : drawn.dataset.ref, { from: drawn });
    return;
  }
  const row = event.target.closest("tr[data-row]");
  if (row && !event.target.closest("a, button, input") && String(getSelection()) === "") choose(row.dataset.row.split(" ")[0], { from: row });
}

async function act(event) {
  const button = event.target.closest("[data-act]");
  if (!button) return;
  if (button.dataset.act === "theme") {
    const dark = getComputedStyle(document.documentElement).colorScheme === "dark";
    const theme = dark ? "paper" : "bench";
    document.documentElement.dataset.theme = theme;
    document.cookie = `theme=${theme}; path=/; max-age=31536000; samesite=strict`;
    document.dispatchEvent(new Event("theme"));
    return;
  }
  if (button.dataset.act === "sign-out") {
    await api("/sign-out", { method: "POST" });
    location.href = "/sign-in";
    return;
  }
}

function filter(event) {
  const field = event.target.closest("[data-filter]");
  if (!field) return;
  const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
  let count = 0;
  for (const row of document.querySelectorAll(`${field.dataset.filter} tbody tr, ${field.dataset.filter} [data-find]`)) {
    const text = row.textContent.toLowerCase();
    row.hidden = !words.every((word) => text.includes(word));
    if (!row.hidden) count += 1;
  }
  const shown = document.querySelector("[data-filter-count]");
  if (shown) shown.textContent = `${count} ${count === 1 ? "wire" : "wires"}`;
}

async function fillNumbers() {
  const state = await api(asked("state?wait=true"));
  for (const place of document.querySelectorAll("[data-number]")) place.textContent = state.numbers[place.dataset.number] ?? "";
  const count = Object.values(state.findings).reduce((sum, one) => sum + one, 0);
  for (const place of document.querySelectorAll("[data-count]")) place.textContent = `, ${count}`;
  if (document.querySelector('[data-waiting="whole"]')) location.reload();
}

if (conversion) {
  document.addEventListener("click", onClick);
  document.addEventListener("click", act);
  document.addEventListener("input", filter);
  window.addEventListener("popstate", () => choose(new URL(location.href).searchParams.get("sel") || "", { address: false }));
  markRows(true);
  if (body.dataset.whole === "no") fillNumbers().catch((error) => say(error.message));
}
