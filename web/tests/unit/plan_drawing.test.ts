import assert from "node:assert/strict";
import { test } from "node:test";
import type { Field, PlanPoint, Radio, RadioLink, Reach } from "../../src/api/contract";
import { LIGHT_PALETTE } from "../../src/look/scale";
import { type FieldContext, bytesOf, drawField, fieldPixels } from "../../src/plan/field";
import { Labels, boxOfText, contourLabels, placed } from "../../src/plan/labels";
import { marginLetters } from "../../src/plan/letters";
import { overhangs } from "../../src/plan/parts";
import { coveragePath, pathOf, ringsPath, swingPath } from "../../src/plan/paths";
import { linkWords, radioNotes, radioTags, radioWords, wayOut } from "../../src/plan/radio";
import { reachNotes, reachWords, seatNotes, shownSeatWords, worstSeatNotes } from "../../src/plan/reach";
import { screenPoint } from "../../src/plan/view";
import { objectWords, placeWords, planWords, readingOrder, sideName } from "../../src/plan/words";
import { UNIT_SPACE } from "../../src/units/figures";
import { inventedLight } from "../support/light";
import { assertDrawn, recorder } from "../support/recorded";
import { readingRoom } from "../support/room";

const VIEW = { px_per_m: 50, origin: screenPoint(40, 530) };
const FIELD: Field = { x0_m: 0.5, y0_m: 0.25, step_m: 0.5, columns: 2, rows: 3, low_lx: 10, high_lx: 1000, bytes: btoa(String.fromCharCode(0, 50, 100, 150, 200, 255)) };

test("rows run from the south in the answer and from the north in the picture", () => {
  const pixels = fieldPixels(FIELD)!;
  const at = (i: number) => [...pixels.slice(4 * i, 4 * i + 4)];
  assert.deepEqual(at(0), [...LIGHT_PALETTE[200]!, 255]);
  assert.deepEqual(at(1), [...LIGHT_PALETTE[255]!, 255]);
  assert.deepEqual(at(5), [...LIGHT_PALETTE[50]!, 255]);
  assert.deepEqual([...bytesOf(FIELD.bytes)], [0, 50, 100, 150, 200, 255]);
});

test("a field that is not as large as it says is not drawn", () => {
  assert.equal(fieldPixels({ ...FIELD, rows: 4 }), null);
  assert.equal(fieldPixels({ ...FIELD, columns: 0 }), null);
});

test("the field is drawn smoothly within the floor, each value centred on its point", () => {
  const floor: PlanPoint[] = [[0, 0], [2, 0], [2, 2], [0, 2]];
  const { context, commands } = recorder<FieldContext>();
  drawField(context, {} as CanvasImageSource, FIELD, floor, VIEW, { width_px: 300, height_px: 200, density: 2 });
  assertDrawn("field", commands, [
    "setTransform 2 0 0 2 0 0",
    "clearRect 0 0 300 200",
    "save",
    "beginPath",
    "moveTo 40 530",
    "lineTo 140 530",
    "lineTo 140 430",
    "lineTo 40 430",
    "closePath",
    "clip",
    "imageSmoothingEnabled = true",
    "imageSmoothingQuality = high",
    "drawImage picture 52.5 455 50 75",
    "restore",
  ]);
});

test("without a field the sheet is cleared", () => {
  const { context, commands } = recorder<FieldContext>();
  drawField(context, null, null, [], VIEW, { width_px: 300, height_px: 200, density: 1 });
  assertDrawn("no-field", commands, ["setTransform 1 0 0 1 0 0", "clearRect 0 0 300 200"]);
});

test("paths are in pixels with y down", () => {
  assert.equal(pathOf(VIEW, [[0, 0], [1, 0.5]], true), "M40 530L90 505Z");
  const sensor = readingRoom().devices[0]!;
  assert.equal(coveragePath(VIEW, sensor, "minor"), "M115 350A105 105 0 1 1 325 350A105 105 0 1 1 115 350Z");
  // Aimed east, a half circle begins in the north and ends in the south.
  const half = { ...sensor, coverage: { ...sensor.coverage!, shape: "half_circle" as const, aim_deg: 90 } };
  assert.equal(coveragePath(VIEW, half, "minor"), "M220 350L220 245A105 105 0 0 1 220 455Z");
  const strip = { ...sensor, coverage: { ...sensor.coverage!, shape: "strip" as const, aim_deg: 90, strip_width_m: 2 } };
  assert.equal(coveragePath(VIEW, strip, "minor"), "M325 300L325 400L115 400L115 300Z");
});

test("the swing of a door goes round its hinge from the leaf to the latch", () => {
  assert.equal(swingPath(VIEW, readingRoom().doors[0]!), "M710 235A50 50 0 0 1 760 185");
});

test("the margins begin beyond doors that open outwards", () => {
  assert.deepEqual(overhangs(readingRoom(), VIEW), { left_px: 50, top_px: 0, right_px: 0, bottom_px: 0 });
});

test("no label covers another, an object or a wall", () => {
  const room = readingRoom();
  const labels = new Labels(VIEW, room.floor);
  labels.occupyAround([7.2, 3.3], 12);
  const light = inventedLight(room, Object.fromEntries(room.luminaires.map((l) => [l.id, 0.6])));
  const found = contourLabels(light.contours, String, VIEW, room.floor, labels);
  assert.ok(found.length >= 4);
  const boxes = found.map((l) => boxOfText(l.text, l.x, l.y, 0.5));
  boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b) => assert.ok(a.x1 <= b.x0 || b.x1 <= a.x0 || a.y1 <= b.y0 || b.y1 <= a.y0)));
  assert.ok(found.some((l) => l.isTarget && l.text === "400"));
  const outside = placed(labels, "word", [{ x: 41, y: 500, anchor: "end" }, { x: 400, y: 300, anchor: "start" }]);
  assert.deepEqual([outside?.x, outside?.anchor], [400, "start"]);
  assert.equal(placed(labels, "word", [{ x: 400, y: 300, anchor: "start" }]), null, "its place is taken now");
});

test("letters stand in the margin beside the rows that their groups light", () => {
  const room = readingRoom();
  const { rows, columns } = marginLetters(room, room.groups.slice(0, 4), VIEW);
  assert.deepEqual(rows.map((r) => [r.text, r.at_px]), [["D", 80], ["C", 160], ["B", 290], ["A", 430]]);
  assert.deepEqual(columns, []);
});

test("groups of one row share its letters, a column has its own above", () => {
  const room = readingRoom();
  const group = (id: string, name: string, channels: string[]) => ({ ...room.groups[0]!, id, name, channels });
  const { rows, columns } = marginLetters(room, [
    group("down", "a, tables", ["R-A1/down", "R-A2/down", "R-B1/down"]),
    group("up", "b, ceiling", ["R-A1/up", "R-A2/up"]),
    group("side", "c, way", ["R-A4", "R-B4", "R-C4"]),
  ], VIEW);
  assert.deepEqual(rows.map((r) => [r.text, r.luminaires]), [["a", ["R-B1"]], ["a b", ["R-A1", "R-A2"]]]);
  assert.deepEqual(columns.map((c) => [c.text, c.at_px]), [["c", 640]]);
});

test("letters that would cover one another move apart in order", () => {
  const room = readingRoom();
  room.luminaires = room.luminaires.map((l) => (l.id.startsWith("R-B") ? { ...l, at: [l.at[0], 2.45, l.at[2]] } : l));
  const { rows } = marginLetters(room, room.groups.slice(0, 4), VIEW);
  const ys = rows.map((r) => r.at_px);
  assert.deepEqual(rows.map((r) => r.text), ["D", "C", "B", "A"]);
  for (let i = 1; i < ys.length; i += 1) assert.ok(ys[i]! - ys[i - 1]! >= 24);
});

test("objects have words: what, where, how bright", () => {
  const room = readingRoom();
  const light = inventedLight(room, { "R-A2": 0.624 });
  assert.equal(
    objectWords(room, "luminaire:R-A2", light, "si").replaceAll("\u00A0", " "),
    "luminaire R-A2, type U2, 5.60 m from the west wall and 2.00 m from the south wall, 62.4 %, group A",
  );
  assert.equal(objectWords(room, "luminaire:gone", light, "si"), "");
  assert.equal(placeWords(room, [13, 9], "si").replaceAll("\u00A0", " "), "1.40 m from the east wall and 0.60 m from the north wall");
  assert.match(planWords(room, light, "si").replaceAll("\u00A0", " "), /21 luminaires, 2 occupancy sensors, 1 photosensor, 2 wall stations\. Too much stands in this room [^.]*\. Tables by the windows: 512 lx of 400 lx\./);
});

test("sides of the plan are called by the building's north", () => {
  assert.deepEqual([0, 90, 180, 270].map((deg) => sideName(deg, 12)), ["north", "east", "south", "west"]);
  assert.deepEqual([0, 90, 180, 270].map((deg) => sideName(deg, 100)), ["east", "south", "west", "north"]);
});

test("keys go through the equipment by rows from the north west", () => {
  const order = readingOrder(readingRoom());
  assert.equal(order[0], "luminaire:R-D1");
  assert.equal(order.indexOf("luminaire:R-C1"), 9);
  assert.equal(new Set(order).size, order.length);
});

// ---- reach of sensors --------------------------------------------------------------------------------------------

const place = (id: string, reach: "whole" | "partly" | "none") => ({ kind: "furniture" as const, id, seen_share: reach === "whole" ? 1 : 0.03, reach });
const reachOf = (...places: ReturnType<typeof place>[]): Reach => ({
  sensors: [{ id: "R-O1", major: { seen: [], hidden: [] }, minor: { seen: [], hidden: [] } }],
  places,
  seats: [],
  major_share: 0.957,
  minor_share: 0.4,
});

test("the words of reach count the places that no sensor watches", () => {
  assert.equal(reachWords(reachOf(place("a", "none"), place("b", "none"), place("c", "whole")), true), "2 of 3 places out of reach for small movements; walking is seen on 96 % of the floor.".replace(" %", `${UNIT_SPACE}%`));
  assert.match(reachWords(reachOf(place("a", "none"), place("b", "partly")), true), /^1 of 2 places out of reach for small movements, 1 partly in reach;/);
  assert.match(reachWords(reachOf(place("a", "partly"), place("b", "whole")), true), /^1 of 2 places only partly in reach for small movements;/);
  assert.match(reachWords(reachOf(place("a", "whole"), place("b", "whole"), place("c", "whole")), true), /^All 3 places are in reach for small movements;/);
  assert.match(reachWords(null, true), /whole shapes of coverage/);
  assert.match(reachWords(reachOf(place("a", "whole"), place("b", "whole")), true), /^Both places are in reach for small movements;/);
  assert.match(reachWords(reachOf(place("a", "whole")), true), /^The one place is in reach/);
  assert.match(reachWords(reachOf(), true), /^Walking is seen on 96.% of the floor, small movements on 40.%\.$/);
  assert.equal(reachWords({ ...reachOf(place("a", "none")), sensors: [] }, true), "");
  assert.equal(reachWords(null, false), "");
});

test("places out of reach are named where they stand, those that are gone are not", () => {
  const room = readingRoom();
  const table = room.furniture[0]!;
  const notes = reachNotes(room, reachOf(place(table.id, "none"), place(room.furniture[1]!.id, "whole"), place("gone", "none")));
  assert.deepEqual(notes, [{ text: "out of reach", at: [2.4, 1.7999999999999998] }]);
});

test("seats that lose the light are counted, and the worst one says how often", () => {
  const seat = (x: number, taken_per_h: number, more: Partial<Reach["seats"][number]> = {}): Reach["seats"][number] => ({ at: [x, 1], group: "R-occ", movements_per_h: 90, taken_per_h, keeps_light: taken_per_h <= 0.05, ...more });
  const withSeats = (...seats: Reach["seats"]): Reach => ({ ...reachOf(place("a", "whole")), seats });
  assert.match(reachWords(withSeats(seat(1, 0.01), seat(2, 0.04)), true), / Whoever sits still alone keeps the light at all 2 seats\.$/);
  // A seat before two groups counts once, as the worse one serves it.
  const words = reachWords(withSeats(seat(1, 0.01), seat(1, 1.25), seat(2, 0.2), seat(3, 0.01)), true);
  assert.match(words, / loses the light too often at 2 of 3 seats; the worst loses the light 1\.3 times an hour /);
  assert.match(reachWords(withSeats(seat(1, 3), seat(2, 0, { movements_per_h: 0, keeps_light: false })), true), /the worst is never noticed/);
  const few = withSeats(seat(1, 0.01), seat(2, 0.79), seat(3, 0, { movements_per_h: 0, keeps_light: false }), seat(4, 0.001));
  assert.deepEqual(worstSeatNotes(withSeats(seat(1, 0.01), seat(2, 0.79))), [{ text: "loses the light 0.79 times an hour", at: [2, 1] }]);
  assert.deepEqual(seatNotes(few).map((n) => [n.text.replace(UNIT_SPACE, " "), n.at[0]]), [["never noticed", 3], ["0.79 /h", 2], ["0.01 /h", 1], ["0 /h", 4]]);
  const room = { ...readingRoom(), reach: few };
  assert.match(shownSeatWords(room, null), /^Whoever sits still alone loses the light too often at 2 of 4 seats;/);
  assert.match(shownSeatWords({ ...room, reach: null }, null), /^No occupancy sensor takes the light from anybody here\.$/);
});

test("what is seen is drawn ring by ring", () => {
  assert.equal(ringsPath(VIEW, [[[0, 0], [1, 0], [1, 1]], [[2, 2], [3, 2], [3, 3]]]), "M40 530L90 530L90 480ZM140 430L190 430L190 380Z");
});

// ---- radio ---------------------------------------------------------------------------------------------------------

const link = (margin_db: number, margin: RadioLink["margin"], availability: number, more: Partial<RadioLink> = {}): RadioLink => ({
  id: "GW", tag: "GW-1", is_repeater: false, at: [20, 3.6, 2], is_here: false, room: "G.09", distance_m: 12, light_walls: 1, heavy_walls: 0, floors: 0, loss_db: 70, margin_db, availability, margin, ...more,
});
const radioOf = (...devices: Radio["devices"]): Radio => ({ has_gateway: devices.some((d) => d.to !== null), devices, height_m: 2.4, contours: [] });
const spaced = (text: string): string => text.replaceAll(UNIT_SPACE, " ");

test("the words of the radio say who talks to whom and how the weakest link stands", () => {
  assert.match(radioWords(null), /^Radio links are not computed/);
  assert.equal(radioWords(radioOf()), "No device here talks by radio.");
  assert.equal(radioWords(radioOf({ id: "R-O1", to: null })), "One device here talks by radio, and no gateway of the building does.");
  const words = spaced(radioWords(radioOf({ id: "R-O1", to: link(24.4, "strong", 0.9987) }, { id: "R-O2", to: link(-3.2, "none", 0.34, { tag: "RP", is_repeater: true, is_here: true }) })));
  assert.ok(words.startsWith("2 devices here talk by radio to GW-1 in G.09 and repeater RP. The weakest link has −4 dB to spare (too weak) and works with a chance of 34 %;"), words);
  assert.equal(spaced(linkWords(link(24.4, "strong", 0.9987))), "24 dB, strong, over 99 %");
});

test("a link that leaves the room is drawn to where its line meets the wall", () => {
  const floor: PlanPoint[] = [[0, 0], [4, 0], [4, 2], [2, 2], [2, 5], [0, 5]];
  assert.deepEqual(wayOut(floor, [1, 4], [5, 4]), [2, 4]);
  assert.deepEqual(wayOut(floor, [1, 1], [9, 1]), [4, 1]);
  assert.equal(wayOut(floor, [1, 1], [3, 1]), null);
});

test("each radio device, way out and contour carries its words", () => {
  const room = readingRoom();
  const notes = radioNotes(room, { ...radioOf({ id: "R-O1", to: link(12, "sound", 0.93) }, { id: "R-O2", to: null }, { id: "gone", to: null }), contours: [{ db: 10, is_closed: false, points: [0, 0, 1, 1, 2, 2, 3, 3] }] });
  assert.deepEqual(
    notes.map((n) => ({ ...n, text: spaced(n.text) })),
    [
      { text: "to GW-1 in G.09", at: [3.6 + 0.8 * (14.4 - 3.6), 3.6] },
      { text: "10 dB", at: [2, 2] },
    ],
  );
  const tags = radioTags(room, radioOf({ id: "R-O1", to: link(12, "sound", 0.93) }, { id: "R-O2", to: null }, { id: "gone", to: null }));
  assert.deepEqual(
    [...tags].map(([id, texts]) => [id, texts.map(spaced)]),
    [
      ["R-O1", ["12 dB, sound, 93 %", "12 dB, 93 %", "12 dB"]],
      ["R-O2", ["no gateway"]],
    ],
  );
});
