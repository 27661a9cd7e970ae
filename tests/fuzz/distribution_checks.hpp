#pragma once
#include "domain/intensity_distribution.hpp"
#include "formats/photometric_file.hpp"
#include "fuzz_target.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

namespace halflight::fuzz {

inline bool all_finite(const std::vector<double>& values) {
  return std::all_of(values.begin(), values.end(), [](double v) { return std::isfinite(v); });
}

/// What holds for every distribution that a reader gives: numbers are finite, no direction has a negative or
/// unbounded intensity, and writing and reading gives the same numbers back.
inline void require_good(const domain::IntensityDistribution& distribution) {
  const domain::PhotometricData& data = distribution.data();
  require(all_finite(data.candela) && all_finite(data.vertical_deg) && all_finite(data.horizontal_deg),
          "the table is finite");
  require(data.candela.size() == data.vertical_deg.size() * data.horizontal_deg.size(), "the table is full");
  require(std::isfinite(data.input_w) && std::isfinite(data.ballast_factor), "watts and factors are finite");
  require(!distribution.declared_lumens() || std::isfinite(*distribution.declared_lumens()),
          "lumens are finite");
  const double peak = *std::max_element(data.candela.begin(), data.candela.end());
  for (int v = -90; v <= 180; v += 15)
    for (int h = -90; h <= 360; h += 30) {
      const double cd = distribution.intensity_cd(domain::direction_of(data.type, v, h));
      require(cd >= 0.0 && cd <= peak * (1.0 + 1e-12), "between the table's values lie its values");
    }
  for (int tilt = -180; tilt <= 180; tilt += 20)
    require(std::isfinite(distribution.lamp_tilt_factor(tilt)), "the effect of tilt is finite");

  // Writing adds up to four keywords, and a file may not have more than 1,000.
  if (data.keywords.size() > 996) return;
  const std::string text = formats::write_lm63(distribution);
  const auto again = formats::read_photometry(std::as_bytes(std::span(text)), "written.ies", nullptr);
  require(again.has_value(), "what is written reads back");
  require(again->data().candela == data.candela && again->data().vertical_deg == data.vertical_deg &&
              again->data().horizontal_deg == data.horizontal_deg,
          "what is written reads back as the same table");
}

}  // namespace halflight::fuzz
