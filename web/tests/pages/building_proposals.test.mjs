// Proposals for the building in a real browser, against the program itself: asked for, walked along, taken and undone.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { PATIENCE_MS, STUDY_PATIENCE_MS, launch } from "../support/browser.mjs";
import { kindsOfCells } from "../support/cells.mjs";
import { startProgram } from "../support/program.mjs";

const root = join(import.meta.dirname ?? new URL(".", import.meta.url).pathname, "../../..");
const axe = readFileSync(join(root, "web/node_modules/axe-core/axe.min.js"), "utf8");

const program = await startProgram();
const options = { skip: program === null ? "HALFLIGHT_PROGRAM names no program" : false };
let browser;
let page;
let project;
let complaints;

before(async () => {
  if (program !== null) browser = await launch();
});
after(async () => {
  await browser?.close();
  await program?.close();
});
beforeEach(async () => {
  if (program === null) return;
  project = await program.add("Kinds of cells", JSON.stringify(kindsOfCells()));
  page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
  page.setDefaultTimeout(PATIENCE_MS);
  complaints = [];
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("request", (request) => {
    if (!request.url().startsWith(program.url) && !/^(data|blob):/.test(request.url())) complaints.push(`asks ${request.url()}`);
  });
});
afterEach(async () => {
  await page?.close();
});

const open = () => page.goto(`${program.url}/projects/${project}/proposals`);
const slider = () => page.getByRole("slider", { name: "steps taken along the line" });
const taken = async () => Number(await slider().getAttribute("aria-valuenow"));
const says = () => slider().getAttribute("aria-valuetext");
const steps = () => page.getByRole("region", { name: "Steps of the line" }).locator("tbody tr");
const figures = () => page.getByRole("table", { name: "Chosen designs beside others" });
const chosenColumn = async () => (await figures().locator("tbody td.here").allInnerTexts()).map((text) => text.trim());
const figureOf = async (words) => (await figures().getByRole("row", { name: words }).locator("td.here").innerText()).trim();
const state = () => page.getByRole("status").filter({ hasText: /^revision/ });
const sees = (locator, text) => locator.filter({ hasText: text }).first().waitFor();
/** All controls of every room free, and the answer there. */
const find = async () => {
  await open();
  await page.getByRole("button", { name: "what each room has" }).click();
  await page.getByRole("button", { name: "find designs" }).click();
  await slider().waitFor({ timeout: STUDY_PATIENCE_MS });
};
const proposalOf = (document) => document.designs.find((d) => d.role === "proposal");

test("the way there is a link and a key of the building, and an older revision has neither", options, async () => {
  await page.goto(`${program.url}/projects/${project}`);
  const link = page.getByRole("link", { name: /^proposals for the building/ });
  await link.waitFor();
  await page.locator("body").press("p");
  await page.waitForURL(/\/proposals$/);
  await page.getByRole("heading", { name: "Proposals for the building" }).waitFor();
  await page.goBack();
  await link.click();
  await page.waitForURL(/\/proposals$/);
  await fetch(`${program.url}/api/projects/${project}/edits`, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ base: 1, label: "named", edits: [{ op: "replace", path: "/name", value: "Other" }] }) });
  await page.goto(`${program.url}/projects/${project}?revision=1`);
  await page.getByRole("link", { name: "revisions" }).first().waitFor();
  assert.equal(await link.count(), 0);
  assert.deepEqual(complaints, []);
});

test("what stays says what is free, and where nothing is free there is nothing to find", options, async () => {
  await open();
  const has = page.getByRole("button", { name: "what each room has" });
  assert.equal(await has.getAttribute("aria-pressed"), "true");
  await has.click();
  const parts = (await page.locator(".keeps").getByRole("button").allInnerTexts()).slice(1);
  await sees(page.getByRole("status"), `Free to choose in every room: ${parts.slice(0, -1).join(", ")} and ${parts.at(-1)}.`);
  for (const words of parts) await page.getByRole("button", { name: words }).click();
  await sees(page.getByRole("status"), "nothing is left to choose");
  assert.ok(await page.getByRole("button", { name: "find designs" }).isDisabled());
  await page.getByRole("button", { name: "wall stations" }).click();
  await sees(page.getByRole("status"), "Free to choose in every room: wall stations.");
});

test("a search tells which room it is at and is stopped", options, async () => {
  await open();
  await page.getByRole("button", { name: "what each room has" }).click();
  await page.getByRole("button", { name: "find designs" }).click();
  await sees(page.getByRole("status"), /room 1 of 2, 101 Cell 1 and 1 alike/);
  await page.getByRole("button", { name: "stop" }).click();
  await page.getByText(/^Stopped\./).waitFor();
  assert.equal(await page.getByRole("progressbar").count(), 0);
  assert.ok(await page.getByRole("button", { name: "find designs" }).isEnabled());
  assert.equal(await slider().count(), 0);
  assert.deepEqual(complaints, []);
});

test("keys, pointer and steps move along the line, and the figures follow", options, async () => {
  await find();
  const last = Number(await slider().getAttribute("aria-valuemax"));
  assert.ok(last >= 1);
  assert.equal(await steps().count(), last + 1);
  const seen = new Map();
  await slider().focus();
  await page.keyboard.press("Home");
  for (let n = 0; n <= last; n += 1) {
    assert.equal(await taken(), n);
    const column = await chosenColumn();
    seen.set(n, column);
    // What is spoken is what is shown.
    const words = await says();
    for (const figure of [`${n} of ${last} `, await figureOf("first cost"), await figureOf("energy a year"), await figureOf("saving against as found")]) assert.ok(words.includes(figure), `${words} says not ${figure}`);
    assert.equal(await steps().filter({ hasText: /not taken/ }).count(), last - n);
    assert.equal(await steps().getByRole("button", { pressed: true }).innerText(), String(n));
    await page.keyboard.press("ArrowRight");
  }
  assert.equal(await taken(), last, "there is nothing beyond the last step");
  assert.equal(new Set([...seen.values()].map((column) => column.join())).size, last + 1, "every point has figures of its own");
  await page.keyboard.press("ArrowLeft");
  assert.equal(await taken(), last - 1);
  await steps().nth(last).getByRole("button").click();
  assert.equal(await taken(), last);
  assert.deepEqual(await chosenColumn(), seen.get(last));
  await figures().getByRole("button", { name: "least cost" }).click();
  assert.deepEqual(await chosenColumn(), seen.get(0));
  assert.ok(await page.getByRole("button", { name: "one step less" }).isDisabled());
  await page.getByRole("button", { name: "one step more" }).click();
  assert.equal(await taken(), 1);

  // A hand goes from one end to the other, and nothing on the page moves meanwhile.
  const dots = slider().locator("circle.step");
  const [from, to] = [await dots.first().boundingBox(), await dots.last().boundingBox()];
  const tall = () => page.evaluate(() => document.querySelector(".line-view").getBoundingClientRect().height);
  await page.mouse.move(from.x + 3, from.y + 3);
  await page.mouse.down();
  assert.equal(await taken(), 0);
  const stood = await tall();
  await page.mouse.move(to.x + 3, to.y + 3, { steps: 4 });
  assert.equal(await taken(), last);
  assert.equal(await tall(), stood);
  await page.mouse.up();
  await page.mouse.move(from.x + 3, from.y + 3);
  assert.equal(await taken(), last, "a hand that has let go moves nothing");
  assert.deepEqual(complaints, []);
});

test("rooms without proposals say why, and steps lead to the room", options, async () => {
  await find();
  const without = page.getByRole("region", { name: "Rooms without proposals" });
  assert.match(await without.locator("tbody tr").innerText(), /104 Store\s+104 has no luminaires to control/);
  await steps().nth(1).getByRole("link").click();
  await page.getByRole("heading", { name: /^Proposals for 10[13] / }).waitFor();
  await page.goBack();
  await slider().waitFor();
  assert.deepEqual(complaints, []);
});

test("the designs at a point are one revision, and undo gives the document back to the byte", options, async () => {
  await find();
  await figures().getByRole("button", { name: "least energy" }).click();
  const last = await taken();
  const rows = page.getByRole("region", { name: "What each room gets" }).locator("tbody tr");
  const names = (await rows.locator("td:nth-child(2)").allInnerTexts()).map((text) => text.trim());
  assert.equal(names.length, 2);
  await page.getByRole("button", { name: "take these designs" }).click();
  await sees(page.getByRole("status"), "Saved as revision 2.");
  await sees(state(), "revision 2, saved");
  const revisions = await program.revisions(project);
  assert.equal(revisions.length, 2);
  assert.equal(revisions[0].label, `building, take: least energy, ${last} of ${last} ${last === 1 ? "step" : "steps"}`);
  const document = await program.document(project);
  assert.notDeepEqual(proposalOf(document), proposalOf(JSON.parse(await program.text(project, 1))));
  // Both blocks say what the page said the rooms get.
  for (const [typical, name] of [["cell", names[0]], ["wide", names[1]]]) {
    const found = /^(\d+) (ceiling|luminaire|corner|wall) sensor/.exec(name);
    if (found === null) continue;
    assert.equal(proposalOf(document).typicals.find((one) => one.typical === typical).occupancy_sensors.length, Number(found[1]), `${typical}: ${name}`);
  }
  await page.getByText("These were found for revision 1; the newest is 2.").waitFor();
  // What stands already is no revision.
  await page.getByRole("button", { name: "take these designs" }).click();
  await page.getByText("The rooms have these designs already.").waitFor();
  await page.locator("body").press("Control+z");
  await sees(state(), "revision 3, saved");
  assert.equal(await program.text(project, 3), await program.text(project, 1));
  assert.deepEqual(complaints, []);
});

test("the page and its answer pass the audit, light and dark, and fit the screen", options, async () => {
  await find();
  for (const scheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }));
    assert.deepEqual(violations.map((v) => `${scheme} ${v.id}: ${v.nodes.map((n) => n.target).join(" ")}`), []);
  }
  for (const [width, height] of [[1480, 960], [1366, 768], [820, 1180]]) {
    await page.setViewportSize({ width, height });
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${width} px wide`);
  }
  assert.deepEqual(complaints, []);
});
