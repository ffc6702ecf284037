// The first page: open the demo car, or bring in a conversion of one's own.
import { api, say } from "./talk.js";

async function begin(path, options) {
  say("Reading it ...");
  try {
    const entry = await api(path, { method: "POST", ...options });
    location.href = `/c/${entry.ref}/car`;
  } catch (error) {
    say(error.message);
  }
}

document.querySelector('[data-start="demo"]').addEventListener("click", () => begin("/api/conversions/demo", {}));
document.querySelector('[data-start="file"]').addEventListener("change", (event) => {
  const [file] = event.target.files;
  if (file) begin("/api/conversions", { body: file, kind: "application/octet-stream" });
});
