import assert from "node:assert/strict";
import { test } from "node:test";
import type { Edit, PlanPoint, Room } from "../../src/api/contract";
import { type Action, type Outcome, isRefusal } from "../../src/plan/actions";
import { coordinateSet, linked, moved, outlined, placedOnWall, regrouped, removed, retyped, rotatedBy, rotationSet, withDevice, withFloor, withLuminaires, withOnWall, withOutline } from "../../src/plan/changes";
import { clipFrom, clipText, copied, pasted, placeBeside } from "../../src/plan/clipboard";
import { type Surroundings, idFrom, isId, nextId, writtenMetres } from "../../src/plan/document";
import { type ObjectKey, find } from "../../src/plan/objects";
import { readingRoom, typicalRoom } from "../support/room";

/** A room whose document says nothing but what the room shows. */
const within = (room: Room, said: Record<string, unknown> = {}): Surroundings => ({ room, lookUp: (pointer) => said[pointer] });
const done = (outcome: Outcome): Action => {
  assert.ok(!isRefusal(outcome), isRefusal(outcome) ? outcome.refused : "");
  return outcome;
};
const refused = (outcome: Outcome): string => {
  assert.ok(isRefusal(outcome), "was not refused");
  return outcome.refused;
};
const at = (room: Room, key: ObjectKey) => {
  const found = find(room, key);
  assert.ok(found !== null && "at" in found.object);
  return found.object.at;
};

test("moving writes the place, to the millimetre, and draws it", () => {
  const room = readingRoom();
  const action = done(moved(within(room), ["luminaire:R-A2", "device:R-O1"], [0.1234567, -0.05]));
  assert.deepEqual(action.edits, [
    { op: "replace", path: "/designs/1/luminaires/1/at", value: [5.723, 1.95, 2.8] },
    { op: "replace", path: "/designs/1/occupancy_sensors/0/at", value: [3.723, 3.55, 3.3] },
  ]);
  assert.deepEqual(at(action.room, "luminaire:R-A2"), [5.723, 1.95, 2.8]);
  assert.equal(action.label, "move 1 luminaire and 1 device");
  assert.equal(action.undo, "now");
  assert.deepEqual(at(room, "luminaire:R-A2"), [5.6, 2, 2.8], "the room that was given stays as it was");
});

test("moving by nothing is no entry", () => {
  const action = done(moved(within(readingRoom()), ["luminaire:R-A2"], [0, 0]));
  assert.deepEqual([action.edits.length, action.undo], [0, "never"]);
});

test("nothing is moved out of the room, but what stands outside may come in", () => {
  const room = readingRoom();
  assert.match(refused(moved(within(room), ["luminaire:R-A2"], [20, 0])), /^Luminaire R-A2 would stand outside/);
  assert.match(refused(moved(within(room), ["furniture:table-1"], [-1.5, 0])), /outside/);
  room.luminaires[1] = { ...room.luminaires[1]!, at: [20, 2, 2.8] };
  assert.equal(done(moved(within(room), ["luminaire:R-A2"], [-1, 0])).edits.length, 1);
});

test("a copy stands beside its original on a side that has room", () => {
  const room = readingRoom();
  room.luminaires[0] = { ...room.luminaires[0]!, at: [2.4, 0.3, 2.8] };
  assert.deepEqual(placeBeside(room, copied(within(room), ["luminaire:R-A1"])!), [2.9, 0.8]);
  assert.deepEqual(placeBeside(room, copied(within(room), ["luminaire:R-A2"])!), [6.1, 1.5]);
});

test("what stands there today is relocated", () => {
  const room = readingRoom();
  room.luminaires[0] = { ...room.luminaires[0]!, status: "remain" };
  const action = done(moved(within(room), ["luminaire:R-A1"], [1, 0]));
  assert.deepEqual(action.edits[1], { op: "add", path: "/designs/1/luminaires/0/status", value: "relocate" });
  assert.equal(action.room.luminaires[0]!.status, "relocate");
});

test("in a typical, places count from the corner of the room's floor", () => {
  const action = done(moved(within(typicalRoom()), ["luminaire:R.A2", "furniture:table-1"], [1, 0]));
  assert.deepEqual(action.edits, [
    { op: "replace", path: "/designs/1/typicals/0/luminaires/1/at", value: [6.6, 2, 2.8] },
    { op: "replace", path: "/typicals/2/space/furniture/0/plan", value: [[2.4, 1.2], [4.4, 1.2], [4.4, 2.4], [2.4, 2.4]] },
  ]);
  assert.deepEqual(at(action.room, "luminaire:R.A2"), [26.6, 12, 2.8]);
});

test("in a typical they count from where the service says that its corner lies", () => {
  const action = done(moved(within({ ...typicalRoom(), typical_origin: [19.5, 10] }), ["luminaire:R.A2"], [1, 0]));
  assert.deepEqual(action.edits[0]!.value, [7.1, 2, 2.8]);
});

test("a document whose coordinates are feet is written in feet", () => {
  const room = readingRoom();
  const feet = within(room, { "/coordinates": "ft" });
  assert.deepEqual(done(moved(feet, ["luminaire:R-A2"], [0.496, 0])).edits[0]!.value, [20, 6.5617, 9.1864]);
  assert.deepEqual(done(withLuminaires(feet, "pendant", [[3.048, 3.048]], 0)).edits[0]!.value, { id: "R-C5", type: "pendant", space: "R", at: [10, 10, 9.1864], circuit: "LP-1" });
  assert.deepEqual(done(withOutline(feet, "furniture", [[0, 0], [3.048, 0], [3.048, 1.524], [0, 1.524]])).edits[0]!.value, { id: "table-9", kind: "table", plan: [[0, 0], [10, 0], [10, 5], [0, 5]], top: "0.75 m" });
});

test("windows slide along their wall and stop at its ends", () => {
  const room = readingRoom();
  const action = done(moved(within(room), ["opening:W1"], [0.35, 2]));
  assert.deepEqual(action.edits, [{ op: "add", path: "/spaces/1/openings/0/offset", value: "1.25 m" }]);
  assert.deepEqual(action.room.openings[0]!.from, [1.25, 0]);
  const end = done(moved(within(room), ["opening:W1"], [-5, 0]));
  assert.equal(end.edits[0]!.value, "0.00 m");
});

test("a door keeps hinge, latch and swing when it is widened, also on a wall that runs down", () => {
  const room = readingRoom();
  const action = done(placedOnWall(within(room), "door:D2", 3, 2.3, 1.2));
  assert.deepEqual(action.edits, [{ op: "add", path: "/spaces/1/doors/1/width", value: "1.20 m" }]);
  const door = action.room.doors[1]!;
  const close = (a: PlanPoint, b: PlanPoint) => assert.ok(Math.hypot(a[0] - b[0], a[1] - b[1]) < 1e-9, `${a} is not ${b}`);
  close(door.hinge, [0, 7.3]);
  close(door.latch, [0, 6.1]);
  close(door.tip, [-1.2, 7.3]);
  assert.match(refused(placedOnWall(within(room), "door:D2", 3, 0, 12)), /too short/);
});

test("luminaires turn on the spot, several about their middle", () => {
  const room = readingRoom();
  const one = done(rotatedBy(within(room), ["luminaire:R-A1"], 90));
  assert.deepEqual(one.edits, [{ op: "add", path: "/designs/1/luminaires/0/rotation", value: "90 deg" }]);
  const two = done(rotatedBy(within(room), ["luminaire:R-A1", "luminaire:R-A2"], 90, true));
  assert.deepEqual(at(two.room, "luminaire:R-A1"), [4, 0.4, 2.8]);
  assert.deepEqual(at(two.room, "luminaire:R-A2"), [4, 3.6, 2.8]);
  assert.match(refused(rotatedBy(within(room), ["device:R-S1"], 90)), /no direction/);
});

test("a sensor's aim runs clockwise", () => {
  const room = readingRoom();
  const sensor = room.devices[0]!;
  room.devices[0] = { ...sensor, coverage: { ...sensor.coverage!, shape: "sector", aim_deg: 30 } };
  const action = done(rotatedBy(within(room), ["device:R-O1"], 90));
  assert.deepEqual(action.edits, [{ op: "add", path: "/designs/1/occupancy_sensors/0/aim", value: "300 deg" }]);
});

/** Applies edits as the service does, to see that they mean what the drawing shows. */
function applied(document: unknown, edits: readonly Edit[]): unknown {
  const copy: unknown = structuredClone(document);
  for (const { op, path, value } of edits) {
    const keys = path.split("/").slice(1);
    const last = keys.pop()!;
    let owner = copy as Record<string, unknown>;
    for (const key of keys) owner = owner[key] as Record<string, unknown>;
    if (Array.isArray(owner)) {
      const index = last === "-" ? owner.length : Number(last);
      assert.ok(index <= owner.length - (op === "add" ? 0 : 1), `${path} is beyond its list`);
      if (op === "remove") owner.splice(index, 1);
      else owner.splice(index, op === "replace" ? 1 : 0, value);
    } else if (op === "remove") delete owner[last];
    else {
      assert.ok(op === "add" || last in owner, `${path} is not there`);
      owner[last] = value;
    }
  }
  return copy;
}

function documentOf(room: Room): { designs: unknown[] } {
  const list = (kind: string) => room.devices.filter((d) => d.kind === kind).map((d) => ({ id: d.id, space: room.id, at: d.at }));
  return {
    designs: [
      {},
      {
        luminaires: room.luminaires.map((l) => ({ id: l.id, space: room.id, type: l.type, at: l.at })),
        groups: room.groups.map((g) => ({ id: g.id, channels: g.channels })),
        occupancy_sensors: list("occupancy_sensor"),
        photosensors: list("photosensor"),
        stations: list("station"),
      },
    ],
  };
}

test("deleting luminaires takes them out of every group and leaves the rest in place", () => {
  const room = readingRoom();
  room.groups[0] = { ...room.groups[0]!, channels: ["R-A1/down", "R-A1/up", "R-A2", "R-A3", "R-A4"] };
  const action = done(removed(within(room), ["luminaire:R-A1", "luminaire:R-A3", "device:R-O1"]));
  const after = applied(documentOf(room), action.edits) as { designs: [unknown, { luminaires: { id: string }[]; groups: { channels: string[] }[]; occupancy_sensors: { id: string }[] }] };
  const design = after.designs[1];
  assert.equal(design.luminaires.length, room.luminaires.length - 2);
  assert.ok(!design.luminaires.some((l) => l.id === "R-A1" || l.id === "R-A3"));
  assert.deepEqual(design.groups[0]!.channels, ["R-A2", "R-A4"]);
  assert.deepEqual(design.groups[5]!.channels, ["R-A2", "R-A4"]);
  assert.ok(!design.groups[4]!.channels.some((c) => c === "R-A1" || c === "R-A3"));
  assert.deepEqual(design.occupancy_sensors.map((s) => s.id), ["R-O2"]);
  assert.deepEqual(action.room.groups[0]!.channels, ["R-A2", "R-A4"], "drawn as written");
  assert.equal(action.select?.size, 0);
});

test("what stands there today is marked for removal instead of deleted", () => {
  const room = readingRoom();
  room.luminaires[0] = { ...room.luminaires[0]!, status: "remain" };
  const action = done(removed(within(room), ["luminaire:R-A1"]));
  assert.deepEqual(action.edits[0], { op: "add", path: "/designs/1/luminaires/0/status", value: "remove" });
  assert.ok(action.edits.every((e) => e.path !== "/designs/1/luminaires/0"));
  assert.ok(action.edits.some((e) => e.op === "remove" && e.path === "/designs/1/groups/0/channels/0"));
});

test("ids count on from their like and are free", () => {
  assert.equal(nextId(["G02-U01", "G02-U09"], "x", new Set(["G02-U10"])), "G02-U11");
  assert.equal(nextId([], "G 02/ä-L", new Set()), "G-02-L1");
  assert.equal(nextId(["north"], "L", new Set(["L1", "L2"])), "L3");
  assert.ok(isId(idFrom("..-§$%")) && isId(idFrom("a".repeat(200))));
  assert.equal(writtenMetres(1.2), "1.20 m");
  assert.equal(writtenMetres(1.2345), "1.235 m");
});

test("a new luminaire hangs as its neighbour and joins its groups", () => {
  const room = readingRoom();
  const action = done(withLuminaires(within(room), "pendant", [[7.2, 2.05]], 0));
  assert.deepEqual(action.edits[0], {
    op: "add",
    path: "/designs/1/luminaires/-",
    value: { id: "R-C5", type: "pendant", space: "R", at: [7.2, 2.05, 2.8], circuit: "LP-1" },
  });
  const joined = action.edits.slice(1).map((e) => [e.path, e.value]);
  assert.deepEqual(joined, [
    ["/designs/1/groups/0/channels/-", "R-C5"],
    ["/designs/1/groups/4/channels/-", "R-C5"],
    ["/designs/1/groups/5/channels/-", "R-C5"],
  ]);
  assert.deepEqual([...action.select!], ["luminaire:R-C5"]);
  assert.match(refused(withLuminaires(within(room), "pendant", [[40, 2]], 0)), /outside the room/);
  assert.match(refused(withLuminaires(within({ ...room, proposal: null, luminaires: [] }), "pendant", [[4, 2]], 0)), /no proposal/);
});

test("in a room of a typical it goes into the typical, under a name of its own there", () => {
  const room = typicalRoom();
  const action = done(withLuminaires(within(room), "pendant", [[27.2, 12.05]], 90));
  assert.deepEqual(action.edits[0], {
    op: "add",
    path: "/designs/1/typicals/0/luminaires/-",
    value: { id: "C5", type: "pendant", at: [7.2, 2.05, 2.8], rotation: "90 deg", circuit: "LP-1" },
  });
  assert.equal(action.edits[1]!.value, "C5");
  assert.deepEqual([...action.select!], ["luminaire:R.C5"]);
});

test("a list that the document lacks is made with its first object", () => {
  const room = { ...readingRoom(), task_areas: [], devices: [] };
  const action = done(withOutline(within(room), "task_area", [[1, 1], [2, 1], [2, 2], [1, 2]]));
  assert.deepEqual(action.edits, [{ op: "add", path: "/spaces/1/task_areas", value: [{ id: "task-1", plan: [[1, 1], [2, 1], [2, 2], [1, 2]] }] }]);
  const sensor = done(withDevice(within(room), "occupancy_sensor", [4, 4]));
  assert.equal(sensor.edits[0]!.path, "/designs/1/occupancy_sensors");
  const beside = done(withDevice(within(room, { "/designs/1/occupancy_sensors": [{ id: "R-O1", space: "elsewhere" }] }), "occupancy_sensor", [4, 4]));
  assert.equal(beside.edits[0]!.path, "/designs/1/occupancy_sensors/-", "the list holds those of other rooms");
  assert.match(refused(withOutline(within(room), "task_area", [[1, 1], [1, 1], [1, 1], [1, 1]])), /larger/);
});

test("a sensor acts on the groups about it, a station stands on the wall", () => {
  const room = readingRoom();
  const photosensor = done(withDevice(within(room), "photosensor", [7, 7.2])).edits[0]!.value as { groups: string[]; at: number[] };
  assert.deepEqual([photosensor.groups, photosensor.at], [["day-roof"], [7, 7.2, 3.3]]);
  const station = done(withDevice(within(room), "station", [0.4, 3])).edits[0]!.value as { buttons: string[]; at: number[] };
  assert.deepEqual([station.buttons, station.at], [["open", "off"], [0.05, 3, 1.2]]);
});

test("windows and doors are written along the wall, a click gives the usual width", () => {
  const room = readingRoom();
  const window = done(withOnWall(within(room), "window", 2, 4, 2.5));
  assert.deepEqual(window.edits[0], {
    op: "add",
    path: "/spaces/1/openings/-",
    value: { id: "W6", wall: 2, offset: "2.50 m", width: "1.50 m", kind: "window", sill: "0.90 m", height: "1.20 m" },
  });
  const door = done(withOnWall(within(room), "door", 0, 14.3, 14.3)).edits[0]!.value as { offset: string; width: string };
  assert.deepEqual([door.offset, door.width], ["13.50 m", "0.90 m"]);
});

test("walls move with what stands on them, and not so far that it cannot", () => {
  const room = readingRoom();
  const longer = done(withFloor(within(room), [[0, 0], [16, 0], [16, 9.6], [0, 9.6]]));
  assert.deepEqual(longer.edits, [{ op: "replace", path: "/spaces/1/floor", value: [[0, 0], [16, 0], [16, 9.6], [0, 9.6]] }]);
  assert.deepEqual(longer.room.doors[0]!.from, [16, 5.9]);
  assert.match(refused(withFloor(within(room), [[0, 0], [13, 0], [13, 9.6], [0, 9.6]])), /too short for W5/);
  assert.match(refused(withFloor(within(room), [[0, 0], [14.4, 9.6], [14.4, 0], [0, 9.6]])), /cross/);
  assert.match(refused(withFloor(within(room), [[0, 9.6], [14.4, 9.6], [14.4, 0], [0, 0]])), /inside out/);
  assert.match(refused(withFloor(within(typicalRoom()), typicalRoom().floor)), /typical reading/);
});

test("regrouping leaves the old group and joins the new one", () => {
  const room = readingRoom();
  const action = done(regrouped(within(room), ["luminaire:R-A2", "luminaire:R-A4"], "scene", "row-B"));
  assert.deepEqual(action.edits, [
    { op: "remove", path: "/designs/1/groups/0/channels/3" },
    { op: "remove", path: "/designs/1/groups/0/channels/1" },
    { op: "add", path: "/designs/1/groups/1/channels/-", value: "R-A2" },
    { op: "add", path: "/designs/1/groups/1/channels/-", value: "R-A4" },
  ]);
  assert.equal(action.label, "put 2 luminaires into group B");
  assert.equal(done(regrouped(within(room), ["luminaire:R-A2"], "scene", "row-A")).undo, "never");
  assert.match(refused(regrouped(within(room), ["luminaire:R-A2"], "scene", "day-south")), /no group/);
});

test("devices are made to talk by radio, those that do already stay", () => {
  const room = readingRoom();
  room.devices[1] = { ...room.devices[1]!, link: "radio" };
  const made = done(linked(within(room), ["device:R-O1", "device:R-O2", "luminaire:R-A1"], "radio"));
  assert.deepEqual(made.edits, [{ op: "add", path: "/designs/1/occupancy_sensors/0/link", value: "radio" }]);
  assert.equal(made.room.devices[0]!.link, "radio");
  assert.deepEqual(done(linked(within(room), ["device:R-O2"], "radio")).edits, []);
});

test("a luminaire of another type stays in its groups where a channel that they name is gone", () => {
  const room = readingRoom();
  const [first, ...others] = room.groups;
  const scene = (id: string, channel: string, index: number) => ({ ...first!, id, name: id, pointer: `/designs/1/groups/${index}`, channels: ["R-A1", channel] });
  const up_and_down = { ...room, groups: [scene("up", "R-A2/up", 0), scene("down", "R-A2/down", 1), ...others.filter((g) => g.strategy !== "scene")] };
  const changed = done(retyped(within(up_and_down), ["luminaire:R-A2"], "washer"));
  assert.deepEqual(changed.edits.slice(1), [
    { op: "replace", path: "/designs/1/groups/0/channels/1", value: "R-A2" },
    { op: "remove", path: "/designs/1/groups/1/channels/1" },
  ]);
  assert.deepEqual(changed.room.groups.slice(0, 2).map((g) => g.channels), [["R-A1", "R-A2"], ["R-A1"]]);
});

test("figures that are typed become edits, and the same figure none", () => {
  const room = readingRoom();
  assert.deepEqual(done(coordinateSet(within(room), ["luminaire:R-A2"], 2, 2.6)).edits, [{ op: "replace", path: "/designs/1/luminaires/1/at", value: [5.6, 2, 2.6] }]);
  assert.equal(done(coordinateSet(within(room), ["luminaire:R-A2"], 0, 5.6)).undo, "never");
  assert.deepEqual(done(rotationSet(within(room), ["luminaire:R-A2"], -90)).edits[0]!.value, "270 deg");
  assert.deepEqual(done(retyped(within(room), ["luminaire:R-A2"], "washer")).edits, [{ op: "replace", path: "/designs/1/luminaires/1/type", value: "washer" }]);
  assert.match(refused(coordinateSet(within(room), ["luminaire:R-A2"], 0, Number.NaN)), /number/);
  assert.match(refused(outlined(within(room), "furniture:table-1", [[0, 0], [1, 0], [1, 0], [0, 0]])), /vanish/);
});

test("a copy carries the document's keys but not what belongs to one place", () => {
  const room = readingRoom();
  const raw = { id: "R-A1", space: "R", type: "pendant", at: [2.4, 2, 2.8], tilt: "10 deg", emergency: { type: "own_battery", lights_egress: true }, tag: "EM1", address: "7" };
  const clip = copied(within(room, { "/designs/1/luminaires/0": raw }), ["luminaire:R-A1"])!;
  const action = done(pasted(within(room), clip, [3, 3]));
  assert.deepEqual(action.edits[0]!.value, { id: "R-A5", space: "R", type: "pendant", tilt: "10 deg", emergency: raw.emergency, at: [3, 3, 2.8] });
  assert.deepEqual(action.edits.slice(1).map((e) => e.path), ["/designs/1/groups/0/channels/-", "/designs/1/groups/4/channels/-", "/designs/1/groups/5/channels/-"]);
});

test("a copy goes through text into another room, without its groups", () => {
  const from = readingRoom();
  const clip = clipFrom(clipText(copied(within(from), ["luminaire:R-A1", "luminaire:R-A2", "device:R-P1", "furniture:table-1"])!))!;
  const to: Room = { ...readingRoom(), id: "Q", pointer: "/spaces/4", luminaires: [], devices: [], circuits: [] };
  const action = done(pasted(within(to, { "/designs/1/luminaires": [], "/designs/1/photosensors": [] }), clip, [5, 5]));
  const values = action.edits.map((e) => e.value as { id: string; at?: number[]; circuit?: string; space?: string; groups?: string[] });
  assert.deepEqual(values.map((v) => v.id), ["Q-L1", "Q-L2", "Q-P1", "table-9"]);
  assert.ok(Math.abs(values[1]!.at![0]! - values[0]!.at![0]! - 3.2) < 1e-9, "as far apart as they were");
  assert.equal(values[0]!.circuit, undefined, "the other room does not know that circuit");
  assert.ok(action.edits.every((e) => !e.path.includes("/channels/")));
  assert.equal(values[0]!.space, "Q");
});

test("a copy of a thing without a number is counted by its name", () => {
  const room = readingRoom();
  room.furniture[0] = { ...room.furniture[0]!, id: "desk" };
  const action = done(pasted(within(room), copied(within(room), ["furniture:desk"])!, [5, 5]));
  assert.equal((action.edits[0]!.value as { id: string }).id, "desk-1");
});

test("foreign text on the clipboard is not ours", () => {
  for (const text of [
    "",
    "hello halflight-objects/1",
    '{"format":"halflight-objects/1"}',
    '{"format":"halflight-objects/1","room":"R","middle":[0,0],"objects":[{"id":"a","list":"luminaires","value":{},"at":[0,"x"],"z_m":1}]}',
    '{"format":"halflight-objects/1","room":"R","middle":[0,0],"objects":[{"id":"a","list":"designs","value":{},"at":[0,0],"z_m":1}]}',
    '{"format":"halflight-objects/1","room":"R","middle":[0,1e99],"objects":[]}',
  ])
    assert.equal(clipFrom(text), null, text);
});
