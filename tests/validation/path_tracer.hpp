#pragma once
#include "domain/intensity_distribution.hpp"
#include "domain/observation.hpp"
#include "domain/project.hpp"

#include <array>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

// A slow and simple Monte Carlo path tracer for one room: the second opinion on the light of a room. It reads
// the document's types and looks up candela, and shares nothing else with the program: its own surfaces, its
// own ray against polygon, its own random numbers, no patches, no form factors, no patches of sky.

namespace halflight::validation {

/// A luminaire's channel in place. Light leaves every part of the opening as the far-field table says
/// (docs/methods/photometry.md, "Direct light").
struct Lamp {
  std::shared_ptr<const domain::IntensityDistribution> distribution;
  domain::LuminaireType::Shape shape = domain::LuminaireType::Shape::rectangle;
  double length_m = 0.0;
  double width_m = 0.0;
  Point3 at;
  double rotation_deg = 0.0;
  double tilt_deg = 0.0;
};

/// Luminance outside in closed form, cd/m2, in axes east, north, up. The sun's disc is not part of it.
struct Sky {
  enum class Kind {
    uniform,
    overcast,  ///< (1 + 2 sin elevation) / 3 of the zenith's (CIE S 011:2003, type 16)
    clear,     ///< CIE S 011:2003, type 12
  };
  Kind kind = Kind::uniform;
  Vector3 sun{0.0, 0.0, 1.0};  ///< clear: unit vector
  double horizontal_lx = 10'000.0;
  double ground_cd_m2 = 0.0;       ///< every direction below the horizon
  double obstruction_cd_m2 = 0.0;  ///< every face of what stands outside
};

/// What is outside the windows.
struct Surroundings {
  double plan_north_deg = 0.0;      ///< bearing of building +y
  double storey_elevation_m = 0.0;  ///< of the room's floor above the obstructions' datum
  std::vector<domain::Obstruction> obstructions;
};

struct Estimate {
  double mean = 0.0;
  double standard_error = 0.0;
};

/// What one light gives at one point, lx: straight from luminaires or sky, and after reflection in the room.
struct Reading {
  Estimate direct;
  Estimate reflected;
  Estimate total;
};

struct PointReadings {
  Reading electric;            ///< all lamps at full output
  std::vector<Reading> skies;  ///< through bare openings, one a sky
  /// How unlike the parts of a lamp's opening are as seen from the point.
  struct Uneven {
    double spread_lx = 0.0;  ///< standard deviation over the opening of what a lamp of that part alone gives
    bool half_hidden = false;  ///< something stands before some of it
    bool half_dark = false;    ///< the point's own plane or the end of the beam crosses it
  };
  std::vector<Uneven> lamps;
};

class PathTracer {
 public:
  PathTracer(const domain::Project& project, std::size_t space, std::vector<Lamp> lamps,
             Surroundings surroundings, std::vector<Sky> skies);
  ~PathTracer();

  /// `paths` independent paths; each begins with one place on every lamp and every opening, and continues
  /// through the room until chance ends it with the reflectance that it meets.
  [[nodiscard]] PointReadings read(const domain::ObservationPoint& point, int paths,
                                   std::uint64_t seed) const;

  /// Electric illuminance (lx) of points spread evenly over all surfaces of a room without furniture, in
  /// which every point must get its own share of the flux: for the tracer's own check.
  [[nodiscard]] Estimate mean_over_surfaces(int paths, std::uint64_t seed) const;

 private:
  struct Room;
  std::unique_ptr<const Room> room_;
};

}  // namespace halflight::validation
