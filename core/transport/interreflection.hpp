#pragma once
#include "base/context.hpp"
#include "base/diagnostic.hpp"

#include <memory>
#include <span>

#include <Eigen/Core>

namespace halflight {

/// The matrix library sizes its blocks, and so orders its sums, by caches that it asks the processor for.
/// This fixes them for the process: call it before any product whose last bits matter, so that a run that
/// factorises nothing (all came from the store) blocks as one that does. Safe from any thread.
void fix_matrix_blocking();

/// Interreflection of diffuse surfaces, M = M0 + rho F M with F = G / A, solved by one factorisation that
/// serves every set of sources and every observation point (docs/methods/interreflection.md). Immutable; safe
/// from any thread.
class Interreflection {
 public:
  /// `exchange_m2`: G, N x N, as `exchange_areas` gives it; `area_m2`, `reflectance`: N each. The patch order
  /// is the enclosure's. Errors: a reflectance outside [0, 1), named "/reflectance/<patch>". About 2/3 N^3
  /// operations.
  static Result<Interreflection> make(Eigen::MatrixXd exchange_m2, std::span<const double> area_m2,
                                      std::span<const double> reflectance);

  /// Final exitance M (lm/m2), N x C, of initial exitances M0, N x C: light that leaves a patch before any
  /// reflection between patches (what an opening emits; reflectance times direct illuminance).
  [[nodiscard]] Eigen::MatrixXd exitance(const Context& context,
                                         const Eigen::MatrixXd& initial_lm_per_m2) const;

  /// For gather weights W, P x N (response of an observation point p to exitances: row p of W times M), the
  /// rows a_p with response = a_p . M0. Solving once per point replaces solving once per source.
  [[nodiscard]] Eigen::MatrixXd adjoint(const Context& context, const Eigen::MatrixXd& gather_weights) const;

  /// F M: the mean illuminance (lx) of each patch by light from all patches of exitance M, N x C. Light that
  /// reaches a patch straight from luminaires comes on top.
  [[nodiscard]] Eigen::MatrixXd illuminance(const Eigen::MatrixXd& exitance_lm_per_m2) const;

  [[nodiscard]] Eigen::Index size() const;

 private:
  struct Impl;
  explicit Interreflection(std::shared_ptr<const Impl> impl) : impl_(std::move(impl)) {}
  std::shared_ptr<const Impl> impl_;
};

}  // namespace halflight
