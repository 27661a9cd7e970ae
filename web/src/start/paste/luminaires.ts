// Pasted luminaires: room, type and place, or how many.
import type { Edit, Library, PlanPoint } from "../../api/contract";
import type { Json } from "../../app/pointer";
import { METRES_PER_FOOT } from "../../units/system";
import { type RoomBox, listIn, textIn } from "../document";
import { type Mapping, type Role, typeOfWord } from "./columns";
import { evenPlaces } from "./rooms";
import { readFigure } from "./table";

export interface RowLuminaires {
  row: number;
  roomWord: string;
  room: RoomBox | null;
  typeWord: string;
  type: string | null;
  count: number;
  /** Metres, building axes; null: spread evenly. */
  at: PlanPoint | null;
  z_m: number | null;
  rotation_deg: number;
  problems: string[];
}

export interface LuminaireChoices {
  types: Readonly<Record<string, string>>;
  unit: "m" | "ft";
  /** Where places count from. */
  from: "room" | "building";
}

export function readLuminaires(rows: readonly (readonly string[])[], mapping: Mapping, choices: LuminaireChoices, library: Library, own: readonly { id: string; tag: string; name: string }[], rooms: readonly RoomBox[]): RowLuminaires[] {
  const at = (role: Role) => mapping.roles.indexOf(role);
  const byWord = new Map<string, RoomBox>();
  for (const room of rooms) {
    byWord.set(room.id.toLowerCase(), room);
    if (room.number !== "") byWord.set(room.number.toLowerCase(), room);
  }
  const out: RowLuminaires[] = [];
  rows.forEach((cells, i) => {
    if (mapping.hasHeader && i === 0) return;
    const cell = (role: Role) => (at(role) < 0 ? "" : (cells[at(role)] ?? ""));
    const problems: string[] = [];
    const figure = (role: Role): number | null => {
      const text = cell(role);
      if (text === "") return null;
      const read = readFigure(text);
      if (read === null) {
        problems.push(`“${text}” is no number`);
        return null;
      }
      return read.value;
    };
    const metres = (role: Role) => {
      const value = figure(role);
      return value === null ? null : value * (choices.unit === "ft" ? METRES_PER_FOOT : 1);
    };
    const roomWord = cell("room");
    const room = byWord.get(roomWord.toLowerCase()) ?? null;
    if (room === null) problems.push(roomWord === "" ? "no room" : `there is no room “${roomWord}”`);
    const typeWord = cell("luminaire_type");
    const type = choices.types[typeWord.toLowerCase()] ?? typeOfWord(typeWord, library, own);
    if (type === null) problems.push(typeWord === "" ? "no type" : `“${typeWord}” is no luminaire type that is known`);
    const x = metres("x");
    const y = metres("y");
    if ((x === null) !== (y === null)) problems.push("one of x and y is missing");
    const count = figure("luminaires") ?? 1;
    if (!Number.isInteger(count) || count < 1 || count > 400) problems.push(`${count} luminaires cannot be placed`);
    let place: PlanPoint | null = null;
    if (x !== null && y !== null && room !== null) {
      place = choices.from === "room" ? [room.low[0] + x, room.low[1] + y] : [x, y];
      const isIn = place[0] >= room.low[0] && place[0] <= room.low[0] + room.wide_m && place[1] >= room.low[1] && place[1] <= room.low[1] + room.deep_m;
      if (!isIn) problems.push("its place is outside the room");
      if (count > 1) problems.push("several at one place");
    }
    const z = metres("z");
    if (z !== null && room !== null && (z <= 0 || z > room.height_m + 1e-6)) problems.push("it hangs above the ceiling or below the floor");
    out.push({ row: i, roomWord, room, typeWord, type, count, at: place, z_m: z, rotation_deg: figure("rotation") ?? 0, problems });
  });
  return out;
}

export function luminairesToMake(rows: readonly RowLuminaires[], document: Json, role: "as_found" | "proposal"): { edits: Edit[]; label: string; count: number } {
  const perUnit = textIn(document, "coordinates") === "ft" ? METRES_PER_FOOT : 1;
  const to = (m: number) => Math.round((m / perUnit) * 1000) / 1000;
  const designs = listIn(document, "designs");
  const edits: Edit[] = [];
  let index = designs.findIndex((d) => textIn(d, "role") === role);
  if (index < 0) {
    index = designs.length;
    const design = { id: role === "as_found" ? "as-found" : "proposal", name: role === "as_found" ? "As found" : "Proposal", role };
    edits.push(index === 0 ? { op: "add", path: "/designs", value: [design] } : { op: "add", path: "/designs/-", value: design });
  }
  const present = index < designs.length ? listIn(designs[index]!, "luminaires") : [];
  const taken = new Set(present.map((l) => textIn(l, "id")));
  let hasList = present.length > 0;
  let count = 0;
  for (const row of rows) {
    if (row.problems.length > 0 || row.room === null || row.type === null) continue;
    const { low, wide_m, deep_m, height_m } = row.room;
    const places: PlanPoint[] = row.at !== null ? [row.at] : evenPlaces(row.count, wide_m, deep_m).map(([x, y]) => [low[0] + x, low[1] + y]);
    for (const [x, y] of places) {
      let n = 1;
      const mark = role === "as_found" ? "X" : "A";
      while (taken.has(`${row.room.id}-${mark}${n}`)) n += 1;
      const id = `${row.room.id}-${mark}${n}`;
      taken.add(id);
      const z = Math.floor(((row.z_m ?? height_m) / perUnit) * 1000 + 1e-6) / 1000;
      const value = {
        id,
        type: row.type,
        space: row.room.id,
        at: [to(x), to(y), z],
        ...(row.rotation_deg === 0 ? {} : { rotation: `${row.rotation_deg} deg` }),
        ...(role === "as_found" ? { status: "remove" } : {}),
      };
      edits.push(hasList ? { op: "add", path: `/designs/${index}/luminaires/-`, value } : { op: "add", path: `/designs/${index}/luminaires`, value: [value] });
      hasList = true;
      count += 1;
    }
  }
  return { edits, label: `paste ${count} luminaires`, count };
}
