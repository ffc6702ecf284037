// What is said at the bench, kept in this browser until the shop's record has it, and sent in order. Each step has a key of its
// own in the storage, so that two windows never write over each other.
import { api } from "./talk.js";

const AGAIN_MS = 3000;
const NAME = "halfshaft.bench.name";

export function name() {
  return localStorage.getItem(NAME) ?? "";
}

export function setName(words) {
  localStorage.setItem(NAME, words.trim());
}

// Random enough without a secure connection, where randomUUID is missing.
function newId() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// The steps of one sheet. `told` is called whenever what is kept, or what the shop's record says, has changed.
export class Kept {
  constructor(place, told) {
    this.base = `/api/conversions/${place.ref}/bench/${place.sheet}/${place.work}`;
    this.rev = place.rev.slice(0, 12);
    this.prefix = `halfshaft.bench.${place.ref}.${place.rev}.${place.sheet}.${place.work}.`;
    this.told = told;
    this.said = {};
    this.wrong = "";
    this.reached = null;
    this.busy = false;
    window.addEventListener("online", () => this.send());
    setInterval(() => this.send(), AGAIN_MS);
  }

  // The whole sheet. Where it comes from what the browser kept, steps that were sent since stand in the storage still.
  async load() {
    const answer = await api(`${this.base}?rev=${this.rev}`, { note: (found) => { this.isKept = found.headers.has("x-kept"); } });
    this.said = answer.said;
    if (!this.isKept) {
      for (const step of this.#steps()) if (step.sent) localStorage.removeItem(this.prefix + step.id);
      this.reached = new Date();
    }
    for (const step of this.#steps()) this.#take(step);
    this.send();
    return answer;
  }

  #steps() {
    const found = [];
    for (let index = 0; index < localStorage.length; index += 1) {
      const key = localStorage.key(index);
      if (key.startsWith(this.prefix)) found.push(JSON.parse(localStorage.getItem(key)));
    }
    return found.sort((one, other) => one.at.localeCompare(other.at) || one.turn - other.turn);
  }

  #take(step) {
    if (step.state === "open") delete this.said[step.item];
    else this.said[step.item] = { id: step.id, state: step.state, found: step.found, note: step.note, by: step.by, at: step.at };
  }

  waiting() {
    return this.#steps().filter((step) => !step.sent);
  }

  say(item, state, { found = "", note = "" } = {}) {
    const step = { id: newId(), item, state, found, note, by: name(), at: new Date().toISOString(), turn: performance.now() };
    localStorage.setItem(this.prefix + step.id, JSON.stringify(step));
    this.#take(step);
    this.told();
    this.send();
  }

  async send() {
    if (this.busy) return;
    this.busy = true;
    let all = null;
    try {
      for (const step of this.waiting().filter((one) => !one.refused)) {
        const { turn, sent, refused, ...told } = step;
        try {
          const answer = await api(`${this.base}/steps?rev=${this.rev}`, { method: "POST", body: told });
          all = answer.said;
          this.reached = new Date();
          this.wrong = "";
          localStorage.setItem(this.prefix + step.id, JSON.stringify({ ...step, sent: true }));
        } catch (error) {
          this.wrong = error.status ? error.message : "No connection to the shop's record; sent when it is back.";
          // What the record will never take does not hold up the rest; it stays here and is told.
          if (![400, 404, 422].includes(error.status)) break;
          localStorage.setItem(this.prefix + step.id, JSON.stringify({ ...step, refused: error.message }));
        }
      }
    } finally {
      this.busy = false;
    }
    if (all) {
      this.said = all;
      for (const step of this.waiting()) this.#take(step);
    }
    this.told();
  }

  // Where what was said is by now, in a sentence.
  words() {
    const waiting = this.waiting();
    const refused = waiting.filter((step) => step.refused);
    const clock = (at) => at.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
    if (refused.length) return `${refused.length} not taken by the shop's record, kept here: ${refused[0].item}: ${refused[0].refused}`;
    if (waiting.length && this.wrong) return `Kept here: ${waiting.length}, since ${clock(new Date(waiting[0].at))}. ${this.wrong}`;
    if (waiting.length) return `Kept here: ${waiting.length}, since ${clock(new Date(waiting[0].at))}; being sent.`;
    return this.reached ? `All is in the shop's record, last reached at ${clock(this.reached)}.` : "The shop's record cannot be reached; what you say is kept here.";
  }
}
