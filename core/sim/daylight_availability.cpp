#include "sim/daylight_availability.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <memory>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

// Raise when a method here changes what it gives.
constexpr int kVersion = 3;

constexpr double kBorder_m = 0.3;   // 1 ft (LM-83, from memory)
constexpr double kSpacing_m = 0.6;  // 2 ft
// LM-83-12, from memory: shades of a group are drawn in an hour when more than this share of the points has
// direct sun of this much through it.
constexpr double kShadeShare = 0.02;
constexpr double kDirectSun_lx = 1000.0;
constexpr double kAutonomous_lx = 300.0;
constexpr double kExposed_h = 250.0;
constexpr Seconds kFrom = 8 * kHour;
constexpr Seconds kUntil = 18 * kHour;

/// EN 17037:2018, table A.1, from memory: half of the plane, and 95 % of it, for half of the daylight hours.
struct Recommendation {
  const char* name;
  double half_lx;
  double nearly_all_lx;
};
constexpr std::array<Recommendation, 3> kRecommendations = {
    {{"high", 750.0, 500.0}, {"medium", 500.0, 300.0}, {"minimum", 300.0, 100.0}}};

/// When a window group's shade is drawn.
enum class Drawn { never, in_the_sun, always };
std::vector<Drawn> shades_of(const domain::Project& project, const LitSpace& lit) {
  std::vector<Drawn> drawn;
  for (const daylight::WindowGroup& group : lit.scene.window_groups) {
    if (group.shade < 0) {
      drawn.push_back(Drawn::never);
      continue;
    }
    using Operation = domain::Shade::Operation;
    const Operation operation = project.shades[static_cast<std::size_t>(group.shade)].operation;
    drawn.push_back(operation == Operation::fixed_open     ? Drawn::never
                    : operation == Operation::fixed_closed ? Drawn::always
                                                           : Drawn::in_the_sun);
  }
  return drawn;
}

/// The largest level that at least `share` of the values reach; sorts them.
double reached_by(double share, std::vector<float>& values) {
  std::sort(values.begin(), values.end(), std::greater<>());
  const auto needed = static_cast<std::size_t>(std::ceil(share * static_cast<double>(values.size())));
  return values[std::max<std::size_t>(needed, 1) - 1];
}

/// One space's part in its own daylight, or in that of the space it lends light to.
struct Source {
  const LitSpace* lit;
  const daylight::Outside* outside;
  SpaceLaws laws;
  std::unique_ptr<lightresponse::SpaceLight> light;

  Source(const domain::Project& project, const LitSpace& its_lit, const daylight::Outside& its_outside,
         const lightresponse::LightOptions& options, const Context& context, lightresponse::StageLog& log)
      : lit(&its_lit),
        outside(&its_outside),
        laws(project, its_lit),
        light(
            std::make_unique<lightresponse::SpaceLight>(its_lit.scene, its_outside, options, context, log)) {}

  void add_to(KeyBuilder& key, const domain::Project& project, const climate::SkyDivision& sky,
              const DaylitInstants& hours) const {
    key.add(light->sunlit_key(lit->grid_set, hours.sun));
    for (const Drawn drawn : shades_of(project, *lit)) key.add(static_cast<int>(drawn));
    key.add(std::span<const float>(lit->incident));
    for (const daylight::OpeningLaw& law : laws.open) add_to_key(law, *outside, sky, key);
    for (std::size_t g = 0; g < laws.drawn.size(); ++g) {
      key.add(laws.has_shade[g]);
      add_to_key(laws.drawn[g], *outside, sky, key);
    }
  }
};

/// A pane with its lender; only panes behind which there is a lender with windows.
struct PaneSource {
  std::size_t pane;  ///< index into LitSpace::panes
  Source source;
};

Hash key_of(const domain::Project& project, const Source& own, std::span<const PaneSource> panes,
            const climate::SkyDivision& sky, const domain::WeatherYear& weather, const CivilTime& clock,
            const DaylitInstants& hours) {
  const LitSpace& lit = *own.lit;
  KeyBuilder key;
  key.add("daylight availability").add(kVersion).add(project.site.ground_reflectance);
  own.add_to(key, project, sky, hours);
  key.add(std::span<const float>(lit.grid_rows.daylight));
  key.add(std::span<const float>(lit.grid_rows.daylight_reflected));
  for (const PaneSource& pane : panes) {
    const BorrowedPane& borrowed = lit.panes[pane.pane];
    pane.source.add_to(key, project, sky, hours);
    key.add(pane.source.light->sunlit_key(borrowed.lent->set, hours.sun));
    key.add(std::span<const float>(borrowed.lent->rows.daylight));
    key.add(std::span<const float>(borrowed.lent->rows.daylight_reflected));
    for (std::size_t p = 0; p < lit.grid_set.points.size(); ++p)
      key.add(borrowed.gain(lit.grid_panes.of(p, pane.pane)));
  }
  for (const domain::WeatherRow& row : weather.rows)
    key.add(row.global_w_m2)
        .add(row.beam_w_m2)
        .add(row.diffuse_w_m2)
        .add(row.dry_bulb_c)
        .add(row.dew_point_c)
        .add(row.pressure_hpa);
  for (Seconds t = 0; t < kYear; t += kDay) key.add(clock.civil(t));
  return key.key();
}

/// Light of rows through a space's window groups, shades open and drawn, lx: [(row x groups + group) x
/// instants + instant].
struct GroupLight {
  std::vector<float> open;
  std::vector<float> drawn;
};

/// Adds the lines of all rows; `lines` fill in the result.
void add_lines(const Source& source, const lightresponse::PointRows& rows, std::size_t count,
               const lightresponse::SunlitShares& sun, const std::vector<float>& sun_on_groups,
               GroupLight& light, std::vector<DaylightLine>& lines) {
  const std::size_t n = sun.instants;
  const std::size_t groups = sun.groups;
  light.open.resize(count * groups * n);
  light.drawn.resize(count * groups * n);
  for (std::size_t p = 0; p < count; ++p) {
    for (std::size_t g = 0; g < groups; ++g) {
      const auto add_state = [&](const daylight::OpeningLaw& law, std::vector<float>& out) {
        lines.emplace_back(*source.lit, rows, sun, sun_on_groups, p, g, law, *source.outside,
                           out.data() + (p * groups + g) * n);
      };
      add_state(source.laws.open[g], light.open);
      if (source.laws.has_shade[g]) add_state(source.laws.drawn[g], light.drawn);
    }
  }
}

/// Hour by hour: shades by the sun on a space's grid, and which of its points are in the sun.
class ShadesInTheSun {
 public:
  ShadesInTheSun(const domain::Project& project, const Source& source,
                 const lightresponse::SunlitShares& sun_on_grid)
      : source_(source),
        sun_(sun_on_grid),
        shades_(shades_of(project, *source.lit)),
        drawn_(shades_.size()),
        exposed_(source.lit->grid_set.points.size()) {}

  void at(std::size_t i, double beam_lx, Vector3 towards_sun) {
    const std::size_t points = exposed_.size();
    exposed_.assign(points, false);
    const Vector3 towards = source_.outside->compass().plan_from_world(towards_sun);
    for (std::size_t g = 0; g < drawn_.size(); ++g) {
      const double passes = beam_lx * source_.laws.open[g].from(towards).straight;
      std::size_t in_sun = 0;
      for (std::size_t p = 0; p < points; ++p) {
        if (passes * sun_.of(p, g)[i] < kDirectSun_lx) continue;
        exposed_[p] = true;
        ++in_sun;
      }
      const bool sunny = static_cast<double>(in_sun) > kShadeShare * static_cast<double>(points);
      drawn_[g] = shades_[g] == Drawn::always || (shades_[g] == Drawn::in_the_sun && sunny);
    }
  }
  [[nodiscard]] bool drawn(std::size_t group) const { return drawn_[group]; }
  [[nodiscard]] bool exposed(std::size_t point) const { return exposed_[point]; }

 private:
  const Source& source_;
  const lightresponse::SunlitShares& sun_;
  std::vector<Drawn> shades_;
  std::vector<bool> drawn_;
  std::vector<bool> exposed_;
};

/// A row's light at an instant with every shade up, and with shades as they stand.
struct Lux {
  float bare = 0.0F;
  float shaded = 0.0F;
};
Lux lux_of(const GroupLight& light, std::size_t row, std::size_t groups, std::size_t n, std::size_t i,
           const ShadesInTheSun& shades) {
  Lux lux;
  for (std::size_t g = 0; g < groups; ++g) {
    const std::size_t at = (row * groups + g) * n + i;
    lux.bare += light.open[at];
    lux.shaded += shades.drawn(g) ? light.drawn[at] : light.open[at];
  }
  return lux;
}

/// What is kept of a year: the numbers, and the light of each point in half of the hours with the sun up.
struct Measured {
  results::DaylightAvailability availability;
  std::vector<float> half_the_time_lx;
};

Measured measured(const domain::Project& project, const Source& own, std::span<const PaneSource> panes,
                  const climate::SkyDivision& sky, const domain::WeatherYear& weather,
                  const DaylitInstants& hours, const CivilTime& clock, const Context& context) {
  const LitSpace& lit = *own.lit;
  const std::size_t points = lit.grid_set.points.size();
  const std::size_t groups = lit.scene.window_groups.size();
  const std::size_t n = hours.middle.size();
  std::vector<DaylightLine> lines;
  const lightresponse::SunlitShares sun = own.light->sunlit_now(lit.grid_set, hours.sun);
  const std::vector<float> sun_on_groups = own.light->sun_on_groups(hours.sun);
  GroupLight light;
  add_lines(own, lit.grid_rows, points, sun, sun_on_groups, light, lines);
  ShadesInTheSun shades(project, own, sun);

  /// The far side of a pane through the year, and the shades of the space there.
  struct FarSide {
    lightresponse::SunlitShares sun_on_pane;
    lightresponse::SunlitShares sun_on_grid;
    std::vector<float> sun_on_groups;
    GroupLight light;
    std::optional<ShadesInTheSun> shades;
    Lux now;
  };
  std::vector<FarSide> far_sides(panes.size());
  for (std::size_t f = 0; f < panes.size(); ++f) {
    const Source& lender = panes[f].source;
    const LentPane& lent = *lit.panes[panes[f].pane].lent;
    FarSide& side = far_sides[f];
    side.sun_on_pane = lender.light->sunlit_now(lent.set, hours.sun);
    side.sun_on_grid = lender.light->sunlit_now(lender.lit->grid_set, hours.sun);
    side.sun_on_groups = lender.light->sun_on_groups(hours.sun);
    add_lines(lender, lent.rows, 1, side.sun_on_pane, side.sun_on_groups, side.light, lines);
    side.shades.emplace(project, lender, side.sun_on_grid);
  }
  const BeamYear beam =
      run_lines(project, sky, track_of(project, weather, std::nullopt), hours, lines, context);

  std::vector<double> autonomous_h(points, 0.0);
  std::vector<double> exposed_h(points, 0.0);
  std::array<double, 4> useful{};
  std::vector<std::vector<float>> in_daylight(points);
  // Dark hours count as well: ten hours of every day.
  const double all_hours = static_cast<double>(kYear / kDay) * static_cast<double>((kUntil - kFrom) / kHour);
  for (std::size_t i = 0; i < n; ++i) {
    shades.at(i, beam.lx[i], hours.sun[i]);
    for (FarSide& side : far_sides) {
      side.shades->at(i, beam.lx[i], hours.sun[i]);
      side.now = lux_of(side.light, 0, side.sun_on_pane.groups, n, i, *side.shades);
    }
    const Seconds of_day = (clock.civil(hours.middle[i]) % kDay + kDay) % kDay;
    const bool counts = of_day >= kFrom && of_day < kUntil;
    for (std::size_t p = 0; p < points; ++p) {
      Lux lux = lux_of(light, p, groups, n, i, shades);
      for (std::size_t f = 0; f < panes.size(); ++f) {
        const BorrowedPane& pane = lit.panes[panes[f].pane];
        const auto gain = static_cast<float>(pane.gain(lit.grid_panes.of(p, panes[f].pane)));
        lux.bare += gain * far_sides[f].now.bare;
        lux.shaded += gain * far_sides[f].now.shaded;
      }
      in_daylight[p].push_back(lux.bare);
      if (!counts) continue;
      if (lux.shaded >= kAutonomous_lx) autonomous_h[p] += 1.0;
      if (shades.exposed(p)) exposed_h[p] += 1.0;
      useful[lux.shaded < 100.0F ? 0 : lux.shaded < 300.0F ? 1 : lux.shaded <= 3000.0F ? 2 : 3] += 1.0;
    }
  }

  Measured made;
  results::DaylightAvailability& found = made.availability;
  const auto count = static_cast<double>(points);
  for (std::size_t p = 0; p < points; ++p) {
    if (autonomous_h[p] >= 0.5 * all_hours) found.spatial_daylight_autonomy += 1.0 / count;
    if (exposed_h[p] > kExposed_h) found.annual_sunlight_exposure += 1.0 / count;
  }
  const double cases = all_hours * count;
  found.from_100_to_300_lx = useful[1] / cases;
  found.from_300_to_3000_lx = useful[2] / cases;
  found.above_3000_lx = useful[3] / cases;
  found.below_100_lx = 1.0 - found.from_100_to_300_lx - found.from_300_to_3000_lx - found.above_3000_lx;
  for (std::vector<float>& lx : in_daylight)
    made.half_the_time_lx.push_back(static_cast<float>(reached_by(0.5, lx)));
  std::vector<float> sorted = made.half_the_time_lx;
  found.half_of_points_lx = reached_by(0.5, sorted);
  found.nearly_all_points_lx = reached_by(0.95, sorted);
  return made;
}

/// Values at the points of a space's grid on a finer one over its floor, each place by what is within two
/// spacings, weighted by one over the square of the distance (D. Shepard, Proc. 23rd ACM Conference, 1968).
results::PlanGrid drawn_on_plan(const LitSpace& lit, const std::vector<float>& values_lx) {
  constexpr double kStep_m = 0.5 * kSpacing_m;
  const Polygon& floor = lit.scene.enclosure.shape().floor;
  const Box2 box = bounds(floor);
  results::PlanGrid grid;
  grid.quantity = fmt::format(
      "daylight that half of the hours with the sun up have, shades open, {:.2f} m above the floor",
      lit.plan_height_m);
  grid.step_m = kStep_m;
  grid.columns = static_cast<int>(std::ceil((box.high.x - box.low.x) / kStep_m));
  grid.rows = static_cast<int>(std::ceil((box.high.y - box.low.y) / kStep_m));
  grid.x0_m = box.low.x + 0.5 * kStep_m;
  grid.y0_m = box.low.y + 0.5 * kStep_m;
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column) {
      const Point2 place{grid.x0_m + column * kStep_m, grid.y0_m + row * kStep_m};
      double weights = 0.0;
      double sum = 0.0;
      for (std::size_t p = 0; p < values_lx.size(); ++p) {
        const Point3 at = lit.grid_set.points[p].at;
        const double away = length(Point2{at.x, at.y} - place);
        if (away > 2.0 * kSpacing_m) continue;
        const double weight = 1.0 / (away * away + 1e-6);
        weights += weight;
        sum += weight * static_cast<double>(values_lx[p]);
      }
      const bool known = weights > 0.0 && contains(floor, place);
      grid.values_lx.push_back(known ? static_cast<float>(sum / weights) : -1.0F);
    }
  return grid;
}

/// The numbers that are kept; the rest follows from the grid.
constexpr std::size_t kKept = 8;
std::array<double*, kKept> kept_numbers(results::DaylightAvailability& a) {
  return {&a.spatial_daylight_autonomy, &a.annual_sunlight_exposure, &a.below_100_lx,
          &a.from_100_to_300_lx,        &a.from_300_to_3000_lx,      &a.above_3000_lx,
          &a.half_of_points_lx,         &a.nearly_all_points_lx};
}

}  // namespace

DaylitInstants sunny_hours(const climate::SunTrack& track) {
  DaylitInstants hours;
  for (Seconds t = kHour / 2; t < kYear; t += kHour) {
    const Vector3 sun = track.at(t).direction;
    if (sun.z > 0.0) hours.add(t, sun);
  }
  return hours;
}

lightresponse::PointSet availability_points(const Enclosure& room, double height_m) {
  lightresponse::PointSet set;
  set.wants_electric = false;
  set.wants_daylight = true;
  set.of_each_point = true;
  for (const Point2 p : grid_points(room.shape().floor, kBorder_m, kSpacing_m).points) {
    const Point3 at{p.x, p.y, height_m};
    if (room.observation_origin(at, {0, 0, 1}).state == ObservationOrigin::State::clear)
      set.points.push_back({at, {0, 0, 1}, {}});
  }
  return set;
}

std::optional<results::DaylightAvailability> daylight_availability(
    const domain::Project& project, const LitSpace& lit, const std::vector<daylight::Outside>& outside_of,
    const climate::SkyDivision& sky, const DaylitInstants& hours, const domain::WeatherYear& weather,
    const lightresponse::LightOptions& options, const Context& context, lightresponse::StageLog& log) {
  if (!lit.has_daylight() || lit.grid_set.points.empty()) return std::nullopt;
  const CivilTime clock(project.site.daylight_saving, 0);  // the day of the week does not matter here
  const Source own(project, lit, outside_of[lit.index], options, context, log);
  std::vector<PaneSource> panes;
  for (std::size_t p = 0; p < lit.panes.size(); ++p)
    if (lit.panes[p].lent != nullptr && lit.panes[p].lent->rows.groups > 0)
      panes.push_back({p, Source(project, *lit.panes[p].lender, outside_of[lit.panes[p].lender->index],
                                 options, context, log)});
  const Hash key = key_of(project, own, panes, sky, weather, clock, hours);
  results::DaylightAvailability found;
  std::vector<float> half_the_time_lx(lit.grid_set.points.size());
  const std::size_t numbers_size = kKept * sizeof(double);
  const auto blob = context.blobs.get(key);
  const bool kept = blob && blob->size() == numbers_size + half_the_time_lx.size() * sizeof(float);
  log.note("daylight availability", kept);
  if (kept) {
    const std::byte* next = blob->data();
    for (double* number : kept_numbers(found)) {
      std::memcpy(number, next, sizeof *number);
      next += sizeof *number;
    }
    std::memcpy(half_the_time_lx.data(), next, half_the_time_lx.size() * sizeof(float));
  } else {
    Measured made = measured(project, own, panes, sky, weather, hours, clock, context);
    found = std::move(made.availability);
    half_the_time_lx = std::move(made.half_the_time_lx);
    std::vector<std::byte> bytes(numbers_size + half_the_time_lx.size() * sizeof(float));
    std::byte* next = bytes.data();
    for (const double* number : kept_numbers(found)) {
      std::memcpy(next, number, sizeof *number);
      next += sizeof *number;
    }
    std::memcpy(next, half_the_time_lx.data(), half_the_time_lx.size() * sizeof(float));
    context.blobs.put(key, bytes);
  }
  found.half_the_time = drawn_on_plan(lit, half_the_time_lx);
  found.points = static_cast<int>(lit.grid_set.points.size());
  found.height_m = lit.plan_height_m;
  found.border_m = kBorder_m;
  found.spacing_m = kSpacing_m;
  found.recommendation = "none";
  for (const Recommendation& r : kRecommendations)
    if (found.half_of_points_lx >= r.half_lx && found.nearly_all_points_lx >= r.nearly_all_lx) {
      found.recommendation = r.name;
      break;
    }
  return found;
}

}  // namespace halflight::sim
