// The room in three dimensions. The library that draws it is fetched when the view is first shown.
import { Component, createRef } from "preact";
import type { LightAnswer, Room } from "../api/contract";
import type { UnitSystem } from "../units/system";
import type { ObjectKey } from "./objects";
import type { Drawn, Orbit } from "./scene3d";
import { planWords } from "./words";
import "./view3d.css";

export interface View3DProps {
  room: Room;
  light: LightAnswer | null;
  selection: ReadonlySet<ObjectKey>;
  /** For the words that stand for the picture; SI when left out. */
  system?: UnitSystem;
}

const TURN_DEG = 6;
const NEARER = 0.88;
const DEGREES_PER_PX = 0.4;

/** Above the horizon, so that the eye stays outside the floor; near enough to see, far enough to see all. */
export function heldOrbit(orbit: Orbit): Orbit {
  return {
    around_deg: ((orbit.around_deg % 360) + 360) % 360,
    above_deg: Math.min(88, Math.max(4, orbit.above_deg)),
    away_m: Math.min(200, Math.max(1.5, orbit.away_m)),
  };
}

/** The view after a key; null when the key means nothing here. */
export function orbitAfterKey(orbit: Orbit, key: string, usual: Orbit): Orbit | null {
  switch (key) {
    case "ArrowLeft":
      return heldOrbit({ ...orbit, around_deg: orbit.around_deg - TURN_DEG });
    case "ArrowRight":
      return heldOrbit({ ...orbit, around_deg: orbit.around_deg + TURN_DEG });
    case "ArrowUp":
      return heldOrbit({ ...orbit, above_deg: orbit.above_deg + TURN_DEG });
    case "ArrowDown":
      return heldOrbit({ ...orbit, above_deg: orbit.above_deg - TURN_DEG });
    case "+":
    case "=":
      return heldOrbit({ ...orbit, away_m: orbit.away_m * NEARER });
    case "-":
    case "_":
      return heldOrbit({ ...orbit, away_m: orbit.away_m / NEARER });
    case "0":
      return usual;
    default:
      return null;
  }
}

type Found = "loading" | "drawn" | "missing";

export class View3D extends Component<View3DProps, { found: Found }> {
  override state: { found: Found } = { found: "loading" };

  private readonly canvas = createRef<HTMLCanvasElement>();
  private drawn: Drawn | null = null;
  private usual: Orbit = { around_deg: 0, above_deg: 45, away_m: 10 };
  private orbit: Orbit = this.usual;
  private resizes: ResizeObserver | null = null;
  private isGone = false;
  private hand: { id: number; x: number; y: number } | null = null;
  private frame = 0;

  override componentDidMount(): void {
    void this.begin();
  }

  private async begin(): Promise<void> {
    let scene: typeof import("./scene3d");
    try {
      scene = await import("./scene3d");
    } catch {
      if (!this.isGone) this.setState({ found: "missing" });
      return;
    }
    const canvas = this.canvas.current;
    if (this.isGone || canvas === null) return;
    this.drawn = scene.drawOn(canvas);
    if (this.drawn === null) {
      this.setState({ found: "missing" });
      return;
    }
    const { room, light, selection } = this.props;
    this.usual = scene.usualOrbit(room);
    this.orbit = this.usual;
    const measure = () => this.drawn?.resize(canvas.clientWidth, canvas.clientHeight);
    this.resizes = new ResizeObserver(measure);
    this.resizes.observe(canvas);
    this.drawn.show(room, light, selection);
    this.drawn.look(this.orbit);
    measure();
    canvas.addEventListener("wheel", this.onWheel, { passive: false });
    this.setState({ found: "drawn" });
  }

  override componentDidUpdate(before: View3DProps): void {
    const { room, light, selection } = this.props;
    if (before.room !== room || before.light !== light || before.selection !== selection) this.drawn?.show(room, light, selection);
  }

  override componentWillUnmount(): void {
    this.isGone = true;
    cancelAnimationFrame(this.frame);
    this.resizes?.disconnect();
    this.canvas.current?.removeEventListener("wheel", this.onWheel);
    this.drawn?.dispose();
    this.drawn = null;
  }

  private look(orbit: Orbit): void {
    this.orbit = orbit;
    if (this.frame !== 0) return;
    this.frame = requestAnimationFrame(() => {
      this.frame = 0;
      this.drawn?.look(this.orbit);
    });
  }

  private readonly onWheel = (event: WheelEvent): void => {
    event.preventDefault();
    const notches = event.deltaMode === 0 ? event.deltaY / 100 : event.deltaY / 3;
    this.look(heldOrbit({ ...this.orbit, away_m: this.orbit.away_m * NEARER ** -Math.max(-3, Math.min(3, notches)) }));
  };

  private readonly onPointerDown = (event: PointerEvent): void => {
    (event.currentTarget as Element).setPointerCapture(event.pointerId);
    this.hand = { id: event.pointerId, x: event.clientX, y: event.clientY };
  };
  private readonly onPointerMove = (event: PointerEvent): void => {
    const { hand, orbit } = this;
    if (hand === null || hand.id !== event.pointerId) return;
    this.hand = { ...hand, x: event.clientX, y: event.clientY };
    this.look(
      heldOrbit({
        ...orbit,
        around_deg: orbit.around_deg - DEGREES_PER_PX * (event.clientX - hand.x),
        above_deg: orbit.above_deg + DEGREES_PER_PX * (event.clientY - hand.y),
      }),
    );
  };
  private readonly onPointerUp = (): void => {
    this.hand = null;
  };

  private readonly onKeyDown = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const next = orbitAfterKey(this.orbit, event.key, this.usual);
    if (next === null) return;
    event.preventDefault();
    event.stopPropagation();
    this.look(next);
  };

  override render() {
    const { room, light, system = "si" } = this.props;
    const { found } = this.state;
    if (found === "missing")
      return (
        <div class="view3d">
          <p>This browser cannot draw the room in three dimensions: WebGL is missing or switched off. The section shows the heights.</p>
          <p>{planWords(room, light, system)}</p>
        </div>
      );
    return (
      <div class="view3d">
        <canvas
          ref={this.canvas}
          tabIndex={0}
          role="img"
          aria-busy={found === "loading"}
          aria-label={`${room.name} in three dimensions. Arrow keys walk round it, plus and minus go nearer and away, 0 gives the first view back. ${planWords(room, light, system)}`}
          onPointerDown={this.onPointerDown}
          onPointerMove={this.onPointerMove}
          onPointerUp={this.onPointerUp}
          onPointerCancel={this.onPointerUp}
          onKeyDown={this.onKeyDown}
        />
        <p class="view3d-note">Drag or arrow keys to walk round it, wheel or + and − to go nearer. Floor and table tops show the light of the plan; walls are plain.</p>
      </div>
    );
  }
}
