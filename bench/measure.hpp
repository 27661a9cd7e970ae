#pragma once
#include <cstddef>
#include <functional>
#include <string>
#include <vector>

namespace halflight::bench {

/// What it takes to run something: seconds of the wall clock.
using Piece = std::function<void()>;

/// Least time of each piece in s, over `repetitions` rounds in which every piece runs once in turn. Other
/// people's work on the machine falls on all of them alike, and the least is what the code itself takes.
std::vector<double> interleaved(const std::vector<Piece>& pieces, int repetitions);
double once(const Piece& piece);

/// Keeps the compiler from leaving out what is only measured.
void use(const void* data);

/// One line of the table: what was measured, and the goal if there is one.
struct Row {
  std::string name;
  double value = 0.0;
  std::string unit;
  double goal = 0.0;  ///< largest value that will do; 0: none
};
void heading(const std::string& part);
void print(const Row& row);

}  // namespace halflight::bench
