#pragma once
#include "geometry/polygon.hpp"

#include <cstddef>
#include <optional>
#include <vector>

namespace halflight::choose {

/// Luminaires in straight rows along the longest wall, evenly spaced, half a spacing from the walls.
struct LuminaireGrid {
  std::vector<Point2> at;        ///< those that lie in the room, row by row
  std::vector<std::size_t> row;  ///< of each
  std::size_t rows = 0;          ///< that hold a luminaire, numbered from the side of the longest wall
  double along_m = 0.0;          ///< spacing in a row
  double across_m = 0.0;         ///< spacing of rows
  double rotation_deg = 0.0;     ///< of the rows, counter-clockwise from +x
};

/// What the luminaires ask of their places.
struct GridWish {
  double length_m = 0.6;  ///< of a luminaire, along the row
  double width_m = 0.6;
  std::optional<double> widest_along_m;  ///< spacing beyond which light grows uneven
  std::optional<double> widest_across_m;
  std::size_t most = 400;  ///< luminaires
};

/// For each number of luminaires that some even grid has, the one with the squarest spacing within the limits
/// of `wish`, fewest first. Luminaires keep to the room: those whose middle would be nearer to a wall than
/// half their width are left out, as in the corners of a room that is no rectangle. Where the limits cannot
/// be kept because luminaires would overlap first, they are not. Empty where not even one fits.
std::vector<LuminaireGrid> luminaire_grids(const Polygon& floor, const GridWish& wish);

/// The grid of exactly `count`, or of the nearest number above it that an even grid has, whatever its
/// spacing.
std::optional<LuminaireGrid> luminaire_grid_of(const Polygon& floor, const GridWish& wish, std::size_t count);

}  // namespace halflight::choose
