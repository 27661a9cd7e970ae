#include "geometry/grid_lines.hpp"

#include "base/random.hpp"

#include <cmath>
#include <limits>
#include <vector>

#include <gtest/gtest.h>

namespace halflight {
namespace {

// What `cell_of` says it gives, by counting.
std::int32_t counted(const std::vector<double>& lines, double place) {
  std::int32_t cell = 0;
  for (std::size_t i = 1; i + 1 < lines.size(); ++i)
    if (lines[i] <= place) ++cell;
  return cell;
}

void expect_cells(const std::vector<double>& lines) {
  const GridLines grid(lines);
  ASSERT_EQ(grid.cells(), static_cast<std::int32_t>(lines.size()) - 1);
  constexpr double kFar = 1e300;
  for (const double line : lines)
    for (const double place : {std::nextafter(line, -kFar), line, std::nextafter(line, kFar)})
      EXPECT_EQ(grid.cell_of(place), counted(lines, place)) << place;
  const double whole = lines.back() - lines.front();
  for (std::uint32_t i = 0; i < 2000; ++i) {
    const double place = lines.front() + (1.2 * sobol(i, 0, 1) - 0.1) * whole;
    EXPECT_EQ(grid.cell_of(place), counted(lines, place)) << place;
  }
  EXPECT_EQ(grid.cell_of(-kFar), 0);
  EXPECT_EQ(grid.cell_of(kFar), grid.cells() - 1);
}

TEST(GridLines, AreFoundEvenOrNot) {
  expect_cells({0.0, 1.0});
  expect_cells({-3.7, -3.2, 0.1, 0.35, 0.4, 7.0});
  expect_cells({0.0, 1e-3, 1.0, 2.0, 49.999, 50.0});
  expect_cells({1e5, 1e5 + 0.3, 1e5 + 0.9});
  expect_cells({0.0, 1e-7, 2e-7, 3e-7, 10.0});  // several in one slot
  std::vector<double> drawn{0.0};
  for (std::uint32_t i = 0; i < 200; ++i) drawn.push_back(drawn.back() + 0.01 + sobol(i, 2, 9));
  expect_cells(drawn);
}

TEST(GridLines, OfEvenCellsHaveOneWidthAndEndWhereAsked) {
  for (const std::int32_t cells : {1, 2, 7, 46, 1000}) {
    const GridLines grid = GridLines::even(-0.3, 11.4, cells);
    ASSERT_EQ(grid.cells(), cells);
    EXPECT_EQ(grid.low(0), -0.3);
    EXPECT_EQ(grid.high(cells - 1), 11.4);
    std::vector<double> lines{grid.low(0)};
    for (std::int32_t i = 0; i < cells; ++i) {
      EXPECT_NEAR(grid.high(i) - grid.low(i), 11.7 / cells, 1e-12);
      lines.push_back(grid.high(i));
    }
    expect_cells(lines);
  }
}

}  // namespace
}  // namespace halflight
