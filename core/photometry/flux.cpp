#include "photometry/flux.hpp"

#include "base/sums.hpp"
#include "base/units.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace halflight::photometry {
namespace {

using domain::IntensityDistribution;
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

double plane_cd(const IntensityDistribution& distribution, double plane_deg, double angle_deg) {
  const PhotometricType type = distribution.data().type;
  if (type == PhotometricType::c) {
    const double plane = angle_deg < 0.0 ? plane_deg + 180.0 : plane_deg;
    return distribution.intensity_cd(domain::direction_of(type, std::abs(angle_deg), plane));
  }
  return distribution.intensity_cd(plane_deg == 0.0 ? domain::direction_of(type, 0.0, angle_deg)
                                                    : domain::direction_of(type, angle_deg, 0.0));
}

std::optional<double> beam_angle_deg(const IntensityDistribution& distribution, double plane_deg,
                                     double share) {
  constexpr double kStep_deg = 0.25;
  const double end = distribution.data().type == PhotometricType::c ? 180.0 : 90.0;
  const auto at = [&](double angle) { return plane_cd(distribution, plane_deg, angle); };
  double peak = 0.0;
  double peak_deg = 0.0;
  for (double angle = -end; angle <= end; angle += kStep_deg)
    if (const double cd = at(angle); cd > peak) {
      peak = cd;
      peak_deg = angle;
    }
  if (peak <= 0.0) return std::nullopt;
  // From the horizon of the peak's hemisphere inwards, to the first direction that is bright enough. Upwards
  // the middle is the zenith.
  const double middle = std::abs(peak_deg) <= 90.0 ? 0.0 : 180.0;
  const auto outermost = [&](double side) {
    const auto cd = [&](double from_middle) {
      const double angle = middle == 0.0 ? side * from_middle : side * (180.0 - from_middle);
      return at(angle);
    };
    double low = 90.0;
    while (low > 0.0 && cd(low) < share * peak) low -= kStep_deg;
    if (low <= 0.0 || low >= 90.0) return std::max(low, 0.0);
    double high = low + kStep_deg;
    for (int i = 0; i < 40; ++i) {
      const double half = 0.5 * (low + high);
      (cd(half) < share * peak ? high : low) = half;
    }
    return low;
  };
  return outermost(1.0) + outermost(-1.0);
}

}  // namespace halflight::photometry
