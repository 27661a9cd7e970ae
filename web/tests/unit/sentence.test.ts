import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import type { Json } from "../../src/app/pointer";
import { valueAt } from "../../src/app/pointer";
import { choicesAt, nameOfPlace, typicalOf } from "../../src/sentence/choices";
import { type SchemaDocument, placeAt } from "../../src/sentence/schema";
import { readEntered, shownEntered, stepped } from "../../src/units/entered";

declare const REPOSITORY: string;
const schema = JSON.parse(readFileSync(`${REPOSITORY}/schema/project.schema.json`, "utf8")) as SchemaDocument;
const demo = JSON.parse(readFileSync(`${REPOSITORY}/projects/fenwick_hollow.halflight.json`, "utf8")) as Json;
const plain = (text: string) => text.replaceAll("\u00A0", " ");

/** Place of the sequence of a space in the demo's proposal. */
function sequenceOf(space: string): string {
  const designs = valueAt(demo, "/designs") as Json[];
  const d = designs.findIndex((design) => valueAt(design, "/role") === "proposal");
  const s = (valueAt(demo, `/designs/${d}/sequences`) as Json[]).findIndex((q) => valueAt(q, "/space") === space);
  assert.ok(d >= 0 && s >= 0);
  return `/designs/${d}/sequences/${s}`;
}

test("the schema tells an editor what a place takes", () => {
  const at = (below: string) => placeAt(schema, `/designs/1/sequences/0${below}`);
  assert.deepEqual(at("/vacancy/delay")?.kind, { kind: "quantity", units: ["s", "min", "h"] });
  assert.equal(at("/vacancy/delay")?.standard, "15 min");
  assert.match(at("/vacancy/delay")?.help ?? "", /last motion/);
  assert.deepEqual(at("/trim/high")?.kind, { kind: "share", low: 0.05, high: 1 });
  assert.equal(at("/trim/high")?.optional, true);
  assert.deepEqual(at("/on/by")?.kind, { kind: "choice", values: ["hand", "occupancy", "schedule", "always"] });
  assert.deepEqual(at("/daylight/3/may_switch_off")?.kind, { kind: "truth" });
  assert.equal(at("/daylight/3/group")?.optional, false);
  assert.equal(at("/loss")?.kind.kind, "record");
  assert.equal(at("/vacancy/groups")?.kind.kind, "list");
  assert.equal(placeAt(schema, "/spaces/2/task_areas/0/target")?.kind.kind, "quantity");
  assert.equal(placeAt(schema, "/designs/1/typicals/0/sequences/0/vacancy/delay")?.kind.kind, "quantity");
  assert.equal(placeAt(schema, "/site/daylight_saving/begin/at_standard")?.kind.kind, "clock");
});

test("where the document can have nothing the schema has no place", () => {
  assert.equal(placeAt(schema, "/designs/1/sequences/0/vacancy/no_such_value"), null);
  assert.equal(placeAt(schema, "/constructor"), null);
});

test("every quantity of the demo's sequences reads back as a value of its place", () => {
  let read = 0;
  const walk = (value: Json, pointer: string) => {
    if (typeof value === "object" && value !== null) {
      for (const [key, child] of Object.entries(value)) walk(child, `${pointer}/${key}`);
      return;
    }
    const place = placeAt(schema, pointer);
    assert.notEqual(place, null, pointer);
    if (place?.kind.kind !== "quantity" || typeof value !== "string") return;
    const entered = readEntered(value, place.kind.units, null);
    assert.ok(entered.ok, `${pointer}: ${value}`);
    read += 1;
  };
  walk(valueAt(demo, "/designs/1/sequences")!, "/designs/1/sequences");
  walk(valueAt(demo, "/spaces")!, "/spaces");
  assert.ok(read > 100);
});

test("places that name something offer what the room has, by name", () => {
  const sequence = sequenceOf("G02");
  assert.deepEqual(choicesAt(demo, `${sequence}/normal_scene`, [])?.map((c) => c.name), ["Day", "Evening", "Event", "Closing"]);
  assert.deepEqual(choicesAt(demo, `${sequence}/daylight/0/photosensor`, [])?.map((c) => c.value), ["G02-P1", "G02-P2", "G02-P3"]);
  assert.deepEqual(choicesAt(demo, `${sequence}/daylight/0/task_area`, [])?.map((c) => c.value), [
    "tables-south",
    "tables-middle",
    "tables-rooflight",
  ]);
  assert.ok(choicesAt(demo, `${sequence}/daylight/0/group`, [])!.every((c) => c.value.startsWith("G02-day")));
  assert.ok(choicesAt(demo, `${sequence}/vacancy/groups`, [])!.some((c) => c.value === "G02-occ"));
  assert.deepEqual(choicesAt(demo, `${sequence}/schedule/calendar`, [])?.length, 3);
  const holders = choicesAt(demo, `${sequence}/vacancy/held_by`, [])!.map((c) => c.value);
  assert.ok(holders.includes("G03") && !holders.includes("G02"), "other spaces than its own");
  assert.equal(choicesAt(demo, `${sequence}/vacancy/delay`, []), null);
  const shed = choicesAt(demo, `${sequence}/load_shed/groups`, [])!.map((c) => c.value);
  assert.ok(shed.includes("G02-dr"));
  assert.ok(!shed.some((id) => id.startsWith("G02-occ") || id.startsWith("G02-day")), "groups for scenes and demand response");
});

test("what a typical states says so", () => {
  assert.equal(typicalOf(demo, "/designs/1/typicals/0/sequences/0/vacancy/delay"), "restroom");
  assert.equal(typicalOf(demo, "/typicals/0/space/height"), "restroom");
  assert.equal(typicalOf(demo, `${sequenceOf("G02")}/vacancy/delay`), null);
});

test("labels name a place as people do", () => {
  const sequence = sequenceOf("G02");
  assert.equal(nameOfPlace(demo, `${sequence}/vacancy/delay`), "vacancy delay");
  assert.equal(nameOfPlace(demo, `${sequence}/daylight/0/minimum_level`), "minimum level of row by the windows");
  assert.equal(nameOfPlace(demo, "/spaces/1/task_areas/0/target"), "target of Tables by the windows");
});

test("what was typed is kept as typed", () => {
  assert.deepEqual(readEntered(" 15 min ", ["s", "min", "h"], "s"), { ok: true, text: "15 min", si: 900 });
  assert.deepEqual(readEntered("90s", ["s", "min", "h"], null), { ok: true, text: "90s", si: 90 });
  assert.deepEqual(readEntered("1 h 30 min", ["s", "min", "h"], null), { ok: true, text: "1 h 30 min", si: 5400 });
  const feet = readEntered("12 ft 6 in", ["m", "cm", "mm", "ft", "in"], null);
  assert.ok(feet.ok && feet.text === "12 ft 6 in" && Math.abs(feet.si - 3.81) < 1e-9);
  const candles = readEntered("30 fc", ["lx", "fc"], "lx");
  assert.ok(candles.ok && candles.text === "30 fc" && Math.abs(candles.si - 322.917) < 1e-3);
});

test("a number alone takes the unit that the place showed", () => {
  assert.deepEqual(readEntered("20", ["s", "min", "h"], "min"), { ok: true, text: "20 min", si: 1200 });
  assert.deepEqual(readEntered("8", ["%"], "%"), { ok: true, text: "8 %", si: 0.08 });
});

test("what cannot be read says what would be right", () => {
  const problem = (typed: string, units: string[], usual: string | null) => {
    const entered = readEntered(typed, units, usual);
    return entered.ok ? "" : entered.problem;
  };
  assert.match(problem("soon", ["s", "min", "h"], "min"), /15 min/);
  assert.match(problem("15 minutes", ["s", "min", "h"], "min"), /“minutes” is no unit/);
  assert.match(problem("1,5 h", ["s", "min", "h"], "min"), /point/);
  assert.match(problem("", ["lx", "fc"], "lx"), /300 lx/);
  assert.match(problem("0.4", ["%"], "%"), /40 %/);
});

test("a drag moves a value in its own unit and lands on whole steps", () => {
  assert.equal(stepped("15 min", 1, false, 0, Infinity), "16 min");
  assert.equal(stepped("15 min", -3, false, 0, Infinity), "12 min");
  assert.equal(stepped("45 min", 1, false, 0, Infinity), "50 min");
  assert.equal(stepped("8 %", 1, false, 0, 1), "9 %");
  assert.equal(stepped("98 %", 1, true, 0, 1), "100 %");
  assert.equal(stepped("7 %", -4, true, 0.05, 1), "5 %");
  assert.equal(stepped("30 fc", 2, false, 0, Infinity), "32 fc");
  assert.equal(stepped("2.40 m", 1, false, 0, Infinity), "2.45 m");
  assert.equal(stepped("15 min", 0, false, 0, Infinity), "15 min");
  assert.equal(stepped("12 ft 6 in", 2, false, 0, Infinity), "12 ft 6 in");
});

test("a value shows as typed unless the reader chose the other units", () => {
  assert.equal(plain(shownEntered("30 fc", "us")), "30 fc");
  assert.equal(plain(shownEntered("30 fc", "si")), "323 lx");
  assert.equal(plain(shownEntered("500 lx", "us")), "46.5 fc");
  assert.equal(plain(shownEntered("2.40 m", "si")), "2.40 m");
  assert.equal(plain(shownEntered("12 ft 6 in", "si")), "3.81 m");
  assert.equal(plain(shownEntered("15 min", "us")), "15 min");
});
