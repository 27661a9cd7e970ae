// What another value of one thing in the room's sequence would make of it: a small curve, asked for when it is opened
// and stopped when nobody looks.
import { useEffect, useRef, useState } from "preact/hooks";
import type { Problem, Room, WhatIf as Answer, WhatIfVariant } from "../../api/contract";
import { inSentences, listen } from "../../app/api";
import { type Json, valueAt } from "../../app/pointer";
import { api } from "../../app/service";
import { UNIT_SPACE } from "../../units/figures";
import { type UnitSystem, formatInterval, formatResult } from "../../units/system";

interface Varied {
  what: string;
  words: string;
  /** Where the value stands in the sequence; the first daylight rule stands for all. */
  at: string;
  /** The rule that must be there. */
  rule: string;
  values: string[];
}
export const VARIED: readonly Varied[] = [
  { what: "delay", words: "delay after the last movement", at: "/vacancy/delay", rule: "/vacancy", values: ["5 min", "10 min", "15 min", "20 min", "30 min"] },
  { what: "vacancy-level", words: "level of the empty room", at: "/vacancy/step_level", rule: "/vacancy", values: ["0", "0.1", "0.2", "0.3", "0.5"] },
  { what: "trim", words: "high-end trim", at: "/trim/high", rule: "/trim", values: ["0.5", "0.6", "0.7", "0.8", "0.9", "1"] },
  { what: "daylight-minimum", words: "lowest level by daylight", at: "/daylight/0/minimum_level", rule: "/daylight/0", values: ["0.05", "0.1", "0.2", "0.3"] },
];

/** What of these a room's sequence has. */
export function variedIn(document: Json, room: Room): Varied[] {
  if (room.sequence === null) return [];
  const sequence = room.sequence.pointer;
  return VARIED.filter((one) => valueAt(document, `${sequence}${one.rule}`) !== undefined);
}

/** A value as people say it: "20 %" for a share. */
export const spoken = (value: string): string => (/^[0-9.]+$/.test(value) ? `${Math.round(100 * Number(value))}${UNIT_SPACE}%` : value);

const WIDTH = 250;
const HEIGHT = 84;
const PAD = 9;

/** The variants from left to right, the most energy at the top, none at the foot. */
export function placed(variants: readonly WhatIfVariant[]): { x: number; y: number; low: number; high: number }[] {
  const most = Math.max(1e-9, ...variants.map((v) => v.kwh.high));
  const y = (kwh: number) => HEIGHT - PAD - (kwh / most) * (HEIGHT - 2 * PAD);
  return variants.map((v, i) => ({
    x: variants.length === 1 ? WIDTH / 2 : PAD + (i * (WIDTH - 2 * PAD)) / (variants.length - 1),
    y: y(v.kwh.mean),
    low: y(v.kwh.low),
    high: y(v.kwh.high),
  }));
}

interface Props {
  project: string;
  room: Room;
  document: Json;
  /** Null: the document cannot be computed with. */
  revision: number | null;
  system: UnitSystem;
}

export function WhatIf({ project, room, document, revision, system }: Props) {
  const [open, setOpen] = useState(false);
  const varied = variedIn(document, room);
  const [what, setWhat] = useState("");
  const chosen = varied.find((one) => one.what === what) ?? varied[0];
  if (chosen === undefined) return null;
  return (
    <details class="told what-if" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>What if another value stood in the sequence</summary>
      {open && (
        <>
          <select aria-label="what is varied" value={chosen.what} onChange={(event) => setWhat(event.currentTarget.value)}>
            {varied.map((one) => (
              <option key={one.what} value={one.what}>
                {one.words}
              </option>
            ))}
          </select>
          {revision !== null && <Curve key={`${revision} ${chosen.what}`} project={project} room={room} document={document} revision={revision} varied={chosen} system={system} />}
        </>
      )}
    </details>
  );
}

function Curve({ project, room, document, revision, varied, system }: Omit<Props, "revision"> & { revision: number; varied: Varied }) {
  const [answer, setAnswer] = useState<Answer | null>(null);
  const [progress, setProgress] = useState<{ done: number; total: number } | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const over = useRef(() => {});
  useEffect(() => {
    const part = encodeURIComponent;
    const path = `projects/${part(project)}/rooms/${part(room.id)}/what_if?revision=${revision}&what=${varied.what}&values=${part(varied.values.join(","))}`;
    const end = listen(
      path,
      {
        progress: (data) => setProgress(data as { done: number; total: number }),
        done: (data) => {
          end();
          setAnswer(data as Answer);
        },
        failed: (data) => {
          end();
          setProblem((data as { error: Problem }).error);
        },
      },
      () => {},
      () => void api.whyNoStream(path).then((why) => setProblem(why)),
    );
    over.current = end;
    return () => over.current();
  }, []);
  if (problem !== null)
    return (
      <p class="bad" role="alert">
        {inSentences(problem)}
      </p>
    );
  if (answer === null)
    return (
      <p class="soft" role="status">
        {varied.values.length} values in the same building-years{progress !== null && progress.total > 0 ? `, ${progress.done} of ${progress.total}` : ""} …
      </p>
    );
  const stands = valueAt(document, `${room.sequence?.pointer ?? ""}${varied.at}`);
  const isStanding = (value: string) => String(stands) === value || (typeof stands === "number" && Number(value) === stands);
  const points = placed(answer.variants);
  const kwh = (v: WhatIfVariant) => formatResult(v.kwh.mean, v.kwh.low, v.kwh.high, "", system);
  return (
    <>
      <svg class="what-if-curve" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} aria-hidden="true">
        <line class="axis" x1={PAD} x2={WIDTH - PAD} y1={HEIGHT - PAD} y2={HEIGHT - PAD} />
        {points.map((p, i) => (
          <line key={i} class="interval" x1={p.x} x2={p.x} y1={p.low} y2={p.high} />
        ))}
        <polyline points={points.map((p) => `${p.x},${p.y}`).join(" ")} />
        {points.map((p, i) => (
          <circle key={i} cx={p.x} cy={p.y} r={isStanding(answer.variants[i]!.value) ? 4.5 : 3} class={answer.variants[i]!.does_not_stand.length > 0 ? "refused" : ""} />
        ))}
      </svg>
      <table class="figures">
        <thead>
          <tr>
            <th scope="col">{varied.words}</th>
            <th scope="col">kWh a year</th>
            <th scope="col">too dark, h</th>
            <th scope="col">light taken</th>
          </tr>
        </thead>
        <tbody>
          {answer.variants.map((v) => (
            <tr key={v.value}>
              <th scope="row">
                {spoken(v.value)}
                {isStanding(v.value) ? ", as it stands" : ""}
              </th>
              <td title={`5 to 95 %: ${formatInterval(v.kwh.low, v.kwh.high, "kWh", system)}`}>{kwh(v)}</td>
              <td>{Math.round(v.under_lit_h.mean)}</td>
              <td>{v.taken_from_people.mean.toFixed(1)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {answer.variants
        .filter((v) => v.does_not_stand.length > 0)
        .map((v) => (
          <p key={v.value} class="bad">
            {spoken(v.value)} does not stand: {v.does_not_stand[0]}
          </p>
        ))}
    </>
  );
}
