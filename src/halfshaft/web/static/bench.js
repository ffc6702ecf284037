// The bench: one wire to lay or one line to test at a time. Everything is fetched at the start, so that it goes on without a connection.
import { piece } from "./app.js";
import { api, say } from "./talk.js";
import { Kept } from "./bench_kept.js";
import { readable, showEntry, showLine, showSaid } from "./bench_lines.js";
import { judged } from "./bench_readings.js";

const { ref, rev, sheet, work } = document.body.dataset;
const here = (selector) => document.querySelector(selector);
const line = here("[data-line]"), problem = here("[data-problem]"), acts = here("[data-acts]"), main = here('[data-act="done"]');
const kept = new Kept({ ref, rev, sheet, work }, told);
let whole = null, at = 0, entry = null, looked = false, shown = "";

const item = () => whole.items[at];
const said = (one) => kept.said[one.item];
const isWanted = (one) => !one.is_optional || whole.items.some((other) => other.part === one.part && said(other)?.state === "problem");
const isOpen = (one) => !said(one) && isWanted(one);

async function begin() {
  whole = await kept.load();
  here("[data-waiting]").hidden = true;
  here("[data-name]").textContent = whole.name;
  here("progress").max = whole.items.length || 1;
  here("[data-keys]").textContent = work === "lay" ? "Keys: ← back, P problem, Space done." : "Keys: Page Up back, Alt P problem, Enter keep.";
  line.hidden = acts.hidden = false;
  const named = whole.items.findIndex((one) => one.item === decodeURIComponent(location.hash.slice(1)));
  go(named >= 0 ? named : next(-1));
  if (!kept.isKept) keepPage().catch(() => {});
}

// So that a reload without a connection finds this page. Browsers do that only for an address that they trust: this computer, or TLS.
async function keepPage() {
  if (!("serviceWorker" in navigator)) return;
  await navigator.serviceWorker.register("/bench-worker.js", { scope: "/c/" });
  const { active } = await navigator.serviceWorker.ready;
  const parts = performance.getEntriesByType("resource").map((one) => one.name).filter((name) => new URL(name).pathname.startsWith("/static/"));
  active.postMessage([...new Set([location.pathname + location.search, `${kept.base}?rev=${kept.rev}`, ...parts])]);
}

// The first after a place of which nothing was said, then the first of all; the end where there is none.
function next(from) {
  const after = whole.items.findIndex((one, index) => index > from && isOpen(one));
  const first = after >= 0 ? after : whole.items.findIndex(isOpen);
  return first >= 0 ? first : whole.items.length;
}

function go(to) {
  at = Math.min(Math.max(to, 0), whole.items.length);
  askNothing();
  problem.reset();
  const isEnd = at === whole.items.length;
  history.replaceState({}, "", isEnd ? location.pathname + location.search : `#${encodeURIComponent(item().item)}`);
  looked = false;
  shown = "";
  if (isEnd) showEnd();
  else {
    entry = null;
    line.replaceChildren(...showLine(whole, item()));
    readable(line);
    if (item().kind === "reading") {
      entry = showEntry(item(), said(item()), renew);
      line.querySelector(".told").before(entry.row);
      if (matchMedia("(pointer: fine)").matches) entry.field?.focus();
    }
    aloud([item().title, item().colour, item().section, item().cut, item().expect && `expect ${item().expect}`,
      ...item().ends.map((end) => `${end.pin} ${end.words}`)].filter(Boolean).join(", "));
  }
  window.scrollTo(0, 0);
  renew();
}

function aloud(words) {
  here("[data-aloud]").textContent = words;
}

// What follows from what was said: progress, buttons, and the sentence about where it is kept.
function renew() {
  const isEnd = at === whole.items.length;
  const done = whole.items.filter((one) => said(one)?.state === "done").length;
  here("progress").value = done;
  here("[data-count]").textContent = isEnd ? `${done} of ${whole.items.length} done` : `${work === "lay" ? "wire" : "line"} ${at + 1} of ${whole.items.length}, ${done} done`;
  here('[data-act="back"]').disabled = at === 0;
  here('[data-act="problem"]').hidden = main.hidden = isEnd;
  if (isEnd) return;
  // Only what reads otherwise by now is made anew: a button under a finger or with the focus stays.
  const now = JSON.stringify([at, said(item()) ?? null, button(), item().kind === "stage" && missing().length]);
  if (now === shown) return;
  shown = now;
  line.querySelector(".is-said")?.remove();
  const words = showSaid(item(), said(item()), () => kept.say(item().item, "open"));
  if (words) (line.querySelector(".told") ?? line.lastElementChild).before(words);
  main.textContent = button();
  main.disabled = item().kind === "stage" && missing().length > 0;
  if (item().kind === "stage") showMissing();
}

function button() {
  const typed = entry?.field?.value.trim();
  if (said(item()) && !typed) return "Next";
  if (item().kind === "stage") return "Go on";
  if (item().kind === "wire") return "Done";
  if (item().quantity === "seen") return "Yes";
  return item().quantity === "open" && !typed ? "Open" : "Keep";
}

// Lines before a stop that do not pass, or were not measured.
function missing() {
  return whole.items.slice(0, at).filter((one) => (one.kind === "reading" && !one.is_optional && said(one)?.state !== "done") || said(one)?.state === "problem");
}

function showMissing() {
  const lines = missing();
  const list = lines.slice(0, 12).map((one) => piece("button", { type: "button", "data-go": one.item }, one.title));
  const words = lines.length ? `${lines.length} ${lines.length === 1 ? "line" : "lines"} before this stop ${lines.length === 1 ? "does" : "do"} not pass yet:` : "Every line before this stop passes.";
  line.querySelector(".missing")?.remove();
  line.append(piece("p", { class: "missing" }, words, " ", ...list));
}

function done() {
  if (at === whole.items.length || main.disabled) return;
  const one = item();
  if (said(one) && !entry?.field?.value.trim()) return go(next(at));
  if (one.kind !== "reading") {
    kept.say(one.item, "done");
    return go(next(at));
  }
  keep(one.quantity === "seen" ? "yes" : entry.field.value.trim() || (one.quantity === "open" ? "open" : ""));
}

function keep(typed) {
  const one = item();
  const found = judged(one, typed);
  entry.wrong(found.wrong ?? "");
  if (found.wrong) {
    aloud(found.wrong);
    return;
  }
  kept.say(one.item, found.passes ? "done" : "problem", { found: found.text });
  if (entry.field) entry.field.value = "";
  if (found.passes) go(next(at));
  else {
    // Whoever measured looks at it before going on.
    renew();
    aloud(`${one.title} does not pass: ${found.text} ${one.unit}`);
    main.focus();
  }
}

function told() {
  here("[data-kept]").textContent = kept.words();
  here("[data-kept]").classList.toggle("fix", kept.waiting().length > 0);
  if (whole) renew();
  if (whole && at === whole.items.length && !looked) diagnose();
}

function showEnd() {
  entry = null;
  const problems = whole.items.filter((one) => said(one)?.state === "problem");
  const open = whole.items.filter(isOpen);
  const row = (one) => piece("li", {}, piece("button", { type: "button", "data-go": one.item }, one.title),
    [one.ends.map((end) => end.pin).join(" to "), said(one)?.found, said(one)?.note].filter(Boolean).join(": "));
  const lists = [["Problems", problems], ["Not said yet", open]].filter(([, found]) => found.length)
    .flatMap(([title, found]) => [piece("h2", {}, title), piece("ul", { class: "list" }, ...found.map(row))]);
  const heading = problems.length || open.length ? "Not all of it is done" : work === "lay" ? "Every wire is laid" : "Every line passes";
  const forward = work === "lay" ? [piece("p", {}, piece("a", { class: "button", href: `/c/${ref}/bench/${sheet}/test?rev=${rev.slice(0, 12)}` }, `Test ${whole.name}`))] : [];
  line.replaceChildren(piece("h1", { tabindex: "-1" }, heading), ...lists, piece("div", { class: "diagnosis" }), ...(work === "lay" && !open.length ? forward : []));
  line.querySelector("h1").focus();
  if (work === "test") diagnose();
}

// What the readings say, by the shop's own study: it wants the connection, and all that was said to be there.
async function diagnose() {
  const place = line.querySelector(".diagnosis");
  if (work !== "test" || !place) return;
  if (kept.waiting().some((step) => !step.refused)) {
    place.replaceChildren(piece("p", { class: "soft" }, "What the readings point to is said once the shop's record has them all."));
    return;
  }
  looked = true;
  try {
    const found = await api(`${kept.base}/diagnosis?rev=${rev.slice(0, 12)}`);
    const choices = found.explanations.map((suspects) => piece("li", {}, ...suspects.flatMap((one, index) =>
      [piece("p", {}, piece("b", {}, (index ? "and " : "") + one.text), ` Look at: ${one.look}.`)])));
    const title = choices.length > 1 ? "Likely one of these; the readings cannot tell them apart" : "Likely";
    const more = [...found.told, ...(found.unexplained.length ? [`Not explained by this: lines ${found.unexplained.join(", ")}.`] : []),
      ...(found.unexpected.length ? [`Speak against it, as they pass: lines ${found.unexpected.join(", ")}.`] : []), ...[found.then, found.caution].filter(Boolean),
      ...(found.failed.length && !choices.length ? ["No fault that is tried here explains this. Measure these lines again."] : [])];
    place.replaceChildren(
      piece("h2", {}, "What the readings say"),
      piece("p", {}, `${found.passed} lines pass, ${found.failed.length} fail, ${found.not_measured.length} not measured.`),
      ...(choices.length ? [piece("p", {}, title), piece("ul", { class: "list" }, ...choices)] : []), ...more.map((words) => piece("p", {}, words)));
  } catch (error) {
    looked = false;
    place.replaceChildren(piece("p", { class: "soft" }, error.message));
  }
}

function askWord() {
  if (at === whole.items.length) return;
  problem.hidden = false;
  acts.hidden = true;
  problem.word.value = said(item())?.note ?? "";
  problem.word.focus();
}

function askNothing() {
  problem.hidden = true;
  acts.hidden = false;
}

const ACTS = { back: () => go(at - 1), problem: askWord, done, leave: () => { askNothing(); here("#work").focus(); } };

document.addEventListener("click", (event) => {
  const pressed = event.target.closest("[data-act], [data-go], [data-found]");
  // A hand that taps twice means it once.
  if (!pressed || !whole || (event.detail > 1 && ["done", "back"].includes(pressed.dataset.act))) return;
  if (pressed.dataset.go) go(whole.items.findIndex((one) => one.item === pressed.dataset.go));
  else if (pressed.dataset.found) keep(pressed.dataset.found);
  else ACTS[pressed.dataset.act]?.();
});
problem.addEventListener("submit", (event) => {
  event.preventDefault();
  ACTS.leave();
  kept.say(item().item, "problem", { note: problem.word.value.trim() });
  go(next(at));
});
document.addEventListener("keydown", (event) => {
  if (!whole || event.ctrlKey || event.metaKey) return;
  const isTyping = event.target.closest("input");
  // A key that is held down says it once.
  if (event.repeat && (event.key === "Enter" || (event.key === " " && !isTyping))) event.preventDefault();
  else if (event.key === "Escape" && !problem.hidden) ACTS.leave();
  else if (isTyping && event.key === "Enter" && isTyping !== problem.word) done();
  else if (event.key === "PageUp" || (event.key === "ArrowLeft" && !isTyping && !event.altKey)) go(at - 1);
  else if (isTyping && !event.altKey) return;
  else if (event.key.toLowerCase() === "p") askWord();
  else if ((event.key === " " || event.key === "Enter") && !event.target.closest("button, a, input")) done();
  else return;
  event.preventDefault();
});
addEventListener("resize", () => readable(line));
begin().catch((error) => {
  here("[data-waiting]").hidden = true;
  say(error.message);
});
