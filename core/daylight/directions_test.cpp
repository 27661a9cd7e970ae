#include "daylight/directions.hpp"

#include "base/units.hpp"
#include "published.hpp"

#include <cmath>

#include <gtest/gtest.h>

namespace halflight::daylight {
namespace {

domain::Space room_with_window() {
  domain::Space space;
  space.floor = {{0, 0}, {4, 0}, {4, 4}, {0, 4}};
  space.height_m = 3.0;
  domain::Opening window;
  window.offset_m = 1.0;
  window.sill_m = 1.0;
  window.width_m = 2.0;
  window.height_m = 1.0;
  space.openings.push_back(window);
  return space;
}

Outside::Seen seen_from_window(const domain::Space& space, Vector3 towards) {
  const climate::SkyDivision sky(1);
  std::vector<OutsideSolid> solids;
  add_surrounds(space, solids);
  const Outside outside(sky, Compass(0.0), solids);
  Rays rays({2.0, 0.0, 0.0});
  rays.add({2.0, -1e-3, 1.5}, normalized(towards));
  std::vector<Outside::Seen> seen(1);
  outside.look(rays, seen);
  return seen[0];
}

TEST(Surrounds, AnOverhangHidesWhatLiesAboveItsEdge) {
  // From the middle of the window, 1.5 m up, the outer edge of a slab 1 m deep at 2.2 m stands 0.7 m above
  // and 1 m out: tan of 0.7.
  domain::Space space = room_with_window();
  space.openings[0].overhang_m = 1.0;
  space.openings[0].overhang_above_m = 0.2;
  space.openings[0].surround_reflectance = 0.4;
  EXPECT_FALSE(seen_from_window(space, {0.0, -1.0, 0.69}).solid);
  const Outside::Seen slab = seen_from_window(space, {0.0, -1.0, 0.71});
  EXPECT_TRUE(slab.solid);
  EXPECT_FLOAT_EQ(slab.reflectance, 0.4F);
  const climate::SkyDivision sky(1);
  EXPECT_EQ(slab.bin, sky.size() + 1 + 9) << "its underside";
  // It ends at the jambs, 1 m to the side, unless it goes on.
  EXPECT_FALSE(seen_from_window(space, {1.5, -0.9, 0.7}).solid);
  space.openings[0].overhang_beyond_m = 0.6;
  EXPECT_TRUE(seen_from_window(space, {1.5, -0.9, 0.7}).solid);
}

TEST(Surrounds, FinsAndRevealsHideWhatLiesAside) {
  domain::Space space = room_with_window();
  EXPECT_FALSE(seen_from_window(space, {1.0, -0.45, 0.0}).solid);
  space.openings[0].fins_m = 0.5;  // 1 m from the middle: hides beyond atan(1 / 0.5)
  EXPECT_TRUE(seen_from_window(space, {1.0, -0.45, 0.0}).solid);
  EXPECT_FALSE(seen_from_window(space, {1.0, -0.55, 0.0}).solid);
  space.openings[0].fins_m = 0.0;
  space.openings[0].reveal_m = 0.25;  // 0.5 m below and above the middle
  EXPECT_TRUE(seen_from_window(space, {0.0, -0.45, 1.0}).solid);
  EXPECT_FALSE(seen_from_window(space, {0.0, -0.55, 1.0}).solid);
  EXPECT_TRUE(seen_from_window(space, {0.0, -0.45, -1.0}).solid);
  EXPECT_TRUE(seen_from_window(space, {-1.0, -0.2, 0.0}).solid);
}

TEST(Surrounds, StandOutsideOnEveryWall) {
  for (int wall = 0; wall < 4; ++wall) {
    domain::Space space = room_with_window();
    space.openings[0].wall = wall;
    space.openings[0].overhang_m = 1.0;
    std::vector<OutsideSolid> solids;
    add_surrounds(space, solids);
    ASSERT_EQ(solids.size(), 1U);
    EXPECT_GT(area(solids[0].plan), 1.9) << "counter-clockwise";
    for (const Point2 p : solids[0].plan)
      EXPECT_TRUE(p.x <= 1e-9 || p.x >= 4.0 - 1e-9 || p.y <= 1e-9 || p.y >= 4.0 - 1e-9);
  }
}

TEST(Outside, AFacadeOppositeIsSeenByTheWayItFaces) {
  domain::Obstruction block;
  block.plan_m = {{-10, -8}, {10, -8}, {10, -6}, {-10, -6}};
  block.top_m = 16.0;
  block.reflectance = 0.25;
  const climate::SkyDivision sky(1);
  const std::vector<OutsideSolid> solids = solids_of({block}, 10.0);
  const Outside outside(sky, Compass(0.0), solids);
  Rays rays({0.0, 0.0, 0.0});
  rays.add({0.0, 0.0, 1.0}, {0.0, -1.0, 0.0});
  rays.add({0.0, 0.0, 1.0}, normalized(Vector3{0.0, -1.0, 0.9}));
  rays.add({0.0, 0.0, 20.0}, normalized(Vector3{0.0, -7.0, -14.0}));
  std::vector<Outside::Seen> seen(3);
  outside.look(rays, seen);
  EXPECT_TRUE(seen[0].solid);
  EXPECT_FLOAT_EQ(seen[0].reflectance, 0.25F);
  const auto face = [&](const Outside::Seen& s) { return Outside::face_normal(s.bin - outside.face_bin(0)); };
  EXPECT_NEAR(face(seen[0]).y, 1.0, 1e-12) << "it faces north, to the window";
  EXPECT_FALSE(seen[1].solid) << "over its top, 6 m above this floor";
  EXPECT_NEAR(face(seen[2]).z, 1.0, 1e-12) << "its roof from above";
}

}  // namespace
}  // namespace halflight::daylight
