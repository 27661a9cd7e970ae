#include "sim/replicate.hpp"

#include "sim/divided_room.hpp"
#include "sim/electric_states.hpp"
#include "sim/task_lamps.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>

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

/// What a plug-in dimmer lets people do.
const HandLevels kLampDimmer{true, {}};

/// Of people who have to choose.
const people::PreferredLight kEveryDay{.dims_on_a_day = 1.0};

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
    : model_(model),
      before_shades_(daylight),
      draws_(draws),
      causes_(causes),
      proposal_(design_index(model, Design::Role::proposal)) {
  open_as_used_ = sim::open_as_used(model, draws);
  presence_ = presence_in(model, draws);
  cleaning_ = cleaning_in(model, draws);
  at_the_switch_.push_back(united(presence_.awake(), cleaning_));
  if (!model.part_of_cell.empty()) {
    std::array<std::vector<IntervalSet>, 2> in_part;
    for (std::size_t k = 0; k < presence_.people.size(); ++k)
      for (int part = 0; part < 2; ++part)
        if (presence_.part[k] == people::Presence::kWholeRoom || presence_.part[k] == part)
          in_part[static_cast<std::size_t>(part)].push_back(presence_.people[k]);
    std::vector<IntervalSet> behind_wall;
    for (std::size_t k = 0; k < presence_.people.size(); ++k)
      if (presence_.part[k] != people::Presence::kWholeRoom) behind_wall.push_back(presence_.people[k]);
    divided_ = united(behind_wall);
    for (std::vector<IntervalSet>& people : in_part) {
      people.push_back(cleaning_);
      at_the_switch_.push_back(united(people));
    }
  }
  habit_ = people::draw_habit(model.seed, draws.replicate, model.space->id, draws.passive_share);
  preferred_lx_ = preferred_lx({});
  reflected_ = reflected_factor(*model.lit, draws.reflectance_shift);
  daylight_ = shaded_daylight(model, daylight, presence_.any, draws);
  for (const IntervalSet& at_the_switch : at_the_switch_)
    for (const auto automatic : {people::AutomaticOff::none, people::AutomaticOff::sensor}) {
      controls::HandHabits habits;
      habits.on_at_arrival = [this](double lx) { return habit_.on_at_arrival(lx); };
      habits.off_at_departure = [this, automatic](Seconds absence) {
        return habit_.off_at_departure(absence, automatic);
      };
      hands_.emplace_back(
          at_the_switch, habits, [this](Seconds t) { return least_daylight_lx(t); },
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
    if (scene.space == model_.space->id && scene.id != way.sequence.normal_scene &&
        domain::use_share(scene) > 0.0)
      in_use.push_back(&scene);
  // What a calendar calls has its share before what is called at any time.
  std::stable_partition(in_use.begin(), in_use.end(),
                        [](const domain::Scene* scene) { return !scene->calendar.empty(); });
  return in_use;
}

HandLevels Replicate::by_hand(const Way& way) const {
  const bool of_proposal = way.luminaires == Design::Role::proposal && way.scenes_of_design;
  return hand_levels(model_,
                     design_index(model_, of_proposal ? Design::Role::proposal : Design::Role::as_found),
                     way.sequence);
}

controls::GroupLevels Replicate::levels(const Way& way, const ControlCell& cell) const {
  if (!cell.lamp.empty()) {
    std::vector<double> tenths;
    for (std::size_t step = 0; step < kLampDimmer.count(); ++step)
      tenths.push_back(kLampDimmer.of(step, "", 1.0, true));
    return {way.sequence, 1.0, tenths};
  }
  const domain::Scene* normal =
      way.scenes_of_design ? scene_of(model_.project->designs[cell.design], way.sequence.normal_scene)
                           : nullptr;
  const double normal_level = level_in(normal, cell.scene_group, 1.0);
  std::vector<double> scenes;
  for (const domain::Scene* scene : scenes_in_use(way, cell.design))
    scenes.push_back(level_in(scene, cell.scene_group, normal_level));
  const HandLevels by_hand = this->by_hand(way);
  for (std::size_t step = 0; step < by_hand.count(); ++step)
    scenes.push_back(by_hand.of(step, cell.scene_group, normal_level, can_dim(model_, cell)));
  return {way.sequence, normal_level, scenes};
}

const std::vector<controls::LoweredFrom>& Replicate::lowered(const Way& way) {
  static const std::vector<controls::LoweredFrom> kNever;
  if (preferred_lx_.empty() || !way.sequence.manual) return kNever;
  const bool is_trimmed = way.sequence.trim.has_value();
  const std::optional<double> trim_high = is_trimmed ? way.sequence.trim->high : std::nullopt;
  for (const std::unique_ptr<Lowered>& known : lowered_)
    if (known->luminaires == way.luminaires && known->scenes_of_design == way.scenes_of_design &&
        known->normal_scene == way.sequence.normal_scene && known->on_by == way.sequence.on.by &&
        known->manual == way.sequence.manual && known->is_trimmed == is_trimmed &&
        known->trim_high == trim_high)
      return known->from;
  lowered_.push_back(std::make_unique<Lowered>(
      Lowered{way.luminaires, way.scenes_of_design, way.sequence.normal_scene, way.sequence.on.by,
              way.sequence.manual, is_trimmed, trim_high, find_lowered(way)}));
  return lowered_.back()->from;
}

std::vector<double> Replicate::preferred_lx(const people::PreferredLight& preferred) const {
  using Pattern = domain::Occupancy::Pattern;
  const domain::Occupancy& occupancy = model_.space->occupancy;
  if (occupancy.pattern != Pattern::desks && occupancy.pattern != Pattern::sleeping) return {};
  std::span<const IntervalSet> own_places = presence_.people;
  if (occupancy.pattern == Pattern::sleeping) own_places = own_places.first(presence_.sleepers.size());
  return people::preferred_light(own_places, model_.seed, draws_.replicate, model_.space->id, preferred);
}

std::vector<controls::LoweredFrom> Replicate::find_lowered(const Way& way) const {
  const HandLevels by_hand = this->by_hand(way);
  if (by_hand.count() == 0) return {};
  // The light at the place of work that has least of it: of those that ask for most.
  const std::size_t design = design_index(model_, way.luminaires);
  double most_target_lx = 0.0;
  for (const domain::TaskArea& task : model_.space->task_areas)
    most_target_lx = std::max(most_target_lx, task.target_lx);
  const double high_end = trim(way);
  double normal_lx = 0.0;
  std::vector<double> lx_of_step(by_hand.count(), 0.0);
  bool first = true;
  for (std::size_t t = 0; t < model_.lit->task_rows.size(); ++t) {
    if (model_.space->task_areas[t].target_lx < most_target_lx) continue;
    double here_lx = 0.0;
    std::vector<double> here_by_step(lx_of_step.size(), 0.0);
    for (const ControlCell& cell : model_.lit->cells) {
      if (cell.design != design || !cell.lamp.empty()) continue;
      const double full_lx =
          high_end * draws_.depreciation * cell_lx(model_, model_.lit->task_rows[t], cell, reflected_);
      const double normal = levels(way, cell).of({controls::Setting::Kind::normal});
      const bool dims = can_dim(model_, cell);
      here_lx += normal * full_lx;
      for (std::size_t step = 0; step < here_by_step.size(); ++step)
        here_by_step[step] += by_hand.of(step, cell.scene_group, normal, dims) * full_lx;
    }
    normal_lx = first ? here_lx : std::min(normal_lx, here_lx);
    for (std::size_t step = 0; step < lx_of_step.size(); ++step)
      lx_of_step[step] = first ? here_by_step[step] : std::min(lx_of_step[step], here_by_step[step]);
    first = false;
  }
  if (normal_lx <= 0.0) return {};
  // Whoever goes to the switches anyway chooses among the legs every time.
  const bool always = !by_hand.dims && way.sequence.on.by == domain::OnRule::By::hand;
  return lowered_day_by_day(always ? preferred_lx(kEveryDay) : preferred_lx_, normal_lx, lx_of_step);
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

const Replicate::Lamp& Replicate::lamp_of(const ControlCell& cell) {
  for (const std::unique_ptr<Lamp>& known : lamps_)
    if (known->cell == &cell) return *known;
  auto lamp = std::make_unique<Lamp>();
  lamp->cell = &cell;
  lamp->at_it = people_at_lamp(model_, cell, presence_);
  lamp->sensor_delay_s = lamp_sensor_delay_s(model_, cell);
  controls::HandHabits habits;  // whoever sits down switches it on
  habits.off_at_departure = [this](Seconds absence) {
    return habit_.off_at_departure(absence, people::AutomaticOff::none);
  };
  lamp->hands = std::make_unique<controls::Hands>(
      lamp->at_it, habits, std::function<double(Seconds)>(),
      RandomKey{model_.seed, hash_name(model_.space->id + "/" + cell.lamp)}, draws_.replicate);
  if (can_dim(model_, cell)) lamp->lowered = lamp_lowered(*lamp);
  lamps_.push_back(std::move(lamp));
  return *lamps_.back();
}

std::vector<controls::LoweredFrom> Replicate::lamp_lowered(const Lamp& lamp) const {
  // Beside what the normal scene gives at the task that the lamp is for.
  const bool of_proposal = lamp.cell->design == proposal_;
  const domain::Scene* normal = of_proposal ? normal_scene(model_) : nullptr;
  const double high_end =
      of_proposal ? high_end_trim(model_, model_.proposal.sequence, draws_.depreciation, reflected_) : 1.0;
  double lamp_lx = 0.0;
  double room_lx = 0.0;
  for (const lightresponse::PointRows& rows : model_.lit->task_rows) {
    const double here_lx = draws_.depreciation * cell_lx(model_, rows, *lamp.cell, reflected_);
    if (here_lx <= lamp_lx) continue;
    lamp_lx = here_lx;
    room_lx = 0.0;
    for (const ControlCell& cell : model_.lit->cells)
      if (cell.design == lamp.cell->design && cell.lamp.empty())
        room_lx += level_in(normal, cell.scene_group, 1.0) * high_end * draws_.depreciation *
                   cell_lx(model_, rows, cell, reflected_);
  }
  std::vector<double> lx_of_step;
  for (std::size_t step = 0; step < kLampDimmer.count(); ++step)
    lx_of_step.push_back(room_lx + lamp_lx * kLampDimmer.of(step, "", 1.0, true));
  return lowered_day_by_day(people::preferred_light({&lamp.at_it, 1}, model_.seed, draws_.replicate,
                                                    model_.space->id + "/" + lamp.cell->lamp, kEveryDay),
                            room_lx + lamp_lx, lx_of_step);
}

domain::Sequence Replicate::sequence_for(const Way& way, const ControlCell& cell) {
  if (!cell.lamp.empty()) {
    // Its own sensor is a strategy of its own design's for occupancy.
    const bool has_sensor = way.sensors && design_index(model_, *way.sensors) == cell.design;
    domain::Sequence sequence;
    sequence.on.by = domain::OnRule::By::hand;
    if (const std::optional<double> delay_s = lamp_of(cell).sensor_delay_s; has_sensor && delay_s) {
      sequence.on.by = domain::OnRule::By::occupancy;
      sequence.vacancy.emplace();
      sequence.vacancy->delay_s = *delay_s;
      sequence.vacancy->warning_s = 0.0;
    }
    return sequence;
  }
  domain::Sequence sequence = permitted(*model_.space, way.sequence);
  if (sequence.vacancy && !names_group(sequence.vacancy->groups, cell.occupancy_group))
    sequence.vacancy.reset();
  if (sequence.schedule && !names_group(sequence.schedule->groups, cell.schedule_group))
    sequence.schedule->sweeps_off = false;
  const bool by_schedule = sequence.on.by == domain::OnRule::By::schedule;
  if (sequence.schedule && !sequence.schedule->sweeps_off && !by_schedule) sequence.schedule.reset();
  return sequence;
}

Replicate::Course& Replicate::course(const Way& way, const ControlCell& cell) {
  const domain::Sequence sequence = sequence_for(way, cell);
  const Notice notice = notice_by(way, cell, sequence);
  CourseKey key{sequence.on,
                sequence.vacancy,
                sequence.schedule,
                sequence.manual,
                !sequence.schedule || way.schedule_as_used,
                way.installed.clock_fast_s,
                way.installed.holidays_unknown,
                notice.when,
                notice.served,
                part_of(cell),
                cell.lamp.empty() ? nullptr : &lamp_of(cell),
                {},
                {},
                cell.lamp.empty() ? lowered(way) : lamp_of(cell).lowered};
  // Who is named has been decided, fades are not part of a timeline, and hands raise only what comes on
  // partly.
  if (key.vacancy) key.vacancy->groups.clear();
  if (key.vacancy) key.vacancy->held_by.clear();  // they are in the motion
  if (key.schedule) key.schedule->groups.clear();
  if (sequence.on.by != domain::OnRule::By::occupancy || sequence.on.level >= 1.0) key.manual.reset();
  if (key.manual) key.manual->stations.clear();
  key.on.fade_s = 0.0;
  const std::vector<const domain::Scene*> scenes =
      cell.lamp.empty() ? scenes_in_use(way, cell.design) : std::vector<const domain::Scene*>();
  for (const domain::Scene* scene : scenes) {
    key.scene_use.push_back(domain::use_share(*scene));
    key.scene_when.push_back(when_called(*scene));
  }
  const auto always = [](const IntervalSet* when) { return when == nullptr; };
  if (std::all_of(key.scene_when.begin(), key.scene_when.end(), always)) key.scene_when.clear();
  for (const std::unique_ptr<Course>& known : courses_)
    if (known->key == key) return *known;
  courses_.push_back(std::make_unique<Course>(walked(sequence, std::move(key))));
  return *courses_.back();
}

const IntervalSet& Replicate::noticed(const Watch& watch, sensing::Grain grain, Hindrance hindrance) {
  // What befalls others leaves these sensors as they are.
  const auto& its = watch.sensors;
  if (std::find(its.begin(), its.end(), hindrance.covered) == its.end()) hindrance.covered = nullptr;
  for (const std::unique_ptr<Noticed>& known : noticed_)
    if (known->watch == &watch && known->grain == grain && known->hindrance == hindrance) return known->when;
  noticed_.push_back(std::make_unique<Noticed>(
      Noticed{&watch, grain, hindrance,
              noticed_in(model_.watched, watch, model_.space->id, presence_, cleaning_, model_.seed,
                         draws_.replicate, grain, hindrance)}));
  return noticed_.back()->when;
}

const IntervalSet* Replicate::noticed_by_all(domain::Design::Role design, double answered_s) {
  const Watch* watch = model_.watched.watch_of(design_index(model_, design), "");
  return watch == nullptr ? nullptr : &noticed(*watch, sensing::grain_for(answered_s), {});
}

const Replicate::Held& Replicate::held(const IntervalSet& own, const std::vector<std::string>& holders,
                                       domain::Design::Role design, sensing::Grain grain) {
  for (const std::unique_ptr<Held>& known : held_)
    if (known->own == &own && known->holders == holders && known->design == design) return *known;
  auto all = std::make_unique<Held>(Held{&own, holders, design, own, {}});
  for (const std::string& id : holders) {
    const SpaceModel* other = model_.holder(id);
    const Watch* watch =
        other == nullptr ? nullptr : other->watched.watch_of(design_index(*other, design), "");
    if (watch == nullptr) continue;  // what no sensor watches holds nothing
    IntervalSet there = noticed_in(other->watched, *watch, id, presence_in(*other, draws_),
                                   cleaning_in(*other, draws_), other->seed, draws_.replicate, grain);
    all->when = united(all->when, there);
    if (causes_ == Causes::tell) all->each.push_back({other->space, std::move(there)});
  }
  held_.push_back(std::move(all));
  return *held_.back();
}

const IntervalSet& Replicate::served(std::size_t design, const std::string& group, int part) {
  for (const std::unique_ptr<Served>& known : served_)
    if (known->design == design && known->group == group && known->part == part) return known->when;
  IntervalSet when =
      served_in(model_.watched, design, group, model_.space->id, presence_, model_.seed, draws_.replicate);
  if (part != people::Presence::kWholeRoom) when = intersected(when, at_the_switch(part));
  served_.push_back(std::make_unique<Served>(Served{design, group, part, std::move(when)}));
  return served_.back()->when;
}

const IntervalSet& Replicate::joined(const IntervalSet& own, const Watch& all, sensing::Grain grain,
                                     const Hindrance& hindrance) {
  const IntervalSet& of_all = noticed(all, grain, hindrance);
  for (const std::unique_ptr<Joined>& known : joined_)
    if (known->own == &own && known->all == &of_all) return known->when;
  joined_.push_back(std::make_unique<Joined>(
      Joined{&own, &of_all, united(intersected(own, divided_), subtracted(of_all, divided_))}));
  return joined_.back()->when;
}

int Replicate::part_of(const ControlCell& cell) const {
  return model_.part_of_cell.empty()
             ? people::Presence::kWholeRoom
             : model_.part_of_cell[static_cast<std::size_t>(&cell - model_.lit->cells.data())];
}

const IntervalSet* Replicate::when_called(const domain::Scene& scene) {
  auto known = std::find_if(scene_when_.begin(), scene_when_.end(),
                            [&](const auto& one) { return one->scene == &scene; });
  if (known == scene_when_.end()) {
    std::optional<IntervalSet> when = scene_stands_when(scene, *model_.space, divided_);
    if (!scene.calendar.empty()) {
      IntervalSet hours = open_of(model_, scene.calendar);
      when = when ? intersected(*when, hours) : std::move(hours);
    }
    known = scene_when_.insert(scene_when_.end(),
                               std::make_unique<SceneWhen>(SceneWhen{&scene, std::move(when)}));
  }
  return (*known)->when ? &*(*known)->when : nullptr;
}

Replicate::Notice Replicate::notice(const Way& way, const ControlCell& cell) {
  return notice_by(way, cell, sequence_for(way, cell));
}

Replicate::Notice Replicate::notice_by(const Way& way, const ControlCell& cell,
                                       const domain::Sequence& sequence) {
  const bool follows_motion = sequence.vacancy || sequence.on.by == domain::OnRule::By::occupancy;
  const int part = part_of(cell);
  if (!cell.lamp.empty()) {
    const IntervalSet* at_it = &lamp_of(cell).at_it;
    return {nullptr, at_it, at_it, nullptr, at_it, nullptr};
  }
  const Notice by_everybody{nullptr, &at_the_switch(part), &at_the_switch(part),
                            nullptr, &at_the_switch(part), nullptr};
  if (!way.sensors || !follows_motion) return by_everybody;
  const std::size_t design = design_index(model_, *way.sensors);
  // Sensors of another design know nothing of this design's groups: all of them report to each.
  const Watch* watch = model_.watched.watch_of(design, design == cell.design ? cell.occupancy_group : "");
  if (watch == nullptr) return by_everybody;
  // A gap that nothing answers may be filled.
  double answered_s = static_cast<double>(kYear);
  if (sequence.vacancy) {
    const domain::VacancyRule& rule = *sequence.vacancy;
    const double delay_s =
        rule.brief_visit_s > 0.0 ? std::min(rule.brief_delay_s, rule.delay_s) : rule.delay_s;
    answered_s = delay_s - (rule.step_level > 0.0 ? 0.0 : std::min(rule.warning_s, delay_s));
  }
  const sensing::Grain grain = sensing::grain_for(answered_s);
  const IntervalSet* when = &noticed(*watch, grain, way.installed.sensors);
  const Watch* all = model_.watched.watch_of(design, "");
  const bool joins =
      part != people::Presence::kWholeRoom && all != watch && model_.watched.knows_wall[design];
  if (joins) when = &joined(*when, *all, grain, way.installed.sensors);
  const IntervalSet* here = when;
  const Held* others = nullptr;
  if (sequence.vacancy && !sequence.vacancy->held_by.empty()) {
    others = &held(*here, sequence.vacancy->held_by, *way.sensors, grain);
    when = &others->when;
  }
  return {watch,
          when,
          &served(cell.design, cell.occupancy_group, part),
          joins ? all : nullptr,
          here,
          others == nullptr || others->each.empty() ? nullptr : &others->each};
}

Replicate::Course Replicate::walked(const domain::Sequence& sequence, CourseKey key) {
  const IntervalSet open =
      !sequence.schedule
          ? open_as_used_
          : shifted(widened(open_of(model_, sequence.schedule->calendar, !key.holidays_unknown),
                            key.as_used ? draws_.hours_shift_s : 0.0),
                    -key.clock_fast_s);
  controls::Hands& hands =
      key.lamp != nullptr ? *key.lamp->hands : hands_[2 * place_of(key.part) + (sequence.vacancy ? 1 : 0)];
  static const IntervalSet kNobody;
  controls::TimelineInputs inputs{sequence, *key.motion, hands, open,
                                  key.lamp == nullptr ? cleaning_ : kNobody};
  inputs.served = key.served;
  inputs.asleep = &presence_.asleep;
  inputs.scene_use = key.scene_use;
  inputs.scene_when = key.scene_when;
  inputs.lowered = key.lowered;
  inputs.key = {model_.seed, hash_name(model_.space->id)};
  inputs.replicate = draws_.replicate;
  inputs.with_causes = causes_ == Causes::tell;

  Course course;
  course.timeline = controls::base_timeline(inputs);
  const std::vector<Interval>& stays =
      (key.lamp == nullptr ? at_the_switch(key.part) : key.lamp->at_it).intervals();
  auto stay = stays.begin();
  for (const controls::Segment& s : course.timeline.segments) {
    const std::size_t index = s.setting.index();
    if (index >= course.seconds.size()) {
      course.seconds.resize(index + 1, 0);
      course.seconds_for_nobody.resize(index + 1, 0);
    }
    course.seconds[index] += s.end - s.begin;
    // Segments and stays are both in order.
    Seconds with_people = 0;
    while (stay != stays.end() && stay->begin < s.end) {
      with_people += std::max<Seconds>(0, std::min(s.end, stay->end) - std::max(s.begin, stay->begin));
      if (stay->end > s.end) break;
      ++stay;
    }
    course.seconds_for_nobody[index] += s.end - s.begin - with_people;
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

const ShadedDaylight& Replicate::daylight(domain::Scene::Shades shades) {
  using Shades = domain::Scene::Shades;
  if (shades == Shades::as_they_stand) return daylight_;
  const bool drawn = shades == Shades::drawn;
  std::unique_ptr<ShadedDaylight>& held = held_shades_[drawn ? 0 : 1];
  if (!held)
    held =
        std::make_unique<ShadedDaylight>(with_shades_held(model_, before_shades_, daylight_, drawn, draws_));
  return *held;
}

std::vector<const domain::Scene*> Replicate::scenes(const Way& way, const ControlCell& cell) const {
  std::vector<const domain::Scene*> by_setting(levels(way, cell).by_index().size(), nullptr);
  if (!cell.lamp.empty()) return by_setting;
  controls::Setting setting{controls::Setting::Kind::stored_scene};
  for (const domain::Scene* scene : scenes_in_use(way, cell.design)) {
    for (const bool dipped : {false, true}) {
      setting.dipped = dipped;
      by_setting[setting.index()] = scene;
    }
    ++setting.scene;
  }
  return by_setting;
}

std::vector<std::span<const double>> Replicate::limits(const Way& way, const ControlCell& cell, double trim) {
  using Shades = domain::Scene::Shades;
  const std::vector<const domain::Scene*> scene = scenes(way, cell);
  std::vector<std::span<const double>> by_setting(scene.size(),
                                                  limit(way, cell, trim, Shades::as_they_stand));
  if (by_setting.front().empty()) return by_setting;
  for (std::size_t i = 0; i < scene.size(); ++i) {
    if (scene[i] == nullptr) continue;
    if (!scene[i]->follows_daylight)
      by_setting[i] = {};
    else if (scene[i]->shades != Shades::as_they_stand)
      by_setting[i] = limit(way, cell, trim, scene[i]->shades);
  }
  return by_setting;
}

std::span<const double> Replicate::limit(const Way& way, const ControlCell& cell, double trim,
                                         domain::Scene::Shades shades) {
  if (cell.design != proposal_ || cell.daylight_group.empty()) return {};
  const std::vector<domain::DaylightRule>& rules = way.sequence.daylight;
  const LoopFaults& faults = way.installed.loops;
  auto found = std::find_if(limits_.begin(), limits_.end(), [&](const auto& known) {
    return known->trim == trim && known->shades == shades && known->rules == rules && known->faults == faults;
  });
  if (found == limits_.end())
    found =
        limits_.insert(limits_.end(), std::make_unique<LimitsUnder>(LimitsUnder{
                                          trim, rules, faults, shades,
                                          daylight_limits(model_, way.sequence, trim, reflected_,
                                                          draws_.depreciation, daylight(shades), faults)}));
  for (const DaylightLimits::Group& group : (*found)->limits.groups)
    if (group.group == cell.daylight_group) return group.level;
  return {};
}

CaseRun Replicate::evaluate(const Way& way) {
  CaseRun run;
  const std::size_t design = design_index(model_, way.luminaires);
  const double trimmed = trim(way);
  double rated = 0.0;
  std::vector<Strand> strands;
  for (std::size_t c = 0; c < model_.lit->cells.size(); ++c) {
    const ControlCell& cell = model_.lit->cells[c];
    if (cell.design != design) continue;
    Course& course = this->course(way, cell);
    const controls::GroupLevels own = levels(way, cell);
    const std::span<const energy::PowerCurve> curves = curves_[c];
    const std::vector<std::span<const double>> left = limits(way, cell, trimmed);
    const double high_end = high_end_of(cell, trimmed);
    if (std::any_of(left.begin(), left.end(), [](const auto& limit) { return !limit.empty(); }))
      lay_on_steps(course);

    auto strand = std::find_if(strands.begin(), strands.end(),
                               [&](const Strand& s) { return s.line == &course.timeline; });
    if (strand == strands.end())
      strand = strands.insert(strands.end(),
                              {&course.timeline, std::vector<double>(course.seconds.size(), 0.0), 0});
    energy::Drawn drawn;
    double for_nobody_ws = 0.0;
    for (std::size_t i = 0; i < course.seconds.size(); ++i) {
      if (course.seconds[i] == 0) continue;
      const double level = own.by_index()[i] * high_end;
      const energy::Drawn part = left[i].empty()
                                     ? energy::drawn_at(curves, level, course.seconds[i])
                                     : energy::drawn_under_limit(curves, level, course.in_steps[i], left[i]);
      drawn.watt_seconds += part.watt_seconds;
      drawn.lit_s += part.lit_s;
      for_nobody_ws += energy::drawn_at(curves, level, course.seconds_for_nobody[i]).watt_seconds;
      strand->watts[i] += energy::on_w(curves, level);
    }
    run.light_wh += drawn.watt_seconds / kSecondsPerHour;
    if (way.drivers_stay_powered)
      run.standby_wh +=
          energy::standby_w(curves) * (static_cast<double>(kYear) - drawn.lit_s) / kSecondsPerHour;
    double cell_rated = 0.0;
    for (const energy::PowerCurve& curve : curves) cell_rated += curve.rated_w;
    run.lit_h += cell_rated * drawn.lit_s / kSecondsPerHour;
    run.lit_for_nobody_h += for_nobody_ws / kSecondsPerHour;
    run.taken_from_people = std::max(run.taken_from_people, double(course.timeline.taken_from_people));
    run.dips_on_people = std::max(run.dips_on_people, double(course.timeline.dips_on_people));
    rated += cell_rated;
  }
  if (rated > 0.0) {
    run.lit_h /= rated;
    run.lit_for_nobody_h /= rated;
  }
  run.standby_wh += way.device_standby_w * (static_cast<double>(kYear) / kSecondsPerHour);
  if (strands.size() == 1)
    run.peak_w = *std::max_element(strands[0].watts.begin(), strands[0].watts.end());
  else if (!strands.empty())
    run.peak_w = largest_power(strands);
  return run;
}

template <class Piece>
void Replicate::each_piece(const Way& way, Seconds bin, Piece piece) {
  const std::size_t design = design_index(model_, way.luminaires);
  const double trimmed = trim(way);
  for (std::size_t c = 0; c < model_.lit->cells.size(); ++c) {
    const ControlCell& cell = model_.lit->cells[c];
    if (cell.design != design) continue;
    const controls::GroupLevels own = levels(way, cell);
    const std::vector<std::span<const double>> limits = this->limits(way, cell, trimmed);
    const double high_end = high_end_of(cell, trimmed);
    for (const controls::Segment& s : timeline(way, cell).segments) {
      const double asked = own.of(s.setting) * high_end;
      const std::span<const double> left = limits[s.setting.index()];
      const bool may_be_limited = !left.empty() && asked > 0.0;
      for (Seconds t = s.begin; t < s.end;) {
        const Seconds until =
            std::min(s.end, may_be_limited ? (t / kStep_s + 1) * kStep_s : (t / bin + 1) * bin);
        const std::int32_t i = model_.sunny->index_of_step[static_cast<std::size_t>(t / kStep_s)];
        const double given =
            !may_be_limited || i < 0 ? asked : std::min(asked, left[static_cast<std::size_t>(i)]);
        piece(c, t, until, given);
        t = until;
      }
    }
  }
}

std::vector<float> Replicate::half_hour_w(const Way& way) {
  std::vector<double> mean(kHalfHours, way.device_standby_w);
  each_piece(way, kHalfHour, [&](std::size_t c, Seconds begin, Seconds end, double level) {
    const double off_w = way.drivers_stay_powered ? energy::standby_w(curves_[c]) : 0.0;
    mean[static_cast<std::size_t>(begin / kHalfHour)] +=
        (level > 0.0 ? energy::on_w(curves_[c], level) : off_w) * static_cast<double>(end - begin) /
        kHalfHour;
  });
  return {mean.begin(), mean.end()};
}

DaysOfUse Replicate::days_of_use(const Way& way) {
  std::array<double, 365> wh{};
  std::array<double, 365> rated_wh{};
  wh.fill(way.device_standby_w * static_cast<double>(kDay) / kSecondsPerHour);
  std::vector<double> rated(curves_.size(), 0.0);
  double all_rated = 0.0;
  for (std::size_t c = 0; c < curves_.size(); ++c) {
    if (model_.lit->cells[c].design != design_index(model_, way.luminaires)) continue;
    for (const energy::PowerCurve& curve : curves_[c]) rated[c] += curve.rated_w;
    all_rated += rated[c];
  }
  each_piece(way, kDay, [&](std::size_t c, Seconds begin, Seconds end, double level) {
    const auto day = static_cast<std::size_t>(begin / kDay);
    const double hours = static_cast<double>(end - begin) / kSecondsPerHour;
    const double off_w = way.drivers_stay_powered ? energy::standby_w(curves_[c]) : 0.0;
    wh[day] += (level > 0.0 ? energy::on_w(curves_[c], level) : off_w) * hours;
    if (level > 0.0) rated_wh[day] += rated[c] * hours;
  });
  DaysOfUse days;
  for (std::size_t d = 0; d < days.wh.size(); ++d) {
    days.wh[d] = static_cast<float>(wh[d]);
    days.lit_h[d] = all_rated > 0.0 ? static_cast<float>(rated_wh[d] / all_rated) : 0.0F;
  }
  return days;
}

}  // namespace halflight::sim
