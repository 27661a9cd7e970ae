// Starts the real program on a free port, with a store and a cache of its own, and speaks to it.
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { connect } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

export const root = fileURLToPath(new URL("../..", import.meta.url));
/** Libraries for tests are installed with those of the pages. */
export const library = createRequire(join(root, "web/package.json"));
export const program = process.env.HALFLIGHT_PROGRAM ?? join(root, "build/release/halflight");
export const demo = readFileSync(join(root, "projects/fenwick_hollow.halflight.json"), "utf8");

const folders = new Set();
const running = new Set();
process.on("exit", () => {
  for (const child of running) child.kill("SIGKILL");
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** A folder that goes with the test. */
export function newFolder() {
  const folder = mkdtempSync(join(tmpdir(), "halflight-service-"));
  folders.add(folder);
  return folder;
}

export const sleep = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

/** Waits until `holds` gives something true, for at most `ms`; gives it. */
export async function until(holds, ms, what) {
  const end = performance.now() + ms;
  for (;;) {
    const found = await holds();
    if (found) return found;
    if (performance.now() > end) throw new Error(`${what}: not within ${ms} ms`);
    await sleep(20);
  }
}

/**
 * `store`: a database to go on with. `through`: a shell command that runs the program, "$@". Rejects when the
 * program ends before it listens.
 */
export async function startHalflight({ store = join(newFolder(), "projects.sqlite"), projects = [], through } = {}) {
  if (!existsSync(program)) throw new Error(`there is no ${program}: build it, or name it in HALFLIGHT_PROGRAM`);
  const words = [program, "serve", "--port", "0", "--store", store, "--cache", join(newFolder(), "cache"), ...projects];
  const child = through
    ? spawn("bash", ["-c", `${through}`, "bash", ...words], { stdio: ["ignore", "pipe", "pipe"] })
    : spawn(words[0], words.slice(1), { stdio: ["ignore", "pipe", "pipe"] });
  running.add(child);
  let said = "";
  let complained = "";
  child.stderr.on("data", (bytes) => (complained += bytes));
  const ended = new Promise((resolve) =>
    child.on("exit", (code, signal) => {
      running.delete(child);
      resolve({ code, signal });
    }),
  );
  const url = await new Promise((resolve, reject) => {
    child.stdout.on("data", (bytes) => {
      said += bytes;
      const found = /http:\/\/127\.0\.0\.1:\d+/.exec(said);
      if (found) resolve(found[0]);
    });
    void ended.then(({ code, signal }) =>
      reject(Object.assign(new Error(`ended with ${code ?? signal}: ${complained}`), { code, complained })),
    );
  });
  const port = Number(new URL(url).port);
  return {
    url,
    port,
    store,
    pid: child.pid,
    ended,
    complaints: () => complained,
    /** Asks it to end; gives how it ended and after how many milliseconds. */
    async stop(signal = "SIGINT") {
      const begun = performance.now();
      child.kill(signal);
      const how = await ended;
      return { ...how, ms: performance.now() - begun };
    },
    /** { status, body, text, headers }; `body` is undefined where the answer is no JSON. */
    ask: (method, path, body, headers = {}) => ask(url, method, path, body, headers),
    raw: (bytes, options) => raw(port, bytes, options),
    listen: (path) => listen(url, path),
  };
}

async function ask(url, method, path, body, headers) {
  const response = await fetch(url + path, {
    method,
    headers: body === undefined ? headers : { "Content-Type": "application/json", ...headers },
    body: body === undefined ? undefined : typeof body === "string" ? body : JSON.stringify(body),
  });
  const bytes = Buffer.from(await response.arrayBuffer());
  const text = bytes.toString("utf8");
  let json;
  try {
    json = JSON.parse(text);
  } catch {
    json = undefined;
  }
  return { status: response.status, headers: response.headers, bytes, text, body: json };
}

/**
 * Sends bytes as they are and gives all that comes back, as text of single bytes, until the service closes or is silent for
 * `silence_ms`. `pieces`: sent one after another with pauses.
 */
export function raw(port, bytes, { silence_ms = 400, pause_ms = 100 } = {}) {
  return new Promise((resolve) => {
    const pieces = Array.isArray(bytes) ? [...bytes] : [bytes];
    let got = "";
    const socket = connect(port, "127.0.0.1");
    const end = (closed) => {
      socket.destroy();
      clearTimeout(clock);
      const answers = [...got.matchAll(/HTTP\/1\.1 (\d{3})/g)].map((m) => Number(m[1]));
      resolve({ text: got, answers, status: answers[0], closed });
    };
    let clock;
    const wait = () => {
      clearTimeout(clock);
      clock = setTimeout(() => end(false), silence_ms);
    };
    const send = () => {
      const piece = pieces.shift();
      if (piece === undefined || socket.destroyed) return wait();
      socket.write(typeof piece === "string" ? Buffer.from(piece, "latin1") : piece);
      if (pieces.length > 0) setTimeout(send, pause_ms);
      else wait();
    };
    socket.on("connect", send);
    socket.on("data", (d) => {
      got += d.toString("latin1");
      if (pieces.length === 0) wait();
    });
    socket.on("end", () => end(true));
    socket.on("error", () => end(true));
  });
}

/** A stream of events: `events` grows, `close` leaves, `over` resolves when the service ends it. */
async function listen(url, path) {
  const control = new AbortController();
  const response = await fetch(url + path, { signal: control.signal });
  const events = [];
  const stream = { status: response.status, events, comments: 0, close: () => control.abort(), over: null };
  if (response.status !== 200) {
    stream.body = await response.json();
    return stream;
  }
  stream.type = response.headers.get("content-type");
  stream.over = (async () => {
    let text = "";
    try {
      for await (const bytes of response.body) {
        text += Buffer.from(bytes).toString("utf8");
        for (let end = text.indexOf("\n\n"); end >= 0; end = text.indexOf("\n\n")) {
          const block = text.slice(0, end);
          text = text.slice(end + 2);
          const named = /^event: (.*)\ndata: (.*)$/.exec(block);
          if (named) events.push({ name: named[1], data: JSON.parse(named[2]), at: performance.now() });
          else if (block.startsWith(":")) stream.comments++;
          else throw new Error(`no event: ${block}`);
        }
      }
    } catch (error) {
      if (error.name !== "AbortError" && error.cause?.code !== "UND_ERR_SOCKET") throw error;
    }
  })();
  return stream;
}

/** A project made of a document; gives its id. */
export async function addProject(service, document, name) {
  const made = await service.ask("POST", "/api/projects", { document, name });
  if (made.status !== 201) throw new Error(`${made.status}: ${made.text}`);
  return made.body.id;
}
