// What the service and the pages say to each other; docs/formats/service.md and schema/service.openapi.json
// describe the same in words. SI throughout; a name carries its unit. Plan coordinates are metres in building
// axes, x to the right and y up.

/** JSON pointer (RFC 6901) into the project document. */
export type Pointer = string;
export type PlanPoint = [x_m: number, y_m: number];

export interface Problem {
  /** "not_found", "bad_request", "conflict", "refused", "too_large", "busy", "storage", "internal" */
  code: string;
  problem: string;
  remedy: string;
  /** Pointer into the document or the request, where one place is to blame. */
  where?: Pointer;
}

export interface Diagnostic {
  severity: "error" | "warning" | "missing";
  where: Pointer;
  problem: string;
  remedy: string;
}

// ---- projects and revisions --------------------------------------------------------------------------------

export interface About {
  version: string;
}

/** What whoever works from the design is told, as far as it applies to the project. */
export interface Caution {
  id: string;
  /** For the foot of a page. */
  brief: string;
  text: string;
}

export interface ProjectSummary {
  id: string;
  name: string;
  head: number;
  saved_at: string; // ISO 8601, UTC
}

export interface Revision {
  number: number;
  saved_at: string;
  /** What was done: "move 3 luminaires". */
  label: string;
  /** Given by hand, or "". */
  name: string;
  /** The revision whose document this one holds again, or null. */
  restores: number | null;
  /** Hash of the document's bytes. */
  document_hash: string;
  issued: Issue | null;
}

/** What a revision was frozen with. */
export interface Issue {
  by: string;
  at: string;
  /** Of the program and its library. */
  program_digest: string;
  results_hash: string;
  files: { path: string; hash: string }[];
}

export interface IssueRequest {
  /** The revision that is issued; the run must have studied all of it. */
  base: number;
  name: string;
  by: string;
  run: string;
}

/** One step of RFC 6902. "add" puts a new key into an object or inserts into a list ("-": at its end). */
export interface Edit {
  op: "add" | "replace" | "remove";
  path: Pointer;
  value?: unknown;
}

export interface EditRequest {
  /** The revision that the edit was made against. */
  base: number;
  label: string;
  edits: Edit[];
}

export interface EditAnswer {
  revision: number;
  diagnostics: Diagnostic[];
}

/** Answer 409: somebody has saved since `base`. */
export interface Conflict {
  error: Problem;
  head: number;
  since: Revision[];
}

// ---- the building ------------------------------------------------------------------------------------------

export interface Building {
  project: string;
  revision: number;
  name: string;
  storeys: { id: string; name: string }[];
  rooms: RoomRow[];
  typicals: TypicalRow[];
  designs: { id: string; name: string; role: "as_found" | "proposal"; pointer: Pointer }[];
  kinds: { id: string; name: string; target_lx: number }[];
  diagnostics: Diagnostic[];
}

export interface RoomRow {
  id: string;
  number: string;
  name: string;
  storey: string;
  kind: string;
  kind_name: string;
  typical: string | null;
  /** Keys that the room states itself although its typical does. */
  overrides: string[];
  pointer: Pointer;
  area_m2: number;
  luminaires: number;
  connected_w: number;
}

export interface TypicalRow {
  id: string;
  name: string;
  pointer: Pointer;
  rooms: string[];
}

// ---- one room ----------------------------------------------------------------------------------------------

export interface Phrase {
  text: string;
  /** Of the value that the words stand for; absent on plain words. */
  pointer?: Pointer;
}

export type Strategy = "scene" | "occupancy" | "daylight" | "schedule" | "demand_response" | "emergency";

export interface DaylightZoneDrawing {
  id: string;
  kind: "primary" | "secondary" | "toplit";
  outline: PlanPoint[][];
  depth_m: number;
  area_m2: number;
}

export interface Room {
  project: string;
  revision: number;
  id: string;
  number: string;
  name: string;
  storey: string;
  storey_name: string;
  kind: string;
  kind_name: string;
  typical: string | null;
  typical_rooms: string[];
  /** Where the [0, 0] of objects that come from the typical lies; their pointers lead into it. */
  typical_origin: PlanPoint | null;
  pointer: Pointer;
  proposal: Pointer | null; // of the design that is drawn
  area_m2: number;
  height_m: number;
  plan_height_m: number; // of the light on the plan
  plan_north_deg: number;
  floor: PlanPoint[];
  openings: OpeningDrawing[];
  doors: DoorDrawing[];
  partitions: { id: string; pointer: Pointer; kind: "fixed" | "part_height" | "movable"; from: PlanPoint; to: PlanPoint; height_m: number; thickness_m: number }[];
  furniture: { id: string; pointer: Pointer; kind: string; plan: PlanPoint[]; bottom_m: number; top_m: number }[];
  task_areas: { id: string; name: string; pointer: Pointer; plan: PlanPoint[]; plane: "horizontal" | "vertical"; height_m: number; target_lx: number }[];
  egress_paths: { id: string; pointer: Pointer; centre_line: PlanPoint[]; width_m: number }[];
  daylight_zones: DaylightZoneDrawing[];
  luminaires: LuminaireDrawing[];
  luminaire_types: { id: string; channels: string[]; tag: string; name: string; lumens: number; input_w: number; length_m: number; width_m: number; shape: "rectangle" | "circle" }[];
  groups: { id: string; pointer: Pointer; strategy: Strategy; name: string; channels: string[] }[];
  devices: DeviceDrawing[];
  /** null: there is no proposal, or too much to look at. */
  reach: Reach | null;
  radio: Radio | null;
  /** The parts of its controls that the proposal has anything of. */
  decided: ControlPart[];
  circuits: { id: string; panel: string; breaker: string; switch_leg: string; supply: "normal" | "emergency" }[];
  scenes: Scene[];
  normal_scene: string | null;
  sequence: Sequence | null;
  diagnostics: Diagnostic[];
}

export interface OpeningDrawing {
  id: string;
  pointer: Pointer;
  kind: "window" | "skylight" | "inner_glazing";
  wall: number;
  from: PlanPoint; // along the wall; of a skylight the corners of its bounds
  to: PlanPoint;
  plan: PlanPoint[]; // skylight
  sill_m: number;
  height_m: number;
  shade: string;
}

export interface DoorDrawing {
  id: string;
  pointer: Pointer;
  wall: number;
  from: PlanPoint;
  to: PlanPoint;
  hinge: PlanPoint;
  latch: PlanPoint;
  /** Where the open leaf ends. */
  tip: PlanPoint;
  height_m: number;
  leads_to: string;
}

export interface LuminaireDrawing {
  id: string;
  tag: string;
  pointer: Pointer;
  type: string;
  at: [x_m: number, y_m: number, z_m: number];
  rotation_deg: number; // counter-clockwise from +x
  /** Ids of the groups it belongs to, by strategy; "" in none. */
  groups: Record<Strategy, string>;
  lights_egress: boolean;
  circuit: string;
  status: "remain" | "remove" | "relocate" | "new";
}

export type DeviceKind =
  | "occupancy_sensor"
  | "photosensor"
  | "station"
  | "load_controller"
  | "time_clock"
  | "interface"
  | "infrastructure";

export interface DeviceDrawing {
  id: string;
  tag: string;
  pointer: Pointer;
  kind: DeviceKind;
  /** Its kind of device in words, or "". */
  type: string;
  at: [x_m: number, y_m: number, z_m: number];
  status: "remain" | "remove" | "relocate" | "new";
  link: "wired" | "radio";
  groups: string[];
  /** Occupancy sensors: outlines on the floor. */
  coverage?: {
    shape: "circle" | "half_circle" | "sector" | "strip" | "in_luminaire";
    major_radius_m: number;
    minor_radius_m: number;
    aim_deg: number; // clockwise from plan north
    sector_deg: number;
    strip_width_m: number;
  };
}

/** What the occupancy sensors see of the room; outlines and holes alike, to be filled by the even-odd rule. */
export interface Reach {
  sensors: { id: string; major: SeenField; minor: SeenField }[];
  /** Where people work, with what of each is in reach for small movements. */
  places: { kind: "furniture" | "task_area"; id: string; seen_share: number; reach: "whole" | "partly" | "none" }[];
  /** Where people stay, before the sensors of each group that answers vacancy. */
  seats: {
    at: PlanPoint;
    group: string;
    /** Noticed of one person alone; 0: no sensor notices anything there. */
    movements_per_h: number;
    /** Times an hour that one person alone, always there, loses the light. */
    taken_per_h: number;
    keeps_light: boolean;
  }[];
  /** Of the floor where somebody can be, 0 to 1. */
  major_share: number;
  minor_share: number;
}
export interface SeenField {
  seen: PlanPoint[][];
  /** Within the sensor's shape and the room, but behind a corner, a partition or furniture. */
  hidden: PlanPoint[][];
}

/** How the radio devices of the room reach a gateway. */
export interface Radio {
  /** Without one no link has an end. */
  has_gateway: boolean;
  devices: { id: string; to: RadioLink | null }[];
  /** Margin that a device would have at this height: lines at 0, 10 and 20 dB. */
  height_m: number;
  contours: { db: number; is_closed: boolean; points: number[] }[];
}
export interface RadioLink {
  id: string;
  tag: string;
  is_repeater: boolean;
  at: [x_m: number, y_m: number, z_m: number];
  /** In this room, or else in the room of this number. */
  is_here: boolean;
  room: string;
  distance_m: number;
  light_walls: number;
  heavy_walls: number;
  floors: number;
  loss_db: number;
  margin_db: number;
  /** Of the whole way to a gateway, 0 to 1. */
  availability: number;
  /** 20 dB and more, 10, 0, less. */
  margin: "strong" | "sound" | "weak" | "none";
}

export interface Sequence {
  pointer: Pointer;
  sentence: Phrase[];
  matrix: { groups: string[]; rows: { event: Phrase[]; cells: Phrase[][] }[] };
}

// ---- light, the year, why ----------------------------------------------------------------------------------

/** What a scene is to give on a task area. */
export interface Scene {
  id: string;
  pointer: Pointer;
  name: string;
  levels: { group: string; level: number; pointer: Pointer }[];
  shades: "as_they_stand" | "drawn" | "raised";
  follows_daylight: boolean;
  in_demand_response: boolean;
  /** Id of the audio-visual interface whose contact calls it too, or empty. */
  called_by: string;
  targets: SceneTarget[];
}

export interface SceneTarget {
  task_area: string;
  name: string;
  least_lx: number | null;
  most_lx: number | null;
  uniformity: number | null;
  contrast: number | null;
  pointer: Pointer;
}

export interface WhatIfFigure {
  mean: number;
  low: number;
  high: number;
}
export interface WhatIfVariant {
  value: string;
  connected_w: number;
  kwh: WhatIfFigure;
  under_lit_h: WhatIfFigure;
  over_lit_kwh: WhatIfFigure;
  taken_from_people: WhatIfFigure;
  dips_on_people: WhatIfFigure;
  lit_for_nobody_h: WhatIfFigure;
  /** The rules that it breaks, with evidence. */
  does_not_stand: string[];
}
/** What values of one thing make of a room. */
export interface WhatIf {
  revision: number;
  space: string;
  what: string;
  variants: WhatIfVariant[];
}

export interface SceneLevelsRequest {
  revision: number;
  scene: string;
  design?: string;
  /** What if: edits that are not saved. */
  edits?: Edit[];
}
export interface SceneDemand {
  words: string;
  asked: number;
  before: number;
  before_words: string;
  /** Of the levels that were found. */
  reached?: number;
  reached_words?: string;
  /** Watts for each lx, or for each 1 of uniformity. */
  price_w?: number;
}
/** Levels of least power, or the demands that cannot be held together. */
export interface SceneLevelsAnswer {
  revision: number;
  scene: string;
  before_w: number;
  power_w?: number;
  power_gap_w?: number;
  levels?: { group: string; level: number; before: number }[];
  at_odds?: { demand: number; attainable: number; attainable_words: string }[];
  demands: SceneDemand[];
}

export interface LightRequest {
  revision: number;
  /** Second of the civil calendar year; the state of the proposal at that instant, daylight included. */
  at_civil_s?: number;
  /** Without an instant: this scene at trim, no daylight. */
  scene?: string;
  /** The proposal that is meant; left out, the first. */
  design?: string;
  /** Scene groups whose level is held instead, as a share of trimmed full output. */
  levels?: Record<string, number>;
  /** What if: edits that are not saved. */
  edits?: Edit[];
  /** Also the values at the points of calculation. */
  points?: boolean;
  /** Also how the radio devices reach a gateway. */
  radio?: boolean;
}

export interface LightAnswer {
  revision: number;
  field: Field;
  contours: Contour[];
  /** Fraction of full output of every luminaire of the proposal in the room. */
  luminaires: Record<string, number>;
  tasks: { id: string; name: string; mean_lx: number; min_lx: number; daylight_lx: number; electric_lx: number; target_lx: number }[];
  power_w: number;
  points: PointValue[];
  /** Of the points of calculation beside furniture. */
  lowest: PointValue | null;
  highest: PointValue | null;
  /** As the room's, with the edits. */
  reach: Reach | null;
  /** null also unless it was asked for. */
  radio: Radio | null;
}

export interface PointValue {
  at: PlanPoint;
  lx: number;
}

/** Illuminance between its points of calculation, ready to draw. Row by row from the south; the value in row r
 *  and column c stands at (x0 + c step, y0 + r step). */
export interface Field {
  x0_m: number;
  y0_m: number;
  step_m: number;
  columns: number;
  rows: number;
  /** Illuminance at byte 0 and at byte 255; between them logarithmic. */
  low_lx: number;
  high_lx: number;
  bytes: string; // base64
}

export interface Contour {
  lx: number;
  is_target: boolean;
  is_closed: boolean;
  points: number[]; // x, y, x, y, ...
}

export interface YearAnswer {
  revision: number;
  quantity: YearQuantity;
  unit: string;
  /** Values at byte 0 and at byte 255; between them linear, or logarithmic for light. */
  low: number;
  high: number;
  logarithmic: boolean;
  steps_per_day: number; // 288
  /** base64 of 105,120 bytes: day by day, civil time from midnight. */
  bytes: string;
  sunrise_h: number[]; // civil hours, one a day
  sunset_h: number[];
  /** Weekday of 1 January, 0 Monday. */
  first_weekday: number;
  calendar_year: number;
  /** Days, 0 is 1 January, on which the calendar of the room's people is shut. */
  holidays: number[];
}
export type YearQuantity = "power" | "presence" | "task_light" | "daylight";

export interface WhyAnswer {
  revision: number;
  at_civil_s: number;
  sentences: string[];
  groups: { id: string; name: string; level: number; power_w: number }[];
  people: boolean;
}

/** A place on the ceiling and how well a photosensor there would hold the light on its task through a year. */
export interface PhotosensorPlace {
  at: PlanPoint;
  height_m: number;
  /** False: it cannot be set up there, and dims nothing. */
  usable: boolean;
  /** Root mean square of the distance from the light that is wanted, over the target. */
  rms: number;
  /** Share of the hours with less than 90 % of the target. */
  under_share: number;
  /** Mean of the light beyond what is wanted, over the target. */
  over: number;
}

export interface PhotosensorPlaces {
  revision: number;
  rule: number;
  target_lx: number;
  night_lx: number;
  /** Open daylit hours of the year that the figures rest on. */
  hours: number;
  spacing_m: number;
  places: PhotosensorPlace[]; // row by row from the south
  present: PhotosensorPlace | null;
  best: number | null; // index into places
}

// ---- proposals for a room ----------------------------------------------------------------------------------

/** What of a room's controls is decided together. */
export type ControlPart = "occupancy" | "daylight" | "stations" | "controllers" | "receptacles";

/** Of nine in ten such buildings it lies between low and high. */
export interface ProposedEstimate {
  mean: number;
  low: number;
  high: number;
}
export interface CostRange {
  least: number;
  most: number;
}
/** To buy, install and set to work, in the currency of the estimate. */
export interface FirstCost {
  total: CostRange;
  set_up_h: CostRange;
  quantities: { id: string; name: string; count: number; cost: CostRange }[];
  /** Pieces that no price is known of, one by one; the total leaves them out. */
  unpriced: string[];
}
export type FrontPick = "least cost" | "most for the money" | "least energy" | "least light taken from people";

/** Neither cost nor energy of it is in that of the design. */
export interface ProposedReceptacles {
  controlled: number;
  of: number; // socket outlets; 0: not stated
  cost: FirstCost;
  saved_kwh: ProposedEstimate; // a year
  why: string[];
}

export interface ProposedDesign {
  name: string;
  cost: FirstCost;
  kwh: ProposedEstimate; // a year
  saving_against_as_found: ProposedEstimate; // fraction
  under_lit_h: ProposedEstimate; // a year, of all daylight loops
  taken_from_people: ProposedEstimate; // times a year
  /** Each choice in a sentence. */
  why: string[];
  /** Of the front and the document's own: what each design that is offered has over it. */
  gives_up: string[];
  /** What takes the power of plugged-in devices, of designs that are offered; null where that is not open to choice. */
  receptacles: ProposedReceptacles | null;
  /** Index of a design that is no worse in anything; absent on the front. */
  dominated_by?: number;
}

/** What the plan shows with a design; pointers lead into the document as it would be. */
export interface DrawnDesign {
  design: number;
  devices: DeviceDrawing[];
  groups: Room["groups"];
  reach: Reach | null;
  sentence: Phrase[];
  /** Put it into the revision; none for the document's own. */
  edits: Edit[];
}

export interface Proposals {
  /** Names them while the service keeps them. */
  proposals: string;
  revision: number;
  room: string;
  /** Rooms that get the design: this one, then those of the same typical. */
  spaces: string[];
  kept: ControlPart[];
  free: ControlPart[];
  currency: string;
  as_found_kwh: ProposedEstimate;
  new_luminaires_only: { kwh: ProposedEstimate; saving_against_as_found: ProposedEstimate; cost: FirstCost };
  designs: ProposedDesign[];
  own: number | null; // index of the document's own design; null where it may not be proposed
  refused: { name: string; because: string[] }[];
  /** Indices into designs, by first cost. */
  front: number[];
  hull: number[];
  /** Of a kWh a year from the hull's design before; one for each but the first. */
  cost_per_kwh: number[];
  offers: { design: number; picked: FrontPick[] }[];
  drawn: DrawnDesign[];
}

export interface DesignEditsRequest {
  revision: number;
  proposals: string;
  design: number;
  /** That are taken; left out, all that were free. */
  parts?: ControlPart[];
}

/** What the rooms come to with one design each. */
export interface PointOfLine {
  cost: CostRange;
  /** Over the designs that cost least: what both have cancels, the price of what only one has may lie anywhere in its range. */
  cost_over_least: CostRange;
  set_up_h: CostRange;
  /** Pieces that no price is known of; the cost leaves them out. */
  unpriced: string[];
  kwh: ProposedEstimate; // a year
  saved_over_least_kwh: ProposedEstimate; // a year, under the designs that cost least
  saving_against_as_found: ProposedEstimate; // fraction
  /** By room, the number of its design. */
  designs: number[];
}
/** One room, or all of one typical, changes from a design to the next of its hull. */
export interface StepOfLine {
  room: number; // index into rooms
  from: number; // design
  to: number;
  /** As of PointOfLine. */
  cost: CostRange;
  saved_kwh: ProposedEstimate; // a year
  cost_per_kwh: number;
}
export interface RoomOnLine {
  /** Rooms that get one design. */
  spaces: string[];
  own: number | null; // the document's own design; null where it may not be proposed
  hull: number[];
  /** Of the hull, and the document's own. */
  designs: { design: number; name: string; cost: CostRange; kwh: ProposedEstimate }[];
}
export type LinePick = "least cost" | "most for the building's money" | "least energy";
export interface BuildingLine {
  rooms: RoomOnLine[];
  /** Where a kWh costs least first. */
  steps: StepOfLine[];
  /** After so many steps; one more than there are steps. */
  sums: PointOfLine[];
  points: { name: LinePick; steps: number }[];
  /** With the document's own designs; null where one of them may not be proposed. */
  stands: PointOfLine | null;
}
export interface BuildingProposals {
  /** Names them while the service keeps them. */
  proposals: string;
  revision: number;
  /** null: what each room has decided. */
  kept: ControlPart[] | null;
  currency: string;
  /** Rooms that are not on the line, with the reason. */
  without: { spaces: string[]; because: string }[];
  /** null: no room is on it. */
  building: BuildingLine | null;
}
export interface BuildingSearch {
  /** Rooms that are alike, whose designs are being looked for. */
  spaces: string[];
  rooms_done: number;
  rooms_total: number;
  stage: string;
  done: number;
  total: number;
}

export interface LineEditsRequest {
  revision: number;
  proposals: string;
  /** How many are taken. */
  steps: number;
}
export interface LineEdits {
  revision: number;
  steps: number;
  /** By storey: load controllers that rooms share in the place of their own. */
  shared_controllers: { storey: string; spaces: string[]; replaced: number; controllers: number; cost_before: CostRange; cost_after: CostRange; is_least: boolean; why: string[] }[];
  /** Gateways and repeaters that are added; null where no device talks by radio. */
  radio: { devices: number; gateways: RelayPlace[]; repeaters: RelayPlace[]; out_of_reach: string[]; weakest_availability: number } | null;
  /** Why no gateways and repeaters could be proposed. */
  no_radio: string | null;
  /** What is to tell HVAC of rooms; null where nothing is. */
  hvac: { new_contacts: number; cost?: CostRange; told: { space: string; by: string }[] } | null;
  edits: Edit[];
}
export interface RelayPlace {
  space: string;
  at: [number, number, number]; // m
  device_kind: string;
}

// ---- long work ---------------------------------------------------------------------------------------------

export interface StudyRequest {
  revision: number;
  /** Ids; empty: all rooms. */
  spaces: string[];
  accuracy: "draft" | "design" | "proof";
  /** The proposal that is studied; left out, the first. */
  design?: string;
}

export interface Run {
  id: string;
  project: string;
  revision: number;
  /** The proposal that was chosen, or "" for the first. */
  design: string;
  spaces: string[];
  state: "waiting" | "running" | "done" | "failed" | "cancelled";
  stage: string;
  done: number;
  total: number;
  problem?: Problem;
}
/** What of a study is for drawing only. */
export interface Drawings {
  rooms: {
    id: string;
    /** Days one after another, `per_day` bytes each from midnight, 0 to 255 for 0 to all of the connected power. */
    year?: { quantity: string; per_day: number; bytes: string };
  }[];
}
// GET /api/runs/{id}/study gives the study as docs/formats/study.md describes it.

// ---- the way in --------------------------------------------------------------------------------------------

/** What the library offers to begin with. */
export interface Library {
  kinds: LibraryKind[];
  luminaire_types: LibraryLuminaire[];
  climates: { id: string; name: string; source: string; latitude_deg: number; longitude_deg: number; utc_offset_h: number }[];
  codes: { code: string; edition: string }[];
}
export interface LibraryKind {
  id: string;
  name: string;
  target_lx: number;
  target_source: string;
  uniformity: number;
  task_height_m: number;
  pattern: "desks" | "shared" | "circulation" | "bookings" | "timetable" | "sleeping" | "none";
  people: number;
  luminaire_type: string;
  found_luminaire_type: string;
  start_source: string;
}
export interface StartLuminaire {
  id: string;
  tag: string;
  name: string;
  lumens: number;
  input_w: number;
  length_m: number;
  width_m: number;
  shape: "rectangle" | "circle";
  mounting: "recessed" | "surface" | "pendant" | "wall" | "plug_in";
}
/** `existing`: one that older buildings have. */
export interface LibraryLuminaire extends StartLuminaire {
  existing: boolean;
}

/** What is left out stays as the document has it. */
export interface StartSiteRequest {
  revision: number;
  climate?: string;
  weather_file?: string;
  latitude_deg?: number;
  longitude_deg?: number;
  utc_offset_h?: number;
  clock?: "none" | "europe" | "north_america";
  kind?: "new_building" | "addition" | "alteration";
  unit: "m" | "ft";
  codes?: { code: string; edition: string }[];
  hours: { weekdays: string[]; open: string; close: string }[];
  storey?: string;
}
/** Edits that are not saved yet. */
export interface StartAnswer {
  edits: Edit[];
  label: string;
}

/** Lengths, light and power as they were typed. */
export interface StartRoomRequest {
  revision: number;
  /** A room that is there and has no lighting; or a typical; else a new room. */
  space?: string;
  typical?: string;
  kind?: string;
  number?: string;
  name?: string;
  storey?: string;
  width?: string;
  length?: string;
  floor?: PlanPoint[];
  /** The outline's place says nothing: it goes beside the rooms that are there. */
  apart?: boolean;
  height?: string;
  windows?: { wall: number; offset: string; sill: string; width: string; height: string }[];
  doors?: { wall: number; offset: string; width: string }[];
  luminaire_type?: string;
  target?: string;
  as_found: { luminaire_type?: string; count?: number; watts?: string } | null;
}
export interface StartRoomAnswer extends StartAnswer {
  space: string;
  preview: StartPreview;
}
export interface StartLighting {
  type: StartLuminaire;
  luminaires: PlanPoint[];
  rotation_deg: number;
  count: number;
  rows: number;
  along_m: number;
  across_m: number;
  mounted_m: number;
  mean_lx: number;
  min_lx: number;
  target_lx: number;
  error_lx: number;
  holds: boolean;
  installed_w: number;
  w_m2: number;
  /** What the lumen method asked for, and its utilisation factor. */
  needed: number;
  utilisation: number;
}
export interface StartPreview extends StartLighting {
  floor: PlanPoint[];
  area_m2: number;
  sensors: { tag: string; at: PlanPoint }[];
  photosensors: { tag: string; at: PlanPoint }[];
  stations: { tag: string; at: PlanPoint }[];
  field: Field;
  contours: Contour[];
  as_found: StartLighting | null;
  sentence: string;
  notes: string[];
}

export interface KeptFile {
  path: string;
  hash: string;
  size: number;
}
/** What the reader says of a file that was kept. */
export type FileAnswer = KeptFile & { warnings: Diagnostic[] } & (
    | {
        role: "photometry";
        lumens: number;
        input_w: number;
        length_m: number;
        width_m: number;
        downward_fraction: number;
        /** Ready for the document's list. */
        luminaire_type: { id: string; name: string };
      }
    | { role: "weather"; place: string; source: string; latitude_deg: number; longitude_deg: number; utc_offset_h: number }
    | { role: "background" }
  );
