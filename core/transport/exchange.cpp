#include "transport/exchange.hpp"

#include "geometry/low_discrepancy.hpp"
#include "transport/cosine_rays.hpp"

#include <atomic>
#include <cassert>
#include <cmath>
#include <vector>

#include <fmt/format.h>

namespace halflight {

namespace {

constexpr std::uint32_t kMostSweeps = 2000;
constexpr double kClosed = 1e-13;    // sweeps stop here: rounding of a row of a thousand terms
constexpr double kNotClosed = 1e-6;  // beyond this, a balance of light would be visibly off

// Rays of one patch, counted by the patch they reach.
std::uint64_t count_hits(const Enclosure& enclosure, std::uint32_t patch, const ExchangeOptions& options,
                         std::uint32_t* hits_of_patch) {
  const std::size_t n = options.rays_per_patch;
  std::vector<Point3> origins(n);
  enclosure.sample_patch(patch, options.seed, origins);
  const Vector3 normal = enclosure.patches()[patch].normal;
  Rays rays(enclosure.middle(), n);
  origins.resize(kLanes * rays.blocks().size(), origins.front());
  for (std::size_t k = 0; k < origins.size(); ++k)
    rays.blocks()[k / kLanes].start(k % kLanes, origins[k] + Enclosure::kClearance_m * normal - rays.about());
  spread_about(frame_about(normal), {}, SampleStream(options.seed, patch), 2, rays);
  std::vector<SurfaceHit> hits(n);
  enclosure.trace(rays, hits);
  std::uint64_t leaks = 0;
  for (const SurfaceHit& hit : hits) {
    if (hit.patch == SurfaceHit::kNone) {
      ++leaks;
    } else {
      ++hits_of_patch[hit.patch];
    }
  }
  return leaks;
}

double worst_closure(const Eigen::VectorXd& row_sums, const Eigen::VectorXd& areas) {
  return (row_sums.array() / areas.array() - 1.0).abs().maxCoeff();
}

}  // namespace

Result<Exchange> exchange_areas(const Context& context, const Enclosure& enclosure,
                                const ExchangeOptions& options) {
  assert(options.rays_per_patch >= 16 && options.rays_per_patch <= 65536);
  const std::span<const Patch> patches = enclosure.patches();
  const std::size_t n = patches.size();
  const auto size = static_cast<Eigen::Index>(n);

  std::vector<std::uint32_t> hits(n * n, 0);
  std::vector<std::uint64_t> leaks(n, 0);
  std::atomic<std::size_t> done{0};
  context.executor.for_each(n, [&](std::size_t i) {
    context.check_cancelled();
    leaks[i] = count_hits(enclosure, static_cast<std::uint32_t>(i), options, &hits[i * n]);
    context.report("exchange of light", ++done, n);
  });

  Exchange result;
  result.report.rays = static_cast<std::uint64_t>(options.rays_per_patch) * n;
  for (const std::uint64_t l : leaks) result.report.leaks += l;
  if (const double share = static_cast<double>(result.report.leaks) / static_cast<double>(result.report.rays);
      share > Enclosure::kLeakLimit)
    return tl::make_unexpected(Diagnostics{
        {Diagnostic::Severity::error,
         {},
         "",
         fmt::format("{} of {} rays leave the closed room", result.report.leaks, result.report.rays),
         "check the outline of the room for corners sharper than a degree and the furniture for walls "
         "that it reaches through"}});

  Eigen::MatrixXd& g = result.area_m2;
  g.resize(size, size);
  Eigen::VectorXd areas(size);
  const auto rays = static_cast<double>(options.rays_per_patch);
  for (Eigen::Index i = 0; i < size; ++i) areas(i) = patches[static_cast<std::size_t>(i)].area_m2;
  for (std::size_t i = 0; i < n; ++i) {
    const auto row = static_cast<Eigen::Index>(i);
    // Rays off a plane cannot return to it; a rounding hit on a neighbour in the plane is no exchange either.
    g(row, row) = 0.0;
    for (std::size_t j = i + 1; j < n; ++j) {
      const auto column = static_cast<Eigen::Index>(j);
      const double both = static_cast<double>(hits[i * n + j]) + static_cast<double>(hits[j * n + i]);
      const double value = both / (rays / areas(row) + rays / areas(column));
      g(row, column) = value;
      g(column, row) = value;
    }
  }

  // Find x with x_i (G x)_i = A_i. The square root damps the oscillation between facing surfaces.
  Eigen::VectorXd x = Eigen::VectorXd::Ones(size);
  Eigen::VectorXd row_sums = g * x;
  result.report.closure_before = worst_closure(row_sums, areas);
  double closure = result.report.closure_before;
  for (; closure > kClosed && result.report.sweeps < kMostSweeps; ++result.report.sweeps) {
    x.array() *= (areas.array() / row_sums.array()).sqrt();
    row_sums = x.cwiseProduct(g * x);
    const double now = worst_closure(row_sums, areas);
    if (now < 1e-12 && now >= closure) break;  // what is left is rounding
    closure = now;
  }
  for (Eigen::Index j = 0; j < size; ++j)
    for (Eigen::Index i = 0; i < size; ++i) g(i, j) *= x(i) * x(j);
  result.report.closure_after = worst_closure(g.rowwise().sum(), areas);
  if (!(result.report.closure_after <= kNotClosed))
    return tl::make_unexpected(Diagnostics{
        {Diagnostic::Severity::error,
         {},
         "",
         fmt::format("the exchange of light does not close (error {:.1e})", result.report.closure_after),
         "use more rays or larger patches: some patch sees too little of the room"}});
  return result;
}

}  // namespace halflight
