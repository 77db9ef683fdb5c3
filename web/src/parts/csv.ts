// Just enough CSV to put another text into one cell of a list, leaving every other byte as it was.

/// Places of the cells in a line: from, to (exclusive), quotes included.
function cells(line: string, delimiter: string): [number, number][] {
  const out: [number, number][] = [];
  let from = 0;
  let quoted = false;
  for (let i = 0; i <= line.length; i++) {
    const c = line[i];
    if (c === '"') quoted = !quoted;
    else if (i === line.length || (c === delimiter && !quoted)) {
      out.push([from, i]);
      from = i + 1;
    }
  }
  return out;
}

function quoted(text: string, delimiter: string): string {
  return text.includes(delimiter) || text.includes('"') || text.includes('\n')
    ? `"${text.replaceAll('"', '""')}"`
    : text;
}

/// `line` and `column` count from 1. Hands back null when there is no such cell, or when the line begins inside quotes (a cell
/// with a line break), where lines and rows part ways.
export function withCell(csv: string, line: number, column: number, delimiter: string, text: string): string | null {
  const lines = csv.split('\n');
  const before = lines.slice(0, line - 1).join('\n');
  if ((before.match(/"/g) ?? []).length % 2 === 1) return null;
  const raw = lines[line - 1];
  if (raw === undefined) return null;
  const ending = raw.endsWith('\r') ? '\r' : '';
  const body = ending ? raw.slice(0, -1) : raw;
  const place = cells(body, delimiter)[column - 1];
  if (!place) return null;
  lines[line - 1] = body.slice(0, place[0]) + quoted(text, delimiter) + body.slice(place[1]) + ending;
  return lines.join('\n');
}
