#pragma once
#include <cstddef>
#include <span>
#include <vector>

// Things of several sizes at once in the fewest equal boxes.

namespace halflight::choose {

/// A thing by its size in each dimension, in shares of what a box holds, 0..1.
using Sizes = std::vector<double>;

struct BinPacking {
  std::vector<std::size_t> bin_of;  ///< of each thing
  int bins = 0;
  int bound = 0;  ///< proved: it takes no fewer; equal to `bins` unless the search was ended
};

/// The fewest boxes, by depth-first search from the largest things down with at most `most_nodes` steps. A
/// box is full at 1 in any dimension, to within rounding. Each thing must fit alone; all have equally many
/// dimensions. Things are taken in their order where sizes are equal.
BinPacking fewest_bins(std::span<const Sizes> things, int most_nodes);

/// Images of sizes in one dimension, x in 0..1, whose sum over any things that share a box is 1 at most: dual
/// feasible functions (S. Fekete and J. Schepers, "New classes of fast lower bounds for bin packing
/// problems", Mathematical Programming 91, 2001). Their sums over all things bound the boxes from below.
/// `part` of 1 and more: x where (part + 1) x is whole, else floor((part + 1) x) / part.
double stepped(double x, int part);
/// For a threshold of 0..1/2: 1 above 1 - threshold, 0 below the threshold, x between.
double without_small(double x, double threshold);

}  // namespace halflight::choose
