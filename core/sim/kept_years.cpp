#include "sim/kept_years.hpp"

#include <cstring>

namespace halflight::sim {

namespace {

void add(KeyBuilder& key, const lightresponse::PointRows& rows) {
  key.add(rows.points)
      .add(rows.columns)
      .add(std::span<const float>(rows.electric))
      .add(std::span<const float>(rows.electric_reflected));
}

void add(KeyBuilder& key, const RowSeries& series) {
  key.add(series.size());
  for (const GroupSeries& group : series)
    key.add(std::span<const float>(group.open))
        .add(std::span<const float>(group.drawn))
        .add(group.reflected_share);
}

void add(KeyBuilder& key, const Draws& d) {
  key.add(d.hours_shift_s)
      .add(d.people_intensity)
      .add(d.baseline_watts)
      .add(d.new_watts)
      .add(d.reflectance_shift)
      .add(d.depreciation)
      .add(d.shade_raise)
      .add(d.passive_share)
      .add(d.plug_watts)
      .add(d.left_on_shift)
      .add(d.weather_year)
      .add(d.replicate);
}

/// Calls `number` with each number of a run, in one order for writing and reading.
template <class Number>
void each_number(ReplicateRun& run, Number number) {
  const auto of_case = [&](CaseRun& one) {
    number(one.light_wh);
    number(one.standby_wh);
    number(one.lit_h);
    number(one.peak_w);
    number(one.lit_for_nobody_h);
    number(one.taken_from_people);
    number(one.dips_on_people);
  };
  for (CaseRun& one : run.cases) of_case(one);
  of_case(run.as_usually_found);
  for (double& wh : run.coalition_wh) number(wh);
  for (double& fraction : run.daylight_hours_fraction) number(fraction);
  for (FaultRun& fault : run.faults) {
    of_case(fault.year);
    number(fault.under_lit_h);
  }
  for (RuleYear& rule : run.rules) {
    number(rule.hours);
    number(rule.under_h);
    number(rule.shortfall_lx_h);
    number(rule.over_h);
    number(rule.over_wh);
    number(rule.saved_wh);
    number(rule.ideal_saved_wh);
  }
  for (PlugRun& plug : run.plugs) {
    number(plug.found_wh);
    number(plug.proposed_wh);
    number(plug.cut_with_people_h);
  }
  for (EventRun& event : run.events) {
    number(event.before_w);
    number(event.shed_w);
    for (double& lx : event.task_lx) number(lx);
  }
  for (std::int32_t& change : run.contact_changes) number(change);
  number(run.divided_h);
  for (float& w : run.half_hour_w) number(w);
  for (float& wh : run.as_found_by_day.wh) number(wh);
  for (float& hours : run.as_found_by_day.lit_h) number(hours);
}

}  // namespace

Hash years_key(const Hash& content, const SpaceModel& model,
               std::span<const SpaceDaylight* const> daylight_by_year, std::span<const Draws> draws) {
  KeyBuilder key;
  key.add("years of use, by parts of divided rooms, contacts to HVAC beside")
      .add(content)
      .add(std::uint64_t{model.seed});
  for (const lightresponse::PointRows& rows : model.lit->task_rows) add(key, rows);
  for (const lightresponse::PointRows& rows : model.lit->sensor_rows) add(key, rows);
  for (const SpaceDaylight* daylight : daylight_by_year) {
    for (const RowSeries& series : daylight->tasks) add(key, series);
    for (const RowSeries& series : daylight->sensors) add(key, series);
    for (const std::vector<float>& beam : daylight->beam_on_tasks_w_m2) key.add(std::span<const float>(beam));
    for (const PaneSeries& pane : daylight->panes) {
      add(key, pane.far_side);
      for (const std::vector<float>& beam : pane.lender_beam_w_m2) key.add(std::span<const float>(beam));
    }
  }
  for (const auto* rows : {&model.lit->task_panes, &model.lit->sensor_panes})
    for (const lightresponse::PaneRows& row : *rows)
      for (std::size_t p = 0; p < model.lit->panes.size(); ++p)
        key.add(model.lit->panes[p].gain(row.of(0, p))).add(model.lit->panes[p].reflected_gain(row.of(0, p)));
  for (const std::vector<Interval>& events : model.demand_events)
    for (const Interval& event : events) key.add(event.begin).add(event.end);
  for (const Draws& draw : draws) add(key, draw);
  return key.key();
}

std::vector<std::byte> to_bytes(SpaceRuns runs) {
  std::vector<std::byte> bytes;
  const auto put = [&](const auto& value) {
    const auto raw = std::as_bytes(std::span(&value, 1));
    bytes.insert(bytes.end(), raw.begin(), raw.end());
  };
  for (const ReplicateRun& run : runs.runs) put(static_cast<std::uint32_t>(run.contact_changes.size()));
  for (ReplicateRun& run : runs.runs) each_number(run, put);
  return bytes;
}

std::optional<SpaceRuns> runs_of(std::span<const std::byte> bytes, std::size_t replicates,
                                 const SpaceModel& model) {
  const std::size_t faults = faults_of(model).size();
  SpaceRuns runs;
  runs.runs.resize(replicates);
  // Other than all else, the number of changes of a contact differs from run to run: it comes first.
  std::size_t expected = replicates * sizeof(std::uint32_t);
  if (bytes.size() < expected) return std::nullopt;
  const std::byte* next = bytes.data();
  const auto take = [&](auto& value) {
    std::memcpy(&value, next, sizeof value);
    next += sizeof value;
  };
  for (ReplicateRun& run : runs.runs) {
    std::uint32_t changes = 0;
    take(changes);
    if (changes > bytes.size()) return std::nullopt;
    run.contact_changes.resize(changes);
  }
  for (std::size_t r = 0; r < replicates; ++r) {
    ReplicateRun& run = runs.runs[r];
    run.daylight_hours_fraction.resize(model.lit->task_rows.size());
    run.rules.resize(model.proposal.sequence.daylight.size());
    if (r < kYearsOfFaults && faults > 0) run.faults.resize(faults + 1);
    run.plugs.resize(domain::devices_of(model.space->plug_loads).size());
    if (!model.demand_events.empty()) run.events.resize(model.demand_events.front().size());
    for (EventRun& event : run.events) event.task_lx.resize(model.lit->task_rows.size());
    if (r == 0) run.half_hour_w.resize(kHalfHours);
    each_number(run, [&](const auto& value) { expected += sizeof value; });
  }
  if (bytes.size() != expected) return std::nullopt;
  for (ReplicateRun& run : runs.runs) each_number(run, take);
  return runs;
}

}  // namespace halflight::sim
