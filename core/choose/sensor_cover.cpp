#include "choose/sensor_cover.hpp"

#include "choose/least_cover.hpp"
#include "choose/sensor_demands.hpp"
#include "domain/project.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
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
constexpr double kLeastRaise = 0.002;  // of the share of points, where the exact share falls short; doubles
constexpr int kMostRaises = 4;
constexpr double kTelling_m2 = 0.01;     // less is no gain
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
               o.rated_height_m.value_or(0.0),
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

/// What a set of candidates comes to.
struct Choice {
  std::vector<std::size_t> candidates;  ///< ascending
  double cost = 0.0;
  double bound = 0.0;
  bool is_proved = false;
  std::size_t devices = 0;
  SeenOfRoom seen;
  std::vector<double> shares;  ///< by demand
  [[nodiscard]] bool keeps(const std::vector<AskedOfRoom>& asked) const {
    for (std::size_t d = 0; d < asked.size(); ++d)
      if (shares[d] < asked[d].demand.asked_share - kSameShare) return false;
    return true;
  }
};

std::vector<std::size_t> all_columns(const CoverProblem& problem) {
  std::vector<std::size_t> all(problem.columns.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  return all;
}

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
    floor_points_ = grid_points(room.space.floor, 0.0).points;
    for (const SensorCandidate& c : positions_.candidates) {
      std::vector<std::size_t>& points = floor_seen_.emplace_back();
      for (std::size_t i = 0; i < floor_points_.size(); ++i)
        if (contains(c.major, floor_points_[i])) points.push_back(i);
      area_.push_back(area(c.major) + area(c.minor));
    }
  }

  [[nodiscard]] const std::vector<AskedOfRoom>& asked() const { return asked_; }
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
    const std::vector<double> most = covered_shares(problem, all_columns(problem));
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
        if (!asked_[d].is_by_cells()) continue;
        const double lack = asked_[d].demand.asked_share - choice.shares[d];
        if (lack <= kSameShare || problem.demands[d].least_share >= most[d]) continue;
        problem.demands[d].least_share =
            std::min(1.0, problem.demands[d].least_share + std::max(std::ldexp(kLeastRaise, round), lack));
        is_short = true;
      }
      if (!is_short) return choice;
    }
    return filled(std::move(choice), candidates);
  }

  /// Which demands all of some candidates together, with what is kept, leave open.
  [[nodiscard]] std::vector<std::size_t> out_of_reach(const std::vector<std::size_t>& candidates) const {
    const CoverProblem problem = problem_of(candidates);
    const std::vector<double> shares = covered_shares(problem, all_columns(problem));
    std::vector<std::size_t> open;
    for (std::size_t d = 0; d < asked_.size(); ++d)
      if (shares[d] < problem.demands[d].least_share - kSameShare) open.push_back(d);
    return open;
  }

 private:
  /// Rows of all demands; those that kept sensors cover are covered by every choice.
  void add_rows() {
    for (std::size_t d = 0; d < asked_.size(); ++d) {
      const AskedOfRoom& asked = asked_[d];
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
      const SeenOfRoom seen{c.major, c.minor};
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
    for (const AskedOfRoom& asked : asked_) problem.demands.push_back({std::min(1.0, asked.share)});
    for (const std::size_t c : candidates) problem.columns.push_back(columns_[c]);
    CoverProblem::Column& kept = problem.columns.emplace_back();
    for (std::size_t r = 0; r < rows_.size(); ++r)
      if (is_kept_[r]) kept.rows.push_back(r);
    return problem;
  }

  [[nodiscard]] Choice solved(const CoverProblem& problem, const std::vector<std::size_t>& candidates) const {
    const Cover cover = least_cover(problem, problem_.most_nodes);
    std::vector<std::size_t> columns = widest(problem, candidates, cover.columns);
    std::sort(columns.begin(), columns.end());
    std::vector<std::size_t> chosen;
    for (const std::size_t j : columns)
      if (j < candidates.size()) chosen.push_back(candidates[j]);
    Choice choice = made_of(std::move(chosen));
    choice.bound = cover.bound;
    choice.is_proved = cover.is_proved;
    return choice;
  }

  [[nodiscard]] Choice made_of(std::vector<std::size_t> chosen) const {
    Choice choice;
    std::vector<Region> major{kept_.major};
    std::vector<Region> minor{kept_.minor};
    for (const std::size_t i : chosen) {
      const SensorCandidate& c = positions_.candidates[i];
      choice.cost += columns_[i].cost;
      choice.devices += c.devices;
      major.push_back(c.major);
      minor.push_back(c.minor);
    }
    choice.candidates = std::move(chosen);
    choice.seen = {united(major), united(minor)};
    for (const AskedOfRoom& asked : asked_) choice.shares.push_back(seen_share(asked, choice.seen));
    return choice;
  }

  /// Where points mislead to the end, as between shelves closer than they: adds what sees most for its cost.
  [[nodiscard]] Choice filled(Choice choice, const std::vector<std::size_t>& candidates) const {
    const double bound = choice.bound;
    for (std::size_t d = 0; d < asked_.size(); ++d) {
      const AskedOfRoom& asked = asked_[d];
      while (asked.is_by_cells() && choice.shares[d] < asked.demand.asked_share - kSameShare) {
        const Region open = unseen(asked, choice.seen);
        const double open_m2 = area(open);
        std::optional<std::size_t> next;
        double most = 0.0;
        for (const std::size_t i : candidates) {
          const SensorCandidate& c = positions_.candidates[i];
          const double gain_m2 =
              open_m2 - area(difference(open, asked.motion == Motion::major ? c.major : c.minor));
          if (gain_m2 > kTelling_m2 && gain_m2 / (1.0 + columns_[i].cost) > most) {
            most = gain_m2 / (1.0 + columns_[i].cost);
            next = i;
          }
        }
        if (!next) break;
        std::vector<std::size_t> chosen = choice.candidates;
        chosen.insert(std::lower_bound(chosen.begin(), chosen.end(), *next), *next);
        choice = made_of(std::move(chosen));
        choice.bound = bound;
      }
    }
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
  std::vector<AskedOfRoom> asked_;
  SeenOfRoom kept_;
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

std::string_view place_of(DeviceKind::Mounting mounting) {
  switch (mounting) {
    case DeviceKind::Mounting::ceiling:
      return "on the ceiling";
    case DeviceKind::Mounting::wall:
      return "on a wall";
    case DeviceKind::Mounting::wall_box:
      return "in a wall box";
    default:
      return "in the luminaires";
  }
}

/// Why demands are not kept. What could have seen them is looked at when first asked for.
class Reasons {
 public:
  Reasons(const Chooser& chooser, Space bare) : chooser_(chooser), bare_(std::move(bare)) {}

  std::string of(const AskedOfRoom& asked, const SeenOfRoom& seen) {
    if (chooser_.offers().empty()) return "no sensor is offered";
    look(asked.motion);
    const Region open = unseen(asked, seen);
    const auto betters = [&](const Region& field) {
      if (asked.is_point()) return contains(field, asked.points.front());
      return area(open) - area(difference(open, field)) > kTelling * area(asked.area);
    };
    const Fields& fields = fields_[static_cast<std::size_t>(asked.motion)];
    const std::vector<SensorCandidate>& candidates = chooser_.positions().candidates;
    if (std::any_of(candidates.begin(), candidates.end(), [&](const SensorCandidate& c) {
          return betters(asked.motion == Motion::major ? c.major : c.minor);
        }))
      return "no more than scraps of the rest are seen from any place";
    // That a place is refused says more than that no other sees it.
    for (std::size_t i = 0; i < fields.refused.size(); ++i)
      if (betters(fields.refused[i]))
        return fmt::format("a sensor that would see it {}", words(chooser_.positions().refused[i].why));
    if (std::any_of(fields.hidden.begin(), fields.hidden.end(), betters))
      return "it is hidden from every place for a sensor that reaches so far";
    return "it is out of reach from every place for a sensor";
  }

 private:
  struct Fields {
    bool is_known = false;
    std::vector<Region> refused;  ///< seen, by refused position
    std::vector<Region> hidden;   ///< from the candidates
  };
  void look(Motion motion) {
    Fields& fields = fields_[static_cast<std::size_t>(motion)];
    if (fields.is_known) return;
    fields.is_known = true;
    for (const RefusedPosition& refused : chooser_.positions().refused)
      fields.refused.push_back(sensing::field_of(refused.sensor, bare_, motion).seen);
    for (const SensorCandidate& candidate : chooser_.positions().candidates)
      for (const OccupancySensor& sensor : candidate.sensors)
        fields.hidden.push_back(sensing::field_of(sensor, bare_, motion).hidden);
  }

  static constexpr double kTelling = 0.01;  // of a place or floor
  const Chooser& chooser_;
  Space bare_;
  std::array<Fields, 2> fields_;  // by Motion
};

}  // namespace

Result<SensorCover> sensor_cover(const SensorCoverProblem& problem) {
  if (Diagnostics found = complaints(problem); !found.empty()) return tl::unexpected(std::move(found));
  const CanonicalRoom room = canonical_room(problem.space, problem.luminaires, problem.kept);
  if (!is_simple(room.space.floor))
    return tl::unexpected(Diagnostics{{Diagnostic::Severity::error, "", "/space/floor",
                                       "walls of the floor are shorter or closer than 0.1 mm",
                                       "an outline that shows on a plan"}});
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
  Reasons reasons(chooser, as_sensors_see(room.space));
  for (std::size_t d = 0; d < chooser.asked().size(); ++d) {
    const AskedOfRoom& asked = chooser.asked()[d];
    SensorDemand demand = asked.demand;
    demand.at = room.frame.to_building(asked.demand.at);
    demand.seen_share = best.shares[d];
    if (demand.seen_share < demand.asked_share - kSameShare) {
      const std::string why = reasons.of(asked, best.seen);
      demand.why = asked.is_point()
                       ? fmt::format("{} is not seen: {}", name_of(demand), why)
                       : fmt::format("{} is seen to {:.1f} % instead of {:.0f} %: {}", name_of(demand),
                                     100.0 * demand.seen_share, 100.0 * demand.asked_share, why);
      const Point2 p = asked.demand.at;
      const Region open =
          asked.is_point() ? Region{PolygonWithHoles{rectangle({p.x - kPointSquare_m, p.y - kPointSquare_m},
                                                               {p.x + kPointSquare_m, p.y + kPointSquare_m}),
                                                     {}}}
                           : unseen(asked, best.seen);
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
      family.why = own.empty() ? fmt::format("there is no place for a sensor {}", place_of(mounting))
                               : fmt::format("sensors {} alone do not keep {} of {} demands, {} among them",
                                             place_of(mounting), open.size(), chooser.asked().size(),
                                             name_of(chooser.asked()[open.front()].demand));
      continue;
    }
    const bool is_best = std::all_of(best.candidates.begin(), best.candidates.end(),
                                     [&](std::size_t c) { return chooser.mounting_of(c) == mounting; });
    const Choice choice = is_best ? best : chooser.best_of(own);
    if (!choice.keeps(chooser.asked())) {
      family.why = fmt::format("sensors {} alone see too little of the floor", place_of(mounting));
      continue;
    }
    family.cost = choice.cost;
    family.bound = choice.bound;
    family.devices = choice.devices;
  }
  return result;
}

}  // namespace halflight::choose
