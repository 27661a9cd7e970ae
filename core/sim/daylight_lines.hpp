#pragma once
#include "base/context.hpp"
#include "base/hash.hpp"
#include "base/time_axis.hpp"
#include "climate/sky_division.hpp"
#include "climate/weather_track.hpp"
#include "daylight/directions.hpp"
#include "daylight/glazing.hpp"
#include "domain/project.hpp"
#include "sim/lit_space.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include <Eigen/Core>

namespace halflight::sim {

/// Glass and shade of each window group of a space.
struct SpaceLaws {
  std::vector<daylight::OpeningLaw> open;
  std::vector<daylight::OpeningLaw> drawn;  ///< equal to open without a shade
  std::vector<bool> has_shade;

  SpaceLaws(const domain::Project& project, const LitSpace& lit);
};

/// What a law makes of every source of light, which is all that it is asked for.
void add_to_key(const daylight::OpeningLaw& law, const daylight::Outside& outside,
                const climate::SkyDivision& sky, KeyBuilder& key);

/// Instants of a year that light is wanted at, day by day.
struct DaylitInstants {
  std::vector<Seconds> middle;  ///< of the interval that each stands for: weather and sky are taken there
  std::vector<Vector3> sun;     ///< direct sun, true-north world axes; may be another instant of the interval
  std::vector<std::size_t> day_begin;  ///< [366] index of the first instant of each day

  void add(Seconds middle_s, Vector3 towards_sun);
};

/// One row of daylight through one window group in one shade state. What it is made of must outlive it.
struct DaylightLine {
  /// Row `row` of `rows` and of `sun`, of a space `lit`; `sun_on_groups`: [group x instant]; `its_out`:
  /// [instant].
  DaylightLine(const LitSpace& lit, const lightresponse::PointRows& rows,
               const lightresponse::SunlitShares& sun, std::span<const float> sun_on_groups, std::size_t row,
               std::size_t group, const daylight::OpeningLaw& its_law, const daylight::Outside& its_outside,
               float* its_out);

  Eigen::VectorXf sources;           ///< lx per cd/m2 of each source bin, glass and shade included
  const float* reflected = nullptr;  ///< for reflected sun
  // Reading per unit luminance of what the opening scatters.
  double descending = 0.0;
  double rising = 0.0;
  const daylight::OpeningLaw* law = nullptr;
  const daylight::Outside* outside = nullptr;
  Vector3 outward;                      ///< building axes
  const float* sun_share = nullptr;     ///< [instant] lightresponse::SunlitShares
  const float* sun_on_group = nullptr;  ///< [instant]
  float* out = nullptr;                 ///< [instant] lx

  [[nodiscard]] double scattered(const daylight::Passage& passage) const {
    return descending * passage.descending_per_sr + rising * passage.rising_per_sr;
  }
};

/// Share of the light of one row through one bare window group that arrives after reflection; 1 in the dark.
double reflected_share(const lightresponse::PointRows& rows, std::size_t row, std::size_t group,
                       const daylight::Outside& outside);

/// The sky patches about the sun, for the reflected part of its light: the patch averages of a 3 x 3 stencil
/// of directions half a patch apart, so that the table is smooth as the sun moves. A coefficient of each
/// patch times its weight, summed, is the reading per illuminance normal to the beam.
struct SunStencil {
  std::array<std::uint32_t, 9> patch{};
  std::array<float, 9> weight{};  ///< 1 / (9 solid angle)
};
/// `sun`: unit vector, true-north world axes.
SunStencil stencil_about(const climate::SkyDivision& sky, Vector3 sun);

/// A weather year at the site, in steps of five minutes; with `clouds` they pass within the hours.
climate::WeatherTrack track_of(const domain::Project& project, const domain::WeatherYear& weather,
                               std::optional<climate::CloudDraw> clouds);

/// Fills in `out` of every line for a weather year. Sky tiles are made one day at a time and serve all lines,
/// whatever their space. `beam_lx`, `beam_w_m2`: normal to the beam, [instant].
struct BeamYear {
  std::vector<double> lx;
  std::vector<double> w_m2;
};
BeamYear run_lines(const domain::Project& project, const climate::SkyDivision& sky,
                   const climate::WeatherTrack& weather, const DaylitInstants& instants,
                   std::span<const DaylightLine> lines, const Context& context);

}  // namespace halflight::sim
