// What the document says of the drawing that a storey's rooms are traced from: which file, and its scale.
import type { Edit } from "../api/contract";
import type { Json } from "../app/pointer";
import { type Background } from "./background";
import { listIn, numberIn, tableIn, textIn } from "./document";

export interface TracedDrawing {
  file: string;
  /** null: not known yet. */
  metres_per_unit: number | null;
}

/** Index of a storey by id; of the first where none is named, -1 where there is none. */
function storeyIndex(document: Json, storey: string): number {
  const storeys = listIn(document, "storeys");
  return storey === "" ? Math.min(0, storeys.length - 1) : storeys.findIndex((one) => textIn(one, "id") === storey);
}

export function tracedDrawingOf(document: Json, storey: string): TracedDrawing | null {
  const drawing = tableIn(listIn(document, "storeys")[storeyIndex(document, storey)] ?? null, "traced_drawing");
  if (drawing === null || textIn(drawing, "file") === "") return null;
  return { file: textIn(drawing, "file"), metres_per_unit: numberIn(drawing, "metres_per_unit") };
}

/** Edits by which the document names a storey's drawing with its scale, or (null) no drawing any more. */
export function editsToTrace(document: Json, storey: string, background: Background | null): Edit[] {
  const at = storeyIndex(document, storey);
  const value: Json | null =
    background === null
      ? null
      : { file: background.path, ...(background.isScaled ? { metres_per_unit: background.scale } : {}) };
  if (at >= 0) {
    const path = `/storeys/${at}/traced_drawing`;
    if (value !== null) return [{ op: "add", path, value }];
    return tracedDrawingOf(document, storey) === null ? [] : [{ op: "remove", path }];
  }
  if (value === null || storey !== "") return [];
  const first = { id: "ground", name: "Ground floor", elevation: "0 m", traced_drawing: value };
  return [{ op: "add", path: "/storeys", value: [first] }];
}
