// What somebody has said of a room that is begun, and what is asked of the service for it.
import type { Library, LibraryKind, PlanPoint, StartRoomRequest } from "../api/contract";
import type { UnitSystem } from "../units/system";
import { lengthText, lengthUnit, lightText, lightUnit, readLength, readLight } from "./lengths";
import { type DoorPart, type WindowPart, rectangle, sides, wallLength } from "./outline";

export type FoundChoice = "usual" | "known" | "nothing";

export interface RoomForm {
  kind: string;
  number: string;
  name: string;
  storey: string;
  width: string;
  length: string;
  height: string;
  /** Drawn; null while the size is typed. */
  drawn: PlanPoint[] | null;
  /** Its place counts: it was traced on a drawing of the building. */
  isTraced: boolean;
  windows: WindowPart[];
  doors: DoorPart[];
  /** As typed; empty: that of the kind. */
  target: string;
  /** Empty: what is usual for the kind. */
  luminaire: string;
  found: FoundChoice;
  foundType: string;
  foundCount: string;
  foundWatts: string;
}

export function newForm(library: Library, system: UnitSystem): RoomForm {
  const kind = library.kinds.find((k) => k.id === "office_open") ?? library.kinds[0]!;
  return {
    kind: kind.id,
    number: "",
    name: "",
    storey: "",
    width: system === "us" ? "26 ft" : "8 m",
    length: system === "us" ? "20 ft" : "6 m",
    height: system === "us" ? "9 ft" : "2.7 m",
    drawn: null,
    isTraced: false,
    windows: [],
    doors: [],
    target: "",
    luminaire: "",
    found: "usual",
    foundType: "",
    foundCount: "",
    foundWatts: "",
  };
}

export const kindOf = (library: Library, form: RoomForm): LibraryKind | undefined =>
  library.kinds.find((k) => k.id === form.kind);

/** The outline, from the typed size where nothing is drawn; null where that cannot be read. */
export function floorOf(form: RoomForm, system: UnitSystem): PlanPoint[] | null {
  if (form.drawn !== null) return form.drawn;
  const width = readLength(form.width, system);
  const length = readLength(form.length, system);
  if (!width.ok || !length.ok || width.si < 0.8 || length.si < 0.8 || width.si > 200 || length.si > 200) return null;
  return rectangle(width.si, length.si);
}

/** What was typed with its unit, or with the reader's. */
const typed = (text: string, unit: string): string => (/^[-+]?[0-9.]+$/.test(text.trim()) ? `${text.trim()} ${unit}` : text.trim());

/** What is wrong with a field, by its name; empty where all can be read. */
export function problemsOf(form: RoomForm, system: UnitSystem): Partial<Record<string, string>> {
  const problems: Partial<Record<string, string>> = {};
  const length = (key: string, text: string, least_m: number, most_m: number) => {
    const read = readLength(text, system);
    if (!read.ok) problems[key] = read.problem;
    else if (read.si < least_m || read.si > most_m)
      problems[key] = `Between ${lengthText(least_m, system)} and ${lengthText(most_m, system)}.`;
  };
  if (form.drawn === null) {
    length("width", form.width, 0.8, 200);
    length("length", form.length, 0.8, 200);
  }
  length("height", form.height, 1.5, 60);
  if (form.target.trim() !== "") {
    const read = readLight(form.target, system);
    if (!read.ok) problems["target"] = read.problem;
    else if (read.si < 1 || read.si > 20_000) problems["target"] = "Between 1 lx and 20 000 lx.";
  }
  const floor = floorOf(form, system);
  const onWall = (key: string, part: { wall: number; offset: string; width: string }) => {
    const offset = readLength(part.offset, system);
    const width = readLength(part.width, system);
    if (!offset.ok) problems[key] = offset.problem;
    else if (!width.ok) problems[key] = width.problem;
    else if (floor !== null && part.wall < floor.length && offset.si + width.si > wallLength(floor, part.wall) + 1e-6)
      problems[key] = `It ends beyond the wall, which is ${lengthText(wallLength(floor, part.wall), system)} long.`;
  };
  const height = readLength(form.height, system);
  for (const window of form.windows) {
    const key = `window-${window.id}`;
    onWall(key, window);
    const sill = readLength(window.sill, system);
    const high = readLength(window.height, system);
    if (!sill.ok) problems[key] = sill.problem;
    else if (!high.ok) problems[key] = high.problem;
    else if (height.ok && sill.si + high.si > height.si + 1e-6) problems[key] = "It ends above the ceiling.";
  }
  for (const door of form.doors) onWall(`door-${door.id}`, door);
  if (form.found === "known") {
    if (form.foundCount.trim() !== "" && !/^[1-9][0-9]{0,2}$/.test(form.foundCount.trim())) problems["foundCount"] = "A whole number, such as 12.";
    if (form.foundWatts.trim() !== "" && !/^[0-9.]+ ?(W)?$/.test(form.foundWatts.trim())) problems["foundWatts"] = "Watts of one luminaire, such as 72 W.";
  }
  return problems;
}

/** The request, or null while something cannot be read. */
export function requestOf(form: RoomForm, system: UnitSystem, revision: number): StartRoomRequest | null {
  if (Object.keys(problemsOf(form, system)).length > 0) return null;
  const floor = floorOf(form, system);
  if (floor === null) return null;
  const m = lengthUnit(system);
  const isTyped = form.drawn === null;
  return {
    revision,
    kind: form.kind,
    number: form.number.trim(),
    name: form.name.trim(),
    ...(form.storey === "" ? {} : { storey: form.storey }),
    ...(isTyped ? { width: typed(form.width, m), length: typed(form.length, m) } : { floor, apart: !form.isTraced }),
    height: typed(form.height, m),
    windows: form.windows.map((w) => ({
      wall: w.wall,
      offset: typed(w.offset, m),
      sill: typed(w.sill, m),
      width: typed(w.width, m),
      height: typed(w.height, m),
    })),
    doors: form.doors.map((d) => ({ wall: d.wall, offset: typed(d.offset, m), width: typed(d.width, m) })),
    ...(form.luminaire === "" ? {} : { luminaire_type: form.luminaire }),
    ...(form.target.trim() === "" ? {} : { target: typed(form.target, lightUnit(system)) }),
    as_found:
      form.found === "nothing"
        ? null
        : form.found === "usual"
          ? {}
          : {
              ...(form.foundType === "" ? {} : { luminaire_type: form.foundType }),
              ...(form.foundCount.trim() === "" ? {} : { count: Number(form.foundCount) }),
              ...(form.foundWatts.trim() === "" ? {} : { watts: typed(form.foundWatts, "W") }),
            },
  };
}

/** The target as it is asked for: what was typed, or what is usual for the kind. */
export function shownTarget(form: RoomForm, library: Library, system: UnitSystem): string {
  if (form.target.trim() !== "") return typed(form.target, lightUnit(system));
  const kind = kindOf(library, form);
  return kind === undefined ? "" : lightText(kind.target_lx, system);
}

/** The typed size follows what is drawn. */
export function withOutline(form: RoomForm, floor: PlanPoint[], isTraced: boolean, system: UnitSystem): RoomForm {
  const [wide, deep] = sides(floor);
  return {
    ...form,
    drawn: floor,
    isTraced,
    width: lengthText(wide, system),
    length: lengthText(deep, system),
    windows: [],
    doors: [],
  };
}
