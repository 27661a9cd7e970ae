#pragma once
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <vector>

namespace halflight {

/// The lines that bound the cells of a grid along one of its sides: cell i lies between lines i and i + 1.
/// They need not be evenly spaced; the cell of a place takes the same few steps either way.
class GridLines {
 public:
  /// One cell from 0 to 1.
  GridLines() : GridLines({0.0, 1.0}) {}
  /// At least two finite lines, strictly ascending.
  explicit GridLines(std::vector<double> lines);

  [[nodiscard]] std::int32_t cells() const { return static_cast<std::int32_t>(lines_.size()) - 1; }
  [[nodiscard]] double low(std::int32_t cell) const { return lines_[static_cast<std::size_t>(cell)]; }
  [[nodiscard]] double high(std::int32_t cell) const { return lines_[static_cast<std::size_t>(cell) + 1]; }

  /// The cell whose low line is at or below a place and whose high line is above it; beyond the lines, the
  /// first or the last cell.
  [[nodiscard]] std::int32_t cell_of(double place) const {
    place = std::clamp(place, lines_.front(), last_);
    const Slot& slot = slots_[slot_of(place)];
    // Whether a place lies beyond a line cannot be foreseen: no branch may ask for it.
    std::int32_t cell = slot.cell + (place >= slot.line ? 1 : 0);
    if (slot.has_several_lines)
      while (place >= high(cell)) ++cell;
    return cell;
  }

 private:
  /// One of even parts of the whole side, no wider than the narrowest cell as long as there are not too many.
  struct Slot {
    double line = std::numeric_limits<double>::infinity();  ///< the first that lies in it
    std::int32_t cell = 0;                                  ///< of its places before that line
    bool has_several_lines = false;
  };
  [[nodiscard]] std::uint32_t slot_of(double place) const {
    return static_cast<std::uint32_t>((place - lines_.front()) * slots_per_unit_);
  }

  std::vector<double> lines_;
  double last_ = 0.0;  // the largest number below the last line
  double slots_per_unit_ = 0.0;
  std::vector<Slot> slots_;
};

}  // namespace halflight
