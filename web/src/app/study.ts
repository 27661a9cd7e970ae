// The part of a study (schema/study.schema.json, docs/formats/study.md) that the pages show.

export interface Estimate {
  mean: number;
  low: number;
  high: number;
  standard_error: number;
}

export interface Claim {
  id: string;
  text: string;
  result: string;
  unit: string;
  low: number;
  high: number;
  method: string;
  inputs: string[];
  assumptions: string[];
  test: {
    measure: string;
    expected: number;
    tolerance: number;
    duration_days: number;
    shortfall: string;
    chance_of_noticing: number;
    remark: string;
  };
}

export type Verdict = "pass" | "fail" | "does_not_apply" | "needs_evidence";

export interface Finding {
  rule: string;
  code: string;
  edition: string;
  section: string;
  title: string;
  verdict: Verdict;
  evidence: string;
  fix: string;
  confirmed: "confirmed" | "from_memory" | "low";
  blocks_issue: boolean;
}

export interface Savings {
  against_as_found: Estimate;
  against_relamped: Estimate;
  against_code_minimum: Estimate;
  as_usually_found: Estimate;
}

export type CaseName = "as_found" | "relamped" | "code_minimum" | "proposal";
export const CASES: readonly { id: CaseName; words: string }[] = [
  { id: "as_found", words: "as found" },
  { id: "relamped", words: "relamped" },
  { id: "code_minimum", words: "code minimum" },
  { id: "proposal", words: "proposal" },
];
export const SAVINGS: readonly { id: keyof Savings; words: string }[] = [
  { id: "against_as_found", words: "against as found" },
  { id: "against_relamped", words: "against relamped" },
  { id: "against_code_minimum", words: "against code minimum" },
  { id: "as_usually_found", words: "as such systems are usually found" },
];

/** Energy of one case over a year, kWh. */
export interface CaseYear {
  lighting_kwh: number;
  lighting_kwh_low: number;
  lighting_kwh_high: number;
  standby_kwh: number;
  standby_kwh_low: number;
  standby_kwh_high: number;
  contents: string;
}

/** kWh a year; negative where it adds energy. */
export interface Share {
  strategy: string;
  kwh: number;
  low: number;
  high: number;
}

export interface TaskAreaLight {
  id: string;
  state: string;
  mean_lx: number;
  min_lx: number;
  uniformity: number;
  target_lx: number;
}

export interface SpaceStudy {
  id: string;
  number: string;
  name: string;
  studied: boolean;
  not_studied_because: string;
  area_m2: number;
  connected_w: number;
  connected_as_found_w: number;
  lpd_w_m2: number;
  electric: { group: string; power_w: number; task_areas: TaskAreaLight[] }[];
  scenes: { name: string; power_w: number }[];
  annual: { cases: Record<CaseName, CaseYear>; saving: Savings; shares: Share[] };
  findings: Finding[];
  claims: Claim[];
}

export interface Assumption {
  path: string;
  value: string;
  source: string;
  effect: number;
  typical: string;
  confirmed: boolean;
}

export interface Study {
  accuracy: "draft" | "design" | "proof";
  replicates: number;
  seed: number;
  climate: string;
  may_be_issued: boolean;
  not_to_be_issued_because: string[];
  totals: {
    area_m2: number;
    connected_w: number;
    kwh: Record<CaseName, number>;
    kwh_interval: Record<CaseName, Estimate>;
    saving: Savings;
    shares: Share[];
  };
  spaces: SpaceStudy[];
  assumptions: Assumption[];
}
