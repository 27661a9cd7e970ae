#include "energy/integrate.hpp"

#include <algorithm>

namespace halflight::energy {

GroupEnergy::GroupEnergy(std::vector<PowerCurve> curves, double trim, std::vector<double> limit_of_full,
                         Seconds step_s)
    : curves_(std::move(curves)),
      trim_(trim),
      standby_w_(energy::standby_w(curves_)),
      limit_(std::move(limit_of_full)),
      step_s_(step_s) {
  daylight_switches_ = std::any_of(limit_.begin(), limit_.end(), [](double limit) { return limit <= 0.0; });
  if (daylight_switches_)
    daylight_on_ =
        StepIntegral(limit_.size(), step_s_, [&](std::size_t k) { return limit_[k] > 0.0 ? 1.0 : 0.0; });
}

GroupEnergy::Table& GroupEnergy::table_of(double level) {
  const auto known =
      std::find_if(tables_.begin(), tables_.end(), [&](const Table& t) { return t.level == level; });
  if (known != tables_.end()) return *known;
  const double asked = level * trim_;
  Table table{level, energy::on_w(curves_, asked), {}};
  if (!limit_.empty()) {
    if (curves_.size() == 1) {
      const PowerCurve curve = curves_.front();
      const double* limit = limit_.data();
      table.watts = StepIntegral(limit_.size(), step_s_,
                                 [=](std::size_t k) { return curve.on_w(std::min(asked, limit[k])); });
    } else {
      table.watts = StepIntegral(limit_.size(), step_s_, [&](std::size_t k) {
        return energy::on_w(curves_, std::min(asked, limit_[k]));
      });
    }
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
  if (!daylight_switches_) return static_cast<double>(end - begin);
  return daylight_on_.over(begin, end);
}

}  // namespace halflight::energy
