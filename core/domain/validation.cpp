#include "domain/validation.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>
#include <string_view>
#include <tuple>
#include <unordered_map>
#include <utility>

#include <fmt/format.h>

namespace halflight::domain {

namespace {

/// Positions typed to the millimetre meet walls and ceilings within this.
constexpr double kTouch_m = 0.001;
/// Two luminaires of one design closer than this are one placed twice.
constexpr double kSamePlace_m = 0.01;
/// A space smaller than a cupboard is a slip of the hand.
constexpr double kSmallestFloor_m2 = 0.3;
// A movable wall that ends further from the outline leaves a gap to walk or look through (common practice).
constexpr double kWallGap_m = 0.1;
// Clear height over a way out: 80 in, from memory of building codes.
constexpr double kHeadroom_m = 2.03;
/// Of one space, all its ways out together. Their points are judged every half metre.
constexpr double kLongestWays_m = 1000.0;
/// Of each severity; whoever mends the first of them sees the rest.
constexpr std::size_t kMostDiagnostics = 500;
/// Pairs of vertices that the search for overlapping floors looks at. A building of 2,000 rooms with ten
/// corners each that meet the boxes of eight others needs a sixth of it.
constexpr std::size_t kMostVertexPairs = 5'000'000;

using Severity = Diagnostic::Severity;

/// Finds by id in constant time; the first of equal ids, as find_by_id does. Never iterated.
template <class T>
class Index {
 public:
  explicit Index(const std::vector<T>& items) {
    for (const T& item : items) by_id_.emplace(item.id, &item);
  }
  const T* find(const std::string& id) const {
    const auto found = by_id_.find(id);
    return found == by_id_.end() ? nullptr : found->second;
  }

 private:
  std::unordered_map<std::string_view, const T*> by_id_;
};

class Validator {
 public:
  explicit Validator(const Project& project)
      : project_(project), spaces_(project.spaces), types_(project.luminaire_types) {
    for (const Space& s : project.spaces) is_sound_.push_back(is_simple(s.floor));
  }

  Diagnostics run() {
    project();
    for (std::size_t i = 0; i < project_.spaces.size(); ++i) space(project_.spaces[i], at("/spaces", i));
    overlapping_floors();
    for (std::size_t i = 0; i < project_.luminaire_types.size(); ++i)
      luminaire_type(project_.luminaire_types[i], at("/luminaire_types", i));
    prices();
    for (std::size_t i = 0; i < project_.designs.size(); ++i) design(project_.designs[i], at("/designs", i));
    if (unsaid_ > 0)
      diagnostics_.push_back(
          {Severity::error, "", "", fmt::format("{} more messages", unsaid_), "mend these first"});
    return std::move(diagnostics_);
  }

 private:
  static std::string at(const std::string& list, std::size_t index) {
    return fmt::format("{}/{}", list, index);
  }
  void add(Severity severity, std::string where, std::string problem, std::string remedy) {
    if (++said_[static_cast<std::size_t>(severity)] > kMostDiagnostics)
      ++unsaid_;
    else
      diagnostics_.push_back({severity, "", std::move(where), std::move(problem), std::move(remedy)});
  }
  void error(std::string where, std::string problem, std::string remedy) {
    add(Severity::error, std::move(where), std::move(problem), std::move(remedy));
  }
  void warning(std::string where, std::string problem, std::string remedy) {
    add(Severity::warning, std::move(where), std::move(problem), std::move(remedy));
  }
  void missing(std::string where, std::string problem, std::string remedy) {
    add(Severity::missing, std::move(where), std::move(problem), std::move(remedy));
  }
  /// A space that can be measured: its floor is an outline without crossings.
  const Space* sound_space(const std::string& id) const {
    const Space* space = spaces_.find(id);
    return space != nullptr && is_sound(*space) ? space : nullptr;
  }
  /// `space` is one of the project's.
  bool is_sound(const Space& space) const {
    return is_sound_[static_cast<std::size_t>(&space - project_.spaces.data())];
  }

  void project() {
    if (project_.spaces.empty()) missing("/spaces", "the project has no spaces", "add a room");
    if (project_.calendars.empty())
      missing("/calendars", "the project has no calendar", "say when the building is open");
    if (project_.site.climate.library.empty() && project_.site.climate.file.empty())
      missing("/site/climate", "nothing says which weather the year is computed with",
              "name a climate of the library or a weather file");
    for (const auto role : {Design::Role::as_found, Design::Role::proposal}) {
      const auto count = std::count_if(project_.designs.begin(), project_.designs.end(),
                                       [role](const Design& d) { return d.role == role; });
      const bool as_found = role == Design::Role::as_found;
      if (count == 0)
        missing("/designs", as_found ? "no design says how the lighting was found" : "there is no proposal",
                as_found ? "add a design with the role as_found; a saving is measured against it"
                         : "add a design with the role proposal");
      if (as_found && count > 1)
        error("/designs", fmt::format("{} designs have the role as_found", count), "keep one");
    }
    for (std::size_t i = 0; i < project_.calendars.size(); ++i) {
      const Calendar& calendar = project_.calendars[i];
      const std::string where = at("/calendars", i);
      if (calendar.hours.empty()) missing(where + "/hours", "the calendar is never open", "give open hours");
      for (std::size_t j = 0; j < calendar.hours.size(); ++j)
        if (calendar.hours[j].close_s <= calendar.hours[j].open_s)
          error(at(where + "/hours", j), "closes before it opens", "give the later time as close");
    }
    for (std::size_t i = 0; i < project_.readings.size(); ++i)
      reading(project_.readings[i], at("/readings", i));
    demand_events();
    for (std::size_t i = 0; i < project_.obstructions.size(); ++i)
      if (project_.obstructions[i].top_m <= project_.obstructions[i].bottom_m)
        error(at("/obstructions", i), "its top is not above its bottom", "give the upper edge as top");
  }

  void reading(const Reading& r, const std::string& where) {
    if (r.meter.empty() == r.space.empty())
      error(where, r.meter.empty() ? "nothing says of what was read" : "both a meter and a space are named",
            "name the meter, or the space as space");
    if (r.kwh.has_value() == r.lit_h.has_value())
      error(where, r.kwh ? "both energy and hours are given" : "nothing was read",
            "give kwh or lit_h, each reading on its own");
    if (r.lit_h && !r.meter.empty())
      error(where + "/lit_h", "a meter counts no hours",
            "give kwh, or name the space that was logged as space");
    const int days = day_of_year(r.to) - day_of_year(r.from) + 1;
    if (days < 1) {
      error(where + "/to", "the last day lies before the first",
            "split a reading that runs over the new year into two");
      return;
    }
    if (r.lit_h && *r.lit_h > 24.0 * days)
      error(where + "/lit_h", fmt::format("{:g} h do not fit into {} days", *r.lit_h, days),
            fmt::format("give at most {} h", 24 * days));
    if (!r.meter.empty() && std::none_of(project_.spaces.begin(), project_.spaces.end(),
                                         [&](const Space& s) { return s.meter == r.meter; }))
      error(where + "/meter", fmt::format("no space is on meter {}", r.meter),
            "name the meter in the spaces that hang on it");
  }

  // --- spaces ---

  void space(const Space& s, const std::string& where) {
    if (s.floor.empty()) return;
    if (!is_sound(s)) {
      error(where + "/floor", "the outline crosses or touches itself, or has vertices at one place",
            "list the corners once, in order around the room");
      return;
    }
    if (const double floor_m2 = area(s.floor); floor_m2 < kSmallestFloor_m2)
      error(where + "/floor", fmt::format("a floor of {:.3f} m2 is no room", floor_m2),
            "check the coordinates");
    wall_objects(s, where);
    glazed_doors(s, where);
    for (std::size_t i = 0; i < s.openings.size(); ++i) opening(s, s.openings[i], at(where + "/openings", i));
    for (std::size_t i = 0; i < s.partitions.size(); ++i)
      partition(s, s.partitions[i], at(where + "/partitions", i));
    for (std::size_t i = 0; i < s.furniture.size(); ++i)
      furniture(s, s.furniture[i], at(where + "/furniture", i));
    egress_paths(s, where + "/egress_paths");
    for (std::size_t i = 0; i < s.task_areas.size(); ++i)
      task_area(s, s.task_areas[i], at(where + "/task_areas", i));
    if (s.occupancy.calendar.empty() && !project_.calendars.empty())
      missing(where + "/occupancy/calendar", "nothing says when the space is used", "name a calendar");
    occupancy(s, where + "/occupancy");
    if (s.plug_loads.controlled_receptacles > s.plug_loads.receptacles)
      error(where + "/plug_loads/controlled_receptacles",
            fmt::format("{} of {} receptacles cannot be controlled", s.plug_loads.controlled_receptacles,
                        s.plug_loads.receptacles),
            "give no more than there are");
    for (std::size_t i = 0; i < s.plug_loads.devices.size(); ++i)
      plug_device(s, s.plug_loads.devices[i], at(where + "/plug_loads/devices", i));
  }

  void plug_device(const Space& s, const PlugDevice& d, const std::string& where) {
    using SwitchedBy = PlugDevice::SwitchedBy;
    for (const auto& [by, key] :
         {std::pair{d.switched_by, "switched_by"}, std::pair{d.switched_by_as_found, "switched_by_as_found"}})
      if (d.must_stay_on != PlugDevice::MustStayOn::no && by != SwitchedBy::nothing)
        error(fmt::format("{}/{}", where, key),
              fmt::format("the {} of {} ({}) would lose its power by a {}", d.kind, s.id,
                          words_of(d.must_stay_on), words_of(by)),
              "plug it into an outlet that nothing switches");
    if (d.at_seats && !has_own_seats(s.occupancy))
      error(where + "/at_seats", fmt::format("people of {} have no seats or beds of their own", s.id),
            "leave at_seats out, or choose the pattern desks or sleeping");
    if (d.standby_w > d.idle_w || d.idle_w > d.on_w)
      warning(where,
              fmt::format("the {} draws {} W in use, {} W idle and {} W on standby", d.kind, d.on_w, d.idle_w,
                          d.standby_w),
              "give the largest as on and the least as standby");
    if (d.switched_by == SwitchedBy::controlled_receptacle && s.plug_loads.receptacles > 0 &&
        s.plug_loads.controlled_receptacles == 0)
      warning(where + "/switched_by",
              fmt::format("none of the {} receptacles of {} is controlled", s.plug_loads.receptacles, s.id),
              "say how many are, in controlled_receptacles");
  }

  /// Whether any occupancy sensor of a design watches a space.
  static bool is_watched(const Design& d, const std::string& space) {
    return std::any_of(d.occupancy_sensors.begin(), d.occupancy_sensors.end(),
                       [&](const OccupancySensor& o) { return o.space == space && stands_in(d, o.status); });
  }

  void held_light(const Design& d, const Sequence& s, const std::string& where) {
    const VacancyRule& rule = *s.vacancy;
    for (std::size_t i = 0; i < rule.held_by.size(); ++i) {
      const std::string& holder = rule.held_by[i];
      if (holder == s.space)
        error(at(where + "/held_by", i), fmt::format("{} holds its own light anyway", holder),
              "name other spaces");
      else if (spaces_.find(holder) != nullptr && !is_watched(d, holder))
        warning(at(where + "/held_by", i),
                fmt::format("no occupancy sensor notices people in {}, so that it holds nothing", holder),
                "place one there, or leave the space out");
    }
    if (rule.brief_visit_s > 0.0 && rule.brief_delay_s > rule.delay_s)
      error(where + "/brief_delay",
            fmt::format("the light waits {:.0f} s after a brief visit and {:.0f} s after others",
                        rule.brief_delay_s, rule.delay_s),
            "give a delay that is no longer");
  }

  void receptacles(const Design& d) {
    for (std::size_t i = 0; i < project_.spaces.size(); ++i) {
      const Space& s = project_.spaces[i];
      if (s.plug_loads.off_when == PlugLoads::OffWhen::closed || is_watched(d, s.id)) continue;
      for (const PlugDevice& device : devices_of(s.plug_loads)) {
        if (device.switched_by != PlugDevice::SwitchedBy::controlled_receptacle) continue;
        warning(at("/spaces", i) + "/plug_loads/off_when",
                fmt::format("no occupancy sensor of {} notices that {} is empty, so that its controlled "
                            "receptacles stay on",
                            d.id, s.id),
                "place an occupancy sensor, or let them follow the hours: off_when closed");
        break;
      }
    }
  }

  void hvac_hand_offs(const Design& d, const std::string& where) {
    std::set<std::string> told;
    for (std::size_t i = 0; i < d.hvac_hand_offs.size(); ++i) {
      const HvacHandOff& hand_off = d.hvac_hand_offs[i];
      const std::string place = at(where + "/hvac_hand_offs", i);
      const Interface* interface = find_by_id(d.interfaces, hand_off.interface);
      if (interface != nullptr && interface->kind != Interface::Kind::hvac_contact &&
          interface->kind != Interface::Kind::hvac_points)
        error(place + "/interface", fmt::format("the interface {} does not lead to HVAC", interface->id),
              "name one of the kind hvac_contact or hvac_points");
      const Space* space = spaces_.find(hand_off.space);
      if (space == nullptr) continue;
      if (!told.insert(space->id).second)
        error(place, fmt::format("HVAC is told of {} twice", space->id), "keep one hand-off");
      if (space->hvac_zone.empty())
        warning(place, fmt::format("{} is in no HVAC zone, so that nothing answers", space->id),
                "name the zone at the space");
      if (!is_watched(d, space->id))
        warning(place,
                fmt::format("no occupancy sensor notices people in {}, so that HVAC is told the calendar's "
                            "hours",
                            space->id),
                "place an occupancy sensor");
    }
  }

  void demand_events() {
    const std::vector<DemandEvent>& events = project_.demand_events.events;
    for (std::size_t i = 0; i < events.size(); ++i)
      for (std::size_t j = 0; j < i; ++j) {
        const auto begins = [](const DemandEvent& e) { return day_of_year(e.on) * kDay + e.at_s; };
        const auto ends = [&](const DemandEvent& e) { return begins(e) + static_cast<Seconds>(e.lasts_s); };
        if (begins(events[i]) < ends(events[j]) && begins(events[j]) < ends(events[i]))
          error(at("/demand_events/events", i), fmt::format("it overlaps event {} of the list", j),
                "join the two, or move one");
      }
  }

  /// Whether a block of the timetable lies within the hours of its calendar; true while there is none.
  bool any_lesson_fits(const Occupancy& o) const {
    const Calendar* calendar = find_by_id(project_.calendars, o.calendar);
    if (calendar == nullptr || calendar->hours.empty()) return true;
    const auto length = static_cast<Seconds>(std::lround(o.lesson_min * 60.0));
    const auto period = std::max<Seconds>(length + static_cast<Seconds>(std::lround(o.gap_min * 60.0)), 1);
    return std::any_of(calendar->hours.begin(), calendar->hours.end(), [&](const DayHours& hours) {
      const Seconds late = std::max<Seconds>(hours.open_s - o.first_lesson_s, 0);
      return o.first_lesson_s + (late + period - 1) / period * period + length <= hours.close_s;
    });
  }

  void occupancy(const Space& s, const std::string& where) {
    const Occupancy& o = s.occupancy;
    const bool booked = o.pattern == Occupancy::Pattern::bookings;
    if (booked && o.bookings_per_day == 0.0)
      warning(where + "/bookings_per_day", "a room used by booking has no bookings",
              "give their mean number a day");
    if (o.pattern == Occupancy::Pattern::timetable && o.bookings_per_day == 0.0)
      warning(where + "/bookings_per_day", "a room with a timetable has no lessons",
              "give their mean number a day");
    if (o.pattern == Occupancy::Pattern::timetable && !any_lesson_fits(o))
      warning(where + "/first_lesson",
              fmt::format("no lesson fits into the hours of calendar {}", o.calendar),
              "let the first lesson begin while it is open, with time for one before it closes");
    if (booked && o.divided_fraction > 0.0 && dividing_wall(s) == nullptr)
      error(where + "/divided_fraction",
            fmt::format("bookings need a part of {}, which has no movable wall to divide it", s.id),
            "add the movable wall to its partitions with a state in which it stands, or leave the fraction "
            "out");
    if (const Partition* wall = wall_in_use(s); wall != nullptr && is_sound(s)) {
      if (distance_to_boundary(s.floor, wall->from) > kWallGap_m ||
          distance_to_boundary(s.floor, wall->to) > kWallGap_m)
        warning(where + "/divided_fraction",
                fmt::format("bookings divide {} along {}, which does not reach from wall to wall", s.id,
                            wall->id),
                "let both its ends meet the outline of the floor");
      const auto movable = std::count_if(s.partitions.begin(), s.partitions.end(), [](const Partition& p) {
        return p.kind == Partition::Kind::movable;
      });
      if (movable > 1)
        warning(where + "/divided_fraction",
                fmt::format("{} has {} movable partitions, and bookings divide it along the first, {}, alone",
                            s.id, movable, wall->id),
                "list the wall that divides it first");
    }
    if (o.pattern == Occupancy::Pattern::sleeping && o.asleep_from_s == o.asleep_until_s)
      error(where + "/asleep_until", "people wake when they fall asleep", "give the time at which they wake");
  }

  void egress_paths(const Space& s, const std::string& where) {
    double length_m = 0.0;
    for (const EgressPath& path : s.egress_paths)
      for (std::size_t k = 0; k + 1 < path.centre_line.size(); ++k)
        length_m += length(path.centre_line[k + 1] - path.centre_line[k]);
    if (length_m > kLongestWays_m) {
      error(where, fmt::format("the ways out of {} are {:.0f} m long", s.id, length_m),
            fmt::format("keep them below {:.0f} m together", kLongestWays_m));
      return;
    }
    for (std::size_t i = 0; i < s.egress_paths.size(); ++i) egress_path(s, s.egress_paths[i], at(where, i));
  }

  void egress_path(const Space& s, const EgressPath& path, const std::string& where) {
    if (!all_inside(s.floor, path.centre_line))
      error(where, "the way leaves the floor of its space",
            "keep the centre line inside; a way through a door continues in the next space");
    const double highest_m = std::max(path.from_height_m, path.to_height_m);
    if (const double ceiling_m = domain::height_over(s, path.centre_line); highest_m >= ceiling_m)
      error(where,
            fmt::format("the way reaches {:.2f} m above the floor, the ceiling is at {:.2f} m", highest_m,
                        ceiling_m),
            "end the flight below it; what is above belongs to the next storey's space");
    const std::vector<Point3> points = points_of(path);
    for (const Furniture& f : s.furniture) {
      if (f.plan.empty() || f.bottom_m >= kHeadroom_m) continue;
      const Box2 box = bounds(f.plan);
      const auto in_box = [&](Point2 p) {
        return p.x >= box.low.x - kTouch_m && p.x <= box.high.x + kTouch_m && p.y >= box.low.y - kTouch_m &&
               p.y <= box.high.y + kTouch_m;
      };
      if (std::any_of(points.begin(), points.end(), [&](Point3 p) {
            // A solid under a flight carries it.
            return p.z < f.top_m - kTouch_m && in_box({p.x, p.y}) && contains(f.plan, {p.x, p.y});
          }))
        warning(where, fmt::format("{} stands in the middle of the way", f.id),
                "move one of them: what stands in a way out takes its light too");
    }
  }

  static bool all_inside(const Polygon& floor, const std::vector<Point2>& points) {
    return std::all_of(points.begin(), points.end(), [&](Point2 p) {
      return contains(floor, p) || distance_to_boundary(floor, p) <= kTouch_m;
    });
  }

  static double wall_length(const Space& s, int wall) {
    const std::size_t n = s.floor.size();
    const auto i = static_cast<std::size_t>(wall);
    return length(s.floor[(i + 1) % n] - s.floor[i]);
  }

  /// A hole in a wall, for what all have in common.
  struct WallObject {
    std::string name;
    std::string where;
    int wall;
    double offset_m;
    double width_m;
    double bottom_m;
    double top_m;
  };

  void wall_objects(const Space& s, const std::string& where) {
    std::vector<WallObject> objects;
    for (std::size_t i = 0; i < s.openings.size(); ++i) {
      const Opening& o = s.openings[i];
      if (o.kind != Opening::Kind::skylight)
        objects.push_back({"opening " + o.id, at(where + "/openings", i), o.wall, o.offset_m, o.width_m,
                           o.sill_m, o.sill_m + o.height_m});
    }
    for (std::size_t i = 0; i < s.doors.size(); ++i) {
      const Door& d = s.doors[i];
      objects.push_back(
          {"door " + d.id, at(where + "/doors", i), d.wall, d.offset_m, d.width_m, 0.0, d.height_m});
    }
    for (std::size_t i = 0; i < objects.size(); ++i) {
      const WallObject& o = objects[i];
      if (o.wall >= static_cast<int>(s.floor.size())) {
        error(o.where + "/wall", fmt::format("there is no wall {}", o.wall),
              fmt::format("the walls are 0 to {}", s.floor.size() - 1));
        continue;
      }
      const double wall_m = wall_length(s, o.wall);
      const double end_m = o.offset_m + o.width_m;
      if (end_m > wall_m + kTouch_m || o.offset_m < -kTouch_m)
        error(o.where,
              fmt::format("{} reaches from {:.2f} m to {:.2f} m along a wall of {:.2f} m", o.name, o.offset_m,
                          end_m, wall_m),
              "keep offset plus width within the wall");
      const auto first = static_cast<std::size_t>(o.wall);
      const Vector2 direction = (1.0 / wall_m) * (s.floor[(first + 1) % s.floor.size()] - s.floor[first]);
      const double ceiling_m = domain::height_over(
          s, {s.floor[first] + o.offset_m * direction, s.floor[first] + end_m * direction});
      if (o.top_m > ceiling_m + kTouch_m)
        error(o.where,
              fmt::format("{} ends {:.2f} m above the floor, the ceiling is at {:.2f} m", o.name, o.top_m,
                          ceiling_m),
              "lower it or raise the ceiling");
      for (std::size_t j = 0; j < i; ++j) {
        const WallObject& p = objects[j];
        const bool along = o.offset_m < p.offset_m + p.width_m - kTouch_m && p.offset_m < end_m - kTouch_m;
        const bool above = o.bottom_m < p.top_m - kTouch_m && p.bottom_m < o.top_m - kTouch_m;
        if (o.wall == p.wall && along && above) {
          error(o.where, fmt::format("{} overlaps {} in wall {}", o.name, p.name, o.wall),
                "move one of them");
          break;
        }
      }
    }
  }

  void opening(const Space& s, const Opening& o, const std::string& where) {
    if (o.kind == Opening::Kind::skylight) {
      if (o.plan.empty())
        missing(where + "/plan", "the skylight has no outline", "give its outline in plan");
      else if (!is_simple(o.plan))
        error(where + "/plan", "the outline crosses or touches itself", "list the corners once, in order");
      else if (!all_inside(s.floor, o.plan))
        error(where + "/plan", "the skylight reaches beyond the floor of its space", "keep it inside");
    }
    const domain::Shade* shade = find_by_id(project_.shades, o.shade);
    if (o.kind == Opening::Kind::skylight && shade != nullptr && shade->kind == Shade::Kind::slats)
      error(where + "/shade", "level slats do not hang in a skylight",
            "name a cloth or switched glass, or leave the shade out");
    const Glazing* glazing = find_by_id(project_.glazings, o.glazing);
    if (glazing != nullptr && shade != nullptr && shade->kind == Shade::Kind::switched_glass &&
        shade->switched_transmittance > glazing->transmittance)
      warning(where + "/shade",
              fmt::format("switched, the glass passes {:.0f} %, more than the {:.0f} % of {} itself",
                          100.0 * shade->switched_transmittance, 100.0 * glazing->transmittance, glazing->id),
              "give the shade's switched_transmittance for the dark state");
    if (o.well_depth_m > 0.0 && o.kind != Opening::Kind::skylight)
      error(where + "/well_depth", "only skylights have a well", "leave it out here");
    if (o.well_depth_m > 0.0 && s.ceiling_slope_deg > 0.0)
      error(where + "/well_depth", "a well is level at both ends, the ceiling here is sloped",
            "leave the well out, or draw a level ceiling");
    if (o.kind != Opening::Kind::window && has_surround(o))
      error(where, "reveal, overhang and fins stand around windows only", "leave them out here");
    if (o.kind == Opening::Kind::inner_glazing && o.borrows_from.empty())
      missing(where + "/borrows_from", "nothing says what lies behind the inner glazing", "name a space");
    borrowed_light(s, o, where + "/borrows_from");
  }

  void borrowed_light(const Space& s, const Opening& o, const std::string& where) {
    if (o.kind != Opening::Kind::inner_glazing || o.wall >= static_cast<int>(s.floor.size())) return;
    const Space* lender = sound_space(o.borrows_from);
    if (lender != nullptr && (lender->storey != s.storey || !domain::depth_behind(s, o, *lender)))
      error(where, fmt::format("{} has no wall on the other side of the whole glazing", lender->id),
            fmt::format("name the space behind it, on the same storey and at most {:.1f} m away",
                        domain::kThickestWall_m));
  }

  void glazed_doors(const Space& s, const std::string& where) {
    for (std::size_t i = 0; i < s.doors.size(); ++i) {
      const Door& d = s.doors[i];
      const std::string place = at(where + "/doors", i);
      if (!d.glazing.empty() && d.glass_fraction <= 0.0)
        missing(place + "/glass_fraction", "the door has a glazing and no glass", "say how much is glass");
      if (!d.glazing.empty() && d.leads_to.empty())
        missing(place + "/leads_to", "nothing says what lies behind the glass of the door", "name a space");
    }
    const std::vector<Opening> openings = domain::light_openings(s);
    for (std::size_t i = s.openings.size(); i < openings.size(); ++i)
      for (std::size_t k = 0; k < s.doors.size(); ++k)
        if (s.doors[k].id == openings[i].id)
          borrowed_light(s, openings[i], at(where + "/doors", k) + "/leads_to");
  }

  void partition(const Space& s, const Partition& p, const std::string& where) {
    if (length(p.to - p.from) < kTouch_m)
      error(where, "the partition has no length", "give two different ends");
    if (!all_inside(s.floor, {p.from, p.to}))
      error(where, "the partition ends outside its space", "keep both ends on the floor");
    if (const double ceiling_m = domain::height_over(s, {p.from, p.to}); p.height_m > ceiling_m + kTouch_m)
      error(where + "/height",
            fmt::format("{:.2f} m is higher than the ceiling at {:.2f} m", p.height_m, ceiling_m),
            "lower it");
    if (&p == &s.partitions.front() && domain::arrangement_count(s) > domain::kMostArrangements)
      warning(
          where + "/states",
          fmt::format("the movable partitions of {} can stand in more than {} ways; only the first states "
                      "are lit",
                      s.id, domain::kMostArrangements),
          "leave out states in which they stand alike");
    if (p.kind == Partition::Kind::movable && p.states.size() < 2)
      missing(where + "/states", "a movable partition needs at least two states",
              "name them, such as open and closed");
  }

  void furniture(const Space& s, const Furniture& f, const std::string& where) {
    if (f.plan.empty()) return;
    if (!is_simple(f.plan))
      error(where + "/plan", "the outline crosses or touches itself", "list the corners once, in order");
    else if (!all_inside(s.floor, f.plan))
      error(where + "/plan", fmt::format("{} stands partly outside its space", f.id), "move it inside");
    if (f.top_m <= f.bottom_m) error(where, "its top is not above its bottom", "give the upper face as top");
    if (const double ceiling_m = domain::height_over(s, f.plan); f.top_m > ceiling_m + kTouch_m)
      error(where + "/top",
            fmt::format("{:.2f} m is higher than the ceiling at {:.2f} m", f.top_m, ceiling_m), "lower it");
  }

  void task_area(const Space& s, const TaskArea& t, const std::string& where) {
    if (t.plan.empty()) return;
    if (!is_simple(t.plan))
      error(where + "/plan", "the outline crosses or touches itself", "list the corners once, in order");
    else if (!all_inside(s.floor, t.plan))
      error(where + "/plan", fmt::format("task area {} reaches beyond the floor of its space", t.id),
            "keep it inside");
    if (const double ceiling_m = domain::height_over(s, t.plan); t.height_m >= ceiling_m)
      error(where + "/height",
            fmt::format("{:.2f} m is not below the ceiling at {:.2f} m", t.height_m, ceiling_m), "lower it");
    if (t.ugr_limit && t.plane == TaskArea::Plane::vertical)
      error(where + "/ugr_limit", "nobody is at a vertical task area", "give the limit to a horizontal one");
    if (t.screen && t.screen->white_cd_m2 <= t.screen->black_cd_m2)
      error(where + "/screen", "its white is no brighter than its black",
            "give the luminance of each in the dark");
  }

  void overlapping_floors() {
    // By least x, so that only neighbours meet: n log n for buildings as they are.
    struct Entry {
      Box2 box;
      std::size_t index;
    };
    std::vector<Entry> entries;
    for (std::size_t i = 0; i < project_.spaces.size(); ++i)
      if (is_sound(project_.spaces[i])) entries.push_back({bounds(project_.spaces[i].floor), i});
    std::sort(entries.begin(), entries.end(), [](const Entry& a, const Entry& b) {
      return std::pair(a.box.low.x, a.index) < std::pair(b.box.low.x, b.index);
    });
    constexpr double kSliver_m2 = 0.01;
    std::size_t vertex_pairs = 0;
    for (std::size_t i = 0; i < entries.size(); ++i)
      for (std::size_t j = i + 1; j < entries.size() && entries[j].box.low.x < entries[i].box.high.x; ++j) {
        const Space& a = project_.spaces[std::min(entries[i].index, entries[j].index)];
        const Space& b = project_.spaces[std::max(entries[i].index, entries[j].index)];
        if (a.storey != b.storey || entries[j].box.low.y >= entries[i].box.high.y ||
            entries[i].box.low.y >= entries[j].box.high.y)
          continue;
        vertex_pairs += a.floor.size() * b.floor.size();
        if (vertex_pairs > kMostVertexPairs) {
          warning("/spaces", "too many floors lie over each other to look at them all",
                  "move the rooms apart, or put them on different storeys");
          return;
        }
        if (const double common_m2 = area(intersection(a.floor, b.floor)); common_m2 > kSliver_m2)
          warning(at("/spaces", std::max(entries[i].index, entries[j].index)) + "/floor",
                  fmt::format("{} and {} share {:.2f} m2 of floor", a.id, b.id, common_m2),
                  "move one, or put them on different storeys");
      }
  }

  // --- luminaire types ---

  void luminaire_type(const LuminaireType& t, const std::string& where) {
    if (t.channels.empty())
      missing(where + "/channels", fmt::format("luminaire type {} has no channel", t.id),
              "add at least one: what can be commanded, its watts and lumens");
    for (std::size_t i = 0; i < t.channels.size(); ++i) {
      const PhotometryReference& p = t.channels[i].photometry;
      const std::string channel = at(where + "/channels", i);
      const std::string place = channel + "/photometry";
      if (p.file.empty() && t.channels[i].input_w <= 0.0)
        missing(channel + "/input", "input is not given",
                "at full output; only a photometric file may say it");
      if (p.file.empty() && t.channels[i].lumens <= 0.0)
        missing(channel + "/lumens", "lumens is not given",
                "out of the luminaire at full output, new; only a photometric file may say it");
      if (p.file.empty() && p.formula.empty())
        missing(place, fmt::format("nothing says how luminaire type {} distributes its light", t.id),
                "name a file or a formula");
      if (!p.file.empty() && !p.formula.empty())
        error(place, "both a file and a formula are given", "keep one");
      if (p.file.empty() && p.lamp_set)
        warning(place + "/lamp_set", "a formula has no sets of lamps",
                "leave it out; it chooses among those of an EULUMDAT file");
    }
  }

  // --- prices ---

  void prices() {
    for (std::size_t i = 0; i < project_.luminaire_types.size(); ++i)
      if (const std::optional<Price>& price = project_.luminaire_types[i].price)
        ranges(*price, at("/luminaire_types", i) + "/price");
    for (std::size_t i = 0; i < project_.device_kinds.size(); ++i)
      ranges(project_.device_kinds[i].price, at("/device_kinds", i) + "/price");
    std::set<std::string_view> priced;
    for (std::size_t i = 0; i < project_.costs.size(); ++i)
      if (!priced.insert(project_.costs[i].applies_to).second)
        warning(at("/costs", i) + "/applies_to",
                fmt::format("{} already has a cost", project_.costs[i].applies_to),
                "keep one; the first counts");
  }
  void ranges(const Price& price, const std::string& where) {
    for (const auto& [range, key] :
         {std::pair(price.material, "/material"), std::pair(price.labour_h, "/labour_hours"),
          std::pair(price.set_up_h, "/set_up_hours")})
      if (range.least > range.most)
        error(where + key, fmt::format("at least {} is more than at most {}", range.least, range.most),
              "give the smaller figure as least");
  }

  // --- designs ---

  void design(const Design& d, const std::string& where) {
    luminaires(d, where);
    groups(d, where);
    scenes(d, where);
    devices(d.occupancy_sensors, where + "/occupancy_sensors");
    devices(d.photosensors, where + "/photosensors");
    devices(d.stations, where + "/stations");
    for (std::size_t i = 0; i < d.stations.size(); ++i)
      switch_legs(d, d.stations[i], at(where + "/stations", i));
    devices(d.load_controllers, where + "/load_controllers");
    for (std::size_t i = 0; i < d.load_controllers.size(); ++i)
      plug_in_controller(d, d.load_controllers[i], at(where + "/load_controllers", i));
    devices(d.time_clocks, where + "/time_clocks");
    devices(d.interfaces, where + "/interfaces");
    devices(d.infrastructure, where + "/infrastructure");
    radios(d, where);
    for (std::size_t i = 0; i < d.occupancy_sensors.size(); ++i)
      group_strategies(d, d.occupancy_sensors[i].groups, Strategy::occupancy,
                       at(where + "/occupancy_sensors", i));
    for (std::size_t i = 0; i < d.photosensors.size(); ++i)
      group_strategies(d, d.photosensors[i].groups, Strategy::daylight, at(where + "/photosensors", i));
    std::set<std::string> with_sequence;
    for (std::size_t i = 0; i < d.sequences.size(); ++i) {
      const std::string place = at(where + "/sequences", i);
      if (!d.sequences[i].space.empty() && !with_sequence.insert(d.sequences[i].space).second)
        error(place, fmt::format("the space {} has a second sequence", d.sequences[i].space), "keep one");
      sequence(d, d.sequences[i], place);
    }
    std::set<std::string> lit;
    for (const Luminaire& l : d.luminaires)
      if (spaces_.find(l.space) != nullptr) lit.insert(l.space);
    for (const std::string& id : lit)
      if (!with_sequence.contains(id))
        missing(where + "/sequences", fmt::format("no sequence says how the light in {} behaves", id),
                "add one");
    if (d.role == Design::Role::proposal) egress(d, where);
    hvac_hand_offs(d, where);
    if (d.role == Design::Role::proposal) receptacles(d);
  }

  /// Says when a point of a space lies outside it or above its ceiling.
  void position(const std::string& space_id, const std::string& name, Point3 p, const std::string& where) {
    const Space* space = sound_space(space_id);
    if (space == nullptr) return;
    if (!all_inside(space->floor, {{p.x, p.y}}))
      error(where + "/at",
            fmt::format("{} at ({:.2f}, {:.2f}) lies outside its space {}", name, p.x, p.y, space_id),
            "move it inside, or name the space it is in");
    else if (const double ceiling_m = domain::height_over(*space, {{p.x, p.y}}); p.z > ceiling_m + kTouch_m)
      error(where + "/at",
            fmt::format("{} hangs at {:.2f} m, above the ceiling of {} at {:.2f} m", name, p.z, space_id,
                        ceiling_m),
            "lower it or raise the ceiling");
    else if (p.z < 0.0)
      error(where + "/at", fmt::format("{} lies {:.2f} m below the floor", name, -p.z), "raise it");
  }

  template <class DeviceKind>
  void devices(const std::vector<DeviceKind>& list, const std::string& where) {
    for (std::size_t i = 0; i < list.size(); ++i)
      position(list[i].space, list[i].id, list[i].at, at(where, i));
  }

  /// What plugs in serves only what plugs into it.
  void plug_in_controller(const Design& d, const LoadController& c, const std::string& where) {
    if (c.mounting != LoadController::Mounting::plug_in) {
      if (c.sensor_delay_s)
        error(where + "/sensor_delay", fmt::format("{} does not plug in and has no sensor of its own", c.id),
              "place an occupancy sensor, or give it the mounting plug_in");
      return;
    }
    for (const std::string& id : driven_luminaires(project_, d, c)) {
      const Luminaire* luminaire = find_by_id(d.luminaires, id);
      if (luminaire == nullptr || types_.find(luminaire->type) == nullptr || plugs_in(project_, *luminaire))
        continue;
      error(where + "/mounting", fmt::format("{} plugs in and drives {}, which is wired in", c.id, id),
            "name only luminaires whose type has the mounting plug_in, or mount the controller elsewhere");
      return;
    }
  }

  /// Radio devices need a radio, and a gateway that talks by it.
  void radios(const Design& d, const std::string& where) {
    std::string first;
    std::size_t count = 0;
    const auto add = [&](const auto& list, const char* key) {
      for (std::size_t i = 0; i < list.size(); ++i) {
        if (list[i].link != Link::radio || !stands_in(d, list[i].status)) continue;
        if (count++ == 0) first = at(where + key, i) + "/link";
      }
    };
    add(d.occupancy_sensors, "/occupancy_sensors");
    add(d.photosensors, "/photosensors");
    add(d.stations, "/stations");
    add(d.load_controllers, "/load_controllers");
    add(d.time_clocks, "/time_clocks");
    add(d.interfaces, "/interfaces");
    std::size_t gateways = 0;
    for (std::size_t i = 0; i < d.infrastructure.size(); ++i) {
      const Infrastructure& device = d.infrastructure[i];
      if (device.link != Link::radio || !stands_in(d, device.status)) continue;
      if (device.kind == Infrastructure::Kind::gateway)
        ++gateways;
      else if (count++ == 0)
        first = at(where + "/infrastructure", i) + "/link";
    }
    if (count == 0) return;
    const std::string who = count == 1 ? "a device talks" : fmt::format("{} devices talk", count);
    if (!project_.radio)
      warning(first, who + " by radio, and the project does not say by which",
              "give the project a \"radio\" with its band");
    if (gateways == 0)
      warning(first, who + " by radio, and no gateway does",
              "give a gateway of the design \"link\": \"radio\", or make the devices wired");
  }

  void luminaires(const Design& d, const std::string& where) {
    std::map<std::tuple<std::string_view, long long, long long>, std::vector<std::size_t>> places;
    std::size_t without_circuit = 0;
    for (std::size_t i = 0; i < d.luminaires.size(); ++i) {
      const Luminaire& l = d.luminaires[i];
      const std::string place = at(where + "/luminaires", i);
      position(l.space, l.id, l.at, place);
      if (l.circuit.empty() && !plugs_in(project_, l)) ++without_circuit;
      if (l.emergency.lights_egress && l.emergency.type != EmergencyType::none &&
          l.emergency.type != EmergencyType::own_battery && l.emergency.senses_circuit.empty())
        missing(place + "/emergency/senses_circuit", fmt::format("nothing says whose loss {} answers", l.id),
                "name the normal-power circuit of its area");
      std::vector<std::size_t>& here =
          places[{l.space, std::llround(l.at.x / kSamePlace_m), std::llround(l.at.y / kSamePlace_m)}];
      for (const std::size_t other : here)
        if (std::abs(d.luminaires[other].at.z - l.at.z) < kSamePlace_m) {
          warning(place, fmt::format("{} is at the same place as {}", l.id, d.luminaires[other].id),
                  "remove one");
          break;
        }
      here.push_back(i);
    }
    if (without_circuit > 0 && d.role == Design::Role::proposal)
      missing(where + "/luminaires", fmt::format("{} luminaires have no circuit", without_circuit),
              "name a circuit for each");
  }

  void groups(const Design& d, const std::string& where) {
    const Index<Luminaire> placed(d.luminaires);
    std::map<std::pair<Strategy, std::string>, std::string> member_of;
    for (std::size_t i = 0; i < d.groups.size(); ++i) {
      const Group& g = d.groups[i];
      const std::string list = at(where + "/groups", i) + "/channels";
      if (g.channels.empty())
        missing(list, fmt::format("the group {} is empty", g.id), "name its luminaires");
      for (std::size_t j = 0; j < g.channels.size(); ++j) {
        const std::string& entry = g.channels[j];
        const std::string head = entry.substr(0, entry.find('/'));
        const Luminaire* luminaire = placed.find(head);
        if (luminaire == nullptr) continue;
        if (luminaire->space != g.space && !g.space.empty())
          error(at(list, j),
                fmt::format("{} is in the space {}, the group {} in {}", luminaire->id, luminaire->space,
                            g.id, g.space),
                "a group holds luminaires of its own space");
        const LuminaireType* type = types_.find(luminaire->type);
        std::vector<std::string> channels;
        if (type != nullptr)
          for (const Channel& channel : type->channels)
            if (entry == head || entry == head + "/" + channel.id)
              channels.push_back(head + "/" + channel.id);
        if (channels.empty() && type != nullptr && !type->channels.empty()) {
          std::string known;
          for (const Channel& c : type->channels) known += (known.empty() ? "" : ", ") + c.id;
          error(at(list, j),
                fmt::format("luminaire {} has no channel \"{}\"", luminaire->id,
                            entry.substr(std::min(entry.find('/'), entry.size() - 1) + 1)),
                "its channels are " + known);
        }
        for (const std::string& channel : channels) {
          const auto [first, is_new] = member_of.emplace(std::pair(g.strategy, channel), g.id);
          if (!is_new) {
            error(at(list, j),
                  first->second == g.id ? fmt::format("the group {} names {} twice", g.id, channel)
                                        : fmt::format("{} is already in the group {} of the same strategy",
                                                      channel, first->second),
                  "a channel belongs to at most one group per strategy");
            break;
          }
        }
      }
    }
  }

  void group_strategies(const Design& d, const std::vector<std::string>& ids, Strategy strategy,
                        const std::string& where) {
    const char* word = strategy == Strategy::occupancy  ? "occupancy"
                       : strategy == Strategy::daylight ? "daylight"
                                                        : "scene";
    for (std::size_t i = 0; i < ids.size(); ++i) {
      const Group* group = find_by_id(d.groups, ids[i]);
      if (group != nullptr && group->strategy != strategy)
        error(at(where + "/groups", i), fmt::format("the group {} is not a group for {}", group->id, word),
              fmt::format("name a group with the strategy {}", word));
    }
  }

  /// What scenes of each space are in use for: of the hours of a calendar, by its id; of all other time, by
  /// the state of a wall.
  struct SharesOfTime {
    std::map<std::string, std::map<std::string, double>> of_calendar;
    std::map<std::string, std::map<std::string, double>> of_state;
  };

  /// Adds a scene's share; scenes cannot be in use for more than all of the time.
  void scene_share(const Design& d, const Scene& s, const std::string& where, SharesOfTime& used) {
    const double share = use_share(s);
    double sum = 0.0;
    if (s.calendar.empty()) {
      // Scenes of one state of a wall share its time with those that name none.
      std::map<std::string, double>& by_state = used.of_state[s.space];
      by_state[s.partition_state] += share;
      for (const auto& [state, of_state] : by_state)
        if (!state.empty() && (s.partition_state.empty() || state == s.partition_state))
          sum = std::max(sum, of_state);
      sum += by_state.contains("") ? by_state[""] : 0.0;
    } else {
      sum = used.of_calendar[s.space][s.calendar] += share;
      if (share <= 0.0)
        warning(where + "/calendar", fmt::format("{} has hours and is never in use", s.id),
                "give it a use_fraction, or leave both out");
      for (const Sequence& sequence : d.sequences)
        if (sequence.space == s.space && sequence.normal_scene == s.id)
          warning(where + "/calendar",
                  fmt::format("{} stands whenever no other is called, and its calendar says nothing", s.id),
                  "leave the calendar out, or let another scene stand");
    }
    if (sum > 1.0 + 1e-9 && share > 0.0)
      error(where + "/use_fraction",
            fmt::format("the scenes of {} are in use for {:.0f} % of {} together", s.space, 100.0 * sum,
                        s.calendar.empty() ? "the time" : "the hours of the calendar " + s.calendar),
            "keep their sum at or below 100 %");
  }

  void scenes(const Design& d, const std::string& where) {
    const Index<Group> by_id(d.groups);
    SharesOfTime used;
    for (std::size_t i = 0; i < d.scenes.size(); ++i) {
      const Scene& s = d.scenes[i];
      const std::string place = at(where + "/scenes", i);
      std::set<std::string> named;
      for (std::size_t j = 0; j < s.levels.size(); ++j) {
        const Group* group = by_id.find(s.levels[j].group);
        if (group == nullptr) continue;
        const std::string level = at(place + "/levels", j) + "/group";
        if (group->strategy != Strategy::scene)
          error(level, fmt::format("the group {} is not a group for scenes", group->id),
                "name a group with the strategy scene");
        else if (group->space != s.space)
          error(level,
                fmt::format("the group {} is in the space {}, the scene in {}", group->id, group->space,
                            s.space),
                "a scene sets the groups of its own space");
        if (!named.insert(group->id).second)
          error(level, fmt::format("the group {} is given two levels", group->id), "keep one");
      }
      scene_share(d, s, place, used);
      const Space* space = spaces_.find(s.space);
      scene_beside_levels(d, s, space, place);
      if (space != nullptr)
        for (std::size_t j = 0; j < s.targets.size(); ++j)
          scene_target(*space, s, j, at(place + "/targets", j));
      if (!s.partition_state.empty() && space != nullptr &&
          std::none_of(space->partitions.begin(), space->partitions.end(), [&](const Partition& p) {
            return std::find(p.states.begin(), p.states.end(), s.partition_state) != p.states.end();
          }))
        error(place + "/partition_state",
              fmt::format("no partition of {} has a state \"{}\"", s.space, s.partition_state),
              "name a state of a movable partition");
      else if (space != nullptr && use_share(s) > 0.0 && never_stands_so(*space, s.partition_state))
        warning(
            place + "/use_fraction",
            fmt::format("{} is for the state \"{}\", in which no wall of {} is in the year: it is never in "
                        "use",
                        s.id, s.partition_state, s.space),
            "give the space bookings with a divided_fraction, or list that state first");
    }
  }

  /// What a scene does to shades, daylight rules and demand response.
  void scene_beside_levels(const Design& d, const Scene& s, const Space* space, const std::string& where) {
    const bool is_normal = std::any_of(d.sequences.begin(), d.sequences.end(), [&](const Sequence& sequence) {
      return sequence.space == s.space && sequence.normal_scene == s.id;
    });
    const auto not_of_normal = [&](const char* key, bool is_set, const char* remedy) {
      if (is_normal && is_set)
        error(where + "/" + key, fmt::format("{} stands whenever no other scene is called", s.id), remedy);
    };
    not_of_normal("shades", s.shades != Scene::Shades::as_they_stand,
                  "leave the shades to people, or give the shade another operation");
    not_of_normal("follows_daylight", !s.follows_daylight, "remove the daylight rules instead");
    not_of_normal("in_demand_response", !s.in_demand_response, "remove the demand response instead");
    not_of_normal("called_by", !s.called_by.empty(), "let the contact call another scene");
    const Interface* contact = find_by_id(d.interfaces, s.called_by);
    if (contact != nullptr && (contact->kind != Interface::Kind::audio_visual || contact->space != s.space))
      error(where + "/called_by", fmt::format("{} is no audio-visual contact of {}", contact->id, s.space),
            "name an interface of kind audio_visual in the scene's own space");
    if (s.shades == Scene::Shades::as_they_stand || space == nullptr) return;
    const bool has_shade = std::any_of(space->openings.begin(), space->openings.end(), [&](const Opening& o) {
      const Shade* shade = find_by_id(project_.shades, o.shade);
      return shade != nullptr && moves(*shade);
    });
    if (!has_shade)
      warning(where + "/shades", fmt::format("no glass of {} has a shade that moves", space->id),
              "give an opening a shade that is moved by hand or by itself, or leave this out");
  }

  void scene_target(const Space& space, const Scene& s, std::size_t index, const std::string& where) {
    const SceneTarget& target = s.targets[index];
    const TaskArea* task = find_by_id(space.task_areas, target.task_area);
    if (task == nullptr) {
      error(where + "/task_area",
            fmt::format("the space {} has no task area \"{}\"", space.id, target.task_area),
            "name one of the scene's own space");
      return;
    }
    for (std::size_t before = 0; before < index; ++before)
      if (s.targets[before].task_area == target.task_area)
        error(where + "/task_area", fmt::format("{} is given two targets", target.task_area), "keep one");
    if (!target.least_lx && !target.most_lx && !target.uniformity && !target.contrast)
      warning(where, fmt::format("nothing is asked on {}", target.task_area),
              "give least, most, uniformity or contrast");
    if (target.least_lx && target.most_lx && *target.least_lx > *target.most_lx)
      error(
          where + "/most",
          fmt::format("at least {} lx and at most {} lx cannot both hold", *target.least_lx, *target.most_lx),
          "give the larger figure as most");
    if (target.contrast && !task->screen)
      error(where + "/contrast", fmt::format("{} shows no picture", task->id),
            "give the task area a screen, or leave the contrast out");
  }

  /// Whether no partition of a space has a state at any time of the year: all stand as in their first state,
  /// save the one by which bookings divide the room.
  static bool never_stands_so(const Space& space, const std::string& state) {
    return !state.empty() &&
           std::none_of(space.partitions.begin(), space.partitions.end(), [&](const Partition& p) {
             const auto found = std::find(p.states.begin(), p.states.end(), state);
             return found != p.states.end() && (found == p.states.begin() || &p == wall_in_use(space));
           });
  }

  void sequence(const Design& d, const Sequence& s, const std::string& where) {
    const Space* space = spaces_.find(s.space);
    const Scene* scene = find_by_id(d.scenes, s.normal_scene);
    if (scene != nullptr && scene->space != s.space)
      error(where + "/normal_scene",
            fmt::format("the scene {} belongs to the space {}", scene->id, scene->space),
            fmt::format("name a scene of {}", s.space));
    const bool has_sensor = std::any_of(d.occupancy_sensors.begin(), d.occupancy_sensors.end(),
                                        [&](const OccupancySensor& o) { return o.space == s.space; });
    if ((s.vacancy || s.on.by == OnRule::By::occupancy) && !has_sensor)
      missing(where, fmt::format("the sequence needs an occupancy sensor, and {} has none", s.space),
              "place one");
    if (s.vacancy) held_light(d, s, where + "/vacancy");
    if (s.on.by == OnRule::By::schedule && !s.schedule)
      error(where + "/on/by", "the clock brings the light on, but there is no schedule", "add a schedule");
    if (s.on.by == OnRule::By::occupancy && !project_.requirements.automatic_on_allowed && s.on.level > 0.0)
      error(where + "/on/by", "light comes on by itself, which the owner does not allow",
            "bring it on by hand, or change the owner's requirement");
    if (s.on.by == OnRule::By::hand && d.role == Design::Role::proposal && !s.manual)
      missing(where + "/manual",
              fmt::format("light in {} comes on by hand, but no station is named", s.space),
              "name the stations");
    if (space != nullptr && space->automatic_off_refused) {
      if (s.vacancy && (s.vacancy->step_level <= 0.0 || s.vacancy->off_after_s >= 0.0))
        error(where + "/vacancy",
              fmt::format("{} must not go dark by itself, and its light goes off when empty", space->id),
              "leave the light on, or keep a level that never goes off");
      if (s.schedule && s.schedule->sweeps_off)
        error(where + "/schedule/sweeps_off",
              fmt::format("{} must not go dark by itself, and the clock turns it off", space->id),
              "set sweeps_off to false");
    }
    if (s.vacancy) vacancy(d, *s.vacancy, where + "/vacancy");
    if (s.trim && s.trim->high && *s.trim->high <= s.trim->low)
      error(where + "/trim", "high-end trim is not above low-end trim", "give the larger share as high");
    for (std::size_t i = 0; i < s.daylight.size(); ++i)
      daylight(d, s, s.daylight[i], at(where + "/daylight", i));
    if (s.load_shed) load_shed(d, s, *s.load_shed, where + "/load_shed");
    for (std::size_t i = 0; i < s.loss.groups.size(); ++i)
      group_loss(d, s, i, at(where + "/loss/groups", i) + "/group");
    if (s.manual)
      for (std::size_t i = 0; i < s.manual->stations.size(); ++i) {
        const Station* station = find_by_id(d.stations, s.manual->stations[i]);
        if (station != nullptr && station->status == Status::remove && d.role == Design::Role::proposal)
          error(at(where + "/manual/stations", i),
                fmt::format("the station {} is to be removed", station->id), "name one that stays");
      }
  }

  void switch_legs(const Design& d, const Station& station, const std::string& where) {
    // People choose among all combinations of the legs of a space.
    constexpr std::size_t kMost = 4;
    std::set<std::string> of_space;
    for (const Station& other : d.stations)
      if (other.space == station.space) of_space.insert(other.switch_legs.begin(), other.switch_legs.end());
    if (!station.switch_legs.empty() && of_space.size() > kMost)
      error(where + "/switch_legs",
            fmt::format("stations of the space {} switch {} legs one by one", station.space, of_space.size()),
            fmt::format("keep {} at most in a space, and join others to them", kMost));
    for (std::size_t i = 0; i < station.switch_legs.size(); ++i) {
      const std::string& id = station.switch_legs[i];
      const std::string place = at(where + "/switch_legs", i);
      const Group* group = find_by_id(d.groups, id);
      if (group != nullptr && group->strategy != Strategy::scene)
        error(place, fmt::format("the group {} is not for scenes", id), "name a scene group");
      else if (group != nullptr && group->space != station.space)
        error(place, fmt::format("the group {} is in {}, the station in {}", id, group->space, station.space),
              "name a group of its own space");
      if (std::count(station.switch_legs.begin(), station.switch_legs.end(), id) > 1)
        error(place, fmt::format("the group {} is named twice", id), "name it once");
    }
    if (station.switch_legs.size() == 1)
      warning(where + "/switch_legs", "one switch leg leaves nothing to choose",
              "name two or more, or leave them out");
  }

  void load_shed(const Design& d, const Sequence& s, const LoadShedRule& r, const std::string& where) {
    const Interface* interface = find_by_id(d.interfaces, r.interface);
    if (interface != nullptr && interface->kind != Interface::Kind::load_shed)
      error(where + "/interface", fmt::format("the interface {} brings no load shed signal", interface->id),
            "name one whose kind is load_shed");
    else if (interface != nullptr && interface->direction != Interface::Direction::in)
      error(where + "/interface", fmt::format("the interface {} tells and does not listen", interface->id),
            "give it \"direction\": \"in\"");
    else if (interface != nullptr && !stands_in(d, interface->status))
      error(where + "/interface", fmt::format("the interface {} is to be removed", interface->id),
            "name one that stays");
    if (r.level >= 1.0)
      warning(where + "/level", "the signal takes nothing off",
              "give a level below 1, or leave the rule out");
    for (std::size_t i = 0; i < r.groups.size(); ++i) {
      const Group* group = find_by_id(d.groups, r.groups[i]);
      if (group == nullptr) continue;
      if (group->space != s.space)
        error(at(where + "/groups", i),
              fmt::format("the group {} is in the space {}", group->id, group->space),
              fmt::format("name a group of {}", s.space));
      else if (group->strategy != Strategy::scene && group->strategy != Strategy::demand_response)
        error(at(where + "/groups", i),
              fmt::format("the group {} is not a group for scenes or demand response", group->id),
              "name a group with the strategy scene or demand_response");
    }
  }

  void group_loss(const Design& d, const Sequence& s, std::size_t i, const std::string& where) {
    const Group* group = find_by_id(d.groups, s.loss.groups[i].group);
    if (group == nullptr) return;
    if (group->space != s.space)
      error(where, fmt::format("the group {} is in the space {}", group->id, group->space),
            fmt::format("name a group of {}", s.space));
    else if (group->strategy != Strategy::scene)
      error(where, fmt::format("the group {} is not a group for scenes", group->id),
            "name a group with the strategy scene");
    for (std::size_t k = 0; k < i; ++k)
      if (s.loss.groups[k].group == group->id)
        error(where, fmt::format("the group {} is named twice", group->id), "state its levels once");
  }

  void vacancy(const Design& d, const VacancyRule& v, const std::string& where) {
    group_strategies(d, v.groups, Strategy::occupancy, where);
    if (v.step_level <= 0.0 && v.off_after_s > 0.0)
      warning(where + "/off_after", "the light is off after the delay already", "give a step_level above 0");
    if (v.warning_s <= 0.0) return;
    if (v.warning_level <= 0.0)
      error(where + "/warning_level", "the warning before off leaves the room dark",
            "dip to a level above 0");
    if (v.warning_level >= 1.0)
      warning(where + "/warning_level", "the warning before off changes nothing", "dip below 1, such as 0.5");
  }

  void daylight(const Design& d, const Sequence& s, const DaylightRule& r, const std::string& where) {
    const Group* group = find_by_id(d.groups, r.group);
    if (group != nullptr && group->strategy != Strategy::daylight)
      error(where + "/group", fmt::format("the group {} is not a group for daylight", group->id),
            "name a group with the strategy daylight");
    if (group != nullptr && group->space != s.space)
      error(where + "/group", fmt::format("the group {} is in the space {}", group->id, group->space),
            fmt::format("name a group of {}", s.space));
    const Photosensor* sensor = find_by_id(d.photosensors, r.photosensor);
    if (sensor != nullptr && group != nullptr &&
        std::find(sensor->groups.begin(), sensor->groups.end(), r.group) == sensor->groups.end())
      error(where + "/photosensor",
            fmt::format("the photosensor {} does not list the group {}", sensor->id, r.group),
            "add the group to the photosensor's groups");
    if (r.method == DaylightRule::Method::dual_loop)
      second_photosensor(d, r, where + "/open_photosensor");
    else if (!r.open_photosensor.empty())
      warning(where + "/open_photosensor", "only a dual loop reads a second photosensor",
              "choose the method dual_loop, or leave it out");
    if (r.calibrated_at && r.method == DaylightRule::Method::integral_reset)
      warning(where + "/calibrated_at", "integral reset is set at night alone",
              "leave it out, or choose a proportional method");
    if (group != nullptr) what_the_load_can_do(d, r, *group, where);
    const Space* space = spaces_.find(s.space);
    if (space != nullptr && space->openings.empty())
      warning(where, fmt::format("{} has no opening that lets daylight in", s.space),
              "draw its windows and skylights");
  }

  void second_photosensor(const Design& d, const DaylightRule& r, const std::string& where) {
    if (r.open_photosensor.empty()) {
      missing(where, "a dual loop needs a second photosensor, which sees daylight alone",
              "name one whose loop is open");
      return;
    }
    const Photosensor* sensor = find_by_id(d.photosensors, r.open_photosensor);
    const Photosensor* closed = find_by_id(d.photosensors, r.photosensor);
    if (sensor == nullptr) return;
    if (r.open_photosensor == r.photosensor)
      error(where, "both photosensors of the dual loop are the same", "name another one whose loop is open");
    else if (closed != nullptr && sensor->space != closed->space)
      error(where,
            fmt::format("the photosensor {} is in the space {}, the other one in {}", sensor->id,
                        sensor->space, closed->space),
            fmt::format("name one in {}", closed->space));
    else if (sensor->loop != Photosensor::Loop::open)
      warning(where, fmt::format("the photosensor {} is not said to see daylight alone", sensor->id),
              "aim it at the window or into the skylight and set its loop to open");
  }

  /// A relay switches, a driver that does not dim gives all or nothing, and a rule that asks for more gets no
  /// more.
  void what_the_load_can_do(const Design& d, const DaylightRule& r, const Group& group,
                            const std::string& where) {
    const std::map<std::string, std::string> switched = switched_channels(project_, d);
    std::string controller;
    bool any = false;
    bool any_dims = false;
    for (const std::string& entry : group.channels)
      for (const std::string& channel : channels_of(project_, d, entry)) {
        any = true;
        const auto relay = switched.find(channel);
        if (relay != switched.end())
          controller = relay->second;
        else
          any_dims = any_dims || dims(d, channel);
      }
    if (!any || (any_dims && controller.empty())) return;
    const std::string why = controller.empty()
                                ? fmt::format("no driver of the group {} dims", group.id)
                                : fmt::format("the load controller {} only switches", controller);
    if (r.minimum_level < 1.0)
      warning(
          where + "/minimum_level",
          fmt::format("{}, and the rule asks for dimming to {:.0f} %: the light stays at full output "
                      "until it goes off",
                      why, 100.0 * r.minimum_level),
          "set minimum_level to 1 and may_switch_off to true, or choose load controllers and drivers that "
          "dim");
    if (!r.may_switch_off && !any_dims)
      warning(where + "/may_switch_off", why + ", and the rule may not switch it off: it does nothing",
              "set may_switch_off to true, or choose load controllers and drivers that dim");
  }

  /// Whether the driver of a channel, "luminaire/channel", dims.
  [[nodiscard]] bool dims(const Design& d, const std::string& channel) const {
    const std::size_t slash = channel.find('/');
    const Luminaire* luminaire = find_by_id(d.luminaires, channel.substr(0, slash));
    const LuminaireType* type = luminaire == nullptr ? nullptr : types_.find(luminaire->type);
    if (type == nullptr) return true;
    const Channel* its = find_by_id(type->channels, channel.substr(slash + 1));
    return its == nullptr || driver_of(project_, its->driver).dims;
  }

  /// A way out needs a luminaire that burns when normal power is lost.
  void egress(const Design& d, const std::string& where) {
    for (const Space& s : project_.spaces) {
      if (s.egress_paths.empty()) continue;
      const bool lit = std::any_of(d.luminaires.begin(), d.luminaires.end(), [&](const Luminaire& l) {
        return l.emergency.lights_egress && l.emergency.type != EmergencyType::none &&
               l.status != Status::remove && l.space == s.id;
      });
      if (!lit)
        missing(where + "/luminaires",
                fmt::format("no luminaire lights the egress path {} in {} when normal power is lost",
                            s.egress_paths.front().id, s.id),
                "give one an emergency type and \"lights_egress\": true");
    }
  }

  const Project& project_;
  Index<Space> spaces_;
  Index<LuminaireType> types_;
  std::vector<bool> is_sound_;  ///< of each space: its floor is an outline without crossings
  Diagnostics diagnostics_;
  std::array<std::size_t, 3> said_{};  ///< by severity
  std::size_t unsaid_ = 0;
};

}  // namespace

Diagnostics validate(const Project& project) { return Validator(project).run(); }

}  // namespace halflight::domain
