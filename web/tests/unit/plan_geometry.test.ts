import assert from "node:assert/strict";
import { test } from "node:test";
import type { PlanPoint } from "../../src/api/contract";
import { contains, distanceToBoundary, doubleArea, isSimple, nearestWall, planMillimetres, rectangleAbout, spanningTree, wallsOf } from "../../src/plan/geometry";
import { metres } from "../../src/units/system";
import { fitted, pannedBy, pinched, pixels, planFromScreen, planLength, screenFromPlan, screenLength, screenPoint, zoomedAbout } from "../../src/plan/view";

const L_SHAPE: PlanPoint[] = [
  [0, 0],
  [6, 0],
  [6, 3],
  [3, 3],
  [3, 5],
  [0, 5],
];
const near = (a: readonly number[], b: readonly number[], within = 1e-9) => a.forEach((v, i) => assert.ok(Math.abs(v - b[i]!) <= within, `${a} is not ${b}`));

test("a view shows every corner within its margins and its middle in the middle", () => {
  const margins = { left_px: 40, top_px: 30, right_px: 60, bottom_px: 50 };
  const view = fitted(L_SHAPE, 700, 500, margins);
  for (const p of L_SHAPE) {
    const { x_px, y_px } = screenFromPlan(view, p);
    assert.ok(x_px >= 40 - 1e-6 && x_px <= 640 + 1e-6 && y_px >= 30 - 1e-6 && y_px <= 450 + 1e-6);
  }
  near([screenFromPlan(view, [3, 2.5]).x_px, screenFromPlan(view, [3, 2.5]).y_px], [340, 240], 1e-6);
  // y runs up on the plan and down on the screen.
  assert.ok(screenFromPlan(view, [0, 5]).y_px < screenFromPlan(view, [0, 0]).y_px);
});

test("a place goes to the screen and back", () => {
  const view = { px_per_m: 47.3, origin: screenPoint(12, 400) };
  near(planFromScreen(view, screenFromPlan(view, [3.25, -1.5])), [3.25, -1.5]);
  assert.equal(planLength(view, screenLength(view, metres(2))), 2);
});

test("pixels and metres cannot stand for each other", () => {
  const view = { px_per_m: 50, origin: screenPoint(0, 0) };
  // @ts-expect-error a place of the plan is none of the screen
  assert.ok(planFromScreen(view, [1, 2]).every(Number.isNaN));
  // @ts-expect-error a place of the screen is none of the plan
  assert.throws(() => screenFromPlan(view, screenPoint(1, 2)));
  // @ts-expect-error a length in pixels is none in metres
  assert.equal(screenLength(view, pixels(2)), 100);
});

test("zooming keeps the place under the pointer, and has its bounds", () => {
  const view = { px_per_m: 50, origin: screenPoint(100, 300) };
  const about = screenPoint(222, 111);
  const under = planFromScreen(view, about);
  near(planFromScreen(zoomedAbout(view, about, 1.7), about), under);
  assert.equal(zoomedAbout(view, about, 1e9).px_per_m, 2000);
  assert.equal(zoomedAbout(view, about, 1e-9).px_per_m, 4);
  near(planFromScreen(pannedBy(view, 30, -20), screenPoint(252, 91)), under);
});

test("two fingers carry what lies under them", () => {
  const view = { px_per_m: 50, origin: screenPoint(0, 400) };
  const before = [screenPoint(100, 100), screenPoint(200, 100)] as const;
  const after = [screenPoint(80, 150), screenPoint(280, 150)] as const;
  const next = pinched(view, before, after);
  assert.equal(next.px_per_m, 100);
  near(planFromScreen(next, after[0]), planFromScreen(view, before[0]));
  near(planFromScreen(next, after[1]), planFromScreen(view, before[1]));
});

test("inside, outside and beside an L-shaped floor", () => {
  assert.ok(contains(L_SHAPE, [1, 4]));
  assert.ok(!contains(L_SHAPE, [5, 4]));
  assert.equal(distanceToBoundary(L_SHAPE, [1, 4]), 1);
  assert.equal(doubleArea(L_SHAPE), 2 * 24);
});

test("an outline that crosses or folds is not simple", () => {
  assert.ok(isSimple(L_SHAPE));
  assert.ok(!isSimple([[0, 0], [2, 2], [2, 0], [0, 2]]));
  assert.ok(!isSimple([[0, 0], [2, 0], [2, 0], [0, 2]]));
  assert.ok(!isSimple([[0, 0], [2, 0]]));
});

test("walls run counter-clockwise with the room at their left", () => {
  const walls = wallsOf(L_SHAPE);
  assert.equal(walls.length, 6);
  for (const wall of walls) {
    const beside: PlanPoint = [0.5 * (wall.from[0] + wall.to[0]) + 0.1 * wall.inward[0], 0.5 * (wall.from[1] + wall.to[1]) + 0.1 * wall.inward[1]];
    assert.ok(contains(L_SHAPE, beside), `wall ${wall.index}`);
  }
  const found = nearestWall(L_SHAPE, [2.5, 0.3])!;
  assert.deepEqual([found.wall.index, found.offset_m, found.distance_m], [0, 2.5, 0.3]);
});

test("a turned rectangle keeps its middle and sides", () => {
  const r = rectangleAbout([2, 3], 4, 1, 90);
  near(r[0]!, [2.5, 1]);
  near(r[2]!, [1.5, 5]);
});

test("places are written to the millimetre, without a negative zero", () => {
  assert.deepEqual(planMillimetres([1.23449, -0.0001]), [1.234, 0]);
  assert.ok(Object.is(planMillimetres([0, -0.0001])[1], 0));
});

test("a row is joined neighbour to neighbour", () => {
  const links = spanningTree([[0, 0], [6, 0], [2, 0], [4, 0]]);
  assert.equal(links.length, 3);
  assert.equal(links.reduce((sum, [a, b]) => sum + Math.abs(a[0] - b[0]), 0), 6);
  assert.deepEqual(spanningTree([[1, 1]]), []);
});
