#include "choose/receptacle_part.hpp"

#include "base/time_axis.hpp"
#include "base/units.hpp"
#include "choose/controller_part.hpp"
#include "codes/requirements.hpp"
#include "domain/electrical_rules.hpp"
#include "energy/estimate.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

using domain::DeviceKind;
using domain::PlugDevice;
using SwitchedBy = PlugDevice::SwitchedBy;

constexpr std::array kWays = {SwitchedBy::nothing, SwitchedBy::controlled_receptacle,
                              SwitchedBy::plug_in_outlet};
constexpr double kHoursOfYear = static_cast<double>(kYear) / kSecondsPerHour;
/// Kinds of devices whose ways are all combined.
constexpr std::size_t kMostCombined = 8;

std::size_t at(SwitchedBy way) { return static_cast<std::size_t>(way); }

/// What the outlets of a room are made of; null where nothing of the sort can be put in.
struct OutletKinds {
  const DeviceKind* controlled = nullptr;
  const DeviceKind* relay = nullptr;
  const DeviceKind* with_sensor = nullptr;
  int outlets_of_a_relay = 1;
};

class Chooser {
 public:
  Chooser(const domain::Project& project, const domain::Library& library, const domain::Space& space,
          int asked, const std::vector<std::vector<sim::PlugUseByWay>>& years)
      : project_(project), loads_(space.plug_loads), asked_(asked), years_(years) {
    const auto outlet = [&](SwitchedBy way) {
      return cheapest_kind(project, library, space,
                           [&](const DeviceKind& kind) { return kind.switches_plugs == way; });
    };
    kinds_.controlled = outlet(SwitchedBy::controlled_receptacle);
    kinds_.with_sensor = outlet(SwitchedBy::plug_in_outlet);
    kinds_.relay = cheapest_kind(project, library, space, [](const DeviceKind& kind) {
      return kind.load && kind.load->action == domain::LoadController::Action::on_off &&
             kind.mounting == DeviceKind::Mounting::ceiling_void && !kind.occupancy;
    });
    if (kinds_.relay == nullptr) kinds_.controlled = nullptr;
    if (kinds_.controlled != nullptr) {
      const domain::ElectricalRules* rules = domain::electrical_rules_of(project, library);
      const double share = rules == nullptr ? 1.0 : rules->continuous_share;
      kinds_.outlets_of_a_relay =
          std::max(1, static_cast<int>(kinds_.relay->load->limit_a * share / kOutlet_a));
    }
    for (const PlugDevice& device : loads_.devices)
      if (!domain::may_be_switched(device)) stay_on_ += device.count;
    price_ = project.tariffs.empty() ? kUsualPricePerKwh * project.estimate.per_library_currency
                                     : project.tariffs.front().energy_per_kwh;
  }

  [[nodiscard]] ReceptaclePart choose(int scrambles) {
    by_.assign(loads_.devices.size(), SwitchedBy::nothing);
    std::vector<std::size_t> open;
    for (std::size_t d = 0; d < loads_.devices.size(); ++d)
      if (std::any_of(kWays.begin() + 1, kWays.end(), [&](SwitchedBy way) { return may(d, way); }))
        open.push_back(d);
    std::stable_sort(open.begin(), open.end(),
                     [&](std::size_t a, std::size_t b) { return most_saved(a) > most_saved(b); });
    if (open.size() > kMostCombined) open.resize(kMostCombined);
    std::vector<SwitchedBy> best = by_;
    double best_gain = gain();
    const auto combine = [&](const auto& self, std::size_t next) -> void {
      if (next == open.size()) {
        if (!fits()) return;
        // A cent decides nothing, so that the first and plainest of equals stands.
        if (const double now = gain(); now > best_gain + 0.01) {
          best_gain = now;
          best = by_;
        }
        return;
      }
      for (const SwitchedBy way : kWays) {
        if (way != SwitchedBy::nothing && !may(open[next], way)) continue;
        by_[open[next]] = way;
        self(self, next + 1);
      }
      by_[open[next]] = SwitchedBy::nothing;
    };
    combine(combine, 0);
    by_ = std::move(best);
    return made(scrambles);
  }

 private:
  [[nodiscard]] double mean_kwh(std::size_t device, SwitchedBy way) const {
    double sum = 0.0;
    for (const auto& year : years_) sum += year[device][at(way)].wh / 1000.0;
    return sum / static_cast<double>(years_.size());
  }
  [[nodiscard]] double cut_h(std::size_t device, SwitchedBy way) const {
    double sum = 0.0;
    for (const auto& year : years_) sum += year[device][at(way)].cut_with_people_h;
    return sum / static_cast<double>(years_.size());
  }
  [[nodiscard]] double switch_kwh(std::size_t device, SwitchedBy way) const {
    const DeviceKind* kind = way == SwitchedBy::plug_in_outlet ? kinds_.with_sensor : nullptr;
    return kind == nullptr ? 0.0 : loads_.devices[device].count * kind->standby_w * kHoursOfYear / 1000.0;
  }
  [[nodiscard]] double saved_kwh(std::size_t device, SwitchedBy way) const {
    return mean_kwh(device, SwitchedBy::nothing) - mean_kwh(device, way) - switch_kwh(device, way);
  }
  [[nodiscard]] double most_saved(std::size_t device) const {
    return std::max(saved_kwh(device, SwitchedBy::controlled_receptacle),
                    saved_kwh(device, SwitchedBy::plug_in_outlet));
  }
  [[nodiscard]] const DeviceKind* kind_of(SwitchedBy way) const {
    return way == SwitchedBy::controlled_receptacle ? kinds_.controlled : kinds_.with_sensor;
  }
  [[nodiscard]] bool may(std::size_t device, SwitchedBy way) const {
    return domain::may_be_switched(loads_.devices[device]) && kind_of(way) != nullptr &&
           cut_h(device, way) <= kMostCutWithPeople_h && saved_kwh(device, way) > 0.0;
  }

  /// Outlets that the devices take which are switched in one way.
  [[nodiscard]] int taken_by(SwitchedBy way) const {
    int outlets = 0;
    for (std::size_t d = 0; d < by_.size(); ++d)
      if (by_[d] == way) outlets += loads_.devices[d].count;
    return outlets;
  }
  [[nodiscard]] int controlled() const {
    return std::max(taken_by(SwitchedBy::controlled_receptacle), kinds_.controlled == nullptr ? 0 : asked_);
  }
  [[nodiscard]] int relays() const {
    return (controlled() + kinds_.outlets_of_a_relay - 1) / kinds_.outlets_of_a_relay;
  }
  /// Whether what must stay on still finds an outlet.
  [[nodiscard]] bool fits() const {
    return loads_.receptacles == 0 || controlled() <= std::max(asked_, loads_.receptacles - stay_on_);
  }
  [[nodiscard]] double relay_kwh() const {
    return kinds_.relay == nullptr ? 0.0 : relays() * kinds_.relay->standby_w * kHoursOfYear / 1000.0;
  }
  /// Money left after kYearsToPayBack.
  [[nodiscard]] double gain() const {
    double kwh = -relay_kwh();
    for (std::size_t d = 0; d < by_.size(); ++d)
      if (by_[d] != SwitchedBy::nothing) kwh += saved_kwh(d, by_[d]);
    return kwh * price_ * kYearsToPayBack - middle(cost().cost);
  }
  [[nodiscard]] FirstCost cost() const {
    FirstCost cost;
    const auto add = [&](const DeviceKind* kind, int count) {
      if (count == 0 || kind == nullptr) return;
      const UnitCost one = unit_cost(project_, kind->id, kind->price);
      const auto n = static_cast<double>(count);
      const Quantity line = {kind->id,
                             kind->name,
                             count,
                             {n * one.cost.least, n * one.cost.most},
                             {n * one.set_up_h.least, n * one.set_up_h.most}};
      cost = cost + FirstCost{{line}, {}, line.cost, line.set_up_h};
    };
    add(kinds_.controlled, controlled());
    add(kinds_.relay, relays());
    add(kinds_.with_sensor, taken_by(SwitchedBy::plug_in_outlet));
    return cost;
  }

  [[nodiscard]] ReceptaclePart made(int scrambles) const {
    ReceptaclePart part;
    part.loads = loads_;
    part.cost = cost();
    if (loads_.receptacles > 0)
      part.loads.controlled_receptacles = std::min(controlled(), loads_.receptacles);
    std::vector<double> saved(years_.size(), -relay_kwh());
    const auto follows = [&](SwitchedBy way) {
      return way == SwitchedBy::plug_in_outlet ? "in outlets with a motion sensor of their own"
             : loads_.off_when != domain::PlugLoads::OffWhen::closed
                 ? "on controlled receptacles that follow the room's sensors"
                 : "on controlled receptacles that follow the hours";
    };
    if (controlled() > 0) {
      const std::string of_all = loads_.receptacles > 0 ? fmt::format(" of {}", loads_.receptacles) : "";
      part.why.push_back(
          fmt::format("{}{} socket outlets are controlled and marked as such{}, on {} relay{}.", controlled(),
                      of_all, asked_ > 0 && controlled() == asked_ ? ", as the code asks" : "", relays(),
                      relays() == 1 ? "" : "s"));
      if (loads_.receptacles == 0)
        part.why.emplace_back("How many socket outlets the room has is not stated; codes count them.");
    }
    for (std::size_t d = 0; d < by_.size(); ++d) {
      const PlugDevice& device = loads_.devices[d];
      PlugDevice& chosen = part.loads.devices[d];
      chosen.switched_by = by_[d];
      if (by_[d] == SwitchedBy::plug_in_outlet) chosen.switch_w = kinds_.with_sensor->standby_w;
      if (by_[d] != SwitchedBy::nothing) {
        std::vector<double> by_year;
        for (std::size_t r = 0; r < years_.size(); ++r) {
          const auto& use = years_[r][d];
          by_year.push_back((use[at(SwitchedBy::nothing)].wh - use[at(by_[d])].wh) / 1000.0 -
                            switch_kwh(d, by_[d]));
          saved[r] += by_year.back();
        }
        const results::Estimate kwh = energy::estimate(by_year, scrambles);
        part.why.push_back(fmt::format("{} × {} {}: {:.0f} kWh a year less ({:.0f} to {:.0f}).", device.count,
                                       device.kind, follows(by_[d]), kwh.mean, kwh.low, kwh.high));
      } else if (!domain::may_be_switched(device)) {
        part.why.push_back(fmt::format("{} × {} not switched: {}.", device.count, device.kind,
                                       domain::words_of(device.must_stay_on)));
      } else {
        part.why.push_back(fmt::format("{} × {} not switched: {}.", device.count, device.kind, why_not(d)));
      }
    }
    part.saved_kwh = energy::estimate(saved, scrambles);
    return part;
  }

  [[nodiscard]] std::string why_not(std::size_t device) const {
    std::optional<double> least_cut;
    for (const SwitchedBy way : {SwitchedBy::controlled_receptacle, SwitchedBy::plug_in_outlet}) {
      if (kind_of(way) == nullptr) continue;
      const double cut = cut_h(device, way);
      least_cut = least_cut ? std::min(*least_cut, cut) : cut;
    }
    if (!least_cut) return "no outlet that switches can be put in";
    if (*least_cut > kMostCutWithPeople_h)
      return fmt::format("it would go out on somebody for {:.0f} h a year", *least_cut);
    return fmt::format("what switches it is not paid for in {:.0f} years at {:.2f} {} for a kWh{}",
                       kYearsToPayBack, price_, project_.estimate.currency,
                       project_.tariffs.empty() ? " (assumed, the project has no tariff)" : "");
  }

  const domain::Project& project_;
  const domain::PlugLoads& loads_;
  int asked_;
  const std::vector<std::vector<sim::PlugUseByWay>>& years_;
  OutletKinds kinds_;
  int stay_on_ = 0;
  double price_ = 0.0;
  std::vector<SwitchedBy> by_;  // by listed device
};

}  // namespace

int outlets_asked_for(const domain::PlugLoads& loads, const std::vector<results::Finding>& findings,
                      const std::vector<domain::CodeRule>& rules) {
  int most = 0;
  for (const results::Finding& finding : findings) {
    if (finding.verdict != results::Finding::Verdict::fail) continue;
    for (const domain::CodeRule& rule : rules)
      if (rule.id == finding.rule && rule.requirement == domain::Requirement::receptacle_control)
        most = std::max(most, codes::receptacles_to_control(rule, loads.receptacles));
  }
  return most;
}

ReceptaclePart receptacle_part(const domain::Project& project, const domain::Library& library,
                               const domain::Space& space, int asked,
                               const std::vector<std::vector<sim::PlugUseByWay>>& years, int scrambles) {
  return Chooser(project, library, space, asked, years).choose(scrambles);
}

}  // namespace halflight::choose
