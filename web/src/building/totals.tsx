// What the whole building uses and saves, with intervals, and what each strategy has to do with it.
import { CASES, SAVINGS, type Study } from "../app/study";
import { LIGHT_PALETTE, cssColour } from "../look/scale";
import { UNIT_SPACE, decimalPlace, rounded } from "../units/figures";
import { type UnitSystem, formatInterval, formatResult } from "../units/system";
import { Rail } from "./rail";
import { addsUp, shareParts } from "./rows";
import { strategyInWords } from "./words";

export function Totals({ study, system }: { study: Study; system: UnitSystem }) {
  const { totals } = study;
  const most = 1.05 * Math.max(...CASES.map(({ id }) => totals.kwh_interval[id].high));
  const lowest = Math.min(0, ...SAVINGS.map(({ id }) => totals.saving[id].low));
  return (
    <div class="totals">
      <section aria-labelledby="energy-heading">
        <h2 id="energy-heading">Energy a year</h2>
        <table class="estimates">
          <tbody>
            {CASES.map(({ id, words }) => {
              const e = totals.kwh_interval[id];
              const figure = formatResult(e.mean, e.low, e.high, "kWh", system);
              const interval = formatInterval(e.low, e.high, "kWh", system);
              return (
                <tr key={id}>
                  <th scope="row">{words}</th>
                  <td class="n value">{figure}</td>
                  <td class="n soft">{interval}</td>
                  <td class="line">
                    <Rail {...e} from={0} to={most} says={`${figure}, interval ${interval}`} />
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </section>
      <section aria-labelledby="saving-heading">
        <h2 id="saving-heading">Saving of the proposal</h2>
        <table class="estimates">
          <tbody>
            {SAVINGS.map(({ id, words }) => {
              const e = totals.saving[id];
              const figure = formatResult(e.mean, e.low, e.high, "fraction", system);
              const interval = formatInterval(e.low, e.high, "fraction", system);
              return (
                <tr key={id}>
                  <th scope="row">{words}</th>
                  <td class="n value">{figure}</td>
                  <td class="n soft">{interval}</td>
                  <td class="line">
                    <Rail {...e} from={lowest} to={1} says={`${figure}, interval ${interval}`} />
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </section>
      <Shares study={study} />
    </div>
  );
}

/** Colours far enough apart on the scale to be told from their neighbours; words and figures stand beside them. */
const SHARE_COLOURS = [0.3, 0.72, 0.48, 0.86, 0.38, 0.62, 0.18] as const;

function Shares({ study }: { study: Study }) {
  const { shares, kwh } = study.totals;
  const { parts, sum_kwh } = shareParts(shares);
  const colour = (i: number) => cssColour(LIGHT_PALETTE[Math.round(255 * SHARE_COLOURS[i % SHARE_COLOURS.length]!)]!);
  const difference = kwh.as_found - kwh.proposal;
  const e = study.totals.kwh_interval;
  const place = decimalPlace(difference, e.as_found.low - e.proposal.low, e.as_found.high - e.proposal.high);
  const shown = (v: number) => rounded(v, Math.min(place, 1));
  return (
    <section aria-labelledby="shares-heading">
      <h2 id="shares-heading">What the saving is made of</h2>
      <svg class="shares-bar" viewBox="0 0 1000 22" preserveAspectRatio="none" aria-hidden="true">
        {parts.map((part, i) =>
          part.kwh >= 0 ? (
            <rect key={part.strategy} x={1000 * part.from} y={0} width={1000 * (part.to - part.from)} height={14} style={{ fill: colour(i) }} />
          ) : (
            <rect key={part.strategy} x={1000 * part.from} y={16} width={Math.max(3, 1000 * (part.to - part.from))} height={6} style={{ fill: colour(i) }} />
          ),
        )}
      </svg>
      <table class="estimates">
        <tbody>
          {parts.map((part, i) => (
            <tr key={part.strategy}>
              <th scope="row">
                <i class="swatch" style={{ background: colour(i) }} /> {strategyInWords(part.strategy)}
              </th>
              <td class="n value">{formatResult(part.kwh, part.low, part.high, "kWh", "si")}</td>
              <td class="n soft">{formatInterval(part.low, part.high, "kWh", "si")}</td>
            </tr>
          ))}
        </tbody>
        <tfoot>
          <tr>
            <th scope="row">together</th>
            <td class="n value">{`${shown(sum_kwh)}${UNIT_SPACE}kWh`}</td>
            <td class={addsUp(shares, difference) ? "n soft" : "n bad"}>
              {addsUp(shares, difference)
                ? "as found less proposal"
                : `as found and proposal differ by ${shown(difference)}${UNIT_SPACE}kWh`}
            </td>
          </tr>
        </tfoot>
      </table>
    </section>
  );
}
