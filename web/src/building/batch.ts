// One change of several rooms at once. A room that follows a typical gets a value of its own; where all rooms of a
// typical are among them, the typical itself is changed, so that they go on following it.
import type { Edit, Pointer } from "../api/contract";
import { type Json, editsToSet, pointerOf, valueAt } from "../app/pointer";
import { isRecord } from "./difference";
import { BLOCK_LISTS, type Heir, editsFollowed, editsForRoomAlone, heirsOf, proposalIndex } from "./typicals";

export interface BatchField {
  id: string;
  words: string;
  /** Where the schema tells what the value may be: of any room. */
  schema: Pointer;
  /** In the room, or in its sequence. */
  of: "room" | "sequence";
  below: string[];
}

export const BATCH_FIELDS: readonly BatchField[] = [
  { id: "kind", words: "kind", schema: "/spaces/0/kind", of: "room", below: ["kind"] },
  { id: "height", words: "height", schema: "/spaces/0/height", of: "room", below: ["height"] },
  ...(["ceiling", "walls", "floor", "furniture"] as const).map(
    (surface): BatchField => ({
      id: surface,
      words: `reflectance of ${surface}`,
      schema: `/spaces/0/reflectances/${surface}`,
      of: "room",
      below: ["reflectances", surface],
    }),
  ),
  { id: "target", words: "target of task areas", schema: "/spaces/0/task_areas/0/target", of: "room", below: ["task_areas", "*", "target"] },
  { id: "people", words: "people", schema: "/spaces/0/occupancy/people", of: "room", below: ["occupancy", "people"] },
  { id: "delay", words: "vacancy delay", schema: "/designs/0/sequences/0/vacancy/delay", of: "sequence", below: ["vacancy", "delay"] },
  { id: "typical", words: "typical", schema: "/spaces/0/typical", of: "room", below: ["typical"] },
];

export interface Batch {
  edits: Edit[];
  /** Rooms that change, by number. */
  changes: string[];
  /** Typicals that change for all their rooms. */
  typicals: string[];
  /** Rooms that stay as they are, each with its reason. */
  stays: { number: string; because: string }[];
  /** Objects of the rooms in the designs that give way to those of a typical. */
  give_way: number;
}

interface Room extends Heir {
  typical: string;
}

function roomsOf(document: Json, ids: readonly string[]): Room[] {
  const spaces = valueAt(document, "/spaces");
  if (!Array.isArray(spaces)) return [];
  return spaces.flatMap((space, index) => {
    const text = (key: string) => {
      const value = valueAt(space, `/${key}`);
      return typeof value === "string" ? value : "";
    };
    return ids.includes(text("id"))
      ? [{ id: text("id"), number: text("number") || text("id"), index, typical: text("typical") }]
      : [];
  });
}

/** What setting a field of rooms to `value` would do; nothing is changed yet. */
export function batchOf(document: Json, ids: readonly string[], field: BatchField, value: Json): Batch {
  const batch: Batch = { edits: [], changes: [], typicals: [], stays: [], give_way: 0 };
  const rooms = roomsOf(document, ids);
  if (field.id === "typical") return assigned(document, rooms, value, batch);
  const done = new Set<string>();
  for (const room of rooms) {
    if (done.has(room.id)) continue;
    const heirs = heirsOf(document, room.typical);
    const at = placesInTypical(document, room.typical, field);
    const inherits = at !== null && editsOfRoom(document, room, field, value) === null;
    if (inherits && heirs.every((heir) => ids.includes(heir.id))) {
      const edits = at.flatMap((pointer) => editsFollowed(document, pointer, value));
      const following = rooms.filter((r) => r.typical === room.typical && editsOfRoom(document, r, field, value) === null);
      for (const heir of following) done.add(heir.id);
      if (edits.length === 0) continue;
      batch.edits.push(...edits);
      batch.typicals.push(room.typical);
      batch.changes.push(...following.map((heir) => heir.number));
      continue;
    }
    done.add(room.id);
    const edits = inherits ? alone(document, at, room, value) : editsOfRoom(document, room, field, value);
    if (edits === null) batch.stays.push({ number: room.number, because: missingWords(field) });
    else if (edits.length > 0) {
      add(batch.edits, edits);
      batch.changes.push(room.number);
    }
  }
  return batch;
}

/** Adds edits; a list that two of them would make anew is made once, with what either puts there. */
function add(all: Edit[], more: readonly Edit[]): void {
  for (const edit of more) {
    const made = all.find((other) => other.op === "add" && other.path === edit.path && !edit.path.endsWith("/-"));
    if (made !== undefined && Array.isArray(made.value) && Array.isArray(edit.value)) made.value = [...made.value, ...edit.value];
    else all.push({ ...edit });
  }
}

const missingWords = (field: BatchField): string =>
  field.id === "target"
    ? "has no task areas of its own"
    : field.of === "sequence"
      ? "has no sequence with a vacancy rule"
      : "states nothing that could be changed";

/** Places of the field in the typical of a room; null where the typical does not state what it belongs to. */
function placesInTypical(document: Json, typical: string, field: BatchField): Pointer[] | null {
  if (typical === "") return null;
  if (field.of === "sequence") {
    const design = proposalIndex(document);
    const blocks = valueAt(document, `/designs/${design}/typicals`);
    const block = Array.isArray(blocks) ? blocks.findIndex((b) => valueAt(b, "/typical") === typical) : -1;
    const whole = `/designs/${design}/typicals/${block}/sequences/0`;
    return valueAt(document, `${whole}/${field.below[0]}`) === undefined ? null : [whole + pointerOf(field.below)];
  }
  const typicals = valueAt(document, "/typicals");
  const index = Array.isArray(typicals) ? typicals.findIndex((t) => valueAt(t, "/id") === typical) : -1;
  const whole = `/typicals/${index}/space`;
  return valueAt(document, `${whole}/${field.below[0]}`) === undefined ? null : spread(document, whole, field.below);
}

/** Places below `whole`, one for each thing of a list where the field says "*". */
function spread(document: Json, whole: Pointer, below: readonly string[]): Pointer[] {
  const star = below.indexOf("*");
  if (star < 0) return [whole + pointerOf(below)];
  const list = valueAt(document, whole + pointerOf(below.slice(0, star)));
  return Array.isArray(list)
    ? list.map((_, i) => whole + pointerOf([...below.slice(0, star), String(i), ...below.slice(star + 1)]))
    : [];
}

/** Edits of what the room states itself; null where it states nothing of the kind. */
function editsOfRoom(document: Json, room: Room, field: BatchField, value: Json): Edit[] | null {
  if (field.of === "sequence") {
    const design = proposalIndex(document);
    const sequences = valueAt(document, `/designs/${design}/sequences`);
    const index = Array.isArray(sequences) ? sequences.findIndex((s) => valueAt(s, "/space") === room.id) : -1;
    const whole = `/designs/${design}/sequences/${index}`;
    // A room without a vacancy rule gets none by the way: what it does when empty is a decision of its own.
    return valueAt(document, `${whole}/${field.below[0]}`) === undefined
      ? null
      : editsToSet(document, whole + pointerOf(field.below), value);
  }
  const whole = `/spaces/${room.index}`;
  const stated = valueAt(document, `${whole}/${field.below[0]}`) !== undefined;
  if (!stated && (placesInTypical(document, room.typical, field) !== null || field.below.includes("*"))) return null;
  const places = spread(document, whole, field.below);
  return places.length === 0 ? null : places.flatMap((pointer) => editsToSet(document, pointer, value));
}

/** Edits that give one room of a typical its own value. The first makes the copy that the others change. */
function alone(document: Json, at: readonly Pointer[], room: Room, value: Json): Edit[] | null {
  const [first, ...others] = at;
  if (first === undefined) return null;
  const edits = editsForRoomAlone(document, first, room, value);
  if (edits === null || others.length === 0) return edits;
  // All of them lie in one list of the same copy.
  const [copy] = edits;
  if (copy?.op !== "add" || !Array.isArray(copy.value)) return edits;
  return [{ ...copy, value: copy.value.map((item: Json) => (isRecord(item) ? { ...item, target: value } : item)) }];
}

/** Rooms that follow a typical from now on: what they state themselves stays theirs, their objects in designs that
 *  say what the typical gets give way. */
function assigned(document: Json, rooms: readonly Room[], value: Json, batch: Batch): Batch {
  if (typeof value !== "string") return batch;
  const joining = rooms.filter((room) => room.typical !== value);
  for (const room of joining) {
    batch.edits.push(...editsToSet(document, `/spaces/${room.index}/typical`, value));
    batch.changes.push(room.number);
  }
  const ids = new Set(joining.map((room) => room.id));
  const designs = valueAt(document, "/designs");
  (Array.isArray(designs) ? designs : []).forEach((design, d) => {
    const blocks = valueAt(design, "/typicals");
    if (!Array.isArray(blocks) || !blocks.some((block) => valueAt(block, "/typical") === value)) return;
    for (const list of BLOCK_LISTS) {
      const items = valueAt(design, `/${list}`);
      if (!Array.isArray(items)) continue;
      // From the end, so that the places of those in front stay as they are.
      for (let i = items.length - 1; i >= 0; i -= 1) {
        const space = valueAt(items[i], "/space");
        if (typeof space !== "string" || !ids.has(space)) continue;
        batch.edits.push({ op: "remove", path: `/designs/${d}/${list}/${i}` });
        batch.give_way += 1;
      }
    }
  });
  return batch;
}

/** "changes 3 rooms; typical office, which all its rooms follow; 1 stays: 1.03 (has no task areas of its own)" */
export function batchInWords(batch: Batch): string {
  const rooms = (n: number) => `${n} ${n === 1 ? "room" : "rooms"}`;
  const parts = [batch.changes.length === 0 ? "changes nothing" : `changes ${rooms(batch.changes.length)}`];
  if (batch.typicals.length > 0) parts.push(`in the typical ${batch.typicals.join(", ")} where all its rooms are chosen`);
  if (batch.give_way > 0) parts.push(`${batch.give_way} objects of their own in the designs give way`);
  if (batch.stays.length > 0)
    parts.push(
      `${batch.stays.length} ${batch.stays.length === 1 ? "stays" : "stay"}: ${batch.stays.map((s) => `${s.number} (${s.because})`).join(", ")}`,
    );
  return parts.join("; ");
}

/** "12 rooms: vacancy delay 10 min" */
export const batchLabel = (batch: Batch, field: BatchField, value: string): string =>
  `${batch.changes.length} ${batch.changes.length === 1 ? "room" : "rooms"}: ${field.words} ${value}`;
