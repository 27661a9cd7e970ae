#pragma once
#include "domain/intensity_distribution.hpp"

#include <vector>

// Tables for the tests of this module and nothing else.
namespace halflight::photometry {

inline std::vector<double> steps(double from, double to, double step) {
  std::vector<double> angles;
  for (int i = 0; from + i * step <= to + 1e-9; ++i) angles.push_back(from + i * step);
  return angles;
}

/// A table filled from a function of (vertical, horizontal) in degrees.
template <class Intensity>
domain::IntensityDistribution tabulate(domain::PhotometricType type, std::vector<double> vertical,
                                       std::vector<double> horizontal, const Intensity& intensity,
                                       domain::LuminousOpening opening = {}) {
  domain::PhotometricData data;
  data.type = type;
  data.vertical_deg = std::move(vertical);
  data.horizontal_deg = std::move(horizontal);
  for (const double h : data.horizontal_deg)
    for (const double v : data.vertical_deg) data.candela.push_back(intensity(v, h));
  data.opening = opening;
  return domain::IntensityDistribution::make(std::move(data)).value();
}

}  // namespace halflight::photometry
