// The stored scenes, level by level, and what stands now, which is another thing. A level is dragged: the plan
// follows, and letting go saves one change.
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Edit, Pointer, Room, WhyAnswer } from "../../api/contract";
import { type Json, valueAt } from "../../app/pointer";
import { letterOf } from "../../plan/objects";
import { UNIT_SPACE, percent } from "../../units/figures";
import { formatValue } from "../../units/system";
import { SceneBehaviour } from "./scene_behaviour";
import { SceneTargets, type TargetsAsked } from "./scene_targets";

export interface SceneLevels {
  scene: string;
  levels: Record<string, number>;
}

interface ScenesProps {
  room: Room;
  document: Json;
  now: WhyAnswer | null;
  /** Input power of stored scenes by name, W, as studied. */
  power_w: ReadonlyMap<string, number>;
  /** Power of the light that the plan shows now. */
  shown_w: number | null;
  /** The scene that the plan shows, or null: the instant. */
  shown: string | null;
  readOnly: boolean;
  onShow: (scene: string | null) => void;
  /** How what a scene is for is asked; null: the document cannot be computed with. */
  targets: TargetsAsked | null;
  /** Levels while the hand is on them; null: let go. */
  onLevels: (levels: SceneLevels | null) => void;
  onCommit: (label: string, edits: Edit[], pointer: Pointer) => Promise<unknown>;
}

export function Scenes(props: ScenesProps) {
  const { room, document, now } = props;
  const groups = room.groups.filter((group) => group.strategy === "scene");
  const [hand, setHand] = useState<{ scene: string; group: string; level: number } | null>(null);
  // Levels that are found for the targets of a scene while the hand is on them.
  const [tried, setTried] = useState<SceneLevels | null>(null);
  if (room.scenes.length === 0 && groups.length === 0) return null;
  const level = (scene: string, group: string, stored: number | null) =>
    tried?.scene === scene ? (tried.levels[group] ?? stored) : stored;
  const shownScene = room.scenes.find((scene) => scene.id === props.shown);

  const commit = async (scene: Room["scenes"][number], group: Room["groups"][number], level: number) => {
    const stored = scene.levels.find((l) => l.group === group.id);
    const edits = levelEdits(document, scene.pointer, stored?.pointer ?? null, group.id, level);
    await props.onCommit(
      `${room.number}: scene ${scene.name}, ${group.name || group.id} ${percent(level).replace(UNIT_SPACE, " ")}`,
      edits,
      stored?.pointer ?? scene.pointer,
    );
    setHand(null);
    props.onLevels(null);
  };
  const power = (scene: Room["scenes"][number]) => {
    const watts =
      (props.shown === scene.id || hand?.scene === scene.id) && props.shown_w !== null
        ? props.shown_w
        : props.power_w.get(scene.name);
    return watts === undefined ? "" : formatValue(watts, "", "si");
  };
  return (
    <section aria-labelledby="scenes-heading">
      <h2 id="scenes-heading">Scenes</h2>
      <table class="scenes figures">
        <thead>
          <tr>
            <th scope="col">
              <span class="spoken">scene</span>
            </th>
            {groups.map((group) => (
              <th scope="col" key={group.id} title={group.name || group.id}>
                {letterOf(group)}
              </th>
            ))}
            <th scope="col" class="w">
              W
            </th>
          </tr>
        </thead>
        <tbody>
          {room.scenes.map((scene) => (
            <tr key={scene.id} class={props.shown === scene.id ? "shown" : ""}>
              <th scope="row">
                <button
                  type="button"
                  class="word"
                  aria-pressed={props.shown === scene.id}
                  title={`${scene.name}${scene.id === room.normal_scene ? ", the scene that stands when nothing else does" : ""}: show it on the plan`}
                  onClick={() => props.onShow(props.shown === scene.id ? null : scene.id)}
                >
                  {scene.name}
                </button>
              </th>
              {groups.map((group) => {
                const held = hand?.scene === scene.id && hand.group === group.id ? hand.level : null;
                const stored = scene.levels.find((l) => l.group === group.id)?.level ?? null;
                return (
                  <td key={group.id}>
                    <Level
                      name={`${scene.name}, ${group.name || group.id}`}
                      level={held ?? level(scene.id, group.id, stored)}
                      readOnly={props.readOnly}
                      onLevel={(level) => {
                        setHand(level === null ? null : { scene: scene.id, group: group.id, level });
                        props.onLevels(level === null ? null : { scene: scene.id, levels: { [group.id]: level } });
                      }}
                      onCommit={(level) => void commit(scene, group, level)}
                    />
                  </td>
                );
              })}
              <td class="w">{power(scene)}</td>
            </tr>
          ))}
          {now !== null && (
            <tr class="now">
              <th scope="row">now</th>
              {groups.map((group) => {
                const stands = standing(now, group.id);
                return (
                  <td key={group.id}>
                    {stands !== null && (
                      <span class="level stands">
                        <i style={{ width: `${100 * stands.high}%` }} />
                        <em>
                          {levelNumber(stands.low) === levelNumber(stands.high)
                            ? levelInWords(stands.high)
                            : `${levelNumber(stands.low)}–${levelNumber(stands.high)}`}
                        </em>
                      </span>
                    )}
                  </td>
                );
              })}
              <td class="w">{formatValue(now.groups.reduce((sum, g) => sum + g.power_w, 0), "", "si")}</td>
            </tr>
          )}
        </tbody>
      </table>
      <p class="note">Per cent of trimmed full output. Drag a level: the plan follows. “Now” is what stands at the instant.</p>
      {shownScene !== undefined && shownScene.id !== room.normal_scene && (
        <SceneBehaviour
          key={`${shownScene.id} behaviour`}
          room={room}
          scene={shownScene}
          document={document}
          readOnly={props.readOnly}
          onCommit={props.onCommit}
        />
      )}
      {shownScene !== undefined && props.targets !== null && (
        <SceneTargets
          key={shownScene.id}
          room={room}
          scene={shownScene}
          document={document}
          readOnly={props.readOnly}
          asked={props.targets}
          onLevels={(levels) => {
            setTried(levels);
            props.onLevels(levels);
          }}
          onCommit={props.onCommit}
        />
      )}
    </section>
  );
}

/** Least and greatest level of a group at the instant: daylight may hold its parts apart. */
export function standing(now: WhyAnswer, group: string): { low: number; high: number } | null {
  const levels = now.groups.filter((g) => g.id === group).map((g) => g.level);
  return levels.length === 0 ? null : { low: Math.min(...levels), high: Math.max(...levels) };
}

const levelInWords = (level: number) => (level === 0 ? "off" : levelNumber(level));
const levelNumber = (level: number) => String(Math.round(100 * level));

/** Edits that store a level, in the form in which the document has it: 0.8 or "80 %". */
export function levelEdits(
  document: Json,
  scene: Pointer,
  stored: Pointer | null,
  group: string,
  level: number,
): Edit[] {
  const value = Number(level.toFixed(2));
  if (stored === null) {
    const levels = valueAt(document, `${scene}/levels`);
    const entry = { group, level: value };
    return levels === undefined
      ? [{ op: "add", path: `${scene}/levels`, value: [entry] }]
      : [{ op: "add", path: `${scene}/levels/-`, value: entry }];
  }
  const before = valueAt(document, stored);
  if (typeof before === "number" && before.toFixed(2) === value.toFixed(2)) return [];
  return [{ op: "replace", path: stored, value: typeof before === "string" ? `${Math.round(100 * value)} %` : value }];
}

/** After the last key a level stands so long before it is saved: a run of keys is one change. */
const KEYS_MS = 900;

function Level({
  name,
  level,
  readOnly,
  onLevel,
  onCommit,
}: {
  name: string;
  /** null: the scene leaves this group as it stands. */
  level: number | null;
  readOnly: boolean;
  onLevel: (level: number | null) => void;
  onCommit: (level: number) => void;
}) {
  const ref = useRef<HTMLSpanElement>(null);
  const keyed = useRef<{ level: number; timer: ReturnType<typeof setTimeout> } | null>(null);
  useLayoutEffect(() => () => clearTimeout(keyed.current?.timer), []);
  const bar = (
    <>
      <i style={{ width: `${100 * (level ?? 0)}%` }} />
      <em>{level === null ? "keeps" : levelInWords(level)}</em>
    </>
  );
  if (readOnly) return <span class="level">{bar}</span>;

  const drag = (down: PointerEvent & { currentTarget: HTMLElement }) => {
    if (down.button !== 0) return;
    const target = down.currentTarget;
    const { left, width } = target.getBoundingClientRect();
    const begin = level;
    let now = begin;
    target.setPointerCapture(down.pointerId);
    const at = (event: PointerEvent) => Math.round(100 * Math.min(1, Math.max(0, (event.clientX - left) / width))) / 100;
    const move = (event: PointerEvent) => {
      if (now === begin && Math.abs(event.clientX - down.clientX) < 3) return;
      now = event.shiftKey ? Math.round(at(event) * 20) / 20 : at(event);
      onLevel(now);
    };
    const end = (keep: boolean) => {
      target.removeEventListener("pointermove", move);
      target.removeEventListener("pointerup", up);
      target.removeEventListener("pointercancel", cancel);
      removeEventListener("keydown", escape, true);
      if (keep && now !== null && now !== begin) onCommit(now);
      else onLevel(null);
    };
    const up = () => end(true);
    const cancel = () => end(false);
    const escape = (event: KeyboardEvent) => {
      if (event.key === "Escape") end(false);
    };
    target.addEventListener("pointermove", move);
    target.addEventListener("pointerup", up);
    target.addEventListener("pointercancel", cancel);
    addEventListener("keydown", escape, true);
  };
  const finishKeys = (keep: boolean) => {
    const pending = keyed.current;
    if (pending === null) return;
    clearTimeout(pending.timer);
    keyed.current = null;
    if (keep) onCommit(pending.level);
    else onLevel(null);
  };
  const onKeyDown = (event: KeyboardEvent) => {
    const from = keyed.current?.level ?? level ?? 0;
    const steps: Record<string, number> = {
      ArrowRight: 0.01,
      ArrowUp: 0.01,
      ArrowLeft: -0.01,
      ArrowDown: -0.01,
      PageUp: 0.1,
      PageDown: -0.1,
      Home: -1,
      End: 1,
    };
    const step = steps[event.key];
    if (step !== undefined) {
      const next = Math.min(1, Math.max(0, Math.round(100 * (from + step)) / 100));
      clearTimeout(keyed.current?.timer);
      keyed.current = { level: next, timer: setTimeout(() => finishKeys(true), KEYS_MS) };
      onLevel(next);
    } else if (event.key === "Enter") finishKeys(true);
    else if (event.key === "Escape") finishKeys(false);
    else return;
    event.preventDefault();
  };
  return (
    <span
      ref={ref}
      class="level"
      role="slider"
      tabIndex={0}
      aria-label={name}
      aria-valuemin={0}
      aria-valuemax={100}
      aria-valuenow={Math.round(100 * (level ?? 0))}
      aria-valuetext={level === null ? "keeps what stands" : level === 0 ? "off" : `${levelNumber(level)} per cent`}
      onPointerDown={drag}
      onKeyDown={onKeyDown}
      onBlur={() => finishKeys(true)}
    >
      {bar}
    </span>
  );
}
