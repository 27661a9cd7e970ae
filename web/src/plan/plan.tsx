// The plan of a room, drawn to scale, on which everything can be dragged.
import { Component, type RefObject, createRef } from "preact";
import type { Edit, LightAnswer, PhotosensorPlaces, PlanPoint, Pointer, Room, Strategy } from "../api/contract";
import type { UnitSystem } from "../units/system";
import type { Action, Outcome } from "./actions";
import { isRefusal } from "./actions";
import { moved } from "./changes";
import { type Clip, clipFrom, clipText, copied, pasted, placeBeside } from "./clipboard";
import type { Surroundings } from "./document";
import { drawField, fieldPixels } from "./field";
import { boundsOf, centreOf, contains, cornersOf, middle, nearestWall, plus, times } from "./geometry";
import { type Governed, GovernedTask, sensorNote } from "./governed_task";
import { type Handle, LEAST_LUMINAIRE_PX, handleAt, handlesOf, luminaireOutline, objectAt, wallHandles } from "./hit";
import { CROSS_KEYS, CrossHair, crossMoved, crossWords } from "./crosshair";
import { ARROWS, FAR_NUDGE_M, NUDGE_M, keyed } from "./keys";
import type { Layer } from "./layers";
import { type MarginLetter, lettersWidth, marginLetters } from "./letters";
import { type Group, type ObjectKey, find, idOf, kindOf, luminaireOfChannel, membersOf, objectKey, typeOf } from "./objects";
import {
  Contours,
  DaylightZones,
  DeviceToken,
  Dimensions,
  Egress,
  EgressPaths,
  Fittings,
  Guides,
  Lowest,
  LuminaireShape,
  Margin,
  Measure,
  Together,
  TogetherKey,
  Walls,
  Words,
  circuitsOf,
  overhangs,
  tokenAt,
  zonesOf,
} from "./parts";
import { pathOf } from "./paths";
import { PlaceMarks, PlacesLayer, placeAt } from "./places";
import { pure } from "./pure";
import { RadioKey, RadioLinks, radioNotes, radioTags } from "./radio";
import { ReachHatch, Seats, SensorReach, reachNotes, seatNotes, worstSeatNotes } from "./reach";
import { onGrid } from "./snap";
import { step } from "./tools/machine";
import { type Effect, IDLE, type PointerFacts, type ToolEvent, type ToolState } from "./tools/tool";
import type { ToolChoice } from "./tools/tool_choice";
import { type ScreenPoint, type View, bringing, fitted, pannedBy, pinched, planFromScreen, screenFromPlan, screenPoint, zoomedAbout } from "./view";
import { objectWords, planWords, readingOrder } from "./words";
import "./plan.css";

export interface PlanProps {
  room: Room;
  /** Light of the moment, or of the last preview; null: not known yet. */
  light: LightAnswer | null;
  layers: ReadonlySet<Layer>;
  /** Whose groups the layer of zones shows. */
  zoneStrategy: Strategy;
  /** The task of a daylight rule with its photosensor and what its loop makes of the year, drawn over the rest. */
  governed?: Governed | null;
  /** Places for a photosensor, drawn in place of the light; with the one that is read. */
  places?: PhotosensorPlaces | null;
  placeRead?: number | null;
  onPlaceRead?: (index: number | null) => void;
  selection: ReadonlySet<ObjectKey>;
  /** What glows because the phrase last touched governs it; groups stand for their luminaires. */
  highlight?: ReadonlySet<ObjectKey>;
  system: UnitSystem;
  /** The tool in hand; Escape gives SELECT back. */
  tool: ToolChoice;
  onTool: (tool: ToolChoice) => void;
  onSelect: (selection: ReadonlySet<ObjectKey>) => void;
  /** One entry of the history. What is drawn stays as dropped until `room` changes or the promise settles. */
  onCommit: (label: string, edits: Edit[]) => Promise<unknown> | void;
  /** The edits that would be made if the hand let go now, at most once a frame; null: let go without any. */
  onPreview: (edits: Edit[] | null) => void;
  /** Why something cannot be done. */
  onRefuse: (text: string) => void;
  /** Value in the document, or undefined: copies carry every key of it, and lists that are missing are made. */
  lookUp: (pointer: Pointer) => unknown;
  /** Takes the focus once a tool is in hand. */
  drawing?: RefObject<SVGSVGElement | null>;
}

interface PlanState {
  tool: ToolState;
  /** As the room would look after the gesture that is under way. */
  draft: Action | null;
  /** What was committed and is not in `room` yet. */
  sent: Action | null;
  /** null: the whole room, as large as it goes. */
  view: View | null;
  width_px: number;
  height_px: number;
  /** The object that keys act on. */
  focus: ObjectKey | null;
  /** Where the keyboard's cross stands; null: not moved yet with this tool. */
  cross: PlanPoint | null;
  /** The plan itself has the focus, by keys. */
  isKeyed: boolean;
  isPanning: boolean;
  isSpaceHeld: boolean;
}

/** What was copied last, for browsers that give no text back. */
let lastClip: Clip | null = null;

const ZOOM_STEP = 1.25;
/** A run of nudges is one entry of the history once the keys rest this long. */
const NUDGE_REST_MS = 500;
const NOTHING: ReadonlySet<ObjectKey> = new Set();
const NO_ZONES: Room["daylight_zones"] = [];
const NO_TAGS: ReadonlyMap<string, readonly string[]> = new Map();

let plans = 0;

/** Whether an edit moves the places of other objects in their lists, so that pointers of before no longer hold. */
const shiftsLists = (edits: readonly Edit[]): boolean => edits.some((e) => e.op === "remove" || e.path.endsWith("/-"));

export class Plan extends Component<PlanProps, PlanState> {
  override state: PlanState = {
    tool: IDLE,
    draft: null,
    sent: null,
    view: null,
    width_px: 0,
    height_px: 0,
    focus: null,
    cross: null,
    isKeyed: false,
    isPanning: false,
    isSpaceHeld: false,
  };

  private readonly box = createRef<HTMLDivElement>();
  private readonly canvas = createRef<HTMLCanvasElement>();
  private readonly svg: RefObject<SVGSVGElement | null> = this.props.drawing ?? createRef<SVGSVGElement>();
  private readonly name = `plan-${(plans += 1)}`;
  private resizes: ResizeObserver | null = null;
  private picture: { bytes: string; canvas: HTMLCanvasElement } | null = null;
  private fitFor: { key: string; view: View } | null = null;
  /** Pointers that are down, by id. */
  private readonly fingers = new Map<number, ScreenPoint>();
  private pan: { last: ScreenPoint } | null = null;
  private frame = 0;
  private waitingMove: PointerFacts | null = null;
  private nudge: { by: PlanPoint; keys: ReadonlySet<ObjectKey>; timer: ReturnType<typeof setTimeout> } | null = null;
  private spaceUsed = false;
  private isFocusWanted = false;

  // ---- life ------------------------------------------------------------------------------------------------

  override componentDidMount(): void {
    const box = this.box.current!;
    const measure = () => {
      const { clientWidth: width_px, clientHeight: height_px } = box;
      if (width_px !== this.state.width_px || height_px !== this.state.height_px) this.setState({ width_px, height_px });
    };
    this.resizes = new ResizeObserver(measure);
    this.resizes.observe(box);
    measure();
    // A listener given to JSX would be passive, and the page would scroll away under the plan.
    this.svg.current!.addEventListener("wheel", this.onWheel, { passive: false });
    this.paint();
  }

  override componentDidUpdate(before: PlanProps): void {
    if (before.room !== this.props.room) {
      if (before.room.id !== this.props.room.id) this.setState({ tool: IDLE, draft: null, sent: null, view: null, focus: null, cross: null });
      else if (this.state.sent !== null) this.setState({ sent: null });
      // What had the focus is gone, and the browser has laid the focus down: it goes on to the next object.
      const { focus } = this.state;
      if (focus !== null && document.activeElement === document.body && find(this.props.room, focus) === null) {
        const order = readingOrder(before.room);
        const next = order.slice(order.indexOf(focus)).find((key) => find(this.props.room, key) !== null);
        this.focusTo(next ?? readingOrder(this.props.room)[0] ?? null);
      }
    }
    if (before.tool !== this.props.tool) this.setState({ cross: null });
    if (before.tool !== this.props.tool && this.state.tool.name !== "idle") this.setState({ tool: IDLE, draft: null });
    this.paint();
    if (this.isFocusWanted) {
      this.isFocusWanted = false;
      this.svg.current?.querySelector<SVGElement>('.stop[tabindex="0"]')?.focus({ preventScroll: true });
    }
  }

  override componentWillUnmount(): void {
    this.settleNudge();
    this.resizes?.disconnect();
    cancelAnimationFrame(this.frame);
    this.svg.current?.removeEventListener("wheel", this.onWheel);
  }

  /** The field under the lines; only its own picture is painted anew while lines move. */
  private paint(): void {
    const canvas = this.canvas.current;
    const context = canvas?.getContext("2d") ?? null;
    if (canvas === null || context === null) return;
    const { width_px, height_px } = this.state;
    const density = Math.min(3, globalThis.devicePixelRatio || 1);
    const wide = Math.round(width_px * density);
    const high = Math.round(height_px * density);
    if (canvas.width !== wide || canvas.height !== high) {
      canvas.width = wide;
      canvas.height = high;
    }
    const field = this.props.layers.has("light") && !this.props.places ? (this.props.light?.field ?? null) : null;
    drawField(context, field === null ? null : this.pictureOf(field), field, this.shown().floor, this.view(), { width_px, height_px, density });
  }

  private pictureOf(field: LightAnswer["field"]): HTMLCanvasElement | null {
    if (this.picture?.bytes === field.bytes) return this.picture.canvas;
    const pixels = fieldPixels(field);
    if (pixels === null) return null;
    const canvas = this.picture?.canvas ?? document.createElement("canvas");
    canvas.width = field.columns;
    canvas.height = field.rows;
    canvas.getContext("2d")?.putImageData(new ImageData(pixels, field.columns, field.rows), 0, 0);
    this.picture = { bytes: field.bytes, canvas };
    return canvas;
  }

  // ---- what is shown ---------------------------------------------------------------------------------------

  /** The room that edits are made against. */
  private base(): Room {
    return this.state.sent?.room ?? this.props.room;
  }
  private shown(): Room {
    return this.state.draft?.room ?? this.base();
  }
  private around(): Surroundings {
    return { room: this.base(), lookUp: this.props.lookUp };
  }

  private view(): View {
    if (this.state.view !== null) return this.state.view;
    // Under the hand nothing shifts, even if the page lays itself out anew meanwhile.
    if (this.fitFor !== null && (this.fingers.size > 0 || this.nudge !== null)) return this.fitFor.view;
    const { width_px, height_px } = this.state;
    const { room } = this.props;
    const key = `${room.id} ${width_px} ${height_px} ${JSON.stringify(room.floor)} ${room.groups.length}`;
    if (this.fitFor?.key !== key) {
      const margins = { left_px: lettersWidth(this.marginGroups(room)) + 22, top_px: 34, right_px: 62, bottom_px: 52 };
      const first = fitted(room.floor, width_px, height_px, margins);
      // Doors that open outwards push the margins; what they take makes the room a little smaller.
      const out = overhangs(room, first);
      const view = fitted(room.floor, width_px, height_px, {
        left_px: margins.left_px + out.left_px,
        top_px: margins.top_px + out.top_px,
        right_px: margins.right_px + out.right_px,
        bottom_px: margins.bottom_px + out.bottom_px,
      });
      this.fitFor = { key, view };
    }
    return this.fitFor.view;
  }

  /** Scenes' groups stand in the margin, or those of presence where there are none. */
  private marginGroups(room: Room): Group[] {
    const scenes = room.groups.filter((g) => g.strategy === "scene");
    return scenes.length > 0 ? scenes : room.groups.filter((g) => g.strategy === "occupancy");
  }

  private handles(): Handle[] {
    const room = this.base();
    if (this.props.tool.name === "edit_walls") return wallHandles(room.floor);
    return this.props.tool.name === "select" ? handlesOf(room, this.props.selection, this.scale()) : [];
  }
  private scale(): { m_per_px: number } {
    return { m_per_px: 1 / this.view().px_per_m };
  }

  // ---- tools -----------------------------------------------------------------------------------------------

  private send(event: ToolEvent): void {
    const { selection, tool } = this.props;
    const result = step(this.state.tool, event, { around: this.around(), selection, tool, ...this.scale() });
    // Until the service has answered, lists of the document may be longer or shorter than the room says.
    if (event.kind === "down" && this.state.sent !== null && shiftsLists(this.state.sent.edits)) return;
    if (result.state !== this.state.tool) this.setState({ tool: result.state });
    for (const effect of result.effects) this.apply(effect);
  }

  private apply(effect: Effect): void {
    switch (effect.kind) {
      case "select":
        if (!isSame(effect.keys, this.props.selection)) this.props.onSelect(effect.keys);
        break;
      case "draft":
        if (effect.action === null && this.state.draft === null) break;
        this.setState({ draft: effect.action });
        this.props.onPreview(effect.action === null || effect.action.edits.length === 0 ? null : effect.action.edits);
        break;
      case "commit":
        this.commit(effect.action);
        break;
      case "refuse":
        this.props.onRefuse(effect.text);
        break;
      case "tool":
        this.props.onTool(effect.tool);
        break;
    }
  }

  private commit(action: Action): void {
    this.setState({ draft: null, sent: action });
    const answered = this.props.onCommit(action.label, action.edits);
    if (action.select !== undefined) this.props.onSelect(action.select);
    if (answered !== undefined) {
      const settle = () => {
        if (this.state.sent === action) this.setState({ sent: null });
      };
      answered.then(settle, settle);
    }
  }

  private perform(outcome: Outcome): void {
    if (isRefusal(outcome)) this.props.onRefuse(outcome.refused);
    else if (outcome.edits.length > 0) this.commit(outcome);
  }

  // ---- nudging ---------------------------------------------------------------------------------------------

  /** A run of arrow keys is drawn as it goes and becomes one entry when the keys rest. */
  private nudgeBy(by: PlanPoint): void {
    const keys = this.nudge?.keys ?? this.props.selection;
    const total = plus(this.nudge?.by ?? [0, 0], by);
    if (this.nudge !== null) clearTimeout(this.nudge.timer);
    this.nudge = { by: total, keys, timer: setTimeout(() => this.settleNudge(), NUDGE_REST_MS) };
    const outcome = moved(this.around(), keys, total);
    if (isRefusal(outcome)) this.props.onRefuse(outcome.refused);
    else this.apply({ kind: "draft", action: outcome });
  }

  private settleNudge(): void {
    if (this.nudge === null) return;
    clearTimeout(this.nudge.timer);
    const { by, keys } = this.nudge;
    this.nudge = null;
    const outcome = moved(this.around(), keys, by);
    if (isRefusal(outcome) || outcome.edits.length === 0) this.apply({ kind: "draft", action: null });
    else this.commit(outcome);
  }

  // ---- pointer ---------------------------------------------------------------------------------------------

  private screenOf(event: { clientX: number; clientY: number }): ScreenPoint {
    const box = this.svg.current!.getBoundingClientRect();
    return screenPoint(event.clientX - box.left, event.clientY - box.top);
  }

  private facts(event: PointerEvent): PointerFacts {
    const at_px = this.screenOf(event);
    return this.factsAt(planFromScreen(this.view(), at_px), at_px, { shift: event.shiftKey, alt: event.altKey });
  }
  private factsAt(at: PlanPoint, at_px: ScreenPoint, held: { shift: boolean; alt: boolean }): PointerFacts {
    const handle = handleAt(this.handles(), at, this.scale());
    const over = this.props.tool.name === "edit_walls" ? null : objectAt(this.base(), at, this.scale(), this.props.selection);
    return { at, at_px, over, handle, ...held };
  }

  private readonly onPointerDown = (event: PointerEvent): void => {
    this.settleNudge();
    this.layCrossDown();
    const at = this.screenOf(event);
    this.fingers.set(event.pointerId, at);
    (event.currentTarget as Element).setPointerCapture(event.pointerId);
    if (this.fingers.size === 2) {
      this.pan = null;
      this.send({ kind: "lost" });
      this.setState({ isPanning: true });
      return;
    }
    if (this.fingers.size > 2) return;
    if (event.button === 1 || (event.button === 0 && this.state.isSpaceHeld)) {
      event.preventDefault();
      this.spaceUsed = true;
      this.pan = { last: at };
      this.setState({ isPanning: true });
      return;
    }
    if (event.button !== 0) return;
    const facts = this.facts(event);
    this.send({ kind: "down", ...facts });
    this.setState({ focus: facts.over ?? this.state.focus });
    this.svg.current?.focus({ preventScroll: true });
  };

  private readonly onPointerMove = (event: PointerEvent): void => {
    this.layCrossDown();
    const at = this.screenOf(event);
    const before = this.fingers.get(event.pointerId);
    if (this.fingers.size === 2 && before !== undefined) {
      const other = [...this.fingers].find(([id]) => id !== event.pointerId)![1];
      this.fingers.set(event.pointerId, at);
      this.setState({ view: pinched(this.view(), [before, other], [at, other]) });
      return;
    }
    if (before !== undefined) this.fingers.set(event.pointerId, at);
    if (this.pan !== null) {
      const { last } = this.pan;
      this.pan = { last: at };
      this.setState({ view: pannedBy(this.view(), at.x_px - last.x_px, at.y_px - last.y_px) });
      return;
    }
    if (this.props.places) this.onPlaceRead(placeAt(this.props.places, planFromScreen(this.view(), at)));
    if (this.state.tool.name === "idle") return;
    // The hand may report more often than the screen shows.
    this.waitingMove = this.facts(event);
    if (this.frame === 0)
      this.frame = requestAnimationFrame(() => {
        this.frame = 0;
        this.flushMove();
      });
  };

  private flushMove(): void {
    const facts = this.waitingMove;
    this.waitingMove = null;
    if (facts !== null) this.send({ kind: "move", ...facts });
  }

  private readonly onPointerUp = (event: PointerEvent): void => {
    const wasPinch = this.fingers.size >= 2;
    if (this.pan !== null || wasPinch) {
      this.fingers.delete(event.pointerId);
      this.pan = null;
      if (this.fingers.size < 2) this.setState({ isPanning: false });
      return;
    }
    cancelAnimationFrame(this.frame);
    this.frame = 0;
    this.flushMove();
    if (this.state.tool.name !== "idle") this.send({ kind: "up", ...this.facts(event) });
    this.fingers.delete(event.pointerId);
    this.forceUpdate();
  };

  private readonly onPointerCancel = (event: PointerEvent): void => {
    this.fingers.delete(event.pointerId);
    this.pan = null;
    this.waitingMove = null;
    this.setState({ isPanning: false });
    this.send({ kind: "lost" });
  };

  private readonly onWheel = (event: WheelEvent): void => {
    event.preventDefault();
    const at = this.screenOf(event);
    // A wheel turns by whole notches up and down; two fingers on a pad slide to both sides and in fine steps.
    const isPad = !event.ctrlKey && event.deltaMode === 0 && (event.deltaX !== 0 || !Number.isInteger(event.deltaY));
    if (isPad) this.setState({ view: pannedBy(this.view(), -event.deltaX, -event.deltaY) });
    else {
      const notches = event.deltaMode === 0 ? event.deltaY / (event.ctrlKey ? 20 : 100) : event.deltaY / 3;
      this.setState({ view: zoomedAbout(this.view(), at, ZOOM_STEP ** -Math.max(-3, Math.min(3, notches))) });
    }
  };

  // ---- keys ------------------------------------------------------------------------------------------------

  private zoomBy(factor: number): void {
    const { width_px, height_px } = this.state;
    const about = this.cross();
    const middle_px = screenPoint(0.5 * width_px, 0.5 * height_px);
    this.setState({ view: zoomedAbout(this.view(), about === null ? middle_px : screenFromPlan(this.view(), about), factor) });
  }

  /** What was zoomed out of sight comes back where keys go to it. */
  private bring(at: PlanPoint): void {
    const { view, width_px, height_px } = this.state;
    if (view !== null) this.setState({ view: bringing(view, at, width_px, height_px) });
  }

  // ---- the cross that keys move ------------------------------------------------------------------------------

  /** null while no tool waits for keys. */
  private cross(): PlanPoint | null {
    const { tool } = this.props;
    if (!this.state.isKeyed || tool.name === "select") return null;
    if (this.state.cross !== null) return this.state.cross;
    const { floor } = this.base();
    if (tool.name === "edit_walls" || goesOnWall(tool)) return crossStops(this.base(), tool)[0] ?? null;
    const [x, y] = centreOf(boundsOf(floor));
    return [onGrid(x), onGrid(y)];
  }

  private layCrossDown(): void {
    if (this.state.isKeyed) this.setState({ isKeyed: false });
  }

  /** A key moves the cross, or presses and lets go where it stands; false when it means nothing to it. */
  private crossKey(at: PlanPoint, { key, shiftKey, repeat }: KeyboardEvent): boolean {
    if (key === "Enter") {
      if (!repeat) this.pressAt(at);
      return true;
    }
    const to = crossMoved(at, key, shiftKey, crossStops(this.base(), this.props.tool));
    if (to === null) return false;
    this.setState({ cross: to });
    this.bring(to);
    if (this.state.tool.name !== "idle") this.send({ kind: "move", ...this.factsAt(to, screenFromPlan(this.view(), to), KEYS) });
    return true;
  }

  private pressAt(at: PlanPoint): void {
    const { tool: state } = this.state;
    const facts = this.factsAt(at, screenFromPlan(this.view(), at), KEYS);
    const isHeld = state.name !== "idle" && !(state.name === "measuring" && state.isDone);
    this.send({ kind: isHeld ? "up" : "down", ...facts });
    // What has no other end than its place is set by one press.
    if (!isHeld && this.props.tool.name === "add_device") this.setState({}, () => this.send({ kind: "up", ...facts }));
  }

  private readonly onKeyDown = (event: KeyboardEvent): void => {
    const { key, shiftKey: shift, altKey: alt } = event;
    const ctrl = event.ctrlKey || event.metaKey;
    const { selection } = this.props;
    if (key === "Shift" || key === "Control" || key === "Alt" || key === "Meta") return;
    const taken = () => {
      event.preventDefault();
      event.stopPropagation();
    };
    if (key === " ") {
      taken();
      if (!event.repeat) {
        this.spaceUsed = false;
        this.setState({ isSpaceHeld: true });
      }
      return;
    }
    if (key === "Escape") {
      if (this.nudge !== null) {
        clearTimeout(this.nudge.timer);
        this.nudge = null;
        this.apply({ kind: "draft", action: null });
        return taken();
      }
      if (this.state.tool.name !== "idle" || this.props.tool.name !== "select" || selection.size > 0) taken();
      return this.send({ kind: "key", key, shift, alt, ctrl });
    }
    if (!ctrl && (key === "+" || key === "=")) return taken(), this.zoomBy(ZOOM_STEP);
    if (!ctrl && (key === "-" || key === "_")) return taken(), this.zoomBy(1 / ZOOM_STEP);
    if (!ctrl && key === "0") return taken(), this.setState({ view: null });
    if (ctrl && key.toLowerCase() === "a") return taken(), this.props.onSelect(new Set(this.base().luminaires.map((l) => objectKey("luminaire", l.id))));
    const cross = this.cross();
    if (cross !== null && !alt && !ctrl && this.crossKey(cross, event)) return taken();
    if (this.state.tool.name !== "idle") return;
    const focus = this.state.focus;
    const arrow = ARROWS[key];
    if (arrow !== undefined && !alt && !ctrl) {
      taken();
      // Arrows move what is selected; they go from object to object when the one in focus is not.
      if (selection.size > 0 && (focus === null || selection.has(focus))) {
        const outcome = keyed(this.around(), selection, { key, shift, alt, ctrl });
        if (outcome !== null && isRefusal(outcome)) this.props.onRefuse(outcome.refused);
        else this.nudgeBy(times(shift ? FAR_NUDGE_M : NUDGE_M, arrow));
      } else this.focusTo(neighbour(this.base(), focus, arrow));
      return;
    }
    this.settleNudge();
    if (key === "Home" || key === "End" || key === "PageDown" || key === "PageUp") {
      taken();
      const order = readingOrder(this.base());
      const now = focus === null ? -1 : order.indexOf(focus);
      const next = { Home: 0, End: order.length - 1, PageDown: (now + 1) % order.length, PageUp: (Math.max(now, 0) + order.length - 1) % order.length }[key];
      this.focusTo(order[next] ?? null);
      return;
    }
    if (key === "Enter" && focus !== null) return taken(), this.toggle(focus, shift);
    if (this.state.sent !== null && shiftsLists(this.state.sent.edits)) return;
    const outcome = keyed(this.around(), selection, { key, shift, alt, ctrl });
    if (outcome === null) return;
    taken();
    this.perform(outcome);
  };

  private readonly onKeyUp = (event: KeyboardEvent): void => {
    if (event.key !== " ") return;
    event.preventDefault();
    this.setState({ isSpaceHeld: false });
    if (!this.spaceUsed && this.state.focus !== null) this.toggle(this.state.focus, event.shiftKey);
  };

  private toggle(key: ObjectKey, isAdding: boolean): void {
    const { selection } = this.props;
    const keys = new Set(isAdding ? selection : []);
    if (selection.has(key)) keys.delete(key);
    else keys.add(key);
    this.props.onSelect(keys);
  }

  private focusTo(key: ObjectKey | null): void {
    if (key === null) return;
    this.isFocusWanted = true;
    this.setState({ focus: key });
    this.bring(centre(this.base(), key));
  }

  // ---- clipboard -------------------------------------------------------------------------------------------

  private readonly onCopy = (event: ClipboardEvent): void => {
    const clip = copied(this.around(), this.props.selection);
    if (clip === null) return;
    lastClip = clip;
    event.clipboardData?.setData("text/plain", clipText(clip));
    event.preventDefault();
  };

  private readonly onPaste = (event: ClipboardEvent): void => {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    const clip = text === "" ? lastClip : clipFrom(text);
    if (clip === null) return;
    event.preventDefault();
    const room = this.base();
    // Beside the original in its own room; in another in the middle.
    const middleOfRoom = centreOf(boundsOf(room.floor));
    const at: PlanPoint = clip.room === room.id ? placeBeside(room, clip) : contains(room.floor, clip.middle) ? clip.middle : middleOfRoom;
    this.perform(pasted(this.around(), clip, at));
  };

  /** A row first; once it is what is selected, all of its groups. */
  private readonly onPick = ({ groups, luminaires }: MarginLetter, isAdding: boolean): void => {
    const { selection } = this.props;
    const row = new Set(luminaires.map((id) => objectKey("luminaire", id)));
    const whole = new Set(groups.flatMap((g) => membersOf(this.base(), g)).map((l) => objectKey("luminaire", l.id)));
    if (isAdding) this.props.onSelect(new Set([...selection, ...row]));
    else this.props.onSelect(isSame(selection, row) ? whole : row);
  };

  private readonly onFit = (): void => this.setState({ view: null });

  // ---- drawing ---------------------------------------------------------------------------------------------

  override render() {
    const { light, layers, selection, system, tool } = this.props;
    const { width_px, height_px, tool: state } = this.state;
    const room = this.shown();
    const view = this.view();
    const places = this.props.places ?? null;
    const isLit = layers.has("light") && light !== null && places === null;
    const glowing = glow(this.props.room, this.props.highlight ?? NOTHING);
    const zones = layers.has("daylight") ? room.daylight_zones : NO_ZONES;
    const circles = layers.has("circuits") ? circuitsOf(room) : layers.has("zones") ? zonesOf(room, this.props.zoneStrategy) : null;
    // As the service says of the newest edits; before the first light, of the revision.
    const reach = light === null ? room.reach : light.reach;
    const radio = light?.radio ?? room.radio;
    const notes = [
      ...(layers.has("seats") ? seatNotes(reach) : layers.has("movement") ? worstSeatNotes(reach) : []),
      ...(layers.has("movement") ? reachNotes(room, reach) : []),
      ...(layers.has("radio") ? radioNotes(room, radio) : []),
    ];
    const { low, high } = boundsOf(room.floor);
    const aspect = (high[0] - low[0] + 2.4) / (high[1] - low[1] + 2);
    const cross = this.cross();
    const cursor = this.state.isPanning || this.state.isSpaceHeld ? "pan" : state.name === "dragging" ? "drag" : tool.name === "select" ? "" : "draw";
    return (
      <div class={`plan${isLit ? " lit" : places !== null ? " placed" : ""}`}>
        <div class="plan-sheet" ref={this.box} style={{ "--plan-aspect": String(Math.min(2.6, Math.max(0.9, aspect))) }}>
          <canvas ref={this.canvas} class="plan-field" aria-hidden="true" />
          <svg
            ref={this.svg}
            class={`plan-drawing ${cursor}`}
            width={width_px}
            height={height_px}
            role="application"
            aria-roledescription="plan"
            aria-label={`Plan of ${room.name}`}
            aria-describedby={`${this.name}-words`}
            tabindex={tool.name === "select" ? -1 : 0}
            onFocus={this.onOwnFocus}
            onPointerDown={this.onPointerDown}
            onPointerMove={this.onPointerMove}
            onPointerUp={this.onPointerUp}
            onPointerCancel={this.onPointerCancel}
            onPointerLeave={this.onPointerLeave}
            onKeyDown={this.onKeyDown}
            onKeyUp={this.onKeyUp}
            onCopy={this.onCopy}
            onPaste={this.onPaste}
            onBlur={() => this.setState({ isSpaceHeld: false, isKeyed: false })}
          >
            <defs>
              <clipPath id={`${this.name}-floor`}>
                <path d={pathOf(view, room.floor, true)} />
              </clipPath>
              <pattern id={`${this.name}-glass`} width="6" height="6" patternUnits="userSpaceOnUse">
                <rect class="glass-ground" width="6" height="6" />
                <path class="glass-hatch" d="M-1 1L1 -1M0 6L6 0M5 7L7 5" />
              </pattern>
              <ReachHatch id={`${this.name}-hidden`} />
            </defs>
            <g clip-path={`url(#${this.name}-floor)`}>
              {!isLit && <path class="floor" d={pathOf(view, room.floor, true)} />}
              {isLit && <Contours contours={light.contours} view={view} />}
              {places !== null && (
                <PlacesLayer places={places} room={this.props.room} view={view} system={system} reading={this.props.placeRead ?? null} onRead={this.onPlaceRead} />
              )}
              <Fittings furniture={room.furniture} partitions={room.partitions} tasks={room.task_areas} openings={room.openings} view={view} />
              {zones.length > 0 && <DaylightZones zones={zones} view={view} />}
              {layers.has("movement") && <SensorReach room={room} reach={reach} view={view} hatch={`${this.name}-hidden`} />}
              {(layers.has("movement") || layers.has("seats")) && <Seats reach={reach} view={view} />}
              {layers.has("radio") && <RadioLinks room={room} radio={radio} view={view} />}
              <EgressPaths paths={room.egress_paths} view={view} isPlain={!layers.has("egress")} />
            </g>
            <Walls floor={room.floor} openings={room.openings} doors={room.doors} view={view} glass={`${this.name}-glass`} />
            <Selected room={room} selection={selection} glowing={glowing} view={view} />
            <g>
              {room.luminaires.map((l) => (
                <LuminaireShape
                  key={l.id}
                  luminaire={l}
                  type={typeOf(room, l)}
                  level={light?.luminaires[l.id]}
                  isSelected={selection.has(objectKey("luminaire", l.id))}
                  isGlowing={glowing.has(objectKey("luminaire", l.id))}
                  view={view}
                />
              ))}
            </g>
            {circles !== null && <Together circles={circles} room={room} view={view} />}
            {room.luminaires.map((l) => l.lights_egress && l.status !== "remove" && <Egress key={l.id} luminaire={l} type={typeOf(room, l)} view={view} />)}
            {room.devices.map((d) => {
              const { x_px, y_px } = tokenAt(room, d, view);
              const key = objectKey("device", d.id);
              return (
                <DeviceToken
                  key={d.id}
                  kind={d.kind}
                  x={x_px}
                  y={y_px}
                  isSelected={selection.has(key)}
                  isGlowing={glowing.has(key)}
                  isOut={d.status === "remove"}
                />
              );
            })}
            {isLit && light.lowest !== null && <Lowest at={light.lowest.at} view={view} />}
            <Words room={room} light={light} view={view} system={system} showsContours={isLit} showsPoints={layers.has("points")} zones={places === null ? zones : NO_ZONES} notes={notes} besideTags={layers.has("radio") ? radioTags(room, radio) : NO_TAGS} />
            {this.props.governed && (
              <GovernedTask governed={this.props.governed} room={room} view={view} system={system} isSensorMarked={(places?.present ?? null) !== null} />
            )}
            {places !== null && <PlaceMarks places={places} view={view} ofPresent={this.props.governed?.loop ? sensorNote(this.props.governed.loop, system) : ""} />}
            <Margin letters={marginLetters(room, this.marginGroups(room), view)} room={room} view={view} selection={selection} glowing={this.props.highlight ?? NOTHING} onPick={this.onPick} />
            <Dimensions floor={room.floor} doors={room.doors} view={view} system={system} plan_north_deg={room.plan_north_deg} />
            {this.renderGesture(view)}
            {cross !== null && <CrossHair at={cross} view={view} system={system} width_px={width_px} height_px={height_px} />}
            <Targets
              room={this.props.room}
              light={light}
              system={system}
              selection={selection}
              focus={this.state.focus}
              view={view}
              isStop={tool.name === "select"}
              onFocus={this.onFocus}
            />
          </svg>
          {this.state.view !== null && (
            <button type="button" class="plan-fit" onClick={this.onFit}>
              show the whole room
            </button>
          )}
        </div>
        {circles !== null && <TogetherKey circles={circles} />}
        {layers.has("radio") && radio !== null && radio.devices.length > 0 && <RadioKey room={room} radio={radio} system={system} />}
        <p id={`${this.name}-words`} class="plan-words">
          {planWords(this.props.room, light, system)} {tool.name === "select"
            ? "Arrow keys go from object to object, page down to the next of all; Enter selects; arrow keys then move what is selected, R turns it, Delete takes it out; Escape lets go."
            : `${CROSS_KEYS}; Enter presses and lets go; Escape lays the tool down.`}
        </p>
        <p class="plan-words" aria-live="polite">
          {cross !== null && crossWords(cross, system)}
        </p>
      </div>
    );
  }

  private readonly onPlaceRead = (index: number | null): void => {
    if (index !== (this.props.placeRead ?? null)) this.props.onPlaceRead?.(index);
  };
  private readonly onPointerLeave = (): void => this.onPlaceRead(null);

  private readonly onOwnFocus = (event: FocusEvent & { currentTarget: SVGSVGElement }): void => {
    if (event.target === event.currentTarget) this.setState({ isKeyed: event.currentTarget.matches(":focus-visible") });
  };
  private readonly onFocus = (key: ObjectKey): void => {
    if (this.state.focus !== key) this.setState({ focus: key });
  };

  /** Handles, guides and what is being drawn. */
  private renderGesture(view: View) {
    const { system } = this.props;
    const { tool: state } = this.state;
    const handles = state.name === "idle" ? this.handles() : [];
    return (
      <g class="gesture" aria-hidden="true">
        {handles.map((h, i) => {
          const { x_px, y_px } = screenFromPlan(view, h.at);
          if (h.kind === "rotate") {
            const about = screenFromPlan(view, h.about);
            return (
              <g key={i}>
                <path class="handle-stem" d={`M${about.x_px} ${about.y_px}L${x_px} ${y_px}`} />
                <circle class="handle round" cx={x_px} cy={y_px} r="5.5" />
              </g>
            );
          }
          return h.kind === "wall" ? (
            <circle key={i} class="handle round" cx={x_px} cy={y_px} r="5" />
          ) : (
            <rect key={i} class="handle" x={x_px - 4.5} y={y_px - 4.5} width="9" height="9" />
          );
        })}
        {state.name === "dragging" && <Guides guides={state.guides} view={view} system={system} />}
        {state.name === "dragging" && this.renderOffsets(state.grabbed, view)}
        {state.name === "boxing" && <path class="box" d={pathOf(view, cornersOf(boundsOf([state.start, state.end])), true)} />}
        {state.name === "measuring" && <Measure from={state.start} to={state.end} view={view} system={system} />}
        {(state.name === "drawing" || state.name === "placing") && state.start !== state.end && (
          <>
            <path class="box" d={pathOf(view, cornersOf(boundsOf([state.start, state.end])), true)} />
            {state.start[0] !== state.end[0] && <Measure from={[state.start[0], state.start[1]]} to={[state.end[0], state.start[1]]} view={view} system={system} />}
            {state.start[1] !== state.end[1] && <Measure from={[state.end[0], state.start[1]]} to={[state.end[0], state.end[1]]} view={view} system={system} />}
          </>
        )}
        {state.name === "rotating" && this.renderAngle(state.about, state.by_deg, view)}
      </g>
    );
  }

  /** Distances of the dragged object to the two walls that are nearest across and along. */
  private renderOffsets(grabbed: ObjectKey, view: View) {
    const room = this.shown();
    const found = find(room, grabbed);
    if (found === null || (found.kind !== "luminaire" && found.kind !== "device")) {
      if (found?.kind !== "opening" && found?.kind !== "door") return null;
      const near = nearestWall(room.floor, found.object.from);
      return near === null ? null : <Measure from={near.wall.from} to={found.object.from} view={view} system={this.props.system} />;
    }
    const { low, high } = boundsOf(room.floor);
    const [x, y] = found.object.at;
    return (
      <>
        <Measure from={[x - low[0] <= high[0] - x ? low[0] : high[0], y]} to={[x, y]} view={view} system={this.props.system} />
        <Measure from={[x, y - low[1] <= high[1] - y ? low[1] : high[1]]} to={[x, y]} view={view} system={this.props.system} />
      </>
    );
  }

  private renderAngle(about: PlanPoint, by_deg: number, view: View) {
    const { x_px, y_px } = screenFromPlan(view, about);
    return (
      <text class="angle" x={x_px + 16} y={y_px - 14}>
        {`${by_deg > 0 ? "+" : ""}${Math.round(by_deg)}°`}
      </text>
    );
  }
}

/** Keys go by steps of their own and need no lines to rest on. */
const KEYS = { shift: false, alt: true };

const goesOnWall = (tool: ToolChoice): boolean => tool.name === "add_on_wall" || (tool.name === "add_device" && tool.device === "station");

/** What page keys go through: what the tool takes hold of, or corners and what hangs. */
function crossStops(room: Room, tool: ToolChoice): PlanPoint[] {
  const handles = wallHandles(room.floor);
  if (tool.name === "edit_walls") return handles.map((h) => h.at);
  if (goesOnWall(tool)) return handles.filter((h) => h.kind === "wall").map((h) => h.at);
  return [...room.floor, ...room.luminaires.map((l): PlanPoint => [l.at[0], l.at[1]])];
}

function isSame(a: ReadonlySet<ObjectKey>, b: ReadonlySet<ObjectKey>): boolean {
  return a.size === b.size && [...a].every((k) => b.has(k));
}

/** Objects that glow: a group's luminaires with it. */
function glow(room: Room, highlight: ReadonlySet<ObjectKey>): ReadonlySet<ObjectKey> {
  if (highlight.size === 0) return NOTHING;
  const all = new Set(highlight);
  for (const key of highlight) {
    if (kindOf(key) !== "group") continue;
    const group = room.groups.find((g) => g.id === idOf(key));
    for (const channel of group?.channels ?? []) all.add(objectKey("luminaire", luminaireOfChannel(channel)));
  }
  return all;
}

/** The middle of an object. */
function centre(room: Room, key: ObjectKey): PlanPoint {
  const found = find(room, key);
  if (found === null) return [0, 0];
  switch (found.kind) {
    case "luminaire":
    case "device":
      return [found.object.at[0], found.object.at[1]];
    case "furniture":
    case "task_area":
      return centreOf(boundsOf(found.object.plan));
    case "opening":
    case "door":
    case "partition":
      return middle(found.object.from, found.object.to);
    case "group":
      return [0, 0];
  }
}

/** The object next in a direction: near, and more ahead than aside. */
function neighbour(room: Room, from: ObjectKey | null, direction: PlanPoint): ObjectKey | null {
  const order = readingOrder(room);
  if (from === null || !order.includes(from)) return order[0] ?? null;
  const here = centre(room, from);
  let best: { key: ObjectKey; cost: number } | null = null;
  for (const key of order) {
    if (key === from) continue;
    const [dx, dy] = [centre(room, key)[0] - here[0], centre(room, key)[1] - here[1]];
    const ahead = dx * direction[0] + dy * direction[1];
    const aside = Math.abs(dx * direction[1]) + Math.abs(dy * direction[0]);
    if (ahead <= 1e-6 || aside > 2 * ahead) continue;
    const cost = ahead + 2 * aside;
    if (best === null || cost < best.cost) best = { key, cost };
  }
  return best?.key ?? from;
}

/** What is selected or glows other than luminaires and devices, which carry their own halo. */
const Selected = pure(({ room, selection, glowing, view }: { room: Room; selection: ReadonlySet<ObjectKey>; glowing: ReadonlySet<ObjectKey>; view: View }) => (
  <g>
    {[...new Set([...glowing, ...selection])].map((key) => {
      const kind = kindOf(key);
      if (kind === "luminaire" || kind === "device" || kind === "group") return null;
      const d = targetPath(room, key, view);
      return d === "" ? null : <path key={key} class={`outline ${selection.has(key) ? "selected" : "glowing"}`} d={d} />;
    })}
  </g>
));

/** Outline that a ring of focus is drawn along. */
function targetPath(room: Room, key: ObjectKey, view: View): string {
  const found = find(room, key);
  if (found === null) return "";
  switch (found.kind) {
    case "luminaire":
      return pathOf(view, luminaireOutline(found.object, typeOf(room, found.object), (LEAST_LUMINAIRE_PX + 3) / view.px_per_m), true);
    case "device": {
      const { x_px: x, y_px: y } = tokenAt(room, found.object, view);
      return `M${x - 11} ${y}a11 11 0 1 1 22 0a11 11 0 1 1 -22 0Z`;
    }
    case "furniture":
    case "task_area":
      return pathOf(view, found.object.plan, true);
    case "opening":
      if (found.object.kind === "skylight") return pathOf(view, found.object.plan, true);
      return pathOf(view, [found.object.from, found.object.to], false);
    case "door":
      return pathOf(view, [found.object.latch, found.object.hinge, found.object.tip], false);
    case "partition":
      return pathOf(view, [found.object.from, found.object.to], false);
    case "group":
      return "";
  }
}

/** One place in the order of Tab that moves with the arrow keys; each object with its words. */
const Targets = pure(({ room, light, system, selection, focus, view, isStop, onFocus }: {
  room: Room;
  light: LightAnswer | null;
  system: UnitSystem;
  selection: ReadonlySet<ObjectKey>;
  focus: ObjectKey | null;
  view: View;
  /** Whether Tab comes here; with a tool in hand the plan itself is the stop. */
  isStop: boolean;
  onFocus: (key: ObjectKey) => void;
}) => {
  const order = readingOrder(room);
  const stop = focus !== null && order.includes(focus) ? focus : order[0];
  return (
    <g role="listbox" aria-label="Objects of the room" aria-multiselectable="true">
      {order.map((key) => (
        <path
          key={key}
          class="stop"
          role="option"
          tabindex={isStop && key === stop ? 0 : -1}
          aria-selected={selection.has(key)}
          aria-label={objectWords(room, key, light, system)}
          d={targetPath(room, key, view)}
          onFocus={() => onFocus(key)}
        />
      ))}
    </g>
  );
});

