// Proposals for a room in a real browser, against the program itself: asked for, compared, taken and undone.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { PATIENCE_MS, STUDY_PATIENCE_MS, launch } from "../support/browser.mjs";
import { startProgram } from "../support/program.mjs";

const root = join(import.meta.dirname ?? new URL(".", import.meta.url).pathname, "../../..");
const demo = readFileSync(join(root, "projects/fenwick_hollow.halflight.json"), "utf8");
const axe = readFileSync(join(root, "web/node_modules/axe-core/axe.min.js"), "utf8");
const PARTS = ["occupancy sensors", "daylight control", "wall stations", "load controllers"];

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
  project = await program.add("Fenwick Hollow Library", demo);
  page = await browser.newPage({ viewport: { width: 1480, height: 960 } });
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

const open = (space) => page.goto(`${program.url}/projects/${project}/rooms/${space}/proposals`);
const stays = (words) => page.locator(".keeps").getByRole("button", { name: words });
const search = () => page.getByRole("button", { name: /^find (designs|them again)$/ });
const comparison = () => page.getByRole("region", { name: "Designs side by side" });
const state = () => page.getByRole("status").filter({ hasText: /^revision/ });
const sees = (locator, text) => locator.filter({ hasText: text }).first().waitFor();
/** Frees parts of a room whose parts all stay. */
const free = async (parts) => {
  for (const words of parts) await stays(words).click();
};
/** A design of the front that follows daylight: its name, and how many sensors of which kind it has. */
const following = async () => {
  await page.getByRole("button", { name: /^all \d+ of the front$/ }).click();
  const label = await comparison().getByRole("img", { name: /^\d+ (ceiling|luminaire) sensors?, \d+ daylight group/ }).first().getAttribute("aria-label");
  const [, name, count, mounting, groups] = /^((\d+) (ceiling|luminaire) sensors?[^:]*, (\d+) daylight groups?[^:]*): /.exec(label);
  return { name, label, count: Number(count), kind: mounting === "ceiling" ? "ceiling_infrared" : "luminaire_sensor", groups: Number(groups) };
};
const find = async (parts = PARTS) => {
  await free(parts);
  await search().click();
  await comparison().waitFor({ timeout: STUDY_PATIENCE_MS });
};
const proposalOf = (document) => document.designs.find((d) => d.role === "proposal");
const of106 = (document, list) => proposalOf(document)[list].filter((one) => one.space === "106");

test("a room whose controls are all decided says that nothing is free", options, async () => {
  await page.goto(`${program.url}/projects/${project}/rooms/106`);
  await page.locator(".say").first().waitFor();
  await page.locator("body").press("p");
  await page.getByRole("heading", { name: "Proposals for 1.06 Meeting room" }).waitFor();
  for (const words of [...PARTS, "socket outlets"]) assert.equal(await stays(words).getAttribute("aria-pressed"), "true", words);
  await sees(page.getByRole("status"), "nothing is left to choose");
  assert.ok(await search().isDisabled());
  await stays("load controllers").click();
  await sees(page.getByRole("status"), "Free to choose: load controllers.");
  assert.ok(await search().isEnabled());
  assert.deepEqual(complaints, []);
});

test("the way there is a link on the room's page, and an older revision has none", options, async () => {
  await page.goto(`${program.url}/projects/${project}/rooms/106`);
  await page.getByRole("link", { name: "proposals" }).click();
  await search().waitFor();
  await page.goto(`${program.url}/projects/${project}/rooms/106?revision=1`);
  await page.locator(".say").first().waitFor();
  assert.equal(await page.getByRole("link", { name: "proposals" }).count(), 1, "revision 1 is the newest");
  await fetch(`${program.url}/api/projects/${project}/edits`, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ base: 1, label: "named", edits: [{ op: "replace", path: "/name", value: "Other" }] }) });
  await page.goto(`${program.url}/projects/${project}/rooms/106?revision=1`);
  await page.getByRole("button", { name: "restore it" }).waitFor();
  assert.equal(await page.getByRole("link", { name: "proposals" }).count(), 0);
});

test("a search tells of its progress and is stopped", options, async () => {
  await open("G02");
  await stays("occupancy sensors").waitFor();
  await free(PARTS);
  await search().click();
  await page.getByRole("progressbar", { name: "progress of the search" }).waitFor();
  await page.getByRole("button", { name: "stop" }).click();
  await page.getByText("Stopped.").waitFor();
  assert.equal(await page.getByRole("progressbar").count(), 0);
  assert.ok(await search().isEnabled());
  assert.equal(await comparison().count(), 0);
  assert.deepEqual(complaints, []);
});

test("designs stand side by side with their plans, and the front is read by keys", options, async () => {
  await open("106");
  await stays("occupancy sensors").waitFor();
  await find();
  const heads = await comparison().locator("thead th").allInnerTexts();
  assert.match(heads[0], /as found/);
  assert.match(heads[1], /new luminaires only/);
  assert.ok(heads.some((head) => head.includes("the document's own")));
  for (const pick of ["least cost", "most for the money", "least energy", "least light taken from people"])
    assert.equal(heads.filter((head) => head.includes(pick)).length, 1, pick);
  const few = heads.length;
  assert.equal(await comparison().getByRole("img").count(), few - 2, "a plan for each design");
  const rows = await comparison().locator("tbody th").allInnerTexts();
  assert.deepEqual(rows, ["on the plan", "take it", "first cost", "energy a year", "saving against as found", "too dark by daylight, a year", "light taken from people, a year", "to set up", "to buy", "why", "gives up"]);
  const { label, count } = await following();
  assert.match(label, new RegExp(`\\b${count} occupancy sensors?\\b`));
  assert.ok((await comparison().locator("thead th").count()) > few);
  // To point at a figure far down moves nothing.
  await comparison().locator("tbody tr").last().locator("td").nth(2).scrollIntoViewIfNeeded();
  const stood = await page.evaluate(() => scrollY);
  await comparison().locator("tbody tr").last().locator("td").nth(2).hover();
  await comparison().locator("td.reading").first().waitFor();
  assert.equal(await page.evaluate(() => scrollY), stood);

  const dots = page.getByRole("listbox", { name: /^Designs by first cost/ }).getByRole("option");
  const tried = Number(/(\d+) may be proposed/.exec(await page.locator(".summary").innerText())[1]);
  assert.equal(await dots.count(), tried);
  // Enter brings a design of the front into sight.
  await dots.nth(Number(/(\d+) of them on the front/.exec(await page.locator(".summary").innerText())[1]) - 1).press("Enter");
  const far = comparison().locator("thead th").last();
  await page.waitForFunction((th) => th.getBoundingClientRect().right <= innerWidth + 30 && th.getBoundingClientRect().top >= 0, await far.elementHandle());
  await dots.first().focus();
  assert.match(await dots.first().getAttribute("aria-label"), /^A, .+: first cost .+\sGBP, .+\skWh a year/);
  await page.keyboard.press("End");
  const last = page.getByRole("option").last();
  assert.ok(await last.evaluate((element) => element === document.activeElement));
  assert.match(await last.getAttribute("aria-label"), /no better in anything than/);
  await sees(page.locator(".reads"), "no better in anything than");

  await page.getByText(/^\d+ refused$/).click();
  await page.getByText(/Nothing in the sequence follows the room becoming empty/).waitFor();
  assert.deepEqual(complaints, []);
});

test("the page and its answer pass the audit, light and dark", options, async () => {
  await open("104");
  await stays("occupancy sensors").waitFor();
  await find();
  await page.getByText("both rooms of one typical").waitFor();
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

test("a design is taken as one revision, the room shows it, and undo gives the document back to the byte", options, async () => {
  await open("106");
  await stays("occupancy sensors").waitFor();
  await find();
  const { name, count, kind, groups } = await following();
  await page.getByRole("button", { name: `take this design: ${name}` }).click();
  await page.waitForURL(/\/rooms\/106$/);
  await sees(state(), "revision 2, saved");
  const taken = await program.document(project);
  assert.ok(of106(taken, "photosensors").length >= 1 && of106(taken, "photosensors").length <= groups);
  assert.deepEqual(of106(taken, "occupancy_sensors").map((sensor) => sensor.device_kind), Array(count).fill(kind));
  const [newest] = await program.revisions(project);
  assert.equal(newest.label, `1.06, take: ${name}`);
  await page.locator(".claim").first().waitFor({ timeout: STUDY_PATIENCE_MS });
  await page.keyboard.press("Control+z");
  await sees(state(), "revision 3, saved");
  assert.equal(await program.text(project, 3), await program.text(project, 1));
  assert.deepEqual(complaints, []);
});

test("single parts are taken one after another, also of designs that were found for an older revision", options, async () => {
  await open("106");
  await stays("occupancy sensors").waitFor();
  const before = await program.document(project);
  await find();
  const { name, count, kind, groups } = await following();
  const column = comparison().getByRole("button", { name: `take this design: ${name}` }).locator("xpath=..");
  await column.getByText("or one part of it").click();
  await page.getByRole("button", { name: `take only its daylight control: ${name}` }).click();
  await page.waitForURL(/\/rooms\/106$/);
  await sees(state(), "revision 2, saved");
  const first = await program.document(project);
  assert.notDeepEqual(of106(first, "photosensors"), of106(before, "photosensors"));
  assert.ok(of106(first, "photosensors").length >= 1 && of106(first, "photosensors").length <= groups);
  assert.deepEqual(of106(first, "occupancy_sensors"), of106(before, "occupancy_sensors"));
  assert.deepEqual(of106(first, "stations"), of106(before, "stations"));

  await page.goBack();
  await page.getByText("These were found for revision 1; the newest is 2.").waitFor();
  await page.getByRole("button", { name: /^all \d+ of the front$/ }).click();
  await column.getByText("or one part of it").click();
  await page.getByRole("button", { name: `take only its occupancy sensors: ${name}` }).click();
  await page.waitForURL(/\/rooms\/106$/);
  await sees(state(), "revision 3, saved");
  const second = await program.document(project);
  assert.deepEqual(of106(second, "photosensors"), of106(first, "photosensors"));
  assert.deepEqual(of106(second, "occupancy_sensors").map((sensor) => sensor.device_kind), Array(count).fill(kind));
  assert.deepEqual(of106(second, "stations"), of106(before, "stations"));
  const [newest] = await program.revisions(project);
  assert.equal(newest.label, `1.06, take: occupancy sensors of ${name}`);
  assert.deepEqual(complaints, []);
});
