// A project whose every text is markup, in the program's own pages: the text is shown as text and nothing of it runs.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PATIENCE_MS, launch } from "../support/browser.mjs";
import { hostileProject, TEXTS } from "../../../tests/service/hostile_project.mjs";
import { addProject, demo, startHalflight } from "../../../tests/service/support.mjs";

const nameOf = (room) => hostileProject(demo).spaces.find((s) => s.id === room).name;

let service;
let browser;
let project;
before(async () => {
  service = await startHalflight();
  project = await addProject(service, JSON.stringify(hostileProject(demo)), TEXTS[0]);
  const label = TEXTS[1];
  const edits = [{ op: "replace", path: "/spaces/1/number", value: TEXTS[2] }];
  const saved = await service.ask("POST", `/api/projects/${project}/edits`, { base: 1, label, edits });
  assert.equal(saved.status, 201, saved.text);
  await service.ask("PATCH", `/api/projects/${project}/revisions/1`, { name: TEXTS[3] });
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await service?.stop();
});

/** Opens a page of the workbench and looks for `shown` among its texts. */
async function open(path, shown, also = async () => {}) {
  const page = await browser.newPage({ viewport: { width: 1480, height: 960 } });
  const trouble = [];
  page.on("dialog", (dialog) => {
    trouble.push(`dialog: ${dialog.message()}`);
    void dialog.dismiss();
  });
  page.on("console", (message) => {
    if (message.type() === "error") trouble.push(`console: ${message.text()}`);
  });
  page.on("pageerror", (error) => trouble.push(`fault: ${error}`));
  page.on("request", (request) => {
    const url = request.url();
    if (!url.startsWith(`${service.url}/`) && !/^(data|blob):/.test(url)) trouble.push(`asks ${url}`);
    if (new URL(url).pathname === "/x") trouble.push("an image was asked for");
  });
  // What is looked for stands in the document; a study of the whole building would take the machine's time.
  await page.route(/\/studies$/, () => {});
  await page.goto(service.url + path);
  const text = () => page.evaluate(() => document.body.innerText + [...document.querySelectorAll("svg text, svg title")].map((t) => t.textContent).join("\n") + [...document.querySelectorAll("input, textarea")].map((i) => i.value).join("\n"));
  for (const one of shown)
    await page
      .waitForFunction((t) => document.body.textContent.includes(t) || [...document.querySelectorAll("input, textarea")].some((i) => i.value.includes(t)), one, { timeout: PATIENCE_MS })
      .catch(async () => assert.fail(`${path} does not show ${one}: ${(await text()).slice(0, 1500)}`));
  await also(page);
  const made = await page.evaluate(() => ({
    scripts: document.querySelectorAll("body script").length,
    images: document.querySelectorAll('img[src="x"], img[onerror]').length,
    handlers: document.querySelectorAll("[onload], [onerror]").length,
  }));
  assert.deepEqual(made, { scripts: 0, images: 0, handlers: 0 }, path);
  assert.deepEqual(trouble, [], path);
  await page.close();
}

// First, since rooms that are looked at are studied too.
test("the report shows markup as text", async () => {
  const run = await service.ask("POST", `/api/projects/${project}/studies`, { revision: 2, spaces: ["G08"], accuracy: "draft" });
  const stream = await service.listen(`/api/runs/${run.body.id}/events`);
  await stream.over;
  assert.equal(stream.events.at(-1).name, "done");
  await open(`/api/runs/${run.body.id}/report`, [TEXTS[0]]);
});

test("the list of projects, the building and the revisions show markup as text", async () => {
  await open("/", [TEXTS[0]]);
  await open(`/projects/${project}`, [TEXTS[0], TEXTS[2]]);
  await open(`/projects/${project}/revisions`, [TEXTS[1], TEXTS[3]]);
  for (const page of ["assumptions", "compare", "place", "add-room", "paste"]) await open(`/projects/${project}/${page}`, [TEXTS[0]]);
});

test("a room shows markup as text, on the plan, in the sentence and in its minutes", async () => {
  for (const room of ["G02", "104"])
    await open(`/projects/${project}/rooms/${room}`, [nameOf(room)], async (page) => {
      // Point at things, so that what names them is written.
      const plan = page.locator("svg, canvas").first();
      const box = await plan.boundingBox();
      if (box) for (let i = 1; i < 8; ++i) await page.mouse.move(box.x + (box.width * i) / 8, box.y + (box.height * i) / 8);
      await page.keyboard.press("m");
      await page.waitForTimeout(1500);
    });
});

test("a page at an address that is markup shows no more than that it is not there", async () => {
  for (const path of [`/projects/${encodeURIComponent(TEXTS[0])}`, `/projects/${project}/rooms/${encodeURIComponent(TEXTS[1])}`, `/?q=${encodeURIComponent(TEXTS[2])}#${TEXTS[0]}`]) {
    const page = await browser.newPage();
    const dialogs = [];
    page.on("dialog", (d) => {
      dialogs.push(d.message());
      void d.dismiss();
    });
    await page.goto(service.url + path);
    await page.waitForFunction(() => document.body.innerText.length > 10);
    assert.equal(await page.evaluate(() => document.querySelectorAll("img, body script").length), 0);
    assert.deepEqual(dialogs, [], path);
    await page.close();
  }
});

test("a page of another origin can neither read nor write", async () => {
  const { createServer } = await import("node:http");
  const other = createServer((_, response) => response.setHeader("Content-Type", "text/html").end("<!doctype html><title>x</title>"));
  await new Promise((resolve) => other.listen(0, "127.0.0.1", resolve));
  const page = await browser.newPage();
  await page.goto(`http://127.0.0.1:${other.address().port}/`);
  const before = (await service.ask("GET", "/api/projects")).body.length;
  const got = await page.evaluate(async (url) => {
    const hidden = `POST /api/projects HTTP/1.1\r\nHost: ${new URL(url).host}\r\nContent-Type: application/json\r\nContent-Length: 16\r\n\r\n{"from":"empty"}`;
    const tries = [
      fetch(`${url}/api/projects`),
      fetch(`${url}/api/projects`, { method: "POST", headers: { "Content-Type": "application/json" }, body: '{"from":"empty"}' }),
      fetch(`${url}/api/projects`, { method: "POST", mode: "no-cors", body: '{"from":"empty"}' }),
      ...[0, 4096, 8000, 70_000].map((n) => fetch(`${url}/api/projects`, { method: "POST", mode: "no-cors", body: " ".repeat(n) + hidden })),
    ];
    const answers = await Promise.allSettled(tries.map((t) => t.then((r) => r.text())));
    return answers.map((a) => a.value ?? "").join("");
  }, service.url);
  assert.equal(got, "");
  assert.equal((await service.ask("GET", "/api/projects")).body.length, before);
  await page.close();
  other.close();
});
