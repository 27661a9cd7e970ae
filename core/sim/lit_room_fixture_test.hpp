#pragma once
#include "climate/sun.hpp"
#include "sim/lit_space.hpp"
#include "sim/space_model.hpp"
#include "sim/space_year.hpp"
#include "sim/study.hpp"

#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

// Small buildings for the tests of this module.

namespace halflight::sim {

using domain::Design;

inline domain::LuminaireType luminaire_type(const std::string& id, double watts, const std::string& driver) {
  domain::LuminaireType type;
  type.id = id;
  type.length_m = 1.2;
  type.width_m = 0.3;
  domain::Channel channel;
  channel.id = "all";
  channel.driver = driver;
  channel.input_w = watts;
  channel.lumens = 100.0 * watts;
  channel.photometry.formula = "cosine_down";
  type.channels.push_back(channel);
  return type;
}

/// A window of 4 m x 1.6 m in the first wall of the room.
inline void add_window(domain::Project& project) {
  domain::Glazing glass;
  glass.id = "glass";
  project.glazings.push_back(glass);
  domain::Opening window;
  window.id = "window";
  window.offset_m = 0.5;
  window.width_m = 4.0;
  window.height_m = 1.6;
  window.glazing = "glass";
  project.spaces[0].openings.push_back(window);
}

/// All luminaires of the proposal as one daylight group of the room, governed by the photosensor "P1" at a
/// place.
inline void add_daylight_loop(Design& proposal, Point3 at) {
  domain::Group group;
  group.id = "day";
  group.space = "room";
  group.name = "day";
  group.strategy = domain::Strategy::daylight;
  for (const domain::Luminaire& luminaire : proposal.luminaires) group.channels.push_back(luminaire.id);
  proposal.groups.push_back(group);
  domain::Photosensor sensor;
  sensor.id = "P1";
  sensor.space = "room";
  sensor.at = at;
  sensor.groups = {"day"};
  proposal.photosensors.push_back(sensor);
  domain::DaylightRule rule;
  rule.group = "day";
  rule.photosensor = "P1";
  rule.task_area = "desk";
  proposal.sequences[0].daylight.push_back(rule);
}

/// All luminaires of the proposal as the occupancy group "all" of the room, which the sensor "M1" at a place
/// reports to; movement brings them on, and they go off after a delay.
inline void add_occupancy_sensor(Design& proposal, Point3 at, double delay_s) {
  domain::Group group;
  group.id = "all";
  group.space = "room";
  group.strategy = domain::Strategy::occupancy;
  for (const domain::Luminaire& luminaire : proposal.luminaires) group.channels.push_back(luminaire.id);
  proposal.groups.push_back(group);
  domain::OccupancySensor sensor;
  sensor.id = "M1";
  sensor.tag = "M-1";
  sensor.space = "room";
  sensor.at = at;
  sensor.groups = {"all"};
  proposal.occupancy_sensors.push_back(sensor);
  domain::Sequence& sequence = proposal.sequences[0];
  sequence.on.by = domain::OnRule::By::occupancy;
  sequence.vacancy.emplace();
  sequence.vacancy->delay_s = delay_s;
}

/// Ten luminaires in a room of 10 m x 6 m without windows; open 3,000 hours a year: 300 days of ten hours.
inline domain::Project ten_luminaires() {
  domain::Project project;
  project.id = "ten";
  project.site.latitude_deg = 51.0;
  project.site.calendar_year = 2026;
  domain::Calendar calendar;
  calendar.id = "open";
  calendar.hours.push_back({{0, 1, 2, 3, 4, 5, 6}, 8 * kHour, 18 * kHour});
  calendar.holidays.push_back({{1, 1}, {3, 6}});
  project.calendars.push_back(calendar);
  domain::Driver old_gear;
  old_gear.id = "old";
  old_gear.dims = false;
  old_gear.standby_w = 0.0;
  old_gear.power_at_zero = 1.0;
  domain::Driver new_gear;
  new_gear.id = "new";
  new_gear.standby_w = 0.4;
  new_gear.dims = false;  // so that the dip before a sweep costs nothing
  project.drivers = {old_gear, new_gear};
  project.luminaire_types = {luminaire_type("old", 58.0, "old"), luminaire_type("new", 30.0, "new")};
  domain::Space space;
  space.id = "room";
  space.name = "Room";
  space.floor = {{0, 0}, {10, 0}, {10, 6}, {0, 6}};
  space.occupancy.pattern = domain::Occupancy::Pattern::desks;
  space.occupancy.people = 1;
  space.occupancy.calendar = "open";
  domain::TaskArea task;
  task.id = "desk";
  task.name = "Desk";
  task.plan = {{1, 1}, {9, 1}, {9, 5}, {1, 5}};
  task.target_lx = 300.0;
  space.task_areas.push_back(task);
  project.spaces.push_back(space);
  for (const auto role : {Design::Role::as_found, Design::Role::proposal}) {
    Design design;
    design.id = role == Design::Role::as_found ? "found" : "proposal";
    design.role = role;
    for (int i = 0; i < 10; ++i) {
      domain::Luminaire luminaire;
      luminaire.id = design.id + std::to_string(i);
      luminaire.type = role == Design::Role::as_found ? "old" : "new";
      luminaire.space = "room";
      luminaire.at = {1.0 + 2.0 * (i % 5), i < 5 ? 1.5 : 4.5, 2.7};
      design.luminaires.push_back(luminaire);
    }
    domain::Sequence sequence;
    sequence.space = "room";
    sequence.on.by = domain::OnRule::By::schedule;
    sequence.schedule = domain::ScheduleRule{};
    sequence.schedule->calendar = "open";
    design.sequences.push_back(sequence);
    project.designs.push_back(design);
  }
  return project;
}

inline domain::LoadController controller() {
  domain::LoadController c;
  c.id = "LC1";
  c.space = "room";
  return c;
}

/// The lights were switched by hand; the proposal has automatic on to half, a vacancy rule and a trim.
inline domain::Project with_strategies() {
  domain::Project project = ten_luminaires();
  domain::Sequence& found = project.designs[0].sequences[0];
  found.on.by = domain::OnRule::By::hand;
  found.schedule.reset();
  Design& proposal = project.designs[1];
  proposal.load_controllers.push_back(controller());
  domain::Sequence& sequence = proposal.sequences[0];
  sequence.on.by = domain::OnRule::By::occupancy;
  sequence.on.level = 0.5;
  sequence.vacancy = domain::VacancyRule{};
  sequence.trim = domain::TrimRule{};
  return project;
}

/// A room lit and ready to run.
struct Bench {
  explicit Bench(domain::Project p, CaseControl code = {}, lightresponse::PhotometryFiles files = {})
      : project(std::move(p)), photometry_files(std::move(files)) {
    StudyInputs inputs{project, library, rules, photometry_files, {}, {}, {}};
    outside.emplace_back(sky, daylight::Compass(0.0), std::span<const daylight::OutsideSolid>());
    Result<LitSpace> made =
        light_space(inputs, 0, outside[0], light_options(Accuracy::draft), sunny.sun, context, log);
    EXPECT_TRUE(made) << (made ? "" : to_text(made.error().front()));
    lit.push_back(*std::move(made));
    daylight.tasks.resize(lit[0].task_rows.size());
    daylight.beam_on_tasks_w_m2.assign(lit[0].scene.window_groups.size(),
                                       std::vector<float>(sunny.step.size(), 0.0F));
    model = make_space_model(project, lit[0], sunny, code, daylight, 1);
  }
  domain::Project project;
  lightresponse::PhotometryFiles photometry_files;
  domain::Library library;
  std::vector<domain::CodeRule> rules;
  SerialExecutor executor;
  std::unique_ptr<BlobStore> blobs = make_memory_blob_store();
  Context context{executor, *blobs, nullptr, {}};
  lightresponse::StageLog log;
  climate::SkyDivision sky{1};
  climate::SunTrack track{climate::place_of(project.site), 0.0, 2026};
  SunnySteps sunny = sunny_steps(track, 1);
  std::vector<daylight::Outside> outside;
  std::vector<LitSpace> lit;
  SpaceDaylight daylight;  // windowless: every series is empty
  SpaceModel model;
};

/// Daylight on the task and at the photosensor of a room that has one of each, by number of the sunny step;
/// the photosensor is set up by it.
inline void let_in_daylight(Bench& bench, const std::function<double(std::size_t)>& task_lx,
                            const std::function<double(std::size_t)>& sensor_lx) {
  GroupSeries task;
  GroupSeries sensor;
  for (std::size_t i = 0; i < bench.sunny.step.size(); ++i) {
    task.open.push_back(static_cast<float>(task_lx(i)));
    sensor.open.push_back(static_cast<float>(sensor_lx(i)));
  }
  bench.daylight.tasks = {RowSeries{task}};
  bench.daylight.sensors = {RowSeries{sensor}};
  bench.model = make_space_model(bench.project, bench.lit[0], bench.sunny, {}, bench.daylight, 1);
}

}  // namespace halflight::sim
