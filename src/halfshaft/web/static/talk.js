// Talking to the API: JSON there and back; what went wrong as one sentence.
export async function api(path, { method = "GET", body = undefined, kind = "application/json" } = {}) {
  let answer;
  const word = document.querySelector('meta[name="csrf"]')?.content;
  try {
    answer = await fetch(path, {
      method,
      body: body instanceof Blob ? body : body === undefined ? undefined : JSON.stringify(body),
      headers: { ...(body === undefined ? {} : { "content-type": kind }), ...(word ? { "x-csrf": word } : {}) },
    });
  } catch {
    throw new Error("The app does not answer. Is it still running? Nothing is lost: try again when it is.");
  }
  const found = await answer.json().catch(() => null);
  if (!answer.ok) throw Object.assign(new Error(found?.wrong ?? `That did not work (${answer.status}).`), { status: answer.status });
  return found;
}

// A sentence for the person, at the head of the page.
export function say(words) {
  let place = document.querySelector('[role="alert"]');
  if (!place) {
    place = document.createElement("p");
    place.className = "wrong";
    place.setAttribute("role", "alert");
    document.querySelector("main")?.prepend(place);
  }
  place.hidden = false;
  place.textContent = words;
}
