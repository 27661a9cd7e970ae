// How fast the pages follow the hand, in a browser without graphics hardware against the program: `node bench/pages.mjs PROGRAM`.
// Medians; the room is the demo's reading room.
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { launch } from "../web/tests/support/browser.mjs";
import { startProgram } from "../web/tests/support/program.mjs";

const root = join(dirname(fileURLToPath(import.meta.url)), "..");
const MOVES = 25;
const SCRUBS = 120;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
const row = (what, seen, unit, goal) =>
  console.log(`  ${what.padEnd(66)} ${`${seen.toPrecision(3)} ${unit}`.padEnd(14)} ${goal === undefined ? "" : `${`${goal} ${unit}`.padEnd(10)} ${seen <= goal ? "reached" : "missed"}`}`);

const program = await startProgram(process.argv[2]);
const browser = await launch();
try {
  const project = await program.add("Bench", readFileSync(join(root, "projects/fenwick_hollow.halflight.json"), "utf8"));
  const room = `${program.url}/projects/${project}/rooms/G02`;
  const viewport = { width: 1480, height: 960 };
  const warm = await browser.newPage({ viewport });
  await warm.goto(room);
  await warm.getByText("less lighting energy than stands there now").waitFor({ timeout: 300_000 });
  await warm.close();

  // The page of a room that is lit, without a cache: its sentence and plan stand and answer.
  const loads = [];
  for (let i = 0; i < 7; i += 1) {
    const context = await browser.newContext({ viewport });
    const page = await context.newPage();
    await page.addInitScript(() => {
      const look = () => {
        const isUsable = document.querySelector(".say .phrase[tabindex]") !== null && document.querySelector(".plan-drawing [role=option]") !== null;
        if (isUsable) window.usable_ms = performance.now();
        else requestAnimationFrame(look);
      };
      requestAnimationFrame(look);
    });
    await page.goto(room);
    await page.waitForFunction(() => window.usable_ms !== undefined);
    loads.push(await page.evaluate(() => window.usable_ms));
    await context.close();
  }

  const page = await browser.newPage({ viewport });
  await page.goto(room);
  await page.getByText("less lighting energy than stands there now").waitFor({ timeout: 60_000 });
  const script_kB = await page.evaluate(() => performance.getEntriesByType("resource").filter((e) => e.initiatorType === "script" || e.name.endsWith(".js")).reduce((sum, e) => sum + e.encodedBodySize, 0) / 1000);

  /** Times between the frames that the page draws while `act` goes on, ms. */
  const framesOf = async (act) => {
    await page.evaluate(() => {
      window.frames = [];
      let last = performance.now();
      const tick = (now) => {
        window.frames.push(now - last);
        last = now;
        window.ticking = requestAnimationFrame(tick);
      };
      window.ticking = requestAnimationFrame(tick);
    });
    await act();
    return page.evaluate(() => (cancelAnimationFrame(window.ticking), window.frames.slice(1)));
  };

  // From each movement of the pointer to the frame after its contours have come.
  await page.evaluate(() => {
    window.followed = [];
    let moved = null;
    addEventListener("pointermove", () => (moved ??= performance.now()), true);
    new MutationObserver((changes) => {
      if (moved === null || !changes.some((c) => c.target instanceof Element && c.target.matches(".iso"))) return;
      const since = moved;
      moved = null;
      requestAnimationFrame(() => window.followed.push(performance.now() - since));
    }).observe(document.querySelector(".plan-drawing"), { subtree: true, attributes: true, attributeFilter: ["d"] });
  });
  const follow = async (box, dx) => {
    await page.evaluate(() => (window.followed = []));
    const [x, y] = [box.x + 0.5 * box.width, box.y + 0.5 * box.height];
    await page.mouse.move(x, y);
    await page.mouse.down();
    for (let i = 1; i <= MOVES; i += 1) {
      await page.mouse.move(x + dx * i, y);
      await page.waitForTimeout(150);
    }
    await page.keyboard.press("Escape");
    await page.mouse.up();
    return page.evaluate(() => window.followed);
  };
  const luminaire = await follow(await page.locator(".plan-drawing").getByRole("option", { name: "luminaire G02-U09" }).boundingBox(), 2);
  const levelBox = await page.getByRole("slider", { name: "Day, a" }).first().boundingBox();
  let level;
  const levelFrames = await framesOf(async () => (level = await follow(levelBox, -1)));

  // The year in another colour: from the click, and from the answer's last byte, to the frame that shows it.
  const colours = ["presence", "power"].map((name) => page.getByRole("radio", { name, exact: true }));
  const coloured = [];
  const drawn = [];
  for (let i = 0; i < 12; i += 1) {
    const colour = colours[i % 2];
    const took = await colour.evaluate(
      (radio) =>
        new Promise((resolve) => {
          const ground = document.querySelector(".year-ground");
          const context = ground.getContext("2d");
          const put = context.putImageData.bind(context);
          const image = context.drawImage.bind(context);
          const since = performance.now();
          const done = () =>
            requestAnimationFrame(() => {
              const now = performance.now();
              const answered = performance.getEntriesByType("resource").filter((e) => e.name.includes("/year?")).at(-1).responseEnd;
              resolve({ whole: now - since, drawing: now - answered });
            });
          context.putImageData = (...all) => (put(...all), done());
          context.drawImage = (...all) => (image(...all), done());
          radio.click();
        }),
    );
    await page.evaluate(() => {
      const context = document.querySelector(".year-ground").getContext("2d");
      delete context.putImageData;
      delete context.drawImage;
    });
    if (i >= 2) {
      coloured.push(took.whole);
      drawn.push(took.drawing);
    }
    await page.waitForTimeout(100);
  }

  const sheet = await page.locator(".year-sheet").boundingBox();
  await page.mouse.move(sheet.x + 60, sheet.y + 40);
  await page.mouse.down();
  const frames = await framesOf(() => page.mouse.move(sheet.x + sheet.width - 60, sheet.y + 60, { steps: SCRUBS }));
  await page.mouse.up();

  // A schedule of 200 rooms pasted, to its last row in the preview.
  await page.goto(`${program.url}/projects/${project}/paste`);
  await page.getByRole("textbox", { name: "table" }).waitFor();
  const schedule = ["Room no.\tRoom type\tArea (m2)", ...Array.from({ length: 200 }, (_, i) => `P${i}\tClassroom\t${50 + (i % 7)}`)].join("\n");
  const pasted_ms = await page.evaluate(async (text) => {
    const area = document.querySelector("textarea");
    const since = performance.now();
    area.value = text;
    area.dispatchEvent(new InputEvent("input", { bubbles: true }));
    while (document.querySelectorAll(".paste-rows tbody tr").length < 200) await new Promise((next) => setTimeout(next, 1));
    return performance.now() - since;
  }, schedule);

  console.log("\nThe pages, in a browser that draws without graphics hardware, medians             seen           goal at most");
  row("a room's page usable, nothing in the browser's cache", median(loads), "ms", 1000);
  row("its script, compressed", script_kB, "kB", 200);
  row(`a luminaire dragged, to its new contours (${luminaire.length})`, median(luminaire), "ms", 100);
  row(`a level dragged, to its new contours (${level.length})`, median(level), "ms");
  row(`a frame while a level is dragged (${levelFrames.length})`, median(levelFrames), "ms", 17);
  row("the year in another colour, 105,120 steps, from the click", median(coloured), "ms");
  row("the same from its answer to the frame", median(drawn), "ms", 30);
  row("200 pasted rooms to their preview", pasted_ms, "ms", 500);
  row(`a frame while the year is scrubbed (${frames.length})`, median(frames), "ms", 17);
} finally {
  await browser.close();
  await program.close();
}
