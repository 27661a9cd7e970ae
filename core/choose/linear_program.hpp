#pragma once
#include <limits>
#include <optional>
#include <span>
#include <vector>

// Linear and whole-number programmes, and the proof that a linear one is solved.

namespace halflight::choose {

inline constexpr double kUnlimited = std::numeric_limits<double>::infinity();

/// Minimise cost . x over all x within the bounds of its columns and rows.
struct LinearProgram {
  struct Column {
    double cost = 0.0;
    double least = 0.0;
    double most = kUnlimited;
    bool is_whole = false;  ///< takes whole numbers only
  };
  /// least <= per_column . x <= most
  struct Row {
    std::vector<double> per_column;
    double least = -kUnlimited;
    double most = kUnlimited;
  };
  std::vector<Column> columns;
  std::vector<Row> rows;
};

/// An optimum of the programme without its whole numbers, with the price of each row: what the optimum rises
/// by for each unit that the row's bound is drawn in; positive for `least`, negative for `most`.
struct LinearOptimum {
  std::vector<double> x;
  std::vector<double> price;
};
/// None where no x keeps the rows, or the solver fails. Single-threaded; the same programme has the same
/// optimum to the last bit.
std::optional<LinearOptimum> linear_optimum(const LinearProgram& program);

struct WholeOptimum {
  enum class State {
    proved,      ///< `x` is an optimum
    best_found,  ///< the search was ended at its most nodes; nothing is below `bound`
    none,        ///< proved: no x keeps the rows
    undecided,   ///< the search was ended, or failed, before it found an x
  };
  State state = State::undecided;
  std::vector<double> x;  ///< whole numbers are exact
  double bound = 0.0;     ///< proved, of the cost
};
/// An optimum with the whole numbers, by branch and bound with at most `most_nodes` nodes. Costs that are
/// nearer than `same_cost` count as equal. Single-threaded; the same programme has the same optimum.
WholeOptimum whole_optimum(const LinearProgram& program, int most_nodes, double same_cost);

/// What x and the prices of rows prove, whoever found them.
struct DualityCheck {
  double cost = 0.0;   ///< of x
  double bound = 0.0;  ///< no x within the bounds costs less
  double violation =
      0.0;  ///< the most that x is outside a bound of a row or column, in the unit of that bound

  [[nodiscard]] double gap() const { return cost - bound; }
};
/// Weak duality, without any solver: for every price y the sum over rows of y times the bound that it pulls
/// at, and over columns of the reduced cost c - A'y times the bound that makes it least, is below every cost.
/// Prices that pull at a bound that is not there count as 0. Rounding of the sums is taken off `bound`
/// (A. Neumaier and O. Shcherbina, "Safe bounds in linear and mixed-integer linear programming", Mathematical
/// Programming 99, 2004). Whole numbers are not asked for.
DualityCheck check_duality(const LinearProgram& program, std::span<const double> x,
                           std::span<const double> price);

}  // namespace halflight::choose
