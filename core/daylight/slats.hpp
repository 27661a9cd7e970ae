#pragma once
#include <vector>

namespace halflight::daylight {

/// A blind of flat, thin, matt, endless horizontal slats.
struct SlatGeometry {
  double width_m = 0.025;
  double spacing_m = 0.020;  ///< between slats, > 0
  /// From level; positive: the edge towards the outside is the lower one. -85..85.
  double tilt_deg = 0.0;
  double reflectance = 0.7;  ///< diffuse, both faces, 0..1
};

/// What one unit of flux that meets a blind becomes behind it.
struct SlatOptics {
  double straight = 0.0;   ///< passes between the slats without touching one
  double downwards = 0.0;  ///< leaves scattered, descending into the room
  double upwards = 0.0;    ///< leaves scattered, rising
};

/// The optics of a blind by the profile angle of the light, exact for its slats but for the number of strips
/// that each face is divided into. In the plane across the slats a cell is bounded by two faces and two
/// openings; view factors by crossed strings (H. C. Hottel; Siegel and Howell, Thermal Radiation Heat
/// Transfer), radiosity by a direct solve.
class SlatLaw {
 public:
  explicit SlatLaw(const SlatGeometry& slats);

  /// `profile_rad`: elevation of the light's source projected on the vertical plane across the slats,
  /// -pi/2..pi/2. Linear between steps of one degree.
  [[nodiscard]] SlatOptics at(double profile_rad) const;

 private:
  SlatGeometry slats_;
  std::vector<SlatOptics> table_;  // scattered parts from -89.5 to 89.5 degrees
};

/// Share that passes straight: 1 - (width / spacing) |sin(profile + tilt)| / cos(profile), at least 0.
double slat_openness(const SlatGeometry& slats, double profile_rad);

}  // namespace halflight::daylight
