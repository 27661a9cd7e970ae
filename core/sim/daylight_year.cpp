#include "sim/daylight_year.hpp"

#include "base/random.hpp"
#include "sim/daylight_lines.hpp"

#include <algorithm>
#include <cstring>
#include <span>

namespace halflight::sim {

SunnySteps sunny_steps(const climate::SunTrack& track, std::uint32_t seed) {
  SunnySteps sunny;
  sunny.index_of_step.assign(kSteps, -1);
  const RandomKey key{seed, hash_name("sun within the step")};
  for (std::size_t k = 0; k < kSteps; ++k) {
    const auto begin = static_cast<Seconds>(k) * kStep_s;
    if (track.at(begin + kStep_s / 2).direction.z <= 0.0) continue;
    const auto within = static_cast<Seconds>(random_uniform(key, {0, static_cast<std::uint32_t>(k / 288), 0,
                                                                  static_cast<std::uint32_t>(k % 288)}) *
                                             static_cast<double>(kStep_s));
    const climate::SunInstant sun = track.at(begin + within);
    sunny.index_of_step[k] = static_cast<std::int32_t>(sunny.step.size());
    if (sunny.runs.empty() || sunny.runs.back().end != begin)
      sunny.runs.push_back({begin, begin, sunny.step.size()});
    sunny.runs.back().end = begin + kStep_s;
    sunny.step.push_back(static_cast<std::uint32_t>(k));
    sunny.sun.push_back(sun.direction);
  }
  return sunny;
}

namespace {

Hash key_of(const DaylightLine& line, const climate::SkyDivision& sky, const Hash& sky_key,
            std::size_t instants) {
  KeyBuilder key;
  key.add("a row of daylight through a year").add(sky_key);
  add_to_key(*line.law, *line.outside, sky, key);
  line.outside->add_to_key(key);
  key.add(std::span<const float>(line.sources.data(), static_cast<std::size_t>(line.sources.size())));
  key.add(std::span<const float>(line.reflected, sky.size()));
  key.add(line.descending).add(line.rising);
  key.add(line.outward.x).add(line.outward.y).add(line.outward.z);
  key.add(std::span<const float>(line.sun_share, instants));
  key.add(std::span<const float>(line.sun_on_group, instants));
  return key.key();
}

/// Runs the lines that the scratch store does not hold; the others are filled in from it.
BeamYear run_or_fetch(const domain::Project& project, const climate::SkyDivision& sky,
                      const climate::WeatherTrack& weather, const DaylitInstants& instants,
                      std::vector<DaylightLine>& lines, const std::vector<Hash>& keys, const Hash& sky_key,
                      const Context& context) {
  if (context.scratch == nullptr) return run_lines(project, sky, weather, instants, lines, context);
  const std::size_t count = instants.middle.size();
  const auto fetch = [&](const Hash& key, auto* into) {
    const auto blob = context.scratch->get(key);
    if (!blob || blob->size() != count * sizeof(*into)) return false;
    std::memcpy(into, blob->data(), blob->size());
    return true;
  };
  const auto keep = [&](const Hash& key, const auto* values) {
    context.scratch->put(key, std::as_bytes(std::span(values, count)));
  };
  const Hash beam_key = KeyBuilder().add("beam through a year").add(sky_key).key();
  BeamYear beam{std::vector<double>(count), std::vector<double>(count)};
  const bool has_beam = fetch(beam_key, beam.w_m2.data());
  std::vector<DaylightLine> missing;
  std::vector<Hash> missing_keys;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (fetch(keys[i], lines[i].out)) continue;
    missing.push_back(std::move(lines[i]));
    missing_keys.push_back(keys[i]);
  }
  if (has_beam && missing.empty()) return beam;
  beam = run_lines(project, sky, weather, instants, missing, context);
  keep(beam_key, beam.w_m2.data());
  for (std::size_t i = 0; i < missing.size(); ++i) keep(missing_keys[i], missing[i].out);
  return beam;
}

/// Lines through a year, gathered row by row.
class YearLines {
 public:
  YearLines(const climate::SkyDivision& sky, const SunnySteps& sunny, const Context& context,
            const Hash& sky_key)
      : sky_(sky), context_(context), sky_key_(sky_key), count_(sunny.step.size()) {
    for (std::size_t i = 0; i < count_; ++i)
      instants_.add(static_cast<Seconds>(sunny.step[i]) * kStep_s + kStep_s / 2, sunny.sun[i]);
  }

  /// A row of `owner`, whoever receives its light in the end. All must stay where they are until `run`.
  void add_row(const LitSpace& owner, const SpaceLaws& its_laws, const daylight::Outside& outside,
               const lightresponse::PointRows& rows, const lightresponse::SunlitShares& sun,
               RowSeries& series) {
    series.resize(owner.scene.window_groups.size());
    for (std::size_t g = 0; g < series.size(); ++g) {
      series[g].reflected_share = reflected_share(rows, 0, g, outside);
      const auto add_state = [&](const daylight::OpeningLaw& law, std::vector<float>& out) {
        out.assign(count_, 0.0F);
        lines_.emplace_back(owner, rows, sun, owner.sun_on_groups, 0, g, law, outside, out.data());
        if (context_.scratch != nullptr) keys_.push_back(key_of(lines_.back(), sky_, sky_key_, count_));
      };
      add_state(its_laws.open[g], series[g].open);
      if (its_laws.has_shade[g]) add_state(its_laws.drawn[g], series[g].drawn);
    }
  }

  [[nodiscard]] bool empty() const { return lines_.empty(); }
  BeamYear run(const domain::Project& project, const climate::WeatherTrack& weather) {
    return run_or_fetch(project, sky_, weather, instants_, lines_, keys_, sky_key_, context_);
  }

 private:
  const climate::SkyDivision& sky_;
  const Context& context_;
  const Hash& sky_key_;
  std::size_t count_;
  DaylitInstants instants_;
  std::vector<DaylightLine> lines_;
  std::vector<Hash> keys_;  // of the lines
};

}  // namespace

std::vector<RowSeries> rows_through_year(const domain::Project& project, const LitSpace& lit,
                                         std::span<const lightresponse::PointRows> rows,
                                         std::span<const lightresponse::SunlitShares> sun,
                                         const daylight::Outside& outside, const climate::SkyDivision& sky,
                                         const climate::WeatherTrack& weather, const SunnySteps& sunny,
                                         const Context& context, const Hash& sky_key) {
  std::vector<RowSeries> series(rows.size());
  const SpaceLaws laws(project, lit);
  YearLines lines(sky, sunny, context, sky_key);
  for (std::size_t i = 0; i < rows.size(); ++i) lines.add_row(lit, laws, outside, rows[i], sun[i], series[i]);
  if (!lines.empty()) lines.run(project, weather);
  return series;
}

std::vector<SpaceDaylight> daylight_year(const domain::Project& project, std::span<const LitSpace> spaces,
                                         const std::vector<daylight::Outside>& outside_of,
                                         const climate::SkyDivision& sky,
                                         const climate::WeatherTrack& weather, const SunnySteps& sunny,
                                         const Context& context, const Hash& sky_key) {
  const std::size_t count = sunny.step.size();
  std::vector<SpaceDaylight> result(spaces.size());
  std::vector<SpaceLaws> laws;
  for (const LitSpace& lit : spaces) laws.emplace_back(project, lit);
  YearLines lines(sky, sunny, context, sky_key);

  const auto index_of = [&](const LitSpace& lit) { return static_cast<std::size_t>(&lit - spaces.data()); };
  const auto add_row = [&](const LitSpace& owner, const lightresponse::PointRows& rows,
                           const lightresponse::SunlitShares& sun, RowSeries& series) {
    lines.add_row(owner, laws[index_of(owner)], outside_of[owner.index], rows, sun, series);
  };
  for (std::size_t s = 0; s < spaces.size(); ++s) {
    const LitSpace& lit = spaces[s];
    const std::size_t groups = lit.scene.window_groups.size();
    result[s].tasks.resize(lit.task_rows.size());
    result[s].sensors.resize(lit.sensor_rows.size());
    result[s].beam_on_tasks_w_m2.assign(groups, {});
    result[s].panes.resize(lit.panes.size());
    for (std::size_t p = 0; p < lit.panes.size(); ++p) {
      const BorrowedPane& pane = lit.panes[p];
      if (pane.lent != nullptr && pane.lent->rows.groups > 0)
        add_row(*pane.lender, pane.lent->rows, pane.lent->sun, result[s].panes[p].far_side);
    }
    if (groups == 0) continue;
    for (std::size_t i = 0; i < lit.task_rows.size(); ++i)
      add_row(lit, lit.task_rows[i], lit.task_sun[i], result[s].tasks[i]);
    for (std::size_t i = 0; i < lit.sensor_rows.size(); ++i)
      add_row(lit, lit.sensor_rows[i], lit.sensor_sun[i], result[s].sensors[i]);
    for (auto& beam : result[s].beam_on_tasks_w_m2) beam.assign(count, 0.0F);
  }

  if (lines.empty()) return result;  // no glass anywhere: no sky is needed
  const BeamYear beam = lines.run(project, weather);
  context.executor.for_each(spaces.size(), [&](std::size_t s) {
    const LitSpace& lit = spaces[s];
    const daylight::Compass& compass = outside_of[lit.index].compass();
    for (std::size_t g = 0; g < lit.scene.window_groups.size(); ++g) {
      for (std::size_t i = 0; i < count; ++i) {
        if (beam.w_m2[i] <= 0.0) continue;
        const Vector3 sun = compass.plan_from_world(sunny.sun[i]);
        if (dot(sun, lit.scene.window_groups[g].outward) <= 0.0) continue;
        float share = 0.0F;
        for (const lightresponse::SunlitShares& task : lit.task_sun)
          share = std::max(share, task.of(0, g)[i]);
        if (share > 0.0F)
          result[s].beam_on_tasks_w_m2[g][i] =
              static_cast<float>(beam.w_m2[i] * laws[s].open[g].from(sun).straight);
      }
    }
  });
  for (std::size_t s = 0; s < spaces.size(); ++s)
    for (std::size_t p = 0; p < spaces[s].panes.size(); ++p)
      if (spaces[s].panes[p].lender != nullptr)
        result[s].panes[p].lender_beam_w_m2 = result[index_of(*spaces[s].panes[p].lender)].beam_on_tasks_w_m2;
  return result;
}

}  // namespace halflight::sim
