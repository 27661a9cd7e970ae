// The first page of a PDF as a picture. Loaded only when one is brought along; nothing is asked of another machine:
// fonts that the file does not hold are replaced by the browser's own.
import { type PDFDocumentProxy, getDocument } from "pdfjs-dist";
// Run in this page: a drawing of one page does not need a thread of its own.
import * as worker from "pdfjs-dist/build/pdf.worker.mjs";

/** Pixels along the longer side of the picture. */
const LONGER_PX = 3600;

export async function firstPage(bytes: ArrayBuffer): Promise<Blob> {
  (globalThis as { pdfjsWorker?: unknown }).pdfjsWorker = worker;
  let document: PDFDocumentProxy;
  try {
    document = await getDocument({ data: new Uint8Array(bytes), isEvalSupported: false, useSystemFonts: true, disableFontFace: true }).promise;
  } catch {
    throw new RangeError("It is no PDF that can be shown, or it is locked.");
  }
  try {
    const page = await document.getPage(1);
    const size = page.getViewport({ scale: 1 });
    const viewport = page.getViewport({ scale: LONGER_PX / Math.max(size.width, size.height) });
    const canvas = globalThis.document.createElement("canvas");
    canvas.width = Math.ceil(viewport.width);
    canvas.height = Math.ceil(viewport.height);
    const canvasContext = canvas.getContext("2d");
    if (canvasContext === null) throw new RangeError("The browser has no room for the picture of this page.");
    await page.render({ canvasContext, viewport }).promise;
    const picture = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/png"));
    if (picture === null) throw new RangeError("The browser has no room for the picture of this page.");
    return picture;
  } finally {
    void document.destroy();
  }
}
