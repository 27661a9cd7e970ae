// The examples of docs/formats/service.md, run one after another in one shell: each prints what stands under it. "..." stands
// for anything.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { root, startHalflight } from "./support.mjs";

test("every example of docs/formats/service.md prints what the page says", async () => {
  const page = readFileSync(join(root, "docs/formats/service.md"), "utf8");
  const commands = [...page.matchAll(/```sh\n([\s\S]*?)```/g)];
  const examples = [...page.matchAll(/```sh\n([\s\S]*?)```\n\n```text\n([\s\S]*?)```/g)].map((m) => ({ command: m[1], expected: m[2] }));
  assert.ok(examples.length >= 9, `${examples.length} examples`);
  assert.equal(examples.length, commands.length, "an example without what it prints");

  const service = await startHalflight();
  const MARK = "==== end of an example";
  const script = examples.map((e) => `${e.command.replaceAll("http://127.0.0.1:8137", service.url)}\necho; echo '${MARK}'\n`).join("");
  assert.ok(script.includes(service.url));
  const run = spawnSync("bash", ["-uo", "pipefail", "-c", script], { encoding: "utf8", timeout: 120_000 });
  const printed = run.stdout.split(`${MARK}\n`);
  assert.equal(printed.length, examples.length + 1, run.stderr);
  const plain = (text) => text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
  for (const [i, { command, expected }] of examples.entries()) {
    const pattern = expected.trim().split("...").map(plain).join("[\\s\\S]*?");
    assert.match(printed[i].trim(), new RegExp(`^${pattern}$`), command);
  }
  await service.stop();
});

test("the page tells every code of trouble with its status", () => {
  const page = readFileSync(join(root, "docs/formats/service.md"), "utf8");
  const told = Object.fromEntries([...page.matchAll(/^\| `(\w+)` \| (\d{3}) \|/gm)].map((m) => [m[1], Number(m[2])]));
  const source = readFileSync(join(root, "app/service/problem_json.cpp"), "utf8");
  const real = Object.fromEntries([...source.matchAll(/\{"(\w+)", (\d{3})\}/g)].map((m) => [m[1], Number(m[2])]));
  assert.deepEqual(told, real);
});
