// Two studies beside each other: what each found of the same thing, and by how much the second differs. Both draw
// the same people, weather and habits (equal seeds), so that what differs does so because the designs do.
import { valueAt } from "../app/pointer";
import { CASES, type Claim, type Estimate, type Finding, SAVINGS, type SpaceStudy, type Study } from "../app/study";
import { decimalPlace } from "../units/figures";
import { kwhOf } from "./rows";

export interface Quantity {
  value: number;
  /** Equal to `value` where there is no interval. */
  low: number;
  high: number;
}

export interface Pair {
  group: string;
  words: string;
  unit: string;
  first: Quantity | null;
  second: Quantity | null;
}

const plain = (value: number): Quantity => ({ value, low: value, high: value });
const estimate = (e: Estimate): Quantity => ({ value: e.mean, low: e.low, high: e.high });

/** Second less first; null where one is missing. */
export const differenceOf = ({ first, second }: Pair): number | null =>
  first === null || second === null ? null : second.value - first.value;

/**
 * Whether the two differ by more than rounding: half of the last digit that a plain figure shows, or that the
 * difference of paired means can be told by, a hundredth of the interval.
 */
export function differs(pair: Pair): boolean {
  const { first, second } = pair;
  if (first === null || second === null) return first !== second;
  const width = Math.max(first.high - first.low, second.high - second.low);
  const scale = pair.unit === "fraction" ? 100 : 1;
  const step = width > 0 ? 0.01 * width : 10 ** (decimalPlace(first.value * scale, 0, 0)) / scale;
  return Math.abs(second.value - first.value) >= 0.5 * Math.max(step, 1e-9);
}

/** Pairs of what both studies know, of one room or, for an empty id, of the building. */
export function pairsOf(first: Study, second: Study, space: string): Pair[] {
  if (space === "") return buildingPairs(first, second);
  const a = first.spaces.find((one) => one.id === space);
  const b = second.spaces.find((one) => one.id === space);
  return spacePairs(first, second, a?.studied === true ? a : null, b?.studied === true ? b : null);
}

function buildingPairs(first: Study, second: Study): Pair[] {
  const pair = (group: string, words: string, unit: string, of: (study: Study) => Quantity | null): Pair => ({
    group,
    words,
    unit,
    first: of(first),
    second: of(second),
  });
  const strategies = [...new Set([...first.totals.shares, ...second.totals.shares].map((share) => share.strategy))];
  return [
    ...SAVINGS.map(({ id, words }) => pair("saving", words, "fraction", (s) => estimate(s.totals.saving[id]))),
    ...CASES.map(({ id, words }) => pair("energy a year", words, "kWh", (s) => estimate(s.totals.kwh_interval[id]))),
    ...strategies.map((strategy) =>
      pair("share of the saving", strategy.replaceAll("_", " "), "kWh", (s) => {
        const share = s.totals.shares.find((one) => one.strategy === strategy);
        return share === undefined ? null : { value: share.kwh, low: share.low, high: share.high };
      }),
    ),
    pair("lighting", "connected power", "W", (s) => plain(s.totals.connected_w)),
    pair("lighting", "connected power per area", "W/m2", (s) => plain(s.totals.connected_w / s.totals.area_m2)),
    pair("rules", "failed", "count", (s) => plain(countOf(s.spaces, "fail"))),
    pair("rules", "need evidence", "count", (s) => plain(countOf(s.spaces, "needs_evidence"))),
    ...energyByRoom(first, second),
  ];
}

const countOf = (spaces: readonly SpaceStudy[], verdict: Finding["verdict"]): number =>
  spaces.reduce((sum, space) => sum + space.findings.filter((finding) => finding.verdict === verdict).length, 0);

function energyByRoom(first: Study, second: Study): Pair[] {
  const ids = [...new Set([...first.spaces, ...second.spaces].map((space) => space.id))];
  return ids.map((id) => {
    const of = (study: Study) => study.spaces.find((space) => space.id === id && space.studied);
    const a = of(first);
    const b = of(second);
    return {
      group: "energy of the proposal by room",
      words: `${(b ?? a)?.number ?? id} ${(b ?? a)?.name ?? ""}`,
      unit: "kWh",
      first: a === undefined ? null : plain(kwhOf(a.annual.cases.proposal)),
      second: b === undefined ? null : plain(kwhOf(b.annual.cases.proposal)),
    };
  });
}

function spacePairs(first: Study, second: Study, a: SpaceStudy | null, b: SpaceStudy | null): Pair[] {
  const pair = (group: string, words: string, unit: string, of: (space: SpaceStudy, study: Study) => Quantity | null): Pair => ({
    group,
    words,
    unit,
    first: a === null ? null : of(a, first),
    second: b === null ? null : of(b, second),
  });
  const both = <T>(of: (space: SpaceStudy) => readonly T[]): T[] => [...(b === null ? [] : of(b)), ...(a === null ? [] : of(a))];
  const once = <T>(items: readonly T[], key: (item: T) => string): T[] => [...new Map([...items].reverse().map((item) => [key(item), item])).values()].reverse();
  const claims = once(both((space) => space.claims), (claim) => claim.id).filter((claim) => !/\/annual\/saving\//.test(claim.result));
  const strategies = [...new Set(both((space) => space.annual.shares).map((share) => share.strategy))];
  const light = once(
    both((space) => space.electric.flatMap((state) => state.task_areas.map((task) => ({ group: state.group, task })))).filter(
      ({ group, task }) => group === "all" && task.state !== "initial",
    ),
    ({ task }) => `${task.id} ${task.state}`,
  );
  return [
    ...SAVINGS.map(({ id, words }) => pair("saving", words, "fraction", (s) => estimate(s.annual.saving[id]))),
    ...CASES.map(({ id, words }) =>
      pair("energy of light a year", words, "kWh", ({ annual: { cases } }) => ({
        value: cases[id].lighting_kwh,
        low: cases[id].lighting_kwh_low,
        high: cases[id].lighting_kwh_high,
      })),
    ),
    pair("energy of light a year", "standby of the proposal", "kWh", ({ annual: { cases } }) => ({
      value: cases.proposal.standby_kwh,
      low: cases.proposal.standby_kwh_low,
      high: cases.proposal.standby_kwh_high,
    })),
    ...strategies.map((strategy) =>
      pair("share of the saving", strategy.replaceAll("_", " "), "kWh", (s) => {
        const share = s.annual.shares.find((one) => one.strategy === strategy);
        return share === undefined ? null : { value: share.kwh, low: share.low, high: share.high };
      }),
    ),
    ...claims.map((claim) => pair("promises", claimWords(claim), claim.unit, (s, study) => claimed(s, study, claim.id))),
    ...light.flatMap(({ task }) => {
      const find = (s: SpaceStudy) =>
        s.electric.find((state) => state.group === "all")?.task_areas.find((one) => one.id === task.id && one.state === task.state);
      const words = `${task.id}, ${task.state}`;
      return [
        pair("electric light on tasks", `${words}: mean`, "lx", (s) => quantity(find(s)?.mean_lx)),
        pair("electric light on tasks", `${words}: least`, "lx", (s) => quantity(find(s)?.min_lx)),
      ];
    }),
    pair("lighting", "connected power", "W", (s) => plain(s.connected_w)),
    pair("lighting", "connected power per area", "W/m2", (s) => plain(s.lpd_w_m2)),
  ];
}

const quantity = (value: number | undefined): Quantity | null => (value === undefined ? null : plain(value));

/** A claim's statement without its figures. */
function claimWords(claim: Claim): string {
  return claim.text
    .replace(/^\{value\} /, "")
    .replace(/ ?\(\{low\} to \{high\}\)/, "")
    .replace(/\{value\}|\{low\}|\{high\}/g, "…")
    .replace(/\.$/, "");
}

function claimed(space: SpaceStudy, study: Study, id: string): Quantity | null {
  const claim = space.claims.find((one) => one.id === id);
  if (claim === undefined) return null;
  const at = valueAt(study, claim.result);
  const value = typeof at === "number" ? at : valueAt(at, "/mean");
  return typeof value === "number" ? { value, low: claim.low, high: claim.high } : null;
}

export interface VerdictPair {
  rule: string;
  title: string;
  first: Finding | null;
  second: Finding | null;
  differs: boolean;
}

/** Rules that apply in one of the two, those whose verdict differs first. */
export function verdictsOf(first: Study, second: Study, space: string): VerdictPair[] {
  const of = (study: Study) => study.spaces.find((one) => one.id === space)?.findings ?? [];
  const key = (f: Finding) => `${f.rule} ${f.code} ${f.edition} ${f.section}`;
  const all = new Map([...of(first), ...of(second)].map((finding) => [key(finding), finding] as const));
  return [...all]
    .map(([id, finding]) => {
      const a = of(first).find((one) => key(one) === id) ?? null;
      const b = of(second).find((one) => key(one) === id) ?? null;
      return {
        rule: [finding.code, finding.edition, finding.section].filter((part) => part !== "").join(" "),
        title: finding.title,
        first: a,
        second: b,
        differs: a?.verdict !== b?.verdict,
      };
    })
    .filter((pair) => [pair.first, pair.second].some((finding) => finding !== null && finding.verdict !== "does_not_apply"))
    .sort((a, b) => Number(b.differs) - Number(a.differs));
}
