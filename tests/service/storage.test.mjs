// The disk and the database stand in the way: the client is told so with the code "storage", nothing of the edit is written,
// the service goes on, and the next edit succeeds once the cause is gone.
import assert from "node:assert/strict";
import { spawn, spawnSync } from "node:child_process";
import { chmodSync, existsSync, renameSync, statSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { addProject, demo, newFolder, program, startHalflight } from "./support.mjs";

const edit = (service, project, base, value) =>
  service.ask("POST", `/api/projects/${project}/edits`, { base, label: "edit", edits: [{ op: "replace", path: "/name", value }] });

function assertStorage(answer) {
  assert.equal(answer.status, 507, answer.text);
  assert.equal(answer.body.error.code, "storage");
  assert.ok(answer.body.error.problem.length > 10, answer.text);
  assert.ok(answer.body.error.remedy.length > 5, answer.text);
}
const name = async (service, project) => {
  const answer = await service.ask("GET", `/api/projects/${project}/document`);
  assert.equal(answer.status, 200, answer.text);
  return answer.body.name;
};

/** Text that does not compress, so that every revision takes room. */
const noise = (bytes, seed) => {
  let state = seed;
  let text = "";
  while (text.length < bytes) {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    text += state.toString(36);
  }
  return text.slice(0, bytes);
};

test("a full disk is told, reading goes on, and after the service starts anew with room so does saving", async () => {
  const store = join(newFolder(), "projects.sqlite");
  // No file may grow beyond 1 MiB; writing beyond that is an error, as on a full disk.
  const service = await startHalflight({ store, through: "trap '' XFSZ; ulimit -f 1024; exec \"$@\"" });
  const project = await addProject(service, demo, "Full");
  let base = 1;
  let refused;
  for (; base < 100; ++base) {
    const answer = await edit(service, project, base, noise(60_000, base));
    if (answer.status !== 201) {
      refused = answer;
      break;
    }
  }
  assert.ok(refused, "the disk never became full");
  assertStorage(refused);
  assert.match(refused.body.error.problem + refused.body.error.remedy, /full|room|space/i);
  assert.ok(base > 2, "some edits had room");
  const last = noise(60_000, base - 1);
  assert.equal(await name(service, project), last);
  assert.equal((await service.ask("GET", `/api/projects/${project}`)).body.head, base);
  assertStorage(await edit(service, project, base, noise(60_000, 777)));
  assertStorage(await service.ask("POST", "/api/projects", { document: JSON.stringify({ format: "halflight-project/1", id: "b", name: "New", notes: noise(900_000, 5) }) }));
  assert.equal((await service.ask("GET", `/api/projects/${project}/building`)).status, 200);
  await service.stop();

  const again = await startHalflight({ store });
  assert.equal(await name(again, project), last);
  assert.equal((await edit(again, project, base, "With room")).status, 201);
  await again.stop();
});

test("a database that another program holds is told after two seconds, and saving goes on once it lets go", async () => {
  const service = await startHalflight();
  const project = await addProject(service, demo, "Held");
  const holder = spawn("python3", [
    "-c",
    `import sqlite3,sys
d=sqlite3.connect(sys.argv[1],isolation_level=None); d.execute("BEGIN IMMEDIATE"); print("held",flush=True); sys.stdin.read(); d.execute("ROLLBACK")`,
    service.store,
  ]);
  await new Promise((resolve, reject) => {
    holder.stdout.once("data", resolve);
    holder.once("exit", () => reject(new Error("the holder ended")));
  });
  const begun = performance.now();
  const [first, second, read] = await Promise.all([
    edit(service, project, 1, "While held"),
    service.ask("POST", "/api/projects", { from: "empty" }),
    service.ask("GET", `/api/projects/${project}/revisions`),
  ]);
  assertStorage(first);
  assertStorage(second);
  assert.equal(read.status, 200);
  assert.ok(performance.now() - begun < 6000, `${performance.now() - begun} ms`);
  holder.stdin.end();
  await new Promise((resolve) => holder.once("exit", resolve));
  assert.equal((await edit(service, project, 1, "Let go")).status, 201);
  await service.stop();
});

test("a database that was moved away is told and not silently written to", async () => {
  const service = await startHalflight();
  const project = await addProject(service, demo, "Moved");
  const elsewhere = `${service.store}.moved`;
  for (const end of ["", "-wal", "-shm"]) if (existsSync(service.store + end)) renameSync(service.store + end, elsewhere + end);
  assertStorage(await edit(service, project, 1, "Nowhere"));
  assert.equal((await service.ask("GET", "/api/about")).status, 200);
  for (const end of ["", "-wal", "-shm"]) if (existsSync(elsewhere + end)) renameSync(elsewhere + end, service.store + end);
  assert.equal((await edit(service, project, 1, "Back")).status, 201);
  await service.stop();
});

test("a database without permission to write, a file that is no database, and a folder end the start with a message", async () => {
  const folder = newFolder();
  const store = join(folder, "projects.sqlite");
  const service = await startHalflight({ store });
  await addProject(service, demo, "Kept");
  await service.stop();
  const size = statSync(store).size;
  chmodSync(store, 0o444);
  chmodSync(folder, 0o555);
  // Permissions do not bind the administrator: then another user starts it.
  const isRoot = process.getuid() === 0;
  const words = [program, "serve", "--port", "0", "--store", store, "--cache", join(newFolder(), "c")];
  const started = isRoot
    ? spawnSync("setpriv", ["--reuid=65534", "--regid=65534", "--clear-groups", ...words], { encoding: "utf8", timeout: 20_000 })
    : spawnSync(words[0], words.slice(1), { encoding: "utf8", timeout: 20_000 });
  chmodSync(folder, 0o755);
  assert.equal(started.status, 2, `${started.error ?? ""} ${started.stdout} ${started.stderr}`);
  assert.match(started.stderr, /projects\.sqlite/);
  assert.match(started.stderr, /read|write|permission/i);
  assert.equal(statSync(store).size, size);

  for (const place of [folder, "/etc/hostname", "/proc/nowhere/p.sqlite"]) {
    const wrong = spawnSync(program, ["serve", "--port", "0", "--store", place], { encoding: "utf8", timeout: 20_000 });
    assert.equal(wrong.status, 2, place + wrong.stdout + wrong.stderr);
    assert.ok(wrong.stderr.length > 20, place);
  }
});

test("a port that is taken ends the start with a message", async () => {
  const service = await startHalflight();
  const second = spawnSync(program, ["serve", "--port", String(service.port), "--store", join(newFolder(), "p.sqlite")], {
    encoding: "utf8",
    timeout: 20_000,
  });
  assert.equal(second.status, 2);
  assert.match(second.stderr, new RegExp(String(service.port)));
  await service.stop();
});
