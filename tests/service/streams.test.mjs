// Streams of events and long work: progress, cancelling, clients that go, too many of them, and a stop among them.
import assert from "node:assert/strict";
import { afterEach, beforeEach, test } from "node:test";
import { readFileSync } from "node:fs";
import { connect } from "node:net";
import { addProject, demo, raw, sleep, startHalflight, until } from "./support.mjs";

/** Of routes.hpp. */
const MOST_STREAMS = 40;

let service;
let project;
beforeEach(async () => {
  service = await startHalflight();
  project = await addProject(service, demo, "Library");
});
afterEach(() => service.stop("SIGKILL"));

const begin = async (spaces, accuracy = "draft") => {
  const run = await service.ask("POST", `/api/projects/${project}/studies`, { revision: 1, spaces, accuracy });
  assert.equal(run.status, 202, run.text);
  return run.body;
};
const save = (base, name) =>
  service.ask("POST", `/api/projects/${project}/edits`, { base, label: name, edits: [{ op: "replace", path: "/name", value: name }] });

test("a study tells its progress and ends with its result", async () => {
  const run = await begin(["G08"]);
  assert.match(run.state, /^(waiting|running)$/);
  const early = await service.ask("GET", `/api/runs/${run.id}/study`);
  const stream = await service.listen(`/api/runs/${run.id}/events`);
  assert.equal(stream.type, "text/event-stream");
  await stream.over;
  const names = stream.events.map((e) => e.name);
  assert.equal(names.pop(), "done");
  assert.ok(names.length >= 1 && names.every((n) => n === "progress"), names.join());
  assert.ok(stream.events.some((e) => e.data.state === "running" && e.data.stage !== "" && e.data.total > 0));
  assert.equal(stream.events.at(-1).data.state, "done");
  assert.equal(early.status, 404);
  const study = await service.ask("GET", `/api/runs/${run.id}/study`);
  assert.equal(study.status, 200);
  assert.equal(study.body.spaces.length, 1);
  // Who comes late hears the end at once.
  const late = await service.listen(`/api/runs/${run.id}/events`);
  await late.over;
  assert.deepEqual(
    late.events.map((e) => e.name),
    ["done"],
  );
});

test("a run that is cancelled mid-way is over within a second, also for those who listen", async () => {
  for (const wait_ms of [50, 2000]) {
    const run = await begin([], "proof");
    const stream = await service.listen(`/api/runs/${run.id}/events`);
    await until(() => stream.events.some((e) => e.data.state === "running"), 5000, "running");
    await sleep(wait_ms);
    const asked = performance.now();
    const answer = await service.ask("DELETE", `/api/runs/${run.id}`);
    assert.equal(answer.status, 200);
    assert.ok(performance.now() - asked < 500, `the answer took ${performance.now() - asked} ms`);
    await stream.over;
    const last = stream.events.at(-1);
    assert.equal(last.name, "cancelled");
    assert.ok(last.at - asked < 1000, `cancelled after ${last.at - asked} ms, ${wait_ms} ms into the run`);
    assert.equal((await service.ask("GET", `/api/runs/${run.id}`)).body.state, "cancelled");
    assert.equal((await service.ask("GET", `/api/runs/${run.id}/study`)).status, 404);
  }
});

test("studies wait their turn, and those that were cancelled while they waited make room", async () => {
  const first = await begin([], "proof");
  await until(async () => (await service.ask("GET", `/api/runs/${first.id}`)).body.state === "running", 5000, "running");
  const waiting = [];
  for (let i = 0; i < 16; ++i) waiting.push(await begin(["G08"]));
  const refused = await service.ask("POST", `/api/projects/${project}/studies`, { revision: 1, spaces: [] });
  assert.equal(refused.status, 503);
  assert.equal(refused.body.error.code, "busy");
  const given_up = await service.ask("DELETE", `/api/runs/${waiting[3].id}`);
  assert.equal(given_up.body.state, "cancelled");
  await begin(["G08"]);
  // However many are begun and given up, what runs is not forgotten.
  for (let i = 0; i < 30; ++i) {
    await service.ask("DELETE", `/api/runs/${waiting[4].id}`);
    waiting[4] = await begin(["G08"]);
  }
  assert.equal((await service.ask("GET", `/api/runs/${first.id}`)).body.state, "running");
  await service.ask("DELETE", `/api/runs/${first.id}`);
});

test("whoever listens to a project hears of what others save", async () => {
  const streams = [await service.listen(`/api/projects/${project}/events`), await service.listen(`/api/projects/${project}/events`)];
  await sleep(100);
  assert.equal((await save(1, "Heard")).status, 201);
  for (const stream of streams) {
    await until(() => stream.events.length === 1, 2000, "the event");
    assert.equal(stream.events[0].name, "revision");
    assert.deepEqual([stream.events[0].data.number, stream.events[0].data.label], [2, "Heard"]);
    stream.close();
  }
  const elsewhere = await service.listen(`/api/projects/${await addProject(service, demo, "Another")}/events`);
  assert.equal((await save(2, "Not for all")).status, 201);
  await sleep(700);
  assert.deepEqual(elsewhere.events, []);
  assert.ok(elsewhere.comments > 0);
  elsewhere.close();
});

test("streams beyond the most are refused, other requests are answered meanwhile, and a client that goes makes room", async () => {
  const path = `/api/projects/${project}/events`;
  const streams = await Promise.all(Array.from({ length: MOST_STREAMS }, () => service.listen(path)));
  assert.ok(streams.every((s) => s.status === 200));
  for (let i = 0; i < 8; ++i) {
    const refused = await service.listen(path);
    assert.equal(refused.status, 503);
    assert.equal(refused.body.error.code, "busy");
  }
  const begun = performance.now();
  const answers = await Promise.all(Array.from({ length: 10 }, () => service.ask("GET", `/api/projects/${project}/building`)));
  assert.ok(answers.every((a) => a.status === 200));
  assert.equal((await save(1, "Among many")).status, 201);
  assert.ok(performance.now() - begun < 3000, `${performance.now() - begun} ms`);
  await until(() => streams.every((s) => s.events.length === 1), 2000, "all have heard");

  for (const stream of streams.slice(0, 5)) stream.close();
  const again = await until(
    async () => {
      const stream = await service.listen(path);
      return stream.status === 200 && stream;
    },
    3000,
    "room for one more",
  );
  again.close();
  for (const stream of streams) stream.close();
});

test("a client that is cut off without a word frees its stream", async () => {
  const path = `/api/projects/${project}/events`;
  const request = `GET ${path} HTTP/1.1\r\nHost: 127.0.0.1:${service.port}\r\n\r\n`;
  const sockets = await Promise.all(
    Array.from(
      { length: MOST_STREAMS },
      () =>
        new Promise((resolve) => {
          const socket = connect(service.port, "127.0.0.1", () => socket.write(request));
          socket.once("data", () => resolve(socket));
        }),
    ),
  );
  assert.equal((await service.listen(path)).status, 503);
  for (const socket of sockets) socket.resetAndDestroy();
  const stream = await until(
    async () => {
      const one = await service.listen(path);
      return one.status === 200 && one;
    },
    3000,
    "room",
  );
  stream.close();
});

test("asking for the head of a stream takes no room", async () => {
  const head = `HEAD /api/projects/${project}/events HTTP/1.1\r\nHost: 127.0.0.1:${service.port}\r\n\r\n`;
  for (let i = 0; i < MOST_STREAMS + 5; ++i) assert.equal((await raw(service.port, head, { silence_ms: 60 })).status, 200);
  const stream = await service.listen(`/api/projects/${project}/events`);
  assert.equal(stream.status, 200);
  stream.close();
});

test("a stop does not wait for rooms that are being lit", async () => {
  const asked = ["G02", "G04", "104"].map((room) => service.ask("GET", `/api/projects/${project}/rooms/${room}/why?at_civil_s=0`).catch(() => null));
  await sleep(300);
  const { code, ms } = await service.stop();
  assert.equal(code, 0);
  assert.ok(ms < 2000, `ended after ${ms} ms`);
  await Promise.all(asked);
});

for (const signal of ["SIGINT", "SIGTERM"])
  test(`${signal} with open streams, an idle connection and a running study ends the service in order within 2 s`, async () => {
    const run = await begin([], "proof");
    const streams = [
      ...(await Promise.all(Array.from({ length: 20 }, () => service.listen(`/api/projects/${project}/events`)))),
      await service.listen(`/api/runs/${run.id}/events`),
    ];
    const idle = connect(service.port, "127.0.0.1");
    await new Promise((resolve) => {
      idle.once("data", resolve);
      idle.write(`GET /api/about HTTP/1.1\r\nHost: 127.0.0.1:${service.port}\r\n\r\n`);
    });
    await sleep(1000);
    const { code, ms } = await service.stop(signal);
    assert.equal(code, 0);
    assert.ok(ms < 2000, `ended after ${ms} ms`);
    await Promise.all(streams.map((s) => s.over));
    idle.destroy();
  });

test("places for a photosensor are tried for as long as somebody listens, and the room answers meanwhile", async () => {
  const path = `/api/projects/${project}/rooms/G02/photosensor_places?rule=0`;
  const stream = await service.listen(path);
  await until(() => stream.events.length > 2, 60_000, "progress");
  const { done, total } = stream.events.at(-1).data;
  assert.ok(done > 0 && done < total, `${done} of ${total}`);
  const asked = performance.now();
  const light = await service.ask("POST", `/api/projects/${project}/rooms/G02/light`, { revision: 1 });
  assert.equal(light.status, 200);
  assert.ok(performance.now() - asked < 3000, `light took ${performance.now() - asked} ms`);
  assert.notEqual(stream.events.at(-1).name, "done", "the places are still being tried");

  stream.close();
  // User and system time of the process, in hundredths of a second.
  const used = () => {
    const fields = readFileSync(`/proc/${service.pid}/stat`, "utf8").split(") ")[1].split(" ");
    return Number(fields[11]) + Number(fields[12]);
  };
  await sleep(2000);
  const before = used();
  await sleep(1000);
  assert.ok(used() - before < 20, `${used() - before} hundredths of a second of work in one second after nobody listens`);
});

test("proposals are looked for one room at a time, for as long as somebody listens", async () => {
  const listen = (room, keep) => service.listen(`/api/projects/${project}/rooms/${room}/proposals?keep=${keep}`);
  const first = await listen("G02", "none");
  await until(() => first.events.some((e) => e.data.stage === "designs of G.02"), 120_000, "designs being tried");
  const second = await listen("104", "none");
  await until(() => second.events.length > 0, 10_000, "a word of the second");
  assert.deepEqual([...new Set(second.events.map((e) => e.data.stage))], ["waits for other proposals"]);
  assert.notEqual(first.events.at(-1).name, "done", "the first is still being looked for");
  const room = await service.ask("GET", `/api/projects/${project}/rooms/G02`);
  assert.equal(room.status, 200, "the room answers meanwhile");

  first.close();
  await second.over;
  assert.equal(second.events.at(-1).name, "done", "the second has its turn once the first is let go");
  const used = () => {
    const fields = readFileSync(`/proc/${service.pid}/stat`, "utf8").split(") ")[1].split(" ");
    return Number(fields[11]) + Number(fields[12]);
  };
  await sleep(1000);
  const before = used();
  await sleep(1000);
  assert.ok(used() - before < 20, `${used() - before} hundredths of a second of work in one second after nobody listens`);
});

test("a question that waits for its turn is let go like any other", async () => {
  const listen = (room) => service.listen(`/api/projects/${project}/rooms/${room}/proposals?keep=none`);
  const first = await listen("G02");
  await until(() => first.events.length > 0, 60_000, "progress");
  const second = await listen("108");
  await until(() => second.events.length > 0, 10_000, "a word of the second");
  second.close();
  first.close();
  const third = await listen("108");
  await third.over;
  assert.equal(third.events.at(-1).name, "done");
});

test("proposals for the building stop when nobody listens, and go on where they were", async () => {
  const listen = () => service.listen(`/api/projects/${project}/proposals?rooms=104,G02&keep=stations,controllers,receptacles`);
  const first = await listen();
  const reached = (stream) => stream.events.some((e) => e.data.rooms_done === 1 && e.data.stage !== "");
  await until(() => reached(first), 120_000, "the second room");
  const [begun, second] = [first.events[0].data.spaces, first.events.at(-1).data.spaces];
  assert.notDeepEqual(begun, second);
  first.close();
  // A search that is still under way would not rest.
  const used = () => {
    const fields = readFileSync(`/proc/${service.pid}/stat`, "utf8").split(") ")[1].split(" ");
    return Number(fields[11]) + Number(fields[12]);
  };
  const rests = async () => {
    const before = used();
    await sleep(1000);
    return used() - before < 20;
  };
  await until(rests, 10_000, "rest");

  const again = await listen();
  await until(() => reached(again), 120_000, "the second room once more");
  const ofFirst = again.events.filter((e) => e.data.spaces.join() === begun.join());
  assert.ok(ofFirst.every((e) => e.data.stage === ""), "the first room is taken from what was kept");
  again.close();
});
