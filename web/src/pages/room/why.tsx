// Why this minute: cause before effect, in a few sentences.
import type { WhyAnswer } from "../../api/contract";
import { inSentences } from "../../app/api";
import type { Resource } from "../../app/resource";
import { civilText } from "../../year/civil";

export function Why({
  why,
  at_civil_s,
  firstWeekday,
}: {
  why: Resource<WhyAnswer>;
  at_civil_s: number | null;
  firstWeekday: number | null;
}) {
  const when = at_civil_s === null || firstWeekday === null ? "" : civilText(at_civil_s, firstWeekday);
  return (
    <section class="why" aria-labelledby="why-heading" aria-busy={why.loading} tabIndex={0}>
      <h2 id="why-heading">{when === "" ? "Why this minute" : `${when}: why`}</h2>
      {why.value !== null && (
        <ol>
          {[...new Set(why.value.sentences)].map((sentence) => (
            <li key={sentence}>{sentence}</li>
          ))}
        </ol>
      )}
      {why.value === null && why.problem === null && <p class="soft">Playing the year up to this minute.</p>}
      {why.problem !== null && (
        <p class="bad" role="alert">
          {inSentences(why.problem)}
        </p>
      )}
    </section>
  );
}
