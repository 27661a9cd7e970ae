import assert from "node:assert/strict";
import { test } from "node:test";
import type { Room, WhatIfVariant } from "../../src/api/contract";
import { placed, spoken, variedIn } from "../../src/pages/room/what_if";

const variant = (value: string, mean: number): WhatIfVariant => {
  const figure = { mean, low: 0.8 * mean, high: 1.2 * mean };
  return { value, connected_w: 100, kwh: figure, under_lit_h: figure, over_lit_kwh: figure, taken_from_people: figure, dips_on_people: figure, lit_for_nobody_h: figure, does_not_stand: [] };
};

test("what is varied are the rules that the sequence has", () => {
  const room = { sequence: { pointer: "/designs/0/sequences/0" } } as Room;
  const document = { designs: [{ sequences: [{ vacancy: { delay: "15 min" }, trim: {}, daylight: [] }] }] };
  assert.deepEqual(variedIn(document, room).map((one) => one.what), ["delay", "vacancy-level", "trim"]);
  assert.deepEqual(variedIn(document, { sequence: null } as Room), []);
});

test("more energy stands higher, no energy at the foot, and intervals about their mean", () => {
  const points = placed([variant("5 min", 50), variant("10 min", 100)]);
  assert.ok(points[1]!.y < points[0]!.y);
  assert.ok(points[0]!.x < points[1]!.x);
  for (const p of points) assert.ok(p.high < p.y && p.y < p.low);
  // Linear: half the energy, half the height over the foot.
  const foot = placed([variant("0", 0)])[0]!.y;
  assert.ok(Math.abs(foot - points[0]!.y - 0.5 * (foot - points[1]!.y)) < 1e-9);
});

test("a share is said in per cent, a time as it was typed", () => {
  assert.equal(spoken("0.25"), "25\u00A0%");
  assert.equal(spoken("5 min"), "5 min");
});
