// Light through inner glazing: two rooms side by side, against closed forms and through a whole study.
#include "base/units.hpp"
#include "published.hpp"
#include "sim/lit_space.hpp"
#include "sim/study.hpp"

#include <cmath>
#include <numeric>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

// Black cubes of 4 m, 0.1 m apart: the borrower from x = 0, the lender from x = 4.1. The pane of 2 m x 2 m
// stands in the middle of the wall between them.
constexpr double kLenderWest_m = 4.1;

domain::Space cube(const std::string& id, double west_m) {
  domain::Space space;
  space.id = id;
  space.storey = "ground";
  space.floor = {{west_m, 0}, {west_m + 4, 0}, {west_m + 4, 4}, {west_m, 4}};
  space.height_m = 4.0;
  space.reflectances = {0.0, 0.0, 0.0, 0.0};
  return space;
}

domain::Opening wall_of_glass(int wall) {
  domain::Opening opening;
  opening.id = "O" + std::to_string(wall);
  opening.wall = wall;
  opening.sill_m = 0.0;
  opening.width_m = opening.height_m = 4.0;
  opening.glazing = "none";
  return opening;
}

domain::Project two_cubes() {
  domain::Project project;
  domain::Space borrower = cube("borrower", 0.0);
  domain::Opening pane;
  pane.id = "P";
  pane.kind = domain::Opening::Kind::inner_glazing;
  pane.wall = 1;
  pane.offset_m = 1.0;
  pane.sill_m = 1.0;
  pane.width_m = pane.height_m = 2.0;
  pane.glazing = "milk";
  pane.borrows_from = "lender";
  pane.frame_fraction = 0.1;
  borrower.openings = {pane};
  domain::TaskArea task;  // one point of calculation, 2 m from the pane
  task.id = "T";
  task.plan = {{1.95, 1.95}, {2.05, 1.95}, {2.05, 2.05}, {1.95, 2.05}};
  task.height_m = 0.0;
  borrower.task_areas = {task};
  domain::Space lender = cube("lender", kLenderWest_m);
  project.spaces = {borrower, lender};
  domain::Glazing none;
  none.id = "none";
  none.reflectance_inside = 0.0;
  domain::Glazing milk;
  milk.id = "milk";
  milk.kind = domain::Glazing::Kind::diffusing;
  milk.transmittance = 0.88;
  milk.panes = 1;
  milk.maintenance = 0.95;
  milk.reflectance_inside = 0.0;
  project.glazings = {none, milk};
  project.storeys.push_back({});
  project.storeys[0].id = "ground";
  return project;
}

struct Lit {
  explicit Lit(domain::Project p) : project(std::move(p)) {
    const StudyInputs inputs{project, library, rules, {}, {}, {}, {}};
    for (std::size_t i = 0; i < project.spaces.size(); ++i) {
      Result<LitSpace> made =
          light_space(inputs, i, outside, light_options(Accuracy::design), {}, context, log);
      EXPECT_TRUE(made) << (made ? "" : to_text(made.error().front()));
      spaces.push_back(*std::move(made));
    }
    connect_panes(project, spaces);
  }
  /// Illuminance on the far side of the first pane with 1 cd/m2 in every bare window of the lender, lx.
  [[nodiscard]] double far_side_lx() const {
    const lightresponse::PointRows& rows = spaces[0].panes[0].lent->rows;
    double lx = 0.0;
    for (std::size_t g = 0; g < rows.groups; ++g)
      for (std::size_t k = 0; k < outside.source_bin_count(); ++k) lx += rows.daylight_of(0, g)[k];
    return lx;
  }
  [[nodiscard]] double borrowed_lx() const {
    return spaces[0].panes[0].gain(spaces[0].task_panes[0].of(0, 0)) * far_side_lx();
  }

  domain::Project project;
  domain::Library library;
  std::vector<domain::CodeRule> rules;
  SerialExecutor executor;
  std::unique_ptr<BlobStore> blobs = make_memory_blob_store();
  Context context{executor, *blobs, nullptr, {}};
  lightresponse::StageLog log;
  climate::SkyDivision sky{1};
  daylight::Outside outside{sky, daylight::Compass(0.0), {}};
  std::vector<LitSpace> spaces;
};

domain::Project uniform_lender() {
  // The lender's other walls and its ceiling shine with one luminance; its floor is black.
  domain::Project project = two_cubes();
  domain::Space& lender = project.spaces[1];
  lender.openings = {wall_of_glass(0), wall_of_glass(1), wall_of_glass(2)};
  domain::Opening roof;
  roof.id = "R";
  roof.kind = domain::Opening::Kind::skylight;
  roof.plan = lender.floor;
  roof.glazing = "none";
  lender.openings.push_back(roof);
  return project;
}

/// Element to a rectangle in a plane at right angles, at distance c from the plane, the rectangle a deep and
/// b wide with a corner before the element (Howell, configuration factors, B-4).
double corner_factor(double a, double b, double c) {
  const double x = a / b;
  const double y = c / b;
  const double r = std::hypot(x, y);
  return (std::atan(1.0 / y) - y / r * std::atan(1.0 / r)) / (2.0 * kPi);
}

TEST(BorrowedLight, AUniformLenderLightsTheBorrowerAsItsClosedFormSays) {
  const Lit lit(uniform_lender());
  // Far side: pi L but for the black floor; the mean over the pane by midpoints.
  double mean = 0.0;
  constexpr int n = 20;
  for (int i = 0; i < n; ++i)
    for (int j = 0; j < n; ++j) {
      const double y = 1.0 + 2.0 * (i + 0.5) / n;
      const double z = 1.0 + 2.0 * (j + 0.5) / n;
      mean += kPi * (1.0 - corner_factor(4.0, y, z) - corner_factor(4.0, 4.0 - y, z)) / (n * n);
    }
  // Midpoints of the calculation's 5 x 5 cells on the pane differ from the mean by less than 0.2 %, samples
  // of walls of light seen from their edges by about 1 %.
  EXPECT_PUBLISHED("configuration factors B-4, Howell's catalogue",
                   "far side of inner glazing in a lender of 1 cd/m² over a black floor", "lx", mean,
                   lit.far_side_lx(), published::relative(0.02));
  // Even light through diffusing glass leaves with exitance E tau; tau as an even hemisphere passes a pane
  // rated 0.88 (0.8058, see the Fresnel checks), dirt 0.95 and frame 0.1. The pane, 1 m to 3 m high, is 2 m
  // from a point on the floor.
  const double tau = 0.8058 * 0.95 * 0.9;
  const double factor = 2.0 * (corner_factor(3.0, 1.0, 2.0) - corner_factor(1.0, 1.0, 2.0));
  EXPECT_PUBLISHED("configuration factors B-4, Howell's catalogue",
                   "floor 2 m before inner glazing in a black room, that lender behind it", "lx",
                   mean * tau * factor, lit.borrowed_lx(), published::relative(0.02));
}

TEST(BorrowedLight, GlassThatPassesNothingAndADarkLenderGiveExactlyNothing) {
  domain::Project opaque = uniform_lender();
  opaque.glazings[1].transmittance = 0.0;
  const Lit no_glass(opaque);
  EXPECT_GT(no_glass.far_side_lx(), 1.0);
  EXPECT_EQ(no_glass.borrowed_lx(), 0.0);
  const Lit dark(two_cubes());
  EXPECT_EQ(dark.far_side_lx(), 0.0);
  EXPECT_EQ(dark.borrowed_lx(), 0.0);
  EXPECT_GT(dark.spaces[0].task_panes[0].of(0, 0).descending, 0.0F) << "the pane is seen all the same";
}

TEST(BorrowedLight, FromTheFloorAPaneSendsOnlyLightThatDescends) {
  const Lit lit(uniform_lender());
  const lightresponse::PaneRows::Reading& reading = lit.spaces[0].task_panes[0].of(0, 0);
  EXPECT_EQ(reading.rising, 0.0F);
  EXPECT_EQ(reading.descending_reflected, 0.0F) << "the room is black";
}

TEST(BorrowedLight, AClosedGreyBorrowerAbsorbsWhatThePaneSendsIn) {
  // Conservation of energy: exitance 1 lm/m2 over 4 m2 comes in; walls of reflectance 0.5 and the pane, here
  // of reflectance 0.5 as well, absorb it all.
  domain::Project project = uniform_lender();
  project.spaces[0].reflectances = {0.5, 0.5, 0.5, 0.5};
  project.glazings[1].reflectance_inside = 0.5;
  Lit lit(project);
  const lightresponse::SpaceLight light(lit.spaces[0].scene, lit.outside, light_options(Accuracy::design),
                                        lit.context, lit.log);
  double absorbed_lm = 0.0;
  for (const Patch& patch : lit.spaces[0].scene.enclosure.patches()) {
    lightresponse::PointSet set;
    set.points.push_back({patch.centroid, patch.normal, {}});
    const Result<lightresponse::PaneRows> rows = light.pane_rows(set);
    ASSERT_TRUE(rows);
    const lightresponse::PaneRows::Reading& reading = rows->of(0, 0);
    absorbed_lm += 0.5 * patch.area_m2 * (reading.descending + reading.rising) / kPi;
  }
  // Illuminance at the middle of patches of 0.7 m stands for their mean: 2 % beside the pane's jambs.
  EXPECT_PUBLISHED("conservation of energy", "flux absorbed in a grey cube, inner glazing sends in 4 lm",
                   "lm", 4.0, absorbed_lm, published::relative(0.02));
}

// ---------------------------------------------------------------------------------------------------------
// Through a study.

/// A lender with a window and a shade, and a room behind it without one.
domain::Project front_and_back() {
  domain::Project project;
  project.id = "two";
  project.site.latitude_deg = 51.0;
  project.site.calendar_year = 2026;
  domain::Calendar calendar;
  calendar.id = "open";
  calendar.hours.push_back({{0, 1, 2, 3, 4}, 8 * kHour, 18 * kHour});
  project.calendars.push_back(calendar);
  project.storeys.push_back({});
  project.storeys[0].id = "ground";
  domain::Glazing glass;
  glass.id = "glass";
  glass.transmittance = 0.8;
  project.glazings.push_back(glass);
  domain::Shade cloth;
  cloth.id = "cloth";
  cloth.operation = domain::Shade::Operation::fixed_open;
  project.shades.push_back(cloth);
  domain::LuminaireType type;
  type.id = "panel";
  type.length_m = 1.2;
  type.width_m = 0.3;
  domain::Channel channel;
  channel.id = "all";
  channel.driver = "driver";
  channel.input_w = 30.0;
  channel.lumens = 3000.0;
  channel.photometry.formula = "cosine_down";
  type.channels.push_back(channel);
  project.luminaire_types.push_back(type);
  domain::Driver driver;
  driver.id = "driver";
  project.drivers.push_back(driver);
  const auto room = [&](const std::string& id, double south_m) {
    domain::Space space;
    space.id = id;
    space.storey = "ground";
    space.floor = {{0, south_m}, {5, south_m}, {5, south_m + 3}, {0, south_m + 3}};
    space.occupancy.people = 2;
    space.occupancy.calendar = "open";
    domain::TaskArea task;
    task.id = "desk";
    task.plan = {{1, south_m + 0.5}, {4, south_m + 0.5}, {4, south_m + 2}, {1, south_m + 2}};
    task.target_lx = 150.0;
    space.task_areas.push_back(task);
    project.spaces.push_back(space);
  };
  room("back", 3.1);
  room("front", 0.0);
  domain::Opening pane;
  pane.id = "P";
  pane.kind = domain::Opening::Kind::inner_glazing;
  pane.wall = 0;
  pane.offset_m = 0.5;
  pane.sill_m = 0.8;
  pane.width_m = 4.0;
  pane.height_m = 1.8;
  pane.glazing = "glass";
  pane.borrows_from = "front";
  project.spaces[0].openings.push_back(pane);
  domain::Opening window = pane;
  window.id = "W";
  window.kind = domain::Opening::Kind::window;
  window.borrows_from.clear();
  window.shade = "cloth";
  project.spaces[1].openings.push_back(window);
  domain::Design design;
  design.id = "proposal";
  domain::Group group;
  group.id = group.name = "day";
  group.space = "back";
  group.strategy = domain::Strategy::daylight;
  for (int i = 0; i < 3; ++i) {
    domain::Luminaire luminaire;
    luminaire.id = "L" + std::to_string(i);
    luminaire.type = "panel";
    luminaire.space = "back";
    luminaire.at = {1.0 + 1.5 * i, 4.5, 2.7};
    design.luminaires.push_back(luminaire);
    group.channels.push_back(luminaire.id);
  }
  design.groups.push_back(group);
  domain::Photosensor sensor;
  sensor.id = "S";
  sensor.space = "back";
  sensor.at = {2.5, 4.5, 2.7};
  sensor.groups = {"day"};
  design.photosensors.push_back(sensor);
  domain::Sequence sequence;
  sequence.space = "back";
  sequence.on.by = domain::OnRule::By::schedule;
  sequence.schedule = domain::ScheduleRule{};
  sequence.schedule->calendar = "open";
  domain::DaylightRule rule;
  rule.group = "day";
  rule.photosensor = "S";
  rule.task_area = "desk";
  sequence.daylight.push_back(rule);
  design.sequences.push_back(sequence);
  project.designs.push_back(design);
  return project;
}

domain::WeatherYear sunny_year() {
  domain::WeatherYear year;
  year.name = "made";
  year.rows.resize(8760);
  for (std::size_t h = 0; h < year.rows.size(); ++h) {
    if (h % 24 < 6 || h % 24 >= 18) continue;
    year.rows[h].beam_w_m2 = 400.0;
    year.rows[h].diffuse_w_m2 = 200.0;
    year.rows[h].global_w_m2 = 400.0;
  }
  return year;
}

results::Study study_of(const domain::Project& project, BlobStore& blobs,
                        const std::vector<std::string>& spaces = {},
                        const std::vector<Hash>& content_keys = {}) {
  const domain::Library library;
  const std::vector<domain::CodeRule> rules;
  const StudyInputs inputs{project, library, rules, {}, {sunny_year()}, {}, content_keys};
  StudyOptions options;
  options.accuracy = Accuracy::draft;
  options.scrambles = 1;
  options.points_per_scramble = 2;
  options.spaces = spaces;
  const auto pool = make_pool_executor(0);
  return run_study(inputs, options, {*pool, blobs, nullptr, {}});
}

double kwh(const results::Study& study, const std::string& space) {
  for (const results::SpaceStudy& one : study.spaces)
    if (one.id == space) return one.cases[3].lighting_kwh.mean;
  return -1.0;
}

TEST(BorrowedLight, SavesEnergyBehindAndFollowsTheShadesInFront) {
  domain::Project project = front_and_back();
  const auto blobs = make_memory_blob_store();
  const results::Study lent = study_of(project, *blobs);
  ASSERT_TRUE(lent.spaces[0].studied) << lent.spaces[0].not_studied_because;
  ASSERT_TRUE(lent.spaces[0].daylight_availability);
  EXPECT_GT(lent.spaces[0].daylight_availability->half_of_points_lx, 10.0);
  EXPECT_LT(lent.spaces[0].daylight_availability->half_of_points_lx,
            lent.spaces[1].daylight_availability->half_of_points_lx);
  EXPECT_EQ(lent.spaces[0].daylight_availability->annual_sunlight_exposure, 0.0);

  project.shades[0].operation = domain::Shade::Operation::fixed_closed;
  const results::Study drawn = study_of(project, *blobs);
  EXPECT_GT(kwh(drawn, "back"), 1.02 * kwh(lent, "back"));
  project.shades[0].operation = domain::Shade::Operation::manual;
  const results::Study by_hand = study_of(project, *blobs);
  EXPECT_GT(kwh(by_hand, "back"), kwh(lent, "back"));
  EXPECT_LT(kwh(by_hand, "back"), kwh(drawn, "back"));

  project.spaces[0].openings[0].borrows_from = "outside";
  const results::Study alone = study_of(project, *blobs);
  EXPECT_FALSE(alone.spaces[0].daylight_availability);
  EXPECT_GT(kwh(alone, "back"), kwh(drawn, "back"));
}

TEST(BorrowedLight, ASpaceStudiedByItselfOrFromTheStoreComesOutTheSame) {
  domain::Project project = front_and_back();
  project.shades[0].operation = domain::Shade::Operation::manual;
  const auto blobs = make_memory_blob_store();
  const results::Study whole = study_of(project, *blobs);
  const results::Study again = study_of(project, *blobs);
  for (const auto& stage : again.cache.stages) EXPECT_EQ(stage.computed, 0) << stage.name;
  EXPECT_EQ(kwh(again, "back"), kwh(whole, "back"));
  const auto nothing = make_memory_blob_store();
  const results::Study one = study_of(project, *nothing, {"back"});
  ASSERT_EQ(one.spaces.size(), 1U);
  EXPECT_EQ(kwh(one, "back"), kwh(whole, "back"));
  EXPECT_EQ(one.spaces[0].daylight_availability->half_of_points_lx,
            whole.spaces[0].daylight_availability->half_of_points_lx);
}

TEST(BorrowedLight, KeptYearsDependOnTheLendersPeople) {
  domain::Project project = front_and_back();
  project.shades[0].operation = domain::Shade::Operation::manual;
  const auto kept = make_memory_blob_store();
  std::vector<Hash> content = {KeyBuilder().add("back").key(), KeyBuilder().add("front").key()};
  const results::Study first = study_of(project, *kept, {"back"}, content);
  project.spaces[1].occupancy.pattern = domain::Occupancy::Pattern::none;
  content[1] = KeyBuilder().add("front, empty").key();
  const results::Study empty = study_of(project, *kept, {"back"}, content);
  EXPECT_LT(kwh(empty, "back"), kwh(first, "back")) << "nobody draws the shade";
}

TEST(BorrowedLight, TheGlassOfADoorPassesItToo) {
  domain::Project project = front_and_back();
  domain::Door door;
  door.id = "D";
  door.wall = 0;
  door.offset_m = 1.0;
  door.width_m = 3.0;
  door.height_m = 2.4;
  door.glass_fraction = 0.8;
  door.leads_to = "front";
  project.spaces[0].openings.clear();
  project.spaces[0].doors = {door};
  const auto blobs = make_memory_blob_store();
  EXPECT_FALSE(study_of(project, *blobs).spaces[0].daylight_availability);
  project.spaces[0].doors[0].glazing = "glass";
  const results::Study glazed = study_of(project, *blobs);
  ASSERT_TRUE(glazed.spaces[0].daylight_availability);
  EXPECT_GT(glazed.spaces[0].daylight_availability->half_of_points_lx, 10.0);
}

TEST(BorrowedLight, ALenderThatCannotBeLitIsTheReasonGiven) {
  domain::Project project = front_and_back();
  project.spaces[1].openings[0].glazing = "no such glass";
  const auto blobs = make_memory_blob_store();
  const results::Study study = study_of(project, *blobs);
  EXPECT_FALSE(study.spaces[0].studied);
  EXPECT_NE(study.spaces[0].not_studied_because.find("front"), std::string::npos);
}

}  // namespace
}  // namespace halflight::sim
