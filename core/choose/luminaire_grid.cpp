#include "choose/luminaire_grid.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace halflight::choose {

namespace {

constexpr double kGap_m = 0.05;    // between luminaires, so that trims do not touch
constexpr double kSquarest = 2.2;  // of the spacings: longer cells light unevenly
constexpr std::size_t kMostRows = 60;

/// The floor's box along its longest wall.
struct Frame2 {
  Point2 corner;
  Vector2 along;
  Vector2 across;
  double length_m = 0.0;
  double width_m = 0.0;
};

Frame2 frame_of(const Polygon& floor) {
  Vector2 along{1.0, 0.0};
  double longest = 0.0;
  for (std::size_t i = 0; i < floor.size(); ++i) {
    const Vector2 edge = floor[(i + 1) % floor.size()] - floor[i];
    // Of walls alike to the millimetre, the first.
    if (length(edge) > longest + 1e-3) {
      longest = length(edge);
      along = (1.0 / longest) * edge;
    }
  }
  // Rows run to the right or up, whichever way the wall is drawn.
  if (along.x < -1e-9 || (std::abs(along.x) <= 1e-9 && along.y < 0.0)) along = -1.0 * along;
  const Vector2 across{-along.y, along.x};
  double low_a = 1e300;
  double high_a = -1e300;
  double low_b = 1e300;
  double high_b = -1e300;
  for (const Point2 p : floor) {
    const Vector2 v{p.x, p.y};
    low_a = std::min(low_a, dot(v, along));
    high_a = std::max(high_a, dot(v, along));
    low_b = std::min(low_b, dot(v, across));
    high_b = std::max(high_b, dot(v, across));
  }
  return {Point2{} + low_a * along + low_b * across, along, across, high_a - low_a, high_b - low_b};
}

LuminaireGrid grid_of(const Polygon& floor, const Frame2& frame, const GridWish& wish, std::size_t rows,
                      std::size_t columns) {
  LuminaireGrid grid;
  grid.along_m = frame.length_m / static_cast<double>(columns);
  grid.across_m = frame.width_m / static_cast<double>(rows);
  grid.rotation_deg = std::atan2(frame.along.y, frame.along.x) * kDegPerRad;
  const double clear_m = 0.5 * std::min(wish.length_m, wish.width_m) - 1e-6;
  for (std::size_t r = 0; r < rows; ++r) {
    bool holds_one = false;
    for (std::size_t c = 0; c < columns; ++c) {
      const Point2 p = frame.corner + (static_cast<double>(c) + 0.5) * grid.along_m * frame.along +
                       (static_cast<double>(r) + 0.5) * grid.across_m * frame.across;
      if (!contains(floor, p) || distance_to_boundary(floor, p) < clear_m) continue;
      grid.at.push_back(p);
      grid.row.push_back(grid.rows);
      holds_one = true;
    }
    if (holds_one) ++grid.rows;
  }
  return grid;
}

/// 1 for square cells.
double slenderness(const LuminaireGrid& grid) {
  return std::max(grid.along_m / grid.across_m, grid.across_m / grid.along_m);
}

std::vector<LuminaireGrid> grids(const Polygon& floor, const GridWish& wish, bool keeps_limits) {
  const Frame2 frame = frame_of(floor);
  const auto fit = [](double side_m, double each_m) {
    return std::min(kMostRows, static_cast<std::size_t>(std::max(0.0, side_m / (each_m + kGap_m))));
  };
  const std::size_t most_rows = fit(frame.width_m, wish.width_m);
  const std::size_t most_columns = fit(frame.length_m, wish.length_m);
  std::map<std::size_t, LuminaireGrid> best;
  for (std::size_t rows = 1; rows <= most_rows; ++rows)
    for (std::size_t columns = 1; columns <= most_columns && rows * columns <= 4 * wish.most; ++columns) {
      LuminaireGrid grid = grid_of(floor, frame, wish, rows, columns);
      if (grid.at.empty() || grid.at.size() > wish.most) continue;
      if (keeps_limits) {
        if (wish.widest_along_m && grid.along_m > *wish.widest_along_m) continue;
        if (wish.widest_across_m && grid.across_m > *wish.widest_across_m) continue;
        if (slenderness(grid) > kSquarest && rows > 1 && columns > 1) continue;
      }
      const auto found = best.find(grid.at.size());
      if (found == best.end())
        best.emplace(grid.at.size(), std::move(grid));
      else if (slenderness(grid) < slenderness(found->second) - 1e-9)
        found->second = std::move(grid);
    }
  std::vector<LuminaireGrid> all;
  for (auto& [count, grid] : best) all.push_back(std::move(grid));
  return all;
}

}  // namespace

std::vector<LuminaireGrid> luminaire_grids(const Polygon& floor, const GridWish& wish) {
  std::vector<LuminaireGrid> kept = grids(floor, wish, true);
  return kept.empty() ? grids(floor, wish, false) : kept;
}

std::optional<LuminaireGrid> luminaire_grid_of(const Polygon& floor, const GridWish& wish,
                                               std::size_t count) {
  for (LuminaireGrid& grid : grids(floor, wish, false))
    if (grid.at.size() >= count) return std::move(grid);
  return std::nullopt;
}

}  // namespace halflight::choose
