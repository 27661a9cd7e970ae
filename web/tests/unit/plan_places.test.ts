import assert from "node:assert/strict";
import { test } from "node:test";
import type { PhotosensorPlace, PhotosensorPlaces } from "../../src/api/contract";
import type { DaylightLoop, Estimate } from "../../src/app/study";
import { loopWords, sensorNote, taskNotes } from "../../src/plan/governed_task";
import { betterPlace, figuresInWords, heldPosition, nextPlace, ofTarget, placeAt, rulesOf, whyNoPlaces } from "../../src/plan/places";
import { readingRoom } from "../support/room";

const place = (x: number, y: number, rms = 0.1, usable = true): PhotosensorPlace => ({ at: [x, y], height_m: 3, usable, rms, under_share: 0.021, over: 0.0449 });
const grid = (spacing_m: number, at: [number, number][]): PhotosensorPlaces => ({
  revision: 1,
  rule: 0,
  target_lx: 500,
  night_lx: 500,
  hours: 2000,
  spacing_m,
  places: at.map(([x, y]) => place(x, y)),
  present: null,
  best: 0,
});

test("the scale is logarithmic from held to half of the target, and holds beyond its ends", () => {
  assert.equal(heldPosition(0), 1);
  assert.equal(heldPosition(0.02), 1);
  assert.ok(Math.abs(heldPosition(0.1) - 0.5) < 1e-12);
  assert.ok(Math.abs(heldPosition(0.5)) < 1e-12);
  assert.equal(heldPosition(3), 0);
});

test("figures of a place are words with two digits", () => {
  assert.equal(ofTarget(0.0624), "6.2\u00A0%");
  assert.equal(ofTarget(0.0996), "10\u00A0%");
  assert.equal(ofTarget(0.348), "35\u00A0%");
  assert.equal(ofTarget(0), "0.0\u00A0%");
  assert.equal(
    figuresInWords(place(0, 0)),
    "10\u00A0% of target off (root mean square), 4.5\u00A0% too much on average, under 90\u00A0% in 2.1\u00A0% of the hours",
  );
  assert.match(figuresInWords(place(0, 0, 0.1, false)), /^cannot be set up here, so nothing dims: /);
});

test("the best place is told only where it is better than the one that is taken", () => {
  const places = { ...grid(0.6, [[0, 0], [0.6, 0]]), best: 1 };
  assert.equal(betterPlace(places), places.places[1]);
  assert.equal(betterPlace({ ...places, present: place(3, 3, 0.2) }), places.places[1]);
  assert.equal(betterPlace({ ...places, present: place(3, 3, 0.05) }), null);
  assert.equal(betterPlace({ ...places, present: place(3, 3, 0.05, false) }), places.places[1]);
  assert.equal(betterPlace({ ...places, best: null }), null);
});

test("arrows go to the next place in their direction, over gaps, and stay at the edge", () => {
  // The middle of the second row is taken by a luminaire.
  const places = grid(0.6, [[0, 0], [0.6, 0], [1.2, 0], [0, 0.6], [1.2, 0.6], [0, 1.2], [0.6, 1.2], [1.2, 1.2]]);
  assert.equal(nextPlace(places, 0, [1, 0]), 1);
  assert.equal(nextPlace(places, 3, [1, 0]), 4);
  assert.equal(nextPlace(places, 0, [0, 1]), 3);
  assert.equal(nextPlace(places, 6, [0, -1]), 1);
  assert.equal(nextPlace(places, 7, [1, 0]), 7);
});

test("the place under the hand is the one whose cell holds the point", () => {
  const places = grid(0.6, [[0, 0], [0.6, 0]]);
  assert.equal(placeAt(places, [0.2, -0.2]), 0);
  assert.equal(placeAt(places, [0.4, 0.29]), 1);
  assert.equal(placeAt(places, [0.4, 0.31]), null);
});

test("rules of a sequence are named by group and task, also where they come from a typical", () => {
  const room = {
    ...readingRoom(),
    sequence: { pointer: "/typicals/0/sequence", sentence: [], matrix: { groups: [], rows: [] } },
    groups: [{ id: "R1.day", pointer: "/g", strategy: "daylight" as const, name: "by the window", channels: [] }],
    task_areas: [{ ...readingRoom().task_areas[0]!, id: "R1.desk", name: "Desks" }],
    devices: [{ ...readingRoom().devices[0]!, kind: "photosensor" as const, id: "R1.P1" }],
  };
  const document = { typicals: [{ sequence: { daylight: [{ group: "day", photosensor: "P1", task_area: "desk" }, { group: "none", photosensor: "gone", task_area: "no-task" }] } }] };
  assert.deepEqual(rulesOf(document, room), [
    { rule: 0, words: "by the window, held on Desks", photosensor: "R1.P1", task_area: "R1.desk" },
    { rule: 1, words: "none, held on no-task", photosensor: "gone", task_area: "no-task" },
  ]);
  assert.deepEqual(rulesOf({}, room), []);
  assert.deepEqual(rulesOf(document, { ...room, sequence: null }), []);
});

test("a room says why no place can be tried", () => {
  const rules = [{ rule: 0, words: "a", photosensor: "P1", task_area: "desk" }];
  assert.equal(whyNoPlaces(readingRoom(), rules), "");
  assert.match(whyNoPlaces({ ...readingRoom(), openings: [] }, rules), /no glass/);
  assert.match(whyNoPlaces(readingRoom(), []), /no daylight rule/);
});

test("the year of a photosensor is told with its intervals, beside its task and at itself", () => {
  const between = (mean: number, low: number, high: number): Estimate => ({ mean, low, high, standard_error: 0 });
  const loop: DaylightLoop = {
    photosensor: "P1",
    group: "day",
    task_area: "desk",
    hours: between(1830, 1700, 1950),
    under_lit_hours: between(12, 8, 20),
    shortfall_lx_h: between(300, 200, 500),
    over_lit_hours: between(400, 300, 500),
    over_lit_kwh: between(5.2, 4.1, 6.4),
    realised_share: between(0.93, 0.9, 0.95),
  };
  const room = { ...readingRoom(), task_areas: [{ ...readingRoom().task_areas[0]!, id: "desk", name: "Desks" }], devices: [{ ...readingRoom().devices[0]!, kind: "photosensor" as const, id: "P1", tag: "PS1" }] };
  const governed = { rule: { rule: 0, words: "a", photosensor: "P1", task_area: "desk" }, loop };
  const plain = (text: string) => text.replaceAll("\u00A0", " ");
  assert.deepEqual(taskNotes(loop, "si").map(plain), ["under-lit 12 h", "over-lit 400 h a year"]);
  assert.equal(plain(sensorNote(loop, "si")), "gives away 5.2 kWh a year");
  const words = plain(loopWords(room, governed, "si"));
  assert.match(words, /^PS1 a year: Desks under-lit 12 h \(8 to 20 h\), over-lit 400 h \(300 to 500 h\) of 1830 h;/);
  assert.match(words, /gives away 5\.2 kWh \(4\.1 to 6\.4 kWh\), saves 93\.0 % \(90\.0 to 95\.0 %\) of what an ideal loop would\.$/);
  assert.match(plain(loopWords(room, { ...governed, loop: { ...loop, realised_share: between(1.1, 1.05, 1.2) } }, "si")), /would, because it dims too far\.$/);
  assert.match(loopWords(room, { ...governed, loop: null }, "si"), /once the room has been studied/);
});
