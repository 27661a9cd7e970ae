#include "climate/passing_clouds.hpp"

#include "base/random.hpp"
#include "base/units.hpp"
#include "climate/clear_shape.hpp"
#include "climate/diffuse_share.hpp"
#include "climate/short_term_index.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

namespace halflight::climate {

namespace {

constexpr std::size_t kDays = static_cast<std::size_t>(kYear / kDay);
constexpr std::size_t kHoursOfDay = 24;
constexpr std::size_t kHours = kDays * kHoursOfDay;

// Below this the index of a clear sky means little (own choice).
const double kLowestSun = std::sin(5.0 * kRadPerDeg);
// A clear sky is what few hours of the season surpass that have the sun at the same height: within this many
// days and so far from its sine (own choices). The clearest beam is looked for at higher sun.
constexpr std::size_t kSeason_days = 15;
constexpr double kSameSun = 0.1;
constexpr double kShareBelowClear = 0.95;
constexpr double kDarkestClearSky = 0.7;
constexpr double kBrightestClearSky = 1.15;
const double kSunForClearest = std::sin(10.0 * kRadPerDeg);
// Where the sun comes out of clouds no more than this share of the smooth diffuse light is lost (own choice).
constexpr double kLeastDiffuse = 0.5;
constexpr double kLeastIndex = 0.01;

/// Global light of a clear sky on the horizontal, W/m2: B. Haurwitz, Journal of Meteorology 2, 1945, 154-166,
/// and 5, 1948, 110-113.
double clear_global_w_m2(double cos_zenith) {
  return cos_zenith > 0.0 ? 1098.0 * cos_zenith * std::exp(-0.059 / cos_zenith) : 0.0;
}

double global_w_m2(const SmoothStep& step) {
  return step.cos_zenith > 0.0 ? step.diffuse_w_m2 + step.beam_w_m2 * step.cos_zenith : 0.0;
}

/// Beam on the horizontal over what arrives outside the air, by clearness.
double beam_clearness(double clearness) { return clearness * (1.0 - diffuse_share(clearness)); }

/// Sums of one hour without passing clouds.
struct Hour {
  double sun = 0.0;         // mean cosine of the zenith angle, 0 with the sun down
  double index = 0.0;       // global light over a clear sky's; 0 where the sun is too low
  double beam_index = 0.0;  // beam over the clear shape
};

std::vector<Hour> hours_of(std::span<const SmoothStep> steps, std::size_t per_hour) {
  std::vector<Hour> hours(kHours);
  for (std::size_t h = 0; h < kHours; ++h) {
    double global = 0.0, clear = 0.0, beam = 0.0, shape = 0.0;
    for (const SmoothStep& step : steps.subspan(h * per_hour, per_hour)) {
      hours[h].sun += std::max(0.0, step.cos_zenith) / static_cast<double>(per_hour);
      global += global_w_m2(step);
      clear += clear_global_w_m2(step.cos_zenith);
      beam += step.beam_w_m2;
      shape += step.clear_beam_w_m2;
    }
    if (hours[h].sun < kLowestSun) continue;
    hours[h].index = global / clear;
    hours[h].beam_index = beam / shape;
  }
  return hours;
}

/// What the place's own clear sky is in the season about a day.
class ClearSky {
 public:
  ClearSky(const std::vector<Hour>& hours, std::size_t day) {
    for (std::size_t d = day + kDays - kSeason_days; d <= day + kDays + kSeason_days; ++d)
      for (std::size_t i = 0; i < kHoursOfDay; ++i) {
        const Hour& hour = hours[d % kDays * kHoursOfDay + i];
        if (hour.sun < kLowestSun) continue;
        season_.push_back(hour);
        if (hour.sun >= kSunForClearest) beam_index_ = std::max(beam_index_, hour.beam_index);
      }
    beam_index_ = std::min(beam_index_, kClearestBeam);
  }

  /// Over the general clear sky, with the sun as high as in `hour`, which is of the season.
  double index_like(const Hour& hour) {
    alike_.clear();
    for (const Hour& other : season_)
      if (std::abs(other.sun - hour.sun) <= kSameSun) alike_.push_back(other.index);
    const auto at = alike_.begin() +
                    static_cast<std::ptrdiff_t>(kShareBelowClear * static_cast<double>(alike_.size() - 1));
    std::nth_element(alike_.begin(), at, alike_.end());
    return std::clamp(*at, kDarkestClearSky, kBrightestClearSky);
  }
  /// The clearest hour's, over the clear shape.
  [[nodiscard]] double beam_index() const { return beam_index_; }

 private:
  std::vector<Hour> season_;
  std::vector<double> alike_;
  double beam_index_ = 0.0;
};

/// Scores of a day's steps that rise and fall with the memory of the sky: means over the steps of an
/// Ornstein-Uhlenbeck process. Its state x at the end of a step and its mean y over the step are normal,
/// given the state before, with the variances and covariance of the closed form.
std::vector<double> scores_of(std::size_t day, std::size_t steps, Seconds step_s, CloudDraw draw) {
  const double d = static_cast<double>(step_s) / kCloudMemory_s;
  const double kept = std::exp(-d);
  const double lost = -std::expm1(-d);
  const double x_of_last = kept;
  const double y_of_last = lost / d;
  const double x_fresh = std::sqrt(-std::expm1(-2.0 * d));
  const double y_with_x = lost * lost / (d * x_fresh);
  const double y_fresh =
      std::sqrt((2.0 * d - 3.0 + 4.0 * kept - kept * kept) / (d * d) - y_with_x * y_with_x);
  const RandomKey key{draw.seed, hash_name("passing clouds")};
  const std::uint32_t decision = hash_name("score");
  const auto of_day = static_cast<std::uint32_t>(day);
  std::vector<double> scores(steps);
  double x = random_normal(key, {draw.weather_year, of_day, hash_name("midnight"), 0});
  for (std::size_t i = 0; i < steps; ++i) {
    const auto [u, v] =
        random_uniform_pair(key, {draw.weather_year, of_day, decision, static_cast<std::uint32_t>(i)});
    const double fresh = inverse_normal(u);
    scores[i] = y_of_last * x + y_with_x * fresh + y_fresh * inverse_normal(v);
    x = x_of_last * x + x_fresh * fresh;
  }
  return scores;
}

/// The spread that is drawn for an hour, or 0 where its sky is left as it is. `hours`: indices over the
/// place's own clear sky.
double spread_of(const std::vector<Hour>& hours, std::size_t h, Seconds step_s, CloudDraw draw) {
  const double index = hours[h].index;
  constexpr double kDarkest = 0.05;
  constexpr double kBrightest = 1.4;
  if (index < kDarkest || index > kBrightest) return 0.0;
  // Beside an hour of low sun nothing is known of the sky.
  const auto beside = [&](std::size_t other) {
    const double found = hours[other % kHours].index;
    return found > 0.0 ? found : index;
  };
  const double expected = expected_spread(index, hour_to_hour(beside(h + kHours - 1), index, beside(h + 1)));
  const RandomKey key{draw.seed, hash_name("passing clouds")};
  const double share =
      random_uniform(key, {draw.weather_year, static_cast<std::uint32_t>(h / kHoursOfDay),
                           hash_name("spread"), static_cast<std::uint32_t>(h % kHoursOfDay)});
  return std::min(spread_of_steps(drawn_spread(expected, share), index, step_s), kMostSpread);
}

/// What fills `most` up to a common multiple of `wanted`, each no further than its limit, so that the sum is
/// `total`, which the limits allow.
void fill(std::span<const double> wanted, std::span<const double> most, double total, std::span<double> out) {
  std::fill(out.begin(), out.end(), 0.0);
  std::vector<bool> full(wanted.size(), false);
  double left = total;
  for (bool more = true; more;) {
    more = false;
    double sum = 0.0;
    for (std::size_t i = 0; i < wanted.size(); ++i)
      if (!full[i]) sum += wanted[i];
    const double times = sum > 0.0 ? left / sum : 0.0;
    for (std::size_t i = 0; i < wanted.size(); ++i) {
      if (full[i]) continue;
      out[i] = times * wanted[i];
      if (out[i] <= most[i]) continue;
      out[i] = most[i];
      left -= most[i];
      full[i] = true;
      more = true;
    }
  }
}

/// One hour's clouds; `scores` give the order of its steps.
void pass(std::span<const SmoothStep> steps, std::span<const double> scores, double index, double spread,
          double clearest_beam, std::span<CloudFactors> factors) {
  std::vector<std::size_t> lit;
  for (std::size_t i = 0; i < steps.size(); ++i)
    if (steps[i].cos_zenith > 0.0) lit.push_back(i);
  const std::size_t n = lit.size();
  std::vector<std::size_t> rising(n);
  std::iota(rising.begin(), rising.end(), std::size_t{0});
  std::sort(rising.begin(), rising.end(),
            [&](std::size_t a, std::size_t b) { return scores[lit[a]] < scores[lit[b]]; });
  std::vector<double> indices(n);
  ShortTermIndex(index, spread).quantiles(indices);

  // Global light of the steps, with the hour's sum.
  std::vector<double> global(n);
  double smooth_sum = 0.0, sum = 0.0;
  for (std::size_t rank = 0; rank < n; ++rank) {
    const double smooth = global_w_m2(steps[lit[rising[rank]]]);
    global[rising[rank]] = smooth * std::max(indices[rank], kLeastIndex) / index;
    smooth_sum += smooth;
    sum += global[rising[rank]];
  }
  for (double& g : global) g *= smooth_sum / sum;

  std::vector<double> wanted(n), most(n), beam(n), diffuse(n);
  double beam_sum = 0.0, diffuse_sum = 0.0;
  for (std::size_t i = 0; i < n; ++i) {
    const SmoothStep& step = steps[lit[i]];
    const double outside = step.outside_w_m2 * step.cos_zenith;
    wanted[i] =
        step.beam_w_m2 * beam_clearness(global[i] / outside) / beam_clearness(global_w_m2(step) / outside);
    most[i] = std::max(clearest_beam * step.clear_beam_w_m2, step.beam_w_m2);
    beam_sum += step.beam_w_m2;
    diffuse_sum += step.diffuse_w_m2;
  }
  fill(wanted, most, beam_sum, beam);
  double left_over = 0.0;
  for (std::size_t i = 0; i < n; ++i) {
    const SmoothStep& step = steps[lit[i]];
    diffuse[i] = std::max(global[i] - beam[i] * step.cos_zenith, kLeastDiffuse * step.diffuse_w_m2);
    left_over += diffuse[i];
  }
  for (std::size_t i = 0; i < n; ++i) {
    const SmoothStep& step = steps[lit[i]];
    if (step.beam_w_m2 > 0.0) factors[lit[i]].beam = beam[i] / step.beam_w_m2;
    if (step.diffuse_w_m2 > 0.0)
      factors[lit[i]].diffuse = diffuse[i] * diffuse_sum / left_over / step.diffuse_w_m2;
  }
}

}  // namespace

std::vector<CloudFactors> passing_clouds(std::span<const SmoothStep> steps, Seconds step_s, CloudDraw draw) {
  assert(step_s > 0 && step_s <= kIndexStep && kHour % step_s == 0);
  const auto per_hour = static_cast<std::size_t>(kHour / step_s);
  assert(steps.size() == kHours * per_hour);
  const std::vector<Hour> found = hours_of(steps, per_hour);
  std::vector<Hour> hours = found;
  std::vector<double> clearest_beam(kDays);
  for (std::size_t day = 0; day < kDays; ++day) {
    ClearSky clear(found, day);
    clearest_beam[day] = clear.beam_index();
    for (std::size_t h = day * kHoursOfDay; h < (day + 1) * kHoursOfDay; ++h)
      if (hours[h].index > 0.0) hours[h].index /= clear.index_like(found[h]);
  }
  std::vector<CloudFactors> factors(steps.size());
  for (std::size_t day = 0; day < kDays; ++day) {
    const std::vector<double> scores = scores_of(day, kHoursOfDay * per_hour, step_s, draw);
    for (std::size_t i = 0; i < kHoursOfDay; ++i) {
      const std::size_t h = day * kHoursOfDay + i;
      const double spread = spread_of(hours, h, step_s, draw);
      constexpr double kSteady = 0.002;
      if (spread < kSteady) continue;
      pass(steps.subspan(h * per_hour, per_hour), std::span(scores).subspan(i * per_hour, per_hour),
           hours[h].index, spread, clearest_beam[day], std::span(factors).subspan(h * per_hour, per_hour));
    }
  }
  return factors;
}

}  // namespace halflight::climate
