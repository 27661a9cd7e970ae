#include "transport/interreflection.hpp"

#include <algorithm>
#include <cassert>

#include <Eigen/LU>
#include <fmt/format.h>

namespace halflight {

void fix_matrix_blocking() {
  static const bool once = [] {
    Eigen::setCpuCacheSizes(32 * 1024, 512 * 1024, 2 * 1024 * 1024);
    return true;
  }();
  static_cast<void>(once);
}

namespace {

// Columns per piece of work: fixed, so that the blocking inside the matrix library, and with it the order of
// sums, does not depend on the number of threads.
constexpr Eigen::Index kTile = 64;

template <class Work>
void for_each_tile(const Context& context, Eigen::Index columns, const Work& work) {
  const Eigen::Index tiles = (columns + kTile - 1) / kTile;
  context.executor.for_each(static_cast<std::size_t>(tiles), [&](std::size_t t) {
    context.check_cancelled();
    const Eigen::Index first = static_cast<Eigen::Index>(t) * kTile;
    work(first, std::min(kTile, columns - first));
  });
}

}  // namespace

struct Interreflection::Impl {
  Eigen::MatrixXd form_factor;              ///< F = G / A, by rows
  Eigen::PartialPivLU<Eigen::MatrixXd> lu;  ///< of I - rho F
};

Result<Interreflection> Interreflection::make(Eigen::MatrixXd exchange_m2, std::span<const double> area_m2,
                                              std::span<const double> reflectance) {
  const Eigen::Index n = exchange_m2.rows();
  assert(exchange_m2.cols() == n && static_cast<Eigen::Index>(area_m2.size()) == n &&
         static_cast<Eigen::Index>(reflectance.size()) == n);
  Diagnostics found;
  for (std::size_t i = 0; i < reflectance.size(); ++i)
    if (!(reflectance[i] >= 0.0 && reflectance[i] < 1.0))
      found.push_back({Diagnostic::Severity::error,
                       {},
                       fmt::format("/reflectance/{}", i),
                       fmt::format("{} is not the reflectance of a surface", reflectance[i]),
                       "give a share from 0 to below 1"});
  if (!found.empty()) return tl::make_unexpected(std::move(found));

  fix_matrix_blocking();
  auto impl = std::make_shared<Impl>();
  const Eigen::Map<const Eigen::VectorXd> area(area_m2.data(), n);
  const Eigen::Map<const Eigen::VectorXd> rho(reflectance.data(), n);
  impl->form_factor = std::move(exchange_m2);
  impl->form_factor.array().colwise() /= area.array();
  Eigen::MatrixXd system = -(rho.asDiagonal() * impl->form_factor);
  system.diagonal().array() += 1.0;
  impl->lu.compute(system);
  return Interreflection(std::move(impl));
}

Eigen::MatrixXd Interreflection::exitance(const Context& context, const Eigen::MatrixXd& initial) const {
  assert(initial.rows() == size());
  Eigen::MatrixXd result(initial.rows(), initial.cols());
  for_each_tile(context, initial.cols(), [&](Eigen::Index first, Eigen::Index count) {
    result.middleCols(first, count) = impl_->lu.solve(initial.middleCols(first, count));
  });
  return result;
}

Eigen::MatrixXd Interreflection::adjoint(const Context& context, const Eigen::MatrixXd& weights) const {
  assert(weights.cols() == size());
  Eigen::MatrixXd result(weights.rows(), weights.cols());
  for_each_tile(context, weights.rows(), [&](Eigen::Index first, Eigen::Index count) {
    const Eigen::MatrixXd right = weights.middleRows(first, count).transpose();
    const Eigen::MatrixXd solved = impl_->lu.transpose().solve(right);
    result.middleRows(first, count) = solved.transpose();
  });
  return result;
}

Eigen::MatrixXd Interreflection::illuminance(const Eigen::MatrixXd& exitance) const {
  assert(exitance.rows() == size());
  return impl_->form_factor * exitance;
}

Eigen::Index Interreflection::size() const { return impl_->form_factor.rows(); }

}  // namespace halflight
