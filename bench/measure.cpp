#include "measure.hpp"

#include <algorithm>
#include <chrono>
#include <limits>

#include <fmt/format.h>

namespace halflight::bench {

double once(const Piece& piece) {
  const auto begin = std::chrono::steady_clock::now();
  piece();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

std::vector<double> interleaved(const std::vector<Piece>& pieces, int repetitions) {
  std::vector<double> least(pieces.size(), std::numeric_limits<double>::infinity());
  for (const Piece& piece : pieces) piece();  // caches and tables
  for (int r = 0; r < repetitions; ++r)
    for (std::size_t i = 0; i < pieces.size(); ++i) least[i] = std::min(least[i], once(pieces[i]));
  return least;
}

void use(const void* data) { asm volatile("" : : "g"(data) : "memory"); }

void heading(const std::string& part) { fmt::print("\n{}\n", part); }

void print(const Row& row) {
  const std::string goal = row.goal > 0.0 ? fmt::format("{:.4g} {}", row.goal, row.unit) : std::string();
  fmt::print("  {:<66} {:>10.4g} {:<6} {:<14} {}\n", row.name, row.value, row.unit, goal,
             row.goal <= 0.0         ? ""
             : row.value <= row.goal ? "reached"
                                     : "missed");
}

}  // namespace halflight::bench
