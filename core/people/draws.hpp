#pragma once
#include "base/interval_set.hpp"
#include "base/poisson.hpp"
#include "base/random.hpp"
#include "base/time_axis.hpp"

#include <array>
#include <cmath>
#include <cstdint>

namespace halflight::people {

/// The questions of one subject (a room or a person), by civil day and slot.
struct Draws {
  RandomKey key;
  std::uint32_t replicate = 0;

  [[nodiscard]] double uniform(std::uint32_t day, std::uint32_t question, std::uint32_t slot) const {
    return random_uniform(key, {replicate, day, question, slot});
  }
  [[nodiscard]] std::array<double, 2> pair(std::uint32_t day, std::uint32_t question,
                                           std::uint32_t slot) const {
    return random_uniform_pair(key, {replicate, day, question, slot});
  }
  [[nodiscard]] double normal(std::uint32_t day, std::uint32_t question, std::uint32_t slot) const {
    return random_normal(key, {replicate, day, question, slot});
  }
  [[nodiscard]] RandomSeries series(std::uint32_t question) const {
    return RandomSeries(key, replicate, question);
  }
};

/// Day of the year by the clock, 0..364.
inline std::uint32_t civil_day(Seconds t, const CivilTime& clock) {
  return static_cast<std::uint32_t>((clock.civil(t) + kYear) % kYear / kDay);
}

/// An event of `length_s` from `at_s`, in whole seconds. Both ends are rounded down, so that the mean length
/// stays what it is; nothing is shorter than a second.
inline Interval whole_seconds(double at_s, double length_s) {
  const auto begin = static_cast<Seconds>(std::floor(at_s));
  const auto end = static_cast<Seconds>(std::floor(at_s + length_s));
  return {begin, end > begin ? end : begin + 1};
}

/// Lognormal by its mean and geometric standard deviation; the mean itself when the spread is 1.
inline double lognormal_of_mean(double mean, double spread, double u) {
  if (spread <= 1.0) return mean;
  const double sigma = std::log(spread);
  return mean * std::exp(sigma * inverse_normal(u) - 0.5 * sigma * sigma);
}

}  // namespace halflight::people
