// Rooms that follow a typical, and what each of them keeps as its own. A document says so in two ways: a room lists
// a key that its typical states too, which replaces the whole value; and a design holds a sequence of the room,
// which replaces the whole sequence of the typical's block. Both are copies made whole for the sake of one part.
// So a part of a copy that still says what the typical says goes on following it, and a part that says something
// else is the room's own.
import type { Edit, Pointer } from "../api/contract";
import { type Json, editsToSet, pointerOf, sameJson, tokensOf, valueAt } from "../app/pointer";
import { differences, isRecord } from "./difference";

export interface Heir {
  id: string;
  /** As on the door. */
  number: string;
  /** In the list of spaces. */
  index: number;
}

/** A place where a typical states something for its rooms. */
export interface TypicalPlace {
  typical: string;
  /** The value that rooms replace whole: a key of the typical's room, or the sequence of a block. */
  whole: Pointer;
  /** Design and block of a sequence; null for a key of the room. */
  block: { design: number; pointer: Pointer } | null;
  /** Of the place, below `whole`. */
  below: string[];
}

/** What a room says itself where its typical says something else. */
export interface Override {
  heir: Heir;
  /** Of the typical. */
  at: Pointer;
  /** Of the room's own value; null where it leaves the value out that the typical states. */
  own_at: Pointer | null;
  own: Json | undefined;
  typical: Json | undefined;
}

/** Keys that are each room's own affair. */
const ALWAYS_OWN = new Set(["id", "number", "number_on_door", "name", "storey", "typical", "origin", "notes"]);
/** Keys of a sequence that name other things of the block. */
const NAMES_OTHERS = new Set(["normal_scene", "group", "groups", "photosensor", "stations", "interface"]);
export const BLOCK_LISTS = [
  "luminaires",
  "groups",
  "scenes",
  "sequences",
  "occupancy_sensors",
  "photosensors",
  "stations",
  "load_controllers",
  "time_clocks",
  "interfaces",
  "infrastructure",
  "hvac_hand_offs",
] as const;

const listAt = (document: Json, pointer: Pointer): Json[] => {
  const list = valueAt(document, pointer);
  return Array.isArray(list) ? list : [];
};
const textAt = (value: Json | undefined, key: string): string => {
  const text = isRecord(value) ? value[key] : undefined;
  return typeof text === "string" ? text : "";
};

/** Index of the design that is lit and studied; -1 where there is none. */
export const proposalIndex = (document: Json): number =>
  listAt(document, "/designs").findIndex((design) => textAt(design, "role") === "proposal");

export function heirsOf(document: Json, typical: string): Heir[] {
  return listAt(document, "/spaces").flatMap((space, index) =>
    textAt(space, "typical") === typical && typical !== ""
      ? [{ id: textAt(space, "id"), number: textAt(space, "number") || textAt(space, "id"), index }]
      : [],
  );
}

/** What the typical states at a place; null where it is no place of a typical that rooms can replace. */
export function typicalPlace(document: Json, pointer: Pointer): TypicalPlace | null {
  const tokens = tokensOf(pointer);
  if (tokens[0] === "typicals" && tokens[2] === "space" && tokens[3] !== undefined)
    return {
      typical: textAt(valueAt(document, pointerOf(tokens.slice(0, 2))), "id"),
      whole: pointerOf(tokens.slice(0, 4)),
      block: null,
      below: tokens.slice(4),
    };
  if (tokens[0] === "designs" && tokens[2] === "typicals" && tokens[4] === "sequences" && tokens[5] !== undefined) {
    const block = pointerOf(tokens.slice(0, 4));
    return {
      typical: textAt(valueAt(document, block), "typical"),
      whole: pointerOf(tokens.slice(0, 6)),
      block: { design: Number(tokens[1]), pointer: block },
      below: tokens.slice(6),
    };
  }
  return null;
}

/** Where the room states itself what `place` belongs to, whole; null where it inherits it. */
function ownWhole(document: Json, place: TypicalPlace, heir: Heir): Pointer | null {
  if (place.block === null) {
    const key = tokensOf(place.whole).at(-1) ?? "";
    const own = `/spaces/${heir.index}${pointerOf([key])}`;
    return valueAt(document, own) === undefined ? null : own;
  }
  const list = `/designs/${place.block.design}/sequences`;
  const index = listAt(document, list).findIndex((sequence) => textAt(sequence, "space") === heir.id);
  return index < 0 ? null : `${list}/${index}`;
}

/** Local ids of a block. */
function localIds(document: Json, block: Pointer): Set<string> {
  return new Set(BLOCK_LISTS.flatMap((list) => listAt(document, `${block}/${list}`).map((item) => textAt(item, "id"))));
}

/** A part of a block's sequence as a room's own would say it: names of the block carry the room's id in front. */
function asOwn(value: Json | undefined, key: string, ids: ReadonlySet<string>, space: string): Json | undefined {
  if (typeof value === "string") return NAMES_OTHERS.has(key) && ids.has(value) ? `${space}.${value}` : value;
  if (Array.isArray(value)) return value.map((item) => asOwn(item, key, ids, space) as Json);
  if (isRecord(value))
    return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, asOwn(v, k, ids, space) as Json]));
  return value;
}

function asTypical(value: Json | undefined, space: string): Json | undefined {
  if (typeof value === "string") return value.startsWith(`${space}.`) ? value.slice(space.length + 1) : value;
  if (Array.isArray(value)) return value.map((item) => asTypical(item, space) as Json);
  if (isRecord(value)) return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, asTypical(v, space) as Json]));
  return value;
}

/** The key that a place below a value is known by: its last that is no index. */
const keyOf = (tokens: readonly string[]): string => [...tokens].reverse().find((token) => !/^[0-9]+$/.test(token)) ?? "";

/** The place in the room's copy that stands for one of the typical; null where the copy lacks the thing of a list. */
function counterpart(document: Json, place: TypicalPlace, heir: Heir, own: Pointer): Pointer | null {
  let theirs = place.whole;
  let mine = own;
  for (const token of place.below) {
    const list = valueAt(document, theirs);
    if (!Array.isArray(list)) mine += pointerOf([token]);
    else {
      const item = list[Number(token)];
      const name = textAt(item, "id") || textAt(item, "group");
      if (name === "") mine += pointerOf([token]);
      else {
        const found = listAt(document, mine).findIndex((other) => {
          const its = textAt(other, "id") || textAt(other, "group");
          return its === name || its === `${heir.id}.${name}`;
        });
        if (found < 0) return null;
        mine += `/${found}`;
      }
    }
    theirs += pointerOf([token]);
  }
  return mine;
}

/** How a room stands to a place of its typical. */
type Standing = { kind: "inherits" } | { kind: "agrees"; at: Pointer } | { kind: "own"; at: Pointer | null };

function standingOf(document: Json, place: TypicalPlace, pointer: Pointer, heir: Heir): Standing {
  const whole = ownWhole(document, place, heir);
  if (whole === null) return { kind: "inherits" };
  // A key that is stated for its own sake is the room's own, whatever it says.
  if (place.below.length === 0 && place.block === null) return { kind: "own", at: whole };
  const at = counterpart(document, place, heir, whole);
  if (at === null) return { kind: "own", at: null };
  const ids = place.block === null ? new Set<string>() : localIds(document, place.block.pointer);
  const theirs = asOwn(valueAt(document, pointer), keyOf(place.below), ids, heir.id);
  return sameJson(theirs, valueAt(document, at)) ? { kind: "agrees", at } : { kind: "own", at };
}

export interface Reach {
  follow: Heir[];
  keep: Heir[];
}

/** Which rooms follow a change of a place of a typical, and which keep their own; null where none can. */
export function reachOf(document: Json, pointer: Pointer): Reach | null {
  const place = typicalPlace(document, pointer);
  if (place === null) return null;
  const reach: Reach = { follow: [], keep: [] };
  for (const heir of heirsOf(document, place.typical))
    (standingOf(document, place, pointer, heir).kind === "own" ? reach.keep : reach.follow).push(heir);
  return reach;
}

/** "changes 23 rooms; 1 keeps its own: 104 (delay)" */
export function reachInWords({ follow, keep }: Reach, pointer: Pointer): string {
  const changes = `changes ${follow.length} ${follow.length === 1 ? "room" : "rooms"}`;
  if (keep.length === 0) return changes;
  const field = keyOf(tokensOf(pointer)).replaceAll("_", " ");
  return `${changes}; ${keep.length} ${keep.length === 1 ? "keeps its own" : "keep their own"}: ${keep
    .map((heir) => heir.number)
    .join(", ")} (${field})`;
}

/** Edits that put `value` at a place; at one of a typical also into the copies of it that rooms hold and that agree. */
export function editsFollowed(document: Json, pointer: Pointer, value: Json | undefined): Edit[] {
  const edits = editsToSet(document, pointer, value);
  const place = typicalPlace(document, pointer);
  if (place === null || edits.length === 0) return edits;
  const ids = place.block === null ? new Set<string>() : localIds(document, place.block.pointer);
  for (const heir of heirsOf(document, place.typical)) {
    const standing = standingOf(document, place, pointer, heir);
    if (standing.kind === "agrees")
      edits.push(...editsToSet(document, standing.at, asOwn(value, keyOf(place.below), ids, heir.id)));
  }
  return edits;
}

/** Places where typicals state what rooms can replace: keys of the typical's room, and its sequences by design. */
function wholesOf(document: Json, typical: string): Pointer[] {
  const index = listAt(document, "/typicals").findIndex((item) => textAt(item, "id") === typical);
  const room = valueAt(document, `/typicals/${index}/space`);
  const keys = isRecord(room) ? Object.keys(room).filter((key) => !ALWAYS_OWN.has(key)) : [];
  const sequences = listAt(document, "/designs").flatMap((design, d) =>
    listAt(design, "/typicals").flatMap((block, b) =>
      textAt(block, "typical") === typical
        ? listAt(block, "/sequences").map((_, i) => `/designs/${d}/typicals/${b}/sequences/${i}`)
        : [],
    ),
  );
  return [...keys.map((key) => `/typicals/${index}/space${pointerOf([key])}`), ...sequences];
}

/** Everything that rooms of a typical say themselves, in the order of the typical. */
export function overridesOf(document: Json, typical: string): Override[] {
  const heirs = heirsOf(document, typical);
  return wholesOf(document, typical).flatMap((whole) => {
    const place = typicalPlace(document, whole);
    return place === null ? [] : heirs.flatMap((heir) => overridesIn(document, place, heir));
  });
}

/** Where the parts of a value have no meaning one without the other: outlines, things of the building. */
const UNDIVIDED = new Set(["floor", "openings", "doors", "partitions", "furniture", "egress_paths"]);

function overridesIn(document: Json, place: TypicalPlace, heir: Heir): Override[] {
  const own_at = ownWhole(document, place, heir);
  if (own_at === null) return [];
  const own = valueAt(document, own_at);
  const typical = valueAt(document, place.whole);
  const key = keyOf(tokensOf(place.whole));
  if (place.block === null && (UNDIVIDED.has(key) || (!isRecord(own) && !Array.isArray(own))))
    return [{ heir, at: place.whole, own_at, own, typical }];
  const ids = place.block === null ? new Set<string>() : localIds(document, place.block.pointer);
  let theirs = asOwn(typical, key, ids, heir.id) ?? null;
  if (place.block === null) theirs = placed(theirs, key, originOf(document, heir) ?? [0, 0]);
  else if (isRecord(theirs)) theirs = { ...theirs, space: heir.id };
  return differences(theirs, own ?? null).map((difference) => ({
    heir,
    at: place.whole + (difference.before_at ?? difference.after_at ?? ""),
    own_at: difference.after_at === null ? null : own_at + difference.after_at,
    own: place.block === null ? difference.after : asTypical(difference.after, heir.id),
    typical: place.block === null ? difference.before : asTypical(difference.before, heir.id),
  }));
}

/** Takes a room's own value away, so that it follows its typical again. */
export function editsToDrop(document: Json, override: Override): Edit[] {
  const place = typicalPlace(document, override.at);
  const whole = place === null ? null : ownWhole(document, place, override.heir);
  if (place === null || whole === null) return [];
  const all = overridesIn(document, { ...place, below: [] }, override.heir);
  // The last part of a copy that differs: the copy has no more reason to be.
  if (all.length <= 1) return [{ op: "remove", path: whole }];
  const ids = place.block === null ? new Set<string>() : localIds(document, place.block.pointer);
  if (override.own_at === null) {
    const at = counterpart(document, place, override.heir, whole);
    const value = asOwn(override.typical, keyOf(place.below), ids, override.heir.id);
    if (at !== null) return editsToSet(document, at, value);
    const parent = counterpart(document, { ...place, below: place.below.slice(0, -1) }, override.heir, whole);
    return parent === null || value === undefined ? [] : [{ op: "add", path: `${parent}/-`, value }];
  }
  return editsToSet(document, override.own_at, asOwn(override.typical, keyOf(place.below), ids, override.heir.id));
}

/**
 * Makes a room's own value the typical's, which other rooms then follow; null for what has a place of its own in
 * the building, such as outlines, and for whole things of a list.
 */
export function editsToTakeOver(document: Json, override: Override): Edit[] | null {
  const { own, at } = override;
  if (isRecord(own) || (Array.isArray(own) && own.some((item) => typeof item !== "string"))) return null;
  if (!sameJson(valueAt(document, at), override.typical)) return null;
  // With the value in the typical, the copy may have nothing left to say.
  const removal = editsToDrop(document, override).filter((edit) => edit.op === "remove" && edit.path !== override.own_at);
  const place = typicalPlace(document, at);
  const key = place !== null && place.block === null && place.below.length === 0;
  return [...editsFollowed(document, at, own), ...(key ? editsToDrop(document, override) : removal)];
}

/** Places of a typical that a person may want to change for all its rooms, in its order: no outlines, no names. */
export function fieldsOf(document: Json, typical: string): Pointer[] {
  const design = proposalIndex(document);
  return wholesOf(document, typical)
    .filter((whole) => !whole.startsWith("/designs/") || whole.startsWith(`/designs/${design}/`))
    .filter((whole) => !UNDIVIDED.has(tokensOf(whole).at(-1) ?? ""))
    .flatMap((whole) => leavesOf(valueAt(document, whole), whole));
}

const NO_FIELD = new Set(["id", "plan", "name"]);

function leavesOf(value: Json | undefined, at: Pointer): Pointer[] {
  if (Array.isArray(value))
    return value.some(isRecord) ? value.flatMap((item, i) => leavesOf(item, `${at}/${i}`)) : [at];
  if (isRecord(value))
    return Object.entries(value).flatMap(([key, child]) =>
      NO_FIELD.has(key) ? [] : leavesOf(child, at + pointerOf([key])),
    );
  return value === undefined || value === null ? [] : [at];
}

/** Lower-left corner of what a room's positions count from in the building; null where nothing says. */
function originOf(document: Json, heir: Heir): [number, number] | null {
  const floor = valueAt(document, `/spaces/${heir.index}/floor`);
  const corner = (points: Json[], axis: 0 | 1) =>
    Math.min(...points.map((p) => (Array.isArray(p) && typeof p[axis] === "number" ? p[axis] : NaN)));
  const low: Json | undefined = Array.isArray(floor)
    ? [corner(floor, 0), corner(floor, 1)]
    : valueAt(document, `/spaces/${heir.index}/origin`);
  if (!Array.isArray(low) || typeof low[0] !== "number" || typeof low[1] !== "number") return null;
  return Number.isFinite(low[0]) && Number.isFinite(low[1]) ? [low[0], low[1]] : null;
}

/** A value of the typical's room as the room itself would state it: outlines moved to where the room lies. */
function placed(value: Json, key: string, [x, y]: readonly [number, number]): Json {
  if (key === "plan" && Array.isArray(value))
    return value.map((p) =>
      Array.isArray(p) && typeof p[0] === "number" && typeof p[1] === "number"
        ? [Number((p[0] + x).toFixed(6)), Number((p[1] + y).toFixed(6)), ...p.slice(2)]
        : p,
    );
  if (Array.isArray(value)) return value.map((item) => placed(item, key, [x, y]));
  if (isRecord(value)) return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, placed(v, k, [x, y])]));
  return value;
}

/**
 * Edits that give one room a value of its own where its typical states another: into the copy that it has, or into
 * one that is made for it. null where that cannot be done: an outline whose place is not known.
 */
export function editsForRoomAlone(document: Json, pointer: Pointer, heir: Heir, value: Json | undefined): Edit[] | null {
  const place = typicalPlace(document, pointer);
  if (place === null) return null;
  const ids = place.block === null ? new Set<string>() : localIds(document, place.block.pointer);
  const mine = asOwn(value, keyOf(place.below), ids, heir.id);
  const whole = ownWhole(document, place, heir);
  if (whole !== null) {
    const at = counterpart(document, place, heir, whole);
    return at === null ? null : editsToSet(document, at, mine);
  }
  const theirs = asOwn(valueAt(document, place.whole), keyOf(tokensOf(place.whole)), ids, heir.id);
  if (place.block !== null) {
    if (!isRecord(theirs)) return null;
    const copy = withValue({ space: heir.id, ...theirs }, place.below, mine);
    const list = `/designs/${place.block.design}/sequences`;
    return Array.isArray(valueAt(document, list))
      ? [{ op: "add", path: `${list}/-`, value: copy }]
      : [{ op: "add", path: list, value: [copy] }];
  }
  const key = tokensOf(place.whole).at(-1) ?? "";
  const path = `/spaces/${heir.index}${pointerOf([key])}`;
  if (place.below.length === 0) return mine === undefined ? [] : [{ op: "add", path, value: mine }];
  const origin = originOf(document, heir);
  if (origin === null && key === "task_areas") return null;
  const copy = placed(theirs ?? {}, key, origin ?? [0, 0]);
  return [{ op: "add", path, value: withValue(copy, place.below, mine) }];
}

/** A copy of a value with one part of it set, or taken away. */
function withValue(whole: Json, below: readonly string[], value: Json | undefined): Json {
  const [token, ...rest] = below;
  if (token === undefined) return value ?? null;
  if (Array.isArray(whole)) return whole.map((item, i) => (i === Number(token) ? withValue(item, rest, value) : item));
  const record: { [key: string]: Json } = isRecord(whole) ? { ...whole } : {};
  if (rest.length === 0 && value === undefined) delete record[token];
  else record[token] = withValue(record[token] ?? {}, rest, value);
  return record;
}
