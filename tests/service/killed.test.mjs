// The service is killed a hundred times at moments nobody chose, while clients save: every edit that was answered with 201
// is there afterwards, to the last byte, and the project goes on.
import assert from "node:assert/strict";
import { test } from "node:test";
import { addProject, demo, newFolder, sleep, startHalflight } from "./support.mjs";
import { join } from "node:path";

const TIMES = Number(process.env.HALFLIGHT_KILLS ?? 100);

/** Draws that are the same each time: xorshift. */
function draws(seed) {
  let state = seed;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) / 2 ** 32;
  };
}

test(`killed ${TIMES} times in mid-edit, the service loses no acknowledged edit`, async () => {
  const store = join(newFolder(), "projects.sqlite");
  const draw = draws(20260317);
  // A short document is saved most often, the demo's takes longest to write.
  const projects = [];
  const first = await startHalflight({ store });
  for (const [name, document] of [
    ["Small", '{"format":"halflight-project/1","id":"b","name":"-"}'],
    ["Demo", demo],
  ])
    projects.push({ id: await addProject(first, document, name), head: 1, known: [document], unsure: null });
  await first.stop("SIGKILL");

  let acknowledged = 0;
  let cut_off = 0;
  for (let round = 0; round < TIMES; ++round) {
    const service = await startHalflight({ store });
    // What was acknowledged before is there; the one edit in the air is there whole or not at all.
    for (const project of projects) {
      const list = (await service.ask("GET", `/api/projects/${project.id}/revisions`)).body;
      const head = list[0].number;
      if (head === project.head + 1) {
        assert.notEqual(project.unsure, null, "a revision that nobody asked for");
        project.known.push(project.unsure);
        project.head = head;
      }
      assert.equal(head, project.head, `round ${round}: ${project.id} has lost an acknowledged edit`);
      project.unsure = null;
      const newest = await service.ask("GET", `/api/projects/${project.id}/document`);
      assert.equal(newest.text, project.known[head - 1], `round ${round}: ${project.id} differs`);
    }
    let over = false;
    const work = projects.map(async (project) => {
      while (!over) {
        const name = `edit ${round} ${project.head} ${"x".repeat(Math.floor(draw() * 300))}`;
        const before = project.known[project.head - 1];
        project.unsure = before.replace(/("name": ?)"[^"]*"/, (_, key) => `${key}"${name}"`);
        try {
          const answer = await service.ask("POST", `/api/projects/${project.id}/edits`, {
            base: project.head,
            label: `round ${round}`,
            edits: [{ op: "replace", path: "/name", value: name }],
          });
          assert.equal(answer.status, 201, answer.text);
          assert.equal(answer.body.revision, project.head + 1);
        } catch (error) {
          if (error.code === "ERR_ASSERTION") throw error;
          ++cut_off;
          return; // killed in between: nobody knows
        }
        project.known.push(project.unsure);
        project.unsure = null;
        ++project.head;
        ++acknowledged;
      }
    });
    await sleep(draw() * 120);
    await service.stop("SIGKILL");
    over = true;
    await Promise.all(work);
  }
  assert.ok(acknowledged > TIMES, `${acknowledged} edits were acknowledged`);
  assert.ok(cut_off > TIMES / 2, `${cut_off} edits were cut off`);
  // All the others are there too.
  const service = await startHalflight({ store });
  for (const project of projects) {
    for (let i = 0; i < 40; ++i) {
      const number = 1 + Math.floor(draw() * project.head);
      const kept = await service.ask("GET", `/api/projects/${project.id}/document?revision=${number}`);
      assert.equal(kept.text, project.known[number - 1], `${project.id} ${number}`);
    }
  }
  const { code } = await service.stop();
  assert.equal(code, 0);
});
