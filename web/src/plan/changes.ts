// The changes that a plan can make to a room: each gives the room as it would look and the edits that make it so.
import type { DeviceDrawing, DoorDrawing, Edit, LuminaireDrawing, OpeningDrawing, PlanPoint, Room, Strategy } from "../api/contract";
import type { Outcome, Refusal } from "./actions";
import { isRefusal } from "./actions";
import {
  LIST_OF_DEVICE,
  type Surroundings,
  appended,
  homeOf,
  idFrom,
  isOfTypical,
  nextId,
  removals,
  takenIds,
  writtenDegrees,
  writtenId,
  writtenMetres,
  writtenPlace,
  writtenPosition,
} from "./document";
import {
  type Wall,
  boundsOf,
  contains,
  distance,
  distanceToBoundary,
  doubleArea,
  isSimple,
  millimetres,
  nearestWall,
  planMillimetres,
  plus,
  rotated,
  times,
  turned,
  wallsOf,
  dot,
  minus,
} from "./geometry";
import { DEVICE_WORDS, type ObjectKey, find, idOf, luminaireOfChannel, nameOfChannel, objectKey } from "./objects";

const LEAST_WIDTH_M = 0.1;
const STATION_HEIGHT_M = 1.2;
/** From the wall's face, so that a station or sensor stands in the room and not in the wall. */
const OFF_WALL_M = 0.05;

const refusal = (refused: string): Refusal => ({ refused });

function counted(keys: readonly ObjectKey[], room: Room): string {
  const words: Record<string, string> = {
    luminaire: "luminaire",
    device: "device",
    furniture: "piece of furniture",
    task_area: "task area",
    opening: "opening",
    door: "door",
    partition: "partition",
    group: "group",
  };
  if (keys.length === 1) {
    const found = find(room, keys[0]!);
    if (found === null) return "nothing";
    switch (found.kind) {
      case "luminaire":
        return `luminaire ${found.object.tag || found.object.id}`;
      case "device":
        return `${DEVICE_WORDS[found.object.kind]} ${found.object.tag || found.object.id}`;
      case "opening":
        return `${found.object.kind === "inner_glazing" ? "inner glazing" : found.object.kind} ${found.object.id}`;
      case "furniture":
        return `${found.object.kind || "furniture"} ${found.object.id}`;
      case "task_area":
        return `task area ${found.object.name || found.object.id}`;
      default:
        return `${words[found.kind]} ${found.object.id}`;
    }
  }
  const counts = new Map<string, number>();
  for (const key of keys) {
    const kind = find(room, key)?.kind;
    if (kind !== undefined) counts.set(kind, (counts.get(kind) ?? 0) + 1);
  }
  const plural = (kind: string, n: number) =>
    n === 1 ? `1 ${words[kind]}` : kind === "furniture" ? `${n} pieces of furniture` : `${n} ${words[kind]}s`;
  return [...counts].map(([kind, n]) => plural(kind, n)).join(" and ");
}

// ---- moving ------------------------------------------------------------------------------------------------

const clamp = (v: number, low: number, high: number): number => Math.min(Math.max(v, low), Math.max(low, high));

/** Offset along its wall and width of an opening or door. */
export function onWall(room: Room, o: OpeningDrawing | DoorDrawing): { wall: Wall; offset_m: number; width_m: number } | null {
  const wall = wallsOf(room.floor)[o.wall];
  if (wall === undefined) return null;
  return { wall, offset_m: dot(minus(o.from, wall.from), wall.along), width_m: distance(o.from, o.to) };
}

function openingAt(o: OpeningDrawing, wall: Wall, offset_m: number, width_m: number): OpeningDrawing {
  const from = plus(wall.from, times(offset_m, wall.along));
  return { ...o, wall: wall.index, from, to: plus(from, times(width_m, wall.along)) };
}

function doorAt(d: DoorDrawing, before: Wall, wall: Wall, offset_m: number, width_m: number): DoorDrawing {
  const from = plus(wall.from, times(offset_m, wall.along));
  const to = plus(from, times(width_m, wall.along));
  const isHingeFirst = distance(d.hinge, d.from) <= distance(d.hinge, d.to);
  const swing = dot(minus(d.tip, d.hinge), before.inward) >= 0 ? 1 : -1;
  const hinge = isHingeFirst ? from : to;
  return { ...d, wall: wall.index, from, to, hinge, latch: isHingeFirst ? to : from, tip: plus(hinge, times(swing * width_m, wall.inward)) };
}

/** Puts an opening or door elsewhere on the walls. Refuses what the wall has no room for. */
export function placedOnWall(around: Surroundings, key: ObjectKey, wallIndex: number, offset_m: number, width_m: number): Outcome {
  const { room } = around;
  const found = find(room, key);
  if (found === null || (found.kind !== "opening" && found.kind !== "door")) return refusal("Only windows and doors stand on walls.");
  const wall = wallsOf(room.floor)[wallIndex];
  const stood = onWall(room, found.object);
  if (wall === undefined || stood === null) return refusal("It stands on a wall that the floor does not have.");
  const width = millimetres(Math.max(LEAST_WIDTH_M, width_m));
  if (width > wall.length_m) return refusal(`The wall is ${writtenMetres(wall.length_m)} long: too short for ${writtenMetres(width)}.`);
  const offset = millimetres(clamp(offset_m, 0, wall.length_m - width));
  const { pointer } = found.object;
  const edits: Edit[] = [];
  if (wall.index !== found.object.wall) edits.push({ op: "add", path: `${pointer}/wall`, value: wall.index });
  if (Math.abs(offset - stood.offset_m) >= 5e-4) edits.push({ op: "add", path: `${pointer}/offset`, value: writtenMetres(offset) });
  if (Math.abs(width - stood.width_m) >= 5e-4) edits.push({ op: "add", path: `${pointer}/width`, value: writtenMetres(width) });
  const next: Room =
    found.kind === "opening"
      ? { ...room, openings: room.openings.map((o) => (o.id === found.object.id ? openingAt(o, wall, offset, width) : o)) }
      : { ...room, doors: room.doors.map((d) => (d.id === found.object.id ? doorAt(d, stood.wall, wall, offset, width) : d)) };
  return { room: next, edits, label: `move ${counted([key], room)}`, undo: edits.length > 0 ? "now" : "never" };
}

/** A thing that stood and is moved by a proposal is relocated. */
function relocation<T extends { status: LuminaireDrawing["status"]; pointer: string }>(object: T): { edits: Edit[]; status: T["status"] } {
  if (object.status !== "remain") return { edits: [], status: object.status };
  return { edits: [{ op: "add", path: `${object.pointer}/status`, value: "relocate" }], status: "relocate" };
}

const isSamePlace = (a: readonly number[], b: readonly number[]): boolean => a.every((v, i) => Math.abs(v - b[i]!) < 5e-4);

/** Words for the first thing that would leave the room, in which it stands now; null when all stay. */
function leavingRoom(before: Room, after: Room, keys: readonly ObjectKey[]): Refusal | null {
  const standsIn = (room: Room, key: ObjectKey): boolean => {
    const found = find(room, key);
    const inside = (points: readonly PlanPoint[]) => points.every((p) => contains(room.floor, p) || distanceToBoundary(room.floor, p) < 2e-3);
    switch (found?.kind) {
      case "luminaire":
      case "device":
        return inside([[found.object.at[0], found.object.at[1]]]);
      case "furniture":
      case "task_area":
        return inside(found.object.plan);
      default:
        return true;
    }
  };
  const out = keys.find((key) => standsIn(before, key) && !standsIn(after, key));
  return out === undefined ? null : refusal(`${capital(counted([out], before))} would stand outside the room.`);
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** Shifts objects in plan, but not out of the room; windows and doors slide along their walls, as far as these reach. */
export function moved(around: Surroundings, keys: Iterable<ObjectKey>, by: PlanPoint): Outcome {
  const { room } = around;
  const list = [...keys].filter((k) => find(room, k) !== null);
  const edits: Edit[] = [];
  let next: Room = room;
  for (const key of list) {
    const found = find(room, key)!;
    const { pointer, id } = found.object;
    const shifted = (points: readonly PlanPoint[]) => points.map((p) => planMillimetres(plus(p, by)));
    const written = (points: readonly PlanPoint[]) => points.map((p) => writtenPlace(p, pointer, around));
    switch (found.kind) {
      case "luminaire":
      case "device": {
        const [x, y] = planMillimetres(plus([found.object.at[0], found.object.at[1]], by));
        const at: [number, number, number] = [x, y, found.object.at[2]];
        if (isSamePlace(at, found.object.at)) break;
        const status = relocation(found.object);
        edits.push({ op: "replace", path: `${pointer}/at`, value: writtenPosition(at, pointer, around) }, ...status.edits);
        if (found.kind === "luminaire") next = { ...next, luminaires: next.luminaires.map((l) => (l.id === id ? { ...l, at, status: status.status } : l)) };
        else next = { ...next, devices: next.devices.map((d) => (d.id === id ? { ...d, at, status: status.status } : d)) };
        break;
      }
      case "furniture":
      case "task_area": {
        const plan = shifted(found.object.plan);
        if (plan.every((p, i) => isSamePlace(p, found.object.plan[i]!))) break;
        edits.push({ op: "replace", path: `${pointer}/plan`, value: written(plan) });
        if (found.kind === "furniture") next = { ...next, furniture: next.furniture.map((f) => (f.id === id ? { ...f, plan } : f)) };
        else next = { ...next, task_areas: next.task_areas.map((t) => (t.id === id ? { ...t, plan } : t)) };
        break;
      }
      case "partition": {
        const from = planMillimetres(plus(found.object.from, by));
        const to = planMillimetres(plus(found.object.to, by));
        if (isSamePlace(from, found.object.from)) break;
        edits.push(
          { op: "replace", path: `${pointer}/from`, value: writtenPlace(from, pointer, around) },
          { op: "replace", path: `${pointer}/to`, value: writtenPlace(to, pointer, around) },
        );
        next = { ...next, partitions: next.partitions.map((p) => (p.id === id ? { ...p, from, to } : p)) };
        break;
      }
      case "opening": {
        if (found.object.kind === "skylight") {
          const plan = shifted(found.object.plan);
          if (plan.every((p, i) => isSamePlace(p, found.object.plan[i]!))) break;
          const { low, high } = boundsOf(plan);
          edits.push({ op: "replace", path: `${pointer}/plan`, value: written(plan) });
          next = { ...next, openings: next.openings.map((o) => (o.id === id ? { ...o, plan, from: low, to: high } : o)) };
          break;
        }
        const slid = slidBy(around, key, by);
        if (isRefusal(slid)) return slid;
        edits.push(...slid.edits);
        next = { ...next, openings: next.openings.map((o) => (o.id === id ? slid.room.openings.find((s) => s.id === id)! : o)) };
        break;
      }
      case "door": {
        const slid = slidBy(around, key, by);
        if (isRefusal(slid)) return slid;
        edits.push(...slid.edits);
        next = { ...next, doors: next.doors.map((d) => (d.id === id ? slid.room.doors.find((s) => s.id === id)! : d)) };
        break;
      }
      case "group":
        break;
    }
  }
  const out = leavingRoom(room, next, list);
  return out ?? { room: next, edits, label: `move ${counted(list, room)}`, undo: edits.length > 0 ? "now" : "never" };
}

function slidBy(around: Surroundings, key: ObjectKey, by: PlanPoint): Outcome {
  const found = find(around.room, key);
  const stood = found !== null && (found.kind === "opening" || found.kind === "door") ? onWall(around.room, found.object) : null;
  if (stood === null) return refusal("It stands on a wall that the floor does not have.");
  return placedOnWall(around, key, stood.wall.index, stood.offset_m + dot(by, stood.wall.along), stood.width_m);
}

// ---- turning and sizes -------------------------------------------------------------------------------------

/**
 * Turns luminaires, the aim of sensors and furniture by `degrees`, counter-clockwise. One luminaire turns on the spot;
 * several things turn about their common middle when `together`.
 */
export function rotatedBy(around: Surroundings, keys: Iterable<ObjectKey>, degrees: number, together = false): Outcome {
  const { room } = around;
  const list = [...keys].filter((k) => ["luminaire", "device", "furniture", "task_area"].includes(find(room, k)?.kind ?? ""));
  if (list.length === 0) return refusal("Luminaires, sensors with a direction and furniture can be turned.");
  const placeOf = (key: ObjectKey): PlanPoint => {
    const found = find(room, key)!;
    if (found.kind === "luminaire" || found.kind === "device") return [found.object.at[0], found.object.at[1]];
    const { low, high } = boundsOf((found.object as { plan: PlanPoint[] }).plan);
    return [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])];
  };
  const all = boundsOf(list.map(placeOf));
  const about: PlanPoint = [0.5 * (all.low[0] + all.high[0]), 0.5 * (all.low[1] + all.high[1])];
  const edits: Edit[] = [];
  let next = room;
  for (const key of list) {
    const found = find(room, key)!;
    const { id, pointer } = found.object;
    const place = placeOf(key);
    const goes = together ? planMillimetres(rotated(place, about, degrees)) : place;
    if (found.kind === "luminaire" || found.kind === "device") {
      const at: [number, number, number] = [goes[0], goes[1], found.object.at[2]];
      const status = isSamePlace(at, found.object.at) ? { edits: [], status: found.object.status } : relocation(found.object);
      if (!isSamePlace(at, found.object.at))
        edits.push({ op: "replace", path: `${pointer}/at`, value: writtenPosition(at, pointer, around) }, ...status.edits);
      if (found.kind === "luminaire") {
        const rotation_deg = turned(found.object.rotation_deg + degrees);
        edits.push({ op: "add", path: `${pointer}/rotation`, value: writtenDegrees(rotation_deg) });
        next = { ...next, luminaires: next.luminaires.map((l) => (l.id === id ? { ...l, at, rotation_deg, status: status.status } : l)) };
      } else {
        const coverage = found.object.coverage;
        const hasAim = coverage !== undefined && (coverage.shape === "half_circle" || coverage.shape === "sector" || coverage.shape === "strip");
        // Aims run clockwise from plan north.
        const turnedCoverage = hasAim ? { ...coverage, aim_deg: turned(coverage.aim_deg - degrees) } : coverage;
        if (hasAim) edits.push({ op: "add", path: `${pointer}/aim`, value: writtenDegrees(turnedCoverage!.aim_deg) });
        next = {
          ...next,
          devices: next.devices.map((d) =>
            d.id === id ? { ...d, at, status: status.status, ...(turnedCoverage === undefined ? {} : { coverage: turnedCoverage }) } : d,
          ),
        };
      }
    } else if (found.kind === "furniture" || found.kind === "task_area") {
      const plan = found.object.plan.map((p) => planMillimetres(plus(rotated(p, place, degrees), minus(goes, place))));
      edits.push({ op: "replace", path: `${pointer}/plan`, value: plan.map((p) => writtenPlace(p, pointer, around)) });
      if (found.kind === "furniture") next = { ...next, furniture: next.furniture.map((f) => (f.id === id ? { ...f, plan } : f)) };
      else next = { ...next, task_areas: next.task_areas.map((t) => (t.id === id ? { ...t, plan } : t)) };
    }
  }
  if (edits.length === 0) return refusal("A sensor that sees all round and a station have no direction to turn.");
  return { room: next, edits, label: `turn ${counted(list, room)}`, undo: "now" };
}

/** Gives furniture, a task area or a skylight another outline. */
export function outlined(around: Surroundings, key: ObjectKey, plan: readonly PlanPoint[]): Outcome {
  const { room } = around;
  const found = find(room, key);
  if (found === null || !("plan" in found.object)) return refusal("It has no outline.");
  const rounded = plan.map(planMillimetres);
  if (!isSimple(rounded)) return refusal("The outline would cross itself or vanish.");
  const { id, pointer } = found.object;
  const edits: Edit[] = [{ op: "replace", path: `${pointer}/plan`, value: rounded.map((p) => writtenPlace(p, pointer, around)) }];
  const next: Room =
    found.kind === "furniture"
      ? { ...room, furniture: room.furniture.map((f) => (f.id === id ? { ...f, plan: rounded } : f)) }
      : found.kind === "task_area"
        ? { ...room, task_areas: room.task_areas.map((t) => (t.id === id ? { ...t, plan: rounded } : t)) }
        : { ...room, openings: room.openings.map((o) => (o.id === id ? { ...o, plan: rounded, from: boundsOf(rounded).low, to: boundsOf(rounded).high } : o)) };
  return { room: next, edits, label: `resize ${counted([key], room)}`, undo: "now" };
}

/** Gives the room another floor. Refuses outlines that cross themselves, and walls too short for what stands on them. */
export function withFloor(around: Surroundings, floor: readonly PlanPoint[]): Outcome {
  const { room, lookUp } = around;
  const rounded = floor.map(planMillimetres);
  if (!isSimple(rounded)) return refusal("The walls would cross or fall together.");
  if (doubleArea(rounded) <= 0) return refusal("The floor would be turned inside out.");
  if (rounded.length === room.floor.length) {
    const walls = wallsOf(rounded);
    for (const o of [...room.openings.filter((x) => x.kind !== "skylight"), ...room.doors]) {
      const stood = onWall(room, o);
      const wall = walls[o.wall];
      if (stood !== null && wall !== undefined && stood.offset_m + stood.width_m > wall.length_m + 5e-4)
        return refusal(`The wall would be ${writtenMetres(wall.length_m)} long: too short for ${o.id}, which ends at ${writtenMetres(stood.offset_m + stood.width_m)}.`);
    }
  }
  const own = `${room.pointer}/floor`;
  if (room.typical !== null && lookUp(own) === undefined)
    return refusal(`The floor comes from the typical ${room.typical}: change it there, or give this room a floor of its own.`);
  const walls = wallsOf(rounded);
  const next: Room = {
    ...room,
    floor: rounded,
    openings: room.openings.map((o) => {
      const stood = o.kind === "skylight" ? null : onWall(room, o);
      const wall = walls[o.wall];
      return stood === null || wall === undefined ? o : openingAt(o, wall, stood.offset_m, stood.width_m);
    }),
    doors: room.doors.map((d) => {
      const stood = onWall(room, d);
      const wall = walls[d.wall];
      return stood === null || wall === undefined ? d : doorAt(d, stood.wall, wall, stood.offset_m, stood.width_m);
    }),
  };
  return { room: next, edits: [{ op: "replace", path: own, value: rounded.map((p) => writtenPlace(p, own, around)) }], label: "move a wall", undo: "now" };
}

// ---- membership --------------------------------------------------------------------------------------------

/** Edits that take luminaires out of groups, and the groups without them. */
function leaving(groups: Room["groups"], leaves: (channel: string, group: Room["groups"][number]) => boolean): { edits: Edit[]; groups: Room["groups"] } {
  const edits: Edit[] = [];
  const left = groups.map((group) => {
    const gone = group.channels.flatMap((c, i) => (leaves(c, group) ? [i] : []));
    if (gone.length === 0) return group;
    edits.push(...removals(gone.map((i) => `${group.pointer}/channels/${i}`)));
    return { ...group, channels: group.channels.filter((c) => !leaves(c, group)) };
  });
  return { edits, groups: left };
}

/** Luminaires join a group in place of those of the same strategy that they were in; "" leaves all of them. */
export function regrouped(around: Surroundings, keys: Iterable<ObjectKey>, strategy: Strategy, groupId: string): Outcome {
  const { room } = around;
  const list = [...keys].filter((k) => find(room, k)?.kind === "luminaire");
  if (list.length === 0) return refusal("Only luminaires belong to groups.");
  const ids = new Set(list.map(idOf));
  const into = room.groups.find((g) => g.id === groupId && g.strategy === strategy);
  if (groupId !== "" && into === undefined) return refusal(`There is no group ${groupId} of that strategy in this room.`);
  const out = leaving(room.groups, (channel, g) => g.strategy === strategy && g.id !== groupId && ids.has(luminaireOfChannel(channel)));
  const edits = [...out.edits];
  let groups = out.groups;
  if (into !== undefined) {
    const there = new Set(into.channels.map(luminaireOfChannel));
    const joins = [...ids].filter((id) => !there.has(id));
    edits.push(...joins.map((id): Edit => ({ op: "add", path: `${into.pointer}/channels/-`, value: writtenId(id, into.pointer, room) })));
    groups = groups.map((g) => (g.id === into.id ? { ...g, channels: [...g.channels, ...joins] } : g));
  }
  const luminaires = room.luminaires.map((l) => (ids.has(l.id) ? { ...l, groups: { ...l.groups, [strategy]: groupId } } : l));
  const label = into === undefined ? `take ${counted(list, room)} out of its group` : `put ${counted(list, room)} into group ${into.name || into.id}`;
  return { room: { ...room, groups, luminaires }, edits, label, undo: edits.length > 0 ? "now" : "never" };
}

/**
 * Groups of luminaires whose type has other channels now. Where a group names one that is gone, the first of its strategy
 * takes the luminaire whole, unless one of that strategy has it by a channel that stays.
 */
function withChannels(room: Room, ids: ReadonlySet<string>, channels: readonly string[]): { edits: Edit[]; groups: Room["groups"] } {
  const isGone = (entry: string) => {
    const name = nameOfChannel(entry);
    return ids.has(luminaireOfChannel(entry)) && name !== null && !channels.includes(name);
  };
  const heldBy = new Set(room.groups.flatMap((g) => g.channels.filter((c) => !isGone(c)).map((c) => `${g.strategy} ${luminaireOfChannel(c)}`)));
  const edits: Edit[] = [];
  const gone: string[] = [];
  const groups = room.groups.map((group) => {
    const kept = group.channels.flatMap((entry, i) => {
      if (!isGone(entry)) return [entry];
      const whole = luminaireOfChannel(entry);
      const path = `${group.pointer}/channels/${i}`;
      if (heldBy.has(`${group.strategy} ${whole}`)) {
        gone.push(path);
        return [];
      }
      heldBy.add(`${group.strategy} ${whole}`);
      edits.push({ op: "replace", path, value: writtenId(whole, group.pointer, room) });
      return [whole];
    });
    return group.channels.some(isGone) ? { ...group, channels: kept } : group;
  });
  return { edits: [...edits, ...removals(gone)], groups };
}

/** Changes the type of luminaires. */
export function retyped(around: Surroundings, keys: Iterable<ObjectKey>, type: string): Outcome {
  const { room } = around;
  const to = room.luminaire_types.find((t) => t.id === type);
  if (to === undefined) return refusal(`There is no luminaire type ${type}.`);
  const list = [...keys].filter((k) => {
    const found = find(room, k);
    return found?.kind === "luminaire" && found.object.type !== type;
  });
  const ids = new Set(list.map(idOf));
  const changing = room.luminaires.filter((l) => ids.has(l.id));
  const { edits, groups } = withChannels(room, ids, to.channels);
  return {
    room: { ...room, groups, luminaires: room.luminaires.map((l) => (ids.has(l.id) ? { ...l, type } : l)) },
    edits: [...changing.map((l): Edit => ({ op: "replace", path: `${l.pointer}/type`, value: type })), ...edits],
    label: `make ${counted(list, room)} type ${to.tag || to.id}`,
    undo: list.length > 0 ? "now" : "never",
  };
}

/** Makes devices talk by wire or by radio. */
export function linked(around: Surroundings, keys: Iterable<ObjectKey>, link: DeviceDrawing["link"]): Outcome {
  const { room } = around;
  const list = [...keys].filter((k) => {
    const found = find(room, k);
    return found?.kind === "device" && found.object.link !== link;
  });
  const ids = new Set(list.map(idOf));
  const changing = room.devices.filter((d) => ids.has(d.id));
  return {
    room: { ...room, devices: room.devices.map((d) => (ids.has(d.id) ? { ...d, link } : d)) },
    // "add" also takes the place of what is written.
    edits: changing.map((d) => ({ op: "add", path: `${d.pointer}/link`, value: link })),
    label: `make ${counted(list, room)} talk by ${link === "radio" ? "radio" : "wire"}`,
    undo: list.length > 0 ? "now" : "never",
  };
}

/** Puts luminaires or devices to a coordinate, metres in building axes. */
export function coordinateSet(around: Surroundings, keys: Iterable<ObjectKey>, axis: 0 | 1 | 2, value_m: number): Outcome {
  const { room } = around;
  if (!Number.isFinite(value_m)) return refusal("A coordinate is a number of metres, such as 2.40 m.");
  const edits: Edit[] = [];
  let next = room;
  const list: ObjectKey[] = [];
  for (const key of keys) {
    const found = find(room, key);
    if (found === null || (found.kind !== "luminaire" && found.kind !== "device")) continue;
    const at: [number, number, number] = [...found.object.at];
    at[axis] = millimetres(value_m);
    if (isSamePlace(at, found.object.at)) continue;
    list.push(key);
    const { pointer, id } = found.object;
    const status = relocation(found.object);
    edits.push({ op: "replace", path: `${pointer}/at`, value: writtenPosition(at, pointer, around) }, ...status.edits);
    if (found.kind === "luminaire") next = { ...next, luminaires: next.luminaires.map((l) => (l.id === id ? { ...l, at, status: status.status } : l)) };
    else next = { ...next, devices: next.devices.map((d) => (d.id === id ? { ...d, at, status: status.status } : d)) };
  }
  return { room: next, edits, label: `move ${counted(list, room)}`, undo: edits.length > 0 ? "now" : "never" };
}

/** Turns luminaires to an angle, counter-clockwise from +x. */
export function rotationSet(around: Surroundings, keys: Iterable<ObjectKey>, degrees: number): Outcome {
  const { room } = around;
  if (!Number.isFinite(degrees)) return refusal("A rotation is a number of degrees, such as 90.");
  const to = turned(degrees);
  const list = [...keys].filter((k) => {
    const found = find(room, k);
    return found?.kind === "luminaire" && Math.abs(found.object.rotation_deg - to) > 0.05;
  });
  const ids = new Set(list.map(idOf));
  return {
    room: { ...room, luminaires: room.luminaires.map((l) => (ids.has(l.id) ? { ...l, rotation_deg: to } : l)) },
    edits: room.luminaires.filter((l) => ids.has(l.id)).map((l) => ({ op: "add", path: `${l.pointer}/rotation`, value: writtenDegrees(to) })),
    label: `turn ${counted(list, room)}`,
    undo: list.length > 0 ? "now" : "never",
  };
}

// ---- taking out --------------------------------------------------------------------------------------------

/**
 * Takes objects out. What stands there today is marked for removal, so that the drawings say so; what the proposal
 * added leaves no trace. Luminaires leave their groups.
 */
export function removed(around: Surroundings, keys: Iterable<ObjectKey>): Outcome {
  const { room } = around;
  const list = [...keys].filter((k) => find(room, k) !== null && find(room, k)!.kind !== "group");
  if (list.length === 0) return refusal("Nothing that can be taken out is selected.");
  const gone: string[] = [];
  const marked: ObjectKey[] = [];
  const statusEdits: Edit[] = [];
  const lights = new Set<string>();
  for (const key of list) {
    const found = find(room, key)!;
    if (found.kind === "luminaire") lights.add(found.object.id);
    if ((found.kind === "luminaire" || found.kind === "device") && (found.object.status === "remain" || found.object.status === "relocate")) {
      marked.push(key);
      statusEdits.push({ op: "add", path: `${found.object.pointer}/status`, value: "remove" });
    } else gone.push(found.object.pointer);
  }
  const out = leaving(room.groups, (channel) => lights.has(luminaireOfChannel(channel)));
  const isGone = (kind: Parameters<typeof objectKey>[0]) => (o: { id: string }) => {
    const key = objectKey(kind, o.id);
    return list.includes(key) && !marked.includes(key);
  };
  const isMarked = (kind: "luminaire" | "device", o: { id: string }) => marked.includes(objectKey(kind, o.id));
  const keep = <T extends { id: string }>(kind: Parameters<typeof objectKey>[0], objects: T[]): T[] => objects.filter((o) => !isGone(kind)(o));
  const next: Room = {
    ...room,
    groups: out.groups,
    luminaires: keep("luminaire", room.luminaires).map((l) => (isMarked("luminaire", l) ? { ...l, status: "remove" } : l)),
    devices: keep("device", room.devices).map((d) => (isMarked("device", d) ? { ...d, status: "remove" } : d)),
    furniture: keep("furniture", room.furniture),
    task_areas: keep("task_area", room.task_areas),
    openings: keep("opening", room.openings),
    doors: keep("door", room.doors),
    partitions: keep("partition", room.partitions),
  };
  const label = marked.length === list.length ? `mark ${counted(list, room)} for removal` : `delete ${counted(list, room)}`;
  return { room: next, edits: [...statusEdits, ...out.edits, ...removals(gone)], label, undo: "now", select: new Set() };
}

// ---- putting in --------------------------------------------------------------------------------------------

const NO_GROUPS: Record<Strategy, string> = { scene: "", occupancy: "", daylight: "", schedule: "", demand_response: "", emergency: "" };

const nearestOf = <T extends { at: readonly [number, number, number] }>(all: readonly T[], p: PlanPoint): T | undefined =>
  all.reduce<T | undefined>((best, o) => (best === undefined || distance([o.at[0], o.at[1]], p) < distance([best.at[0], best.at[1]], p) ? o : best), undefined);

/** Memberships that a luminaire takes over from another: groups with the channels they command. */
function joining(room: Room, from: string, id: string, groups: Room["groups"]): { edits: Edit[]; groups: Room["groups"] } {
  const edits: Edit[] = [];
  const next = groups.map((group) => {
    const original = room.groups.find((g) => g.id === group.id)!;
    const joins = original.channels.filter((c) => luminaireOfChannel(c) === from).map((c) => id + c.slice(from.length));
    edits.push(...joins.map((c): Edit => ({ op: "add", path: `${group.pointer}/channels/-`, value: writtenId(c, group.pointer, room) })));
    return joins.length === 0 ? group : { ...group, channels: [...group.channels, ...joins] };
  });
  return { edits, groups: next };
}

/**
 * New luminaires of a type. Each hangs as high as the nearest of its type, on its circuit and in its groups, or just
 * below the ceiling without any.
 */
export function withLuminaires(around: Surroundings, type: string, places: readonly PlanPoint[], rotation_deg: number): Outcome {
  const { room } = around;
  const of = room.luminaire_types.find((t) => t.id === type);
  if (of === undefined) return refusal(`There is no luminaire type ${type}.`);
  if (places.length === 0) return refusal("There is nothing to add.");
  const home = homeOf("luminaires", around);
  if ("refused" in home) return home;
  const outside = places.filter((p) => !contains(room.floor, p)).length;
  if (outside > 0) return refusal(outside === 1 ? "A luminaire would hang outside the room." : `${outside} luminaires would hang outside the room.`);
  const taken = takenIds(home, around);
  const like = room.luminaires.filter((l) => l.type === type);
  const names = like.map((l) => writtenId(l.id, home.list + "/-", room));
  const values: unknown[] = [];
  const memberships: Edit[] = [];
  const added: LuminaireDrawing[] = [];
  let groups = room.groups;
  const isLocal = isOfTypical(home.list + "/-");
  for (const place of places) {
    const written = nextId(names, isLocal ? idFrom(of.tag || "L") : `${idFrom(room.id)}-${idFrom(of.tag || "L")}-`, taken);
    taken.add(written);
    names.push(written);
    const id = isLocal ? `${room.id}.${written}` : written;
    const model = nearestOf(like.filter((l) => l.status !== "remove"), place);
    const [x, y] = planMillimetres(place);
    const z = model?.at[2] ?? room.height_m;
    const rotation = turned(rotation_deg);
    values.push({
      id: written,
      type,
      ...(isLocal ? {} : { space: room.id }),
      at: writtenPosition([x, y, z], home.list + "/-", around),
      ...(rotation === 0 ? {} : { rotation: writtenDegrees(rotation) }),
      ...(model === undefined || model.circuit === "" ? {} : { circuit: model.circuit }),
    });
    added.push({
      id,
      tag: "",
      pointer: `${home.list}/-`,
      type,
      at: [x, y, z],
      rotation_deg: rotation,
      groups: model?.groups ?? NO_GROUPS,
      lights_egress: false,
      circuit: model?.circuit ?? "",
      status: "new",
    });
    if (model !== undefined) {
      const joined = joining(room, model.id, id, groups);
      memberships.push(...joined.edits);
      groups = joined.groups;
    }
  }
  const label = added.length === 1 ? `add a luminaire ${of.tag || of.id}` : `add ${added.length} luminaires ${of.tag || of.id}`;
  return {
    room: { ...room, groups, luminaires: [...room.luminaires, ...added] },
    edits: [...appended(home, values), ...memberships],
    label,
    undo: "now",
    select: new Set(added.map((l) => objectKey("luminaire", l.id))),
  };
}

/** Groups that a new device of the kind acts on: of its strategy the one whose luminaires are nearest. */
export function groupsFor(room: Room, kind: DeviceDrawing["kind"], at: PlanPoint): string[] {
  const strategy: Strategy | null = kind === "occupancy_sensor" ? "occupancy" : kind === "photosensor" ? "daylight" : null;
  if (strategy === null) return [];
  let best: { id: string; distance: number } | null = null;
  for (const group of room.groups) {
    if (group.strategy !== strategy) continue;
    const ids = new Set(group.channels.map(luminaireOfChannel));
    const nearest = nearestOf(room.luminaires.filter((l) => ids.has(l.id)), at);
    const d = nearest === undefined ? 1e6 : distance([nearest.at[0], nearest.at[1]], at);
    if (best === null || d < best.distance) best = { id: group.id, distance: d };
  }
  return best === null ? [] : [best.id];
}

const NEW_COVERAGE: NonNullable<DeviceDrawing["coverage"]> = {
  shape: "circle",
  major_radius_m: 5.4,
  minor_radius_m: 3.2,
  aim_deg: 0,
  sector_deg: 110,
  strip_width_m: 3,
};

/** A new sensor on the ceiling, or a station on the wall that is nearest. */
export function withDevice(around: Surroundings, kind: "occupancy_sensor" | "photosensor" | "station", place: PlanPoint): Outcome {
  const { room } = around;
  const home = homeOf(LIST_OF_DEVICE[kind], around);
  if ("refused" in home) return home;
  let at = place;
  if (kind === "station") {
    const near = nearestWall(room.floor, place);
    if (near !== null) at = plus(plus(near.wall.from, times(near.offset_m, near.wall.along)), times(OFF_WALL_M, near.wall.inward));
  } else if (!contains(room.floor, place)) return refusal("It would hang outside the room.");
  const [x, y] = planMillimetres(at);
  const z = millimetres(kind === "station" ? STATION_HEIGHT_M : room.height_m);
  const isLocal = isOfTypical(home.list + "/-");
  const taken = takenIds(home, around);
  const letter = { occupancy_sensor: "O", photosensor: "P", station: "S" }[kind];
  const names = room.devices.filter((d) => d.kind === kind).map((d) => writtenId(d.id, home.list + "/-", room));
  const written = nextId(names, isLocal ? letter : `${idFrom(room.id)}-${letter}`, taken);
  const id = isLocal ? `${room.id}.${written}` : written;
  const groups = groupsFor(room, kind, [x, y]);
  const value = {
    id: written,
    ...(isLocal ? {} : { space: room.id }),
    at: writtenPosition([x, y, z], home.list + "/-", around),
    ...(kind === "station"
      ? { buttons: [...room.scenes.map((s) => writtenId(s.id, home.list + "/-", room)), "off"] }
      : { groups: groups.map((g) => writtenId(g, home.list + "/-", room)) }),
  };
  const device: DeviceDrawing = {
    id,
    tag: "",
    pointer: `${home.list}/-`,
    kind,
    type: "",
    at: [x, y, z],
    status: "new",
    link: "wired",
    groups,
    ...(kind === "occupancy_sensor" ? { coverage: NEW_COVERAGE } : {}),
  };
  return {
    room: { ...room, devices: [...room.devices, device] },
    edits: appended(home, [value]),
    label: `add ${kind === "occupancy_sensor" ? "an" : "a"} ${DEVICE_WORDS[kind]}`,
    undo: "now",
    select: new Set([objectKey("device", id)]),
  };
}

/** A new table or task area of that outline. */
export function withOutline(around: Surroundings, thing: "task_area" | "furniture", plan: readonly PlanPoint[]): Outcome {
  const { room } = around;
  const rounded = plan.map(planMillimetres);
  if (!isSimple(rounded)) return refusal("Draw it larger: it has no area.");
  const list = thing === "task_area" ? "task_areas" : "furniture";
  const home = homeOf(list, around);
  if ("refused" in home) return home;
  const id = nextId([], thing === "task_area" ? "task-" : "table-", takenIds(home, around));
  const written = rounded.map((p) => writtenPlace(p, home.list + "/-", around));
  const pointer = `${home.list}/-`;
  if (thing === "task_area") {
    const target_lx = room.task_areas[0]?.target_lx ?? 0;
    const area = { id, name: "", pointer, plan: rounded, plane: "horizontal" as const, height_m: room.plan_height_m, target_lx };
    return {
      room: { ...room, task_areas: [...room.task_areas, area] },
      edits: appended(home, [{ id, plan: written }]),
      label: "add a task area",
      undo: "now",
      select: new Set([objectKey("task_area", id)]),
    };
  }
  const table = { id, pointer, kind: "table", plan: rounded, bottom_m: 0, top_m: 0.75 };
  return {
    room: { ...room, furniture: [...room.furniture, table] },
    edits: appended(home, [{ id, kind: "table", plan: written, top: "0.75 m" }]),
    label: "add a table",
    undo: "now",
    select: new Set([objectKey("furniture", id)]),
  };
}

const WINDOW = { sill_m: 0.9, height_m: 1.2 };
const DOOR = { width_m: 0.9, height_m: 2.1 };

/** A new window or door on a stretch of wall. */
export function withOnWall(around: Surroundings, thing: "window" | "door", wallIndex: number, from_m: number, to_m: number): Outcome {
  const { room } = around;
  const wall = wallsOf(room.floor)[wallIndex];
  if (wall === undefined) return refusal("The floor has no such wall.");
  const usual = thing === "door" ? DOOR.width_m : 1;
  // A click gives the usual width about the place; a drag the width that was drawn.
  const drawn = Math.abs(to_m - from_m);
  const width = millimetres(Math.min(drawn < LEAST_WIDTH_M ? usual : drawn, wall.length_m));
  const start = drawn < LEAST_WIDTH_M ? from_m - 0.5 * width : Math.min(from_m, to_m);
  const offset = millimetres(clamp(start, 0, wall.length_m - width));
  const home = homeOf(thing === "window" ? "openings" : "doors", around);
  if ("refused" in home) return home;
  const id = nextId(
    (thing === "window" ? room.openings.filter((o) => o.kind === "window") : room.doors).map((o) => o.id),
    thing === "window" ? "W" : "D",
    takenIds(home, around),
  );
  const pointer = `${home.list}/-`;
  const height_m = Math.min(thing === "window" ? WINDOW.height_m : DOOR.height_m, room.height_m - (thing === "window" ? Math.min(WINDOW.sill_m, room.height_m / 3) : 0));
  const common = { id, wall: wall.index, offset: writtenMetres(offset), width: writtenMetres(width) };
  const from = plus(wall.from, times(offset, wall.along));
  const to = plus(from, times(width, wall.along));
  if (thing === "window") {
    const sill_m = Math.min(WINDOW.sill_m, room.height_m / 3);
    // Glazed as the room's other windows are, which only the document knows.
    const model = room.openings.find((o) => o.kind === "window");
    const glazing = model === undefined ? undefined : around.lookUp(`${model.pointer}/glazing`);
    const value = { ...common, kind: "window", sill: writtenMetres(sill_m), height: writtenMetres(height_m), ...(typeof glazing === "string" ? { glazing } : {}) };
    const opening: OpeningDrawing = { id, pointer, kind: "window", wall: wall.index, from, to, plan: [], sill_m, height_m, shade: "" };
    return {
      room: { ...room, openings: [...room.openings, opening] },
      edits: appended(home, [value]),
      label: "add a window",
      undo: "now",
      select: new Set([objectKey("opening", id)]),
    };
  }
  const door: DoorDrawing = { id, pointer, wall: wall.index, from, to, hinge: from, latch: to, tip: plus(from, times(width, wall.inward)), height_m, leads_to: "" };
  return {
    room: { ...room, doors: [...room.doors, door] },
    edits: appended(home, [{ ...common, latch: "left", swing: "in" }]),
    label: "add a door",
    undo: "now",
    select: new Set([objectKey("door", id)]),
  };
}
