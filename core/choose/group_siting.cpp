#include "choose/group_siting.hpp"

#include "sim/daylight_limits.hpp"
#include "sim/electric_states.hpp"
#include "sim/space_year.hpp"

#include <algorithm>
#include <iterator>
#include <limits>
#include <memory>
#include <optional>
#include <span>
#include <utility>

namespace halflight::choose {

namespace {

/// Of all places those that are looked at first; round how many of the best of these, and how near, all are
/// looked at; and how many of the best are looked at again once other groups have moved.
constexpr std::size_t kFirstLook = 40;
constexpr std::size_t kLookNear = 8;
constexpr double kNear_m = 1.3;
constexpr std::size_t kLookAgain = 20;
/// Places of which the error is taken over several building-years, and how many: the error of a place differs
/// much less between years than between places.
constexpr std::size_t kBestPlaces = 12;
constexpr std::size_t kYearsOfSiting = 4;
/// Times that groups are sited in turn: the loop of one moves the light of the others.
constexpr std::size_t kMostRounds = 8;
/// Share by which errors of places differ that are as good: the light of one room that is described in two
/// ways differs by less.
constexpr double kAsGood = 0.02;
/// A place that is usual, half way between luminaires or before a window, is taken unless another has an
/// error that is less by this share and by this much of the target, a quarter of what one count of a
/// photosensor's converter makes of the light on the task: among many places that differ by less than anybody
/// can measure, chance would choose.
constexpr double kUsualWithin = 0.05;
constexpr double kUsualWithinOfTarget = 0.003;
constexpr std::size_t kBestUsual = 6;
/// Photosensors that are hung elsewhere so that loops leave one another alone, and by how much the largest
/// answer to an answer must fall for a change to count (assumption).
constexpr std::size_t kMostChanges = 8;
constexpr double kCalmer = 0.02;

/// A place by number, and how well the light is held from it.
using Tried = std::pair<std::size_t, sim::LightHeld>;

bool is_better(const Tried& a, const Tried& b) { return sim::holds_better(a.second, b.second); }

bool is_as_good(const sim::LightHeld& one, const sim::LightHeld& best) {
  const bool falls_short = one.under_share > sim::kSeldom;
  if (falls_short != (best.under_share > sim::kSeldom)) return false;
  return falls_short ? one.under_share <= (1.0 + kAsGood) * best.under_share
                     : one.rms <= (1.0 + kAsGood) * best.rms;
}

/// Whether a usual place is near enough to the best of all.
bool is_near(const sim::LightHeld& usual, const sim::LightHeld& best) {
  if (usual.under_share > std::max(sim::kSeldom, best.under_share)) return false;
  return usual.rms <= std::max((1.0 + kUsualWithin) * best.rms, best.rms + kUsualWithinOfTarget);
}

/// The groups of one way in a room where all places hang at once; rules take them in turn.
class GroupSiting {
 public:
  GroupSiting(const sim::DesignTrials& trials, const domain::Project& project, const RoomControls& controls,
              const DaylightPlaces& places, DaylightPart& part, const Context& context)
      : part_(part),
        context_(context),
        all_(places.all()),
        first_closed_(places.meters.size()),
        first_open_(first_closed_ + places.closed.size()),
        between_(places.between),
        bench_(with_all_places(project, controls)),
        room_(trials.room(bench_)),
        model_(room_->model),
        nominal_(model_, room_->daylight.front(), sim::Draws{}),
        occupied_(sim::open_steps(model_)),
        set_up_(part.groups.size(), std::vector<std::optional<controls::Calibration>>(all_.size())),
        ranked_(part.groups.size()),
        stands_(part.groups.size()) {
    const std::vector<sim::Draws>& draws = trials.draws();
    const std::size_t every = std::max<std::size_t>(1, draws.size() / kYearsOfSiting);
    for (std::size_t i = 0; i < draws.size(); i += every)
      years_.push_back(
          std::make_unique<sim::Replicate>(model_, room_->daylight[draws[i].weather_year], draws[i]));
    for (std::size_t s = first_closed_; s < first_open_; ++s) closed_.push_back({all_[s].at.x, all_[s].at.y});
    if (const domain::Partition* wall = domain::wall_in_use(*model_.space)) {
      for (const Point2 place : closed_) side_of_place_.push_back(domain::side_of(*wall, place));
      for (const GovernedGroup& governed : part.groups) {
        const domain::Luminaire& luminaire =
            *domain::find_by_id(domain::find_design(bench_, domain::Design::Role::proposal)->luminaires,
                                governed.group.channels.front());
        side_of_group_.push_back(domain::side_of(*wall, {luminaire.at.x, luminaire.at.y}));
      }
    }
    for (const std::size_t i : well_spread(closed_, kFirstLook)) first_look_.push_back(first_closed_ + i);
    for (std::size_t s = first_open_; s < all_.size(); ++s) first_look_.push_back(s);
    std::sort(first_look_.begin(), first_look_.end());
  }

  /// Looks all over the ceiling, then among the best until all stay, then all over again.
  void settle() {
    bool looks_all_over = true;
    for (std::size_t round = 0; round < kMostRounds; ++round) {
      bool has_changed = false;
      for (std::size_t r = 0; r < part_.groups.size(); ++r) {
        context_.check_cancelled();
        has_changed = site(r, looks_all_over) || has_changed;
      }
      if (!has_changed && looks_all_over) break;
      looks_all_over = !has_changed;
    }
  }

  /// Where loops keep one another moving: the change of one place that calms them most, until they are calm.
  void calm() {
    for (std::size_t change = 0; change < kMostChanges; ++change) {
      const controls::Coupling coupling = sim::coupling_of_loops(model_, model_.proposal.sequence);
      if (!coupling.hunts()) break;
      double least = coupling.spectral_radius * (1.0 - kCalmer);
      std::optional<std::pair<std::size_t, Tried>> calmest;
      for (std::size_t r = 0; r < part_.groups.size(); ++r) {
        if (!stands_[r]) continue;
        for (const Tried& other : ranked_[r]) {
          hang(model_, r, other.first);
          const double radius = sim::coupling_of_loops(model_, model_.proposal.sequence).spectral_radius;
          if (radius >= least * (calmest ? 1.0 - kCalmer : 1.0)) continue;
          least = radius;
          calmest = {r, other};
        }
        hang(model_, r, *stands_[r]);
      }
      if (!calmest) break;
      choose(calmest->first, calmest->second);
    }
  }

 private:
  domain::Project with_all_places(const domain::Project& project, const RoomControls& controls) {
    RoomControls fitted = controls;
    fitted.photosensors = all_;
    for (GovernedGroup& governed : part_.groups) {
      governed.rule.photosensor = all_.front().id;
      fitted.groups.push_back(governed.group);
      fitted.sequence.daylight.push_back(governed.rule);
    }
    return with_controls(project, controls.sequence.space, fitted);
  }

  /// Lets a rule of a room go by place `s`.
  void hang(sim::SpaceModel& model, std::size_t r, std::size_t s) {
    domain::DaylightRule& rule = model.proposal.sequence.daylight[r];
    rule.method = s < first_open_ ? domain::DaylightRule::Method::closed_loop_proportional
                                  : domain::DaylightRule::Method::open_loop_proportional;
    rule.photosensor = all_[s].id;
    model.rule_sensor[r] = s;
    // A loop is set up by itself, so what it is set to at a place stays.
    std::optional<controls::Calibration>& known = set_up_[r][s];
    if (!known)
      known = sim::commissioned(model, rule, s, model.rule_task[r], nominal_.daylight().sensors[s],
                                nominal_.daylight().tasks[model.rule_task[r]], {}, occupied_);
    model.calibrations[r] = *known;
  }

  void choose(std::size_t r, const Tried& tried) {
    hang(model_, r, tried.first);
    stands_[r] = tried.first;
    GovernedGroup& governed = part_.groups[r];
    governed.held = tried.second;
    governed.rule.method = model_.proposal.sequence.daylight[r].method;
    governed.photosensor = all_[tried.first];
    governed.rule.photosensor = governed.photosensor.id;
  }

  /// How well the light of a group is held in a room as it hangs, in the mean of the first so many
  /// building-years.
  [[nodiscard]] sim::LightHeld held(const sim::SpaceModel& model, std::size_t r, std::size_t years) const {
    sim::LightHeld mean;
    for (std::size_t year = 0; year < years; ++year) {
      const sim::Replicate& replicate = *years_[year];
      const double trim =
          sim::high_end_trim(model, model.proposal.sequence, replicate.depreciation(), replicate.reflected());
      const sim::LightHeld one =
          sim::rule_held(model, r,
                         {replicate.daylight(), trim, replicate.reflected(), replicate.depreciation()},
                         occupied_)
              .held;
      mean.rms += one.rms / static_cast<double>(years);
      mean.under_share += one.under_share / static_cast<double>(years);
      mean.over += one.over / static_cast<double>(years);
    }
    return mean;
  }

  /// How well the light of group `r` is held from each of some places, in the mean of the first so many
  /// building-years, the best first. Places that no loop can be set up at are left out.
  std::vector<Tried> tried_from(std::size_t r, std::span<const std::size_t> places, std::size_t years) {
    std::vector<std::optional<sim::LightHeld>> found(places.size());
    context_.executor.for_each(places.size(), [&](std::size_t i) {
      sim::SpaceModel model = model_;
      hang(model, r, places[i]);
      if (!model.calibrations[r].usable) return;
      found[i] = held(model, r, years);
    });
    std::vector<Tried> tried;
    for (std::size_t i = 0; i < places.size(); ++i)
      if (found[i]) tried.emplace_back(places[i], *found[i]);
    std::stable_sort(tried.begin(), tried.end(), is_better);
    return tried;
  }

  /// First at places well apart, then at all that lie near the best of these.
  std::vector<Tried> all_over(std::size_t r) {
    std::vector<std::size_t> first;
    std::copy_if(first_look_.begin(), first_look_.end(), std::back_inserter(first),
                 [&](std::size_t s) { return may_hang(r, s); });
    std::vector<Tried> tried = tried_from(r, first, 1);
    std::vector<std::size_t> near;
    for (std::size_t s = first_closed_; s < first_open_; ++s) {
      if (!may_hang(r, s) || std::binary_search(first_look_.begin(), first_look_.end(), s)) continue;
      for (std::size_t i = 0; i < std::min(tried.size(), kLookNear); ++i)
        if (tried[i].first < first_open_ &&
            length(closed_[s - first_closed_] - closed_[tried[i].first - first_closed_]) < kNear_m) {
          near.push_back(s);
          break;
        }
    }
    const std::vector<Tried> beside = tried_from(r, near, 1);
    tried.insert(tried.end(), beside.begin(), beside.end());
    std::stable_sort(tried.begin(), tried.end(), is_better);
    return tried;
  }

  /// Returns whether the group gets another place.
  bool site(std::size_t r, bool looks_all_over) {
    if (looks_all_over) ranked_[r] = all_over(r);
    std::vector<std::size_t> again;
    for (std::size_t i = 0; i < std::min(ranked_[r].size(), looks_all_over ? kBestPlaces : kLookAgain); ++i)
      again.push_back(ranked_[r][i].first);
    if (!looks_all_over) {
      const std::vector<Tried> now = tried_from(r, again, 1);
      again.clear();
      for (std::size_t i = 0; i < std::min(now.size(), kBestPlaces); ++i) again.push_back(now[i].first);
    }
    const auto add = [&](std::size_t s) {
      if (std::find(again.begin(), again.end(), s) == again.end()) again.push_back(s);
    };
    std::size_t usual = 0;
    for (const Tried& one : ranked_[r])
      if (is_usual(one.first) && usual++ < kBestUsual) add(one.first);
    if (stands_[r]) add(*stands_[r]);
    std::vector<Tried> best = tried_from(r, again, years_.size());
    if (best.empty()) return false;
    const auto best_usual =
        std::find_if(best.begin(), best.end(), [&](const Tried& one) { return is_usual(one.first); });
    if (best_usual != best.end() && is_near(best_usual->second, best.front().second))
      std::erase_if(best, [&](const Tried& one) { return !is_usual(one.first); });
    // Of those that hold it as well the one that stands, else the first by place, so that the choice comes to
    // rest and turns with the room.
    std::erase_if(best,
                  [least = best.front().second](const Tried& one) { return !is_as_good(one.second, least); });
    const Tried taken = *std::min_element(best.begin(), best.end(), [&](const Tried& a, const Tried& b) {
      return std::pair(a.first != stands_[r], a.first) < std::pair(b.first != stands_[r], b.first);
    });
    const bool is_new = stands_[r] != taken.first;
    choose(r, taken);
    return is_new;
  }

  /// Half way between luminaires, or before a window.
  [[nodiscard]] bool is_usual(std::size_t s) const {
    return s < first_closed_ + between_ || s >= first_open_;
  }

  /// What looks down has to see the light of the group also while a wall divides the room.
  [[nodiscard]] bool may_hang(std::size_t r, std::size_t s) const {
    return side_of_group_.empty() || s >= first_open_ ||
           side_of_place_[s - first_closed_] == side_of_group_[r];
  }

  DaylightPart& part_;
  const Context& context_;
  std::vector<domain::Photosensor> all_;  // meters, then places of closed loops, then of open ones
  std::size_t first_closed_;
  std::size_t first_open_;
  std::size_t between_;  // of the closed, the first
  domain::Project bench_;
  std::unique_ptr<sim::DesignTrials::Room> room_;
  sim::SpaceModel& model_;  // with each group at the place that it has so far
  sim::Replicate nominal_;
  std::vector<std::unique_ptr<sim::Replicate>> years_;
  std::vector<std::size_t> occupied_;
  std::vector<Point2> closed_;
  std::vector<int> side_of_place_;  // of `closed_`, and of each group: sides of a wall that divides the room
  std::vector<int> side_of_group_;  // empty where none does
  std::vector<std::size_t> first_look_;                                    // ascending
  std::vector<std::vector<std::optional<controls::Calibration>>> set_up_;  // by group and place
  std::vector<std::vector<Tried>> ranked_;                                 // by group, the best first
  std::vector<std::optional<std::size_t>> stands_;                         // by group
};

}  // namespace

void site_groups(const sim::DesignTrials& trials, const domain::Project& project,
                 const RoomControls& controls, const DaylightPlaces& places, DaylightPart& part,
                 const Context& context) {
  GroupSiting siting(trials, project, controls, places, part, context);
  siting.settle();
  siting.calm();
  std::erase_if(part.groups, [](const GovernedGroup& governed) { return governed.photosensor.id.empty(); });
}

std::vector<std::size_t> well_spread(const std::vector<Point2>& all, std::size_t most) {
  std::vector<std::size_t> chosen;
  std::vector<double> away(all.size(), std::numeric_limits<double>::infinity());
  for (std::size_t next = 0; chosen.size() < std::min(most, all.size());) {
    chosen.push_back(next);
    away[next] = 0.0;
    for (std::size_t i = 0; i < all.size(); ++i) {
      away[i] = std::min(away[i], length(all[i] - all[chosen.back()]));
      if (away[i] > away[next] + 1e-6) next = i;
    }
  }
  return chosen;
}

}  // namespace halflight::choose
