// Reflected sun, which comes from the table of sky patches, against quadrature of the sunlit floor.
#include "sim/daylight_lines.hpp"

#include "base/units.hpp"
#include "lightresponse/response.hpp"
#include "published.hpp"

#include <cmath>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// 4 x 4 x 3 m, only the floor reflects; an opening of 2 x 1.5 m, 1 m up in the south wall.
domain::Project sunny_room() {
  domain::Project project;
  project.glazings.emplace_back();
  project.glazings[0].id = "none";
  project.glazings[0].reflectance_inside = 0.0;
  domain::Space space;
  space.id = "room";
  space.floor = {{0, 0}, {4, 0}, {4, 4}, {0, 4}};
  space.height_m = 3.0;
  space.reflectances = {0.0, 0.0, 0.0, 0.0};
  space.reflectances.floor = 0.5;
  domain::Opening opening;
  opening.id = "W1";
  opening.kind = domain::Opening::Kind::window;
  opening.glazing = "none";
  opening.wall = 0;
  opening.offset_m = 1.0;
  opening.sill_m = 1.0;
  opening.width_m = 2.0;
  opening.height_m = 1.5;
  space.openings.push_back(opening);
  project.spaces.push_back(space);
  return project;
}

const Point3 kOnCeiling{2.0, 2.0, 2.9999};

/// Illuminance on the ceiling by the sunlit part of the floor, per illuminance normal to the beam: midpoints
/// of the opening, carried on to the floor along the beam.
double by_quadrature(Vector3 sun) {
  constexpr int kSide = 200;
  double sum = 0.0;
  for (int i = 0; i < kSide; ++i)
    for (int j = 0; j < kSide; ++j) {
      const Point3 through{1.0 + 2.0 * (i + 0.5) / kSide, 0.0, 1.0 + 1.5 * (j + 0.5) / kSide};
      const Point3 lit = through + (-through.z / sun.z) * sun;
      if (lit.x < 0.0 || lit.x > 4.0 || lit.y > 4.0) continue;
      // Flux through the cell, spread by the floor: rho / pi times cosines over the square of the distance.
      const double flux = -sun.y * 3.0 / (kSide * kSide);
      const Vector3 path = kOnCeiling - lit;
      const double r = length(path);
      sum += 0.5 / kPi * flux * (path.z / r) * (path.z / r) / (r * r);
    }
  return sum;
}

struct Deviation {
  double mean = 0.0;
  double scatter = 0.0;  ///< root mean square, as shares of the mean reading
};

Deviation deviation_with(int division) {
  const domain::Project project = sunny_room();
  const climate::SkyDivision sky(division);
  const daylight::Outside outside(sky, daylight::Compass(0.0), {});
  lightresponse::LightOptions options;
  options.sky_division = division;
  options.opening_samples = 2048;
  options.patch_m = 0.35;  // so that the edges of the lit floor are no coarser than the sky
  options.most_patches = 3000;
  options.gather_rays = 32768;
  SerialExecutor executor;
  const auto blobs = make_memory_blob_store();
  const Context context{executor, *blobs, nullptr, {}};
  lightresponse::StageLog log;
  const Result<lightresponse::SpaceScene> scene = lightresponse::make_scene(project, 0, {}, options);
  const lightresponse::SpaceLight light(*scene, outside, options, context, log);
  lightresponse::PointSet set;
  set.points = {{kOnCeiling, {0, 0, -1}, {}}};
  set.wants_electric = false;
  set.wants_daylight = true;
  const lightresponse::PointRows rows = light.rows(set).value();
  double sum = 0.0;
  double squares = 0.0;
  double expected_sum = 0.0;
  int count = 0;
  for (double elevation = 25.0; elevation <= 65.0; elevation += 4.0)
    for (double azimuth = 140.0; azimuth <= 220.0; azimuth += 5.0) {
      const double e = elevation * kRadPerDeg;
      const double a = azimuth * kRadPerDeg;
      const Vector3 sun{std::cos(e) * std::sin(a), std::cos(e) * std::cos(a), std::sin(e)};
      const SunStencil stencil = stencil_about(sky, sun);
      double from_table = 0.0;
      for (std::size_t k = 0; k < stencil.patch.size(); ++k)
        from_table += static_cast<double>(stencil.weight[k]) *
                      static_cast<double>(rows.daylight_reflected_of(0, 0)[stencil.patch[k]]);
      const double expected = by_quadrature(sun);
      sum += from_table - expected;
      squares += (from_table - expected) * (from_table - expected);
      expected_sum += expected;
      ++count;
    }
  return {sum / expected_sum, std::sqrt(squares / count) / (expected_sum / count)};
}

// Single positions of the sun are smeared over a patch and its neighbours, which a finer division mends.
TEST(ReflectedSun, ConvergesToQuadratureOfTheSunlitFloor) {
  const Deviation usual = deviation_with(2);
  const Deviation fine = deviation_with(4);
  // The bar for light through openings with reflection inside is 2 %.
  EXPECT_PUBLISHED("quadrature", "reflected sun on a ceiling, mean over 187 positions, sky division 2", "",
                   1.0, 1.0 + usual.mean, 0.02);
  EXPECT_PUBLISHED("quadrature", "reflected sun on a ceiling, mean over 187 positions, sky division 4", "",
                   1.0, 1.0 + fine.mean, 0.01);
  EXPECT_LT(usual.scatter, 0.05);
  EXPECT_LT(fine.scatter, 0.6 * usual.scatter);
}

}  // namespace
}  // namespace halflight::sim
