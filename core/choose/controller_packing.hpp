#pragma once
#include "base/diagnostic.hpp"
#include "controls/load_capacity.hpp"
#include "domain/device_kind.hpp"

#include <string>
#include <vector>

// Which load controllers carry the loads of rooms at least cost, every output and every controller within
// all its limits (docs/methods/controllers.md).

namespace halflight::choose {

/// What stands and falls together: a scene group, whose channels take one level.
struct PackingLoad {
  std::string id;
  std::string space;
  bool must_dim = false;  ///< false: on and off is enough
  std::vector<controls::ChannelLoad> channels;
};

/// A kind of load controller that may be bought, and what one costs: any unit of money, 0 or more.
struct PackingCandidate {
  domain::DeviceKind kind;  ///< with `load`
  double cost = 0.0;
  bool serves_several_spaces = false;  ///< as from a panel; else each one serves loads of one space
};

struct PackingProblem {
  std::vector<PackingLoad> loads;
  std::vector<PackingCandidate> candidates;
  double spare = 0.15;            ///< share of each limit that stays free, 0 <= spare < 1
  double control_wire_mm2 = 1.5;  ///< of buses and 0-10 V pairs
  int most_nodes = 20'000;        ///< of each search
};

/// One output: one load, or a part of it.
struct PackedOutput {
  std::string load;
  std::vector<std::string> channels;  ///< "luminaire/channel", sorted
  std::vector<controls::LimitUse> uses;
};

struct PackedController {
  std::string kind;   ///< id of the DeviceKind
  std::string space;  ///< that it serves; empty: several may be
  std::vector<PackedOutput> outputs;
  std::vector<controls::LimitUse> uses;  ///< of the controller as a whole
  controls::LimitUse binding;            ///< the tightest of it and of its outputs; not that it has but one
  /// Estimate of its longest bus or 0-10 V pair among its luminaires, without the run to the controller, and
  /// what may be at its current, m; 0 where it has no such wire.
  double wire_m = 0.0;
  double longest_wire_m = 0.0;
};

/// A load that no candidate carries.
struct UncarriedLoad {
  std::string load;
  std::string reason;
};

struct ControllerPacking {
  std::vector<PackedController> controllers;  ///< by kind, space and first load
  std::vector<UncarriedLoad> uncarried;       ///< by load; they count in nothing else here
  double cost = 0.0;
  double bound = 0.0;     ///< proved: nothing that follows the rules below costs less
  bool is_least = false;  ///< proved: nothing costs less by more than kSameCost a cluster of spaces
  /// Proved: of all that cost so little none has fewer controllers.
  bool has_fewest = false;

  [[nodiscard]] double gap() const { return cost - bound; }
};

/// Costs nearer than this are equal: fewer controllers are taken.
inline constexpr double kSameCost = 1e-6;

/// Controllers of least cost for all loads that can be carried; of equal cost, the fewest. The rules:
/// - An output carries one load, or a part of one. What passes mains through (all but a digital bus) carries
///   one circuit to an output; a digital bus carries several of one supply, normal or emergency.
/// - A relay (on_off, or that of an analogue control) carries every driver that need not dim, save those
///   commanded by radio; what must dim needs a driver that dims and a controller that speaks its language.
/// - All of a load hangs on one kind of controller. Where no kind carries it whole and its drivers are
///   commanded in different ways, it is split by those.
/// - What is beyond an output is split into the fewest runs of neighbours, as even as can be, that fit; they
///   may hang on different controllers. Where drivers differ, one run more than the fewest may come out.
/// - A controller in a luminaire carries that luminaire alone, and one load of it. What plugs in and
/// volt-free
///   contacts carry nothing.
/// The order of loads, channels and candidates changes nothing. Wire lengths are reported, not bounded.
/// Errors: ids that are not unique, a channel in two loads, a candidate that controls no load, values out of
/// range, and a search that ended undecided.
Result<ControllerPacking> pack_controllers(const PackingProblem& problem);

}  // namespace halflight::choose
