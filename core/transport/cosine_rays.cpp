#include "transport/cosine_rays.hpp"

#include "base/units.hpp"

#include <cmath>

namespace halflight {

namespace {

// Cosine of an angle in turns, to 1e-7: the sine of a quarter turn less its magnitude, by M. Abramowitz and
// I. A. Stegun, Handbook of Mathematical Functions (1964), 4.3.97, whose error is 2e-9 within a quarter turn.
inline Lanes cosine_of_turns(const Lanes& turns) {
  const Lanes nearest = turns - (turns + 0.5F).floor();  // -1/2 to 1/2
  const Lanes x = static_cast<float>(2.0 * kPi) * (0.25F - nearest.abs());
  const Lanes x2 = x.square();
  const Lanes x4 = x2.square();
  return x * ((1.0F - 0.1666666664F * x2) + x4 * (0.0083333315F - 0.0001984090F * x2) +
              x4.square() * (0.0000027526F - 0.0000000239F * x2));
}

Lanes power(const Lanes& base, double exponent) {
  return base.unaryExpr(
      [exponent](float x) { return static_cast<float>(std::pow(static_cast<double>(x), exponent)); });
}

}  // namespace

void spread_about(const Frame& frame, const CosineLobe& lobe, const SampleStream& stream,
                  std::uint32_t dimension, Rays& rays) {
  const auto within = static_cast<float>(lobe.within);
  const Eigen::Array3f x_axis = Eigen::Array3d(frame.x.x, frame.x.y, frame.x.z).cast<float>();
  const Eigen::Array3f y_axis = Eigen::Array3d(frame.y.x, frame.y.y, frame.y.z).cast<float>();
  const Eigen::Array3f z_axis = Eigen::Array3d(frame.z.x, frame.z.y, frame.z.z).cast<float>();
  std::uint32_t first = 0;
  for (Rays::Block& block : rays.blocks()) {
    // Inverse of the distribution function: cos^(exponent + 2) is even from 1 - within to 1.
    Lanes squared = 1.0F - stream.eight(first, dimension) * within;
    if (lobe.exponent != 0.0) squared = power(squared, 2.0 / (lobe.exponent + 2.0));
    const Lanes sine = square_root((1.0F - squared).max(0.0F));
    const Lanes turn = stream.eight(first, dimension + 1);
    const Lanes x = sine * cosine_of_turns(turn);
    const Lanes y = sine * cosine_of_turns(turn - 0.25F);
    const Lanes z = square_root(squared);
    block.dx = x_axis.x() * x + y_axis.x() * y + z_axis.x() * z;
    block.dy = x_axis.y() * x + y_axis.y() * y + z_axis.y() * z;
    block.dz = x_axis.z() * x + y_axis.z() * y + z_axis.z() * z;
    first += kLanes;
  }
}

}  // namespace halflight
