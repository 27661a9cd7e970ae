#include "sim/task_lamps.hpp"

#include <algorithm>
#include <limits>
#include <string>
#include <vector>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

using domain::LoadController;

bool drives(const domain::Project& project, const domain::Design& design, const LoadController& controller,
            const std::string& luminaire) {
  const std::vector<std::string> driven = domain::driven_luminaires(project, design, controller);
  return domain::stands_in(design, controller.status) &&
         std::find(driven.begin(), driven.end(), luminaire) != driven.end();
}

}  // namespace

IntervalSet people_at_lamp(const SpaceModel& model, const ControlCell& lamp,
                           const people::Presence& presence) {
  const std::vector<Point2>& seats = model.watched.seats;
  if (!model.watched.has_own_seats || seats.empty()) return presence.awake();
  const Point3 at = luminaire_of(*model.project, model.lit->scene.columns[lamp.columns.front()]).at;
  std::size_t nearest = 0;
  double least_m = std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < seats.size(); ++k) {
    const double far_m = length(seats[k] - Point2{at.x, at.y});
    if (far_m >= least_m) continue;
    least_m = far_m;
    nearest = k;
  }
  std::vector<IntervalSet> people;
  for (std::size_t k = 0; k < presence.people.size(); ++k)
    if (seat_of(model.watched, presence, k) == nearest) people.push_back(presence.people[k]);
  return united(people);
}

std::optional<double> lamp_sensor_delay_s(const SpaceModel& model, const ControlCell& lamp) {
  const domain::Design& design = model.project->designs[lamp.design];
  for (const LoadController& controller : design.load_controllers)
    if (controller.mounting == LoadController::Mounting::plug_in && controller.sensor_delay_s &&
        drives(*model.project, design, controller, lamp.lamp))
      return controller.sensor_delay_s;
  return std::nullopt;
}

bool any_lamp_sensor(const SpaceModel& model) {
  return std::any_of(model.lit->cells.begin(), model.lit->cells.end(), [&](const ControlCell& cell) {
    return !cell.lamp.empty() && lamp_sensor_delay_s(model, cell);
  });
}

std::optional<results::Finding> plugged_in_finding(const SpaceModel& model) {
  const domain::Design* design = domain::find_design(*model.project, domain::Design::Role::proposal);
  if (design == nullptr) return std::nullopt;
  std::string wrong;
  for (const domain::Luminaire& luminaire : design->luminaires) {
    if (luminaire.space != model.space->id || !domain::stands_in(*design, luminaire.status) ||
        !domain::plugs_in(*model.project, luminaire))
      continue;
    for (const LoadController& controller : design->load_controllers)
      if (controller.mounting != LoadController::Mounting::plug_in &&
          drives(*model.project, *design, controller, luminaire.id))
        wrong += fmt::format("{}{} plugs in and is driven by {}, which is wired in",
                             wrong.empty() ? "" : "; ", luminaire.id, controller.id);
  }
  if (wrong.empty()) return std::nullopt;
  return results::Finding{
      "lamp-on-a-wired-controller",
      "",
      "",
      "",
      "What plugs in is driven by what it plugs into",
      results::Finding::Verdict::needs_evidence,
      wrong + "; it follows only while it is plugged into a receptacle of that controller",
      "drive it by a plug-in controller, or say which receptacle the controller feeds",
      results::Finding::Confidence::confirmed,
      false};
}

}  // namespace halflight::sim
