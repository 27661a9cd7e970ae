#pragma once
#include "domain/intensity_distribution.hpp"

#include <string>
#include <vector>

namespace halflight::photometry {

/// Intensity in one plane through the luminaire, for a polar diagram.
struct PlaneCurve {
  std::string name;      ///< "C0 to C180"; types A and B: "along H, V = 0"
  std::string positive;  ///< its half of positive angles: "C0", "H above 0"; empty when all planes are alike
  std::string negative;  ///< the other half: "C180", "H below 0"
  std::vector<double> angle_deg;  ///< ascending, from down (type C) or the aim (A and B) as in `plane_cd`
  std::vector<double> candela;
};

/// The planes that describe a distribution: of type C those along and across the length (one of them stands
/// for all when they are alike), and the plane of the largest intensity when it is 5 % above both; of types A
/// and B the planes of H and V through the aim. Half-degree steps.
std::vector<PlaneCurve> plane_curves(const domain::IntensityDistribution& distribution);

}  // namespace halflight::photometry
