// The year as a picture: days across, hours up. One cross-hair is the instant that the whole page shows.
import { Component, createRef } from "preact";
import type { YearAnswer, YearQuantity } from "../api/contract";
import { LIGHT_PALETTE_RGBA } from "../look/scale";
import { bytesOf } from "../plan/field";
import { percent } from "../units/figures";
import { type UnitSystem, formatValue } from "../units/system";
import { DAYS, DAY_S, civilFromText, civilText } from "./civil";
import { drawInstant, drawYear } from "./draw";
import { type Frame, civilFromFrame, coloured, meanOver, rowsFromDays, valueAt } from "./picture";
import { movedByKey } from "./year_keys";
import "./year.css";

export interface YearProps {
  /** null: not known yet. */
  year: YearAnswer | null;
  /** Second of the civil calendar year, 0 .. 31,535,999. */
  at_civil_s: number;
  onPick: (civil_s: number) => void;
  quantity: YearQuantity;
  onQuantity: (quantity: YearQuantity) => void;
  system: UnitSystem;
}

export const YEAR_QUANTITIES: readonly { id: YearQuantity; word: string }[] = [
  { id: "power", word: "power" },
  { id: "presence", word: "presence" },
  { id: "task_light", word: "task light" },
  { id: "daylight", word: "daylight" },
];

const MARGIN = { left_px: 30, right_px: 2, top_px: 3, bottom_px: 22 };

const EXAMPLE = "21 Dec 16:00";

interface YearState {
  width_px: number;
  height_px: number;
  hover_civil_s: number | null;
  /** What was typed and is no instant. */
  unread: boolean;
}

/** What the year says of an instant: "power 33 %", "task light 512 lx", "somebody is there". */
export function valueWords(quantity: YearQuantity, value: number, unit: string, system: UnitSystem): string {
  if (quantity === "presence") return value >= 0.5 ? "somebody is there" : "nobody is there";
  const word = YEAR_QUANTITIES.find((q) => q.id === quantity)!.word;
  // A byte knows a share to half a per cent.
  if (unit === "") return `${word} ${percent(Math.round(value * 100) / 100)}`;
  return `${word} ${formatValue(value, unit, system)}`;
}

export class Year extends Component<YearProps, YearState> {
  override state: YearState = { width_px: 0, height_px: 0, hover_civil_s: null, unread: false };

  private readonly box = createRef<HTMLDivElement>();
  private readonly ground = createRef<HTMLCanvasElement>();
  private readonly overlay = createRef<HTMLCanvasElement>();
  private resizes: ResizeObserver | null = null;
  private scheme: MediaQueryList | null = null;
  private bytes: { of: YearAnswer; bytes: Uint8Array; rows: Uint8Array | null } | null = null;
  private picture: { of: YearAnswer; size: string; canvas: HTMLCanvasElement } | null = null;
  private painted = "";
  private paintedYear: YearAnswer | null = null;
  private frame_id = 0;
  private waiting: number | null = null;
  private isScrubbing = false;

  override componentDidMount(): void {
    const box = this.box.current!;
    const measure = () => {
      const { clientWidth: width_px, clientHeight: height_px } = box;
      if (width_px !== this.state.width_px || height_px !== this.state.height_px) this.setState({ width_px, height_px });
    };
    this.resizes = new ResizeObserver(measure);
    this.resizes.observe(box);
    this.scheme = matchMedia("(prefers-color-scheme: dark)");
    this.scheme.addEventListener("change", this.repaint);
    measure();
    this.paint();
  }

  override componentDidUpdate(): void {
    this.paint();
  }

  override componentWillUnmount(): void {
    this.resizes?.disconnect();
    this.scheme?.removeEventListener("change", this.repaint);
    cancelAnimationFrame(this.frame_id);
  }

  private readonly repaint = (): void => {
    this.painted = "";
    this.paint();
  };

  private frame(): Frame {
    const { width_px, height_px } = this.state;
    return {
      left_px: MARGIN.left_px,
      top_px: MARGIN.top_px,
      width_px: Math.max(1, width_px - MARGIN.left_px - MARGIN.right_px),
      height_px: Math.max(1, height_px - MARGIN.top_px - MARGIN.bottom_px),
    };
  }

  private decoded(): { bytes: Uint8Array; rows: Uint8Array | null } | null {
    const { year } = this.props;
    if (year === null) return null;
    if (this.bytes?.of !== year) {
      const bytes = bytesOf(year.bytes);
      this.bytes = { of: year, bytes, rows: bytes.length === DAYS * year.steps_per_day ? rowsFromDays(bytes, year.steps_per_day) : null };
    }
    return this.bytes;
  }

  /** Built once an answer and size; what has fewer pixels than cells shows their means. */
  private pictureFor(frame: Frame, density: number): HTMLCanvasElement | null {
    const { year } = this.props;
    const rows = this.decoded()?.rows ?? null;
    if (year === null || rows === null) return null;
    const columns_px = Math.min(DAYS, Math.max(1, Math.round(frame.width_px * density)));
    const rows_px = Math.min(year.steps_per_day, Math.max(1, Math.round(frame.height_px * density)));
    const size = `${columns_px} ${rows_px}`;
    if (this.picture?.of === year && this.picture.size === size) return this.picture.canvas;
    const cells = meanOver(rows, DAYS, year.steps_per_day, columns_px, rows_px);
    const canvas = this.picture?.canvas ?? document.createElement("canvas");
    canvas.width = columns_px;
    canvas.height = rows_px;
    canvas.getContext("2d")?.putImageData(new ImageData(coloured(cells, LIGHT_PALETTE_RGBA), columns_px, rows_px), 0, 0);
    this.picture = { of: year, size, canvas };
    return canvas;
  }

  private paint(): void {
    const { width_px, height_px, hover_civil_s } = this.state;
    const ground = this.ground.current;
    const overlay = this.overlay.current;
    if (ground === null || overlay === null || width_px === 0) return;
    const density = Math.min(3, globalThis.devicePixelRatio || 1);
    for (const canvas of [ground, overlay]) {
      const wide = Math.round(width_px * density);
      const high = Math.round(height_px * density);
      if (canvas.width !== wide || canvas.height !== high) {
        canvas.width = wide;
        canvas.height = high;
        this.painted = "";
      }
    }
    const frame = this.frame();
    const size = { width_px, height_px, density };
    const { year, at_civil_s } = this.props;
    const key = `${width_px} ${height_px} ${density}`;
    if (this.painted !== key || this.paintedYear !== year) {
      const context = ground.getContext("2d");
      const style = getComputedStyle(ground);
      if (context !== null)
        drawYear(context, this.pictureFor(frame, density), year, frame, size, {
          ink: style.outlineColor,
          soft: style.color,
          line: style.borderTopColor,
        });
      this.painted = key;
      this.paintedYear = year;
    }
    const context = overlay.getContext("2d");
    if (context === null) return;
    if (year === null) context.clearRect(0, 0, overlay.width, overlay.height);
    else drawInstant(context, this.waiting ?? at_civil_s, this.isScrubbing ? null : hover_civil_s, frame, size);
  }

  private pointed(event: PointerEvent): number {
    const box = this.overlay.current!.getBoundingClientRect();
    return civilFromFrame(this.frame(), event.clientX - box.left, event.clientY - box.top, this.props.year?.steps_per_day ?? 288);
  }

  /** The cross-hair follows at once; the page is told once a frame. */
  private pick(civil_s: number): void {
    this.waiting = civil_s;
    if (this.frame_id !== 0) return;
    this.frame_id = requestAnimationFrame(() => {
      this.frame_id = 0;
      const at = this.waiting;
      this.waiting = null;
      if (at !== null && at !== this.props.at_civil_s) this.props.onPick(at);
    });
  }

  private readonly onPointerDown = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    (event.currentTarget as Element).setPointerCapture(event.pointerId);
    this.isScrubbing = true;
    this.pick(this.pointed(event));
  };
  private readonly onPointerMove = (event: PointerEvent): void => {
    const at = this.pointed(event);
    if (this.isScrubbing) this.pick(at);
    else if (at !== this.state.hover_civil_s) this.setState({ hover_civil_s: at });
  };
  private readonly onPointerUp = (): void => {
    this.isScrubbing = false;
  };
  private readonly onPointerLeave = (): void => {
    if (this.state.hover_civil_s !== null) this.setState({ hover_civil_s: null });
  };

  private readonly onKeyDown = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const at = movedByKey(this.props.at_civil_s, event.key, event.shiftKey);
    if (at === null) return;
    event.preventDefault();
    event.stopPropagation();
    // Before the year has come nobody knows what stands there to be moved from.
    if (this.props.year !== null && at !== this.props.at_civil_s) this.props.onPick(at);
  };

  private readonly onGo = (event: Event): void => {
    event.preventDefault();
    const input = (event.currentTarget as HTMLFormElement).elements.namedItem("instant") as HTMLInputElement;
    const at = civilFromText(input.value, this.props.at_civil_s);
    this.setState({ unread: at === null && input.value.trim() !== "" });
    if (at === null) return;
    input.value = "";
    this.props.onPick(at);
  };

  private readout(civil_s: number): string {
    const { year, quantity, system } = this.props;
    // Without a year nobody knows the weekday.
    if (year === null) return "";
    const when = civilText(civil_s, year.first_weekday);
    const decoded = this.decoded();
    const value = decoded === null ? null : valueAt(decoded.bytes, year, civil_s);
    const isShut = year.holidays.includes(Math.floor(civil_s / DAY_S)) ? ", shut" : "";
    return value === null ? `${when}${isShut}` : `${when}${isShut}: ${valueWords(quantity, value, year.unit, system)}`;
  }

  override render() {
    const { year, at_civil_s, quantity, onQuantity } = this.props;
    const { hover_civil_s } = this.state;
    const shown = hover_civil_s !== null && !this.isScrubbing ? hover_civil_s : at_civil_s;
    return (
      <section class="year" aria-label="The year">
        <div class="year-head">
          <h2>The year</h2>
          <span class="year-words" role="radiogroup" aria-label="What colours the year">
            coloured by{" "}
            {YEAR_QUANTITIES.map((q) => (
              <button type="button" role="radio" aria-checked={q.id === quantity} key={q.id} onClick={() => onQuantity(q.id)}>
                {q.word}
              </button>
            ))}
          </span>
          {year !== null && (
            <form class="year-go no-print" onSubmit={this.onGo}>
              {this.state.unread && (
                <span class="bad" role="alert">
                  no such instant; type it like “{EXAMPLE}”
                </span>
              )}
              <label>
                go to <input class="field" name="instant" placeholder={EXAMPLE} autocomplete="off" size={13} onInput={() => this.state.unread && this.setState({ unread: false })} />
              </label>
            </form>
          )}
          <output class="year-readout">{this.readout(shown)}</output>
        </div>
        <div
          class="year-sheet"
          ref={this.box}
          tabIndex={0}
          role="slider"
          aria-roledescription="instant of the year"
          aria-label="Instant that the page shows: left and right by a day, up and down by five minutes, page up and page down by an hour, with shift by a week, home and end to midnight"
          aria-valuemin={0}
          aria-valuemax={DAYS * DAY_S - 1}
          aria-valuenow={at_civil_s}
          aria-valuetext={this.readout(at_civil_s)}
          onKeyDown={this.onKeyDown}
          onPointerDown={this.onPointerDown}
          onPointerMove={this.onPointerMove}
          onPointerUp={this.onPointerUp}
          onPointerCancel={this.onPointerUp}
          onPointerLeave={this.onPointerLeave}
        >
          <canvas ref={this.ground} class="year-ground" aria-hidden="true" />
          <canvas ref={this.overlay} aria-hidden="true" />
        </div>
        <p class="year-note">Hours up, days across; white lines are sunrise and sunset. Under it a bar for each weekend and a dot for each day that is shut.</p>
      </section>
    );
  }
}
