#include "choose/lumen_method.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::choose {

namespace {

/// Steps of the integrals over angle; halving them moves no factor by more than 1e-4.
constexpr int kPolarSteps = 180;
constexpr int kAzimuthSteps = 72;

/// Of the light of a distribution: on the task plane, on the walls and on the ceiling, as shares of all.
struct FirstMet {
  double plane = 0.0;
  double walls = 0.0;
  double ceiling = 0.0;
};

template <class Intensity>
FirstMet first_met(const Cavity& cavity, Intensity intensity) {
  FirstMet met;
  double all = 0.0;
  for (int i = 0; i < kPolarSteps; ++i) {
    const double polar = kPi * (i + 0.5) / kPolarSteps;
    for (int k = 0; k < kAzimuthSteps; ++k) {
      const double turn = 2.0 * kPi * (k + 0.5) / kAzimuthSteps;
      const Vector3 direction{std::sin(polar) * std::cos(turn), std::sin(polar) * std::sin(turn),
                              -std::cos(polar)};
      const double light = intensity(direction) * std::sin(polar);
      all += light;
      if (direction.z >= 0.0) {
        met.ceiling += light;  // luminaires hang close below it
        continue;
      }
      const double reach = cavity.height_m / -direction.z;
      const double along = std::max(0.0, 1.0 - std::abs(direction.x) * reach / cavity.length_m);
      const double across = std::max(0.0, 1.0 - std::abs(direction.y) * reach / cavity.width_m);
      met.plane += light * along * across;
      met.walls += light * (1.0 - along * across);
    }
  }
  if (all <= 0.0) return {};
  return {met.plane / all, met.walls / all, met.ceiling / all};
}

}  // namespace

double room_index(const Cavity& cavity) {
  return cavity.length_m * cavity.width_m / (cavity.height_m * (cavity.length_m + cavity.width_m));
}

double direct_share(const Cavity& cavity, const domain::IntensityDistribution& distribution) {
  return first_met(cavity, [&](Vector3 d) { return distribution.intensity_cd(d); }).plane;
}

double utilisation(const Cavity& cavity, const domain::IntensityDistribution& distribution,
                   const domain::Reflectances& reflectances) {
  const FirstMet met = first_met(cavity, [&](Vector3 d) { return distribution.intensity_cd(d); });
  // Diffuse light from ceiling to plane is that of a cosine source spread over the ceiling.
  const double across = first_met(cavity, [](Vector3 d) { return std::max(0.0, -d.z); }).plane;
  const double plane_m2 = cavity.length_m * cavity.width_m;
  const double walls_m2 = 2.0 * cavity.height_m * (cavity.length_m + cavity.width_m);
  const double to_walls = 1.0 - across;                      // from ceiling or plane
  const double from_walls = to_walls * plane_m2 / walls_m2;  // to ceiling, and to plane
  const double among_walls = std::max(0.0, 1.0 - 2.0 * from_walls);

  // Light that arrives at each surface, as a share of the luminaires'; repeated reflection converges because
  // each loses some.
  double ceiling = met.ceiling;
  double walls = met.walls;
  double plane = met.plane;
  const double rho_c = reflectances.ceiling;
  const double rho_w = reflectances.walls;
  const double rho_p = reflectances.floor;
  constexpr double kSettled = 1e-9;
  for (double change = 1.0; change > kSettled;) {
    const double next_ceiling = met.ceiling + rho_p * plane * across + rho_w * walls * from_walls;
    const double next_plane = met.plane + rho_c * ceiling * across + rho_w * walls * from_walls;
    const double next_walls =
        met.walls + (rho_c * ceiling + rho_p * plane) * to_walls + rho_w * walls * among_walls;
    change = std::abs(next_ceiling - ceiling) + std::abs(next_plane - plane) + std::abs(next_walls - walls);
    ceiling = next_ceiling;
    plane = next_plane;
    walls = next_walls;
  }
  return plane;
}

double luminaires_needed(double target_lx, double area_m2, double lumens, double utilisation_factor,
                         double light_loss) {
  return target_lx * area_m2 / (lumens * utilisation_factor * light_loss);
}

}  // namespace halflight::choose
