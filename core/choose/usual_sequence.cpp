#include "choose/usual_sequence.hpp"

#include "choose/canonical_room.hpp"
#include "sim/watched_people.hpp"

#include <algorithm>
#include <optional>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

constexpr double kMostDelay_s = 1200.0;  // ASHRAE 90.1, IECC: 20 min
constexpr double kDelayStep_s = 300.0;

/// Whether everybody who sits still keeps the light (sim/watched_people.hpp). Asked of the canonical room, so
/// that a seat at the very edge of a field is in it however the room is turned.
bool all_keep_light(const domain::Space& space, const std::vector<domain::Luminaire>& luminaires,
                    const RoomControls& controls) {
  const CanonicalRoom room = canonical_room(space, luminaires, controls.occupancy_sensors);
  domain::Project trial;
  domain::Design& design = trial.designs.emplace_back();
  design.groups = controls.groups;
  design.luminaires = room.luminaires;
  design.occupancy_sensors = room.sensors;
  const std::vector<sim::NoticedSeat> seats =
      sim::seat_notices(sim::watched_space(trial, room.space), controls.sequence, design, 0);
  return std::all_of(seats.begin(), seats.end(), sim::keeps_light);
}

}  // namespace

void apply_usual_rules(const domain::Project& project, const domain::Space& space,
                       const domain::SpaceKind& kind, bool has_sensors, domain::Sequence& sequence,
                       std::vector<std::string>& notes) {
  const domain::StartingPoint& usual = kind.start;
  const bool may_go_dark = !space.automatic_off_refused;
  sequence.on = usual.on;
  if (sequence.on.by == domain::OnRule::By::occupancy && !has_sensors) sequence.on = {};
  if (sequence.on.by == domain::OnRule::By::occupancy && !project.requirements.automatic_on_allowed) {
    sequence.on = {};
    notes.emplace_back("The owner allows no light that comes on by itself: it is brought on by hand.");
  }
  sequence.vacancy.reset();
  if (may_go_dark && has_sensors) sequence.vacancy = usual.vacancy;
  const bool on_by_clock = sequence.on.by == domain::OnRule::By::schedule;
  if (sequence.schedule) return;
  if (!project.calendars.empty() && (on_by_clock || (usual.sweeps_off && may_go_dark))) {
    domain::ScheduleRule& schedule = sequence.schedule.emplace();
    schedule.calendar =
        space.occupancy.calendar.empty() ? project.calendars.front().id : space.occupancy.calendar;
    schedule.before_open_s = on_by_clock ? usual.before_open_s : 0.0;
    schedule.after_close_s = usual.after_close_s;
    schedule.sweeps_off = usual.sweeps_off && may_go_dark;
  } else if (on_by_clock) {
    sequence.on = {};
    notes.emplace_back(
        "The building has no opening hours yet, so light comes on by hand and not by the clock.");
  }
}

bool lengthen_delay(const domain::Space& space, const std::vector<domain::Luminaire>& luminaires,
                    RoomControls& controls, std::vector<std::string>& notes) {
  std::optional<domain::VacancyRule>& vacancy = controls.sequence.vacancy;
  if (!vacancy) return true;
  const double usual_s = vacancy->delay_s;
  bool all_keep = all_keep_light(space, luminaires, controls);
  while (!all_keep && vacancy->delay_s < kMostDelay_s) {
    vacancy->delay_s = std::min(vacancy->delay_s + kDelayStep_s, kMostDelay_s);
    all_keep = all_keep_light(space, luminaires, controls);
  }
  if (vacancy->delay_s > usual_s)
    notes.push_back(
        fmt::format("The vacancy delay is {:.0f} min, so that whoever sits still keeps the light.",
                    vacancy->delay_s / 60.0));
  return all_keep;
}

}  // namespace halflight::choose
