#include "sim/hvac_zones.hpp"

#include "energy/estimate.hpp"
#include "sim/space_results.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::sim {

namespace {

/// What the proposal tells of a space; null: nothing, or no sensor does.
const domain::HvacHandOff* hand_off_of(const SpaceModel& model) {
  const domain::Design* design = domain::find_design(*model.project, domain::Design::Role::proposal);
  if (design == nullptr ||
      model.watched.watch_of(design_index(model, domain::Design::Role::proposal), "") == nullptr)
    return nullptr;
  for (const domain::HvacHandOff& hand_off : design->hvac_hand_offs)
    if (hand_off.space == model.space->id) return &hand_off;
  return nullptr;
}

/// A space of a zone.
struct Told {
  const SpaceRuns* runs = nullptr;  // null: nothing tells of it, or it is not studied
  IntervalSet calendar;             // what stands in place of the contact where nothing tells
};

struct ZoneHours {
  double occupied = 0.0;
  double set_back = 0.0;
  double out_of_hours = 0.0;
};

double hours(const IntervalSet& set) { return static_cast<double>(set.measure()) / kSecondsPerHour; }

IntervalSet contact_in(const ReplicateRun& run) {
  std::vector<Interval> occupied;
  for (std::size_t i = 0; i + 1 < run.contact_changes.size(); i += 2)
    occupied.push_back({run.contact_changes[i], run.contact_changes[i + 1]});
  return IntervalSet(std::move(occupied));
}

ZoneHours hours_of(const std::vector<Told>& spaces, const IntervalSet& scheduled, std::size_t replicate) {
  IntervalSet contact;
  for (const Told& told : spaces)
    contact = united(contact, told.runs == nullptr ? told.calendar : contact_in(told.runs->runs[replicate]));
  return {hours(contact), hours(subtracted(scheduled, contact)), hours(subtracted(contact, scheduled))};
}

}  // namespace

IntervalSet contact_of(const domain::HvacHandOff& hand_off, const IntervalSet& noticed) {
  const auto delay = static_cast<Seconds>(std::lround(hand_off.delay_s));
  const auto after = static_cast<Seconds>(std::lround(hand_off.occupied_after_s));
  IntervalSet gaps_filled = noticed.extended(delay, kYear + delay);
  std::vector<Interval> stands;
  for (const Interval& i : gaps_filled.intervals())
    if (i.end - delay - i.begin >= after) stands.push_back({i.begin + after, std::min(i.end, kYear)});
  return IntervalSet(std::move(stands));
}

std::vector<std::int32_t> contact_changes(Replicate& replicate) {
  std::vector<std::int32_t> changes;
  const domain::HvacHandOff* hand_off = hand_off_of(replicate.model());
  if (hand_off == nullptr || replicate.draws().replicate >= kYearsOfContacts) return changes;
  const IntervalSet* noticed = replicate.noticed_by_all(domain::Design::Role::proposal, hand_off->delay_s);
  const IntervalSet contact = contact_of(*hand_off, *noticed);
  for (const Interval& occupied : contact.intervals()) {
    changes.push_back(static_cast<std::int32_t>(occupied.begin));
    changes.push_back(static_cast<std::int32_t>(occupied.end));
  }
  return changes;
}

std::vector<results::HvacZoneYear> hvac_zone_years(const domain::Project& project,
                                                   const StudiedSpaces& spaces) {
  std::vector<results::HvacZoneYear> years;
  if (spaces.models.empty()) return years;
  const SpaceModel& any_model = spaces.models.front();
  for (const domain::HvacZone& zone : project.hvac_zones) {
    results::HvacZoneYear year{zone.id, zone.name, {}, {}, zone.standby_allowed, 0.0, {}, {}, {}};
    std::vector<Told> members;
    IntervalSet scheduled;
    for (const domain::Space& space : project.spaces) {
      if (space.hvac_zone != zone.id) continue;
      Told told{nullptr, open_of(any_model, space.occupancy.calendar)};
      for (std::size_t s = 0; s < spaces.models.size(); ++s)
        if (spaces.models[s].space == &space && hand_off_of(spaces.models[s]) != nullptr)
          told.runs = &spaces.runs[s];
      scheduled = united(scheduled, told.calendar);
      year.spaces.push_back(space.id);
      if (told.runs == nullptr) year.not_heard.push_back(space.id);
      members.push_back(std::move(told));
    }
    if (year.not_heard.size() == year.spaces.size()) continue;
    if (!zone.calendar.empty()) scheduled = open_of(any_model, zone.calendar);
    year.scheduled_h = hours(scheduled);
    std::vector<ZoneHours> runs;
    for (std::size_t r = 0; r < std::min(spaces.runs.front().runs.size(), kYearsOfContacts); ++r)
      runs.push_back(hours_of(members, scheduled, r));
    const auto of = [&](double ZoneHours::*figure) {
      std::vector<double> values;
      for (const ZoneHours& run : runs) values.push_back(run.*figure);
      return energy::estimate(values, 1);
    };
    year.occupied_h = of(&ZoneHours::occupied);
    year.set_back_h = of(&ZoneHours::set_back);
    year.out_of_hours_h = of(&ZoneHours::out_of_hours);
    years.push_back(std::move(year));
  }
  return years;
}

}  // namespace halflight::sim
