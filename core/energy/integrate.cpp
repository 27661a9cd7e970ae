#include "energy/integrate.hpp"

#include <algorithm>

namespace halflight::energy {

GroupEnergy::GroupEnergy(std::vector<PowerCurve> curves, double trim, std::span<const double> limit_of_full,
                         Seconds step_s)
    : curves_(std::move(curves)), standby_w_(energy::standby_w(curves_)), step_s_(step_s) {
  set_limit(trim, limit_of_full);
}

void GroupEnergy::set_limit(double trim, std::span<const double> limit_of_full) {
  trim_ = trim;
  limit_.assign(limit_of_full.begin(), limit_of_full.end());
  made_ = 0;
  daylight_switches_ = std::any_of(limit_.begin(), limit_.end(), [](double limit) { return limit <= 0.0; });
  if (daylight_switches_)
    daylight_on_.assign(limit_.size(), step_s_, [&](std::size_t k) { return limit_[k] > 0.0 ? 1.0 : 0.0; });
}

GroupEnergy::Table& GroupEnergy::table_of(double level) {
  for (std::size_t i = 0; i < made_; ++i)
    if (tables_[i].level == level) return tables_[i];
  if (made_ == tables_.size()) tables_.emplace_back();
  Table& table = tables_[made_++];
  const double asked = level * trim_;
  table.level = level;
  table.flat_w = energy::on_w(curves_, asked);
  if (limit_.empty()) return table;
  if (curves_.size() == 1) {
    const PowerCurve curve = curves_.front();
    const double* limit = limit_.data();
    table.watts.assign(limit_.size(), step_s_,
                       [=](std::size_t k) { return curve.on_w(std::min(asked, limit[k])); });
  } else {
    table.watts.assign(limit_.size(), step_s_,
                       [&](std::size_t k) { return energy::on_w(curves_, std::min(asked, limit_[k])); });
  }
  return table;
}

double GroupEnergy::over_few_steps(double asked, Seconds begin, Seconds end) const {
  double sum = 0.0;
  for (Seconds t = begin; t < end;) {
    const Seconds step = t / step_s_;
    const Seconds until = std::min(end, (step + 1) * step_s_);
    sum += energy::on_w(curves_, std::min(asked, limit_[static_cast<std::size_t>(step)])) *
           static_cast<double>(until - t);
    t = until;
  }
  return sum;
}

double GroupEnergy::on_watt_seconds(double level, Seconds begin, Seconds end) {
  // Dips before off last half a minute: a table of the whole year for their level would cost more than it
  // spares.
  if (!limit_.empty() && end - begin <= step_s_) return over_few_steps(level * trim_, begin, end);
  const Table& table = table_of(level);
  if (limit_.empty()) return table.flat_w * static_cast<double>(end - begin);
  return table.watts.over(begin, end);
}

double GroupEnergy::lit_seconds(Seconds begin, Seconds end) const {
  if (!daylight_switches_) return static_cast<double>(end - begin);
  return daylight_on_.over(begin, end);
}

}  // namespace halflight::energy
