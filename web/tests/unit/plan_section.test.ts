import assert from "node:assert/strict";
import { test } from "node:test";
import type { PlanPoint } from "../../src/api/contract";
import { profileOf, sectionOf, stretchesIn, usualCut } from "../../src/plan/cut";
import { readingRoom } from "../support/room";

const U_SHAPE: PlanPoint[] = [[0, 0], [10, 0], [10, 6], [7, 6], [7, 2], [3, 2], [3, 6], [0, 6]];

test("a cut through a U meets it twice, through its foot once", () => {
  assert.deepEqual(stretchesIn(U_SHAPE, { along: "x", at_m: 4 }), [[0, 3], [7, 10]]);
  assert.deepEqual(stretchesIn(U_SHAPE, { along: "x", at_m: 1 }), [[0, 10]]);
  assert.deepEqual(stretchesIn(U_SHAPE, { along: "y", at_m: 5 }), [[0, 2]]);
  assert.deepEqual(stretchesIn(U_SHAPE, { along: "x", at_m: 7 }), []);
});

test("a corner on the cut counts once", () => {
  assert.deepEqual(stretchesIn([[0, 0], [4, 2], [0, 4]], { along: "x", at_m: 2 }), [[0, 4]]);
});

test("what the cut goes through stands apart from what is behind; what is in front is not drawn", () => {
  const section = sectionOf(readingRoom(), { along: "x", at_m: 4.8 });
  assert.deepEqual(section.room, [[0, 14.4]]);
  assert.deepEqual(section.furniture.filter((f) => f.isCut).map((f) => [f.id, f.from_m, f.to_m, f.top_m])[0], ["table-5", 1.4, 3.4, 0.74]);
  assert.ok(section.furniture.some((f) => f.id === "shelf-1" && !f.isCut && f.top_m === 1.9));
  assert.ok(!section.furniture.some((f) => f.id === "table-1"), "the tables by the windows are behind the eye");
  assert.deepEqual(section.luminaires.filter((l) => l.isCut).map((l) => l.id), ["R-B1", "R-B2", "R-B3", "R-B4"]);
  assert.ok(section.openings.every((o) => o.kind === "window") && section.openings.length === 0, "the windows are in the wall behind the eye");
});

test("along y the eye looks to the west: windows are cut, the west door is seen", () => {
  const section = sectionOf(readingRoom(), { along: "y", at_m: 5 });
  assert.deepEqual(section.openings.map((o) => [o.id, o.isCut, o.from_m, o.bottom_m, o.top_m]), [["W2", true, 0, 0.9, 3]]);
  assert.deepEqual(section.doors.map((d) => [d.id, d.isCut, d.from_m, d.to_m]), [["D2", false, 6.3, 7.3]]);
  assert.deepEqual(section.skylights, []);
  assert.deepEqual(sectionOf(readingRoom(), { along: "y", at_m: 7 }).skylights, [[5.3, 6.5]]);
});

test("the usual cut runs through the middle along the longer side", () => {
  assert.deepEqual(usualCut(readingRoom().floor), { along: "x", at_m: 4.8 });
  assert.deepEqual(usualCut([[0, 0], [2, 0], [2, 8], [0, 8]]), { along: "y", at_m: 1 });
});

test("the strip of light is the row or column of the field that is nearest", () => {
  const field = { x0_m: 1, y0_m: 2, step_m: 0.5, columns: 2, rows: 3, low_lx: 1, high_lx: 10, bytes: btoa(String.fromCharCode(1, 2, 3, 4, 5, 6)) };
  assert.deepEqual(profileOf(field, { along: "x", at_m: 2.6 }), [{ at_m: 1, byte: 3 }, { at_m: 1.5, byte: 4 }]);
  assert.deepEqual(profileOf(field, { along: "y", at_m: 1.5 }).map((p) => p.byte), [2, 4, 6]);
  assert.deepEqual(profileOf(field, { along: "x", at_m: 9 }), []);
  assert.deepEqual(profileOf({ ...field, rows: 9 }, { along: "x", at_m: 2 }), []);
});
