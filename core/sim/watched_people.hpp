#pragma once
#include "domain/project.hpp"
#include "geometry/vector.hpp"
#include "people/presence.hpp"
#include "results/study.hpp"
#include "sensing/detection.hpp"

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

// People before the occupancy sensors of their room (docs/methods/occupancy_detection.md).

namespace halflight::sim {

/// Occupancy sensors that report to a group together, and how often they notice whom.
struct Watch {
  std::vector<const domain::OccupancySensor*> sensors;
  struct Rates {
    std::vector<sensing::NoticeRates> places;  ///< of people who stay, as WatchedSpace::seats
    sensing::NoticeRates about;                ///< of whoever walks about: cleaners, passers-by
    /// As `places`, while the wall that divides the room stands; empty where bookings divide none.
    std::vector<sensing::NoticeRates> behind_wall;
  };
  std::vector<Rates> of_sensor;  ///< as `sensors`
  Rates all;                     ///< of all together
};

struct WatchedSpace {
  sensing::Activity activity;  ///< of who stays
  std::vector<Point2> seats;
  bool has_own_seats = false;  ///< as `seat_of`; else a seat is drawn for each stay
  /// Side of the wall that each seat is on (domain::side_of), where bookings divide the room; else empty.
  std::vector<int> part_of_seat;
  /// Designs in which a partition sensor tells the controls of the room how that wall stands, by index.
  std::vector<bool> knows_wall;
  bool sits = false;           ///< seats are places to sit or work at, and not of people who walk about
  std::vector<Watch> watches;  ///< each set of sensors once
  /// By design and id of an occupancy group; an empty id: all sensors of the space.
  std::map<std::pair<std::size_t, std::string>, std::size_t> watch_of_group;

  /// By design: of each seat the occupancy group of the nearest luminaire that is in one; empty: none is.
  std::vector<std::vector<std::string>> group_of_seat;

  /// Null where no sensor of that design reports to the group.
  [[nodiscard]] const Watch* watch_of(std::size_t design, const std::string& group) const;
};

/// Seat of person number `person` of a presence, where people have seats of their own: they take them in
/// turn, whoever is in one part of a divided room those of that part (all of them where it has none).
std::size_t seat_of(const WatchedSpace& space, const people::Presence& presence, std::size_t person);

/// The sensors of all designs of a space before its people.
WatchedSpace watched_space(const domain::Project& project, const domain::Space& space);

struct NoticedSeat : results::SeatNotice {
  std::size_t index = 0;  ///< in WatchedSpace::seats
};

/// Each seat before the sensors that report to each group that answers vacancy by `sequence`; where bookings
/// divide the room, with the wall as it leaves the light more often.
std::vector<NoticedSeat> seat_notices(const WatchedSpace& space, const domain::Sequence& sequence,
                                      const domain::Design& design, std::size_t design_index);
/// The most often that anybody should lose the light, times an hour of presence: once in 20 hours
/// (assumption).
inline constexpr double kMostTaken_per_h = 0.05;
bool keeps_light(const results::SeatNotice& seat);

/// Seats that are not served so well, as a finding; nothing where all are.
std::optional<results::Finding> seats_finding(const std::vector<NoticedSeat>& seats,
                                              const WatchedSpace& space, std::size_t design_index);

/// When anybody is there whom an occupancy group of a design serves: at a seat that its luminaires are
/// nearest to. Everybody, where no seat is its own or there are no seats.
IntervalSet served_in(const WatchedSpace& space, std::size_t design, const std::string& group,
                      const std::string& space_id, const people::Presence& presence, std::uint32_t seed,
                      std::uint32_t replicate);

/// What keeps reports from coming, or lets them come without cause.
struct Hindrance {
  const domain::OccupancySensor* covered = nullptr;  ///< this sensor notices nothing
  double radio_reports_lost = 0.0;                   ///< share of what sensors notice that report by radio
  double more_false_reports_a_day = 0.0;             ///< of each sensor
  friend bool operator==(const Hindrance&, const Hindrance&) = default;
};

/// What the sensors of a watch notice in a replicate: people, cleaners, and reports without cause.
IntervalSet noticed_in(const WatchedSpace& space, const Watch& watch, const std::string& space_id,
                       const people::Presence& presence, const IntervalSet& cleaning, std::uint32_t seed,
                       std::uint32_t replicate, sensing::Grain grain, const Hindrance& hindrance = {});

}  // namespace halflight::sim
