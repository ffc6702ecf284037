// What follows from what was typed: findings that are new or gone, in the margin; the quick part of the studies first.
import { asked, level, piece, WORDS } from "./app.js";
import { api } from "./talk.js";

let turn = 0;

export async function showFollows(state, taken) {
  const mine = ++turn;
  const place = document.getElementById("follows");
  if (!state.is_there) {
    place.hidden = true;
    if (document.getElementById("grid")?.dataset.table === "wires") await fill("wiring", mine, taken);
    return;
  }
  place.hidden = false;
  if (!state.reads) {
    place.replaceChildren(piece("h2", {}, "What follows"), piece("p", { class: "soft" }, "Nothing is worked out until the cells to mend read."));
    return;
  }
  for (const part of ["wiring", "all"]) {
    const found = await fill(part, mine, taken);
    if (!found || mine !== turn) return;
    show(place, found, part === "all");
  }
}

async function fill(part, mine, taken) {
  try {
    const found = await api(asked(`draft/follows?of=${part}`));
    if (mine === turn) taken(found.cut_mm);
    return found;
  } catch {
    return null; // what was typed last may not read any more by now
  }
}

function show(place, found, isAll) {
  const line = (item) => piece("div", { class: `finding ${item.level}` }, level(item.level), piece("p", {}, piece("span", { class: "w" }, WORDS[item.level]), ` ${item.text}`));
  const part = (title, items) => (items.length ? [piece("h3", {}, `${title}: ${items.length}`), ...items.slice(0, 12).map(line), ...(items.length > 12 ? [piece("p", { class: "soft" }, `and ${items.length - 12} more, on the page Findings`)] : [])] : []);
  const nothing = !found.new.length && !found.gone.length ? [piece("p", { class: "soft" }, "No finding comes or goes.")] : [];
  place.replaceChildren(piece("h2", {}, "What follows"), ...part("New", found.new), ...part("Gone", found.gone), ...nothing);
  place.dataset.state = isAll ? "all" : "part";
}
