// The page that explains one room: what it does, what that does to the light now and over the year, what it
// promises, why this minute, and its scenes.
import type { ComponentChildren } from "preact";
import { useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Building, Diagnostic, Edit, LightAnswer, LightRequest, Pointer, Room, Strategy, YearQuantity } from "../../api/contract";
import { inSentences } from "../../app/api";
import { useCell } from "../../app/cell";
import { useLight } from "../../app/light";
import { usePhotosensorPlaces } from "../../app/places";
import { type Json, editsToSet, valueAt } from "../../app/pointer";
import type { ProjectStore } from "../../app/project";
import { useResource } from "../../app/resource";
import { Link, hrefOf } from "../../app/router";
import { useStudy } from "../../app/run";
import { api, useSchema } from "../../app/service";
import { accuracy as accuracyCell, instant, theme, touched, units } from "../../app/session";
import { useShown, useWithDocument } from "../../app/shown";
import { LIGHT_PALETTE_RGBA } from "../../look/scale";
import { loopWords } from "../../plan/governed_task";
import { FIRST_LAYERS, LAYERS, type Layer } from "../../plan/layers";
import type { ObjectKey } from "../../plan/objects";
import { PlacesLine, PlacesScale, rulesOf, whyNoPlaces } from "../../plan/places";
import { Plan } from "../../plan/plan";
import { type Cut, Section } from "../../plan/section";
import { radioWords } from "../../plan/radio";
import { shownReachWords, shownSeatWords } from "../../plan/reach";
import { SelectionLine } from "../../plan/selection_line";
import { ToolRow } from "../../plan/tool_row";
import { SELECT, type ToolChoice } from "../../plan/tools/tool_choice";
import { View3D } from "../../plan/view3d";
import { type Editing, EditingContext } from "../../sentence/context";
import { SequenceView } from "../../sentence/sequence";
import { formatArea, formatIlluminanceNumber } from "../../units/system";
import { civilSeconds, weekdayOf, DAY_S } from "../../year/civil";
import { Year } from "../../year/year";
import { Shell } from "../shell";
import { Claims } from "./claims";
import { governedBy } from "./governed";
import { type SceneLevels, Scenes } from "./scenes";
import { WhatIf } from "./what_if";
import { Why } from "./why";

interface RoomPageProps {
  project: string;
  space: string;
  /** An older revision to look at, or null for the newest. */
  revision: number | null;
}

export function RoomPage({ project: id, space, revision }: RoomPageProps) {
  const showing = useShown(id, revision);
  const { project, state, shown, older } = showing;
  const { value, problem } = useWithDocument(`${id}/${space}`, showing, (signal) => api.room(id, space, shown, { signal }));
  const building = useResource(id, shown === null ? null : String(shown), (signal) =>
    api.building(id, shown, { signal }),
  );
  const name = value === null ? space : `${value.answer.number} ${value.answer.name}`;
  return (
    <Shell
      title={name}
      fits
      project={project}
      older={older}
      diagnostics={building.value?.diagnostics ?? null}
      waits="Light, year and promises wait until it is put right."
      crumbs={[
        { words: state.name || id, to: hrefOf({ page: "building", project: id, revision }) },
        ...(value === null ? [] : [{ words: value.answer.storey_name || value.answer.storey }]),
        { words: name },
      ]}
      {...(value === null ? {} : { about: aboutRoom(value.answer) })}
      status={building.value === null ? null : <Missing building={building.value} />}
    >
      {problem !== null && value !== null && (
        <p class="message alarm" role="alert">
          Revision {shown} cannot be shown; this is revision {value.answer.revision}. {inSentences(problem)}
        </p>
      )}
      {problem !== null && value === null && (
        <main id="main" class="page">
          <h1>{space}</h1>
          <p role="alert" class="bad">
            {inSentences(problem)}
          </p>
          <p>
            <Link to={hrefOf({ page: "building", project: id, revision: null })}>all rooms of the building</Link>
          </p>
        </main>
      )}
      {value !== null && (
        <RoomView
          project={project}
          room={value.answer}
          document={value.document}
          diagnostics={building.value?.diagnostics ?? value.answer.diagnostics}
          readOnly={older !== null}
        />
      )}
      {problem === null && value === null && (
        <main id="main" class="page" aria-busy="true">
          <h1 class="spoken">{space}</h1>
        </main>
      )}
    </Shell>
  );
}

function aboutRoom(room: Room): string {
  const count = (n: number, one: string) => `${n} ${one}${n === 1 ? "" : "s"}`;
  const stays = room.luminaires.filter((l) => l.status !== "remove").length;
  return `${formatArea(room.area_m2, units.value)}, ${count(stays, "luminaire")}, ${count(room.devices.length, "device")}`;
}

/** What is missing before the building can be issued, with the way there. */
function Missing({ building }: { building: Building }) {
  const open = building.diagnostics.filter((d) => d.severity !== "warning").length;
  return (
    <Link to={`${hrefOf({ page: "building", project: building.project, revision: null })}#missing`}>
      {open === 0 ? (
        <span class="good">nothing missing before issue</span>
      ) : (
        <span class="bad">
          {open} {open === 1 ? "thing" : "things"} missing before issue
        </span>
      )}
    </Link>
  );
}

type View = "plan" | "section" | "3d";

interface RoomViewProps {
  project: ProjectStore;
  room: Room;
  document: Json;
  /** What is wrong or missing in the whole document. */
  diagnostics: readonly Diagnostic[];
  readOnly: boolean;
}

function RoomView({ project, room, document, diagnostics, readOnly }: RoomViewProps) {
  const system = useCell(units);
  const chosen = useCell(instant);
  const accuracy = useCell(accuracyCell);
  const hot = useCell(touched);
  const look = useCell(theme);
  const schema = useSchema();
  const [quantity, setQuantity] = useState<YearQuantity>("power");
  const [view, setView] = useState<View>("plan");
  const [layers, setLayers] = useState<ReadonlySet<Layer>>(FIRST_LAYERS);
  const [selection, setSelection] = useState<ReadonlySet<ObjectKey>>(new Set());
  const [zoneStrategy, setZoneStrategy] = useState<Strategy>("scene");
  const [tool, setTool] = useState<ToolChoice>(SELECT);
  const drawing = useRef<SVGSVGElement>(null);
  const [cut, setCut] = useState<Cut | null>(null);
  const [scene, setScene] = useState<string | null>(null);
  const [levels, setLevels] = useState<SceneLevels | null>(null);
  const [preview, setPreview] = useState<Edit[] | null>(null);
  const [refusal, setRefusal] = useState("");

  const scope = `${project.id}/${room.id}`;
  const revision = room.revision;
  // A document that cannot be understood is drawn as far as it goes; nothing is computed from it.
  const asked = diagnostics.some((diagnostic) => diagnostic.severity === "error") ? null : revision;
  const year = useResource(scope, asked === null ? null : `${asked} ${quantity}`, (signal) =>
    api.year(project.id, room.id, revision, quantity, { signal }),
  );
  const firstWeekday = year.value?.first_weekday ?? null;
  const at_civil_s = chosen ?? (firstWeekday === null ? null : firstInstant(firstWeekday));
  const why = useResource(scope, at_civil_s === null || asked === null ? null : `${asked} ${at_civil_s}`, (signal) =>
    api.why(project.id, room.id, revision, at_civil_s ?? 0, { signal }),
  );
  const study = useStudy(api, project.id, [room.id], asked, accuracy);

  const light = useLight(scope, asked === null ? null : lightRequest(asked, at_civil_s, scene, levels, preview, layers), (request, signal) =>
    api.light(project.id, room.id, request, { signal }),
  );

  const [rule, setRule] = useState(0);
  const [placeRead, setPlaceRead] = useState<number | null>(null);
  const rules = rulesOf(document, room);
  const itsRule = Math.min(rule, Math.max(0, rules.length - 1));
  const showsPlaces = view === "plan" && layers.has("photosensor_places");
  const tries = showsPlaces && whyNoPlaces(room, rules) === "";
  const places = usePhotosensorPlaces(project.id, room.id, asked, itsRule, tries);
  const chosenRule = showsPlaces ? rules[itsRule] : undefined;
  // A study of an older revision may count other rules.
  const loops = study.revision === revision ? study.study?.spaces.find((s) => s.id === room.id)?.daylight_loops : undefined;
  const governed = chosenRule === undefined ? null : { rule: chosenRule, loop: loops?.[itsRule] ?? null };

  const commit = (label: string, edits: Edit[]) => project.commit(label, edits, revision);
  const editing: Editing = {
    document,
    schema,
    system,
    readOnly,
    diagnostics,
    kinds: [],
    subject: room.number,
    revision,
    commit: readOnly ? () => Promise.resolve({ kind: "unchanged" }) : commit,
    preview: setPreview,
  };
  const onCommit = async (label: string, edits: Edit[]) => {
    setPreview(null);
    if (!readOnly) return commit(label, edits);
    setRefusal("An older revision is looked at; it cannot be changed.");
    return undefined;
  };
  const highlight = useMemo(() => governedBy(document, room, hot), [document, room, hot]);
  const power = new Map(
    study.study?.spaces.find((s) => s.id === room.id)?.scenes.map((s) => [s.name, s.power_w] as const) ?? [],
  );
  const toProposals = !readOnly && room.proposal !== null && (
    <Link to={hrefOf({ page: "proposals", project: project.id, space: room.id })} title="complete designs for the controls of this room, side by side">
      proposals <kbd>p</kbd>
    </Link>
  );
  const showInstant = (civil_s: number) => {
    setScene(null);
    instant.set(civil_s);
  };

  return (
    <EditingContext.Provider value={editing}>
      {room.sequence !== null ? <SequenceView sequence={room.sequence} beside={toProposals} /> : <NoSequence room={room} editing={editing} beside={toProposals} />}
      <main id="main" class="room">
        <h1 class="spoken">
          {room.number} {room.name}
        </h1>
        <section class="plan-slot" aria-label="Plan">
          <div class="drawing">
            {view === "plan" && (
              <Plan
                drawing={drawing}
                room={room}
                light={light.answer}
                layers={layers}
                zoneStrategy={zoneStrategy}
                selection={selection}
                highlight={highlight}
                system={system}
                tool={tool}
                onTool={setTool}
                onSelect={setSelection}
                onCommit={onCommit}
                onPreview={setPreview}
                onRefuse={setRefusal}
                lookUp={(pointer: Pointer) => valueAt(document, pointer)}
                places={tries ? places.answer : null}
                governed={governed}
                placeRead={placeRead}
                onPlaceRead={setPlaceRead}
              />
            )}
            {view === "section" && (
              <Section room={room} light={light.answer} selection={selection} system={system} cut={cut} onCut={setCut} />
            )}
            {view === "3d" && <View3D room={room} light={light.answer} selection={selection} />}
          </div>
          <div class="rows">
            {!readOnly && view === "plan" && <ToolRow room={room} tool={tool} onTool={setTool} onTaken={() => drawing.current?.focus({ preventScroll: true })} />}
            {/* The lines about photosensors take its room, which is the plan's else. */}
            {!(showsPlaces && selection.size === 0 && tool.name === "select") && (
              <SelectionLine
                room={room}
                selection={selection}
                system={system}
                tool={tool}
                onCommit={onCommit}
                onRefuse={setRefusal}
                lookUp={(pointer: Pointer) => valueAt(document, pointer)}
              />
            )}
            {tries && places.answer !== null && <PlacesScale />}
            {light.answer !== null && !(tries && places.answer !== null) && (
              <Ramp
                light={light.answer}
                system={system}
                height_m={room.plan_height_m}
              />
            )}
            {view === "plan" && layers.has("movement") && <span class="reach-words">{shownReachWords(room, light.answer)}</span>}
            {view === "plan" && layers.has("seats") && !layers.has("movement") && <span class="reach-words">{shownSeatWords(room, light.answer)}</span>}
            {view === "plan" && layers.has("radio") && <span class="radio-words">{radioWords(light.answer?.radio ?? room.radio)}</span>}
            <span class="bad" role="alert">
              {refusal || (light.problem === null ? "" : inSentences(light.problem))}
            </span>
          </div>
          {showsPlaces && (
            <PlacesLine
              room={room}
              rules={rules}
              rule={itsRule}
              onRule={(next) => {
                setPlaceRead(null);
                setRule(next);
              }}
              state={places}
              revision={revision}
              reading={placeRead}
              year={governed === null ? "" : loopWords(room, governed, system)}
              system={system}
            />
          )}
          <div class="rows">
            <Switches
              room={room}
              view={view}
              onView={setView}
              layers={layers}
              onLayers={setLayers}
              strategy={zoneStrategy}
              onStrategy={setZoneStrategy}
            />
          </div>
        </section>
        <Claims
          state={study}
          room={room}
          revision={revision}
          studies={asked !== null}
          system={system}
          accuracy={accuracy}
          onAccuracy={(next) => accuracyCell.set(next)}
          whatIf={<WhatIf project={project.id} room={room} document={document} revision={asked} system={system} />}
        />
        <div class="side-slot">
          <Why why={why} at_civil_s={at_civil_s} firstWeekday={firstWeekday} />
          <Scenes
            room={room}
            document={document}
            now={why.value}
            power_w={power}
            shown_w={light.answer?.power_w ?? null}
            shown={levels?.scene ?? scene}
            readOnly={readOnly}
            onShow={setScene}
            targets={
              asked === null
                ? null
                : {
                    system,
                    answer: (request, signal) =>
                      api.sceneLevels(project.id, room.id, { ...request, revision }, { signal }),
                  }
            }
            onLevels={setLevels}
            onCommit={(label, edits, pointer) => {
              touched.set(pointer);
              return edits.length === 0 ? Promise.resolve() : commit(label, edits);
            }}
          />
        </div>
        <div class="year-slot">
          {year.problem !== null ? (
            <p class="bad" role="alert">
              {inSentences(year.problem)}
            </p>
          ) : (
            <Year
              key={look}
              year={year.value}
              at_civil_s={at_civil_s ?? 0}
              onPick={showInstant}
              quantity={quantity}
              onQuantity={setQuantity}
              system={system}
            />
          )}
        </div>
      </main>
    </EditingContext.Provider>
  );
}

/** 14:35 on the first Tuesday from 17 March on: an open afternoon between the seasons, to begin with. */
function firstInstant(first_weekday: number): number {
  const march17_s = civilSeconds(3, 17, 14, 35) ?? 0;
  const tuesday = 1;
  const days = (tuesday - weekdayOf(Math.floor(march17_s / DAY_S), first_weekday) + 7) % 7;
  return march17_s + days * DAY_S;
}

/** What the plan shows: the scene under the hand, a scene, or the instant; with what the hand would change. */
function lightRequest(
  revision: number,
  at_civil_s: number | null,
  scene: string | null,
  levels: SceneLevels | null,
  edits: Edit[] | null,
  layers: ReadonlySet<Layer>,
): LightRequest | null {
  const what = {
    points: layers.has("points"),
    radio: layers.has("radio"),
    ...(edits === null || edits.length === 0 ? {} : { edits }),
  };
  if (levels !== null) return { revision, scene: levels.scene, levels: levels.levels, ...what };
  if (scene !== null) return { revision, scene, ...what };
  if (at_civil_s === null) return null;
  return { revision, at_civil_s, ...what };
}

function NoSequence({ room, editing, beside }: { room: Room; editing: Editing; beside: ComponentChildren }) {
  const begin = () => {
    if (room.proposal === null) return;
    const first = { space: room.id, on: { by: "hand" } };
    const list = `${room.proposal}/sequences`;
    const edits: Edit[] =
      valueAt(editing.document, list) === undefined
        ? editsToSet(editing.document, list, [first])
        : [{ op: "add", path: `${list}/-`, value: first }];
    void editing.commit(`${room.number}: begin the sequence`, edits);
  };
  return (
    <section class="sequence" aria-labelledby="sequence-heading">
      <h2 id="sequence-heading" class="spoken">
        What the room does
      </h2>
      <p class="say">
        Nothing says yet what this room does.{" "}
        {room.proposal === null ? (
          "The project has no proposal."
        ) : (
          !editing.readOnly && (
            <button type="button" class="action quiet" onClick={begin}>
              begin with light by hand
            </button>
          )
        )}
      </p>
      <div class="views no-print">{beside}</div>
    </section>
  );
}

/** What a group is a group for, in words. */
const STRATEGIES: Readonly<Record<Strategy, string>> = {
  scene: "for scenes",
  occupancy: "for occupancy",
  daylight: "for daylight",
  schedule: "for the schedule",
  demand_response: "for demand response",
  emergency: "for emergency",
};

function Switches({
  room,
  view,
  onView,
  layers,
  onLayers,
  strategy,
  onStrategy,
}: {
  room: Room;
  strategy: Strategy;
  onStrategy: (strategy: Strategy) => void;
  view: View;
  onView: (view: View) => void;
  layers: ReadonlySet<Layer>;
  onLayers: (layers: ReadonlySet<Layer>) => void;
}) {
  const toggle = (layer: Layer) => {
    const next = new Set(layers);
    if (!next.delete(layer)) next.add(layer);
    onLayers(next);
  };
  return (
    <div class="switches no-print">
      {view === "plan" &&
        LAYERS.map((layer) => (
          <span key={layer.id}>
            <button type="button" class="word" title={layer.says} aria-pressed={layers.has(layer.id)} onClick={() => toggle(layer.id)}>
              {layer.word}
            </button>
            {layer.id === "zones" && layers.has("zones") && (
              <select
                class="beside-word"
                aria-label="whose zones"
                value={strategy}
                onChange={(event) => onStrategy(event.currentTarget.value as Strategy)}
              >
                {(Object.keys(STRATEGIES) as Strategy[])
                  .filter((one) => one === strategy || room.groups.some((group) => group.strategy === one))
                  .map((one) => (
                    <option key={one} value={one}>
                      {STRATEGIES[one]}
                    </option>
                  ))}
              </select>
            )}
          </span>
        ))}
      {(["plan", "section", "3d"] as const)
        .filter((other) => other !== view)
        .map((other) => (
          <button key={other} type="button" class="word" onClick={() => onView(other)}>
            {other === "3d" ? "3D" : other}
          </button>
        ))}
    </div>
  );
}

/** The scale of light with its ends, and between which two figures the plan lies. */
function Ramp({
  light,
  system,
  height_m,
}: {
  light: LightAnswer;
  system: "si" | "us";
  height_m: number;
}) {
  const ref = useRef<HTMLCanvasElement>(null);
  useLayoutEffect(() => {
    ref.current?.getContext("2d")?.putImageData(new ImageData(new Uint8ClampedArray(LIGHT_PALETTE_RGBA), 256, 1), 0, 0);
  }, []);
  const unit = system === "us" ? "fc" : "lx";
  const height = system === "us" ? `${Math.round(height_m / 0.0254)} in` : `${height_m} m`;
  const { field, lowest, highest } = light;
  return (
    <span class="ramp">
      {lowest !== null && highest !== null && (
        <span>
          lowest ▿ {formatIlluminanceNumber(lowest.lx, system)}, highest {formatIlluminanceNumber(highest.lx, system)} {unit}
        </span>
      )}
      {formatIlluminanceNumber(field.low_lx, system)}
      <canvas ref={ref} width={256} height={1} aria-hidden="true" />
      {formatIlluminanceNumber(field.high_lx, system)} {unit} at {height}
    </span>
  );
}
