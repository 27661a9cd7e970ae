import assert from "node:assert/strict";
import { test } from "node:test";
import type { Edit, EditRequest, Revision } from "../../src/api/contract";
import { ApiError, ConflictError } from "../../src/app/api";
import { type Json, editsToSet, valueAt } from "../../src/app/pointer";
import { ProjectStore } from "../../src/app/project";

/** A service in memory with one project; a save waits until the test lets it go when `slow` is set. */
class Service {
  texts: string[] = ['{"id":"p","name":"P","spaces":[{"id":"a","height":"3 m"},{"id":"b","height":"2 m"}]}'];
  log: Revision[] = [revision(1, "begin")];
  posts: EditRequest[] = [];
  slow: Promise<void> = Promise.resolve();
  down = false;

  get head() {
    return this.texts.length;
  }
  save(label: string, document: Json): number {
    this.texts.push(JSON.stringify(document));
    this.log.unshift(revision(this.head, label));
    return this.head;
  }
  /** Somebody else saves. */
  elsewhere(label: string, change: (document: any) => void): Revision {
    const document = JSON.parse(this.texts.at(-1)!);
    change(document);
    this.save(label, document);
    return this.log[0]!;
  }

  project = async () => ({ id: "p", name: "P", head: this.head, saved_at: "2026-01-01T00:00:00Z" });
  document = async (_: string, n: number | null) => this.texts[(n ?? this.head) - 1]!;
  revisions = async () => this.log;
  edit = async (_: string, request: EditRequest) => {
    this.posts.push(request);
    await this.slow;
    if (this.down) throw new ApiError({ code: "unreachable", problem: "No answer.", remedy: "Start it." }, 0);
    this.demand(request.base);
    const document = JSON.parse(this.texts.at(-1)!) as Json;
    for (const edit of request.edits) apply(document, edit);
    return { revision: this.save(request.label, document), diagnostics: [] };
  };
  restore = async (_: string, request: { base: number; revision: number; label: string }) => {
    await this.slow;
    this.demand(request.base);
    return {
      revision: this.save(request.label, JSON.parse(this.texts[request.revision - 1]!) as Json),
      diagnostics: [],
    };
  };
  private demand(base: number) {
    if (base === this.head) return;
    throw new ConflictError({
      error: { code: "conflict", problem: "Saved since.", remedy: "Look." },
      head: this.head,
      since: this.log.filter((r) => r.number > base),
    });
  }
}

function revision(number: number, label: string): Revision {
  return { number, saved_at: "", label, name: "", restores: null, document_hash: "", issued: null };
}

function apply(document: Json, edit: Edit) {
  const at = edit.path.lastIndexOf("/");
  const owner = valueAt(document, edit.path.slice(0, at)) as Record<string, unknown>;
  if (edit.op === "remove") delete owner[edit.path.slice(at + 1)];
  else owner[edit.path.slice(at + 1)] = edit.value;
}

async function opened() {
  const service = new Service();
  const store = new ProjectStore(service, "p");
  await store.open();
  const height = (space = 0) => valueAt(store.state.value.document, `/spaces/${space}/height`);
  const raise = (to: string, space = 0) =>
    store.commit(`height ${to}`, [{ op: "replace", path: `/spaces/${space}/height`, value: to }]);
  return { service, store, height, raise };
}

test("a change is saved against the newest revision and can be undone and redone", async () => {
  const { service, store, height, raise } = await opened();
  assert.deepEqual(await raise("4 m"), { kind: "saved", revision: 2 });
  assert.equal(height(), "4 m");
  await store.undo();
  assert.equal(height(), "3 m");
  assert.equal(service.head, 3);
  assert.equal(service.log[0]?.label, "undo: height 4 m");
  await store.redo();
  assert.equal(height(), "4 m");
  assert.equal((await store.redo()).kind, "unchanged");
  await store.undo();
  await store.undo();
  assert.equal(height(), "3 m");
  assert.equal(service.head, 5);
});

test("several steps are undone one by one, and a new change ends redoing", async () => {
  const { store, height, raise } = await opened();
  await raise("4 m");
  await raise("5 m");
  await store.undo();
  assert.equal(height(), "4 m");
  await store.undo();
  assert.equal(height(), "3 m");
  await raise("6 m");
  assert.equal((await store.redo()).kind, "unchanged");
  assert.equal(height(), "6 m");
});

test("a drag that ends where it began is no entry", async () => {
  const { service, store, raise } = await opened();
  assert.equal((await raise("3 m")).kind, "unchanged");
  assert.equal(service.posts.length, 0);
  assert.equal(store.state.value.undo.length, 0);
});

test("changes made while another is being saved follow it", async () => {
  const { service, height, raise } = await opened();
  let go = () => {};
  service.slow = new Promise((resolve) => (go = resolve));
  const first = raise("4 m");
  const second = raise("5 m", 1);
  go();
  assert.equal((await first).kind, "saved");
  assert.equal((await second).kind, "saved");
  assert.deepEqual([height(0), height(1)], ["4 m", "5 m"]);
});

test("what is written on the newest document follows a change that was on its way, and is itself written once", async () => {
  const { service, store, height, raise } = await opened();
  let go = () => {};
  service.slow = new Promise((resolve) => (go = resolve));
  const first = raise("4 m");
  const second = store.commitOn("a half higher", (newest) => {
    const now = Number.parseFloat(String(valueAt(newest, "/spaces/0/height")));
    return [{ op: "replace", path: "/spaces/0/height", value: `${1.5 * now} m` }];
  });
  go();
  await first;
  assert.deepEqual(await second, { kind: "saved", revision: 3 });
  assert.equal(height(), "6 m");
  await store.undo();
  assert.equal(height(), "4 m");
});

test("a change made while the page still shows what an undo took back is no conflict", async () => {
  const { service, store, height, raise } = await opened();
  await raise("4 m");
  await store.undo();
  // The page was drawn from revision 2; 3 is this window's own.
  const edits: Edit[] = [{ op: "replace", path: "/spaces/1/height", value: "5 m" }];
  assert.deepEqual(await store.commit("raise b", edits, 2), { kind: "saved", revision: 4 });
  assert.deepEqual([height(0), height(1)], ["3 m", "5 m"]);
  assert.equal(service.posts.at(-1)?.base, 3);
});

test("a change read from before somebody else saved is a conflict, however the window came to know", async () => {
  const { service, store, raise } = await opened();
  await raise("4 m");
  store.heardOf(service.elsewhere("lower b", (d) => (d.spaces[1].height = "1 m")));
  const edits: Edit[] = [{ op: "replace", path: "/spaces/1/height", value: "5 m" }];
  assert.equal((await store.commit("raise b", edits, 2)).kind, "conflict");
});

test("what another window saves is shown, and undoing does not reach under it", async () => {
  const { service, store, height, raise } = await opened();
  await raise("4 m");
  const theirs = service.elsewhere("lower b", (d) => (d.spaces[1].height = "1 m"));
  store.heardOf(theirs);
  await store.commit("nothing", []);
  assert.equal(height(1), "1 m");
  assert.equal(store.state.value.news?.label, "lower b");
  assert.equal((await store.undo()).kind, "unchanged");
  assert.equal(height(0), "4 m");
});

test("the echo of a save of this window is no news", async () => {
  const { service, store, raise } = await opened();
  let go = () => {};
  service.slow = new Promise((resolve) => (go = resolve));
  const saved = raise("4 m");
  await Promise.resolve();
  store.heardOf(revision(2, "height 4 m"));
  go();
  await saved;
  await store.commit("nothing", []);
  assert.equal(store.state.value.news, null);
  assert.equal(store.state.value.undo.length, 1);
});

test("a conflict keeps the change until somebody decides", async () => {
  const { service, store, height, raise } = await opened();
  service.elsewhere("lower b", (d) => (d.spaces[1].height = "1 m"));
  assert.equal((await raise("4 m")).kind, "conflict");
  assert.deepEqual(store.state.value.conflict?.since.map((r) => r.label), ["lower b"]);
  assert.equal(height(), "3 m");

  assert.equal((await store.mineAgain()).kind, "saved");
  assert.deepEqual([height(0), height(1)], ["4 m", "1 m"]);
  assert.equal(store.state.value.conflict, null);
});

test("a conflict can end with what the others saved", async () => {
  const { service, store, height, raise } = await opened();
  service.elsewhere("raise a", (d) => (d.spaces[0].height = "9 m"));
  await raise("4 m");
  await store.takeTheirs();
  assert.equal(height(), "9 m");
  assert.equal(service.head, 2);
});

test("a change is not made again where its place means another thing", async () => {
  const { service, store, raise } = await opened();
  service.elsewhere("remove a", (d) => d.spaces.shift());
  await raise("4 m");
  const again = await store.mineAgain();
  assert.equal(again.kind, "refused");
  assert.equal(service.head, 2);
  assert.equal(valueAt(store.state.value.document, "/spaces/0/height"), "2 m");
});

test("what could not be saved is kept and can be tried again", async () => {
  const { service, store, height, raise } = await opened();
  service.down = true;
  assert.equal((await raise("4 m")).kind, "refused");
  assert.equal(store.state.value.refused?.problem.code, "unreachable");
  assert.equal(height(), "3 m");
  service.down = false;
  assert.equal((await store.retry()).kind, "saved");
  assert.equal(height(), "4 m");
  assert.equal(store.state.value.refused, null);
});

test("an undo never undoes what somebody else saved", async () => {
  const { service, store, raise, height } = await opened();
  await raise("4 m");
  service.elsewhere("lower b", (d) => (d.spaces[1].height = "1 m"));
  assert.equal((await store.undo()).kind, "conflict");
  assert.equal(store.state.value.conflict?.wanted, null);
  await store.takeTheirs();
  assert.deepEqual([height(0), height(1)], ["4 m", "1 m"]);
});

test("edits reach values that the document leaves out", () => {
  const document = { sequences: [{ space: "a" }] };
  assert.deepEqual(editsToSet(document, "/sequences/0/loss/sensor_lost", "50 %"), [
    { op: "add", path: "/sequences/0/loss", value: { sensor_lost: "50 %" } },
  ]);
  assert.deepEqual(editsToSet(document, "/sequences/0/space", "a"), []);
  assert.deepEqual(editsToSet(document, "/sequences/0/space", "b"), [
    { op: "replace", path: "/sequences/0/space", value: "b" },
  ]);
  assert.deepEqual(editsToSet(document, "/sequences/0/space", undefined), [{ op: "remove", path: "/sequences/0/space" }]);
  assert.deepEqual(editsToSet(document, "/sequences/0/loss", undefined), []);
});
