// What the room would get: figures, the sequence as its paragraph, and the way on.
import type { Problem, StartRoomAnswer } from "../api/contract";
import { inSentences } from "../app/api";
import { useCell } from "../app/cell";
import { units } from "../app/session";
import { printedValue } from "../units/figures";
import { formatIlluminance, formatLength, formatValue } from "../units/system";

interface ResultProps {
  answer: StartRoomAnswer | null;
  isCurrent: boolean;
  canAsk: boolean;
  problem: Problem | null;
  target: string;
  saving: boolean;
  onSave: () => void;
}

export function RoomResult({ answer, isCurrent, canAsk, problem, target, saving, onSave }: ResultProps) {
  const system = useCell(units);
  const preview = answer?.preview ?? null;
  return (
    <section class={isCurrent ? "start-result" : "start-result old"} aria-label="what the room gets" aria-live="polite" aria-busy={!isCurrent && canAsk && problem === null}>
      <div class="start-words">
        {preview === null ? (
          <p class="soft">{canAsk ? "The light is being computed." : "Put right what is marked, and the light is computed."}</p>
        ) : (
          <>
            <p class="start-figures">
              <b>
                {preview.count} {preview.type.tag}
              </b>{" "}
              in {preview.rows} row{preview.rows === 1 ? "" : "s"}, {formatLength(preview.along_m, system)} by {formatLength(preview.across_m, system)} apart,{" "}
              <span class={preview.holds ? "good" : "bad"}>{preview.holds ? "hold" : "do not hold"}</span> {target}
              {inOtherUnit(target, system) && ` (${formatIlluminance(preview.target_lx, system)})`}: they give{" "}
              <b>{formatIlluminance(preview.mean_lx, system)}</b> in the mean, maintained, before they are trimmed to it.{" "}
              {printedValue(preview.installed_w, "W")}, {formatValue(preview.w_m2, "W/m2", system)}.
              {preview.as_found !== null && (
                <>
                  {" "}
                  What stands there now, unless you say otherwise: {preview.as_found.count} {preview.as_found.type.tag}, {printedValue(preview.as_found.installed_w, "W")}.
                </>
              )}
            </p>
            <p class="start-sentence">{preview.sentence}</p>
            {preview.notes.map((note) => (
              <p key={note} class="start-note">
                {note}
              </p>
            ))}
          </>
        )}
        {problem !== null && !isCurrent && (
          <p role="alert" class="bad">
            {inSentences(problem)}
          </p>
        )}
      </div>
      <p class="actions">
        <button type="button" class="action" disabled={!isCurrent || saving || answer === null} onClick={onSave}>
          add the room and study it
        </button>
        {!isCurrent && canAsk && problem === null && <span class="soft">computing the light</span>}
      </p>
    </section>
  );
}

/** Whether a target was typed in the unit that the reader does not look at. */
const inOtherUnit = (target: string, system: "si" | "us"): boolean => target.endsWith(system === "us" ? "lx" : "fc");
