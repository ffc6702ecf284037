// A wire's colours in small, as everywhere: base between two ink edges, the tracer along its middle. The colours are those of the page.
const tones = JSON.parse(document.getElementById("grid").dataset.tones);

export function swatch(letters) {
  const [first, second] = letters === "GNYE" ? ["GN", "YE"] : letters.split("-");
  const base = tones[first];
  const tracer = second ? tones[second] : "";
  const text = `<svg xmlns="http://www.w3.org/2000/svg" class="swatch" viewBox="0 0 28 10" aria-hidden="true">${base ? `<rect x=".5" y=".5" width="27" height="9" fill="${base}"/>` : '<rect x=".5" y=".5" width="27" height="9" fill="none"/>'}${tracer ? `<rect x="1" y="3.5" width="26" height="3" fill="${tracer}" stroke="none"/>` : ""}</svg>`;
  return document.adoptNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement);
}
