#pragma once
#include "base/random.hpp"

#include <cmath>

namespace halflight {

/// Poisson number by inversion: grows with the mean for the same `u`, so that a busier run keeps a quiet
/// run's events. Means above 500 take the normal distribution of the same mean and variance.
class Poisson {
 public:
  explicit Poisson(double mean) : mean_(mean), none_(std::exp(-mean)) {}
  [[nodiscard]] int at(double u) const {
    if (mean_ > 500.0) return static_cast<int>(std::lround(mean_ + std::sqrt(mean_) * inverse_normal(u)));
    double p = none_;
    double below = p;
    int n = 0;
    while (u > below && p > 0.0) {
      ++n;
      p *= mean_ / n;
      below += p;
    }
    return n;
  }

 private:
  double mean_;
  double none_;  // chance of no event
};

}  // namespace halflight
