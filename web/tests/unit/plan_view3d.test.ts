import assert from "node:assert/strict";
import { test } from "node:test";
import { heldOrbit, orbitAfterKey } from "../../src/plan/view3d";

const usual = { around_deg: 30, above_deg: 42, away_m: 20 };

test("keys walk round the room and go nearer, never under the floor", () => {
  assert.equal(orbitAfterKey(usual, "ArrowRight", usual)!.around_deg, 36);
  assert.ok(orbitAfterKey(usual, "+", usual)!.away_m < 20);
  assert.deepEqual(orbitAfterKey({ ...usual, away_m: 3 }, "0", usual), usual);
  assert.equal(orbitAfterKey(usual, "x", usual), null);
  let orbit = usual;
  for (let i = 0; i < 50; i += 1) orbit = orbitAfterKey(orbit, "ArrowDown", usual)!;
  assert.equal(orbit.above_deg, 4);
  assert.deepEqual(heldOrbit({ around_deg: -30, above_deg: 120, away_m: 0 }), { around_deg: 330, above_deg: 88, away_m: 1.5 });
});
