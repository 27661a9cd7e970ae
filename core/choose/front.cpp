#include "choose/front.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace halflight::choose {

namespace {

std::array<double, 5> values(const Merits& m) { return {m.cost, m.kwh, m.under_lit_h, m.taken, m.set_up_h}; }

bool is_no_worse(const Merits& a, const Merits& b) {
  const auto x = values(a);
  const auto y = values(b);
  return std::equal(x.begin(), x.end(), y.begin(), [](double one, double other) { return one <= other; });
}

double in_steps(double value, double step) { return std::round(value / step) * step; }

}  // namespace

Merits rounded(const Merits& m) {
  return {in_steps(m.cost, 1.0), in_steps(m.kwh, 0.1), in_steps(m.under_lit_h, 0.1), in_steps(m.taken, 0.01),
          in_steps(m.set_up_h, 1.0 / 60.0)};
}

bool dominates(const Merits& a, const Merits& b) {
  const Merits x = rounded(a);
  const Merits y = rounded(b);
  return is_no_worse(x, y) && !is_no_worse(y, x);
}

Front front_of(std::span<const Merits> given) {
  std::vector<Merits> designs;
  for (const Merits& one : given) designs.push_back(rounded(one));
  std::vector<std::size_t> order(designs.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return designs[a].cost != designs[b].cost ? designs[a].cost < designs[b].cost
                                              : designs[a].kwh < designs[b].kwh;
  });
  Front front;
  front.dominated_by.resize(designs.size());
  for (const std::size_t i : order) {
    const bool is_dominated = std::any_of(order.begin(), order.end(), [&](std::size_t j) {
      return is_no_worse(designs[j], designs[i]) && !is_no_worse(designs[i], designs[j]);
    });
    const bool is_known = std::any_of(front.members.begin(), front.members.end(),
                                      [&](std::size_t j) { return is_no_worse(designs[j], designs[i]); });
    if (!is_dominated && !is_known) front.members.push_back(i);
  }
  for (const std::size_t i : order) {
    if (std::find(front.members.begin(), front.members.end(), i) != front.members.end()) continue;
    front.dominated_by[i] = *std::find_if(front.members.begin(), front.members.end(),
                                          [&](std::size_t j) { return is_no_worse(designs[j], designs[i]); });
  }

  for (const std::size_t i : front.members) {
    if (!front.hull.empty() && designs[i].kwh >= designs[front.hull.back()].kwh) continue;
    // What lies above the line between its neighbours buys less than they do.
    while (front.hull.size() >= 2) {
      const Merits& a = designs[front.hull[front.hull.size() - 2]];
      const Merits& b = designs[front.hull.back()];
      const Merits& c = designs[i];
      if ((b.kwh - a.kwh) * (c.cost - a.cost) < (c.kwh - a.kwh) * (b.cost - a.cost)) break;
      front.hull.pop_back();
    }
    front.hull.push_back(i);
  }
  for (std::size_t h = 1; h < front.hull.size(); ++h) {
    const Merits& a = designs[front.hull[h - 1]];
    const Merits& b = designs[front.hull[h]];
    front.per_kwh.push_back((b.cost - a.cost) / (a.kwh - b.kwh));
  }
  front.knee = front.hull.front();
  const Merits& first = designs[front.hull.front()];
  const Merits& last = designs[front.hull.back()];
  double farthest = 1e-9;
  for (const std::size_t i : front.hull) {
    if (last.cost - first.cost <= 0.0 || first.kwh - last.kwh <= 0.0) break;
    const double along = (designs[i].cost - first.cost) / (last.cost - first.cost);
    const double down = (first.kwh - designs[i].kwh) / (first.kwh - last.kwh);
    if (down - along > farthest) {
      farthest = down - along;
      front.knee = i;
    }
  }
  return front;
}

}  // namespace halflight::choose
