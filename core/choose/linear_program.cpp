#include "choose/linear_program.hpp"

#include <algorithm>
#include <cmath>
#include <mutex>

#include <CbcHeuristic.hpp>
#include <CbcModel.hpp>
#include <CglProbing.hpp>
#include <ClpSimplex.hpp>
#include <ClpSolve.hpp>
#include <CoinPackedMatrix.hpp>
#include <OsiClpSolverInterface.hpp>

namespace halflight::choose {

namespace {

/// The solvers do not say that several threads may use them at once.
std::mutex one_at_a_time;

struct Loaded {
  CoinPackedMatrix matrix{false, 0.0, 0.0};  // by rows
  std::vector<double> cost, least, most, row_least, row_most;

  explicit Loaded(const LinearProgram& program) {
    matrix.setDimensions(0, static_cast<int>(program.columns.size()));
    for (const LinearProgram::Column& column : program.columns) {
      cost.push_back(column.cost);
      least.push_back(limited(column.least));
      most.push_back(limited(column.most));
    }
    for (const LinearProgram::Row& row : program.rows) {
      std::vector<int> index;
      std::vector<double> value;
      for (std::size_t j = 0; j < row.per_column.size(); ++j)
        if (row.per_column[j] != 0.0) {
          index.push_back(static_cast<int>(j));
          value.push_back(row.per_column[j]);
        }
      matrix.appendRow(static_cast<int>(index.size()), index.data(), value.data());
      row_least.push_back(limited(row.least));
      row_most.push_back(limited(row.most));
    }
  }

 private:
  static double limited(double bound) { return std::clamp(bound, -COIN_DBL_MAX, COIN_DBL_MAX); }
};

}  // namespace

std::optional<LinearOptimum> linear_optimum(const LinearProgram& program) {
  const std::lock_guard lock(one_at_a_time);
  const Loaded loaded(program);
  ClpSimplex simplex;
  simplex.setLogLevel(0);
  simplex.loadProblem(loaded.matrix, loaded.least.data(), loaded.most.data(), loaded.cost.data(),
                      loaded.row_least.data(), loaded.row_most.data());
  simplex.dual();
  if (!simplex.isProvenOptimal()) return std::nullopt;
  const double* x = simplex.getColSolution();
  const double* price = simplex.getRowPrice();
  return LinearOptimum{{x, x + program.columns.size()}, {price, price + program.rows.size()}};
}

WholeOptimum whole_optimum(const LinearProgram& program, int most_nodes, double same_cost) {
  const std::lock_guard lock(one_at_a_time);
  const Loaded loaded(program);
  OsiClpSolverInterface solver;
  solver.messageHandler()->setLogLevel(0);
  solver.getModelPtr()->setLogLevel(0);
  solver.loadProblem(loaded.matrix, loaded.least.data(), loaded.most.data(), loaded.cost.data(),
                     loaded.row_least.data(), loaded.row_most.data());
  ClpSolve leave_signals_alone;
  leave_signals_alone.setSpecialOption(2, 1);  // an interrupt is the program's to answer
  solver.setSolveOptions(leave_signals_alone);
  for (std::size_t j = 0; j < program.columns.size(); ++j)
    if (program.columns[j].is_whole) solver.setInteger(static_cast<int>(j));

  WholeOptimum optimum;
  solver.initialSolve();
  if (solver.isProvenPrimalInfeasible()) {
    optimum.state = WholeOptimum::State::none;
    return optimum;
  }
  CbcModel search(solver);
  search.setLogLevel(0);
  search.solver()->messageHandler()->setLogLevel(0);
  search.setMaximumNodes(most_nodes);
  search.setAllowableGap(0.0);
  search.setDblParam(CbcModel::CbcCutoffIncrement, same_cost);
  // Bounds of one column that follow from another's, and a first x early: a search that ends has an answer.
  CglProbing probing;
  search.addCutGenerator(&probing, -1, "probing");
  CbcRounding rounding(search);
  search.addHeuristic(&rounding);
  search.branchAndBound();

  if (search.bestSolution() == nullptr) {
    if (search.isProvenInfeasible()) optimum.state = WholeOptimum::State::none;
    return optimum;
  }
  optimum.state = search.isProvenOptimal() ? WholeOptimum::State::proved : WholeOptimum::State::best_found;
  optimum.x.assign(search.bestSolution(), search.bestSolution() + program.columns.size());
  for (std::size_t j = 0; j < optimum.x.size(); ++j)
    if (program.columns[j].is_whole) optimum.x[j] = std::round(optimum.x[j]);
  // Nodes that could not better the best found by `same_cost` were not opened.
  optimum.bound =
      (search.isProvenOptimal() ? search.getObjValue() : search.getBestPossibleObjValue()) - same_cost;
  return optimum;
}

}  // namespace halflight::choose
