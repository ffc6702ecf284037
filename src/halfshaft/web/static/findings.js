// Waiving a finding, by name and with a reason, and taking that back.
import { asked } from "./app.js";
import { api, say } from "./talk.js";

const NAME = "halfshaft name";

for (const field of document.querySelectorAll('[data-waive] [name="by"]')) field.value = localStorage.getItem(NAME) ?? "";
document.getElementById("findings").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  const said = Object.fromEntries(new FormData(form));
  if (said.by) localStorage.setItem(NAME, said.by);
  try {
    await api(asked(`findings/${form.dataset.waive}/${form.dataset.actTo}`), { method: "POST", body: said });
    location.hash = `f${form.dataset.waive}`;
    location.reload();
  } catch (error) {
    say(error.message);
  }
});
