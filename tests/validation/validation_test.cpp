// The whole light of furnished rooms against an independent path tracer (path_tracer.hpp).
//
// The tracer has no mesh and no bias, only chance, and prints the standard error of each reading. The program
// has errors of its own, which are no standard errors of a mean and are taken as follows.
//
// - Reflected light, and all daylight: patches of a finite size that carry one mean each, sampled direct
// light of
//   patches and openings, sampled exchange areas and gather rays, patches of sky. Another mesh and other rays
//   make another error of every one of these kinds, so the difference between the light at "design" and at
//   "proof" accuracy measures them: its mean square is that of both errors together, so never less than that
//   of proof alone. It is pooled over all rooms, as a share of the reading and separately for electric light
//   and daylight and for each kind of point, so that no room can widen its own bounds. (The printed error of
//   electric light has a test of its own, printed_error_test.cpp.)
// - Electric light that arrives straight: the program stands n places along the longer side of an opening for
// the whole of
//   it. Where something hides a part, a straight edge of shadow is off by 0.58 / n of the opening at most and
//   0.29 / n root mean square; the spread of the light over an opening that is cut anywhere is at least that
//   share times n of what is lost. Where nothing hides it, the light is continuous over the opening and the
//   error falls with 1 / n^2. The tracer measures the spread and sees whether a part is hidden, so: spread /
//   n and spread / n^2.
//
// Windows stand open in both calculations: transmittance 1 at any angle. The law of glass has its own checks
// against the Fresnel formulas (core/daylight/glazing_test.cpp) and is a factor on directions here and there.
#include "climate/sky.hpp"
#include "lightresponse/response.hpp"
#include "photometry/direct.hpp"
#include "published.hpp"
#include "sim/lit_space.hpp"
#include "validation/path_tracer.hpp"
#include "validation/random_room.hpp"

#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <stdexcept>
#include <tuple>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::validation {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr int kRooms = 20;
constexpr int kPaths = 24'000;
constexpr const char* kTracer = "independent path tracer (tests/validation)";

/// What is compared at a point: electric light first, then a sky each.
constexpr std::size_t kLights = 4;
constexpr std::array<const char*, kLights> kLightNames = {"electric light", "uniform sky",
                                                          "traditional overcast sky", "clear sky of type 12"};

std::vector<Sky> skies() {
  const double elevation = 40.0 * kPi / 180.0;
  const double azimuth = 115.0 * kPi / 180.0;
  const Vector3 sun{std::cos(elevation) * std::sin(azimuth), std::cos(elevation) * std::cos(azimuth),
                    std::sin(elevation)};
  return {{Sky::Kind::uniform, sun, 10'000.0, 640.0, 350.0},
          {Sky::Kind::overcast, sun, 10'000.0, 640.0, 350.0},
          {Sky::Kind::clear, sun, 10'000.0, 900.0, 600.0}};
}

/// Luminance of every bin of the program's outside, cd/m2.
std::vector<float> bins_of(const Sky& sky, const climate::SkyDivision& division) {
  const int type = sky.kind == Sky::Kind::uniform ? 5 : sky.kind == Sky::Kind::overcast ? 16 : 12;
  std::vector<float> luminance(division.size());
  climate::sky_luminance(division, climate::cie_sky(type, sky.sun, sky.horizontal_lx), luminance);
  luminance.push_back(static_cast<float>(sky.ground_cd_m2));
  luminance.insert(luminance.end(), daylight::Outside::kFaces, static_cast<float>(sky.obstruction_cd_m2));
  luminance.insert(luminance.end(), 2, 0.0F);  // lobes: nothing scatters here
  return luminance;
}

struct Parts {
  double direct = 0.0;
  double reflected = 0.0;
};
using Light = std::array<Parts, kLights>;

/// The program's answer at every point of a room.
std::vector<Light> computed_light(const RandomRoom& room, sim::Accuracy accuracy) {
  const lightresponse::LightOptions options = sim::light_options(accuracy);
  const climate::SkyDivision division(options.sky_division);
  std::vector<daylight::OutsideSolid> solids =
      daylight::solids_of(room.surroundings.obstructions, room.surroundings.storey_elevation_m);
  for (daylight::OutsideSolid& solid : solids) solid.reflectance = 1.0;  // their luminance is given
  const daylight::Outside outside(division, daylight::Compass(room.surroundings.plan_north_deg), solids);
  const auto scene = lightresponse::make_scene(room.project, 0, {}, options);
  if (!scene) throw std::runtime_error(to_text(scene.error().front()));
  SerialExecutor executor;
  const auto blobs = make_memory_blob_store();
  const Context context{executor, *blobs, nullptr, {}};
  lightresponse::StageLog log;
  const lightresponse::SpaceLight light(*scene, outside, options, context, log);
  std::vector<std::vector<float>> luminance;
  for (const Sky& sky : skies()) luminance.push_back(bins_of(sky, division));
  std::vector<Light> result;
  for (const RandomRoom::Point& point : room.points) {
    lightresponse::PointSet set;
    set.points = {point.point};
    set.wants_daylight = true;
    set.light_at_hits = point.kind == RandomRoom::PointKind::sensor;
    const auto rows = light.rows(set);
    if (!rows) throw std::runtime_error(to_text(rows.error().front()));
    Light one{};
    for (std::size_t c = 0; c < rows->columns; ++c) {
      one[0].direct += rows->electric[c] - rows->electric_reflected[c];
      one[0].reflected += rows->electric_reflected[c];
    }
    for (std::size_t k = 0; k < rows->daylight.size(); ++k) {
      for (std::size_t s = 0; s < luminance.size(); ++s) {
        const double l = luminance[s][k % rows->bins];
        one[1 + s].direct += (rows->daylight[k] - rows->daylight_reflected[k]) * l;
        one[1 + s].reflected += rows->daylight_reflected[k] * l;
      }
    }
    result.push_back(one);
  }
  return result;
}

/// Error of the places that stand for the openings of lamps, lx.
double of_places(const std::vector<Lamp>& lamps, const PointReadings& traced,
                 const domain::ObservationPoint& point) {
  double squares = 0.0;
  for (std::size_t i = 0; i < lamps.size(); ++i) {
    domain::PhotometricData data = lamps[i].distribution->data();
    data.opening.shape = lamps[i].shape == domain::LuminaireType::Shape::circle
                             ? domain::LuminousOpening::Shape::circle
                             : domain::LuminousOpening::Shape::rectangle;
    data.opening.length_m = lamps[i].length_m;
    data.opening.width_m = lamps[i].width_m;
    const auto with_opening = domain::IntensityDistribution::make(data);
    const photometry::LuminaireSource source{
        *with_opening, lamps[i].at,
        photometry::luminaire_frame(lamps[i].rotation_deg, lamps[i].tilt_deg, 0.0)};
    const photometry::Subdivision places =
        photometry::required_subdivision(source, photometry::distance_to_opening_m(source, point.at));
    const double n = std::max(places.along_length, places.along_width);
    const PointReadings::Uneven& uneven = traced.lamps[i];
    if (uneven.half_hidden) squares += std::pow(uneven.spread_lx / n, 2);
    if (uneven.half_dark) squares += std::pow(uneven.spread_lx / (n * n), 2);
  }
  return std::hypot(std::sqrt(squares), 0.0017 * traced.electric.direct.mean);
}

struct ComparedPoint {
  RandomRoom::PointKind kind = RandomRoom::PointKind::work;
  PointReadings traced;
  Light design{};
  Light proof{};
  double of_places_lx = 0.0;
};
struct ComparedRoom {
  std::string description;
  bool has_daylight = false;
  std::vector<ComparedPoint> points;
};

/// Everything that is compared, computed once for all tests.
const std::vector<ComparedRoom>& rooms() {
  static const std::vector<ComparedRoom> made = [] {
    std::vector<ComparedRoom> all(kRooms);
    const auto pool = make_pool_executor(0);
    pool->for_each(kRooms, [&](std::size_t r) {
      const RandomRoom room = random_room(1000 + r);
      ComparedRoom& compared = all[r];
      compared.description = room.description;
      compared.has_daylight = !room.project.spaces[0].openings.empty();
      const std::vector<Lamp> lamps = lamps_of(room.project);
      const PathTracer tracer(room.project, 0, lamps, room.surroundings, skies());
      const std::vector<Light> design = computed_light(room, sim::Accuracy::design);
      const std::vector<Light> proof = computed_light(room, sim::Accuracy::proof);
      for (std::size_t i = 0; i < room.points.size(); ++i) {
        const domain::ObservationPoint& point = room.points[i].point;
        PointReadings traced = tracer.read(point, kPaths, 7000 + 10 * r + i);
        const double places = of_places(lamps, traced, point);
        compared.points.push_back({room.points[i].kind, std::move(traced), design[i], proof[i], places});
      }
    });
    return all;
  }();
  return made;
}

const Reading& traced_reading(const ComparedPoint& point, std::size_t light) {
  return light == 0 ? point.traced.electric : point.traced.skies[light - 1];
}

/// Root mean square of (design - proof) over all rooms, as a share of what the tracer finds: of reflected
/// light for the reflected part, of all light for the direct part, which may be next to nothing.
struct OwnError {
  double direct = 0.0;
  double reflected = 0.0;
};
using Pool = std::pair<bool, RandomRoom::PointKind>;  // electric or daylight, kind of point

const std::map<Pool, OwnError>& own_errors() {
  static const std::map<Pool, OwnError> made = [] {
    std::map<Pool, OwnError> squares;
    std::map<Pool, int> count;
    for (const ComparedRoom& room : rooms()) {
      for (const ComparedPoint& point : room.points) {
        for (std::size_t l = 0; l < (room.has_daylight ? kLights : 1); ++l) {
          const Reading& traced = traced_reading(point, l);
          const Pool pool{l == 0, point.kind};
          const double direct = (point.design[l].direct - point.proof[l].direct) / traced.total.mean;
          const double reflected =
              (point.design[l].reflected - point.proof[l].reflected) / traced.reflected.mean;
          squares[pool].direct += direct * direct;
          squares[pool].reflected += reflected * reflected;
          ++count[pool];
        }
      }
    }
    for (auto& [pool, sum] : squares)
      sum = {std::sqrt(sum.direct / count[pool]), std::sqrt(sum.reflected / count[pool])};
    return squares;
  }();
  return made;
}

/// The program's own standard error of a reading, lx.
Parts own_error(const ComparedPoint& point, std::size_t light) {
  const OwnError& share = own_errors().at({light == 0, point.kind});
  const Reading& traced = traced_reading(point, light);
  return {std::hypot(share.direct * traced.total.mean, light == 0 ? point.of_places_lx : 0.0),
          share.reflected * traced.reflected.mean};
}

/// Calls `visit(room, point, light)` for all that is compared.
template <class Visit>
void for_each_reading(const Visit& visit) {
  for (std::size_t r = 0; r < rooms().size(); ++r)
    for (const ComparedPoint& point : rooms()[r].points)
      for (std::size_t l = 0; l < (rooms()[r].has_daylight ? kLights : 1); ++l) visit(r, point, l);
}

// ---------------------------------------------------------------------------------------------------------------
// The tracer's own checks: it is worth nothing as a witness when it is wrong itself.
// ---------------------------------------------------------------------------------------------------------------

domain::Project cube(double reflectance) {
  domain::Project project;
  domain::Space space;
  space.id = "cube";
  space.floor = {{0, 0}, {4, 0}, {4, 4}, {0, 4}};
  space.height_m = 4.0;
  space.reflectances = {reflectance, reflectance, reflectance, reflectance};
  project.spaces.push_back(space);
  project.glazings.emplace_back();
  project.glazings[0].id = "glass";
  project.glazings[0].reflectance_inside = reflectance;
  domain::LuminaireType type;
  type.id = "panel";
  domain::Channel channel;
  channel.id = "all";
  channel.lumens = 3600.0;
  channel.photometry.formula = "cosine_down";
  channel.photometry.parameters = {{"exponent", 1.0}};
  type.channels.push_back(channel);
  project.luminaire_types.push_back(type);
  project.designs.emplace_back();
  domain::Luminaire luminaire;
  luminaire.type = "panel";
  luminaire.at = {2.0, 2.0, 4.0};
  project.designs[0].luminaires.push_back(luminaire);
  return project;
}

/// From a small level plane to a parallel rectangle a x b whose corner is straight above, at distance 1.
double corner_factor(double a, double b) {
  const double p = std::sqrt(1.0 + a * a);
  const double q = std::sqrt(1.0 + b * b);
  return (a / p * std::atan(b / p) + b / q * std::atan(a / q)) / (2.0 * kPi);
}

TEST(PathTracer, FindsTheLightOfASquareSource) {
  const domain::Project project = cube(0.0);
  const PathTracer tracer(project, 0, lamps_of(project), {}, {});
  const PointReadings read = tracer.read({{2.0, 2.0, 0.0}, {0, 0, 1}, {}}, 20'000, 1);
  EXPECT_EQ(read.electric.reflected.mean, 0.0);
  // The table of the distribution in steps of 2.5 degrees is within 0.02 % of its formula
  // (methods/photometry.md).
  const double expected = 10'000.0 * 4.0 * corner_factor(0.3 / 4.0, 0.3 / 4.0);
  EXPECT_PUBLISHED("configuration factor of a rectangle, Howell's catalogue",
                   "path tracer: square panel of 0.6 m and 3600 lm, 4 m up, black room", "lx", expected,
                   read.electric.total.mean, 4.0 * read.electric.total.standard_error + 2e-4 * expected);
}

TEST(PathTracer, LosesNoFluxOverAllReflections) {
  // Every surface reflects rho: mean illuminance over all of them = flux / (area (1 - rho)).
  for (const double rho : {0.3, 0.8}) {
    const domain::Project project = cube(rho);
    const PathTracer tracer(project, 0, lamps_of(project), {}, {});
    const Estimate mean = tracer.mean_over_surfaces(200'000, 2);
    EXPECT_PUBLISHED(
        "conservation of energy",
        fmt::format("path tracer: mean illuminance of all surfaces of a cube, reflectance {}", rho), "lx",
        3600.0 / (96.0 * (1.0 - rho)), mean.mean, 4.0 * mean.standard_error);
  }
}

TEST(PathTracer, FindsTheSkyThroughOpenings) {
  // Black room of 4 x 4 x 3 m with a roof opening of 1 x 1 m and, apart from it, a window of 2 x 1 m.
  domain::Project roof = cube(0.0);
  roof.spaces[0].height_m = 3.0;
  domain::Project facade = roof;
  domain::Opening opening;
  opening.glazing = "glass";
  opening.wall = 0;
  opening.offset_m = 1.0;
  opening.sill_m = 1.0;
  opening.width_m = 2.0;
  opening.height_m = 1.0;
  facade.spaces[0].openings.push_back(opening);
  opening.kind = domain::Opening::Kind::skylight;
  opening.plan = {{1.5, 1.5}, {2.5, 1.5}, {2.5, 2.5}, {1.5, 2.5}};
  roof.spaces[0].openings.push_back(opening);
  const auto share = [](const domain::Project& project, double y, std::size_t sky) {
    const PathTracer tracer(project, 0, {}, {}, skies());
    const Estimate lx = tracer.read({{2.0, y, 0.0}, {0, 0, 1}, {}}, 40'000, 3).skies[sky].total;
    return Estimate{lx.mean / 100.0, lx.standard_error / 100.0};
  };
  const Estimate uniform = share(roof, 2.0, 0);
  EXPECT_PUBLISHED("configuration factor of a rectangle, Howell's catalogue",
                   "path tracer: sky component through a roof opening, uniform sky", "%",
                   400.0 * corner_factor(0.5 / 3.0, 0.5 / 3.0), uniform.mean, 4.0 * uniform.standard_error);
  // Quadrature for this room (core/lightresponse/response_test.cpp), printed to three decimals.
  for (const auto& [name, project, y, expected] : {std::tuple{"a roof opening at 0.5 m", &roof, 0.5, 2.674},
                                                   {"a facade opening at 1 m", &facade, 1.0, 8.583},
                                                   {"a facade opening at 3 m", &facade, 3.0, 1.680}}) {
    const Estimate overcast = share(*project, y, 1);
    EXPECT_PUBLISHED("independent quadrature, in the manner of CIE 171:2006",
                     fmt::format("path tracer: sky component through {}, traditional overcast sky", name),
                     "%", expected, overcast.mean, 4.0 * overcast.standard_error + 0.0005);
  }
}

// ---------------------------------------------------------------------------------------------------------------
// The comparison
// ---------------------------------------------------------------------------------------------------------------

TEST(WholeRoom, EveryReadingIsWithinFourStandardErrorsOfThePathTracer) {
  for_each_reading([](std::size_t r, const ComparedPoint& point, std::size_t l) {
    const Reading& traced = traced_reading(point, l);
    const Parts own = own_error(point, l);
    const auto compare = [&](const char* part, double computed, const Estimate& expected, double own_lx) {
      const double error = std::hypot(expected.standard_error, own_lx);
      EXPECT_LE(std::abs(computed - expected.mean), 4.0 * error + 1e-6) << fmt::format(
          "room {} ({}), point of kind {}, {}, {}: {:.3f} lx, traced {:.3f} ± {:.3f} lx, own {:.3f}", r,
          rooms()[r].description, static_cast<int>(point.kind), kLightNames[l], part, computed, expected.mean,
          expected.standard_error, own_lx);
    };
    compare("direct", point.proof[l].direct, traced.direct, own.direct);
    compare("reflected", point.proof[l].reflected, traced.reflected, own.reflected);
  });
}

TEST(WholeRoom, TheMeanOverEachRoomIsThatOfThePathTracer) {
  for (std::size_t r = 0; r < rooms().size(); ++r) {
    const ComparedRoom& room = rooms()[r];
    for (const std::size_t l : {std::size_t{0}, std::size_t{2}}) {
      if (l > 0 && !room.has_daylight) continue;
      double expected = 0.0;
      double computed = 0.0;
      double chance = 0.0;
      double own = 0.0;
      for (const ComparedPoint& point : room.points) {
        const Reading& traced = traced_reading(point, l);
        expected += traced.total.mean;
        computed += point.proof[l].direct + point.proof[l].reflected;
        chance += traced.total.standard_error * traced.total.standard_error;
        // The points of a room share its mesh and exchange areas, so their errors add up.
        const Parts error = own_error(point, l);
        own += std::hypot(error.direct, error.reflected);
      }
      const auto n = static_cast<double>(room.points.size());
      EXPECT_PUBLISHED(kTracer, fmt::format("room {}, {}: {}", r + 1, room.description, kLightNames[l]), "lx",
                       expected / n, computed / n, 4.0 * std::hypot(std::sqrt(chance), own) / n);
    }
  }
}

/// Mean over rooms of the mean deviation of their points, and its standard error from the scatter of the
/// rooms, %.
Estimate mean_deviation(bool electric, double (*deviation)(const ComparedPoint&, std::size_t)) {
  double sum = 0.0;
  double squares = 0.0;
  double n = 0.0;
  for (const ComparedRoom& room : rooms()) {
    if (!electric && !room.has_daylight) continue;
    double of_room = 0.0;
    double readings = 0.0;
    for (const ComparedPoint& point : room.points) {
      for (std::size_t l = electric ? 0 : 1; l < (electric ? 1 : kLights); ++l) {
        of_room += 100.0 * deviation(point, l);
        readings += 1.0;
      }
    }
    of_room /= readings;
    sum += of_room;
    squares += of_room * of_room;
    n += 1.0;
  }
  const double mean = sum / n;
  return {mean, std::sqrt((squares / n - mean * mean) / (n - 1.0))};
}

TEST(WholeRoom, ReflectedLightHasNoBiasBeyondItsMesh) {
  for (const bool electric : {true, false}) {
    const char* name = electric ? "electric light" : "daylight";
    const auto proof = [](const ComparedPoint& p, std::size_t l) {
      return p.proof[l].reflected / traced_reading(p, l).reflected.mean - 1.0;
    };
    const auto design = [](const ComparedPoint& p, std::size_t l) {
      return p.design[l].reflected / traced_reading(p, l).reflected.mean - 1.0;
    };
    // One mean a patch loses what the brightness within a patch and the view of it have in common, which is
    // of second order in the side of the patch: 0.7 m at design and 0.4 m at proof accuracy. Carried on to no
    // size:
    const auto no_mesh = [](const ComparedPoint& p, std::size_t l) {
      const double per_design = 1.0 / (0.7 / 0.4 * (0.7 / 0.4) - 1.0);
      const double carried =
          p.proof[l].reflected + per_design * (p.proof[l].reflected - p.design[l].reflected);
      return carried / traced_reading(p, l).reflected.mean - 1.0;
    };
    const Estimate none = mean_deviation(electric, no_mesh);
    EXPECT_PUBLISHED(
        kTracer,
        fmt::format("mean deviation of reflected {}, proof and design carried on to patches of no size",
                    name),
        "%", 0.0, none.mean, 4.0 * none.standard_error);
    // The bar that interreflection has everywhere else (docs/methods/interreflection.md) at proof accuracy,
    // and second order from there at design accuracy.
    EXPECT_PUBLISHED(kTracer, fmt::format("mean deviation of reflected {}, proof accuracy", name), "%", 0.0,
                     mean_deviation(electric, proof).mean, 1.0);
    EXPECT_PUBLISHED(kTracer, fmt::format("mean deviation of reflected {}, design accuracy", name), "%", 0.0,
                     mean_deviation(electric, design).mean, 3.0);
  }
}

TEST(WholeRoom, DirectLightHasNoBias) {
  for (const bool electric : {true, false}) {
    const Estimate mean = mean_deviation(electric, [](const ComparedPoint& p, std::size_t l) {
      const Reading& traced = traced_reading(p, l);
      return (p.proof[l].direct - traced.direct.mean) / traced.total.mean;
    });
    EXPECT_PUBLISHED(kTracer,
                     fmt::format("mean deviation of direct {}, share of all of it",
                                 electric ? "electric light" : "daylight"),
                     "%", 0.0, mean.mean, 4.0 * mean.standard_error);
  }
}

TEST(WholeRoom, DeviationsAreAsLargeAsTheirErrorsSay) {
  // Mean of (deviation / standard error)^2: 1 when the errors are right. Readings of a point under three
  // skies go together, and those of a room somewhat; if only the rooms were independent its own standard
  // error would be sqrt(2 / 20) = 0.32. Below a quarter the bounds above would be twice as wide as they need
  // be.
  double sum = 0.0;
  double n = 0.0;
  for_each_reading([&](std::size_t, const ComparedPoint& point, std::size_t l) {
    const Reading& traced = traced_reading(point, l);
    const double deviation = point.proof[l].reflected - traced.reflected.mean;
    const double error = std::hypot(traced.reflected.standard_error, own_error(point, l).reflected);
    sum += deviation * deviation / (error * error);
    n += 1.0;
  });
  EXPECT_GT(sum / n, 0.25);
  EXPECT_LT(sum / n, 1.0 + 4.0 * std::sqrt(2.0 / kRooms));
  RecordProperty("chi_square_per_reading", fmt::format("{:.3f}", sum / n));
}

TEST(WholeRoom, SingleReadingsScatterAsTheirAccuracySays) {
  // Root mean square of what is left when the tracer's own share is taken off. Bars: 2 % of single patches
  // against closed-form factors (docs/methods/interreflection.md) at design accuracy, which is what most runs
  // have, and the 1 % of interreflection at proof accuracy.
  for (const bool electric : {true, false}) {
    double design = 0.0;
    double proof = 0.0;
    double n = 0.0;
    for_each_reading([&](std::size_t, const ComparedPoint& point, std::size_t l) {
      if (electric != (l == 0)) return;
      const Estimate& traced = traced_reading(point, l).reflected;
      const double chance = traced.standard_error * traced.standard_error;
      design += (std::pow(point.design[l].reflected - traced.mean, 2) - chance) / (traced.mean * traced.mean);
      proof += (std::pow(point.proof[l].reflected - traced.mean, 2) - chance) / (traced.mean * traced.mean);
      n += 1.0;
    });
    const char* name = electric ? "electric light" : "daylight";
    EXPECT_PUBLISHED(kTracer, fmt::format("scatter of reflected {}, design accuracy", name), "%", 0.0,
                     100.0 * std::sqrt(std::max(0.0, design / n)), 2.0);
    EXPECT_PUBLISHED(kTracer, fmt::format("scatter of reflected {}, proof accuracy", name), "%", 0.0,
                     100.0 * std::sqrt(std::max(0.0, proof / n)), 1.0);
  }
}

}  // namespace
}  // namespace halflight::validation
