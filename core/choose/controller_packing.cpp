#include "choose/controller_packing.hpp"

#include "choose/bin_packing.hpp"
#include "choose/linear_program.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
#include <set>
#include <span>
#include <tuple>
#include <utility>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

using controls::CapacityLimit;
using controls::ChannelLoad;
using controls::LimitUse;
using domain::Protocol;
using Action = domain::LoadController::Action;
using Mounting = domain::DeviceKind::Mounting;

/// Rounds in which the search for the least cost is told what does not fit (each adds a row at least).
constexpr int kMostRounds = 120;
/// And further rounds once something could neither be packed nor be proved not to fit.
constexpr int kMostGuesses = 30;
/// Steps of packing one site for each node of a search: they are that much quicker.
constexpr int kStepsOfPackingPerNode = 5;

// --- What is wrong with a problem
// ---------------------------------------------------------------------------

Diagnostics complaints(const PackingProblem& problem) {
  Diagnostics found;
  const auto unless = [&](bool is_right, const std::string& where, const std::string& problem_words,
                          const std::string& remedy) {
    if (!is_right) found.push_back({Diagnostic::Severity::error, "", where, problem_words, remedy});
  };
  unless(problem.spare >= 0.0 && problem.spare < 1.0, "/spare",
         fmt::format("{} is not a share that can stay free", problem.spare), "0 to below 1");
  unless(problem.control_wire_mm2 > 0.0 && problem.most_nodes >= 1, "", "no wire or no nodes",
         "more than 0 of each");
  std::set<std::string> kinds;
  for (std::size_t k = 0; k < problem.candidates.size(); ++k) {
    const PackingCandidate& candidate = problem.candidates[k];
    const std::string where = fmt::format("/candidates/{}", k);
    unless(kinds.insert(candidate.kind.id).second, where,
           fmt::format("the id \"{}\" is taken", candidate.kind.id), "ids that are not alike");
    unless(candidate.kind.load.has_value(), where, fmt::format("\"{}\" controls no load", candidate.kind.id),
           "a kind with limits of its outputs");
    unless(std::isfinite(candidate.cost) && candidate.cost >= 0.0, where,
           fmt::format("{} is not a cost", candidate.cost), "0 or more");
  }
  std::set<std::string> ids;
  std::set<std::string> channels;
  for (std::size_t l = 0; l < problem.loads.size(); ++l) {
    const PackingLoad& load = problem.loads[l];
    const std::string where = fmt::format("/loads/{}", l);
    unless(ids.insert(load.id).second, where, fmt::format("the id \"{}\" is taken", load.id),
           "ids that are not alike");
    unless(!load.channels.empty(), where, "there is no channel", "at least one");
    for (const ChannelLoad& channel : load.channels) {
      unless(channels.insert(channel.id()).second, where,
             fmt::format("{} is in two loads, or twice in one", channel.id()), "each channel once");
      const controls::DriverLoad& d = channel.driver;
      unless(d.input_w >= 0.0 && d.inrush_a >= 0.0 && d.control_ma >= 0.0 && d.voltage_v > 0.0 &&
                 d.power_factor > 0.0 && std::isfinite(d.amperes() + d.inrush_a + d.control_ma),
             where, fmt::format("figures of the driver of {} are out of range", channel.id()),
             "0 or more; more than 0 for voltage and power factor");
    }
  }
  return found;
}

// --- What an output carries
// ---------------------------------------------------------------------------------

bool carries(Action action, const ChannelLoad& channel, bool must_dim) {
  if (channel.protocol == Protocol::wireless || (must_dim && !channel.dims)) return false;
  switch (action) {
    case Action::on_off:
      return !must_dim;
    case Action::analogue_0_10v:
      return !must_dim || channel.protocol == Protocol::analogue_0_10v;
    case Action::phase_dim:
      return channel.protocol == Protocol::phase_dim;
    case Action::digital_bus:
      return channel.protocol == Protocol::digital_bus;
    case Action::volt_free_contact:
      break;
  }
  return false;
}

/// One output's worth of a load.
struct Piece {
  std::vector<ChannelLoad> channels;
  Sizes sizes;  // in shares of a controller
};

Sizes sizes_of(const std::vector<LimitUse>& uses) {
  Sizes sizes;
  for (const LimitUse& use : uses) sizes.push_back(use.share_used());
  return sizes;
}

/// A candidate with what is left of its limits; in a luminaire one output alone.
struct Kind {
  PackingCandidate candidate;
  domain::LoadControl control;
  double spare = 0.0;

  [[nodiscard]] bool is_in_luminaire() const { return candidate.kind.mounting == Mounting::in_luminaire; }
  [[nodiscard]] std::vector<LimitUse> uses_alone(std::span<const ChannelLoad> channels) const {
    return controls::controller_uses(channels, 1, control, spare);
  }
  [[nodiscard]] bool fits(std::span<const ChannelLoad> channels) const {
    return controls::all_hold(controls::output_uses(channels, control, spare)) &&
           controls::all_hold(uses_alone(channels));
  }
};

/// The pieces into which a kind takes a load, or the limit that one driver alone is beyond.
struct Taken {
  std::vector<Piece> pieces;
  std::optional<LimitUse> beyond;
};

/// Neighbours in the order of their places along the longer side of where they are.
void order_along(std::vector<ChannelLoad>& channels) {
  double west = channels.front().at.x;
  double east = west;
  double south = channels.front().at.y;
  double north = south;
  for (const ChannelLoad& c : channels) {
    west = std::min(west, c.at.x);
    east = std::max(east, c.at.x);
    south = std::min(south, c.at.y);
    north = std::max(north, c.at.y);
  }
  const bool is_wide = east - west >= north - south;
  std::sort(channels.begin(), channels.end(), [&](const ChannelLoad& a, const ChannelLoad& b) {
    const auto key = [&](const ChannelLoad& c) {
      return std::tuple(c.space, is_wide ? c.at.x : c.at.y, is_wide ? c.at.y : c.at.x, c.luminaire,
                        c.channel);
    };
    return key(a) < key(b);
  });
}

Taken split(std::vector<ChannelLoad> channels, const Kind& kind) {
  for (const ChannelLoad& channel : channels) {
    const std::span<const ChannelLoad> alone(&channel, 1);
    std::vector<LimitUse> uses = controls::output_uses(alone, kind.control, kind.spare);
    const std::vector<LimitUse> whole = kind.uses_alone(alone);
    uses.insert(uses.end(), whole.begin(), whole.end());
    if (!controls::all_hold(uses)) return {{}, controls::tightest(uses)};
  }
  order_along(channels);
  const std::size_t count = channels.size();
  const auto run = [&](std::size_t i, std::size_t parts) {
    const std::size_t from = i * count / parts;
    return std::span<const ChannelLoad>(channels).subspan(from, (i + 1) * count / parts - from);
  };
  const auto all_fit = [&](std::size_t parts) {
    for (std::size_t i = 0; i < parts; ++i)
      if (!kind.fits(run(i, parts))) return false;
    return true;
  };
  std::size_t parts = 1;
  while (!all_fit(parts)) ++parts;  // each alone fits
  Taken taken;
  for (std::size_t i = 0; i < parts; ++i) {
    const auto own = run(i, parts);
    taken.pieces.push_back({{own.begin(), own.end()}, sizes_of(kind.uses_alone(own))});
  }
  return taken;
}

Taken taken_by(const Kind& kind, const std::vector<ChannelLoad>& channels) {
  const bool is_bus = kind.control.action == Action::digital_bus;
  // What shares no output: circuits where mains pass through, supplies on a bus, luminaires apart.
  std::map<std::tuple<std::string, std::string, domain::Circuit::Supply>, std::vector<ChannelLoad>> apart;
  for (const ChannelLoad& c : channels)
    apart[{kind.is_in_luminaire() ? c.luminaire : "", is_bus ? "" : c.circuit, c.supply}].push_back(c);
  Taken all;
  for (auto& [key, own] : apart) {
    Taken taken = split(std::move(own), kind);
    if (taken.pieces.empty()) return taken;
    std::move(taken.pieces.begin(), taken.pieces.end(), std::back_inserter(all.pieces));
  }
  return all;
}

// --- What hangs on one kind
// ----------------------------------------------------------------------------------

/// A kind where it stands: in one space, or for all.
struct Site {
  std::size_t kind = 0;
  std::string space;
  friend auto operator<=>(const Site&, const Site&) = default;
};

/// A load, or the drivers of one language in it, with the ways in which it may hang.
struct Item {
  const PackingLoad* load = nullptr;
  std::map<Site, std::vector<Piece>> ways;
};

std::string language(Protocol protocol) {
  switch (protocol) {
    case Protocol::switched:
      return "drivers that only switch";
    case Protocol::phase_dim:
      return "drivers that dim by phase";
    case Protocol::analogue_0_10v:
      return "0-10 V drivers";
    case Protocol::digital_bus:
      return "drivers on a digital bus";
    case Protocol::wireless:
      break;
  }
  return "drivers commanded by radio";
}

std::string reason_why_none(const PackingLoad& load, const std::vector<ChannelLoad>& channels,
                            const std::vector<Kind>& kinds) {
  for (const ChannelLoad& c : channels)
    if (load.must_dim && !c.dims)
      return fmt::format(
          "the driver of {} only switches, and the load is to dim: it needs other drivers or "
          "luminaires",
          c.id());
  for (const ChannelLoad& c : channels)
    if (c.protocol == Protocol::wireless)
      return fmt::format("the driver of {} is commanded by radio and needs no load controller", c.id());
  std::optional<LimitUse> least;
  for (const Kind& kind : kinds) {
    if (!std::all_of(channels.begin(), channels.end(),
                     [&](const ChannelLoad& c) { return carries(kind.control.action, c, load.must_dim); }))
      continue;
    const Taken taken = taken_by(kind, channels);
    if (taken.beyond && (!least || taken.beyond->share_used() < least->share_used())) least = taken.beyond;
  }
  if (least)
    return fmt::format("one driver alone asks for {:g} where {} leaves {:g} ({})", least->used,
                       least->in_words(), least->allowed(), controls::name_of(least->limit));
  return fmt::format("no candidate {} {}", load.must_dim ? "dims" : "carries",
                     language(channels.front().protocol));
}

std::map<Site, std::vector<Piece>> ways_of(const PackingLoad& load, const std::vector<ChannelLoad>& channels,
                                           const std::vector<Kind>& kinds) {
  std::map<Site, std::vector<Piece>> ways;
  for (std::size_t k = 0; k < kinds.size(); ++k) {
    const Kind& kind = kinds[k];
    if (!std::all_of(channels.begin(), channels.end(),
                     [&](const auto& c) { return carries(kind.control.action, c, load.must_dim); }))
      continue;
    Taken taken = taken_by(kind, channels);
    if (!taken.pieces.empty())
      ways[{k, kind.candidate.serves_several_spaces && !kind.is_in_luminaire() ? "" : load.space}] =
          std::move(taken.pieces);
  }
  return ways;
}

// --- The least cost of items that share sites
// ----------------------------------------------------------------

/// Which pieces share a controller, and what that costs.
struct Hung {
  std::map<Site, std::vector<std::vector<std::pair<std::size_t, std::size_t>>>>
      controllers;  // (item, piece) of each
  double cost = 0.0;
  int count = 0;
};

/// Loads that share no site with others. A programme chooses a kind for each item and a number of controllers
/// for each site, with rows that every packing keeps; the fewest controllers for what hangs on each site are
/// then found apart. Where they are more than the programme thought, a row says so and it is solved again.
class Cluster {
 public:
  Cluster(std::vector<Item> items, const std::vector<Kind>& kinds, int most_nodes)
      : items_(std::move(items)), kinds_(kinds), most_nodes_(most_nodes) {
    for (const Item& item : items_)
      for (const auto& [site, pieces] : item.ways) site_column_.emplace(site, 0);
    build();
  }

  /// Least cost, then fewest controllers; nothing where the search ended undecided.
  std::optional<Hung> solve() {
    for (const auto& [site, column] : site_column_)
      program_.columns[column].cost = kinds_[site.kind].candidate.cost;
    is_least_ = improve(kSameCost, bound_);
    if (!best_) return std::nullopt;
    bound_ = std::min(bound_, best_->cost);
    if (!is_least_) return best_;

    LinearProgram::Row cost_row{std::vector<double>(program_.columns.size()), -kUnlimited,
                                best_->cost + kSameCost};
    for (const auto& [site, column] : site_column_) {
      cost_row.per_column[column] = program_.columns[column].cost;
      program_.columns[column].cost = 1.0;
    }
    program_.rows.push_back(std::move(cost_row));
    double fewest = 0.0;
    improve(0.5, fewest);
    has_fewest_ = best_->count <= std::ceil(fewest - 1e-6);
    return best_;
  }
  [[nodiscard]] bool is_least() const { return is_least_; }
  [[nodiscard]] double bound() const { return bound_; }
  [[nodiscard]] bool has_fewest() const { return has_fewest_; }

 private:
  std::vector<Item> items_;
  const std::vector<Kind>& kinds_;
  int most_nodes_;
  LinearProgram program_;
  std::map<Site, std::size_t> site_column_;
  std::vector<std::map<Site, std::size_t>> way_column_;  // by item
  std::optional<Hung> best_;
  double bound_ = 0.0;
  bool is_least_ = false;
  bool has_fewest_ = false;

  void add_row(const std::vector<std::pair<std::size_t, double>>& entries, double least, double most) {
    LinearProgram::Row row{std::vector<double>(program_.columns.size()), least, most};
    for (const auto& [column, factor] : entries) row.per_column[column] += factor;
    program_.rows.push_back(std::move(row));
  }

  void build() {
    for (const Item& item : items_) {
      way_column_.emplace_back();
      for (const auto& [site, pieces] : item.ways) {
        way_column_.back()[site] = program_.columns.size();
        program_.columns.push_back({0.0, 0.0, 1.0, true});
      }
    }
    for (auto& [site, column] : site_column_) {
      std::size_t most = 0;
      for (const Item& item : items_)
        if (const auto way = item.ways.find(site); way != item.ways.end()) most += way->second.size();
      column = program_.columns.size();
      program_.columns.push_back({0.0, 0.0, static_cast<double>(most), true});
    }
    for (std::size_t i = 0; i < items_.size(); ++i) {
      std::vector<std::pair<std::size_t, double>> one_way;
      for (const auto& [site, column] : way_column_[i]) {
        one_way.emplace_back(column, 1.0);
        add_row({{column, 1.0}, {site_column_[site], -1.0}}, -kUnlimited, 0.0);
      }
      add_row(one_way, 1.0, 1.0);
    }
    for (const auto& [site, column] : site_column_) add_bounds(site);
    break_symmetry();
  }

  /// What any packing of a site keeps: sums of sizes, and of their images under dual feasible functions.
  void add_bounds(const Site& site) {
    std::set<std::vector<double>> known;
    const auto add = [&](std::size_t dimension, const auto& image) {
      std::vector<double> sums;
      std::vector<std::pair<std::size_t, double>> entries;
      for (std::size_t i = 0; i < items_.size(); ++i) {
        const auto way = items_[i].ways.find(site);
        if (way == items_[i].ways.end()) continue;
        double sum = 0.0;
        for (const Piece& piece : way->second) sum += image(piece.sizes[dimension]);
        sums.push_back(sum);
        entries.emplace_back(way_column_[i].at(site), sum);
      }
      if (!known.insert(sums).second) return;
      entries.emplace_back(site_column_[site], -1.0);
      add_row(entries, -kUnlimited, 0.0);
    };
    std::vector<std::set<double>> small;  // sizes up to a half, by dimension
    for (const Item& item : items_)
      if (const auto way = item.ways.find(site); way != item.ways.end())
        for (const Piece& piece : way->second) {
          small.resize(piece.sizes.size());
          for (std::size_t d = 0; d < piece.sizes.size(); ++d)
            if (piece.sizes[d] > 0.0 && piece.sizes[d] <= 0.5) small[d].insert(piece.sizes[d]);
        }
    for (std::size_t d = 0; d < small.size(); ++d) {
      add(d, [](double x) { return x; });
      for (int part = 1; part <= 5; ++part) add(d, [&](double x) { return stepped(x, part); });
      for (const double threshold : small[d]) add(d, [&](double x) { return without_small(x, threshold); });
    }
  }

  /// Of items that are alike the first takes no later way than the next.
  void break_symmetry() {
    const auto alike = [](const Item& a, const Item& b) {
      return std::equal(
          a.ways.begin(), a.ways.end(), b.ways.begin(), b.ways.end(), [](const auto& one, const auto& other) {
            return one.first == other.first &&
                   std::equal(one.second.begin(), one.second.end(), other.second.begin(), other.second.end(),
                              [](const Piece& p, const Piece& q) { return p.sizes == q.sizes; });
          });
    };
    for (std::size_t i = 0; i < items_.size(); ++i)
      for (std::size_t j = i + 1; j < items_.size(); ++j) {
        if (!alike(items_[i], items_[j])) continue;
        std::vector<std::pair<std::size_t, double>> entries;
        for (const auto& [item, sign] : {std::pair(i, 1.0), std::pair(j, -1.0)}) {
          double place = 0.0;
          for (const auto& [site, column] : way_column_[item]) entries.emplace_back(column, sign * place++);
        }
        add_row(entries, -kUnlimited, 0.0);
        break;
      }
  }

  /// Items that hang on a site.
  using OnSite = std::vector<std::size_t>;
  [[nodiscard]] OnSite on_site(const Site& site, const std::vector<double>& x) const {
    OnSite on;
    for (std::size_t i = 0; i < items_.size(); ++i)
      if (const auto way = way_column_[i].find(site); way != way_column_[i].end() && x[way->second] > 0.5)
        on.push_back(i);
    return on;
  }
  [[nodiscard]] std::vector<std::pair<std::size_t, std::size_t>> pieces_of(const Site& site,
                                                                           const OnSite& on) const {
    std::vector<std::pair<std::size_t, std::size_t>> pieces;
    for (const std::size_t i : on)
      for (std::size_t p = 0; p < items_[i].ways.at(site).size(); ++p) pieces.emplace_back(i, p);
    return pieces;
  }
  [[nodiscard]] BinPacking packing_of(const Site& site, const OnSite& on) const {
    std::vector<Sizes> sizes;
    for (const auto& [i, p] : pieces_of(site, on)) sizes.push_back(items_[i].ways.at(site)[p].sizes);
    return fewest_bins(sizes, kStepsOfPackingPerNode * most_nodes_);
  }

  /// Row that what hangs on a site takes so many controllers. Each piece taken away saves one at most
  /// (logic-based Benders cut; J. Hooker, "Planning and scheduling by logic-based Benders decomposition",
  /// Operations Research 55, 2007).
  void ask_for(const Site& site, const OnSite& on, int controllers) {
    std::vector<std::pair<std::size_t, double>> row = {{site_column_.at(site), 1.0}};
    double pieces = 0.0;
    for (const std::size_t i : on) {
      const auto own = static_cast<double>(items_[i].ways.at(site).size());
      row.emplace_back(way_column_[i].at(site), -own);
      pieces += own;
    }
    add_row(row, controllers - pieces, kUnlimited);
  }
  /// The same of as few of the items as need so many: the row then says more.
  void ask_for_fewest_items(const Site& site, OnSite on, int controllers) {
    for (std::size_t k = 0; k < on.size();) {
      OnSite without = on;
      without.erase(without.begin() + static_cast<std::ptrdiff_t>(k));
      if (packing_of(site, without).bound >= controllers)
        on = std::move(without);
      else
        ++k;
    }
    ask_for(site, on, controllers);
  }

  [[nodiscard]] double value_of(const Hung& hung) const {
    double value = 0.0;
    for (const auto& [site, controllers] : hung.controllers)
      value += program_.columns[site_column_.at(site)].cost * static_cast<double>(controllers.size());
    return value;
  }

  /// Keeps the best found; whether it is proved that nothing is better by the programme's cost. Where a site
  /// is neither packed nor proved too small, the search goes on as if it were too small: what it finds is
  /// kept, but it proves nothing any more.
  bool improve(double same_cost, double& bound) {
    std::optional<std::size_t> proved_rows;
    bool is_proved = false;
    int guesses = 0;
    for (int round = 0; round < kMostRounds && guesses < kMostGuesses && !is_proved; ++round) {
      const WholeOptimum optimum = whole_optimum(program_, most_nodes_, same_cost);
      if (optimum.x.empty()) break;
      if (!proved_rows) bound = std::max(bound, optimum.bound);
      Hung hung;
      std::vector<std::tuple<Site, OnSite, int>> too_small;
      std::vector<std::tuple<Site, OnSite, int>> proved_too_small;
      for (const auto& [site, column] : site_column_) {
        const OnSite on = on_site(site, optimum.x);
        if (on.empty()) continue;
        const BinPacking packing = packing_of(site, on);
        const auto pieces = pieces_of(site, on);
        auto& controllers = hung.controllers[site];
        controllers.resize(static_cast<std::size_t>(packing.bins));
        for (std::size_t p = 0; p < pieces.size(); ++p) controllers[packing.bin_of[p]].push_back(pieces[p]);
        hung.cost += kinds_[site.kind].candidate.cost * packing.bins;
        hung.count += packing.bins;
        if (packing.bound > optimum.x[column] + 0.5) proved_too_small.emplace_back(site, on, packing.bound);
        if (packing.bins > optimum.x[column] + 0.5) too_small.emplace_back(site, on, packing.bins);
      }
      if (!best_ || hung.cost < best_->cost - kSameCost ||
          (hung.cost < best_->cost + kSameCost && hung.count < best_->count))
        best_ = std::move(hung);
      is_proved = value_of(*best_) <= bound + 2.0 * same_cost;
      if (!proved_rows && too_small.empty()) {
        is_proved = is_proved || optimum.state == WholeOptimum::State::proved;
        break;
      }
      if (proved_rows && (too_small.empty() || value_of(*best_) <= optimum.bound + same_cost)) break;
      if (!proved_rows && proved_too_small.empty()) proved_rows = program_.rows.size();
      if (proved_rows) {
        ++guesses;
        for (const auto& [site, on, controllers] : too_small) ask_for(site, on, controllers);
      } else {
        for (const auto& [site, on, controllers] : proved_too_small)
          ask_for_fewest_items(site, on, controllers);
      }
    }
    if (proved_rows) program_.rows.resize(*proved_rows);
    return is_proved;
  }
};

// --- What comes out
// ------------------------------------------------------------------------------------------

PackedController controller_of(const std::vector<std::pair<std::size_t, std::size_t>>& hung,
                               const std::vector<Item>& items, const Site& site, const Kind& kind,
                               double wire_mm2) {
  PackedController controller;
  controller.kind = kind.candidate.kind.id;
  controller.space = site.space;
  std::vector<ChannelLoad> all;
  std::vector<LimitUse> every;
  const auto wire_m = [](const std::vector<ChannelLoad>& channels) {
    std::vector<Point2> places;
    for (const ChannelLoad& c : channels) places.push_back({c.at.x, c.at.y});
    return controls::wire_estimate_m(places, places.front(), 0.0);
  };
  const auto lay_wire = [&](const std::vector<ChannelLoad>& channels, double current_ma,
                            const auto& longest_m) {
    if (current_ma <= 0.0) return;
    const double run_m = wire_m(channels);
    const double most_m = longest_m(current_ma, wire_mm2);
    // Of several pairs the one that is nearest to its limit.
    if (controller.longest_wire_m == 0.0 || run_m * controller.longest_wire_m > controller.wire_m * most_m) {
      controller.wire_m = run_m;
      controller.longest_wire_m = most_m;
    }
  };
  for (const auto& [i, p] : hung) {
    const Piece& piece = items[i].ways.at(site)[p];
    PackedOutput output;
    output.load = items[i].load->id;
    for (const ChannelLoad& c : piece.channels) output.channels.push_back(c.id());
    std::sort(output.channels.begin(), output.channels.end());
    output.uses = controls::output_uses(piece.channels, kind.control, kind.spare);
    for (const LimitUse& use : output.uses) {
      every.push_back(use);
      if (use.limit == CapacityLimit::sink_current)
        lay_wire(piece.channels, use.used, controls::longest_pair_m);
    }
    all.insert(all.end(), piece.channels.begin(), piece.channels.end());
    controller.outputs.push_back(std::move(output));
  }
  std::sort(controller.outputs.begin(), controller.outputs.end(),
            [](const PackedOutput& a, const PackedOutput& b) {
              return std::tie(a.load, a.channels) < std::tie(b.load, b.channels);
            });
  controller.uses =
      controls::controller_uses(all, static_cast<int>(controller.outputs.size()), kind.control, kind.spare);
  for (const LimitUse& use : controller.uses) {
    every.push_back(use);
    if (use.limit == CapacityLimit::bus_current) lay_wire(all, use.used, controls::longest_bus_m);
  }
  // That an only output carries one load says nothing of how full it is.
  if (kind.control.outputs == 1)
    std::erase_if(every, [](const LimitUse& use) { return use.limit == CapacityLimit::outputs; });
  controller.binding = controls::tightest(every);
  return controller;
}

/// Items in clusters that share no site.
std::vector<std::vector<Item>> clusters_of(std::vector<Item> items) {
  std::vector<std::size_t> cluster(items.size());
  std::iota(cluster.begin(), cluster.end(), std::size_t{0});
  std::map<Site, std::size_t> first_at;
  for (std::size_t i = 0; i < items.size(); ++i)
    for (const auto& [site, pieces] : items[i].ways) {
      const std::size_t other = cluster[first_at.emplace(site, i).first->second];
      const std::size_t own = cluster[i];
      for (std::size_t& c : cluster)
        if (c == std::max(own, other)) c = std::min(own, other);
    }
  std::map<std::size_t, std::vector<Item>> apart;
  for (std::size_t i = 0; i < items.size(); ++i) apart[cluster[i]].push_back(std::move(items[i]));
  std::vector<std::vector<Item>> clusters;
  for (auto& [c, own] : apart) clusters.push_back(std::move(own));
  return clusters;
}

}  // namespace

Result<ControllerPacking> pack_controllers(const PackingProblem& problem) {
  if (Diagnostics wrong = complaints(problem); !wrong.empty()) return tl::unexpected(std::move(wrong));

  std::vector<PackingLoad> loads = problem.loads;
  std::sort(loads.begin(), loads.end(), [](const auto& a, const auto& b) { return a.id < b.id; });
  std::vector<Kind> kinds;
  for (const PackingCandidate& candidate : problem.candidates) {
    if (candidate.kind.mounting == Mounting::plug_in) continue;
    Kind kind{candidate, *candidate.kind.load, controls::spare_of(candidate.kind, problem.spare)};
    if (kind.is_in_luminaire()) kind.control.outputs = 1;
    kinds.push_back(std::move(kind));
  }
  std::sort(kinds.begin(), kinds.end(),
            [](const Kind& a, const Kind& b) { return a.candidate.kind.id < b.candidate.kind.id; });

  ControllerPacking packing;
  packing.is_least = true;
  packing.has_fewest = true;
  std::vector<Item> items;
  for (PackingLoad& load : loads) {
    std::sort(load.channels.begin(), load.channels.end(), [](const ChannelLoad& a, const ChannelLoad& b) {
      return std::tie(a.luminaire, a.channel) < std::tie(b.luminaire, b.channel);
    });
    std::vector<Item> own = {{&load, ways_of(load, load.channels, kinds)}};
    std::vector<std::string> reasons;
    if (own.front().ways.empty()) {
      std::map<Protocol, std::vector<ChannelLoad>> by_language;
      for (const ChannelLoad& c : load.channels) by_language[c.protocol].push_back(c);
      own.clear();
      for (const auto& [protocol, channels] : by_language) {
        own.push_back({&load, ways_of(load, channels, kinds)});
        if (own.back().ways.empty()) reasons.push_back(reason_why_none(load, channels, kinds));
      }
    }
    if (reasons.empty())
      std::move(own.begin(), own.end(), std::back_inserter(items));
    else
      packing.uncarried.push_back({load.id, fmt::format("{}", fmt::join(reasons, "; "))});
  }

  for (const std::vector<Item>& own : clusters_of(std::move(items))) {
    Cluster cluster(own, kinds, problem.most_nodes);
    const std::optional<Hung> hung = cluster.solve();
    if (!hung)
      return tl::unexpected(Diagnostics{{Diagnostic::Severity::error, "", "/most_nodes",
                                         "the search ended before it found any packing",
                                         "more nodes, or fewer loads at once"}});
    packing.cost += hung->cost;
    packing.bound += cluster.bound();
    packing.is_least = packing.is_least && cluster.is_least();
    packing.has_fewest = packing.has_fewest && cluster.has_fewest();
    for (const auto& [site, controllers] : hung->controllers)
      for (const auto& one : controllers)
        packing.controllers.push_back(
            controller_of(one, own, site, kinds[site.kind], problem.control_wire_mm2));
  }
  std::sort(packing.controllers.begin(), packing.controllers.end(),
            [](const PackedController& a, const PackedController& b) {
              const auto key = [](const PackedController& c) {
                return std::tie(c.kind, c.space, c.outputs.front().load, c.outputs.front().channels);
              };
              return key(a) < key(b);
            });
  return packing;
}

}  // namespace halflight::choose
