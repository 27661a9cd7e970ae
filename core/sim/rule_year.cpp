#include "sim/rule_year.hpp"

#include "energy/power_curve.hpp"
#include "sim/electric_states.hpp"

#include <algorithm>
#include <cstddef>
#include <map>

namespace halflight::sim {

namespace {

constexpr double kStep_h = static_cast<double>(kStep_s) / static_cast<double>(kHour);

/// Channels of a cell with one least light, and what they give each task at full output, lx.
struct Part {
  double least_light = 0.0;
  std::vector<double> task_lx;
};

/// A cell through the year.
struct Course {
  const ControlCell* cell = nullptr;
  const controls::Timeline* timeline = nullptr;
  std::vector<double> asked;                    // by Setting::index(), of full output
  std::vector<std::span<const double>> limits;  // as `asked`
  std::vector<const domain::Scene*> scenes;     // as `asked`
  std::span<const energy::PowerCurve> curves;
  std::vector<Part> parts;
  std::vector<double> asked_lx;  // as `asked`, task by task
  std::vector<double> asked_w;   // as `asked`
  std::size_t segment = 0;
  // In the present step.
  std::size_t setting = 0;
  double now = 0.0;    // asked for
  double level = 0.0;  // with daylight
};

double lx_at(const Course& course, double level, std::size_t task) {
  double lx = 0.0;
  for (const Part& part : course.parts) lx += light_given(part.least_light, level) * part.task_lx[task];
  return lx;
}

std::vector<Course> courses_of(Replicate& replicate, const Way& way) {
  const SpaceModel& model = replicate.model();
  const LitSpace& lit = *model.lit;
  const std::size_t design = design_index(model, way.luminaires);
  const double trim = replicate.trim(way);
  std::vector<Course> courses;
  for (std::size_t c = 0; c < lit.cells.size(); ++c) {
    const ControlCell& cell = lit.cells[c];
    if (cell.design != design) continue;
    Course course;
    course.cell = &cell;
    course.timeline = &replicate.timeline(way, cell);
    const controls::GroupLevels levels = replicate.levels(way, cell);
    for (const double level : levels.by_index())
      course.asked.push_back(cell.only_switched && level > 0.0 ? 1.0 : high_end_of(cell, trim) * level);
    course.limits = replicate.limits(way, cell, trim);
    course.scenes = replicate.scenes(way, cell);
    course.curves = replicate.curves(c);
    std::map<double, std::vector<double>> weights;  // of columns, by their least light
    for (const std::size_t column : cell.columns) {
      std::vector<double>& weight = weights[least_light(*model.project, lit.scene.columns[column])];
      weight.resize(lit.scene.columns.size(), 0.0);
      weight[column] = light_loss(*model.project, lit.scene.columns[column]) * replicate.depreciation();
    }
    for (const auto& [least, weight] : weights) {
      Part& part = course.parts.emplace_back(Part{least, {}});
      for (const lightresponse::PointRows& rows : lit.task_rows)
        part.task_lx.push_back(mean_lx(rows, weight, replicate.reflected()));
    }
    for (const double level : course.asked) course.asked_w.push_back(energy::on_w(course.curves, level));
    for (std::size_t t = 0; t < lit.task_rows.size(); ++t)
      for (const double level : course.asked) course.asked_lx.push_back(lx_at(course, level, t));
    courses.push_back(std::move(course));
  }
  return courses;
}

double given_lx(std::span<const GroupPart> parts, double level) {
  double lx = 0.0;
  for (const GroupPart& part : parts)
    lx += light_given(part.least_light, std::min(part.asked, level)) * part.full_lx;
  return lx;
}

/// One rule at work.
class Judge {
 public:
  Judge(const SpaceModel& model, const domain::DaylightRule& rule, std::size_t task,
        std::span<const Course> courses)
      : rule_(rule),
        task_(task),
        target_lx_(model.space->task_areas[task].target_lx),
        minimum_(only_switches(model, rule.group) ? 1.0 : rule.minimum_level) {
    for (const Course& course : courses) own_.push_back(course.cell->daylight_group == rule.group);
  }

  void step(std::span<const Course> courses, double daylight_lx, RuleYear& year) {
    double promised_lx = 0.0;
    double beside_lx = daylight_lx;
    double own_lx = 0.0;
    double asked_w = 0.0;
    double drawn_w = 0.0;
    parts_.clear();
    for (std::size_t c = 0; c < courses.size(); ++c) {
      const Course& course = courses[c];
      if (course.now <= 0.0) continue;
      // A scene that does not follow daylight is not the loop's to hold.
      if (own_[c] && course.scenes[course.setting] != nullptr &&
          !course.scenes[course.setting]->follows_daylight)
        return;
      const double asked_lx = course.asked_lx[task_ * course.asked.size() + course.setting];
      const bool dimmed = course.level < course.now;
      const double lx = dimmed ? lx_at(course, course.level, task_) : asked_lx;
      promised_lx += asked_lx;
      if (!own_[c]) {
        beside_lx += lx;
        continue;
      }
      own_lx += lx;
      asked_w += course.asked_w[course.setting];
      drawn_w += dimmed ? energy::on_w(course.curves, course.level) : course.asked_w[course.setting];
      for (const Part& part : course.parts)
        parts_.push_back({course.now, part.least_light, part.task_lx[task_]});
    }
    if (parts_.empty()) return;
    const double ideal = ideal_level(parts_, promised_lx - beside_lx, minimum_, rule_.may_switch_off);
    const double ideal_lx = given_lx(parts_, ideal);
    double ideal_w = 0.0;
    for (std::size_t c = 0; c < courses.size(); ++c)
      if (own_[c] && courses[c].now > 0.0)
        ideal_w += energy::on_w(courses[c].curves, std::min(courses[c].now, ideal));
    const double least_lx = kUnderLit * std::min(target_lx_, promised_lx);
    const double lx = beside_lx + own_lx;
    year.hours += kStep_h;
    if (lx < least_lx) {
      year.under_h += kStep_h;
      year.shortfall_lx_h += (least_lx - lx) * kStep_h;
    }
    if (own_lx - ideal_lx > kOverLit * promised_lx) year.over_h += kStep_h;
    year.over_wh += std::max(0.0, drawn_w - ideal_w) * kStep_h;
    year.saved_wh += (asked_w - drawn_w) * kStep_h;
    year.ideal_saved_wh += (asked_w - ideal_w) * kStep_h;
  }

 private:
  const domain::DaylightRule& rule_;
  std::size_t task_;
  double target_lx_;
  double minimum_;
  std::vector<bool> own_;         // of each course: the rule governs it
  std::vector<GroupPart> parts_;  // of the group, in the present step
};

}  // namespace

double ideal_level(std::span<const GroupPart> parts, double needed_lx, double minimum, bool may_switch_off) {
  if (needed_lx <= 0.0 && may_switch_off) return 0.0;
  double most = 0.0;
  for (const GroupPart& part : parts) most = std::max(most, part.asked);
  const double least = std::min(minimum, most);
  if (parts.empty() || needed_lx <= given_lx(parts, least)) return least;
  if (needed_lx >= given_lx(parts, most)) return most;
  const bool alike = std::all_of(parts.begin(), parts.end(), [&](const GroupPart& part) {
    return part.asked == parts[0].asked && part.least_light == parts[0].least_light;
  });
  if (alike) {
    double full_lx = 0.0;
    for (const GroupPart& part : parts) full_lx += part.full_lx;
    return std::clamp(needed_lx / full_lx, least, most);
  }
  // More light at a higher level, in straight pieces between the levels at which a part leaves its least
  // light or has what is asked for.
  double low = least;
  double low_lx = given_lx(parts, low);
  for (;;) {
    double high = most;
    for (const GroupPart& part : parts)
      for (const double kink : {part.least_light, part.asked})
        if (kink > low && kink < high) high = kink;
    const double high_lx = given_lx(parts, high);
    if (high_lx >= needed_lx || high >= most)
      return low + (high - low) * std::min(1.0, (needed_lx - low_lx) / (high_lx - low_lx));
    low = high;
    low_lx = high_lx;
  }
}

std::vector<RuleYear> rule_years(Replicate& replicate, const Way& way) {
  const SpaceModel& model = replicate.model();
  const std::vector<domain::DaylightRule>& rules = model.proposal.sequence.daylight;
  std::vector<RuleYear> years(rules.size());
  const ShadedDaylight& daylight = replicate.daylight();
  if (rules.empty() || daylight.sensors.empty()) return years;
  std::vector<Course> courses = courses_of(replicate, way);
  struct Judged {
    std::size_t rule;
    std::size_t task;
    Judge judge;
  };
  std::vector<Judged> judged;
  for (std::size_t r = 0; r < rules.size(); ++r)
    if (model.rule_task[r] < daylight.tasks.size())
      judged.push_back({r, model.rule_task[r], Judge(model, rules[r], model.rule_task[r], courses)});

  auto there = replicate.presence().any.intervals().begin();
  const auto nobody_more = replicate.presence().any.intervals().end();
  for (std::size_t i = 0; i < model.sunny->step.size(); ++i) {
    const Seconds t = static_cast<Seconds>(model.sunny->step[i]) * kStep_s + kStep_s / 2;
    while (there != nobody_more && there->end <= t) ++there;
    if (there == nobody_more) break;
    if (there->begin > t) continue;
    domain::Scene::Shades shades = domain::Scene::Shades::as_they_stand;
    for (Course& course : courses) {
      const std::vector<controls::Segment>& segments = course.timeline->segments;
      while (segments[course.segment].end <= t) ++course.segment;
      course.setting = segments[course.segment].setting.index();
      course.now = course.asked[course.setting];
      const std::span<const double> limit = course.limits[course.setting];
      course.level = limit.empty() ? course.now : std::min(course.now, limit[i]);
      const domain::Scene* scene = course.scenes[course.setting];
      if (scene != nullptr && scene->shades != domain::Scene::Shades::as_they_stand) shades = scene->shades;
    }
    const ShadedDaylight& seen = replicate.daylight(shades);
    for (Judged& one : judged) one.judge.step(courses, seen.tasks[one.task][i], years[one.rule]);
  }
  return years;
}

}  // namespace halflight::sim
