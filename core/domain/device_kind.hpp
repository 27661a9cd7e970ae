#pragma once
#include "domain/control.hpp"
#include "domain/plug_loads.hpp"
#include "domain/price.hpp"

#include <optional>
#include <string>

namespace halflight::domain {

/// What a device makes of people.
struct OccupancySensing {
  OccupancySensor::Technology technology = OccupancySensor::Technology::infrared;
  OccupancySensor::Coverage coverage = OccupancySensor::Coverage::circle;
  double major_radius_m = 5.4;
  double minor_radius_m = 3.2;
  std::optional<double> rated_height_m;  ///< for which the reaches are stated; nothing: wherever it hangs
  double sector_deg = 110.0;
  double strip_width_m = 3.0;
};

/// What a device makes of light.
struct LightSensing {
  Photosensor::Loop loop = Photosensor::Loop::closed;
  Photosensor::Response response = Photosensor::Response::narrowed;
  double cutoff_deg = 60.0;
  double range_lx = 2000.0;
  Photosensor::SpectralResponse spectral_response = Photosensor::SpectralResponse::photopic;
};

/// What a device does to its loads, and how much it bears. Each output carries one group.
struct LoadControl {
  LoadController::Action action = LoadController::Action::digital_bus;
  int outputs = 1;
  bool several_rooms = false;            ///< one serves rooms of its storey; else those of one room
  double limit_a = 10.0;                 ///< of an output, for electronic drivers
  std::optional<double> inrush_limit_a;  ///< peak that an output's contact bears
  std::optional<int> most_drivers;       ///< on an output, whatever they draw
  double bus_limit_ma = 250.0;           ///< digital_bus: current that its supply gives
  int addresses = 64;                    ///< digital_bus: control gear on it
  double sink_limit_ma = 100.0;          ///< analogue_0_10v: current that its control pair sinks
};

/// A generic device that a proposal may choose: on the two axes of what it does and where it lives, with its
/// limits and what it usually costs. Of the library, or the project's own.
struct DeviceKind {
  enum class Mounting { ceiling, wall, wall_box, ceiling_void, panel, in_luminaire, plug_in };
  std::string id;
  std::string name;
  Mounting mounting = Mounting::ceiling;
  Link link = Link::wired;
  double standby_w = 0.0;               ///< drawn always, from the mains
  double bus_ma = 0.0;                  ///< drawn from a wired control bus
  std::optional<double> battery_years;  ///< of a device without mains
  bool needs_neutral = false;           ///< in its box
  Price price;
  std::optional<OccupancySensing> occupancy;
  std::optional<LightSensing> light;
  std::optional<LoadControl> load;
  int buttons = 0;  ///< of a station
  std::optional<Infrastructure::Kind> infrastructure;
  std::optional<PlugDevice::SwitchedBy> switches_plugs;  ///< of a socket outlet: how it takes their power
  std::string source;                                    ///< where limits and prices come from
  std::string make_and_catalogue_number;  ///< free text "or equal"; printed, no effect on numbers
};

}  // namespace halflight::domain
