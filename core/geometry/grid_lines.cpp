#include "geometry/grid_lines.hpp"

#include <cassert>
#include <cmath>
#include <utility>

namespace halflight {

namespace {
constexpr double kMostSlots = 4096.0;
}  // namespace

GridLines::GridLines(std::vector<double> lines) : lines_(std::move(lines)) {
  assert(lines_.size() >= 2);
  const double whole = lines_.back() - lines_.front();
  double narrowest = whole;
  for (std::size_t i = 0; i + 1 < lines_.size(); ++i) {
    assert(lines_[i] < lines_[i + 1]);
    narrowest = std::min(narrowest, lines_[i + 1] - lines_[i]);
  }
  last_ = std::nextafter(lines_.back(), lines_.front());
  slots_per_unit_ = std::min(kMostSlots, std::ceil(whole / narrowest)) / whole;
  // A slot begins in the cell that the lines in slots before it lead to. `slot_of` does not decrease with
  // place, however it rounds, so a line in an earlier slot lies before every place in this one.
  first_cell_.assign(std::size_t{slot_of(last_)} + 1, 0);
  for (std::size_t line = 1; line + 1 < lines_.size(); ++line)
    for (std::size_t slot = std::size_t{slot_of(lines_[line])} + 1; slot < first_cell_.size(); ++slot)
      first_cell_[slot] = static_cast<std::uint32_t>(line);
}

GridLines GridLines::even(double low, double high, std::int32_t cells) {
  assert(cells >= 1);
  const double width = (high - low) / cells;
  std::vector<double> lines;
  for (std::int32_t i = 0; i < cells; ++i) lines.push_back(low + i * width);
  lines.push_back(high);
  return GridLines(std::move(lines));
}

}  // namespace halflight
