#include "sim/shaded_daylight.hpp"

#include "base/random.hpp"

#include <utility>

namespace halflight::sim {

namespace {

/// Beam irradiance behind the glass at which people draw a shade (C. Reinhart and K. Voss, Lighting Research
/// and Technology 35, 2003: above 50 W/m2 in the room).
constexpr double kShadeBeam_w_m2 = 50.0;

/// How long an automatic shade stays down after the sun has gone, so that it does not move with every cloud
/// (common practice, no source).
constexpr Seconds kSunAway_s = 1800;

/// Whether each group's shade is drawn at each sunny step; `beam_w_m2`: of each group on the space's tasks.
std::vector<std::vector<bool>> shades_drawn(const SpaceModel& model,
                                            const std::vector<std::vector<float>>& beam_w_m2,
                                            const IntervalSet& presence, const Draws& draws) {
  const auto& groups = model.lit->scene.window_groups;
  const std::size_t instants = model.sunny->step.size();
  std::vector<std::vector<bool>> drawn(groups.size());
  for (std::size_t g = 0; g < groups.size(); ++g) {
    if (groups[g].shade < 0) continue;
    const domain::Shade& shade = model.project->shades[static_cast<std::size_t>(groups[g].shade)];
    drawn[g].assign(instants, shade.operation == domain::Shade::Operation::fixed_closed);
    if (!domain::moves(shade)) continue;
    const bool by_hand = shade.operation == domain::Shade::Operation::manual;
    const RandomKey key{model.seed, hash_name(model.space->id + "/shade/" + shade.id)};
    bool down = false;
    Seconds last_sun_s = -kYear;
    std::uint32_t today = 0;
    auto person = presence.intervals().begin();
    for (std::size_t i = 0; i < instants; ++i) {
      const auto day = static_cast<std::uint32_t>(model.sunny->step[i] / 288);
      if (day != today) {
        today = day;
        if (down && random_uniform(key, {draws.replicate, day, hash_name("raise"), 0}) < draws.shade_raise)
          down = false;
      }
      const bool sunny = beam_w_m2[g][i] > kShadeBeam_w_m2;
      const Seconds t = static_cast<Seconds>(model.sunny->step[i]) * kStep_s;
      if (by_hand) {
        if (sunny && !down) {
          while (person != presence.intervals().end() && person->end <= t) ++person;
          down = person != presence.intervals().end() && person->begin < t + kStep_s;
        }
      } else {
        if (sunny) last_sun_s = t;
        down = t - last_sun_s < kSunAway_s;
      }
      drawn[g][i] = down;
    }
  }
  return drawn;
}

std::vector<float> standing(const RowSeries& series, const std::vector<std::vector<bool>>& drawn,
                            double reflected, std::size_t instants) {
  std::vector<float> sum(instants, 0.0F);
  for (std::size_t g = 0; g < series.size(); ++g) {
    const auto factor = static_cast<float>(1.0 + series[g].reflected_share * (reflected - 1.0));
    const bool moves = !series[g].drawn.empty();
    for (std::size_t i = 0; i < instants; ++i)
      sum[i] += factor * (moves && drawn[g][i] ? series[g].drawn[i] : series[g].open[i]);
  }
  return sum;
}

/// Light on the far side of each inner pane: the lender's people, at this very time, draw its shades.
std::vector<std::vector<float>> far_sides(const SpaceModel& model, const SpaceDaylight& daylight,
                                          const Draws& draws) {
  std::vector<std::vector<float>> far_side;
  for (std::size_t p = 0; p < daylight.panes.size(); ++p) {
    const PaneSeries& pane = daylight.panes[p];
    if (pane.far_side.empty()) {
      far_side.emplace_back(model.sunny->step.size(), 0.0F);
      continue;
    }
    const SpaceModel& lender = *model.lenders[p];
    const auto drawn = shades_drawn(lender, pane.lender_beam_w_m2, presence_in(lender, draws).any, draws);
    far_side.push_back(standing(pane.far_side, drawn, reflected_factor(*lender.lit, draws.reflectance_shift),
                                model.sunny->step.size()));
  }
  return far_side;
}

void add_borrowed(const LitSpace& lit, const lightresponse::PaneRows& rows, double reflected,
                  const std::vector<std::vector<float>>& far_side, std::vector<float>& lx) {
  for (std::size_t p = 0; p < far_side.size(); ++p) {
    const lightresponse::PaneRows::Reading& reading = rows.of(0, p);
    const auto gain = static_cast<float>(lit.panes[p].gain(reading) +
                                         (reflected - 1.0) * lit.panes[p].reflected_gain(reading));
    for (std::size_t i = 0; i < lx.size(); ++i) lx[i] += gain * far_side[p][i];
  }
}

void scale_readings(const SensorScale& scale, std::vector<float>& lx) {
  for (float& one : lx) one *= static_cast<float>(scale.daylight);
}

/// Daylight with shades and far sides as given.
ShadedDaylight behind(const SpaceModel& model, const SpaceDaylight& daylight,
                      std::vector<std::vector<bool>> drawn, std::vector<std::vector<float>> far_side,
                      const Draws& draws) {
  const double reflected = reflected_factor(*model.lit, draws.reflectance_shift);
  const auto of_rows = [&](const std::vector<RowSeries>& rows,
                           const std::vector<lightresponse::PaneRows>& panes) {
    std::vector<std::vector<float>> all;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      all.push_back(standing(rows[i], drawn, reflected, model.sunny->step.size()));
      if (!far_side.empty()) add_borrowed(*model.lit, panes[i], reflected, far_side, all.back());
    }
    return all;
  };
  std::vector<std::vector<float>> sensors = of_rows(daylight.sensors, model.lit->sensor_panes);
  for (std::size_t s = 0; s < sensors.size(); ++s) scale_readings(model.sensor_scales[s], sensors[s]);
  std::vector<std::vector<float>> tasks = of_rows(daylight.tasks, model.lit->task_panes);
  return {std::move(tasks), std::move(sensors), std::move(drawn), std::move(far_side)};
}

}  // namespace

ShadedDaylight shaded_daylight(const SpaceModel& model, const SpaceDaylight& daylight,
                               const IntervalSet& presence, const Draws& draws) {
  return behind(model, daylight, shades_drawn(model, daylight.beam_on_tasks_w_m2, presence, draws),
                far_sides(model, daylight, draws), draws);
}

ShadedDaylight with_shades_held(const SpaceModel& model, const SpaceDaylight& daylight,
                                const ShadedDaylight& as_they_stand, bool drawn, const Draws& draws) {
  std::vector<std::vector<bool>> held = as_they_stand.drawn;
  const auto& groups = model.lit->scene.window_groups;
  for (std::size_t g = 0; g < held.size(); ++g)
    if (groups[g].shade >= 0 &&
        domain::moves(model.project->shades[static_cast<std::size_t>(groups[g].shade)]))
      held[g].assign(held[g].size(), drawn);
  return behind(model, daylight, std::move(held), as_they_stand.far_side, draws);
}

std::vector<float> sensor_reading(const SpaceModel& model, const SensorScale& scale, const RowSeries& series,
                                  const lightresponse::PaneRows& panes, const ShadedDaylight& year,
                                  double reflected) {
  std::vector<float> lx = standing(series, year.drawn, reflected, model.sunny->step.size());
  if (!year.far_side.empty()) add_borrowed(*model.lit, panes, reflected, year.far_side, lx);
  scale_readings(scale, lx);
  return lx;
}

}  // namespace halflight::sim
