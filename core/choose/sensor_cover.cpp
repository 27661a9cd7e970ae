#include "choose/sensor_cover.hpp"

#include "base/units.hpp"
#include "choose/least_cover.hpp"
#include "domain/project.hpp"
#include "sensing/seats.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <tuple>
#include <utility>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

using domain::DeviceKind;
using domain::OccupancySensor;
using domain::Space;
using sensing::Motion;
using Kind = SensorDemand::Kind;

constexpr std::array kFamilies{DeviceKind::Mounting::ceiling, DeviceKind::Mounting::wall,
                               DeviceKind::Mounting::wall_box, DeviceKind::Mounting::in_luminaire};

constexpr double kMostMoney = 1e7;
constexpr double kPart_m = 0.6;             // side of the parts of a place, at most
constexpr double kWholePart = 0.99;         // of a part, that one sensor sees
constexpr double kSpare = 0.001;            // of a place, for lengths rounded to the raster
constexpr double kInside_m = 0.6;           // the first step on the way in (common practice, no source)
constexpr double kByWall_m = 0.5;           // where nobody stays (common practice, no source)
constexpr double kFloorPoint_m = 0.3;       // between points of the floor, at least
constexpr double kMostFloorPoints = 300.0;  // about, in as many cells of one size
constexpr double kLeastRaise = 0.002;       // of the share of points, where the exact share falls short
constexpr int kMostRaises = 5;
constexpr double kPointSquare_m = 0.15;  // half the side of what is drawn of a point that is not seen
constexpr double kSameShare = 1e-9;

Diagnostics complaints(const SensorCoverProblem& problem) {
  Diagnostics found;
  const auto unless = [&](bool is_right, std::string where, std::string what, std::string remedy) {
    if (!is_right)
      found.push_back(
          {Diagnostic::Severity::error, "", std::move(where), std::move(what), std::move(remedy)});
  };
  unless(problem.space.floor.size() >= 3 && is_simple(problem.space.floor) &&
             is_counter_clockwise(problem.space.floor),
         "/space/floor", "the floor is no counter-clockwise outline",
         "three corners or more, no edges that cross");
  unless(problem.most_nodes >= 0, "/most_nodes", "fewer than no nodes", "0 or more");
  for (std::size_t i = 0; i < problem.offers.size(); ++i) {
    const SensorOffer& offer = problem.offers[i];
    const std::string where = fmt::format("/offers/{}", i);
    unless(offer.kind != nullptr && offer.kind->occupancy.has_value(), where, "the kind senses no people",
           "a kind of device with occupancy sensing");
    unless(offer.cost >= 0.0 && offer.cost <= kMostMoney, where, fmt::format("{} is not a cost", offer.cost),
           "0 or more, at most 1e7");
    if (offer.kind != nullptr)
      unless(std::find(kFamilies.begin(), kFamilies.end(), offer.kind->mounting) != kFamilies.end(), where,
             "no place is known for its mounting", "ceiling, wall, wall box or luminaire");
  }
  return found;
}

/// Offers that are worth a look: of those that see alike from the same places the cheapest, then that of the
/// first id. In an order of their own, whatever the caller's.
std::vector<std::size_t> distinct(const std::vector<SensorOffer>& offers) {
  using Key = std::tuple<int, int, int, double, double, double, double, double>;
  const auto key = [&](std::size_t i) {
    const DeviceKind& k = *offers[i].kind;
    const domain::OccupancySensing& o = *k.occupancy;
    const bool is_sector = o.coverage == OccupancySensor::Coverage::sector;
    const bool is_strip = o.coverage == OccupancySensor::Coverage::strip;
    return Key{static_cast<int>(k.mounting),
               static_cast<int>(o.technology),
               static_cast<int>(o.coverage),
               o.major_radius_m,
               o.minor_radius_m,
               o.rated_height_m,
               is_sector ? o.sector_deg : 0.0,
               is_strip ? o.strip_width_m : 0.0};
  };
  const auto rank = [&](std::size_t i) {
    return std::pair(std::llround(100.0 * offers[i].cost), offers[i].kind->id);
  };
  std::map<Key, std::size_t> best;
  for (std::size_t i = 0; i < offers.size(); ++i) {
    const auto [found, is_new] = best.emplace(key(i), i);
    if (!is_new && rank(i) < rank(found->second)) found->second = i;
  }
  std::vector<std::size_t> all;
  for (const auto& [k, i] : best) all.push_back(i);
  return all;
}

/// A demand with what it is judged by, in the room's axes.
struct Asked {
  SensorDemand demand;
  Motion motion = Motion::minor;
  Region area;                  ///< of places and floors
  std::vector<Region> parts;    ///< of places
  std::vector<Point2> points;   ///< of floors; of seats and entries the one
  std::vector<double> weights;  ///< of parts or points
  double share = 1.0;           ///< of parts or points, that the choice goes by
};

bool is_point(Kind kind) { return kind == Kind::seat || kind == Kind::entry; }
bool is_floor(Kind kind) { return kind == Kind::staying || kind == Kind::passing; }

/// An outline in parts of at most `kPart_m` along and across its longest edge.
std::vector<Region> in_parts(const Polygon& plan) {
  std::vector<Region> parts;
  Vector2 along{1.0, 0.0};
  double longest = 0.0;
  for (std::size_t i = 0; i < plan.size(); ++i)
    if (const Vector2 e = plan[(i + 1) % plan.size()] - plan[i]; length(e) > longest + 1e-3) {
      longest = length(e);
      along = (1.0 / longest) * e;
    }
  const PlanFrame frame{plan.front(), along};
  Polygon own;
  for (const Point2 p : plan) own.push_back(frame.to_frame(p));
  const Box2 box = bounds(own);
  const auto count = [](double side_m) {
    return std::max(1, static_cast<int>(std::ceil(side_m / kPart_m - 1e-3)));
  };
  const Vector2 size = box.high - box.low;
  const int columns = count(size.x);
  const int rows = count(size.y);
  for (int r = 0; r < rows; ++r)
    for (int c = 0; c < columns; ++c) {
      const auto corner = [&](int i, int j) {
        return frame.to_building({box.low.x + size.x * i / columns, box.low.y + size.y * j / rows});
      };
      Region part =
          intersection(Polygon{corner(c, r), corner(c + 1, r), corner(c + 1, r + 1), corner(c, r + 1)}, plan);
      if (area(part) > 1e-6) parts.push_back(std::move(part));
    }
  return parts;
}

/// Cells of a raster over an area, each by the middle of what of it lies in the area.
struct Cells {
  std::vector<Point2> points;
  std::vector<double> areas_m2;
};
Cells cells_of(const Region& region) {
  Cells cells;
  if (region.empty()) return cells;
  const Box2 box = bounds(region);
  const Vector2 size = box.high - box.low;
  const double step_m = std::max(kFloorPoint_m, std::sqrt(area(region) / kMostFloorPoints));
  const auto count = [&](double side_m) {
    return std::max(1, static_cast<int>(std::floor(side_m / step_m)));
  };
  const int columns = count(size.x);
  const int rows = count(size.y);
  for (int r = 0; r < rows; ++r)
    for (int c = 0; c < columns; ++c) {
      const Point2 low{box.low.x + size.x * c / columns, box.low.y + size.y * r / rows};
      const Point2 high{box.low.x + size.x * (c + 1) / columns, box.low.y + size.y * (r + 1) / rows};
      const Region cell = intersection(region, rectangle(low, high));
      const std::optional<Point2> middle = centroid(cell);
      if (!middle || area(cell) <= 0.0) continue;
      cells.points.push_back(*middle);
      cells.areas_m2.push_back(area(cell));
    }
  return cells;
}

Region less(const Region& region, const Region& taken) {
  return region.empty() ? region : difference(region, taken);
}

/// The floor on which people walk or, away from the walls, stay.
Region floor_of(const Space& space, bool is_for_staying) {
  Region floor = is_for_staying ? offset(space.floor, -kByWall_m) : Region{};
  if (floor.empty()) floor = {PolygonWithHoles{space.floor, {}}};
  std::vector<Polygon> taken;
  for (const domain::Furniture& f : space.furniture)
    if (f.plan.size() >= 3 && f.bottom_m < sensing::height_m(Motion::minor)) taken.push_back(f.plan);
  return difference(floor, taken);
}

bool only_passes(domain::Occupancy::Pattern pattern) {
  return pattern == domain::Occupancy::Pattern::circulation || pattern == domain::Occupancy::Pattern::none;
}

std::vector<Asked> asked_of(const CanonicalRoom& room, std::size_t people) {
  const Space& space = room.space;
  std::vector<Asked> all;
  const std::vector<sensing::Place> places = sensing::places_of(space);
  for (const sensing::Place& place : places) {
    const bool is_furniture = place.kind == sensing::Place::Kind::furniture;
    Asked& asked = all.emplace_back();
    asked.demand = {Kind::place,
                    is_furniture ? space.furniture[place.index].id : space.task_areas[place.index].id,
                    centroid(place.plan),
                    kPlaceShare,
                    0.0,
                    {},
                    {}};
    asked.area = {PolygonWithHoles{place.plan, {}}};
    asked.parts = in_parts(place.plan);
    for (const Region& part : asked.parts) asked.weights.push_back(area(part));
    asked.share = (kPlaceShare + kSpare) / kWholePart;
  }
  if (!places.empty())
    for (const Point2 seat : sensing::seats_of(space, people)) {
      Asked& asked = all.emplace_back();
      const auto on = std::find_if(places.begin(), places.end(),
                                   [&](const sensing::Place& p) { return contains(p.plan, seat); });
      asked.demand = {
          Kind::seat,
          on == places.end() ? space.id : all[static_cast<std::size_t>(on - places.begin())].demand.of,
          seat,
          1.0,
          0.0,
          {},
          {}};
      asked.points = {seat};
      asked.weights = {1.0};
    }
  for (const domain::Door& door : space.doors) {
    const std::size_t n = space.floor.size();
    const Point2 a = space.floor[static_cast<std::size_t>(door.wall) % n];
    const Vector2 edge = space.floor[(static_cast<std::size_t>(door.wall) + 1) % n] - a;
    const Vector2 along = (1.0 / length(edge)) * edge;
    const Point2 middle = a + (door.offset_m + 0.5 * door.width_m) * along;
    double inside_m = kInside_m;
    while (inside_m > 0.1 && !contains(space.floor, middle + inside_m * Vector2{-along.y, along.x}))
      inside_m *= 0.5;
    Asked& asked = all.emplace_back();
    asked.demand = {Kind::entry, door.id, middle + inside_m * Vector2{-along.y, along.x}, 1.0, 0.0, {}, {}};
    asked.motion = Motion::major;
    asked.points = {asked.demand.at};
    asked.weights = {1.0};
  }
  if (places.empty()) {
    const bool passes = only_passes(space.occupancy.pattern);
    Asked asked;
    asked.motion = passes ? Motion::major : Motion::minor;
    asked.area = floor_of(space, !passes);
    Cells cells = cells_of(asked.area);
    asked.points = std::move(cells.points);
    asked.weights = std::move(cells.areas_m2);
    asked.demand = {passes ? Kind::passing : Kind::staying,
                    space.id,
                    centroid(asked.area).value_or(centroid(space.floor)),
                    passes ? kPassingShare : kStayingShare,
                    0.0,
                    {},
                    {}};
    asked.share = asked.demand.asked_share;
    if (!asked.points.empty()) all.push_back(std::move(asked));
  }
  return all;
}

/// What a choice sees of the room.
struct Seen {
  Region major;
  Region minor;
  [[nodiscard]] const Region& of(Motion motion) const { return motion == Motion::major ? major : minor; }
};

double seen_share(const Asked& asked, const Seen& seen) {
  const Region& field = seen.of(asked.motion);
  if (is_point(asked.demand.kind)) return contains(field, asked.points.front()) ? 1.0 : 0.0;
  const double whole = area(asked.area);
  return whole > 0.0 ? std::clamp(1.0 - area(less(asked.area, field)) / whole, 0.0, 1.0) : 1.0;
}

bool overlaps(const Box2& a, const Box2& b) {
  return a.low.x < b.high.x && b.low.x < a.high.x && a.low.y < b.high.y && b.low.y < a.high.y;
}

/// Which parts or points of a demand a field covers. A place that one field sees whole is covered, be there a
/// part that it does not see whole.
std::vector<bool> covered(const Asked& asked, const Seen& seen) {
  const Region& field = seen.of(asked.motion);
  std::vector<bool> is_covered(std::max(asked.parts.size(), asked.points.size()), false);
  if (field.empty()) return is_covered;
  const Box2 box = bounds(field);
  for (std::size_t i = 0; i < asked.points.size(); ++i) {
    const Point2 p = asked.points[i];
    is_covered[i] =
        p.x >= box.low.x && p.x <= box.high.x && p.y >= box.low.y && p.y <= box.high.y && contains(field, p);
  }
  if (asked.parts.empty() || !overlaps(box, bounds(asked.area))) return is_covered;
  const Region rest = difference(asked.area, field);
  const double whole = area(asked.area);
  const double missed = area(rest);
  if (missed <= (1.0 - kPlaceShare - kSpare) * whole) return std::vector<bool>(asked.parts.size(), true);
  if (missed >= whole * (1.0 - 1e-6)) return is_covered;
  for (std::size_t i = 0; i < asked.parts.size(); ++i) {
    const Region part = difference(asked.parts[i], rest);
    is_covered[i] = area(part) >= kWholePart * area(asked.parts[i]);
  }
  return is_covered;
}

/// What a set of candidates comes to.
struct Choice {
  std::vector<std::size_t> candidates;  ///< ascending
  double cost = 0.0;
  double bound = 0.0;
  bool is_proved = false;
  std::size_t devices = 0;
  Seen seen;
  std::vector<double> shares;  ///< by demand
  [[nodiscard]] bool keeps(const std::vector<Asked>& asked) const {
    for (std::size_t d = 0; d < asked.size(); ++d)
      if (shares[d] < asked[d].demand.asked_share - kSameShare) return false;
    return true;
  }
};

class Chooser {
 public:
  Chooser(const CanonicalRoom& room, const SensorCoverProblem& problem, std::vector<SensorOffer> offers,
          SensorPositions positions)
      : problem_(problem),
        offers_(std::move(offers)),
        positions_(std::move(positions)),
        asked_(asked_of(room, problem.people)) {
    const Space bare = as_sensors_see(room.space);
    std::vector<Region> major;
    std::vector<Region> minor;
    for (const OccupancySensor& sensor : room.sensors) {
      major.push_back(sensing::field_of(sensor, bare, Motion::major).seen);
      minor.push_back(sensing::field_of(sensor, bare, Motion::minor).seen);
    }
    kept_ = {united(major), united(minor)};
    add_rows();
    add_columns();
    floor_points_ = cells_of({PolygonWithHoles{room.space.floor, {}}}).points;
    for (const SensorCandidate& c : positions_.candidates) {
      std::vector<std::size_t>& points = floor_seen_.emplace_back();
      for (std::size_t i = 0; i < floor_points_.size(); ++i)
        if (contains(c.major, floor_points_[i])) points.push_back(i);
      area_.push_back(area(c.major) + area(c.minor));
    }
  }

  [[nodiscard]] const std::vector<Asked>& asked() const { return asked_; }
  [[nodiscard]] const SensorPositions& positions() const { return positions_; }
  [[nodiscard]] const std::vector<SensorOffer>& offers() const { return offers_; }

  [[nodiscard]] std::vector<std::size_t> of_family(DeviceKind::Mounting mounting) const {
    std::vector<std::size_t> all;
    for (std::size_t c = 0; c < positions_.candidates.size(); ++c)
      if (mounting_of(c) == mounting) all.push_back(c);
    return all;
  }
  [[nodiscard]] DeviceKind::Mounting mounting_of(std::size_t candidate) const {
    return offers_[positions_.candidates[candidate].offer].kind->mounting;
  }

  /// The best choice among some candidates, ascending. Points of the floor stand for its area: where the area
  /// falls short, more of the points are asked for.
  [[nodiscard]] Choice best_of(const std::vector<std::size_t>& candidates) const {
    CoverProblem problem = problem_of(candidates);
    Choice choice;
    double bound = 0.0;
    for (int round = 0; round <= kMostRaises; ++round) {
      choice = solved(problem, candidates);
      // What is proved of a stricter programme is not proved of the one that was asked for.
      if (round == 0) bound = choice.bound;
      choice.is_proved = choice.is_proved && choice.cost <= bound;
      choice.bound = bound;
      bool is_short = false;
      for (std::size_t d = 0; d < asked_.size(); ++d) {
        if (!is_floor(asked_[d].demand.kind)) continue;
        const double lack = asked_[d].demand.asked_share - choice.shares[d];
        if (lack <= kSameShare || problem.demands[d].least_share >= 1.0) continue;
        problem.demands[d].least_share =
            std::min(1.0, problem.demands[d].least_share + std::max(kLeastRaise, lack));
        is_short = true;
      }
      if (!is_short) break;
    }
    return choice;
  }

  /// Which demands all of some candidates together, with what is kept, leave open.
  [[nodiscard]] std::vector<std::size_t> out_of_reach(const std::vector<std::size_t>& candidates) const {
    const CoverProblem problem = problem_of(candidates);
    std::vector<std::size_t> all(problem.columns.size());
    std::iota(all.begin(), all.end(), std::size_t{0});
    const std::vector<double> shares = covered_shares(problem, all);
    std::vector<std::size_t> open;
    for (std::size_t d = 0; d < asked_.size(); ++d)
      if (shares[d] < problem.demands[d].least_share - kSameShare) open.push_back(d);
    return open;
  }

 private:
  /// Rows of all demands; those that kept sensors cover are covered by every choice.
  void add_rows() {
    for (std::size_t d = 0; d < asked_.size(); ++d) {
      const Asked& asked = asked_[d];
      first_row_.push_back(rows_.size());
      const std::vector<bool> is_kept = covered(asked, kept_);
      for (std::size_t i = 0; i < is_kept.size(); ++i) {
        rows_.push_back({d, asked.weights[i]});
        is_kept_.push_back(is_kept[i]);
      }
    }
  }
  void add_columns() {
    for (const SensorCandidate& c : positions_.candidates) {
      CoverProblem::Column& column = columns_.emplace_back();
      column.devices = c.devices;
      column.cost = offers_[c.offer].cost * static_cast<double>(c.devices);
      const Seen seen{c.major, c.minor};
      for (std::size_t d = 0; d < asked_.size(); ++d) {
        const std::vector<bool> is_covered = covered(asked_[d], seen);
        for (std::size_t i = 0; i < is_covered.size(); ++i)
          if (is_covered[i]) column.rows.push_back(first_row_[d] + i);
      }
    }
  }

  /// The last column stands for the kept sensors: it costs nothing.
  [[nodiscard]] CoverProblem problem_of(const std::vector<std::size_t>& candidates) const {
    CoverProblem problem;
    problem.rows = rows_;
    for (const Asked& asked : asked_) problem.demands.push_back({std::min(1.0, asked.share)});
    for (const std::size_t c : candidates) problem.columns.push_back(columns_[c]);
    CoverProblem::Column& kept = problem.columns.emplace_back();
    for (std::size_t r = 0; r < rows_.size(); ++r)
      if (is_kept_[r]) kept.rows.push_back(r);
    return problem;
  }

  [[nodiscard]] Choice solved(const CoverProblem& problem, const std::vector<std::size_t>& candidates) const {
    const Cover cover = least_cover(problem, problem_.most_nodes);
    std::vector<std::size_t> columns = widest(problem, candidates, cover.columns);
    Choice choice{{}, cover.cost, cover.bound, cover.is_proved, 0, kept_, {}};
    std::vector<Region> major{kept_.major};
    std::vector<Region> minor{kept_.minor};
    std::sort(columns.begin(), columns.end());
    for (const std::size_t j : columns) {
      if (j == candidates.size()) continue;
      const SensorCandidate& c = positions_.candidates[candidates[j]];
      choice.candidates.push_back(candidates[j]);
      choice.devices += c.devices;
      major.push_back(c.major);
      minor.push_back(c.minor);
    }
    choice.seen = {united(major), united(minor)};
    for (const Asked& asked : asked_) choice.shares.push_back(seen_share(asked, choice.seen));
    return choice;
  }

  /// Points of the floor that somebody sees who walks there, then the areas of all fields.
  using View = std::pair<std::size_t, double>;
  [[nodiscard]] View view_of(const std::vector<std::size_t>& candidates,
                             const std::vector<std::size_t>& columns) const {
    std::vector<bool> is_seen(floor_points_.size(), false);
    View view{0, 0.0};
    for (const std::size_t j : columns) {
      if (j == candidates.size()) continue;
      for (const std::size_t i : floor_seen_[candidates[j]]) is_seen[i] = true;
      view.second += area_[candidates[j]];
    }
    view.first = static_cast<std::size_t>(std::count(is_seen.begin(), is_seen.end(), true));
    return view;
  }

  /// Swaps columns for others of the same cost as long as the view grows wider.
  [[nodiscard]] std::vector<std::size_t> widest(const CoverProblem& problem,
                                                const std::vector<std::size_t>& candidates,
                                                std::vector<std::size_t> columns) const {
    constexpr double kWider_m2 = 1e-6;
    const auto is_wider = [](const View& a, const View& b) {
      return a.first != b.first ? a.first > b.first : a.second > b.second + kWider_m2;
    };
    View view = view_of(candidates, columns);
    for (bool has_changed = true; has_changed;) {
      has_changed = false;
      for (std::size_t i = 0; i < columns.size(); ++i) {
        const CoverProblem::Column& old = problem.columns[columns[i]];
        if (columns[i] == candidates.size()) continue;
        for (std::size_t j = 0; j < candidates.size(); ++j) {
          const CoverProblem::Column& other = problem.columns[j];
          if (std::llround(100.0 * other.cost) != std::llround(100.0 * old.cost) ||
              other.devices != old.devices || std::find(columns.begin(), columns.end(), j) != columns.end())
            continue;
          std::vector<std::size_t> swapped = columns;
          swapped[i] = j;
          const View wider = view_of(candidates, swapped);
          if (!is_wider(wider, view) || !keeps_demands(problem, swapped)) continue;
          columns = std::move(swapped);
          view = wider;
          has_changed = true;
          break;
        }
      }
    }
    return columns;
  }

  const SensorCoverProblem& problem_;
  std::vector<SensorOffer> offers_;
  SensorPositions positions_;
  std::vector<Asked> asked_;
  Seen kept_;
  std::vector<CoverProblem::Row> rows_;
  std::vector<bool> is_kept_;
  std::vector<std::size_t> first_row_;
  std::vector<CoverProblem::Column> columns_;
  std::vector<Point2> floor_points_;
  std::vector<std::vector<std::size_t>> floor_seen_;
  std::vector<double> area_;
};

Region in_building(const PlanFrame& frame, const Region& region) {
  Region turned;
  const auto all = [&](const Polygon& polygon) {
    Polygon p;
    for (const Point2 q : polygon) p.push_back(frame.to_building(q));
    return p;
  };
  for (const PolygonWithHoles& piece : region) {
    PolygonWithHoles& to = turned.emplace_back();
    to.outline = all(piece.outline);
    for (const Polygon& hole : piece.holes) to.holes.push_back(all(hole));
  }
  return turned;
}

std::string name_of(const SensorDemand& demand) {
  switch (demand.kind) {
    case Kind::place:
      return fmt::format("the place {}", demand.of);
    case Kind::seat:
      return fmt::format("a seat at {}", demand.of);
    case Kind::entry:
      return fmt::format("the way in at door {}", demand.of);
    case Kind::staying:
    case Kind::passing:
      return fmt::format("the floor of {}", demand.of);
  }
  return {};
}

std::string_view name_of(DeviceKind::Mounting mounting) {
  switch (mounting) {
    case DeviceKind::Mounting::ceiling:
      return "ceiling";
    case DeviceKind::Mounting::wall:
      return "wall";
    case DeviceKind::Mounting::wall_box:
      return "wall box";
    default:
      return "luminaire";
  }
}

/// Why a demand is not kept, or could only be kept by more.
std::string reason(const Chooser& chooser, const Space& bare, const Asked& asked, const Seen& seen) {
  if (chooser.offers().empty()) return "no sensor is offered";
  const auto betters = [&](const Region& field) {
    if (is_point(asked.demand.kind)) return contains(field, asked.points.front());
    const Region open = less(asked.area, seen.of(asked.motion));
    return area(open) - area(less(open, field)) > 0.01 * area(asked.area);
  };
  // A refused place from which it would be seen says more than that nothing sees it.
  std::map<Refusal, bool> would_see;
  for (const RefusedPosition& refused : chooser.positions().refused)
    if (!would_see[refused.why])
      would_see[refused.why] = betters(sensing::field_of(refused.sensor, bare, asked.motion).seen);
  for (const auto& [why, sees] : would_see)
    if (sees) return fmt::format("a sensor that would see it {}", words(why));
  for (const SensorCandidate& candidate : chooser.positions().candidates)
    for (const OccupancySensor& sensor : candidate.sensors)
      if (betters(sensing::field_of(sensor, bare, asked.motion).hidden))
        return "it is hidden from every place for a sensor that reaches so far";
  return "it is out of reach from every place for a sensor";
}

}  // namespace

Result<SensorCover> sensor_cover(const SensorCoverProblem& problem) {
  if (Diagnostics found = complaints(problem); !found.empty()) return tl::unexpected(std::move(found));
  const CanonicalRoom room = canonical_room(problem.space, problem.luminaires, problem.kept);
  const std::vector<std::size_t> offer = distinct(problem.offers);
  std::vector<SensorOffer> offers;
  for (const std::size_t i : offer) offers.push_back(problem.offers[i]);
  SensorPositions positions = sensor_positions(room, offers, problem.luminaire_types);
  const Chooser chooser(room, problem, offers, std::move(positions));
  const std::vector<SensorCandidate>& candidates = chooser.positions().candidates;

  std::vector<std::size_t> all(candidates.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  const Choice best = chooser.best_of(all);

  SensorCover result;
  result.cost = best.cost;
  result.bound = best.bound;
  result.is_proved = best.is_proved;
  result.devices = best.devices;
  result.candidates = candidates.size();
  for (const std::size_t c : best.candidates)
    for (OccupancySensor sensor : candidates[c].sensors) {
      const Point2 at = room.frame.to_building({sensor.at.x, sensor.at.y});
      sensor.at = {at.x, at.y, sensor.at.z};
      if (sensor.coverage != OccupancySensor::Coverage::circle &&
          sensor.coverage != OccupancySensor::Coverage::in_luminaire)
        sensor.aim_deg = std::fmod(sensor.aim_deg - room.frame.turn_deg() + 720.0, 360.0);
      result.sensors.push_back(std::move(sensor));
    }
  for (const RefusedPosition& r : chooser.positions().refused) {
    const Point2 at = room.frame.to_building({r.sensor.at.x, r.sensor.at.y});
    result.refused.push_back({offer[r.offer], {at.x, at.y, r.sensor.at.z}, r.why});
  }

  result.keeps_all = best.keeps(chooser.asked());
  const Space bare = as_sensors_see(room.space);
  for (std::size_t d = 0; d < chooser.asked().size(); ++d) {
    const Asked& asked = chooser.asked()[d];
    SensorDemand demand = asked.demand;
    demand.at = room.frame.to_building(asked.demand.at);
    demand.seen_share = best.shares[d];
    if (demand.seen_share < demand.asked_share - kSameShare) {
      const std::string why = reason(chooser, bare, asked, best.seen);
      demand.why = is_point(demand.kind)
                       ? fmt::format("{} is not seen: {}", name_of(demand), why)
                       : fmt::format("{} is seen to {:.0f} % instead of {:.0f} %: {}", name_of(demand),
                                     100.0 * demand.seen_share, 100.0 * demand.asked_share, why);
      const Point2 p = asked.demand.at;
      const Region open =
          is_point(demand.kind)
              ? Region{PolygonWithHoles{rectangle({p.x - kPointSquare_m, p.y - kPointSquare_m},
                                                  {p.x + kPointSquare_m, p.y + kPointSquare_m}),
                                        {}}}
              : less(asked.area, best.seen.of(asked.motion));
      demand.gap = in_building(room.frame, open);
    }
    result.demands.push_back(std::move(demand));
  }

  for (const DeviceKind::Mounting mounting : kFamilies) {
    SensorFamily& family = result.families.emplace_back();
    family.mounting = mounting;
    const std::vector<std::size_t> own = chooser.of_family(mounting);
    const bool is_offered = std::any_of(offers.begin(), offers.end(),
                                        [&](const SensorOffer& o) { return o.kind->mounting == mounting; });
    if (!is_offered) {
      family.why = "no kind of this mounting is offered";
      continue;
    }
    if (const std::vector<std::size_t> open = chooser.out_of_reach(own); !open.empty()) {
      family.why = own.empty() ? fmt::format("there is no place for a sensor by {}", name_of(mounting))
                               : fmt::format("by {} alone {} of {} demands cannot be kept, {} among them",
                                             name_of(mounting), open.size(), chooser.asked().size(),
                                             name_of(chooser.asked()[open.front()].demand));
      continue;
    }
    const bool is_best = std::all_of(best.candidates.begin(), best.candidates.end(),
                                     [&](std::size_t c) { return chooser.mounting_of(c) == mounting; });
    const Choice choice = is_best ? best : chooser.best_of(own);
    if (!choice.keeps(chooser.asked())) {
      family.why = fmt::format("by {} alone too little of the floor is seen", name_of(mounting));
      continue;
    }
    family.cost = choice.cost;
    family.bound = choice.bound;
    family.devices = choice.devices;
  }
  return result;
}

}  // namespace halflight::choose
