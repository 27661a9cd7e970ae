// A file that is traced, made into a picture or lines. What cannot be read throws a RangeError with its reason.
import { type Background, type Drawn, backgroundOf } from "./background";

const PICTURES: Readonly<Record<string, string>> = { png: "image/png", jpg: "image/jpeg", jpeg: "image/jpeg", svg: "image/svg+xml" };

export async function readDrawing(file: File): Promise<Background> {
  const ending = file.name.toLowerCase().split(".").pop() ?? "";
  if (ending === "dxf") {
    const { readDxf } = await import("./dxf");
    const drawing = readDxf(await file.text());
    if (drawing.lines.length === 0) throw new RangeError(`“${file.name}” holds no lines, polylines, arcs or circles.`);
    return backgroundOf(file.name, { kind: "lines", lines: drawing.lines }, drawing.metres_per_unit);
  }
  if (ending === "pdf") {
    const { firstPage } = await import("./pdf");
    return picture(file.name, await firstPage(await file.arrayBuffer()));
  }
  const type = PICTURES[ending];
  if (type === undefined) throw new RangeError(`“${file.name}” cannot be traced: choose a PNG, JPEG, SVG, DXF or PDF.`);
  return picture(file.name, new Blob([await file.arrayBuffer()], { type }));
}

async function picture(name: string, blob: Blob): Promise<Background> {
  const url = URL.createObjectURL(blob);
  const image = new Image();
  image.src = url;
  try {
    await image.decode();
  } catch {
    URL.revokeObjectURL(url);
    throw new RangeError(`“${name}” is no picture that can be shown.`);
  }
  // A drawing in vectors may not say how large it is.
  const wide = image.naturalWidth || 1000;
  const high = image.naturalHeight || Math.round(wide * 0.7);
  const drawn: Drawn = { kind: "picture", url, wide, high };
  return backgroundOf(name, drawn, null);
}
