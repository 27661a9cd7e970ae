import assert from "node:assert/strict";
import { test } from "node:test";
import type { PlanPoint } from "../../src/api/contract";
import type { Surroundings } from "../../src/plan/document";
import { handleAt, handlesOf, objectAt, objectsIn, wallHandles } from "../../src/plan/hit";
import { keyed } from "../../src/plan/keys";
import type { ObjectKey } from "../../src/plan/objects";
import { step } from "../../src/plan/tools/machine";
import { arrayOver } from "../../src/plan/tools/placing";
import { type Effect, IDLE, type StateName, type Surrounded, type ToolEvent, type ToolState } from "../../src/plan/tools/tool";
import { SELECT, type ToolChoice } from "../../src/plan/tools/tool_choice";
import { screenPoint } from "../../src/plan/view";
import { readingRoom } from "../support/room";

const M_PER_PX = 0.02;

/** A hand with a tool on the invented room: what it did, and where it is. */
class Hand {
  state: ToolState = IDLE;
  effects: Effect[] = [];
  selection: ReadonlySet<ObjectKey>;
  around: Surroundings = { room: readingRoom(), lookUp: () => undefined };
  constructor(
    public tool: ToolChoice = SELECT,
    selection: ObjectKey[] = [],
  ) {
    this.selection = new Set(selection);
  }
  private context(): Surrounded {
    return { around: this.around, selection: this.selection, tool: this.tool, m_per_px: M_PER_PX };
  }
  send(event: ToolEvent): this {
    const result = step(this.state, event, this.context());
    this.state = result.state;
    for (const effect of result.effects) {
      this.effects.push(effect);
      if (effect.kind === "select") this.selection = effect.keys;
      if (effect.kind === "tool") this.tool = effect.tool;
    }
    return this;
  }
  private pointer(kind: "down" | "move" | "up", at: PlanPoint, keys: { shift?: boolean; alt?: boolean } = {}): this {
    const { room } = this.around;
    const scale = { m_per_px: M_PER_PX };
    const handles = this.tool.name === "edit_walls" ? wallHandles(room.floor) : handlesOf(room, this.selection, scale);
    return this.send({
      kind,
      at,
      at_px: screenPoint(at[0] / M_PER_PX, -at[1] / M_PER_PX),
      over: this.tool.name === "edit_walls" ? null : objectAt(room, at, scale, this.selection),
      handle: handleAt(handles, at, scale),
      shift: keys.shift ?? false,
      alt: keys.alt ?? false,
    });
  }
  down = (at: PlanPoint, keys = {}) => this.pointer("down", at, keys);
  move = (at: PlanPoint, keys = {}) => this.pointer("move", at, keys);
  up = (at: PlanPoint, keys = {}) => this.pointer("up", at, keys);
  escape = () => this.send({ kind: "key", key: "Escape", shift: false, alt: false, ctrl: false });
  get commits() {
    return this.effects.flatMap((e) => (e.kind === "commit" ? [e.action] : []));
  }
  get refusals() {
    return this.effects.flatMap((e) => (e.kind === "refuse" ? [e.text] : []));
  }
  get lastDraft() {
    return this.effects.filter((e) => e.kind === "draft").pop();
  }
}

/** A way into every state. */
const WAYS: Record<StateName, () => Hand> = {
  idle: () => new Hand(),
  pointing: () => new Hand().down([5.6, 2]),
  dragging: () => new Hand().down([5.6, 2]).move([6.2, 2.3]),
  boxing: () => new Hand().down([0.4, 0.4]).move([3, 3]),
  rotating: () => new Hand(SELECT, ["luminaire:R-A2"]).down([5.6 + 1.2 + 22 * M_PER_PX, 2]),
  resizing: () => new Hand(SELECT, ["furniture:table-1"]).down([1.4, 1.2]),
  reshaping: () => new Hand({ name: "edit_walls" }).down([14.4, 9.6]),
  placing: () => new Hand({ name: "add_luminaire", type: "pendant" }).down([3, 3]).move([6, 3]),
  drawing: () => new Hand({ name: "draw", thing: "furniture" }).down([3, 3]).move([4, 4]),
  drawing_on_wall: () => new Hand({ name: "add_on_wall", thing: "window" }).down([4, 9.6]).move([5, 9.6]),
  measuring: () => new Hand({ name: "measure" }).down([1, 1]).move([3, 1]),
};

for (const name of Object.keys(WAYS) as StateName[]) {
  test(`Escape leads from ${name} to idle and commits nothing`, () => {
    const hand = WAYS[name]();
    assert.equal(hand.state.name, name);
    hand.escape();
    assert.equal(hand.state.name, "idle");
    assert.deepEqual(hand.commits, []);
    if (name !== "idle") assert.deepEqual(hand.lastDraft, { kind: "draft", action: null });
  });
  test(`a lost pointer leads from ${name} to idle and commits nothing`, () => {
    const hand = WAYS[name]().send({ kind: "lost" });
    assert.equal(hand.state.name, "idle");
    assert.deepEqual(hand.commits, []);
  });
}

test("Escape lays down the tool, then lets go of the selection", () => {
  const hand = new Hand({ name: "measure" }, ["luminaire:R-A2"]).escape();
  assert.deepEqual([hand.tool, hand.selection.size], [SELECT, 1]);
  hand.escape();
  assert.equal(hand.selection.size, 0);
});

test("a click selects, with Shift adds and takes away", () => {
  const hand = new Hand().down([5.6, 2]).up([5.6, 2]);
  assert.deepEqual([...hand.selection], ["luminaire:R-A2"]);
  hand.down([8.8, 2], { shift: true }).up([8.8, 2], { shift: true });
  assert.deepEqual([...hand.selection], ["luminaire:R-A2", "luminaire:R-A3"]);
  hand.down([5.6, 2], { shift: true }).up([5.6, 2], { shift: true });
  assert.deepEqual([...hand.selection], ["luminaire:R-A3"]);
  hand.down([0.5, 3]).up([0.5, 3]);
  assert.equal(hand.selection.size, 0);
  assert.deepEqual(hand.commits, []);
});

test("a hand that trembles does not drag", () => {
  const hand = new Hand().down([5.6, 2]).move([5.6 + 3 * M_PER_PX, 2]).up([5.6 + 3 * M_PER_PX, 2]);
  assert.deepEqual(hand.commits, []);
  assert.deepEqual([...hand.selection], ["luminaire:R-A2"]);
});

test("a drag drafts on the way and is one entry at its end", () => {
  const hand = new Hand().down([5.6, 2]).move([6, 2.4]).move([6.51, 2.82]).up([6.51, 2.82]);
  const drafts = hand.effects.flatMap((e) => (e.kind === "draft" && e.action !== null ? [e.action.undo] : []));
  assert.deepEqual(drafts, ["later", "later"]);
  assert.equal(hand.commits.length, 1);
  assert.deepEqual(hand.commits[0]!.edits, [{ op: "replace", path: "/designs/1/luminaires/1/at", value: [6.5, 2.8, 2.8] }]);
  assert.equal(hand.commits[0]!.undo, "now");
});

test("a drag that ends where it began is no entry", () => {
  const hand = new Hand().down([5.6, 2]).move([6.3, 2.6]).move([5.6, 2]).up([5.6, 2]);
  assert.deepEqual(hand.commits, []);
  assert.deepEqual(hand.lastDraft, { kind: "draft", action: null });
});

test("what is selected moves together; the one that is held comes to rest", () => {
  const hand = new Hand(SELECT, ["luminaire:R-A1", "luminaire:R-A2", "device:R-P1"]).down([5.6, 2]).move([5.61, 2.97]).up([5.61, 2.97]);
  assert.equal(hand.commits[0]!.label, "move 2 luminaires and 1 device");
  const by = hand.commits[0]!.edits.map((e) => e.value as number[]);
  assert.deepEqual(by, [[2.4, 2.95, 2.8], [5.6, 2.95, 2.8], [7.2, 4.25, 3.3]]);
});

test("Alt sets free of lines and grid, Shift keeps the direction", () => {
  const free = new Hand().down([5.6, 2]).move([5.613, 2.507], { alt: true }).up([5.613, 2.507], { alt: true });
  assert.deepEqual(free.commits[0]!.edits[0]!.value, [5.613, 2.507, 2.8]);
  const straight = new Hand().down([5.6, 2]).move([6.71, 2.3], { shift: true }).up([6.71, 2.3], { shift: true });
  assert.deepEqual(straight.commits[0]!.edits[0]!.value, [6.7, 2, 2.8]);
});

test("guides show while a thing rests on a line", () => {
  const hand = new Hand().down([5.6, 2]).move([7.0, 4.78]);
  assert.ok(hand.state.name === "dragging" && hand.state.guides.some((g) => g.kind === "align"));
  assert.deepEqual(hand.state.by, [1.4000000000000004, 2.8]);
});

test("a box selects equipment, or the tables in it when there is none", () => {
  const hand = new Hand().down([0.2, 0.6]).move([6.7, 2.6]).up([6.7, 2.6]);
  assert.deepEqual([...hand.selection].sort(), ["luminaire:R-A1", "luminaire:R-A2"]);
  assert.deepEqual(objectsIn(readingRoom(), { low: [0.3, 7.8], high: [2, 8.6] }), ["furniture:shelf-1"]);
});

test("a handle turns by steps of 15 degrees", () => {
  const hand = WAYS.rotating();
  hand.move([5.6 + 1, 2 + 0.97]).up([5.6 + 1, 2 + 0.97]);
  assert.deepEqual(hand.commits[0]!.edits, [{ op: "add", path: "/designs/1/luminaires/1/rotation", value: "45 deg" }]);
});

test("a corner resizes against the opposite corner", () => {
  const hand = WAYS.resizing().move([1.0, 0.82]).up([1.0, 0.82]);
  assert.deepEqual(hand.commits[0]!.edits[0]!.value, [[1, 0.8], [3.4, 0.8], [3.4, 2.4], [1, 2.4]]);
  assert.match(hand.commits[0]!.label, /^resize/);
});

test("the end of a window moves along its wall", () => {
  const hand = new Hand(SELECT, ["opening:W2"]).down([6, 0]).move([6.52, 0.2]).up([6.52, 0.2]);
  assert.deepEqual(hand.commits[0]!.edits, [{ op: "add", path: "/spaces/1/openings/1/width", value: "2.50 m" }]);
});

test("a corner of the floor moves, and a wall square to itself", () => {
  const corner = WAYS.reshaping().move([15.02, 10.03]).up([15.02, 10.03]);
  assert.deepEqual(corner.commits[0]!.edits[0]!.value, [[0, 0], [14.4, 0], [15, 10.05], [0, 9.6]]);
  const wall = new Hand({ name: "edit_walls" }).down([7.2, 9.6]).move([8, 10.11]).up([8, 10.11]);
  assert.deepEqual(wall.commits[0]!.edits[0]!.value, [[0, 0], [14.4, 0], [14.4, 10.1], [0, 10.1]]);
  const crossed = WAYS.reshaping().move([-3, -3]).up([-3, -3]);
  assert.deepEqual(crossed.commits, []);
  assert.equal(crossed.refusals.length, 1);
});

test("a click adds one luminaire, a drag a row or an array at even distances", () => {
  const one = new Hand({ name: "add_luminaire", type: "washer" }).down([3.02, 3.3]).up([3.02, 3.3]);
  assert.equal(one.commits[0]!.label, "add a luminaire W1");
  assert.deepEqual(arrayOver([1, 1], [1, 1]), [[1, 1]]);
  assert.deepEqual(arrayOver([1, 1], [7, 1.1]).map((p) => p[0]), [1, 3, 5, 7]);
  assert.ok(arrayOver([1, 1], [7, 1.1]).every((p) => p[1] === 1), "a row stands where it began");
  assert.equal(arrayOver([1, 1], [5, 3]).length, 3 * 2);
});

test("devices, tables, windows and doors are added with their tool", () => {
  const sensor = new Hand({ name: "add_device", device: "occupancy_sensor" }).down([5, 6.1]).up([5, 6.1]);
  assert.equal(sensor.commits[0]!.label, "add an occupancy sensor");
  const table = WAYS.drawing().up([4, 4]);
  assert.equal(table.commits[0]!.label, "add a table");
  const window = WAYS.drawing_on_wall().up([5, 9.6]);
  assert.deepEqual((window.commits[0]!.edits[0]!.value as { offset: string; width: string }).width, "1.00 m");
  const nowhere = new Hand({ name: "add_on_wall", thing: "door" }).down([7, 4]);
  assert.deepEqual([nowhere.state.name, nowhere.refusals.length], ["idle", 1]);
});

test("a measure stays until the next press", () => {
  const hand = WAYS.measuring().up([3, 1]);
  assert.ok(hand.state.name === "measuring" && hand.state.isDone);
  hand.move([9, 9]);
  assert.ok(hand.state.name === "measuring" && hand.state.end[0] === 3);
  hand.down([2, 2]);
  assert.ok(hand.state.name === "measuring" && !hand.state.isDone);
  assert.deepEqual(hand.commits, []);
});

test("keys move, turn, delete and duplicate what is selected", () => {
  const around: Surroundings = { room: readingRoom(), lookUp: () => undefined };
  const selection = new Set<ObjectKey>(["luminaire:R-A2"]);
  const press = (key: string, held: Partial<{ shift: boolean; ctrl: boolean; alt: boolean }> = {}) => {
    const outcome = keyed(around, selection, { key, shift: false, alt: false, ctrl: false, ...held });
    assert.ok(outcome !== null && "edits" in outcome, key);
    return outcome;
  };
  assert.deepEqual(press("ArrowRight").edits[0]!.value, [5.65, 2, 2.8]);
  assert.deepEqual(press("ArrowDown", { shift: true }).edits[0]!.value, [5.6, 1.5, 2.8]);
  assert.deepEqual(press("r").edits[0]!.value, "90 deg");
  assert.equal(press("Delete").label, "delete luminaire R-A2");
  const copy = press("d", { ctrl: true });
  assert.deepEqual([copy.label, [...copy.select!]], ["duplicate 1 object", ["luminaire:R-A5"]]);
  assert.equal(keyed(around, selection, { key: "x", shift: false, alt: false, ctrl: false }), null);
  assert.equal(keyed(around, new Set(), { key: "Delete", shift: false, alt: false, ctrl: false }), null);
});

test("devices lie over luminaires, these over tables, the floor is nobody's", () => {
  const room = readingRoom();
  room.devices[2] = { ...room.devices[2]!, at: [5.6, 2, 3.3] };
  const scale = { m_per_px: M_PER_PX };
  assert.equal(objectAt(room, [5.6, 2], scale), "device:R-P1");
  assert.equal(objectAt(room, [6.5, 2], scale), "luminaire:R-A2");
  assert.equal(objectAt(room, [5.2, 1.6], scale), "furniture:table-2");
  assert.equal(objectAt(room, [5, 0.02], scale), "opening:W2");
  assert.equal(objectAt(room, [14.4, 6.8], scale), "door:D1");
  assert.equal(objectAt(room, [12.9, 8.8], scale), "partition:screen");
  assert.equal(objectAt(room, [1.3, 2.45], scale), "task_area:south");
  assert.equal(objectAt(room, [0.6, 3.9], scale), null);
  // A station on the wall is drawn whole inside the room, and is taken hold of there.
  assert.equal(objectAt(room, [14.4 - 13 * M_PER_PX, 6.25], scale), "device:R-S1");
});
