// What the room does, as a paragraph and as a matrix of events by groups: two views of the same values.
import type { ComponentChildren } from "preact";
import type { Sequence } from "../api/contract";
import { useCell } from "../app/cell";
import { showsMatrix } from "../app/session";
import { Phrases } from "./phrase";

/** Characters up to which the paragraph is set in one column, and from which it is set smallest. */
const ONE_COLUMN = 560;
const LONGEST = 1000;

/** `beside`: what stands beside the choice of view. */
export function SequenceView({ sequence, beside }: { sequence: Sequence; beside?: ComponentChildren }) {
  const matrix = useCell(showsMatrix);
  const length = sequence.sentence.reduce((sum, phrase) => sum + phrase.text.length, 0);
  const size = length <= ONE_COLUMN ? "say" : length <= LONGEST ? "say long" : "say longest";
  return (
    <section class="sequence" aria-labelledby="sequence-heading">
      <h2 id="sequence-heading" class="spoken">
        What the room does
      </h2>
      {matrix ? (
        <Matrix matrix={sequence.matrix} />
      ) : (
        <p class={size}>
          <Phrases phrases={sequence.sentence} />
        </p>
      )}
      <div class="views no-print">
        <span role="group" aria-label="The sequence as">
          <button type="button" class="word" aria-pressed={!matrix} onClick={() => showsMatrix.set(false)}>
            sentence
          </button>
          <button type="button" class="word" aria-pressed={matrix} onClick={() => showsMatrix.set(true)}>
            events by groups <kbd>m</kbd>
          </button>
        </span>
        {beside}
      </div>
    </section>
  );
}

function Matrix({ matrix }: { matrix: Sequence["matrix"] }) {
  return (
    <div class="matrix" tabIndex={0} role="region" aria-label="Events by groups">
      <table>
        <thead>
          <tr>
            <th scope="col">event</th>
            {matrix.groups.map((group) => (
              <th scope="col" key={group}>
                {group}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {matrix.rows.map((row, i) => (
            <tr key={i}>
              <th scope="row">
                <Phrases phrases={row.event} />
              </th>
              {row.cells.map((cell, c) => (
                <td key={c}>
                  <Phrases phrases={cell} />
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
