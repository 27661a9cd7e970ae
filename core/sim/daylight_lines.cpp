#include "sim/daylight_lines.hpp"

#include "base/units.hpp"
#include "climate/sky.hpp"
#include "sim/daylight_year.hpp"
#include "transport/interreflection.hpp"
#include "transport/panel_product.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace halflight::sim {

SpaceLaws::SpaceLaws(const domain::Project& project, const LitSpace& lit) {
  for (const daylight::WindowGroup& group : lit.scene.window_groups) {
    const domain::Glazing& glazing = project.glazings[group.glazing];
    const domain::Shade* shade =
        group.shade < 0 ? nullptr : &project.shades[static_cast<std::size_t>(group.shade)];
    const daylight::Well* well = group.well ? &*group.well : nullptr;
    open.emplace_back(glazing, group.frame_fraction, nullptr, group.outward, well);
    drawn.emplace_back(glazing, group.frame_fraction, shade, group.outward, well);
    has_shade.push_back(shade != nullptr);
  }
}

void add_to_key(const daylight::OpeningLaw& law, const daylight::Outside& outside,
                const climate::SkyDivision& sky, KeyBuilder& key) {
  const auto add = [&](const daylight::Passage& p) {
    key.add(p.straight).add(p.descending_per_sr).add(p.rising_per_sr);
  };
  for (std::size_t k = 0; k < sky.size(); ++k)
    add(law.from(outside.compass().plan_from_world(sky.centroid(k))));
  add(law.from_ground());
  add(law.from_facades());
}

void DaylitInstants::add(Seconds middle_s, Vector3 towards_sun) {
  const auto day = static_cast<std::size_t>(middle_s / kDay);
  while (day_begin.size() <= day) day_begin.push_back(middle.size());
  middle.push_back(middle_s);
  sun.push_back(towards_sun);
}

DaylightLine::DaylightLine(const LitSpace& lit, const lightresponse::PointRows& rows,
                           const lightresponse::SunlitShares& sun, std::span<const float> sun_on_groups,
                           std::size_t row, std::size_t group, const daylight::OpeningLaw& its_law,
                           const daylight::Outside& its_outside, float* its_out)
    : sources(static_cast<Eigen::Index>(its_outside.source_bin_count())),
      reflected(rows.daylight_reflected_of(row, group).data()),
      law(&its_law),
      outside(&its_outside),
      outward(lit.scene.window_groups[group].outward),
      sun_share(sun.of(row, group).data()),
      sun_on_group(sun_on_groups.data() + group * sun.instants),
      out(its_out) {
  const std::span<const float> bare = rows.daylight_of(row, group);
  const auto incident = std::span(lit.incident).subspan(group * rows.bins, rows.bins);
  descending = bare[outside->descending_bin()];
  rising = bare[outside->rising_bin()];
  const climate::SkyDivision& sky = outside->sky();
  for (std::size_t k = 0; k < outside->source_bin_count(); ++k) {
    const daylight::Passage passage = k < sky.size()
                                          ? law->from(outside->compass().plan_from_world(sky.centroid(k)))
                                      : k == outside->ground_bin() ? law->from_ground()
                                                                   : law->from_facades();
    sources[static_cast<Eigen::Index>(k)] =
        static_cast<float>(bare[k] * passage.straight + incident[k] * scattered(passage));
  }
}

double reflected_share(const lightresponse::PointRows& rows, std::size_t row, std::size_t group,
                       const daylight::Outside& outside) {
  const std::span<const float> bare = rows.daylight_of(row, group);
  const std::span<const float> reflected = rows.daylight_reflected_of(row, group);
  double all = 0.0;
  double bounced = 0.0;
  for (std::size_t k = 0; k < outside.source_bin_count(); ++k) {
    all += bare[k];
    bounced += reflected[k];
  }
  return all > 0.0 ? bounced / all : 1.0;
}

namespace {

/// What a white solid's faces send back and their light, for one day's instants.
class FaceLight {
 public:
  FaceLight(const climate::SkyDivision& sky, const daylight::Compass& compass)
      : weights_(Eigen::MatrixXf::Zero(kPanel, static_cast<Eigen::Index>(sky.size()))) {
    static_assert(daylight::Outside::kFaces <= kPanel);
    for (std::size_t f = 0; f < daylight::Outside::kFaces; ++f) {
      normal_.push_back(compass.world_from_plan(daylight::Outside::face_normal(f)));
      for (std::size_t k = 0; k < sky.size(); ++k) {
        const double cosine = dot(sky.centroid(k), normal_[f]);
        if (cosine > 0.0)
          weights_(static_cast<Eigen::Index>(f), static_cast<Eigen::Index>(k)) =
              static_cast<float>(cosine * sky.solid_angle_sr(k));
      }
    }
  }

  /// Luminance of white faces, cd/m2, [face x instant]: sky as it stands, ground of `ground_lx` exitance
  /// below the horizon, and the sun; what solids hide from one another is left out.
  [[nodiscard]] Eigen::MatrixXf luminance(const Eigen::MatrixXf& tile, std::size_t sky_size,
                                          std::span<const double> ground_lx, std::span<const double> beam_lx,
                                          std::span<const Vector3> sun) const {
    Eigen::MatrixXf faces = weights_ * tile.topRows(static_cast<Eigen::Index>(sky_size));
    for (std::size_t i = 0; i < sun.size(); ++i)
      for (std::size_t f = 0; f < daylight::Outside::kFaces; ++f) {
        const double below = 0.5 * (1.0 - normal_[f].z);
        float& lx = faces(static_cast<Eigen::Index>(f), static_cast<Eigen::Index>(i));
        lx = static_cast<float>(
            (lx + below * ground_lx[i] + beam_lx[i] * std::max(0.0, dot(sun[i], normal_[f]))) / kPi);
      }
    return faces;
  }

 private:
  std::vector<Vector3> normal_;  // world axes
  Eigen::MatrixXf weights_;
};

}  // namespace

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

climate::WeatherTrack track_of(const domain::Project& project, const domain::WeatherYear& weather,
                               std::optional<climate::CloudDraw> clouds) {
  const climate::SunTrack sun(climate::place_of(project.site), project.site.utc_offset_h * kSecondsPerHour,
                              project.site.calendar_year);
  return {weather, sun, kStep_s, clouds};
}

BeamYear run_lines(const domain::Project& project, const climate::SkyDivision& sky,
                   const climate::WeatherTrack& weather, const DaylitInstants& instants,
                   std::span<const DaylightLine> lines, const Context& context) {
  fix_matrix_blocking();
  // Lines of every space under one another, padded to whole panels.
  const std::size_t bins = sky.size() + 1 + daylight::Outside::kFaces;
  const auto count = static_cast<Eigen::Index>(lines.size());
  const Eigen::Index padded = (count + kPanel - 1) / kPanel * kPanel;
  Eigen::MatrixXf coefficients = Eigen::MatrixXf::Zero(padded, static_cast<Eigen::Index>(bins));
  for (Eigen::Index i = 0; i < count; ++i)
    coefficients.row(i) = lines[static_cast<std::size_t>(i)].sources.transpose();

  const FaceLight face_light(sky, daylight::Compass(project.site.plan_north_deg));
  BeamYear beam{std::vector<double>(instants.middle.size(), 0.0),
                std::vector<double>(instants.middle.size(), 0.0)};
  context.executor.for_each(instants.day_begin.size(), [&](std::size_t day) {
    context.check_cancelled();
    const std::size_t first = instants.day_begin[day];
    const std::size_t last =
        day + 1 < instants.day_begin.size() ? instants.day_begin[day + 1] : instants.middle.size();
    const std::size_t n = last - first;
    if (n == 0) return;
    const std::span<const Vector3> suns = std::span(instants.sun).subspan(first, n);
    Eigen::MatrixXf tile(static_cast<Eigen::Index>(bins), static_cast<Eigen::Index>(n));
    const std::span<double> beam_lx = std::span(beam.lx).subspan(first, n);
    std::vector<double> ground_lx(n);
    for (std::size_t i = 0; i < n; ++i) {
      const climate::WeatherInstant now = weather.at(instants.middle[first + i]);
      const climate::SkyState sky_now = climate::sky_state(now);
      float* column = tile.col(static_cast<Eigen::Index>(i)).data();
      if (sky_now.dark()) {
        std::fill(column, column + bins, 0.0F);
        continue;
      }
      climate::sky_luminance(sky, sky_now, std::span(column, sky.size()));
      const double diffuse = sky_now.diffuse_horizontal_lx;
      const double global = diffuse + sky_now.beam_normal_lx * std::max(0.0, sky_now.sun.z);
      ground_lx[i] = project.site.ground_reflectance * global;
      column[sky.size()] = static_cast<float>(ground_lx[i] / kPi);
      beam_lx[i] = sky_now.beam_normal_lx;
      beam.w_m2[first + i] = now.beam_w_m2;
    }
    tile.bottomRows(daylight::Outside::kFaces) =
        face_light.luminance(tile, sky.size(), ground_lx, beam_lx, suns).topRows(daylight::Outside::kFaces);
    std::vector<SunStencil> stencil(n);
    for (std::size_t i = 0; i < n; ++i) stencil[i] = stencil_about(sky, suns[i]);
    multiply_in_panels(coefficients, tile, [&](Eigen::Index first_line, const auto& product) {
      for (Eigen::Index r = 0; r < std::min(product.rows(), count - first_line); ++r) {
        const DaylightLine& line = lines[static_cast<std::size_t>(first_line + r)];
        float* out = line.out + first;
        for (std::size_t i = 0; i < n; ++i) {
          double lx = product(r, static_cast<Eigen::Index>(i));
          if (beam_lx[i] > 0.0) {
            const Vector3 sun = line.outside->compass().plan_from_world(suns[i]);
            const double cosine = dot(sun, line.outward);
            if (cosine > 0.0) {
              const daylight::Passage passage = line.law->from(sun);
              double reflected = 0.0;
              for (std::size_t k = 0; k < 9; ++k)
                reflected += line.reflected[stencil[i].patch[k]] * stencil[i].weight[k];
              const double straight = line.sun_share[first + i] + reflected;
              lx += beam_lx[i] * (passage.straight * straight +
                                  line.sun_on_group[first + i] * cosine * line.scattered(passage));
            }
          }
          out[i] = static_cast<float>(lx);
        }
      }
    });
  });
  return beam;
}

}  // namespace halflight::sim
