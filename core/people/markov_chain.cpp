#include "people/markov_chain.hpp"

#include <algorithm>

namespace halflight::people {

ChainStep chain_step(double now, double next, double mobility) {
  double memory = (1.0 - mobility) / (1.0 + mobility);  // T11 - T01
  if (now > 0.0) memory = std::min(memory, next / now);
  if (now < 1.0) memory = std::min(memory, (1.0 - next) / (1.0 - now));
  // next = now T11 + (1 - now) T01, solved for T01.
  const double appears = std::clamp(next - memory * now, 0.0, 1.0);
  return {appears, std::clamp(appears + memory, 0.0, 1.0)};
}

double mobility_of(double present, double mean_absence_steps) {
  const double x = 2.0 * present * mean_absence_steps - 1.0;
  return x > 1.0 ? 1.0 / x : 1.0;
}

}  // namespace halflight::people
