#pragma once
#include "base/time_axis.hpp"

#include <array>
#include <optional>
#include <string>
#include <vector>

namespace halflight::domain {

/// Where a number came from; decides how wide the intervals are that rest on it (domain/uncertainty.hpp).
enum class Source { measured, logged, label, table, interview, assumed };

/// What happens to an object between the design as found and a proposal.
enum class Status { remain, remove, relocate, added };

/// The weather that the year is computed with: a library climate (monthly normals, synthetic years) or a
/// file.
struct ClimateReference {
  std::string library;    ///< id of a record in library/climates
  std::string file;       ///< relative path of a TMY3 or EPW file; wins over `library`
  std::string file_hash;  ///< hash of the file when it was referenced, 32 hexadecimal digits, or empty
};

/// What beam and diffuse light do between the hours of the weather: clouds that pass are drawn, or both run
/// smoothly.
enum class WithinTheHour { drawn, smooth };

struct Site {
  double latitude_deg = 0.0;   ///< north positive, -90..90
  double longitude_deg = 0.0;  ///< east positive, -180..180
  double elevation_m = 0.0;
  /// Bearing of the building's +y axis, degrees clockwise from true north.
  double plan_north_deg = 0.0;
  std::string zone_name;      ///< IANA zone name, for people; the numbers below decide
  double utc_offset_h = 0.0;  ///< standard time minus UTC
  std::optional<DaylightSaving> daylight_saving;
  int calendar_year = 2026;  ///< fixes weekdays and the sun's small year-to-year shift
  ClimateReference climate;
  WithinTheHour weather_within_the_hour = WithinTheHour::drawn;
  double ground_reflectance = 0.2;
};

/// A building, wall or hill outside that hides sky and sun: a vertical prism, plan coordinates of the
/// building.
struct Obstruction {
  std::string id;
  std::vector<std::array<double, 2>> plan_m;
  double bottom_m = 0.0;
  double top_m = 0.0;
  double reflectance = 0.2;
};

/// A drawing that the rooms of a storey are traced from. Changes no result.
struct TracedDrawing {
  std::string file;              ///< kept with the project
  double metres_per_unit = 0.0;  ///< unit of the drawing, or pixel of a picture; 0: not known yet
};

struct Storey {
  std::string id;
  std::string name;
  double elevation_m = 0.0;  ///< of the finished floor
  std::optional<TracedDrawing> traced_drawing;
};

/// The radio that devices without a wire talk by: one for the building, the same both ways.
struct Radio {
  enum class Band { mhz_868, mhz_915, mhz_2450 };
  Band band = Band::mhz_2450;
  double transmit_power_dbm = 0.0;
  double device_gain_dbi = 0.0;   ///< of a device's antenna, losses taken off
  double gateway_gain_dbi = 0.0;  ///< of a gateway's or repeater's
  /// Weakest signal that a receiver still understands; none: the least that IEEE 802.15.4 asks of the band.
  std::optional<double> sensitivity_dbm;
  double shadowing_db = 10.0;  ///< standard deviation about the mean loss, of what no plan shows
};

/// New building, addition, or alteration with the share of luminaires replaced (0..1).
struct ProjectType {
  enum class Kind { new_building, addition, alteration } kind = Kind::new_building;
  double share_replaced = 1.0;
};

/// The owner's project requirements that change a result.
struct OwnerRequirements {
  std::vector<std::string> priorities;  ///< ranked, in the owner's words; printed, no effect on numbers
  bool automatic_on_allowed = true;
  bool radio_allowed = true;   ///< devices may talk by radio
  double spare = 0.15;         ///< share of addresses, of bus current and of amperes that is left free
  bool cloud_allowed = false;  ///< documented as unused: no device needs it yet
  std::string notes;
};

/// A code and edition that the project is checked against (library/codes).
struct CodeEdition {
  std::string code;
  std::string edition;
};

struct Meter {
  std::string id;
  std::string name;
};

/// What was measured of the lighting as found, over part of a year: the energy of a meter's spaces or of one
/// space, or the hours that one space was lit. Exactly one of `meter` and `space`, and one of `kwh` and
/// `lit_h`, is given.
struct Reading {
  std::string id;
  std::string meter;  ///< energy of the lighting of all spaces on it
  std::string space;
  MonthDay from;  ///< first day, included
  MonthDay to;    ///< last day, included; not before `from`
  std::optional<double> kwh;
  std::optional<double> lit_h;  ///< at any level; of several luminaires the mean by their watts
  /// Relative standard deviation of what the model gives against what was read: the meter, what else hangs on
  /// it, another year's weather and people.
  double spread = 0.05;
  std::string notes;
};

struct HvacZone {
  std::string id;
  std::string name;
  bool standby_allowed =
      false;             ///< whether ventilation may go to occupied-standby here (mechanical code governs)
  std::string calendar;  ///< hours in which it runs; empty: while a calendar of its spaces is open
};

/// A time at which the supply authority asks for less power.
struct DemandEvent {
  MonthDay on{7, 15};
  Seconds at_s = 14 * kHour;  ///< by the clock
  double lasts_s = 7200.0;
};

/// When demand response is called. Beside the events that are listed, on the hottest working days of each
/// weather year, Monday to Friday, by the mean temperature of the hours of the event.
struct DemandEvents {
  std::vector<DemandEvent> events;
  int hottest_afternoons = 0;
  Seconds at_s = 14 * kHour;  ///< of those on the hottest days
  double lasts_s = 7200.0;
};

}  // namespace halflight::domain
