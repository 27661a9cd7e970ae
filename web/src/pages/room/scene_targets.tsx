// What the scene that the plan shows is for: targets on task areas. While one is dragged the service finds the levels
// that hold it at least power and the plan follows; letting go saves target and levels as one change.
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Edit, Pointer, Room, SceneLevelsAnswer, SceneLevelsRequest, SceneTarget } from "../../api/contract";
import { inSentences, isAbort, problemOf } from "../../app/api";
import { type Asker, latestOnly } from "../../app/light";
import { type Json, valueAt } from "../../app/pointer";
import { UNIT_SPACE } from "../../units/figures";
import { type UnitSystem, formatIlluminance } from "../../units/system";
import { type SceneLevels, levelEdits } from "./scenes";

const LX_PER_FC = 10.7639104167;
/** Between two places of a slider, lx. */
const STEP_LX = 5;
const MOST_LX = 1500;

export interface TargetsAsked {
  system: UnitSystem;
  answer: (request: Omit<SceneLevelsRequest, "revision">, signal: AbortSignal) => Promise<SceneLevelsAnswer>;
}

type Quantity = "least" | "most" | "uniformity" | "contrast";
const QUANTITIES: { key: Quantity; of: (target: SceneTarget) => number | null; words: string }[] = [
  { key: "least", of: (t) => t.least_lx, words: "at least" },
  { key: "most", of: (t) => t.most_lx, words: "at most" },
  { key: "uniformity", of: (t) => t.uniformity, words: "uniformity at least" },
  { key: "contrast", of: (t) => t.contrast, words: "contrast at least" },
];
const isLight = (key: Quantity) => key === "least" || key === "most";

/** A value in the form in which the document has it: "150 lx", "15 fc", 0.6. */
export function targetValue(before: Json | undefined, key: Quantity, value: number): Json {
  if (!isLight(key)) return Number(value.toFixed(2));
  if (typeof before === "string" && /fc\s*$/.test(before)) return `${(value / LX_PER_FC).toFixed(1)} fc`;
  return `${Math.round(value)} lx`;
}

/** The edit that gives a target of a scene another value. */
export function targetEdit(document: Json, target: SceneTarget, key: Quantity, value: number): Edit {
  const path = `${target.pointer}/${key}`;
  return { op: "replace", path, value: targetValue(valueAt(document, path), key, value) };
}

/** The edits that store the levels that were found. */
export function foundLevelEdits(document: Json, scene: Room["scenes"][number], answer: SceneLevelsAnswer): Edit[] {
  const edits: Edit[] = [];
  let hasList = valueAt(document, `${scene.pointer}/levels`) !== undefined;
  for (const { group, level, before } of answer.levels ?? []) {
    if (level.toFixed(2) === before.toFixed(2)) continue;
    const stored = scene.levels.find((l) => l.group === group);
    const entry = { group, level };
    if (stored !== undefined) edits.push(...levelEdits(document, scene.pointer, stored.pointer, group, level));
    else edits.push(hasList ? { op: "add", path: `${scene.pointer}/levels/-`, value: entry } : { op: "add", path: `${scene.pointer}/levels`, value: [entry] });
    hasList = true;
  }
  return edits;
}

interface Props {
  room: Room;
  scene: Room["scenes"][number];
  document: Json;
  readOnly: boolean;
  asked: TargetsAsked;
  onLevels: (levels: SceneLevels | null) => void;
  onCommit: (label: string, edits: Edit[], pointer: Pointer) => Promise<unknown>;
}

interface Question {
  edits: Edit[];
  /** Save target and levels once they are found, under this label. */
  label: string | null;
}

export function SceneTargets(props: Props) {
  const { room, scene, document, asked } = props;
  const [hand, setHand] = useState<{ pointer: Pointer; key: Quantity; value: number } | null>(null);
  const [answer, setAnswer] = useState<SceneLevelsAnswer | null>(null);
  const [problem, setProblem] = useState("");
  const now = useRef(props);
  now.current = props;
  const asker = useRef<Asker<Question> | null>(null);
  useEffect(() => {
    const mine = latestOnly<Question, SceneLevelsAnswer>(
      ({ edits }, signal) => now.current.asked.answer({ scene: scene.id, edits }, signal),
      (found, question) => {
        setProblem("");
        setAnswer(found);
        const { onLevels, onCommit } = now.current;
        if (question.label === null) {
          onLevels(found.levels === undefined ? null : { scene: scene.id, levels: Object.fromEntries(found.levels.map((l) => [l.group, l.level])) });
          return;
        }
        const edits = [...question.edits, ...foundLevelEdits(now.current.document, now.current.scene, found)];
        void onCommit(question.label, edits, edits[0]?.path ?? scene.pointer).then(() => {
          setHand(null);
          onLevels(null);
        });
      },
      (error) => {
        if (isAbort(error)) return;
        setProblem(inSentences(problemOf(error)));
        setHand(null);
        now.current.onLevels(null);
      },
    );
    asker.current = mine;
    return () => mine.stop();
  }, [scene.id]);
  // Another revision has other levels. Before the next event: an answer for it stays.
  useLayoutEffect(() => setAnswer(null), [room.revision]);

  const shownAs = (key: Quantity, value: number) => (isLight(key) ? formatIlluminance(value, asked.system) : String(Number(value.toFixed(2))));
  const begin = (label: string | null, edits: Edit[]) => asker.current?.ask({ edits, label });
  const rows = scene.targets.flatMap((target) =>
    QUANTITIES.flatMap(({ key, of, words }) => {
      const stored = of(target);
      return stored === null ? [] : [{ target, key, words, stored }];
    }),
  );
  const others = room.task_areas.filter((task) => !scene.targets.some((target) => target.task_area === task.id));
  return (
    <div class="scene-targets" aria-label={`what the scene ${scene.name} is for`} role="group">
      {rows.map(({ target, key, words, stored }) => {
        const held = hand !== null && hand.pointer === target.pointer && hand.key === key ? hand.value : stored;
        const label = `${target.name}, ${words}`;
        return (
          <label key={`${target.pointer}/${key}`}>
            <span>{label}</span>
            <input
              type="range"
              min={key === "contrast" ? 1 : 0}
              max={isLight(key) ? MOST_LX : key === "contrast" ? 100 : 1}
              step={isLight(key) ? STEP_LX : key === "contrast" ? 1 : 0.05}
              value={held}
              disabled={props.readOnly}
              aria-valuetext={shownAs(key, held)}
              onInput={(event) => {
                const value = Number(event.currentTarget.value);
                setHand({ pointer: target.pointer, key, value });
                begin(null, [targetEdit(document, target, key, value)]);
              }}
              onChange={(event) => {
                const value = Number(event.currentTarget.value);
                begin(`${room.number}: scene ${scene.name}, ${label} ${shownAs(key, value).replace(UNIT_SPACE, " ")}`, [
                  targetEdit(document, target, key, value),
                ]);
              }}
            />
            <em>{shownAs(key, held)}</em>
          </label>
        );
      })}
      {answer !== null && <Found answer={answer} />}
      {problem !== "" && (
        <p class="bad" role="alert">
          {problem}
        </p>
      )}
      {!props.readOnly && (
        <p class="rows">
          {rows.length > 0 && (
            <button type="button" class="word" onClick={() => begin(`${room.number}: levels of scene ${scene.name} at least power`, [])}>
              find its levels
            </button>
          )}
          {others.length > 0 && (
            <select
              aria-label={`a target for scene ${scene.name}`}
              value=""
              onChange={(event) => {
                const task = others.find((one) => one.id === event.currentTarget.value);
                if (task === undefined) return;
                const value = { task_area: task.id, least: `${Math.round(task.target_lx)} lx` };
                const list = `${scene.pointer}/targets`;
                void props.onCommit(
                  `${room.number}: scene ${scene.name} is to light ${task.name || task.id}`,
                  [valueAt(document, list) === undefined ? { op: "add", path: list, value: [value] } : { op: "add", path: `${list}/-`, value }],
                  scene.pointer,
                );
              }}
            >
              <option value="">{rows.length === 0 ? "say what it is for …" : "and for …"}</option>
              {others.map((task) => (
                <option key={task.id} value={task.id}>
                  {task.name || task.id}
                </option>
              ))}
            </select>
          )}
        </p>
      )}
    </div>
  );
}

/** What the levels come to, or what stands in the way. */
function Found({ answer }: { answer: SceneLevelsAnswer }) {
  const watts = (w: number) => `${Math.round(w)}${UNIT_SPACE}W`;
  if (answer.at_odds !== undefined)
    return (
      <div class="bad" role="status">
        No levels hold all of it. In each other’s way:
        <ul>
          {answer.at_odds.map(({ demand, attainable_words }) => (
            <li key={demand}>
              {answer.demands[demand]?.words}: beside the others of these it comes to {attainable_words}
            </li>
          ))}
        </ul>
      </div>
    );
  return (
    <div role="status">
      {watts(answer.power_w ?? 0)} in place of {watts(answer.before_w)}
      {answer.power_gap_w === 0 ? ", and no levels on steps of 5 % that hold it draw less" : ""}.
      <ul>
        {answer.demands.map((demand) => (
          <li key={demand.words}>
            {demand.words}: {demand.reached_words}
            {(demand.price_w ?? 0) > 0 && demand.asked > 1 ? `; 10 lx of it cost ${(10 * (demand.price_w ?? 0)).toFixed(1)}${UNIT_SPACE}W` : ""}
          </li>
        ))}
      </ul>
    </div>
  );
}
