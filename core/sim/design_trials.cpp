#include "sim/design_trials.hpp"

#include "base/sums.hpp"
#include "base/time_axis.hpp"
#include "codes/check.hpp"
#include "energy/estimate.hpp"
#include "sim/capacity.hpp"
#include "sim/divided_room.hpp"
#include "sim/electric_states.hpp"
#include "sim/light_states.hpp"
#include "sim/rule_year.hpp"
#include "sim/scene_targets.hpp"
#include "sim/space_results.hpp"
#include "sim/watched_people.hpp"

#include <cassert>
#include <utility>

namespace halflight::sim {

namespace {

/// Whether two photosensors have the same light on them.
bool look_alike(const domain::Photosensor& a, const domain::Photosensor& b) {
  return a.at.x == b.at.x && a.at.y == b.at.y && a.at.z == b.at.z && a.response == b.response &&
         a.cutoff_deg == b.cutoff_deg && a.aim_tilt_deg == b.aim_tilt_deg && a.aim_deg == b.aim_deg;
}

}  // namespace

std::vector<std::string> DesignTrial::refused_because() const {
  std::vector<std::string> because;
  for (const results::Finding& finding : findings) {
    if (finding.verdict != results::Finding::Verdict::fail) continue;
    const bool is_of_devices =
        finding.rule.starts_with("photosensor") || finding.rule == kDaylightCannotDim ||
        finding.rule == kControllerWithinLimits || finding.rule == kCircuitWithinBreaker ||
        finding.rule == kControlsFollowTheWall;
    if (finding.code.empty() && !finding.blocks_issue && !is_of_devices) continue;
    const std::string of_code =
        finding.section.empty() ? "" : finding.code + " " + finding.edition + " " + finding.section + ": ";
    because.push_back(of_code + finding.evidence);
  }
  return because;
}

DesignTrials::DesignTrials(const StudyInputs& bench, const StudyOptions& options, std::size_t space,
                           const Context& context, lightresponse::StageLog& log)
    : inputs_(bench),
      scrambles_(options.scrambles),
      seed_(options.seed),
      ready_(bench, options, {space}, context, log),
      uncertainty_(draw_uncertainty(bench.project, options.seed, options.scrambles,
                                    options.points_per_scramble, ready_.weather.size(), options.spread)) {}

std::unique_ptr<DesignTrials::Room> DesignTrials::room(const domain::Project& project) const {
  const LitSpace& bench = ready_.lit().front();
  const std::string& id = project.spaces[bench.index].id;
  auto made = std::make_unique<Room>(Room{bench, {}, {}});
  LitSpace& lit = made->lit;
  for (lightresponse::ChannelColumn& column : lit.scene.columns)
    column.only_switched =
        domain::switched_channels(project, project.designs[column.design]).contains(column.id);
  lit.cells = control_cells(project, id, lit.scene.columns);

  const domain::Design* had = domain::find_design(inputs_.project, domain::Design::Role::proposal);
  const domain::Design* has = domain::find_design(project, domain::Design::Role::proposal);
  std::vector<std::size_t> chosen;  // of the bench's sensors
  lit.sensors.clear();
  for (std::size_t i = 0; has != nullptr && i < has->photosensors.size(); ++i) {
    if (has->photosensors[i].space != id) continue;
    std::size_t same = 0;
    while (same < bench.sensors.size() &&
           !look_alike(has->photosensors[i], had->photosensors[bench.sensors[same]]))
      ++same;
    assert(same < bench.sensors.size());
    chosen.push_back(same);
    lit.sensors.push_back(i);
  }
  const auto pick = [&](const auto& all) {
    std::decay_t<decltype(all)> some;
    for (const std::size_t c : chosen)
      if (c < all.size()) some.push_back(all[c]);
    return some;
  };
  lit.sensor_sets = pick(bench.sensor_sets);
  lit.sensor_rows = pick(bench.sensor_rows);
  lit.sensor_sun = pick(bench.sensor_sun);
  lit.sensor_panes = pick(bench.sensor_panes);
  for (const std::vector<SpaceDaylight>& year : ready_.daylight_by_year) {
    const SpaceDaylight& all = year.front();
    made->daylight.push_back({all.tasks, pick(all.sensors), all.beam_on_tasks_w_m2, all.panes});
  }
  made->model = make_space_model(project, lit, ready_.sunny, CaseControl{}, made->daylight.front(), seed_);
  made->model.demand_events = ready_.models.front().demand_events;
  return made;
}

results::Estimate DesignTrials::estimate(const std::vector<double>& values) const {
  return energy::estimate(values, scrambles_, {});
}

DesignTrial DesignTrials::run(const Room& room, const Way& way, bool has_loops) const {
  const SpaceModel& model = room.model;
  std::vector<double> under;
  std::vector<double> over;
  std::vector<double> taken;
  std::vector<double> dips;
  std::vector<double> nobody;
  DesignTrial trial;
  for (const Draws& draws : uncertainty_.draws) {
    Replicate replicate(model, room.daylight[draws.weather_year], draws);
    const CaseRun run = replicate.evaluate(way);
    trial.kwh.push_back((run.light_wh + run.standby_wh) / 1000.0);
    taken.push_back(run.taken_from_people);
    dips.push_back(run.dips_on_people);
    nobody.push_back(run.lit_for_nobody_h);
    double under_h = 0.0;
    double over_wh = 0.0;
    if (has_loops)
      for (const RuleYear& rule : rule_years(replicate, way)) {
        under_h += rule.under_h;
        over_wh += rule.over_wh;
      }
    under.push_back(under_h);
    over.push_back(over_wh / 1000.0);
  }
  trial.year_kwh = estimate(trial.kwh);
  trial.under_lit_h = estimate(under);
  trial.over_lit_kwh = estimate(over);
  trial.taken_from_people = estimate(taken);
  trial.dips_on_people = estimate(dips);
  trial.lit_for_nobody_h = estimate(nobody);
  return trial;
}

DesignTrial DesignTrials::of(const domain::Project& project) const {
  const std::unique_ptr<Room> made = room(project);
  DesignTrial trial = judged(*made);
  return trial.refused_because().empty() ? years_of(*made, std::move(trial)) : trial;
}

DesignTrial DesignTrials::through_years(const domain::Project& project) const {
  const std::unique_ptr<Room> made = room(project);
  return years_of(*made, judged(*made));
}

DesignTrial DesignTrials::years_of(const Room& room, DesignTrial judged) const {
  DesignTrial years = run(room, way_of_proposal(room.model), true);
  years.findings = std::move(judged.findings);
  years.egress = std::move(judged.egress);
  return years;
}

DesignTrial DesignTrials::judge(const domain::Project& project) const { return judged(*room(project)); }

DesignTrial DesignTrials::judged(const Room& room) const {
  const SpaceModel& model = room.model;
  const domain::Project& project = *model.project;
  DesignTrial trial;
  results::SpaceStudy one;
  one.id = model.space->id;
  one.area_m2 = area(model.space->floor);
  one.connected_w = connected_w(model, domain::Design::Role::proposal);
  one.connected_as_found_w = connected_w(model, domain::Design::Role::as_found);
  one.electric = electric_light(model);
  const domain::SpaceKind* kind = domain::find_by_id(inputs_.library.kinds, model.space->kind);
  one.egress = egress_light(model, ready_.rules, kind != nullptr && kind->is_egress_component);
  for (std::size_t r = 0; r < model.calibrations.size(); ++r)
    for (results::Finding& finding : daylight_rule_findings(model, r))
      trial.findings.push_back(std::move(finding));
  if (auto finding = hunting_finding(model)) trial.findings.push_back(*std::move(finding));
  if (auto finding = divided_room_finding(model)) trial.findings.push_back(*std::move(finding));
  for (results::Finding& finding : scene_target_findings(model, one))
    trial.findings.push_back(std::move(finding));
  if (const domain::Design* design = domain::find_design(project, domain::Design::Role::proposal)) {
    for (results::Finding& finding : capacity_findings(project, inputs_.library, *design, model.space->id))
      trial.findings.push_back(std::move(finding));
    for (results::Finding& finding :
         codes::check_space(project, inputs_.library, *design, *model.space, one, ready_.rules))
      trial.findings.push_back(std::move(finding));
  }
  trial.egress = std::move(one.egress);
  return trial;
}

DesignTrial DesignTrials::as_found() const {
  const std::unique_ptr<Room> made = room(inputs_.project);
  return run(*made, way_as_found(made->model), false);
}

DesignTrial DesignTrials::new_luminaires_only() const {
  const std::unique_ptr<Room> made = room(inputs_.project);
  return run(*made, way_of_relamped(made->model), false);
}

std::vector<std::vector<PlugUseByWay>> DesignTrials::plugs(const domain::Project& project) const {
  const std::unique_ptr<Room> made = room(project);
  std::vector<std::vector<PlugUseByWay>> years;
  for (const Draws& draws : uncertainty_.draws) {
    Replicate replicate(made->model, made->daylight[draws.weather_year], draws);
    years.push_back(plug_uses(replicate));
  }
  return years;
}

}  // namespace halflight::sim
