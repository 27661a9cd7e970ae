#include "photometry/flux.hpp"

#include "base/sums.hpp"
#include "base/units.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <fmt/format.h>

namespace halflight::photometry {
namespace {

using domain::IntensityDistribution;
using domain::LuminousOpening;
using domain::PhotometricType;
using domain::Symmetry;

/// Integral of I(t) sin t over [a, b] radians, I linear from `at_a` to `at_b`.
double polar_integral(double a, double b, double at_a, double at_b) {
  const double slope = (at_b - at_a) / (b - a);
  return at_a * std::cos(a) - at_b * std::cos(b) + slope * (std::sin(b) - std::sin(a));
}

/// The table seen as polar angle x azimuth about its own polar axis, degrees. Solid angle is sin(polar)
/// d(polar) d(azimuth) for every type: type C turns about z, type A about z with elevation, type B about y.
struct PolarView {
  const IntensityDistribution& distribution;
  bool polar_is_vertical;
  double polar_offset_deg;

  explicit PolarView(const IntensityDistribution& d)
      : distribution(d),
        polar_is_vertical(d.data().type != PhotometricType::b),
        polar_offset_deg(d.data().type == PhotometricType::c ? 0.0 : 90.0) {}
  [[nodiscard]] const std::vector<double>& polar() const {
    return polar_is_vertical ? distribution.data().vertical_deg : distribution.data().horizontal_deg;
  }
  [[nodiscard]] const std::vector<double>& azimuth() const {
    return polar_is_vertical ? distribution.data().horizontal_deg : distribution.data().vertical_deg;
  }
  [[nodiscard]] double candela(double polar_deg, double azimuth_deg) const {
    return polar_is_vertical ? distribution.table_cd(polar_deg, azimuth_deg)
                             : distribution.table_cd(azimuth_deg, polar_deg);
  }
  /// Over the part of the polar cell [a, b] at one azimuth, sr cd per radian of azimuth.
  [[nodiscard]] double column(double a, double b, double azimuth_deg) const {
    return polar_integral((a + polar_offset_deg) * kRadPerDeg, (b + polar_offset_deg) * kRadPerDeg,
                          candela(a, azimuth_deg), candela(b, azimuth_deg));
  }
};

double multiplicity(Symmetry symmetry) {
  switch (symmetry) {
    case Symmetry::none:
    case Symmetry::rotational:
      return 1.0;
    case Symmetry::bilateral_0_180:
    case Symmetry::bilateral_90_270:
    case Symmetry::mirrored_h:
      return 2.0;
    case Symmetry::quadrant:
      return 4.0;
  }
  return 1.0;
}

/// Flux of the table's angles up to `polar_limit_deg` and `azimuth_limit_deg`.
double integrate(const IntensityDistribution& distribution, double polar_limit_deg,
                 double azimuth_limit_deg) {
  const PolarView view(distribution);
  const std::vector<double>& polar = view.polar();
  const std::vector<double>& azimuth = view.azimuth();
  CompensatedSum sum;
  for (std::size_t p = 0; p + 1 < polar.size(); ++p) {
    const double a = polar[p];
    const double b = std::min(polar[p + 1], polar_limit_deg);
    if (b <= a) break;
    if (azimuth.size() == 1) {
      sum.add(2.0 * kPi * view.column(a, b, azimuth[0]));
      continue;
    }
    for (std::size_t k = 0; k + 1 < azimuth.size(); ++k) {
      const double from = azimuth[k];
      const double to = std::min(azimuth[k + 1], azimuth_limit_deg);
      if (to <= from) break;
      // Linear in azimuth: the mean over the cell is the value at its middle.
      sum.add((to - from) * kRadPerDeg * view.column(a, b, 0.5 * (from + to)));
    }
  }
  return multiplicity(distribution.symmetry()) * sum.value();
}

constexpr double kNoLimit_deg = 1e3;

class Warnings {
 public:
  Warnings(Diagnostics& list, const std::string& file) : list_(list), file_(file) {}
  void add(std::string problem, std::string remedy) {
    list_.push_back({Diagnostic::Severity::warning, file_, "", std::move(problem), std::move(remedy)});
  }

 private:
  Diagnostics& list_;
  const std::string& file_;
};

double widest_step(const std::vector<double>& angles) {
  double widest = 0.0;
  for (std::size_t i = 1; i < angles.size(); ++i) widest = std::max(widest, angles[i] - angles[i - 1]);
  return widest;
}

// The limits below are common practice without a published source; each only asks the reader to look again.
constexpr double kWideVerticalStep_deg = 10.0;
constexpr double kWideHorizontalStep_deg = 45.0;
constexpr double kEdgeShare = 0.05;
constexpr double kLeastOutputRatio = 0.2;
constexpr double kMostOutputRatio = 1.02;  // rounding of declared lumens, and of integration, stays below 2 %
constexpr double kLeastEfficacy_lm_w = 5.0;
constexpr double kMostEfficacy_lm_w = 250.0;
constexpr double kLongOpening_m = 5.0;

void judge(PhotometricSummary& s, const IntensityDistribution& distribution, const std::string& file) {
  Warnings warnings(s.warnings, file);
  const domain::PhotometricData& data = distribution.data();
  if (s.lumens <= 0.0) {
    warnings.add("every intensity is 0 cd", "check that the file is complete; it describes a dark luminaire");
    return;
  }
  if (s.light_output_ratio && *s.light_output_ratio > kMostOutputRatio)
    warnings.add(fmt::format("the luminaire gives {:.0f} lm, more than its lamps' {:.0f} lm", s.lumens,
                             *s.declared_lumens),
                 "check the candela multiplier, the number of lamps and the lumens per lamp");
  if (s.light_output_ratio && *s.light_output_ratio < kLeastOutputRatio)
    warnings.add(fmt::format("only {:.1f} % of the lamps' {:.0f} lm leave the luminaire",
                             100.0 * *s.light_output_ratio, *s.declared_lumens),
                 "check the candela multiplier, the number of lamps and the lumens per lamp");
  if (const double step = widest_step(data.vertical_deg); step > kWideVerticalStep_deg)
    warnings.add(
        fmt::format("vertical angles are up to {:g} degrees apart", step),
        "steps of 5 degrees or less resolve a beam; flux and illuminance are interpolated in the gap");
  if (const double step = widest_step(data.horizontal_deg); step > kWideHorizontalStep_deg)
    warnings.add(fmt::format("horizontal angles are up to {:g} degrees apart", step),
                 "steps of 22.5 degrees or less resolve an asymmetric beam");
  if (data.type == PhotometricType::c) {
    const bool ends_low = data.vertical_deg.back() < 135.0;
    const bool starts_high = data.vertical_deg.front() > 45.0;
    double edge = 0.0;
    for (std::size_t h = 0; h < data.horizontal_deg.size(); ++h) {
      if (ends_low) edge = std::max(edge, distribution.candela(h, data.vertical_deg.size() - 1));
      if (starts_high) edge = std::max(edge, distribution.candela(h, 0));
    }
    if (edge > kEdgeShare * s.peak.candela)
      warnings.add(
          fmt::format("the table stops at 90 degrees with {:.4g} cd, {:.0f} % of the largest intensity", edge,
                      100.0 * edge / s.peak.candela),
          "a luminaire that shines sideways usually shines past the horizontal too; ask for angles 0 to 180");
  }
  if (data.input_w <= 0.0)
    warnings.add("input watts are not stated",
                 "enter the watts from the luminaire's label; energy rests on them");
  else if (*s.efficacy_lm_w > kMostEfficacy_lm_w)
    warnings.add(fmt::format("{:.0f} lm/W is more than white light sources give", *s.efficacy_lm_w),
                 "check the input watts and the candela multiplier");
  else if (*s.efficacy_lm_w < kLeastEfficacy_lm_w)
    warnings.add(fmt::format("{:.1f} lm/W is less than a tungsten lamp gives", *s.efficacy_lm_w),
                 "check the input watts and the candela multiplier");
  const LuminousOpening& o = s.opening;
  if (const double longest = std::max({o.length_m, o.width_m, o.height_m}); longest > kLongOpening_m)
    warnings.add(fmt::format("the luminous opening is {:.2f} m long", longest),
                 "check the units: dimensions in feet or metres as the file's units number says");
}

}  // namespace

double flux_lm(const IntensityDistribution& distribution) {
  return integrate(distribution, kNoLimit_deg, kNoLimit_deg);
}

double downward_flux_lm(const IntensityDistribution& distribution) {
  switch (distribution.data().type) {
    case PhotometricType::c:
      return integrate(distribution, 90.0, kNoLimit_deg);
    case PhotometricType::a:
      return integrate(distribution, 0.0, kNoLimit_deg);  // elevation below 0
    case PhotometricType::b:
      return integrate(distribution, kNoLimit_deg, 0.0);  // V turns up from the aim
  }
  return 0.0;
}

PeakIntensity peak_intensity(const IntensityDistribution& distribution) {
  const domain::PhotometricData& data = distribution.data();
  PeakIntensity peak{-1.0, 0.0, 0.0};
  for (std::size_t h = 0; h < data.horizontal_deg.size(); ++h)
    for (std::size_t v = 0; v < data.vertical_deg.size(); ++v)
      if (const double cd = distribution.candela(h, v); cd > peak.candela)
        peak = {cd, data.vertical_deg[v], data.horizontal_deg[h]};
  return peak;
}

std::optional<double> spacing_to_height(const IntensityDistribution& distribution, double plane_deg) {
  if (distribution.data().type != PhotometricType::c) return std::nullopt;
  const double below = distribution.intensity_cd({0.0, 0.0, -1.0});
  if (below <= 0.0) return std::nullopt;
  // Two luminaires stand on either side of the middle; an asymmetric one shows it its two halves.
  const auto excess = [&](double t_deg) {
    const double cosine = std::cos(t_deg * kRadPerDeg);
    return (distribution.intensity_cd(domain::direction_of(PhotometricType::c, t_deg, plane_deg)) +
            distribution.intensity_cd(domain::direction_of(PhotometricType::c, t_deg, plane_deg + 180.0))) *
               cosine * cosine * cosine -
           below;
  };
  double low = 0.0;
  while (low < 90.0 && excess(low + 0.5) > 0.0) low += 0.5;
  double high = low + 0.5;
  for (int i = 0; i < 50; ++i) {
    const double middle = 0.5 * (low + high);
    (excess(middle) > 0.0 ? low : high) = middle;
  }
  return 2.0 * std::tan(low * kRadPerDeg);
}

PhotometricSummary photometric_summary(const IntensityDistribution& distribution,
                                       const std::string& file_name) {
  const domain::PhotometricData& data = distribution.data();
  PhotometricSummary s;
  s.type = data.type;
  s.symmetry = distribution.symmetry();
  s.opening = data.opening;
  s.lumens = flux_lm(distribution);
  s.declared_lumens = distribution.declared_lumens();
  if (s.declared_lumens) s.light_output_ratio = s.lumens / *s.declared_lumens;
  if (s.lumens > 0.0) {
    s.downward_fraction = downward_flux_lm(distribution) / s.lumens;
    s.upward_fraction = 1.0 - s.downward_fraction;
  }
  s.peak = peak_intensity(distribution);
  s.spacing_along = spacing_to_height(distribution, 0.0);
  s.spacing_across = spacing_to_height(distribution, 90.0);
  s.input_w = data.input_w;
  if (data.input_w > 0.0) s.efficacy_lm_w = s.lumens / data.input_w;
  judge(s, distribution, file_name);
  return s;
}

std::string to_text(const PhotometricSummary& s) {
  std::string text;
  const auto line = [&text](std::string_view label, const std::string& value) {
    text += fmt::format("{:<22}{}\n", label, value);
  };
  line("Photometric type", std::string(name_of(s.type)));
  line("Symmetry", std::string(name_of(s.symmetry)));
  line("Luminous opening",
       fmt::format("{}, {:.3f} m long, {:.3f} m wide, {:.3f} m high", name_of(s.opening.shape),
                   s.opening.length_m, s.opening.width_m, s.opening.height_m));
  line("Lumens, integrated", fmt::format("{:.1f} lm", s.lumens));
  line("Lumens, declared", s.declared_lumens ? fmt::format("{:.1f} lm of lamps, light output ratio {:.1f} %",
                                                           *s.declared_lumens, 100.0 * *s.light_output_ratio)
                                             : std::string("absolute photometry"));
  line("Down, up", fmt::format("{:.1f} %, {:.1f} %", 100.0 * s.downward_fraction, 100.0 * s.upward_fraction));
  line("Largest intensity", fmt::format("{:.1f} cd at vertical {:g}, horizontal {:g} degrees", s.peak.candela,
                                        s.peak.vertical_deg, s.peak.horizontal_deg));
  if (s.spacing_along && s.spacing_across)
    line("Spacing over height",
         fmt::format("{:.2f} along, {:.2f} across", *s.spacing_along, *s.spacing_across));
  line("Input power", s.input_w > 0.0 ? fmt::format("{:g} W", s.input_w) : std::string("not stated"));
  if (s.efficacy_lm_w) line("Efficacy", fmt::format("{:.1f} lm/W", *s.efficacy_lm_w));
  for (const Diagnostic& warning : s.warnings) text += halflight::to_text(warning) + "\n";
  return text;
}

}  // namespace halflight::photometry
