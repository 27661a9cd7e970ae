#pragma once
#include <cstddef>
#include <span>
#include <vector>

// The cheapest choice of columns that together reach what is asked: a set cover, in which a demand may be
// content with a share of its rows (docs/methods/sensor_cover.md).

namespace halflight::choose {

struct CoverProblem {
  struct Column {
    double cost = 0.0;              ///< money, 0 or more and at most 1e7; costs count in hundredths
    std::size_t devices = 1;        ///< that it stands for; of equal cost the fewest are taken
    std::vector<std::size_t> rows;  ///< that it covers; indices
  };
  struct Row {
    std::size_t demand = 0;  ///< index
    double weight = 1.0;     ///< within its demand, above 0
  };
  /// Rows of this share of the demand's weight are to be covered, 0..1. Where all columns together do not
  /// reach it, all is asked that they do reach.
  struct Demand {
    double least_share = 1.0;
  };
  std::vector<Column> columns;
  std::vector<Row> rows;
  std::vector<Demand> demands;
};

struct Cover {
  std::vector<std::size_t> columns;  ///< ascending
  double cost = 0.0;
  std::size_t devices = 0;
  double bound = 0.0;      ///< proved: nothing that keeps the demands costs less
  bool is_proved = false;  ///< nothing costs less, and nothing of this cost has fewer devices
};

/// Least cost, then fewest devices. Dominated columns and rows go first; what is left is bounded by the
/// prices of its linear programme and searched by branch and bound with at most `most_nodes` nodes (0: no
/// search). Always an answer: where the search ends early, the best that was found, and what is proved of it.
/// Indices must exist.
Cover least_cover(const CoverProblem& problem, int most_nodes);

/// Every one of `rows` rows covered, by columns that cover the rows `covers`.
Cover least_cover(std::span<const double> costs, std::span<const std::vector<std::size_t>> covers,
                  std::size_t rows, int most_nodes);

/// Share of each demand's weight that columns cover, 0..1; 1 of a demand without rows.
std::vector<double> covered_shares(const CoverProblem& problem, std::span<const std::size_t> columns);
/// Whether columns keep every demand as far as all columns together do.
bool keeps_demands(const CoverProblem& problem, std::span<const std::size_t> columns);

}  // namespace halflight::choose
