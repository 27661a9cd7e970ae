// Text from a spreadsheet: tabs, semicolons or commas between cells, quotes around cells that hold them.

export const MOST_ROWS = 5000;
export const MOST_COLUMNS = 60;

export interface Table {
  rows: string[][];
  columns: number;
  /** Rows that were left out beyond MOST_ROWS. */
  cut: number;
}

const DELIMITERS = ["\t", ";", ","] as const;
type Delimiter = (typeof DELIMITERS)[number];

export function readTable(text: string): Table {
  const delimiter = delimiterOf(text);
  const all = cells(text, delimiter).filter((row) => row.some((cell) => cell !== ""));
  const rows = all.slice(0, MOST_ROWS).map((row) => row.slice(0, MOST_COLUMNS));
  return { rows, columns: Math.max(0, ...rows.map((row) => row.length)), cut: all.length - rows.length };
}

/** What stands between cells: tabs where there are any; else the mark that most lines have the same number of. */
function delimiterOf(text: string): Delimiter {
  if (text.includes("\t")) return "\t";
  let best: Delimiter = ",";
  let most = 0;
  for (const delimiter of [";", ","] as const) {
    const counts = new Map<number, number>();
    for (const row of cells(text.slice(0, 20_000), delimiter)) if (row.length > 1) counts.set(row.length, (counts.get(row.length) ?? 0) + 1);
    const alike = Math.max(0, ...counts.values());
    if (alike > most) {
      most = alike;
      best = delimiter;
    }
  }
  return best;
}

function cells(text: string, delimiter: Delimiter): string[][] {
  const rows: string[][] = [];
  let row: string[] = [];
  let cell = "";
  let isQuoted = false;
  const endCell = () => {
    row.push(cell.trim());
    cell = "";
  };
  const endRow = () => {
    endCell();
    rows.push(row);
    row = [];
  };
  for (let i = 0; i < text.length; i += 1) {
    const c = text[i]!;
    if (isQuoted) {
      if (c === '"' && text[i + 1] === '"') {
        cell += '"';
        i += 1;
      } else if (c === '"') isQuoted = false;
      else cell += c === "\n" || c === "\r" ? " " : c;
    } else if (c === '"' && cell.trim() === "") {
      isQuoted = true;
      cell = "";
    } else if (c === delimiter) endCell();
    else if (c === "\n") endRow();
    else if (c !== "\r") cell += c;
  }
  if (cell !== "" || row.length > 0) endRow();
  return rows;
}

export interface Figure {
  value: number;
  /** As written behind the number, in lower case: "m2", "ft", "fc"; "" where nothing is. */
  unit: string;
  /** The number as written, with a decimal point. */
  text: string;
}

/** A number with what is written behind it; a comma or a point before decimals, the other one between thousands. */
export function readFigure(cell: string): Figure | null {
  const found = /^([-+]?[0-9][0-9.,'\u00a0\u202f ]*)\s*([^0-9]*[23]?)$/.exec(cell.trim());
  if (found === null) return null;
  let digits = found[1]!.replace(/['\u00a0\u202f ]/g, "");
  const comma = digits.lastIndexOf(",");
  const point = digits.lastIndexOf(".");
  if (comma >= 0 && point >= 0) {
    const [thousands, decimal] = comma > point ? [".", ","] : [",", "."];
    digits = digits.replaceAll(thousands, "").replace(decimal, ".");
  } else if (comma >= 0) {
    // "1,200" is a thousand and more where groups of three follow, as in "1,200,000"; else it is a decimal comma.
    digits = /^[-+]?[1-9][0-9]{0,2}(,[0-9]{3}){2,}$/.test(digits) ? digits.replaceAll(",", "") : digits.replace(",", ".");
  }
  const value = Number(digits);
  if (!Number.isFinite(value)) return null;
  const unit = found[2]!.trim().toLowerCase().replace("²", "2").replace(/\s+/g, " ").replace(/[().]/g, "").trim();
  return { value, unit, text: String(value) };
}
