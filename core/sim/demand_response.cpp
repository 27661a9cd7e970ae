#include "sim/demand_response.hpp"

#include "controls/arbitration.hpp"
#include "energy/estimate.hpp"
#include "sim/space_results.hpp"
#include "sim/space_year.hpp"
#include "sim/way_at_work.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::sim {

namespace {

Interval at_clock(const CivilTime& clock, Seconds civil, double lasts_s) {
  const Seconds begin = std::clamp<Seconds>(clock.standard(civil), 0, kYear - 1);
  return {begin, std::min<Seconds>(kYear, begin + std::lround(lasts_s))};
}

/// Mean temperature of the hours that an interval touches. Row h covers the hour that begins at h.
double mean_dry_bulb_c(const domain::WeatherYear& weather, const Interval& when) {
  double sum = 0.0;
  int count = 0;
  for (Seconds hour = when.begin / kHour; hour * kHour < when.end; ++hour, ++count)
    sum += weather.rows[static_cast<std::size_t>(hour)].dry_bulb_c;
  return sum / std::max(count, 1);
}

template <class Figure>
double mean_of(const std::vector<EventRun>& events, Figure figure) {
  double sum = 0.0;
  for (const EventRun& event : events) sum += figure(event);
  return sum / static_cast<double>(events.size());
}
template <class Figure>
double least_of(const std::vector<EventRun>& events, Figure figure) {
  double least = figure(events.front());
  for (const EventRun& event : events) least = std::min(least, figure(event));
  return least;
}

/// Light on a task at events with somebody there, of the building-years that have one.
struct LightLeft {
  results::Estimate mean_lx;
  results::Estimate least_lx;
};
LightLeft light_left(const SpaceRuns& runs, std::size_t task) {
  std::vector<double> means;
  std::vector<double> leasts;
  for (const ReplicateRun& run : runs.runs) {
    double sum = 0.0;
    double least = 0.0;
    int count = 0;
    for (const EventRun& event : run.events) {
      const double lx = event.task_lx[task];
      if (lx < 0.0) continue;
      least = count == 0 ? lx : std::min(least, lx);
      sum += lx;
      ++count;
    }
    if (count == 0) continue;
    means.push_back(sum / count);
    leasts.push_back(least);
  }
  if (means.empty()) return {};
  return {energy::estimate(means, 1), energy::estimate(leasts, 1)};
}

}  // namespace

std::vector<Interval> demand_events_of(const domain::Project& project, const domain::WeatherYear& weather) {
  const CivilTime clock = clock_of(project.site);
  const domain::DemandEvents& asked = project.demand_events;
  std::vector<Interval> events;
  for (const domain::DemandEvent& event : asked.events)
    events.push_back(at_clock(clock, day_of_year(event.on) * kDay + event.at_s, event.lasts_s));
  std::vector<std::pair<double, Interval>> days;
  for (int day = 0; day < 365 && !weather.rows.empty(); ++day) {
    if (clock.weekday_of(day) > 4) continue;
    const Interval when = at_clock(clock, day * kDay + asked.at_s, asked.lasts_s);
    const auto overlaps = [&](const Interval& e) { return e.begin < when.end && when.begin < e.end; };
    if (std::any_of(events.begin(), events.end(), overlaps)) continue;
    days.emplace_back(mean_dry_bulb_c(weather, when), when);
  }
  // Of equally hot days the earlier.
  std::stable_sort(days.begin(), days.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  days.resize(std::min(days.size(), static_cast<std::size_t>(asked.hottest_afternoons)));
  std::sort(days.begin(), days.end(),
            [](const auto& a, const auto& b) { return a.second.begin < b.second.begin; });
  for (const auto& [heat, when] : days) events.push_back(when);
  return events;
}

std::vector<EventRun> event_runs(Replicate& replicate) {
  const SpaceModel& model = replicate.model();
  const domain::Sequence& sequence = model.proposal.sequence;
  std::vector<EventRun> runs;
  if (replicate.weather_year() >= model.demand_events.size()) return runs;
  const std::vector<Interval>& events = model.demand_events[replicate.weather_year()];
  if (events.empty()) return runs;
  const WayAtWork at_work(replicate, way_of_proposal(model));
  const controls::Capped capped{sequence.demand_response ? sequence.demand_response->cap : 1.0,
                                at_work.trim(), sequence.trim ? sequence.trim->low : 0.0};
  for (const Interval& event : events) {
    EventRun run;
    run.task_lx.resize(model.lit->task_rows.size(), 0.0);
    double steps = 0.0;
    double with_people = 0.0;
    for (Seconds t = event.begin + kStep_s / 2; t < event.end; t += kStep_s, ++steps) {
      std::vector<CellAtWork> cells = at_work.at(t);
      for (CellAtWork& cell : cells) {
        const auto index = static_cast<std::size_t>(cell.cell - model.lit->cells.data());
        run.before_w += cell.light_w;
        if (cell.scene != nullptr && !cell.scene->in_demand_response) continue;
        cell.level = capped.level(cell.level);
        run.shed_w += cell.light_w - energy::on_w(replicate.curves(index), cell.level);
      }
      if (!replicate.presence().any.contains(t)) continue;
      ++with_people;
      for (std::size_t task = 0; task < run.task_lx.size(); ++task)
        run.task_lx[task] += at_work.electric_on_task_lx(task, cells) + at_work.daylight_on_task_lx(task, t);
    }
    run.before_w /= steps;
    run.shed_w /= steps;
    for (double& lx : run.task_lx) lx = with_people > 0.0 ? lx / with_people : -1.0;
    runs.push_back(std::move(run));
  }
  return runs;
}

std::optional<results::LoadShed> load_shed(const SpaceModel& model, const SpaceRuns& runs,
                                           const Estimates& estimates) {
  const std::optional<domain::DemandResponseRule>& rule = model.proposal.sequence.demand_response;
  if (!rule || runs.runs.empty() || runs.runs.front().events.empty()) return std::nullopt;
  results::LoadShed found;
  found.cap = rule->cap;
  const auto mean = [&](auto figure) {
    return estimates.of([&](std::size_t r) { return mean_of(runs.runs[r].events, figure); });
  };
  const auto least = [&](auto figure) {
    return estimates.of([&](std::size_t r) { return least_of(runs.runs[r].events, figure); });
  };
  found.before_w = mean([](const EventRun& e) { return e.before_w; });
  found.shed_w = mean([](const EventRun& e) { return e.shed_w; });
  found.least_shed_w = least([](const EventRun& e) { return e.shed_w; });
  for (std::size_t task = 0; task < model.lit->task_rows.size(); ++task) {
    const LightLeft light = light_left(runs, task);
    found.tasks.push_back({model.space->task_areas[task].id, model.space->task_areas[task].target_lx,
                           light.mean_lx, light.least_lx});
  }
  return found;
}

std::optional<results::BuildingShed> load_shed_of_building(const std::vector<SpaceModel>& models,
                                                           const std::vector<SpaceRuns>& runs,
                                                           const Estimates& estimates) {
  if (models.empty() || models.front().demand_events.empty() || models.front().demand_events.front().empty())
    return std::nullopt;
  results::BuildingShed found;
  const std::vector<Interval>& events = models.front().demand_events.front();
  for (const Interval& event : events)
    found.events.push_back(civil_text(models.front().clock.civil(event.begin)));
  // All rooms at the same event of the same building-year.
  const auto at_event = [&](std::size_t r, std::size_t e, double EventRun::*figure) {
    double sum = 0.0;
    for (const SpaceRuns& space : runs) sum += space.runs[r].events[e].*figure;
    return sum / 1000.0;
  };
  const auto mean = [&](double EventRun::*figure) {
    return estimates.of([&](std::size_t r) {
      double sum = 0.0;
      for (std::size_t e = 0; e < events.size(); ++e) sum += at_event(r, e, figure);
      return sum / static_cast<double>(events.size());
    });
  };
  found.before_kw = mean(&EventRun::before_w);
  found.shed_kw = mean(&EventRun::shed_w);
  found.least_shed_kw = estimates.of([&](std::size_t r) {
    double least = at_event(r, 0, &EventRun::shed_w);
    for (std::size_t e = 1; e < events.size(); ++e)
      least = std::min(least, at_event(r, e, &EventRun::shed_w));
    return least;
  });
  return found;
}

}  // namespace halflight::sim
