import assert from "node:assert/strict";
import { test } from "node:test";
import type { PlanPoint } from "../../src/api/contract";
import { snapped } from "../../src/plan/snap";

const room = { low: [0, 0] as PlanPoint, high: [10, 6] as PlanPoint };
const close = (a: PlanPoint, b: PlanPoint) => assert.ok(Math.hypot(a[0] - b[0], a[1] - b[1]) < 1e-9, `${a} is not ${b}`);

test("alone, a thing rests on the grid of five centimetres", () => {
  const { at, guides } = snapped([1.237, 2.061], { others: [], room, reach_m: 0.1 });
  close(at, [1.25, 2.05]);
  assert.deepEqual(guides, []);
});

test("a line that others stand on comes before the grid, and is drawn through all of them", () => {
  const { at, guides } = snapped([4.03, 2.06], { others: [[1, 2.013], [8, 2.013]], room, reach_m: 0.1 });
  close(at, [4.05, 2.013]);
  assert.deepEqual(guides, [{ kind: "align", from: [1, 2.013], to: [8, 2.013] }]);
});

test("of two lines the nearer holds", () => {
  const { at } = snapped([3, 2.06], { others: [[1, 2], [8, 2.1]], room, reach_m: 0.1 });
  close(at, [3, 2.1]);
});

test("beyond reach nothing pulls", () => {
  const { at } = snapped([3, 2.2], { others: [[1, 2.04]], room, reach_m: 0.1 });
  close(at, [3, 2.2]);
});

test("the middle of the room is a line", () => {
  const { at, guides } = snapped([5.04, 1.3], { others: [], room, reach_m: 0.06 });
  close(at, [5, 1.3]);
  assert.equal(guides[0]?.kind, "centre");
});

test("on a row, equal spacing holds: between two, and beyond the last", () => {
  const others: PlanPoint[] = [[1, 2], [3.46, 2]];
  const beyond = snapped([5.9, 2.02], { others, room, reach_m: 0.1 });
  close(beyond.at, [5.92, 2]);
  const spacing = beyond.guides.find((g) => g.kind === "spacing");
  assert.ok(spacing?.kind === "spacing");
  assert.equal(spacing.stretches.length, 2);
  const lengths = spacing.stretches.map(([a, b]) => b[0] - a[0]);
  assert.ok(Math.abs(lengths[0]! - lengths[1]!) < 1e-9);
  close(snapped([2.2, 2.02], { others, room, reach_m: 0.1 }).at, [2.23, 2]);
});

test("off the row, its spacing does not pull", () => {
  const { at } = snapped([5.9, 3.3], { others: [[1, 2], [3.46, 2]], room, reach_m: 0.1 });
  close(at, [5.9, 3.3]);
});
