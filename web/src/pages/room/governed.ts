// What a value governs on the plan, so that both glow together.
import type { Pointer, Room } from "../../api/contract";
import { type Json, pointerOf, tokensOf, valueAt } from "../../app/pointer";
import { type ObjectKey, type ObjectKind, objectKey } from "../../plan/objects";

const NOTHING: ReadonlySet<ObjectKey> = new Set();

export function governedBy(document: Json, room: Room, pointer: Pointer | null): ReadonlySet<ObjectKey> {
  if (pointer === null) return NOTHING;
  const tokens = tokensOf(pointer);
  const keys = new Set<ObjectKey>();
  // Ids in the room may carry a prefix that those of a typical do not; places are the same in both.
  const listed: [ObjectKind, readonly { id: string; pointer: Pointer }[]][] = [
    ["luminaire", room.luminaires],
    ["device", room.devices],
    ["task_area", room.task_areas],
    ["opening", room.openings],
    ["group", room.groups],
  ];
  for (const [kind, objects] of listed)
    for (const object of objects)
      if (pointer === object.pointer || pointer.startsWith(`${object.pointer}/`)) keys.add(objectKey(kind, object.id));
  if (keys.size > 0) return keys;

  const named = (id: string) => {
    for (const [kind, objects] of listed)
      for (const object of objects)
        if (object.id === id || valueAt(document, `${object.pointer}/id`) === id) keys.add(objectKey(kind, object.id));
  };
  // The rule around a value names what it acts on: its groups, its photosensor, its task area.
  for (let i = tokens.length; i > 0 && keys.size === 0; i -= 1) {
    const rule = valueAt(document, pointerOf(tokens.slice(0, i)));
    if (Array.isArray(rule)) {
      for (const id of rule) if (typeof id === "string") named(id);
      continue;
    }
    const own = ["group", "photosensor", "task_area"].map((key) => valueAt(rule, `/${key}`));
    for (const id of own) if (typeof id === "string") named(id);
    for (const list of ["groups", "stations", "switch_legs"]) {
      const ids = valueAt(rule, `/${list}`);
      if (Array.isArray(ids)) for (const id of ids) if (typeof id === "string") named(id);
    }
    const levels = valueAt(rule, "/levels");
    if (Array.isArray(levels)) for (const level of levels) named(String(valueAt(level, "/group")));
    if (tokens[i - 2] === "sequences" || tokens[i - 1] === "sequences") break;
  }
  if (keys.size === 0 && tokens.includes("sequences"))
    for (const group of room.groups) if (group.strategy === "scene") keys.add(objectKey("group", group.id));
  return keys;
}
