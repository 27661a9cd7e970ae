// A stand-in for the service, for tests of the pages that need it slow, broken or saved into by somebody else.
// It keeps projects in memory, begins with the demo document, and answers in the shapes of src/api/contract.ts;
// its light and its years are made up and mean nothing.
import { createServer } from "node:http";
import { readFileSync } from "node:fs";
import { extname, join } from "node:path";

const TYPES = { ".js": "text/javascript", ".css": "text/css", ".woff2": "font/woff2", ".html": "text/html" };

/** Starts it on a free port. `root`: the repository. */
export async function startService(root, { study = madeUpStudy } = {}) {
  const demo = readFileSync(join(root, "projects/fenwick_hollow.halflight.json"), "utf8");
  const schema = readFileSync(join(root, "schema/project.schema.json"), "utf8");
  const projects = new Map();
  const runs = new Map();
  const listeners = new Set();
  /** Waited for before an answer to a path that it matches: [RegExp, promise]. */
  const gates = [];
  let placesGate = Promise.resolve();
  let down = false;

  const service = {
    url: "",
    add(name, text) {
      const id = `p${projects.size + 1}`;
      projects.set(id, { id, name, texts: [], log: [], issues: new Map() });
      save(projects.get(id), JSON.parse(text), "begin");
      return id;
    },
    /** Somebody else saves; `hears` is whether the pages are told. */
    elsewhere(id, label, change, hears = true) {
      const project = projects.get(id);
      const document = JSON.parse(project.texts.at(-1));
      change(document);
      save(project, document, label, hears);
    },
    revisions: (id) => projects.get(id).log,
    document: (id) => JSON.parse(projects.get(id).texts.at(-1)),
    text: (id, revision) => projects.get(id).texts[revision - 1],
    /** Holds back answers to paths that match until the function it gives is called. */
    hold(pattern) {
      let release;
      const gate = [pattern, new Promise((resolve) => (release = resolve))];
      gates.push(gate);
      return () => {
        gates.splice(gates.indexOf(gate), 1);
        release();
      };
    },
    /** What has been asked of places for photosensors: { rule, revision, isOver } each, isOver once nobody listens. */
    placesAsked: [],
    /** Holds places back after their first progress, until the function it gives is called. */
    holdPlaces() {
      let release;
      placesGate = new Promise((resolve) => (release = resolve));
      return release;
    },
    setDown: (is) => (down = is),
    close: () =>
      new Promise((resolve) => {
        for (const { response } of listeners) response.end();
        server.close(resolve);
        server.closeAllConnections();
      }),
  };

  function save(project, document, label, hears = true, restores = null) {
    project.texts.push(JSON.stringify(document));
    const revision = {
      number: project.texts.length,
      saved_at: new Date().toISOString(),
      label,
      name: "",
      restores,
      document_hash: "",
      issued: null,
    };
    project.log.unshift(revision);
    if (hears) tell(project.id, "revision", revision);
    return revision.number;
  }
  function tell(id, event, data) {
    for (const listener of listeners)
      if (listener.id === id) listener.response.write(`event: ${event}\ndata: ${JSON.stringify(data)}\n\n`);
  }

  const server = createServer(async (request, response) => {
    const url = new URL(request.url, "http://localhost");
    if (!url.pathname.startsWith("/api/")) return page(url.pathname, response);
    let body = "";
    for await (const chunk of request) body += chunk;
    const path = url.pathname.slice(5);
    for (const [pattern, gate] of gates) if (pattern.test(`${request.method} ${path}`)) await gate;
    if (down) return request.socket.destroy();
    try {
      const answer = route(request.method, path.split("/").map(decodeURIComponent), url.searchParams, body && JSON.parse(body), response);
      if (answer !== undefined) send(response, answer.status ?? 200, answer.body, answer.type);
    } catch (error) {
      send(response, error.status ?? 500, error.body ?? { error: problem("internal", String(error)) });
    }
  });

  function route(method, parts, query, body, response) {
    const [root, id, what, sub, verb] = parts;
    if (root === "about") return { body: { version: "test" } };
    if (root === "schema") return { body: schema, type: "application/json" };
    if (root === "projects" && id === undefined) {
      if (method === "GET") return { body: [...projects.values()].map(summary) };
      const made = service.add(body.name ?? "Made here", body.document ?? (body.from === "demo" ? demo : EMPTY));
      return { body: summary(projects.get(made)) };
    }
    if (root === "runs") return run(method, id, what, response);
    const project = projects.get(id);
    if (project === undefined) throw fail(404, "not_found", "There is no such project.");
    const n = Number(query.get("revision") ?? body?.revision ?? project.texts.length);
    const document = () => JSON.parse(project.texts[n - 1] ?? "null");
    if (what === undefined) return { body: summary(project) };
    if (what === "document") return { body: project.texts[n - 1], type: "application/json" };
    if (what === "events") return events(id, response);
    if (what === "cautions") return { body: [{ id: "authority", brief: "Local codes govern", text: "The authority decides." }] };
    if (what === "revisions" && verb === "results") return { body: project.issues.get(Number(sub)) };
    if (what === "issue") {
      const revision = project.log.find((r) => r.number === body.base);
      if (runs.get(body.run)?.made.revision !== body.base) throw fail(403, "refused", "That run studied another revision.");
      project.issues.set(body.base, runs.get(body.run).study);
      revision.name = body.name;
      revision.issued = { by: body.by, at: "2026-05-01T09:00:00Z", program_digest: "d1".repeat(32), results_hash: "ab".repeat(32), files: [] };
      return { status: 201, body: revision };
    }
    if (what === "revisions" && method === "PATCH") {
      const revision = project.log.find((r) => r.number === Number(sub));
      revision.name = body.name;
      return { body: revision };
    }
    if (what === "revisions") return { body: project.log };
    if (what === "edits" || what === "restore") {
      if (body.base !== project.texts.length)
        throw {
          status: 409,
          body: {
            error: problem("conflict", "Somebody has saved since."),
            head: project.texts.length,
            since: project.log.filter((r) => r.number > body.base),
          },
        };
      if (what === "restore")
        return { body: { revision: save(project, JSON.parse(project.texts[body.revision - 1]), body.label, true, body.revision), diagnostics: [] } };
      const next = JSON.parse(project.texts.at(-1));
      for (const edit of body.edits) apply(next, edit);
      return { body: { revision: save(project, next, body.label), diagnostics: [] } };
    }
    if (what === "building") return { body: building(id, n, document()) };
    if (what === "studies") {
      const made = { id: `r${runs.size + 1}`, project: id, revision: body.revision, spaces: body.spaces, state: "done", stage: "", done: 1, total: 1 };
      const found = body.spaces.length > 0 ? study(body.spaces[0]) : buildingStudy(building(id, n, document()));
      runs.set(made.id, { made, study: found });
      return { status: 202, body: made };
    }
    if (what === "rooms" && verb === undefined) {
      const found = room(id, n, document(), sub);
      if (found === null) throw fail(404, "not_found", `There is no room ${sub}.`);
      return { body: found };
    }
    if (what === "rooms" && verb === "light") return { body: light(n, room(id, n, document(), sub), body) };
    if (what === "rooms" && verb === "photosensor_places")
      return photosensorPlaces(response, room(id, n, document(), sub), Number(query.get("rule")), n);
    if (what === "rooms" && verb === "year") return { body: year(n, query.get("quantity")) };
    if (what === "rooms" && verb === "why")
      return {
        body: {
          revision: n,
          at_civil_s: Number(query.get("at_civil_s")),
          sentences: ["23 people; last movement 40 s ago.", "P1 reads 148; its target is 131: enough daylight, so row A lowers."],
          groups: room(id, n, document(), sub).groups.filter((g) => g.strategy === "scene").map((g, i) => ({ id: g.id, name: g.name, level: 0.36 + 0.2 * i, power_w: 40 })),
          people: true,
        },
      };
    throw fail(404, "not_found", "There is no such place.");
  }

  function run(method, id, what) {
    const found = runs.get(id);
    if (found === undefined) throw fail(404, "not_found", "There is no such run.");
    if (what === "drawings") return { body: drawings(found.study) };
    return { body: what === "study" ? found.study : found.made };
  }
  function events(id, response) {
    response.writeHead(200, { "Content-Type": "text/event-stream", "Cache-Control": "no-store" });
    response.write(": open\n\n");
    const listener = { id, response };
    listeners.add(listener);
    response.on("close", () => listeners.delete(listener));
    return undefined;
  }
  async function tryPlaces(response, room, rule, revision) {
    const asked = { rule, revision, isOver: false };
    service.placesAsked.push(asked);
    response.on("close", () => (asked.isOver = true));
    response.writeHead(200, { "Content-Type": "text/event-stream", "Cache-Control": "no-store" });
    const say = (event, data) => response.write(`event: ${event}\ndata: ${JSON.stringify(data)}\n\n`);
    const answer = places(room, rule, revision);
    say("progress", { done: 3, total: answer.places.length });
    await placesGate;
    say("done", answer);
    response.end();
  }
  function photosensorPlaces(...of) {
    void tryPlaces(...of);
    return undefined;
  }
  function page(path, response) {
    const file = path.startsWith("/assets/") ? path : "/index.html";
    try {
      send(response, 200, readFileSync(join(root, "web/dist", file)), TYPES[extname(file)]);
    } catch {
      send(response, 404, "");
    }
  }
  await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
  service.url = `http://127.0.0.1:${server.address().port}`;
  return service;
}

const EMPTY = JSON.stringify({ format: "halflight-project/1", id: "empty", name: "Empty", storeys: [], spaces: [], designs: [] });
const summary = (p) => ({ id: p.id, name: p.name, head: p.texts.length, saved_at: p.log[0].saved_at });
const problem = (code, text) => ({ code, problem: text, remedy: "Look again." });
const fail = (status, code, text) => ({ status, body: { error: problem(code, text) } });

function send(response, status, body, type = "application/json") {
  response.writeHead(status, { "Content-Type": type, "Cache-Control": "no-store" });
  response.end(typeof body === "string" || body instanceof Buffer ? body : JSON.stringify(body));
}

function apply(document, edit) {
  const tokens = edit.path.split("/").slice(1).map((t) => t.replaceAll("~1", "/").replaceAll("~0", "~"));
  const last = tokens.pop();
  const owner = tokens.reduce((at, token) => at[token], document);
  if (edit.op === "remove") Array.isArray(owner) ? owner.splice(Number(last), 1) : delete owner[last];
  else if (edit.op === "add" && Array.isArray(owner)) owner.splice(last === "-" ? owner.length : Number(last), 0, edit.value);
  else owner[last] = edit.value;
}

const nothing = { mean: 0, low: 0, high: 0, standard_error: 0 };
const lightForPeople = { seats: [], lit_for_nobody_h: { mean: 310, low: 280, high: 340, standard_error: 3 }, lit_for_nobody_as_found_h: nothing, taken_from_people: nothing, dips_on_people: nothing };
const metres = (text) => Number.parseFloat(text ?? "0");

function areaOf(floor) {
  return Math.abs(floor.reduce((sum, [x, y], i) => sum + x * floor[(i + 1) % floor.length][1] - y * floor[(i + 1) % floor.length][0], 0)) / 2;
}

function building(project, revision, document) {
  const design = document.designs.find((d) => d.role === "proposal") ?? { luminaires: [] };
  const typicalOf = (space) => (document.typicals ?? []).find((t) => t.id === space.typical);
  const rooms = document.spaces
    .map((space, i) => ({ space: { ...typicalOf(space)?.space, ...space }, i }))
    .filter(({ space }) => space.floor);
  return {
    project,
    revision,
    name: document.name,
    storeys: document.storeys,
    rooms: rooms.map(({ space, i }) => {
      const luminaires = (design.luminaires ?? []).filter((l) => l.space === space.id).length;
      return {
        id: space.id, number: space.number, name: space.name, storey: space.storey, kind: space.kind, kind_name: space.kind.replaceAll("_", " "),
        typical: space.typical ?? null, overrides: [], pointer: `/spaces/${i}`, area_m2: areaOf(space.floor), luminaires, connected_w: 24 * luminaires,
      };
    }),
    typicals: (document.typicals ?? []).map((t, i) => ({ id: t.id, name: t.name, pointer: `/typicals/${i}`, rooms: rooms.filter(({ space }) => space.typical === t.id).map(({ space }) => space.id) })),
    designs: document.designs.map((d, i) => ({ id: d.id, name: d.name, role: d.role, pointer: `/designs/${i}` })),
    kinds: [{ id: "office_enclosed", name: "enclosed office", target_lx: 500 }, { id: "storage", name: "storage", target_lx: 100 }],
    diagnostics: rooms.length === 0 ? [] : [{ severity: "missing", where: `${`/spaces/${rooms[0].i}`}/meters`, problem: "No meter is named.", remedy: "Name the meter that reads this room." }],
  };
}

function room(project, revision, document, id) {
  const index = document.spaces.findIndex((s) => s.id === id);
  const space = document.spaces[index];
  if (space?.floor === undefined) return null;
  const d = document.designs.findIndex((design) => design.role === "proposal");
  const design = document.designs[d];
  const here = (list) => (design[list] ?? []).map((item, i) => ({ item, pointer: `/designs/${d}/${list}/${i}` })).filter(({ item }) => item.space === id);
  const groups = here("groups").map(({ item, pointer }) => ({ id: item.id, pointer, strategy: item.strategy, name: item.name ?? "", channels: item.channels }));
  const share = (level) => (typeof level === "string" ? Number.parseFloat(level) / 100 : level);
  const q = here("sequences")[0];
  return {
    project, revision, id, number: space.number, name: space.name, storey: space.storey,
    storey_name: document.storeys.find((s) => s.id === space.storey)?.name ?? "",
    kind: space.kind, kind_name: space.kind.replaceAll("_", " "), typical: null, typical_rooms: [], typical_origin: null,
    pointer: `/spaces/${index}`, proposal: `/designs/${d}`, area_m2: areaOf(space.floor), height_m: metres(space.height),
    plan_height_m: 0.75, plan_north_deg: 12, floor: space.floor, openings: windows(space, index), doors: [], partitions: [], furniture: [],
    task_areas: (space.task_areas ?? []).map((t, i) => ({ id: t.id, name: t.name, pointer: `/spaces/${index}/task_areas/${i}`, plan: t.plan, plane: "horizontal", height_m: 0.75, target_lx: metres(t.target) })),
    egress_paths: [],
    daylight_zones: [],
    luminaires: here("luminaires").map(({ item, pointer }) => ({ id: item.id, tag: item.tag ?? item.id, pointer, type: item.type, at: item.at, rotation_deg: 0, groups: { scene: "", occupancy: "", daylight: "", schedule: "", demand_response: "", emergency: "" }, lights_egress: false, circuit: item.circuit, status: "new" })),
    luminaire_types: document.luminaire_types.map((t) => ({ id: t.id, channels: t.channels.map((c) => c.id), tag: t.tag, name: t.name, lumens: 4000, input_w: 29, length_m: metres(t.length), width_m: metres(t.width), shape: "rectangle" })),
    groups, devices: [], reach: { sensors: [], places: [], seats: madeUpSeats(space.floor), major_share: 0, minor_share: 0 }, radio: { has_gateway: false, devices: [], height_m: 2.4, contours: [] }, decided: [], circuits: [],
    scenes: here("scenes").map(({ item, pointer }) => ({ id: item.id, pointer, name: item.name, levels: item.levels.map((l, i) => ({ group: l.group, level: share(l.level), pointer: `${pointer}/levels/${i}/level` })), targets: [] })),
    normal_scene: q?.item.normal_scene ?? null,
    sequence: q === undefined ? null : sequence(document, design, q, groups),
    diagnostics: [],
  };
}

/** A few sentences with the pointers that the real ones have. */
function sequence(document, design, { item, pointer }, groups) {
  const at = (text, below) => ({ text, pointer: pointer + below });
  const per = (v) => (typeof v === "string" ? v : `${Math.round(100 * v)} %`);
  const sentence = [
    { text: "The light comes on " }, at({ hand: "by hand", occupancy: "with movement", schedule: "with the opening hours", always: "and never goes off" }[item.on?.by ?? "hand"], "/on/by"), { text: ". When nothing else calls, scene " },
    at(design.scenes.find((s) => s.id === item.normal_scene)?.name ?? "none", "/normal_scene"), { text: " stands. " },
    { text: "High-end trim " }, at(item.trim?.high === undefined ? "is set so that the task areas just hold their targets" : `is ${per(item.trim.high)}`, "/trim/high"), { text: ". " },
  ];
  (item.daylight ?? []).forEach((rule, i) => {
    const s = document.spaces.findIndex((x) => x.id === item.space);
    const t = document.spaces[s].task_areas.findIndex((x) => x.id === rule.task_area);
    const target = document.spaces[s].task_areas[t].target;
    const lx = target.endsWith("fc") ? `${Math.round(10.7639 * Number.parseFloat(target))} lx` : target;
    sentence.push(
      at(rule.photosensor, `/daylight/${i}/photosensor`), { text: " dims " }, at(groups.find((g) => g.id === rule.group)?.name ?? rule.group, `/daylight/${i}/group`),
      { text: " so as to keep " }, { text: lx, pointer: `/spaces/${s}/task_areas/${t}/target` }, { text: ", never below " }, at(per(rule.minimum_level ?? 0.1), `/daylight/${i}/minimum_level`), { text: ". " },
    );
  });
  if (item.vacancy)
    sentence.push({ text: "When nobody has moved for " }, at(item.vacancy.delay ?? "15 min", "/vacancy/delay"), { text: ", " }, at("the light", "/vacancy/groups"), { text: " sinks to " }, at(per(item.vacancy.step_level ?? 0), "/vacancy/step_level"), { text: ". " });
  sentence.push({ text: "When anything is lost, the light goes " }, at("to 100 %", "/loss"), { text: "." });
  const scene = groups.filter((g) => g.strategy === "scene");
  return {
    pointer,
    sentence,
    matrix: {
      groups: scene.map((g) => g.name),
      rows: item.vacancy ? [{ event: [{ text: "Nobody has moved for " }, at(item.vacancy.delay ?? "15 min", "/vacancy/delay")], cells: scene.map(() => [at(per(item.vacancy.step_level ?? 0), "/vacancy/step_level")]) }] : [],
    },
  };
}

function light(revision, room, request) {
  const columns = 40;
  const rows = 30;
  const [xs, ys] = [0, 1].map((k) => room.floor.map((p) => p[k]));
  const bytes = Buffer.from(Array.from({ length: columns * rows }, (_, i) => 60 + 4 * (i % columns) + Math.floor(i / columns)));
  const level = request.levels === undefined ? 0.6 : Object.values(request.levels)[0];
  return {
    revision,
    field: { x0_m: Math.min(...xs), y0_m: Math.min(...ys), step_m: (Math.max(...xs) - Math.min(...xs)) / columns, columns, rows, low_lx: 70, high_lx: 1500, bytes: bytes.toString("base64") },
    contours: [],
    luminaires: Object.fromEntries(room.luminaires.map((l) => [l.id, level])),
    tasks: [],
    power_w: Math.round(1000 * level),
    points: [],
    lowest: null,
    highest: null,
    reach: room.reach,
    radio: room.radio,
  };
}

function windows(space, index) {
  return (space.openings ?? []).flatMap((o, i) => {
    if (o.wall === undefined) return [];
    const [a, b] = [space.floor[o.wall], space.floor[(o.wall + 1) % space.floor.length]];
    const along = (m) => a.map((v, axis) => v + (m / Math.hypot(b[0] - a[0], b[1] - a[1])) * (b[axis] - v));
    const [from, to] = [along(metres(o.offset)), along(metres(o.offset) + metres(o.width))];
    return [{ id: o.id, pointer: `/spaces/${index}/openings/${i}`, kind: "window", wall: o.wall, from, to, plan: [], sill_m: metres(o.sill), height_m: metres(o.height), shade: "" }];
  });
}

/** Best in the middle of the room, worse towards its edges, and of no use in its first row. */
function places(room, rule, revision) {
  const [xs, ys] = [0, 1].map((axis) => room.floor.map((p) => p[axis]));
  const [x0, y0, x1, y1] = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  const place = (x, y) => {
    const rms = 0.03 + 0.02 * rule + 0.4 * Math.hypot((x - x0) / (x1 - x0) - 0.5, (y - y0) / (y1 - y0) - 0.5) ** 2;
    return { at: [x, y], height_m: 3, usable: y > y0 + 1, rms, under_share: rms / 4, over: rms / 2 };
  };
  const all = [];
  for (let y = y0 + 0.5; y < y1; y += 1) for (let x = x0 + 0.5; x < x1; x += 1) all.push(place(x, y));
  const best = all.reduce((b, p, i) => (p.usable && (b < 0 || p.rms < all[b].rms) ? i : b), -1);
  return {
    revision, rule, target_lx: 500, night_lx: 520, hours: 2300, spacing_m: 1, places: all,
    present: place(x0 + 0.4 * (x1 - x0), y0 + 0.2 * (y1 - y0)), best: best < 0 ? null : best,
  };
}

function year(revision, quantity) {
  const bytes = Buffer.alloc(365 * 288, 0);
  for (let day = 0; day < 365; day += 1) for (let s = 108; s < 240; s += 1) bytes[day * 288 + s] = 90 + ((day * 7 + s) % 120);
  return { revision, quantity, unit: "W", low: 0, high: 1000, logarithmic: false, steps_per_day: 288, bytes: bytes.toString("base64"), sunrise_h: Array(365).fill(7), sunset_h: Array(365).fill(18), first_weekday: 3, calendar_year: 2026, holidays: [358] };
}

const pluggedIn = {
  devices: [{ kind: "screen", count: 2, switched_by: "controlled receptacle", must_stay_on: "", found_kwh: { mean: 180, low: 150, high: 210, standard_error: 2 }, proposed_kwh: { mean: 110, low: 95, high: 125, standard_error: 2 }, saved_kwh: { mean: 70, low: 50, high: 90, standard_error: 2 }, cut_with_people_h: nothing }],
  found_kwh: { mean: 180, low: 150, high: 210, standard_error: 2 }, proposed_kwh: { mean: 110, low: 95, high: 125, standard_error: 2 }, saved_kwh: { mean: 70, low: 50, high: 90, standard_error: 2 }, saving: { mean: 0.39, low: 0.33, high: 0.44, standard_error: 0.01 },
};

/** One in the middle of the room that keeps its light, and one beside it that does not. */
function madeUpSeats(floor) {
  const middle = [0, 1].map((axis) => floor.reduce((sum, p) => sum + p[axis], 0) / floor.length);
  const seat = (dx, taken_per_h) => ({ at: [middle[0] + dx, middle[1]], group: "", movements_per_h: 90, taken_per_h, keeps_light: taken_per_h <= 0.05 });
  return [seat(0, 0.01), seat(1.5, 0.22)];
}
/** Of the three daylight rules of the reading room. */
const madeUpLoops = [12, 30, 0].map((under) => {
  const around = (mean) => ({ mean, low: 0.8 * mean, high: 1.2 * mean, standard_error: 0 });
  return { photosensor: "", group: "", task_area: "", hours: around(1800), under_lit_hours: around(under), shortfall_lx_h: around(9 * under), over_lit_hours: around(400), over_lit_kwh: around(5), realised_share: around(0.9) };
});
function madeUpStudy(space) {
  const saving = { mean: 0.46, low: 0.41, high: 0.51, standard_error: 0.01 };
  const claim = {
    id: "saving-against-as-found", text: "{value} less lighting energy than stands there now ({low} to {high}).", result: "/spaces/0/annual/saving/against_as_found", unit: "fraction", low: 0.41, high: 0.51, method: "energy", inputs: [], assumptions: ["/calendars"],
    test: { measure: "Energy of the lighting circuits over four weeks", expected: 0.46, tolerance: 0.06, duration_days: 28, shortfall: "10 points of the saving", chance_of_noticing: 0.84, remark: "" },
  };
  const finding = (title, verdict) => ({ rule: title, code: "Rules", edition: "1", section: "2.3", title, verdict, evidence: "Made up.", fix: verdict === "fail" ? "Move one luminaire." : "", confirmed: "confirmed", blocks_issue: false });
  return {
    accuracy: "draft", replicates: 128, climate: "made up",
    spaces: [{ id: space, studied: true, not_studied_because: "", scenes: [], annual: { cases: { as_found: { lighting_kwh: 2000, standby_kwh: 0 } }, saving: { against_as_found: saving, against_relamped: saving, against_code_minimum: saving, as_usually_found: { ...saving, mean: 0.29 } }, shares: [{ strategy: "lamp_replacement", kwh: 600, low: 500, high: 700 }] }, light_for_people: lightForPeople, faults: [{ fault: "held-on", name: "an override holds the light on day and night", kwh: { mean: 420, low: 390, high: 450, standard_error: 5 }, under_lit_hours: nothing, taken_from_people: nothing }], daylight_loops: madeUpLoops, plug_loads: pluggedIn, findings: [finding("Manual control", "pass"), finding("Daylight zones", "fail")], claims: [claim] }],
    assumptions: [{ path: "/calendars", value: "opening hours as the interview gave them", source: "interview", effect: 0.02, share_of_variance: 0.4, typical: "", confirmed: false }],
    hvac_zones: [{ id: "z", name: "Fan coils", spaces: [space], standby_allowed: true, scheduled_h: 3000, occupied_h: { mean: 2000, low: 1800, high: 2200, standard_error: 9 }, set_back_h: { mean: 900, low: 800, high: 1000, standard_error: 9 }, out_of_hours_h: nothing }],
    proof: { readings: [], effective_replicates: 128, widened: 1, logging: [], convergence: [], variance_of_the_rest: 0.6 },
  };
}

/** Made-up figures of every room; a room's saving follows from its place in the list. */
function buildingStudy(building) {
  const around = (mean) => ({ mean, low: 0.9 * mean, high: 1.1 * mean, standard_error: 0.01 * mean });
  const savings = (mean) => ({ against_as_found: around(mean), against_relamped: around(0.6 * mean), against_code_minimum: around(0.3 * mean), as_usually_found: around(0.8 * mean) });
  const caseYear = (kwh) => ({ lighting_kwh: kwh, lighting_kwh_low: 0.9 * kwh, lighting_kwh_high: 1.1 * kwh, standby_kwh: 1, standby_kwh_low: 1, standby_kwh_high: 1, contents: "made up" });
  const one = madeUpStudy("");
  const spaces = building.rooms.map((room, i) => {
    const saving = 0.2 + (0.6 * i) / Math.max(1, building.rooms.length - 1);
    return {
      ...one.spaces[0], id: room.id, number: room.number, name: room.name, area_m2: room.area_m2, connected_w: room.connected_w,
      connected_as_found_w: 2 * room.connected_w, lpd_w_m2: room.connected_w / room.area_m2, electric: [], claims: [], findings: i === 1 ? one.spaces[0].findings : [],
      annual: { cases: { as_found: caseYear(400), relamped: caseYear(350), code_minimum: caseYear(300), proposal: caseYear(400 * (1 - saving)) }, saving: savings(saving), shares: [] },
      light_for_people: lightForPeople,
      faults: [],
    };
  });
  const sum = (name) => spaces.reduce((kwh, s) => kwh + s.annual.cases[name].lighting_kwh + 1, 0);
  const kwh = Object.fromEntries(["as_found", "relamped", "code_minimum", "proposal"].map((name) => [name, sum(name)]));
  const saved = kwh.as_found - kwh.proposal;
  const share = (strategy, part) => ({ strategy, kwh: part * saved, low: 0.9 * part * saved, high: 1.1 * part * saved, standard_error: 1 });
  return {
    ...one, seed: 1, may_be_issued: true, not_to_be_issued_because: [], spaces,
    totals: {
      area_m2: building.rooms.reduce((m2, r) => m2 + r.area_m2, 0), connected_w: building.rooms.reduce((w, r) => w + r.connected_w, 0), kwh,
      kwh_interval: Object.fromEntries(Object.entries(kwh).map(([name, mean]) => [name, around(mean)])),
      saving: savings(saved / kwh.as_found), shares: [share("lamp_replacement", 0.7), share("occupancy", 0.35), share("standby", -0.05)],
    },
  };
}

function drawings(study) {
  const bytes = Buffer.alloc(365 * 48, 0);
  for (let day = 0; day < 365; day += 1) bytes.fill(200, day * 48 + 16, day * 48 + 38);
  return { rooms: study.spaces.map(({ id }) => ({ id, year: { quantity: "power, share of connected", per_day: 48, bytes: bytes.toString("base64") } })) };
}
