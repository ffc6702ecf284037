// The book: begin, follow, stop.
import { asked } from "./app.js";
import { api, say } from "./talk.js";

const page = document.getElementById("book");

async function follow() {
  for (;;) {
    const book = await api(asked("book"));
    if (book.state !== "running") return location.reload();
    document.querySelector("[data-job-words]").textContent = book.words;
    document.querySelector("[data-job-step]").textContent = book.step;
    document.querySelector("[data-job-bar]").value = book.step;
    await new Promise((done) => setTimeout(done, 500));
  }
}

page.addEventListener("click", async (event) => {
  const what = event.target.closest("[data-book]")?.dataset.book;
  if (!what) return;
  try {
    await api(asked("book"), { method: what === "make" ? "POST" : "DELETE" });
    location.reload();
  } catch (error) {
    say(error.message);
  }
});
if (page.dataset.state === "running") follow().catch((error) => say(error.message));
