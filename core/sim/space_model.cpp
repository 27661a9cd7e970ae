#include "sim/space_model.hpp"

#include "people/calendar.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace halflight::sim {

using domain::Design;

std::size_t design_index(const SpaceModel& model, Design::Role role) {
  const Design* design = domain::find_design(*model.project, role);
  return design == nullptr ? model.project->designs.size()
                           : static_cast<std::size_t>(design - model.project->designs.data());
}

bool names_group(const std::vector<std::string>& groups, const std::string& group) {
  return groups.empty() || std::find(groups.begin(), groups.end(), group) != groups.end();
}

const domain::Scene* scene_of(const Design& design, const std::string& id) {
  return id.empty() ? nullptr : domain::find_by_id(design.scenes, id);
}

IntervalSet open_of(const SpaceModel& model, const std::string& calendar, bool with_holidays) {
  const domain::Calendar* found = domain::find_by_id(model.project->calendars, calendar);
  if (found == nullptr) return {};
  if (with_holidays) return people::open_time(*found, model.clock);
  domain::Calendar without = *found;
  without.holidays.clear();
  return people::open_time(without, model.clock);
}

namespace {

IntervalSet moved(const IntervalSet& set, double begin_by_s, double end_by_s) {
  const auto begin = static_cast<Seconds>(std::lround(begin_by_s));
  const auto end = static_cast<Seconds>(std::lround(end_by_s));
  std::vector<Interval> all;
  for (const Interval& i : set.intervals())
    all.push_back(
        {std::clamp<Seconds>(i.begin + begin, 0, kYear), std::clamp<Seconds>(i.end + end, 0, kYear)});
  return IntervalSet(std::move(all));
}

}  // namespace

IntervalSet widened(const IntervalSet& open, double shift_s) { return moved(open, -shift_s, shift_s); }

IntervalSet shifted(const IntervalSet& set, double shift_s) { return moved(set, shift_s, shift_s); }

CivilTime clock_of(const domain::Site& site) {
  return {site.daylight_saving, first_weekday_of(site.calendar_year)};
}

IntervalSet open_as_used(const SpaceModel& model, const Draws& draws) {
  return widened(model.open, draws.hours_shift_s);
}

people::Presence presence_in(const SpaceModel& model, const Draws& draws) {
  return people::simulate_presence(model.space->occupancy, open_as_used(model, draws), model.clock,
                                   model.seed, draws.replicate, model.space->id, draws.people_intensity);
}

IntervalSet cleaning_in(const SpaceModel& model, const Draws& draws) {
  const domain::Calendar* calendar =
      domain::find_by_id(model.project->calendars, model.space->occupancy.calendar);
  if (calendar == nullptr) return {};
  return people::cleaning_visits(people::cleaning_time(*calendar, model.clock), model.seed, draws.replicate,
                                 model.space->id);
}

double cell_lx(const SpaceModel& model, const lightresponse::PointRows& rows, const ControlCell& cell,
               double reflected, std::span<const double> weight) {
  double sum = 0.0;
  for (const std::size_t c : cell.columns) {
    double mean = 0.0;
    for (std::size_t p = 0; p < rows.points; ++p) mean += rows.electric_of(p)[c];
    mean /= static_cast<double>(std::max<std::size_t>(1, rows.points));
    sum += (mean + (reflected - 1.0) * rows.reflected_mean(c)) *
           light_loss(*model.project, model.lit->scene.columns[c]) * (weight.empty() ? 1.0 : weight[c]);
  }
  return sum;
}

namespace {

/// What is not replaced keeps the watts it was found with, and their error.
bool is_as_found(const domain::Project& project, const lightresponse::ChannelColumn& column) {
  const domain::Status status = luminaire_of(project, column).status;
  return project.designs[column.design].role == Design::Role::as_found || status == domain::Status::remain ||
         status == domain::Status::relocate;
}

}  // namespace

std::vector<energy::PowerCurve> curves_of(const SpaceModel& model, const ControlCell& cell,
                                          const Draws& draws) {
  std::map<std::string, std::pair<double, int>> by_driver;
  for (const std::size_t c : cell.columns) {
    const lightresponse::ChannelColumn& column = model.lit->scene.columns[c];
    const domain::Channel& channel = type_of(*model.project, column).channels[column.channel];
    auto& [watts, count] = by_driver[channel.driver];
    watts += channel.input_w * (is_as_found(*model.project, column) ? draws.baseline_watts : draws.new_watts);
    ++count;
  }
  std::vector<energy::PowerCurve> curves;
  for (const auto& [driver_id, total] : by_driver) {
    curves.push_back(energy::PowerCurve::of(domain::driver_of(*model.project, driver_id), Watts(total.first),
                                            total.second));
    if (cell.only_switched) {
      // A relay leaves nothing between off and full, and takes the mains from the driver.
      curves.back().minimum_light = 1.0;
      curves.back().standby_w = 0.0;
    }
  }
  return curves;
}

double high_end_trim(const SpaceModel& model, const domain::Sequence& sequence, double depreciation,
                     double reflected) {
  if (!sequence.trim) return 1.0;
  if (sequence.trim->high) return *sequence.trim->high;
  return trim_to_target(model, sequence, depreciation, reflected);
}

double trim_to_target(const SpaceModel& model, const domain::Sequence& sequence, double depreciation,
                      double reflected) {
  const std::size_t proposal = design_index(model, Design::Role::proposal);
  if (proposal == model.project->designs.size()) return 1.0;
  const domain::Scene* normal = scene_of(model.project->designs[proposal], sequence.normal_scene);
  double trim = 0.05;
  bool any = false;
  for (std::size_t t = 0; t < model.lit->task_rows.size(); ++t) {
    double lx = 0.0;
    double switched_lx = 0.0;  // of what trim does not reach
    for (const ControlCell& cell : model.lit->cells) {
      if (cell.design != proposal) continue;
      const double asked = level_in(normal, cell.scene_group, 1.0);
      const double full_lx = cell_lx(model, model.lit->task_rows[t], cell, reflected) * depreciation;
      if (!cell.only_switched && cell.lamp.empty())
        lx += asked * full_lx;
      else if (asked > 0.0)
        switched_lx += full_lx;
    }
    if (lx <= 0.0) continue;
    trim = std::max(trim, (model.space->task_areas[t].target_lx - switched_lx) / lx);
    any = true;
  }
  return any ? std::min(1.0, trim) : 1.0;
}

double reflected_factor(const LitSpace& lit, double shift) {
  double weighted = 0.0;
  double total = 0.0;
  const auto surfaces = lit.scene.enclosure.surfaces();
  for (std::size_t i = 0; i < surfaces.size(); ++i) {
    weighted += lit.scene.reflectance[i] * surfaces[i].area_m2;
    total += surfaces[i].area_m2;
  }
  // Black rooms reflect nothing to begin with: keep clear of the pole.
  const double rho = std::clamp(weighted / total, 0.02, 0.95);
  const double moved = std::clamp(rho + shift, 0.02, 0.95);
  return moved / (1.0 - moved) * (1.0 - rho) / rho;
}

}  // namespace halflight::sim
