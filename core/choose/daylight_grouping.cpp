#include "choose/daylight_grouping.hpp"

#include <algorithm>
#include <limits>
#include <utility>

namespace halflight::choose {

namespace {

/// Share of what groups save below which a gain is none: the light of one room that is described in two ways
/// differs by as much.
constexpr double kSameSaving = 2e-3;

/// Luminaires at the level of that one which daylight leaves the most to do.
struct Cluster {
  std::vector<std::size_t> members;  // ascending
  std::vector<float> level;
  double saved_w = 0.0;
  double saved = 0.0;  // watts times steps
};

class Clustering {
 public:
  explicit Clustering(std::span<const DaylitLuminaire> luminaires) : luminaires_(luminaires) {}

  [[nodiscard]] Cluster of(std::vector<std::size_t> members) const {
    Cluster cluster;
    std::sort(members.begin(), members.end());
    cluster.members = std::move(members);
    for (const std::size_t m : cluster.members) {
      const DaylitLuminaire& one = luminaires_[m];
      cluster.saved_w += one.saved_w;
      if (cluster.level.empty())
        cluster.level = one.level;
      else
        for (std::size_t t = 0; t < one.level.size(); ++t)
          cluster.level[t] = std::max(cluster.level[t], one.level[t]);
    }
    double dimmed = 0.0;
    for (const float level : cluster.level) dimmed += 1.0 - static_cast<double>(level);
    cluster.saved = cluster.saved_w * dimmed;
    return cluster;
  }
  [[nodiscard]] double lost_by_joining(const Cluster& a, const Cluster& b) const {
    double dimmed = 0.0;
    for (std::size_t t = 0; t < a.level.size(); ++t)
      dimmed += 1.0 - static_cast<double>(std::max(a.level[t], b.level[t]));
    return a.saved + b.saved - (a.saved_w + b.saved_w) * dimmed;
  }
  [[nodiscard]] bool may_dim_together(const Cluster& a, const Cluster& b) const {
    const DaylitLuminaire& one = luminaires_[a.members.front()];
    const DaylitLuminaire& other = luminaires_[b.members.front()];
    return one.zone == other.zone && one.side == other.side;
  }

  /// Moves single luminaires to other groups of their zone and side while that saves more.
  void improve(std::vector<Cluster>& clusters) const {
    bool moved = true;
    while (moved) {
      moved = false;
      for (std::size_t a = 0; a < clusters.size() && !moved; ++a) {
        if (clusters[a].members.size() < 2) continue;
        for (std::size_t m = 0; m < clusters[a].members.size() && !moved; ++m)
          for (std::size_t b = 0; b < clusters.size() && !moved; ++b) {
            if (a == b || !may_dim_together(clusters[a], clusters[b])) continue;
            std::vector<std::size_t> left = clusters[a].members;
            left.erase(left.begin() + static_cast<std::ptrdiff_t>(m));
            std::vector<std::size_t> grown = clusters[b].members;
            grown.push_back(clusters[a].members[m]);
            Cluster smaller = of(std::move(left));
            Cluster larger = of(std::move(grown));
            const double before = clusters[a].saved + clusters[b].saved;
            if (smaller.saved + larger.saved <= before * (1.0 + kSameSaving)) continue;
            clusters[a] = std::move(smaller);
            clusters[b] = std::move(larger);
            moved = true;
          }
      }
    }
  }

 private:
  std::span<const DaylitLuminaire> luminaires_;
};

DaylightGrouping as_grouping(const std::vector<Cluster>& clusters, double step_h) {
  DaylightGrouping grouping;
  double saved = 0.0;
  for (const Cluster& cluster : clusters) {
    grouping.groups.push_back(cluster.members);
    saved += cluster.saved;
  }
  std::sort(grouping.groups.begin(), grouping.groups.end());
  grouping.saved_wh = saved * step_h;
  return grouping;
}

}  // namespace

std::vector<DaylightGrouping> daylight_groupings(std::span<const DaylitLuminaire> luminaires, double step_h) {
  const Clustering clustering(luminaires);
  std::vector<Cluster> clusters;
  for (std::size_t i = 0; i < luminaires.size(); ++i) clusters.push_back(clustering.of({i}));

  std::vector<DaylightGrouping> found;
  while (!clusters.empty()) {
    std::vector<Cluster> improved = clusters;
    clustering.improve(improved);
    found.push_back(as_grouping(improved, step_h));
    double least = std::numeric_limits<double>::infinity();
    std::size_t first = 0;
    std::size_t second = 0;
    for (std::size_t a = 0; a < clusters.size(); ++a)
      for (std::size_t b = a + 1; b < clusters.size(); ++b) {
        if (!clustering.may_dim_together(clusters[a], clusters[b])) continue;
        const double lost = clustering.lost_by_joining(clusters[a], clusters[b]);
        if (lost >= least - kSameSaving * (clusters[a].saved + clusters[b].saved)) continue;
        least = lost;
        first = a;
        second = b;
      }
    if (second == 0) break;
    std::vector<std::size_t> joined = clusters[first].members;
    joined.insert(joined.end(), clusters[second].members.begin(), clusters[second].members.end());
    clusters.erase(clusters.begin() + static_cast<std::ptrdiff_t>(second));
    clusters[first] = clustering.of(std::move(joined));
  }
  std::reverse(found.begin(), found.end());
  return found;
}

}  // namespace halflight::choose
