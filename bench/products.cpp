// The year's matrix product beside the most that the processor can multiply and add.
#include "measure.hpp"
#include "parts.hpp"
#include "transport/interreflection.hpp"
#include "transport/panel_product.hpp"

#include <algorithm>
#include <thread>
#include <vector>

#include <Eigen/Core>
#include <fmt/format.h>
#include <immintrin.h>

namespace halflight::bench {

namespace {

constexpr Eigen::Index kRows = 400;
constexpr Eigen::Index kBins = 2305;
constexpr Eigen::Index kInstants = 4400;
constexpr Eigen::Index kDay = 144;  // mean length of a day in steps of five minutes

/// Twelve chains hide the latency of one multiply-add. Returns the number of operations.
double multiply_and_add() {
  constexpr int kTurns = 4'000'000;
  __m256 sum[12];
  for (int i = 0; i < 12; ++i) sum[i] = _mm256_set1_ps(static_cast<float>(i));
  const __m256 factor = _mm256_set1_ps(0.999F);
  const __m256 more = _mm256_set1_ps(0.001F);
  for (int turn = 0; turn < kTurns; ++turn)
#pragma GCC unroll 12
    for (__m256& s : sum) s = _mm256_fmadd_ps(s, factor, more);
  for (const __m256& s : sum) use(&s);
  return 2.0 * 8.0 * 12.0 * kTurns;
}

void year_of_products(const Eigen::MatrixXf& coefficients, const std::vector<Eigen::MatrixXf>& days,
                      std::size_t first, std::size_t stride) {
  for (std::size_t d = first; d < days.size(); d += stride)
    multiply_in_panels(coefficients, days[d], [](Eigen::Index, const auto& product) { use(product.data()); });
}

}  // namespace

void products() {
  heading("Products: 400 rows x 2305 bins x 4400 instants, a panel of rows and a day at a time");
  fix_matrix_blocking();
  const Eigen::MatrixXf coefficients = Eigen::MatrixXf::Random(kRows, kBins);
  std::vector<Eigen::MatrixXf> days;
  for (Eigen::Index left = kInstants; left > 0; left -= kDay)
    days.emplace_back(Eigen::MatrixXf::Random(kBins, std::min(left, kDay)));
  const double operations = 2.0 * kRows * kBins * kInstants;
  double peak_operations = 0.0;
  for (const std::size_t threads : {1, 2}) {
    const auto on_threads = [threads](const auto& work) {
      std::vector<std::jthread> pool;
      for (std::size_t i = 0; i < threads; ++i) pool.emplace_back([&work, i] { work(i); });
    };
    const auto peak = [&] {
      std::vector<double> done(threads);
      on_threads([&](std::size_t i) { done[i] = multiply_and_add(); });
      peak_operations = 0.0;
      for (const double d : done) peak_operations += d;
    };
    const auto year = [&] {
      on_threads([&](std::size_t i) { year_of_products(coefficients, days, i, threads); });
    };
    const std::vector<double> t = interleaved({peak, year}, 15);
    const double peak_rate = peak_operations / t[0];
    print({fmt::format("most multiply-adds, {} thread{}", threads, threads > 1 ? "s" : ""), peak_rate / 1e9,
           "Gflop/s"});
    print({"  the year's product", t[1], "s"});
    print({"  time of the product / time at the peak", t[1] * peak_rate / operations, "", 1.25});
  }
}

}  // namespace halflight::bench
