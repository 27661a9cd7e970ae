// An invented reading room, for tests and for looking at.
import type { DeviceDrawing, LuminaireDrawing, PlanPoint, Room, Strategy } from "../../src/api/contract";

const NONE: Record<Strategy, string> = { scene: "", occupancy: "", daylight: "", schedule: "", demand_response: "", emergency: "" };

const rectangle = (x0: number, y0: number, x1: number, y1: number): PlanPoint[] => [
  [x0, y0],
  [x1, y0],
  [x1, y1],
  [x0, y1],
];

const ROWS = ["A", "B", "C"];
const ROW_Y = [2, 4.8, 7.4];

export function readingRoom(): Room {
  const luminaires: LuminaireDrawing[] = [];
  const add = (id: string, type: string, x: number, y: number, z: number, groups: Partial<Record<Strategy, string>>, lights_egress = false) =>
    luminaires.push({
      id,
      tag: "",
      pointer: `/designs/1/luminaires/${luminaires.length}`,
      type,
      at: [x, y, z],
      rotation_deg: 0,
      groups: { ...NONE, ...groups },
      lights_egress,
      circuit: y < 5 ? "LP-1" : "LP-2",
      status: "new",
    });
  ROWS.forEach((row, r) => [2.4, 5.6, 8.8, 12].forEach((x, i) => add(`R-${row}${i + 1}`, "pendant", x, ROW_Y[r]!, 2.8, { scene: `row-${row}`, occupancy: "all", daylight: r === 0 ? "day-south" : "" }, i === 0 && r !== 1 || (r === 1 && i === 3))));
  for (let i = 0; i < 9; i += 1) add(`R-D${i + 1}`, "washer", 1 + 1.55 * i, 9.0, 3.2, { scene: "row-D", occupancy: "all" });
  const windows = [0.9, 4.0, 7.1, 10.2, 12.6];
  const device = (kind: DeviceDrawing["kind"], id: string, tag: string, x: number, y: number, z: number, groups: string[], list: string, n: number): DeviceDrawing => ({
    id,
    tag,
    pointer: `/designs/1/${list}/${n}`,
    kind,
    type: "",
    at: [x, y, z],
    status: "new",
    link: "wired",
    groups,
    ...(kind === "occupancy_sensor"
      ? { coverage: { shape: "circle" as const, major_radius_m: 3.4, minor_radius_m: 2.1, aim_deg: 0, sector_deg: 110, strip_width_m: 3 } }
      : {}),
  });
  const group = (n: number, id: string, strategy: Strategy, name: string, channels: string[]) => ({ id, pointer: `/designs/1/groups/${n}`, strategy, name, channels });
  const rowIds = (row: string) => luminaires.filter((l) => l.id.startsWith(`R-${row}`)).map((l) => l.id);
  return {
    project: "invented",
    revision: 7,
    id: "R",
    number: "1.02",
    name: "Reading room",
    storey: "first",
    storey_name: "First floor",
    kind: "library_reading",
    kind_name: "library, reading",
    typical: null,
    typical_rooms: [],
    typical_origin: null,
    pointer: "/spaces/1",
    proposal: "/designs/1",
    area_m2: 138.2,
    height_m: 3.3,
    plan_height_m: 0.75,
    plan_north_deg: 12,
    floor: rectangle(0, 0, 14.4, 9.6),
    openings: [
      ...windows.map((x, i) => ({
        id: `W${i + 1}`,
        pointer: `/spaces/1/openings/${i}`,
        kind: "window" as const,
        wall: 0,
        from: [x, 0] as PlanPoint,
        to: [x + (i === 4 ? 1.4 : 2), 0] as PlanPoint,
        plan: [],
        sill_m: 0.9,
        height_m: 2.1,
        shade: "",
      })),
      { id: "S1", pointer: "/spaces/1/openings/5", kind: "skylight", wall: 0, from: [6, 5.3], to: [8.4, 6.5], plan: rectangle(6, 5.3, 8.4, 6.5), sill_m: 0, height_m: 0, shade: "" },
    ],
    doors: [
      { id: "D1", pointer: "/spaces/1/doors/0", wall: 1, from: [14.4, 5.9], to: [14.4, 6.9], hinge: [14.4, 5.9], latch: [14.4, 6.9], tip: [13.4, 5.9], height_m: 2.1, leads_to: "corridor" },
      { id: "D2", pointer: "/spaces/1/doors/1", wall: 3, from: [0, 7.3], to: [0, 6.3], hinge: [0, 7.3], latch: [0, 6.3], tip: [-1, 7.3], height_m: 2.1, leads_to: "lobby" },
    ],
    partitions: [{ id: "screen", pointer: "/spaces/1/partitions/0", kind: "part_height", from: [12.9, 8], to: [12.9, 9.6], height_m: 1.6, thickness_m: 0.08 }],
    furniture: [
      ...[0, 1, 2, 3].map((i) => ({ id: `table-${i + 1}`, pointer: `/spaces/1/furniture/${i}`, kind: "table", plan: rectangle(1.4 + 3.2 * i, 1.2, 3.4 + 3.2 * i, 2.4), bottom_m: 0, top_m: 0.74 })),
      ...[0, 1, 2, 3].map((i) => ({ id: `table-${i + 5}`, pointer: `/spaces/1/furniture/${i + 4}`, kind: "table", plan: rectangle(1.4 + 3.2 * i, 4.3, 3.4 + 3.2 * i, 5.4), bottom_m: 0, top_m: 0.74 })),
      ...[0, 1, 2, 3, 4, 5].map((i) => ({ id: `shelf-${i + 1}`, pointer: `/spaces/1/furniture/${i + 8}`, kind: "shelf", plan: rectangle(0.5 + 1.85 * i, 8, 1.9 + 1.85 * i, 8.45), bottom_m: 0, top_m: 1.9 })),
    ],
    task_areas: [
      { id: "south", name: "Tables by the windows", pointer: "/spaces/1/task_areas/0", plan: rectangle(1.3, 1.1, 13.1, 2.5), plane: "horizontal", height_m: 0.75, target_lx: 400 },
      { id: "middle", name: "Middle tables", pointer: "/spaces/1/task_areas/1", plan: rectangle(1.3, 4.2, 13.1, 5.5), plane: "horizontal", height_m: 0.75, target_lx: 400 },
    ],
    daylight_zones: [],
    egress_paths: [{ id: "out", pointer: "/spaces/1/egress_paths/0", centre_line: [[0.8, 3.4], [13.4, 3.4], [13.4, 6.4], [14.3, 6.4]], width_m: 1.1 }],
    luminaires,
    luminaire_types: [
      { id: "pendant", channels: ["down", "up"], tag: "U2", name: "linear pendant 2.4 m", lumens: 5200, input_w: 38, length_m: 2.4, width_m: 0.2, shape: "rectangle" },
      { id: "washer", channels: ["all"], tag: "W1", name: "round wall washer", lumens: 1400, input_w: 14, length_m: 0.22, width_m: 0.22, shape: "circle" },
    ],
    groups: [
      ...ROWS.map((row, i) => group(i, `row-${row}`, "scene", row, rowIds(row))),
      group(3, "row-D", "scene", "D", rowIds("D")),
      group(4, "all", "occupancy", "whole room", luminaires.map((l) => l.id)),
      group(5, "day-south", "daylight", "row by the windows", rowIds("A")),
      group(6, "day-roof", "daylight", "under the skylight", rowIds("C")),
    ],
    devices: [
      device("occupancy_sensor", "R-O1", "M1", 3.6, 3.6, 3.3, ["all"], "occupancy_sensors", 0),
      device("occupancy_sensor", "R-O2", "M2", 10.8, 3.6, 3.3, ["all"], "occupancy_sensors", 1),
      device("photosensor", "R-P1", "P1", 7.2, 3.3, 3.3, ["day-south"], "photosensors", 0),
      device("station", "R-S1", "W1", 14.3, 6.25, 1.2, [], "stations", 0),
      device("station", "R-S2", "W2", 0.1, 6.1, 1.2, [], "stations", 1),
      device("load_controller", "R-C1", "K1", 7.2, 6.9, 3.2, ["row-A"], "load_controllers", 0),
    ],
    reach: null,
    decided: ["occupancy", "daylight", "stations", "controllers", "receptacles"],
    radio: null,
    circuits: [
      { id: "LP-1", panel: "LP", breaker: "1", switch_leg: "south rows", supply: "normal" },
      { id: "LP-2", panel: "LP", breaker: "2", switch_leg: "north rows and shelf wall", supply: "normal" },
    ],
    scenes: [{ id: "open", pointer: "/designs/1/scenes/0", name: "Open", levels: [{ group: "row-A", level: 0.36, pointer: "/designs/1/scenes/0/levels/0/level" }], shades: "as_they_stand", follows_daylight: true, in_demand_response: true, called_by: "", targets: [] }],
    normal_scene: "open",
    sequence: null,
    diagnostics: [],
  };
}

/** The same room as a typical gives it, at [20, 10]. */
export function typicalRoom(): Room {
  const room = readingRoom();
  const by = (p: PlanPoint): PlanPoint => [p[0] + 20, p[1] + 10];
  const local = (pointer: string) => pointer.replace("/designs/1/", "/designs/1/typicals/0/").replace("/spaces/1/", "/typicals/2/space/");
  const own = (id: string) => `R.${id.replace(/^R-/, "")}`;
  return {
    ...room,
    typical: "reading",
    typical_rooms: ["R", "Q"],
    typical_origin: [20, 10],
    floor: room.floor.map(by),
    luminaires: room.luminaires.map((l) => ({ ...l, id: own(l.id), pointer: local(l.pointer), at: [l.at[0] + 20, l.at[1] + 10, l.at[2]] })),
    devices: room.devices.map((d) => ({ ...d, id: own(d.id), pointer: local(d.pointer), at: [d.at[0] + 20, d.at[1] + 10, d.at[2]], groups: d.groups.map((g) => `R.${g}`) })),
    groups: room.groups.map((g) => ({ ...g, id: `R.${g.id}`, pointer: local(g.pointer), channels: g.channels.map(own) })),
    scenes: room.scenes.map((s) => ({ ...s, id: `R.${s.id}`, pointer: local(s.pointer) })),
    furniture: room.furniture.map((f) => ({ ...f, pointer: local(f.pointer), plan: f.plan.map(by) })),
    task_areas: room.task_areas.map((t) => ({ ...t, pointer: local(t.pointer), plan: t.plan.map(by) })),
    openings: room.openings.map((o) => ({ ...o, pointer: local(o.pointer), from: by(o.from), to: by(o.to), plan: o.plan.map(by) })),
    doors: room.doors.map((d) => ({ ...d, pointer: local(d.pointer), from: by(d.from), to: by(d.to), hinge: by(d.hinge), latch: by(d.latch), tip: by(d.tip) })),
    partitions: room.partitions.map((p) => ({ ...p, pointer: local(p.pointer), from: by(p.from), to: by(p.to) })),
  };
}
