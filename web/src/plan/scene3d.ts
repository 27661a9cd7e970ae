// The room as a scene of the library that draws it. Only view3d.tsx loads this, when the view is first shown.
import {
  BackSide,
  BoxGeometry,
  BufferGeometry,
  CanvasTexture,
  CircleGeometry,
  Color,
  CylinderGeometry,
  DirectionalLight,
  DoubleSide,
  EdgesGeometry,
  ExtrudeGeometry,
  Float32BufferAttribute,
  Group,
  HemisphereLight,
  LineBasicMaterial,
  LineSegments,
  LinearFilter,
  type Material,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  Path,
  PerspectiveCamera,
  PlaneGeometry,
  SRGBColorSpace,
  Scene,
  Shape,
  ShapeGeometry,
  Vector3,
  WebGLRenderer,
} from "three";
import type { LightAnswer, PlanPoint, Room } from "../api/contract";
import { fieldPixels } from "./field";
import { boundsOf, centreOf, wallsOf } from "./geometry";
import { onWall } from "./changes";
import { type ObjectKey, objectKey, typeOf } from "./objects";

const DARK = new Color("#3a3840");
const LIT = new Color("#fff3cf");
const WALL = "#ece6d8";
const GLASS = "#9db4c8";
const TALL_M = 1.2;

/** Where the eye is, about the middle of the room. */
export interface Orbit {
  /** From south, counter-clockwise seen from above. */
  around_deg: number;
  above_deg: number;
  away_m: number;
}

export interface Drawn {
  show: (room: Room, light: LightAnswer | null, selection: ReadonlySet<ObjectKey>) => void;
  look: (orbit: Orbit) => void;
  resize: (width_px: number, height_px: number) => void;
  dispose: () => void;
}

export function usualOrbit(room: Room): Orbit {
  const { low, high } = boundsOf(room.floor);
  return { around_deg: -28, above_deg: 42, away_m: 1.15 * Math.hypot(high[0] - low[0], high[1] - low[1]) + room.height_m };
}

/** Plan metres, heights up, to the scene, whose y is up. */
const at = (x: number, y: number, z: number): Vector3 => new Vector3(x, z, -y);

function shapeOf(points: readonly PlanPoint[]): Shape {
  const shape = new Shape();
  points.forEach(([x, y], i) => (i === 0 ? shape.moveTo(x, y) : shape.lineTo(x, y)));
  shape.closePath();
  return shape;
}

/** A level polygon at a height, seen from above. */
function level(points: readonly PlanPoint[], z: number, material: Material): Mesh {
  const mesh = new Mesh(new ShapeGeometry(shapeOf(points)), material);
  mesh.rotation.x = -Math.PI / 2;
  mesh.position.y = z;
  return mesh;
}

function block(points: readonly PlanPoint[], bottom: number, top: number, material: Material): Group {
  const geometry = new ExtrudeGeometry(shapeOf(points), { depth: Math.max(0.005, top - bottom), bevelEnabled: false });
  const group = new Group();
  group.add(new Mesh(geometry, material), new LineSegments(new EdgesGeometry(geometry), new LineBasicMaterial({ color: "#5c5862", transparent: true, opacity: 0.6 })));
  group.rotation.x = -Math.PI / 2;
  group.position.y = bottom;
  return group;
}

/** The picture of the light over the field's own bounds, or null without light. */
function lightMaterial(light: LightAnswer | null): { material: MeshBasicMaterial; fit: (mesh: Mesh) => void } | null {
  const pixels = light === null ? null : fieldPixels(light.field);
  if (light === null || pixels === null) return null;
  const { x0_m, y0_m, step_m, columns, rows } = light.field;
  const canvas = document.createElement("canvas");
  canvas.width = columns;
  canvas.height = rows;
  canvas.getContext("2d")?.putImageData(new ImageData(pixels, columns, rows), 0, 0);
  const texture = new CanvasTexture(canvas);
  texture.colorSpace = SRGBColorSpace;
  texture.minFilter = LinearFilter;
  texture.magFilter = LinearFilter;
  const material = new MeshBasicMaterial({ map: texture });
  const fit = (mesh: Mesh): void => {
    const place = mesh.geometry.getAttribute("position");
    const uv: number[] = [];
    for (let i = 0; i < place.count; i += 1) {
      // A pixel is centred on its point.
      uv.push((place.getX(i) - x0_m + 0.5 * step_m) / (columns * step_m), (place.getY(i) - y0_m + 0.5 * step_m) / (rows * step_m));
    }
    mesh.geometry.setAttribute("uv", new Float32BufferAttribute(uv, 2));
  };
  return { material, fit };
}

function walls(room: Room): Group {
  const group = new Group();
  // Walls are seen from inside only, so that the nearer ones do not stand in the way.
  const material = new MeshLambertMaterial({ color: WALL });
  const glass = new MeshBasicMaterial({ color: GLASS, transparent: true, opacity: 0.4, side: DoubleSide });
  const leaf = new MeshLambertMaterial({ color: "#cbbfa6" });
  const edge = new LineBasicMaterial({ color: "#23222b" });
  for (const wall of wallsOf(room.floor)) {
    if (wall.length_m === 0) continue;
    const shape = shapeOf([[0, 0], [wall.length_m, 0], [wall.length_m, room.height_m], [0, room.height_m]]);
    const panes: { from: number; to: number; low: number; high: number; isDoor: boolean }[] = [];
    for (const o of room.openings) {
      const stood = o.kind !== "skylight" && o.wall === wall.index ? onWall(room, o) : null;
      if (stood !== null) panes.push({ from: stood.offset_m, to: stood.offset_m + stood.width_m, low: o.sill_m, high: Math.min(room.height_m - 0.01, o.sill_m + o.height_m), isDoor: false });
    }
    for (const d of room.doors) {
      const stood = d.wall === wall.index ? onWall(room, d) : null;
      if (stood !== null) panes.push({ from: stood.offset_m, to: stood.offset_m + stood.width_m, low: 0.01, high: Math.min(room.height_m - 0.01, d.height_m), isDoor: true });
    }
    for (const { from, to, low, high } of panes) {
      const hole = new Path();
      hole.moveTo(from, low);
      hole.lineTo(from, high);
      hole.lineTo(to, high);
      hole.lineTo(to, low);
      hole.closePath();
      shape.holes.push(hole);
    }
    const piece = new Group();
    piece.add(new Mesh(new ShapeGeometry(shape), material));
    for (const { from, to, low, high, isDoor } of panes) {
      const pane = new Mesh(new PlaneGeometry(to - from, high - low), isDoor ? leaf : glass);
      pane.position.set(0.5 * (from + to), 0.5 * (low + high), 0);
      piece.add(pane);
    }
    const outline = new LineSegments(new BufferGeometry().setFromPoints([new Vector3(0, 0, 0), new Vector3(wall.length_m, 0, 0), new Vector3(0, 0, 0), new Vector3(0, room.height_m, 0), new Vector3(0, room.height_m, 0), new Vector3(wall.length_m, room.height_m, 0)]), edge);
    piece.add(outline);
    // The shape's x runs along the wall and its face into the room, where the wall's left hand is.
    piece.position.copy(at(wall.from[0], wall.from[1], 0));
    piece.rotation.y = Math.atan2(wall.along[1], wall.along[0]);
    piece.scale.z = 1;
    group.add(piece);
  }
  // Counter-clockwise walls show their back to the room.
  material.side = BackSide;
  leaf.side = BackSide;
  return group;
}

function luminaires(room: Room, light: LightAnswer | null, selection: ReadonlySet<ObjectKey>): Group {
  const group = new Group();
  const stem = new LineBasicMaterial({ color: "#8d8a94" });
  const halo = new LineBasicMaterial({ color: "#c98a1b" });
  for (const l of room.luminaires) {
    if (l.status === "remove") continue;
    const type = typeOf(room, l);
    const length = type?.length_m ?? 0.3;
    const width = type?.width_m ?? 0.3;
    const color = DARK.clone().lerp(LIT, Math.sqrt(Math.min(1, Math.max(0, light?.luminaires[l.id] ?? 0))));
    const geometry = type?.shape === "circle" ? new CylinderGeometry(0.5 * length, 0.5 * length, 0.06, 24) : new BoxGeometry(length, 0.06, width);
    const mesh = new Mesh(geometry, new MeshBasicMaterial({ color }));
    mesh.position.copy(at(l.at[0], l.at[1], l.at[2] + 0.03));
    mesh.rotation.y = (l.rotation_deg * Math.PI) / 180;
    mesh.add(new LineSegments(new EdgesGeometry(geometry, 30), selection.has(objectKey("luminaire", l.id)) ? halo : new LineBasicMaterial({ color: "#4a464e" })));
    group.add(mesh);
    if (room.height_m - l.at[2] > 0.15) {
      const c = Math.cos((l.rotation_deg * Math.PI) / 180) * 0.35 * length;
      const s = Math.sin((l.rotation_deg * Math.PI) / 180) * 0.35 * length;
      const ends = [-1, 1].flatMap((k) => [at(l.at[0] + k * c, l.at[1] + k * s, l.at[2] + 0.06), at(l.at[0] + k * c, l.at[1] + k * s, room.height_m)]);
      group.add(new LineSegments(new BufferGeometry().setFromPoints(ends), stem));
    }
  }
  return group;
}

function contentsOf(room: Room, light: LightAnswer | null, selection: ReadonlySet<ObjectKey>): Group {
  const group = new Group();
  const lit = lightMaterial(light);
  const plain = new MeshLambertMaterial({ color: "#d9d2c4" });
  const floor = level(room.floor, 0, lit?.material ?? plain);
  lit?.fit(floor);
  group.add(floor, walls(room));
  for (const f of room.furniture) {
    group.add(block(f.plan, f.bottom_m, f.top_m, new MeshLambertMaterial({ color: selection.has(objectKey("furniture", f.id)) ? "#e9b87a" : "#cfc6b4" })));
    if (lit === null || f.top_m > TALL_M) continue;
    // The light is that of the plane on which people work, which table tops are near.
    const top = level(f.plan, f.top_m + 0.008, lit.material);
    lit.fit(top);
    group.add(top);
  }
  for (const p of room.partitions) {
    const length = Math.hypot(p.to[0] - p.from[0], p.to[1] - p.from[1]);
    if (length === 0) continue;
    const mesh = new Mesh(new BoxGeometry(length, p.height_m, Math.max(0.03, p.thickness_m)), new MeshLambertMaterial({ color: "#bdb5a5" }));
    mesh.position.copy(at(0.5 * (p.from[0] + p.to[0]), 0.5 * (p.from[1] + p.to[1]), 0.5 * p.height_m));
    mesh.rotation.y = Math.atan2(p.to[1] - p.from[1], p.to[0] - p.from[0]);
    group.add(mesh);
  }
  for (const o of room.openings)
    if (o.kind === "skylight" && o.plan.length > 2) {
      const points = o.plan.flatMap((p, i) => {
        const q = o.plan[(i + 1) % o.plan.length]!;
        return [at(p[0], p[1], room.height_m), at(q[0], q[1], room.height_m)];
      });
      group.add(new LineSegments(new BufferGeometry().setFromPoints(points), new LineBasicMaterial({ color: GLASS })));
    }
  for (const d of room.devices) {
    if (d.status === "remove") continue;
    const disc = new Mesh(new CircleGeometry(0.11, 20), new MeshBasicMaterial({ color: selection.has(objectKey("device", d.id)) ? "#ffd27a" : "#ffffff", side: DoubleSide }));
    const rim = new LineSegments(new EdgesGeometry(disc.geometry), new LineBasicMaterial({ color: "#23222b" }));
    disc.add(rim);
    disc.position.copy(at(d.at[0], d.at[1], Math.min(d.at[2], room.height_m) - 0.02));
    if (d.kind !== "station") disc.rotation.x = -Math.PI / 2;
    group.add(disc);
  }
  group.add(luminaires(room, light, selection));
  return group;
}

function disposeOf(group: Group): void {
  group.traverse((o) => {
    if (!(o instanceof Mesh) && !(o instanceof LineSegments)) return;
    o.geometry.dispose();
    for (const material of [o.material].flat() as Material[]) {
      if (material instanceof MeshBasicMaterial) material.map?.dispose();
      material.dispose();
    }
  });
}

/** Starts drawing on a canvas; null where the browser has no WebGL. */
export function drawOn(canvas: HTMLCanvasElement): Drawn | null {
  let renderer: WebGLRenderer;
  try {
    renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
  } catch {
    return null;
  }
  renderer.setPixelRatio(Math.min(2, globalThis.devicePixelRatio || 1));
  const scene = new Scene();
  scene.add(new HemisphereLight("#ffffff", "#b9b0a2", 2.2));
  const sun = new DirectionalLight("#ffffff", 0.9);
  sun.position.set(3, 8, 5);
  scene.add(sun);
  const camera = new PerspectiveCamera(38, 1, 0.1, 500);
  let contents = new Group();
  scene.add(contents);
  let middle = new Vector3();
  let orbit: Orbit = { around_deg: 0, above_deg: 45, away_m: 10 };
  const draw = () => {
    const around = (orbit.around_deg * Math.PI) / 180;
    const above = (orbit.above_deg * Math.PI) / 180;
    camera.position.set(
      middle.x + orbit.away_m * Math.cos(above) * Math.sin(around),
      middle.y + orbit.away_m * Math.sin(above),
      middle.z + orbit.away_m * Math.cos(above) * Math.cos(around),
    );
    camera.lookAt(middle);
    renderer.render(scene, camera);
  };
  return {
    show(room, light, selection) {
      scene.remove(contents);
      disposeOf(contents);
      contents = contentsOf(room, light, selection);
      scene.add(contents);
      const [x, y] = centreOf(boundsOf(room.floor));
      middle = at(x, y, 0.35 * room.height_m);
      draw();
    },
    look(next) {
      orbit = next;
      draw();
    },
    resize(width_px, height_px) {
      if (width_px === 0 || height_px === 0) return;
      renderer.setSize(width_px, height_px, false);
      camera.aspect = width_px / height_px;
      camera.updateProjectionMatrix();
      draw();
    },
    dispose() {
      disposeOf(contents);
      renderer.dispose();
    },
  };
}
