#include "climate/sky_division.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

namespace halflight::climate {

namespace {

constexpr std::array<int, 7> kPatchesInBand = {30, 30, 24, 24, 18, 12, 6};

Vector3 toward(double elevation_sine, double azimuth_rad) {
  const double c = std::sqrt(std::max(0.0, 1.0 - elevation_sine * elevation_sine));
  return {c * std::sin(azimuth_rad), c * std::cos(azimuth_rad), elevation_sine};
}

}  // namespace

SkyDivision::SkyDivision(int m) : m_(m) {
  assert(m >= 1 && m <= 6);
  const auto bands = static_cast<std::size_t>(7 * m);
  row_height_rad_ = 0.5 * kPi / (static_cast<double>(bands) + 0.5);
  std::size_t first = 0;
  for (std::size_t row = 0; row <= bands; ++row) {
    row_begin_.push_back(first);
    row_sine_.push_back(std::sin(static_cast<double>(row) * row_height_rad_));
    first +=
        row < bands ? static_cast<std::size_t>(m * kPatchesInBand[row / static_cast<std::size_t>(m)]) : 1;
  }
  row_begin_.push_back(first);

  const std::size_t count = first;
  solid_angle_sr_.resize(count);
  cosine_solid_angle_sr_.resize(count);
  centroid_.resize(count);
  // As many samples as make the average of a steep corona good to a per cent; near the sun the model refines.
  samples_.side = m == 1 ? 4 : 2;
  const auto side = static_cast<std::size_t>(samples_.side);
  for (auto* axis : {&samples_.x, &samples_.y, &samples_.z}) axis->resize(side * side * count);
  samples_.elevation_sine.resize(rows() * side);

  for (std::size_t row = 0; row < rows(); ++row) {
    const Bounds b = bounds(row_begin_[row]);
    const double low = std::sin(b.low_elevation_rad);
    const double high = std::sin(b.high_elevation_rad);
    const double step = b.high_azimuth_rad - b.low_azimuth_rad;
    // Integrals of the direction's components over the patch, for its centre of gravity.
    const double vertical = 0.5 * (high * high - low * low) * step;
    const double outward =
        0.5 *
        ((b.high_elevation_rad - b.low_elevation_rad) +
         0.5 * (std::sin(2.0 * b.high_elevation_rad) - std::sin(2.0 * b.low_elevation_rad))) *
        2.0 * std::sin(0.5 * step);
    const auto sample_sine = [&](std::size_t k) {
      return low + (high - low) * (static_cast<double>(k) + 0.5) / static_cast<double>(side);
    };
    for (std::size_t k = 0; k < side; ++k)
      samples_.elevation_sine[row * side + k] = static_cast<float>(sample_sine(k));
    for (std::size_t p = row_begin_[row]; p < row_begin_[row + 1]; ++p) {
      const double begin = step * static_cast<double>(p - row_begin_[row]);
      solid_angle_sr_[p] = (high - low) * step;
      cosine_solid_angle_sr_[p] = vertical;
      const double middle = begin + 0.5 * step;
      centroid_[p] = row + 1 == rows()
                         ? Vector3{0.0, 0.0, 1.0}
                         : normalized({outward * std::sin(middle), outward * std::cos(middle), vertical});
      for (std::size_t k = 0; k < side * side; ++k) {
        const double azimuth =
            begin + step * (static_cast<double>(k % side) + 0.5) / static_cast<double>(side);
        const Vector3 v = toward(sample_sine(k / side), azimuth);
        samples_.x[k * count + p] = static_cast<float>(v.x);
        samples_.y[k * count + p] = static_cast<float>(v.y);
        samples_.z[k * count + p] = static_cast<float>(v.z);
      }
    }
  }
}

std::size_t SkyDivision::row_of(std::size_t patch) const {
  const auto above = std::upper_bound(row_begin_.begin(), row_begin_.end(), patch);
  return static_cast<std::size_t>(above - row_begin_.begin()) - 1;
}

std::size_t SkyDivision::patch_of(Vector3 v) const {
  const auto above = std::upper_bound(row_sine_.begin() + 1, row_sine_.end(), v.z);
  const auto row = static_cast<std::size_t>(above - row_sine_.begin()) - 1;
  const std::size_t begin = row_begin_[row];
  const std::size_t count = row_begin_[row + 1] - begin;
  double turn = std::atan2(v.x, v.y) / (2.0 * kPi);
  if (turn < 0.0) turn += 1.0;
  return begin + std::min(static_cast<std::size_t>(turn * static_cast<double>(count)), count - 1);
}

SkyDivision::Bounds SkyDivision::bounds(std::size_t patch) const {
  const std::size_t row = row_of(patch);
  const auto r = static_cast<double>(row);
  const double step = 2.0 * kPi / static_cast<double>(row_begin_[row + 1] - row_begin_[row]);
  const auto i = static_cast<double>(patch - row_begin_[row]);
  return {r * row_height_rad_, std::min((r + 1.0) * row_height_rad_, 0.5 * kPi), i * step, (i + 1.0) * step};
}

}  // namespace halflight::climate
