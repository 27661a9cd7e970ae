// Add a room: what it is, how large, where its windows are, and what lights it; the light is there at once.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Library, Problem, StartRoomAnswer, StartRoomRequest } from "../api/contract";
import { inSentences, isAbort, problemOf } from "../app/api";
import { useCell } from "../app/cell";
import { type Asker, latestOnly } from "../app/light";
import type { Json } from "../app/pointer";
import type { ProjectStore } from "../app/project";
import { Link, hrefOf, navigate } from "../app/router";
import { api, projectStore } from "../app/service";
import { units } from "../app/session";
import { useLibrary } from "../start/library";
import { BringDrawing } from "../start/bring_drawing";
import { BringPhotometry } from "../start/bring_photometry";
import { type Background, backgroundOf, calibrated } from "../start/background";
import { listIn, roomsOfStorey, siteOf, textIn } from "../start/document";
import { Field } from "../start/field";
import { lengthText, readLength } from "../start/lengths";
import { LuminaireChoice } from "../start/luminaire_choice";
import { facing, freeOnWall } from "../start/outline";
import { Found } from "../start/found";
import { readDrawing } from "../start/read_drawing";
import { RoomResult } from "../start/result";
import { type RoomForm, floorOf, kindOf, newForm, problemsOf, requestOf, shownTarget, withOutline } from "../start/room_form";
import { Sketch, type SketchTool } from "../start/sketch";
import { type TracedDrawing, editsToTrace, tracedDrawingOf } from "../start/traced_drawing";
import "../start/start.css";
import { Shell } from "./shell";

/** Typing settles before light is asked for. */
const SETTLED_MS = 250;

export function AddRoomPage({ project: id }: { project: string }) {
  const project = projectStore(id);
  const state = useCell(project.state);
  const library = useLibrary();
  return (
    <Shell title="Add a room" fits project={project} crumbs={[{ words: state.name || id, to: hrefOf({ page: "building", project: id, revision: null }) }, { words: "add a room" }]}>
      {library !== null && state.phase === "ready" ? (
        <AddRoom project={project} library={library} document={state.document} head={state.head} isSaving={state.saving !== null} />
      ) : (
        <main id="main" class="page" aria-busy="true">
          <h1>Add a room</h1>
        </main>
      )}
    </Shell>
  );
}

/** The last question, its answer, and what was wrong with it. */
function useStart(project: string, request: StartRoomRequest | null) {
  const [answer, setAnswer] = useState<{ key: string; answer: StartRoomAnswer } | null>(null);
  const [problem, setProblem] = useState<{ key: string; problem: Problem } | null>(null);
  const asker = useRef<Asker<StartRoomRequest> | null>(null);
  useEffect(() => {
    const mine = latestOnly<StartRoomRequest, StartRoomAnswer>(
      (question, signal) => api.startRoom(project, question, { signal }),
      (result, question) => {
        setAnswer({ key: JSON.stringify(question), answer: result });
        setProblem(null);
      },
      (error) => {
        if (!isAbort(error)) setProblem({ key: "", problem: problemOf(error) });
      },
    );
    asker.current = mine;
    return () => mine.stop();
  }, [project]);
  const key = request === null ? null : JSON.stringify(request);
  useEffect(() => {
    if (key === null) return;
    const timer = setTimeout(() => asker.current?.ask(JSON.parse(key) as StartRoomRequest), SETTLED_MS);
    return () => clearTimeout(timer);
  }, [key]);
  return { answer: answer?.answer ?? null, isCurrent: answer !== null && answer.key === key, problem: problem?.problem ?? null };
}

/** The drawing that the document names for a storey, read once; null while there is none or it is being read. */
function useTracedDrawing(project: string, drawing: TracedDrawing | null) {
  const [background, setBackground] = useState<Background | null>(null);
  const [problem, setProblem] = useState("");
  const shown = useRef(background);
  shown.current = background;
  const { file, metres_per_unit } = drawing ?? { file: null, metres_per_unit: null };
  useEffect(() => {
    setProblem("");
    if (file === null) return setBackground(null);
    const now = shown.current;
    if (now?.path === file) {
      if (metres_per_unit !== null && metres_per_unit !== now.scale) setBackground(backgroundOf(file, now.drawn, metres_per_unit));
      return;
    }
    let isWanted = true;
    const read = async () => {
      try {
        const brought = await readDrawing(new File([await api.file(project, file)], file));
        const scale = metres_per_unit ?? (brought.isScaled ? brought.scale : null);
        if (isWanted) setBackground(backgroundOf(file, brought.drawn, scale));
      } catch (error) {
        if (isWanted) setProblem(error instanceof RangeError ? error.message : inSentences(problemOf(error)));
      }
    };
    void read();
    return () => {
      isWanted = false;
    };
  }, [project, file, metres_per_unit]);
  return { background, setBackground, problem };
}

interface AddRoomProps {
  project: ProjectStore;
  library: Library;
  document: Json;
  head: number;
  /** Something of this window is on its way to the service; the room's answer is then soon one of an older revision. */
  isSaving: boolean;
}

function AddRoom({ project, library, document, head, isSaving }: AddRoomProps) {
  const system = useCell(units);
  const [form, setForm] = useState<RoomForm>(() => newForm(library, system));
  const [tool, setTool] = useState<SketchTool>("look");
  const { background, setBackground, problem: notRead } = useTracedDrawing(project.id, tracedDrawingOf(document, form.storey));
  const drawing = useRef<SVGSVGElement>(null);
  /** A tool in hand: the keys go to the drawing. */
  const take = (next: SketchTool) => {
    setTool(next);
    if (next !== "look") drawing.current?.focus({ preventScroll: true });
  };
  const [opacity, setOpacity] = useState(0.6);
  const [measured, setMeasured] = useState<[readonly [number, number], readonly [number, number]] | null>(null);
  const patch = (change: Partial<RoomForm>) => setForm((f) => ({ ...f, ...change }));

  const problems = problemsOf(form, system);
  const request = requestOf(form, system, head);
  const { answer, isCurrent, problem } = useStart(project.id, request);
  const preview = answer?.preview ?? null;
  const floor = floorOf(form, system);
  const kind = kindOf(library, form);
  const storeys = listIn(document, "storeys");
  const hasPlace = siteOf(document) !== null && listIn(document, "calendars").length > 0;
  const own = useMemo(
    () => listIn(document, "luminaire_types").map((t) => ({ id: textIn(t, "id"), tag: textIn(t, "tag"), name: textIn(t, "name") })).filter((t) => t.id !== ""),
    [document],
  );

  const windows = form.windows.map((w) => ({ ...w, offset_m: lengthOf(w.offset, system), width_m: lengthOf(w.width, system) }));
  const doors = form.doors.map((d) => ({ ...d, offset_m: lengthOf(d.offset, system), width_m: lengthOf(d.width, system) }));
  const nextId = () => 1 + Math.max(0, ...form.windows.map((w) => w.id), ...form.doors.map((d) => d.id));
  const addWindow = (wall: number, offset_m: number, width_m: number) => {
    const height_m = lengthOf(form.height, system) || 2.7;
    const sill_m = 0.9;
    const high_m = Math.max(0.3, Math.min(1.5, height_m - sill_m - 0.2));
    patch({
      windows: [...form.windows, { id: nextId(), wall, offset: lengthText(offset_m, system), width: lengthText(width_m, system), sill: lengthText(sill_m, system), height: lengthText(high_m, system) }],
    });
  };
  const addDoor = (wall: number, offset_m: number, width_m: number) =>
    patch({ doors: [...form.doors, { id: nextId(), wall, offset: lengthText(offset_m, system), width: lengthText(width_m, system) }] });
  const takenOn = (wall: number) =>
    [...windows, ...doors].filter((p) => p.wall === wall).map((p) => [p.offset_m, p.offset_m + p.width_m] as const);
  const [wall, setWall] = useState(0);
  const atWall = floor === null ? 0 : Math.min(wall, floor.length - 1);
  const addByWord = (what: "window" | "door") => {
    if (floor === null) return;
    const place = freeOnWall(floor, atWall, takenOn(atWall), what === "window" ? 1.8 : 0.9);
    if (place === null) return;
    if (what === "window") addWindow(atWall, place.offset_m, place.width_m);
    else addDoor(atWall, place.offset_m, place.width_m);
  };

  /** Shown at once, and kept with the storey so that its next room is traced from it too. */
  const trace = (next: Background | null) => {
    setBackground(next);
    const label = next === null ? "no drawing to trace" : `drawing to trace: ${next.path.replace(/^.*\//, "")}`;
    void project.commitOn(label, (newest) => editsToTrace(newest, form.storey, next));
  };

  const save = async () => {
    if (answer === null || !isCurrent || isSaving) return;
    const result = await project.commit(answer.label, answer.edits, head);
    if (result.kind === "saved") navigate(hrefOf({ page: "room", project: project.id, space: answer.space, revision: null }));
  };

  return (
    <main id="main" class="start-room">
      <form
        class="start-form"
        aria-label="the room"
        onSubmit={(event) => {
          event.preventDefault();
          void save();
        }}
      >
        <h1>Add a room</h1>
        {!hasPlace && (
          <p class="start-note">
            Nothing says yet where the building stands and when it is open: <Link to={hrefOf({ page: "place", project: project.id })}>say so first</Link>.
          </p>
        )}
        <section aria-labelledby="what-heading">
          <h2 id="what-heading">What it is</h2>
          <label class="row">
            <span>kind of space</span>
            <select class="field" value={form.kind} onChange={(e) => patch({ kind: e.currentTarget.value, luminaire: "", target: "", foundType: "" })}>
              {library.kinds.map((k) => (
                <option key={k.id} value={k.id}>
                  {k.name}
                </option>
              ))}
            </select>
          </label>
          {kind !== undefined && <p class="brings soft">{bringsOf(kind)}</p>}
          <div class="row-two">
            <Field label="number" value={form.number} onValue={(number) => patch({ number })} placeholder="1.07" />
            <Field label="name" value={form.name} onValue={(name) => patch({ name })} placeholder={kind?.name ?? ""} />
          </div>
          {storeys.length > 1 && (
            <label class="row">
              <span>storey</span>
              <select class="field" value={form.storey || textIn(storeys[0]!, "id")} onChange={(e) => patch({ storey: e.currentTarget.value })}>
                {storeys.map((s) => (
                  <option key={textIn(s, "id")} value={textIn(s, "id")}>
                    {textIn(s, "name") || textIn(s, "id")}
                  </option>
                ))}
              </select>
            </label>
          )}
        </section>
        <section aria-labelledby="size-heading">
          <h2 id="size-heading">Size</h2>
          <div class="row-three">
            <Field label="width" value={form.width} problem={problems["width"]} onValue={(width) => patch({ width, drawn: null, windows: form.drawn === null ? form.windows : [], doors: form.drawn === null ? form.doors : [] })} />
            <Field label="length" value={form.length} problem={problems["length"]} onValue={(length) => patch({ length, drawn: null, windows: form.drawn === null ? form.windows : [], doors: form.drawn === null ? form.doors : [] })} />
            <Field label="ceiling height" value={form.height} problem={problems["height"]} onValue={(height) => patch({ height })} />
          </div>
          <p class="soft">Or draw it: choose “rectangle” or “corner by corner” above the drawing.</p>
        </section>
        <section aria-labelledby="walls-heading">
          <h2 id="walls-heading">Windows and door</h2>
          {floor !== null && (
            <div class="row-add">
              <label>
                <span class="spoken">wall </span>
                <select class="field" value={String(atWall)} onChange={(e) => setWall(Number(e.currentTarget.value))}>
                  {floor.map((_, i) => (
                    <option key={i} value={String(i)}>
                      {facing(floor, i)} wall{floor.length > 4 ? ` ${i + 1}` : ""}
                    </option>
                  ))}
                </select>
              </label>
              <button type="button" class="action quiet" onClick={() => addByWord("window")}>
                add a window
              </button>
              <button type="button" class="action quiet" onClick={() => addByWord("door")}>
                add a door
              </button>
            </div>
          )}
          {form.windows.map((w, i) => (
            <fieldset key={w.id} class="part">
              <legend>
                window in the {floor === null ? "" : facing(floor, Math.min(w.wall, floor.length - 1))} wall
                <button type="button" class="word" aria-label={`take away window ${i + 1}`} onClick={() => patch({ windows: form.windows.filter((o) => o !== w) })}>
                  take away
                </button>
              </legend>
              {(["width", "height", "sill", "offset"] as const).map((key) => (
                <Field
                  key={key}
                  label={key === "offset" ? "from corner" : key}
                  value={w[key]}
                  onValue={(text) => patch({ windows: form.windows.map((o) => (o === w ? { ...o, [key]: text } : o)) })}
                />
              ))}
              {problems[`window-${w.id}`] !== undefined && <p class="bad">{problems[`window-${w.id}`]}</p>}
            </fieldset>
          ))}
          {form.doors.map((d, i) => (
            <fieldset key={d.id} class="part">
              <legend>
                door in the {floor === null ? "" : facing(floor, Math.min(d.wall, floor.length - 1))} wall
                <button type="button" class="word" aria-label={`take away door ${i + 1}`} onClick={() => patch({ doors: form.doors.filter((o) => o !== d) })}>
                  take away
                </button>
              </legend>
              {(["width", "offset"] as const).map((key) => (
                <Field
                  key={key}
                  label={key === "offset" ? "from corner" : key}
                  value={d[key]}
                  onValue={(text) => patch({ doors: form.doors.map((o) => (o === d ? { ...o, [key]: text } : o)) })}
                />
              ))}
              {problems[`door-${d.id}`] !== undefined && <p class="bad">{problems[`door-${d.id}`]}</p>}
            </fieldset>
          ))}
        </section>
        <section aria-labelledby="light-heading">
          <h2 id="light-heading">New light</h2>
          <Field label="light asked for, in the mean on the task" value={form.target} placeholder={shownTarget(form, library, system)} problem={problems["target"]} onValue={(target) => patch({ target })} />
          <LuminaireChoice library={library} own={own} usual={kind?.luminaire_type ?? ""} chosen={form.luminaire} onChoose={(luminaire) => patch({ luminaire })} />
          <BringPhotometry project={project} onType={(luminaire) => patch({ luminaire })} />
        </section>
        <Found library={library} form={form} kind={kind} problems={problems} onPatch={patch} />
      </form>
      <div class="start-drawing">
        <div class="start-tools" role="group" aria-label="Draw">
          {(
            [
              ["look", "look"],
              ["rectangle", "rectangle"],
              ["corners", "corner by corner"],
              ["window", "window"],
              ["door", "door"],
            ] as const
          ).map(([which, words]) => (
            <button key={which} type="button" class="word" aria-pressed={tool === which} onClick={() => take(which)}>
              {words}
            </button>
          ))}
          {notRead !== "" && (
            <span role="alert" class="bad">
              {notRead}
            </span>
          )}
          <BringDrawing
            project={project.id}
            background={background}
            opacity={opacity}
            onBackground={(b) => {
              trace(b);
              setMeasured(null);
              setTool(b === null ? "look" : b.isScaled ? "corners" : "measure");
            }}
            onOpacity={setOpacity}
            onMeasure={() => take("measure")}
            isMeasured={measured !== null}
            onLength={(length_m) => {
              if (background === null || measured === null) return;
              const next = calibrated(background, [...measured[0]], [...measured[1]], length_m);
              if (next === null) return;
              trace(next);
              setMeasured(null);
              take("corners");
            }}
          />
        </div>
        <Sketch
          floor={floor}
          windows={windows}
          doors={doors}
          preview={preview}
          isOld={!isCurrent}
          tool={tool}
          background={background}
          others={background !== null && background.isScaled ? roomsOfStorey(document, form.storey) : []}
          opacity={opacity}
          onFloor={(outline) => {
            setForm((f) => withOutline(f, outline, background !== null && background.isScaled, system));
            setTool("window");
          }}
          onWindow={addWindow}
          onDoor={(...at) => {
            addDoor(...at);
            setTool("look");
          }}
          onMeasured={(a, b) => setMeasured([a, b])}
          drawing={drawing}
        />
        <RoomResult
          answer={answer}
          isCurrent={isCurrent}
          canAsk={request !== null}
          problem={problem}
          target={shownTarget(form, library, system)}
          saving={isSaving}
          onSave={() => void save()}
        />
      </div>
    </main>
  );
}

function lengthOf(text: string, system: "si" | "us"): number {
  const read = readLength(text, system);
  return read.ok ? read.si : 0;
}

const PATTERNS = {
  desks: "people with a seat of their own",
  shared: "visitors come and go",
  circulation: "people pass through",
  bookings: "it is booked by the hour",
  timetable: "it has lessons by a timetable",
  sleeping: "people sleep here",
  none: "it is seldom visited",
} as const;

function bringsOf(kind: Library["kinds"][number]): string {
  const people = kind.people >= 1 ? `, about ${kind.people} at once` : "";
  return `Brings: ${kind.target_lx} lx ${kind.task_height_m > 0 ? `at ${kind.task_height_m} m` : "on the floor"} (${kind.target_source}); ${PATTERNS[kind.pattern]}${people}; a usual sequence (${kind.start_source}). All of it can be changed.`;
}
