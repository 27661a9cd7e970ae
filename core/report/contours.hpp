#pragma once
#include "domain/space.hpp"
#include "geometry/polygon.hpp"
#include "geometry/vector.hpp"
#include "results/study.hpp"

#include <vector>

namespace halflight::report {

/// Values on a regular grid: the one in row r and column c stands at (x0 + c step, y0 + r step).
struct Field {
  double x0_m = 0.0;
  double y0_m = 0.0;
  double step_m = 0.25;
  int columns = 0;
  int rows = 0;
  std::vector<double> values;
  [[nodiscard]] double at(int column, int row) const {
    return values[static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
                  static_cast<std::size_t>(column)];
  }
};

/// The grid as a reader of the plan sees it. A point inside a piece of furniture reads nothing, or the light
/// on top of it, and says nothing about the room: inside tall furniture (its top above 1.2 m) every value,
/// and in other pieces every value below half of that beside the piece, gives way to the value beside it.
results::PlanGrid beside_furniture(results::PlanGrid grid, const std::vector<domain::Furniture>& furniture);

/// The grid made ready to draw: cells outside the floor take the value of their nearest neighbours inside,
/// two rings are added so that contours reach the walls, and `factor` times as many points are put between by
/// monotone cubic interpolation of log illuminance. It goes through every computed value, and no point leaves
/// the range of the four computed values around it. Empty when no cell is inside.
Field drawable(const results::PlanGrid& grid, int factor);

struct Polyline {
  std::vector<Point2> points;
  bool is_closed = false;  ///< the last point joins the first and is not repeated
};

/// The lines on which the field has the value `level` (marching squares, linear along cell edges; a saddle is
/// decided by the mean of its corners).
std::vector<Polyline> contour(const Field& field, double level);

/// Levels worth drawing between `low` and `high`: a few round ones, and every target in the range.
std::vector<double> contour_levels(double low, double high, const std::vector<double>& targets);

/// Fewer points, none of the old ones farther than `tolerance` from the new line (Ramer 1972; Douglas and
/// Peucker 1973).
std::vector<Point2> simplified(const std::vector<Point2>& line, double tolerance);

double length_of(const Polyline& line);

}  // namespace halflight::report
