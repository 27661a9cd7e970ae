#include "sim/faults.hpp"

#include "base/random.hpp"
#include "domain/names.hpp"
#include "sim/space_year.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

// Magnitudes are assumptions, but for what their lines name.
constexpr double kFactoryDelay_s = 1800.0;  // the longest delay that model codes have allowed (90.1-2010)
constexpr double kTestDelay_s = 15.0;       // a delay for walking tests, left on
constexpr double kFalseReportsADay = 5.0;
constexpr double kReportsLost = 0.3;
constexpr double kClockFast_s = 3600.0;
constexpr double kGainTooStrong = 1.5;
constexpr double kGainTooWeak = 0.5;

/// Chances that a system is found with a fault. Daylight: 64 of 123 side-lit spaces saved nothing (field
/// study of 2005). The others are assumptions: no survey with figures was found.
struct Frequency {
  static constexpr double factory_delay = 0.10;
  static constexpr double test_delay = 0.02;
  static constexpr double automatic_on = 0.10;
  static constexpr double covered_sensor = 0.03;  // each
  static constexpr double lost_reports = 0.05;
  static constexpr double false_reports = 0.05;
  static constexpr double fast_clock = 0.05;
  static constexpr double unknown_holidays = 0.20;
  static constexpr double held_on = 0.02;
  static constexpr double lost_trim = 0.20;
  static constexpr double disabled_photosensors = 0.52;
  static constexpr double strong_gain = 0.05;
  static constexpr double weak_gain = 0.10;
  static constexpr double swapped_groups = 0.03;
};
/// Chance that whoever loses the light has the sensor overridden or taken out of work for it, each time. An
/// assumption: that people do so is known, how soon is not. At the most that is called acceptable
/// (kMostTaken_per_h, some 100 times a year of office hours) a tenth of the rooms is without.
constexpr double kOverriddenPerLoss = 0.001;

/// Adds faults to a list, each a change of the proposal, alone or after others.
class Catalogue {
 public:
  explicit Catalogue(const SpaceModel& model) : model_(model), sound_(way_of_proposal(model)) {}

  void add(std::string id, std::string name, double frequency, std::function<void(Way&)> befall) {
    faults_.push_back({std::move(id), std::move(name), frequency, 0.0, std::move(befall)});
  }

  void of_occupancy() {
    const domain::Sequence& sequence = sound_.sequence;
    using By = domain::OnRule::By;
    if (sequence.vacancy && sequence.vacancy->delay_s < kFactoryDelay_s)
      add("delay-left-at-its-factory-value",
          fmt::format("vacancy delay left at {:.0f} min", kFactoryDelay_s / 60.0), Frequency::factory_delay,
          [](Way& way) {
            if (way.sequence.vacancy) way.sequence.vacancy->delay_s = kFactoryDelay_s;
          });
    if (sequence.vacancy && sequence.vacancy->delay_s > kTestDelay_s)
      add("delay-left-in-test",
          fmt::format("vacancy delay left at {:.0f} s after the walking test", kTestDelay_s),
          Frequency::test_delay, [](Way& way) {
            if (!way.sequence.vacancy) return;
            way.sequence.vacancy->delay_s = kTestDelay_s;
            way.sequence.vacancy->warning_s = 0.0;
          });
    const bool people_decide =
        sequence.on.by == By::hand || (sequence.on.by == By::occupancy && sequence.on.level < 1.0);
    const std::size_t proposal = design_index(model_, domain::Design::Role::proposal);
    const Watch* all = model_.watched.watch_of(proposal, "");
    if (all == nullptr) return;
    if (people_decide && sequence.vacancy)
      add("automatic-on-in-place-of-hands", "movement switches everything on where people should decide",
          Frequency::automatic_on, [](Way& way) {
            way.sequence.on = {By::occupancy, 1.0, way.sequence.on.fade_s};
          });
    if (!sequence.vacancy && sequence.on.by != By::occupancy) return;
    for (const domain::OccupancySensor* sensor : all->sensors)
      add("covered-sensor/" + sensor->id,
          fmt::format("{} covered, or behind what has been put up since",
                      domain::named(sensor->tag, sensor->id)),
          Frequency::covered_sensor, [sensor](Way& way) { way.installed.sensors.covered = sensor; });
    if (std::any_of(all->sensors.begin(), all->sensors.end(), [](const domain::OccupancySensor* sensor) {
          return sensor->link == domain::Link::radio;
        }))
      add("reports-lost-by-radio",
          fmt::format("{:.0f} % of what radio sensors report is lost", 100.0 * kReportsLost),
          Frequency::lost_reports, [](Way& way) { way.installed.sensors.radio_reports_lost = kReportsLost; });
    if (sequence.on.by == By::occupancy)
      add("reports-without-cause",
          fmt::format("each sensor reports {:.0f} times a day without cause, beside moving air",
                      kFalseReportsADay),
          Frequency::false_reports,
          [](Way& way) { way.installed.sensors.more_false_reports_a_day = kFalseReportsADay; });
  }

  void of_annoyance() {
    if (!sound_.sequence.vacancy ||
        model_.watched.watch_of(design_index(model_, domain::Design::Role::proposal), "") == nullptr)
      return;
    add("sensors-out-of-work", "sensors taken out of work by people who lost the light: switched by hand",
        0.0, [](Way& way) {
          using By = domain::OnRule::By;
          way.sequence.vacancy.reset();
          if (way.sequence.on.by == By::occupancy) way.sequence.on = {By::hand, 1.0, way.sequence.on.fade_s};
        });
    faults_.back().per_loss = kOverriddenPerLoss;
  }

  void of_clock() {
    const domain::Sequence& sequence = sound_.sequence;
    if (!sequence.schedule) return;
    add("clock-an-hour-fast", "clock an hour fast, as when summer time is not taken off",
        Frequency::fast_clock, [](Way& way) { way.installed.clock_fast_s = kClockFast_s; });
    const domain::Calendar* calendar =
        domain::find_by_id(model_.project->calendars, sequence.schedule->calendar);
    if (calendar != nullptr && !calendar->holidays.empty())
      add("holidays-not-entered", "the clock knows no holidays", Frequency::unknown_holidays,
          [](Way& way) { way.installed.holidays_unknown = true; });
  }

  void of_hands() {
    add("held-on", "an override holds the light on day and night", Frequency::held_on, [](Way& way) {
      way.sequence.on = {domain::OnRule::By::always, 1.0, way.sequence.on.fade_s};
      way.sequence.vacancy.reset();
      way.sequence.schedule.reset();
    });
  }

  void of_light() {
    const domain::Sequence& sequence = sound_.sequence;
    if (sequence.trim)
      add("trim-lost", "high-end trim lost: full output", Frequency::lost_trim,
          [](Way& way) { way.sequence.trim.reset(); });
    if (sequence.daylight.empty() || !model_.lit->has_daylight()) return;
    add("photosensors-disabled",
        "photosensors disabled, as half of the side-lit systems of a field study were",
        Frequency::disabled_photosensors, [](Way& way) { way.sequence.daylight.clear(); });
    add("photosensor-gain-too-strong",
        fmt::format("photosensors dim {:.1f} times as much as set", kGainTooStrong), Frequency::strong_gain,
        [](Way& way) { way.installed.loops.gain = kGainTooStrong; });
    add("photosensor-gain-too-weak",
        fmt::format("photosensors dim {:.1f} times as much as set", kGainTooWeak), Frequency::weak_gain,
        [](Way& way) { way.installed.loops.gain = kGainTooWeak; });
    if (sequence.daylight.size() >= 2)
      add("daylight-groups-swapped", "the first two daylight groups are wired to one another's photosensor",
          Frequency::swapped_groups, [](Way& way) { way.installed.loops.first_two_swapped = true; });
  }

  [[nodiscard]] std::vector<Fault> take() { return std::move(faults_); }

 private:
  const SpaceModel& model_;
  Way sound_;
  std::vector<Fault> faults_;
};

}  // namespace

std::vector<Fault> faults_of(const SpaceModel& model) {
  if (!model.proposal_has_devices) return {};
  Catalogue catalogue(model);
  catalogue.of_occupancy();
  catalogue.of_annoyance();
  catalogue.of_clock();
  catalogue.of_hands();
  catalogue.of_light();
  return catalogue.take();
}

std::vector<FaultRun> fault_runs(Replicate& replicate, const std::vector<Fault>& faults) {
  std::vector<FaultRun> runs;
  if (faults.empty()) return runs;
  const auto run = [&](const Way& way) {
    FaultRun one{replicate.evaluate(way), 0.0};
    for (const RuleYear& rule : rule_years(replicate, way)) one.under_lit_h += rule.under_h;
    runs.push_back(one);
  };
  const Way sound = way_of_proposal(replicate.model());
  for (const Fault& fault : faults) {
    Way way = sound;
    fault.befall(way);
    run(way);
  }
  run(sound);
  return runs;
}

Way usually_found(const SpaceModel& model, const std::vector<Fault>& faults, std::uint32_t replicate,
                  double losses) {
  const RandomKey key{model.seed, hash_name(model.space->id + "/faults")};
  Way way = way_of_proposal(model);
  for (const Fault& fault : faults) {
    const double spared = (1.0 - fault.frequency) * std::pow(1.0 - fault.per_loss, losses);
    if (random_uniform(key, {replicate, 0, hash_name(fault.id), 0}) < 1.0 - spared) fault.befall(way);
  }
  return way;
}

}  // namespace halflight::sim
