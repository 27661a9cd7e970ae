// schema/service.openapi.json against the program: every route that the sources register is described and no other, every
// described answer is seen, and each is as described.
import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { addProject, demo, library, root, startHalflight, until } from "./support.mjs";

const Ajv = library("ajv/dist/2020").default;
const text = readFileSync(join(root, "schema/service.openapi.json"), "utf8");
const description = JSON.parse(text);
const METHODS = ["get", "post", "put", "patch", "delete"];

/** What a $ref of the description leads to. */
const followed = (value) =>
  value.$ref === undefined
    ? value
    : value.$ref
        .slice(2)
        .split("/")
        .reduce((at, key) => at[key.replaceAll("~1", "/").replaceAll("~0", "~")], description);

const operations = Object.entries(description.paths).flatMap(([path, item]) =>
  Object.entries(item).map(([method, operation]) => ({ path, method, operation, parameters: (operation.parameters ?? []).map(followed) })),
);

// ---- schemas ---------------------------------------------------------------------------------------------------

const ajv = new Ajv({ allErrors: true, strict: true, allowMatchingProperties: true, strictRequired: false, validateFormats: false });
/** References of the description are found from wherever a schema of it stands. */
const anchored = (value) => JSON.parse(JSON.stringify(value).replaceAll('"#/components/schemas/', '"description#/$defs/'));
ajv.addSchema({ $id: "description", $defs: anchored(description.components.schemas) });
const validators = new Map();
function assertFits(schema, value, what) {
  const key = JSON.stringify(schema);
  if (!validators.has(key)) validators.set(key, ajv.compile(anchored(schema)));
  const fits = validators.get(key);
  const first = () => fits.errors.slice(0, 3).map((e) => `${e.instancePath} ${e.message} ${JSON.stringify(e.params)}`);
  assert.ok(fits(value), `${what}: ${fits.errors && first().join("; ")}`);
}

test("the description is OpenAPI 3.1", async () => {
  const { Validator } = await import(library.resolve("@seriousme/openapi-schema-validator"));
  const { valid, errors } = await new Validator().validate(JSON.parse(text));
  assert.ok(valid, JSON.stringify(errors)?.slice(0, 1000));
  const ids = operations.map((o) => o.operation.operationId);
  assert.equal(new Set(ids).size, ids.length);
  for (const { path, parameters, operation } of operations) {
    const named = [...path.matchAll(/\{(\w+)\}/g)].map((m) => m[1]);
    assert.deepEqual(
      parameters.filter((p) => p.in === "path").map((p) => p.name),
      named,
      path,
    );
    assert.ok(operation.summary && operation.tags.length === 1, path);
  }
});

// ---- routes of the sources -------------------------------------------------------------------------------------

const sources = join(root, "app/service");
const constants = Object.fromEntries(
  [...readFileSync(join(sources, "routes.hpp"), "utf8").matchAll(/constexpr const char\* (k\w+) =\s*R"\((.*)\)"/g)].map((m) => [m[1], m[2]]),
);

/** The value of a C++ expression of texts and constants that are added. */
function textOf(expression) {
  return expression
    .split("+")
    .map((part) => {
      const p = part.trim().replace(/^std::string\((.*)\)$/, "$1");
      const literal = /^R"\((.*)\)"$/.exec(p) ?? /^"(.*)"$/.exec(p);
      if (literal) return literal[1];
      assert.ok(p in constants, `${p}: a route that this test cannot read; write it with constants of routes.hpp and plain texts`);
      return constants[p];
    })
    .join("");
}

function registeredRoutes() {
  const routes = [];
  for (const file of readdirSync(sources).filter((name) => name.endsWith(".cpp"))) {
    const source = readFileSync(join(sources, file), "utf8");
    const begun = [...source.matchAll(/\bserver\.(Get|Post|Put|Patch|Delete|Options)\(/g)];
    const read = [...source.matchAll(/\bserver\.(Get|Post|Put|Patch|Delete|Options)\(\s*([^[\]]*?),\s*(?=\[(?:\]|&|=|\w))/g)];
    // A pattern with a character class holds brackets: then the handler is found behind the text's end.
    const exact = [...source.matchAll(/\bserver\.(Get|Post|Put|Patch|Delete|Options)\(\s*((?:[^"[]|R"\((?:.(?!\)"))*.?\)"|"[^"]*")*?),\s*\[/g)];
    const found = exact.length === begun.length ? exact : read;
    assert.equal(found.length, begun.length, `${file}: a route that this test cannot read`);
    for (const m of found) routes.push({ file, method: m[1].toLowerCase(), pattern: textOf(m[2]) });
  }
  return routes;
}

test("every route that is registered is described, and every described one is registered", () => {
  const routes = registeredRoutes();
  assert.ok(routes.length >= 25, `${routes.length} routes`);
  const met = new Set();
  for (const { path, method, parameters } of operations) {
    const sample = path.replace(/\{(\w+)\}/g, (_, name) => String(parameters.find((p) => p.name === name).example));
    const route = routes
      .filter((r) => r.pattern !== "/.*")
      .concat(routes.filter((r) => r.pattern === "/.*"))
      .find((r) => r.method === method && new RegExp(`^(?:${r.pattern})$`).test(sample));
    assert.ok(route, `${method} ${path} is described, and no source registers it`);
    assert.ok(!path.startsWith("/api/") || route.pattern !== "/.*", `${method} ${path} is described, and no source registers it`);
    met.add(`${route.method} ${route.pattern}`);
  }
  assert.deepEqual(
    routes.map((r) => `${r.method} ${r.pattern}`).filter((r) => !met.has(r)),
    [],
    "registered and not described in schema/service.openapi.json",
  );
});

// ---- answers ---------------------------------------------------------------------------------------------------

let service;
let project;
before(async () => {
  service = await startHalflight();
  project = await addProject(service, demo, "Library");
});
after(() => service.stop());

/** "get /api/about 200": what was seen. */
const seen = new Set();

/** Asks and checks request and answer against the description. */
async function call(method, path, values = {}, { query = {}, body, status, headers = {} } = {}) {
  const known = operations.find((o) => o.method === method && o.path === path);
  assert.ok(known, `${method} ${path} is not described`);
  const { operation, parameters } = known;
  for (const name of Object.keys(query)) assert.ok(parameters.some((p) => p.in === "query" && p.name === name), `${path} has no parameter ${name}`);
  const expected = status ?? Number(Object.keys(operation.responses)[0]);
  if (expected < 300) {
    for (const p of parameters) {
      const given = p.in === "path" ? values[p.name] : query[p.name];
      if (given === undefined) assert.ok(!p.required, `${path} needs ${p.name}`);
      else assertFits(p.schema, /integer/.test(p.schema.type) ? Number(given) : given, `${path} ${p.name}`);
    }
    if (operation.requestBody) assertFits(operation.requestBody.content["application/json"].schema, body, `body of ${method} ${path}`);
  }
  const asked = Object.keys(query).length > 0 ? `?${new URLSearchParams(query)}` : "";
  const answer = await service.ask(method.toUpperCase(), path.replace(/\{(\w+)\}/g, (_, name) => values[name]) + asked, body, headers);
  const what = `${method} ${path} ${expected}`;
  assert.equal(answer.status, expected, `${what}: ${answer.text.slice(0, 300)}`);
  const said = operation.responses[String(answer.status)];
  assert.ok(said, `${what} is not described`);
  const type = answer.headers.get("content-type").split(";")[0];
  const content = followed(said).content[type];
  assert.ok(content, `${what}: ${type} is not described`);
  if (/json/.test(type)) {
    assert.notEqual(answer.body, undefined, `${what}: no JSON`);
    assertFits(content.schema, answer.body, what);
  }
  seen.add(what);
  return answer;
}
const P = () => ({ project });

test("the service's own answers", async () => {
  await call("get", "/api/about");
  const served = await call("get", "/api/openapi");
  assert.equal(served.text, text);
  const schema = await call("get", "/api/schema/project");
  assert.deepEqual(schema.body, JSON.parse(readFileSync(join(root, "schema/project.schema.json"), "utf8")));
  const study = await call("get", "/api/schema/study");
  assert.equal(study.text, readFileSync(join(root, "schema/study.schema.json"), "utf8"));
  const page = await call("get", "/");
  const asset = /\/assets\/([^"]+\.js)/.exec(page.text)[1];
  await call("get", "/assets/{asset}", { asset });
  await call("get", "/assets/{asset}", { asset: /\/assets\/([^"]+\.css)/.exec(page.text)[1] });
  await call("get", "/assets/{asset}", { asset: "none.js" }, { status: 404 });
});

test("projects and revisions", async () => {
  const created = "/api/projects";
  await call("get", created);
  for (const body of [{ from: "demo" }, { from: "empty", name: "Begun" }, { document: demo, name: "Taken in" }])
    await call("post", created, {}, { body });
  for (const body of [{}, { from: "nowhere" }, { document: "[]" }, { from: "empty", more: 1 }, "[]"])
    await call("post", created, {}, { body, status: 400 });
  await call("post", created, {}, { body: { document: `{"format":"x","notes":"${"a".repeat((64 << 20) + 1)}"}` }, status: 413 });
  await call("get", "/api/projects/{project}", P());
  await call("get", "/api/projects/{project}/document", P());
  await call("get", "/api/projects/{project}/document", P(), { query: { revision: 1 } });
  await call("get", "/api/projects/{project}/document", P(), { query: { revision: "x" }, status: 400 });
  await call("get", "/api/projects/{project}/document", P(), { query: { revision: 99 }, status: 404 });
  const edit = "/api/projects/{project}/edits";
  const edits = [{ op: "replace", path: "/name", value: "Another" }];
  const saved = await call("post", edit, P(), { body: { base: 1, label: "rename", edits } });
  assert.ok(saved.body.revision === 2);
  const broken = await call("post", edit, P(), { body: { base: 2, label: "break", edits: [{ op: "remove", path: "/storeys" }] } });
  assert.ok(broken.body.diagnostics.length > 0);
  await call("post", edit, P(), { body: { base: 1, label: "late", edits }, status: 409 });
  await call("post", edit, P(), { body: { base: 3, label: "wrong", edits: [{ op: "remove", path: "/none" }] }, status: 400 });
  await call("post", edit, { project: "none" }, { body: { base: 1, label: "x", edits }, status: 404 });
  const restore = "/api/projects/{project}/restore";
  await call("post", restore, P(), { body: { base: 1, revision: 1, label: "late" }, status: 409 });
  await call("post", restore, P(), { body: { base: 3 }, status: 400 });
  await call("post", restore, P(), { body: { base: 3, revision: 77 }, status: 404 });
  await call("post", restore, P(), { body: { base: 3, revision: 1 } });
  const name = "/api/projects/{project}/revisions/{number}";
  await call("patch", name, { project, number: 1 }, { body: { name: "Tender" } });
  await call("patch", name, { project, number: 1 }, { body: { name: 7 }, status: 400 });
  await call("patch", name, { project, number: 88 }, { body: { name: "x" }, status: 404 });
  const all = await call("get", "/api/projects/{project}/revisions", P());
  assert.deepEqual(
    all.body.map((r) => [r.number, r.name, r.restores]),
    [
      [4, "", 1],
      [3, "", null],
      [2, "", null],
      [1, "Tender", null],
    ],
  );
  for (const path of ["", "/document", "/revisions", "/events", "/building"])
    await call("get", `/api/projects/{project}${path}`, { project: "none" }, { status: 404 });
});

test("every room of the demo, its light, its year and its minutes", async () => {
  const building = await call("get", "/api/projects/{project}/building", P());
  await call("get", "/api/projects/{project}/building", P(), { query: { revision: 2 } });
  await call("get", "/api/projects/{project}/building", P(), { query: { revision: "1e3" }, status: 400 });
  const rooms = building.body.rooms.map((r) => r.id);
  assert.ok(rooms.length >= 20);
  const R = "/api/projects/{project}/rooms/{room}";
  for (const room of rooms) await call("get", R, { project, room });
  await call("get", R, { project, room: "G02" }, { query: { revision: 0 }, status: 404 });
  await call("get", R, { project, room: "G02" }, { query: { revision: "-" }, status: 400 });
  await call("get", R, { project, room: "none" }, { status: 404 });
  for (const room of ["G08", "104"]) {
    const values = { project, room };
    const one = (await call("get", R, values)).body;
    for (const quantity of followed({ $ref: "#/components/schemas/YearQuantity" }).enum) {
      const year = await call("get", `${R}/year`, values, { query: { quantity, revision: 1 } });
      assert.equal(Buffer.from(year.body.bytes, "base64").length, 365 * 288);
    }
    await call("get", `${R}/why`, values, { query: { at_civil_s: 6_600_000 } });
    const level = Object.fromEntries(one.groups.filter((g) => g.strategy === "scene").map((g) => [g.id, 0.4]));
    const moved = one.luminaires[0];
    const edits = [{ op: "add", path: `${moved.pointer}/rotation_deg`, value: 30 }];
    for (const more of [{}, { at_civil_s: 6_600_000 }, { scene: one.normal_scene ?? "" }, { levels: level }, { edits }, { edits, at_civil_s: 6_600_000, levels: level, points: true }]) {
      const light = await call("post", `${R}/light`, values, { body: { revision: 1, ...more } });
      const { columns, rows, bytes } = light.body.field;
      assert.equal(Buffer.from(bytes, "base64").length, columns * rows);
      assert.ok((light.body.points.length > 0) === (more.points === true));
    }
  }
  const values = { project, room: "G08" };
  await call("get", `${R}/year`, values, { query: { quantity: "weather" }, status: 400 });
  await call("get", `${R}/year`, { project, room: "none" }, { query: { quantity: "power" }, status: 404 });
  await call("get", `${R}/why`, values, { query: { at_civil_s: 31_536_000 }, status: 400 });
  await call("get", `${R}/why`, { project, room: "none" }, { query: { at_civil_s: 0 }, status: 404 });
  await call("post", `${R}/light`, values, { body: { revision: 1, levels: { x: 2 } }, status: 400 });
  await call("post", `${R}/light`, values, { body: { revision: 99 }, status: 404 });
});

test("studies, their progress and what they give", async () => {
  const begin = "/api/projects/{project}/studies";
  await call("post", begin, P(), { body: { revision: 1, accuracy: "best" }, status: 400 });
  await call("post", begin, P(), { body: { revision: 1, spaces: ["none"] }, status: 404 });
  const long = (await call("post", begin, P(), { body: { revision: 1, spaces: [], accuracy: "proof" } })).body.id;
  await call("get", "/api/runs/{run}", { run: long });
  for (const what of ["study", "drawings", "report"]) await call("get", `/api/runs/{run}/${what}`, { run: long }, { status: 404 });
  await call("delete", "/api/runs/{run}", { run: long });
  const run = (await call("post", begin, P(), { body: { revision: 1, spaces: ["G08", "104"], accuracy: "draft" } })).body.id;

  const events = description.paths["/api/runs/{run}/events"].get.responses["200"].content["text/event-stream"]["x-events"];
  for (const [id, end] of [
    [long, "cancelled"],
    [run, "done"],
  ]) {
    const stream = await service.listen(`/api/runs/${id}/events`);
    assert.equal(stream.type, "text/event-stream");
    await stream.over;
    for (const { name, data } of stream.events) {
      assert.ok(events[name], `the event ${name} is not described`);
      assertFits(events[name], data, `event ${name}`);
    }
    assert.equal(stream.events.at(-1).name, end);
  }
  seen.add("get /api/runs/{run}/events 200");
  const study = await call("get", "/api/runs/{run}/study", { run });
  const schema = new Ajv({ strict: false, validateFormats: false }).compile(JSON.parse(readFileSync(join(root, "schema/study.schema.json"), "utf8")));
  assert.ok(schema(study.body), JSON.stringify(schema.errors?.slice(0, 2)));
  const drawings = await call("get", "/api/runs/{run}/drawings", { run });
  assert.deepEqual(
    drawings.body.rooms.map((r) => r.id).sort(),
    ["104", "G08"],
  );
  assert.ok(drawings.body.rooms.every((r) => r.year !== undefined));
  const report = await call("get", "/api/runs/{run}/report", { run });
  assert.doesNotMatch(report.text, /<script/i);
  for (const what of ["", "/study", "/drawings", "/report", "/events"]) await call("get", `/api/runs/{run}${what}`, { run: "run-99" }, { status: 404 });
  await call("delete", "/api/runs/{run}", { run: "run-99" }, { status: 404 });
});

test("what others save", async () => {
  const event = description.paths["/api/projects/{project}/events"].get.responses["200"].content["text/event-stream"]["x-events"];
  const id = await addProject(service, demo, "Listened to");
  const stream = await service.listen(`/api/projects/${id}/events`);
  await call("post", "/api/projects/{project}/edits", { project: id }, { body: { base: 1, label: "said", edits: [] } });
  await until(() => stream.events.length > 0, 2000, "an event");
  assert.equal(stream.events[0].name, "revision");
  assertFits(event.revision, stream.events[0].data, "event");
  stream.close();
  seen.add("get /api/projects/{project}/events 200");
});

test("another host is refused everywhere as described", async () => {
  for (const { path, method, operation, parameters } of operations) {
    const target = path.replace(/\{(\w+)\}/g, (_, name) => String(parameters.find((p) => p.name === name).example));
    const answer = await service.raw(`${method.toUpperCase()} ${target} HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n`);
    assert.equal(answer.status, 403);
    assertFits(followed(operation.responses["403"]).content["application/json"].schema, JSON.parse(answer.text.split("\r\n\r\n")[1]), path);
    seen.add(`${method} ${path} 403`);
  }
});

// Seen elsewhere: 413 by size and 503 (strangers, streams), 507 (storage); 500 would be a fault.
test("every answer that is described was seen", () => {
  const elsewhere = new Set(["413", "500", "503", "507"]);
  const unseen = operations.flatMap(({ path, method, operation }) =>
    Object.keys(operation.responses)
      .filter((status) => !elsewhere.has(status) && !seen.has(`${method} ${path} ${status}`))
      .map((status) => `${method} ${path} ${status}`),
  );
  assert.deepEqual(unseen, []);
});
