#pragma once
#include "base/units.hpp"
#include "geometry/rays.hpp"
#include "geometry/vector.hpp"

namespace halflight {

/// Cosine of an angle given in turns, at most a quarter turn in the magnitude of its error's argument.
inline Lanes cosine_of_turns(const Lanes& turns) {
  // The cosine of t is the sine of a quarter turn less |t|, here within a quarter turn of zero, where the
  // Taylor series is exact to 7e-10 after seven terms.
  const Lanes x = static_cast<float>(2.0 * kPi) * (0.25F - (turns - (turns + 0.5F).floor()).abs());
  const Lanes x2 = x.square();
  return x * (1.0F +
              x2 * (-1.0F / 6.0F +
                    x2 * (1.0F / 120.0F + x2 * (-1.0F / 5040.0F + x2 * (1.0F / 362880.0F +
                                                                        x2 * (-1.0F / 39916800.0F +
                                                                              x2 * 1.0F / 6227020800.0F))))));
}

/// Turns eight rays to directions about frame.z whose cosines to it are `cosine`, at azimuths `turn`, 0 to 1
/// of a full turn. Unit vectors to single precision.
inline void turn_about(const Frame& frame, const Lanes& cosine, const Lanes& turn, Rays::Block& rays) {
  const Lanes sine = square_root((1.0F - cosine.square()).max(0.0F));
  const Lanes x = sine * cosine_of_turns(turn);
  const Lanes y = sine * cosine_of_turns(turn - 0.25F);
  const auto along = [&](double Vector3::*axis) -> Lanes {
    return static_cast<float>(frame.x.*axis) * x + static_cast<float>(frame.y.*axis) * y +
           static_cast<float>(frame.z.*axis) * cosine;
  };
  rays.dx = along(&Vector3::x);
  rays.dy = along(&Vector3::y);
  rays.dz = along(&Vector3::z);
}

}  // namespace halflight
