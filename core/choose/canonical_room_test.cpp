#include "choose/canonical_room.hpp"

#include "base/units.hpp"

#include <algorithm>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

domain::Space angled() {
  domain::Space space;
  space.floor = {{0, 0}, {3.5, 0}, {7, 0}, {7, 3}, {4, 3}, {4, 5}, {0, 5}};
  space.furniture.resize(2);
  space.furniture[0].plan = rectangle({1, 1}, {2, 1.5});
  space.furniture[1].plan = rectangle({5, 1}, {6, 1.5});
  space.doors.resize(1);
  space.doors[0].wall = 4;
  space.doors[0].offset_m = 0.4;
  return space;
}

Point2 turned(Point2 p, double deg) {
  const double c = std::cos(deg * kRadPerDeg);
  const double s = std::sin(deg * kRadPerDeg);
  return {c * p.x - s * p.y + 20.0, s * p.x + c * p.y - 3.0};
}

TEST(CanonicalRoom, IsTheSameToTheLastBitHoweverTheRoomIsTurnedAndBegun) {
  const CanonicalRoom first = canonical_room(angled(), {}, {});
  for (const double deg : {37.0, -95.5, 180.0})
    for (const int start : {1, 4}) {
      domain::Space other = angled();
      for (Point2& p : other.floor) p = turned(p, deg);
      std::rotate(other.floor.begin(), other.floor.begin() + start, other.floor.end());
      other.doors[0].wall = (other.doors[0].wall - start + 7) % 7;
      for (domain::Furniture& f : other.furniture)
        for (Point2& p : f.plan) p = turned(p, deg);
      std::swap(other.furniture[0], other.furniture[1]);
      const CanonicalRoom room = canonical_room(other, {}, {});
      EXPECT_EQ(room.space.floor, first.space.floor);
      EXPECT_EQ(room.space.furniture[0].plan, first.space.furniture[0].plan);
      EXPECT_EQ(room.space.furniture[1].plan, first.space.furniture[1].plan);
      EXPECT_EQ(room.furniture[0], first.furniture[1]) << "the index in the document";
      EXPECT_EQ(room.space.doors[0].wall, first.space.doors[0].wall);
      const Point2 back = room.frame.to_building(room.frame.to_frame({21.0, 4.0}));
      EXPECT_NEAR(back.x, 21.0, 1e-12);
      EXPECT_NEAR(back.y, 4.0, 1e-12);
    }
}

TEST(CanonicalRoom, RunsAlongTheLongestWallWithTheRoomToItsLeft) {
  const CanonicalRoom room = canonical_room(angled(), {}, {});
  const Box2 box = bounds(room.space.floor);
  EXPECT_NEAR(box.low.x, 0.0, 1e-9);
  EXPECT_NEAR(box.low.y, 0.0, 1e-9);
  EXPECT_NEAR(box.high.x, 7.0, 1e-9);
  EXPECT_NEAR(room.frame.turn_deg(), 0.0, 1e-9);
}

TEST(CanonicalRoom, JoinsWallsThatLieInOneLine) {
  const std::vector<Wall> walls = walls_of(angled().floor);
  ASSERT_EQ(walls.size(), 6u);
  EXPECT_TRUE(std::any_of(walls.begin(), walls.end(), [](const Wall& w) {
    return w.from == Point2{0, 0} && w.to == Point2{7, 0};
  }));
}

}  // namespace
}  // namespace halflight::choose
