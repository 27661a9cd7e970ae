#pragma once
#include "domain/price.hpp"
#include "domain/site.hpp"
#include "geometry/vector.hpp"

#include <compare>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace halflight::domain {

enum class Protocol { switched, phase_dim, analogue_0_10v, digital_bus, wireless };

/// The electronics that feed a channel.
struct Driver {
  std::string id;
  Protocol protocol = Protocol::digital_bus;
  bool dims = true;
  double minimum_light = 0.05;  ///< smallest light fraction while on, 0..1
  bool dims_to_off = false;
  double standby_w = 0.3;       ///< drawn while off but powered; 0 when a relay removes the mains
  double power_at_zero = 0.05;  ///< a of P = P_rated (a + (1 - a) f), 0..1
  double inrush_a = 0.0;        ///< peak; used by capacity checks
  double power_factor = 0.95;
  /// On one breaker of the circuit's rating, by its maker's table for inrush; nothing: not stated.
  std::optional<int> most_per_breaker;
  double control_ma = 2.0;  ///< drawn from its control bus, or sourced on its control pair
};

/// What a photometric file is read as. One EULUMDAT file with other lamps is other light.
struct PhotometryKey {
  std::string file;             ///< as written in the document
  std::optional<int> lamp_set;  ///< of an EULUMDAT file, from 1; none: the first
  friend auto operator<=>(const PhotometryKey&, const PhotometryKey&) = default;
};

/// Light of a channel: a photometric file, or a formula of photometry/synthetic.hpp with its parameters.
struct PhotometryReference {
  std::string file;
  std::string file_hash;
  std::string formula;
  std::map<std::string, double> parameters;
  std::optional<int> lamp_set;  ///< that is installed, of those in an EULUMDAT file, from 1
  [[nodiscard]] PhotometryKey key() const { return {file, lamp_set}; }
};

/// What a lamp's light is made of, only as finely as photosensors without photopic correction tell lamps
/// apart (photometry/spectrum.hpp has the spectra). White LEDs of 4,000 K and cooler read alike.
enum class SourceSpectrum { white_led, warm_white_led, fluorescent, incandescent };

/// The smallest thing that can be commanded alone.
struct Channel {
  std::string id;      ///< "down", "up", "warm", "cool", or "all"
  std::string driver;  ///< id of a Driver
  // 0 until the photometric file is read, where the document leaves them to it.
  double input_w = 0.0;   ///< at full output
  double lumens = 0.0;    ///< luminaire lumens at full output, initial
  double cct_k = 4000.0;  ///< correlated colour temperature; printed, no effect on numbers
  SourceSpectrum spectrum = SourceSpectrum::white_led;
  PhotometryReference photometry;
};

struct LuminaireType {
  enum class Mounting {
    recessed,
    surface,
    pendant,
    wall,
    plug_in,  ///< a task lamp: stands at a seat, with a cord and a plug
  };
  enum class Shape { rectangle, circle };
  std::string id;
  std::string tag;   ///< type mark on drawings: "A1"
  std::string name;  ///< generic description; no make
  Mounting mounting = Mounting::recessed;
  Shape shape = Shape::rectangle;
  double length_m = 0.6;
  double width_m = 0.6;
  double height_m = 0.1;
  std::vector<Channel> channels;
  /// Parts of the light loss factor, each 0..1: maintained = initial x product of these and the space's own.
  double lumen_depreciation = 0.88;
  double lamp_survival = 1.0;  ///< share of the sources that still burn; 1 where a failed one is replaced
  double dirt_depreciation = 0.92;
  double watts_per_luminaire_extra_w = 0.0;  ///< controls built into the luminaire, drawn always
  Source watts_source = Source::label;
  std::optional<Price> price;             ///< of one, installed with its drivers
  std::string make_and_catalogue_number;  ///< free text "or equal"; printed, no effect on numbers
};

enum class EmergencyType { none, own_battery, central_battery, generator, transfer_device, bypass_device };

struct Emergency {
  EmergencyType type = EmergencyType::none;
  bool lights_egress = false;    ///< counted in egress checks
  double output_fraction = 1.0;  ///< of full output on emergency power, 0..1
  std::string senses_circuit;    ///< id of the normal-power circuit whose loss it answers
};

/// One placed luminaire.
struct Luminaire {
  std::string id;
  std::string type;
  std::string space;
  Point3 at;                  ///< centre of the luminous opening, building axes, z above the storey's floor
  double rotation_deg = 0.0;  ///< of its length axis, counter-clockwise from +x
  double tilt_deg = 0.0;      ///< of its aim from straight down, about its length axis
  std::string circuit;
  Emergency emergency;
  Status status = Status::added;
  std::string tag;      ///< design tag
  std::string address;  ///< network address
};

/// What the electrical code of a place asks of circuits.
struct ElectricalRules {
  std::string id;
  std::string name;                ///< as printed
  double continuous_share = 1.0;   ///< of a breaker's rating that a load of three hours and more may draw
  std::vector<std::string> codes;  ///< energy codes beside which it is in force where a project names none
  std::string source;
};

struct Circuit {
  std::string id;
  std::string panel;
  std::string breaker;
  double breaker_a = 20.0;
  double voltage_v = 230.0;
  std::string switch_leg;
  enum class Supply { normal, emergency } supply = Supply::normal;
};

}  // namespace halflight::domain
