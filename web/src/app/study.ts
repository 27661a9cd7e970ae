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
  light_for_people: { lit_for_nobody_h: Estimate; lit_for_nobody_as_found_h: Estimate; taken_from_people: Estimate; dips_on_people: Estimate };
  /** Left out where bookings do not divide the room. */
  divided_room?: { partition: string; hours: Estimate; controls_know: boolean };
  /** One at a time, more than the design as it stands, a year; dearest first. */
  faults: { fault: string; name: string; kwh: Estimate; under_lit_hours: Estimate; taken_from_people: Estimate }[];
  /** One for each daylight rule of the sequence, in its order. */
  daylight_loops: DaylightLoop[];
  plug_loads: PlugLoads;
  /** Left out without a rule for demand response, or without events. */
  load_shed?: LoadShed;
  /** Left out without a rule for a signal that asks for power at once. */
  shed_signal?: ShedSignal;
  findings: Finding[];
  claims: Claim[];
}

/** What a signal takes off that asks for power at once, and what it leaves. */
export interface ShedSignal {
  interface: string;
  level: number;
  groups: string[];
  before_w: number;
  shed_w: number;
  tasks: { task_area: string; target_lx: number; left_lx: number }[];
  ways: { path: string; state: string; min_lx: number; limit_lx: number; holds: boolean }[];
}

/** What a daylight rule makes of the light on its task in a year, while somebody is there, light is asked for and the sun is up. */
export interface DaylightLoop {
  photosensor: string;
  group: string;
  task_area: string;
  hours: Estimate;
  under_lit_hours: Estimate;
  shortfall_lx_h: Estimate;
  over_lit_hours: Estimate;
  /** Beyond what an ideal loop draws. */
  over_lit_kwh: Estimate;
  /** Of what an ideal loop saves; above 1 where it dims too far. */
  realised_share: Estimate;
}

/** What is plugged in, a year; no part of any figure of the light. */
export interface PlugLoads {
  devices: { kind: string; count: number; switched_by: string; must_stay_on: string; found_kwh: Estimate; proposed_kwh: Estimate; saved_kwh: Estimate; cut_with_people_h: Estimate }[];
  found_kwh: Estimate;
  proposed_kwh: Estimate;
  saved_kwh: Estimate;
  saving: Estimate;
}

/** What an HVAC zone is told in a year, h. */
export interface HvacZone {
  id: string;
  name: string;
  /** All of the zone; those that were not studied count as occupied while their calendar is open. */
  spaces: string[];
  standby_allowed: boolean;
  scheduled_h: number;
  occupied_h: Estimate;
  set_back_h: Estimate;
  out_of_hours_h: Estimate;
}

/** What events of demand response do to the light of a space. */
export interface LoadShed {
  cap: number;
  before_w: Estimate;
  shed_w: Estimate;
  least_shed_w: Estimate;
  tasks: { task_area: string; target_lx: number; left_lx: Estimate; least_lx: Estimate }[];
}

export interface Assumption {
  path: string;
  value: string;
  source: string;
  effect: number;
  /** Of the variance of the building's saving; 0 for what was not varied. */
  share_of_variance: number;
  typical: string;
  confirmed: boolean;
}

/** What the intervals rest on. */
export interface Proof {
  readings: { id: string; of: string; unit: string; value: number; before: Estimate; after: Estimate; residual: number; not_used_because: string }[];
  effective_replicates: number;
  widened: number;
  logging: { space: string; from: string; to: string; narrowing: number }[];
  convergence: { replicates: number; saving: Estimate }[];
  variance_of_the_rest: number;
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
  proof: Proof;
  spaces: SpaceStudy[];
  hvac_zones: HvacZone[];
  assumptions: Assumption[];
}
