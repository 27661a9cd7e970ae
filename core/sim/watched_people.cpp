#include "sim/watched_people.hpp"

#include "sensing/seats.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

using Pattern = domain::Occupancy::Pattern;

/// Whoever stays for less passes through.
constexpr double kPassage_min = 1.0;
/// Visitors who stay for less are on their feet (assumption).
constexpr double kSitsFrom_min = 10.0;
/// Seats that visitors choose from: twice as many as are there at a time (assumption).
constexpr double kSeatsPerVisitor = 2.0;

void seat_people(const domain::Space& space, WatchedSpace& watched) {
  const auto people = static_cast<std::size_t>(std::max(1L, std::lround(space.occupancy.people)));
  watched.activity = sensing::seated_activity();
  switch (space.occupancy.pattern) {
    case Pattern::desks:
    case Pattern::bookings:
    case Pattern::timetable:
    case Pattern::sleeping:
      watched.sits = watched.has_own_seats = true;
      watched.seats = sensing::seats_of(space, people);
      break;
    case Pattern::shared:
      watched.sits = space.occupancy.dwell_min >= kSitsFrom_min;
      if (!watched.sits) watched.activity = sensing::standing_activity();
      watched.seats = sensing::seats_of(
          space, static_cast<std::size_t>(std::lround(kSeatsPerVisitor * static_cast<double>(people))));
      break;
    case Pattern::circulation:
      if (space.occupancy.dwell_min < kPassage_min) break;
      [[fallthrough]];
    case Pattern::none:
      watched.activity = sensing::standing_activity();
      watched.seats = sensing::floor_points(space);
      break;
  }
}

}  // namespace

const Watch* WatchedSpace::watch_of(std::size_t design, const std::string& group) const {
  const auto found = watch_of_group.find({design, group});
  return found == watch_of_group.end() ? nullptr : &watches[found->second];
}

namespace {

/// Occupancy group of the luminaire that is nearest to a point, among those that are in one.
/// Of a divided room only those on the side of the wall that the point is on.
std::string nearest_group(const domain::Design& design, const domain::Space& space, Point2 at) {
  const domain::Partition* wall = domain::wall_in_use(space);
  std::string nearest;
  double least_m = std::numeric_limits<double>::infinity();
  for (const domain::Group& group : design.groups) {
    if (group.space != space.id || group.strategy != domain::Strategy::occupancy) continue;
    for (const std::string& channel : group.channels) {
      const domain::Luminaire* luminaire =
          domain::find_by_id(design.luminaires, channel.substr(0, channel.find('/')));
      if (luminaire == nullptr || !domain::stands_in(design, luminaire->status)) continue;
      const Point2 hangs{luminaire->at.x, luminaire->at.y};
      if (wall != nullptr && domain::side_of(*wall, hangs) != domain::side_of(*wall, at)) continue;
      const double far_m = length(hangs - at);
      if (far_m >= least_m) continue;
      least_m = far_m;
      nearest = group.id;
    }
  }
  return nearest;
}

/// Share of what a sensor notices that arrives.
double arriving(const domain::OccupancySensor& sensor, const Hindrance& hindrance) {
  if (hindrance.covered == &sensor) return 0.0;
  return sensor.link == domain::Link::radio ? 1.0 - hindrance.radio_reports_lost : 1.0;
}

/// What the sensors of a watch notice together: independent processes add up.
Watch::Rates together(const Watch& watch, const Hindrance& hindrance) {
  const auto add = [](sensing::NoticeRates& sum, const sensing::NoticeRates& part, double share) {
    sum.busy_per_min += share * part.busy_per_min;
    sum.still_per_min += share * part.still_per_min;
    sum.walking_per_s += share * part.walking_per_s;
    sum.way_s = part.way_s;
  };
  Watch::Rates sum;
  for (std::size_t s = 0; s < watch.sensors.size(); ++s) {
    const Watch::Rates& own = watch.of_sensor[s];
    const double share = arriving(*watch.sensors[s], hindrance);
    sum.places.resize(own.places.size());
    for (std::size_t k = 0; k < own.places.size(); ++k) add(sum.places[k], own.places[k], share);
    sum.behind_wall.resize(own.behind_wall.size());
    for (std::size_t k = 0; k < own.behind_wall.size(); ++k)
      add(sum.behind_wall[k], own.behind_wall[k], share);
    add(sum.about, own.about, share);
  }
  return sum;
}

RandomKey key_of_person(const std::string& space_id, std::size_t person, std::uint32_t seed) {
  return {seed, hash_name(fmt::format("{}#{}/movements", space_id, person))};
}

}  // namespace

std::size_t seat_of(const WatchedSpace& space, const people::Presence& presence, std::size_t person) {
  const int part = presence.part.empty() ? people::Presence::kWholeRoom : presence.part[person];
  if (part == people::Presence::kWholeRoom) return person % space.seats.size();
  std::vector<std::size_t> seats;
  for (std::size_t k = 0; k < space.part_of_seat.size(); ++k)
    if (space.part_of_seat[k] == part) seats.push_back(k);
  const auto before = static_cast<std::size_t>(
      std::count(presence.part.begin(), presence.part.begin() + static_cast<std::ptrdiff_t>(person), part));
  return seats.empty() ? before % space.seats.size() : seats[before % seats.size()];
}

WatchedSpace watched_space(const domain::Project& project, const domain::Space& space_as_drawn) {
  WatchedSpace watched;
  // Whoever has the whole room has the wall out of the way.
  const domain::Partition* wall = domain::wall_in_use(space_as_drawn);
  const domain::Space space = wall == nullptr ? space_as_drawn : domain::with_wall(space_as_drawn, false);
  const domain::Space divided = wall == nullptr ? domain::Space{} : domain::with_wall(space_as_drawn, true);
  seat_people(space, watched);
  if (wall != nullptr)
    for (const Point2 seat : watched.seats) watched.part_of_seat.push_back(domain::side_of(*wall, seat));
  for (const domain::Design& design : project.designs)
    watched.knows_wall.push_back(
        std::any_of(design.interfaces.begin(), design.interfaces.end(), [&](const domain::Interface& one) {
          return one.space == space.id && one.kind == domain::Interface::Kind::partition_sensor &&
                 domain::stands_in(design, one.status);
        }));
  for (const domain::Design& design : project.designs) {
    std::vector<std::string>& groups = watched.group_of_seat.emplace_back();
    for (const Point2 seat : watched.seats) groups.push_back(nearest_group(design, space, seat));
  }
  const auto add = [&](std::size_t design, const std::string& group,
                       const std::vector<const domain::OccupancySensor*>& sensors) {
    auto known = std::find_if(watched.watches.begin(), watched.watches.end(),
                              [&](const Watch& watch) { return watch.sensors == sensors; });
    if (known == watched.watches.end()) {
      Watch watch;
      watch.sensors = sensors;
      for (const domain::OccupancySensor* sensor : sensors) {
        const sensing::Sight sight(*sensor, space);
        Watch::Rates& rates = watch.of_sensor.emplace_back(
            Watch::Rates{{}, sensing::notice_rates_about({&sight, 1}, space), {}});
        for (const Point2 seat : watched.seats)
          rates.places.push_back(sensing::notice_rates({&sight, 1}, space, watched.activity, seat));
        if (wall == nullptr) continue;
        const sensing::Sight past_wall(*sensor, divided);
        for (const Point2 seat : watched.seats)
          rates.behind_wall.push_back(
              sensing::notice_rates({&past_wall, 1}, divided, watched.activity, seat));
      }
      watch.all = together(watch, {});
      known = watched.watches.insert(watched.watches.end(), std::move(watch));
    }
    watched.watch_of_group[{design, group}] = static_cast<std::size_t>(known - watched.watches.begin());
  };
  for (std::size_t d = 0; d < project.designs.size(); ++d) {
    std::vector<const domain::OccupancySensor*> all;
    std::map<std::string, std::vector<const domain::OccupancySensor*>> by_group;
    for (const domain::OccupancySensor& sensor : project.designs[d].occupancy_sensors) {
      if (sensor.space != space.id || !domain::stands_in(project.designs[d], sensor.status)) continue;
      all.push_back(&sensor);
      for (const std::string& group : sensor.groups) by_group[group].push_back(&sensor);
    }
    if (all.empty()) continue;
    add(d, "", all);
    for (const auto& [group, sensors] : by_group) add(d, group, sensors);
  }
  return watched;
}

namespace {

/// How a group's sensors notice a seat: of a divided room, with the wall as they notice less. With the wall
/// out of the way all sensors of the room count where the controls know of it.
const sensing::NoticeRates& worst_rates(const WatchedSpace& space, std::size_t design, const Watch& watch,
                                        std::size_t seat) {
  if (watch.all.behind_wall.empty()) return watch.all.places[seat];
  const Watch& open = space.knows_wall[design] ? *space.watch_of(design, "") : watch;
  const sensing::NoticeRates& undivided = open.all.places[seat];
  const sensing::NoticeRates& divided = watch.all.behind_wall[seat];
  const auto noticed = [](const sensing::NoticeRates& rates) {
    return rates.busy_per_min + rates.still_per_min;
  };
  return noticed(divided) < noticed(undivided) ? divided : undivided;
}

}  // namespace

std::vector<NoticedSeat> seat_notices(const WatchedSpace& space, const domain::Sequence& sequence,
                                      const domain::Design& design, std::size_t design_index) {
  std::vector<NoticedSeat> seats;
  if (!sequence.vacancy || !space.sits) return seats;
  for (const domain::Group& group : design.groups) {
    if (group.space != sequence.space || group.strategy != domain::Strategy::occupancy) continue;
    const std::vector<std::string>& named = sequence.vacancy->groups;
    if (!named.empty() && std::find(named.begin(), named.end(), group.id) == named.end()) continue;
    const Watch* watch = space.watch_of(design_index, group.id);
    if (watch == nullptr) continue;
    const double busy_share = space.activity.busy_min / (space.activity.busy_min + space.activity.still_min);
    for (std::size_t k = 0; k < space.seats.size(); ++k) {
      if (space.group_of_seat[design_index][k] != group.id) continue;
      const sensing::NoticeRates& rates = worst_rates(space, design_index, *watch, k);
      seats.push_back({{space.seats[k].x, space.seats[k].y, group.id,
                        60.0 * (busy_share * rates.busy_per_min + (1.0 - busy_share) * rates.still_per_min),
                        sequence.vacancy->delay_s,
                        sensing::unnoticed_per_hour(space.activity, rates, sequence.vacancy->delay_s)},
                       k});
    }
  }
  return seats;
}

bool keeps_light(const results::SeatNotice& seat) {
  return seat.is_noticed() && seat.taken_per_h <= kMostTaken_per_h;
}

std::optional<results::Finding> seats_finding(const std::vector<NoticedSeat>& seats,
                                              const WatchedSpace& space, std::size_t design_index) {
  const NoticedSeat* worst = nullptr;
  std::size_t failing = 0;
  for (const NoticedSeat& seat : seats) {
    if (keeps_light(seat)) continue;
    ++failing;
    const bool is_worse = worst == nullptr || (worst->is_noticed() && !seat.is_noticed()) ||
                          (worst->is_noticed() == seat.is_noticed() && seat.taken_per_h > worst->taken_per_h);
    if (is_worse) worst = &seat;
  }
  if (worst == nullptr) return std::nullopt;
  const std::string at = fmt::format("the seat at x {:.1f} m, y {:.1f} m", worst->x_m, worst->y_m);
  std::string fix = "move a sensor, or add one, so that small movements there are seen";
  if (worst->is_noticed()) {
    const Watch* watch = space.watch_of(design_index, worst->group);
    constexpr int kLongest_min = 30;
    for (int minutes = static_cast<int>(worst->delay_s / 60.0) + 1; minutes <= kLongest_min; ++minutes)
      if (sensing::unnoticed_per_hour(space.activity, worst_rates(space, design_index, *watch, worst->index),
                                      60.0 * minutes) <= kMostTaken_per_h) {
        fix += fmt::format(", or let the delay be {} min where the code allows it", minutes);
        break;
      }
  }
  return results::Finding{
      "light-taken-from-people-who-sit-still",
      "",
      "",
      "",
      "Whoever sits still keeps the light",
      results::Finding::Verdict::fail,
      worst->is_noticed()
          ? fmt::format(
                "{} of {} seats; {} loses the light {:.2f} times an hour of one person's presence with "
                "a delay of {:.0f} min; at most {:.2f} (assumption)",
                failing, seats.size(), at, worst->taken_per_h, worst->delay_s / 60.0, kMostTaken_per_h)
          : fmt::format("{} of {} seats; no sensor notices {}", failing, seats.size(), at),
      fix,
      results::Finding::Confidence::low,
      false};
}

IntervalSet served_in(const WatchedSpace& space, std::size_t design, const std::string& group,
                      const std::string& space_id, const people::Presence& presence, std::uint32_t seed,
                      std::uint32_t replicate) {
  const std::vector<std::string>& groups = space.group_of_seat[design];
  if (std::all_of(groups.begin(), groups.end(), [&](const std::string& other) { return other == group; }) ||
      std::none_of(groups.begin(), groups.end(), [&](const std::string& other) { return other == group; }))
    return presence.awake();
  std::vector<IntervalSet> served;
  for (std::size_t k = 0; k < presence.people.size(); ++k) {
    if (space.has_own_seats) {
      if (groups[seat_of(space, presence, k)] == group) served.push_back(presence.people[k]);
      continue;
    }
    const RandomKey key = key_of_person(space_id, k, seed);
    std::vector<Interval> stays;
    for (const Interval& stay : presence.people[k].intervals())
      if (groups[sensing::place_of_stay(key, replicate, stay.begin, groups.size())] == group)
        stays.push_back(stay);
    served.emplace_back(std::move(stays));
  }
  return united(served);
}

IntervalSet noticed_in(const WatchedSpace& space, const Watch& watch, const std::string& space_id,
                       const people::Presence& presence, const IntervalSet& cleaning, std::uint32_t seed,
                       std::uint32_t replicate, sensing::Grain grain, const Hindrance& hindrance) {
  const Watch::Rates rates = hindrance == Hindrance{} ? watch.all : together(watch, hindrance);
  std::vector<sensing::Watched> people;
  const std::span<const sensing::NoticeRates> about(&rates.about, 1);
  for (std::size_t k = 0; k < presence.people.size(); ++k) {
    const RandomKey key = key_of_person(space_id, k, seed);
    std::span<const sensing::NoticeRates> places = rates.places;
    if (places.empty()) places = about;
    if (!presence.part.empty() && presence.part[k] != people::Presence::kWholeRoom &&
        !rates.behind_wall.empty())
      places = rates.behind_wall;
    if (space.has_own_seats) places = places.subspan(seat_of(space, presence, k), 1);
    people.push_back({&presence.people[k], key, space.activity, places});
  }
  for (std::size_t k = 0; k < presence.sleepers.size(); ++k)
    people.push_back({&presence.sleepers[k], key_of_person(space_id, k, seed), sensing::sleeping_activity(),
                      std::span(rates.places).subspan(k % rates.places.size(), 1)});
  people.push_back({&cleaning, {seed, hash_name(space_id + "/cleaner")}, space.activity, about});
  std::vector<IntervalSet> all{sensing::noticed(people, replicate, grain)};
  for (const domain::OccupancySensor* sensor : watch.sensors)
    if (sensor != hindrance.covered)
      all.push_back(sensing::false_reports(*sensor, seed, replicate, hindrance.more_false_reports_a_day));
  return united(all);
}

}  // namespace halflight::sim
