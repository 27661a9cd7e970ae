// Documents come out as they went in; edits of two clients meet by number; what came before can stand again.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { addProject, demo, startHalflight } from "./support.mjs";

let service;
before(async () => (service = await startHalflight()));
after(() => service.stop());

const get = async (project, revision) => {
  const answer = await service.ask("GET", `/api/projects/${project}/document${revision ? `?revision=${revision}` : ""}`);
  assert.equal(answer.status, 200, answer.text);
  return answer.bytes;
};
const edit = (project, base, label, edits) => service.ask("POST", `/api/projects/${project}/edits`, { base, label, edits });

test("a document is exported byte for byte as it was imported", async () => {
  const texts = [
    demo,
    '{"format":"halflight-project/1","id":"b","name":"One line"}',
    '\r\n{\r\n\t"format" : "halflight-project/1",\r\n "name":"\\u0041 \\ud83d\\ude00 \u00e9\u4e2d",   "id":"b"\r\n}\r\n\r\n  ',
    '{"format":"halflight-project/1","id":"b","name":"Numbers","site":{"latitude_deg":1.50000,"longitude_deg":-0.0e0}}',
    '{"format":"halflight-project/1","id":"b","name":"Unknown keys","made_up":[1,2,{"a":null}]}',
  ];
  for (const text of texts) {
    const project = await addProject(service, text, "Round trip");
    assert.deepEqual(await get(project), Buffer.from(text, "utf8"), text.slice(0, 60));
    assert.deepEqual(await get(project, 1), Buffer.from(text, "utf8"));
  }
});

test("an edit changes its place and no other byte, and undo restores all of them", async () => {
  const project = await addProject(service, demo, "Undo");
  const path = "/spaces/1/name";
  const before = JSON.parse(demo).spaces[1].name;
  const saved = await edit(project, 1, "rename", [{ op: "replace", path, value: "Hall of maps" }]);
  assert.equal(saved.status, 201, saved.text);
  assert.equal(saved.body.revision, 2);
  const now = (await get(project)).toString("utf8");
  assert.equal(JSON.parse(now).spaces[1].name, "Hall of maps");
  assert.equal(now.replace('"Hall of maps"', JSON.stringify(before)), demo);

  const undone = await edit(project, 2, "undo", [{ op: "replace", path, value: before }]);
  assert.equal(undone.status, 201);
  assert.equal((await get(project)).toString("utf8"), demo);
  assert.equal((await get(project, 2)).toString("utf8"), now);
});

test("an added object that is taken away again leaves the bytes that were", async () => {
  const project = await addProject(service, demo, "Add and remove");
  const spaces = JSON.parse(demo).spaces;
  const added = await edit(project, 1, "add", [{ op: "add", path: "/spaces/-", value: { id: "Z9", name: "New", number: "Z9" } }]);
  assert.equal(added.status, 201, added.text);
  const removed = await edit(project, 2, "remove", [{ op: "remove", path: `/spaces/${spaces.length}` }]);
  assert.equal(removed.status, 201, removed.text);
  assert.equal((await get(project)).toString("utf8"), demo);
});

test("of two clients on one revision the second is told what the first did, and nothing of its own is written", async () => {
  const project = await addProject(service, demo, "Two windows");
  const first = await edit(project, 1, "first", [{ op: "replace", path: "/name", value: "First" }]);
  assert.equal(first.status, 201);
  const second = await edit(project, 1, "second", [{ op: "replace", path: "/name", value: "Second" }]);
  assert.equal(second.status, 409);
  assert.equal(second.body.error.code, "conflict");
  assert.equal(second.body.head, 2);
  assert.deepEqual(
    second.body.since.map((r) => [r.number, r.label]),
    [[2, "first"]],
  );
  assert.equal(JSON.parse(await get(project)).name, "First");
  const again = await edit(project, second.body.head, "second", [{ op: "replace", path: "/name", value: "Second" }]);
  assert.equal(again.status, 201);
  assert.equal(again.body.revision, 3);
});

test("of forty edits at once on one revision exactly one is kept", async () => {
  const project = await addProject(service, demo, "Forty windows");
  const answers = await Promise.all(
    Array.from({ length: 40 }, (_, i) => edit(project, 1, `window ${i}`, [{ op: "replace", path: "/name", value: `Window ${i}` }])),
  );
  const kept = answers.flatMap((a, i) => (a.status === 201 ? [i] : []));
  assert.equal(kept.length, 1);
  assert.equal(answers.filter((a) => a.status === 409).length, 39);
  assert.equal(JSON.parse(await get(project)).name, `Window ${kept[0]}`);
  const revisions = (await service.ask("GET", `/api/projects/${project}/revisions`)).body;
  assert.deepEqual(
    revisions.map((r) => [r.number, r.label]),
    [
      [2, `window ${kept[0]}`],
      [1, "imported"],
    ],
  );
});

test("restoring is a new revision with the old bytes, and is refused when somebody saved meanwhile", async () => {
  const project = await addProject(service, demo, "Restore");
  for (let base = 1; base < 4; ++base)
    assert.equal((await edit(project, base, `edit ${base}`, [{ op: "replace", path: "/name", value: `N${base}` }])).status, 201);
  const late = await service.ask("POST", `/api/projects/${project}/restore`, { base: 3, revision: 1 });
  assert.equal(late.status, 409);
  assert.equal(late.body.head, 4);
  const restored = await service.ask("POST", `/api/projects/${project}/restore`, { base: 4, revision: 1 });
  assert.equal(restored.status, 201, restored.text);
  assert.equal(restored.body.revision, 5);
  assert.equal((await get(project)).toString("utf8"), demo);
  const newest = (await service.ask("GET", `/api/projects/${project}/revisions`)).body[0];
  assert.equal(newest.restores, 1);
  assert.equal(newest.label, "back to revision 1");
  assert.equal(JSON.parse(await get(project, 4)).name, "N3");
});

test("edits that cannot be done change nothing and say which step is wrong", async () => {
  const project = await addProject(service, demo, "Wrong edits");
  const good = { op: "replace", path: "/name", value: "Half done" };
  const wrong = [
    { op: "replace", path: "/spaces/999/name", value: "x" },
    { op: "remove", path: "/nothing" },
    { op: "replace", path: "no pointer", value: 1 },
    { op: "replace", path: "/spaces/1/~2", value: 1 },
    { op: "replace", path: "", value: 7 },
    { op: "remove", path: "" },
  ];
  for (const step of wrong) {
    const answer = await edit(project, 1, "wrong", [good, step]);
    assert.equal(answer.status, 400, JSON.stringify(step) + answer.text);
    assert.equal(answer.body.error.code, "bad_request");
    assert.ok(answer.body.error.problem.length > 5 && answer.body.error.remedy.length > 3, answer.text);
  }
  assert.equal((await get(project)).toString("utf8"), demo);
  assert.equal((await service.ask("GET", `/api/projects/${project}`)).body.head, 1);
});

test("a label or name that cannot be kept is the client's mistake, not the disk's", async () => {
  const project = await addProject(service, demo, "Labels");
  for (const label of ["two\nlines", "x".repeat(201), "\u0000"]) {
    const answer = await edit(project, 1, label, [{ op: "replace", path: "/name", value: "x" }]);
    assert.equal(answer.status, 400, answer.text);
    assert.equal(answer.body.error.where, "/label");
    const named = await service.ask("PATCH", `/api/projects/${project}/revisions/1`, { name: label });
    assert.equal(named.status, 400, named.text);
  }
  const absent = await service.ask("PATCH", `/api/projects/${project}/revisions/9`, { name: "x" });
  assert.equal(absent.status, 404);
  const named = await service.ask("PATCH", `/api/projects/${project}/revisions/1`, { name: "Tender \u{1F600}" });
  assert.equal(named.body.name, "Tender \u{1F600}");
});

test("a document's name of any length or kind gives a project", async () => {
  for (const name of ["\u00e9".repeat(150), "a\u0007b\nc", "\u0000", "\u0085", "<b>"]) {
    const made = await service.ask("POST", "/api/projects", {
      document: JSON.stringify({ format: "halflight-project/1", id: "b", name }),
    });
    assert.equal(made.status, 201, made.text);
    assert.ok(Buffer.byteLength(made.body.name) <= 200 && made.body.name.length > 0);
    assert.doesNotMatch(made.body.name, /\uFFFD/);
  }
});

test("levels are found for what a scene is for, or what stands in the way; nothing is saved", async () => {
  const project = await addProject(service, demo, "Targets");
  const room = (await service.ask("GET", `/api/projects/${project}/rooms/106`)).body;
  const board = room.scenes.find((scene) => scene.name === "Board");
  const table = board.targets.find((target) => target.least_lx === 300 && target.uniformity === null);
  const ask = (body) => service.ask("POST", `/api/projects/${project}/rooms/106/scene_levels`, { revision: 1, scene: board.id, ...body });
  const found = await ask({});
  assert.equal(found.status, 200, found.text);
  assert.ok(found.body.power_w < found.body.before_w);
  assert.equal(found.body.power_gap_w, 0);
  assert.equal(found.body.levels.length, 3);
  assert.ok(found.body.demands.every((demand) => demand.reached_words !== undefined));

  // More light asked for draws more; more than there is names what stands in the way.
  const least = (value) => ({ edits: [{ op: "replace", path: `${table.pointer}/least`, value }] });
  const more = await ask(least("400 lx"));
  assert.equal(more.status, 200, more.text);
  assert.ok(more.body.power_w > found.body.power_w);
  const beyond = await ask(least("5000 lx"));
  assert.equal(beyond.status, 200, beyond.text);
  assert.equal(beyond.body.levels, undefined);
  assert.equal(beyond.body.at_odds.length, 1);
  assert.match(beyond.body.demands[beyond.body.at_odds[0].demand].words, /5000 lx/);

  const wrong = await ask(least("5 apples"));
  assert.equal(wrong.status, 400, wrong.text);
  assert.equal((await ask({ scene: "nowhere" })).status, 400);
  assert.equal((await service.ask("POST", `/api/projects/${project}/rooms/none/scene_levels`, { revision: 1, scene: board.id })).status, 404);
  assert.equal((await get(project)).toString("utf8"), demo);
});

test("an answer to a what-if leaves the document and its revisions as they were", async () => {
  const project = await addProject(service, demo, "What if");
  const room = (await service.ask("GET", `/api/projects/${project}/rooms/G08`)).body;
  const light = (body) => service.ask("POST", `/api/projects/${project}/rooms/G08/light`, { revision: 1, points: true, ...body });
  const plain = await light({});
  assert.equal(plain.status, 200, plain.text);
  const moved = room.luminaires[0];
  const there = { op: "replace", path: `${moved.pointer}/at`, value: [moved.at[0] + 0.4, moved.at[1] + 0.4, moved.at[2]] };
  const what_if = await light({ edits: [there] });
  assert.equal(what_if.status, 200, what_if.text);
  assert.notDeepEqual(what_if.body.points, plain.body.points);
  assert.deepEqual((await light({})).body, plain.body);
  assert.equal((await get(project)).toString("utf8"), demo);
  assert.equal((await service.ask("GET", `/api/projects/${project}`)).body.head, 1);
  assert.deepEqual((await service.ask("GET", `/api/projects/${project}/rooms/G08`)).body, room);
});
