#include "base/units.hpp"
#include "people/patterns.hpp"

#include <algorithm>
#include <utility>

namespace halflight::people {

namespace {

constexpr Seconds kSlot = 900;
constexpr auto kSlotsPerDay = static_cast<std::uint32_t>(kDay / kSlot);
// At 2,000 arrivals an hour a room is not empty in any case.
constexpr double kMostPerSlot = 500.0;
// Positions of one slot's arrivals are asked for by slot and number.
constexpr std::uint32_t kNumbersPerSlot = 4096;

double stay_s(Visits::Stay kind, double mean_s, double spread, double u) {
  switch (kind) {
    case Visits::Stay::fixed:
      return mean_s;
    case Visits::Stay::exponential:
      return -mean_s * std::log(u);
    case Visits::Stay::lognormal:
      return lognormal_of_mean(mean_s, spread, u);
  }
  return mean_s;
}

/// Places that visitors take, always the lowest that is free. Visits come in the order of their beginning.
class Places {
 public:
  void add(const Interval& stay) {
    const auto free = std::find_if(until_.begin(), until_.end(), [&](Seconds t) { return t <= stay.begin; });
    const auto place = static_cast<std::size_t>(free - until_.begin());
    if (free == until_.end()) {
      if (until_.size() == kMostPlaces) return;
      until_.push_back(0);
      sets_.emplace_back();
    }
    until_[place] = stay.end;
    sets_[place].push_back(stay);
  }
  [[nodiscard]] std::vector<IntervalSet> sets() {
    std::vector<IntervalSet> all;
    all.reserve(sets_.size());
    for (std::vector<Interval>& set : sets_) all.emplace_back(std::move(set));
    return all;
  }

 private:
  static constexpr std::size_t kMostPlaces = 256;
  std::vector<Seconds> until_;
  std::vector<std::vector<Interval>> sets_;
};

}  // namespace

Visits visits(const Room& room, double arrivals_per_h, Visits::Stay kind, bool told_apart) {
  static const std::uint32_t kCount = hash_name("arrivals");
  static const std::uint32_t kArrival = hash_name("arrival");
  static const std::uint32_t kLength = hash_name("length of a visit");
  if (arrivals_per_h <= 0.0) return {};
  const PresenceAssumptions& assumed = room.assumed;
  const double mean_stay_s = room.occupancy.dwell_min * 60.0;
  const Draws draws = room.draws();
  RandomSeries count = draws.series(kCount);
  RandomSeries place = draws.series(kArrival);
  RandomSeries length = draws.series(kLength);
  const double even = arrivals_per_h * static_cast<double>(kSlot) / 3600.0;
  std::vector<Poisson> arrivals;  // by slot of the open time, which is alike on most days
  Interval alike{0, 0};
  std::vector<Interval> of_this_slot;
  std::vector<Interval> found;
  Places places;
  for (const Interval& hours : room.open.intervals()) {
    const Seconds first_slot = hours.begin / kSlot;
    const Interval hours_from_slot{hours.begin - first_slot * kSlot, hours.end - first_slot * kSlot};
    if (hours_from_slot != alike) {
      alike = hours_from_slot;
      arrivals.clear();
      for (Seconds start = 0; start < alike.end; start += kSlot) {
        const double x = (static_cast<double>(start - alike.begin) + 0.5 * static_cast<double>(kSlot)) /
                         static_cast<double>(alike.end - alike.begin);
        const bool peaked = assumed.profile == PresenceAssumptions::Profile::peaked;
        arrivals.emplace_back(
            std::min(kMostPerSlot, peaked ? even * (1.0 - 0.6 * std::cos(2.0 * kPi * x)) : even));
      }
    }
    for (std::size_t s = 0; s < arrivals.size(); ++s) {
      const Seconds slot = first_slot + static_cast<Seconds>(s);
      const auto start = static_cast<double>(slot * kSlot);
      const auto day = static_cast<std::uint32_t>(slot / kSlotsPerDay);
      const auto slot_of_day = static_cast<std::uint32_t>(slot % kSlotsPerDay);
      const int n = arrivals[s].at(count.at(day, slot_of_day));
      of_this_slot.clear();
      for (int k = 0; k < n; ++k) {
        const std::uint32_t number = slot_of_day * kNumbersPerSlot + static_cast<std::uint32_t>(k);
        const double stay_time = kind == Visits::Stay::fixed ? mean_stay_s
                                                             : stay_s(kind, mean_stay_s, assumed.dwell_spread,
                                                                      length.at(day, number));
        Interval stay = whole_seconds(start + place.at(day, number) * static_cast<double>(kSlot), stay_time);
        // Outside the open hours: the part of a slot that they do not fill.
        if (stay.begin < hours.begin || stay.begin >= hours.end) continue;
        stay.end = std::min(stay.end, hours.end);
        of_this_slot.push_back(stay);
      }
      std::sort(of_this_slot.begin(), of_this_slot.end(),
                [](const Interval& a, const Interval& b) { return a.begin < b.begin; });
      // In order from slot to slot, so that whoever is met on the way is joined at once.
      for (const Interval& stay : of_this_slot) {
        if (told_apart) places.add(stay);
        if (!found.empty() && stay.begin <= found.back().end)
          found.back().end = std::max(found.back().end, stay.end);
        else
          found.push_back(stay);
      }
    }
  }
  return {IntervalSet(std::move(found)), places.sets()};
}

}  // namespace halflight::people
