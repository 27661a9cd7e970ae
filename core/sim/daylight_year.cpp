#include "sim/daylight_year.hpp"

#include "base/random.hpp"
#include "base/units.hpp"
#include "climate/weather_track.hpp"
#include "daylight/glazing.hpp"
#include "transport/interreflection.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Core>

namespace halflight::sim {

SunnySteps sunny_steps(const climate::SunTrack& track, std::uint32_t seed) {
  SunnySteps sunny;
  sunny.index_of_step.assign(kSteps, -1);
  const RandomKey key{seed, hash_name("sun within the step")};
  for (std::size_t k = 0; k < kSteps; ++k) {
    const auto begin = static_cast<Seconds>(k) * kStep_s;
    if (track.at(begin + kStep_s / 2).direction.z <= 0.0) continue;
    const auto within = static_cast<Seconds>(random_uniform(key, {0, static_cast<std::uint32_t>(k / 288), 0,
                                                                  static_cast<std::uint32_t>(k % 288)}) *
                                             static_cast<double>(kStep_s));
    const climate::SunInstant sun = track.at(begin + within);
    sunny.index_of_step[k] = static_cast<std::int32_t>(sunny.step.size());
    if (sunny.runs.empty() || sunny.runs.back().end != begin)
      sunny.runs.push_back({begin, begin, sunny.step.size()});
    sunny.runs.back().end = begin + kStep_s;
    sunny.step.push_back(static_cast<std::uint32_t>(k));
    sunny.sun.push_back(sun.direction);
  }
  return sunny;
}

namespace {

// Results of a matrix product must not depend on how many rows are asked for at once, so rows are multiplied
// in panels of this height, the last one filled with zeros.
constexpr Eigen::Index kPanel = 16;
using RowMajor = Eigen::Matrix<float, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// One row through one group in one shade state.
struct Line {
  Eigen::VectorXf sky;               // lx per cd/m2 of each bin, glass and shade included
  const float* reflected = nullptr;  // bare reflected coefficients of the row and group, for reflected sun
  double lobe = 0.0;                 // reading per unit of scattered exitance of the group
  const float* sun_share = nullptr;  // [sunny step]
  const float* sun_on_group = nullptr;
  const daylight::OpeningLaw* law = nullptr;
  Vector3 outward;  // building axes
  const daylight::Outside* outside = nullptr;
  std::vector<float>* out = nullptr;
};

struct SpaceLaws {
  std::vector<daylight::OpeningLaw> open;
  std::vector<daylight::OpeningLaw> drawn;  // equal to open without a shade
  std::vector<bool> has_shade;
};

SpaceLaws laws_of(const domain::Project& project, const LitSpace& lit) {
  SpaceLaws laws;
  for (const daylight::WindowGroup& group : lit.scene.window_groups) {
    const domain::Glazing& glazing = project.glazings[group.glazing];
    const domain::Shade* shade =
        group.shade < 0 ? nullptr : &project.shades[static_cast<std::size_t>(group.shade)];
    laws.open.emplace_back(glazing, group.frame_fraction, nullptr);
    laws.drawn.emplace_back(glazing, group.frame_fraction, shade);
    laws.has_shade.push_back(shade != nullptr);
  }
  return laws;
}

Eigen::VectorXf effective(std::span<const float> bare, std::span<const float> incident,
                          const daylight::OpeningLaw& law, const daylight::Outside& outside, Vector3 outward,
                          double& lobe) {
  const climate::SkyDivision& sky = outside.sky();
  double sum = 0.0;
  for (const float c : bare) sum += c;
  lobe = sum / kPi;  // an opening of even luminance M / pi seen through every direction at once
  Eigen::VectorXf line(static_cast<Eigen::Index>(bare.size()));
  for (std::size_t k = 0; k < bare.size(); ++k) {
    double beam = law.beam_hemispherical();
    double scattered = law.scattered_hemispherical();
    if (k < sky.size()) {
      const double cosine = dot(outside.compass().plan_from_world(sky.centroid(k)), outward);
      beam = law.beam(cosine);
      scattered = law.scattered(cosine);
    }
    if (k == outside.obstruction_bin()) {
      // The tile holds a facade's illuminance over pi; the reflectance is that of what this space looks at.
      beam *= outside.obstruction_reflectance();
      scattered *= outside.obstruction_reflectance();
    }
    line[static_cast<Eigen::Index>(k)] = static_cast<float>(bare[k] * beam + lobe * incident[k] * scattered);
  }
  return line;
}

/// The sky patches about the sun, for the reflected part of its light: the patch averages of a 3 x 3 stencil
/// of directions half a patch apart, so that the table is smooth as the sun moves.
struct SunStencil {
  std::array<std::uint32_t, 9> patch{};
  std::array<float, 9> weight{};  // 1 / (9 solid angle)
};

SunStencil stencil_about(const climate::SkyDivision& sky, Vector3 sun) {
  const double reach = 0.5 * kPi / (2.0 * (7.0 * sky.m() + 0.5));
  const Frame frame = frame_about(sun);
  SunStencil stencil;
  std::size_t i = 0;
  for (const double u : {-reach, 0.0, reach}) {
    for (const double v : {-reach, 0.0, reach}) {
      Vector3 d = normalized(sun + u * frame.x + v * frame.y);
      d.z = std::max(d.z, 1e-6);
      const std::size_t patch = sky.patch_of(normalized(d));
      stencil.patch[i] = static_cast<std::uint32_t>(patch);
      stencil.weight[i] = static_cast<float>(1.0 / (9.0 * sky.solid_angle_sr(patch)));
      ++i;
    }
  }
  return stencil;
}

}  // namespace

std::vector<SpaceDaylight> daylight_year(const domain::Project& project, std::span<const LitSpace> spaces,
                                         const std::vector<daylight::Outside>& outside_of,
                                         const climate::SkyDivision& sky, const domain::WeatherYear& weather,
                                         const SunnySteps& sunny, const Context& context) {
  fix_matrix_blocking();
  const std::size_t instants = sunny.step.size();
  std::vector<SpaceDaylight> result(spaces.size());
  std::vector<SpaceLaws> laws(spaces.size());
  std::vector<Line> lines;

  for (std::size_t s = 0; s < spaces.size(); ++s) {
    const LitSpace& lit = spaces[s];
    laws[s] = laws_of(project, lit);
    const std::size_t groups = lit.scene.window_groups.size();
    const daylight::Outside& outside = outside_of[lit.index];
    const std::size_t bins = outside.bin_count();
    const auto add_row = [&](const lightresponse::PointRows& rows, const lightresponse::SunlitShares* sun,
                             RowSeries& series) {
      series.resize(groups);
      for (std::size_t g = 0; g < groups; ++g) {
        const auto bare = std::span(rows.daylight).subspan(g * bins, bins);
        const auto reflected = std::span(rows.daylight_reflected).subspan(g * bins, bins);
        double all = 0.0;
        double bounced = 0.0;
        for (std::size_t k = 0; k < bins; ++k) {
          all += bare[k];
          bounced += reflected[k];
        }
        series[g].reflected_share = all > 0.0 ? bounced / all : 1.0;
        const auto incident = std::span(lit.incident).subspan(g * bins, bins);
        const auto add_state = [&](const daylight::OpeningLaw& law, std::vector<float>& out) {
          out.assign(instants, 0.0F);
          Line line;
          line.outward = lit.scene.window_groups[g].outward;
          line.sky = effective(bare, incident, law, outside, line.outward, line.lobe);
          line.reflected = reflected.data();
          line.sun_share = sun->share.data() + g * instants;
          line.sun_on_group = lit.sun_on_groups.data() + g * instants;
          line.law = &law;
          line.outside = &outside;
          line.out = &out;
          lines.push_back(std::move(line));
        };
        add_state(laws[s].open[g], series[g].open);
        if (laws[s].has_shade[g]) add_state(laws[s].drawn[g], series[g].drawn);
      }
    };
    result[s].tasks.resize(lit.task_rows.size());
    result[s].sensors.resize(lit.sensor_rows.size());
    result[s].beam_on_tasks_w_m2.assign(groups, {});
    if (groups == 0) continue;
    for (std::size_t i = 0; i < lit.task_rows.size(); ++i)
      add_row(lit.task_rows[i], &lit.task_sun[i], result[s].tasks[i]);
    for (std::size_t i = 0; i < lit.sensor_rows.size(); ++i)
      add_row(lit.sensor_rows[i], &lit.sensor_sun[i], result[s].sensors[i]);
    for (auto& beam : result[s].beam_on_tasks_w_m2) beam.assign(instants, 0.0F);
  }

  // Rows of every space under one another, padded to whole panels.
  const std::size_t bins = sky.size() + 2;
  const auto count = static_cast<Eigen::Index>(lines.size());
  const Eigen::Index padded = (count + kPanel - 1) / kPanel * kPanel;
  RowMajor coefficients = RowMajor::Zero(padded, static_cast<Eigen::Index>(bins));
  for (Eigen::Index i = 0; i < count; ++i)
    coefficients.row(i) = lines[static_cast<std::size_t>(i)].sky.transpose();

  const climate::WeatherTrack track(
      weather, climate::SunTrack(climate::place_of(project.site), project.site.utc_offset_h * 3600.0,
                                 project.site.calendar_year));
  std::vector<std::size_t> day_begin(366, instants);
  for (std::size_t i = instants; i-- > 0;) day_begin[sunny.step[i] / 288] = i;
  for (std::size_t day = 365; day-- > 0;) day_begin[day] = std::min(day_begin[day], day_begin[day + 1]);

  context.executor.for_each(365, [&](std::size_t day) {
    context.check_cancelled();
    const std::size_t first = day_begin[day];
    const std::size_t n = day_begin[day + 1] - first;
    if (n == 0) return;
    Eigen::MatrixXf tile(static_cast<Eigen::Index>(bins), static_cast<Eigen::Index>(n));
    std::vector<double> beam_lx(n);
    std::vector<double> beam_w(n);
    for (std::size_t i = 0; i < n; ++i) {
      const Seconds middle = static_cast<Seconds>(sunny.step[first + i]) * kStep_s + kStep_s / 2;
      const climate::WeatherInstant now = track.at(middle);
      const climate::SkyState sky_now = climate::sky_state(now);
      float* column = tile.col(static_cast<Eigen::Index>(i)).data();
      if (sky_now.dark()) {
        std::fill(column, column + bins, 0.0F);
        continue;
      }
      climate::sky_luminance(sky, sky_now, std::span(column, sky.size()));
      const double diffuse = sky_now.diffuse_horizontal_lx;
      const double global = diffuse + sky_now.beam_normal_lx * std::max(0.0, sky_now.sun.z);
      const double ground_lx = project.site.ground_reflectance * global;
      column[sky.size()] = static_cast<float>(ground_lx / kPi);
      // A facade opposite sees half the sky and half the ground; its own sun and shadow are left out.
      column[sky.size() + 1] = static_cast<float>(0.5 * (diffuse + ground_lx) / kPi);
      beam_lx[i] = sky_now.beam_normal_lx;
      beam_w[i] = now.beam_w_m2;
    }
    Eigen::MatrixXf product(kPanel, static_cast<Eigen::Index>(n));
    std::vector<SunStencil> stencil(n);
    for (std::size_t i = 0; i < n; ++i) stencil[i] = stencil_about(sky, sunny.sun[first + i]);
    for (Eigen::Index panel = 0; panel < padded; panel += kPanel) {
      product.noalias() = coefficients.middleRows(panel, kPanel) * tile;
      for (Eigen::Index r = 0; r < std::min(kPanel, count - panel); ++r) {
        const Line& line = lines[static_cast<std::size_t>(panel + r)];
        float* out = line.out->data() + first;
        for (std::size_t i = 0; i < n; ++i) {
          double lx = product(r, static_cast<Eigen::Index>(i));
          if (beam_lx[i] > 0.0) {
            const Vector3 sun = line.outside->compass().plan_from_world(sunny.sun[first + i]);
            const double cosine = dot(sun, line.outward);
            if (cosine > 0.0) {
              double reflected = 0.0;
              for (std::size_t k = 0; k < 9; ++k)
                reflected += line.reflected[stencil[i].patch[k]] * stencil[i].weight[k];
              const double straight = line.sun_share[first + i] + reflected;
              const double scattered = line.sun_on_group[first + i] * cosine * line.lobe;
              lx +=
                  beam_lx[i] * (line.law->beam(cosine) * straight + line.law->scattered(cosine) * scattered);
            }
          }
          out[i] = static_cast<float>(lx);
        }
      }
    }
    for (std::size_t s = 0; s < spaces.size(); ++s) {
      const LitSpace& lit = spaces[s];
      for (std::size_t g = 0; g < lit.scene.window_groups.size(); ++g) {
        const Vector3 outward = lit.scene.window_groups[g].outward;
        const daylight::Outside& outside = outside_of[lit.index];
        for (std::size_t i = 0; i < n; ++i) {
          if (beam_w[i] <= 0.0) continue;
          const double cosine = dot(outside.compass().plan_from_world(sunny.sun[first + i]), outward);
          if (cosine <= 0.0) continue;
          float share = 0.0F;
          for (const lightresponse::SunlitShares& task : lit.task_sun)
            share = std::max(share, task.share[g * instants + first + i]);
          result[s].beam_on_tasks_w_m2[g][first + i] =
              static_cast<float>(share > 0.0F ? beam_w[i] * laws[s].open[g].beam(cosine) : 0.0);
        }
      }
    }
  });
  return result;
}

}  // namespace halflight::sim
