#include "choose/bin_packing.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace halflight::choose {

namespace {

constexpr double kRounding = 1e-9;

int whole_above(double x) { return static_cast<int>(std::ceil(x - kRounding)); }

class Search {
 public:
  Search(std::span<const Sizes> things, int most_nodes)
      : things_(things), order_(things.size()), dimensions_(things.front().size()), nodes_left_(most_nodes) {
    std::iota(order_.begin(), order_.end(), std::size_t{0});
    const auto largest = [&](std::size_t i) { return *std::max_element(things[i].begin(), things[i].end()); };
    std::stable_sort(order_.begin(), order_.end(), [&](std::size_t a, std::size_t b) {
      const double size_a = largest(a);
      const double size_b = largest(b);
      return size_a != size_b ? size_a > size_b : things[a] > things[b];
    });
    bin_of_.resize(things.size());
  }

  BinPacking solve() {
    first_fit();
    BinPacking best{bin_of_, static_cast<int>(used_.size()), bound()};
    while (best.bound < best.bins) {
      used_.assign(best.bound, Sizes(dimensions_, 0.0));
      if (fits(0)) return {bin_of_, best.bound, best.bound};
      if (nodes_left_ <= 0) return best;
      ++best.bound;
    }
    return best;
  }

 private:
  std::span<const Sizes> things_;
  std::vector<std::size_t> order_;
  std::size_t dimensions_;
  int nodes_left_;
  std::vector<Sizes> used_;  // of each box, by dimension
  std::vector<std::size_t> bin_of_;

  [[nodiscard]] bool holds(const Sizes& used, const Sizes& thing) const {
    for (std::size_t d = 0; d < dimensions_; ++d)
      if (used[d] + thing[d] > 1.0 + kRounding) return false;
    return true;
  }
  void put(std::size_t thing, std::size_t bin, double sign) {
    for (std::size_t d = 0; d < dimensions_; ++d) used_[bin][d] += sign * things_[thing][d];
    bin_of_[thing] = bin;
  }

  void first_fit() {
    for (const std::size_t thing : order_) {
      std::size_t bin = 0;
      while (bin < used_.size() && !holds(used_[bin], things_[thing])) ++bin;
      if (bin == used_.size()) used_.emplace_back(dimensions_, 0.0);
      put(thing, bin, 1.0);
    }
  }

  [[nodiscard]] int bound() const {
    int most = 1;
    for (std::size_t d = 0; d < dimensions_; ++d) {
      const auto sum = [&](const auto& image) {
        double total = 0.0;
        for (const Sizes& thing : things_) total += image(thing[d]);
        return whole_above(total);
      };
      most = std::max(most, sum([](double x) { return x; }));
      for (int part = 1; part <= 5; ++part)
        most = std::max(most, sum([&](double x) { return stepped(x, part); }));
      for (const Sizes& thing : things_)
        if (thing[d] <= 0.5) most = std::max(most, sum([&](double x) { return without_small(x, thing[d]); }));
    }
    return most;
  }

  /// Whether what is left can still fit by its sums: a box without room for the least of what is left gives
  /// nothing.
  [[nodiscard]] bool has_room(std::size_t from) const {
    for (std::size_t d = 0; d < dimensions_; ++d) {
      double left = 0.0;
      double least = 1.0;
      for (std::size_t i = from; i < order_.size(); ++i) {
        left += things_[order_[i]][d];
        least = std::min(least, things_[order_[i]][d]);
      }
      double room = 0.0;
      for (const Sizes& used : used_)
        if (used[d] + least <= 1.0 + kRounding) room += 1.0 - used[d];
      if (left > room + kRounding * static_cast<double>(used_.size() + 1)) return false;
    }
    return true;
  }

  bool fits(std::size_t from) {
    if (from == order_.size()) return true;
    if (--nodes_left_ <= 0 || !has_room(from)) return false;
    const std::size_t thing = order_[from];
    // A thing like the one before it need not go to an earlier box, nor any to a box like one tried before.
    const bool is_like = from > 0 && things_[order_[from - 1]] == things_[thing];
    const std::size_t first = is_like ? bin_of_[order_[from - 1]] : 0;
    for (std::size_t bin = first; bin < used_.size(); ++bin) {
      if (!holds(used_[bin], things_[thing])) continue;
      const auto here = used_.begin() + static_cast<std::ptrdiff_t>(bin);
      if (std::find(used_.begin() + static_cast<std::ptrdiff_t>(first), here, *here) != here) continue;
      const Sizes before = used_[bin];
      put(thing, bin, 1.0);
      if (fits(from + 1)) return true;
      used_[bin] = before;
      if (nodes_left_ <= 0) return false;
    }
    return false;
  }
};

}  // namespace

BinPacking fewest_bins(std::span<const Sizes> things, int most_nodes) {
  if (things.empty()) return {};
  return Search(things, most_nodes).solve();
}

double stepped(double x, int part) {
  const double scaled = (part + 1) * x;
  if (std::abs(scaled - std::round(scaled)) < kRounding) return x;
  return std::floor(scaled) / part;
}

double without_small(double x, double threshold) {
  if (x > 1.0 - threshold + kRounding) return 1.0;
  return x < threshold - kRounding ? 0.0 : x;
}

}  // namespace halflight::choose
