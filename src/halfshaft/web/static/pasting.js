// A block of cells as text, as spreadsheets put it on the clipboard: tabs between cells, quotation marks round a cell that holds a line break.
export function blockOf(text) {
  const lines = [[]];
  let cell = "";
  let quoted = false;
  const source = text.replaceAll("\r\n", "\n").replaceAll("\r", "\n");
  for (let place = 0; place < source.length; place += 1) {
    const letter = source[place];
    if (quoted) {
      if (letter !== '"') cell += letter === "\n" ? " " : letter;
      else if (source[place + 1] === '"') {
        cell += '"';
        place += 1;
      } else quoted = false;
    } else if (letter === '"' && cell === "") quoted = true;
    else if (letter === "\t" || letter === "\n") {
      lines.at(-1).push(cell);
      cell = "";
      if (letter === "\n") lines.push([]);
    } else cell += letter;
  }
  lines.at(-1).push(cell);
  while (lines.length && lines.at(-1).every((words) => words === "")) lines.pop();
  return lines;
}

export function textOf(lines) {
  const quoted = (words) => (/["\t\n]/.test(words) ? `"${words.replaceAll('"', '""')}"` : words);
  return lines.map((cells) => cells.map(quoted).join("\t")).join("\n");
}
