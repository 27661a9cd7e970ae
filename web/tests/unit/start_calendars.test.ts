import assert from "node:assert/strict";
import { test } from "node:test";
import { editsOfTyped, rangesInWords, rangesOf, weekdaysInWords } from "../../src/start/calendars";

test("days of the week are named as people say them", () => {
  assert.equal(weekdaysInWords(["mon", "tue", "wed", "thu", "fri"]), "Monday to Friday");
  assert.equal(weekdaysInWords(["sun", "sat"]), "Saturday and Sunday");
  assert.equal(weekdaysInWords(["fri", "mon", "wed"]), "Monday, Wednesday and Friday");
  assert.equal(weekdaysInWords(["sat"]), "Saturday");
});

test("holidays and terms are read as typed and written as documents have them", () => {
  const ranges = [
    { from: "1 Jan", to: "1 Jan" },
    { from: "24 Dec", to: "2 Jan" },
  ];
  assert.deepEqual(rangesOf("January 1, 24 December to 2 Jan"), ranges);
  assert.equal(rangesInWords(ranges), "1 Jan, 24 Dec to 2 Jan");
  assert.deepEqual(rangesOf(rangesInWords(ranges)), ranges);
  assert.deepEqual(rangesOf(" "), []);
  for (const words of ["Christmas", "31 June", "1 Jan to 2 Jan to 3 Jan", "12", "1 Jan 10:00"]) assert.equal(rangesOf(words), null, words);
});

test("nothing is written while something typed cannot stand", () => {
  assert.deepEqual(editsOfTyped({ "/calendars/0/hours/0/open": "07:30" }), [{ op: "add", path: "/calendars/0/hours/0/open", value: "07:30" }]);
  assert.deepEqual(editsOfTyped({ "/calendars/0/terms": "5 Jan to 27 Mar" }), [{ op: "add", path: "/calendars/0/terms", value: [{ from: "5 Jan", to: "27 Mar" }] }]);
  assert.equal(editsOfTyped({ "/calendars/0/hours/0/open": "" }), null);
  assert.equal(editsOfTyped({ "/calendars/0/hours/0/open": "07:30", "/calendars/0/holidays": "soon" }), null);
});
