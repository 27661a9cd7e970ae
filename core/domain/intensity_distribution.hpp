#pragma once
#include "base/diagnostic.hpp"
#include "geometry/vector.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace halflight::domain {

// The luminaire frame: z up, nadir -z, length along +x, width along +y, origin at the centre of the luminous
// opening. The 0-degree C-plane holds +x and the 90-degree C-plane holds +y, as in IES LM-63.

/// Which great circles the angles of a table run along.
enum class PhotometricType {
  c,  ///< vertical angle from nadir (0) to zenith (180); horizontal angle about z from +x towards +y
  b,  ///< polar axis y: V turns about it, H is measured from the turned plane; d = (cosH cosV, -sinH, cosH
      ///< sinV)
  a,  ///< polar axis z: V is the elevation, H the bearing; d = (cosV cosH, -cosV sinH, sinV)
};
// Types A and B aim along +x (their "photometric horizontal") at V = H = 0; H grows to the right of somebody
// who looks along the aim with z up. A luminaire that aims down is placed with a roll of -90 degrees.

/// How a table of part of the sphere stands for the whole.
enum class Symmetry {
  none,
  bilateral_0_180,   ///< mirrored in the plane that holds the length (type C tables of 0..180)
  bilateral_90_270,  ///< mirrored in the plane across the length (type C tables of 90..270)
  quadrant,          ///< both mirrors (type C tables of 0..90)
  rotational,        ///< about z (type C tables of one horizontal angle)
  mirrored_h,        ///< types A and B: H of 0..90 stands for -90..90
};

std::string_view name_of(PhotometricType type);
std::string_view name_of(Symmetry symmetry);

/// The part of the luminaire that shines, as a body that fills its bounding box.
struct LuminousOpening {
  enum class Shape {
    point,
    rectangle,          ///< length x width, horizontal
    box,                ///< rectangle with luminous sides
    circle,             ///< horizontal
    ellipse,            ///< horizontal
    vertical_cylinder,  ///< circular or elliptical section in the x-y plane
    sphere,
    ellipsoid,
    cylinder_along,    ///< lying along the length; circular or elliptical section
    cylinder_across,   ///< lying along the width
    vertical_ellipse,  ///< circle or ellipse in the y-z plane
  };
  Shape shape = Shape::point;
  double length_m = 0.0;  ///< extent along x, >= 0
  double width_m = 0.0;   ///< extent along y, >= 0
  double height_m = 0.0;  ///< extent along z, >= 0
  friend bool operator==(const LuminousOpening&, const LuminousOpening&) = default;
};

std::string_view name_of(LuminousOpening::Shape shape);

/// Relative lamp output against tilt from the position of the test (LM-63 TILT=INCLUDE), 1 at 0 degrees.
struct LampTilt {
  int lamp_geometry = 1;           ///< 1 base up or down, 2 horizontal and stays so, 3 horizontal and tilts
  std::vector<double> angle_deg;   ///< ascending
  std::vector<double> multiplier;  ///< >= 0, relative to the multiplier at 0 degrees
};

/// One way to equip a luminaire, as a file lists them.
struct LampSet {
  int lamps = 1;
  std::string type;
  double lumens = 0.0;   ///< of all lamps of the set, as declared
  double input_w = 0.0;  ///< with what drives them, as declared
};

/// What a file says of itself beside its intensities. Kept to be compared with them; no light rests on it.
struct PhotometryStatements {
  double candela_multiplier = 1.0;   ///< LM-63
  double ballast_lamp_factor = 1.0;  ///< LM-63 before 2002
  double tested_tilt_factor = 1.0;   ///< LM-63 TILT: the first multiplier, that of the test
  double conversion_factor = 1.0;    ///< EULUMDAT
  bool rotational_kind = false;  ///< EULUMDAT: the kind of luminaire is "symmetric about the vertical axis"
  std::optional<double> light_output_ratio;  ///< EULUMDAT, fraction
  std::optional<double> downward_fraction;   ///< EULUMDAT, fraction
  std::vector<double> side_heights_m;        ///< EULUMDAT, of the luminous area at C0, C90, C180, C270
  std::vector<LampSet> lamp_sets;            ///< EULUMDAT, in file order
  bool lamp_set_chosen = false;              ///< whether whoever had the file read named one of them
};

/// What a photometric file or a formula says, in absolute terms.
struct PhotometricData {
  PhotometricType type = PhotometricType::c;
  std::vector<double> vertical_deg;    ///< ascending
  std::vector<double> horizontal_deg;  ///< ascending
  /// Intensity at full output, every factor applied, cd: [horizontal index x vertical count + vertical
  /// index].
  std::vector<double> candela;
  LuminousOpening opening;
  int lamps = 1;
  std::optional<double> lumens_per_lamp;  ///< as declared; none: absolute photometry
  double ballast_factor = 1.0;            ///< already applied to `candela`; kept to judge declared lumens
  double input_w = 0.0;                   ///< as declared; 0: not stated
  std::optional<LampTilt> lamp_tilt;
  PhotometryStatements statements;
  /// In file order; lines of a continued keyword are joined by '\n'.
  std::vector<std::pair<std::string, std::string>> keywords;
};

/// Luminous intensity against direction, immutable. Safe to read from any thread.
class IntensityDistribution {
 public:
  /// Checks the tables: 2 to 1,000 vertical and 1 to 1,000 horizontal angles, ascending, first and last as
  /// the type allows (type C vertical from 0 or 90 to 90 or 180; horizontal 0 alone, 0..90, 0..180, 0..360
  /// or 90..270; types A and B from -90 or 0 to 90), finite intensities >= 0.
  static Result<IntensityDistribution> make(PhotometricData data);

  /// Intensity in cd towards a unit vector of the luminaire frame. Bilinear in the two angles; 0 where the
  /// table gives nothing (above the horizontal when it ends at 90 degrees).
  [[nodiscard]] double intensity_cd(Vector3 unit_direction) const;
  /// Intensity at angles of the table's own type, symmetry not expanded, clamped to the table.
  [[nodiscard]] double table_cd(double vertical_deg, double horizontal_deg) const;

  [[nodiscard]] const PhotometricData& data() const { return data_; }
  [[nodiscard]] Symmetry symmetry() const { return symmetry_; }
  [[nodiscard]] double candela(std::size_t horizontal, std::size_t vertical) const {
    return data_.candela[horizontal * data_.vertical_deg.size() + vertical];
  }
  /// Lumens of all lamps times ballast factor, as declared; none for absolute photometry.
  [[nodiscard]] std::optional<double> declared_lumens() const;
  /// The same shape with every intensity times `factor` >= 0.
  [[nodiscard]] IntensityDistribution scaled(double factor) const;
  /// Lamp output at a tilt from the position of the test, relative to no tilt; 1 without a table. Linear
  /// between entries, constant beyond them.
  [[nodiscard]] double lamp_tilt_factor(double tilt_deg) const;

 private:
  /// Ascending angles; equal steps are found by one multiplication, others by bisection.
  struct Axis {
    double first = 0.0;
    double last = 0.0;
    double per_step = 0.0;  ///< 1 / step, 0 when the steps differ
    std::vector<double> angles;
    struct Cell {
      std::size_t index;
      double fraction;
    };
    [[nodiscard]] Cell cell_of(double angle) const;
  };
  static Axis make_axis(const std::vector<double>& angles);

  IntensityDistribution() = default;
  PhotometricData data_;
  Symmetry symmetry_ = Symmetry::none;
  Axis vertical_;
  Axis horizontal_;
};

/// Unit vector in the luminaire frame of two angles of a photometric type.
Vector3 direction_of(PhotometricType type, double vertical_deg, double horizontal_deg);

}  // namespace halflight::domain
