// Who works at this bench, where nobody signs in: kept in this browser.
import { name, setName } from "./bench_kept.js";

const field = document.querySelector("[data-bench-name]");
if (field) {
  field.value = name();
  field.addEventListener("input", () => setName(field.value));
}
