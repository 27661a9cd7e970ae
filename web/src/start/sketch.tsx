// The room as it is drawn: outline, windows and doors under the pointer, with the light that it would get.
import type { RefObject } from "preact";
import { useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import type { PlanPoint, StartPreview } from "../api/contract";
import { useCell } from "../app/cell";
import { theme, units } from "../app/session";
import { CROSS_KEYS, CrossHair, crossMoved, crossWords } from "../plan/crosshair";
import { drawField, fieldPixels } from "../plan/field";
import { boundsOf, centreOf, middle, minus, rectangleAbout } from "../plan/geometry";
import { ARROWS } from "../plan/keys";
import { bandPath, contourPath, pathOf, pointText } from "../plan/paths";
import { onGrid } from "../plan/snap";
import { type View, bringing, fitted, pannedBy, planFromScreen, screenFromPlan, screenPoint, zoomedAbout } from "../plan/view";
import { formatLength } from "../units/system";
import type { Background } from "./background";
import { BackgroundLayer } from "./background_layer";
import { type DoorPart, type WindowPart, closed, facing, onWall, sides, squared, stretch } from "./outline";

export type SketchTool = "look" | "rectangle" | "corners" | "window" | "door" | "measure";

export interface SketchProps {
  floor: readonly PlanPoint[] | null;
  windows: readonly (WindowPart & { offset_m: number; width_m: number })[];
  doors: readonly (DoorPart & { offset_m: number; width_m: number })[];
  preview: StartPreview | null;
  isOld: boolean;
  tool: SketchTool;
  background: Background | null;
  /** Outlines of rooms that stand there already, in the drawing's own place. */
  others: readonly (readonly PlanPoint[])[];
  opacity: number;
  onFloor: (floor: PlanPoint[]) => void;
  onWindow: (wall: number, offset_m: number, width_m: number) => void;
  onDoor: (wall: number, offset_m: number, width_m: number) => void;
  /** Two points of the background whose distance is known, in its own coordinates. */
  onMeasured: (from: PlanPoint, to: PlanPoint) => void;
  /** Takes the focus once a tool is chosen. */
  drawing: RefObject<SVGSVGElement | null>;
}

const WINDOW_M = 1.8;
const DOOR_M = 0.9;
const WALL_PX = 6;
const PAN_PX = 40;
/** How near, in pixels, something is meant. */
const NEAR_PX = 14;
/** What is shown where nothing is drawn yet. */
const EMPTY: PlanPoint[] = [
  [-1, -1],
  [15, 10],
];

export function Sketch(props: SketchProps) {
  const { floor, windows, doors, preview, isOld, tool, background, opacity, drawing } = props;
  const system = useCell(units);
  useCell(theme);
  const box = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const [size, setSize] = useState({ width_px: 600, height_px: 420 });
  const [own, setOwn] = useState<View | null>(null);
  const [corners, setCorners] = useState<PlanPoint[]>([]);
  const [at, setAt] = useState<PlanPoint | null>(null);
  const [drag, setDrag] = useState<PlanPoint | null>(null);
  /** The drawing has the focus by keys: "at" is then the keyboard's cross. */
  const [isKeyed, setKeyed] = useState(false);
  const pan = useRef<{ x: number; y: number } | null>(null);

  useLayoutEffect(() => {
    const measure = () => {
      if (box.current === null) return;
      const { clientWidth: width_px, clientHeight: height_px } = box.current;
      setSize((s) => (s.width_px === width_px && s.height_px === height_px ? s : { width_px, height_px }));
    };
    const observer = new ResizeObserver(measure);
    observer.observe(box.current!);
    measure();
    return () => observer.disconnect();
  }, []);
  // What was begun with one tool means nothing to another. Before the next event: a first corner that is set at once stays.
  useLayoutEffect(() => {
    setCorners([]);
    setDrag(null);
  }, [tool]);
  useLayoutEffect(() => setOwn(null), [background]);

  const extent = background !== null ? background.extent : floor !== null ? [...floor] : EMPTY;
  const view = own ?? fitted(extent, size.width_px, size.height_px, background !== null ? { left_px: 12, top_px: 12, right_px: 12, bottom_px: 12 } : { left_px: 46, top_px: 40, right_px: 56, bottom_px: 54 });

  // The preview stands where the service puts the room; here it lies on the outline.
  const shift: PlanPoint = preview !== null && floor !== null ? minus(floor[0]!, preview.floor[0]!) : [0, 0];
  const lit: View = { px_per_m: view.px_per_m, origin: screenFromPlan(view, shift) };
  const isLit = preview !== null && floor !== null && !isOld;
  const picture = useMemo(() => {
    if (preview === null) return null;
    const pixels = fieldPixels(preview.field);
    if (pixels === null) return null;
    const made = document.createElement("canvas");
    made.width = preview.field.columns;
    made.height = preview.field.rows;
    made.getContext("2d")?.putImageData(new ImageData(pixels, made.width, made.height), 0, 0);
    return made;
  }, [preview]);
  useLayoutEffect(() => {
    const sheet = canvas.current;
    const context = sheet?.getContext("2d");
    if (sheet === null || !context) return;
    const density = devicePixelRatio || 1;
    sheet.width = Math.round(size.width_px * density);
    sheet.height = Math.round(size.height_px * density);
    drawField(context, isLit ? picture : null, preview?.field ?? null, preview?.floor ?? [], lit, { ...size, density });
  });

  const plan = (event: PointerEvent | MouseEvent): PlanPoint => {
    const rect = box.current!.getBoundingClientRect();
    return planFromScreen(view, screenPoint(event.clientX - rect.left, event.clientY - rect.top));
  };
  const near_m = NEAR_PX / view.px_per_m;
  const snap = (p: PlanPoint, last: PlanPoint | null, first: PlanPoint | null): PlanPoint =>
    background?.nearest(p, near_m) ?? (isKeyed ? p : squared(p, last, first, near_m));
  // Keys mean a wall from wherever the cross stands, and a corner only where it is.
  const wallReach_m = isKeyed ? Infinity : 3 * near_m;
  const cornerReach_m = isKeyed ? 1e-3 : near_m;

  const finish = (points: readonly PlanPoint[]) => {
    const outline = closed(points);
    setCorners([]);
    setDrag(null);
    if (outline !== null) {
      setOwn(null);
      props.onFloor(outline);
    }
  };
  const down = (event: PointerEvent) => {
    if (event.button === 1 || tool === "look") {
      pan.current = { x: event.clientX, y: event.clientY };
      (event.currentTarget as Element).setPointerCapture(event.pointerId);
      return;
    }
    if (event.button !== 0) return;
    if (tool === "rectangle") (event.currentTarget as Element).setPointerCapture(event.pointerId);
    press(plan(event));
  };
  const press = (p: PlanPoint) => {
    if (tool === "rectangle") setDrag(snap(p, null, null));
    else if (tool === "corners") {
      const first = corners[0] ?? null;
      if (first !== null && corners.length > 2 && Math.hypot(p[0] - first[0], p[1] - first[1]) < cornerReach_m) return finish(corners);
      setCorners([...corners, snap(p, corners.at(-1) ?? null, first)]);
    } else if (tool === "measure") {
      const spot = background?.nearest(p, near_m) ?? p;
      if (corners.length === 0) setCorners([spot]);
      else {
        props.onMeasured(corners[0]!, spot);
        setCorners([]);
      }
    } else if (floor !== null) {
      const place = onWall(floor, p, tool === "window" ? WINDOW_M : DOOR_M, wallReach_m);
      if (place === null) return;
      if (tool === "window") props.onWindow(place.wall, place.offset_m, place.width_m);
      else props.onDoor(place.wall, place.offset_m, place.width_m);
    }
  };
  const move = (event: PointerEvent) => {
    setKeyed(false);
    if (pan.current !== null) {
      setOwn(pannedBy(view, event.clientX - pan.current.x, event.clientY - pan.current.y));
      pan.current = { x: event.clientX, y: event.clientY };
      return;
    }
    setAt(plan(event));
  };
  const up = () => {
    pan.current = null;
    if (drag !== null && at !== null) {
      const to = snap(at, null, null);
      finish([drag, [to[0], drag[1]], to, [drag[0], to[1]]]);
    }
  };
  const zoom = (factor: number) => setOwn(zoomedAbout(view, screenPoint(size.width_px / 2, size.height_px / 2), factor));

  const crossBegin = (): PlanPoint => {
    if (floor !== null && (tool === "window" || tool === "door")) return middle(floor[0]!, floor[1]!);
    const [x, y] = centreOf(boundsOf(extent));
    return [onGrid(x), onGrid(y)];
  };
  /** Corners that were set, or those of the room, or where windows and doors go the middles of its walls. */
  const crossStops = (): readonly PlanPoint[] => {
    if (floor === null || corners.length > 0) return corners;
    return tool === "window" || tool === "door" ? floor.map((from, i) => middle(from, floor[(i + 1) % floor.length]!)) : floor;
  };
  const pressKey = (p: PlanPoint) => {
    if (drag === null) press(p);
    else up();
  };
  const onKeyDown = (event: KeyboardEvent) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const { key, shiftKey, repeat } = event;
    const arrow = ARROWS[key];
    const cross = at ?? crossBegin();
    if (key === "+" || key === "=") zoom(1.3);
    else if (key === "-" || key === "_") zoom(1 / 1.3);
    else if (key === "0") setOwn(null);
    else if (tool === "look") {
      if (arrow === undefined) return;
      setOwn(pannedBy(view, -PAN_PX * arrow[0], PAN_PX * arrow[1]));
    } else if (key === "Enter") {
      if (!repeat) pressKey(cross);
    } else if (key === "Backspace") setCorners(corners.slice(0, -1));
    else if (key === "Escape") {
      if (corners.length === 0 && drag === null) return;
      setCorners([]);
      setDrag(null);
    } else {
      const to = crossMoved(cross, key, shiftKey, crossStops());
      if (to === null) return;
      setKeyed(true);
      setAt(to);
      if (own !== null) setOwn(bringing(view, to, size.width_px, size.height_px));
    }
    event.preventDefault();
    event.stopPropagation();
  };

  const hint = isKeyed && tool !== "look" ? keysOf(tool, floor !== null) : hintOf(tool, floor !== null, corners.length);
  const ghost = tool === "corners" && at !== null && corners.length > 0 ? [...corners, snap(at, corners.at(-1)!, corners[0]!)] : corners;
  const rubber = drag !== null && at !== null ? snap(at, null, null) : null;
  const parts = tool === "window" || tool === "door" ? (floor !== null && at !== null ? onWall(floor, at, tool === "window" ? WINDOW_M : DOOR_M, wallReach_m) : null) : null;

  return (
    <div class={isLit ? "sketch plan lit" : "sketch plan"}>
      <div class="sheet" ref={box}>
        {background !== null && <BackgroundLayer background={background} view={view} opacity={opacity} size={size} />}
        <canvas ref={canvas} aria-hidden="true" />
        <svg
          width={size.width_px}
          height={size.height_px}
          ref={drawing}
          role="application"
          aria-roledescription="drawing"
          tabindex={0}
          aria-label={labelOf(floor, windows.length, doors.length, preview, system)}
          class={tool === "look" ? "panning" : "drawing"}
          onPointerDown={down}
          onPointerMove={move}
          onPointerUp={up}
          onPointerLeave={() => !isKeyed && setAt(null)}
          onKeyDown={onKeyDown}
          onFocus={(event) => {
            const byKeys = event.currentTarget.matches(":focus-visible");
            setKeyed(byKeys);
            if (byKeys) setAt(null);
          }}
          onBlur={() => {
            setKeyed(false);
            setAt(null);
          }}
          onDblClick={() => tool === "corners" && corners.length > 2 && finish(corners)}
        >
          {props.others.map((outline, i) => (
            <path key={i} class="other" d={pathOf(view, outline, true)} />
          ))}
          {floor === null && background === null && <Grid view={view} size={size} />}
          {floor !== null && (
            <>
              <path class="wall" d={pathOf(view, floor, true)} />
              {windows.map((w) => {
                const [a, b] = stretch(floor, w.wall, w.offset_m, w.width_m);
                return (
                  <g key={w.id}>
                    <path class="pane" d={bandPath(view, a, b, WALL_PX)} />
                    <path class="glass" d={bandPath(view, a, b, WALL_PX - 2)} />
                  </g>
                );
              })}
              {doors.map((d) => {
                const [a, b] = stretch(floor, d.wall, d.offset_m, d.width_m);
                return <path key={d.id} class="gap" d={bandPath(view, a, b, WALL_PX + 1)} />;
              })}
              <WallNames floor={floor} view={view} system={system} />
            </>
          )}
          {isLit && preview !== null && (
            <g>
              <clipPath id="start-floor">
                <path d={pathOf(view, floor, true)} />
              </clipPath>
              <g clip-path="url(#start-floor)">
              <path class="iso" d={contourPath(lit, preview.contours.filter((c) => !c.is_target))} />
              <path class="iso target" d={contourPath(lit, preview.contours.filter((c) => c.is_target))} />
              </g>
              {preview.luminaires.map((p, i) => (
                <path
                  key={i}
                  class="start-luminaire"
                  d={
                    preview.type.shape === "circle"
                      ? circle(lit, p, 0.5 * preview.type.length_m)
                      : pathOf(lit, rectangleAbout(p, preview.type.length_m, preview.type.width_m, preview.rotation_deg), true)
                  }
                />
              ))}
              {[...preview.sensors, ...preview.photosensors, ...preview.stations].map((device) => {
                const { x_px, y_px } = screenFromPlan(lit, device.at);
                return (
                  <g key={device.tag}>
                    <circle class="start-device" cx={x_px} cy={y_px} r="4" />
                    <text class="tiny" x={x_px + 7} y={y_px + 4}>
                      {device.tag}
                    </text>
                  </g>
                );
              })}
            </g>
          )}
          {ghost.length > 0 && <path class="ghost" d={pathOf(view, ghost, false)} />}
          {corners.map((c, i) => {
            const { x_px, y_px } = screenFromPlan(view, c);
            return <circle key={i} class="corner" cx={x_px} cy={y_px} r={i === 0 ? 6 : 4} />;
          })}
          {drag !== null && rubber !== null && (
            <>
              <path class="ghost" d={pathOf(view, [drag, [rubber[0], drag[1]], rubber, [drag[0], rubber[1]]], true)} />
              <text class="ghost-size" x={screenFromPlan(view, rubber).x_px + 8} y={screenFromPlan(view, rubber).y_px - 8}>
                {formatLength(Math.abs(rubber[0] - drag[0]), system)} x {formatLength(Math.abs(rubber[1] - drag[1]), system)}
              </text>
            </>
          )}
          {parts !== null && floor !== null && (
            <path class="ghost" d={bandPath(view, ...stretch(floor, parts.wall, parts.offset_m, parts.width_m), WALL_PX + 4)} />
          )}
          <g transform={`translate(${size.width_px - 24} 30)`} aria-hidden="true">
            <path class="north" d="M0 13V-12M-5 -5L0 -13L5 -5" />
            <text class="dim-text" x="-13" y="6">
              N
            </text>
          </g>
          {isKeyed && tool !== "look" && <CrossHair at={at ?? crossBegin()} view={view} system={system} {...size} />}
        </svg>
      </div>
      <p class="spoken" aria-live="polite">
        {isKeyed && tool !== "look" && crossWords(at ?? crossBegin(), system)}
      </p>
      <p class="sketch-foot">
        <span class="soft">{hint}</span>
        <span class="actions">
          {tool === "corners" && corners.length > 2 && (
            <button type="button" class="word" onClick={() => finish(corners)}>
              close the outline
            </button>
          )}
          <button type="button" class="word" onClick={() => zoom(1.3)}>
            closer
          </button>
          <button type="button" class="word" onClick={() => zoom(1 / 1.3)}>
            farther
          </button>
          <button type="button" class="word" onClick={() => setOwn(null)}>
            all of it
          </button>
        </span>
      </p>
    </div>
  );
}

/** The same by keys. */
function keysOf(tool: SketchTool, hasFloor: boolean): string {
  if ((tool === "window" || tool === "door") && !hasFloor) return "Draw the room first.";
  const does = {
    look: "",
    rectangle: "Enter sets one corner and then the other",
    corners: "Enter sets a corner, and on the first one closes the outline; backspace takes the last one back",
    window: "Enter puts a window on the nearest wall",
    door: "Enter puts a door on the nearest wall",
    measure: "Enter sets one end and then the other",
  }[tool];
  return `${CROSS_KEYS}. ${does}.`;
}

function hintOf(tool: SketchTool, hasFloor: boolean, corners: number): string {
  switch (tool) {
    case "rectangle":
      return "Drag from one corner of the room to the other.";
    case "corners":
      return corners === 0 ? "Click the corners of the room one after another." : "Click the first corner again to close the outline.";
    case "window":
      return hasFloor ? "Click a wall to put a window there." : "Draw the room first.";
    case "door":
      return hasFloor ? "Click a wall to put a door there." : "Draw the room first.";
    case "measure":
      return corners === 0 ? "Click one end of a length that you know." : "Click its other end.";
    case "look":
      return hasFloor ? "Drag to move the drawing." : "Type the size of the room, or draw it.";
  }
}

function labelOf(floor: readonly PlanPoint[] | null, windows: number, doors: number, preview: StartPreview | null, system: "si" | "us"): string {
  if (floor === null) return "No room yet.";
  const [wide, deep] = sides(floor);
  const light = preview === null ? "" : `, ${preview.count} luminaires in ${preview.rows} rows`;
  return `Room ${formatLength(wide, system)} by ${formatLength(deep, system)}, ${windows} windows, ${doors} doors${light}.`;
}

function circle(view: View, p: PlanPoint, radius_m: number): string {
  const r = Math.max(3, radius_m * view.px_per_m);
  const { x_px: x, y_px: y } = screenFromPlan(view, p);
  return `M${x - r} ${y}A${r} ${r} 0 1 1 ${x + r} ${y}A${r} ${r} 0 1 1 ${x - r} ${y}Z`;
}

function Grid({ view, size }: { view: View; size: { width_px: number; height_px: number } }) {
  const low = planFromScreen(view, screenPoint(0, size.height_px));
  const high = planFromScreen(view, screenPoint(size.width_px, 0));
  let d = "";
  for (let x = Math.ceil(low[0]); x <= high[0]; x += 1) d += `M${pointText(view, [x, low[1]])}L${pointText(view, [x, high[1]])}`;
  for (let y = Math.ceil(low[1]); y <= high[1]; y += 1) d += `M${pointText(view, [low[0], y])}L${pointText(view, [high[0], y])}`;
  return <path class="start-grid" d={d} />;
}

function WallNames({ floor, view, system }: { floor: readonly PlanPoint[]; view: View; system: "si" | "us" }) {
  const { low, high } = boundsOf(floor);
  const centre: PlanPoint = [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])];
  return (
    <g aria-hidden="true">
      {floor.map((from, i) => {
        const to = floor[(i + 1) % floor.length]!;
        const mid: PlanPoint = [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])];
        const a = screenFromPlan(view, mid);
        const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
        if (length * view.px_per_m < 60) return null;
        const out = minus(mid, centre);
        const steep = Math.abs(to[1] - from[1]) > Math.abs(to[0] - from[0]);
        const dx = steep ? Math.sign(out[0] || 1) * 18 : 0;
        const dy = steep ? 0 : -Math.sign(out[1] || 1) * 18;
        return (
          <text key={i} class="dim-text" transform={`translate(${a.x_px + dx} ${a.y_px + dy + (steep ? 0 : 4)})${steep ? " rotate(-90)" : ""}`}>
            {facing(floor, i)} {formatLength(length, system)}
          </text>
        );
      })}
    </g>
  );
}
