// The room that is drawn, the form that asks for its light, and drawings that are traced.
import assert from "node:assert/strict";
import { test } from "node:test";
import { backgroundOf, calibrated } from "../../src/start/background";
import { readDxf } from "../../src/start/dxf";
import { closed, facing, freeOnWall, onWall, rectangle, squared } from "../../src/start/outline";
import { newForm, problemsOf, requestOf, shownTarget, withOutline } from "../../src/start/room_form";
import type { Library } from "../../src/api/contract";

const library: Library = {
  kinds: [{ id: "office_open", name: "open office", target_lx: 500, target_source: "", uniformity: 0.6, task_height_m: 0.75, pattern: "desks", people: 6, luminaire_type: "p", found_luminaire_type: "x", start_source: "" }],
  luminaire_types: [],
  climates: [],
  codes: [],
};

test("walls are named by where they face, north up", () => {
  const floor = rectangle(8, 6);
  assert.deepEqual([0, 1, 2, 3].map((wall) => facing(floor, wall)), ["south", "east", "north", "west"]);
  assert.equal(facing(floor, 0, 90), "west", "a plan whose top is east");
});

test("an outline runs counter-clockwise, and one that crosses itself is none", () => {
  assert.deepEqual(closed([[0, 0], [0, 6], [8, 6], [8, 0]]), [[8, 0], [8, 6], [0, 6], [0, 0]]);
  assert.equal(closed([[0, 0], [8, 6], [8, 0], [0, 6]]), null);
  assert.equal(closed([[0, 0], [8, 0]]), null);
});

test("a window goes where the wall is clicked, within the wall", () => {
  const floor = rectangle(8, 6);
  assert.deepEqual(onWall(floor, [4, 0.1], 1.8, 0.5), { wall: 0, offset_m: 3.1, width_m: 1.8 });
  assert.deepEqual(onWall(floor, [0.2, 0.1], 1.8, 0.5)?.wall, 0);
  assert.ok(onWall(floor, [0.2, 0.05], 1.8, 0.5)!.offset_m >= 0.05);
  assert.equal(onWall(floor, [4, 3], 1.8, 0.5), null, "too far from any wall");
});

test("one more part takes the longest gap of its wall", () => {
  const floor = rectangle(8, 6);
  assert.deepEqual(freeOnWall(floor, 0, [], 1.8), { offset_m: 3.1, width_m: 1.8 });
  assert.equal(freeOnWall(floor, 0, [[3.1, 4.9]], 1.8)!.offset_m, 0.65);
  assert.equal(freeOnWall(floor, 0, [[0, 8]], 1.8), null);
});

test("corners are squared with the last and the first one", () => {
  assert.deepEqual(squared([5.02, 0.1], [0, 0], null, 0.2), [5, 0]);
  assert.deepEqual(squared([0.1, 4.93], [5, 5], [0, 0], 0.2), [0, 5]);
});

test("what is typed stays as typed, a number alone takes the reader's unit", () => {
  const form = { ...newForm(library, "si"), width: "30 ft", length: "7", target: "30 fc" };
  const request = requestOf(form, "si", 4)!;
  assert.equal(request.width, "30 ft");
  assert.equal(request.length, "7 m");
  assert.equal(request.target, "30 fc");
  assert.deepEqual(request.as_found, {});
  assert.equal(requestOf({ ...form, target: "" }, "si", 4)!.target, undefined);
  assert.equal(shownTarget({ ...form, target: "" }, library, "us"), "45 fc");
});

test("what cannot be read is told at its field and asks nothing", () => {
  const form = newForm(library, "si");
  const wrong = { ...form, width: "wide", height: "0.5 m", target: "a lot", windows: [{ id: 1, wall: 0, offset: "7 m", width: "3 m", sill: "2 m", height: "1.5 m" }] };
  assert.deepEqual(Object.keys(problemsOf(wrong, "si")).sort(), ["height", "target", "width", "window-1"]);
  assert.equal(requestOf(wrong, "si", 1), null);
  assert.match(problemsOf({ ...form, windows: wrong.windows.map((w) => ({ ...w, sill: "0.9 m" })) }, "si")["window-1"]!, /beyond the wall/);
});

test("a drawn room goes beside the others, a traced one stays where it was traced", () => {
  const form = withOutline(newForm(library, "si"), rectangle(5, 4), false, "si");
  assert.equal(form.width, "5 m");
  assert.equal(requestOf(form, "si", 1)!.apart, true);
  assert.equal(requestOf(withOutline(form, rectangle(5, 4), true, "si"), "si", 1)!.apart, false);
});

const dxf = (...pairs: (string | number)[]) => pairs.join("\n");

test("lines, polylines, arcs and blocks of a DXF are read, with its unit", () => {
  const drawing = readDxf(
    dxf(0, "SECTION", 2, "HEADER", 9, "$INSUNITS", 70, 4, 0, "ENDSEC",
        0, "SECTION", 2, "BLOCKS", 0, "BLOCK", 2, "DOOR", 10, 0, 20, 0, 0, "LINE", 10, 0, 20, 0, 11, 100, 21, 0, 0, "ENDBLK", 0, "ENDSEC",
        0, "SECTION", 2, "ENTITIES",
        0, "LINE", 8, "walls", 10, 0, 20, 0, 11, 5000, 21, 0,
        0, "LWPOLYLINE", 90, 3, 70, 1, 10, 0, 20, 0, 10, 10, 20, 0, 10, 10, 20, 10,
        0, "POLYLINE", 70, 0, 0, "VERTEX", 10, 1, 20, 2, 0, "VERTEX", 10, 3, 20, 4, 0, "SEQEND",
        0, "ARC", 10, 0, 20, 0, 40, 2, 50, 0, 51, 90,
        0, "INSERT", 2, "DOOR", 10, 1000, 20, 500, 50, 90, 41, 2,
        0, "TEXT", 1, "passed over",
        0, "ENDSEC", 0, "EOF"),
  );
  assert.equal(drawing.metres_per_unit, 0.001);
  const [line, closedLine, open, arc, block] = drawing.lines;
  assert.deepEqual(line, [[0, 0], [5000, 0]]);
  assert.deepEqual(closedLine, [[0, 0], [10, 0], [10, 10], [0, 0]]);
  assert.deepEqual(open, [[1, 2], [3, 4]]);
  assert.ok(Math.hypot(arc!.at(-1)![0] - 0, arc!.at(-1)![1] - 2) < 1e-9);
  assert.ok(Math.hypot(block![1]![0] - 1000, block![1]![1] - 700) < 1e-9, "turned by 90 degrees and twice as long");
});

test("a bulge of one is half a circle, to the right of the way where it is positive", () => {
  const [line] = readDxf(dxf(0, "SECTION", 2, "ENTITIES", 0, "LWPOLYLINE", 90, 2, 70, 0, 10, 0, 20, 0, 42, 1, 10, 2, 20, 0, 0, "ENDSEC", 0, "EOF")).lines;
  for (const [x, y] of line!) assert.ok(Math.abs(Math.hypot(x - 1, y) - 1) < 1e-9);
  assert.ok(line!.some(([, y]) => y < -0.99));
});

test("what is no DXF says so, and a block that holds itself ends", () => {
  assert.throws(() => readDxf("PK\u0003\u0004\nhello"), /no group code|no DXF/);
  assert.throws(() => readDxf("AutoCAD Binary DXF\r\n\u001a"), /binary/);
  const own = dxf(0, "SECTION", 2, "BLOCKS", 0, "BLOCK", 2, "A", 0, "INSERT", 2, "A", 10, 0, 20, 0, 0, "ENDBLK", 0, "ENDSEC", 0, "SECTION", 2, "ENTITIES", 0, "INSERT", 2, "A", 10, 0, 20, 0, 0, "ENDSEC", 0, "EOF");
  assert.deepEqual(readDxf(own).lines, []);
});

test("a known length gives a drawing its scale, and its corners are found", () => {
  const lines = [[[0, 0], [160, 0]], [[160, 0], [160, 120]]] as [number, number][][];
  const unknown = backgroundOf("a.dxf", { kind: "lines", lines }, null);
  assert.equal(unknown.isScaled, false);
  const shown = (p: [number, number]): [number, number] => [p[0] * unknown.scale, p[1] * unknown.scale];
  const known = calibrated(unknown, shown([0, 0]), shown([160, 0]), 8)!;
  assert.ok(Math.abs(known.scale - 0.05) < 1e-12);
  assert.deepEqual(known.nearest([7.9, 0.1], 0.3), [8, 0]);
  assert.equal(known.nearest([4, 3], 0.3), null);
  assert.equal(calibrated(unknown, [1, 1], [1, 1], 8), null);
});
