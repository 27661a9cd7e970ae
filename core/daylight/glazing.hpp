#pragma once
#include "domain/space.hpp"

#include <vector>

namespace halflight::daylight {

/// Plane-parallel glass: one to three equal panes in air, Fresnel reflection and internal absorption,
/// unpolarised light (validation: single pane against the Fresnel formulas at n = 1.526). Index of refraction
/// of soda-lime glass.
inline constexpr double kGlassIndex = 1.526;

struct PaneOptics {
  double transmittance = 0.0;
  double reflectance = 0.0;
};
/// One pane, both polarisations averaged after the multiple reflections inside it. `cosine` of the angle of
/// incidence, 0..1; `absorption` = K L, extinction times thickness at normal incidence, >= 0.
PaneOptics pane_optics(double cosine, double absorption);

/// Transmittance of `panes` such panes with multiple reflections between them.
double panes_transmittance(double cosine, double absorption, int panes);

/// The angular law of a rated glazing: the number of panes fixes its shape, and the absorption is chosen so
/// that the transmittance at normal incidence is as rated. A rating above what clear panes pass is scaled
/// instead.
class GlazingLaw {
 public:
  /// `normal_transmittance` 0..1, `panes` 1..3.
  GlazingLaw(double normal_transmittance, int panes);
  /// Interpolated from a table in steps of 1/256 of the cosine; 0 at grazing incidence.
  [[nodiscard]] double transmittance(double cosine) const;
  /// 2 x integral of transmittance x cos x sin: what a uniform sky passes.
  [[nodiscard]] double hemispherical() const { return hemispherical_; }

 private:
  std::vector<double> table_;
  double hemispherical_ = 0.0;
};

/// What light does at an opening in one state of its shade, per unit of flux that meets the outside of the
/// opening's glass: `beam` keeps its direction, `scattered` leaves inside evenly (Lambertian). Frame and dirt
/// are included.
class OpeningLaw {
 public:
  OpeningLaw(const domain::Glazing& glazing, double frame_fraction, const domain::Shade* shade_in_front);
  [[nodiscard]] double beam(double cosine) const;
  [[nodiscard]] double scattered(double cosine) const;
  /// The same for light from an even hemisphere: what ground and facades opposite pass.
  [[nodiscard]] double beam_hemispherical() const { return clear_ * glass_.hemispherical(); }
  [[nodiscard]] double scattered_hemispherical() const { return diffuse_ * glass_.hemispherical(); }

 private:
  GlazingLaw glass_;
  double clear_ = 1.0;    // factor on the glass's law that passes straight
  double diffuse_ = 0.0;  // factor that leaves scattered
};

}  // namespace halflight::daylight
