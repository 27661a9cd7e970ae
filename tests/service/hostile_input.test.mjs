// Input that no client of ours would send: nested, endless, not a number, not UTF-8, or meant to run in somebody's browser.
// It gets a clear error or is kept as the text that it is, and the service goes on.
import assert from "node:assert/strict";
import { after, afterEach, before, test } from "node:test";
import { addProject, demo, raw, startHalflight } from "./support.mjs";
import { hostileProject, TEXTS } from "./hostile_project.mjs";

let service;
let project;
before(async () => {
  service = await startHalflight();
  project = await addProject(service, demo, "Library");
});
after(async () => {
  const { code } = await service.stop();
  assert.equal(code, 0);
});
afterEach(async () => assert.equal((await service.ask("GET", `/api/projects/${project}`)).status, 200));

const post = (path, body) => service.ask("POST", path, body);
const head = async () => (await service.ask("GET", `/api/projects/${project}`)).body.head;
function assertBad(answer, what) {
  assert.equal(answer.status, 400, `${what}: ${answer.text.slice(0, 300)}`);
  assert.equal(answer.body.error.code, "bad_request");
  assert.ok(answer.body.error.problem.length > 5 && answer.body.error.remedy.length > 3, answer.text);
}

test("JSON that nests deeply is refused, in the body and inside a document", async () => {
  const before = await head();
  for (const depth of [70, 1000, 1_000_000]) {
    assertBad(await post(`/api/projects/${project}/edits`, "[".repeat(depth)), `${depth} open`);
    assertBad(await post(`/api/projects/${project}/edits`, `{"base":1,"label":"x","edits":${"[".repeat(depth)}${"]".repeat(depth)}}`), `${depth} closed`);
    assertBad(
      await post(`/api/projects/${project}/edits`, `{"base":1,"label":"x","edits":[{"op":"add","path":"/made_up","value":${'{"a":'.repeat(depth)}1${"}".repeat(depth)}}]}`),
      `${depth} in a value`,
    );
  }
  const deep = await post("/api/projects", { document: `{"format":"halflight-project/1","id":"b","name":"Deep","made_up":${"[".repeat(200_000)}${"]".repeat(200_000)}}` });
  if (deep.status === 201) {
    for (const path of ["document", "building", "revisions"])
      assert.ok((await service.ask("GET", `/api/projects/${deep.body.id}/${path}`)).status < 500, path);
  } else assertBad(deep, "a deep document");
  assert.equal(await head(), before);
});

test("numbers that are none, or too large, are refused and never become another number", async () => {
  for (const number of ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", "0x10", "1_000", "01", ".5", "+1", "1.", "--1"]) {
    assertBad(await post(`/api/projects/${project}/edits`, `{"base":1,"label":"x","edits":[{"op":"replace","path":"/spaces/1/height_m","value":${number}}]}`), number);
    assertBad(await post(`/api/projects/${project}/rooms/G08/light`, `{"revision":1,"levels":{"x":${number}}}`), number);
    assertBad(await post("/api/projects", { document: `{"format":"halflight-project/1","id":"b","site":{"latitude_deg":${number}}}` }), number);
  }
  for (const number of ["1.5", "9223372036854775808", "-9223372036854775809", "1e3", '"1"', "null", "true", "[1]"])
    assertBad(await post(`/api/projects/${project}/edits`, `{"base":${number},"label":"x","edits":[]}`), `base ${number}`);
  for (const number of [-1, -9e15, 0, 999, 9007199254740991])
    assert.equal((await post(`/api/projects/${project}/edits`, { base: number, label: "x", edits: [] })).status, 404, String(number));
  for (const at of ["-2", "31536000", "1e3", "99999999999999999999", "", "0x1", " 1", "1 ", "NaN"]) {
    const answer = await service.ask("GET", `/api/projects/${project}/rooms/G08/why?at_civil_s=${encodeURIComponent(at)}`);
    assertBad(answer, `at ${at}`);
  }
  for (const value of [1e308, -1e308, 5e-324, 0, -5, 1e12]) {
    const edits = [{ op: "replace", path: "/spaces/0/height_m", value }];
    const answer = await post(`/api/projects/${project}/rooms/${JSON.parse(demo).spaces[0].id}/light`, { revision: 1, edits });
    assert.ok([200, 400].includes(answer.status), `${value}: ${answer.text.slice(0, 200)}`);
    assert.doesNotMatch(answer.text, /nan|inf\b|:null/i, String(value));
  }
});

test("text that is not UTF-8 is refused, in bodies, addresses and headers", async () => {
  const own = `Host: 127.0.0.1:${service.port}\r\nConnection: close\r\n`;
  for (const bytes of [[0xff], [0xc3, 0x28], [0xed, 0xa0, 0x80], [0xf8, 0x88, 0x80, 0x80, 0x80], [0xc0, 0xaf], [0xe2, 0x82]]) {
    const text = Buffer.from(bytes).toString("latin1");
    const body = `{"base":1,"label":"x","edits":[{"op":"replace","path":"/name","value":"${text}"}]}`;
    const answer = await raw(
      service.port,
      `POST /api/projects/${project}/edits HTTP/1.1\r\n${own}Content-Type: application/json\r\nContent-Length: ${body.length}\r\n\r\n${body}`,
    );
    assert.equal(answer.status, 400, answer.text);
    const escaped = bytes.map((b) => `%${b.toString(16)}`).join("");
    for (const path of [`/api/projects/${escaped}`, `/api/projects/${project}/rooms/${escaped}`, `/api/projects/${project}/rooms/G08/year?quantity=${escaped}`, `/${escaped}`]) {
      const there = await raw(service.port, `GET ${path} HTTP/1.1\r\n${own}X-Text: ${text}\r\n\r\n`, { silence_ms: 20_000 });
      assert.ok([200, 400, 404].includes(there.status), `${path} ${there.text}`);
      // Whatever the answer quotes is UTF-8.
      assert.doesNotThrow(() => new TextDecoder("utf-8", { fatal: true }).decode(Buffer.from(there.text, "latin1")), path);
    }
  }
});

test("huge texts, lists and counts are kept or refused in reasonable time", async () => {
  const begun = performance.now();
  const id = await addProject(service, demo, "Huge");
  const huge = "x".repeat(5_000_000);
  const edit = (base, edits) => post(`/api/projects/${id}/edits`, { base, label: "huge", edits });
  assert.equal((await edit(1, [{ op: "replace", path: "/spaces/1/name", value: huge }])).status, 201);
  // The document keeps it, and says that it is too long for a name.
  const kept = (await service.ask("GET", `/api/projects/${id}/building`)).body;
  assert.ok(kept.diagnostics.some((d) => d.where === "/spaces/1/name" && d.problem.length < 500), JSON.stringify(kept.diagnostics).slice(0, 500));
  assert.equal((await service.ask("GET", `/api/projects/${id}/document`)).body.spaces[1].name, huge);
  assertBad(await edit(2, [{ op: "replace", path: `/${"a/".repeat(100_000)}`, value: 1 }]), "a long pointer");
  assertBad(await edit(2, Array.from({ length: 20_001 }, () => ({ op: "replace", path: "/name", value: "x" }))), "too many steps");
  assertBad(await post(`/api/projects/${id}/edits`, `{${Array.from({ length: 50_000 }, (_, i) => `"k${i}":1`).join()}}`), "many keys");
  assertBad(await post(`/api/projects/${id}/rooms/G08/light`, { revision: 1, levels: huge }), "no levels");
  assert.equal((await post(`/api/projects/${id}/rooms/G08/light`, { revision: 1, levels: Object.fromEntries(Array.from({ length: 20_000 }, (_, i) => [`g${i}`, 1])) })).status, 200);
  assertBad(await post(`/api/projects/${id}/studies`, { revision: 1, accuracy: huge }), "no accuracy");
  assert.equal((await post(`/api/projects/${id}/studies`, { revision: 1, spaces: [huge] })).status, 404);
  assertBad(await post(`/api/projects/${id}/studies`, { revision: 1, spaces: [1] }), "no ids");
  assert.ok(performance.now() - begun < 30_000, `${performance.now() - begun} ms`);
});

test("text that would be markup comes out of the API as the text that it is", async () => {
  const document = hostileProject(demo);
  const id = await addProject(service, JSON.stringify(document), TEXTS[0]);
  const list = await service.ask("GET", "/api/projects");
  assert.equal(list.headers.get("content-type"), "application/json");
  assert.ok(list.body.some((p) => p.id === id && p.name === TEXTS[0]));
  assert.match(id, /^[a-z0-9-]+$/);
  const building = (await service.ask("GET", `/api/projects/${id}/building`)).body;
  assert.equal(building.name, document.name);
  assert.deepEqual(
    building.rooms.map((r) => r.name),
    document.spaces.map((s) => s.name),
  );
  const room = (await service.ask("GET", `/api/projects/${id}/rooms/G08`)).body;
  assert.ok(TEXTS.includes(room.luminaires[0].tag) && TEXTS.includes(room.groups[0].name));
  // Errors quote what was sent.
  for (const text of TEXTS) {
    const asked = await service.ask("GET", `/api/projects/${id}/rooms/G08/year?quantity=${encodeURIComponent(text)}`);
    assertBad(asked, text);
    assert.equal(asked.headers.get("content-type"), "application/json");
    assert.ok(asked.body.error.problem.includes(text));
  }
});

test("the report writes hostile text as text", async () => {
  const id = await addProject(service, JSON.stringify(hostileProject(demo)), TEXTS[0]);
  const run = (await post(`/api/projects/${id}/studies`, { revision: 1, spaces: ["G08", "104"], accuracy: "draft" })).body;
  const stream = await service.listen(`/api/runs/${run.id}/events`);
  await stream.over;
  assert.equal(stream.events.at(-1).name, "done", JSON.stringify(stream.events.at(-1)));
  const report = await service.ask("GET", `/api/runs/${run.id}/report`);
  assert.equal(report.status, 200);
  assert.doesNotMatch(report.text, /<script|<img src=x|<svg\/onload|onerror="|href="?javascript:/i);
  assert.match(report.text, /&lt;img src=x onerror=alert\(1\)&gt;/);
  assert.match(report.text, /&lt;script/);
  assert.match(report.headers.get("content-security-policy"), /script-src 'none'/);
});
