#pragma once
#include "domain/intensity_distribution.hpp"
#include "domain/space.hpp"

// The lumen method: how many luminaires an evenly lit room needs, before any light is computed
// (docs/methods/starting_room.md).

namespace halflight::choose {

/// The empty rectangular room between the plane of the luminaires and that of the task, m.
struct Cavity {
  double length_m = 0.0;
  double width_m = 0.0;
  double height_m = 0.0;  ///< above 0
};

/// Room index: area over (height times half the perimeter).
double room_index(const Cavity& cavity);

/// Share of a luminaire's light that falls on the task plane at once, for luminaires spread evenly over the
/// whole ceiling: the mean over all places, which for each direction of light is the share of the ceiling
/// whose ray in that direction meets the plane before a wall. Light is directed along the cavity's length as
/// along the luminaire's.
double direct_share(const Cavity& cavity, const domain::IntensityDistribution& distribution);

/// Utilisation factor: light on the task plane, reflected light included, over that of the luminaires. Three
/// diffuse surfaces (ceiling, walls, task plane as the floor), each evenly lit.
double utilisation(const Cavity& cavity, const domain::IntensityDistribution& distribution,
                   const domain::Reflectances& reflectances);

/// Luminaires of `lumens` that hold `target_lx` on `area_m2`, not rounded.
double luminaires_needed(double target_lx, double area_m2, double lumens, double utilisation_factor,
                         double light_loss);

}  // namespace halflight::choose
