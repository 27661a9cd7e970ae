#pragma once
#include "domain/project.hpp"
#include "formats/codecs.hpp"
#include "formats/format_names.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <string_view>
#include <vector>

// The one declaration of what may stand in a project document and in the library's files: for each type its
// keys, each with the member it fills, the codec of its value, and one line for the reader of the schema.
//
// A visitor V gives these members; the reader (field_reader.hpp), the schema (project_schema.cpp) and the
// completeness test (project_json_test.cpp) are visitors:
//   required(key, member, codec, doc)              without it the part is unfinished ("missing"); an id:
//   error with_default(key, member, codec, basis, doc, relevant)
//                                                  left out, the member's value stands and is recorded as a
//                                                  default taken, unless it is not `relevant` for this object
//   optional(key, member, codec, doc)              left out, nothing is assumed that a claim could rest on
//   object(key, member, doc)                       a described type in its own braces
//   maybe(key, optional member, doc)               the same, where absence has a meaning
//   list(key, vector member, doc)                  a list of a described type
//   owner(member)                                  "space" of a design's object: required, save in the block
//   of a
//                                                  typical, where each inheriting space is meant
//   kind_chosen(space)                             the space's kind has been read: its values become the
//   defaults space_done(space)                              the whole space has been read document_only(key,
//   codec, doc)                 a key that the reader of its object knows without a member
//   partial_space<Space>(typical, key, doc)        the keys that rooms inherit
//   typical_blocks<Block>(key, doc)                what a design gives to the rooms that inherit
//   header_read(file)                              the document's format and units are known
// A visitor that only looks at values takes the rest from ValuesOnly.

namespace halflight::formats {

/// What a visitor passes over that only looks at values; it derives from this.
struct ValuesOnly {
  template <class Codec>
  void document_only(std::string_view, const Codec&, std::string_view) {}
  template <class Space>
  void partial_space(domain::Typical&, std::string_view, std::string_view) {}
  template <class Block>
  void typical_blocks(std::string_view, std::string_view) {}
  void kind_chosen(domain::Space&) {}
  void space_done(domain::Space&) {}
};

/// Why a default is what it is.
struct Basis {
  enum class Part { field, target, reflectances, occupancy, plugs, safety };
  std::string_view source;
  Part part = Part::field;  ///< other than `field`: the kind of space gives the value and its source
};
inline constexpr Basis kPractice = {"common practice, no source"};
inline constexpr Basis kShortTerm = {"Skartveit and Olseth 1992"};
inline constexpr Basis kShadowing = {"ITU-R P.1238, offices (from memory)"};
inline constexpr Basis kAssumed = {"assumption"};
inline constexpr Basis kReceptacles = {"the longest that codes allow (IECC 2021 C405.11; ASHRAE 90.1 8.4.2)"};
inline constexpr Basis kNothing = {"nothing is assumed"};
inline constexpr Basis kNoLoss = {"no loss is assumed"};
inline constexpr Basis kKindTarget = {"common practice, no source", Basis::Part::target};
inline constexpr Basis kKindReflectances = {"common practice, no source", Basis::Part::reflectances};
inline constexpr Basis kKindOccupancy = {"common practice, no source", Basis::Part::occupancy};
inline constexpr Basis kKindPlugs = {"assumption", Basis::Part::plugs};
inline constexpr Basis kKindSafety = {"common practice, no source", Basis::Part::safety};

/// Names of the described types, as the schema's definitions are called.
template <class T>
inline constexpr std::string_view kTypeName = "";

#define HALFLIGHT_WORDS(E, ...)                                                  \
  template <>                                                                    \
  struct Words<E> {                                                              \
    static constexpr auto kAll = std::to_array<std::string_view>({__VA_ARGS__}); \
  }

// In the order of the enumerators. The words stand in files: never rename one without a migration.
HALFLIGHT_WORDS(domain::Source, "measured", "logged", "label", "table", "interview", "assumed");
HALFLIGHT_WORDS(domain::Status, "remain", "remove", "relocate", "new");
HALFLIGHT_WORDS(domain::WithinTheHour, "drawn", "smooth");
HALFLIGHT_WORDS(domain::ProjectType::Kind, "new_building", "addition", "alteration");
HALFLIGHT_WORDS(domain::CeilingType, "lay_in", "gypsum", "open", "concrete", "timber");
HALFLIGHT_WORDS(domain::CeilingAccess, "tiles", "panels", "none");
HALFLIGHT_WORDS(domain::WallBuild, "light", "heavy");
HALFLIGHT_WORDS(domain::Radio::Band, "868_mhz", "915_mhz", "2450_mhz");
HALFLIGHT_WORDS(domain::Link, "wired", "radio");
HALFLIGHT_WORDS(domain::Glazing::Kind, "clear", "diffusing");
HALFLIGHT_WORDS(domain::Shade::Kind, "cloth", "slats", "switched_glass");
HALFLIGHT_WORDS(domain::Scene::Shades, "as_they_stand", "drawn", "raised");
HALFLIGHT_WORDS(domain::Shade::Operation, "manual", "automatic", "fixed_open", "fixed_closed");
HALFLIGHT_WORDS(domain::Opening::Kind, "window", "skylight", "inner_glazing");
HALFLIGHT_WORDS(domain::Door::Latch, "left", "right");
HALFLIGHT_WORDS(domain::Door::Swing, "in", "out");
HALFLIGHT_WORDS(domain::Partition::Kind, "fixed", "part_height", "movable");
HALFLIGHT_WORDS(domain::EgressPath::Surface, "level", "stair");
HALFLIGHT_WORDS(domain::TaskArea::Plane, "horizontal", "vertical");
HALFLIGHT_WORDS(domain::Occupancy::Pattern, "desks", "shared", "circulation", "bookings", "timetable",
                "sleeping", "none");
HALFLIGHT_WORDS(domain::PlugDevice::MustStayOn, "no", "medical", "refrigeration", "network",
                "never_switched");
HALFLIGHT_WORDS(domain::PlugDevice::SwitchedBy, "nothing", "controlled_receptacle", "plug_in_outlet");
HALFLIGHT_WORDS(domain::PlugLoads::OffWhen, "empty", "closed", "empty_or_closed");
HALFLIGHT_WORDS(domain::Protocol, "switched", "phase_dim", "analogue_0_10v", "digital_bus", "wireless");
HALFLIGHT_WORDS(domain::SourceSpectrum, "white_led", "warm_white_led", "fluorescent", "incandescent");
HALFLIGHT_WORDS(domain::LuminaireType::Mounting, "recessed", "surface", "pendant", "wall", "plug_in");
HALFLIGHT_WORDS(domain::LuminaireType::Shape, "rectangle", "circle");
HALFLIGHT_WORDS(domain::EmergencyType, "none", "own_battery", "central_battery", "generator",
                "transfer_device", "bypass_device");
HALFLIGHT_WORDS(domain::Circuit::Supply, "normal", "emergency");
HALFLIGHT_WORDS(domain::Strategy, "scene", "occupancy", "daylight", "schedule", "demand_response",
                "emergency");
HALFLIGHT_WORDS(domain::OccupancySensor::Technology, "infrared", "ultrasonic", "dual", "microwave");
HALFLIGHT_WORDS(domain::OccupancySensor::Coverage, "circle", "half_circle", "sector", "strip",
                "in_luminaire");
HALFLIGHT_WORDS(domain::Photosensor::Loop, "closed", "open");
HALFLIGHT_WORDS(domain::Photosensor::Response, "cosine", "narrowed", "shielded");
HALFLIGHT_WORDS(domain::Photosensor::SpectralResponse, "photopic", "silicon");
HALFLIGHT_WORDS(domain::Station::Kind, "wall", "hand_held", "key_switch");
HALFLIGHT_WORDS(domain::LoadController::Action, "on_off", "phase_dim", "analogue_0_10v", "digital_bus",
                "volt_free_contact");
HALFLIGHT_WORDS(domain::LoadController::Mounting, "wall_box", "ceiling_void", "panel", "in_luminaire",
                "plug_in");
HALFLIGHT_WORDS(domain::DeviceKind::Mounting, "ceiling", "wall", "wall_box", "ceiling_void", "panel",
                "in_luminaire", "plug_in");
HALFLIGHT_WORDS(domain::Interface::Kind, "hvac_contact", "hvac_points", "audio_visual", "shades",
                "demand_response", "fire_alarm", "partition_sensor", "load_shed");
HALFLIGHT_WORDS(domain::Interface::Direction, "in", "out");
HALFLIGHT_WORDS(domain::Infrastructure::Kind, "bus_supply", "gateway", "repeater", "emergency_transfer",
                "emergency_bypass");
HALFLIGHT_WORDS(domain::OnRule::By, "hand", "occupancy", "schedule", "always");
HALFLIGHT_WORDS(domain::DaylightRule::Method, "closed_loop_proportional", "open_loop_proportional",
                "integral_reset", "dual_loop");
HALFLIGHT_WORDS(domain::ManualRule::HoldsUntil, "vacancy", "schedule", "time_limit");
HALFLIGHT_WORDS(domain::Design::Role, "as_found", "proposal");

/// The unit of bare coordinates.
enum class CoordinateUnit { m, ft };
HALFLIGHT_WORDS(CoordinateUnit, "m", "ft");

#undef HALFLIGHT_WORDS

// ---------------------------------------------------------------------------------------------------------
// Site and project

template <>
inline constexpr std::string_view kTypeName<ClockChange> = "clock_change";
template <class V>
void describe(V& v, ClockChange& c) {
  v.required("month", c.month, Count{1, 12}, "Month of the change, 1 to 12.");
  v.required("week", c.week, Count{-1, 4}, "Which such weekday of the month: 1 to 4, or -1 for the last.");
  v.required("weekday", c.weekday, Weekday{}, "Day of the week.");
  v.required("at_standard", c.at_standard_s, Clock{}, "Hour of the change in standard time.");
}

template <>
inline constexpr std::string_view kTypeName<DaylightSaving> = "daylight_saving";
template <class V>
void describe(V& v, DaylightSaving& d) {
  v.object("begin", d.begin, "When clocks go ahead.");
  v.object("end", d.end, "When clocks go back.");
  v.optional("shift", d.shift_s, WholeSeconds{seconds(600, 7200)}, "How far clocks are ahead.");
}

template <>
inline constexpr std::string_view kTypeName<domain::ClimateReference> = "climate";
template <class V>
void describe(V& v, domain::ClimateReference& c) {
  v.optional("library", c.library, Text{}, "Name of a climate of the library (library/climates).");
  v.optional("file", c.file, Text{}, "Relative path of a weather file (TMY3 or EPW); wins over library.");
  v.optional("file_hash", c.file_hash, Text{},
             "Hash of the file when it was referenced, 32 hexadecimal digits.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Site> = "site";
template <class V>
void describe(V& v, domain::Site& s) {
  v.required("latitude", s.latitude_deg, degrees(-90, 90), "Latitude, north positive.");
  v.required("longitude", s.longitude_deg, degrees(-180, 180), "Longitude, east positive.");
  v.with_default("elevation", s.elevation_m, metres(-500, 6000), kPractice, "Above sea level.");
  v.with_default("plan_north", s.plan_north_deg, degrees(-360, 360), kPractice,
                 "Bearing of the plan's +y axis, clockwise from true north.");
  v.optional("zone_name", s.zone_name, Text{}, "IANA name of the time zone, for people; the offset decides.");
  v.required("utc_offset", s.utc_offset_h, hours(-12, 14), "Standard time minus UTC.");
  v.maybe("daylight_saving", s.daylight_saving, "When clocks change; left out: they do not.");
  v.with_default("calendar_year", s.calendar_year, Count{1950, 2100}, kPractice,
                 "Fixes the days of the week.");
  v.object("climate", s.climate, "The weather that the year is computed with.");
  v.with_default("weather_within_the_hour", s.weather_within_the_hour, Word<domain::WithinTheHour>{},
                 kShortTerm, "Whether clouds are drawn that pass between the hourly values.");
  v.with_default("ground_reflectance", s.ground_reflectance, Fraction{}, kPractice,
                 "Diffuse, of the ground outside.");
}

template <>
inline constexpr std::string_view kTypeName<domain::ProjectType> = "project_type";
template <class V>
void describe(V& v, domain::ProjectType& t) {
  v.with_default("kind", t.kind, Word<domain::ProjectType::Kind>{}, kPractice,
                 "Decides which code rules apply.");
  v.with_default("share_replaced", t.share_replaced, Fraction{}, kPractice,
                 "Alteration: share of the luminaires that is replaced.",
                 t.kind == domain::ProjectType::Kind::alteration);
}

template <>
inline constexpr std::string_view kTypeName<domain::OwnerRequirements> = "requirements";
template <class V>
void describe(V& v, domain::OwnerRequirements& r) {
  v.optional("priorities", r.priorities, Each{Text{}}, "The owner's priorities in order; printed.");
  v.with_default("automatic_on_allowed", r.automatic_on_allowed, Flag{}, kPractice,
                 "Whether lights may come on by themselves.");
  v.with_default("radio_allowed", r.radio_allowed, Flag{}, kPractice, "Whether devices may talk by radio.");
  v.with_default("spare", r.spare, Fraction{0.0, 0.9}, kPractice,
                 "Share of addresses, bus current and amperes of load controllers that is left free.");
  v.optional("cloud_allowed", r.cloud_allowed, Flag{}, "Not used yet: no device here needs it.");
  v.optional("notes", r.notes, Text{}, "Printed, no effect on numbers.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Radio> = "radio";
template <class V>
void describe(V& v, domain::Radio& r) {
  v.required("band", r.band, Word<domain::Radio::Band>{}, "Frequency that it talks at.");
  v.with_default("transmit_power", r.transmit_power_dbm, radio_power(-30, 36), kPractice,
                 "Of device and gateway, into the antenna.");
  v.with_default("device_gain", r.device_gain_dbi, decibels(-20, 20), kPractice,
                 "Of a device's antenna over an isotropic one, losses taken off.");
  v.with_default("gateway_gain", r.gateway_gain_dbi, decibels(-20, 20), kPractice,
                 "Of a gateway's or repeater's antenna, likewise.");
  v.optional(
      "sensitivity", r.sensitivity_dbm, Unset{radio_power(-150, -20)},
      "Weakest signal that a receiver understands; left out: what IEEE 802.15.4 asks for at least, -85 dBm "
      "at 2450 MHz and -92 dBm at 868 and 915 MHz.");
  v.with_default("shadowing", r.shadowing_db, decibels(0, 30), kShadowing,
                 "Standard deviation of what no plan shows.");
}

template <>
inline constexpr std::string_view kTypeName<domain::CodeEdition> = "code_edition";
template <class V>
void describe(V& v, domain::CodeEdition& c) {
  v.required("code", c.code, Text{}, "Name of the code, as in library/codes.");
  v.required("edition", c.edition, Text{}, "Its edition.");
}

template <>
inline constexpr std::string_view kTypeName<domain::TracedDrawing> = "traced drawing";
template <class V>
void describe(V& v, domain::TracedDrawing& d) {
  v.required("file", d.file, Text{}, "Kept with the project: PNG, JPEG, SVG, DXF or PDF.");
  v.optional("metres_per_unit", d.metres_per_unit, Number{0, 1000},
             "A unit of the drawing, or a pixel of a picture; left out: its scale is not known yet.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Storey> = "storey";
template <class V>
void describe(V& v, domain::Storey& s) {
  v.required("id", s.id, Id{Thing::storey}, "Name within the project.");
  v.optional("name", s.name, Text{}, "As printed.");
  v.with_default("elevation", s.elevation_m, metres(-100, 1000), kPractice,
                 "Of the finished floor above the site.");
  v.maybe("traced_drawing", s.traced_drawing,
          "What its rooms are traced from; changes no result, and left out: nothing.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Obstruction> = "obstruction";
template <class V>
void describe(V& v, domain::Obstruction& o) {
  v.required("id", o.id, Id{Thing::obstruction}, "Name within the project.");
  v.required("plan", o.plan_m, VertexArrays{{.turned = true}}, "Outline in plan.");
  v.optional("bottom", o.bottom_m, metres(-100, 1000), "Lower edge above the site.");
  v.required("top", o.top_m, metres(-100, 1000), "Upper edge above the site.");
  v.with_default("reflectance", o.reflectance, Fraction{0.0, 0.95}, kPractice, "Diffuse.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Meter> = "meter";
template <class V>
void describe(V& v, domain::Meter& m) {
  v.required("id", m.id, Id{Thing::meter}, "Name within the project.");
  v.optional("name", m.name, Text{}, "As printed.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Reading> = "reading";
template <class V>
void describe(V& v, domain::Reading& r) {
  v.required("id", r.id, Id{Thing::reading}, "Name within the project.");
  v.optional("meter", r.meter, Reference{Thing::meter},
             "What was read is the lighting energy of all spaces on this meter.");
  v.optional("space", r.space, Reference{Thing::space}, "What was read belongs to this space alone.");
  v.required("from", r.from, Date{}, "First day, included.");
  v.required("to", r.to, Date{}, "Last day, included.");
  v.optional(
      "kwh", r.kwh, Unset{Number{0, 1e9}},
      "Energy of the lighting as found from the first to the last day, kWh; what else hangs on the meter "
      "taken off.");
  v.optional(
      "lit_h", r.lit_h, Unset{Number{0, 8760}},
      "Hours lit from the first to the last day, as hour loggers count them; of several luminaires the "
      "mean by their watts.");
  v.with_default("spread", r.spread, Fraction{0.001, 0.5}, kAssumed,
                 "Standard deviation of the model against the reading, as a share of it: the meter, another "
                 "year's weather and people.");
  v.optional("notes", r.notes, Text{}, "Printed, no effect on numbers.");
}

template <>
inline constexpr std::string_view kTypeName<domain::HvacZone> = "hvac_zone";
template <class V>
void describe(V& v, domain::HvacZone& z) {
  v.required("id", z.id, Id{Thing::hvac_zone}, "Name within the project.");
  v.optional("name", z.name, Text{}, "As printed.");
  v.optional("standby_allowed", z.standby_allowed, Flag{},
             "Whether ventilation may go to occupied-standby here; the mechanical code governs.");
  v.optional("calendar", z.calendar, Reference{Thing::calendar},
             "Hours in which it runs; left out: while a calendar of its spaces is open.");
}

template <>
inline constexpr std::string_view kTypeName<domain::DemandEvent> = "demand_event";
template <class V>
void describe(V& v, domain::DemandEvent& e) {
  v.required("on", e.on, Date{}, "Day.");
  v.required("at", e.at_s, Clock{}, "Clock on the wall.");
  v.required("lasts", e.lasts_s, seconds(300, 86400), "How long.");
}

template <>
inline constexpr std::string_view kTypeName<domain::DemandEvents> = "demand_events";
template <class V>
void describe(V& v, domain::DemandEvents& d) {
  v.list("events", d.events, "Days and times at which demand response is called.");
  v.optional("hottest_afternoons", d.hottest_afternoons, Count{0, 50},
             "Called as well on so many working days a year, the hottest of each weather year.");
  v.with_default("at", d.at_s, Clock{}, kPractice, "When it begins on those days, by the clock.",
                 d.hottest_afternoons > 0);
  v.with_default("lasts", d.lasts_s, seconds(300, 86400), kPractice, "How long on those days.",
                 d.hottest_afternoons > 0);
}

template <>
inline constexpr std::string_view kTypeName<domain::Glazing> = "glazing";
template <class V>
void describe(V& v, domain::Glazing& g) {
  v.required("id", g.id, Id{Thing::glazing}, "Name within the project.");
  v.optional("kind", g.kind, Word<domain::Glazing::Kind>{}, "Whether it can be seen through.");
  v.with_default("transmittance", g.transmittance, Fraction{0.01, 0.95}, kPractice,
                 "Visible, at normal incidence.");
  v.with_default("panes", g.panes, Count{1, 3}, kPractice,
                 "Sets the angular law together with transmittance.");
  v.with_default("maintenance", g.maintenance, Fraction{0.3, 1.0}, kPractice,
                 "Dirt factor on the light that enters.");
  v.with_default("reflectance_inside", g.reflectance_inside, Fraction{0.0, 0.9}, kPractice,
                 "Diffuse, seen from the room.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Shade> = "shade";
template <class V>
void describe(V& v, domain::Shade& s) {
  v.required("id", s.id, Id{Thing::shade}, "Name within the project; openings that name it move as one.");
  v.optional("kind", s.kind, Word<domain::Shade::Kind>{},
             "A cloth, level slats across windows, or glass that switches from clear to dark or milky.");
  const bool cloth = s.kind == domain::Shade::Kind::cloth;
  const bool slats = s.kind == domain::Shade::Kind::slats;
  const bool switched = s.kind == domain::Shade::Kind::switched_glass;
  v.with_default("openness", s.openness, Fraction{0.0, 0.5}, kPractice,
                 "Cloth: share of the beam that passes straight through.", cloth);
  v.with_default("diffuse_transmittance", s.diffuse_transmittance, Fraction{0.0, 0.9}, kPractice,
                 "Cloth: share that passes scattered.", cloth);
  v.with_default("slat_width", s.slat_width_m, metres(0.005, 0.5), kPractice, "Slats: width of one.", slats);
  v.with_default("slat_spacing", s.slat_spacing_m, metres(0.005, 0.5), kPractice,
                 "Slats: from one to the next.", slats);
  v.with_default("slat_tilt", s.slat_tilt_deg, degrees(-80, 80), kPractice,
                 "Slats when drawn, from level; positive: the outer edge is the lower one.", slats);
  v.with_default("slat_reflectance", s.slat_reflectance, Fraction{0.0, 0.95}, kPractice,
                 "Slats: diffuse, both faces.", slats);
  v.with_default("switched_transmittance", s.switched_transmittance, Fraction{0.0, 0.95}, kPractice,
                 "Switched glass: of the whole glazing when switched, visible, at normal incidence.",
                 switched);
  v.optional("switched_diffusing", s.switched_diffusing, Flag{},
             "Switched glass: what passes when switched is scattered.");
  v.with_default("operation", s.operation, Word<domain::Shade::Operation>{}, kPractice, "Who moves it.");
}

// ---------------------------------------------------------------------------------------------------------
// Calendars, money, confirmations

template <>
inline constexpr std::string_view kTypeName<domain::DayHours> = "day_hours";
template <class V>
void describe(V& v, domain::DayHours& d) {
  v.required("weekdays", d.weekdays, Each{Weekday{}, 1}, "Days of the week.");
  v.required("open", d.open_s, Clock{}, "From, by the clock.");
  v.required("close", d.close_s, Clock{}, "Until, by the clock.");
}

template <>
inline constexpr std::string_view kTypeName<domain::DateRange> = "date_range";
template <class V>
void describe(V& v, domain::DateRange& d) {
  v.required("from", d.from, Date{}, "First day.");
  v.required("to", d.to, Date{}, "Last day, included; before the first: the range spans the new year.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Calendar> = "calendar";
template <class V>
void describe(V& v, domain::Calendar& c) {
  v.required("id", c.id, Id{Thing::calendar}, "Name within the project.");
  v.optional("name", c.name, Text{}, "As printed.");
  v.list("hours", c.hours, "Open hours; days not named are closed.");
  v.list("terms", c.terms,
         "Dates between which the hours hold; days outside are closed; left out: all year.");
  v.list("holidays", c.holidays, "Closed days.");
  v.maybe("cleaning", c.cleaning, "When cleaners are about.");
  v.with_default("source", c.source, Word<domain::Source>{}, kPractice, "How the hours are known.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Tariff> = "tariff";
template <class V>
void describe(V& v, domain::Tariff& t) {
  v.required("id", t.id, Id{Thing::tariff}, "Name within the project.");
  v.required("currency", t.currency, Text{}, "Currency of the amounts.");
  v.required("energy_per_kwh", t.energy_per_kwh, Number{0, 1000}, "Price of a kilowatt-hour.");
  v.optional("demand_per_kw_month", t.demand_per_kw_month, Number{0, 10000},
             "Price of a kilowatt of demand a month; not used yet.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Estimate> = "estimate";
template <class V>
void describe(V& v, domain::Estimate& e) {
  v.with_default("currency", e.currency, Text{}, kAssumed, "Of all that things cost.");
  v.with_default("labour_rate", e.labour_rate_per_h, Number{0, 10000}, kAssumed,
                 "An electrician's hour with overhead.");
  v.with_default("per_library_currency", e.per_library_currency, Number{1e-4, 1e6}, kAssumed,
                 "Units of `currency` for one US dollar, in which the library's prices are.");
}

template <>
inline constexpr std::string_view kTypeName<domain::CostItem> = "cost_item";
template <class V>
void describe(V& v, domain::CostItem& c) {
  v.required("id", c.id, Id{Thing::cost}, "Name within the project.");
  v.required("applies_to", c.applies_to, Text{}, "Id of a luminaire type or of a kind of device.");
  v.optional("material", c.material, Number{0, 1e7}, "To buy one, in the currency of the estimate.");
  v.optional("labour", c.labour_h, hours(0, 1000), "Time to install one.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Confirmation> = "confirmation";
template <class V>
void describe(V& v, domain::Confirmation& c) {
  v.required("pointer", c.pointer, Text{},
             "JSON pointer of the value, or of the absent value, that is confirmed.");
  v.required("by", c.by, Text{}, "Who stands behind it.");
  v.required("on", c.on, Text{}, "Date.");
  v.required("how", c.how, Text{}, "How it was found out.");
}

// ---------------------------------------------------------------------------------------------------------
// Spaces

template <>
inline constexpr std::string_view kTypeName<domain::Reflectances> = "reflectances";
template <class V>
void describe(V& v, domain::Reflectances& r) {
  v.with_default("ceiling", r.ceiling, Fraction{0.0, 0.95}, kKindReflectances, "Diffuse.");
  v.with_default("walls", r.walls, Fraction{0.0, 0.95}, kKindReflectances, "Diffuse.");
  v.with_default("floor", r.floor, Fraction{0.0, 0.95}, kKindReflectances, "Diffuse.");
  v.with_default("furniture", r.furniture, Fraction{0.0, 0.95}, kKindReflectances, "Diffuse.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Opening> = "opening";
template <class V>
void describe(V& v, domain::Opening& o) {
  using Kind = domain::Opening::Kind;
  v.required("id", o.id, Id{Thing::opening}, "Name within the space.");
  v.optional("kind", o.kind, Word<Kind>{}, "Window, skylight, or glass to another space.");
  const bool in_wall = o.kind != Kind::skylight;
  v.optional("wall", o.wall, Count{0, 999},
             "Window, inner glazing: number of the wall, 0 for the one from the floor's first vertex to its "
             "second.");
  v.optional("offset", o.offset_m, metres(0, 1000), "Along the wall from its first vertex to the near edge.");
  v.with_default("sill", o.sill_m, metres(0, 50), kPractice, "Lower edge above the floor.", in_wall);
  v.with_default("width", o.width_m, metres(0.05, 200), kPractice, "Along the wall.", in_wall);
  v.with_default("height", o.height_m, metres(0.05, 50), kPractice, "Of the opening.", in_wall);
  v.optional("plan", o.plan, Vertices{.turned = true}, "Skylight: outline in plan.");
  v.required("glazing", o.glazing, Reference{Thing::glazing}, "Id of a glazing.");
  v.optional("shade", o.shade, Reference{Thing::shade}, "Id of a shade; left out: none.");
  v.optional("borrows_from", o.borrows_from, Reference{Thing::space, {"outside"}},
             "Inner glazing: the space on the other side, whose daylight comes through.");
  v.with_default("frame_fraction", o.frame_fraction, Fraction{0.0, 0.9}, kPractice,
                 "Share of the opening that is frame and passes no light.");
  v.optional("well_depth", o.well_depth_m, metres(0, 20),
             "Skylight: of the shaft between ceiling and glass.");
  v.optional("well_reflectance", o.well_reflectance, Fraction{0.0, 0.95}, "Diffuse, of the shaft's walls.");
  v.optional("reveal", o.reveal_m, metres(0, 2), "Window: depth of the wall in front of the glass.");
  v.optional("overhang", o.overhang_m, metres(0, 20), "Window: how far a level slab above it reaches out.");
  v.optional("overhang_above", o.overhang_above_m, metres(0, 20),
             "Its underside above the head of the opening.");
  v.optional("overhang_beyond", o.overhang_beyond_m, metres(0, 50), "How far it goes on past each jamb.");
  v.optional("fins", o.fins_m, metres(0, 20), "Window: how far upright slabs at both jambs reach out.");
  v.with_default("surround_reflectance", o.surround_reflectance, Fraction{0.0, 0.95}, kPractice,
                 "Diffuse, of reveal, overhang and fins.", domain::has_surround(o));
}

template <>
inline constexpr std::string_view kTypeName<domain::Door> = "door";
template <class V>
void describe(V& v, domain::Door& d) {
  v.required("id", d.id, Id{Thing::door}, "Name within the space.");
  v.required("wall", d.wall, Count{0, 999},
             "Number of the wall, 0 from the floor's first vertex to its second.");
  v.required("offset", d.offset_m, metres(0, 1000), "Along the wall from its first vertex to the near edge.");
  v.optional("width", d.width_m, metres(0.4, 20), "Clear width.");
  v.optional("height", d.height_m, metres(1, 20), "Clear height.");
  v.optional("leads_to", d.leads_to, Reference{Thing::space, {"outside"}}, "Id of a space, or \"outside\".");
  v.optional("latch", d.latch, Word<domain::Door::Latch>{}, "Side of the latch, seen from inside the space.");
  v.optional("swing", d.swing, Word<domain::Door::Swing>{}, "Into the space or out of it.");
  v.optional("glass_fraction", d.glass_fraction, Fraction{}, "Share of the leaf that is glass.");
  v.optional("glazing", d.glazing, Reference{Thing::glazing},
             "Id of a glazing: the glass of the shut leaf passes daylight; left out: it passes none.");
  v.optional("normally_open", d.normally_open, Flag{}, "Stands open in use: sensors see through it.");
  v.optional("is_exit", d.is_exit, Flag{}, "Part of a way out.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Partition> = "partition";
template <class V>
void describe(V& v, domain::Partition& p) {
  v.required("id", p.id, Id{Thing::partition}, "Name within the space.");
  v.optional("kind", p.kind, Word<domain::Partition::Kind>{}, "Fixed, part height, or movable with states.");
  v.required("from", p.from, Place2{}, "One end in plan.");
  v.required("to", p.to, Place2{}, "The other end in plan.");
  v.with_default("height", p.height_m, metres(0.2, 60), kPractice, "Above the floor.");
  v.optional("thickness", p.thickness_m, metres(0.001, 1), "Of the screen or wall.");
  v.with_default("reflectance", p.reflectance, Fraction{0.0, 0.95}, kPractice, "Diffuse, of both faces.");
  v.optional("build", p.build, Word<domain::WallBuild>{},
             "To radio: light is plasterboard, timber or glass, heavy is thicker brick or concrete.");
  v.optional(
      "states", p.states, Each{Text{}},
      "Movable: names of its states; \"open\" leaves nothing across the room. The year is run in the first; "
      "electric light and ways out are lit in every one.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Furniture> = "furniture";
template <class V>
void describe(V& v, domain::Furniture& f) {
  v.required("id", f.id, Id{Thing::furniture}, "Name within the space.");
  v.optional("kind", f.kind, Text{}, "\"table\", \"desk\", \"shelf\", \"counter\": printed on the plan.");
  v.required("plan", f.plan, Vertices{.turned = true}, "Outline in plan.");
  v.optional("bottom", f.bottom_m, metres(0, 60), "Lower face above the floor.");
  v.with_default("top", f.top_m, metres(0.01, 60), kPractice, "Upper face above the floor.");
  v.optional("reflectance", f.reflectance, Unset{Fraction{0.0, 0.95}},
             "Diffuse; left out: that of the space.");
}

template <>
inline constexpr std::string_view kTypeName<domain::EgressPath> = "egress_path";
template <class V>
void describe(V& v, domain::EgressPath& e) {
  v.required("id", e.id, Id{Thing::egress_path}, "Name within the space.");
  v.required("centre_line", e.centre_line, Vertices{.least = 2}, "Line along the middle of the way.");
  v.with_default("width", e.width_m, metres(0.3, 30), kPractice, "Of the way.");
  v.optional("surface", e.surface, Word<domain::EgressPath::Surface>{}, "Level floor or stair.");
  v.optional("from_height", e.from_height_m, metres(0, 60),
             "Of the walking surface above the storey's floor at the line's first vertex.");
  v.optional("to_height", e.to_height_m, metres(0, 60),
             "The same at its last vertex; a flight of stairs or a ramp rises evenly between.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Screen> = "screen";
template <class V>
void describe(V& v, domain::Screen& s) {
  v.required("white", s.white_cd_m2, luminances(0.1, 100000), "Luminance of its white in a dark room.");
  v.required("black", s.black_cd_m2, luminances(0.0001, 100000), "Luminance of its black in a dark room.");
  v.required("reflectance", s.reflectance, Fraction{}, "Of light that falls on it, diffuse.");
  v.optional("least_contrast", s.least_contrast, Unset{Number{1, 100000}},
             "Ratio of white to black that one scene at least must leave; left out: not judged.");
}

template <>
inline constexpr std::string_view kTypeName<domain::TaskArea> = "task_area";
template <class V>
void describe(V& v, domain::TaskArea& t) {
  v.required("id", t.id, Id{Thing::task_area}, "Name within the space.");
  v.optional("name", t.name, Text{}, "As printed.");
  v.required("plan", t.plan, Vertices{.turned = true},
             "Outline in plan; vertical: the strip of wall or shelf front from above.");
  v.optional("plane", t.plane, Word<domain::TaskArea::Plane>{}, "On which plane the target holds.");
  v.with_default("height", t.height_m, metres(0, 60),
                 t.plane == domain::TaskArea::Plane::vertical ? kPractice : kKindTarget,
                 "Of the horizontal plane, or of the middle of the vertical one, above the floor.");
  v.optional("facing", t.facing_deg, degrees(-360, 360),
             "Vertical: direction that the surface faces, clockwise from plan north.");
  v.with_default("target", t.target_lx, lux(0.1, 20000), kKindTarget, "Maintained mean.");
  v.with_default("uniformity", t.uniformity, Fraction{}, kKindTarget, "Least ratio of minimum to mean.");
  v.optional("ugr_limit", t.ugr_limit, Unset{Number{5, 40}},
             "Horizontal: greatest unified glare rating for people at it; left out: not judged.");
  v.maybe("screen", t.screen, "Vertical: what it shows as a projection screen or display.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Occupancy> = "occupancy";
template <class V>
void describe(V& v, domain::Occupancy& o) {
  using Pattern = domain::Occupancy::Pattern;
  v.with_default("pattern", o.pattern, Word<Pattern>{}, kKindOccupancy, "How people use the space.");
  const bool desks = o.pattern == Pattern::desks;
  const bool bookings = o.pattern == Pattern::bookings;
  const bool timetable = o.pattern == Pattern::timetable;
  const bool sleeping = o.pattern == Pattern::sleeping;
  const bool visits_only =
      o.pattern == Pattern::shared || o.pattern == Pattern::circulation || o.pattern == Pattern::none;
  const bool visits = visits_only || timetable || sleeping;
  v.with_default(
      "people", o.people, Number{0, 10000}, kKindOccupancy,
      "desks: seats; sleeping: beds; shared: usual number present; bookings, timetable: usual number "
      "at a meeting or lesson.",
      !visits_only);
  v.with_default("calendar", o.calendar, Reference{Thing::calendar}, Basis{"the project's first calendar"},
                 "Hours within which the pattern runs.", !o.calendar.empty());
  v.with_default(
      "arrivals_per_h", o.arrivals_per_h, Number{0, 10000}, kKindOccupancy,
      "shared, circulation, none: arrivals an hour while the calendar is open; timetable, sleeping: "
      "of visitors beside.",
      visits);
  v.with_default("dwell", o.dwell_min, minutes(0, 1440), kKindOccupancy,
                 "Mean stay of a visitor; bookings: mean length.", visits || bookings);
  v.with_default("absence", o.absence_min, minutes(1, 480), kKindOccupancy,
                 "desks, sleeping: mean short absence.", desks || sleeping);
  v.with_default(
      "present_fraction", o.present_fraction, Fraction{}, kKindOccupancy,
      "desks: share of the time between breaks that a person is at the seat; sleeping: share of the "
      "day that a person is in the room.",
      desks || sleeping);
  v.with_default("bookings_per_day", o.bookings_per_day, Number{0, 100}, kKindOccupancy,
                 "bookings, timetable: mean number of meetings or lessons a day.", bookings || timetable);
  v.with_default("no_show_fraction", o.no_show_fraction, Fraction{}, kKindOccupancy,
                 "bookings, timetable: share to which nobody comes.", bookings || timetable);
  v.with_default("overrun_fraction", o.overrun_fraction, Fraction{}, kKindOccupancy,
                 "bookings: share that goes on past its end when the room stays free.", bookings);
  v.optional(
      "divided_fraction", o.divided_fraction, Fraction{},
      "bookings: share that needs one part of a room with a movable wall, which then stands; left out: "
      "that of the kind of space where there is such a wall.");
  v.with_default("first_lesson", o.first_lesson_s, Clock{}, kKindOccupancy,
                 "timetable: the first block begins, by the clock.", timetable);
  v.with_default("lesson", o.lesson_min, minutes(5, 480), kKindOccupancy, "timetable: length of a block.",
                 timetable);
  v.with_default("gap", o.gap_min, minutes(0, 240), kKindOccupancy,
                 "timetable: from the end of one block to the next.", timetable);
  v.with_default("asleep_from", o.asleep_from_s, Clock{}, kKindOccupancy,
                 "sleeping: people fall asleep about this time of the clock.", sleeping);
  v.with_default("asleep_until", o.asleep_until_s, Clock{}, kKindOccupancy,
                 "sleeping: people wake about this time of the clock.", sleeping);
  v.optional("source", o.source, Word<domain::Source>{}, "How this is known.");
}

template <>
inline constexpr std::string_view kTypeName<domain::PlugDevice> = "plug_device";
template <class V>
void describe(V& v, domain::PlugDevice& d) {
  v.required("kind", d.kind, Text{}, "What it is, in words: \"screen\", \"refrigerator\".");
  v.optional("count", d.count, Count{1, 10000}, "How many.");
  v.required("on", d.on_w, watts(0, 20000), "Mean draw of each while somebody is at it.");
  v.required("idle", d.idle_w, watts(0, 20000), "Draw of each while ready, with nobody at it.");
  v.required("standby", d.standby_w, watts(0, 20000), "Draw of each while asleep or switched off.");
  v.optional("at_seats", d.at_seats, Flag{},
             "desks, sleeping: each belongs to one seat or bed; left out: to everybody in the room.");
  v.with_default("sleeps_after", d.sleeps_after_s, seconds(0, 86400), kPractice,
                 "Of nobody at it, it goes from idle to standby.", d.idle_w != d.standby_w);
  v.with_default("left_on", d.left_on, Fraction{}, kPractice,
                 "Share of longer absences through which it stays idle.", d.idle_w != d.standby_w);
  v.optional("must_stay_on", d.must_stay_on, Word<domain::PlugDevice::MustStayOn>{},
             "What keeps it from losing its power.");
  v.optional("switched_by", d.switched_by, Word<domain::PlugDevice::SwitchedBy>{},
             "What takes its power in the proposal.");
  v.optional("switched_by_as_found", d.switched_by_as_found, Word<domain::PlugDevice::SwitchedBy>{},
             "What takes its power as found.");
  v.optional("switch_draw", d.switch_w, watts(0, 50), "Drawn always by what switches it, of each; proposal.");
}

template <>
inline constexpr std::string_view kTypeName<domain::PlugLoads> = "plug_loads";
template <class V>
void describe(V& v, domain::PlugLoads& p) {
  using OffWhen = domain::PlugLoads::OffWhen;
  v.list("devices", p.devices,
         "What is plugged in; left out, and nothing installed either: that of the kind of space.");
  v.optional("installed", p.installed_w, watts(0, 1e6),
             "All else that is plugged in, while somebody is there.");
  v.with_default("controlled_fraction", p.controlled_fraction, Fraction{}, kNothing,
                 "Share of it on controlled receptacles.", p.installed_w > 0.0);
  v.optional("receptacles", p.receptacles, Count{0, 10000}, "Number of socket outlets.");
  v.optional("controlled_receptacles", p.controlled_receptacles, Count{0, 10000},
             "Those that follow the room.");
  const bool any_controlled =
      std::any_of(p.devices.begin(), p.devices.end(), [](const domain::PlugDevice& d) {
        return d.switched_by != domain::PlugDevice::SwitchedBy::nothing ||
               d.switched_by_as_found != domain::PlugDevice::SwitchedBy::nothing;
      });
  const bool any = p.controlled_receptacles > 0 || p.controlled_fraction > 0.0 || any_controlled;
  v.optional("off_when", p.off_when, Word<OffWhen>{}, "What turns controlled receptacles off.");
  v.with_default("off_after", p.off_after_s, seconds(0, 43200), kReceptacles,
                 "From the last motion until controlled receptacles and plug-in outlets go off.", any);
  v.optional("calendar", p.calendar, Reference{Thing::calendar},
             "closed: outside whose hours they are off; left out: the occupancy's calendar.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Space> = "space";
template <class V>
void describe(V& v, domain::Space& s) {
  v.required("id", s.id, Id{Thing::space}, "Name within the project.");
  v.optional("typical", s.typical, Reference{Thing::typical}, "Id of the typical whose keys it inherits.");
  v.required("kind", s.kind, Reference{Thing::kind}, "Id of a kind of space (library/kinds_space.json).");
  v.kind_chosen(s);
  v.optional("number", s.number, Text{}, "Room number on the drawings.");
  v.optional("number_on_door", s.number_on_door, Text{}, "Room number on the door, where it differs.");
  v.optional("name", s.name, Text{}, "As printed.");
  v.required("storey", s.storey, Reference{Thing::storey}, "Id of a storey.");
  v.document_only("origin", Place2{}, "Where the typical's [0, 0] lies, when the floor is inherited too.");
  v.required("floor", s.floor, Vertices{}, "Outline of the floor, counter-clockwise, building axes.");
  v.with_default("height", s.height_m, metres(1.5, 60), kPractice,
                 "Finished floor to ceiling, where the ceiling is lowest.");
  v.optional("ceiling_slope", s.ceiling_slope_deg, degrees(0, 60),
             "Of the one plane of the ceiling against level; left out: level.");
  v.optional("ceiling_rises_towards", s.ceiling_rises_deg, degrees(-360, 360),
             "Direction in which a sloped ceiling rises, clockwise from plan north.");
  v.optional("ceiling_type", s.ceiling_type, Word<domain::CeilingType>{}, "What the ceiling is.");
  v.optional("ceiling_access", s.ceiling_access, Word<domain::CeilingAccess>{}, "How one gets above it.");
  v.optional("hazardous_material", s.hazardous_material, Flag{},
             "Found or suspected above the ceiling: nothing is opened there.");
  v.optional("neutral_in_boxes", s.neutral_in_boxes, Flag{},
             "Whether the boxes of its switches have a neutral conductor; left out: they have.");
  v.optional(
      "wall_build", s.wall_build, Word<domain::WallBuild>{},
      "Of the walls about it, to radio: light is plasterboard, timber or glass, heavy is thicker brick or "
      "concrete.");
  v.object("reflectances", s.reflectances, "Diffuse reflectances.");
  v.optional("reflectance_source", s.reflectance_source, Word<domain::Source>{}, "How they are known.");
  v.with_default("surface_depreciation", s.surface_depreciation, Fraction{0.3, 1.0}, kNoLoss,
                 "Share of the light that dirt on ceiling, walls and floor leaves.");
  v.list("openings", s.openings, "Windows, skylights, inner glazing.");
  v.list("doors", s.doors, "Doors.");
  v.list("partitions", s.partitions, "Screens and movable walls.");
  v.list("furniture", s.furniture, "Boxes that stand in the light.");
  v.list("egress_paths", s.egress_paths, "Ways out that must be lit.");
  v.list("task_areas", s.task_areas, "Where light is needed; left out: the whole floor.");
  v.object("occupancy", s.occupancy, "Who is here and when.");
  v.object("plug_loads", s.plug_loads, "What is plugged in.");
  v.optional("hvac_zone", s.hvac_zone, Reference{Thing::hvac_zone}, "Id of an HVAC zone.");
  v.optional("meter", s.meter, Reference{Thing::meter}, "Id of a meter.");
  v.with_default("automatic_off_refused", s.automatic_off_refused, Flag{}, kKindSafety,
                 "Where darkness is dangerous: rotating machinery, electrical gear.");
  v.optional("notes", s.notes, Text{}, "Printed, no effect on numbers.");
  v.space_done(s);
}

template <>
inline constexpr std::string_view kTypeName<domain::Typical> = "typical";
template <class V>
void describe(V& v, domain::Typical& t) {
  v.required("id", t.id, Id{Thing::typical}, "Name within the project.");
  v.optional("name", t.name, Text{}, "As printed.");
  v.template partial_space<domain::Space>(
      t, "space",
      "Keys that a space inherits unless it lists them itself; positions count "
      "from the lower-left corner of its floor box.");
}

// ---------------------------------------------------------------------------------------------------------
// Luminaires

template <>
inline constexpr std::string_view kTypeName<domain::Driver> = "driver";
template <class V>
void describe(V& v, domain::Driver& d) {
  v.required("id", d.id, Id{Thing::driver}, "Name within the project.");
  v.with_default("protocol", d.protocol, Word<domain::Protocol>{}, kPractice, "How it is commanded.");
  v.with_default("dims", d.dims, Flag{}, kPractice, "Whether it dims.");
  v.with_default("minimum_light", d.minimum_light, Fraction{}, kPractice, "Smallest share of light while on.",
                 d.dims);
  v.with_default("dims_to_off", d.dims_to_off, Flag{}, kPractice,
                 "Whether it goes out at the end of dimming.", d.dims);
  v.with_default("standby", d.standby_w, watts(0, 20), kPractice,
                 "Drawn while off but powered; 0 where a relay removes the mains.");
  v.with_default("power_at_zero", d.power_at_zero, Fraction{0.0, 0.9}, kPractice,
                 "a of P = P_rated (a + (1 - a) f) with f the share of light.", d.dims);
  v.optional("inrush", d.inrush_a, amperes(0, 1000), "Peak current at switch-on.");
  v.optional("power_factor", d.power_factor, Fraction{0.1, 1.0}, "At full output.");
  v.optional(
      "most_per_breaker", d.most_per_breaker, Unset{Count{1, 1000}},
      "On one breaker of its circuit's rating, by the maker's table for inrush; left out: not stated.");
  v.optional("control_current", d.control_ma, milliamperes(0, 100),
             "Drawn from its control bus, or sourced on its control pair.");
}

template <>
inline constexpr std::string_view kTypeName<domain::ElectricalRules> = "electrical_rules";
template <class V>
void describe(V& v, domain::ElectricalRules& r) {
  v.required("id", r.id, Id{Thing::electrical_rules}, "Name within the library.");
  v.required("name", r.name, Text{}, "As printed.");
  v.required("continuous_share", r.continuous_share, Fraction{0.1, 1.0},
             "Of a breaker's rating that a load of three hours and more may draw.");
  v.optional("codes", r.codes, Each{Text{}},
             "Energy codes beside which it is in force where a project names none.");
  v.required("source", r.source, Text{}, "Where it comes from.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Range> = "range";
template <class V>
void describe(V& v, domain::Range& r) {
  v.required("least", r.least, Number{0, 1e7}, "At the least.");
  v.required("most", r.most, Number{0, 1e7}, "At the most.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Price> = "price";
template <class V>
void describe(V& v, domain::Price& p) {
  v.object("material", p.material, "To buy one, in the currency of the estimate.");
  v.object("labour_hours", p.labour_h, "To install one, hours.");
  v.object("set_up_hours", p.set_up_h, "To address, aim, calibrate and test one, hours.");
}

template <>
inline constexpr std::string_view kTypeName<domain::PhotometryReference> = "photometry";
template <class V>
void describe(V& v, domain::PhotometryReference& p) {
  v.optional("file", p.file, Text{}, "Relative path of a photometric file.");
  v.optional("file_hash", p.file_hash, Text{},
             "Hash of the file when it was referenced, 32 hexadecimal digits.");
  v.optional("formula", p.formula, Text{},
             "Name of a formula (docs/methods/photometry.md), where there is no file.");
  v.optional("parameters", p.parameters, NumberTable{}, "Parameters of the formula.");
  v.optional("lamp_set", p.lamp_set, Unset{Count{1, 20}},
             "EULUMDAT: which set of lamps is installed, from 1; left out: the first.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Channel> = "channel";
template <class V>
void describe(V& v, domain::Channel& c) {
  v.required("id", c.id, Id{Thing::channel},
             "\"all\", \"down\", \"up\", \"warm\", \"cool\": name within the type.");
  v.required("driver", c.driver, Reference{Thing::driver},
             "Id of a driver of the project or of the library.");
  v.optional("input", c.input_w, watts(0, 5000), "At full output; left out: as the photometric file says.");
  v.optional("lumens", c.lumens, lumens(0, 500000),
             "Out of the luminaire at full output, new; left out: as the photometric file says.");
  v.optional("cct", c.cct_k, kelvins(1000, 20000), "Correlated colour temperature; printed.");
  v.with_default("spectrum", c.spectrum, Word<domain::SourceSpectrum>{}, kPractice,
                 "What its light is made of, for photosensors without photopic correction.");
  v.object("photometry", c.photometry, "How the light is distributed.");
}

template <>
inline constexpr std::string_view kTypeName<domain::LuminaireType> = "luminaire_type";
template <class V>
void describe(V& v, domain::LuminaireType& t) {
  v.required("id", t.id, Id{Thing::luminaire_type}, "Name within the project.");
  v.optional("tag", t.tag, Text{}, "Type mark on drawings.");
  v.optional("name", t.name, Text{}, "Generic description.");
  v.optional("mounting", t.mounting, Word<domain::LuminaireType::Mounting>{}, "How it is mounted.");
  v.optional("shape", t.shape, Word<domain::LuminaireType::Shape>{}, "Of the luminous opening.");
  v.with_default("length", t.length_m, metres(0.01, 20), kPractice,
                 "Of the luminous opening; circle: its diameter.");
  v.with_default("width", t.width_m, metres(0.01, 20), kPractice,
                 "Of the luminous opening; circle: its diameter.");
  v.optional("height", t.height_m, metres(0, 5), "Of the body.");
  v.list("channels", t.channels, "What can be commanded apart.");
  v.with_default("lumen_depreciation", t.lumen_depreciation, Fraction{0.3, 1.0}, kPractice,
                 "Share of the light that is left with age.");
  v.with_default("lamp_survival", t.lamp_survival, Fraction{0.3, 1.0}, kNoLoss,
                 "Share of the sources that still burn; 1 where a failed one is replaced at once.");
  v.with_default("dirt_depreciation", t.dirt_depreciation, Fraction{0.3, 1.0}, kPractice,
                 "Share of the light that dirt leaves.");
  v.optional("watts_per_luminaire_extra", t.watts_per_luminaire_extra_w, watts(0, 100),
             "Controls built into the luminaire; drawn always.");
  v.maybe("price", t.price, "What one costs, installed with its drivers.");
  v.with_default("watts_source", t.watts_source, Word<domain::Source>{}, kPractice,
                 "How the watts are known.");
  v.optional("make_and_catalogue_number", t.make_and_catalogue_number, Text{},
             "Free text, \"or equal\"; printed, no effect on numbers.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Emergency> = "emergency";
template <class V>
void describe(V& v, domain::Emergency& e) {
  v.optional("type", e.type, Word<domain::EmergencyType>{}, "Where its emergency power comes from.");
  v.optional("lights_egress", e.lights_egress, Flag{}, "Counted in the checks of egress paths.");
  v.with_default("output_fraction", e.output_fraction, Fraction{}, kPractice,
                 "Of full output on emergency power.", e.type != domain::EmergencyType::none);
  v.optional("senses_circuit", e.senses_circuit, Reference{Thing::circuit},
             "Normal-power circuit whose loss it answers.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Luminaire> = "luminaire";
template <class V>
void describe(V& v, domain::Luminaire& l) {
  v.required("id", l.id, Id{Thing::luminaire}, "Name within the design.");
  v.required("type", l.type, Reference{Thing::luminaire_type},
             "Id of a type of the project or of the library.");
  v.owner(l.space);
  v.required("at", l.at, Place3{}, "Centre of the luminous opening; z above the storey's floor.");
  v.optional("rotation", l.rotation_deg, degrees(-360, 360),
             "Of its length axis, counter-clockwise from +x.");
  v.optional("tilt", l.tilt_deg, degrees(-180, 180), "Of its aim from straight down, about its length axis.");
  v.optional("circuit", l.circuit, Reference{Thing::circuit}, "Id of a circuit.");
  v.object("emergency", l.emergency, "Its part in emergency lighting.");
  v.optional("status", l.status, Word<domain::Status>{}, "What the proposal does with it.");
  v.optional("tag", l.tag, Text{}, "Design tag.");
  v.optional("address", l.address, Text{}, "Network address.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Circuit> = "circuit";
template <class V>
void describe(V& v, domain::Circuit& c) {
  v.required("id", c.id, Id{Thing::circuit}, "Name within the design.");
  v.optional("panel", c.panel, Text{}, "Panel board.");
  v.optional("breaker", c.breaker, Text{}, "Number of the breaker.");
  v.with_default("breaker_rating", c.breaker_a, amperes(1, 1000), kPractice, "Rating of the breaker.");
  v.with_default("voltage", c.voltage_v, volts(12, 1000), kPractice, "Nominal.");
  v.optional("switch_leg", c.switch_leg, Text{}, "Name of the switched conductor.");
  v.optional("supply", c.supply, Word<domain::Circuit::Supply>{}, "Normal or emergency source.");
}

// ---------------------------------------------------------------------------------------------------------
// Control

template <>
inline constexpr std::string_view kTypeName<domain::Group> = "group";
template <class V>
void describe(V& v, domain::Group& g) {
  v.required("id", g.id, Id{Thing::group}, "Name within the design.");
  v.owner(g.space);
  v.required("strategy", g.strategy, Word<domain::Strategy>{}, "What its channels act together for.");
  v.optional("name", g.name, Text{}, "Letter on the plan's margin, or a word.");
  v.required("channels", g.channels, Each{Reference{Thing::luminaire, {}, true}},
             "Ids of luminaires, or \"luminaire/channel\" for one channel.");
}

template <>
inline constexpr std::string_view kTypeName<domain::AdjustableSetting> = "adjustable_setting";
template <class V>
void describe(V& v, domain::AdjustableSetting& a) {
  v.required("setting", a.setting, Text{}, "What may be changed.");
  v.required("by", a.by, Text{}, "By whom: a role.");
  v.required("range", a.range, Text{}, "In what range.");
}

/// What all devices have in common.
template <class V>
void describe_device(V& v, domain::Device& d, Thing thing) {
  v.required("id", d.id, Id{thing}, "Name within the design.");
  v.owner(d.space);
  v.required("at", d.at, Place3{}, "Position; z above the storey's floor.");
  v.optional("status", d.status, Word<domain::Status>{}, "What the proposal does with it.");
  v.optional("link", d.link, Word<domain::Link>{}, "How it talks to the others.");
  v.optional("tag", d.tag, Text{}, "Design tag.");
  v.optional("address", d.address, Text{}, "Network address.");
  v.optional("make_and_catalogue_number", d.make_and_catalogue_number, Text{},
             "Free text, \"or equal\"; printed, no effect on numbers.");
  v.optional("device_kind", d.device_kind, Reference{Thing::device_kind},
             "Id of a kind of device, from which an estimate takes its price.");
  v.with_default("standby", d.standby_w, watts(0, 500), kNothing, "Drawn always.");
  v.list("adjustable", d.adjustable, "Settings that may be changed later, by whom and in what range.");
}

template <>
inline constexpr std::string_view kTypeName<domain::OccupancySensor> = "occupancy_sensor";
template <class V>
void describe(V& v, domain::OccupancySensor& s) {
  using Coverage = domain::OccupancySensor::Coverage;
  describe_device(v, s, Thing::occupancy_sensor);
  v.with_default("technology", s.technology, Word<domain::OccupancySensor::Technology>{}, kPractice,
                 "What it senses with.");
  v.with_default("coverage", s.coverage, Word<Coverage>{}, kPractice, "Shape of what it sees in plan.");
  v.with_default("major_radius", s.major_radius_m, metres(0.3, 60), kPractice, "Reach for walking.");
  v.with_default("minor_radius", s.minor_radius_m, metres(0.1, 60), kPractice,
                 "Reach for small movements of a seated person.");
  v.optional(
      "rated_height", s.rated_height_m, Unset{metres(1.5, 30)},
      "Height above the floor for which the reaches are stated; left out: the height at which it hangs.");
  v.optional("aim", s.aim_deg, degrees(-360, 360),
             "half_circle, sector, strip: direction, clockwise from plan north.");
  v.with_default("sector", s.sector_deg, degrees(1, 360), kPractice, "sector: opening angle.",
                 s.coverage == Coverage::sector);
  v.with_default("strip_width", s.strip_width_m, metres(0.2, 30), kPractice, "strip: width.",
                 s.coverage == Coverage::strip);
  v.required("groups", s.groups, Each{Reference{Thing::group}}, "Occupancy groups that it reports to.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Photosensor> = "photosensor";
template <class V>
void describe(V& v, domain::Photosensor& s) {
  using Response = domain::Photosensor::Response;
  describe_device(v, s, Thing::photosensor);
  v.with_default("loop", s.loop, Word<domain::Photosensor::Loop>{}, kPractice,
                 "closed: sees the light that it controls; open: daylight alone.");
  v.with_default("response", s.response, Word<Response>{}, kPractice, "Directional weighting.");
  v.with_default("cutoff", s.cutoff_deg, degrees(5, 90), kPractice,
                 "shielded: half-angle of the view; narrowed: half-value angle.",
                 s.response != Response::cosine);
  v.optional("aim_tilt", s.aim_tilt_deg, degrees(0, 180), "Of its aim from straight down.");
  v.optional("aim", s.aim_deg, degrees(-360, 360), "Direction of the tilt, clockwise from plan north.");
  v.with_default("range", s.range_lx, lux(10, 200000), kPractice, "Full scale of its 12-bit converter.");
  v.optional("daylight_factor", s.daylight_factor, Unset{Number{0.05, 20}},
             "lx read per lx of daylight, as measured by the maker; left out: by its spectral response.");
  v.optional("electric_factor", s.electric_factor, Unset{Number{0.05, 20}},
             "lx read per lx of lamp light, as measured by the maker; left out: by its spectral response.");
  v.with_default("spectral_response", s.spectral_response, Word<domain::Photosensor::SpectralResponse>{},
                 kPractice, "photopic: corrected to see as the eye does; silicon: a bare photodiode.",
                 !s.daylight_factor || !s.electric_factor);
  v.required("groups", s.groups, Each{Reference{Thing::group}}, "Daylight groups that it governs.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Station> = "station";
template <class V>
void describe(V& v, domain::Station& s) {
  describe_device(v, s, Thing::station);
  v.optional("kind", s.kind, Word<domain::Station::Kind>{}, "What it is.");
  v.required("buttons", s.buttons, Each{Reference{Thing::scene, {"on", "off", "raise", "lower"}}},
             "Ids of scenes, or \"on\", \"off\", \"raise\", \"lower\"; the last two let people dim.");
  v.optional(
      "switch_legs", s.switch_legs, Each{Reference{Thing::group}},
      "Scene groups that it turns on and off one by one: where nothing dims, people choose among them. "
      "At most 4.");
  v.optional("public_access", s.public_access, Flag{}, "false: behind a staff key or lock-out.");
}

template <>
inline constexpr std::string_view kTypeName<domain::LoadController> = "load_controller";
template <class V>
void describe(V& v, domain::LoadController& c) {
  describe_device(v, c, Thing::load_controller);
  v.with_default("action", c.action, Word<domain::LoadController::Action>{}, kPractice,
                 "What it does to the load.");
  v.optional("mounting", c.mounting, Word<domain::LoadController::Mounting>{}, "Where it lives.");
  v.with_default("limit", c.limit_a, amperes(0.1, 1000), kPractice, "Load current at most.");
  v.with_default("bus_limit", c.bus_limit_ma, milliamperes(1, 10000), kPractice,
                 "Control bus current at most.", c.action == domain::LoadController::Action::digital_bus);
  v.optional("circuits", c.circuits, Each{Reference{Thing::circuit}}, "Circuits that it switches.");
  v.optional("groups", c.groups, Each{Reference{Thing::group}}, "Groups that it drives.");
  v.optional("luminaires", c.luminaires, Each{Reference{Thing::luminaire}},
             "Luminaires that it drives beside them; plug_in: what plugs into it.");
  v.optional(
      "sensor_delay", c.sensor_delay_s, Unset{seconds(10, 7200)},
      "plug_in: off so long after its own sensor saw somebody at the seat; left out: it has no sensor.");
}

template <>
inline constexpr std::string_view kTypeName<domain::OccupancySensing> = "occupancy_sensing";
template <class V>
void describe(V& v, domain::OccupancySensing& s) {
  using Coverage = domain::OccupancySensor::Coverage;
  v.required("technology", s.technology, Word<domain::OccupancySensor::Technology>{}, "What it senses with.");
  v.required("coverage", s.coverage, Word<Coverage>{}, "Shape of what it sees in plan.");
  v.required("major_radius", s.major_radius_m, metres(0.3, 60), "Reach for walking.");
  v.required("minor_radius", s.minor_radius_m, metres(0.1, 60), "Reach for small movements.");
  v.optional("rated_height", s.rated_height_m, Unset{metres(1.5, 30)},
             "Height above the floor for which the reaches are stated; left out: wherever it hangs.");
  v.optional("sector", s.sector_deg, degrees(1, 360), "sector: opening angle.");
  v.optional("strip_width", s.strip_width_m, metres(0.2, 30), "strip: width.");
}

template <>
inline constexpr std::string_view kTypeName<domain::LightSensing> = "light_sensing";
template <class V>
void describe(V& v, domain::LightSensing& s) {
  v.required("loop", s.loop, Word<domain::Photosensor::Loop>{},
             "closed: sees the light that it controls; open: daylight alone.");
  v.required("response", s.response, Word<domain::Photosensor::Response>{}, "Directional weighting.");
  v.optional("cutoff", s.cutoff_deg, degrees(5, 90),
             "shielded: half-angle of the view; narrowed: half-value angle.");
  v.optional("range", s.range_lx, lux(10, 200000), "Full scale of its 12-bit converter.");
  v.optional("spectral_response", s.spectral_response, Word<domain::Photosensor::SpectralResponse>{},
             "photopic: corrected to see as the eye does; silicon: a bare photodiode.");
}

template <>
inline constexpr std::string_view kTypeName<domain::LoadControl> = "load_control";
template <class V>
void describe(V& v, domain::LoadControl& c) {
  using Action = domain::LoadController::Action;
  v.required("action", c.action, Word<Action>{}, "What it does to the load.");
  v.optional("outputs", c.outputs, Count{1, 64}, "Each carries one group.");
  v.optional("several_rooms", c.several_rooms, Flag{},
             "One serves rooms of its storey; left out: those of one room.");
  v.required("limit", c.limit_a, amperes(0.1, 1000), "Of an output, for electronic drivers.");
  v.optional("inrush_limit", c.inrush_limit_a, Unset{amperes(1, 10000)},
             "Peak that an output's contact bears; left out: not stated.");
  v.optional("most_drivers", c.most_drivers, Unset{Count{1, 1000}},
             "Drivers on an output, whatever they draw; left out: no limit.");
  v.optional("bus_limit", c.bus_limit_ma, milliamperes(1, 10000),
             "digital_bus: current that its supply gives.");
  v.optional("addresses", c.addresses, Count{1, 10000}, "digital_bus: control gear on it.");
  v.optional("sink_limit", c.sink_limit_ma, milliamperes(1, 10000),
             "analogue_0_10v: current that its control pair sinks.");
}

template <>
inline constexpr std::string_view kTypeName<domain::DeviceKind> = "device_kind";
template <class V>
void describe(V& v, domain::DeviceKind& k) {
  v.required("id", k.id, Id{Thing::device_kind}, "Name within the library or the project.");
  v.required("name", k.name, Text{}, "As printed.");
  v.required("mounting", k.mounting, Word<domain::DeviceKind::Mounting>{}, "Where it lives.");
  v.optional("link", k.link, Word<domain::Link>{}, "How it talks to the others.");
  v.optional("standby", k.standby_w, watts(0, 500), "Drawn always, from the mains.");
  v.optional("bus_current", k.bus_ma, milliamperes(0, 10000), "Drawn from a wired control bus.");
  v.optional("battery_years", k.battery_years, Unset{Number{0.1, 50}}, "Of a device without mains.");
  v.optional("needs_neutral", k.needs_neutral, Flag{}, "In its box.");
  v.object("price", k.price, "What one costs to buy, to install and to set to work.");
  v.maybe("occupancy", k.occupancy, "What it makes of people.");
  v.maybe("light", k.light, "What it makes of light.");
  v.maybe("load", k.load, "What it does to its loads.");
  v.optional("buttons", k.buttons, Count{0, 16}, "Of a station.");
  v.optional("infrastructure", k.infrastructure, Unset{Word<domain::Infrastructure::Kind>{}},
             "Of a bus supply, a gateway, a repeater.");
  v.optional("switches_plugs", k.switches_plugs, Unset{Word<domain::PlugDevice::SwitchedBy>{}},
             "Of a socket outlet: how it takes the power of what is plugged in.");
  v.required("source", k.source, Text{}, "Where limits and prices come from.");
  v.optional("make_and_catalogue_number", k.make_and_catalogue_number, Text{},
             "Free text, \"or equal\"; printed, no effect on numbers.");
}

template <>
inline constexpr std::string_view kTypeName<domain::TimeClock> = "time_clock";
template <class V>
void describe(V& v, domain::TimeClock& c) {
  describe_device(v, c, Thing::time_clock);
  v.optional("astronomical", c.astronomical, Flag{}, "Knows sunrise and sunset.");
  v.with_default("backup", c.backup_h, hours(0, 100000), kPractice, "Keeps time without power for so long.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Interface> = "interface";
template <class V>
void describe(V& v, domain::Interface& i) {
  describe_device(v, i, Thing::interface);
  v.required("kind", i.kind, Word<domain::Interface::Kind>{}, "To or from which system.");
  v.optional("direction", i.direction, Word<domain::Interface::Direction>{},
             "in: lighting listens; out: it tells.");
  v.optional("signal", i.signal, Text{}, "What is carried, in words.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Infrastructure> = "infrastructure";
template <class V>
void describe(V& v, domain::Infrastructure& i) {
  describe_device(v, i, Thing::infrastructure);
  v.required("kind", i.kind, Word<domain::Infrastructure::Kind>{}, "What it is.");
}

template <>
inline constexpr std::string_view kTypeName<domain::SceneLevel> = "scene_level";
template <class V>
void describe(V& v, domain::SceneLevel& l) {
  v.required("group", l.group, Reference{Thing::group}, "Id of a scene group.");
  v.required("level", l.level, Fraction{}, "Share of trimmed full light output.");
}

template <>
inline constexpr std::string_view kTypeName<domain::SceneTarget> = "scene_target";
template <class V>
void describe(V& v, domain::SceneTarget& t) {
  v.required("task_area", t.task_area, Reference{Thing::task_area},
             "Id of a task area of the scene's space.");
  v.optional("least", t.least_lx, Unset{lux(0.1, 20000)}, "Maintained mean at least.");
  v.optional("most", t.most_lx, Unset{lux(0.1, 20000)}, "Maintained mean at most.");
  v.optional("uniformity", t.uniformity, Unset{Fraction{}}, "Least minimum over mean.");
  v.optional("contrast", t.contrast, Unset{Number{1, 100000}},
             "Of the task area's screen: white over black at least.");
}

/// What a scene does beside setting levels, of a scene and of one that is usual for a kind of space.
template <class V, class S>
void describe_behaviour(V& v, S& s) {
  v.optional("fade", s.fade_s, seconds(0, 3600), "Time from the old levels to these.");
  v.optional("shades", s.shades, Word<domain::Scene::Shades>{},
             "What shades do while it stands; afterwards they hang as people left them.");
  v.optional("follows_daylight", s.follows_daylight, Flag{},
             "Whether daylight rules lower its levels while it stands.");
  v.optional("in_demand_response", s.in_demand_response, Flag{},
             "Whether the cap of the sequence's demand response holds while it stands.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Scene> = "scene";
template <class V>
void describe(V& v, domain::Scene& s) {
  v.required("id", s.id, Id{Thing::scene}, "Name within the design.");
  v.owner(s.space);
  v.optional("name", s.name, Text{}, "On the button.");
  v.list("levels", s.levels, "Level of each scene group; a group not named keeps what stands.");
  v.list(
      "targets", s.targets,
      "What it is to give on task areas with trimmed light: at least without daylight, at most beside the "
      "daylight of its hours. The study judges its levels by them, and levels that hold them are proposed.");
  describe_behaviour(v, s);
  v.optional(
      "called_by", s.called_by, Reference{Thing::interface},
      "Id of the audio-visual interface whose contact calls it, beside stations and calendar. How often "
      "it stands is its use_fraction, whoever calls it.");
  v.optional(
      "use_fraction", s.use_fraction, Unset{Fraction{}},
      "Share of the occupied time that the scene is in use; the rest belongs to the sequence's scene. Of a "
      "scene with a calendar or a state of a partition, share of its own time. Left out: all of the "
      "calendar's hours, or none without a calendar.");
  v.optional("partition_state", s.partition_state, Text{},
             "State of the movable partition that it belongs to.");
  v.optional("calendar", s.calendar, Reference{Thing::calendar},
             "Id of the calendar in whose open hours alone it is in use; left out: at all times.");
}

template <>
inline constexpr std::string_view kTypeName<domain::OnRule> = "on_rule";
template <class V>
void describe(V& v, domain::OnRule& r) {
  using By = domain::OnRule::By;
  v.with_default("by", r.by, Word<By>{}, kPractice, "What brings the light on.");
  v.with_default("level", r.level, Fraction{}, kPractice, "occupancy: how far; below 1 the rest is by hand.",
                 r.by == By::occupancy);
  v.optional("fade", r.fade_s, seconds(0, 3600), "Time to come on.");
}

template <>
inline constexpr std::string_view kTypeName<domain::VacancyRule> = "vacancy_rule";
template <class V>
void describe(V& v, domain::VacancyRule& r) {
  v.with_default("delay", r.delay_s, seconds(10, 7200), kPractice, "From the last motion.");
  v.optional("step_level", r.step_level, Fraction{}, "Level after the delay; 0: off at once.");
  v.optional("off_after", r.off_after_s, seconds(0, 86400),
             "Further time at step_level before off; left out: stays at the step.");
  v.with_default("warning", r.warning_s, seconds(0, 600), kPractice, "How long the dip stands before off.");
  v.with_default("warning_level", r.warning_level, Fraction{}, kPractice,
                 "Dip before off, as a share of the present level; never flashing.", r.warning_s > 0.0);
  v.optional("groups", r.groups, Each{Reference{Thing::group}},
             "Occupancy groups; left out: all of the space.");
  v.optional("held_by", r.held_by, Each{Reference{Thing::space}},
             "Spaces whose people count here as well, as rooms along a corridor; left out: none.");
  v.optional("brief_visit", r.brief_visit_s, seconds(0, 3600),
             "A visit shorter than this is brief; left out: none is.");
  v.with_default("brief_delay", r.brief_delay_s, seconds(10, 7200), kPractice,
                 "The delay after a brief visit.", r.brief_visit_s > 0.0);
}

template <>
inline constexpr std::string_view kTypeName<domain::ScheduleRule> = "schedule_rule";
template <class V>
void describe(V& v, domain::ScheduleRule& r) {
  v.required("calendar", r.calendar, Reference{Thing::calendar}, "Open hours.");
  v.optional("before_open", r.before_open_s, seconds(0, 43200), "Comes on so long before opening.");
  v.optional("after_close", r.after_close_s, seconds(0, 43200), "Sweeps so long after closing.");
  v.optional("sweeps_off", r.sweeps_off, Flag{}, "Everything off outside the hours, save by override.");
  v.with_default("override", r.override_s, seconds(0, 43200), kPractice, "After-hours use by hand, at most.",
                 r.sweeps_off);
  v.optional("groups", r.groups, Each{Reference{Thing::group}},
             "Schedule groups that the sweep turns off; left out: all of the space.");
}

template <>
inline constexpr std::string_view kTypeName<domain::TrimRule> = "trim_rule";
template <class V>
void describe(V& v, domain::TrimRule& r) {
  v.optional(
      "high", r.high, Unset{Fraction{0.05, 1.0}},
      "High-end trim, share of full output; left out: so that the task areas just hold their targets.");
  v.optional("low", r.low, Fraction{}, "Low-end trim.");
}

template <>
inline constexpr std::string_view kTypeName<domain::DaySetting> = "day_setting";
template <class V>
void describe(V& v, domain::DaySetting& d) {
  v.required("on", d.on, Date{}, "Day.");
  v.required("at", d.at_s, Clock{}, "Clock on the wall.");
}

template <>
inline constexpr std::string_view kTypeName<domain::DaylightRule> = "daylight_rule";
template <class V>
void describe(V& v, domain::DaylightRule& r) {
  v.required("group", r.group, Reference{Thing::group}, "Id of a daylight group.");
  v.required("photosensor", r.photosensor, Reference{Thing::photosensor},
             "Id of the photosensor that governs it.");
  v.optional("open_photosensor", r.open_photosensor, Reference{Thing::photosensor},
             "dual_loop: id of the photosensor that sees daylight alone and says whether it has changed.");
  v.required("task_area", r.task_area, Reference{Thing::task_area}, "Where the target is held.");
  v.with_default("method", r.method, Word<domain::DaylightRule::Method>{}, kPractice, "Control law.");
  v.with_default("minimum_level", r.minimum_level, Fraction{}, kPractice,
                 "Lowest level while on; 1: the loop only switches.");
  v.optional("may_switch_off", r.may_switch_off, Flag{}, "Off when daylight alone holds the target.");
  v.maybe("calibrated_at", r.calibrated_at,
          "When it was set by day; left out: as if set at the calibration percentile.");
  v.with_default("calibration_percentile", r.calibration_percentile, Number{50, 100}, kPractice,
                 "Of the signal-to-task ratio over the occupied daylit year.", !r.calibrated_at);
  v.optional("deadband", r.deadband, Fraction{0.0, 0.5},
             "The level stays while the loop asks for one no further off, as a share of the set-point.");
  v.optional("fade_per_tenth", r.fade_s_per_tenth, seconds(0, 600), "Time for a tenth of full output.");
}

template <>
inline constexpr std::string_view kTypeName<domain::ManualRule> = "manual_rule";
template <class V>
void describe(V& v, domain::ManualRule& r) {
  using HoldsUntil = domain::ManualRule::HoldsUntil;
  v.required("stations", r.stations, Each{Reference{Thing::station}}, "Ids of stations.");
  v.with_default("holds_until", r.holds_until, Word<HoldsUntil>{}, kPractice,
                 "What ends a setting made by hand.");
  v.with_default("time_limit", r.time_limit_s, seconds(60, 86400), kPractice,
                 "time_limit: how long it holds.", r.holds_until == HoldsUntil::time_limit);
}

template <>
inline constexpr std::string_view kTypeName<domain::DemandResponseRule> = "demand_response_rule";
template <class V>
void describe(V& v, domain::DemandResponseRule& r) {
  v.required("cap", r.cap, Fraction{}, "Share of trimmed output during an event, at most.");
}

template <>
inline constexpr std::string_view kTypeName<domain::LoadShedRule> = "load_shed_rule";
template <class V>
void describe(V& v, domain::LoadShedRule& r) {
  v.required("interface", r.interface, Reference{Thing::interface},
             "Id of the interface that brings the signal in.");
  v.required("level", r.level, Fraction{},
             "Share of trimmed output, at most, at once and until the signal clears; 0: off.");
  v.optional("groups", r.groups, Each{Reference{Thing::group}},
             "Groups for scenes or demand response that it takes down; left out: all of the space.");
}

template <>
inline constexpr std::string_view kTypeName<domain::GroupLoss> = "group_loss";
template <class V>
void describe(V& v, domain::GroupLoss& g) {
  v.required("group", g.group, Reference{Thing::group}, "Scene group.");
  v.optional("sensor_lost", g.sensor_lost, Unset{Fraction{}},
             "Its level when a sensor is lost; left out: as the space.");
  v.optional("controller_lost", g.controller_lost, Unset{Fraction{}},
             "Its level when a controller is lost; left out: as the space.");
  v.optional("network_lost", g.network_lost, Unset{Fraction{}},
             "Its level when the network is lost; left out: as the space.");
  v.optional("clock_lost", g.clock_lost, Unset{Fraction{}},
             "Its level when the clock is lost; left out: as the space.");
  v.optional("power_return", g.power_return, Unset{Fraction{}},
             "Its level when power returns; left out: as the space.");
}

template <>
inline constexpr std::string_view kTypeName<domain::LossRule> = "loss_rule";
template <class V>
void describe(V& v, domain::LossRule& r) {
  v.optional("sensor_lost", r.sensor_lost, Fraction{}, "Level when a sensor is lost.");
  v.optional("controller_lost", r.controller_lost, Fraction{}, "Level when a controller is lost.");
  v.optional("network_lost", r.network_lost, Fraction{}, "Level when the network is lost.");
  v.optional("clock_lost", r.clock_lost, Fraction{}, "Level when the clock is lost.");
  v.optional("power_return", r.power_return, Fraction{}, "Level when power returns.");
  v.optional("power_return_hold", r.power_return_hold_s, seconds(0, 86400), "How long that level stands.");
  v.list("groups", r.groups, "Scene groups whose levels differ.");
}

template <>
inline constexpr std::string_view kTypeName<domain::Sequence> = "sequence";
template <class V>
void describe(V& v, domain::Sequence& s) {
  v.owner(s.space);
  v.optional("normal_scene", s.normal_scene, Reference{Thing::scene},
             "Scene that stands when nothing else does; left out: everything at 1.");
  v.object("on", s.on, "What brings the light on.");
  v.maybe("vacancy", s.vacancy, "What an empty room does; left out: nothing.");
  v.maybe("schedule", s.schedule, "What the clock does; left out: nothing.");
  v.maybe("trim", s.trim, "Limits of output; left out: none.");
  v.list("daylight", s.daylight, "Daylight-responsive control, one rule a group.");
  v.maybe("manual", s.manual, "What people can set by hand; left out: nothing.");
  v.maybe("demand_response", s.demand_response, "What an event does; left out: nothing.");
  v.maybe("load_shed", s.load_shed,
          "What a signal does that asks for power at once (generator, emergency of the supply); left out: "
          "nothing.");
  v.object("loss", s.loss, "Levels when something fails or returns.");
  v.with_default("hours_source", s.hours_source, Word<domain::Source>{}, kPractice,
                 "How the hours of use by hand are known.", s.on.by == domain::OnRule::By::hand);
}

template <>
inline constexpr std::string_view kTypeName<domain::HvacHandOff> = "hvac_hand_off";
template <class V>
void describe(V& v, domain::HvacHandOff& h) {
  v.owner(h.space);
  v.required("interface", h.interface, Reference{Thing::interface},
             "Id of the interface that carries the signal.");
  v.with_default("delay", h.delay_s, seconds(0, 7200), kPractice, "From the last motion.");
  v.optional("occupied_after", h.occupied_after_s, seconds(0, 3600),
             "It says occupied only once motion has gone on so long.");
}

/// What a design says of each space that inherits from a typical: ids are local, positions count from the
/// lower-left corner of the space's floor box.
struct TypicalBlock {
  std::string typical;
  std::vector<domain::Luminaire> luminaires;
  std::vector<domain::Group> groups;
  std::vector<domain::Scene> scenes;
  std::vector<domain::Sequence> sequences;
  std::vector<domain::OccupancySensor> occupancy_sensors;
  std::vector<domain::Photosensor> photosensors;
  std::vector<domain::Station> stations;
  std::vector<domain::LoadController> load_controllers;
  std::vector<domain::TimeClock> time_clocks;
  std::vector<domain::Interface> interfaces;
  std::vector<domain::Infrastructure> infrastructure;
  std::vector<domain::HvacHandOff> hvac_hand_offs;
};

/// The lists that a design and its typical blocks share.
template <class V, class DesignOrBlock>
void describe_controls(V& v, DesignOrBlock& d) {
  v.list("luminaires", d.luminaires, "Placed luminaires.");
  v.list("groups", d.groups, "Channels that act together, one grouping for each strategy.");
  v.list("scenes", d.scenes, "Stored sets of levels.");
  v.list("sequences", d.sequences, "How each space behaves.");
  v.list("occupancy_sensors", d.occupancy_sensors, "Occupancy sensors.");
  v.list("photosensors", d.photosensors, "Photosensors.");
  v.list("stations", d.stations, "Manual controls.");
  v.list("load_controllers", d.load_controllers, "What switches and dims the loads.");
  v.list("time_clocks", d.time_clocks, "Clocks.");
  v.list("interfaces", d.interfaces, "Signals to and from other systems.");
  v.list("infrastructure", d.infrastructure,
         "Bus supplies, gateways, repeaters, emergency transfer devices.");
  v.list("hvac_hand_offs", d.hvac_hand_offs, "What HVAC is told when a space empties.");
}

template <>
inline constexpr std::string_view kTypeName<TypicalBlock> = "typical_block";
template <class V>
void describe(V& v, TypicalBlock& b) {
  v.required("typical", b.typical, Reference{Thing::typical}, "Id of the typical.");
  describe_controls(v, b);
}

template <>
inline constexpr std::string_view kTypeName<domain::Design> = "design";
template <class V>
void describe(V& v, domain::Design& d) {
  v.required("id", d.id, Id{Thing::design}, "Name within the project.");
  v.optional("name", d.name, Text{}, "As printed.");
  v.required("role", d.role, Word<domain::Design::Role>{}, "The lighting as found, or a proposal.");
  v.list("circuits", d.circuits, "Circuits.");
  describe_controls(v, d);
  v.template typical_blocks<TypicalBlock>(
      "typicals",
      "What each space that inherits from a typical gets, unless the design "
      "itself lists an object with the id \"space.local id\".");
}

// ---------------------------------------------------------------------------------------------------------
// The whole document

template <>
inline constexpr std::string_view kTypeName<domain::Project> = "project";
template <class V>
void describe(V& v, domain::Project& p) {
  v.required("id", p.id, Id{Thing::project}, "Short name of the project.");
  v.optional("name", p.name, Text{}, "As printed.");
  v.optional("client", p.client, Text{}, "As printed.");
  v.optional("author", p.author, Text{}, "As printed.");
  v.object("site", p.site, "Where the building stands.");
  v.object("type", p.type, "New building, addition or alteration.");
  v.object("requirements", p.requirements, "The owner's project requirements.");
  v.maybe("radio", p.radio, "What devices whose link is radio talk by; left out: no radio has been chosen.");
  v.list("codes", p.codes, "Codes and editions that the project is checked against.");
  v.list("storeys", p.storeys, "Storeys.");
  v.list("obstructions", p.obstructions, "Buildings, walls and hills outside that hide sky and sun.");
  v.list("glazings", p.glazings, "Glazing build-ups, shared by openings.");
  v.list("shades", p.shades, "Shade cloths, slatted blinds and switched glass of openings.");
  v.list("calendars", p.calendars, "Opening hours.");
  v.object("demand_events", p.demand_events, "When demand response is called.");
  v.list("hvac_zones", p.hvac_zones, "HVAC zones.");
  v.list("meters", p.meters, "Meters.");
  v.list("readings", p.readings, "What was measured of the lighting as found.");
  v.list("drivers", p.drivers, "Drivers beside those of the library.");
  v.list("luminaire_types", p.luminaire_types, "Luminaire types beside those of the library.");
  v.list("device_kinds", p.device_kinds, "Kinds of devices beside those of the library.");
  v.optional("electrical_rules", p.electrical_rules, Reference{Thing::electrical_rules},
             "Id of the electrical code's rules in the library; left out: those that go with its codes.");
  v.list("typicals", p.typicals, "Rooms that others inherit from.");
  v.list("spaces", p.spaces, "Rooms.");
  v.list("designs", p.designs, "The lighting as found, and proposals.");
  v.list("tariffs", p.tariffs, "What energy costs.");
  v.object("estimate", p.estimate, "What estimates are made in.");
  v.list("costs", p.costs, "What things cost here, in the place of the library's ranges.");
  v.list("confirmations", p.confirmations, "Assumptions that somebody has stood behind.");
}

/// The document around the project.
struct ProjectFile {
  std::string format;
  CoordinateUnit coordinates = CoordinateUnit::m;
  domain::Project project;
};
template <>
inline constexpr std::string_view kTypeName<ProjectFile> = "project_file";
template <class V>
void describe(V& v, ProjectFile& f) {
  v.required("format", f.format, FormatName{kProjectFormat}, "Format and version of the document.");
  v.optional("coordinates", f.coordinates, Word<CoordinateUnit>{}, "Unit of bare coordinates.");
  v.header_read(f);
  describe(v, f.project);
}

// ---------------------------------------------------------------------------------------------------------
// The library's files

template <>
inline constexpr std::string_view kTypeName<domain::UsualScene> = "usual_scene";
template <class V>
void describe(V& v, domain::UsualScene& s) {
  v.required("name", s.name, Text{}, "On the button.");
  v.required("target_share", s.target_share, Fraction{},
             "Of the target of each horizontal task area, to be given at least.");
  v.optional("contrast", s.contrast, Unset{Number{1, 100000}},
             "Asked on each screen of the room; a room without a screen does not get the scene.");
  describe_behaviour(v, s);
}

template <>
inline constexpr std::string_view kTypeName<domain::StartingPoint> = "starting_point";
template <class V>
void describe(V& v, domain::StartingPoint& s) {
  v.required("luminaire_type", s.luminaire_type, Text{}, "Id of a luminaire type of the library.");
  v.object("on", s.on, "What brings the light on.");
  v.maybe("vacancy", s.vacancy, "What an empty room does; left out: nothing.");
  v.required("sweeps_off", s.sweeps_off, Flag{}, "Off after closing, by the project's first calendar.");
  v.optional("after_close", s.after_close_s, seconds(0, 43200), "Sweeps so long after closing.");
  v.optional("before_open", s.before_open_s, seconds(0, 43200), "Comes on so long before opening.");
  v.required("follows_daylight", s.follows_daylight, Flag{}, "Luminaires by windows dim with daylight.");
  v.optional("daylight_minimum_level", s.daylight_minimum_level, Fraction{}, "Lowest level while on.");
  v.optional("daylight_may_switch_off", s.daylight_may_switch_off, Flag{},
             "Off when daylight alone holds the target.");
  v.list("scenes", s.scenes, "Scenes beside the one that stands when nothing is called.");
  v.required("found_luminaire_type", s.found_luminaire_type, Text{},
             "Id of the luminaire type that older buildings have.");
  v.object("found_on", s.found_on, "What brings that light on.");
  v.required("source", s.source, Text{}, "Where all of it comes from.");
}

template <>
inline constexpr std::string_view kTypeName<domain::SpaceKind> = "kind_space";
template <class V>
void describe(V& v, domain::SpaceKind& k) {
  v.required("id", k.id, Id{Thing::kind}, "Name within the library.");
  v.required("name", k.name, Text{}, "As printed.");
  v.required("code_space_type", k.code_space_type, Text{}, "Space type in the codes' tables.");
  v.required("target", k.target_lx, lux(0.1, 20000), "Maintained mean.");
  v.required("target_source", k.target_source, Text{}, "Where target and uniformity come from.");
  v.required("uniformity", k.uniformity, Fraction{}, "Least ratio of minimum to mean.");
  v.required("task_height", k.task_height_m, metres(0, 2), "Of the plane on which the target holds.");
  v.object("reflectances", k.reflectances, "Usual diffuse reflectances.");
  v.required("reflectances_source", k.reflectances_source, Text{}, "Where they come from.");
  v.object("occupancy", k.occupancy, "Usual presence.");
  v.required("occupancy_source", k.occupancy_source, Text{}, "Where it comes from.");
  v.list("plug_devices", k.plug_devices, "What is usually plugged in; of those at seats one a seat.");
  v.optional("plug_devices_source", k.plug_devices_source, Text{}, "Where that comes from.");
  v.optional("is_egress_component", k.is_egress_component, Flag{}, "Lit while anyone is in the building.");
  v.optional("automatic_off_refused", k.automatic_off_refused, Flag{}, "Where darkness is dangerous.");
  v.object("start", k.start, "How a room of this kind is usually begun.");
}

/// One file of library/: any of the lists.
struct LibraryFile {
  std::string format;
  domain::Library library;
};
template <>
inline constexpr std::string_view kTypeName<LibraryFile> = "library_file";
template <class V>
void describe(V& v, LibraryFile& f) {
  v.required("format", f.format, FormatName{kLibraryFormat}, "Format and version of the file.");
  v.list("kinds", f.library.kinds, "Kinds of space.");
  v.list("drivers", f.library.drivers, "Drivers.");
  v.list("luminaire_types", f.library.luminaire_types, "Generic luminaire types.");
  v.list("device_kinds", f.library.device_kinds, "Generic kinds of devices.");
  v.list("electrical_rules", f.library.electrical_rules, "Rules of electrical codes.");
}

}  // namespace halflight::formats
