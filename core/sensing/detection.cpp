#include "sensing/detection.hpp"

#include "base/poisson.hpp"
#include "base/time_axis.hpp"
#include "sensing/seats.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <string_view>

namespace halflight::sensing {

namespace {

using domain::OccupancySensor;
using domain::Space;

/// How presence is looked at: in cells of time, of people who are noticed within a range of rates. Where two
/// neighbouring cells both hold a movement, the gap between them is shorter than two cells.
struct Look {
  Seconds cell_s = 60;
  bool every_movement = false;  // else the first and the last of each run of cells that hold one
  double from_per_s = 0.0;
  double below_per_s = std::numeric_limits<double>::infinity();
};
/// Of people who are noticed as often as this, as while they walk, cells cost fewer draws than movements.
constexpr Seconds kShortCell_s = 5;
constexpr double kQuick_per_s = 1.0 / kShortCell_s;
constexpr Look kQuickOnes{kShortCell_s, false, kQuick_per_s};
constexpr Look kSlowOnes{60, true, 0.0, kQuick_per_s};
/// Movements of one cell are asked for by cell and number: more than anybody makes in it.
constexpr std::uint32_t kMovementsPerCell = 1024;
/// A chance of exp(-24) is below the resolution of a draw.
constexpr double kCertain = 24.0;

struct Chances {
  double minor = 0.0;
  double major = 0.0;
};
/// Sums over sensors: each looks at the same movement on its own.
Chances chances_at(std::span<const Sight> sights, Point2 at) {
  Chances sum;
  for (const Sight& sight : sights) {
    sum.minor += sight.chance(Motion::minor, at);
    sum.major += sight.chance(Motion::major, at);
  }
  return sum;
}

double per_min(const Movements& movements, const Chances& chances) {
  return movements.minor * chances.minor + movements.major * chances.major;
}

/// Busy or still through the days of one person, whether or not anybody sees it.
class Bouts {
 public:
  Bouts(const Watched& person, std::uint32_t replicate)
      : activity_(person.activity), series_(person.key, replicate, hash_name("busy or still")) {}

  /// Whether the person is busy at `t`; `until`: when that changes. `t` must not go back.
  bool busy_at(double t, double& until) {
    if (activity_.still_min <= 0.0) {
      until = std::numeric_limits<double>::infinity();
      return true;
    }
    const auto day = static_cast<std::uint32_t>(t / static_cast<double>(kDay));
    if (day != day_) begin_day(day);
    while (until_ <= t) next_bout();
    until = until_;
    return busy_;
  }

 private:
  void begin_day(std::uint32_t day) {
    day_ = day;
    number_ = 0;
    // In balance from the first second of the day.
    const double share = activity_.busy_min / (activity_.busy_min + activity_.still_min);
    busy_ = !(series_.at(day_, number_++) < share);
    until_ = static_cast<double>(day_) * static_cast<double>(kDay);
    next_bout();
  }
  void next_bout() {
    busy_ = !busy_;
    const double mean_min = busy_ ? activity_.busy_min : activity_.still_min;
    until_ -= 60.0 * mean_min * std::log(series_.at(day_, number_++));
  }

  const Activity& activity_;
  RandomSeries series_;
  std::uint32_t day_ = ~0U;
  std::uint32_t number_ = 0;
  bool busy_ = true;
  double until_ = 0.0;
};

/// A stretch of time in which a person is noticed at an even rate.
struct Stretch {
  double begin = 0.0;
  double end = 0.0;
  double per_s = 0.0;
};

/// What a cell of time holds of a person: how often she would be noticed on average, and when.
class Cell {
 public:
  void clear(Seconds number) {
    number_ = number;
    expected_ = 0.0;
    stretches_.clear();
  }
  void add(const Stretch& s) {
    if (s.end <= s.begin || s.per_s <= 0.0) return;
    stretches_.push_back(s);
    expected_ += (s.end - s.begin) * s.per_s;
  }
  [[nodiscard]] Seconds number() const { return number_; }
  [[nodiscard]] double expected() const { return expected_; }
  /// When the expected number of notices since the beginning of the cell comes to `sum`.
  [[nodiscard]] Seconds when(double sum) const {
    for (const Stretch& s : stretches_) {
      const double part = (s.end - s.begin) * s.per_s;
      if (sum <= part) return static_cast<Seconds>(s.begin + sum / s.per_s);
      sum -= part;
    }
    return static_cast<Seconds>(std::nextafter(stretches_.back().end, 0.0));
  }

 private:
  Seconds number_ = -1;
  double expected_ = 0.0;
  std::vector<Stretch> stretches_;
};

/// Goes through the cells of one person and keeps when something was noticed.
class Notices {
 public:
  /// `known`: whole cells that need no looking at, since others have been noticed before and after them.
  Notices(const Watched& person, std::uint32_t replicate, const Look& look, const IntervalSet& known,
          std::vector<Interval>& found)
      : person_(person),
        replicate_(replicate),
        known_(known.intervals().begin()),
        known_end_(known.intervals().end()),
        look_(look),
        cells_per_day_(static_cast<std::uint32_t>(kDay / look.cell_s)),
        nothing_(person.key, replicate, named("noticed in the cell")),
        first_(person.key, replicate, named("first movement of the cell")),
        last_(person.key, replicate, named("last movement of the cell")),
        next_(person.key, replicate, named("next movement of the cell")),
        bouts_(person, replicate),
        found_(found) {}

  void run() {
    for (const Interval& stay : person_.stays->intervals()) go_through(stay);
    close_cell();
    close_run();
  }

 private:
  /// Of draws: two looks that share a person's days share none.
  [[nodiscard]] std::uint32_t named(std::string_view draw) const {
    return hash_name(draw) + (look_.cell_s == kShortCell_s ? 1U : 0U);
  }

  void go_through(const Interval& stay) {
    if (after_known(static_cast<double>(stay.begin)) >= static_cast<double>(stay.end)) return;
    const NoticeRates& rates =
        person_.places[place_of_stay(person_.key, replicate_, stay.begin, person_.places.size())];
    const auto begin = static_cast<double>(stay.begin);
    const auto end = static_cast<double>(stay.end);
    const double way = std::min(rates.way_s, 0.5 * (end - begin));
    pass(begin, begin + way, rates.walking_per_s);
    for (double t = begin + way; t < end - way;) {
      t = after_known(t);
      if (t >= end - way) break;
      double until = 0.0;
      const bool busy = bouts_.busy_at(t, until);
      until = std::min(until, end - way);
      pass(t, until, (busy ? rates.busy_per_min : rates.still_per_min) / 60.0);
      t = until;
    }
    pass(end - way, end, rates.walking_per_s);
  }

  /// `t`, or the end of the known cells that it lies in. Must not be asked to go back.
  [[nodiscard]] double after_known(double t) {
    while (known_ != known_end_ && static_cast<double>(known_->end) <= t) ++known_;
    const bool inside = known_ != known_end_ && static_cast<double>(known_->begin) <= t;
    return inside ? static_cast<double>(known_->end) : t;
  }

  /// An even stretch, cut into cells.
  void pass(double from, double to, double per_s) {
    if (per_s < look_.from_per_s || per_s >= look_.below_per_s) return;
    for (from = after_known(from); from < to; from = after_known(from)) {
      const auto number = static_cast<Seconds>(from) / look_.cell_s;
      const double until = std::min(to, static_cast<double>((number + 1) * look_.cell_s));
      if (number != cell_.number()) {
        close_cell();
        cell_.clear(number);
      }
      cell_.add({from, until, per_s});
      from = until;
    }
  }

  [[nodiscard]] std::uint32_t day_of(const Cell& cell) const {
    return static_cast<std::uint32_t>(cell.number()) / cells_per_day_;
  }
  [[nodiscard]] std::uint32_t slot_of(const Cell& cell) const {
    return static_cast<std::uint32_t>(cell.number()) % cells_per_day_;
  }

  void close_cell() {
    if (cell_.number() < 0 || cell_.expected() <= 0.0) return;
    if (cell_.expected() < kCertain && nothing_.at(day_of(cell_), slot_of(cell_)) < chance_of_nothing())
      return;
    if (look_.every_movement) {
      add_every_movement();
      return;
    }
    if (run_begin_ < 0 || cell_.number() != before_.number() + 1) {
      close_run();
      first_sum_ = first_sum();
      run_begin_ = cell_.when(first_sum_);
    } else {
      first_sum_ = -1.0;
    }
    std::swap(before_, cell_);
    cell_.clear(-1);
  }

  /// Most cells expect what the one before did.
  [[nodiscard]] double chance_of_nothing() {
    if (cell_.expected() != expected_) {
      expected_ = cell_.expected();
      of_nothing_ = std::exp(-expected_);
    }
    return of_nothing_;
  }

  /// Where the first of at least one movement lies: an exponential, cut at the whole.
  [[nodiscard]] double first_sum() {
    const double u = first_.at(day_of(cell_), slot_of(cell_));
    return -std::log1p(-u * -std::expm1(-cell_.expected()));
  }

  void add_every_movement() {
    double sum = first_sum();
    for (std::uint32_t k = 0; sum < cell_.expected(); ++k) {
      const Seconds at = cell_.when(sum);
      found_.push_back({at, at + 1});
      sum -= std::log(next_.at(day_of(cell_), slot_of(cell_) * kMovementsPerCell + k));
    }
  }

  /// Ends a run of cells with movements at the last one of its last cell.
  void close_run() {
    if (run_begin_ < 0) return;
    const double u = last_.at(day_of(before_), slot_of(before_));
    const double whole = before_.expected();
    // Counted back from the end of the cell. Where the first movement is known, no other may follow it.
    const double back =
        first_sum_ < 0.0 ? -std::log1p(-u * -std::expm1(-whole)) : std::min(-std::log(u), whole - first_sum_);
    found_.push_back({run_begin_, before_.when(whole - back) + 1});
    run_begin_ = -1;
  }

  const Watched& person_;
  std::uint32_t replicate_;
  std::vector<Interval>::const_iterator known_;
  std::vector<Interval>::const_iterator known_end_;
  Look look_;
  std::uint32_t cells_per_day_;
  RandomSeries nothing_;
  RandomSeries first_;
  RandomSeries last_;
  RandomSeries next_;
  Bouts bouts_;
  std::vector<Interval>& found_;
  Cell cell_;
  Cell before_;  // the last cell of the run
  double expected_ = 0.0;
  double of_nothing_ = 1.0;
  Seconds run_begin_ = -1;   // before 0: no run
  double first_sum_ = -1.0;  // of `before_`, where it is the first of its run
};

/// Gaps shorter than `gap` are filled.
std::vector<Interval> filled(const IntervalSet& found, Seconds gap) {
  std::vector<Interval> runs;
  for (const Interval& interval : found.intervals())
    if (!runs.empty() && interval.begin - runs.back().end < gap)
      runs.back().end = interval.end;
    else
      runs.push_back(interval);
  return runs;
}

/// The cells that lie between the first and the last cell of each interval; gaps shorter than `gap` are
/// filled.
IntervalSet inner_cells(const IntervalSet& found, Seconds gap, Seconds cell) {
  std::vector<Interval> inner;
  for (const Interval& run : filled(found, gap)) {
    const Seconds first = (run.begin / cell + 1) * cell;
    const Seconds last = (run.end - 1) / cell * cell;
    if (first < last) inner.push_back({first, last});
  }
  return IntervalSet(std::move(inner));
}

/// Whoever comes after others is looked at where those left gaps.
IntervalSet noticed_in_gaps(std::span<const Watched> people, std::uint32_t replicate, const Look& look) {
  IntervalSet all;
  for (const Watched& person : people) {
    std::vector<Interval> found;
    const IntervalSet known = inner_cells(all, look.cell_s, look.cell_s);
    Notices(person, replicate, look, known, found).run();
    all = united(all, IntervalSet(std::move(found)));
  }
  return all;
}

/// `known`: as of Notices.
IntervalSet every_movement(std::span<const Watched> people, std::uint32_t replicate, const Look& look,
                           const IntervalSet& known) {
  std::vector<IntervalSet> each;
  for (const Watched& person : people) {
    std::vector<Interval> found;
    Notices(person, replicate, look, known, found).run();
    each.emplace_back(std::move(found));
  }
  return united(each);
}

}  // namespace

Activity seated_activity() { return {{2.0, 0.15}, {0.2, 0.02}, 20.0, 8.0}; }
Activity standing_activity() { return {{4.0, 4.0}, {4.0, 4.0}, 20.0, 0.0}; }
Activity sleeping_activity() { return {{2.0 / 60.0, 0.0}, {2.0 / 60.0, 0.0}, 20.0, 0.0}; }

NoticeRates notice_rates(std::span<const Sight> sights, const Space& space, const Activity& activity,
                         Point2 place) {
  const Chances here = chances_at(sights, place);
  const Point2 door = way_in(space, place);
  const double way_m = length(place - door);
  constexpr int kPoints = 8;
  double major = 0.0;
  for (int k = 0; k < kPoints; ++k)
    major += chances_at(sights, door + ((k + 0.5) / kPoints) * (place - door)).major / kPoints;
  return {per_min(activity.busy, here), per_min(activity.still, here), kWalkedCells_per_s * major,
          way_m / kWalk_m_s};
}

NoticeRates notice_rates_about(std::span<const Sight> sights, const Space& space) {
  const std::vector<Point2> floor = floor_points(space);
  double major = 0.0;
  for (const Point2 p : floor) major += chances_at(sights, p).major / static_cast<double>(floor.size());
  const double per_s = kWalkedCells_per_s * major;
  return {60.0 * per_s, 60.0 * per_s, per_s, 0.0};
}

double unnoticed_per_hour(const Activity& activity, const NoticeRates& rates, double delay_s) {
  const double tau = delay_s / 60.0;
  const double b = rates.busy_per_min;
  const double s = rates.still_per_min;
  if (activity.still_min <= 0.0) return 60.0 * b * std::exp(-b * tau);
  const double to_still = 1.0 / activity.busy_min;
  const double to_busy = 1.0 / activity.still_min;
  // A = [-(b + to_still), to_still; to_busy, -(s + to_busy)]; its exponential by its two eigenvalues, which
  // are real and differ, since to_still to_busy > 0.
  const double a11 = -(b + to_still);
  const double a22 = -(s + to_busy);
  const double half = 0.5 * (a11 - a22);
  const double root = std::sqrt(half * half + to_still * to_busy);
  const double slow = 0.5 * (a11 + a22) + root;
  const double fast = slow - 2.0 * root;
  const double e_slow = std::exp(slow * tau);
  const double e_fast = std::exp(fast * tau);
  // expm(A tau) [1, 1] = e_slow v_slow + e_fast v_fast with [1, 1] split along the eigenvectors.
  const auto left = [&](double a_own, double to_other) {
    // Row of (A [1, 1] - fast [1, 1]) / (slow - fast), and the rest.
    const double row = a_own + to_other;
    const double along_slow = (row - fast) / (slow - fast);
    return e_slow * along_slow + e_fast * (1.0 - along_slow);
  };
  const double whole = activity.busy_min + activity.still_min;
  return 60.0 * (activity.busy_min * b * left(a11, to_still) + activity.still_min * s * left(a22, to_busy)) /
         whole;
}

std::size_t place_of_stay(RandomKey key, std::uint32_t replicate, Seconds stay_begin, std::size_t places) {
  static const std::uint32_t kPlace = hash_name("place of the stay");
  if (places <= 1) return 0;
  const double u = random_uniform(key, {replicate, static_cast<std::uint32_t>(stay_begin / kDay), kPlace,
                                        static_cast<std::uint32_t>(stay_begin % kDay)});
  return static_cast<std::size_t>(u * static_cast<double>(places));
}

Grain grain_for(double answered_s) {
  if (answered_s >= 600.0) return Grain::ten_minutes;
  if (answered_s >= 120.0) return Grain::two_minutes;
  return answered_s >= 2.0 * kShortCell_s ? Grain::ten_seconds : Grain::every_movement;
}

IntervalSet noticed(std::span<const Watched> people, std::uint32_t replicate, Grain grain) {
  switch (grain) {
    case Grain::every_movement:
      break;
    case Grain::ten_seconds: {
      const IntervalSet quick = noticed_in_gaps(people, replicate, kQuickOnes);
      const IntervalSet known = inner_cells(quick, kShortCell_s, kSlowOnes.cell_s);
      return IntervalSet(
          filled(united(quick, every_movement(people, replicate, kSlowOnes, known)), kShortCell_s));
    }
    case Grain::two_minutes:
      return noticed_in_gaps(people, replicate, {60});
    case Grain::ten_minutes:
      return noticed_in_gaps(people, replicate, {300});
  }
  return every_movement(people, replicate, {60, true}, {});
}

IntervalSet false_reports(const OccupancySensor& sensor, std::uint32_t seed, std::uint32_t replicate,
                          double more_a_day) {
  using Technology = OccupancySensor::Technology;
  static const std::uint32_t kCount = hash_name("false reports of the day");
  static const std::uint32_t kWhen = hash_name("time of a false report");
  const bool by_volume =
      sensor.technology == Technology::ultrasonic || sensor.technology == Technology::microwave;
  const double a_day = (by_volume ? 0.5 : 0.2) + more_a_day;
  const RandomKey key{seed, hash_name(sensor.id)};
  std::vector<Interval> found;
  const Poisson reports(a_day);
  for (std::uint32_t day = 0; day < static_cast<std::uint32_t>(kYear / kDay); ++day) {
    const int count = reports.at(random_uniform(key, {replicate, day, kCount, 0}));
    for (int n = 0; n < count; ++n) {
      const double at = random_uniform(key, {replicate, day, kWhen, static_cast<std::uint32_t>(n)});
      const Seconds t =
          static_cast<Seconds>(day) * kDay + static_cast<Seconds>(at * static_cast<double>(kDay));
      found.push_back({t, t + 1});
    }
  }
  return IntervalSet(std::move(found));
}

}  // namespace halflight::sensing
