// What a scene is for, and what if, on the room's page in a real browser against the real program (HALFLIGHT_PROGRAM): a target is
// moved, the plan and the levels follow, and letting go saves both.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { PATIENCE_MS, STUDY_PATIENCE_MS, launch } from "../support/browser.mjs";
import { startProgram } from "../support/program.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const demo = readFileSync(new URL("../../../projects/fenwick_hollow.halflight.json", import.meta.url), "utf8");
const skip = process.env.HALFLIGHT_PROGRAM ? false : "HALFLIGHT_PROGRAM names no program";

let browser;
let program;
let project;
let page;
let complaints;

before(async () => {
  if (skip) return;
  program = await startProgram();
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await program?.close();
});
beforeEach(async () => {
  if (skip) return;
  project = await program.add("Scenes", demo);
  page = await browser.newPage({ viewport: { width: 1480, height: 960 } });
  page.setDefaultTimeout(PATIENCE_MS);
  complaints = [];
  page.on("console", (message) => {
    if (message.type() === "error" && !message.location().url.endsWith("/favicon.ico")) complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  await page.goto(`${program.url}/projects/${project}/rooms/106`);
  await page.getByRole("button", { name: "Board", exact: true }).click();
});
afterEach(async () => {
  await page?.close();
});

const board = (document) => document.designs.find((design) => design.role === "proposal").scenes.find((scene) => scene.id === "106-board");
const state = () => page.getByRole("group", { name: "what the scene Board is for" });

test("a target is moved: levels and plan follow, and one revision holds both", { skip }, async () => {
  const slider = state().getByRole("slider", { name: "Meeting table, at least" });
  await slider.focus();
  // As the hand moves it, before it is let go.
  await slider.evaluate((range) => {
    range.value = "400";
    range.dispatchEvent(new InputEvent("input", { bubbles: true }));
  });
  await state().getByText(/Meeting table at least 400 lx in the mean: 4\d\d lx/).waitFor();
  await state().getByText(/in place of 114/).waitFor();
  assert.equal(board(await program.document(project)).targets[0].least, "300 lx");
  // The levels that were found stand in the table.
  const shown = await page.getByRole("slider", { name: "Board, b, table" }).getAttribute("aria-valuenow");
  assert.notEqual(Number(shown), 80);
  await slider.evaluate((range) => range.dispatchEvent(new Event("change", { bubbles: true })));
  await page.getByText("revision 2, saved").waitFor();
  const saved = board(await program.document(project));
  assert.equal(saved.targets[0].least, "400 lx");
  assert.notDeepEqual(saved.levels, board(JSON.parse(demo)).levels);
  const revisions = await program.revisions(project);
  assert.equal(revisions.length, 2);
  assert.ok(revisions.some((revision) => revision.label === "1.06: scene Board, Meeting table, at least 400 lx"), JSON.stringify(revisions));
  // Undo takes both back, to the byte.
  await page.keyboard.press("Control+z");
  await page.getByText("revision 3, saved").waitFor();
  assert.equal(await program.text(project, 3), demo);
  assert.deepEqual(complaints, []);
});

test("levels are found for the targets as they stand; what cannot be held is named", { skip }, async () => {
  // Claims of the revision before stand beside it for as long as the new study takes: here for ever.
  await page.locator(".claim .figure").first().waitFor({ timeout: STUDY_PATIENCE_MS });
  await page.route(/\/studies$/, () => {});
  await state().getByRole("button", { name: "find its levels" }).click();
  await page.getByText("revision 2, saved").waitFor();
  await page.locator(".claims-slot.old .claim").first().waitFor();
  const levels = board(await program.document(project)).levels.map((level) => level.level);
  assert.deepEqual(levels, [1, 0.3, 0.9]);

  const slider = state().getByRole("slider", { name: "Meeting table, at least" });
  await slider.evaluate((range) => {
    range.value = "1500";
    range.dispatchEvent(new InputEvent("input", { bubbles: true }));
  });
  await state().getByText("No levels hold all of it.", { exact: false }).waitFor();
  await state().getByText(/Meeting table at least 1500 lx in the mean: beside the others of these it comes to \d+ lx/).waitFor();
  for (const theme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme: theme });
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "best-practice"] }));
    assert.deepEqual(violations.map((v) => `${theme} ${v.id}: ${v.nodes.map((n) => n.target.join(" ")).join(", ")}`), []);
  }
  assert.deepEqual(complaints, []);
});

test("what a scene does beside setting levels is told, changed and undone", { skip }, async () => {
  const does = page.getByRole("group", { name: "What scene Board does beside its levels" });
  await does.getByRole("combobox", { name: "shades" }).selectOption("drawn");
  await page.getByText("revision 2, saved").waitFor();
  await does.getByRole("checkbox", { name: "daylight control" }).click();
  await page.getByText("revision 3, saved").waitFor();
  await does.getByRole("combobox", { name: "also called by" }).selectOption("AV-1");
  await page.getByText("revision 4, saved").waitFor();
  const changed = board(await program.document(project));
  assert.deepEqual([changed.shades, changed.follows_daylight, changed.called_by], ["drawn", false, "AV-1"]);
  await page.locator(".say").getByText("While scene Board stands the shades are", { exact: false }).waitFor();
  await page.locator(".say").getByText("While scene Board stands it", { exact: false }).waitFor();
  // What the demo's contact calls already.
  await page.getByRole("button", { name: "Present", exact: true }).click();
  const present = page.getByRole("group", { name: "What scene Present does beside its levels" });
  assert.equal(await present.getByRole("combobox", { name: "also called by" }).inputValue(), "AV-1");
  // The scene that stands when nothing is called does none of this.
  await page.getByRole("button", { name: "Meet", exact: true }).click();
  await page.getByRole("group", { name: "what the scene Meet is for" }).waitFor();
  assert.equal(await page.getByRole("group", { name: /does beside its levels/ }).count(), 0);
  for (const revision of [5, 6, 7]) {
    await page.keyboard.press("Control+z");
    await page.getByText(`revision ${revision}, saved`).waitFor();
  }
  assert.equal(await program.text(project, 7), demo);
  assert.deepEqual(complaints, []);
});

test("a scene gets a target on another task area", { skip }, async () => {
  await page.getByRole("button", { name: "Present", exact: true }).click();
  const meet = page.getByRole("button", { name: "Meet", exact: true });
  await meet.click();
  const add = page.getByRole("combobox", { name: "a target for scene Meet" });
  await add.selectOption({ index: 1 });
  await page.getByText("revision 2, saved").waitFor();
  const scene = (await program.document(project)).designs.find((d) => d.role === "proposal").scenes.find((s) => s.space === "106" && s.name === "Meet");
  assert.equal(scene.targets.length, 1);
  assert.match(scene.targets[0].least, /^\d+ lx$/);
  await page.getByRole("group", { name: "what the scene Meet is for" }).getByRole("slider").waitFor();
  assert.deepEqual(complaints, []);
});

test("values of the delay are tried beside one another when asked", { skip }, async () => {
  // Vacancy clears a scene, and what follows a scene that puts daylight aside may draw less: here none does.
  const follows = JSON.parse(demo);
  for (const scene of follows.designs.find((design) => design.role === "proposal").scenes) {
    delete scene.follows_daylight;
    delete scene.shades;
  }
  await page.goto(`${program.url}/projects/${await program.add("Delays", JSON.stringify(follows))}/rooms/106`);
  const details = page.locator("details.what-if");
  await details.locator("summary").click();
  await details.locator("svg").waitFor();
  const rows = details.locator("tbody tr");
  assert.equal(await rows.count(), 5);
  assert.match(await rows.nth(2).innerText(), /15 min, as it stands/);
  const kwh = await rows.evaluateAll((all) => all.map((row) => Number(row.querySelector("td").textContent.replace(/[^0-9.]/g, ""))));
  for (let i = 1; i < kwh.length; i += 1) assert.ok(kwh[i] >= kwh[i - 1], kwh.join(" "));
  assert.match(await details.innerText(), /30 min does not stand: IECC 2021 C405/);
  await details.getByRole("combobox", { name: "what is varied" }).selectOption("daylight-minimum");
  await details.getByText("lowest level by daylight").last().waitFor();
  await details.locator("tbody tr").nth(3).waitFor();
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "best-practice"] }));
  assert.deepEqual(violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ")).join(", ")}`), []);
  assert.deepEqual(complaints, []);
});
