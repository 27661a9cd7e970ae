// What the pages of the way in read of a document that may hold anything.
import type { PlanPoint } from "../api/contract";
import type { Json } from "../app/pointer";

import { METRES_PER_FOOT } from "../units/system";
import { readEntered } from "../units/entered";

type Table = { [key: string]: Json };
const tableOf = (value: Json | undefined): Table | null =>
  typeof value === "object" && value !== null && !Array.isArray(value) ? value : null;

/** The list at a key; empty where there is none. */
export function listIn(document: Json, key: string): Json[] {
  const list = tableOf(document)?.[key];
  return Array.isArray(list) ? list : [];
}

/** The text at a key; "" where there is none. */
export function textIn(object: Json, key: string): string {
  const value = tableOf(object)?.[key];
  return typeof value === "string" ? value : "";
}

/** The object at a key; null where there is none. */
export const tableIn = (object: Json, key: string): Json | null => tableOf(tableOf(object)?.[key]);

/** The number at a key, if it is positive; null otherwise. */
export function numberIn(object: Json, key: string): number | null {
  const value = tableOf(object)?.[key];
  return typeof value === "number" && value > 0 ? value : null;
}

export const siteOf = (document: Json): Table | null => tableOf(tableOf(document)?.["site"]);

/** What the document says of its place; "" and null where it says nothing. */
export interface SaidPlace {
  /** Of the library; or */
  climate: string;
  /** a typical year of the project's files. */
  weather_file: string;
  latitude: string;
  longitude: string;
  utc_offset: string;
  /** When clocks change; "other": by a rule that is none of the usual ones. */
  clock: "none" | "europe" | "north_america" | "other" | null;
  kind: string;
  codes: { code: string; edition: string }[] | null;
}

export function saidPlace(document: Json): SaidPlace {
  const site = siteOf(document);
  const climate = tableIn(site, "climate");
  const figure = (key: string) => (/^[-+0-9.]+/.exec(textIn(site, key)) ?? [""])[0]!;
  const saving = tableIn(site, "daylight_saving");
  const changes = ["begin", "end"].map((end) => {
    const at = tableOf(tableIn(saving, end) ?? undefined);
    return `${String(at?.["month"])} ${String(at?.["week"])} ${String(at?.["weekday"])}`;
  });
  const known = { "3 -1 sun, 10 -1 sun": "europe", "3 2 sun, 11 1 sun": "north_america" } as const;
  const codes = tableOf(document)?.["codes"];
  return {
    climate: textIn(climate, "library"),
    weather_file: textIn(climate, "file"),
    latitude: figure("latitude"),
    longitude: figure("longitude"),
    utc_offset: figure("utc_offset"),
    clock: site === null ? null : saving === null ? "none" : (known[changes.join(", ") as keyof typeof known] ?? "other"),
    kind: textIn(tableIn(document, "type"), "kind"),
    codes: Array.isArray(codes) ? codes.map((one) => ({ code: textIn(one, "code"), edition: textIn(one, "edition") })) : null,
  };
}

export interface RoomBox {
  id: string;
  number: string;
  low: [number, number];
  wide_m: number;
  deep_m: number;
  height_m: number;
}

/** The outline of each room that has one of its own or its typical's, m, building axes. */
function outlinesOf(document: Json): { space: Json; model: Json | null; outline: PlanPoint[] }[] {
  const perUnit = textIn(document, "coordinates") === "ft" ? METRES_PER_FOOT : 1;
  const typicals = new Map(listIn(document, "typicals").map((t) => [textIn(t, "id"), tableOf(tableOf(t)?.["space"])]));
  return listIn(document, "spaces").flatMap((space) => {
    const model = typicals.get(textIn(space, "typical")) ?? null;
    const own = cornersIn(space, "floor");
    const corners = own.length > 0 ? own : cornersIn(model, "floor");
    if (corners.length === 0) return [];
    const [x, y] = own.length > 0 ? [0, 0] : (pairOf(tableOf(space)?.["origin"]) ?? [0, 0]);
    return [{ space, model, outline: corners.map((c): PlanPoint => [(c[0] + x) * perUnit, (c[1] + y) * perUnit]) }];
  });
}

/** Outlines of the rooms that a storey has already; of the first storey where none is named. */
export function roomsOfStorey(document: Json, storey: string): PlanPoint[][] {
  const wanted = storey || textIn(listIn(document, "storeys")[0] ?? null, "id");
  return outlinesOf(document)
    .filter(({ space, model }) => (textIn(space, "storey") || textIn(model, "storey")) === wanted)
    .map(({ outline }) => outline);
}

/** The box around each room whose outline the document or its typical gives, building axes. */
export function boxesOf(document: Json): RoomBox[] {
  const boxes: RoomBox[] = [];
  for (const { space, model, outline } of outlinesOf(document)) {
    const xs = outline.map(([x]) => x);
    const ys = outline.map(([, y]) => y);
    const height = readEntered(textIn(space, "height") || textIn(model, "height") || "2.7 m", ["m", "cm", "mm", "ft", "in"], null);
    boxes.push({
      id: textIn(space, "id"),
      number: textIn(space, "number"),
      low: [Math.min(...xs), Math.min(...ys)],
      wide_m: Math.max(...xs) - Math.min(...xs),
      deep_m: Math.max(...ys) - Math.min(...ys),
      height_m: height.ok ? height.si : 2.7,
    });
  }
  return boxes;
}

const pairOf = (value: Json | undefined): [number, number] | null =>
  Array.isArray(value) && typeof value[0] === "number" && typeof value[1] === "number" ? [value[0], value[1]] : null;

function cornersIn(object: Json, key: string): [number, number][] {
  return listIn(object, key)
    .map(pairOf)
    .filter((c) => c !== null);
}
