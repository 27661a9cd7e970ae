#include "choose/relay_network.hpp"

#include "choose/device_of_kind.hpp"
#include "choose/linear_program.hpp"
#include "choose/starting_control.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

using sensing::RadioPlace;

constexpr int kMostNodes = 5000;
constexpr double kSameNumber = 0.5;
/// Radius of a part of a room that gets a place of its own, m: half the diagonal of some 60 m2.
constexpr double kPartRadius_m = 5.5;
constexpr std::size_t kMostPlacesOfRelays = 400;

/// Relays of `chosen` whose word reaches a gateway.
std::vector<bool> connected(const RelayProblem& problem, const std::vector<bool>& chosen) {
  std::vector<bool> reached(chosen.size(), false);
  std::vector<std::size_t> open;
  for (std::size_t r = 0; r < chosen.size(); ++r)
    if (chosen[r] && problem.by_root[r]) {
      reached[r] = true;
      open.push_back(r);
    }
  while (!open.empty()) {
    const std::size_t r = open.back();
    open.pop_back();
    for (std::size_t s = 0; s < chosen.size(); ++s)
      if (chosen[s] && !reached[s] && problem.hears[r][s]) {
        reached[s] = true;
        open.push_back(s);
      }
  }
  return reached;
}

/// Every relay that is in one piece with `first` among those that are cut off.
std::vector<bool> piece_of(const RelayProblem& problem, std::size_t first, const std::vector<bool>& cut_off) {
  std::vector<bool> piece(cut_off.size(), false);
  std::vector<std::size_t> open = {first};
  piece[first] = true;
  while (!open.empty()) {
    const std::size_t r = open.back();
    open.pop_back();
    for (std::size_t s = 0; s < cut_off.size(); ++s)
      if (cut_off[s] && !piece[s] && (problem.hears[r][s] || problem.hears[s][r])) {
        piece[s] = true;
        open.push_back(s);
      }
  }
  return piece;
}

}  // namespace

std::optional<std::vector<std::size_t>> fewest_relays(const RelayProblem& problem) {
  const std::size_t n = problem.by_root.size();
  // What reaches a gateway with every relay at work; the others help nobody.
  const std::vector<bool> useful = connected(problem, std::vector<bool>(n, true));
  LinearProgram program;
  for (std::size_t r = 0; r < n; ++r) program.columns.push_back({1.0, 0.0, useful[r] ? 1.0 : 0.0, true});
  for (const std::vector<std::size_t>& relays : problem.heard_by) {
    LinearProgram::Row row{std::vector<double>(n, 0.0), 1.0, kUnlimited};
    bool any = false;
    for (const std::size_t r : relays) {
      row.per_column[r] = 1.0;
      any = any || useful[r];
    }
    if (!any) return std::nullopt;
    program.rows.push_back(std::move(row));
  }
  if (program.rows.empty()) return std::vector<std::size_t>{};
  for (;;) {
    const WholeOptimum found = whole_optimum(program, kMostNodes, kSameNumber);
    if (found.x.empty()) return std::nullopt;
    std::vector<bool> chosen(n);
    for (std::size_t r = 0; r < n; ++r) chosen[r] = found.x[r] > 0.5;
    const std::vector<bool> reached = connected(problem, chosen);
    std::vector<bool> cut_off(n);
    bool any_cut_off = false;
    for (std::size_t r = 0; r < n; ++r) {
      cut_off[r] = chosen[r] && !reached[r];
      any_cut_off = any_cut_off || cut_off[r];
    }
    if (!any_cut_off) {
      std::vector<std::size_t> relays;
      for (std::size_t r = 0; r < n; ++r)
        if (chosen[r]) relays.push_back(r);
      return relays;
    }
    // Whoever of a piece is chosen needs one beyond it that hears one of the piece.
    std::vector<bool> done(n, false);
    for (std::size_t first = 0; first < n; ++first) {
      if (!cut_off[first] || done[first]) continue;
      const std::vector<bool> piece = piece_of(problem, first, cut_off);
      std::vector<double> beyond(n, 0.0);
      for (std::size_t s = 0; s < n; ++s)
        for (std::size_t r = 0; r < n; ++r)
          if (!piece[s] && piece[r] && problem.hears[s][r]) beyond[s] = 1.0;
      for (std::size_t r = 0; r < n; ++r) {
        if (!piece[r]) continue;
        done[r] = true;
        LinearProgram::Row row{beyond, 0.0, kUnlimited};
        row.per_column[r] -= 1.0;
        program.rows.push_back(std::move(row));
      }
    }
  }
}

namespace {

/// The links of a building, and what of them is strong enough.
class Building {
 public:
  Building(const domain::Project& project, const domain::Design& design)
      : project_(project), walls_(project), radio_(*project.radio) {
    for (const domain::Space& space : project.spaces)
      for (const Point2 at : sensor_places(space.floor, kPartRadius_m))
        places_.push_back({&space, {at.x, at.y, domain::height_over(space, {at})}});
    for (const domain::Device* device : sensing::radio_devices(design))
      if (const domain::Space* space = domain::find_by_id(project.spaces, device->space)) {
        devices_.push_back({space, device->at});
        ids_.push_back(device->id);
      }
    for (const domain::Infrastructure& one : design.infrastructure) {
      const domain::Space* space = domain::find_by_id(project.spaces, one.space);
      if (space == nullptr || one.link != domain::Link::radio || !domain::stands_in(design, one.status))
        continue;
      if (one.kind == domain::Infrastructure::Kind::gateway) gateways_.push_back({space, one.at});
      if (one.kind == domain::Infrastructure::Kind::repeater) standing_.push_back({space, one.at});
    }
  }

  [[nodiscard]] const std::vector<RadioPlace>& places() const { return places_; }
  [[nodiscard]] const std::vector<std::string>& devices() const { return ids_; }
  [[nodiscard]] bool has_gateway() const { return !gateways_.empty(); }

  /// Computes every link once.
  void look() {
    all_ = standing_;
    all_.insert(all_.end(), places_.begin(), places_.end());
    for (const RadioPlace& from : all_) {
      std::vector<double> row;
      for (const RadioPlace& to : all_) row.push_back(strength(from, to, radio_.gateway_gain_dbi));
      between_.push_back(std::move(row));
    }
    for (const RadioPlace& device : devices_) {
      std::vector<double> row;
      for (const RadioPlace& to : all_) row.push_back(strength(device, to, radio_.device_gain_dbi));
      of_device_.push_back(std::move(row));
    }
  }

  struct Solved {
    std::vector<std::size_t> places;  ///< indices of places()
    std::vector<std::string> out_of_reach;
    double weakest = 1.0;
  };
  /// With the gateways that stand, or with one at a place.
  [[nodiscard]] Solved solve(std::optional<std::size_t> gateway) const {
    std::vector<RadioPlace> roots = gateways_;
    if (gateway) roots.push_back(places_[*gateway]);
    const std::size_t first = standing_.size();
    std::vector<double> root_of(all_.size(), 0.0);
    std::vector<double> root_of_device(devices_.size(), 0.0);
    for (const RadioPlace& root : roots) {
      for (std::size_t r = 0; r < all_.size(); ++r)
        root_of[r] = std::max(root_of[r], strength(all_[r], root, radio_.gateway_gain_dbi));
      for (std::size_t d = 0; d < devices_.size(); ++d)
        root_of_device[d] = std::max(root_of_device[d], strength(devices_[d], root, radio_.device_gain_dbi));
    }
    // Repeaters that stand and reach a gateway are as good as one.
    std::vector<bool> is_root(all_.size(), false);
    for (bool grows = true; grows;) {
      grows = false;
      for (std::size_t s = 0; s < first; ++s) {
        if (is_root[s] || root_of[s] < kLinkAvailability) continue;
        is_root[s] = grows = true;
        for (std::size_t r = 0; r < all_.size(); ++r) root_of[r] = std::max(root_of[r], between_[r][s]);
        for (std::size_t d = 0; d < devices_.size(); ++d)
          root_of_device[d] = std::max(root_of_device[d], of_device_[d][s]);
      }
    }
    RelayProblem problem;
    const std::size_t n = places_.size();
    for (std::size_t r = 0; r < n; ++r) {
      problem.by_root.push_back(root_of[first + r] >= kLinkAvailability);
      std::vector<bool> row;
      for (std::size_t s = 0; s < n; ++s)
        row.push_back(r != s && between_[first + s][first + r] >= kLinkAvailability);
      problem.hears.push_back(std::move(row));
    }
    Solved solved;
    std::vector<std::size_t> asking;
    const std::vector<bool> useful = connected(problem, std::vector<bool>(n, true));
    for (std::size_t d = 0; d < devices_.size(); ++d) {
      if (root_of_device[d] >= kLinkAvailability) continue;
      std::vector<std::size_t> heard_by;
      for (std::size_t r = 0; r < n; ++r)
        if (useful[r] && of_device_[d][first + r] >= kLinkAvailability) heard_by.push_back(r);
      if (heard_by.empty()) {
        solved.out_of_reach.push_back(ids_[d]);
        continue;
      }
      asking.push_back(d);
      problem.heard_by.push_back(std::move(heard_by));
    }
    if (const auto relays = fewest_relays(problem)) solved.places = *relays;
    for (std::size_t d = 0; d < devices_.size(); ++d) {
      double best = root_of_device[d];
      for (const std::size_t r : solved.places) best = std::max(best, of_device_[d][first + r]);
      const bool is_out = std::find(solved.out_of_reach.begin(), solved.out_of_reach.end(), ids_[d]) !=
                          solved.out_of_reach.end();
      if (!is_out) solved.weakest = std::min(solved.weakest, best);
    }
    for (const std::size_t r : solved.places) {
      double best = root_of[first + r];
      for (const std::size_t s : solved.places)
        if (s != r) best = std::max(best, between_[first + r][first + s]);
      solved.weakest = std::min(solved.weakest, best);
    }
    return solved;
  }

 private:
  [[nodiscard]] double strength(const RadioPlace& from, const RadioPlace& to, double gain_dbi) const {
    return sensing::link_between(project_, walls_, from, to, gain_dbi).availability;
  }

  const domain::Project& project_;
  sensing::Walls walls_;
  domain::Radio radio_;
  std::vector<RadioPlace> places_;
  std::vector<RadioPlace> devices_;
  std::vector<std::string> ids_;
  std::vector<RadioPlace> gateways_;
  std::vector<RadioPlace> standing_;
  std::vector<RadioPlace> all_;  // standing_, then places_
  std::vector<std::vector<double>> between_;
  std::vector<std::vector<double>> of_device_;
};

domain::Infrastructure device_at(const RadioPlace& place, domain::Infrastructure::Kind kind,
                                 const domain::Project& project, const domain::Library& library) {
  domain::Infrastructure device;
  device.space = place.space->id;
  device.at = place.at;
  device.kind = kind;
  const auto take = [&](const std::vector<domain::DeviceKind>& kinds) {
    for (const domain::DeviceKind& one : kinds)
      if (device.device_kind.empty() && one.infrastructure == kind) take_kind(device, one);
  };
  take(project.device_kinds);
  take(library.device_kinds);
  device.link = domain::Link::radio;
  return device;
}

}  // namespace

Result<RelayProposal> propose_relays(const domain::Project& project, const domain::Library& library,
                                     const domain::Design& design) {
  RelayProposal found;
  found.devices = sensing::radio_devices(design).size();
  if (found.devices == 0) return found;
  if (!project.radio)
    return tl::unexpected(Diagnostics{{Diagnostic::Severity::error, "", "/radio",
                                       "devices talk by radio and no radio has been chosen",
                                       "say its band and power in \"radio\""}});
  Building building(project, design);
  if (building.places().size() > kMostPlacesOfRelays)
    return tl::unexpected(
        Diagnostics{{Diagnostic::Severity::error, "", "/spaces",
                     fmt::format("{} places for repeaters are too many to look at", building.places().size()),
                     fmt::format("study parts of the building with at most {}", kMostPlacesOfRelays)}});
  building.look();
  std::optional<std::size_t> gateway;
  Building::Solved best;
  if (building.has_gateway()) {
    best = building.solve(std::nullopt);
  } else {
    for (std::size_t g = 0; g < building.places().size(); ++g) {
      Building::Solved solved = building.solve(g);
      const auto key = [](const Building::Solved& s) {
        return std::tuple(s.out_of_reach.size(), s.places.size(), -s.weakest);
      };
      if (gateway && key(solved) >= key(best)) continue;
      gateway = g;
      best = std::move(solved);
    }
  }
  using Kind = domain::Infrastructure::Kind;
  if (gateway)
    found.gateways.push_back(device_at(building.places()[*gateway], Kind::gateway, project, library));
  for (const std::size_t p : best.places)
    found.repeaters.push_back(device_at(building.places()[p], Kind::repeater, project, library));
  found.out_of_reach = std::move(best.out_of_reach);
  found.weakest = best.weakest;
  return found;
}

}  // namespace halflight::choose
