// An automated audit of every page, light and dark, in a real browser against the real program (HALFLIGHT_PROGRAM).
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { after, before, test } from "node:test";
import { PATIENCE_MS, launch } from "../support/browser.mjs";
import { PAGES, twoProjects } from "../support/pages.mjs";
import { startProgram } from "../support/program.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const skip = process.env.HALFLIGHT_PROGRAM ? false : "HALFLIGHT_PROGRAM names no program";

let browser;
let program;
let projects;
before(async () => {
  if (skip) return;
  program = await startProgram();
  projects = await twoProjects(program);
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await program?.close();
});

for (const { name, path, ready } of PAGES)
  test(`${name}, light and dark`, { skip }, async () => {
    const page = await browser.newPage({ viewport: { width: 1480, height: 960 }, reducedMotion: "reduce" });
    page.setDefaultTimeout(PATIENCE_MS);
    await page.goto(program.url + path(projects));
    await ready(page);
    await page.evaluate(axe);
    const found = [];
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"] }));
      found.push(...violations.map((v) => `${colorScheme} ${v.id}: ${v.nodes.map((n) => n.target.join(" ")).slice(0, 4).join(", ")}`));
    }
    await page.close();
    assert.deepEqual(found, []);
  });
