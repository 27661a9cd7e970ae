import { useState } from "preact/hooks";
import type { Problem } from "../api/contract";
import { inSentences, problemOf } from "../app/api";
import { useCell } from "../app/cell";
import { units } from "../app/session";
import type { Background } from "./background";
import { Drop } from "./drop";
import { Field } from "./field";
import { keep } from "./files";
import { readLength } from "./lengths";
import { readDrawing } from "./read_drawing";

interface BringDrawingProps {
  project: string;
  background: Background | null;
  opacity: number;
  isMeasured: boolean;
  /** Brought along, or done without. */
  onBackground: (background: Background | null) => void;
  onOpacity: (opacity: number) => void;
  onMeasure: () => void;
  onLength: (length_m: number) => void;
}

/** A drawing to trace, and the length that gives it its scale. */
export function BringDrawing(props: BringDrawingProps) {
  const { project, background, opacity, isMeasured, onBackground, onOpacity, onMeasure, onLength } = props;
  const system = useCell(units);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [busy, setBusy] = useState(false);
  const [length, setLength] = useState("");
  const read = readLength(length, system);
  const take = async (file: File) => {
    setBusy(true);
    setProblem(null);
    try {
      const drawing = await readDrawing(file);
      const kept = await keep(project, "backgrounds", file);
      onBackground({ ...drawing, path: kept.path });
    } catch (error) {
      setProblem(error instanceof RangeError ? { code: "bad_request", problem: error.message, remedy: "" } : problemOf(error));
    } finally {
      setBusy(false);
    }
  };
  if (background === null)
    return (
      <span class="bring-drawing">
        <Drop accept=".png,.jpg,.jpeg,.svg,.dxf,.pdf" words="trace a drawing (PNG, JPEG, SVG, DXF, PDF):" busy={busy} onFile={(file) => void take(file)} />
        {problem !== null && (
          <span role="alert" class="bad">
            {inSentences(problem)}
          </span>
        )}
      </span>
    );
  return (
    <span class="bring-drawing">
      <span class="soft">{background.path}</span>
      <label>
        strength{" "}
        <input type="range" min="0.1" max="1" step="0.05" value={String(opacity)} onInput={(e) => onOpacity(Number(e.currentTarget.value))} />
      </label>
      {isMeasured ? (
        <form
          class="known-length"
          onSubmit={(event) => {
            event.preventDefault();
            if (read.ok && read.si > 0) onLength(read.si);
          }}
        >
          <Field label="that length is" value={length} onValue={setLength} problem={length !== "" && !read.ok ? read.problem : undefined} placeholder={system === "us" ? "24 ft" : "7.2 m"} />
          <button class="action quiet" disabled={!read.ok || !(read.si > 0)}>
            set the scale
          </button>
        </form>
      ) : (
        <button type="button" class="word" onClick={onMeasure}>
          {background.isScaled ? "measure anew" : "set its scale by a known length"}
        </button>
      )}
      <button type="button" class="word" onClick={() => onBackground(null)}>
        without it
      </button>
    </span>
  );
}
