#include "sim/replicate.hpp"

#include "people/calendar.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::sim {

using domain::Design;

namespace {

/// Rooms that refuse automatic off keep their lights whatever the sequence says.
domain::Sequence permitted(const domain::Space& space, domain::Sequence sequence) {
  if (space.automatic_off_refused) {
    sequence.vacancy.reset();
    if (sequence.schedule) sequence.schedule->sweeps_off = false;
  }
  return sequence;
}

/// One timeline's part in the power of a space.
struct Strand {
  const controls::Timeline* line = nullptr;
  std::vector<double> watts;  // by Setting::index()
  std::size_t segment = 0;
};

/// Largest power that timelines call for together, by one sweep over all of them.
double largest_power(std::vector<Strand>& strands) {
  double largest = 0.0;
  const auto power_of = [](const Strand& s) { return s.watts[s.line->segments[s.segment].setting.index()]; };
  for (;;) {
    double power = 0.0;
    Seconds next = kYear;
    for (const Strand& strand : strands) {
      power += power_of(strand);
      next = std::min(next, strand.line->segments[strand.segment].end);
    }
    largest = std::max(largest, power);
    if (next >= kYear) return largest;
    for (Strand& strand : strands)
      if (strand.line->segments[strand.segment].end == next) ++strand.segment;
  }
}

}  // namespace

Replicate::Replicate(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                     Causes causes)
    : model_(model), draws_(draws), causes_(causes), proposal_(design_index(model, Design::Role::proposal)) {
  const domain::Occupancy& occupancy = model.space->occupancy;
  open_as_used_ = sim::open_as_used(model, draws);
  presence_ = presence_in(model, draws);
  if (const domain::Calendar* calendar = domain::find_by_id(model.project->calendars, occupancy.calendar))
    cleaning_ = people::cleaning_visits(people::cleaning_time(*calendar, model.clock), model.seed,
                                        draws.replicate, model.space->id);
  at_the_switch_ = united(presence_.any, cleaning_);
  habit_ = people::draw_habit(model.seed, draws.replicate, model.space->id, draws.passive_share);
  reflected_ = reflected_factor(*model.lit, draws.reflectance_shift);
  daylight_ = shaded_daylight(model, daylight, presence_.any, draws);
  for (const auto automatic : {people::AutomaticOff::none, people::AutomaticOff::sensor}) {
    controls::HandHabits habits;
    habits.on_at_arrival = [this](double lx) { return habit_.on_at_arrival(lx); };
    habits.off_at_departure = [this, automatic](Seconds absence) {
      return habit_.off_at_departure(absence, automatic);
    };
    hands_.emplace_back(
        at_the_switch_, habits, [this](Seconds t) { return least_daylight_lx(t); },
        RandomKey{model.seed, hash_name(model.space->id)}, draws.replicate);
  }
  for (const ControlCell& cell : model.lit->cells) curves_.push_back(curves_of(model, cell, draws));
}

double Replicate::trim(const Way& way) const {
  return high_end_trim(model_, way.sequence, draws_.depreciation, reflected_);
}

std::vector<const domain::Scene*> Replicate::scenes_in_use(const Way& way, std::size_t design) const {
  std::vector<const domain::Scene*> in_use;
  if (!way.scenes_of_design) return in_use;
  for (const domain::Scene& scene : model_.project->designs[design].scenes)
    if (scene.space == model_.space->id && scene.id != way.sequence.normal_scene && scene.use_fraction > 0.0)
      in_use.push_back(&scene);
  return in_use;
}

controls::GroupLevels Replicate::levels(const Way& way, const ControlCell& cell) const {
  const domain::Scene* normal =
      way.scenes_of_design ? scene_of(model_.project->designs[cell.design], way.sequence.normal_scene)
                           : nullptr;
  const double normal_level = level_in(normal, cell.scene_group, 1.0);
  std::vector<double> scenes;
  for (const domain::Scene* scene : scenes_in_use(way, cell.design))
    scenes.push_back(level_in(scene, cell.scene_group, normal_level));
  return {way.sequence, normal_level, scenes};
}

double Replicate::least_daylight_lx(Seconds t) const {
  const auto step = static_cast<std::size_t>(std::clamp<Seconds>(t, 0, kYear - 1) / kStep_s);
  const std::int32_t i = model_.sunny->index_of_step[step];
  if (i < 0 || daylight_.tasks.empty()) return 0.0;
  // People answer to the darkest place they work at.
  float least = daylight_.tasks.front()[static_cast<std::size_t>(i)];
  for (const std::vector<float>& task : daylight_.tasks)
    least = std::min(least, task[static_cast<std::size_t>(i)]);
  return least;
}

Replicate::Course& Replicate::course(const Way& way, const ControlCell& cell) {
  domain::Sequence sequence = permitted(*model_.space, way.sequence);
  if (sequence.vacancy && !names_group(sequence.vacancy->groups, cell.occupancy_group))
    sequence.vacancy.reset();
  if (sequence.schedule && !names_group(sequence.schedule->groups, cell.schedule_group))
    sequence.schedule->sweeps_off = false;
  const bool by_schedule = sequence.on.by == domain::OnRule::By::schedule;
  if (sequence.schedule && !sequence.schedule->sweeps_off && !by_schedule) sequence.schedule.reset();
  CourseKey key{sequence.on,
                sequence.vacancy,
                sequence.schedule,
                sequence.manual,
                !sequence.schedule || way.schedule_as_used,
                {}};
  // Who is named has been decided, fades are not part of a timeline, and hands raise only what comes on
  // partly.
  if (key.vacancy) key.vacancy->groups.clear();
  if (key.schedule) key.schedule->groups.clear();
  if (sequence.on.by != domain::OnRule::By::occupancy || sequence.on.level >= 1.0) key.manual.reset();
  if (key.manual) key.manual->stations.clear();
  key.on.fade_s = 0.0;
  for (const domain::Scene* scene : scenes_in_use(way, cell.design))
    key.scene_use.push_back(scene->use_fraction);
  for (const std::unique_ptr<Course>& known : courses_)
    if (known->key == key) return *known;
  courses_.push_back(std::make_unique<Course>(walked(sequence, std::move(key))));
  return *courses_.back();
}

Replicate::Course Replicate::walked(const domain::Sequence& sequence, CourseKey key) {
  const IntervalSet open = !sequence.schedule ? open_as_used_
                                              : widened(open_of(model_, sequence.schedule->calendar),
                                                        key.as_used ? draws_.hours_shift_s : 0.0);
  controls::Hands& hands = hands_[sequence.vacancy ? 1 : 0];
  controls::TimelineInputs inputs{sequence, at_the_switch_, hands, open, cleaning_};
  inputs.scene_use = key.scene_use;
  inputs.key = {model_.seed, hash_name(model_.space->id)};
  inputs.replicate = draws_.replicate;
  inputs.with_causes = causes_ == Causes::tell;

  Course course;
  course.timeline = controls::base_timeline(inputs);
  for (const controls::Segment& s : course.timeline.segments) {
    const std::size_t index = s.setting.index();
    if (index >= course.seconds.size()) course.seconds.resize(index + 1, 0);
    course.seconds[index] += s.end - s.begin;
  }
  course.key = std::move(key);
  return course;
}

void Replicate::lay_on_steps(Course& course) const {
  if (!course.in_steps.empty()) return;
  course.in_steps.assign(course.seconds.size(), energy::TimeInSteps(model_.sunny->runs, kStep_s));
  for (const controls::Segment& s : course.timeline.segments)
    if (s.setting.kind != controls::Setting::Kind::off)
      course.in_steps[s.setting.index()].add(s.begin, s.end);
}

std::span<const double> Replicate::limit(const Way& way, const ControlCell& cell, double trim) {
  if (cell.design != proposal_ || cell.daylight_group.empty()) return {};
  const std::vector<domain::DaylightRule>& rules = way.sequence.daylight;
  auto found = std::find_if(limits_.begin(), limits_.end(),
                            [&](const auto& known) { return known->trim == trim && known->rules == rules; });
  if (found == limits_.end())
    found = limits_.insert(
        limits_.end(),
        std::make_unique<LimitsUnder>(LimitsUnder{
            trim, rules,
            daylight_limits(model_, way.sequence, trim, reflected_, draws_.depreciation, daylight_)}));
  for (const DaylightLimits::Group& group : (*found)->limits.groups)
    if (group.group == cell.daylight_group) return group.level;
  return {};
}

CaseRun Replicate::evaluate(const Way& way) {
  CaseRun run;
  const std::size_t design = design_index(model_, way.luminaires);
  const double high_end = trim(way);
  double rated = 0.0;
  std::vector<Strand> strands;
  for (std::size_t c = 0; c < model_.lit->cells.size(); ++c) {
    const ControlCell& cell = model_.lit->cells[c];
    if (cell.design != design) continue;
    Course& course = this->course(way, cell);
    const controls::GroupLevels own = levels(way, cell);
    const std::span<const energy::PowerCurve> curves = curves_[c];
    const std::span<const double> left = limit(way, cell, high_end);
    if (!left.empty()) lay_on_steps(course);

    auto strand = std::find_if(strands.begin(), strands.end(),
                               [&](const Strand& s) { return s.line == &course.timeline; });
    if (strand == strands.end())
      strand = strands.insert(strands.end(),
                              {&course.timeline, std::vector<double>(course.seconds.size(), 0.0), 0});
    energy::Drawn drawn;
    for (std::size_t i = 0; i < course.seconds.size(); ++i) {
      if (course.seconds[i] == 0) continue;
      const double level = own.by_index()[i] * high_end;
      const energy::Drawn part = left.empty()
                                     ? energy::drawn_at(curves, level, course.seconds[i])
                                     : energy::drawn_under_limit(curves, level, course.in_steps[i], left);
      drawn.watt_seconds += part.watt_seconds;
      drawn.lit_s += part.lit_s;
      strand->watts[i] += energy::on_w(curves, level);
    }
    run.light_wh += drawn.watt_seconds / kSecondsPerHour;
    if (way.drivers_stay_powered)
      run.standby_wh +=
          energy::standby_w(curves) * (static_cast<double>(kYear) - drawn.lit_s) / kSecondsPerHour;
    double cell_rated = 0.0;
    for (const energy::PowerCurve& curve : curves) cell_rated += curve.rated_w;
    run.lit_h += cell_rated * drawn.lit_s / kSecondsPerHour;
    rated += cell_rated;
  }
  if (rated > 0.0) run.lit_h /= rated;
  run.standby_wh += way.device_standby_w * (static_cast<double>(kYear) / kSecondsPerHour);
  if (strands.size() == 1)
    run.peak_w = *std::max_element(strands[0].watts.begin(), strands[0].watts.end());
  else if (!strands.empty())
    run.peak_w = largest_power(strands);
  return run;
}

std::vector<float> Replicate::half_hour_w(const Way& way) {
  std::vector<double> mean(kHalfHours, way.device_standby_w);
  const std::size_t design = design_index(model_, way.luminaires);
  const double high_end = trim(way);
  for (std::size_t c = 0; c < model_.lit->cells.size(); ++c) {
    const ControlCell& cell = model_.lit->cells[c];
    if (cell.design != design) continue;
    const controls::GroupLevels own = levels(way, cell);
    const std::span<const double> left = limit(way, cell, high_end);
    const double off_w = way.drivers_stay_powered ? energy::standby_w(curves_[c]) : 0.0;
    for (const controls::LevelSegment& s : controls::levels_of(timeline(way, cell), own)) {
      const double asked = s.level * high_end;
      for (Seconds t = s.begin; t < s.end;) {
        const Seconds until = std::min(s.end, (t / kStep_s + 1) * kStep_s);
        const std::int32_t i = model_.sunny->index_of_step[static_cast<std::size_t>(t / kStep_s)];
        const double given =
            left.empty() || i < 0 ? asked : std::min(asked, left[static_cast<std::size_t>(i)]);
        mean[static_cast<std::size_t>(t / kHalfHour)] +=
            (given > 0.0 ? energy::on_w(curves_[c], given) : off_w) * static_cast<double>(until - t) /
            kHalfHour;
        t = until;
      }
    }
  }
  return {mean.begin(), mean.end()};
}

}  // namespace halflight::sim
