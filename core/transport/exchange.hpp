#pragma once
#include "base/context.hpp"
#include "base/diagnostic.hpp"
#include "geometry/enclosure.hpp"

#include <cstdint>

#include <Eigen/Core>

namespace halflight {

struct ExchangeOptions {
  std::uint32_t rays_per_patch = 1024;  ///< 16..65536
  std::uint32_t seed = 0;
};

struct ExchangeReport {
  std::uint64_t rays = 0;
  std::uint64_t leaks = 0;      ///< rays that met nothing
  double closure_before = 0.0;  ///< largest |row sum / area - 1| of the pooled estimate
  double closure_after = 0.0;   ///< the same after the sweeps
  std::uint32_t sweeps = 0;
};

struct Exchange {
  /// G, m2: G(i, j) = A_i F_ij, the area of patch i times the share of its diffuse light that goes to patch
  /// j. Exactly symmetric (reciprocity), zero on the diagonal (patches are flat), rows sum to the areas
  /// (closure).
  Eigen::MatrixXd area_m2;
  ExchangeReport report;
};

/// Exchange areas between all patches (docs/methods/interreflection.md). Each patch sends cosine-distributed
/// rays; with h_ij of patch i's N rays arriving at j, both directions are pooled, G_ij = (h_ij + h_ji) / (N /
/// A_i + N / A_j), and symmetric Sinkhorn scaling G_ij <- x_i G_ij x_j (R. Sinkhorn, Ann. Math. Stat. 35,
/// 1964) restores closure. One piece of work per patch; the result does not depend on the number of threads.
/// Errors: a share of leaks above `Enclosure::kLeakLimit` (the room is not closed); no closure to 1e-6.
Result<Exchange> exchange_areas(const Context& context, const Enclosure& enclosure,
                                const ExchangeOptions& options = {});

}  // namespace halflight
