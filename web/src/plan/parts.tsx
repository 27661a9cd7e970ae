// The plan's parts, each drawn again only when what it shows has changed.
import type { Contour, DeviceDrawing, LightAnswer, LuminaireDrawing, PlanPoint, Room, Strategy } from "../api/contract";
import { type UnitSystem, formatIlluminanceNumber, formatLength } from "../units/system";
import { boundsOf, contains, radians, spanningTree } from "./geometry";
import { LEAST_LUMINAIRE_PX, luminaireOutline, tokenPlace } from "./hit";
import type { ContourLabel, Note, PlacedLabel } from "./labels";
import { Labels, aboutToken, besideDot, boxOfText, contourLabels, placed } from "./labels";
import { LETTER_BOX_PX, type MarginLetter, type MarginLetters } from "./letters";
import { type LuminaireType, type ObjectKey, letterOf, membersOf, objectKey, typeOf } from "./objects";
import { arrowHeads, bandPath, contourPath, pathOf, pointText, swingPath } from "./paths";
import { pure } from "./pure";
import type { Guide } from "./snap";
import { EgressTab, Token } from "./tokens";
import { type ScreenPoint, type View, screenFromPlan } from "./view";

export const WALL_PX = 6;
/** Furniture above this holds every plane on which people work, and is drawn filled. */
const TALL_M = 1.2;

// ---- the building ------------------------------------------------------------------------------------------

export const Fittings = pure(({ furniture, partitions, tasks, openings, view }: {
  furniture: Room["furniture"];
  partitions: Room["partitions"];
  tasks: Room["task_areas"];
  openings: Room["openings"];
  view: View;
}) => (
  <g>
    {furniture.map((f) => (
      <path key={f.id} class={f.top_m > TALL_M ? "shelf" : "table"} d={pathOf(view, f.plan, true)} />
    ))}
    {partitions.map((p) => (
      <path
        key={p.id}
        class={p.kind === "movable" ? "partition movable" : "partition"}
        d={pathOf(view, [p.from, p.to], false)}
        stroke-width={Math.max(2, p.thickness_m * view.px_per_m)}
      />
    ))}
    {tasks.map((t) => (
      <path key={t.id} class="task" d={pathOf(view, t.plan, true)} />
    ))}
    {openings.map((o) => o.kind === "skylight" && <path key={o.id} class="skylight" d={pathOf(view, o.plan, true)} />)}
  </g>
));

export const Walls = pure(({ floor, openings, doors, view, glass }: {
  floor: readonly PlanPoint[];
  openings: Room["openings"];
  doors: Room["doors"];
  view: View;
  /** Id of the hatch of glass. */
  glass: string;
}) => (
  <g>
    <path class="wall" d={pathOf(view, floor, true)} />
    {openings.map(
      (o) =>
        o.kind !== "skylight" && (
          <g key={o.id}>
            <path class="pane" d={bandPath(view, o.from, o.to, WALL_PX)} />
            <path
              class={o.kind === "window" ? "glass" : "inner-glass"}
              d={bandPath(view, o.from, o.to, WALL_PX)}
              {...(o.kind === "window" ? { fill: `url(#${glass})` } : {})}
            />
          </g>
        ),
    )}
    {doors.map((d) => (
      <g key={d.id}>
        <path class="gap" d={bandPath(view, d.from, d.to, WALL_PX + 1)} />
        <path class={contains(floor, d.tip) ? "leaf" : "leaf outside"} d={`M${pointText(view, d.hinge)}L${pointText(view, d.tip)}`} />
        <path class={contains(floor, d.tip) ? "swing" : "swing outside"} d={swingPath(view, d)} />
      </g>
    ))}
  </g>
));

/** How far open doors reach out of the room's box, beyond which the margins' words begin. */
export function overhangs(room: { floor: readonly PlanPoint[]; doors: Room["doors"] }, view: { px_per_m: number }): { left_px: number; top_px: number; right_px: number; bottom_px: number } {
  const { low, high } = boundsOf(room.floor);
  const most = (of: (tip: PlanPoint) => number) => Math.max(0, ...room.doors.map((d) => of(d.tip))) * view.px_per_m;
  return {
    left_px: most((t) => low[0] - t[0]),
    top_px: most((t) => t[1] - high[1]),
    right_px: most((t) => t[0] - high[0]),
    bottom_px: most((t) => low[1] - t[1]),
  };
}

export const Dimensions = pure(({ floor, doors, view, system, plan_north_deg }: {
  floor: readonly PlanPoint[];
  doors: Room["doors"];
  view: View;
  system: UnitSystem;
  plan_north_deg: number;
}) => {
  const { low, high } = boundsOf(floor);
  const out = overhangs({ floor, doors }, view);
  const a = screenFromPlan(view, [low[0], high[1]]);
  const b = screenFromPlan(view, [high[0], low[1]]);
  const y = b.y_px + 22 + out.bottom_px;
  const x = b.x_px + 22 + out.right_px;
  const wide_m = high[0] - low[0];
  // A round length near a sixth of the room.
  const bar = (system === "us" ? [1, 2, 5, 10, 20, 50].map((ft) => ft * 0.3048) : [0.5, 1, 2, 5, 10, 20]).filter((m) => m <= Math.max(0.5, wide_m / 4)).pop() ?? 0.5;
  const bar_y = y + 20;
  return (
    <g class="dimensions" aria-hidden="true">
      <path
        class="dim"
        d={`M${a.x_px} ${y}H${b.x_px}M${a.x_px} ${y - 4}V${y + 4}M${b.x_px} ${y - 4}V${y + 4}M${x} ${a.y_px}V${b.y_px}M${x - 4} ${a.y_px}H${x + 4}M${x - 4} ${b.y_px}H${x + 4}`}
      />
      <text class="dim-text" x={0.5 * (a.x_px + b.x_px)} y={y - 5}>
        {formatLength(wide_m, system)}
      </text>
      <text class="dim-text" transform={`translate(${x + 15} ${0.5 * (a.y_px + b.y_px)}) rotate(-90)`}>
        {formatLength(high[1] - low[1], system)}
      </text>
      <g transform={`translate(${x + 22} ${y + 8})`}>
        <path class="north" d="M0 13V-12M-5 -5L0 -13L5 -5" transform={`rotate(${-plan_north_deg})`} />
        <text class="dim-text" x="-13" y="6">
          N
        </text>
      </g>
      <path class="scale-bar" d={`M${a.x_px} ${bar_y - 3}V${bar_y}H${a.x_px + bar * view.px_per_m}V${bar_y - 3}`} />
      <text class="scale-text" x={a.x_px + bar * view.px_per_m + 7} y={bar_y + 1}>
        {system === "us" ? `${Math.round(bar / 0.3048)} ft` : `${bar} m`}
      </text>
    </g>
  );
});

// ---- light -------------------------------------------------------------------------------------------------

export const Contours = pure(({ contours, view }: { contours: readonly Contour[]; view: View }) => (
  <g>
    <path class="iso" d={contourPath(view, contours.filter((c) => !c.is_target))} />
    <path class="iso target" d={contourPath(view, contours.filter((c) => c.is_target))} />
  </g>
));

const Label = ({ label, kind }: { label: PlacedLabel; kind: string }) => (
  <text class={kind} x={label.x} y={label.y} text-anchor={label.anchor}>
    {label.text}
  </text>
);

/** Everything that is written on the floor, placed so that no word covers another or an object. */
export const Words = pure(({ room, light, view, system, showsContours, showsPoints, zones, notes, besideTags }: {
  room: Room;
  light: LightAnswer | null;
  view: View;
  system: UnitSystem;
  showsContours: boolean;
  showsPoints: boolean;
  zones: readonly { kind: string; outline: PlanPoint[][] }[];
  /** What layers write over places of the floor. */
  notes: readonly Note[];
  /** What layers write beside a device's tag, by its id: the first that finds room. */
  besideTags: ReadonlyMap<string, readonly string[]>;
}) => {
  const labels = new Labels(view, room.floor);
  for (const l of room.luminaires) labels.occupyOutline(luminaireOutline(l, typeOf(room, l), LEAST_LUMINAIRE_PX / view.px_per_m));
  for (const d of room.devices) labels.occupyAround([d.at[0], d.at[1]], 12);
  const tags: PlacedLabel[] = [];
  for (const d of room.devices) {
    const { x_px, y_px } = tokenAt(room, d, view);
    const tag = d.tag || d.id;
    for (const text of [...(besideTags.get(d.id) ?? []).map((more) => `${tag} ${more}`), tag]) {
      const label = placed(labels, text, aboutToken(x_px, y_px));
      if (label === null) continue;
      tags.push(label);
      break;
    }
  }
  const tiny: PlacedLabel[] = [];
  for (const o of room.openings) {
    if (o.kind !== "skylight" || o.plan.length < 3) continue;
    const { low, high } = boundsOf(o.plan);
    const a = screenFromPlan(view, [low[0], high[1]]);
    const b = screenFromPlan(view, [high[0], low[1]]);
    const label = placed(labels, "skylight", [
      { x: a.x_px + 4, y: b.y_px - 5, anchor: "start" },
      { x: b.x_px - 4, y: a.y_px + 13, anchor: "end" },
    ]);
    if (label !== null) tiny.push(label);
  }
  for (const zone of zones)
    for (const piece of zone.outline) {
      if (piece.length < 3) continue;
      const { low, high } = boundsOf(piece);
      const a = screenFromPlan(view, [low[0], high[1]]);
      const b = screenFromPlan(view, [high[0], low[1]]);
      const label = placed(labels, ZONE_WORDS[zone.kind] ?? zone.kind, [
        { x: b.x_px - 6, y: a.y_px + 13, anchor: "end" },
        { x: a.x_px + 6, y: a.y_px + 13, anchor: "start" },
        { x: b.x_px - 6, y: b.y_px - 6, anchor: "end" },
        { x: a.x_px + 6, y: b.y_px - 6, anchor: "start" },
      ]);
      if (label !== null) tiny.push(label);
    }
  for (const note of notes) {
    const { x_px, y_px } = screenFromPlan(view, note.at);
    const label = placed(labels, note.text, note.isBeside ? besideDot(x_px, y_px) : [0, 14, -14, 28, -28].map((dy) => ({ x: x_px, y: y_px + 4 + dy, anchor: "middle" as const })));
    if (label !== null) tiny.push(label);
  }
  const lux: ContourLabel[] =
    showsContours && light !== null ? contourLabels(light.contours, (lx) => formatIlluminanceNumber(lx, system), view, room.floor, labels) : [];
  const points: PlacedLabel[] = [];
  if (showsPoints && light !== null)
    for (const p of light.points) {
      const { x_px, y_px } = screenFromPlan(view, p.at);
      const text = formatIlluminanceNumber(p.lx, system);
      const label = placed(labels, text, [{ x: x_px, y: y_px - 4, anchor: "middle" }]);
      if (label !== null) points.push(label);
    }
  return (
    <g class="words" aria-hidden="true">
      {showsPoints && light !== null && <path class="dots" d={light.points.map((p) => `M${pointText(view, p.at)}h0`).join("")} />}
      {points.map((l, i) => (
        <Label key={i} label={l} kind="value" />
      ))}
      {lux.map((l, i) => (
        <Label key={i} label={l} kind={l.isTarget ? "lx heavy" : "lx"} />
      ))}
      {tiny.map((l, i) => (
        <Label key={i} label={l} kind="tiny" />
      ))}
      {tags.map((l, i) => (
        <Label key={i} label={l} kind="tag" />
      ))}
    </g>
  );
});

/** A small open triangle that points down at the place of the least light. */
export const Lowest = pure(({ at, view }: { at: PlanPoint; view: View }) => {
  const { x_px, y_px } = screenFromPlan(view, at);
  return <path class="lowest" d={`M${x_px} ${y_px}l-4.5 -8h9z`} />;
});

const ZONE_WORDS: Readonly<Record<string, string>> = {
  primary: "primary daylight zone",
  secondary: "secondary daylight zone",
  toplit: "zone under skylight",
};

export const DaylightZones = pure(({ zones, view }: { zones: readonly { kind: string; outline: PlanPoint[][] }[]; view: View }) => (
  <g>
    {zones.flatMap((zone, i) =>
      zone.outline.map((piece, j) => <path key={`${i}-${j}`} class={`zone ${zone.kind}`} d={pathOf(view, piece, true)} />),
    )}
  </g>
));

// ---- equipment ---------------------------------------------------------------------------------------------

/** Where a token is drawn. */
export const tokenAt = (room: Room, device: DeviceDrawing, view: View): ScreenPoint =>
  screenFromPlan(view, tokenPlace(room, device.at, { m_per_px: 1 / view.px_per_m }));

/** A luminaire in its own shape, filled by its level; without light only its outline. */
export const LuminaireShape = pure(({ luminaire, type, level, isSelected, isGlowing, view }: {
  luminaire: LuminaireDrawing;
  type: LuminaireType | undefined;
  level: number | undefined;
  isSelected: boolean;
  isGlowing: boolean;
  view: View;
}) => {
  const { x_px, y_px } = screenFromPlan(view, [luminaire.at[0], luminaire.at[1]]);
  const length = Math.max(LEAST_LUMINAIRE_PX, (type?.length_m ?? 0.3) * view.px_per_m);
  const width = Math.max(LEAST_LUMINAIRE_PX, (type?.width_m ?? 0.3) * view.px_per_m);
  const share = Math.min(1, Math.max(0, level ?? 0));
  const isOut = luminaire.status === "remove";
  const state = `luminaire${isSelected ? " selected" : ""}${isGlowing ? " glowing" : ""}${isOut ? " out" : ""}${level === undefined ? " unknown" : ""}`;
  if (type?.shape === "circle") {
    const r = Math.max(4.5, 0.5 * length);
    return (
      <g class={state} transform={`translate(${x_px} ${y_px})`}>
        {(isSelected || isGlowing) && <circle class="halo" r={r + 3.5} />}
        <circle class="body" r={r} />
        {/* The filled share of the disc's area. */}
        {!isOut && share > 0 && <circle class="lit" r={r * Math.sqrt(share)} />}
        <circle class="edge" r={r} />
        {isOut && <path class="cross" d={`M${-r} ${-r}L${r} ${r}M${-r} ${r}L${r} ${-r}`} />}
      </g>
    );
  }
  return (
    <g class={state} transform={`translate(${x_px} ${y_px}) rotate(${-luminaire.rotation_deg})`}>
      {(isSelected || isGlowing) && <rect class="halo" x={-0.5 * length - 3} y={-0.5 * width - 3} width={length + 6} height={width + 6} rx="4" />}
      <rect class="body" x={-0.5 * length} y={-0.5 * width} width={length} height={width} rx="2" />
      {!isOut && share > 0 && <rect class="lit" x={-0.5 * length} y={-0.5 * width} width={length * share} height={width} rx="2" />}
      <rect class="edge" x={-0.5 * length} y={-0.5 * width} width={length} height={width} rx="2" />
      {isOut && <path class="cross" d={`M${-0.5 * length} ${-0.5 * width}L${0.5 * length} ${0.5 * width}`} />}
    </g>
  );
});

/** The tab of a luminaire that lights a way out: on its upper edge, clear of its fill. */
export const Egress = pure(({ luminaire, type, view }: { luminaire: LuminaireDrawing; type: LuminaireType | undefined; view: View }) => {
  const { x_px, y_px } = screenFromPlan(view, [luminaire.at[0], luminaire.at[1]]);
  const half = type?.shape === "circle" ? Math.max(4.5, 0.5 * type.length_m * view.px_per_m) : 0.5 * Math.max(LEAST_LUMINAIRE_PX, (type?.width_m ?? 0.3) * view.px_per_m);
  // A quarter along, where neither its letter nor the end of its fill is.
  const along = type?.shape === "circle" ? 0 : 0.25 * (type?.length_m ?? 0.3) * view.px_per_m;
  const angle = radians(luminaire.rotation_deg);
  const [ux, uy] = [-Math.cos(angle), Math.sin(angle)];
  return <EgressTab x={x_px + along * ux} y={y_px + along * uy - half - 5.5} />;
});

export const DeviceToken = pure(({ kind, x, y, isSelected, isGlowing, isOut }: {
  kind: DeviceDrawing["kind"];
  x: number;
  y: number;
  isSelected: boolean;
  isGlowing: boolean;
  isOut: boolean;
}) => (
  <g class={`device${isSelected ? " selected" : ""}${isGlowing ? " glowing" : ""}${isOut ? " out" : ""}`} transform={`translate(${x} ${y})`}>
    {(isSelected || isGlowing) && <circle class="halo" r="13.5" />}
    <Token kind={kind} />
  </g>
));

export const EgressPaths = pure(({ paths, view, isPlain }: { paths: Room["egress_paths"]; view: View; isPlain: boolean }) => (
  <g class={isPlain ? "ways" : "ways wide"}>
    {paths.map((p) => (
      <g key={p.id}>
        {!isPlain && <path class="egress-width" d={pathOf(view, p.centre_line, false)} stroke-width={Math.max(2, p.width_m * view.px_per_m)} />}
        <path class="egress" d={pathOf(view, p.centre_line, false)} />
        {arrowHeads(view, p.centre_line).map((h, i) => (
          <path key={i} class="egress-head" d="M-7 -5L1 0L-7 5" transform={`translate(${h.x} ${h.y}) rotate(${h.degrees})`} />
        ))}
      </g>
    ))}
  </g>
));

// ---- what belongs together ---------------------------------------------------------------------------------

const DASHES = ["none", "7 4", "2 3.5", "11 3 2 3", "4 4", "1 5", "14 4", "8 3 2 3 2 3"];

interface Circle {
  id: string;
  letter: string;
  words: string;
  members: LuminaireDrawing[];
}

/** Luminaires that belong together: joined by a line of their own dashes, each with the letter. */
export const Together = pure(({ circles, room, view }: { circles: readonly Circle[]; room: Room; view: View }) => (
  <g class="together">
    {circles.map((circle, i) => (
      <g key={circle.id}>
        <title>{circle.words}</title>
        <path
          class="string"
          stroke-dasharray={DASHES[i % DASHES.length]}
          d={spanningTree(circle.members.map((l): PlanPoint => [l.at[0], l.at[1]]))
            .map(([a, b]) => `M${pointText(view, a)}L${pointText(view, b)}`)
            .join("")}
        />
      </g>
    ))}
    {room.luminaires.map((l) => {
      const letters = circles.filter((c) => c.members.includes(l)).map((c) => c.letter);
      if (letters.length === 0) return null;
      const { x_px, y_px } = screenFromPlan(view, [l.at[0], l.at[1]]);
      const text = letters.join(" ");
      const w = Math.max(15, 6.8 * text.length + 7);
      return (
        <g key={l.id} transform={`translate(${x_px} ${y_px})`}>
          <rect class="letter-box small" x={-0.5 * w} y="-8" width={w} height="16" rx="3" />
          <text class="letter small" y="4">
            {text}
          </text>
        </g>
      );
    })}
  </g>
));

export function zonesOf(room: Room, strategy: Strategy): Circle[] {
  return room.groups
    .filter((g) => g.strategy === strategy)
    .map((g, i) => {
      const letter = letterOf(g);
      // A name of several words has no letter of its own: the plan gives it the next one.
      return { id: g.id, letter: letter.length <= 4 ? letter : String.fromCharCode(97 + (i % 26)), words: g.name || g.id, members: membersOf(room, g) };
    });
}

export function circuitsOf(room: Room): Circle[] {
  return room.circuits
    .map((c) => ({
      id: c.id,
      letter: c.breaker === "" ? c.id : c.breaker,
      words: `${c.panel} breaker ${c.breaker}${c.switch_leg === "" ? "" : `, ${c.switch_leg}`}, ${c.supply} supply`,
      members: room.luminaires.filter((l) => l.circuit === c.id),
    }))
    .filter((c) => c.members.length > 0);
}

/** What the letters on the plan stand for, as a list beside it. */
export const TogetherKey = ({ circles }: { circles: readonly Circle[] }) => (
  <ul class="together-key">
    {circles.map((c, i) => (
      <li key={c.id}>
        <svg width="34" height="10" aria-hidden="true">
          <path d="M0 5H34" class="string" stroke-dasharray={DASHES[i % DASHES.length]} />
        </svg>
        <b>{c.letter}</b> {c.words}
      </li>
    ))}
  </ul>
);

// ---- margin ------------------------------------------------------------------------------------------------

export function Margin({ letters, room, view, selection, glowing, onPick }: {
  letters: MarginLetters;
  room: Room;
  view: View;
  selection: ReadonlySet<ObjectKey>;
  glowing: ReadonlySet<ObjectKey>;
  onPick: (letter: MarginLetter, isAdding: boolean) => void;
}) {
  const { low, high } = boundsOf(room.floor);
  const corner = screenFromPlan(view, [low[0], high[1]]);
  const out = overhangs(room, view);
  const box = (letter: MarginLetter, x: number, y: number) => {
    const { groups, luminaires, text, width_px: w } = letter;
    const words = groups.map((g) => g.name || g.id).join("; ");
    const isOn = luminaires.some((id) => selection.has(objectKey("luminaire", id)));
    const isGlowing = groups.some((g) => glowing.has(objectKey("group", g.id)));
    return (
      <g
        key={`${text} ${x} ${y}`}
        class={`margin-letter${isOn ? " selected" : ""}${isGlowing ? " glowing" : ""}`}
        role="button"
        tabindex={0}
        aria-pressed={isOn}
        aria-label={`${text}: ${luminaires.length} ${luminaires.length === 1 ? "luminaire" : "luminaires"} of ${words}`}
        onPointerDown={(e) => e.stopPropagation()}
        onClick={(e) => onPick(letter, e.shiftKey)}
        onKeyDown={(e) => {
          if (e.key !== "Enter" && e.key !== " ") return;
          e.preventDefault();
          e.stopPropagation();
          onPick(letter, e.shiftKey);
        }}
      >
        <title>{words}</title>
        <rect class="letter-box" x={x - 0.5 * w} y={y - 0.5 * LETTER_BOX_PX} width={w} height={LETTER_BOX_PX} rx="4" />
        <text class="letter" x={x} y={y + 4.5}>
          {text}
        </text>
      </g>
    );
  };
  return (
    <g role="group" aria-label="Groups by rows">
      {letters.rows.map((l) => box(l, corner.x_px - 12 - out.left_px - 0.5 * l.width_px, l.at_px))}
      {letters.columns.map((l) => box(l, l.at_px, corner.y_px - 20 - out.top_px))}
    </g>
  );
}

// ---- while something is drawn ------------------------------------------------------------------------------

/** A distance with its figure, between two points of the plan. */
export function Measure({ from, to, view, system, kind = "measure" }: { from: PlanPoint; to: PlanPoint; view: View; system: UnitSystem; kind?: string }) {
  const a = screenFromPlan(view, from);
  const b = screenFromPlan(view, to);
  const text = formatLength(Math.hypot(to[0] - from[0], to[1] - from[1]), system);
  const box = boxOfText(text, 0.5 * (a.x_px + b.x_px), 0.5 * (a.y_px + b.y_px) + 4, 0.5);
  // Between near neighbours the figure would hide what it measures.
  const hasRoom = kind === "measure" || Math.hypot(b.x_px - a.x_px, b.y_px - a.y_px) > box.x1 - box.x0 + 16;
  return (
    <g class={kind}>
      <path d={`M${a.x_px} ${a.y_px}L${b.x_px} ${b.y_px}`} />
      <circle cx={a.x_px} cy={a.y_px} r="2.5" />
      <circle cx={b.x_px} cy={b.y_px} r="2.5" />
      {hasRoom && <rect x={box.x0 - 3} y={box.y0 - 2} width={box.x1 - box.x0 + 6} height={box.y1 - box.y0 + 3} rx="3" />}
      {hasRoom && (
        <text x={0.5 * (box.x0 + box.x1)} y={box.y1 - 4} text-anchor="middle">
          {text}
        </text>
      )}
    </g>
  );
}

export function Guides({ guides, view, system }: { guides: readonly Guide[]; view: View; system: UnitSystem }) {
  return (
    <g class="guides">
      {guides.map((g, i) =>
        g.kind === "spacing" ? (
          g.stretches.map(([a, b], j) => <Measure key={`${i}-${j}`} from={a} to={b} view={view} system={system} kind="measure spacing" />)
        ) : (
          <path key={i} class={g.kind} d={`M${pointText(view, g.from)}L${pointText(view, g.to)}`} />
        ),
      )}
    </g>
  );
}
