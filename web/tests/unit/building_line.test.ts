// The building's line: its words, and where everything stands in its picture.
import assert from "node:assert/strict";
import { test } from "node:test";
import type { BuildingLine, BuildingSearch, PointOfLine } from "../../src/api/contract";
import { buildingQuestion } from "../../src/app/proposals";
import { hrefOf, parseRoute } from "../../src/app/router";
import { AS_IT_STANDS, addedCost, firstLook, lineLabel, linePicture, nearestPoint, needsWords, neighbours, pickAt, roomsInWords, savedWords, searchWords, stepsWords, unpricedWords } from "../../src/proposals/line";

const SPACE = "\u00A0";
const figure = (mean: number) => ({ mean, low: 0.8 * mean, high: 1.2 * mean });
const point = (cost: number, kwh: number, designs: number[]): PointOfLine => ({
  cost: { least: cost - 50, most: cost + 50 },
  cost_over_least: { least: cost - 1000, most: cost - 1000 },
  saved_over_least_kwh: figure(900 - kwh),
  set_up_h: { least: 1, most: 2 },
  unpriced: [],
  kwh: figure(kwh),
  saving_against_as_found: figure(1 - kwh / 1000),
  designs,
});
const design = (index: number, name: string) => ({ design: index, name, cost: { least: 1, most: 2 }, kwh: figure(10) });

/** Two rooms and a pair: three steps with the knee after the first, and a design that stands off the line. */
const line = (): BuildingLine => ({
  rooms: [
    { spaces: ["a"], own: 0, hull: [1, 2], designs: [design(1, "one sensor"), design(2, "two sensors"), design(0, "the document's own")] },
    { spaces: ["b", "c"], own: 0, hull: [4, 5, 6], designs: [design(4, "hand"), design(5, "motion"), design(6, "daylight"), design(0, "the document's own")] },
  ],
  steps: [
    { room: 1, from: 4, to: 5, cost: { least: 80, most: 120 }, saved_kwh: figure(400), cost_per_kwh: 0.25 },
    { room: 0, from: 1, to: 2, cost: { least: -20, most: 420 }, saved_kwh: figure(100), cost_per_kwh: 2 },
    { room: 1, from: 5, to: 6, cost: { least: 700, most: 900 }, saved_kwh: figure(50), cost_per_kwh: 16 },
  ],
  sums: [point(1000, 900, [1, 4]), point(1100, 500, [1, 5]), point(1300, 400, [2, 5]), point(2100, 350, [2, 6])],
  points: [
    { name: "least cost", steps: 0 },
    { name: "most for the building's money", steps: 1 },
    { name: "least energy", steps: 3 },
  ],
  stands: point(1900, 700, [0, 0]),
});
const building = { rooms: [{ id: "a", number: "1.01", name: "Office" }, { id: "b", number: "1.02", name: "Cell" }] } as unknown as Parameters<typeof roomsInWords>[1];

test("rooms are called by number and name, and those alike are counted", () => {
  assert.equal(roomsInWords(["a"], building), "1.01 Office");
  assert.equal(roomsInWords(["b", "c"], building), "1.02 Cell and 1 alike");
  assert.equal(roomsInWords(["gone"], building), "gone");
});

test("a search says which room it is at and what is done there", () => {
  const search: BuildingSearch = { spaces: ["b", "c"], rooms_done: 2, rooms_total: 14, stage: "designs of 1.02", done: 12, total: 60 };
  assert.equal(searchWords(search, building), "room 3 of 14, 1.02 Cell and 1 alike: designs of 1.02: 12 of 60");
  assert.equal(searchWords({ ...search, stage: "", done: 0, total: 0 }, building), "room 3 of 14, 1.02 Cell and 1 alike");
  assert.equal(searchWords({ ...search, stage: "light", total: 0 }, building), "room 3 of 14, 1.02 Cell and 1 alike: light");
});

test("a point of the line is known by name, by its steps and by what lies beside it", () => {
  assert.equal(firstLook(line()), 1);
  assert.equal(firstLook({ ...line(), points: [{ name: "least cost", steps: 0 }] }), 0);
  assert.deepEqual([0, 1, 2, 3].map((n) => pickAt(line(), n)), ["least cost", "most for the building's money", null, "least energy"]);
  assert.equal(stepsWords(line(), 2), "2 of 3 steps");
  assert.equal(stepsWords({ ...line(), steps: line().steps.slice(0, 1) }, 1), "1 of 1 step");
  assert.equal(stepsWords({ ...line(), steps: [] }, 0), "no step to take");
  const beside = (n: number) => neighbours(line(), n, building, "GBP");
  assert.equal(beside(0).last, "Every room has the design that costs least.");
  assert.equal(beside(1).last, `Taken last: 1.02 Cell and 1 alike: motion in place of hand, 0.3${SPACE}GBP for each kWh a year less.`);
  assert.match(beside(1).next, /^Next: 1\.01 Office: two sensors in place of one sensor, /);
  assert.equal(beside(3).next, "No design on the line draws less.");
  assert.equal(lineLabel(line(), 1), "building, take: most for the building's money, 1 of 3 steps");
  assert.equal(lineLabel(line(), 2), "building, take: 2 of 3 steps");
});

test("what a step costs may be less than nothing at one end of the prices", () => {
  assert.equal(addedCost({ least: 80, most: 120 }, "GBP"), `80 to 120${SPACE}GBP`);
  assert.match(addedCost({ least: -20, most: 420 }, "GBP"), /^\u221220 to 420\u00A0GBP$/);
  assert.equal(addedCost({ least: 7, most: 7 }, "GBP"), `7${SPACE}GBP`);
  assert.equal(addedCost({ least: 1489.05, most: 1489.5 }, "GBP"), `1489 to 1490${SPACE}GBP`);
  assert.equal(addedCost({ least: 0, most: 0 }, "GBP"), "none");
});

test("what is saved over the least cost may be nothing, or more energy", () => {
  assert.equal(savedWords({ mean: 0, low: 0, high: 0 }, "si"), "none");
  assert.equal(savedWords({ mean: 350, low: 220, high: 470 }, "si"), `350${SPACE}kWh (220 to 470${SPACE}kWh)`);
  assert.equal(savedWords({ mean: -350, low: -470, high: -220 }, "si"), `350${SPACE}kWh more (220 to 470${SPACE}kWh)`);
});

test("pieces without a price, and what designs need besides, are said", () => {
  assert.equal(unpricedWords(line().sums[0]!), "");
  assert.equal(unpricedWords({ ...line().sums[0]!, unpriced: ["batten", "batten", "panel"] }), "No price is known of 3 pieces, which the cost leaves out: batten and panel.");
  assert.equal(needsWords({ shared_controllers: [], radio: null, no_radio: null, hvac: null }, "GBP"), "");
  const place = { space: "a", at: [0, 0, 3] as [number, number, number], device_kind: "x" };
  assert.equal(
    needsWords({ shared_controllers: [], radio: { devices: 9, gateways: [place], repeaters: [place, place], out_of_reach: [], weakest_availability: 0.99 }, no_radio: null, hvac: { new_contacts: 1, cost: { least: 40, most: 80 }, told: [{ space: "a", by: "new contact" }, { space: "b", by: "H" }] } }, "GBP"),
    `With it came 1 gateway and 2 repeaters for 9 radio devices. HVAC is now told of 2 rooms more, by 1 new contact at 40 to 80${SPACE}GBP.`,
  );
  const shared = { storey: "1", spaces: ["a", "b", "c"], replaced: 3, controllers: 1, cost_before: { least: 600, most: 900 }, cost_after: { least: 300, most: 400 }, is_least: true, why: [] };
  assert.match(needsWords({ shared_controllers: [shared], radio: null, no_radio: null, hvac: null }, "GBP"), /^1 load controller serves 3 rooms of a storey in place of 3, for 300 to 400.GBP in place of 600 to 900.GBP\.$/);
  assert.equal(needsWords({ shared_controllers: [], radio: null, no_radio: "no radio is chosen", hvac: null }, "GBP"), "Gateways and repeaters were not added: no radio is chosen.");
});

test("the picture falls from the left to the right, and what stands is in it", () => {
  const { points, stands, axes, labels } = linePicture(line(), 560, 270);
  points.slice(1).forEach((p, i) => {
    assert.ok(p.x_px > points[i]!.x_px && p.y_px > points[i]!.y_px);
  });
  for (const mark of [...points, stands!]) {
    assert.ok(mark.x_px >= axes.frame.left_px && mark.x_px <= axes.frame.right_px);
    assert.ok(mark.y_px >= axes.frame.top_px && mark.y_px <= axes.frame.bottom_px);
  }
  assert.deepEqual(labels.map((label) => label.text), ["least cost", "most for the building's money", "least energy", AS_IT_STANDS]);
  assert.equal(linePicture({ ...line(), stands: null }, 560, 270).stands, null);
});

test("words of one place stand together, and none stands on another", () => {
  const same = { ...line(), stands: line().sums[1]! };
  assert.deepEqual(linePicture(same, 560, 270).labels.map((label) => label.text), ["least cost", `most for the building's money, ${AS_IT_STANDS}`, "least energy"]);
  const boxes = linePicture(line(), 560, 270).labels.map(({ text, x, y, anchor }) => ({ left: anchor === "start" ? x : x - 5.9 * text.length, right: anchor === "start" ? x + 5.9 * text.length : x, top: y - 10, bottom: y + 3 }));
  boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b) => assert.ok(a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top)));
  assert.ok(boxes.every((box) => box.left >= 0 && box.right <= 560));
});

test("a hand takes the point that is nearest", () => {
  const { points } = linePicture(line(), 560, 270);
  points.forEach((p, n) => assert.equal(nearestPoint(points, p.x_px + 2, p.y_px - 2), n));
  assert.equal(nearestPoint(points, -100, -100), 0);
});

test("the page has an address, and its question names what stays", () => {
  assert.deepEqual(parseRoute("/projects/x/proposals"), { page: "building_proposals", project: "x" });
  assert.equal(hrefOf({ page: "building_proposals", project: "x" }), "/projects/x/proposals");
  assert.equal(buildingQuestion("x y", 3, null), "projects/x%20y/proposals?revision=3");
  assert.equal(buildingQuestion("x", 3, []), "projects/x/proposals?revision=3&keep=none");
  assert.equal(buildingQuestion("x", 3, ["stations"]), "projects/x/proposals?revision=3&keep=stations");
});
