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

export interface SpaceStudy {
  id: string;
  studied: boolean;
  not_studied_because: string;
  scenes: { name: string; power_w: number }[];
  annual: { saving: Savings };
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
  climate: string;
  spaces: SpaceStudy[];
  assumptions: Assumption[];
}
