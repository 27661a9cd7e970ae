#include "sim/hvac_zones.hpp"

#include "energy/estimate.hpp"
#include "sim/watched_people.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::sim {

namespace {

/// A space of a zone.
struct Told {
  const SpaceModel* model = nullptr;  // null: nothing tells of it, or it is not studied
  const domain::HvacHandOff* hand_off = nullptr;
  IntervalSet calendar;  // what stands in place of the contact where nothing tells
};

struct ZoneHours {
  double occupied = 0.0;
  double set_back = 0.0;
  double out_of_hours = 0.0;
};

double hours(const IntervalSet& set) { return static_cast<double>(set.measure()) / kSecondsPerHour; }

IntervalSet contact_in(const Told& told, const Draws& draws) {
  const SpaceModel& model = *told.model;
  const std::size_t proposal = design_index(model, domain::Design::Role::proposal);
  const people::Presence presence = presence_in(model, draws);
  return contact_of(*told.hand_off,
                    noticed_in(model.watched, *model.watched.watch_of(proposal, ""), model.space->id,
                               presence, cleaning_in(model, draws), model.seed, draws.replicate,
                               sensing::grain_for(told.hand_off->delay_s)));
}

ZoneHours hours_of(const std::vector<Told>& spaces, const IntervalSet& scheduled, const Draws& draws) {
  IntervalSet contact;
  for (const Told& told : spaces)
    contact = united(contact, told.model == nullptr ? told.calendar : contact_in(told, draws));
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

std::vector<results::HvacZoneYear> hvac_zone_years(const domain::Project& project,
                                                   const std::vector<SpaceModel>& models,
                                                   const std::vector<Draws>& draws, const Context& context) {
  std::vector<results::HvacZoneYear> years;
  const domain::Design* design = domain::find_design(project, domain::Design::Role::proposal);
  if (design == nullptr || models.empty()) return years;
  for (const domain::HvacZone& zone : project.hvac_zones) {
    results::HvacZoneYear year{zone.id, zone.name, {}, {}, zone.standby_allowed, 0.0, {}, {}, {}};
    std::vector<Told> spaces;
    IntervalSet scheduled;
    for (const domain::Space& space : project.spaces) {
      if (space.hvac_zone != zone.id) continue;
      Told told;
      const std::size_t proposal = design_index(models.front(), domain::Design::Role::proposal);
      for (const domain::HvacHandOff& hand_off : design->hvac_hand_offs)
        for (const SpaceModel& model : models)
          if (hand_off.space == space.id && model.space == &space &&
              model.watched.watch_of(proposal, "") != nullptr)
            told = {&model, &hand_off, {}};
      told.calendar = open_of(models.front(), space.occupancy.calendar);
      scheduled = united(scheduled, told.calendar);
      year.spaces.push_back(space.id);
      if (told.model == nullptr) year.not_heard.push_back(space.id);
      spaces.push_back(std::move(told));
    }
    if (year.not_heard.size() == year.spaces.size()) continue;
    if (!zone.calendar.empty()) scheduled = open_of(models.front(), zone.calendar);
    year.scheduled_h = hours(scheduled);
    std::vector<ZoneHours> runs(std::min(draws.size(), kYearsOfContacts));
    context.executor.for_each(runs.size(), [&](std::size_t r) {
      context.check_cancelled();
      runs[r] = hours_of(spaces, scheduled, draws[r]);
    });
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
