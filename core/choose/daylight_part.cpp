#include "choose/daylight_part.hpp"

#include "base/units.hpp"
#include "choose/canonical_room.hpp"
#include "choose/daylight_grouping.hpp"
#include "choose/device_of_kind.hpp"
#include "choose/group_siting.hpp"
#include "choose/linear_program.hpp"
#include "choose/starting_control.hpp"
#include "codes/check.hpp"
#include "codes/code_minimum.hpp"
#include "codes/zones.hpp"
#include "sim/daylight_limits.hpp"
#include "sim/electric_states.hpp"
#include "sim/space_year.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <utility>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

constexpr std::size_t kMostPlacesBetween = 24;
/// Of a raster over the ceiling, as fine as gives no more places than that.
constexpr std::size_t kMostPlacesOnRaster = 100;
constexpr double kLeastSpacing_m = 0.3;
constexpr double kOffEdges_m = 0.017;
constexpr std::size_t kMostGroups = 4;
/// Saving of a luminaire by itself below which it is not worth a daylight group (assumption).
constexpr double kLeastSaving = 0.1;
/// Share of all that could be saved that one more group must buy (assumption).
constexpr double kWorthAGroup = 0.05;
/// Steps of five minutes that groups are judged by.
constexpr std::size_t kMostSteps = 4000;
/// Light on a way out that is planned for, over what is asked.
constexpr double kSurely = 1.02;
constexpr int kMostNodes = 2000;
/// Of a luminaire that stays out of daylight control, so that none does without need, W.
constexpr double kLeastCost_w = 0.1;
constexpr double kSameSaving_w = 1e-6;
constexpr double kMeterRange_lx = 200'000.0;

const domain::TaskArea* first_horizontal(const domain::Space& space) {
  const auto task = std::find_if(space.task_areas.begin(), space.task_areas.end(), [](const auto& t) {
    return t.plane == domain::TaskArea::Plane::horizontal;
  });
  return task == space.task_areas.end() ? nullptr : &*task;
}

/// The horizontal task over a place, else the nearest by its middle.
const domain::TaskArea& task_under(const domain::Space& space, Point2 place) {
  const domain::TaskArea* best = nullptr;
  double least = std::numeric_limits<double>::infinity();
  for (const domain::TaskArea& task : space.task_areas) {
    if (task.plane != domain::TaskArea::Plane::horizontal) continue;
    const double away = contains(task.plan, place) ? 0.0 : length(centroid(task.plan) - place);
    if (away < least) {
      least = away;
      best = &task;
    }
  }
  return *best;
}

domain::Photosensor sensor_of(const domain::DeviceKind& kind, const std::string& space) {
  domain::Photosensor sensor;
  sensor.space = space;
  take_kind(sensor, kind);
  sensor.loop = kind.light->loop;
  sensor.response = kind.light->response;
  sensor.cutoff_deg = kind.light->cutoff_deg;
  sensor.range_lx = kind.light->range_lx;
  sensor.spectral_response = kind.light->spectral_response;
  return sensor;
}

/// Half way between each luminaire and its nearest neighbours; beside a luminaire that stands alone.
std::vector<Point2> between_luminaires(const std::vector<const domain::Luminaire*>& luminaires) {
  constexpr std::size_t kNeighbours = 3;
  constexpr double kBeside_m = 0.9;
  std::vector<Point2> places;
  const auto add = [&](Point2 place) {
    const bool is_known =
        std::any_of(places.begin(), places.end(), [&](Point2 known) { return length(known - place) < 0.05; });
    if (!is_known) places.push_back(place);
  };
  for (const domain::Luminaire* one : luminaires) {
    const Point2 here{one->at.x, one->at.y};
    std::vector<std::pair<double, Point2>> others;
    for (const domain::Luminaire* other : luminaires) {
      const Point2 there{other->at.x, other->at.y};
      if (length(there - here) > 0.1) others.emplace_back(length(there - here), there);
    }
    std::stable_sort(others.begin(), others.end(), [](const auto& a, const auto& b) {
      return std::lround(1000.0 * a.first) < std::lround(1000.0 * b.first);
    });
    for (std::size_t i = 0; i < std::min(kNeighbours, others.size()); ++i)
      add(here + 0.5 * (others[i].second - here));
    if (!others.empty()) continue;
    const double turn = one->rotation_deg * kRadPerDeg;
    const Vector2 across{-std::sin(turn), std::cos(turn)};
    add(here + kBeside_m * across);
    add(here + -kBeside_m * across);
  }
  return places;
}

/// All over the ceiling, on a raster along the room's own axes. It is off the middle by what meshes,
/// luminaires and furniture are not spaced by: on an edge of theirs the last bit of a turned room would
/// decide.
std::vector<Point2> on_raster(const CanonicalRoom& room, double spacing_m) {
  const Box2 box = bounds(room.space.floor);
  const auto marks = [&](double low, double high) {
    const auto n = static_cast<std::size_t>(std::max<long>(1, std::lround((high - low) / spacing_m)));
    std::vector<double> at;
    for (std::size_t i = 0; i < n; ++i)
      at.push_back(0.5 * (low + high) + kOffEdges_m +
                   (static_cast<double>(i) - 0.5 * static_cast<double>(n - 1)) * spacing_m);
    return at;
  };
  std::vector<Point2> places;
  for (const double v : marks(box.low.y, box.high.y))
    for (const double u : marks(box.low.x, box.high.x)) places.push_back(room.frame.to_building({u, v}));
  return places;
}

/// Before the middle of the widest glass of each wall, looking out.
std::vector<domain::Photosensor> looking_out(const domain::Space& space, const domain::DeviceKind& kind) {
  std::map<int, const domain::Opening*> widest;
  for (const domain::Opening& opening : space.openings) {
    if (opening.kind != domain::Opening::Kind::window) continue;
    const domain::Opening*& known = widest[opening.wall];
    if (known == nullptr || opening.width_m * opening.height_m > known->width_m * known->height_m + 1e-9)
      known = &opening;
  }
  std::vector<domain::Photosensor> sensors;
  for (const auto& [wall, opening] : widest) {
    sensors.push_back(sensor_of(kind, space.id));
    look_out_of(space, *opening, sensors.back());
  }
  return sensors;
}

/// Groups whose photosensors hang in one place and look one way share one.
void share_photosensors(DaylightPart& part, const std::string& stem, std::set<std::string>& used) {
  for (std::size_t g = 0; g < part.groups.size(); ++g) {
    domain::Photosensor& own = part.groups[g].photosensor;
    const auto same = std::find_if(part.groups.begin(), part.groups.begin() + static_cast<std::ptrdiff_t>(g),
                                   [&](const GovernedGroup& other) {
                                     const domain::Photosensor& its = other.photosensor;
                                     return its.device_kind == own.device_kind && its.at.x == own.at.x &&
                                            its.at.y == own.at.y && its.at.z == own.at.z &&
                                            its.aim_tilt_deg == own.aim_tilt_deg &&
                                            its.aim_deg == own.aim_deg;
                                   });
    own.id = same == part.groups.begin() + static_cast<std::ptrdiff_t>(g) ? fresh_id(stem, used)
                                                                          : same->photosensor.id;
    part.groups[g].rule.photosensor = own.id;
  }
  for (GovernedGroup& governed : part.groups) {
    governed.photosensor.groups.clear();
    for (const GovernedGroup& other : part.groups)
      if (other.photosensor.id == governed.photosensor.id)
        governed.photosensor.groups.push_back(other.group.id);
  }
}

/// What daylight leaves each luminaire to do while the room is open, by step.
class Levels {
 public:
  Levels(const sim::DesignTrials& trials, const domain::Project& bench, const DaylightPlaces& places)
      : room_(trials.room(bench)) {
    const sim::SpaceModel& model = room_->model;
    const std::vector<std::size_t> open = sim::open_steps(model);
    const std::size_t every = std::max<std::size_t>(1, (open.size() + kMostSteps - 1) / kMostSteps);
    std::vector<std::size_t> steps;
    for (std::size_t i = 0; i < open.size(); i += every) steps.push_back(open[i]);
    step_h_ = static_cast<double>(every) * static_cast<double>(sim::kStep_s) / kSecondsPerHour;
    const sim::Draws draws = trials.draws().front();
    const sim::Replicate replicate(model, room_->daylight[draws.weather_year], draws);
    const domain::Project& project = *model.project;
    const domain::Design& design = project.designs[sim::design_index(model, domain::Design::Role::proposal)];
    for (std::size_t i = 0; i < places.luminaires.size(); ++i) {
      const domain::Luminaire& luminaire = *domain::find_by_id(design.luminaires, places.luminaires[i]);
      DaylitLuminaire one;
      double least = 1.0;
      for (const lightresponse::ChannelColumn& column : model.lit->scene.columns) {
        if (&sim::luminaire_of(project, column) != &luminaire) continue;
        const domain::Driver& driver =
            domain::driver_of(project, sim::type_of(project, column).channels[column.channel].driver);
        one.saved_w += sim::input_w(project, column) * (driver.dims ? 1.0 - driver.power_at_zero : 1.0);
        least = std::min(least, sim::least_light(project, column));
      }
      const double target_lx = task_under(*model.space, {luminaire.at.x, luminaire.at.y}).target_lx;
      const std::vector<float>& lx = replicate.daylight().sensors[i];
      for (const std::size_t step : steps) {
        const double needed = std::clamp(1.0 - static_cast<double>(lx[step]) / target_lx, 0.0, 1.0);
        one.level.push_back(
            static_cast<float>(least >= 1.0 ? (needed > 0.0 ? 1.0 : 0.0) : std::max(needed, least)));
      }
      luminaires_.push_back(std::move(one));
    }
  }

  [[nodiscard]] const std::vector<DaylitLuminaire>& luminaires() const { return luminaires_; }
  [[nodiscard]] double step_h() const { return step_h_; }
  [[nodiscard]] const sim::SpaceModel& model() const { return room_->model; }
  /// Mean share of its light that daylight takes off a luminaire.
  [[nodiscard]] double saving_of(std::size_t luminaire) const {
    double sum = 0.0;
    for (const float level : luminaires_[luminaire].level) sum += 1.0 - static_cast<double>(level);
    return luminaires_[luminaire].level.empty()
               ? 0.0
               : sum / static_cast<double>(luminaires_[luminaire].level.size());
  }

 private:
  std::unique_ptr<sim::DesignTrials::Room> room_;
  std::vector<DaylitLuminaire> luminaires_;
  double step_h_ = 0.0;
};

/// Of `daylit` luminaires those that must shine at trim all day so that every way out is lit by them and by
/// all others that daylight does not dim: at least energy. None where even all of them do not light it.
std::vector<std::string> for_the_way_out(const sim::SpaceModel& model,
                                         const std::vector<domain::CodeRule>& rules,
                                         const std::vector<std::string>& daylit,
                                         std::span<const double> saving) {
  const domain::Project& project = *model.project;
  const domain::Scene* normal = sim::normal_scene(model);
  const double trim = sim::trim_in_force(model);
  const sim::ColumnLevels level = sim::levels(model, [&](const sim::ControlCell& cell) {
    return sim::high_end_of(cell, trim) * sim::level_in(normal, cell.scene_group, 1.0);
  });
  const std::vector<double> weight = sim::light_weights(model, level, true);
  LinearProgram program;
  for (const double saved : saving) program.columns.push_back({saved, 0.0, 1.0, true});
  for (std::size_t p = 0; p < model.space->egress_paths.size(); ++p) {
    codes::EgressLight light;
    light.surface = model.space->egress_paths[p].surface;
    const double limit_lx = codes::judge_egress(light, rules).limit_lx;
    const lightresponse::PointRows& rows = model.lit->egress_rows[p];
    for (std::size_t point = 0; point * rows.columns < rows.electric.size(); ++point) {
      LinearProgram::Row row;
      row.per_column.assign(daylit.size(), 0.0);
      row.least = limit_lx * kSurely;
      for (std::size_t c = 0; c < weight.size(); ++c) {
        const double lx = weight[c] * static_cast<double>(rows.electric[point * rows.columns + c]);
        const std::string& id = sim::luminaire_of(project, model.lit->scene.columns[c]).id;
        const auto own = std::find(daylit.begin(), daylit.end(), id);
        if (own == daylit.end())
          row.least -= lx;
        else
          row.per_column[static_cast<std::size_t>(own - daylit.begin())] += lx;
      }
      if (row.least > 0.0) program.rows.push_back(std::move(row));
    }
  }
  std::vector<std::string> chosen;
  if (program.rows.empty()) return chosen;
  const WholeOptimum found = whole_optimum(program, kMostNodes, kSameSaving_w);
  for (std::size_t i = 0; i < found.x.size(); ++i)
    if (found.x[i] > 0.5) chosen.push_back(daylit[i]);
  return chosen;
}

}  // namespace

std::vector<domain::Photosensor> DaylightPlaces::all() const {
  std::vector<domain::Photosensor> sensors = meters;
  sensors.insert(sensors.end(), closed.begin(), closed.end());
  sensors.insert(sensors.end(), open.begin(), open.end());
  for (std::size_t i = 0; i < sensors.size(); ++i) sensors[i].id = fmt::format("place {}", i + 1);
  return sensors;
}

Result<DaylightPlaces> daylight_places(const sim::StudyInputs& inputs, std::size_t space_index,
                                       const PhotosensorOffer& offer,
                                       const lightresponse::LightOptions& options) {
  const domain::Space& space = inputs.project.spaces[space_index];
  const domain::Design* design = domain::find_design(inputs.project, domain::Design::Role::proposal);
  DaylightPlaces places;
  if (design == nullptr || domain::light_openings(space).empty() || first_horizontal(space) == nullptr)
    return places;
  const Result<sim::LitSpace> dark = sim::space_without_light(inputs, space_index, options);
  if (!dark) return tl::unexpected(dark.error());

  const std::vector<domain::Luminaire> luminaires = fixed_luminaires(inputs.project, *design, space.id);
  const CanonicalRoom room = canonical_room(space, luminaires, {});
  std::vector<const domain::Luminaire*> ordered;
  for (const std::size_t i : room.luminaire) ordered.push_back(&luminaires[i]);

  for (const domain::Luminaire* luminaire : ordered) {
    places.luminaires.push_back(luminaire->id);
    domain::Photosensor meter;
    meter.space = space.id;
    const Point2 under{luminaire->at.x, luminaire->at.y};
    double height_m = task_under(space, under).height_m;
    // Above furniture that is higher than the task, as the tops of shelves are.
    for (const domain::Furniture& piece : space.furniture)
      if (contains(piece.plan, under) && piece.top_m < luminaire->at.z)
        height_m = std::max(height_m, piece.top_m + 0.02);
    meter.at = {under.x, under.y, height_m};
    meter.response = domain::Photosensor::Response::cosine;
    meter.aim_tilt_deg = 180.0;
    meter.range_lx = kMeterRange_lx;
    places.meters.push_back(std::move(meter));
  }
  if (offer.closed != nullptr && offer.closed->light) {
    std::vector<Point2> between = between_luminaires(ordered);
    std::sort(between.begin(), between.end(), [&](Point2 a, Point2 b) {
      const Point2 x = room.frame.to_frame(a);
      const Point2 y = room.frame.to_frame(b);
      return std::pair(on_raster_m(x.x), on_raster_m(x.y)) < std::pair(on_raster_m(y.x), on_raster_m(y.y));
    });
    const auto where_free = [&](const std::vector<Point2>& wanted) {
      std::vector<Point2> free;
      for (const Point2 place : wanted)
        if (sim::hanging_place(inputs.project, *dark, place, 0.0)) free.push_back(place);
      return free;
    };
    between = where_free(between);
    std::vector<Point2> tried;
    for (const std::size_t i : well_spread(between, kMostPlacesBetween)) tried.push_back(between[i]);
    places.between = tried.size();
    std::vector<Point2> raster;
    for (int step = 0; raster.empty() || raster.size() > kMostPlacesOnRaster; ++step) {
      raster = where_free(on_raster(room, kLeastSpacing_m + 0.1 * step));
      if (raster.empty()) break;
    }
    tried.insert(tried.end(), raster.begin(), raster.end());
    for (const Point2 place : tried) {
      places.closed.push_back(sensor_of(*offer.closed, space.id));
      places.closed.back().at = *sim::hanging_place(inputs.project, *dark, place, 0.0);
    }
  }
  if (offer.open != nullptr && offer.open->light) places.open = looking_out(space, *offer.open);
  return places;
}

DaylightChoice daylight_choice(const sim::DesignTrials& trials, const domain::Project& project,
                               const RoomControls& controls, const DaylightPlaces& places,
                               const std::string& id_stem, const std::set<std::string>& taken,
                               const Context& context) {
  DaylightChoice choice;
  if (places.meters.empty() || places.closed.size() + places.open.size() == 0) return choice;
  const domain::Space& space = *trials.ready().models.front().space;
  const domain::Design& design = *domain::find_design(project, domain::Design::Role::proposal);
  RoomControls fitted = controls;
  fitted.photosensors = places.all();
  const domain::Project metered = with_controls(project, space.id, fitted);
  const Levels levels(trials, metered, places);

  // The code's zones: what it wants controlled apart stays apart.
  std::map<std::string, std::string> zone_of;
  if (!trials.ready().zones.empty() && !trials.ready().zones.front().empty()) {
    const std::vector<results::DaylightZone>& zones = trials.ready().zones.front();
    const domain::DaylightZoneRule* rule = codes::adopted_zone_rule(project, trials.ready().rules);
    const auto members = codes::luminaires_by_zone(project, design, space, zones,
                                                   rule == nullptr ? 0.0 : rule->luminaire_share_min);
    for (std::size_t z = 0; z < zones.size(); ++z)
      for (const std::string& id : members[z]) zone_of[id] = zones[z].id;
  }
  const domain::Partition* wall = domain::wall_in_use(space);
  std::vector<DaylitLuminaire> daylit;
  std::vector<std::string> ids;
  for (std::size_t i = 0; i < places.luminaires.size(); ++i) {
    const std::string& id = places.luminaires[i];
    const bool in_zone = zone_of.contains(id);
    if (!in_zone && levels.saving_of(i) < kLeastSaving) continue;
    daylit.push_back(levels.luminaires()[i]);
    daylit.back().zone = in_zone ? zone_of[id] : "";
    if (wall != nullptr) {
      const domain::Luminaire& luminaire = *domain::find_by_id(design.luminaires, id);
      daylit.back().side = domain::side_of(*wall, {luminaire.at.x, luminaire.at.y});
    }
    ids.push_back(id);
  }
  std::vector<double> saving;
  for (const std::string& id : ids)
    for (std::size_t i = 0; i < places.luminaires.size(); ++i)
      if (places.luminaires[i] == id)
        saving.push_back(levels.saving_of(i) * levels.luminaires()[i].saved_w + kLeastCost_w);
  choice.for_the_way_out = for_the_way_out(levels.model(), trials.ready().rules, ids, saving);
  for (const std::string& id : choice.for_the_way_out) {
    const auto at = std::find(ids.begin(), ids.end(), id) - ids.begin();
    ids.erase(ids.begin() + at);
    daylit.erase(daylit.begin() + at);
  }
  if (daylit.empty()) return choice;
  const std::vector<DaylightGrouping> groupings = daylight_groupings(daylit, levels.step_h());
  choice.fewest = groupings.front().groups.size();
  for (const DaylightGrouping& grouping : groupings) choice.saved_kwh.push_back(grouping.saved_wh / 1000.0);

  const double all_kwh = choice.saved_kwh.back();
  std::vector<std::size_t> worth;
  for (std::size_t k = 0; k < groupings.size(); ++k) {
    const bool buys = k == 0 || choice.saved_kwh[k] - choice.saved_kwh[k - 1] >= kWorthAGroup * all_kwh;
    if (!buys || (k > 0 && groupings[k].groups.size() > kMostGroups)) break;
    worth.push_back(k);
  }
  choice.parts.resize(worth.size());
  context.executor.for_each(worth.size(), [&](std::size_t w) {
    context.check_cancelled();
    const std::size_t k = worth[w];
    DaylightPart part;
    part.saved_kwh = choice.saved_kwh[k];
    std::set<std::string> used = taken;
    for (const std::vector<std::size_t>& members : groupings[k].groups) {
      GovernedGroup governed;
      governed.group.id = fresh_id(id_stem + "day-", used);
      governed.group.space = space.id;
      governed.group.strategy = domain::Strategy::daylight;
      governed.group.name = daylit[members.front()].zone.empty()
                                ? fmt::format("daylight {}", part.groups.size() + 1)
                                : daylit[members.front()].zone;
      const auto alike =
          std::count_if(part.groups.begin(), part.groups.end(), [&](const GovernedGroup& other) {
            return other.group.name == governed.group.name ||
                   other.group.name.starts_with(governed.group.name + ", ");
          });
      if (alike > 0) governed.group.name += fmt::format(", part {}", alike + 1);
      Point2 middle{};
      for (const std::size_t m : members) {
        governed.group.channels.push_back(ids[m]);
        const domain::Luminaire& luminaire = *domain::find_by_id(design.luminaires, ids[m]);
        middle = {middle.x + luminaire.at.x, middle.y + luminaire.at.y};
      }
      const auto n = static_cast<double>(members.size());
      middle = {middle.x / n, middle.y / n};
      std::sort(governed.group.channels.begin(), governed.group.channels.end());
      governed.rule.group = governed.group.id;
      governed.rule.task_area = task_under(space, middle).id;
      part.groups.push_back(std::move(governed));
    }
    site_groups(trials, project, controls, places, part, context);
    share_photosensors(part, id_stem + "P", used);
    choice.parts[w] = std::move(part);
  });
  std::erase_if(choice.parts, [](const DaylightPart& part) { return part.groups.empty(); });
  return choice;
}

}  // namespace halflight::choose
