#pragma once
#include "base/units.hpp"
#include "codes/facts.hpp"
#include "domain/code_rules.hpp"
#include "domain/project.hpp"
#include "results/study.hpp"

#include <string>
#include <utility>

// A small project for the tests of this module: one rectangular room with what each test adds to it.

namespace halflight::codes::testing {

inline constexpr double kFt = kMetresPerFoot;
inline constexpr double kFt2 = kMetresPerFoot * kMetresPerFoot;

inline domain::Figure figure(double entered, const std::string& unit, double si) {
  return {entered, unit, si, domain::HowKnown::confirmed};
}
inline domain::Figure minutes(double value) { return figure(value, "min", 60.0 * value); }
inline domain::Figure hours(double value) { return figure(value, "h", 3600.0 * value); }
inline domain::Figure percent(double value) { return figure(value, "%", 0.01 * value); }
inline domain::Figure watts(double value) { return figure(value, "W", value); }
inline domain::Figure square_feet(double value) { return figure(value, "ft2", value * kFt2); }

struct TestRoom {
  domain::Project project;
  domain::Library library;
  results::SpaceStudy study;

  /// `width_m` along the wall of edge 0 (south, y = 0), `depth_m` to the north. The kind of space has the
  /// given code space type. Luminaires are of type "A", 0.6 m square, of one channel on driver "dimming" (5 %
  /// power at no light, down to 5 % of light).
  explicit TestRoom(double width_m = 6.0, double depth_m = 5.0,
                    const std::string& code_space_type = "office") {
    domain::Driver dimming;
    dimming.id = "dimming";
    domain::Driver switched;
    switched.id = "switched";
    switched.dims = false;
    project.drivers = {dimming, switched};
    domain::LuminaireType type;
    type.id = "A";
    domain::Channel channel;
    channel.id = "all";
    channel.driver = "dimming";
    channel.input_w = 30.0;
    type.channels = {channel};
    project.luminaire_types = {type};
    domain::Calendar calendar;
    calendar.id = "open";
    project.calendars = {calendar};
    domain::SpaceKind kind;
    kind.id = "kind";
    kind.code_space_type = code_space_type;
    library.kinds = {kind};
    domain::Space room;
    room.id = "room";
    room.kind = "kind";
    room.floor = rectangle({0, 0}, {width_m, depth_m});
    project.spaces = {room};
    domain::Design proposal;
    proposal.id = "proposal";
    project.designs = {proposal};
  }

  domain::Space& space() { return project.spaces.front(); }
  domain::Design& design() { return project.designs.front(); }
  domain::LuminaireType& type() { return project.luminaire_types.front(); }

  void add_luminaire(const std::string& id, Point2 at) {
    domain::Luminaire luminaire;
    luminaire.id = id;
    luminaire.type = "A";
    luminaire.space = "room";
    luminaire.at = {at.x, at.y, 2.7};
    design().luminaires.push_back(luminaire);
  }
  domain::Sequence& sequence() {
    if (design().sequences.empty()) {
      domain::Sequence sequence;
      sequence.space = "room";
      design().sequences.push_back(sequence);
    }
    return design().sequences.front();
  }
  void add_sensor() {
    domain::OccupancySensor sensor;
    sensor.id = "S";
    sensor.space = "room";
    design().occupancy_sensors.push_back(sensor);
  }
  void add_group(const std::string& id, domain::Strategy strategy, std::vector<std::string> channels) {
    domain::Group group;
    group.id = id;
    group.space = "room";
    group.strategy = strategy;
    group.channels = std::move(channels);
    design().groups.push_back(group);
  }
  /// A daylight group with its photosensor and a rule in the sequence.
  void add_daylight(const std::string& id, std::vector<std::string> channels) {
    add_group(id, domain::Strategy::daylight, std::move(channels));
    domain::Photosensor sensor;
    sensor.id = "P-" + id;
    sensor.space = "room";
    sensor.groups = {id};
    design().photosensors.push_back(sensor);
    domain::DaylightRule rule;
    rule.group = id;
    rule.photosensor = sensor.id;
    sequence().daylight.push_back(rule);
  }
  void add_window(int wall, double offset_m, double width_m, double sill_m, double height_m) {
    domain::Opening window;
    window.id = "W" + std::to_string(space().openings.size() + 1);
    window.wall = wall;
    window.offset_m = offset_m;
    window.width_m = width_m;
    window.sill_m = sill_m;
    window.height_m = height_m;
    space().openings.push_back(window);
  }
  void add_station(std::vector<std::string> buttons) {
    domain::Station station;
    station.id = "ST";
    station.space = "room";
    station.buttons = std::move(buttons);
    design().stations.push_back(station);
  }
  SpaceFacts facts_under(const domain::DaylightZoneRule* zones = nullptr) {
    return facts(project, library, design(), space(), study, zones);
  }
};

inline domain::CodeRule make_rule(domain::Requirement requirement,
                                  std::map<std::string, domain::Figure> limits = {}) {
  domain::CodeRule rule;
  rule.id = "R";
  rule.code = "IECC";
  rule.edition = "2021";
  rule.section = "1.1";
  rule.requirement = requirement;
  rule.how_known = domain::HowKnown::confirmed;
  rule.limits = std::move(limits);
  return rule;
}

}  // namespace halflight::codes::testing
