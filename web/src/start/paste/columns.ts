// What the columns of a pasted table hold, guessed from their heads and from what stands in them.
import type { Library } from "../../api/contract";
import { readFigure } from "./table";

export type Role =
  | "ignore"
  | "number"
  | "name"
  | "kind"
  | "storey"
  | "area"
  | "width"
  | "length"
  | "height"
  | "typical"
  | "people"
  | "target"
  | "luminaires"
  | "luminaire_type"
  | "room"
  | "x"
  | "y"
  | "z"
  | "rotation";

export const ROLE_WORDS: Readonly<Record<Role, string>> = {
  ignore: "not used",
  number: "room number",
  name: "room name",
  kind: "kind of space",
  storey: "storey",
  area: "area",
  width: "width",
  length: "length",
  height: "ceiling height",
  typical: "typical",
  people: "people",
  target: "light asked for",
  luminaires: "number of luminaires",
  luminaire_type: "luminaire type",
  room: "room",
  x: "x",
  y: "y",
  z: "z, mounting height",
  rotation: "rotation",
};

export const ROOM_ROLES: readonly Role[] = ["ignore", "number", "name", "kind", "storey", "area", "width", "length", "height", "typical", "people", "target", "luminaires", "luminaire_type"];
export const LUMINAIRE_ROLES: readonly Role[] = ["ignore", "room", "luminaire_type", "x", "y", "z", "rotation", "luminaires"];

export interface Mapping {
  hasHeader: boolean;
  roles: Role[];
}

/** Words of heads, the longest first; a head that holds one is of that role. */
const HEADS: readonly (readonly [RegExp, Role])[] = [
  [/\b(luminaire|fixture|fitting|lamp) ?(type|tag|code)\b|^tag$/, "luminaire_type"],
  [/\b(no\.? of|number of|count of|qty|quantity|how many|#)? ?(luminaires|fixtures|fittings|lights)\b|^(qty|quantity|count)$/, "luminaires"],
  [/\btypical\b|\blike room\b/, "typical"],
  [/\b(people|occupants?|persons|seats|capacity|pupils|students)\b/, "people"],
  [/\b(lux|lx|fc|foot-?candles?|illuminance|target|light level)\b/, "target"],
  [/\b(storey|story|level|floor ?(no|number|level)?|fl)\b(?!.*(area|m2|sq))/, "storey"],
  [/\b(area|m2|m²|sq ?ft|sqft|sf|ft2|ft²|sq ?m|sqm|surface)\b|m²|ft²/, "area"],
  [/\b(ceiling|height|clg)\b/, "height"],
  [/\b(width|wide|breadth)\b/, "width"],
  [/\b(length|long|depth|deep)\b/, "length"],
  [/\b(room|space) ?(type|use|kind|function|category)\b|\b(use|function|kind|category|usage|space type)\b|^type$/, "kind"],
  [/\b(room|space) ?(no\.?|number|nr|id|#)|^(no\.?|nr\.?|number|id|#)$/, "number"],
  [/\b(name|description|room|space)\b/, "name"],
];
const LUMINAIRE_HEADS: readonly (readonly [RegExp, Role])[] = [
  [/\b(type|tag|code)\b/, "luminaire_type"],
  [/\b(qty|quantity|count|number|luminaires|fixtures|fittings)\b/, "luminaires"],
  [/^x\b/, "x"],
  [/^y\b/, "y"],
  [/^z\b|\b(height|mounting|elevation)\b/, "z"],
  [/\b(rotation|angle|turn)\b/, "rotation"],
  [/\b(room|space|location)\b/, "room"],
];

const headRole = (head: string, heads: typeof HEADS): Role => {
  const words = head.toLowerCase().replace(/[_/]/g, " ").trim();
  if (words === "") return "ignore";
  return heads.find(([pattern]) => pattern.test(words))?.[1] ?? "ignore";
};

export function guessColumns(rows: readonly (readonly string[])[], columns: number, what: "rooms" | "luminaires", library: Library): Mapping {
  const heads = what === "rooms" ? HEADS : LUMINAIRE_HEADS;
  const first = rows[0] ?? [];
  const named = Array.from({ length: columns }, (_, c) => headRole(first[c] ?? "", heads));
  const figures = (row: readonly string[]) => row.filter((cell) => cell !== "" && readFigure(cell) !== null).length;
  const later = rows.slice(1, 20);
  // A head names columns and holds fewer numbers than what follows.
  const hasHeader =
    named.filter((role) => role !== "ignore").length >= Math.min(2, columns) &&
    (later.length === 0 || figures(first) < Math.max(1, later.reduce((sum, row) => sum + figures(row), 0) / later.length));
  const roles: Role[] = hasHeader ? once(named) : once(what === "rooms" ? byContent(rows, columns, library) : luminairesByContent(rows, columns, library));
  return { hasHeader, roles };
}

/** Each role once: the first column that has it keeps it. */
function once(roles: readonly Role[]): Role[] {
  const seen = new Set<Role>();
  return roles.map((role) => {
    if (role === "ignore" || !seen.has(role)) {
      seen.add(role);
      return role;
    }
    return "ignore";
  });
}

const shareOf = (cells: readonly string[], holds: (cell: string) => boolean): number =>
  cells.length === 0 ? 0 : cells.filter(holds).length / cells.length;

function byContent(rows: readonly (readonly string[])[], columns: number, library: Library): Role[] {
  const roles: Role[] = [];
  const has = (role: Role) => roles.includes(role);
  for (let c = 0; c < columns; c += 1) {
    const cells = rows.map((row) => row[c] ?? "").filter((cell) => cell !== "");
    const distinct = new Set(cells).size / Math.max(1, cells.length);
    const figures = cells.map(readFigure).filter((f) => f !== null);
    const isFigure = figures.length > 0.8 * cells.length && cells.length > 0;
    const mean = figures.reduce((sum, f) => sum + f.value, 0) / Math.max(1, figures.length);
    const unit = figures.find((f) => f.unit !== "")?.unit ?? "";
    let role: Role = "ignore";
    if (cells.length === 0) role = "ignore";
    else if (shareOf(cells, (cell) => kindOfWord(cell, library) !== null) > 0.6 && distinct < 0.9 && !has("kind")) role = "kind";
    else if (isFigure && /^(lx|lux|fc)$/.test(unit)) role = "target";
    else if (!has("number") && distinct > 0.9 && shareOf(cells, (cell) => /[0-9]/.test(cell) && cell.length <= 12) > 0.8 && c < 2) role = "number";
    else if (isFigure && (/^(m2|sqm|sq m|ft2|sqft|sq ft|sf)$/.test(unit) || (mean >= 6 && !has("area")))) role = "area";
    else if (isFigure && mean >= 2 && mean < 6 && !has("height")) role = "height";
    else if (!isFigure && distinct < 0.2 && shareOf(cells, (cell) => /floor|storey|level|ground|first|second|basement/i.test(cell)) > 0.5) role = "storey";
    else if (!isFigure && !has("name")) role = "name";
    roles.push(role);
  }
  return roles;
}

function luminairesByContent(rows: readonly (readonly string[])[], columns: number, library: Library): Role[] {
  const roles: Role[] = [];
  const free: Role[] = columns <= 3 ? ["luminaires"] : ["x", "y", "z"];
  for (let c = 0; c < columns; c += 1) {
    const cells = rows.map((row) => row[c] ?? "").filter((cell) => cell !== "");
    if (shareOf(cells, (cell) => typeOfWord(cell, library, []) !== null) > 0.5) roles.push("luminaire_type");
    else if (c === 0) roles.push("room");
    else if (shareOf(cells, (cell) => readFigure(cell) !== null) > 0.8) roles.push(free.shift() ?? "ignore");
    else roles.push(roles.includes("luminaire_type") ? "ignore" : "luminaire_type");
  }
  return roles;
}

/** What rooms are called, by kind; the first that fits decides. */
const KIND_WORDS: readonly (readonly [RegExp, string])[] = [
  [/class ?room|\bclass\b|teaching|lecture|seminar|\blab(oratory)?\b|\bart room\b|music|training/, "classroom"],
  [/corridor|hallway|passage|circulation/, "corridor"],
  [/\bstairs?\b|stairwell|staircase/, "stair"],
  [/toilet|restroom|\bwc\b|washroom|bathroom|lavator|changing|shower/, "restroom"],
  [/\bcopy\b|\bprint/, "copy_room"],
  [/stor(e|age)\b|closet|cupboard|janitor|archive|cleaner/, "storage"],
  [/plant|boiler|electric|mechanical|\bmep\b|\bit room\b|server|comms|switch ?room|riser/, "plant"],
  [/meeting|conference|board ?room|interview/, "meeting"],
  [/lobby|entrance|foyer|reception|vestibule/, "lobby"],
  [/break ?room|staff room|kitchen|pantry|canteen|caf|dining|lounge|tea ?room/, "breakroom"],
  [/book stack|\bstacks?\b/, "library_stacks"],
  [/library|reading|\blrc\b|study room/, "library_reading"],
  [/multi-?purpose|assembly|gym|drama|\bhall\b|programme|community/, "multipurpose"],
  [/nursery|children|kindergarten|play ?room/, "children"],
  [/open (plan )?office|work ?room|open-plan/, "office_open"],
  [/office|\bhead\b|principal|admin/, "office_enclosed"],
];

/** The kind of space that a word means, or null. */
export function kindOfWord(word: string, library: Library): string | null {
  const w = word.toLowerCase().trim();
  if (w === "") return null;
  const exact = library.kinds.find((k) => k.id === w || k.name.toLowerCase() === w);
  if (exact !== undefined) return exact.id;
  const found = KIND_WORDS.find(([pattern]) => pattern.test(w))?.[1];
  return found !== undefined && library.kinds.some((k) => k.id === found) ? found : null;
}

/** The luminaire type that a tag, an id or a name means, or null. */
export function typeOfWord(word: string, library: Library, own: readonly { id: string; tag: string; name: string }[]): string | null {
  const w = word.toLowerCase().trim();
  if (w === "") return null;
  const fits = (t: { id: string; tag: string; name: string }) => [t.id, t.tag, t.name].some((s) => s !== "" && s.toLowerCase() === w);
  return own.find(fits)?.id ?? library.luminaire_types.find(fits)?.id ?? null;
}
