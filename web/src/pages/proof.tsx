// What the interval of the saving comes from, and what would narrow it.
import type { Building } from "../api/contract";
import type { Json } from "../app/pointer";
import type { Assumption, Estimate, Proof } from "../app/study";
import { placeInWords } from "../building/words";
import { UNIT_SPACE, printedInterval, printedResult, printedValue, rounded } from "../units/figures";

const withInterval = (e: Estimate, unit: string) => `${printedResult(e.mean, e.low, e.high, unit)} (${printedInterval(e.low, e.high, unit)})`;
const wholePercent = (fraction: number) => `${rounded(100 * fraction, 0)}${UNIT_SPACE}%`;

/** Shares of the variance from half a percent on, largest first. */
export function sharesOfVariance(assumptions: readonly Assumption[], proof: Proof): { path: string; share: number }[] {
  const shares = assumptions.filter((one) => one.share_of_variance >= 0.005).map((one) => ({ path: one.path, share: one.share_of_variance }));
  if (proof.variance_of_the_rest >= 0.005) shares.push({ path: "", share: proof.variance_of_the_rest });
  return shares.sort((a, b) => b.share - a.share);
}

interface Props {
  building: Building;
  document: Json;
  assumptions: readonly Assumption[];
  proof: Proof;
}

export function ProofParts({ building, document, assumptions, proof }: Props) {
  const shares = sharesOfVariance(assumptions, proof);
  const last = proof.convergence.at(-1);
  const half = proof.convergence[Math.floor(proof.convergence.length / 2) - 1];
  return (
    <>
      <section aria-labelledby="from-where">
        <h2 id="from-where">What the interval of the saving comes from</h2>
        <div class="scrolls" role="region" aria-label="Shares of the interval" tabIndex={0}>
          <table class="rows assumptions">
            <thead>
              <tr>
                <th scope="col" class="n">
                  of its variance
                </th>
                <th scope="col">
                  <span class="spoken">as a bar</span>
                </th>
                <th scope="col">by</th>
              </tr>
            </thead>
            <tbody>
              {shares.map((one) => (
                <tr key={one.path}>
                  <td class="n">{wholePercent(one.share)}</td>
                  <td class="effect">
                    <svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">
                      <rect class="level" width={100 * one.share} height={8} />
                    </svg>
                  </td>
                  <td class="name">{one.path === "" ? "people’s own days, and inputs together" : placeInWords(document, one.path)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
        {half !== undefined && last !== undefined && (
          <p class="soft">
            After {half.replicates} building-years the saving stood at {withInterval(half.saving, "fraction")}, after {last.replicates} at{" "}
            {withInterval(last.saving, "fraction")}.
          </p>
        )}
      </section>
      {proof.readings.length > 0 && (
        <section aria-labelledby="read">
          <h2 id="read">The lighting as found against readings</h2>
          <div class="scrolls" role="region" aria-label="Readings" tabIndex={0}>
            <table class="rows">
              <thead>
                <tr>
                  <th scope="col">of</th>
                  <th scope="col" class="n">
                    read
                  </th>
                  <th scope="col" class="n">
                    model before
                  </th>
                  <th scope="col" class="n">
                    model after
                  </th>
                  <th scope="col" class="n">
                    residual
                  </th>
                </tr>
              </thead>
              <tbody>
                {proof.readings.map((one) => (
                  <tr key={one.id}>
                    <td>{one.of}</td>
                    <td class="n">{printedValue(one.value, one.unit)}</td>
                    {one.not_used_because !== "" ? (
                      <td colSpan={3}>not used: {one.not_used_because}</td>
                    ) : (
                      <>
                        <td class="n">{withInterval(one.before, one.unit)}</td>
                        <td class="n">{withInterval(one.after, one.unit)}</td>
                        <td class="n">{`${one.residual > 0 ? "+" : ""}${rounded(100 * one.residual, -1)}${UNIT_SPACE}%`}</td>
                      </>
                    )}
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
          {proof.widened > 1 && (
            <p class="bad">
              The readings lie outside what the stated inputs can give. They count {rounded(proof.widened, -1)} times as wide as stated: look at the
              inputs and the readings again.
            </p>
          )}
        </section>
      )}
      <section aria-labelledby="log-next">
        <h2 id="log-next">Two weeks of logging that would tell most</h2>
        {proof.logging.length === 0 ? (
          <p>None stands out: whichever room is logged, the interval would hardly be narrower, or not by more than chance shows.</p>
        ) : (
          <ul>
            {proof.logging.map((one) => {
              const room = building.rooms.find((space) => space.id === one.space);
              return (
                <li key={one.space}>
                  {room === undefined ? one.space : `${room.number} ${room.name}`}, {one.from} to {one.to}: energy of the lighting as found; the interval would
                  be about {wholePercent(one.narrowing)} narrower.
                </li>
              );
            })}
          </ul>
        )}
      </section>
    </>
  );
}
