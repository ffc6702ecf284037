// Whether what was typed passes. The shop's record decides in the end, by the same limits; here it is said at once, connection or not.
const OPEN = new Set(["open", "ol", "o.l", "o.l.", "inf", "∞"]);

export function judged(item, typed) {
  const text = typed.trim().toLowerCase().replace("−", "-");
  if (item.quantity === "seen") return { text, passes: text === "yes" };
  if (!text) return { wrong: "Type what the meter shows." };
  if (OPEN.has(text)) return { text: "open", passes: item.high === null };
  const figure = text.replace(/^>\s*/, item.quantity === "insulation" ? "" : ">").replace(",", ".");
  const value = /^[+-]?\d*\.?\d+$/.test(figure) ? Number(figure) : NaN;
  if (Number.isNaN(value)) return { wrong: `“${typed}” is no number. Type figures, or “open” where the meter shows no reading.` };
  if (item.quantity === "voltage" && value !== 0 && !/^[+-]/.test(figure)) return { wrong: "Volts want their sign: type + or − as the meter shows it, red lead on the first." };
  if (value < 0 && !["diode", "voltage"].includes(item.quantity)) return { wrong: "This is below nought: zero the meter with its leads together, and read again." };
  return { text: text.replace(/^\+?(?=[\d.])/, item.quantity === "voltage" ? "+" : ""), passes: value >= item.low && (item.high === null || value <= item.high) };
}
