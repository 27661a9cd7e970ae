// The building, its typicals, issue, comparison and assumptions in a real browser: against the program that
// HALFLIGHT_PROGRAM names, or against the stand-in.
import assert from "node:assert/strict";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { join } from "node:path";
import { PATIENCE_MS, STUDY_PATIENCE_MS, launch } from "../support/browser.mjs";
import { cells } from "../support/cells.mjs";
import { startProgram } from "../support/program.mjs";
import { startService } from "../support/service.mjs";

const root = join(import.meta.dirname ?? new URL(".", import.meta.url).pathname, "../../..");
const program = process.env.HALFLIGHT_PROGRAM;
/** Rooms where only the document matters, and where every one of them is studied. */
const MANY = 24;
const FEW = 6;

let browser;
let service;
let page;
let project;
let complaints;

before(async () => {
  browser = await launch();
});
after(async () => {
  await browser.close();
});
beforeEach(async () => {
  service = program === undefined ? await startService(root) : await startProgram(program);
  page = await browser.newPage({ viewport: { width: 1480, height: 960 } });
  page.setDefaultTimeout(PATIENCE_MS);
  complaints = [];
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
});
afterEach(async () => {
  await page.close();
  await service.close();
});

const open = (path = "") => page.goto(`${service.url}/projects/${project}${path}`);
/** A corridor of `count` cells; of MANY nothing is studied, which would take the machine's time from what is tested. */
async function begin(count) {
  project = await service.add("A corridor of cells", JSON.stringify(cells(count), null, 2));
  if (count === MANY) await page.route(/\/studies$/, () => {});
}
const sees = (locator, text) => locator.filter({ hasText: text }).first().waitFor();
const state = () => page.getByRole("status").filter({ hasText: /^revision/ });
const studied = () => page.getByRole("heading", { name: "What the saving is made of" }).waitFor({ timeout: STUDY_PATIENCE_MS });
const rows = () => page.locator("table.rooms tbody tr");
const proposal = async () => (await service.document(project)).designs[1];
const delay = () => page.locator('#typicals .phrase[data-pointer$="/vacancy/delay"]');

test("a change of the typical's delay changes 23 rooms, keeps and lists 1; undo restores the bytes", async () => {
  await begin(MANY);
  await open();
  await sees(page.locator("#typicals td"), "changes 23 rooms; 1 keeps its own: 104 (delay)");
  const own = page.locator("#typicals tr", { hasText: "104" }).filter({ hasText: "vacancy delay" }).filter({ hasText: "10" });
  await own.first().waitFor();

  await delay().click();
  await sees(page.locator(".beside .typical"), "changes 23 rooms; 1 keeps its own: 104 (delay)");
  await page.keyboard.type("20 min");
  await page.keyboard.press("Enter");
  await sees(state(), "revision 2, saved");
  const changed = await proposal();
  assert.equal(changed.typicals[0].sequences[0].vacancy.delay, "20 min");
  assert.deepEqual(changed.sequences.map((q) => [q.space, q.vacancy.delay]), [["104", "10 min"]]);

  const before = await service.text(project, 1);
  const after = await service.text(project, 2);
  await page.keyboard.press("Control+z");
  await sees(state(), "revision 3, saved");
  assert.equal(await service.text(project, 3), before);
  await page.keyboard.press("Control+Shift+z");
  await sees(state(), "revision 4, saved");
  assert.equal(await service.text(project, 4), after);
  assert.deepEqual(complaints, []);
});

test("a room's own value is dropped, and one is taken over for all", async () => {
  await begin(MANY);
  // One slow answer: what the hand finds on the page must be of one revision all the same.
  await page.route(/building\?revision=3/, async (route) => {
    await new Promise((resolve) => setTimeout(resolve, 400));
    await route.continue();
  });
  await open();
  await page.getByRole("button", { name: "for all rooms of the typical: vacancy delay of 104" }).click();
  await sees(state(), "revision 2, saved");
  assert.equal((await proposal()).typicals[0].sequences[0].vacancy.delay, "10 min");
  await sees(page.locator("#typicals"), "No room has anything of its own.");
  await page.keyboard.press("Control+z");
  await sees(state(), "revision 3, saved");
  await page.getByRole("button", { name: "follow the typical: 104, vacancy delay" }).click();
  await sees(page.locator("#typicals"), "No room has anything of its own.");
  assert.deepEqual((await proposal()).sequences, []);
  assert.equal((await proposal()).typicals[0].sequences[0].vacancy.delay, "15 min");
});

test("several rooms are changed at once as one revision whose label names their number", async () => {
  await begin(MANY);
  await open();
  await page.getByRole("checkbox", { name: "choose 101 Cell 1" }).click();
  await page.getByRole("checkbox", { name: "choose 105 Cell 5" }).click({ modifiers: ["Shift"] });
  const bar = page.getByRole("form", { name: "Change the chosen rooms" });
  await sees(bar, "5 rooms chosen");
  await bar.getByLabel("set").selectOption("vacancy delay");
  await bar.getByLabel("to").fill("no time");
  await sees(bar, "15 min");
  await bar.getByLabel("to").fill("5 min");
  await sees(bar, "changes 5 rooms");
  await bar.getByRole("button", { name: "change" }).click();
  await sees(state(), "revision 2, saved");
  assert.equal((await service.revisions(project))[0].label, "5 rooms: vacancy delay 5 min");
  assert.deepEqual((await proposal()).sequences.map((q) => q.vacancy.delay), Array(5).fill("5 min"));
  await sees(page.locator("#typicals td"), "changes 19 rooms; 5 keep their own: 101, 102, 103, 104, 105 (delay)");
  await page.keyboard.press("Control+z");
  await sees(state(), "revision 3, saved");
  assert.equal(await service.text(project, 3), await service.text(project, 1));
  assert.deepEqual(complaints, []);
});

test("the building is studied by itself; its rooms are sorted, filtered and shown with their years", async () => {
  await begin(FEW);
  await open();
  await studied();
  assert.equal(await rows().count(), FEW);
  await sees(page.locator(".totals"), "as found less proposal");
  await page.locator("canvas.year-picture").nth(FEW - 1).waitFor();
  await page.getByRole("button", { name: "saving", exact: true }).click();
  await page.locator('th[aria-sort="descending"]', { hasText: "saving" }).waitFor();
  const savings = await page.locator("table.rooms tbody .saving b").allTextContents();
  const figures = savings.map((text) => Number.parseFloat(text.replace("\u2212", "-")));
  assert.deepEqual(figures, [...figures].sort((a, b) => b - a));
  await page.getByRole("searchbox", { name: "show" }).fill("cell 105");
  await sees(page.getByRole("status"), `1 of ${FEW}`);
  assert.equal(await rows().count(), 1);
  await sees(rows(), "Cell 5");
  assert.deepEqual(complaints, []);
});

test("a studied revision is issued, frozen, and its results can be taken away", async () => {
  await begin(FEW);
  await open();
  await studied();
  await page.getByRole("button", { name: "issue revision 1" }).click();
  await page.getByLabel("name of the issue").fill("For tender");
  await page.getByLabel("issued by").fill("R. Vale");
  await page.getByRole("button", { name: "issue", exact: true }).click();
  await sees(page.locator("table.rows tr"), "issued by R. Vale");
  const row = page.locator("table.rows tbody tr", { hasText: "issued by" });
  await sees(row, "For tender");
  assert.equal(await row.getByRole("button", { name: "For tender" }).count(), 0);
  const results = await (await fetch(`${service.url}${await row.getByRole("link", { name: "results" }).getAttribute("href")}`)).json();
  assert.equal(results.spaces.length, FEW);
  const again = await fetch(`${service.url}/api/projects/${project}/issue`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ base: 2, name: "", by: "R. Vale", run: "run-1" }),
  });
  assert.equal(again.status, 403);
  assert.deepEqual(complaints, []);
});

test("two revisions stand side by side with what differs", async () => {
  await begin(FEW);
  await open();
  await delay().click();
  await page.keyboard.type("60 min");
  await page.keyboard.press("Enter");
  await sees(state(), "revision 2, saved");
  await open("/compare?first=1&second=2");
  await page.getByRole("heading", { name: "What was found" }).waitFor({ timeout: STUDY_PATIENCE_MS });
  await sees(page.locator("tr"), /typical cell: vacancy delay\s*15.min\s*60.min/);
  await sees(page.locator("p"), "Both of the same 128 building-years");
  assert.deepEqual(complaints, []);
});

test("an assumption is confirmed with name, date and how, and withdrawn", async () => {
  await begin(FEW);
  await open("/assumptions");
  const first = page.locator("table.assumptions tbody tr").first();
  await first.waitFor({ timeout: STUDY_PATIENCE_MS });
  await first.getByRole("button", { name: "confirm" }).click();
  const form = page.getByRole("form", { name: /^Confirm / });
  await form.getByLabel("by").fill("R. Vale");
  await form.getByLabel("on").fill("1 May 2026");
  await form.getByLabel("how it was found out").fill("asked the owner");
  await page.keyboard.press("Enter");
  await sees(page.locator("td.who"), "R. Vale, 1 May 2026");
  const [made] = (await service.document(project)).confirmations;
  assert.deepEqual({ ...made, pointer: "" }, { pointer: "", by: "R. Vale", on: "1 May 2026", how: "asked the owner" });
  await page.keyboard.press("Control+z");
  await sees(state(), "revision 3, saved");
  assert.equal(await service.text(project, 3), await service.text(project, 1));
});
