#pragma once
#include <array>
#include <cstdint>
#include <string_view>

namespace halflight {

/// Counter-based random numbers (Philox 4x32-10; Salmon, Moraes, Dror, Shaw, "Parallel random numbers: as
/// easy as 1, 2, 3", SC11). A draw is a pure function of its coordinates and never the next of a stream:
/// two runs that part ways still ask the same questions, and the order of evaluation cannot matter.
struct RandomKey {
  std::uint32_t seed = 0;
  std::uint32_t subject = 0;  ///< person, device or object: `hash_name(id)`
};
struct RandomCounter {
  std::uint32_t replicate = 0;
  std::uint32_t day = 0;       ///< day of the year, or 0
  std::uint32_t decision = 0;  ///< which question is asked: a constant of the asking module, from `hash_name`
  std::uint32_t slot = 0;      ///< time slot or index of the draw within the day
};

/// Four independent 32-bit words.
std::array<std::uint32_t, 4> random_words(RandomKey key, RandomCounter counter);
/// A series of numbers in (0, 1) for one decision, by day and slot: the words of one call of the generator
/// serve four neighbouring slots, which a busy corridor needs.
class RandomSeries {
 public:
  RandomSeries(RandomKey key, std::uint32_t replicate, std::uint32_t decision)
      : key_(key), counter_{replicate, 0, decision, 0} {}
  double at(std::uint32_t day, std::uint32_t slot);

 private:
  RandomKey key_;
  RandomCounter counter_;
  std::array<std::uint32_t, 4> words_{};
  bool drawn_ = false;
};

/// Uniform in the open interval (0, 1), 32 bits of resolution; never exactly 0 or 1.
double random_uniform(RandomKey key, RandomCounter counter);
/// Two uniforms of one call, for pairs (Box-Muller, points on a surface).
std::array<double, 2> random_uniform_pair(RandomKey key, RandomCounter counter);
/// Standard normal by inversion of the distribution function (monotone in the uniform, as paired runs need).
double random_normal(RandomKey key, RandomCounter counter);
/// The inverse of the standard normal distribution function, 0 < p < 1. Relative error below 1.2e-9 before
/// one Halley step, then close to rounding (P. J. Acklam's rational approximation, 2003).
double inverse_normal(double p);
/// A 32-bit name for an id or a decision, stable across runs and machines.
std::uint32_t hash_name(std::string_view name);

/// Owen-scrambled Sobol points in [0,1): element `index` of dimension `dimension` (0..15) under scramble
/// `scramble`. Dimensions above 15 wrap to a differently scrambled lower one. Direction numbers: S. Joe and
/// F. Y. Kuo, SIAM J. Sci. Comput. 30(5), 2008; hashed Owen scrambling: B. Burley, JCGT 9(4), 2020.
double sobol(std::uint32_t index, std::uint32_t dimension, std::uint32_t scramble);

}  // namespace halflight
