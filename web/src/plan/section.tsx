// A cut through the room, drawn to scale: heights that the plan does not show.
import { Component, createRef } from "preact";
import type { LightAnswer, Room } from "../api/contract";
import { LIGHT_PALETTE, cssColour } from "../look/scale";
import { type UnitSystem, formatLength } from "../units/system";
import { type Block, type Cut, profileOf, sectionOf, usualCut } from "./cut";
import { boundsOf } from "./geometry";
import { type ObjectKey, objectKey } from "./objects";
import { pathOf } from "./paths";
import { Token } from "./tokens";
import { type View, fitted, planFromScreen, screenFromPlan, screenPoint } from "./view";
import { sideName } from "./words";
import "./section.css";

export type { Cut } from "./cut";

export interface SectionProps {
  room: Room;
  light: LightAnswer | null;
  selection: ReadonlySet<ObjectKey>;
  system: UnitSystem;
  /** null: through the middle, along the longer side. */
  cut: Cut | null;
  onCut: (cut: Cut) => void;
}

/** Eyes above the floor, as EN 12464-1 takes them. */
const EYES = [
  { words: "eyes, seated", height_m: 1.2 },
  { words: "eyes, standing", height_m: 1.6 },
] as const;
const WALL_PX = 6;
/** At the right for the words of the eyes' heights. */
const MARGINS = { left_px: 34, top_px: 14, right_px: 142, bottom_px: 42 };
const KEY_PX = { wide: 150, high: 104 };

export class Section extends Component<SectionProps, { width_px: number; height_px: number }> {
  override state = { width_px: 0, height_px: 0 };
  private readonly box = createRef<HTMLDivElement>();
  private resizes: ResizeObserver | null = null;

  override componentDidMount(): void {
    const box = this.box.current!;
    const measure = () => this.setState({ width_px: box.clientWidth, height_px: box.clientHeight });
    this.resizes = new ResizeObserver(measure);
    this.resizes.observe(box);
    measure();
  }
  override componentWillUnmount(): void {
    this.resizes?.disconnect();
  }

  private cut(): Cut {
    return this.props.cut ?? usualCut(this.props.room.floor);
  }

  override render() {
    const { room, light, selection, system, onCut } = this.props;
    const { width_px, height_px } = this.state;
    const cut = this.cut();
    const bounds = boundsOf(room.floor);
    const [low, high] = cut.along === "x" ? [bounds.low[1], bounds.high[1]] : [bounds.low[0], bounds.high[0]];
    const blocks = sectionOf(room, cut);
    const [from, to] = blocks.behind ?? [0, 1];
    // The section is a plan of its own: along the cut to the right, heights up.
    const view = fitted([[from, 0], [to, 0], [to, room.height_m], [from, room.height_m]], width_px, height_px, MARGINS);
    const toward = sideName(cut.along === "x" ? 0 : 270, room.plan_north_deg);
    return (
      <div class="section">
        <div class="section-sheet" ref={this.box} style={{ "--section-aspect": String(Math.min(6, Math.max(1.4, (to - from + 2) / (room.height_m + 1)))) }}>
          <svg width={width_px} height={height_px} role="img" aria-label={this.words(cut, blocks.luminaires.length, toward)}>
            {this.draw(view, from, to, cut, blocks)}
          </svg>
        </div>
        <div class="section-foot">
          <KeyPlan room={room} cut={cut} onCut={onCut} />
          <label>
            cut along{" "}
            <select value={cut.along} onChange={(e) => onCut({ ...usualCut(room.floor), along: e.currentTarget.value as Cut["along"], at_m: middleAcross(room, e.currentTarget.value as Cut["along"]) })}>
              <option value="x">x</option>
              <option value="y">y</option>
            </select>
          </label>
          <label>
            at {cut.along === "x" ? "y" : "x"}
            <input type="range" min={low} max={high} step="0.05" value={cut.at_m} aria-valuetext={formatLength(cut.at_m, system)} onInput={(e) => onCut({ ...cut, at_m: Number(e.currentTarget.value) })} />
            <b>{formatLength(cut.at_m, system)}</b>
          </label>
          <span>
            looking {toward}
            {selection.size > 0 && "; what is selected is outlined"}
            {light !== null && `; the strip shows the light at ${formatLength(room.plan_height_m, system)}`}
          </span>
        </div>
      </div>
    );
  }

  private words(cut: Cut, luminaires: number, toward: string): string {
    const { room, system } = this.props;
    const where = `${cut.along === "x" ? "y" : "x"} ${formatLength(cut.at_m, system)}`;
    return `Section of ${room.name} at ${where}, looking ${toward}: ceiling at ${formatLength(room.height_m, system)}, ${luminaires} luminaires in view`;
  }

  private draw(view: View, from: number, to: number, cut: Cut, blocks: ReturnType<typeof sectionOf>) {
    const { room, light, selection, system } = this.props;
    const top = room.height_m;
    const box = (b: Block) => pathOf(view, [[b.from_m, b.bottom_m], [b.to_m, b.bottom_m], [b.to_m, b.top_m], [b.from_m, b.top_m]], true);
    const line = (x0: number, z0: number, x1: number, z1: number) => pathOf(view, [[x0, z0], [x1, z1]], false);
    const px = (along: number, height: number) => screenFromPlan(view, [along, height]);
    const isOn = (key: ObjectKey) => (selection.has(key) ? " selected" : "");
    const profile = light === null ? [] : profileOf(light.field, cut).filter((p) => blocks.room.some(([a, b]) => p.at_m >= a && p.at_m <= b));
    const step = light?.field.step_m ?? 0;
    const stroke = { "stroke-width": WALL_PX };
    return (
      <>
        <path class="air" d={blocks.room.map(([a, b]) => box({ id: "", from_m: a, to_m: b, bottom_m: 0, top_m: top, isCut: true })).join("")} />
        {blocks.openings.map((o) => !o.isCut && <path key={o.id} class="glass" d={box(o)} />)}
        {blocks.doors.map((d) => !d.isCut && <path key={d.id} class="door" d={box(d)} />)}
        {blocks.furniture.map((f, i) => !f.isCut && <path key={i} class={`thing${isOn(objectKey("furniture", f.id))}`} d={box(f)} />)}
        {blocks.partitions.map((p, i) => !p.isCut && <path key={i} class="thing" d={box(p)} />)}
        {EYES.map((e) => {
          const end = px(to, e.height_m);
          return (
            <g key={e.words} class="eyes">
              <path d={line(from, e.height_m, to, e.height_m)} />
              <text x={end.x_px + 9} y={end.y_px + 3.5}>{`${e.words} ${formatLength(e.height_m, system)}`}</text>
            </g>
          );
        })}
        {profile.map((p) => {
          const a = px(p.at_m - 0.5 * step, room.plan_height_m);
          return <rect key={p.at_m} x={a.x_px} y={a.y_px - 3} width={step * view.px_per_m + 0.5} height="6" fill={cssColour(LIGHT_PALETTE[p.byte]!)} />;
        })}
        {blocks.furniture.map((f, i) => f.isCut && <path key={i} class={`thing cut${isOn(objectKey("furniture", f.id))}`} d={box(f)} />)}
        {blocks.partitions.map((p, i) => p.isCut && <path key={i} class="wall" style={{ strokeWidth: "4px" }} d={line(p.from_m, 0, p.to_m, p.top_m)} />)}
        {blocks.behind !== null && <path class="far" d={box({ id: "", from_m: from, to_m: to, bottom_m: 0, top_m: top, isCut: false })} />}
        {blocks.room.map(([a, b], i) => (
          <g key={i}>
            <path class="wall" {...stroke} d={`${line(a, 0, b, 0)}${line(a, top, b, top)}${line(a, 0, a, top)}${line(b, 0, b, top)}`} />
          </g>
        ))}
        {blocks.openings.map((o) => o.isCut && <path key={o.id} class="pane" {...stroke} d={line(o.from_m, o.bottom_m, o.to_m, o.top_m)} />)}
        {blocks.openings.map((o) => o.isCut && <path key={o.id} class="pane-glass" d={line(o.from_m, o.bottom_m, o.to_m, o.top_m)} />)}
        {blocks.doors.map((d) => d.isCut && <path key={d.id} class="pane" {...stroke} d={line(d.from_m, 0, d.to_m, d.top_m)} />)}
        {blocks.skylights.map(([a, b], i) => (
          <g key={i}>
            <path class="pane" {...stroke} d={line(a, top, b, top)} />
            <path class="pane-glass" d={line(a, top, b, top)} />
          </g>
        ))}
        {blocks.luminaires.map((l, i) => {
          const level = Math.min(1, Math.max(0, light?.luminaires[l.level_of] ?? 0));
          const a = px(l.from_m, l.top_m);
          const b = px(l.to_m, l.bottom_m);
          const wide = Math.max(4, b.x_px - a.x_px);
          const tall = Math.max(5, b.y_px - a.y_px);
          const hangs = top - l.top_m > 0.05;
          return (
            <g key={i} class={`luminaire${l.isCut ? " cut" : ""}${isOn(objectKey("luminaire", l.level_of))}`}>
              {hangs && <path class="stem" d={`${line(l.from_m + 0.15 * (l.to_m - l.from_m), l.top_m, l.from_m + 0.15 * (l.to_m - l.from_m), top)}${line(l.to_m - 0.15 * (l.to_m - l.from_m), l.top_m, l.to_m - 0.15 * (l.to_m - l.from_m), top)}`} />}
              <rect class="body" x={a.x_px} y={a.y_px} width={wide} height={tall} />
              <rect class="lit" x={a.x_px} y={a.y_px} width={wide * level} height={tall} />
              <rect class="edge" x={a.x_px} y={a.y_px} width={wide} height={tall} />
            </g>
          );
        })}
        {blocks.devices.map((d) => {
          const p = px(d.at_m, Math.min(d.height_m, top));
          const left = px(from, 0).x_px + 12;
          const right = px(to, 0).x_px - 12;
          return (
            <g key={d.id} transform={`translate(${Math.min(right, Math.max(left, p.x_px))} ${Math.max(px(0, top).y_px + 13, p.y_px)}) scale(0.85)`}>
              <Token kind={d.kind} />
            </g>
          );
        })}
        <SectionDimensions view={view} from={from} to={to} top={top} system={system} />
      </>
    );
  }
}

const middleAcross = (room: Room, along: Cut["along"]): number => {
  const { low, high } = boundsOf(room.floor);
  return along === "x" ? 0.5 * (low[1] + high[1]) : 0.5 * (low[0] + high[0]);
};

function SectionDimensions({ view, from, to, top, system }: { view: View; from: number; to: number; top: number; system: UnitSystem }) {
  const a = screenFromPlan(view, [from, top]);
  const b = screenFromPlan(view, [to, 0]);
  const y = b.y_px + 20;
  const x = a.x_px - 18;
  return (
    <g class="dimensions" aria-hidden="true">
      <path class="dim" d={`M${a.x_px} ${y}H${b.x_px}M${a.x_px} ${y - 4}V${y + 4}M${b.x_px} ${y - 4}V${y + 4}M${x} ${a.y_px}V${b.y_px}M${x - 4} ${a.y_px}H${x + 4}M${x - 4} ${b.y_px}H${x + 4}`} />
      <text class="dim-text" x={0.5 * (a.x_px + b.x_px)} y={y + 14}>
        {formatLength(to - from, system)}
      </text>
      <text class="dim-text" transform={`translate(${x - 5} ${0.5 * (a.y_px + b.y_px)}) rotate(-90)`}>
        {formatLength(top, system)}
      </text>
    </g>
  );
}

/** A small plan on which the cut is drawn and dragged. */
class KeyPlan extends Component<{ room: Room; cut: Cut; onCut: (cut: Cut) => void }> {
  private isDragging = false;

  private view(): View {
    return fitted(this.props.room.floor, KEY_PX.wide, KEY_PX.high, { left_px: 8, top_px: 8, right_px: 8, bottom_px: 8 });
  }

  private readonly onMove = (event: PointerEvent): void => {
    if (!this.isDragging) return;
    const { room, cut, onCut } = this.props;
    const svg = event.currentTarget as SVGSVGElement;
    const box = svg.getBoundingClientRect();
    const p = planFromScreen(this.view(), screenPoint(event.clientX - box.left, event.clientY - box.top));
    const { low, high } = boundsOf(room.floor);
    const axis = cut.along === "x" ? 1 : 0;
    const at_m = Math.min(high[axis], Math.max(low[axis], Math.round(p[axis] / 0.05) * 0.05));
    onCut({ ...cut, at_m });
  };

  override render() {
    const { room, cut } = this.props;
    const view = this.view();
    const { low, high } = boundsOf(room.floor);
    const [a, b] = cut.along === "x" ? [screenFromPlan(view, [low[0], cut.at_m]), screenFromPlan(view, [high[0], cut.at_m])] : [screenFromPlan(view, [cut.at_m, low[1]]), screenFromPlan(view, [cut.at_m, high[1]])];
    const arrow = cut.along === "x" ? `M${a.x_px - 4} ${a.y_px}V${a.y_px - 9}M${b.x_px + 4} ${b.y_px}V${b.y_px - 9}` : `M${a.x_px} ${a.y_px + 4}H${a.x_px - 9}M${b.x_px} ${b.y_px - 4}H${b.x_px - 9}`;
    return (
      <svg
        class="key-plan"
        width={KEY_PX.wide}
        height={KEY_PX.high}
        aria-hidden="true"
        onPointerDown={(e) => {
          e.currentTarget.setPointerCapture(e.pointerId);
          this.isDragging = true;
          this.onMove(e);
        }}
        onPointerMove={this.onMove}
        onPointerUp={() => (this.isDragging = false)}
        onPointerCancel={() => (this.isDragging = false)}
      >
        <path class="key-floor" d={pathOf(view, room.floor, true)} />
        {room.furniture.map((f) => (
          <path key={f.id} class="key-thing" d={pathOf(view, f.plan, true)} />
        ))}
        <path class="key-dots" d={room.luminaires.map((l) => pathOf(view, [[l.at[0], l.at[1]]], false) + "h0").join("")} />
        <path class="key-cut" d={`M${a.x_px} ${a.y_px}L${b.x_px} ${b.y_px}${arrow}`} />
      </svg>
    );
  }
}
