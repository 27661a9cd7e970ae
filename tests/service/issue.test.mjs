// A revision is frozen with the study of all its rooms, and with nothing less.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { cells } from "../../web/tests/support/cells.mjs";
import { addProject, startHalflight, until } from "./support.mjs";

let service;
before(async () => (service = await startHalflight()));
after(() => service.stop());

const STUDIED_MS = 120_000;

/** Two rooms; `change` may alter the document. */
function document(change = () => {}) {
  const made = cells(2);
  made.designs[1].sequences = [];
  change(made);
  return JSON.stringify(made, null, 1);
}
async function study(project, more = {}) {
  const begun = await service.ask("POST", `/api/projects/${project}/studies`, { revision: 1, spaces: [], accuracy: "draft", ...more });
  assert.equal(begun.status, 202, begun.text);
  await until(async () => (await service.ask("GET", `/api/runs/${begun.body.id}`)).body.state === "done", STUDIED_MS, "the study");
  return begun.body.id;
}
const issue = (project, more) => service.ask("POST", `/api/projects/${project}/issue`, { base: 1, name: "For tender", by: "R. Vale", ...more });
const refused = async (answer, words) => {
  assert.equal(answer.status, 403, answer.text);
  assert.equal(answer.body.error.code, "refused");
  assert.match(answer.body.error.problem, words);
};

test("a finished study of all rooms freezes its revision, once", async () => {
  const project = await addProject(service, document(), "Issued");
  const run = await study(project);
  const studied = await service.ask("GET", `/api/runs/${run}/study`);
  const issued = await issue(project, { run });
  assert.equal(issued.status, 201, issued.text);
  assert.equal(issued.body.name, "For tender");
  assert.equal(issued.body.issued.by, "R. Vale");
  assert.match(issued.body.issued.results_hash, /^[0-9a-f]{32}$/);
  assert.match(issued.body.issued.program_digest, /^[0-9a-f]{16,}$/);
  const results = await service.ask("GET", `/api/projects/${project}/revisions/1/results`);
  assert.deepEqual(results.bytes, studied.bytes);

  assert.equal((await issue(project, { run })).status, 400);
  const renamed = await service.ask("PATCH", `/api/projects/${project}/revisions/1`, { name: "Other" });
  assert.equal(renamed.status, 400, renamed.text);
  const [listed] = (await service.ask("GET", `/api/projects/${project}/revisions`)).body;
  assert.deepEqual(listed, issued.body);

  const edited = await service.ask("POST", `/api/projects/${project}/edits`, { base: 1, label: "rename", edits: [{ op: "replace", path: "/name", value: "Later" }] });
  assert.equal(edited.status, 201, edited.text);
  assert.deepEqual((await service.ask("GET", `/api/projects/${project}/revisions/1/results`)).bytes, studied.bytes);
  assert.equal((await service.ask("GET", `/api/projects/${project}/revisions/2/results`)).status, 404);
});

test("what studied a part, another revision, another proposal or nothing known is refused with words", async () => {
  const text = document((made) => made.designs.push({ ...made.designs[1], id: "other", name: "Other" }));
  const project = await addProject(service, text, "Refused");
  const other = await addProject(service, document(), "Another");
  const run = await study(project);
  await refused(await issue(project, { run: await study(project, { spaces: ["101"] }) }), /part of the building/);
  await refused(await issue(project, { run: await study(project, { design: "other" }) }), /proposal other/);
  await refused(await issue(other, { run }), /not revision 1 of/);
  await refused(await issue(project, { run: "run-999999" }), /no study run-999999/);
  assert.equal((await issue(project, { run, by: "  " })).status, 400);
  assert.equal((await service.ask("GET", `/api/projects/${project}/revisions`)).body[0].issued, null);
});

test("a design that leaves a way out dark is not issued, and the reasons are told", async () => {
  const dark = document((made) => {
    made.typicals[0].space.egress_paths = [{ id: "way", centre_line: [[1.5, 0.3], [1.5, 3.7]], width: "1 m" }];
  });
  const project = await addProject(service, dark, "Dark way");
  const run = await study(project);
  const { body } = await service.ask("GET", `/api/runs/${run}/study`);
  assert.equal(body.may_be_issued, false);
  const answer = await issue(project, { run });
  await refused(answer, /not to be issued because/);
  for (const reason of body.not_to_be_issued_because) assert.ok(answer.body.error.problem.includes(reason), reason);
});

test("a study that was made already is given again, and one of other rooms is another study", async () => {
  const project = await addProject(service, document(), "Again");
  const run = await study(project);
  assert.equal(await study(project), run);
  assert.notEqual(await study(project, { spaces: ["101"] }), run);
});

test("the report keeps a stricter policy than the pages", async () => {
  const project = await addProject(service, document(), "Report");
  const report = await service.ask("GET", `/api/runs/${await study(project)}/report`);
  assert.equal(report.status, 200);
  assert.match(report.headers["content-security-policy"] ?? report.headers.get?.("content-security-policy"), /^default-src 'none'.*script-src 'none'/);
  assert.doesNotMatch(report.text, /<script/);
});
