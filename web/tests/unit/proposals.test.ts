// Proposals for a room: their words, the picture of the front and the small plans.
import assert from "node:assert/strict";
import { test } from "node:test";
import type { DrawnDesign, FirstCost, ProposedDesign, Proposals } from "../../src/api/contract";
import { keepText } from "../../src/app/proposals";
import { hrefOf, parseRoute } from "../../src/app/router";
import { daylightGroups, planInWords, roomWith } from "../../src/proposals/design_plan";
import { frontPicture, roundTicks } from "../../src/proposals/front";
import { costWords, hoursWords, inList, leftOut, letterOf, letterOfDesign, marginalWords, picksOf, quantityLines, refusals, sideBySide, takeLabel } from "../../src/proposals/words";
import { readingRoom } from "../support/room";

const cost = (least: number, most: number): FirstCost => ({ total: { least, most }, set_up_h: { least: 0.5, most: 1 }, quantities: [], unpriced: [] });
const figure = (mean: number) => ({ mean, low: 0.8 * mean, high: 1.2 * mean });
const design = (name: string, least: number, kwh: number, dominated_by?: number): ProposedDesign => ({
  name,
  cost: cost(least, least + 100),
  kwh: figure(kwh),
  saving_against_as_found: figure(1 - kwh / 400),
  under_lit_h: figure(0),
  taken_from_people: figure(1),
  why: [], gives_up: [], receptacles: null,
  ...(dominated_by === undefined ? {} : { dominated_by }),
});
const drawn = (index: number): DrawnDesign => ({ design: index, devices: [], groups: [], reach: null, sentence: [], edits: [] });

/** Five designs: own is left behind, 1, 2 and 4 are the front, of which 4 is the first in nothing. */
const proposals = (): Proposals => ({
  proposals: "abc",
  revision: 3,
  room: "R",
  spaces: ["R"],
  kept: [],
  free: ["occupancy", "daylight"],
  currency: "GBP",
  as_found_kwh: figure(400),
  new_luminaires_only: { kwh: figure(300), saving_against_as_found: figure(0.25), cost: cost(100, 200) },
  designs: [design("the document's own", 900, 150, 2), design("cheap", 300, 200), design("thrifty", 800, 100), design("poor", 900, 160, 2), design("between", 500, 180)],
  own: 0,
  refused: [
    { name: "dark", because: ["a rule fails"] },
    { name: "darker", because: ["a rule fails"] },
    { name: "alone", because: ["another rule fails", "and one more"] },
  ],
  front: [1, 4, 2],
  hull: [1, 2],
  cost_per_kwh: [5],
  offers: [
    { design: 1, picked: ["least cost", "most for the money"] },
    { design: 2, picked: ["least energy"] },
  ],
  drawn: [drawn(1), drawn(4), drawn(2), drawn(0)],
});

test("letters follow first cost, and go on after Z", () => {
  assert.deepEqual([0, 25, 26, 27, 52].map(letterOf), ["A", "Z", "AA", "AB", "BA"]);
  assert.deepEqual([0, 1, 2, 3, 4].map((i) => letterOfDesign(proposals(), i)), ["", "A", "C", "", "B"]);
});

test("what is first in something stands beside the document's own; all of the front if asked", () => {
  assert.deepEqual(sideBySide(proposals(), false).map((one) => one.design), [0, 1, 2]);
  assert.deepEqual(sideBySide(proposals(), true).map((one) => one.design), [0, 1, 4, 2]);
  const onFront = { ...proposals(), own: 4 };
  assert.deepEqual(sideBySide(onFront, false).map((one) => one.design), [1, 4, 2], "in its place on the front");
  assert.deepEqual(sideBySide({ ...proposals(), own: null }, false).map((one) => one.design), [1, 2]);
  assert.deepEqual(picksOf(proposals(), 1), ["least cost", "most for the money"]);
  assert.deepEqual(picksOf(proposals(), 4), []);
});

test("money and hours keep to the digits of their range", () => {
  assert.equal(costWords({ least: 579.5, most: 1091.75 }, "GBP"), "580 to 1090\u00A0GBP");
  assert.equal(costWords({ least: 0, most: 0 }, "GBP"), "nothing");
  assert.equal(costWords({ least: 428, most: 428 }, "GBP"), "428\u00A0GBP");
  assert.equal(hoursWords({ least: 0.9, most: 1.95 }), "0.9 to 2.0\u00A0h");
  assert.equal(hoursWords({ least: 0, most: 0 }), "none");
});

test("pieces without a price are counted and said to be left out of the cost", () => {
  const lines = quantityLines({ ...cost(1, 2), quantities: [{ id: "s", name: "sensor", count: 2, cost: { least: 1, most: 2 } }], unpriced: ["panel", "panel", "washer"] });
  assert.deepEqual(lines, ["2 × sensor", "2 × panel: no price known, not in the cost", "1 × washer: no price known, not in the cost"]);
});

test("what was left out stands by what is better, what was refused by its reason", () => {
  assert.deepEqual(leftOut(proposals()), [{ by: "thrifty", names: ["poor"] }], "the document's own stands beside the others and is not left out");
  assert.deepEqual(refusals(proposals()), [
    { because: ["a rule fails"], names: ["dark", "darker"] },
    { because: ["another rule fails", "and one more"], names: ["alone"] },
  ]);
});

test("the price of a kWh is told from design to design", () => {
  assert.equal(marginalWords(proposals()), "Each kWh a year less costs 5.0\u00A0GBP from A to C.");
  assert.equal(marginalWords({ ...proposals(), hull: [1], cost_per_kwh: [] }), "");
});

test("a revision is called after what it takes", () => {
  assert.equal(takeLabel("1.06", "2 ceiling sensors, 1 daylight group", null), "1.06, take: 2 ceiling sensors, 1 daylight group");
  assert.equal(takeLabel("1.06", "cheap", ["occupancy", "daylight"]), "1.06, take: occupancy sensors and daylight control of cheap");
  assert.ok(takeLabel("1.06", "x".repeat(400), null).length < 200);
  assert.equal(inList(["a", "b", "c"]), "a, b and c");
});

test("parts that stay are named in the address of the question", () => {
  assert.equal(keepText(["occupancy", "stations"]), "occupancy,stations");
  assert.equal(keepText([]), "none");
  assert.deepEqual(parseRoute("/projects/p/rooms/G02/proposals"), { page: "proposals", project: "p", space: "G02" });
  assert.equal(hrefOf({ page: "proposals", project: "p", space: "G 2" }), "/projects/p/rooms/G%202/proposals");
  assert.equal(parseRoute("/projects/p/rooms/G02/other").page, "not_found");
});

test("ticks are round and take in both ends", () => {
  assert.deepEqual(roundTicks(580, 1310, 4), [400, 600, 800, 1000, 1200, 1400]);
  assert.deepEqual(roundTicks(81, 125, 4), [80, 100, 120, 140]);
  const same = roundTicks(7, 7, 4);
  assert.ok(same[0]! <= 7 && same.at(-1)! >= 7 && same.length < 10);
});

test("dearer lies to the right, thriftier lower, and the hull runs through its designs", () => {
  const picture = frontPicture(proposals(), 560, 250);
  assert.deepEqual(picture.dots.map((dot) => dot.design), [1, 4, 2, 0, 3], "the front by cost, then the rest by cost");
  const of = (index: number) => picture.dots.find((dot) => dot.design === index)!;
  assert.ok(of(1).x_px < of(4).x_px && of(4).x_px < of(2).x_px);
  assert.ok(of(1).y_px < of(4).y_px && of(4).y_px < of(2).y_px, "on a screen lower is a larger y");
  assert.deepEqual(picture.hull.map((dot) => dot.design), [1, 2]);
  assert.deepEqual(picture.dots.filter((dot) => dot.isKnee).map((dot) => dot.design), [1]);
  for (const dot of picture.dots) {
    assert.ok(dot.x_px >= picture.frame.left_px && dot.x_px <= picture.frame.right_px);
    assert.ok(dot.y_px >= picture.frame.top_px && dot.y_px <= picture.frame.bottom_px);
  }
  assert.deepEqual(picture.letters.map((letter) => letter.text), ["A", "B", "C"]);
});

test("one design alone has a picture", () => {
  const alone: Proposals = { ...proposals(), designs: [design("the document's own", 900, 150)], front: [0], hull: [0], cost_per_kwh: [], offers: [{ design: 0, picked: ["least cost", "most for the money"] }], drawn: [drawn(0)] };
  const picture = frontPicture(alone, 560, 250);
  assert.ok(picture.dots.every((dot) => Number.isFinite(dot.x_px) && Number.isFinite(dot.y_px)));
  assert.equal(picture.letters.length, 1);
});

test("a small plan says in words what it shows", () => {
  const room = readingRoom();
  assert.equal(planInWords({ ...room, devices: [], groups: [] }), "no control devices.");
  const words = planInWords(room);
  assert.match(words, /^2 occupancy sensors, 1 photosensor, 2 wall stations and 1 load controller; daylight group a: .+; daylight group b: .+\.$/);
  assert.deepEqual(daylightGroups(room).map((group) => [group.letter, group.ground, group.members.length > 0]), [["a", 0, true], ["b", 1, true]]);
  const with_ = roomWith(room, { ...drawn(0), devices: [room.devices[2]!] });
  assert.equal(with_.devices.length, 1);
  assert.equal(with_.floor, room.floor, "the room itself stays");
});
