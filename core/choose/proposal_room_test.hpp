#pragma once
#include "base/units.hpp"
#include "climate/synthetic_year.hpp"
#include "domain/code_rules.hpp"
#include "sim/lit_room_fixture_test.hpp"

#include <cmath>
#include <string>
#include <utility>
#include <vector>

// A small office and kinds of devices for the tests of proposals.

namespace halflight::choose {

inline domain::DeviceKind device_kind(const std::string& id, domain::DeviceKind::Mounting mounting,
                                      domain::Link link, double material, double labour_h, double set_up_h) {
  domain::DeviceKind kind;
  kind.id = id;
  kind.name = id;
  kind.mounting = mounting;
  kind.link = link;
  kind.price = {{material, material}, {labour_h, labour_h}, {set_up_h, set_up_h}};
  kind.source = "made up";
  return kind;
}

/// One kind of each sort. Prices are made up; ranges of one figure.
inline domain::Library device_library() {
  using Mounting = domain::DeviceKind::Mounting;
  using domain::Link;
  domain::Library library;
  std::vector<domain::DeviceKind>& kinds = library.device_kinds;
  domain::OccupancySensing sees;
  sees.major_radius_m = 7.5;
  sees.minor_radius_m = 4.6;
  kinds.push_back(device_kind("ceiling_sensor", Mounting::ceiling, Link::wired, 100.0, 0.5, 0.25));
  kinds.back().occupancy = sees;
  kinds.back().standby_w = 0.5;
  kinds.push_back(device_kind("ceiling_sensor_radio", Mounting::ceiling, Link::radio, 150.0, 0.25, 0.25));
  kinds.back().occupancy = sees;
  kinds.push_back(device_kind("wall_box_sensor", Mounting::wall_box, Link::wired, 60.0, 0.5, 0.25));
  kinds.back().occupancy = sees;
  kinds.back().occupancy->coverage = domain::OccupancySensor::Coverage::half_circle;
  kinds.back().occupancy->major_radius_m = 12.0;
  kinds.back().occupancy->minor_radius_m = 10.0;
  kinds.back().needs_neutral = true;
  kinds.back().standby_w = 0.6;
  kinds.back().buttons = 2;
  kinds.back().load.emplace();
  kinds.back().load->action = domain::LoadController::Action::on_off;
  kinds.back().load->limit_a = 6.0;
  kinds.push_back(device_kind("luminaire_sensor", Mounting::in_luminaire, Link::radio, 50.0, 0.0, 0.1));
  kinds.back().occupancy = sees;
  kinds.back().occupancy->coverage = domain::OccupancySensor::Coverage::in_luminaire;
  kinds.back().occupancy->major_radius_m = 3.6;
  kinds.back().occupancy->minor_radius_m = 2.4;
  kinds.back().standby_w = 0.6;
  kinds.back().load.emplace();
  kinds.back().load->limit_a = 2.0;
  kinds.back().load->bus_limit_ma = 10.0;
  kinds.back().load->addresses = 2;
  domain::LightSensing looks_down;
  looks_down.cutoff_deg = 45.0;
  domain::LightSensing looks_out;
  looks_out.loop = domain::Photosensor::Loop::open;
  looks_out.range_lx = 20'000.0;
  for (const auto& [link, suffix, more] :
       {std::tuple(Link::wired, "", 0.0), std::tuple(Link::radio, "_radio", 20.0)}) {
    kinds.push_back(device_kind(std::string("photosensor_down") + suffix, Mounting::ceiling, link,
                                90.0 + more, 0.5, 0.75));
    kinds.back().light = looks_down;
    kinds.push_back(device_kind(std::string("photosensor_out") + suffix, Mounting::ceiling, link,
                                100.0 + more, 0.5, 0.5));
    kinds.back().light = looks_out;
  }
  kinds.push_back(device_kind("switch", Mounting::wall_box, Link::wired, 10.0, 0.25, 0.0));
  kinds.back().buttons = 2;
  kinds.push_back(device_kind("station_four", Mounting::wall_box, Link::wired, 100.0, 0.5, 0.25));
  kinds.back().buttons = 4;
  kinds.back().bus_ma = 8.0;
  kinds.push_back(device_kind("station_four_radio", Mounting::wall_box, Link::radio, 110.0, 0.25, 0.25));
  kinds.back().buttons = 4;
  kinds.push_back(device_kind("partition_contact", Mounting::wall, Link::wired, 60.0, 0.5, 0.25));
  kinds.push_back(device_kind("relay_pack", Mounting::ceiling_void, Link::wired, 80.0, 0.75, 0.25));
  kinds.back().load.emplace();
  kinds.back().load->action = domain::LoadController::Action::on_off;
  kinds.back().load->limit_a = 16.0;
  kinds.back().standby_w = 0.8;
  kinds.push_back(device_kind("room_bus", Mounting::ceiling_void, Link::wired, 200.0, 1.25, 0.75));
  kinds.back().load.emplace();
  kinds.back().load->outputs = 16;
  kinds.back().load->bus_limit_ma = 100.0;
  kinds.back().load->addresses = 32;
  kinds.back().standby_w = 1.5;
  domain::SpaceKind office;
  office.id = "office";
  office.start.vacancy = domain::VacancyRule{};
  office.start.sweeps_off = true;
  library.kinds = {office};
  return library;
}

/// Off by itself within 20 minutes (of an adopted code), and daylight zones that reach as far as the head of
/// the window is high, and once more.
inline std::vector<domain::CodeRule> code_of_office() {
  domain::CodeRule off;
  off.id = "vacancy";
  off.code = "Code";
  off.edition = "1";
  off.section = "2.3";
  off.requirement = domain::Requirement::vacancy_off;
  off.limits["delay_max"] = {20.0, "min", 1200.0, {}};
  domain::CodeRule zones;
  zones.id = "zones";
  zones.code = "Code";
  zones.edition = "1";
  zones.requirement = domain::Requirement::daylight_zone_definition;
  zones.zones.emplace();
  return {off, zones};
}

/// 8 m x 6 m with a window of 6 m in the southern wall and a door in the northern one; two people with desks;
/// eight luminaires of 30 W that dim on a digital bus, in two rows along the window. The proposal has nothing
/// to control them.
inline domain::Project bare_office() {
  domain::Project project = sim::ten_luminaires();
  project.codes = {{"Code", "1"}};
  project.radio.emplace();
  project.drivers[1].dims = true;
  project.drivers[1].minimum_light = 0.05;
  project.drivers[1].power_at_zero = 0.05;
  domain::Space& space = project.spaces[0];
  space.kind = "office";
  space.floor = {{0, 0}, {8, 0}, {8, 6}, {0, 6}};
  space.occupancy.people = 2;
  space.task_areas[0].plan = {{0.5, 0.5}, {7.5, 0.5}, {7.5, 5.5}, {0.5, 5.5}};
  space.task_areas[0].target_lx = 300.0;
  sim::add_window(project);
  space.openings[0].offset_m = 1.0;
  space.openings[0].width_m = 6.0;
  domain::Door door;
  door.id = "door";
  door.wall = 2;
  door.offset_m = 1.0;
  space.doors.push_back(door);
  for (domain::Design& design : project.designs) {
    design.luminaires.resize(8);
    for (std::size_t i = 0; i < 8; ++i)
      design.luminaires[i].at = {1.0 + 2.0 * static_cast<double>(i % 4), i < 4 ? 1.5 : 4.5, 2.7};
  }
  project.luminaire_types[1].price = domain::Price{{100.0, 100.0}, {1.0, 1.0}, {0.0, 0.0}};
  project.luminaire_types[1].channels[0].lumens = 3600.0;
  project.designs[1].sequences.clear();
  return project;
}

/// The same, booked whole or by halves; a movable wall divides it in the middle, and each half has a door.
inline domain::Project divided_office() {
  domain::Project project = bare_office();
  domain::Space& space = project.spaces[0];
  space.occupancy.pattern = domain::Occupancy::Pattern::bookings;
  space.occupancy.people = 8;
  space.occupancy.divided_fraction = 0.4;
  domain::Partition& wall = space.partitions.emplace_back();
  wall.id = "wall";
  wall.kind = domain::Partition::Kind::movable;
  wall.from = {4, 0};
  wall.to = {4, 6};
  wall.height_m = 2.7;
  wall.states = {"open", "closed"};
  space.doors.push_back(space.doors.front());
  space.doors.back().id = "other door";
  space.doors.back().offset_m = 6.0;
  return project;
}

/// Everything of the proposal turned about the corner of the building, counter-clockwise, and plan north with
/// it.
inline domain::Project turned(domain::Project project, double by_deg) {
  const double a = by_deg * kRadPerDeg;
  const auto turn = [&](double x, double y) {
    return Point2{x * std::cos(a) - y * std::sin(a), x * std::sin(a) + y * std::cos(a)};
  };
  const auto turn_all = [&](Polygon& polygon) {
    for (Point2& p : polygon) p = turn(p.x, p.y);
  };
  project.site.plan_north_deg = std::remainder(project.site.plan_north_deg + by_deg, 360.0);
  domain::Space& space = project.spaces[0];
  turn_all(space.floor);
  for (domain::TaskArea& task : space.task_areas) turn_all(task.plan);
  for (domain::Partition& partition : space.partitions) {
    partition.from = turn(partition.from.x, partition.from.y);
    partition.to = turn(partition.to.x, partition.to.y);
  }
  for (domain::EgressPath& path : space.egress_paths)
    for (Point2& p : path.centre_line) p = turn(p.x, p.y);
  for (domain::Design& design : project.designs)
    for (domain::Luminaire& luminaire : design.luminaires) {
      const Point2 at = turn(luminaire.at.x, luminaire.at.y);
      luminaire.at = {at.x, at.y, luminaire.at.z};
      luminaire.rotation_deg += by_deg;
    }
  return project;
}

/// A year of a place at 51 degrees north.
inline const domain::WeatherYear& weather_of_office() {
  static const domain::WeatherYear weather =
      climate::synthetic_year({}, 1, 2026, climate::SyntheticKind::natural);
  return weather;
}

/// What proposals for rooms are computed with. Light is kept for all tests.
class ProposalTest : public testing::Test {
 protected:
  ProposalTest() {
    options_.accuracy = sim::Accuracy::draft;
    options_.scrambles = 2;
    options_.points_per_scramble = 1;
  }
  sim::StudyInputs inputs(const domain::Project& project) const {
    return {project, library_, rules_, {}, {weather_of_office()}, {}, {}};
  }

  domain::Library library_ = device_library();
  std::vector<domain::CodeRule> rules_ = code_of_office();
  sim::StudyOptions options_;
  std::unique_ptr<Executor> pool_ = make_pool_executor(2);
  static BlobStore& kept_light() {
    static const std::unique_ptr<BlobStore> blobs = make_memory_blob_store();
    return *blobs;
  }
  Context context_{*pool_, kept_light(), nullptr, {}};
  lightresponse::StageLog log_;
};

}  // namespace halflight::choose
