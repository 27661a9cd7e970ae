// Places for a photosensor: the map over the plan, and the line that says what it shows.
import { useLayoutEffect, useRef } from "preact/hooks";
import type { PhotosensorPlace, PhotosensorPlaces, PlanPoint, Problem, Room } from "../api/contract";
import { inSentences } from "../app/api";
import type { PlacesState } from "../app/places";
import { type Json, valueAt } from "../app/pointer";
import { cssColour, heldColour } from "../look/scale";
import { UNIT_SPACE, percent, rounded } from "../units/figures";
import { type UnitSystem, formatIlluminance, formatLength } from "../units/system";
import { LOOP_TERMS } from "./governed_task";
import { ARROWS } from "./keys";
import { pure } from "./pure";
import { type View, screenFromPlan } from "./view";
import { placeWords } from "./words";
import "./places.css";

// One scale for all rooms, so that a colour means the same wherever it is seen: from what the eye does not notice to a
// task that misses half of its target.
const FINE = 0.02;
const COARSE = 0.5;

/** Place of a figure on the scale of colours: 1 where light is held, 0 where it is not; logarithmic between. */
export function heldPosition(rms: number): number {
  if (!(rms > FINE)) return 1;
  return Math.max(0, 1 - Math.log(rms / FINE) / Math.log(COARSE / FINE));
}

/** "6.2 %": two digits, as many as the year's chance leaves them. */
export function ofTarget(share: number): string {
  const shown = 100 * share;
  return `${rounded(shown, shown < 9.95 ? -1 : 0)}${UNIT_SPACE}%`;
}

/** Three figures of a place in words. */
export function figuresInWords(place: PhotosensorPlace): string {
  const held = `${ofTarget(place.rms)} of target off (root mean square)`;
  const over = `${ofTarget(place.over)} too much on average`;
  const under = `under 90${UNIT_SPACE}% in ${ofTarget(place.under_share)} of the hours`;
  return `${place.usable ? "" : "cannot be set up here, so nothing dims: "}${held}, ${over}, ${under}`;
}

export interface RuleChoice {
  rule: number;
  words: string;
  /** Ids in the room; as the document writes them where it has no such device or area. */
  photosensor: string;
  task_area: string;
}

/** The daylight rules of a room's sequence by group and task. */
export function rulesOf(document: Json, room: Room): RuleChoice[] {
  const list = room.sequence === null ? undefined : valueAt(document, `${room.sequence.pointer}/daylight`);
  if (!Array.isArray(list)) return [];
  return list.map((one, rule) => {
    const field = (name: string) => {
      const value = typeof one === "object" && one !== null && !Array.isArray(one) ? one[name] : undefined;
      return typeof value === "string" ? value : "";
    };
    // Ids of a typical gain the room's in front.
    const is = (id: string, name: string) => id === name || id.endsWith(`.${name}`);
    const group = room.groups.find((g) => g.strategy === "daylight" && is(g.id, field("group")));
    const task = room.task_areas.find((t) => is(t.id, field("task_area")));
    const sensor = room.devices.find((d) => d.kind === "photosensor" && is(d.id, field("photosensor")));
    return {
      rule,
      words: `${group?.name || field("group")}, held on ${task?.name || field("task_area")}`,
      photosensor: sensor?.id ?? field("photosensor"),
      task_area: task?.id ?? field("task_area"),
    };
  });
}

/** Why there is nothing to try, or "". */
export function whyNoPlaces(room: Room, rules: readonly RuleChoice[]): string {
  if (room.openings.length === 0) return "The room has no glass: no daylight reaches it, and a photosensor has nothing to answer to.";
  if (rules.length === 0) return "The room has no daylight rule: say in its sequence which group lowers with daylight, and on which task it holds the light.";
  return "";
}

interface LayerProps {
  places: PhotosensorPlaces;
  room: Room;
  view: View;
  system: UnitSystem;
  /** Index of the place under the hand or in focus. */
  reading: number | null;
  onRead: (index: number | null) => void;
}

/** The place next in a direction, or the same. */
export function nextPlace({ places, spacing_m }: PhotosensorPlaces, from: number, [dx, dy]: readonly [number, number]): number {
  const here = places[from]!.at;
  let best = { index: from, cost: Infinity };
  places.forEach(({ at }, index) => {
    const ahead = (at[0] - here[0]) * dx + (at[1] - here[1]) * dy;
    const aside = Math.abs((at[0] - here[0]) * dy) + Math.abs((at[1] - here[1]) * dx);
    const cost = ahead + 2 * aside;
    if (ahead > 0.5 * spacing_m && aside <= ahead && cost < best.cost) best = { index, cost };
  });
  return best.index;
}

/** The place whose cell holds a point of the plan, or null. */
export function placeAt({ places, spacing_m }: PhotosensorPlaces, [x, y]: PlanPoint): number | null {
  const half = 0.5 * spacing_m;
  const index = places.findIndex(({ at }) => Math.abs(at[0] - x) <= half && Math.abs(at[1] - y) <= half);
  return index < 0 ? null : index;
}

/** The map. Cells are places; those where the sensor cannot be set up are crossed. */
export const PlacesLayer = pure(({ places, room, view, system, reading, onRead }: LayerProps) => {
  const side = places.spacing_m * view.px_per_m;
  const stop = reading !== null && reading < places.places.length ? reading : (places.best ?? 0);
  const onKeyDown = (event: KeyboardEvent) => {
    const by = ARROWS[event.key];
    if (by === undefined) return;
    // The plan's own arrows go from object to object.
    event.preventDefault();
    event.stopPropagation();
    const next = nextPlace(places, stop, by);
    const list = (event.currentTarget as Element).querySelectorAll<SVGElement>('[role="option"]');
    list[next]?.focus({ preventScroll: true });
  };
  return (
    <g class="places" role="listbox" aria-label="Places for a photosensor" onKeyDown={onKeyDown}>
      {places.places.map((place, i) => {
        const { x_px, y_px } = screenFromPlan(view, place.at);
        return (
          <g
            key={i}
            class={`place${i === reading ? " reading" : ""}`}
            role="option"
            tabindex={i === stop ? 0 : -1}
            aria-selected={i === places.best}
            aria-label={`${i === places.best ? "best place, " : ""}${placeWords(room, place.at, system)}: ${figuresInWords(place)}`}
            onFocus={() => onRead(i)}
          >
            <rect x={x_px - side / 2} y={y_px - side / 2} width={side + 0.5} height={side + 0.5} fill={cssColour(heldColour(heldPosition(place.rms)))} />
            {!place.usable && <path d={`M${x_px - 3} ${y_px - 3}l6 6m0 -6l-6 6`} />}
          </g>
        );
      })}
    </g>
  );
});

/** The best place, where it is better than the one that is taken. */
export function betterPlace({ places, best, present }: PhotosensorPlaces): PhotosensorPlace | null {
  const place = best === null ? null : places[best]!;
  return place !== null && (present === null || !present.usable || place.rms < present.rms) ? place : null;
}

const LINE_PX = 14;

/** The best place and the sensor that hangs, marked over everything else. */
export const PlaceMarks = pure(({ places, view, ofPresent }: {
  places: PhotosensorPlaces;
  view: View;
  /** What is said of the sensor that hangs beside its figure, or "". */
  ofPresent: string;
}) => {
  const best = betterPlace(places);
  const mark = (place: PhotosensorPlace, words: readonly string[], above: boolean) => {
    const { x_px, y_px } = screenFromPlan(view, place.at);
    const first = above ? -18 - LINE_PX * (words.length - 1) : 27;
    return (
      <>
        <circle cx={x_px} cy={y_px} r="13" />
        {words.map((line, i) => (
          <text key={i} x={x_px} y={y_px + first + LINE_PX * i} text-anchor="middle">
            {line}
          </text>
        ))}
      </>
    );
  };
  const { present } = places;
  return (
    <g class="place-marks" aria-hidden="true">
      {best !== null && <g class="best">{mark(best, [`best place ${ofTarget(best.rms)}`], present === null || best.at[1] >= present.at[1])}</g>}
      {present !== null && <g class="present">{mark(present, [`hangs here ${ofTarget(present.rms)}`, ...(ofPresent === "" ? [] : [ofPresent])], best !== null && best.at[1] < present.at[1])}</g>}
    </g>
  );
});

/** What the map shows, its legend, and how its work goes on. */
export function PlacesLine({
  room,
  rules,
  rule,
  onRule,
  state,
  revision,
  reading,
  year,
  system,
}: {
  room: Room;
  rules: readonly RuleChoice[];
  rule: number;
  onRule: (rule: number) => void;
  state: PlacesState;
  revision: number;
  reading: number | null;
  /** What the rule makes of the year, in words. */
  year: string;
  system: UnitSystem;
}) {
  const why = whyNoPlaces(room, rules);
  if (why !== "")
    return (
      <p class="places-line" role="status">
        {why}
      </p>
    );
  const { answer, progress, problem, stopped } = state;
  const isOld = answer !== null && answer.revision !== revision;
  return (
    <div class="places-line">
      {rules.length > 1 && (
        <label>
          photosensor of{" "}
          <select value={String(rule)} onChange={(e) => onRule(Number(e.currentTarget.value))}>
            {rules.map((r) => (
              <option key={r.rule} value={String(r.rule)}>
                {r.words}
              </option>
            ))}
          </select>
        </label>
      )}
      {progress !== null && (
        <span role="status">
          {progress.total === 0 ? "begins to try places" : `tried ${progress.done} of ${progress.total} places`}{" "}
          <button type="button" class="word" onClick={state.stop}>
            stop
          </button>
        </span>
      )}
      {progress === null && (stopped || isOld || problem !== null) && (
        <span>
          {problem === null && (isOld ? `These are of revision ${answer.revision}.` : answer === null ? "Stopped." : "")}{" "}
          <button type="button" class="word again" onClick={state.again}>
            {answer === null ? "try the places" : `try them in revision ${revision}`}
          </button>
        </span>
      )}
      {problem !== null && <Wrong problem={problem} />}
      {year !== "" && <p title={LOOP_TERMS}>{year}</p>}
      {answer !== null && <Figures answer={answer} room={room} reading={reading} system={system} isOld={isOld} />}
    </div>
  );
}

function Wrong({ problem }: { problem: Problem }) {
  return (
    <span class="bad" role="alert">
      {inSentences(problem)}
    </span>
  );
}

function Figures({ answer, room, reading, system, isOld }: { answer: PhotosensorPlaces; room: Room; reading: number | null; system: UnitSystem; isOld: boolean }) {
  const best = betterPlace(answer);
  const { present } = answer;
  const place = reading === null ? undefined : answer.places[reading];
  return (
    <p class={isOld ? "old" : ""} title={`Over ${rounded(answer.hours, 0)} open daylit hours of the room's year; places ${formatLength(answer.spacing_m, system)} apart; at night the task has ${formatIlluminance(answer.night_lx, system)}, its target is ${formatIlluminance(answer.target_lx, system)}.`}>
      {place !== undefined ? (
        <>
          <b>{placeWords(room, place.at, system)}</b>: {figuresInWords(place)}.
        </>
      ) : (
        <>
          {present !== null && (
            <>
              <b>Where it hangs</b>: {figuresInWords(present)}.{" "}
            </>
          )}
          {best !== null ? (
            <>
              <b>Best place</b>, {placeWords(room, best.at, system)}: {figuresInWords(best)}.
            </>
          ) : present !== null && present.usable ? (
            "No place that was tried is better."
          ) : (
            "Nowhere on the ceiling can it be set up."
          )}
        </>
      )}
    </p>
  );
}

/** The scale with its ends and its unit. */
export function PlacesScale() {
  const ref = useRef<HTMLCanvasElement>(null);
  useLayoutEffect(() => {
    const context = ref.current?.getContext("2d") ?? null;
    if (context === null) return;
    for (let i = 0; i < 128; i += 1) {
      context.fillStyle = cssColour(heldColour(1 - i / 127));
      context.fillRect(i, 0, 1, 1);
    }
  }, []);
  return (
    <span class="ramp places-scale">
      {percent(FINE)} or less
      <canvas ref={ref} width={128} height={1} aria-hidden="true" />
      {percent(COARSE)} of target, root mean square
    </span>
  );
}
