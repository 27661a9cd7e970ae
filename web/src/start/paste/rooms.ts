// Rows of a pasted table made into rooms: what each says, what is wrong with it, and the edits that make them.
import type { Edit, Library, PlanPoint } from "../../api/contract";
import type { Json } from "../../app/pointer";
import { METRES_PER_FOOT, type UnitSystem } from "../../units/system";
import { listIn, siteOf, textIn } from "../document";
import { type Mapping, type Role, kindOfWord, typeOfWord } from "./columns";
import { type Figure, readFigure } from "./table";

export interface RowRoom {
  /** Of the pasted table, head included. */
  row: number;
  number: string;
  name: string;
  kindWord: string;
  kind: string | null;
  storey: string;
  wide_m: number | null;
  deep_m: number | null;
  area_m2: number | null;
  /** Drawn from its area alone. */
  isFromArea: boolean;
  height_m: number | null;
  heightText: string;
  typical: string;
  people: number | null;
  /** As it will stand in the document: "30 fc". */
  target: string;
  luminaires: number | null;
  typeWord: string;
  type: string | null;
  problems: string[];
  /** What is assumed and stands in the document as a note. */
  notes: string[];
}

/** What somebody has decided once for all rows. */
export interface Choices {
  kinds: Readonly<Record<string, string>>;
  types: Readonly<Record<string, string>>;
  /** Longer side over shorter, of rooms of which only the area is known. */
  proportion: number;
  typicals: Readonly<Record<number, string>>;
  lengthUnit: "m" | "ft";
}

/** Corridors are long. */
const CORRIDOR_PROPORTION = 6;
const SMALLEST_M = 0.8;
const LARGEST_M = 200;
/** Rooms this near in size follow a typical; others would not fit its luminaires. */
export const ALIKE = 0.1;

const isFeet = (unit: string, head: string, otherwise: "m" | "ft") =>
  /ft|feet|foot|sf|'/.test(unit) ? true : /^m|sqm|sq m|cm/.test(unit) ? false : /\b(ft|feet|sq ?ft|sf|ft2)\b|ft²/.test(head) ? true : /\b(m|m2|sqm)\b|m²/.test(head) ? false : otherwise === "ft";

interface OwnType {
  id: string;
  tag: string;
  name: string;
}

export function readRooms(rows: readonly (readonly string[])[], mapping: Mapping, choices: Choices, library: Library, document: Json, own: readonly OwnType[]): RowRoom[] {
  const at = (role: Role) => mapping.roles.indexOf(role);
  const head = (role: Role) => (mapping.hasHeader && at(role) >= 0 ? (rows[0]?.[at(role)] ?? "").toLowerCase() : "");
  const taken = new Set(listIn(document, "spaces").map((s) => textIn(s, "number") || textIn(s, "id")));
  const seen = new Map<string, number>();
  const out: RowRoom[] = [];
  rows.forEach((cells, i) => {
    if (mapping.hasHeader && i === 0) return;
    const cell = (role: Role) => (at(role) < 0 ? "" : (cells[at(role)] ?? ""));
    const problems: string[] = [];
    const notes: string[] = [];
    const figure = (role: Role, what: string): Figure | null => {
      const text = cell(role);
      if (text === "") return null;
      const read = readFigure(text);
      if (read === null || read.value < 0) {
        problems.push(`“${text}” is no ${what}`);
        return null;
      }
      return read;
    };
    const metres = (role: Role, what: string): [number | null, string] => {
      const read = figure(role, what);
      if (read === null) return [null, ""];
      const feet = isFeet(read.unit, head(role), choices.lengthUnit);
      const factor = /^cm/.test(read.unit) ? 0.01 : /^mm/.test(read.unit) ? 0.001 : feet ? METRES_PER_FOOT : 1;
      const unit = factor === 0.01 ? "cm" : factor === 0.001 ? "mm" : feet ? "ft" : "m";
      return [read.value * factor, `${read.text} ${unit}`];
    };
    const number = cell("number");
    const name = cell("name");
    if (number === "" && name === "") problems.push("neither number nor name");
    const key = number || name;
    if (taken.has(key)) problems.push(`“${key}” is in the building already`);
    const before = seen.get(key);
    if (key !== "" && before !== undefined) problems.push(`“${key}” stands in row ${before + 1} as well`);
    else seen.set(key, i);

    const kindWord = cell("kind") || (at("kind") < 0 ? name : "");
    const kind = choices.kinds[kindWord.toLowerCase()] ?? kindOfWord(kindWord, library);
    if (kind === null) problems.push(kindWord === "" ? "no kind of space" : `“${kindWord}” is no kind that is known`);

    const [width] = metres("width", "width");
    const [length] = metres("length", "length");
    const [height, heightText] = metres("height", "height");
    const areaRead = figure("area", "area");
    const area = areaRead === null ? null : areaRead.value * (isFeet(areaRead.unit, head("area"), choices.lengthUnit) ? METRES_PER_FOOT ** 2 : 1);
    let wide = width;
    let deep = length;
    let isFromArea = false;
    if (area !== null && area > 0) {
      if (wide !== null && deep === null) deep = area / wide;
      else if (deep !== null && wide === null) wide = area / deep;
      else if (wide === null) {
        const proportion = kind === "corridor" ? CORRIDOR_PROPORTION : choices.proportion;
        deep = Math.sqrt(area / proportion);
        wide = area / deep;
        isFromArea = true;
        notes.push(`Drawn from its area alone, ${proportion} to 1.`);
      }
    }
    if (wide === null || deep === null) {
      if (!problems.some((p) => /is no (area|width|length)/.test(p))) problems.push("no size: give its area, or width and length");
    } else if (Math.min(wide, deep) < SMALLEST_M || Math.max(wide, deep) > LARGEST_M) problems.push(`${wide.toFixed(1)} m by ${deep.toFixed(1)} m is no room`);
    if (height !== null && (height < 1.5 || height > 60)) problems.push(`a ceiling at ${height.toFixed(2)} m is none`);

    const targetRead = figure("target", "light");
    const isFc = targetRead !== null && (/fc|foot/.test(targetRead.unit) || (targetRead.unit === "" && /\b(fc|foot-?candles?)\b/.test(head("target"))) || (targetRead.unit === "" && !/lx|lux/.test(head("target")) && choices.lengthUnit === "ft" && targetRead.value <= 150));
    const target = targetRead === null || targetRead.value === 0 ? "" : `${targetRead.text} ${isFc ? "fc" : "lx"}`;
    const people = figure("people", "number of people")?.value ?? null;
    const count = figure("luminaires", "number of luminaires");
    if (count !== null && (!Number.isInteger(count.value) || count.value > 400)) problems.push(`${count.text} luminaires cannot be placed`);
    const typeWord = cell("luminaire_type");
    const type = choices.types[typeWord.toLowerCase()] ?? typeOfWord(typeWord, library, own);
    if (count !== null && count.value > 0 && type === null) problems.push(typeWord === "" ? "luminaires of no type" : `“${typeWord}” is no luminaire type that is known`);
    out.push({
      row: i,
      number,
      name,
      kindWord,
      kind,
      storey: cell("storey"),
      wide_m: wide,
      deep_m: deep,
      area_m2: wide !== null && deep !== null ? wide * deep : area,
      isFromArea,
      height_m: height,
      heightText,
      typical: choices.typicals[i] ?? cell("typical"),
      people,
      target,
      luminaires: count === null ? null : count.value,
      typeWord,
      type,
      problems,
      notes,
    });
  });
  return out;
}

/** Words of a kind that nothing is known of, each once, with how many rows have it. */
export function unknownWords(rooms: readonly RowRoom[], of: "kind" | "type"): [string, number][] {
  const words = new Map<string, number>();
  for (const room of rooms) {
    const word = of === "kind" ? room.kindWord : room.typeWord;
    const isKnown = of === "kind" ? room.kind !== null : room.type !== null || room.luminaires === null;
    if (word !== "" && !isKnown) words.set(word, (words.get(word) ?? 0) + 1);
  }
  return [...words].sort((a, b) => b[1] - a[1]);
}

export function idOf(words: string): string {
  const id = words.replace(/[^A-Za-z0-9._-]+/g, "-").replace(/^[^A-Za-z0-9]+|-+$/g, "").slice(0, 40);
  return id.replace(/-+$/, "");
}

function freeId(taken: Set<string>, wanted: string): string {
  let id = wanted;
  for (let n = 2; taken.has(id); n += 1) id = `${wanted}-${n}`;
  taken.add(id);
  return id;
}

export interface RoomsToMake {
  edits: Edit[];
  label: string;
  /** Of new typicals, in the order of their first rooms. */
  typicals: string[];
  /** Ids of rooms that follow no typical. */
  own: string[];
  /** What was decided on the way, in sentences. */
  notes: string[];
}

const EDGE_M = 0.5;
const APART_M = 1;
/** Rooms stand side by side in rows of this width until their place is known. */
const ROW_M = 80;

/** The edits that make all rooms without problems, as one change. */
export function roomsToMake(rooms: readonly RowRoom[], document: Json, lightsAs: "as_found" | "proposal"): RoomsToMake {
  const good = rooms.filter((room) => room.problems.length === 0);
  const perUnit = textIn(document, "coordinates") === "ft" ? METRES_PER_FOOT : 1;
  const to = (m: number) => Math.round((m / perUnit) * 1000) / 1000;
  const outline = (points: readonly PlanPoint[]) => points.map(([x, y]) => [to(x), to(y)]);
  const box = (x: number, y: number, wide: number, deep: number): PlanPoint[] => [
    [x, y],
    [x + wide, y],
    [x + wide, y + deep],
    [x, y + deep],
  ];
  const inset = (x: number, y: number, wide: number, deep: number): PlanPoint[] => {
    const edge = Math.min(wide, deep) > 3 * EDGE_M ? EDGE_M : 0;
    return box(x + edge, y + edge, wide - 2 * edge, deep - 2 * edge);
  };
  const edits: Edit[] = [];
  const made = new Set<string>();
  const append = (list: string, value: unknown) => {
    const path = `/${list}`;
    if (made.has(list) || listIn(document, list).length > 0) edits.push({ op: "add", path: `${path}/-`, value });
    else edits.push({ op: "add", path, value: [value] });
    made.add(list);
  };

  // Storeys by the words that rows have for them.
  const storeys = new Map<string, string>();
  const storeyIds = new Set<string>();
  for (const storey of listIn(document, "storeys")) {
    storeyIds.add(textIn(storey, "id"));
    storeys.set(textIn(storey, "id").toLowerCase(), textIn(storey, "id"));
    storeys.set(textIn(storey, "name").toLowerCase(), textIn(storey, "id"));
  }
  const first = textIn(listIn(document, "storeys")[0] ?? null, "id");
  let storeyCount = listIn(document, "storeys").length;
  const storeyOf = (word: string): string => {
    if (word === "" && first !== "") return first;
    const known = storeys.get(word.toLowerCase());
    if (known !== undefined) return known;
    const id = freeId(storeyIds, idOf(word) || "ground");
    append("storeys", { id, name: word === "" ? "Ground floor" : word, elevation: `${storeyCount * 4} m` });
    storeyCount += 1;
    storeys.set(word.toLowerCase(), id);
    return id;
  };

  // Where the rooms that are there end, by storey.
  const cursor = new Map<string, { x: number; y: number; deepest: number; left: number }>();
  const placeIn = (storey: string, wide: number, deep: number): PlanPoint => {
    let at = cursor.get(storey);
    if (at === undefined) {
      let right = 0;
      for (const space of listIn(document, "spaces")) {
        if (textIn(space, "storey") !== storey) continue;
        for (const corner of listIn(space, "floor")) if (Array.isArray(corner) && typeof corner[0] === "number") right = Math.max(right, corner[0] * perUnit + APART_M);
      }
      at = { x: right, y: 0, deepest: 0, left: right };
      cursor.set(storey, at);
    }
    if (at.x > at.left && at.x + wide > at.left + ROW_M) {
      at.x = at.left;
      at.y += at.deepest + APART_M;
      at.deepest = 0;
    }
    const place: PlanPoint = [at.x, at.y];
    at.x += wide + APART_M;
    at.deepest = Math.max(at.deepest, deep);
    return place;
  };

  const typicalIds = new Set(listIn(document, "typicals").map((t) => textIn(t, "id")));
  const typicals = new Map<string, { id: string; model: RowRoom | null }>();
  for (const typical of listIn(document, "typicals")) {
    typicals.set(textIn(typical, "id").toLowerCase(), { id: textIn(typical, "id"), model: null });
    typicals.set((textIn(typical, "name") || textIn(typical, "id")).toLowerCase(), { id: textIn(typical, "id"), model: null });
  }
  const newTypicals: string[] = [];
  const notes: string[] = [];
  const own: string[] = [];
  const spaceIds = new Set(listIn(document, "spaces").map((s) => textIn(s, "id")));
  let unlike = 0;

  const keysOf = (room: RowRoom, x: number, y: number): Record<string, unknown> => ({
    kind: room.kind,
    floor: outline(box(x, y, room.wide_m!, room.deep_m!)),
    ...(room.heightText === "" ? {} : { height: room.heightText }),
    task_areas: [
      {
        id: "floor",
        name: "the floor",
        plan: outline(inset(x, y, room.wide_m!, room.deep_m!)),
        ...(room.target === "" ? {} : { target: room.target }),
      },
    ],
    ...(room.people === null ? {} : { occupancy: { people: room.people, source: "interview" } }),
    ...(room.notes.length === 0 ? {} : { notes: room.notes.join(" ") }),
  });

  const luminaires: { space: string; room: RowRoom; at: PlanPoint }[] = [];
  for (const room of good) {
    const storey = storeyOf(room.storey);
    const id = freeId(spaceIds, idOf(room.number) || idOf(room.name) || "room");
    const place = placeIn(storey, room.wide_m!, room.deep_m!);
    const head = { id, number: room.number, name: room.name || room.kindWord || room.number };
    const word = room.typical.trim().toLowerCase();
    let typical = word === "" ? undefined : typicals.get(word);
    if (word !== "" && typical === undefined) {
      typical = { id: freeId(typicalIds, idOf(room.typical) || "typical"), model: room };
      typicals.set(word, typical);
      newTypicals.push(typical.id);
      append("typicals", { id: typical.id, name: room.typical.trim(), space: keysOf(room, 0, 0) });
    }
    const model = typical?.model ?? null;
    const isAlike =
      typical !== undefined &&
      (model === null || (room.kind === model.kind && room.target === model.target && near(room.wide_m!, model.wide_m!) && near(room.deep_m!, model.deep_m!)));
    if (typical !== undefined && isAlike) {
      append("spaces", { ...head, typical: typical.id, storey, origin: [to(place[0]), to(place[1])] });
    } else {
      if (typical !== undefined) unlike += 1;
      own.push(id);
      append("spaces", { ...head, storey, ...keysOf(room, place[0], place[1]) });
    }
    if (room.luminaires !== null && room.luminaires > 0 && room.type !== null) luminaires.push({ space: id, room, at: place });
  }
  if (unlike > 0) notes.push(`${unlike} room${unlike === 1 ? " differs" : "s differ"} from the typical that ${unlike === 1 ? "it names" : "they name"} by more than ${100 * ALIKE} % of a side, or in kind or light, and stay${unlike === 1 ? "s" : ""} on ${unlike === 1 ? "its" : "their"} own.`);

  if (luminaires.length > 0) {
    const designs = listIn(document, "designs");
    let index = designs.findIndex((d) => textIn(d, "role") === lightsAs);
    if (index < 0) {
      index = designs.length;
      append("designs", { id: lightsAs === "as_found" ? "as-found" : "proposal", name: lightsAs === "as_found" ? "As found" : "Proposal", role: lightsAs });
    }
    const list = `designs/${index}/luminaires`;
    let hasList = index < designs.length && listIn(designs[index]!, "luminaires").length > 0;
    for (const { space, room, at } of luminaires) {
      const height = room.height_m ?? 2.7;
      evenPlaces(room.luminaires!, room.wide_m!, room.deep_m!).forEach(([x, y], n) => {
        const value = {
          id: `${space}-${lightsAs === "as_found" ? "X" : "A"}${n + 1}`,
          type: room.type!,
          space,
          at: [to(at[0] + x), to(at[1] + y), Math.floor((height / perUnit) * 1000 + 1e-6) / 1000],
          ...(lightsAs === "as_found" ? { status: "remove" } : {}),
        };
        edits.push(hasList ? { op: "add", path: `/${list}/-`, value } : { op: "add", path: `/${list}`, value: [value] });
        hasList = true;
      });
    }
  }
  const fromArea = good.filter((room) => room.isFromArea).length;
  if (fromArea > 0) notes.push(`${fromArea} room${fromArea === 1 ? " is" : "s are"} drawn as rectangles from their area alone; each says so in its notes.`);
  if (siteOf(document) === null) notes.push("The building has no place yet.");
  return { edits, label: `paste ${good.length} rooms`, typicals: newTypicals, own, notes };
}

const near = (a: number, b: number) => Math.abs(a - b) <= ALIKE * b;

/** `count` places spread evenly over a rectangle, in rows along its longer side. */
export function evenPlaces(count: number, wide: number, deep: number): PlanPoint[] {
  let best = { rows: 1, columns: count, slender: Infinity };
  for (let rows = 1; rows <= count; rows += 1) {
    const columns = Math.ceil(count / rows);
    const along = wide / columns;
    const across = deep / rows;
    // Empty places at the end of the last row count against a grid.
    const slender = Math.max(along / across, across / along) * (1 + (rows * columns - count));
    if (slender < best.slender) best = { rows, columns, slender };
  }
  const places: PlanPoint[] = [];
  for (let r = 0; r < best.rows; r += 1) {
    const inRow = Math.min(best.columns, count - r * best.columns);
    for (let c = 0; c < inRow; c += 1) places.push([((c + 0.5) * wide) / inRow, ((r + 0.5) * deep) / best.rows]);
  }
  return places;
}

export const firstChoices = (system: UnitSystem): Choices => ({ kinds: {}, types: {}, proportion: 1.3, typicals: {}, lengthUnit: system === "us" ? "ft" : "m" });
