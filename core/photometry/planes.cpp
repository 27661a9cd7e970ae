#include "photometry/planes.hpp"

#include "photometry/flux.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace halflight::photometry {
namespace {

PlaneCurve curve(const domain::IntensityDistribution& distribution, double plane_deg) {
  const int end = distribution.data().type == domain::PhotometricType::c ? 360 : 180;  // half degrees
  PlaneCurve c;
  for (int i = -end; i <= end; ++i) {
    c.angle_deg.push_back(0.5 * i);
    c.candela.push_back(plane_cd(distribution, plane_deg, 0.5 * i));
  }
  return c;
}

PlaneCurve c_plane(const domain::IntensityDistribution& distribution, double plane_deg) {
  PlaneCurve c = curve(distribution, plane_deg);
  c.positive = fmt::format("C{:g}", std::fmod(plane_deg, 360.0));
  c.negative = fmt::format("C{:g}", std::fmod(plane_deg + 180.0, 360.0));
  c.name = c.positive + " to " + c.negative;
  return c;
}

PlaneCurve through_aim(const domain::IntensityDistribution& distribution, char along, char other) {
  PlaneCurve c = curve(distribution, along == 'H' ? 0.0 : 90.0);
  c.name = fmt::format("along {}, {} = 0", along, other);
  c.positive = fmt::format("{} above 0", along);
  c.negative = fmt::format("{} below 0", along);
  return c;
}

double largest(const PlaneCurve& c) { return *std::max_element(c.candela.begin(), c.candela.end()); }

}  // namespace

std::vector<PlaneCurve> plane_curves(const domain::IntensityDistribution& distribution) {
  if (distribution.data().type != domain::PhotometricType::c)
    return {through_aim(distribution, 'H', 'V'), through_aim(distribution, 'V', 'H')};
  if (distribution.symmetry() == domain::Symmetry::rotational) {
    PlaneCurve every = curve(distribution, 0.0);
    every.name = "every plane";
    return {every};
  }
  std::vector<PlaneCurve> curves{c_plane(distribution, 0.0), c_plane(distribution, 90.0)};
  constexpr double kAbove = 1.05;
  const PeakIntensity peak = peak_intensity(distribution);
  if (peak.candela > kAbove * std::max(largest(curves[0]), largest(curves[1])))
    curves.push_back(c_plane(distribution, peak.horizontal_deg));
  return curves;
}

}  // namespace halflight::photometry
