#include "people/habits.hpp"

#include "base/random.hpp"
#include "base/time_axis.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

namespace halflight::people {

double switch_on_at_arrival(double daylight_lx, double shift_log10) {
  if (daylight_lx <= 0.0) return 1.0;
  const double x = std::log10(daylight_lx) - shift_log10;
  if (x <= 0.843) return 1.0;
  if (x >= 2.818) return 0.0;
  return -0.0175 + 1.0361 / (1.0 + std::exp(4.0835 * (x - 1.8223)));
}

double switch_on_while_staying(double daylight_lx, const IntermediateSwitchOn& habit) {
  return daylight_lx < habit.threshold_lx ? habit.below : habit.above;
}

double switch_off_at_departure(Seconds absence, AutomaticOff automatic) {
  struct Bin {
    Seconds below;
    double off;
    double sensor_factor;
  };
  static constexpr std::array<Bin, 5> kBins = {{{30 * kMinute, 0.086, 0.6},
                                                {kHour, 0.314, 0.6},
                                                {2 * kHour, 0.380, 0.6},
                                                {4 * kHour, 0.600, 0.6},
                                                {12 * kHour, 0.960, 0.5}}};
  for (const Bin& bin : kBins)
    if (absence < bin.below) return automatic == AutomaticOff::sensor ? bin.off * bin.sensor_factor : bin.off;
  return automatic == AutomaticOff::sensor ? 0.5 : 1.0;
}

double Habit::on_at_arrival(double daylight_lx) const {
  return type == UserType::passive ? 1.0 : switch_on_at_arrival(daylight_lx, shift_log10);
}

double Habit::off_at_departure(Seconds absence, AutomaticOff automatic) const {
  // A passive user leaves the light on through the day's absences; going home is one of four hours and more.
  if (type == UserType::passive && absence < 4 * kHour) return 0.0;
  return switch_off_at_departure(absence, automatic);
}

std::vector<double> preferred_light(std::span<const IntervalSet> people, std::uint32_t seed,
                                    std::uint32_t replicate, std::string_view space_id,
                                    const PreferredLight& preferred) {
  static const std::uint32_t kDims = hash_name("dims on this day");
  static const std::uint32_t kAnew = hash_name("prefers anew");
  static const std::uint32_t kLight = hash_name("preferred light");
  constexpr auto kDays = static_cast<std::size_t>(kYear / kDay);
  struct First {
    Seconds at = kYear;
    std::size_t person = 0;
  };
  std::vector<First> first(kDays);
  for (std::size_t k = 0; k < people.size(); ++k)
    for (const Interval& stay : people[k].intervals())
      for (Seconds day = stay.begin / kDay; day * kDay < stay.end; ++day) {
        First& of_day = first[static_cast<std::size_t>(day)];
        const Seconds at = std::max(stay.begin, day * kDay);
        if (at < of_day.at) of_day = {at, k};
      }
  std::vector<RandomKey> keys;
  for (std::size_t k = 0; k < people.size(); ++k)
    keys.push_back({seed, hash_name(std::string(space_id) + "/person " + std::to_string(k))});
  std::vector<std::uint32_t> drawn_on(people.size(), 0);  // day of each person's present preference
  std::vector<double> chosen(kDays, 0.0);
  for (std::uint32_t day = 0; day < kDays; ++day) {
    for (std::size_t k = 0; k < people.size(); ++k)
      if (random_uniform(keys[k], {replicate, day, kAnew, 0}) < preferred.anew_a_day) drawn_on[k] = day;
    if (first[day].at >= kYear) continue;
    const std::size_t k = first[day].person;
    if (random_uniform(keys[k], {replicate, day, kDims, 0}) >= preferred.dims_on_a_day) continue;
    chosen[day] = preferred.median_lx *
                  std::pow(preferred.spread, random_normal(keys[k], {replicate, drawn_on[k], kLight, 0}));
  }
  return chosen;
}

Habit draw_habit(std::uint32_t seed, std::uint32_t replicate, std::string_view space_id, double passive_share,
                 double spread_log10) {
  static const std::uint32_t kType = hash_name("user type");
  static const std::uint32_t kShift = hash_name("switch-on shift");
  const RandomKey key{seed, hash_name(space_id)};
  Habit habit;
  if (random_uniform(key, {replicate, 0, kType, 0}) < passive_share) habit.type = UserType::passive;
  habit.shift_log10 = spread_log10 * random_normal(key, {replicate, 0, kShift, 0});
  return habit;
}

}  // namespace halflight::people
