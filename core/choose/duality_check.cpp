#include "base/sums.hpp"
#include "choose/linear_program.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace halflight::choose {

namespace {

/// A sum with the size of what went into it, which its rounding grows with.
struct SizedSum {
  double value = 0.0;
  double size = 0.0;
  void add(double term, double term_size) {
    value += term;
    size += term_size;
  }
};

double outside(double value, double least, double most) {
  return std::max({0.0, least - value, value - most});
}

}  // namespace

DualityCheck check_duality(const LinearProgram& program, std::span<const double> x,
                           std::span<const double> price) {
  DualityCheck check;
  CompensatedSum cost;
  for (std::size_t j = 0; j < x.size(); ++j) {
    const LinearProgram::Column& column = program.columns[j];
    cost.add(column.cost * x[j]);
    check.violation = std::max(check.violation, outside(x[j], column.least, column.most));
  }
  check.cost = cost.value();

  SizedSum bound;
  std::vector<SizedSum> reduced_cost(x.size());
  for (std::size_t j = 0; j < x.size(); ++j)
    reduced_cost[j].add(program.columns[j].cost, std::abs(program.columns[j].cost));
  for (std::size_t i = 0; i < program.rows.size(); ++i) {
    const LinearProgram::Row& row = program.rows[i];
    CompensatedSum activity;
    for (std::size_t j = 0; j < x.size(); ++j) activity.add(row.per_column[j] * x[j]);
    check.violation = std::max(check.violation, outside(activity.value(), row.least, row.most));

    const double pulled_at = price[i] > 0.0 ? row.least : row.most;
    if (price[i] == 0.0 || !std::isfinite(pulled_at)) continue;
    bound.add(price[i] * pulled_at, std::abs(price[i] * pulled_at));
    for (std::size_t j = 0; j < x.size(); ++j) {
      const double term = price[i] * row.per_column[j];
      reduced_cost[j].add(-term, std::abs(term));
    }
  }
  for (std::size_t j = 0; j < x.size(); ++j) {
    const LinearProgram::Column& column = program.columns[j];
    const double at = reduced_cost[j].value >= 0.0 ? column.least : column.most;
    if (reduced_cost[j].value == 0.0 && !std::isfinite(at)) continue;
    const double reach = std::max(std::abs(column.least), std::abs(column.most));
    bound.add(reduced_cost[j].value * at, reduced_cost[j].size * reach);
  }
  // Every term passes through at most one product and as many sums as there are rows and columns.
  const double operations = static_cast<double>(program.rows.size() + program.columns.size() + 2);
  check.bound = bound.value - operations * std::numeric_limits<double>::epsilon() * bound.size;
  return check;
}

}  // namespace halflight::choose
