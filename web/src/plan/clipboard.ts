// Copies of luminaires, devices, furniture and task areas, within a room and from room to room: text of a stated form,
// so that it also goes through the system's clipboard to another window.
import type { DeviceDrawing, DeviceKind, Edit, LuminaireDrawing, PlanPoint, Room } from "../api/contract";
import type { Outcome, Refusal } from "./actions";
import { LIST_OF_DEVICE, type ListName, type Surroundings, appended, homeOf, idFrom, isOfTypical, nextId, takenIds, writtenDegrees, writtenId, writtenPlace, writtenPosition } from "./document";
import { boundsOf, centreOf, contains, minus, planMillimetres, plus } from "./geometry";
import { groupsFor } from "./changes";
import { type ObjectKey, find, luminaireOfChannel, objectKey } from "./objects";

const FORMAT = "halflight-objects/1";
const MOST_OBJECTS = 2000;

interface Copied {
  list: ListName;
  /** As in the document, without what belongs to one place: id, space, tag, address, status, position, groups. */
  value: Record<string, unknown>;
  /** From the middle of all that was copied. */
  at?: PlanPoint;
  z_m?: number;
  plan?: PlanPoint[];
  /** Of the original, for the memberships of a copy in the same room. */
  id: string;
}

export interface Clip {
  format: typeof FORMAT;
  room: string;
  middle: PlanPoint;
  objects: Copied[];
}

const OWN_KEYS = new Set(["id", "space", "tag", "address", "status", "at", "plan", "groups", "buttons", "switch_legs"]);

function withoutOwn(value: unknown): Record<string, unknown> | null {
  if (typeof value !== "object" || value === null || Array.isArray(value)) return null;
  return Object.fromEntries(Object.entries(value).filter(([key]) => !OWN_KEYS.has(key)));
}

/** Null when nothing that can be copied is among the keys. */
export function copied({ room, lookUp }: Surroundings, keys: Iterable<ObjectKey>): Clip | null {
  const objects: Copied[] = [];
  const corners: PlanPoint[] = [];
  for (const key of keys) {
    const found = find(room, key);
    if (found === null) continue;
    const raw = withoutOwn(lookUp(found.object.pointer));
    if (found.kind === "luminaire") {
      const l = found.object;
      const drawn = { type: l.type, ...(l.rotation_deg === 0 ? {} : { rotation: writtenDegrees(l.rotation_deg) }), ...(l.circuit === "" ? {} : { circuit: l.circuit }) };
      objects.push({ list: "luminaires", value: raw ?? drawn, at: [l.at[0], l.at[1]], z_m: l.at[2], id: l.id });
      corners.push([l.at[0], l.at[1]]);
    } else if (found.kind === "device") {
      const d = found.object;
      const c = d.coverage;
      const drawn =
        c === undefined
          ? {}
          : {
              coverage: c.shape,
              major_radius: `${c.major_radius_m} m`,
              minor_radius: `${c.minor_radius_m} m`,
              aim: writtenDegrees(c.aim_deg),
              sector: writtenDegrees(c.sector_deg),
              strip_width: `${c.strip_width_m} m`,
            };
      objects.push({ list: LIST_OF_DEVICE[d.kind], value: raw ?? drawn, at: [d.at[0], d.at[1]], z_m: d.at[2], id: d.id });
      corners.push([d.at[0], d.at[1]]);
    } else if (found.kind === "furniture") {
      const f = found.object;
      objects.push({ list: "furniture", value: raw ?? { kind: f.kind, bottom: `${f.bottom_m} m`, top: `${f.top_m} m` }, plan: f.plan, id: f.id });
      corners.push(...f.plan);
    } else if (found.kind === "task_area") {
      const t = found.object;
      objects.push({ list: "task_areas", value: raw ?? { name: t.name, plane: t.plane, height: `${t.height_m} m`, target: `${t.target_lx} lx` }, plan: t.plan, id: t.id });
      corners.push(...t.plan);
    }
  }
  if (objects.length === 0) return null;
  const middle = planMillimetres(centreOf(boundsOf(corners)));
  return {
    format: FORMAT,
    room: room.id,
    middle,
    objects: objects.map((o) => ({
      ...o,
      ...(o.at === undefined ? {} : { at: planMillimetres(minus(o.at, middle)) }),
      ...(o.plan === undefined ? {} : { plan: o.plan.map((p) => planMillimetres(minus(p, middle))) }),
    })),
  };
}

export const clipText = (clip: Clip): string => JSON.stringify(clip);

const isNumber = (v: unknown): v is number => typeof v === "number" && Number.isFinite(v) && Math.abs(v) < 1e6;
const isPoint = (v: unknown): v is PlanPoint => Array.isArray(v) && v.length === 2 && v.every(isNumber);
const LISTS: ReadonlySet<string> = new Set<string>(["luminaires", "furniture", "task_areas", ...Object.values(LIST_OF_DEVICE)]);

function isCopied(v: unknown): v is Copied {
  if (typeof v !== "object" || v === null) return false;
  const o = v as Record<string, unknown>;
  if (typeof o.id !== "string" || typeof o.list !== "string" || !LISTS.has(o.list) || withoutOwn(o.value) === null) return false;
  if (o.list === "furniture" || o.list === "task_areas") return Array.isArray(o.plan) && o.plan.length >= 3 && o.plan.length <= 1000 && o.plan.every(isPoint);
  return isPoint(o.at) && isNumber(o.z_m);
}

/** Text from the clipboard, which anything may have put there; null when it is not ours. */
export function clipFrom(text: string): Clip | null {
  if (!text.includes(FORMAT)) return null;
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return null;
  }
  if (typeof value !== "object" || value === null) return null;
  const clip = value as Record<string, unknown>;
  if (clip.format !== FORMAT || typeof clip.room !== "string" || !isPoint(clip.middle)) return null;
  if (!Array.isArray(clip.objects) || clip.objects.length === 0 || clip.objects.length > MOST_OBJECTS || !clip.objects.every(isCopied)) return null;
  const objects = clip.objects.map((o: Copied) => ({ ...o, value: withoutOwn(o.value)! }));
  return { format: FORMAT, room: clip.room, middle: clip.middle, objects };
}

/** Beside the original, on the first side on which all of the copy stays in the room; else on the original. */
export function placeBeside({ floor }: Room, clip: Clip): PlanPoint {
  const points = clip.objects.flatMap((o) => o.plan ?? (o.at === undefined ? [] : [o.at]));
  const beside: PlanPoint[] = [
    [0.5, -0.5],
    [0.5, 0.5],
    [-0.5, -0.5],
    [-0.5, 0.5],
    [0, 0],
  ];
  const fits = (by: PlanPoint) => points.every((p) => contains(floor, plus(plus(p, clip.middle), by)));
  return plus(clip.middle, beside.find(fits) ?? [0, 0]);
}

const STEM: Readonly<Record<string, string>> = {
  luminaires: "L",
  occupancy_sensors: "O",
  photosensors: "P",
  stations: "S",
  load_controllers: "C",
  time_clocks: "T",
  interfaces: "I",
  infrastructure: "N",
  furniture: "table-",
  task_areas: "task-",
};

const kindOfList = (list: ListName): DeviceKind => (Object.keys(LIST_OF_DEVICE) as DeviceKind[]).find((k) => LIST_OF_DEVICE[k] === list)!;

/**
 * Puts a copy into a room with its middle at `middle`. In the room that it came from the luminaires join the groups of
 * their originals; in another they belong to none until they are put into one. Devices act on the nearest groups.
 */
export function pasted(around: Surroundings, clip: Clip, middle: PlanPoint, verb: "paste" | "duplicate" = "paste"): Outcome {
  const { room } = around;
  const isHere = clip.room === room.id;
  const edits: Edit[] = [];
  const memberships: Edit[] = [];
  const select = new Set<ObjectKey>();
  let next: Room = room;
  for (const list of new Set(clip.objects.map((o) => o.list))) {
    const home = homeOf(list, around);
    if ("refused" in home) return home satisfies Refusal;
    const pointer = `${home.list}/-`;
    const isLocal = isOfTypical(pointer);
    const isOfSpace = list === "furniture" || list === "task_areas";
    const taken = takenIds(home, around);
    const values: unknown[] = [];
    for (const object of clip.objects.filter((o) => o.list === list)) {
      const like = isHere ? [writtenId(object.id, pointer, room)] : isOfSpace ? [object.id] : [];
      // "desk" is followed by "desk-1"; what ends in a number counts on from it.
      const stem = isOfSpace && !/\d$/.test(object.id) ? `${idFrom(object.id)}-` : STEM[list]!;
      const written = nextId(like, isLocal || isOfSpace ? stem : `${idFrom(room.id)}-${stem}`, taken);
      taken.add(written);
      const id = isLocal && !isOfSpace ? `${room.id}.${written}` : written;
      const base: Record<string, unknown> = { id: written, ...(isLocal || isOfSpace ? {} : { space: room.id }), ...object.value };
      if (object.plan !== undefined) {
        const plan = object.plan.map((p) => planMillimetres(plus(p, middle)));
        values.push({ ...base, plan: plan.map((p) => writtenPlace(p, pointer, around)) });
        const original = find(room, objectKey(list === "furniture" ? "furniture" : "task_area", object.id));
        if (list === "furniture") {
          const like = original?.kind === "furniture" ? original.object : { kind: "table", bottom_m: 0, top_m: 0.75 };
          next = { ...next, furniture: [...next.furniture, { ...like, id, pointer, plan }] };
          select.add(objectKey("furniture", id));
        } else {
          const like =
            original?.kind === "task_area" ? original.object : { name: "", plane: "horizontal" as const, height_m: room.plan_height_m, target_lx: 0 };
          next = { ...next, task_areas: [...next.task_areas, { ...like, id, pointer, plan }] };
          select.add(objectKey("task_area", id));
        }
        continue;
      }
      const [x, y] = planMillimetres(plus(object.at!, middle));
      const at: [number, number, number] = [x, y, object.z_m!];
      const where = { at: writtenPosition(at, pointer, around) };
      if (list === "luminaires") {
        const original = isHere ? room.luminaires.find((l) => l.id === object.id) : undefined;
        const type = typeof object.value.type === "string" ? object.value.type : "";
        if (!isHere && object.value.circuit !== undefined && !room.circuits.some((c) => c.id === object.value.circuit)) delete base["circuit"];
        values.push({ ...base, ...where });
        for (const group of original === undefined ? [] : room.groups) {
          const joins = group.channels.filter((c) => luminaireOfChannel(c) === object.id).map((c) => id + c.slice(object.id.length));
          memberships.push(...joins.map((c): Edit => ({ op: "add", path: `${group.pointer}/channels/-`, value: writtenId(c, group.pointer, room) })));
          if (joins.length > 0) next = { ...next, groups: next.groups.map((g) => (g.id === group.id ? { ...g, channels: [...g.channels, ...joins] } : g)) };
        }
        const drawn: LuminaireDrawing = {
          id,
          tag: "",
          pointer,
          type,
          at,
          rotation_deg: original?.rotation_deg ?? (Number.parseFloat(String(object.value.rotation ?? "0")) || 0),
          groups: original?.groups ?? { scene: "", occupancy: "", daylight: "", schedule: "", demand_response: "", emergency: "" },
          lights_egress: original?.lights_egress ?? false,
          circuit: original?.circuit ?? "",
          status: "new",
        };
        next = { ...next, luminaires: [...next.luminaires, drawn] };
        select.add(objectKey("luminaire", id));
        continue;
      }
      const kind = kindOfList(list);
      const groups = groupsFor(room, kind, [x, y]);
      const acts = kind === "station" ? { buttons: room.scenes.map((s) => writtenId(s.id, pointer, room)).concat("off") } : kind === "occupancy_sensor" || kind === "photosensor" ? { groups: groups.map((g) => writtenId(g, pointer, room)) } : {};
      values.push({ ...base, ...where, ...acts });
      const original = room.devices.find((d) => d.id === object.id);
      const drawn: DeviceDrawing = { id, tag: "", pointer, kind, type: original?.type ?? "", at, status: "new", link: original?.link ?? "wired", groups, ...(original?.coverage === undefined ? {} : { coverage: original.coverage }) };
      next = { ...next, devices: [...next.devices, drawn] };
      select.add(objectKey("device", id));
    }
    edits.push(...appended(home, values));
  }
  const n = clip.objects.length;
  return { room: next, edits: [...edits, ...memberships], label: `${verb} ${n} object${n === 1 ? "" : "s"}`, undo: "now", select };
}
