import assert from "node:assert/strict";
import { test } from "node:test";
import { DAY_S, YEAR_S, civilFrom, civilFromText, civilSeconds, civilText, firstDayOf, held } from "../../src/year/civil";
import { type YearContext, drawInstant, drawYear } from "../../src/year/draw";
import { civilFromFrame, coloured, frameFromCivil, meanOver, rowsFromDays, valueAt, valueOf } from "../../src/year/picture";
import { movedByKey } from "../../src/year/year_keys";
import { LIGHT_PALETTE_RGBA } from "../../src/look/scale";
import { bytesOf } from "../../src/plan/field";
import { valueWords } from "../../src/year/year";
import { inventedYear } from "../support/light";
import { assertDrawn, recorder } from "../support/recorded";

test("every step of the year has a date and time that leads back to it", () => {
  for (let s = 0; s < YEAR_S; s += 7200 + 300) {
    const c = civilFrom(s, 3);
    assert.equal(civilSeconds(c.month, c.day, c.hour, c.minute), s - (s % 60));
  }
});

test("dates and weekdays are those of the calendar", () => {
  // 2026 begins on a Thursday.
  assert.equal(civilText(civilSeconds(3, 17, 14, 35)!, 3), "Tuesday 17 March, 14:35");
  assert.equal(civilText(0, 3), "Thursday 1 January, 00:00");
  assert.equal(civilText(YEAR_S + 5, 3), "Thursday 31 December, 23:59");
  assert.equal(firstDayOf(3), 59);
  for (const [m, d, h, min] of [[2, 29, 0, 0], [13, 1, 0, 0], [4, 31, 0, 0], [1, 1, 24, 0], [1, 1, 0, 60], [1, 1.5, 0, 0]] as const) assert.equal(civilSeconds(m, d, h, min), null);
});

test("the axis runs on through the hours in which clocks jump", () => {
  // 29 March and 25 October 2026: clock time as it is read has 24 hours each day here.
  for (const [month, day] of [[3, 29], [10, 25]] as const)
    for (let hour = 0; hour < 24; hour += 1) assert.equal(civilSeconds(month, day, hour, 0)! - civilSeconds(month, day, 0, 0)!, hour * 3600);
});

test("days stand side by side with midnight at the foot", () => {
  const bytes = new Uint8Array(365 * 288);
  bytes[0] = 1; // 1 January, midnight
  bytes[287] = 2; // 1 January, 23:55
  bytes[364 * 288] = 3; // 31 December, midnight
  const rows = rowsFromDays(bytes, 288);
  assert.equal(rows[287 * 365], 1);
  assert.equal(rows[0], 2);
  assert.equal(rows[287 * 365 + 364], 3);
});

test("fewer pixels show means, which keep the mean of the whole", () => {
  const cells = new Uint8Array([0, 100, 200, 100, 50, 150, 250, 150]);
  assert.deepEqual([...meanOver(cells, 4, 2, 2, 1)], [75, 175]);
  assert.deepEqual([...meanOver(cells, 4, 2, 9, 9)], [...cells]);
  assert.deepEqual([...meanOver(new Uint8Array([0, 90, 240]), 3, 1, 2, 1)], [30, 190]);
  const year = rowsFromDays(bytesOf(inventedYear().bytes), 288);
  const mean = (a: Uint8Array) => a.reduce((sum, v) => sum + v, 0) / a.length;
  // Each of the fewer cells is rounded to a whole byte.
  assert.ok(Math.abs(mean(meanOver(year, 365, 288, 200, 101)) - mean(year)) < 0.5);
});

test("every step of a year has its byte's colour of the palette", () => {
  const rows = rowsFromDays(bytesOf(inventedYear().bytes), 288);
  const pixels = coloured(rows, LIGHT_PALETTE_RGBA);
  assert.equal(pixels.length, 4 * 105_120);
  for (const i of [0, 1, 287, 288, 50_000, 105_119])
    assert.deepEqual([...pixels.slice(4 * i, 4 * i + 4)], [...LIGHT_PALETTE_RGBA.slice(4 * rows[i]!, 4 * rows[i]! + 4)]);
});

test("the value under the cross-hair is that of its byte", () => {
  const scale = { low: 10, high: 1000, steps_per_day: 288 };
  assert.equal(valueOf(255, { ...scale, logarithmic: true }), 1000);
  assert.ok(Math.abs(valueOf(127.5, { ...scale, logarithmic: true }) - 100) < 1e-9);
  assert.equal(valueOf(51, { ...scale, logarithmic: false }), 208);
  const bytes = new Uint8Array(365 * 288);
  bytes[288 + 3] = 255;
  assert.equal(valueAt(bytes, { ...scale, logarithmic: false }, DAY_S + 3 * 300 + 299), 1000);
  assert.equal(valueAt(bytes, { ...scale, logarithmic: false }, DAY_S + 4 * 300), 10);
  assert.equal(valueAt(new Uint8Array(3), { ...scale, logarithmic: false }, 0), null);
});

test("the value is said in words of its quantity", () => {
  const said = (...of: Parameters<typeof valueWords>) => valueWords(...of).replaceAll("\u00A0", " ");
  assert.equal(said("power", 0.325, "", "si"), "power 33 %");
  assert.equal(said("presence", 1, "", "si"), "somebody is there");
  assert.equal(said("presence", 0, "", "si"), "nobody is there");
  assert.equal(said("task_light", 512, "lx", "us"), "task light 47.6 fc");
});

const FRAME = { left_px: 30, top_px: 3, width_px: 730, height_px: 144 };

test("pointing and drawing agree on every instant", () => {
  for (const s of [0, 300, DAY_S - 300, civilSeconds(3, 17, 14, 35)!, civilSeconds(7, 1, 12, 0)!, 364 * DAY_S]) {
    const { x_px, y_px } = frameFromCivil(FRAME, s);
    assert.equal(civilFromFrame(FRAME, x_px, y_px, 288), s);
  }
  assert.equal(civilFromFrame(FRAME, -100, 1000, 288), 0);
  assert.equal(civilFromFrame(FRAME, 5000, -1000, 288), 364 * DAY_S + DAY_S - 300);
  assert.equal(held(-3), 0);
});

test("keys move by a day, five minutes, an hour, a week, and hold at the ends", () => {
  const at = civilSeconds(3, 17, 14, 35)!;
  const said = (key: string, shift = false) => civilText(movedByKey(at, key, shift)!, 3);
  assert.equal(said("ArrowRight"), "Wednesday 18 March, 14:35");
  assert.equal(said("ArrowLeft"), "Monday 16 March, 14:35");
  assert.equal(said("ArrowUp"), "Tuesday 17 March, 14:40");
  assert.equal(said("PageDown"), "Tuesday 17 March, 13:35");
  assert.equal(said("PageDown", true), "Tuesday 24 March, 14:35");
  assert.equal(said("Home"), "Tuesday 17 March, 00:00");
  assert.equal(said("End", true), "Thursday 31 December, 14:35");
  assert.equal(movedByKey(at, "x"), null);
  assert.equal(movedByKey(0, "ArrowLeft"), 0);
  assert.equal(movedByKey(0, "ArrowDown"), 0);
});

test("while scrubbing only the cross-hair is drawn anew", () => {
  const { context, commands } = recorder<YearContext>();
  drawInstant(context, civilSeconds(7, 2, 12, 0)!, null, { left_px: 0, top_px: 0, width_px: 365, height_px: 100 }, { width_px: 365, height_px: 120, density: 1 });
  assertDrawn("instant", commands, [
    "setTransform 1 0 0 1 0 0",
    "clearRect 0 0 365 120",
    ...[
      ["#23222b", 2.6, 0.45, 3.3],
      ["#ffffff", 1.1, 0.95, 1.8],
    ].flatMap(([stroke, width, alpha, ring]) => [
      `strokeStyle = ${stroke}`,
      `lineWidth = ${width}`,
      `globalAlpha = ${alpha}`,
      "beginPath",
      "moveTo 182.5 0",
      "lineTo 182.5 100",
      "moveTo 0 50",
      "lineTo 365 50",
      "stroke",
      "globalAlpha = 1",
      `lineWidth = ${ring}`,
      "beginPath",
      "arc 182.5 50 5.6 0 6.28",
      "stroke",
    ]),
  ]);
});

test("an instant is read as people type it; a date alone keeps the time, a time alone the date", () => {
  const from = civilSeconds(3, 17, 14, 35)!;
  const december = civilSeconds(12, 21, 16, 0)!;
  for (const text of ["21 December 16:00", "21 dec, 16:00", "Dec 21 4 pm", "Monday 21 December, 16:00", "december 21st at 4:00pm", "12-21 16:00", "2026-12-21T16:00", "16.00 21 Dec."])
    assert.equal(civilFromText(text, from), december, text);
  assert.equal(civilFromText("21 December", from), civilSeconds(12, 21, 14, 35));
  assert.equal(civilFromText("9:05", from), civilSeconds(3, 17, 9, 5));
  assert.equal(civilFromText("12 am", from), civilSeconds(3, 17, 0, 0));
  assert.equal(civilFromText("1 June noon", from), civilSeconds(6, 1, 12, 0));
  for (const text of ["", "tomorrow", "30 February", "21 Smarch 16:00", "16", "25:00", "13 pm", "21 December 16:00 or so", "2026-12-21T16:00 17:00"])
    assert.equal(civilFromText(text, from), null, text);
});

test("the picture is scaled without smoothing, weekends and shut days are marked under it", () => {
  const { context, commands } = recorder<YearContext>();
  const size = { width_px: 800, height_px: 170, density: 2 };
  drawYear(context, {} as CanvasImageSource, inventedYear(), FRAME, size, { ink: "ink", soft: "soft", line: "line" });
  assertDrawn("year-beginning", commands.slice(0, 4), ["setTransform 2 0 0 2 0 0", "clearRect 0 0 800 170", "imageSmoothingEnabled = false", "drawImage picture 30 3 730 144"]);
  assert.equal(commands.filter((c) => c.startsWith("fillRect")).length, 104, "104 days of weekends in 2026");
  assert.equal(commands.filter((c) => c.startsWith("arc")).length, 2);
  // 1 January 2026 is a Thursday: the first weekend is the third day.
  assert.equal(commands.find((c) => c.startsWith("fillRect")), "fillRect 34 149 1.6 2.5");
  assert.deepEqual(commands.filter((c) => /^fillText [A-Z]/.test(c)).map((c) => c.split(" ")[1]).join(""), "JFMAMJJASOND");
});
