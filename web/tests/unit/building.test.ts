import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import type { Building, Edit, RoomRow } from "../../src/api/contract";
import { type Json, tokensOf, valueAt } from "../../src/app/pointer";
import type { SpaceStudy, Study } from "../../src/app/study";
import { editsToConfirm, editsToWithdraw, groupedByTypical, knownAssumptions } from "../../src/building/assumptions";
import { BATCH_FIELDS, batchInWords, batchOf } from "../../src/building/batch";
import { differenceOf, differs } from "../../src/building/comparison";
import { differences } from "../../src/building/difference";
import { openIssues } from "../../src/building/issues";
import { NO_FILTER, addsUp, arranged, rowsOf, selectedAfter, shareParts } from "../../src/building/rows";
import { editsFollowed, editsForRoomAlone, editsToDrop, editsToTakeOver, heirsOf, overridesOf, reachInWords, reachOf } from "../../src/building/typicals";
import { placeInWords, roomOfPlace } from "../../src/building/words";
import { sharesOfVariance } from "../../src/pages/proof";
import { savingWith } from "../../src/pages/room/claims";
import { cells } from "../support/cells.mjs";

declare const REPOSITORY: string;
const demo = JSON.parse(readFileSync(`${REPOSITORY}/projects/fenwick_hollow.halflight.json`, "utf8")) as Json;

const DELAY = "/designs/1/typicals/0/sequences/0/vacancy/delay";
const building = cells(24) as unknown as Json;

/** A copy of a document after edits, one after another (RFC 6902). */
function after(document: Json, edits: readonly Edit[]): Json {
  const next = structuredClone(document);
  for (const edit of edits) {
    const tokens = tokensOf(edit.path);
    const last = tokens.pop()!;
    const owner = tokens.reduce<any>((at, token) => at[token], next);
    assert.notEqual(owner, undefined, edit.path);
    if (edit.op === "remove") {
      assert.ok(last in owner, edit.path);
      if (Array.isArray(owner)) owner.splice(Number(last), 1);
      else delete owner[last];
    } else if (edit.op === "add" && Array.isArray(owner)) owner.splice(last === "-" ? owner.length : Number(last), 0, edit.value);
    else owner[last] = edit.value;
  }
  return next;
}
const delays = (document: Json) =>
  (valueAt(document, "/designs/1/sequences") as Json[]).map((q) => [valueAt(q, "/space"), valueAt(q, "/vacancy/delay")]);

test("a change of the typical's delay reaches 23 rooms and leaves the one that has its own", () => {
  const reach = reachOf(building, DELAY)!;
  assert.equal(reach.follow.length, 23);
  assert.deepEqual(reach.keep.map((heir) => heir.number), ["104"]);
  assert.equal(reachInWords(reach, DELAY), "changes 23 rooms; 1 keeps its own: 104 (delay)");
  const edits = editsFollowed(building, DELAY, "20 min");
  assert.deepEqual(edits, [{ op: "replace", path: DELAY, value: "20 min" }]);
  assert.deepEqual(delays(after(building, edits)), [["104", "10 min"]]);
});

test("a part of a room's copy that agrees with the typical follows it", () => {
  const warning = DELAY.replace("delay", "warning");
  assert.equal(reachInWords(reachOf(building, warning)!, warning), "changes 24 rooms");
  const next = after(building, editsFollowed(building, warning, "60 s"));
  assert.equal(valueAt(next, "/designs/1/sequences/0/vacancy/warning"), "60 s");
  assert.equal(valueAt(next, warning), "60 s");
});

test("names of the block are no overrides, and follow under the room's own name", () => {
  assert.deepEqual(overridesOf(building, "cell").map((o) => [o.heir.number, o.at, o.own, o.typical]), [["104", DELAY, "10 min", "15 min"]]);
  const groups = DELAY.replace("delay", "groups");
  const next = after(building, editsFollowed(building, groups, undefined));
  assert.equal(valueAt(next, "/designs/1/sequences/0/vacancy/groups"), undefined);
  const back = after(next, editsFollowed(next, groups, ["occ"]));
  assert.deepEqual(valueAt(back, "/designs/1/sequences/0/vacancy/groups"), ["104.occ"]);
});

test("an override is dropped with the copy that was made for it, or taken over by the typical", () => {
  const [override] = overridesOf(building, "cell");
  const dropped = after(building, editsToDrop(building, override!));
  assert.deepEqual(delays(dropped), []);
  assert.deepEqual(overridesOf(dropped, "cell"), []);
  const taken = after(building, editsToTakeOver(building, override!)!);
  assert.equal(valueAt(taken, DELAY), "10 min");
  assert.deepEqual(overridesOf(taken, "cell"), []);
});

test("of two overrides in one copy one is dropped and the other kept", () => {
  const heir = heirsOf(building, "cell").find((one) => one.id === "104")!;
  const two = after(building, editsForRoomAlone(building, DELAY.replace("delay", "warning"), heir, "90 s")!);
  const overrides = overridesOf(two, "cell");
  assert.deepEqual(overrides.map((o) => o.own), ["10 min", "90 s"]);
  const next = after(two, editsToDrop(two, overrides[0]!));
  assert.deepEqual(overridesOf(next, "cell").map((o) => o.own), ["90 s"]);
  assert.deepEqual(delays(next), [["104", "15 min"]]);
});

test("a key that a room states for its own sake is its own, even where it says the same", () => {
  const height = "/typicals/0/space/height";
  const own = after(building, [{ op: "add", path: "/spaces/4/height", value: "2.7 m" }]);
  assert.equal(reachInWords(reachOf(own, height)!, height), "changes 23 rooms; 1 keeps its own: 105 (height)");
  assert.equal(editsFollowed(own, height, "3 m").length, 1);
});

test("a room alone gets a copy moved to where it lies", () => {
  const heir = heirsOf(building, "cell").find((one) => one.id === "102")!;
  const next = after(building, editsForRoomAlone(building, "/typicals/0/space/task_areas/0/target", heir, "300 lx")!);
  assert.deepEqual(valueAt(next, "/spaces/1/task_areas/0/plan"), [[4.5, 0.5], [6.5, 0.5], [6.5, 2], [4.5, 2]]);
  assert.deepEqual(overridesOf(next, "cell").map((o) => [o.heir.number, o.own]), [["102", "300 lx"], ["104", "10 min"]]);
});

test("what rooms of the demo keep as their own", () => {
  assert.deepEqual(
    overridesOf(demo, "office").map((o) => `${o.heir.number} ${tokensOf(o.at).slice(3).join(" ")}`),
    ["1.05 occupancy absence", "1.05 occupancy present_fraction"],
  );
  assert.deepEqual(overridesOf(demo, "restroom"), []);
});

const field = (id: string) => BATCH_FIELDS.find((one) => one.id === id)!;

test("a batch gives rooms of a typical their own value, and changes the typical where all its rooms are chosen", () => {
  const some = batchOf(building, ["101", "104"], field("delay"), "5 min");
  assert.equal(batchInWords(some), "changes 2 rooms");
  assert.deepEqual(delays(after(building, some.edits)), [["104", "5 min"], ["101", "5 min"]]);
  const all = batchOf(building, heirsOf(building, "cell").map((heir) => heir.id), field("height"), "3 m");
  assert.deepEqual(all.edits, [{ op: "replace", path: "/typicals/0/space/height", value: "3 m" }]);
  assert.equal(batchInWords(all), "changes 24 rooms; in the typical cell where all its rooms are chosen");
});

test("a batch says which rooms it cannot change, and nothing of what stands already", () => {
  const batch = batchOf(demo, ["G02", "G09"], field("delay"), "20 min");
  assert.equal(batchInWords(batch), "changes nothing; 1 stays: G.09 (has no sequence with a vacancy rule)");
  const targets = batchOf(demo, ["G02"], field("target"), "450 lx");
  const areas = valueAt(after(demo, targets.edits), "/spaces/1/task_areas") as Json[];
  assert.ok(areas.length > 1 && areas.every((area) => valueAt(area, "/target") === "450 lx"));
});

test("rooms that join a typical give up what the designs held for them", () => {
  const batch = batchOf(demo, ["106"], field("typical"), "office");
  const next = after(demo, batch.edits);
  assert.equal(heirsOf(next, "office").length, 3);
  const left = (valueAt(next, "/designs") as Json[]).flatMap((design) => Object.values(design as object).flat() as Json[]).filter((item) => valueAt(item, "/space") === "106");
  assert.deepEqual(left, []);
  assert.equal(batch.give_way, batch.edits.length - 1);
  assert.ok(batch.give_way > 10);
});

test("documents differ by things of the same name, wherever in their list these stand", () => {
  const before: Json = { list: [{ id: "a", v: 1 }, { id: "b", v: 2 }], plan: [[0, 0], [1, 0]] };
  const now: Json = { list: [{ id: "b", v: 3 }, { id: "c" }], plan: [[0, 0], [2, 0]] };
  assert.deepEqual(differences(before, now), [
    { before_at: "/list/0", after_at: null, before: { id: "a", v: 1 }, after: undefined },
    { before_at: "/list/1/v", after_at: "/list/0/v", before: 2, after: 3 },
    { before_at: null, after_at: "/list/1", before: undefined, after: { id: "c" } },
    { before_at: "/plan", after_at: "/plan", before: [[0, 0], [1, 0]], after: [[0, 0], [2, 0]] },
  ]);
  assert.deepEqual(differences(demo, structuredClone(demo)), []);
  assert.deepEqual(differences({ q: [{ on: 1 }] }, { q: [{ on: 2 }, {}] }).map((d) => [d.after_at, d.after]), [["/q/0/on", 2], ["/q/1", {}]]);
  const turned: Json = { list: [{ id: "b" }, { id: "a" }] };
  assert.deepEqual(differences({ list: [{ id: "a" }, { id: "b" }] }, turned).map((d) => d.after), [["b", "a"]]);
});

test("places are told in words", () => {
  assert.equal(placeInWords(demo, "/spaces/1/occupancy/people"), "G.02 occupancy people");
  assert.equal(placeInWords(building, "/designs/1/sequences/0/vacancy/delay"), "104 vacancy delay");
  assert.equal(placeInWords(building, DELAY), "typical cell: vacancy delay");
  assert.equal(placeInWords(demo, "/spaces/*/reflectances"), "reflectances of all spaces");
  assert.equal(placeInWords(demo, "/site/latitude"), "site latitude");
  assert.equal(roomOfPlace(building, "/designs/1/sequences/0/on/by"), "104");
  assert.equal(roomOfPlace(building, DELAY), null);
});

// ---- rows ----

const room = (id: string, more: Partial<RoomRow> = {}): RoomRow => ({
  id, number: id, name: `Room ${id}`, storey: "first", kind: "office", kind_name: "office", typical: null, overrides: [],
  pointer: `/spaces/${id}`, area_m2: 10, luminaires: 2, connected_w: 60, ...more,
});
const year = (kwh: number) => ({ lighting_kwh: kwh, lighting_kwh_low: kwh, lighting_kwh_high: kwh, standby_kwh: 1, standby_kwh_low: 1, standby_kwh_high: 1, contents: "" });
const space = (id: string, saving: number, verdicts: readonly ("fail" | "pass" | "needs_evidence")[] = []): SpaceStudy => {
  const e = { mean: saving, low: saving - 0.1, high: saving + 0.1, standard_error: 0.01 };
  return {
    id, number: id, name: id, studied: true, not_studied_because: "", area_m2: 10, connected_w: 60, connected_as_found_w: 90, lpd_w_m2: 6,
    electric: [], scenes: [], claims: [],
    annual: { cases: { as_found: year(100), relamped: year(90), code_minimum: year(80), proposal: year(100 * (1 - saving)) }, saving: { against_as_found: e, against_relamped: e, against_code_minimum: e, as_usually_found: e }, shares: [] },
    light_for_people: { lit_for_nobody_h: e, lit_for_nobody_as_found_h: e, taken_from_people: e, dips_on_people: e },
    faults: [],
    daylight_loops: [],
    plug_loads: { devices: [], found_kwh: e, proposed_kwh: e, saved_kwh: e, saving: e },
    findings: verdicts.map((verdict, i) => ({ rule: `r${i}`, code: "C", edition: "1", section: "2", title: `rule ${i}`, verdict, evidence: "seen", fix: "", confirmed: "confirmed", blocks_issue: verdict === "fail" && i === 0 })),
  };
};
const rooms: Building = {
  project: "p", revision: 1, name: "B", storeys: [{ id: "first", name: "First floor" }, { id: "ground", name: "Ground floor" }],
  rooms: [room("2"), room("10", { storey: "ground" }), room("1", { kind: "stair", kind_name: "stair", typical: "t" })],
  typicals: [{ id: "t", name: "Tee", pointer: "/typicals/0", rooms: ["1"] }], designs: [], kinds: [],
  diagnostics: [{ severity: "missing", where: "/spaces/2/height", problem: "no height", remedy: "give it" }, { severity: "warning", where: "/site", problem: "odd", remedy: "" }],
};
const study = { spaces: [space("2", 0.2), space("10", 0.5, ["fail", "needs_evidence"]), { ...space("1", 0), studied: false, not_studied_because: "no floor" }] } as unknown as Study;
const rows = rowsOf(rooms, study, rooms.diagnostics);
const numbers = (...arguments_: Parameters<typeof arranged>) => arranged(...arguments_).map((row) => row.room.number);

test("rooms are sorted by any column: numbers as numbers, rooms without a figure last", () => {
  assert.deepEqual(numbers(rows, NO_FILTER, "number", false), ["1", "2", "10"]);
  assert.deepEqual(numbers(rows, NO_FILTER, "saving", true), ["10", "2", "1"]);
  assert.deepEqual(numbers(rows, NO_FILTER, "saving", false), ["2", "10", "1"]);
  assert.deepEqual(numbers(rows, NO_FILTER, "rules", true), ["10", "1", "2"]);
  assert.deepEqual(numbers(rows, NO_FILTER, "energy", false), ["10", "2", "1"]);
});

test("rooms are filtered by words, storey, kind, typical, and by what is to be settled", () => {
  const by = (change: Partial<typeof NO_FILTER>) => numbers(rows, { ...NO_FILTER, ...change }, "number", false);
  assert.deepEqual(by({ words: "tee stair" }), ["1"]);
  assert.deepEqual(by({ storey: "ground" }), ["10"]);
  assert.deepEqual(by({ kind: "office" }), ["2", "10"]);
  assert.deepEqual(by({ typical: "none" }), ["2", "10"]);
  assert.deepEqual(by({ findings: true }), ["2", "10"]);
});

test("a click with shift chooses everything between", () => {
  const order = ["a", "b", "c", "d"];
  assert.deepEqual([...selectedAfter(new Set(), order, "b", null, true)], ["b"]);
  assert.deepEqual([...selectedAfter(new Set(["a"]), order, "c", "a", true)], ["a", "b", "c"]);
  assert.deepEqual([...selectedAfter(new Set(["a", "b", "c"]), order, "a", "c", true)], []);
});

test("what is missing is listed worst first, each with its room", () => {
  assert.deepEqual(
    openIssues(rooms, study, () => null).map((issue) => [issue.severity, issue.room?.number ?? null]),
    [["blocks issue", "10"], ["missing", "2"], ["missing", "1"], ["needs evidence", "10"], ["warning", null]],
  );
});

test("shares lie along one bar and add up to the saving", () => {
  const shares = [{ strategy: "daylight", kwh: 30, low: 20, high: 40 }, { strategy: "standby", kwh: -10, low: -11, high: -9 }, { strategy: "trim", kwh: 70, low: 60, high: 80 }];
  const { parts, length_kwh, sum_kwh } = shareParts(shares);
  assert.deepEqual(parts.map((p) => [p.strategy, p.from, p.to]), [["daylight", 0, 0.3], ["trim", 0.3, 1], ["standby", 0.9, 1]]);
  assert.deepEqual([length_kwh, sum_kwh], [100, 90]);
  assert.ok(addsUp(shares, 90));
  assert.ok(!addsUp(shares, 90.1));
});

test("paired figures differ by more than rounding, or are the same", () => {
  const pair = (a: number, b: number, half = 0) => ({ group: "", words: "", unit: "kWh", first: { value: a, low: a - half, high: a + half }, second: { value: b, low: b - half, high: b + half } });
  assert.equal(differs(pair(100, 100.2)), false);
  assert.equal(differs(pair(100, 103)), true);
  assert.equal(differs(pair(100, 100.2, 5)), true);
  assert.equal(differs({ ...pair(1, 1), second: null }), true);
  assert.equal(differenceOf(pair(100, 97)), -3);
});

test("assumptions are ranked, grouped by typical, confirmed and withdrawn", () => {
  const of = (path: string, effect: number, typical = "") => ({ path, value: "1", source: "assumed", effect, share_of_variance: 0, typical, confirmed: false });
  const list = [of("/a", 0.01), of("/b", 0.03, "t"), of("/c", 0.01)];
  const confirmation = { pointer: "/a", by: "R. Vale", on: "1 May 2026", how: "asked" };
  const document: Json = { confirmations: [{ ...confirmation, pointer: "/x" }] };
  const next = after(document, editsToConfirm(document, confirmation));
  const known = knownAssumptions(next, list);
  assert.deepEqual(known.map((one) => [one.path, one.confirmation?.by ?? null]), [["/b", null], ["/c", null], ["/a", "R. Vale"]]);
  assert.deepEqual(groupedByTypical(known).map((group) => [group.typical, group.items.length]), [["t", 1], ["", 2]]);
  assert.deepEqual(after(next, editsToWithdraw(next, "/a")), document);
  assert.deepEqual(after({}, editsToConfirm({}, confirmation)), { confirmations: [confirmation] });
});

test("what the interval comes from is told largest first, with the rest among it", () => {
  const of = (path: string, share_of_variance: number) => ({ path, value: "1", source: "assumed", effect: 0.01, share_of_variance, typical: "", confirmed: false });
  const proof = { readings: [], effective_replicates: 128, widened: 1, logging: [], convergence: [], variance_of_the_rest: 0.3 };
  assert.deepEqual(sharesOfVariance([of("/a", 0.1), of("/b", 0), of("/c", 0.6)], proof), [
    { path: "/c", share: 0.6 },
    { path: "", share: 0.3 },
    { path: "/a", share: 0.1 },
  ]);
});

test("a fault takes its energy off the saving", () => {
  const around = (mean: number) => ({ mean, low: mean, high: mean, standard_error: 0 });
  const year = { lighting_kwh: 900, standby_kwh: 100 };
  const room = { annual: { cases: { as_found: year }, saving: { against_as_found: around(0.6) } }, faults: [{ fault: "held-on", name: "", kwh: around(250) }] };
  const space = room as unknown as Parameters<typeof savingWith>[0];
  assert.equal(savingWith(space, null), 0.6);
  assert.ok(Math.abs(savingWith(space, "held-on") - 0.35) < 1e-12);
});
