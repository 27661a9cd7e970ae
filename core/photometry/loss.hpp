#pragma once
#include <cmath>

namespace halflight::photometry {

/// The light loss factor in its parts, each 0..1 (the ballast factor of some fluorescent ballasts exceeds 1):
/// maintained = initial x product (IES practice, LLF = LLD x LDD x RSDD x BF; with lamp survival and without
/// the ballast, the maintenance factor LLMF x LSF x LMF x RMF of CIE 97:2005, from memory).
struct LightLoss {
  double lamp_lumen_depreciation = 1.0;
  double luminaire_dirt = 1.0;
  double room_surface_dirt = 1.0;
  double ballast_or_driver = 1.0;
  double lamp_survival = 1.0;
  [[nodiscard]] double factor() const {
    return lamp_lumen_depreciation * luminaire_dirt * room_surface_dirt * ballast_or_driver * lamp_survival;
  }
};

inline double maintained_lx(double initial_lx, const LightLoss& loss) { return initial_lx * loss.factor(); }
/// What must be installed new so that `maintained` is left; the factor must not be 0.
inline double initial_lx(double maintained, const LightLoss& loss) { return maintained / loss.factor(); }

/// Lumen depreciation of a light-emitting-diode source in the projected form of IES TM-21: flux(t) = B exp(-a
/// t).
struct LumenMaintenance {
  double projected_initial = 1.0;  ///< B, near 1
  double decay_per_h = 0.0;        ///< a, >= 0

  /// Remaining share of initial flux after `hours` of burning.
  [[nodiscard]] double at(double hours) const { return projected_initial * std::exp(-decay_per_h * hours); }
  /// Hours until `share` (0.7 for L70) is left: ln(B / share) / a. Infinite without decay.
  [[nodiscard]] double hours_to(double share) const {
    return std::log(projected_initial / share) / decay_per_h;
  }
};
/// The curve that reaches 70 % after `l70_h` > 0 hours.
inline LumenMaintenance lumen_maintenance_from_l70(double l70_h, double projected_initial = 1.0) {
  return {projected_initial, std::log(projected_initial / 0.7) / l70_h};
}

/// Luminaire dirt in the older IES form exp(-A t^B), t in years since cleaning (A and B by luminaire category
/// and dirt condition; the form from memory).
inline double luminaire_dirt_after(double years, double a, double b) {
  return std::exp(-a * std::pow(years, b));
}

}  // namespace halflight::photometry
