#pragma once
#include "daylight/slats.hpp"
#include "daylight/well.hpp"
#include "domain/space.hpp"
#include "geometry/vector.hpp"

#include <optional>
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

/// What one unit of flux on the outside of an opening's glass becomes inside. What is scattered is given as
/// luminance per unit illuminance on the glass (1/sr): of directions that descend into the room, and of those
/// that rise.
struct Passage {
  double straight = 0.0;
  double descending_per_sr = 0.0;
  double rising_per_sr = 0.0;
};

/// The law of an opening in one state of its shade; frame and dirt are included. A cloth and diffusing glass
/// scatter evenly; slats scatter as SlatLaw says; switched glass is a glazing of its own. Interreflection
/// between glass and shade is left out.
class OpeningLaw {
 public:
  /// `outward`: unit normal away from the room. Slats need an upright opening, a well below glass and shade
  /// one that faces straight up.
  OpeningLaw(const domain::Glazing& glazing, double frame_fraction, const domain::Shade* shade_in_front,
             Vector3 outward, const Well* well = nullptr);
  /// Of light from direction `towards` (unit, away from the room); nothing from behind the opening.
  [[nodiscard]] Passage from(Vector3 towards) const;
  /// The mean over all that lies below the horizon at one luminance, as ground without bounds does.
  [[nodiscard]] const Passage& from_ground() const { return from_ground_; }
  /// The mean over what lies within 45 degrees of the horizon at one luminance, as facades opposite do.
  [[nodiscard]] const Passage& from_facades() const { return from_facades_; }
  /// The mean over the whole half-space before the opening at one luminance, as a lit room does.
  [[nodiscard]] const Passage& from_all_around() const { return from_all_around_; }

 private:
  [[nodiscard]] Passage without_well(Vector3 towards) const;

  GlazingLaw glass_;
  Vector3 outward_;
  double clear_ = 1.0;    // factor on the glass's law that passes straight
  double diffuse_ = 0.0;  // factor that leaves scattered evenly
  std::optional<SlatLaw> slats_;
  std::optional<WellLaw> well_;
  Passage from_ground_;
  Passage from_facades_;
  Passage from_all_around_;
};

}  // namespace halflight::daylight
