#include "energy/integrate.hpp"

#include <algorithm>

namespace halflight::energy {

StepIntegral::StepIntegral(std::span<const double> values, Seconds step_s)
    : step_s_(step_s), length_(static_cast<Seconds>(values.size()) * step_s) {
  values_.assign(values.begin(), values.end());
  values_.push_back(0.0);
  sums_.resize(values_.size());
  double sum = 0.0;
  const auto step = static_cast<double>(step_s);
  for (std::size_t k = 0; k < values.size(); ++k) {
    sums_[k] = sum;
    sum += values[k] * step;
  }
  sums_.back() = sum;
}

GroupEnergy::GroupEnergy(std::vector<PowerCurve> curves, double trim, std::vector<double> limit_of_full,
                         Seconds step_s)
    : curves_(std::move(curves)),
      trim_(trim),
      standby_w_(energy::standby_w(curves_)),
      limit_(std::move(limit_of_full)),
      step_s_(step_s) {
  if (limit_.empty()) return;
  std::vector<double> on(limit_.size());
  std::transform(limit_.begin(), limit_.end(), on.begin(),
                 [](double limit) { return limit > 0.0 ? 1.0 : 0.0; });
  daylight_on_ = StepIntegral(on, step_s_);
}

GroupEnergy::Table& GroupEnergy::table_of(double level) {
  const auto known =
      std::find_if(tables_.begin(), tables_.end(), [&](const Table& t) { return t.level == level; });
  if (known != tables_.end()) return *known;
  const double asked = level * trim_;
  Table table{level, energy::on_w(curves_, asked), {}};
  if (!limit_.empty()) {
    std::vector<double> watts(limit_.size(), 0.0);
    for (const PowerCurve& curve : curves_)
      for (std::size_t k = 0; k < limit_.size(); ++k) watts[k] += curve.on_w(std::min(asked, limit_[k]));
    table.watts = StepIntegral(watts, step_s_);
  }
  tables_.push_back(std::move(table));
  return tables_.back();
}

double GroupEnergy::on_watt_seconds(double level, Seconds begin, Seconds end) {
  const Table& table = table_of(level);
  if (limit_.empty()) return table.flat_w * static_cast<double>(end - begin);
  return table.watts.over(begin, end);
}

double GroupEnergy::lit_seconds(Seconds begin, Seconds end) const {
  if (limit_.empty()) return static_cast<double>(end - begin);
  return daylight_on_.over(begin, end);
}

}  // namespace halflight::energy
