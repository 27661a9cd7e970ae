// The project scope: what is saved. One store per project that is open; views read its state and ask for changes.
// A change is a list of edits with a label, posted against the newest revision; undo and redo save the revision
// before or after once more, so that nothing ever leaves the history.
import type { Diagnostic, Edit, EditAnswer, Problem, ProjectSummary, Revision } from "../api/contract";
import { type Api, ConflictError, problemOf } from "./api";
import { Cell } from "./cell";
import { type Json, meanTheSame, withoutIdle } from "./pointer";

/** A change made in this window: the revisions before and after it. */
export interface Step {
  label: string;
  before: number;
  after: number;
}

/** What somebody asked to save, kept until it is saved or given up. */
export interface Wanted {
  label: string;
  edits: Edit[];
  /** The revision that the edits' places were read from. */
  base: number;
}

export interface ProjectState {
  phase: "loading" | "ready" | "failed";
  /** Why it could not be opened. */
  problem: Problem | null;
  name: string;
  /** The newest revision that this window knows; 0 before the first document. */
  head: number;
  /** While the first document is on its way: its revision, so that views can ask for theirs beside it. */
  expected: number | null;
  /** Of revision `head`. */
  document: Json;
  undo: readonly Step[];
  redo: readonly Step[];
  /** Label of what is being saved now. */
  saving: string | null;
  /** What could not be saved, and why; without `wanted` there is nothing to try again. */
  refused: { label: string; wanted: Wanted | null; problem: Problem } | null;
  /** Somebody saved meanwhile: what they saved, and what waits here. An undo does not wait: it would undo theirs. */
  conflict: { label: string; wanted: Wanted | null; since: Revision[]; head: number } | null;
  /** What another window saved last, until it is read. */
  news: Revision | null;
  /** Of the last revision that this window saved; empty when another window saved since. */
  diagnostics: readonly Diagnostic[];
}

export type CommitResult =
  | { kind: "saved"; revision: number }
  | { kind: "unchanged" }
  | { kind: "conflict" }
  | { kind: "refused"; problem: Problem };

type ProjectApi = Pick<Api, "project" | "document" | "edit" | "restore" | "revisions">;

const EMPTY: ProjectState = {
  phase: "loading",
  problem: null,
  name: "",
  head: 0,
  expected: null,
  document: null,
  undo: [],
  redo: [],
  saving: null,
  refused: null,
  conflict: null,
  news: null,
  diagnostics: [],
};

/** A view lags this many revisions at most before its change counts as made on an older state. */
const RECENT = 8;

export class ProjectStore {
  readonly state = new Cell<ProjectState>(EMPTY);
  /** Saves run one after another. */
  private last: Promise<unknown> = Promise.resolve();
  /** Revisions that others saved and that arrived while a save of this window was under way. */
  private heard: Revision[] = [];
  /** Documents of the newest revisions. */
  private readonly recent = new Map<number, Json>();
  /** Documents that are on their way. */
  private readonly coming = new Map<number, Promise<Json>>();
  /** The revision since which nobody else saved. */
  private alone_since = 0;

  constructor(
    private readonly api: ProjectApi,
    readonly id: string,
  ) {}

  async open(): Promise<void> {
    try {
      const summary = await this.api.project(this.id);
      this.state.patch({ expected: summary.head });
      await this.show(summary.head, summary);
    } catch (error) {
      this.state.patch({ phase: "failed", problem: problemOf(error) });
    }
  }

  /** What the document says in a revision; throws what the service says when there is none. */
  async documentOf(revision: number, options: { signal?: AbortSignal } = {}): Promise<Json> {
    return this.recent.get(revision) ?? this.coming.get(revision) ?? this.read(revision, options);
  }

  private async read(revision: number, options: { signal?: AbortSignal } = {}): Promise<Json> {
    return JSON.parse(await this.api.document(this.id, revision, options)) as Json;
  }

  /**
   * Saves a change as one revision. Edits that change nothing are left out; with none left nothing is saved, so
   * that a drag that ends where it began is no entry. `base` is the revision that the edits' places were read
   * from; left out, the newest.
   */
  commit(label: string, edits: readonly Edit[], base: number | null = null): Promise<CommitResult> {
    return this.inTurn(() => this.save({ label, edits: [...edits], base: base ?? this.state.value.head }));
  }

  /** The same for edits that are written on the newest document when their turn comes: whatever was saved before them, they say what is meant. */
  commitOn(label: string, editsOn: (document: Json) => readonly Edit[]): Promise<CommitResult> {
    return this.inTurn(() => {
      const { document, head } = this.state.value;
      return this.save({ label, edits: [...editsOn(document)], base: head });
    });
  }

  undo(): Promise<CommitResult> {
    return this.inTurn(async () => {
      const step = this.state.value.undo.at(-1);
      if (step === undefined) return { kind: "unchanged" };
      return this.again(`undo: ${step.label}`, step.before, () => {
        const { undo, redo } = this.state.value;
        this.state.patch({ undo: undo.slice(0, -1), redo: [...redo, step] });
      });
    });
  }

  redo(): Promise<CommitResult> {
    return this.inTurn(async () => {
      const step = this.state.value.redo.at(-1);
      if (step === undefined) return { kind: "unchanged" };
      return this.again(`redo: ${step.label}`, step.after, () => {
        const { undo, redo } = this.state.value;
        this.state.patch({ undo: [...undo, step], redo: redo.slice(0, -1) });
      });
    });
  }

  /** Saves an older revision once more as the newest; can be undone like any change. */
  restore(revision: number): Promise<CommitResult> {
    return this.inTurn(() => {
      const before = this.state.value.head;
      const label = `restore revision ${revision}`;
      return this.again(label, revision, () => this.stepped(label, before));
    });
  }

  /** Ends a conflict with what the others saved; what waited here is given up. */
  async takeTheirs(): Promise<void> {
    await this.inTurn(async () => {
      const { conflict } = this.state.value;
      if (conflict === null) return;
      await this.follow(conflict.head, conflict.since.at(0) ?? null);
      this.state.patch({ conflict: null });
    });
  }

  /** Ends a conflict by making the waiting change once more, on top of what the others saved. */
  mineAgain(): Promise<CommitResult> {
    return this.inTurn(async (): Promise<CommitResult> => {
      const { conflict, document } = this.state.value;
      const wanted = conflict?.wanted;
      if (conflict === null || !wanted) return { kind: "unchanged" };
      await this.follow(conflict.head, conflict.since.at(0) ?? null);
      this.state.patch({ conflict: null });
      if (!meanTheSame(wanted.edits, document, this.state.value.document))
        return this.refuse(wanted.label, null, {
          code: "conflict",
          problem: "What this change was about now stands in another place of the project, or is gone.",
          remedy: "Look at the newest revision and make the change there.",
        });
      return this.save({ ...wanted, base: this.state.value.head });
    });
  }

  /** Tries once more to save what could not be saved. */
  retry(): Promise<CommitResult> {
    return this.inTurn(async (): Promise<CommitResult> => {
      const wanted = this.state.value.refused?.wanted;
      if (!wanted) return { kind: "unchanged" };
      this.state.patch({ refused: null });
      return this.save(wanted);
    });
  }

  giveUp(): void {
    this.state.patch({ refused: null });
  }

  readNews(): void {
    this.state.patch({ news: null });
  }

  /** A revision that the service says was saved, by this window or another. */
  heardOf(revision: Revision): void {
    if (this.state.value.saving !== null) this.heard.push(revision);
    else void this.inTurn(() => this.hear(revision));
  }

  /** Asks what is newest, after the line to the service was broken. */
  async lookAgain(): Promise<void> {
    try {
      const [newest] = await this.api.revisions(this.id);
      if (newest !== undefined) this.heardOf(newest);
    } catch {
      // The line is still broken; it will be opened again.
    }
  }

  private inTurn<T>(work: () => Promise<T>): Promise<T> {
    const turn = this.last.then(work, work);
    this.last = turn.catch(() => {});
    return turn;
  }

  private async save(wanted: Wanted): Promise<CommitResult> {
    const { head, document, conflict } = this.state.value;
    if (conflict !== null) {
      const waiting = conflict.wanted;
      const both = waiting === null ? wanted : { ...waiting, edits: [...waiting.edits, ...wanted.edits] };
      this.state.patch({ conflict: { ...conflict, wanted: both } });
      return { kind: "conflict" };
    }
    const current = wanted.base === head || this.isStill(wanted);
    const edits = current ? withoutIdle(document, wanted.edits) : wanted.edits;
    if (edits.length === 0) return { kind: "unchanged" };
    const base = current ? head : wanted.base;
    const result = await this.send(wanted.label, { ...wanted, base, edits }, () =>
      this.api.edit(this.id, { base, label: wanted.label, edits }),
    );
    if (result.kind === "saved") {
      this.stepped(wanted.label, head);
    }
    return result;
  }

  /** Whether a change that was read from an older revision of this window means the same in the newest. */
  private isStill(wanted: Wanted): boolean {
    const read = wanted.base < this.alone_since ? undefined : this.recent.get(wanted.base);
    return read !== undefined && meanTheSame(wanted.edits, read, this.state.value.document);
  }

  private async again(label: string, revision: number, then: () => void): Promise<CommitResult> {
    const base = this.state.value.head;
    const result = await this.send(label, null, () =>
      this.api.restore(this.id, { base, revision, label }),
    );
    if (result.kind === "saved") then();
    return result;
  }

  private async send(
    label: string,
    wanted: Wanted | null,
    post: () => Promise<EditAnswer>,
  ): Promise<CommitResult> {
    this.state.patch({ saving: label, refused: null });
    try {
      const answer = await post();
      this.heard = this.heard.filter((revision) => revision.number > answer.revision);
      await this.showOrFail(answer.revision, answer.diagnostics);
      return { kind: "saved", revision: answer.revision };
    } catch (error) {
      if (!(error instanceof ConflictError)) return this.refuse(label, wanted, problemOf(error));
      const { since, head } = error.conflict;
      this.state.patch({ conflict: { label, wanted, since, head } });
      return { kind: "conflict" };
    } finally {
      this.state.patch({ saving: null });
      const heard = this.heard;
      this.heard = [];
      for (const revision of heard) this.heardOf(revision);
    }
  }

  private refuse(label: string, wanted: Wanted | null, problem: Problem): CommitResult {
    this.state.patch({ refused: { label, wanted, problem } });
    return { kind: "refused", problem };
  }

  private stepped(label: string, before: number): void {
    const { undo, head } = this.state.value;
    this.state.patch({ undo: [...undo, { label, before, after: head }], redo: [] });
  }

  private async hear(revision: Revision): Promise<void> {
    const { head, conflict } = this.state.value;
    // A conflict already tells what the others saved; the person decides when to look.
    if (revision.number <= head || conflict !== null) return;
    await this.follow(revision.number, revision);
  }

  /** Shows what another window saved. Undoing over it would take their work away, so the steps end here. */
  private async follow(head: number, news: Revision | null): Promise<void> {
    this.alone_since = head;
    await this.showOrFail(head);
    this.state.patch({ undo: [], redo: [], news });
  }

  private async showOrFail(head: number, diagnostics?: readonly Diagnostic[]): Promise<void> {
    try {
      await this.show(head, null, diagnostics);
    } catch (error) {
      this.state.patch({ phase: "failed", problem: problemOf(error) });
    }
  }

  private async show(
    head: number,
    summary: ProjectSummary | null,
    diagnostics: readonly Diagnostic[] = [],
  ): Promise<void> {
    const reading = this.read(head);
    this.coming.set(head, reading);
    const document = await reading.finally(() => this.coming.delete(head));
    this.recent.set(head, document);
    this.recent.delete(head - RECENT);
    const name = typeof document === "object" && document !== null && !Array.isArray(document) ? document["name"] : null;
    this.state.patch({
      phase: "ready",
      problem: null,
      head,
      document,
      name: typeof name === "string" && name !== "" ? name : (summary?.name ?? this.state.value.name),
      diagnostics,
    });
  }
}
