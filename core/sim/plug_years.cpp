#include "sim/plug_years.hpp"

#include "energy/plug_loads.hpp"
#include "sim/space_results.hpp"

#include <algorithm>
#include <map>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

using domain::PlugDevice;
using domain::PlugLoads;

/// When controlled receptacles have power: until the sensors of the room have noticed nobody for the delay,
/// and while the calendar is open. What no sensor watches is never known to be empty.
IntervalSet receptacles_powered(Replicate& replicate, domain::Design::Role role) {
  const SpaceModel& model = replicate.model();
  const PlugLoads& loads = model.space->plug_loads;
  IntervalSet powered({{0, kYear}});
  if (loads.off_when != PlugLoads::OffWhen::closed)
    if (const IntervalSet* noticed = replicate.noticed_by_all(role, loads.off_after_s))
      powered = noticed->extended(static_cast<Seconds>(std::lround(loads.off_after_s)), kYear);
  if (loads.off_when != PlugLoads::OffWhen::empty)
    powered = intersected(
        powered, open_of(model, loads.calendar.empty() ? model.space->occupancy.calendar : loads.calendar));
  return powered;
}

/// Devices of one space in one replicate.
class PluggedIn {
 public:
  explicit PluggedIn(Replicate& replicate)
      : replicate_(replicate), awake_(replicate.presence().awake()), always_({{0, kYear}}) {}

  energy::PlugDeviceUse use(const PlugDevice& device, PlugDevice::SwitchedBy by, domain::Design::Role role) {
    const energy::PlugDeviceDraw draw{
        replicate_.draws().plug_watts,
        std::clamp(device.left_on + replicate_.draws().left_on_shift, 0.0, 1.0)};
    const std::vector<IntervalSet>& people = replicate_.presence().people;
    if (!device.at_seats || people.empty()) return use_at(device, by, role, awake_, draw);
    // Device number k belongs to seat number k; where there are more of them than seats, they go round.
    energy::PlugDeviceUse mean;
    const auto seats = std::min<std::size_t>(people.size(), static_cast<std::size_t>(device.count));
    for (std::size_t seat = 0; seat < seats; ++seat) {
      const auto count = static_cast<std::size_t>(device.count);
      const double share =
          static_cast<double>(count / people.size() + (seat < count % people.size() ? 1 : 0)) /
          static_cast<double>(count);
      const energy::PlugDeviceUse one = use_at(device, by, role, people[seat], draw);
      mean.wh += share * one.wh;
      mean.cut_with_people_h += share * one.cut_with_people_h;
    }
    return mean;
  }

 private:
  energy::PlugDeviceUse use_at(const PlugDevice& device, PlugDevice::SwitchedBy by, domain::Design::Role role,
                               const IntervalSet& at_it, const energy::PlugDeviceDraw& draw) {
    switch (by) {
      case PlugDevice::SwitchedBy::nothing:
        break;
      case PlugDevice::SwitchedBy::controlled_receptacle:
        return energy::use_of(device, at_it, receptacles(role), draw);
      case PlugDevice::SwitchedBy::plug_in_outlet: {
        const double delay_s = replicate_.model().space->plug_loads.off_after_s;
        return energy::use_of(device, at_it,
                              at_it.extended(static_cast<Seconds>(std::lround(delay_s)), kYear), draw);
      }
    }
    return energy::use_of(device, at_it, always_, draw);
  }

  const IntervalSet& receptacles(domain::Design::Role role) {
    auto found = receptacles_.find(role);
    if (found == receptacles_.end())
      found = receptacles_.emplace(role, receptacles_powered(replicate_, role)).first;
    return found->second;
  }

  Replicate& replicate_;
  IntervalSet awake_;
  IntervalSet always_;
  std::map<domain::Design::Role, IntervalSet> receptacles_;
};

/// One device of a list by `run(replicate)`, kWh.
template <class RunOf>
results::PlugDeviceYear device_year(const Estimates& estimates, std::string kind, int count, RunOf run) {
  results::PlugDeviceYear year;
  year.kind = std::move(kind);
  year.count = count;
  year.found_kwh = estimates.of([&](std::size_t r) { return run(r).found_wh / 1000.0; });
  year.proposed_kwh = estimates.of([&](std::size_t r) { return run(r).proposed_wh / 1000.0; });
  year.saved_kwh =
      estimates.of([&](std::size_t r) { return (run(r).found_wh - run(r).proposed_wh) / 1000.0; });
  year.cut_with_people_h = estimates.of([&](std::size_t r) { return run(r).cut_with_people_h; });
  return year;
}

template <class RunOf>
void add_totals(const Estimates& estimates, RunOf sum, results::PlugLoadsYear& year) {
  const results::PlugDeviceYear all = device_year(estimates, "", 0, sum);
  year.found_kwh = all.found_kwh;
  year.proposed_kwh = all.proposed_kwh;
  year.saved_kwh = all.saved_kwh;
  year.saving = estimates.of_ratio([&](std::size_t r) { return sum(r).found_wh - sum(r).proposed_wh; },
                                   [&](std::size_t r) { return sum(r).found_wh; });
}

void add(PlugRun& sum, const PlugRun& one) {
  sum.found_wh += one.found_wh;
  sum.proposed_wh += one.proposed_wh;
}

}  // namespace

std::vector<PlugRun> plug_runs(Replicate& replicate) {
  const std::vector<PlugDevice> devices = domain::devices_of(replicate.model().space->plug_loads);
  std::vector<PlugRun> runs;
  if (devices.empty()) return runs;
  PluggedIn plugged_in(replicate);
  for (const PlugDevice& device : devices) {
    const energy::PlugDeviceUse found =
        plugged_in.use(device, device.switched_by_as_found, domain::Design::Role::as_found);
    const energy::PlugDeviceUse proposed =
        device.switched_by == PlugDevice::SwitchedBy::nothing &&
                device.switched_by_as_found == PlugDevice::SwitchedBy::nothing
            ? found
            : plugged_in.use(device, device.switched_by, domain::Design::Role::proposal);
    const double switch_wh = device.switch_w * static_cast<double>(kYear) / kSecondsPerHour;
    runs.push_back(
        {device.count * found.wh, device.count * (proposed.wh + switch_wh), proposed.cut_with_people_h});
  }
  return runs;
}

std::vector<PlugUseByWay> plug_uses(Replicate& replicate) {
  std::vector<PlugUseByWay> uses;
  PluggedIn plugged_in(replicate);
  for (const PlugDevice& device : domain::devices_of(replicate.model().space->plug_loads)) {
    PlugUseByWay& by_way = uses.emplace_back();
    for (std::size_t way = 0; way < by_way.size(); ++way) {
      by_way[way] =
          plugged_in.use(device, static_cast<PlugDevice::SwitchedBy>(way), domain::Design::Role::proposal);
      by_way[way].wh *= device.count;
    }
  }
  return uses;
}

results::PlugLoadsYear plug_loads_year(const SpaceModel& model, const SpaceRuns& runs,
                                       const Estimates& estimates) {
  results::PlugLoadsYear year;
  const std::vector<PlugDevice> devices = domain::devices_of(model.space->plug_loads);
  for (std::size_t d = 0; d < devices.size(); ++d) {
    const auto run = [&](std::size_t r) { return runs.runs[r].plugs[d]; };
    year.devices.push_back(device_year(estimates, devices[d].kind, devices[d].count, run));
    year.devices.back().switched_by = domain::words_of(devices[d].switched_by);
    year.devices.back().must_stay_on = domain::words_of(devices[d].must_stay_on);
  }
  const auto sum = [&](std::size_t r) {
    PlugRun all;
    for (const PlugRun& one : runs.runs[r].plugs) add(all, one);
    return all;
  };
  add_totals(estimates, sum, year);
  return year;
}

results::PlugLoadsYear plug_loads_of_building(const std::vector<SpaceModel>& models,
                                              const std::vector<SpaceRuns>& runs,
                                              const Estimates& estimates) {
  struct Place {
    std::size_t space;
    std::size_t device;
    int count;
  };
  std::map<std::string, std::vector<Place>> by_kind;
  for (std::size_t s = 0; s < models.size(); ++s) {
    const std::vector<PlugDevice> devices = domain::devices_of(models[s].space->plug_loads);
    for (std::size_t d = 0; d < devices.size(); ++d)
      by_kind[devices[d].kind].push_back({s, d, devices[d].count});
  }
  results::PlugLoadsYear year;
  for (const auto& [kind, places] : by_kind) {
    int count = 0;
    for (const Place& place : places) count += place.count;
    const auto run = [&places = places, &runs, count](std::size_t r) {
      PlugRun all;
      for (const Place& place : places) {
        const PlugRun& one = runs[place.space].runs[r].plugs[place.device];
        add(all, one);
        all.cut_with_people_h += one.cut_with_people_h * place.count / count;
      }
      return all;
    };
    year.devices.push_back(device_year(estimates, kind, count, run));
  }
  const auto sum = [&](std::size_t r) {
    PlugRun all;
    for (const SpaceRuns& space : runs)
      for (const PlugRun& one : space.runs[r].plugs) add(all, one);
    return all;
  };
  add_totals(estimates, sum, year);
  return year;
}

std::vector<results::Assumption> plug_load_assumptions(const domain::Project& project) {
  if (std::all_of(project.spaces.begin(), project.spaces.end(),
                  [](const domain::Space& s) { return domain::devices_of(s.plug_loads).empty(); }))
    return {};
  return {{"/spaces/*/plug_loads/devices/*/watts",
           fmt::format("watts of plugged-in devices, +- {:.0f} %", 100.0 * kPlugWattsSpread), "assumed", 0.0,
           0.0, "", false},
          {"/spaces/*/plug_loads/devices/*/left_on",
           fmt::format("share of devices left on, +- {:.0f} points", 100.0 * kLeftOnSpread), "assumed", 0.0,
           0.0, "", false}};
}

}  // namespace halflight::sim
