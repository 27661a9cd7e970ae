#include "sensing/seats.hpp"

#include "domain/project.hpp"

#include <algorithm>

#include <gtest/gtest.h>

namespace halflight::sensing {
namespace {

domain::Space room() {
  domain::Space space;
  space.floor = rectangle({0, 0}, {8, 6});
  return space;
}

void add_task(domain::Space& space, const Polygon& plan, double height_m = 0.75) {
  domain::TaskArea task;
  task.plan = plan;
  task.height_m = height_m;
  space.task_areas.push_back(task);
}

TEST(Seats, AreSharedOutOverPlacesByTheirArea) {
  domain::Space space = room();
  add_task(space, rectangle({0, 0}, {4, 1}));  // two thirds of the area
  add_task(space, rectangle({6, 0}, {7, 2}));
  const std::vector<Point2> seats = seats_of(space, 6);
  ASSERT_EQ(seats.size(), 6U);
  EXPECT_EQ(std::count_if(seats.begin(), seats.end(),
                          [&](Point2 p) { return contains(space.task_areas[0].plan, p); }),
            4);
  EXPECT_EQ(std::count_if(seats.begin(), seats.end(),
                          [&](Point2 p) { return contains(space.task_areas[1].plan, p); }),
            2);
  // Along the longer side, each in the middle of its part.
  EXPECT_NEAR(seats[0].x, 0.5, 1e-12);
  EXPECT_NEAR(seats[3].x, 3.5, 1e-12);
  EXPECT_NEAR(seats[4].y, 0.5, 1e-12);
}

TEST(Seats, OnePersonSitsInTheMiddleOfTheTask) {
  domain::Space space = room();
  add_task(space, rectangle({1, 1}, {3, 2}));
  const std::vector<Point2> seats = seats_of(space, 1);
  EXPECT_NEAR(seats.front().x, 2.0, 1e-12);
  EXPECT_NEAR(seats.front().y, 1.5, 1e-12);
}

TEST(Seats, WithoutPlacesTheyKeepOffWhatStandsOnTheFloor) {
  domain::Space space = room();
  space.furniture.push_back({"shelf", "shelf", rectangle({0, 0}, {8, 3}), 0.0, 2.0, {}});
  for (const Point2 p : seats_of(space, 7)) EXPECT_GT(p.y, 3.0);
  EXPECT_EQ(seats_of(space, 7).size(), 7U);
  EXPECT_TRUE(seats_of(space, 0).empty());
}

TEST(Seats, TheWayComesFromTheNearestDoor) {
  domain::Space space = room();
  domain::Door door;
  door.wall = 0;
  door.offset_m = 1.0;
  door.width_m = 1.0;
  space.doors.push_back(door);
  door.wall = 2;
  space.doors.push_back(door);
  const Point2 near = way_in(space, {2, 1});
  EXPECT_NEAR(near.x, 1.5, 1e-12);
  EXPECT_NEAR(near.y, 0.0, 1e-12);
  EXPECT_NEAR(way_in(space, {6, 5}).y, 6.0, 1e-12);
  space.doors.clear();
  EXPECT_NEAR(way_in(space, {6, 5}).x, 4.0, 1e-12);
}

// DIV-1
TEST(WayIn, GoesThroughNoWallThatStands) {
  domain::Space space;
  space.floor = {{0, 0}, {10, 0}, {10, 6}, {0, 6}};
  for (const int side : {3, 1}) {
    domain::Door door;
    door.wall = side;
    door.width_m = 1.0;
    door.offset_m = 2.5;
    space.doors.push_back(door);
  }
  domain::Partition wall;
  wall.kind = domain::Partition::Kind::movable;
  wall.from = {3, 0};
  wall.to = {3, 6};
  wall.states = {"open", "closed"};
  space.partitions = {wall};
  space.occupancy.pattern = domain::Occupancy::Pattern::bookings;
  space.occupancy.divided_fraction = 0.5;
  const Point2 seat{4, 3};
  EXPECT_NEAR(way_in(space, seat).x, 0.0, 1e-12) << "the nearest while the wall is out of the way";
  EXPECT_NEAR(way_in(domain::with_wall(space, true), seat).x, 10.0, 1e-12);
  space.doors.pop_back();
  EXPECT_NEAR(way_in(domain::with_wall(space, true), seat).x, 0.0, 1e-12) << "there is no other";
}

}  // namespace
}  // namespace halflight::sensing
