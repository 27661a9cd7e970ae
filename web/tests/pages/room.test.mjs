// The room page in a real browser, against the stand-in for the service.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { join } from "node:path";
import { PATIENCE_MS, launch } from "../support/browser.mjs";
import { startService } from "../support/service.mjs";

const root = join(import.meta.dirname ?? new URL(".", import.meta.url).pathname, "../../..");
const demo = readFileSync(join(root, "projects/fenwick_hollow.halflight.json"), "utf8");
const axe = readFileSync(join(root, "web/node_modules/axe-core/axe.min.js"), "utf8");

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
  service = await startService(root);
  project = service.add("Fenwick Hollow Library", demo);
  page = await browser.newPage({ viewport: { width: 1480, height: 960 } });
  page.setDefaultTimeout(PATIENCE_MS);
  complaints = [];
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("request", (request) => {
    if (!request.url().startsWith(service.url) && !/^(data|blob):/.test(request.url()))
      complaints.push(`asks ${request.url()}`);
  });
});
afterEach(async () => {
  await page.close();
  await service.close();
});

const open = (space = "G02") => page.goto(`${service.url}/projects/${project}/rooms/${space}`);
const phrase = (end) => page.locator(`.say .phrase[data-pointer$="${end}"]`).first();
const state = () => page.getByRole("status").filter({ hasText: /^revision/ });
const sequenceOf = (document, space = "G02") =>
  document.designs.find((d) => d.role === "proposal").sequences.find((q) => q.space === space);
const sees = (locator, text) => locator.filter({ hasText: text }).first().waitFor();

test("a phrase is typed in place, saved as typed, and undone", async () => {
  await open();
  await phrase("/vacancy/delay").click();
  await page.keyboard.type("25 min");
  await page.keyboard.press("Enter");
  await sees(state(), "revision 2, saved");
  await sees(phrase("/vacancy/delay"), "25 min");
  assert.equal(sequenceOf(service.document(project)).vacancy.delay, "25 min");
  assert.equal(service.revisions(project)[0].label, "G.02: vacancy delay 25 min");

  await page.keyboard.press("Control+z");
  await sees(phrase("/vacancy/delay"), "20 min");
  await page.keyboard.press("Control+Shift+z");
  await sees(phrase("/vacancy/delay"), "25 min");
  assert.equal(service.revisions(project).length, 4);
  assert.deepEqual(complaints, []);
});

test("Escape leaves a phrase as it was, and what cannot be read says so", async () => {
  await open();
  await phrase("/vacancy/delay").click();
  await page.keyboard.type("a while");
  await page.keyboard.press("Enter");
  await sees(page.getByRole("alert"), "15 min");
  await page.keyboard.press("Escape");
  await sees(phrase("/vacancy/delay"), "20 min");
  assert.equal(service.revisions(project).length, 1);
});

test("Escape saves nothing, neither what was typed nor the standard of a value that is left out", async () => {
  await open();
  await phrase("/vacancy/delay").click();
  await page.keyboard.type("25 min");
  await page.keyboard.press("Escape");
  await sees(phrase("/vacancy/delay"), "20 min");
  await open("106");
  for (const key of ["Escape", "Enter"]) {
    await phrase("/vacancy/step_level").focus();
    await page.keyboard.press("Enter");
    await page.getByRole("textbox", { name: "vacancy step level" }).press(key);
    await phrase("/vacancy/step_level").waitFor();
  }
  await phrase("/vacancy/delay").click();
  await page.keyboard.type("25 min");
  await page.keyboard.press("Enter");
  await sees(state(), "revision 2, saved");
});

test("a phrase is reached, opened and chosen from by keys, and keeps the focus", async () => {
  await open();
  await phrase("/on/by").focus();
  await page.keyboard.press("Enter");
  await page.getByRole("listbox", { name: "on by" }).waitFor();
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("Enter");
  await sees(phrase("/on/by"), "with movement");
  assert.equal(sequenceOf(service.document(project)).on.by, "occupancy");
  const focused = () => page.evaluate(() => document.activeElement?.getAttribute("data-pointer") ?? "");
  assert.match(await focused(), /\/on\/by$/);
  assert.match(await phrase("/on/by").getAttribute("class"), /\bhot\b/);
});

test("dragging a number is one revision, and back to where it began is none", async () => {
  await open();
  const box = await phrase("/vacancy/delay").boundingBox();
  const [x, y] = [box.x + 10, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let dx = 0; dx <= 42; dx += 7) await page.mouse.move(x + dx, y);
  await sees(phrase("/vacancy/delay"), "26 min");
  await page.mouse.up();
  await sees(state(), "revision 2, saved");
  assert.equal(sequenceOf(service.document(project)).vacancy.delay, "26 min");

  await page.mouse.move(x, y);
  await page.mouse.down();
  for (const dx of [14, 28, 14, 0]) await page.mouse.move(x + dx, y);
  await page.mouse.up();
  await page.waitForTimeout(150);
  assert.equal(service.revisions(project).length, 2);
});

test("a level of a scene is dragged; letting go saves it once", async () => {
  await open();
  const box = await page.getByRole("slider", { name: "Evening, b, ceiling" }).boundingBox();
  await page.mouse.move(box.x + box.width * 0.6, box.y + 8);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width * 0.4, box.y + 8, { steps: 6 });
  await page.mouse.move(box.x + box.width * 0.25, box.y + 8, { steps: 3 });
  await page.mouse.up();
  await sees(state(), "revision 2, saved");
  const evening = service.document(project).designs.find((d) => d.role === "proposal").scenes.find((s) => s.id === "G02-evening");
  assert.equal(evening.levels[1].level, 0.25);
  assert.equal(service.revisions(project).length, 2);
});

test("somebody saved first: the change waits, is shown beside theirs, and can be made on top", async () => {
  await open();
  await phrase("/vacancy/delay").waitFor();
  service.elsewhere(project, "move 3 luminaires", (d) => (sequenceOf(d).vacancy.step_level = 0.3), false);
  await phrase("/vacancy/delay").click();
  await page.keyboard.type("25 min");
  await page.keyboard.press("Enter");
  await sees(page.getByRole("dialog"), "move 3 luminaires");
  assert.equal(sequenceOf(service.document(project)).vacancy.delay, "20 min");
  await page.getByRole("button", { name: "do mine again on top" }).click();
  await sees(state(), "revision 3, saved");
  await sees(phrase("/vacancy/step_level"), "30 %");
  await sees(phrase("/vacancy/delay"), "25 min");
});

test("somebody saved first: theirs can be taken instead", async () => {
  await open();
  await phrase("/vacancy/delay").waitFor();
  service.elsewhere(project, "wait longer", (d) => (sequenceOf(d).vacancy.delay = "40 min"), false);
  await phrase("/vacancy/delay").click();
  await page.keyboard.type("25 min");
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: "look at theirs" }).click();
  await sees(phrase("/vacancy/delay"), "40 min");
  assert.equal(service.revisions(project).length, 2);
});

test("what another window saves is shown by itself", async () => {
  await open();
  await phrase("/vacancy/delay").waitFor();
  service.elsewhere(project, "wait longer", (d) => (sequenceOf(d).vacancy.delay = "40 min"));
  await sees(phrase("/vacancy/delay"), "40 min");
  await sees(page.getByRole("status"), "wait longer");
});

test("an answer for an older revision that comes late is not shown", async () => {
  await open();
  await phrase("/vacancy/delay").waitFor();
  const release = service.hold(/^GET projects\/p1\/rooms\/G02$/);
  service.elsewhere(project, "wait longer", (d) => (sequenceOf(d).vacancy.delay = "40 min"));
  await sees(state(), "revision 2, saved");
  service.elsewhere(project, "wait longest", (d) => (sequenceOf(d).vacancy.delay = "50 min"));
  await sees(state(), "revision 3, saved");
  release();
  await sees(phrase("/vacancy/delay"), "50 min");
  await page.waitForTimeout(200);
  assert.match((await phrase("/vacancy/delay").textContent()) ?? "", /^50\smin$/);
});

test("while the service is away nothing is lost and saving can be tried again", async () => {
  await open();
  await phrase("/vacancy/delay").waitFor();
  service.setDown(true);
  await phrase("/vacancy/delay").click();
  await page.keyboard.type("25 min");
  await page.keyboard.press("Enter");
  await sees(page.getByRole("alert"), "does not answer");
  service.setDown(false);
  await page.getByRole("button", { name: "try again" }).click();
  await sees(state(), "revision 2, saved");
  assert.equal(sequenceOf(service.document(project)).vacancy.delay, "25 min");
});

test("sentence and matrix are two views of the same values", async () => {
  await open();
  await phrase("/vacancy/delay").waitFor();
  await page.keyboard.press("m");
  const cell = page.locator('.matrix .phrase[data-pointer$="/vacancy/delay"]');
  await cell.click();
  await page.keyboard.type("10 min");
  await page.keyboard.press("Enter");
  await sees(cell, "10 min");
  await page.keyboard.press("m");
  await sees(phrase("/vacancy/delay"), "10 min");
});

test("the layer of the radio says when nothing here talks by it, and asks for it only while it is shown", async () => {
  await open();
  const radio = page.getByRole("button", { name: "radio", exact: true });
  const asked = (isFor) => page.waitForRequest((r) => r.url().endsWith("/light") && (r.postDataJSON().radio ?? false) === isFor);
  await Promise.all([asked(true), radio.click()]);
  await sees(page.locator(".radio-words"), "No device here talks by radio.");
  await Promise.all([asked(false), radio.click()]);
  assert.equal(await page.locator(".radio-words").count(), 0);
});

test("units change what is shown and not what was typed", async () => {
  service.elsewhere(project, "in foot-candles", (d) => (d.spaces.find((s) => s.id === "G02").task_areas[0].target = "46 fc"));
  await open();
  await sees(phrase("/task_areas/0/target"), "495 lx");
  await page.getByRole("button", { name: /^Units/ }).click();
  await sees(phrase("/task_areas/0/target"), "46 fc");
  await sees(phrase("/task_areas/1/target"), "46.5 fc");
  await page.reload();
  await sees(phrase("/task_areas/0/target"), "46 fc");
  assert.equal(service.revisions(project).length, 2);
});

test("an older revision is looked at and not changed", async () => {
  service.elsewhere(project, "wait longer", (d) => (sequenceOf(d).vacancy.delay = "40 min"));
  await page.goto(`${service.url}/projects/${project}/rooms/G02?revision=1`);
  await sees(page.locator(".message"), "revision 1 as it was");
  await sees(page.locator(".say"), "20 min");
  assert.equal(await page.locator(".say [role=button]").count(), 0);
});

for (const [width, height] of [
  [1480, 960],
  [1366, 768],
])
  test(`at ${width} x ${height} the page needs no scrolling`, async () => {
    await page.setViewportSize({ width, height });
    await open();
    await page.locator(".claim").first().waitFor();
    const over = await page.evaluate(() =>
      [document.documentElement, ...document.querySelectorAll(".claims-slot, .side-slot")].map(
        (e) => [e.scrollHeight - e.clientHeight, e.scrollWidth - e.clientWidth],
      ),
    );
    for (const [down, right] of over) assert.ok(down <= 1 && right <= 1, JSON.stringify(over));
  });

test("on a tablet the plan comes first", async () => {
  await page.setViewportSize({ width: 1024, height: 1366 });
  await open();
  await page.locator(".plan-slot").waitFor();
  const top = (selector) => page.evaluate((s) => document.querySelector(s).getBoundingClientRect().top, selector);
  assert.ok((await top(".plan-slot")) < (await top(".sequence")));
});

test("places for a photosensor are tried when asked, shown with words, and told when they are old", async () => {
  const release = service.holdPlaces();
  await open();
  await page.locator(".plan .luminaire").first().waitFor();
  assert.equal(service.placesAsked.length, 0, "nothing is tried before it is asked for");
  await page.getByRole("button", { name: "photosensor places" }).click();
  await sees(page.getByRole("status"), "tried 3 of 154 places");
  release();
  const line = page.locator(".places-line");
  await sees(page.locator(".places-scale"), "of target, root mean square");
  await sees(line, "Where it hangs");
  await sees(line, /Best place, .* from the .* wall: 3\.1\s% of target off \(root mean square\), 1\.5\s% too much on average, under 90\s% in 0\.8\s% of the hours/);
  await sees(page.locator(".place-marks .best text"), "best place 3.1 %");
  await sees(page.locator(".place-marks .present text"), "hangs here");
  await sees(page.locator(".place-marks .present text"), "gives away 5.0 kWh a year");
  await sees(page.locator(".governed text"), "under-lit 12.0 h");
  await sees(line, /under-lit 12\.0\sh \(9\.6 to 14\.4\sh\), over-lit 400\sh .*gives away 5\.0\skWh/);
  assert.equal(await page.locator(".plan .iso").count(), 0, "the light makes room for the map");

  // By hand and by keys, each place says its three figures.
  const options = page.getByRole("listbox", { name: "Places for a photosensor" }).getByRole("option");
  assert.equal(await options.count(), 154);
  await page.getByRole("option", { name: /^best place, / }).focus();
  await page.keyboard.press("ArrowDown");
  const reached = await page.evaluate(() => document.activeElement?.getAttribute("aria-label"));
  assert.match(reached, /from the .* wall: .* of target off.*, .* too much on average, under 90\s% in .* of the hours$/);
  await sees(line, reached.split(":")[0]);
  const corner = await options.first().boundingBox();
  await page.mouse.move(corner.x + corner.width / 2, corner.y + corner.height / 2);
  await sees(line, "cannot be set up here");

  await page.mouse.move(5, 5);

  // Another rule is another question; the room has three.
  await line.getByRole("combobox").selectOption({ index: 2 });
  await sees(line, "7.1 % of target off");
  await sees(page.locator(".governed text"), "under-lit 0 h");
  assert.deepEqual(
    service.placesAsked.map((a) => a.rule),
    [0, 2],
  );

  // A later revision does not begin them by itself.
  service.elsewhere(project, "moved", (d) => (d.name = "Hill library"));
  await sees(line, "These are of revision 1.");
  assert.equal(service.placesAsked.length, 2);
  await line.getByRole("button", { name: "try them in revision 2" }).click();
  await line.getByText("These are of revision 1.").waitFor({ state: "detached" });
  assert.deepEqual(complaints, []);
});

// Every other page is audited against the program (tests/every_page), which takes long to try places.
test("the map of places keeps the rules of accessibility, light and dark", async () => {
  await open();
  await page.getByRole("button", { name: "photosensor places" }).click();
  await page.locator(".place-marks").waitFor();
  await page.evaluate(axe);
  for (const colorScheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme });
    const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"] }));
    assert.deepEqual(
      violations.map((v) => `${colorScheme} ${v.id}: ${v.nodes.map((n) => n.target.join(" ")).slice(0, 4).join(", ")}`),
      [],
    );
  }
  assert.deepEqual(complaints, []);
});

test("trying places stops at a word, and with its layer", async () => {
  service.holdPlaces();
  await open();
  const layer = page.getByRole("button", { name: "photosensor places" });
  await layer.click();
  await page.locator(".places-line").getByRole("button", { name: "stop" }).click();
  await sees(page.locator(".places-line"), "Stopped.");
  const over = async (count) => {
    for (let i = 0; i < 100 && service.placesAsked.filter((a) => a.isOver).length < count; i += 1) await page.waitForTimeout(20);
    assert.equal(service.placesAsked.filter((a) => a.isOver).length, count);
  };
  await over(1);
  await page.getByRole("button", { name: "try the places" }).click();
  await sees(page.getByRole("status"), "tried 3 of");
  await layer.click();
  await over(2);
  assert.deepEqual(complaints, []);
});

test("a room without glass, or without a daylight rule, says so in place of the map", async () => {
  await open("G03");
  await page.getByRole("button", { name: "photosensor places" }).click();
  await sees(page.locator(".places-line"), "The room has no glass");
  service.elsewhere(project, "by hand", (d) => delete sequenceOf(d, "G02").daylight);
  await open("G02");
  await page.getByRole("button", { name: "photosensor places" }).click();
  await sees(page.locator(".places-line"), "The room has no daylight rule");
  assert.equal(service.placesAsked.length, 0);
});

test("the layer of lost light writes at each seat how often it is lost", async () => {
  await open();
  await page.locator(".plan .luminaire").first().waitFor();
  assert.equal(await page.locator(".plan .words .tiny", { hasText: "/h" }).count(), 0);
  await page.getByRole("button", { name: "lost light" }).click();
  await sees(page.locator(".plan .words .tiny"), /^0\.22\s\/h$/);
  await page.getByRole("button", { name: "movement" }).click();
  await sees(page.locator(".reach-words"), /^Whoever sits still alone loses the light too often at 1 of 2 seats; the worst loses the light 0\.22 times an hour/);
});

test("a fault that is switched on says what it leaves, and HVAC is told with its intervals", async () => {
  await open();
  const faults = page.locator("details.told", { hasText: "What faults would cost" });
  await faults.locator("summary").click();
  await sees(faults.locator("dd"), /^420\skWh more \(390 to 450\skWh\)/);
  await faults.getByRole("button", { name: /override holds the light on/ }).click();
  await sees(faults.getByRole("status"), /With this fault the room saves 25\s% of what was found\./);
  const hvac = page.locator("details.told", { hasText: /^HVAC: 900/ });
  await hvac.locator("summary").click();
  await sees(hvac.locator("dd"), /900\sh \(800 to 1000\sh\)/);
  assert.deepEqual(complaints, []);
});
