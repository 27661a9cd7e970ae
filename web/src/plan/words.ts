// The plan in words, for those who do not see it: what an object is, where it stands, how bright it is.
import type { LightAnswer, PlanPoint, Room } from "../api/contract";
import { type UnitSystem, formatArea, formatIlluminance, formatLength } from "../units/system";
import { percent } from "../units/figures";
import { boundsOf, turned } from "./geometry";
import { linkWords } from "./radio";
import { shownReachWords } from "./reach";
import { DEVICE_WORDS, type ObjectKey, find, objectKey, typeOf } from "./objects";

const DIRECTIONS = ["north", "east", "south", "west"] as const;

/** Name of the side of the plan that lies at `clockwise_deg` from the page's up, by the building's north. */
export function sideName(clockwise_deg: number, plan_north_deg: number): (typeof DIRECTIONS)[number] {
  return DIRECTIONS[Math.round(turned(clockwise_deg + plan_north_deg) / 90) % 4]!;
}

/** "2.40 m from the west wall and 1.10 m from the south wall": the nearer of each pair of walls. */
export function placeWords(room: Room, [x, y]: PlanPoint, system: UnitSystem): string {
  const { low, high } = boundsOf(room.floor);
  const side = (deg: number) => sideName(deg, room.plan_north_deg);
  const horizontal = x - low[0] <= high[0] - x ? { d: x - low[0], name: side(270) } : { d: high[0] - x, name: side(90) };
  const vertical = y - low[1] <= high[1] - y ? { d: y - low[1], name: side(180) } : { d: high[1] - y, name: side(0) };
  return `${formatLength(horizontal.d, system)} from the ${horizontal.name} wall and ${formatLength(vertical.d, system)} from the ${vertical.name} wall`;
}

const STATUS_WORDS = { remain: "stays", remove: "is taken out", relocate: "is moved", new: "" } as const;

/** What an object is, in one line. */
export function objectWords(room: Room, key: ObjectKey, light: LightAnswer | null, system: UnitSystem): string {
  const found = find(room, key);
  if (found === null) return "";
  const parts: string[] = [];
  switch (found.kind) {
    case "luminaire": {
      const l = found.object;
      const type = typeOf(room, l);
      parts.push(`luminaire ${l.tag || l.id}`, `type ${type?.tag || l.type}`, placeWords(room, [l.at[0], l.at[1]], system));
      const level = light?.luminaires[l.id];
      if (level !== undefined) parts.push(level === 0 ? "off" : percent(Math.round(level * 1000) / 1000));
      const group = room.groups.find((g) => g.id === l.groups.scene);
      if (group !== undefined) parts.push(`group ${group.name || group.id}`);
      if (l.lights_egress) parts.push("lights a way out");
      parts.push(STATUS_WORDS[l.status]);
      break;
    }
    case "device": {
      const d = found.object;
      parts.push(`${DEVICE_WORDS[d.kind]} ${d.tag || d.id}`, placeWords(room, [d.at[0], d.at[1]], system));
      if (d.coverage !== undefined)
        parts.push(`sees walking to ${formatLength(d.coverage.major_radius_m, system)} and small movements to ${formatLength(d.coverage.minor_radius_m, system)}`);
      parts.push(...(light?.radio ?? room.radio)?.devices.flatMap(({ id, to }) => (id !== d.id ? [] : to === null ? "talks by radio, no gateway does" : `radio margin ${linkWords(to)}`)) ?? []);
      parts.push(STATUS_WORDS[d.status]);
      break;
    }
    case "furniture": {
      const box = boundsOf(found.object.plan);
      parts.push(`${found.object.kind || "furniture"} ${found.object.id}`, sizeWords(box, system), placeWords(room, box.low, system));
      break;
    }
    case "task_area": {
      const t = found.object;
      const task = light?.tasks.find((q) => q.id === t.id);
      parts.push(`task area ${t.name || t.id}`);
      if (t.target_lx > 0) parts.push(`target ${formatIlluminance(t.target_lx, system)}`);
      if (task !== undefined) parts.push(`mean ${formatIlluminance(task.mean_lx, system)}`);
      break;
    }
    case "opening": {
      const o = found.object;
      const word = o.kind === "inner_glazing" ? "inner glazing" : o.kind;
      if (o.kind === "skylight") parts.push(`${word} ${o.id}`, sizeWords(boundsOf(o.plan), system));
      else parts.push(`${word} ${o.id}`, `${formatLength(Math.hypot(o.to[0] - o.from[0], o.to[1] - o.from[1]), system)} wide`, placeWords(room, o.from, system));
      break;
    }
    case "door":
      parts.push(`door ${found.object.id}`, found.object.leads_to === "" ? "" : `to ${found.object.leads_to}`, placeWords(room, found.object.from, system));
      break;
    case "partition":
      parts.push(`${found.object.kind.replace("_", " ")} partition ${found.object.id}`, placeWords(room, found.object.from, system));
      break;
    case "group":
      parts.push(`group ${found.object.name || found.object.id}`);
      break;
  }
  return parts.filter((p) => p !== "").join(", ");
}

const sizeWords = ({ low, high }: { low: PlanPoint; high: PlanPoint }, system: UnitSystem): string =>
  `${formatLength(high[0] - low[0], system)} by ${formatLength(high[1] - low[1], system)}`;

/** The whole plan, in a few sentences. */
export function planWords(room: Room, light: LightAnswer | null, system: UnitSystem): string {
  const count = (n: number, one: string, many: string) => (n === 0 ? [] : [`${n} ${n === 1 ? one : many}`]);
  const { low, high } = boundsOf(room.floor);
  const things = [
    ...count(room.openings.filter((o) => o.kind === "window").length, "window", "windows"),
    ...count(room.openings.filter((o) => o.kind === "skylight").length, "skylight", "skylights"),
    ...count(room.doors.length, "door", "doors"),
    ...count(room.furniture.length, "piece of furniture", "pieces of furniture"),
    ...count(room.luminaires.length, "luminaire", "luminaires"),
    ...count(room.devices.filter((d) => d.kind === "occupancy_sensor").length, "occupancy sensor", "occupancy sensors"),
    ...count(room.devices.filter((d) => d.kind === "photosensor").length, "photosensor", "photosensors"),
    ...count(room.devices.filter((d) => d.kind === "station").length, "wall station", "wall stations"),
  ];
  const sentences = [
    `${room.number === "" ? "" : `${room.number} `}${room.name}, ${sizeWords({ low, high }, system)}, ${formatArea(room.area_m2, system)}.`,
    things.length === 0 ? "" : `It holds ${things.join(", ")}.`,
    shownReachWords(room, light),
    ...(light?.tasks ?? []).map((t) => `${t.name || t.id}: ${formatIlluminance(t.mean_lx, system)} of ${formatIlluminance(t.target_lx, system)}.`),
  ];
  return sentences.filter((s) => s !== "").join(" ");
}

/** Objects in the order in which keys go through them: equipment by rows from the north west, then the building. */
export function readingOrder(room: Room): ObjectKey[] {
  const ROW_M = 0.4;
  const byRows = <T extends { at: readonly [number, number, number] }>(objects: readonly T[]): T[] =>
    [...objects].sort((a, b) => Math.round(b.at[1] / ROW_M) - Math.round(a.at[1] / ROW_M) || a.at[0] - b.at[0]);
  return [
    ...byRows(room.luminaires).map((l) => objectKey("luminaire", l.id)),
    ...byRows(room.devices).map((d) => objectKey("device", d.id)),
    ...room.task_areas.map((t) => objectKey("task_area", t.id)),
    ...room.furniture.map((f) => objectKey("furniture", f.id)),
    ...room.openings.map((o) => objectKey("opening", o.id)),
    ...room.doors.map((d) => objectKey("door", d.id)),
    ...room.partitions.map((p) => objectKey("partition", p.id)),
  ];
}
