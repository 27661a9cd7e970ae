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
  slots_.resize(std::size_t{slot_of(last_)} + 1);
  // `slot_of` does not decrease with place, however it rounds: a line in an earlier slot lies before every
  // place in this one, and one in a later slot behind it.
  std::size_t line = 1;
  for (std::size_t i = 0; i < slots_.size(); ++i) {
    Slot& slot = slots_[i];
    slot.cell = static_cast<std::int32_t>(line) - 1;
    const auto lies_here = [&] { return line + 1 < lines_.size() && slot_of(lines_[line]) == i; };
    if (!lies_here()) continue;
    slot.line = lines_[line++];
    slot.has_several_lines = lies_here();
    while (lies_here()) ++line;
  }
}

}  // namespace halflight
