import assert from "node:assert/strict";
import { test } from "node:test";
import { decimalPlace, duration, percent, printedInterval, printedResult, printedValue, rounded } from "../../src/units/figures";
import { formatArea, formatIlluminance, formatInterval, formatLength, formatResult } from "../../src/units/system";

/** Figures keep together with their unit; where lines may break is not what these tests are about. */
const plain = (text: string) => text.replaceAll("\u00A0", " ");

test("a result shows no more digits than its interval carries", () => {
  assert.equal(plain(printedResult(0.4632, 0.41, 0.51, "fraction")), "46 %");
  assert.equal(plain(printedInterval(0.41, 0.51, "fraction")), "41 to 51 %");
  assert.equal(plain(printedResult(0.4632, 0.4582, 0.4682, "fraction")), "46.3 %");
  assert.equal(plain(printedResult(0.4632, 0.4631, 0.4633, "fraction")), "46.320 %");
  assert.equal(plain(printedResult(6.23, 4.6, 9.1, "years")), "6.2 years");
  assert.equal(plain(printedResult(-0.06, -0.1, -0.02, "fraction")), "\u22126 %");
  assert.equal(plain(printedResult(512.4, 380, 640, "lx")), "510 lx");
});

test("the half width decides by its three leading digits", () => {
  assert.equal(rounded(0.827, decimalPlace(0.827, 0.827 - 0.119, 0.827 + 0.119)), "0.83");
  assert.equal(rounded(0.827, decimalPlace(0.827, 0.827 - 0.367, 0.827 + 0.367)), "0.8");
  assert.equal(decimalPlace(12.3, 12.3 - 0.96, 12.3 + 0.96), -1);
});

test("a value without an interval has three significant digits and no zeros at its end", () => {
  assert.equal(plain(printedValue(512.4, "lx")), "512 lx");
  assert.equal(plain(printedValue(0.07861, "fraction")), "7.86 %");
  assert.equal(plain(printedValue(0, "lx")), "0 lx");
  assert.equal(plain(printedValue(138.24, "m2")), "138 m\u00B2");
  assert.equal(printedValue(3, "count"), "3");
  assert.equal(plain(printedValue(0.6, "lx")), "0.6 lx");
  assert.equal(plain(printedValue(0.0031, "per lx")), "0.0031 per lx");
  assert.equal(plain(printedValue(64.04, "W")), "64 W");
});

test("thousands are set off from 10 000 up, and nothing rounds to minus zero", () => {
  assert.equal(rounded(1234, 0), "1234");
  assert.equal(rounded(12345.6, 1), "12\u202F350");
  assert.equal(rounded(1234567, 0), "1\u202F234\u202F567");
  assert.equal(rounded(-12345.67, -1), "\u221212\u202F345.7");
  assert.equal(rounded(-0.3, 0), "0");
  assert.equal(rounded(Number.NaN, 0), "no value");
});

test("settings print as people type them", () => {
  assert.equal(plain(percent(0.08)), "8 %");
  assert.equal(plain(percent(0.125)), "12.5 %");
  assert.deepEqual([30, 900, 7200, 90].map((s) => plain(duration(s))), ["30 s", "15 min", "2 h", "90 s"]);
});

test("US units convert the value and its interval together", () => {
  assert.equal(plain(formatIlluminance(400, "si")), "400 lx");
  assert.equal(plain(formatIlluminance(400, "us")), "37.2 fc");
  assert.equal(plain(formatIlluminance(10.7639104, "us")), "1 fc");
  assert.equal(plain(formatResult(512.4, 380, 640, "lx", "us")), "48 fc");
  assert.equal(plain(formatInterval(380, 640, "lx", "us")), "35 to 59 fc");
  assert.equal(plain(formatResult(0.4632, 0.41, 0.51, "fraction", "us")), "46 %");
});

test("lengths show to the centimetre or to the half inch", () => {
  assert.equal(plain(formatLength(14.4, "si")), "14.40 m");
  assert.equal(plain(formatLength(14.4, "us")), "47 ft 3 in");
  assert.equal(plain(formatLength(0.3048, "us")), "1 ft");
  assert.equal(plain(formatLength(0.0254, "us")), "1 in");
  assert.equal(plain(formatLength(0.75, "us")), "2 ft 5.5 in");
  assert.equal(plain(formatLength(0, "us")), "0 in");
  assert.equal(plain(formatLength(3.6575, "us")), "12 ft");
  assert.equal(plain(formatLength(-0.5, "us")), "\u22121 ft 7.5 in");
});

test("areas", () => {
  assert.equal(plain(formatArea(138.24, "si")), "138 m\u00B2");
  assert.equal(plain(formatArea(138.24, "us")), "1488 ft\u00B2");
});
