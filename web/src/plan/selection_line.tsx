// One line of figures for what is selected: place, rotation, type, groups; each can be typed.
import { Component } from "preact";
import type { Edit, PlanPoint, Pointer, Room, Strategy } from "../api/contract";
import { readEntered } from "../units/entered";
import { type UnitSystem, formatLength } from "../units/system";
import type { Outcome } from "./actions";
import { isRefusal } from "./actions";
import { coordinateSet, linked, moved, onWall, outlined, placedOnWall, regrouped, retyped, rotationSet } from "./changes";
import { CROSS_KEYS } from "./crosshair";
import type { Surroundings } from "./document";
import { boundsOf, cornersOf } from "./geometry";
import { DEVICE_WORDS, type ObjectKey, find, luminaireOfChannel } from "./objects";
import { toolHint } from "./tool_row";
import type { ToolChoice } from "./tools/tool_choice";

export interface SelectionLineProps {
  room: Room;
  selection: ReadonlySet<ObjectKey>;
  system: UnitSystem;
  tool: ToolChoice;
  onCommit: (label: string, edits: Edit[]) => Promise<unknown> | void;
  onRefuse: (text: string) => void;
  /** Value in the document, or undefined. */
  lookUp: (pointer: Pointer) => unknown;
}

const LENGTHS = ["m", "cm", "mm", "ft", "in"];
const STEP_M = 0.05;

interface FigureProps {
  label: string;
  /** null: the selected objects differ. */
  value: number | null;
  format: (value: number) => string;
  /** What was typed as a number, or why it is none. */
  read: (text: string) => { ok: true; si: number } | { ok: false; problem: string };
  step: number;
  onSet: (value: number) => void;
  onRefuse: (text: string) => void;
}

/** A figure that can be typed over; arrow keys step it. */
class Figure extends Component<FigureProps, { text: string | null }> {
  override state: { text: string | null } = { text: null };

  private shown(): string {
    const { value, format } = this.props;
    return this.state.text ?? (value === null ? "" : format(value));
  }

  private settle(): void {
    const { text } = this.state;
    if (text === null) return;
    this.setState({ text: null });
    const { value, format, read, onSet, onRefuse } = this.props;
    if (text.trim() === "" || (value !== null && text === format(value))) return;
    const typed = read(text);
    if (typed.ok) onSet(typed.si);
    else onRefuse(typed.problem);
  }

  override render() {
    const { label, value, step, onSet } = this.props;
    const text = this.shown();
    return (
      <label class="figure">
        {label}
        <input
          type="text"
          value={text}
          placeholder={value === null ? "various" : ""}
          size={Math.max(6, text.length)}
          onInput={(e) => this.setState({ text: e.currentTarget.value })}
          onBlur={() => this.settle()}
          onKeyDown={(e) => {
            if (e.key === "Enter") this.settle();
            else if (e.key === "Escape") this.setState({ text: null });
            else if ((e.key === "ArrowUp" || e.key === "ArrowDown") && value !== null) {
              this.setState({ text: null });
              onSet(value + (e.key === "ArrowUp" ? 1 : -1) * step * (e.shiftKey ? 10 : 1));
            } else return;
            e.preventDefault();
            e.stopPropagation();
          }}
        />
      </label>
    );
  }
}

const STRATEGY_WORDS: Readonly<Record<Strategy, string>> = {
  scene: "scenes",
  occupancy: "occupancy",
  daylight: "daylight",
  schedule: "schedule",
  demand_response: "demand response",
  emergency: "emergency",
};

/** The value that all have, or null when they differ. */
function common<T>(values: readonly T[], isSame: (a: T, b: T) => boolean = (a, b) => a === b): T | null {
  const [first] = values;
  return first !== undefined && values.every((v) => isSame(v, first)) ? first : null;
}
const isClose = (a: number, b: number): boolean => Math.abs(a - b) < 5e-4;

export function SelectionLine(props: SelectionLineProps) {
  const { room, selection, system, onCommit, onRefuse } = props;
  const around: Surroundings = { room, lookUp: props.lookUp };
  const keys = [...selection];
  const found = keys.flatMap((k) => find(room, k) ?? []);
  const perform = (outcome: Outcome) => {
    if (isRefusal(outcome)) onRefuse(outcome.refused);
    else if (outcome.edits.length > 0) void onCommit(outcome.label, outcome.edits);
  };
  const length = {
    format: (m: number) => formatLength(m, system),
    read: (text: string) => readEntered(text.replace("\u2212", "-"), LENGTHS, system === "us" ? "ft" : "m"),
    step: system === "us" ? 0.0254 : STEP_M,
    onRefuse,
  };
  if (found.length === 0)
    return (
      <p class="selection-line">
        {props.tool.name === "select"
          ? "Nothing is selected. Click an object, or draw a box over several; then drag. Alt sets free of lines, Shift keeps straight. By keys: arrows, Enter."
          : `${withCapital(toolHint(props.tool))}. ${CROSS_KEYS}; Enter presses and lets go, Escape ends.`}
      </p>
    );

  const luminaires = found.flatMap((f) => (f.kind === "luminaire" ? [f.object] : []));
  const devices = found.flatMap((f) => (f.kind === "device" ? [f.object] : []));
  const hung = [...luminaires, ...devices];
  const [only] = found;
  const figures = [];
  if (hung.length === found.length) {
    for (const axis of [0, 1, 2] as const)
      figures.push(
        <Figure
          key={axis}
          label={"xyz"[axis]!}
          value={common(hung.map((o) => o.at[axis]), isClose)}
          {...length}
          onSet={(v) => perform(coordinateSet(around, keys, axis, v))}
        />,
      );
  }
  if (devices.length === found.length)
    figures.push(
      <label class="figure" key="link">
        talks by
        <select value={common(devices.map((d) => d.link)) ?? ""} onChange={(e) => perform(linked(around, keys, e.currentTarget.value === "radio" ? "radio" : "wired"))}>
          {common(devices.map((d) => d.link)) === null && (
            <option value="" disabled>
              various
            </option>
          )}
          <option value="wired">wire</option>
          <option value="radio">radio</option>
        </select>
      </label>,
    );
  if (luminaires.length === found.length) {
    figures.push(
      <Figure
        key="rotation"
        label="turned"
        value={common(luminaires.map((l) => l.rotation_deg), (a, b) => Math.abs(a - b) < 0.05)}
        format={(deg) => `${Math.round(deg * 10) / 10}°`}
        read={(text) => readEntered(text.replace("°", " deg").replace("\u2212", "-"), ["deg"], "deg")}
        step={1}
        onSet={(v) => perform(rotationSet(around, keys, v))}
        onRefuse={onRefuse}
      />,
      <label class="figure" key="type">
        type
        <select value={common(luminaires.map((l) => l.type)) ?? ""} onChange={(e) => perform(retyped(around, keys, e.currentTarget.value))}>
          {common(luminaires.map((l) => l.type)) === null && <option value="">various</option>}
          {room.luminaire_types.map((t) => (
            <option key={t.id} value={t.id}>
              {`${t.tag || t.id}, ${t.name}`}
            </option>
          ))}
        </select>
      </label>,
    );
    const strategies = [...new Set(room.groups.map((g) => g.strategy))];
    for (const strategy of strategies) {
      const of = room.groups.filter((g) => g.strategy === strategy);
      // A luminaire with two channels may be in two groups of a strategy, which one choice cannot say.
      const memberships = luminaires.map((l) => of.filter((g) => g.channels.some((c) => luminaireOfChannel(c) === l.id)).map((g) => g.id));
      const isSplit = memberships.some((m) => m.length > 1);
      const is = common(memberships.map((m) => m[0] ?? ""));
      figures.push(
        <label class="figure" key={strategy}>
          {STRATEGY_WORDS[strategy]}
          {isSplit ? (
            <b>{[...new Set(memberships.flat())].map((id) => of.find((g) => g.id === id)?.name || id).join(" and ")}</b>
          ) : (
            <select value={is ?? "?"} onChange={(e) => perform(regrouped(around, keys, strategy, e.currentTarget.value))}>
              {is === null && (
                <option value="?" disabled>
                  various
                </option>
              )}
              <option value="">none</option>
              {of.map((g) => (
                <option key={g.id} value={g.id}>
                  {g.name || g.id}
                </option>
              ))}
            </select>
          )}
        </label>,
      );
    }
  }
  if (found.length === 1 && only !== undefined) {
    const key = keys.find((k) => find(room, k) !== null)!;
    if ((only.kind === "opening" && only.object.kind !== "skylight") || only.kind === "door") {
      const stood = onWall(room, only.object);
      if (stood !== null) {
        const { wall, offset_m, width_m } = stood;
        figures.push(
          <Figure key="offset" label="along the wall" value={offset_m} {...length} onSet={(v) => perform(placedOnWall(around, key, wall.index, v, width_m))} />,
          <Figure key="width" label="wide" value={width_m} {...length} onSet={(v) => perform(placedOnWall(around, key, wall.index, offset_m, v))} />,
        );
      }
    } else if (only.kind === "furniture" || only.kind === "task_area" || only.kind === "opening") {
      const { low, high } = boundsOf(only.object.plan);
      const resize = (to: PlanPoint) => perform(outlined(around, key, cornersOf({ low, high: to })));
      figures.push(
        <Figure key="x" label="x" value={low[0]} {...length} onSet={(v) => perform(moved(around, [key], [v - low[0], 0]))} />,
        <Figure key="y" label="y" value={low[1]} {...length} onSet={(v) => perform(moved(around, [key], [0, v - low[1]]))} />,
      );
      if (only.object.plan.length === 4)
        figures.push(
          <Figure key="w" label="wide" value={high[0] - low[0]} {...length} onSet={(v) => resize([low[0] + v, high[1]])} />,
          <Figure key="d" label="deep" value={high[1] - low[1]} {...length} onSet={(v) => resize([high[0], low[1] + v])} />,
        );
    }
  }
  return (
    <div class="selection-line" role="group" aria-label="What is selected">
      <b>{selectionWords(room, keys)}</b>
      {figures}
    </div>
  );
}

const withCapital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);

function selectionWords(room: Room, keys: readonly ObjectKey[]): string {
  const found = keys.flatMap((k) => find(room, k) ?? []);
  const [only] = found;
  if (found.length === 1 && only !== undefined) {
    const { object } = only;
    const tag = "tag" in object && object.tag !== "" ? object.tag : object.id;
    switch (only.kind) {
      case "device":
        return `${DEVICE_WORDS[only.object.kind]} ${tag}`;
      case "opening":
        return `${only.object.kind.replace("_", " ")} ${tag}`;
      case "furniture":
        return `${only.object.kind || "furniture"} ${tag}`;
      case "task_area":
        return `task area ${only.object.name || tag}`;
      default:
        return `${only.kind} ${tag}`;
    }
  }
  const kinds = new Set(found.map((f) => f.kind));
  if (kinds.size === 1 && only !== undefined) return `${found.length} ${only.kind === "furniture" ? "pieces of furniture" : `${only.kind.replace("_", " ")}s`}`;
  return `${found.length} objects`;
}
