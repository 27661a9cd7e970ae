// What the pages ask of the service. Every failure is an ApiError with a Problem that says what is wrong and
// what would be right; a request that was taken back rejects with the browser's own AbortError.
import type {
  About,
  Building,
  Caution,
  Conflict,
  DesignEditsRequest,
  Edit,
  EditAnswer,
  Drawings,
  EditRequest,
  FileAnswer,
  KeptFile,
  Library,
  LineEdits,
  LineEditsRequest,
  IssueRequest,
  LightAnswer,
  LightRequest,
  Problem,
  ProjectSummary,
  Revision,
  Room,
  Run,
  SceneLevelsAnswer,
  SceneLevelsRequest,
  StartAnswer,
  StartRoomAnswer,
  StartRoomRequest,
  StartSiteRequest,
  StudyRequest,
  WhyAnswer,
  YearAnswer,
  YearQuantity,
} from "../api/contract";
import type { SchemaDocument } from "../sentence/schema";
import type { Study } from "./study";

export class ApiError extends Error {
  constructor(
    readonly problem: Problem,
    readonly status: number,
  ) {
    super(`${problem.problem} ${problem.remedy}`);
    this.name = "ApiError";
  }
}

/** Somebody has saved since. */
export class ConflictError extends ApiError {
  constructor(readonly conflict: Conflict) {
    super(conflict.error, 409);
    this.name = "ConflictError";
  }
}

export function isAbort(error: unknown): boolean {
  return error instanceof Error && error.name === "AbortError";
}

/** What is wrong and what would be right, as sentences. */
export function inSentences({ problem, remedy }: { problem: string; remedy: string }): string {
  const first = problem.charAt(0).toUpperCase() + problem.slice(1);
  if (remedy === "") return first;
  const stops = /[.!?]$/.test(problem);
  return stops ? `${first} ${remedy.charAt(0).toUpperCase()}${remedy.slice(1)}` : `${first}; ${remedy}`;
}

export function problemOf(error: unknown): Problem {
  if (error instanceof ApiError) return error.problem;
  return {
    code: "internal",
    problem: "The page met a fault of its own.",
    remedy: `Load the page again; nothing that was saved is lost. (${String(error)})`,
  };
}

export interface RestoreRequest {
  base: number;
  revision: number;
  label: string;
}

export type NewProject = { from: "demo" | "empty"; name?: string } | { document: string; name?: string };

type Fetch = (path: string, init?: RequestInit) => Promise<Response>;
interface Ask {
  signal?: AbortSignal | undefined;
}

const part = encodeURIComponent;
const at = (revision: number | null) => (revision === null ? "" : `?revision=${revision}`);

export class Api {
  constructor(private readonly fetch: Fetch = (path, init) => globalThis.fetch(path, init)) {}

  about = (ask: Ask = {}) => this.json<About>("GET", "about", undefined, ask);
  projects = (ask: Ask = {}) => this.json<ProjectSummary[]>("GET", "projects", undefined, ask);
  newProject = (request: NewProject) => this.json<ProjectSummary>("POST", "projects", request);
  project = (p: string, ask: Ask = {}) => this.json<ProjectSummary>("GET", `projects/${part(p)}`, undefined, ask);
  document = (p: string, revision: number | null, ask: Ask = {}) =>
    this.text(`projects/${part(p)}/document${at(revision)}`, ask);
  cautions = (p: string, revision: number | null, ask: Ask = {}) =>
    this.json<Caution[]>("GET", `projects/${part(p)}/cautions${at(revision)}`, undefined, ask);
  /** Newest first, at most a thousand: of all, or of those older than a number. */
  revisions = (p: string, ask: Ask & { before?: number } = {}) =>
    this.json<Revision[]>("GET", `projects/${part(p)}/revisions${ask.before === undefined ? "" : `?before=${ask.before}`}`, undefined, ask);
  nameRevision = (p: string, revision: number, name: string) =>
    this.json<Revision>("PATCH", `projects/${part(p)}/revisions/${revision}`, { name });
  edit = (p: string, request: EditRequest) => this.json<EditAnswer>("POST", `projects/${part(p)}/edits`, request);
  restore = (p: string, request: RestoreRequest) =>
    this.json<EditAnswer>("POST", `projects/${part(p)}/restore`, request);
  issue = (p: string, request: IssueRequest) => this.json<Revision>("POST", `projects/${part(p)}/issue`, request);
  building = (p: string, revision: number | null, ask: Ask = {}) =>
    this.json<Building>("GET", `projects/${part(p)}/building${at(revision)}`, undefined, ask);
  /** `design`: the proposal that is meant, or "" for the first. */
  room = (p: string, space: string, revision: number | null, ask: Ask = {}, design = "") =>
    this.json<Room>(
      "GET",
      `projects/${part(p)}/rooms/${part(space)}${at(revision)}${design === "" ? "" : `${revision === null ? "?" : "&"}design=${part(design)}`}`,
      undefined,
      ask,
    );
  sceneLevels = (p: string, space: string, request: SceneLevelsRequest, ask: Ask = {}) =>
    this.json<SceneLevelsAnswer>("POST", `projects/${part(p)}/rooms/${part(space)}/scene_levels`, request, ask);
  light = (p: string, space: string, request: LightRequest, ask: Ask = {}) =>
    this.json<LightAnswer>("POST", `projects/${part(p)}/rooms/${part(space)}/light`, request, ask);
  year = (p: string, space: string, revision: number, quantity: YearQuantity, ask: Ask = {}) =>
    this.json<YearAnswer>(
      "GET",
      `projects/${part(p)}/rooms/${part(space)}/year?revision=${revision}&quantity=${quantity}`,
      undefined,
      ask,
    );
  why = (p: string, space: string, revision: number, at_civil_s: number, ask: Ask = {}) =>
    this.json<WhyAnswer>(
      "GET",
      `projects/${part(p)}/rooms/${part(space)}/why?revision=${revision}&at_civil_s=${at_civil_s}`,
      undefined,
      ask,
    );
  /** What puts a proposed design, or some of its parts, into a revision. */
  designEdits = (p: string, space: string, request: DesignEditsRequest) =>
    this.json<{ edits: Edit[] }>("POST", `projects/${part(p)}/rooms/${part(space)}/proposals/edits`, request);
  /** What puts the designs at a point of the building's line into a revision. */
  lineEdits = (p: string, request: LineEditsRequest) => this.json<LineEdits>("POST", `projects/${part(p)}/proposals/edits`, request);
  /** Why the service gives no stream at `path`; null where it would. */
  whyNoStream = async (path: string): Promise<Problem | null> => {
    const control = new AbortController();
    try {
      await this.send("GET", path, undefined, { signal: control.signal });
      return null;
    } catch (error) {
      return problemOf(error);
    } finally {
      control.abort();
    }
  };
  projectSchema = (ask: Ask = {}) => this.json<SchemaDocument>("GET", "schema/project", undefined, ask);
  startStudy = (p: string, request: StudyRequest, ask: Ask = {}) =>
    this.json<Run>("POST", `projects/${part(p)}/studies`, request, ask);
  run = (id: string, ask: Ask = {}) => this.json<Run>("GET", `runs/${part(id)}`, undefined, ask);
  cancelRun = (id: string) => this.json<Run | null>("DELETE", `runs/${part(id)}`);
  drawings = (run: string, ask: Ask = {}) => this.json<Drawings>("GET", `runs/${part(run)}/drawings`, undefined, ask);
  study = (run: string, ask: Ask = {}) => this.json<Study>("GET", `runs/${part(run)}/study`, undefined, ask);

  library = (ask: Ask = {}) => this.json<Library>("GET", "library", undefined, ask);
  startSite = (p: string, request: StartSiteRequest) =>
    this.json<StartAnswer>("POST", `projects/${part(p)}/start/site`, request);
  startRoom = (p: string, request: StartRoomRequest, ask: Ask = {}) =>
    this.json<StartRoomAnswer>("POST", `projects/${part(p)}/start/room`, request, ask);
  files = (p: string, ask: Ask = {}) => this.json<KeptFile[]>("GET", `projects/${part(p)}/files`, undefined, ask);
  file = async (p: string, path: string, ask: Ask = {}): Promise<Blob> =>
    (await this.send("GET", `projects/${part(p)}/files/${path.split("/").map(part).join("/")}`, undefined, ask)).blob();
  putFile = (p: string, path: string, base64: string) =>
    this.json<FileAnswer>("POST", `projects/${part(p)}/files`, { path, base64 });

  private async json<T>(method: string, path: string, body?: unknown, ask: Ask = {}): Promise<T> {
    const response = await this.send(method, path, body, ask);
    if (response.status === 204) return null as T;
    try {
      return (await response.json()) as T;
    } catch (error) {
      if (isAbort(error)) throw error;
      throw new ApiError(unreadable, response.status);
    }
  }

  private async text(path: string, ask: Ask): Promise<string> {
    return (await this.send("GET", path, undefined, ask)).text();
  }

  private async send(method: string, path: string, body: unknown, ask: Ask): Promise<Response> {
    let response: Response;
    try {
      response = await this.fetch(`/api/${path}`, {
        method,
        ...(body === undefined
          ? {}
          : { body: JSON.stringify(body), headers: { "Content-Type": "application/json" } }),
        ...(ask.signal === undefined ? {} : { signal: ask.signal }),
      });
    } catch (error) {
      if (isAbort(error)) throw error;
      throw new ApiError(
        {
          code: "unreachable",
          problem: "The service does not answer.",
          remedy: "Start it again with “halflight serve”; everything that was saved is still there.",
        },
        0,
      );
    }
    if (response.ok) return response;
    const answer: unknown = await response.json().catch(() => null);
    if (response.status === 409 && isConflict(answer)) throw new ConflictError(answer);
    if (hasError(answer)) throw new ApiError(answer.error, response.status);
    throw new ApiError(unreadable, response.status);
  }
}

const unreadable: Problem = {
  code: "internal",
  problem: "The service gave an answer that cannot be read.",
  remedy: "Load the page again, so that page and service are of one version.",
};

function hasError(answer: unknown): answer is { error: Problem } {
  if (typeof answer !== "object" || answer === null || !("error" in answer)) return false;
  const error = answer.error;
  return typeof error === "object" && error !== null && "problem" in error && "remedy" in error;
}

function isConflict(answer: unknown): answer is Conflict {
  return hasError(answer) && "head" in answer && "since" in answer && Array.isArray(answer.since);
}

/**
 * Named events that the service sends until `stop` is called; after a broken line `onReopened` is told, and
 * `onRefused` when there will be none. A browser opens some six lines to one service, so a window that nobody sees gives
 * its line back, and opens it again when it is seen.
 */
export function listen(
  path: string,
  handlers: Readonly<Record<string, (data: unknown) => void>>,
  onReopened: () => void = () => {},
  onRefused: () => void = () => {},
): () => void {
  let source: EventSource | null = null;
  let broken = false;
  const open = () => {
    const opened = new EventSource(`/api/${path}`);
    source = opened;
    opened.onerror = () => {
      broken = true;
      if (opened.readyState === EventSource.CLOSED) onRefused();
    };
    opened.onopen = () => {
      if (broken) onReopened();
      broken = false;
    };
    for (const [name, handle] of Object.entries(handlers))
      opened.addEventListener(name, (event) => handle(JSON.parse((event as MessageEvent<string>).data)));
  };
  const close = () => {
    source?.close();
    source = null;
  };
  const seen = () => {
    if (document.visibilityState === "hidden") {
      close();
      broken = true;
    } else if (source === null) open();
  };
  document.addEventListener("visibilitychange", seen);
  seen();
  return () => {
    document.removeEventListener("visibilitychange", seen);
    close();
  };
}
