#include "sim/visual_comfort.hpp"

#include "base/units.hpp"
#include "domain/names.hpp"
#include "photometry/direct.hpp"
#include "photometry/glare.hpp"
#include "sim/electric_states.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

using lightresponse::ChannelColumn;
using lightresponse::PointRows;

struct WeightedState {
  std::string name;
  std::vector<double> weight;  ///< by column
};
std::vector<WeightedState> weighted_states(const SpaceModel& model) {
  std::vector<WeightedState> states;
  for (const ElectricState& state : first_electric_states(model))
    states.push_back({state.name, light_weights(model, state.level, state.maintained)});
  return states;
}

/// Columns of each of the proposal's luminaires.
std::vector<std::vector<std::size_t>> luminaires_of(const SpaceModel& model) {
  const std::size_t design = design_index(model, domain::Design::Role::proposal);
  const std::vector<ChannelColumn>& columns = model.lit->scene.columns;
  std::vector<std::vector<std::size_t>> luminaires;
  for (std::size_t c = 0; c < columns.size(); ++c) {
    if (columns[c].design != design) continue;
    if (luminaires.empty() || columns[luminaires.back().front()].luminaire != columns[c].luminaire)
      luminaires.emplace_back();
    luminaires.back().push_back(c);
  }
  return luminaires;
}

/// A luminaire from one place.
struct SeenLuminaire {
  Vector3 towards;  ///< unit, from the eye to the centre of its luminous opening
  std::vector<std::pair<std::size_t, double>> intensity_cd;  ///< by column, toward the eye at full output
  double area_m2 = 0.0;                                      ///< luminous, projected; 0 where none is stated
  double solid_angle_sr = 0.0;                               ///< of what is not hidden
};

/// Share of a luminaire's opening that is seen, by its light.
double share_seen(const Enclosure& room, const photometry::LuminaireSource& source, Point3 eye) {
  const std::vector<photometry::EmittingPoint> points = photometry::emitting_points(source, eye);
  Rays paths(room.middle());
  for (const photometry::EmittingPoint& p : points) paths.add(eye, p.position - eye);
  std::vector<std::uint8_t> hidden(paths.size());
  room.occluded(paths, hidden);
  double seen = 0.0;
  for (std::size_t i = 0; i < points.size(); ++i)
    if (hidden[i] == 0) seen += points[i].share;
  return seen;
}

SeenLuminaire seen_from(Point3 eye, const std::vector<std::size_t>& columns, const SpaceModel& model) {
  const lightresponse::SpaceScene& scene = model.lit->scene;
  const ChannelColumn& first = scene.columns[columns.front()];
  const Vector3 path = first.position - eye;
  const double distance = std::max(length(path), 1e-3);
  SeenLuminaire seen;
  seen.towards = (1.0 / distance) * path;
  const Frame& f = first.orientation;
  const Vector3 to_eye{-dot(seen.towards, f.x), -dot(seen.towards, f.y), -dot(seen.towards, f.z)};
  const ChannelColumn* largest = nullptr;
  for (const std::size_t c : columns) {
    const ChannelColumn& column = scene.columns[c];
    const double intensity = column.distribution->intensity_cd(to_eye);
    if (intensity <= 0.0) continue;
    seen.intensity_cd.emplace_back(c, intensity);
    const domain::LuminousOpening& opening = column.distribution->data().opening;
    if (opening.shape == domain::LuminousOpening::Shape::point) continue;
    // Sources under 0.005 m2 glare as if they had that area (CIE 147:2002, from memory).
    constexpr double kLeast_m2 = 0.005;
    const double area = std::max(kLeast_m2, photometry::projected_area_m2(opening, to_eye));
    if (area <= seen.area_m2) continue;
    seen.area_m2 = area;
    largest = &column;
  }
  if (largest != nullptr)
    seen.solid_angle_sr =
        seen.area_m2 / (distance * distance) *
        share_seen(scene.enclosure, {*largest->distribution, largest->position, largest->orientation}, eye);
  return seen;
}

double clockwise_from_north_deg(Vector3 v) {
  // To a millionth of a degree, so that north is 0 and never just below 360.
  const double deg = std::round(std::atan2(v.x, v.y) / kRadPerDeg * 1e6) / 1e6;
  return deg < 0.0 ? deg + 360.0 : std::abs(deg);
}

/// Glare of one eye and line of sight.
std::optional<results::Glare> glare_of(const std::vector<SeenLuminaire>& luminaires, Vector3 looking,
                                       double background_cd_m2, const std::vector<double>& weight) {
  results::Glare glare;
  std::vector<photometry::GlareSource> sources;
  for (const SeenLuminaire& seen : luminaires) {
    if (seen.solid_angle_sr <= 0.0) continue;
    double intensity_cd = 0.0;
    for (const auto& [column, cd] : seen.intensity_cd) intensity_cd += weight[column] * cd;
    if (intensity_cd <= 0.0) continue;
    const std::optional<double> index = photometry::position_index(looking, seen.towards);
    if (!index) continue;
    sources.push_back({intensity_cd / seen.area_m2, seen.solid_angle_sr, *index});
    if (seen.solid_angle_sr < photometry::kSmallestGlareSource_sr) ++glare.too_small;
    if (seen.solid_angle_sr > photometry::kLargestGlareSource_sr) ++glare.too_large;
  }
  const std::optional<double> rating = photometry::unified_glare_rating(sources, background_cd_m2);
  if (!rating) return std::nullopt;
  glare.ugr = *rating;
  glare.sources = static_cast<int>(sources.size());
  glare.looking_deg = clockwise_from_north_deg(looking);
  return glare;
}

/// Lit luminaires without a luminous area: their luminance is not known.
int left_out(const SpaceModel& model, const std::vector<std::vector<std::size_t>>& luminaires,
             const std::vector<double>& weight) {
  int count = 0;
  for (const std::vector<std::size_t>& columns : luminaires) {
    const bool lit =
        std::any_of(columns.begin(), columns.end(), [&](std::size_t c) { return weight[c] > 0.0; });
    const bool without_area = std::all_of(columns.begin(), columns.end(), [&](std::size_t c) {
      return model.lit->scene.columns[c].distribution->data().opening.shape ==
             domain::LuminousOpening::Shape::point;
    });
    if (lit && without_area) ++count;
  }
  return count;
}

results::EyeLight at_eyes(const EyePoints& eyes, const PointRows& rows,
                          const std::vector<std::vector<SeenLuminaire>>& seen, const WeightedState& state) {
  results::EyeLight light;
  light.state = state.name;
  light.eye_height_m = eyes.height_m;
  light.positions = static_cast<int>(eyes.at.size());
  light.directions = static_cast<int>(eyes.looking.size());
  double horizontal = 0.0;
  const std::size_t each = eyes.looking.size() + 1;  // and upwards
  for (std::size_t i = 0; i < eyes.at.size(); ++i) {
    double cylindrical = 0.0;
    for (std::size_t k = 0; k < eyes.looking.size(); ++k) {
      const std::size_t point = i * each + k;
      cylindrical += lx_at(rows, point, state.weight) / static_cast<double>(eyes.looking.size());
      double indirect = 0.0;
      for (std::size_t c = 0; c < rows.columns; ++c)
        indirect += state.weight[c] * rows.electric_reflected[point * rows.columns + c];
      std::optional<results::Glare> glare = glare_of(seen[i], eyes.looking[k], indirect / kPi, state.weight);
      if (!glare || (light.glare && glare->ugr <= light.glare->ugr)) continue;
      glare->x_m = eyes.at[i].x;
      glare->y_m = eyes.at[i].y;
      light.glare = glare;
    }
    light.cylindrical_mean_lx += cylindrical / static_cast<double>(eyes.at.size());
    light.cylindrical_min_lx = i == 0 ? cylindrical : std::min(light.cylindrical_min_lx, cylindrical);
    horizontal +=
        lx_at(rows, i * each + eyes.looking.size(), state.weight) / static_cast<double>(eyes.at.size());
  }
  light.modelling_index = horizontal > 0.0 ? light.cylindrical_mean_lx / horizontal : 0.0;
  return light;
}

/// As printed: the name, or the id where there is none.
std::string name_of(const SpaceModel& model, const std::string& task_area) {
  const domain::TaskArea* task = domain::find_by_id(model.space->task_areas, task_area);
  return task == nullptr ? task_area : domain::named(task->name, task->id);
}

/// Of light that falls on a matt screen.
double contrast_with(const domain::Screen& screen, double lx) {
  const double veil_cd_m2 = screen.reflectance * lx / kPi;
  return (screen.white_cd_m2 + veil_cd_m2) / (screen.black_cd_m2 + veil_cd_m2);
}

}  // namespace

std::vector<results::EyeLight> eye_light(const SpaceModel& model) {
  std::vector<results::EyeLight> out;
  const std::vector<WeightedState> states = weighted_states(model);
  const std::vector<std::vector<std::size_t>> luminaires = luminaires_of(model);
  for (std::size_t t = 0; t < model.lit->eyes.size(); ++t) {
    const EyePoints& eyes = model.lit->eyes[t];
    if (eyes.at.empty()) continue;
    std::vector<std::vector<SeenLuminaire>> seen(eyes.at.size());
    for (std::size_t i = 0; i < eyes.at.size(); ++i)
      for (const std::vector<std::size_t>& columns : luminaires)
        seen[i].push_back(seen_from(eyes.at[i], columns, model));
    for (const WeightedState& state : states) {
      results::EyeLight light = at_eyes(eyes, model.lit->eye_rows[t], seen, state);
      light.task_area = model.space->task_areas[t].id;
      light.ugr_limit = model.space->task_areas[t].ugr_limit;
      light.luminaires_left_out = left_out(model, luminaires, state.weight);
      out.push_back(std::move(light));
    }
  }
  return out;
}

std::vector<results::RoomSurfaceLight> room_surface_light(const SpaceModel& model) {
  std::vector<results::RoomSurfaceLight> out;
  const auto add = [&](const char* surface, const SurfacePoints& points, const PointRows& rows,
                       double reflectance) {
    if (points.share.empty()) return;
    for (const WeightedState& state : weighted_states(model)) {
      results::RoomSurfaceLight light;
      light.surface = surface;
      light.state = state.name;
      light.points = static_cast<int>(rows.points);
      for (std::size_t p = 0; p < rows.points; ++p) {
        // Where next to nothing arrives, as behind a shelf, what is taken off for the size of patches may be
        // more.
        const double lx = std::max(0.0, lx_at(rows, p, state.weight));
        light.mean_lx += points.share[p] * lx;
        light.min_lx = p == 0 ? lx : std::min(light.min_lx, lx);
      }
      light.uniformity = light.mean_lx > 0.0 ? light.min_lx / light.mean_lx : 0.0;
      light.luminance_cd_m2 = reflectance * light.mean_lx / kPi;
      out.push_back(std::move(light));
    }
  };
  const domain::Reflectances& reflectances = model.space->reflectances;
  add("walls", model.lit->walls, model.lit->wall_rows, reflectances.walls);
  add("ceiling", model.lit->ceiling, model.lit->ceiling_rows, reflectances.ceiling);
  return out;
}

std::vector<results::ScreenLight> screen_light(const SpaceModel& model) {
  std::vector<results::ScreenLight> out;
  for (std::size_t t = 0; t < model.lit->task_rows.size(); ++t) {
    const domain::TaskArea& task = model.space->task_areas[t];
    if (!task.screen) continue;
    const PointRows& rows = model.lit->task_rows[t];
    for (const WeightedState& state : weighted_states(model)) {
      results::ScreenLight light;
      light.task_area = task.id;
      light.state = state.name;
      for (std::size_t p = 0; p < rows.points; ++p) {
        const double lx = lx_at(rows, p, state.weight);
        light.spill_mean_lx += lx / static_cast<double>(rows.points);
        light.spill_max_lx = std::max(light.spill_max_lx, lx);
      }
      light.contrast = contrast_with(*task.screen, light.spill_mean_lx);
      light.contrast_at_worst = contrast_with(*task.screen, light.spill_max_lx);
      light.contrast_alone = contrast_with(*task.screen, 0.0);
      out.push_back(std::move(light));
    }
  }
  return out;
}

std::vector<results::Finding> visual_findings(const SpaceModel& model, const results::SpaceStudy& one) {
  using Verdict = results::Finding::Verdict;
  std::vector<results::Finding> out;
  for (const results::EyeLight& light : one.eye_light) {
    if (!light.ugr_limit || light.state != "maintained") continue;
    results::Finding finding{"glare-at-the-eye",
                             "",
                             "",
                             "",
                             "Glare over " + name_of(model, light.task_area),
                             Verdict::pass,
                             "",
                             "",
                             results::Finding::Confidence::confirmed,
                             false};
    const double rating = light.glare ? light.glare->ugr : 0.0;
    if (rating > *light.ugr_limit) {
      finding.verdict = Verdict::fail;
      finding.fix =
          "dimmer or larger luminous areas, luminaires out of the line of sight, or lighter surfaces";
    } else if (light.luminaires_left_out > 0) {
      finding.verdict = Verdict::needs_evidence;
      finding.fix = "give the luminous area of every luminaire";
    }
    finding.evidence =
        light.glare
            ? fmt::format(
                  "UGR {:.1f}, looking {:.0f} deg from north at {:.2f}, {:.2f} m with all groups "
                  "full on; limit {:.0f}",
                  rating, light.glare->looking_deg, light.glare->x_m, light.glare->y_m, *light.ugr_limit)
            : fmt::format("no luminaire with a luminous area is in any field of view; limit {:.0f}",
                          *light.ugr_limit);
    if (light.luminaires_left_out > 0)
      finding.evidence +=
          fmt::format("; {} luminaires without a luminous area are left out", light.luminaires_left_out);
    out.push_back(std::move(finding));
  }
  for (const domain::TaskArea& task : model.space->task_areas) {
    if (!task.screen || !task.screen->least_contrast) continue;
    const results::ScreenLight* best = nullptr;
    for (const results::ScreenLight& light : one.screens)
      if (light.task_area == task.id && light.state != "initial" &&
          (best == nullptr || light.contrast > best->contrast))
        best = &light;
    if (best == nullptr) continue;
    const bool holds = best->contrast >= *task.screen->least_contrast;
    out.push_back(
        {"contrast-on-screen", "", "", "", "Contrast on " + name_of(model, task.id),
         holds ? Verdict::pass : Verdict::fail,
         fmt::format("{:.1f} : 1 with {:.0f} lx of spill in state {}; {:.1f} : 1 is asked for",
                     best->contrast, best->spill_mean_lx, best->state, *task.screen->least_contrast),
         holds ? "" : "a scene with the luminaires before the screen off or lower",
         results::Finding::Confidence::confirmed, false});
  }
  return out;
}

}  // namespace halflight::sim
