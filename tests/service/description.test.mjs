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
  let text = "";
  for (let rest = expression.trim(); rest !== ""; ) {
    const part = /^(?:R"\((.*?)\)"|"([^"]*)"|std::string\((k\w+)\)|(k\w+))\s*(?:\+\s*|$)/.exec(rest);
    const name = part?.[3] ?? part?.[4];
    assert.ok(part && (name === undefined || name in constants), `${rest}: a route that this test cannot read; write it with constants of routes.hpp and plain texts`);
    text += name === undefined ? (part[1] ?? part[2]) : constants[name];
    rest = rest.slice(part[0].length);
  }
  return text;
}

function registeredRoutes() {
  const routes = [];
  for (const file of readdirSync(sources).filter((name) => name.endsWith(".cpp"))) {
    const source = readFileSync(join(sources, file), "utf8");
    const begun = [...source.matchAll(/\bserver\.(Get|Post|Put|Patch|Delete|Options)\(/g)];
    // Up to the handler; texts may hold brackets.
    const found = [...source.matchAll(/\bserver\.(Get|Post|Put|Patch|Delete|Options)\(\s*((?:R"\(.*?\)"|"[^"]*"|[^"[])*?),\s*\[/g)];
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
  const older = await call("get", "/api/projects/{project}/revisions", P(), { query: { before: 3 } });
  assert.deepEqual(older.body.map((r) => r.number), [2, 1]);
  await call("get", "/api/projects/{project}/revisions", P(), { query: { before: "0" }, status: 400 });
  for (const path of ["", "/document", "/revisions", "/events", "/building"])
    await call("get", `/api/projects/{project}${path}`, { project: "none" }, { status: 404 });
});

test("the way in: the library, a place, a room and files", async () => {
  const library = (await call("get", "/api/library")).body;
  const id = (await call("post", "/api/projects", {}, { body: { from: "empty", name: "New" } })).body.id;
  const E = { project: id };
  const none = { project: "none" };
  const edit = async (base, { edits, label }) => call("post", "/api/projects/{project}/edits", E, { body: { base, label, edits } });

  const site = "/api/projects/{project}/start/site";
  const place = { revision: 1, climate: library.climates[0].id, clock: "europe", kind: "new_building", unit: "m", codes: [], hours: [] };
  await call("post", site, E, { body: { ...place, climate: "none" }, status: 400 });
  await call("post", site, none, { body: place, status: 404 });
  await edit(1, (await call("post", site, E, { body: place })).body);
  const room = "/api/projects/{project}/start/room";
  const wish = { revision: 2, kind: library.kinds.find((k) => k.pattern === "desks").id, number: "1", name: "Office", width: "4 m", length: "5 m", height: "2.8 m", windows: [], doors: [], as_found: null };
  await call("post", room, E, { body: { ...wish, width: "broad" }, status: 400 });
  await call("post", room, none, { body: wish, status: 404 });
  const begun = (await call("post", room, E, { body: { ...wish, as_found: {} } })).body;
  await edit(2, begun);
  await call("get", "/api/projects/{project}/rooms/{room}", { project: id, room: begun.space });
  await call("post", "/api/projects/{project}/rooms/{room}/light", { project: id, room: begun.space }, { body: { revision: 3 } });

  const files = "/api/projects/{project}/files";
  const photometry = ["IESNA:LM-63-2002", "[TEST] invented", "TILT=NONE", "1 1000 1 3 1 1 2 0.3 0.3 0", "1 1 20", "0 45 90", "0", "300 200 0"].join("\r\n");
  const kept = (await call("post", files, E, { body: { path: "photometry/even.ies", base64: Buffer.from(photometry).toString("base64") } })).body;
  assert.equal(kept.role, "photometry");
  await call("post", files, E, { body: { path: "plan.png", base64: "iVBORw0KGgo=" } });
  for (const body of [
    { path: "../plan.png", base64: "" },
    { path: "plan.exe", base64: "" },
    { path: "a.ies", base64: "bm90aGluZw==" },
    { path: "a.ies", base64: "%" },
  ])
    await call("post", files, E, { body, status: 400 });
  await call("post", files, none, { body: { path: "plan.png", base64: "" }, status: 404 });
  assert.equal((await call("get", files, E)).body.length, 2);
  await call("get", files, none, { status: 404 });
  const back = await call("get", `${files}/{file}`, { project: id, file: "photometry/even.ies" });
  assert.equal(back.text, photometry);
  await call("get", `${files}/{file}`, { project: id, file: "none.ies" }, { status: 404 });

  const cautions = "/api/projects/{project}/cautions";
  assert.ok((await call("get", cautions, P())).body.length > 0);
  await call("get", cautions, P(), { query: { revision: "x" }, status: 400 });
  await call("get", cautions, none, { status: 404 });
});

test("an issue and what it was frozen with", async () => {
  const document = readFileSync(join(root, "tests/documents/private_office.halflight.json"), "utf8");
  const id = await addProject(service, document, "To be issued");
  const E = { project: id };
  const issue = "/api/projects/{project}/issue";
  const results = "/api/projects/{project}/revisions/{number}/results";
  const run = (await call("post", "/api/projects/{project}/studies", E, { body: { revision: 1, accuracy: "draft" } })).body.id;
  await (await service.listen(`/api/runs/${run}/events`)).over;
  await call("post", issue, E, { body: { base: 1, by: " ", run }, status: 400 });
  await call("post", issue, E, { body: { base: 1, by: "line\nbreak", run }, status: 400 });
  await call("post", issue, E, { body: { base: 1, by: "A. Person", run: "run-999" }, status: 403 });
  await call("post", issue, E, { body: { base: 2, by: "A. Person", run }, status: 403 });
  await call("post", issue, { project: "none" }, { body: { base: 1, by: "A. Person", run }, status: 404 });
  await call("get", results, { project: id, number: 1 }, { status: 404 });
  const study = await call("get", "/api/runs/{run}/study", { run });
  assert.equal(study.body.may_be_issued ?? true, true, study.text.slice(0, 400));
  const issued = await call("post", issue, E, { body: { base: 1, name: "Tender", by: "A. Person", run } });
  assert.equal(issued.body.issued.by, "A. Person");
  await call("post", issue, E, { body: { base: 1, by: "A. Person", run }, status: 403 });
  await call("patch", "/api/projects/{project}/revisions/{number}", { project: id, number: 1 }, { body: { name: "x" }, status: 400 });
  assert.equal((await call("get", results, { project: id, number: 1 })).text, study.text);
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
      const year = await call("get", `${R}/year`, values, { query: { quantity, revision: 1, design: building.body.designs.find((d) => d.role === "proposal").id } });
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

/** What a stream of a room, or of the project, tells until it is over; each event must be as described. */
async function heardOf(path, room, query) {
  const events = description.paths[path].get.responses["200"].content["text/event-stream"]["x-events"];
  const stream = await service.listen(`${path.replace("{project}", project).replace("{room}", room)}?${new URLSearchParams(query)}`);
  assert.equal(stream.type, "text/event-stream");
  await stream.over;
  for (const { name, data } of stream.events) {
    assert.ok(events[name], `the event ${name} is not described`);
    assertFits(events[name], data, `event ${name}`);
  }
  return stream.events;
}

test("places for a photosensor, their progress and what is wrong", async () => {
  const R = "/api/projects/{project}/rooms/{room}/photosensor_places";
  const heard = (room, query) => heardOf(R, room, query);
  const first = await heard("106", { revision: 1, rule: 0 });
  assert.ok(first.length > 1 && first.at(-1).name === "done", first.map((e) => e.name).join());
  assert.ok(first.slice(0, -1).every((e) => e.name === "progress"));
  const places = first.at(-1).data;
  assert.deepEqual(places.present.at, [22.5, 16]);
  const least = Math.min(...places.places.filter((p) => p.usable).map((p) => p.rms));
  assert.equal(places.places[places.best].rms, least);
  // A second look is of what was kept.
  const again = await heard("106", { revision: 1 });
  assert.deepEqual(
    again.map((e) => e.name),
    ["done"],
  );
  assert.deepEqual(again[0].data, places);
  const none = await heard("106", { revision: 1, rule: 7 });
  assert.equal(none.at(-1).name, "failed");
  assert.equal(none.at(-1).data.error.code, "bad_request");
  seen.add(`get ${R} 200`);
  await call("get", R, { project, room: "106" }, { query: { rule: "first" }, status: 400 });
  await call("get", R, { project, room: "none" }, { status: 404 });
});

test("levels for a scene and values of one thing, their progress and what is wrong", async () => {
  const L = "/api/projects/{project}/rooms/{room}/scene_levels";
  const at = { project, room: "106" };
  const found = (await call("post", L, at, { body: { revision: 1, scene: "106-board" } })).body;
  assert.equal(found.levels.length, 3);
  const board = (await call("get", "/api/projects/{project}/rooms/{room}", at)).body.scenes.find((scene) => scene.id === "106-board");
  const beyond = { op: "replace", path: `${board.targets[0].pointer}/least`, value: "9000 lx" };
  const conflict = (await call("post", L, at, { body: { revision: 1, scene: "106-board", edits: [beyond] } })).body;
  assert.equal(conflict.at_odds.length, 1);
  await call("post", L, at, { body: { revision: 1 }, status: 400 });
  await call("post", L, at, { body: { revision: 1, scene: "106-meet" }, status: 400 }); // says not what it is for
  await call("post", L, { project, room: "none" }, { body: { revision: 1, scene: "x" }, status: 404 });

  const W = "/api/projects/{project}/rooms/{room}/what_if";
  const heard = async (query) => (await heardOf(W, "106", query)).at(-1);
  const done = await heard({ revision: 1, what: "delay", values: "5 min,20 min" });
  assert.equal(done.name, "done");
  assert.ok(done.data.variants[0].kwh.mean < done.data.variants[1].kwh.mean);
  const failed = await heard({ revision: 1, what: "delay", values: "soon" });
  assert.equal(failed.name, "failed");
  assert.equal((await heard({ revision: 1, what: "dely", values: "1" })).data.error.code, "bad_request");
  seen.add(`get ${W} 200`);
  await call("get", W, at, { query: { what: "delay" }, status: 400 });
  await call("get", W, { project, room: "none" }, { query: { what: "delay", values: "5 min" }, status: 404 });
});

test("proposals for a room, their progress, their edits and what is wrong", async () => {
  const R = "/api/projects/{project}/rooms/{room}/proposals";
  const heard = (room, query) => heardOf(R, room, query);
  const first = await heard("104", { revision: 1, keep: "stations,controllers,receptacles" });
  assert.equal(first.at(-1).name, "done");
  assert.ok(first.slice(0, -1).every((e) => e.name === "progress") && first.length > 1);
  assert.ok(first.some((e) => e.data.stage === "designs of 1.04"));
  const found = first.at(-1).data;
  assert.deepEqual(found.spaces, ["104", "105"], "both inherit from one typical");
  assert.deepEqual([found.kept, found.free], [["stations", "controllers", "receptacles"], ["occupancy", "daylight"]]);
  assert.deepEqual(found.drawn.filter((d) => d.design !== found.own).map((d) => d.design).sort(), found.front.filter((i) => i !== found.own).sort());
  const own = found.drawn.find((d) => d.design === found.own);
  assert.deepEqual(own.edits, []);
  const room = (await call("get", "/api/projects/{project}/rooms/{room}", { project, room: "104" }, { query: { revision: 1 } })).body;
  assert.deepEqual(own.devices, room.devices);
  assert.deepEqual(own.groups, room.groups);
  // A second question is answered from what was kept.
  const again = await heard("104", { revision: 1, keep: "receptacles,controllers,stations" });
  assert.deepEqual(again.map((e) => e.name), ["done"]);
  assert.deepEqual(again[0].data, found);

  // What is drawn is what the room becomes, in a project of its own.
  const id = await addProject(service, demo, "Takes a design");
  const values = { project: id, room: "104" };
  const edit = (base, edits) => call("post", "/api/projects/{project}/edits", { project: id }, { body: { base, label: "take", edits } });
  const here = (await (async () => {
    const stream = await service.listen(`/api/projects/${id}/rooms/104/proposals?keep=stations,controllers,receptacles`);
    await stream.over;
    return stream.events.at(-1).data;
  })());
  assert.deepEqual(here.designs, found.designs);
  const taken = here.drawn.find((d) => d.design !== here.own);
  const saved = await edit(1, taken.edits);
  assert.deepEqual(saved.body.diagnostics.filter((d) => d.severity === "error"), []);
  const becomes = (await call("get", "/api/projects/{project}/rooms/{room}", values)).body;
  assert.deepEqual(becomes.devices, taken.devices);
  assert.deepEqual(becomes.groups, taken.groups);
  assert.ok(taken.devices.every((d) => !d.id.includes(".104")), "ids within a typical are without the room's own");

  // Parts of it, and of all.
  const edits = `${R}/edits`;
  const ask = (more, status) => call("post", edits, values, { body: { revision: 1, proposals: here.proposals, design: taken.design, ...more }, ...(status === undefined ? {} : { status }) });
  assert.deepEqual((await ask({})).body.edits, taken.edits);
  const some = (await ask({ parts: ["occupancy"] })).body;
  assert.deepEqual(some.parts, ["occupancy"]);
  assert.ok(some.edits.every((e) => !/photosensors|daylight|stations|load_controllers/.test(e.path)), JSON.stringify(some.edits));
  assert.deepEqual((await ask({ revision: 2 })).body.edits, [], "it stands in that revision already");
  await ask({ parts: ["stations"] }, 400);
  await ask({ parts: [] }, 400);
  await ask({ parts: ["light"] }, 400);
  await ask({ design: 99 }, 400);
  await ask({ design: -1 }, 400);
  await ask({ proposals: "none" }, 404);
  await ask({ revision: 99 }, 404);
  await call("post", edits, { project, room: "106" }, { body: { revision: 1, proposals: here.proposals, design: 0 }, status: 404 });

  await call("get", R, { project, room: "106" }, { query: { revision: 1 }, status: 400 });
  await call("get", R, { project, room: "106" }, { query: { keep: "occupancy,light" }, status: 400 });
  await call("get", R, { project, room: "106" }, { query: { keep: "" }, status: 400 });
  await call("get", R, { project, room: "106" }, { query: { keep: "occupancy,daylight,stations,controllers,receptacles" }, status: 400 });
  await call("get", R, { project, room: "none" }, { status: 404 });
  seen.add(`get ${R} 200`);
});

test("proposals for the building, their progress, their edits and what is wrong", async () => {
  const B = "/api/projects/{project}/proposals";
  const heard = (query) => heardOf(B, "", query);
  const keep = "stations,controllers,receptacles";
  const first = await heard({ revision: 1, rooms: "106,104", keep });
  assert.equal(first.at(-1).name, "done");
  const told = first.slice(0, -1).map((e) => e.data);
  assert.ok(told.length > 1 && first.slice(0, -1).every((e) => e.name === "progress"));
  assert.deepEqual([...new Set(told.map((p) => p.rooms_total))], [2]);
  assert.deepEqual(told.map((p) => p.rooms_done), told.map((p) => p.rooms_done).sort(), "it goes forward");
  assert.ok(told.some((p) => p.spaces.join() === "106" && p.stage === "designs of 1.06"));
  const found = first.at(-1).data;
  const { rooms, steps, sums, points, stands } = found.building;
  assert.deepEqual(rooms.map((r) => r.spaces), [["104", "105"], ["106"]], "in the order of the document, 105 with 104");
  assert.equal(sums.length, steps.length + 1);
  assert.ok(steps.length >= 1);
  // What a step says is what its two points differ by; a room's steps follow one another.
  const at = sums[0].designs.slice();
  steps.forEach((step, i) => {
    assert.equal(at[step.room], step.from);
    at[step.room] = step.to;
    assert.deepEqual(sums[i + 1].designs, at);
    assert.ok(Math.abs(sums[i].kwh.mean - sums[i + 1].kwh.mean - step.saved_kwh.mean) < 1e-6);
    assert.ok(i === 0 || steps[i - 1].cost_per_kwh <= step.cost_per_kwh);
  });
  assert.deepEqual([points[0], points.at(-1)], [{ name: "least cost", steps: 0 }, { name: "least energy", steps: steps.length }]);
  assert.deepEqual(stands.designs, [0, 0]);
  // A second question is answered from what was kept, and so is one about rooms that are known.
  const again = await heard({ revision: 1, rooms: "105,106", keep });
  assert.deepEqual(again.map((e) => e.name), ["done"]);
  assert.deepEqual(again[0].data, found);
  const one = await heard({ revision: 1, rooms: "106", keep });
  assert.deepEqual(one.at(-1).data.building.rooms, [rooms[1]]);
  assert.ok(one.every((e) => e.name === "done" || e.data.stage === ""), "nothing is looked for anew");
  // What is decided is told of, and ends nothing.
  const decided = (await heard({ revision: 1, rooms: "104,106" })).at(-1);
  assert.equal(decided.name, "done");
  assert.deepEqual([decided.data.kept, decided.data.building], [null, null]);
  assert.deepEqual(decided.data.without.map((w) => w.spaces), [["104", "105"], ["106"]]);
  assert.match(decided.data.without[1].because, /all controls of 1\.06 stay/);

  // The designs of all rooms are one change, and what stands in the document afterwards is what was chosen.
  const id = await addProject(service, demo, "Takes a line");
  const here = await (async () => {
    const stream = await service.listen(`/api/projects/${id}/proposals?rooms=104,106&keep=${keep}`);
    await stream.over;
    return stream.events.at(-1).data;
  })();
  assert.deepEqual(here.building, found.building);
  const E = `${B}/edits`;
  const ask = (body, status) => call("post", E, { project: id }, { body: { revision: 1, proposals: here.proposals, steps: steps.length, ...body }, ...(status === undefined ? {} : { status }) });
  const edits = (await ask({})).body.edits;
  const saved = await call("post", "/api/projects/{project}/edits", { project: id }, { body: { base: 1, label: "take", edits } });
  assert.equal(saved.body.revision, 2);
  assert.deepEqual(saved.body.diagnostics.filter((d) => d.severity === "error"), []);
  assert.deepEqual((await ask({ revision: 2 })).body.edits, [], "it stands in that revision already");
  await ask({ steps: steps.length + 1 }, 400);
  await ask({ steps: -1 }, 400);
  await ask({ proposals: "none" }, 404);
  await ask({ revision: 99 }, 404);
  await call("post", E, { project }, { body: { revision: 1, proposals: here.proposals, steps: 0 }, status: 404 });

  await call("get", B, { project }, { query: { rooms: "" }, status: 400 });
  await call("get", B, { project }, { query: { rooms: "104,,106" }, status: 400 });
  await call("get", B, { project }, { query: { rooms: "104,none" }, status: 404 });
  await call("get", B, { project }, { query: { keep: "light" }, status: 400 });
  await call("get", B, { project }, { query: { revision: "x" }, status: 400 });
  await call("get", B, { project: "none" }, { status: 404 });
  seen.add(`get ${B} 200`);
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
