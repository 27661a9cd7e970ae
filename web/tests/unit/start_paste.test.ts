// Pasted tables: cells, figures, what columns hold, rooms and luminaires out of rows.
import assert from "node:assert/strict";
import { test } from "node:test";
import type { Library } from "../../src/api/contract";
import { boxesOf } from "../../src/start/document";
import { guessColumns, kindOfWord } from "../../src/start/paste/columns";
import { luminairesToMake, readLuminaires } from "../../src/start/paste/luminaires";
import { type Choices, evenPlaces, firstChoices, readRooms, roomsToMake, unknownWords } from "../../src/start/paste/rooms";
import { readFigure, readTable } from "../../src/start/paste/table";

const kind = (id: string, name: string) =>
  ({ id, name, target_lx: 500, target_source: "", uniformity: 0.6, task_height_m: 0.75, pattern: "desks", people: 1, luminaire_type: "panel_600", found_luminaire_type: "old", start_source: "" }) as const;
const type = (id: string, tag: string) =>
  ({ id, tag, name: `type ${tag}`, lumens: 3600, input_w: 30, length_m: 0.6, width_m: 0.6, shape: "rectangle", mounting: "recessed", existing: false }) as const;
const library: Library = {
  kinds: [kind("classroom", "classroom"), kind("office_enclosed", "enclosed office"), kind("corridor", "corridor"), kind("storage", "storage room"), kind("restroom", "restroom")],
  luminaire_types: [type("panel_600", "P6"), type("panel_1200", "P12")],
  climates: [],
  codes: [],
};
const EMPTY = { format: "halflight-project/1", id: "b", name: "B" };

function rooms(text: string, change: Partial<Choices> = {}, document: object = EMPTY) {
  const table = readTable(text);
  const mapping = guessColumns(table.rows, table.columns, "rooms", library);
  return { mapping, rooms: readRooms(table.rows, mapping, { ...firstChoices("si"), ...change }, library, document as never, []) };
}

test("cells are parted by tabs, semicolons or commas, and quotes hold what would part them", () => {
  assert.deepEqual(readTable("a\tb\n1,5\t2\n").rows, [["a", "b"], ["1,5", "2"]]);
  assert.deepEqual(readTable("a;b\n1,5;2\n3,5;4").rows, [["a", "b"], ["1,5", "2"], ["3,5", "4"]]);
  assert.deepEqual(readTable('a,b\n"x, ""y""\nz",2').rows, [["a", "b"], ['x, "y" z', "2"]]);
  assert.deepEqual(readTable("a\tb\r\n\r\n\t\r\nc\td").rows, [["a", "b"], ["c", "d"]], "empty rows are none");
  assert.equal(readTable("").rows.length, 0);
});

test("figures are read with either decimal mark and their unit", () => {
  const of = (text: string) => {
    const read = readFigure(text);
    return read === null ? null : [read.value, read.unit];
  };
  assert.deepEqual(of("62,5"), [62.5, ""]);
  assert.deepEqual(of("62.5 m²"), [62.5, "m2"]);
  assert.deepEqual(of("1.234,5"), [1234.5, ""]);
  assert.deepEqual(of("1,234.5"), [1234.5, ""]);
  assert.deepEqual(of("1,200,000"), [1200000, ""]);
  assert.deepEqual(of("30 fc"), [30, "fc"]);
  assert.deepEqual(of("650 sq ft"), [650, "sq ft"]);
  assert.equal(of("Classroom 1"), null);
  assert.equal(of("n/a"), null);
});

test("columns are known by their heads", () => {
  const { mapping } = rooms("Room no.\tRoom name\tRoom type\tFloor\tArea (m2)\tCeiling ht\tTypical\tOccupants\tLux\tNo. of fixtures\tFixture type\tRemarks\n1.01\tA\tClassroom\tGround\t62\t3\tC\t24\t500\t12\tP6\tx");
  assert.equal(mapping.hasHeader, true);
  assert.deepEqual(mapping.roles, ["number", "name", "kind", "storey", "area", "height", "typical", "people", "target", "luminaires", "luminaire_type", "ignore"]);
});

test("without heads columns are known by what stands in them", () => {
  const { mapping } = rooms("101\tMaths\tclassroom\t62\n102\tHistory\tclassroom\t60\n103\tHead\toffice\t15\n104\tDeputy\toffice\t14");
  assert.equal(mapping.hasHeader, false);
  assert.deepEqual(mapping.roles, ["number", "name", "kind", "area"]);
});

test("words of every day mean kinds of space", () => {
  assert.equal(kindOfWord("Year 4 class", library), "classroom");
  assert.equal(kindOfWord("WC boys", library), "restroom");
  assert.equal(kindOfWord("Glory hole", library), null);
});

test("a room of which only the area is known is a rectangle that says so", () => {
  const { rooms: [room] } = rooms("Number,Type,Area m2\n1,Classroom,65\n2,Office,12");
  assert.ok(room !== undefined && room.isFromArea);
  assert.ok(Math.abs(room.wide_m! * room.deep_m! - 65) < 1e-9);
  assert.ok(Math.abs(room.wide_m! / room.deep_m! - 1.3) < 1e-9);
  assert.match(room.notes[0]!, /from its area alone, 1.3 to 1/);
});

test("feet and foot-candles stay what they are", () => {
  const { rooms: [room] } = rooms("Number,Type,Width ft,Length ft,Ceiling height ft,Target fc\n1,Classroom,30,24,9.5,30\n2,Classroom,30,24,9.5,30");
  assert.ok(Math.abs(room!.wide_m! - 9.144) < 1e-9);
  assert.equal(room!.heightText, "9.5 ft");
  assert.equal(room!.target, "30 fc");
});

test("what is wrong with a row stands with the row", () => {
  const { rooms: all } = rooms("Number,Name,Use,Area\nA1,x,Classroom,60\nA1,y,Classroom,60\nA2,z,Glory hole,9\nA3,w,Office,\nA4,v,Office,wide", {}, { ...EMPTY, spaces: [{ id: "A4", number: "A4" }] });
  assert.deepEqual(
    all.map((room) => room.problems),
    [[], ["“A1” stands in row 2 as well"], ["“Glory hole” is no kind that is known"], ["no size: give its area, or width and length"], ["“A4” is in the building already", "“wide” is no area"]],
  );
  assert.deepEqual(unknownWords(all, "kind"), [["Glory hole", 1]]);
});

test("a word is decided once for all rows that have it", () => {
  const text = "Number,Use,Area\nA1,Glory hole,9\nA2,Glory hole,12";
  assert.deepEqual(rooms(text, { kinds: { "glory hole": "storage" } }).rooms.map((r) => r.kind), ["storage", "storage"]);
});

test("rooms of a typical follow it where they are alike, and stand apart from each other", () => {
  const { rooms: all } = rooms("Number\tType\tArea\tTypical\tFloor\n1\tClassroom\t60\tRoom A\tG\n2\tClassroom\t61\tRoom A\tG\n3\tClassroom\t90\tRoom A\tG\n4\tOffice\t12\t\tF1");
  const made = roomsToMake(all, EMPTY as never, "as_found");
  const spaces = made.edits.filter((e) => e.path.startsWith("/spaces")).flatMap((e) => (Array.isArray(e.value) ? e.value : [e.value])) as Record<string, unknown>[];
  assert.deepEqual(made.typicals, ["Room-A"]);
  assert.deepEqual(spaces.map((s) => s["typical"] ?? null), ["Room-A", "Room-A", null, null]);
  assert.equal(spaces[0]!["floor"], undefined);
  assert.match(made.notes.join(" "), /1 room differs from the typical/);
  assert.deepEqual(made.own, ["3", "4"]);
  const storeys = made.edits.filter((e) => e.path.startsWith("/storeys"));
  assert.equal(storeys.length, 2);
  // As the document says them, no two overlap.
  const document = apply(made.edits);
  const boxes = boxesOf(document as never).slice(0, 3);
  for (let i = 0; i < boxes.length; i += 1)
    for (let k = 0; k < i; k += 1) {
      const [a, b] = [boxes[i]!, boxes[k]!];
      assert.ok(a.low[0] >= b.low[0] + b.wide_m || b.low[0] >= a.low[0] + a.wide_m || a.low[1] >= b.low[1] + b.deep_m || b.low[1] >= a.low[1] + a.deep_m);
    }
});

test("a document in feet gets its places in feet", () => {
  const { rooms: all } = rooms("Number,Type,Width ft,Length ft\n1,Classroom,30,24\n2,Office,10,10");
  const made = roomsToMake(all, { ...EMPTY, coordinates: "ft" } as never, "as_found");
  const [space] = made.edits.find((e) => e.path === "/spaces")!.value as { floor: number[][] }[];
  assert.deepEqual(space!.floor, [[0, 0], [30, 0], [30, 24], [0, 24]]);
});

test("two hundred rooms are read and made", () => {
  const text = ["Number\tName\tType\tArea", ...Array.from({ length: 200 }, (_, i) => `${i}\tRoom ${i}\tClassroom\t${50 + (i % 7)}`)].join("\n");
  const made = roomsToMake(rooms(text).rooms, EMPTY as never, "as_found");
  assert.equal(made.edits.filter((e) => e.path.startsWith("/spaces")).length, 200);
});

test("luminaires are placed from the room's corner, or spread", () => {
  const document = { ...EMPTY, spaces: [{ id: "1", number: "1.01", floor: [[10, 0], [18, 0], [18, 6], [10, 6]], height: "3 m" }] };
  const table = readTable("Room\tType\tX\tY\tZ\tQty\n1.01\tP6\t2\t1,5\t\t\n1.01\tP12\t\t\t\t6\n1.01\tP6\t9\t1\t\t\nX\tP6\t1\t1\t4\t");
  const mapping = guessColumns(table.rows, table.columns, "luminaires", library);
  assert.deepEqual(mapping.roles, ["room", "luminaire_type", "x", "y", "z", "luminaires"]);
  const rows = readLuminaires(table.rows, mapping, { types: {}, unit: "m", from: "room" }, library, [], boxesOf(document as never));
  assert.deepEqual(rows.map((r) => r.problems), [[], [], ["its place is outside the room"], ["there is no room “X”"]]);
  const made = luminairesToMake(rows, document as never, "as_found");
  assert.equal(made.count, 7);
  const list = apply(made.edits, document) as { designs: { role: string; luminaires: { id: string; at: number[] }[] }[] };
  assert.equal(list.designs[0]!.role, "as_found");
  assert.deepEqual(list.designs[0]!.luminaires[0]!.at, [12, 1.5, 3]);
  assert.equal(new Set(list.designs[0]!.luminaires.map((l) => l.id)).size, 7);
});

test("an even spread has every luminaire in the room and the rows along it", () => {
  assert.deepEqual(evenPlaces(2, 8, 4), [[2, 2], [6, 2]]);
  for (const count of [1, 5, 7, 12, 13]) {
    const places = evenPlaces(count, 8, 6);
    assert.equal(places.length, count);
    assert.ok(places.every(([x, y]) => x > 0 && x < 8 && y > 0 && y < 6));
  }
});

/** The document after edits: adds into lists and new keys. */
function apply(edits: readonly { path: string; value?: unknown }[], start: object = EMPTY): object {
  const document = structuredClone(start) as Record<string, unknown>;
  for (const { path, value } of edits) {
    const tokens = path.slice(1).split("/");
    const last = tokens.pop()!;
    const holder = tokens.reduce<unknown>((at, token) => (at as Record<string, unknown>)[token], document) as Record<string, unknown> & unknown[];
    if (last === "-") holder.push(value);
    else (holder as Record<string, unknown>)[last] = value;
  }
  return document;
}
