// What can be pointed at on the plan, and the words for it.
import type { DeviceDrawing, DeviceKind, DoorDrawing, LuminaireDrawing, OpeningDrawing, Pointer, Room } from "../api/contract";

export type ObjectKind = "luminaire" | "device" | "furniture" | "task_area" | "opening" | "door" | "partition" | "group";

/** Names an object of a room over all revisions, which its pointer does not: "luminaire:G02-U01". */
export type ObjectKey = `${ObjectKind}:${string}`;

export const objectKey = (kind: ObjectKind, id: string): ObjectKey => `${kind}:${id}`;
export const kindOf = (key: ObjectKey): ObjectKind => key.slice(0, key.indexOf(":")) as ObjectKind;
export const idOf = (key: ObjectKey): string => key.slice(key.indexOf(":") + 1);

export type Furniture = Room["furniture"][number];
export type TaskArea = Room["task_areas"][number];
export type Partition = Room["partitions"][number];
export type Group = Room["groups"][number];
export type LuminaireType = Room["luminaire_types"][number];

export type Found =
  | { kind: "luminaire"; object: LuminaireDrawing }
  | { kind: "device"; object: DeviceDrawing }
  | { kind: "furniture"; object: Furniture }
  | { kind: "task_area"; object: TaskArea }
  | { kind: "opening"; object: OpeningDrawing }
  | { kind: "door"; object: DoorDrawing }
  | { kind: "partition"; object: Partition }
  | { kind: "group"; object: Group };

/** The object of a key, or null when the room has none of that name. */
export function find(room: Room, key: ObjectKey): Found | null {
  const kind = kindOf(key);
  const id = idOf(key);
  const object = listOf(room, kind).find((o) => o.id === id);
  return object === undefined ? null : ({ kind, object } as Found);
}

export function listOf(room: Room, kind: ObjectKind): readonly { id: string; pointer: Pointer }[] {
  switch (kind) {
    case "luminaire":
      return room.luminaires;
    case "device":
      return room.devices;
    case "furniture":
      return room.furniture;
    case "task_area":
      return room.task_areas;
    case "opening":
      return room.openings;
    case "door":
      return room.doors;
    case "partition":
      return room.partitions;
    case "group":
      return room.groups;
  }
}

export const DEVICE_WORDS: Readonly<Record<DeviceKind, string>> = {
  occupancy_sensor: "occupancy sensor",
  photosensor: "photosensor",
  station: "wall station",
  load_controller: "load controller",
  time_clock: "time clock",
  interface: "interface",
  infrastructure: "infrastructure",
};

export const typeOf = (room: Room, luminaire: LuminaireDrawing): LuminaireType | undefined =>
  room.luminaire_types.find((t) => t.id === luminaire.type);

/** Luminaires of a group that the room has, in the group's order. */
export function membersOf(room: Room, group: Group): LuminaireDrawing[] {
  const ids = new Set(group.channels.map(luminaireOfChannel));
  return room.luminaires.filter((l) => ids.has(l.id));
}

/** A group lists "luminaire" or "luminaire/channel". */
export function luminaireOfChannel(channel: string): string {
  const slash = channel.indexOf("/");
  return slash < 0 ? channel : channel.slice(0, slash);
}

/** The channel that a group names, or null where it takes the luminaire whole. */
export function nameOfChannel(channel: string): string | null {
  const slash = channel.indexOf("/");
  return slash < 0 ? null : channel.slice(slash + 1);
}

/** What stands in the margin for a group: of "a, tables" the "a". */
export function letterOf(group: Group): string {
  const name = group.name === "" ? group.id : group.name;
  const comma = name.indexOf(",");
  return comma > 0 && comma <= 4 ? name.slice(0, comma) : name;
}
