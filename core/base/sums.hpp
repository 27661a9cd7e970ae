#pragma once
#include <cmath>
#include <span>

namespace halflight {

/// Neumaier's compensated sum: the error does not grow with the number of terms, so totals close to 1e-9
/// whatever the order of rooms (A. Neumaier, ZAMM 54, 1974).
class CompensatedSum {
 public:
  void add(double x) {
    const double t = sum_ + x;
    correction_ += std::abs(sum_) >= std::abs(x) ? (sum_ - t) + x : (x - t) + sum_;
    sum_ = t;
  }
  [[nodiscard]] double value() const { return sum_ + correction_; }

 private:
  double sum_ = 0.0;
  double correction_ = 0.0;
};

inline double ordered_sum(std::span<const double> values) {
  CompensatedSum sum;
  for (const double v : values) sum.add(v);
  return sum.value();
}

}  // namespace halflight
