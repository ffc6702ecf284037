// Moving about in a picture by mouse, finger and pen, and words over it that do not cover each other.
import { piece } from "./app.js";

// A hand that moved less than this pressed, and did not drag.
const STILL_PX = 4;

// `zoom(by, at)`, `drag(dx, dy, event)` and `press(event, at)` are told what the hands on `area` do; places are pixels from its corner.
export function hands(area, { zoom, drag, press }) {
  const fingers = new Map();
  let dragged = 0;
  const within = (event) => {
    const box = area.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  area.addEventListener("pointerdown", (event) => {
    fingers.set(event.pointerId, within(event));
    dragged = 0;
  });
  area.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const now = within(event), dx = now.x - before.x, dy = now.y - before.y;
    const other = [...fingers].find(([id]) => id !== event.pointerId)?.[1];
    dragged += Math.hypot(dx, dy);
    // Only now, so that a press still goes to what lies under it.
    if (dragged > STILL_PX && !area.hasPointerCapture(event.pointerId)) area.setPointerCapture(event.pointerId);
    if (other) {
      const far = (at) => Math.max(Math.hypot(at.x - other.x, at.y - other.y), 1);
      zoom(far(now) / far(before), { x: (now.x + other.x) / 2, y: (now.y + other.y) / 2 });
    } else if (dragged > STILL_PX) drag(dx, dy, event);
    fingers.set(event.pointerId, now);
  });
  for (const kind of ["pointerup", "pointercancel"]) area.addEventListener(kind, (event) => fingers.delete(event.pointerId));
  area.addEventListener("click", (event) => {
    if (dragged <= STILL_PX) press(event, within(event));
  });
  area.addEventListener("contextmenu", (event) => event.preventDefault());
  area.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY / 450), within(event));
  }, { passive: false });
}

// Put marks where they belong, then words where nothing stands yet: those that come first win. Each is centred on its place.
export function writeOver(labels, words, marks = []) {
  const wide = labels.clientWidth, high = labels.clientHeight, made = [], taken = [];
  const put = (element, box) => {
    element.style.transform = `translate(${box.left.toFixed(1)}px, ${box.top.toFixed(1)}px)`;
    made.push(element);
    taken.push(box);
  };
  const around = ({ x, y }, across, up) => ({ left: x - across / 2, right: x + across / 2, top: y - up / 2, bottom: y + up / 2 });
  for (const mark of marks) put(mark.element, around(mark, mark.size, mark.size));
  for (const item of words) {
    const across = 7.2 * Math.max(item.words.length, 0.9 * (item.small ?? "").length) + 8;
    const box = around(item, across, item.small ? 34 : 18);
    if (box.left < 0 || box.right > wide || box.top < 0 || box.bottom > high) continue;
    if (taken.some((other) => box.left < other.right && box.right > other.left && box.top < other.bottom && box.bottom > other.top)) continue;
    put(piece("span", { class: item.isChosen ? "chosen" : "" }, item.words, ...(item.small ? [piece("small", {}, item.small)] : [])), box);
  }
  labels.replaceChildren(...made);
}

// The things of a picture that can be chosen, marked in the list beside it.
export function markList(list, chosen) {
  let first = null;
  for (const button of list?.querySelectorAll("button[data-key]") ?? []) {
    const isAlso = chosen.also.includes(button.dataset.key), is = button.dataset.key === chosen.key;
    button.setAttribute("aria-pressed", String(is));
    button.toggleAttribute("data-also", isAlso);
    if (!first && (is || isAlso)) first = button;
  }
  if (first) list.scrollTop = first.offsetTop - list.offsetTop - 40;
}
