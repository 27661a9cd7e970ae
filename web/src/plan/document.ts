// Where things stand in the document, and how places and ids are written there.
import type { DeviceKind, Edit, PlanPoint, Pointer, Room } from "../api/contract";
import { METRES_PER_FOOT } from "../units/system";
import { boundsOf, millimetres, minus } from "./geometry";
import type { Refusal } from "./actions";

/** What an edit is made against. */
export interface Surroundings {
  room: Room;
  /** Value in the document, or undefined. */
  lookUp: (pointer: Pointer) => unknown;
}

const OF_TYPICAL = /^(\/designs\/\d+)?\/typicals\/\d+\//;

/** Whether the object stands in a typical, so that a change of it changes every room like this. */
export const isOfTypical = (pointer: Pointer): boolean => OF_TYPICAL.test(pointer);

/** Where [0, 0] of the object's coordinates lies on the plan: places in a typical count from a corner of the room. */
export function originOf(pointer: Pointer, { room }: Surroundings): PlanPoint {
  return isOfTypical(pointer) ? (room.typical_origin ?? boundsOf(room.floor).low) : [0, 0];
}

/** Metres as a bare number of the document, whose coordinates may be in feet. */
const writtenNumber = (m: number, { lookUp }: Surroundings): number =>
  lookUp("/coordinates") === "ft" ? Math.round((m / METRES_PER_FOOT) * 1e4) / 1e4 + 0 : millimetres(m);

/** A place of the plan as it is written at `pointer`. */
export const writtenPlace = (place: PlanPoint, pointer: Pointer, around: Surroundings): PlanPoint => {
  const [x, y] = minus(place, originOf(pointer, around));
  return [writtenNumber(x, around), writtenNumber(y, around)];
};

/** A position as it is written at `pointer`. */
export const writtenPosition = ([x, y, z]: readonly [number, number, number], pointer: Pointer, around: Surroundings): [number, number, number] => [
  ...writtenPlace([x, y], pointer, around),
  writtenNumber(z, around),
];

/** An id as objects beside `pointer` refer to it: those of a typical's block have names of their own. */
export const writtenId = (id: string, pointer: Pointer, room: Room): string =>
  isOfTypical(pointer) && id.startsWith(`${room.id}.`) ? id.slice(room.id.length + 1) : id;

export const writtenMetres = (m: number): string => `${(Math.round(m * 1000) / 1000).toFixed(3).replace(/0$/, "")} m`;
export const writtenDegrees = (deg: number): string => `${Math.round(deg * 10) / 10} deg`;

export type ListName = "luminaires" | "furniture" | "task_areas" | "openings" | "doors" | DeviceList;
export type DeviceList =
  | "occupancy_sensors"
  | "photosensors"
  | "stations"
  | "load_controllers"
  | "time_clocks"
  | "interfaces"
  | "infrastructure";

export const LIST_OF_DEVICE: Readonly<Record<DeviceKind, DeviceList>> = {
  occupancy_sensor: "occupancy_sensors",
  photosensor: "photosensors",
  station: "stations",
  load_controller: "load_controllers",
  time_clock: "time_clocks",
  interface: "interfaces",
  infrastructure: "infrastructure",
};

const isOfSpace = (list: ListName): boolean => list === "furniture" || list === "task_areas" || list === "openings" || list === "doors";

function shown(room: Room, list: ListName): readonly { pointer: Pointer }[] {
  switch (list) {
    case "luminaires":
    case "furniture":
    case "task_areas":
    case "openings":
    case "doors":
      return room[list];
    default:
      return room.devices.filter((d) => LIST_OF_DEVICE[d.kind] === list);
  }
}

/** "/designs/1/luminaires/7" to "/designs/1/luminaires" and 7. */
export function listAndIndex(pointer: Pointer): { list: Pointer; index: number } {
  const slash = pointer.lastIndexOf("/");
  return { list: pointer.slice(0, slash), index: Number(pointer.slice(slash + 1)) };
}

export interface Home {
  list: Pointer;
  isMissing: boolean;
}

/** The list that a new object of the room goes to: that of its like in the room, else the room's or the proposal's own. */
export function homeOf(list: ListName, { room, lookUp }: Surroundings): Home | Refusal {
  const like = shown(room, list);
  if (like.length > 0) return { list: listAndIndex(like[like.length - 1]!.pointer).list, isMissing: false };
  if (isOfSpace(list)) {
    // The room has none, and so neither has a typical that it takes the list from.
    const own = `${room.pointer}/${list}`;
    return { list: own, isMissing: !Array.isArray(lookUp(own)) };
  }
  if (room.proposal === null) return { refused: "There is no proposal yet to put it in: start a design first." };
  const design = `${room.proposal}/${list}`;
  return { list: design, isMissing: !Array.isArray(lookUp(design)) };
}

/** Edits that put `values` at the end of a list. */
export function appended(home: Home, values: readonly unknown[]): Edit[] {
  if (values.length === 0) return [];
  if (home.isMissing) return [{ op: "add", path: home.list, value: [...values] }];
  return values.map((value) => ({ op: "add", path: `${home.list}/-`, value }));
}

/** Edits that take objects out, the last of each list first so that the places of the others hold. */
export function removals(pointers: readonly Pointer[]): Edit[] {
  return pointers
    .map((pointer) => ({ pointer, ...listAndIndex(pointer) }))
    .sort((a, b) => (a.list === b.list ? b.index - a.index : a.list < b.list ? -1 : 1))
    .map(({ pointer }) => ({ op: "remove", path: pointer }));
}

function idsIn(value: unknown): string[] {
  if (!Array.isArray(value)) return [];
  return value.flatMap((v: unknown) => (typeof v === "object" && v !== null && "id" in v && typeof v.id === "string" ? [v.id] : []));
}

/** Ids that a new object of the list may not take, as they are written beside it. */
export function takenIds(home: Home, around: Surroundings): Set<string> {
  const { room, lookUp } = around;
  const all = [
    ...room.luminaires,
    ...room.devices,
    ...room.groups,
    ...room.scenes,
    ...room.furniture,
    ...room.task_areas,
    ...room.openings,
    ...room.doors,
    ...room.partitions,
    ...room.circuits,
  ].map((o) => o.id);
  const taken = new Set(all.flatMap((id) => [id, writtenId(id, `${home.list}/-`, room)]));
  const owner = lookUp(home.list.slice(0, home.list.lastIndexOf("/")));
  if (typeof owner === "object" && owner !== null) for (const list of Object.values(owner)) for (const id of idsIn(list)) taken.add(id);
  return taken;
}

const ID_PATTERN = /^[A-Za-z0-9][A-Za-z0-9._-]*$/;
const LONGEST_ID = 80;
export const isId = (text: string): boolean => ID_PATTERN.test(text) && text.length <= LONGEST_ID;

/** `text` with what an id may not hold left out; never empty. */
export function idFrom(text: string): string {
  const kept = text.trim().replace(/\s+/g, "-").replace(/[^A-Za-z0-9._-]/g, "").replace(/^[._-]+/, "").slice(0, LONGEST_ID - 6);
  return kept === "" ? "x" : kept;
}

/**
 * The next free id that counts on from `like`: after "G02-U09" comes "G02-U10". Without a like that ends in a number
 * it counts from `stem` and 1.
 */
export function nextId(like: readonly string[], stem: string, taken: ReadonlySet<string>): string {
  const counted = like.flatMap((id) => {
    const match = /^(.*?)(\d{1,6})$/.exec(id);
    return match === null ? [] : [{ head: match[1]!, width: match[2]!.length, number: Number(match[2]) }];
  });
  const last = counted[counted.length - 1];
  const head = last?.head ?? idFrom(stem);
  const width = last?.width ?? 1;
  let number = counted.filter((c) => c.head === head).reduce((most, c) => Math.max(most, c.number), 0) + 1;
  for (;;) {
    const id = `${head}${String(number).padStart(width, "0")}`;
    if (!taken.has(id) && isId(id)) return id;
    number += 1;
  }
}
