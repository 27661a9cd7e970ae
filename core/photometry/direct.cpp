#include "photometry/direct.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

namespace halflight::photometry {
namespace {

using domain::IntensityDistribution;
using domain::LuminousOpening;
using Shape = LuminousOpening::Shape;

constexpr int kMostParts = 64;
constexpr double kPartsPerDistance = 5.0;
constexpr double kUndividedPerDistance = 10.0;

/// Points along an extent: one up to a tenth of the distance, else pairs that stand for two parts each.
int parts_along(double extent_m, double distance_m) {
  if (extent_m * kUndividedPerDistance <= distance_m) return 1;
  return 2 * std::max(1, static_cast<int>(std::ceil(0.5 * kPartsPerDistance * extent_m / distance_m)));
}

/// Position of point i of n on [-1/2, 1/2]: middles for odd n, pairs of two-point Gauss positions for even n.
double place(int i, int n) {
  if (n % 2 == 1) return (i + 0.5) / n - 0.5;
  constexpr double kGauss = 0.57735026918962576;  // 1 / sqrt(3)
  const double half_pair = 1.0 / n;               // a pair spans 2 / n
  const int pair = i / 2;
  const double middle = (2 * pair + 1) * half_pair - 0.5;
  return middle + (i % 2 == 0 ? -kGauss : kGauss) * half_pair;
}

struct Pair {
  double a;
  double b;
};

Point3 in_building(const LuminaireSource& source, Vector3 local) {
  const Frame& f = source.orientation;
  return source.position + (local.x * f.x + local.y * f.y + local.z * f.z);
}

Vector3 in_luminaire(const LuminaireSource& source, Vector3 v) {
  const Frame& f = source.orientation;
  return {dot(v, f.x), dot(v, f.y), dot(v, f.z)};
}

double longest_side_m(const LuminousOpening& o) { return std::max({o.length_m, o.width_m, o.height_m}); }

std::vector<EmittingPoint> equal_parts(const LuminaireSource& source, Subdivision n, Fineness fineness) {
  const LuminousOpening& o = source.distribution.data().opening;
  // A piece is an undivided axis or a pair; checking divides each into twice as many.
  const int halving = fineness == Fineness::check ? 2 : 1;
  const int piece_length = halving * std::min(2, n.along_length);
  const int piece_width = halving * std::min(2, n.along_width);
  const int pieces_along = n.along_length * halving / piece_length;
  n = {n.along_length * halving, n.along_width * halving};
  const double extent = std::max(o.length_m / n.along_length, o.width_m / n.along_width);
  const double share = 1.0 / n.count();
  std::vector<EmittingPoint> points;
  points.reserve(static_cast<std::size_t>(n.count()));
  for (int j = 0; j < n.along_width; ++j)
    for (int i = 0; i < n.along_length; ++i)
      points.push_back(
          {in_building(source,
                       {o.length_m * place(i, n.along_length), o.width_m * place(j, n.along_width), 0.0}),
           share, extent, static_cast<std::size_t>(j / piece_width * pieces_along + i / piece_length)});
  return points;
}

/// A smooth piece of an opening's surface, luminaire frame, over (u, v) in [-1/2, 1/2]^2. Curved pieces cover
/// just what can be seen from one place, so that the integrand has no step at the horizon of the surface.
struct Surface {
  enum class Kind { face, disc, mantle, ellipsoid };
  Kind kind = Kind::face;
  Vector3 centre;
  Vector3 u_axis;           ///< full extent; of mantles the section's first axis, of ellipsoids the x axis
  Vector3 v_axis;           ///< full extent; of mantles the section's second axis, of ellipsoids the y axis
  Vector3 w_axis;           ///< full height of mantles, z axis of ellipsoids, else the outward unit normal
  double luminance = 1.0;   ///< relative to the other sides of the body
  double mid_angle = 0.0;   ///< mantle: middle of the visible arc, rad
  double half_angle = 0.0;  ///< mantle: half of the visible arc, rad
  double cap = 0.0;         ///< ellipsoid: 1 - cosine of the visible cap's half angle on the unit sphere
  Frame cap_frame;          ///< ellipsoid: z towards the place, on the unit sphere
};

struct OnSurface {
  Vector3 at;
  Vector3 area;        ///< outward normal times area per unit of u and v, m2
  double share = 1.0;  ///< of a flat opening's light per unit of u and v
};

OnSurface on_surface(const Surface& s, double u, double v) {
  switch (s.kind) {
    case Surface::Kind::face:
      return {s.centre + u * s.u_axis + v * s.v_axis, length(s.u_axis) * length(s.v_axis) * s.w_axis};
    case Surface::Kind::disc: {
      const double radius = v + 0.5;  // 0 to 1
      const double share = 2.0 * radius;
      return {s.centre + 0.5 * radius * std::cos(2.0 * kPi * u) * s.u_axis +
                  0.5 * radius * std::sin(2.0 * kPi * u) * s.v_axis,
              0.25 * kPi * share * length(s.u_axis) * length(s.v_axis) * s.w_axis, share};
    }
    case Surface::Kind::mantle: {
      const double angle = s.mid_angle + 2.0 * u * s.half_angle;
      const double cosine = std::cos(angle);
      const double sine = std::sin(angle);
      const double a = length(s.u_axis);
      const double b = length(s.v_axis);
      // Along an arc of d(angle) the outward normal times the length is (b/2 cos, a/2 sin) d(angle).
      return {s.centre + 0.5 * cosine * s.u_axis + 0.5 * sine * s.v_axis + v * s.w_axis,
              length(s.w_axis) * s.half_angle * ((b / a * cosine) * s.u_axis + (a / b * sine) * s.v_axis)};
    }
    case Surface::Kind::ellipsoid: {
      const double cosine = 1.0 - (v + 0.5) * s.cap;
      const double sine = std::sqrt(std::max(0.0, 1.0 - cosine * cosine));
      const Vector3 n = sine * std::cos(2.0 * kPi * u) * s.cap_frame.x +
                        sine * std::sin(2.0 * kPi * u) * s.cap_frame.y + cosine * s.cap_frame.z;
      const double a = 0.5 * s.u_axis.x;
      const double b = 0.5 * s.v_axis.y;
      const double c = 0.5 * s.w_axis.z;
      return {{a * n.x, b * n.y, c * n.z},
              2.0 * kPi * s.cap * Vector3{b * c * n.x, a * c * n.y, a * b * n.z}};
    }
  }
  return {};
}

/// Lengths in m along u and v, at most, of the part of a surface about v that spans the shares `size` of u
/// and v.
Pair extents(const Surface& s, double v, Pair size) {
  switch (s.kind) {
    case Surface::Kind::face:
      return {size.a * length(s.u_axis), size.b * length(s.v_axis)};
    case Surface::Kind::disc: {
      const double radius = 0.5 * std::max(length(s.u_axis), length(s.v_axis));
      return {size.a * 2.0 * kPi * radius, size.b * radius};
    }
    case Surface::Kind::mantle:
      return {size.a * s.half_angle * std::max(length(s.u_axis), length(s.v_axis)),
              size.b * length(s.w_axis)};
    case Surface::Kind::ellipsoid: {
      const double radius = 0.5 * std::max({s.u_axis.x, s.v_axis.y, s.w_axis.z});
      const double top = std::max(-1.0, 1.0 - (v + 0.5 - 0.5 * size.b) * s.cap);
      const double rim = std::max(-1.0, 1.0 - (v + 0.5 + 0.5 * size.b) * s.cap);
      return {size.a * 2.0 * kPi * radius * std::sqrt(std::max(0.0, 1.0 - rim * rim)),
              radius * (std::acos(rim) - std::acos(std::min(1.0, top)))};
    }
  }
  return {};
}

constexpr std::array<Vector3, 3> kAxes{{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};

double component(Vector3 v, std::size_t axis) { return axis == 0 ? v.x : axis == 1 ? v.y : v.z; }

/// The sides of a body, with the luminance of each.
class Body {
 public:
  /// Every side of luminance 1.
  explicit Body(const LuminousOpening& opening)
      : extent_{opening.length_m, opening.width_m, opening.height_m}, shape_(opening.shape) {
    for (auto& ends : end_luminance_) ends.fill(1.0);
    mantle_luminance_ = 1.0;
  }
  explicit Body(const IntensityDistribution& distribution) : Body(distribution.data().opening) {
    if (is_ellipsoid()) return;
    end_luminance_ = {};
    mantle_luminance_ = 0.0;
    const std::optional<std::size_t> axis = cylinder_axis();
    double brightest = 0.0;
    for (std::size_t i = 0; i < 3; ++i) {
      if (axis && i != *axis) continue;
      for (const std::size_t side : {0U, 1U}) {
        const double area = end_area(i);
        if (area > 0.0)
          end_luminance_[i][side] = distribution.intensity_cd((side == 0 ? -1.0 : 1.0) * kAxes[i]) / area;
        brightest = std::max(brightest, end_luminance_[i][side]);
      }
    }
    if (axis) {
      constexpr int kBearings = 16;
      for (int k = 0; k < kBearings; ++k) {
        const double angle = 2.0 * kPi * k / kBearings;
        const Vector3 d = std::cos(angle) * kAxes[(*axis + 1) % 3] + std::sin(angle) * kAxes[(*axis + 2) % 3];
        if (const double area = mantle_area(*axis, d); area > 0.0)
          mantle_luminance_ += distribution.intensity_cd(d) / area / kBearings;
      }
      brightest = std::max(brightest, mantle_luminance_);
    }
    // A side that is dark along its own normal still emits what no other side can: no light is lost.
    constexpr double kFaintest = 1e-3;
    const double least = brightest > 0.0 ? kFaintest * brightest : 1.0;
    for (auto& ends : end_luminance_)
      for (double& luminance : ends) luminance = std::max(luminance, least);
    mantle_luminance_ = std::max(mantle_luminance_, least);
  }

  /// Sum over all sides of luminance times area projected along a unit vector, luminaire frame.
  [[nodiscard]] double projected(Vector3 d) const {
    if (is_ellipsoid())
      return 0.25 * kPi *
             length(Vector3{extent_[1] * extent_[2] * d.x, extent_[0] * extent_[2] * d.y,
                            extent_[0] * extent_[1] * d.z});
    const std::optional<std::size_t> axis = cylinder_axis();
    double sum = axis ? mantle_luminance_ * mantle_area(*axis, d) : 0.0;
    for (std::size_t i = 0; i < 3; ++i)
      if (!axis || i == *axis) {
        const double along = component(d, i);
        sum += end_luminance_[i][along > 0.0 ? 1 : 0] * end_area(i) * std::abs(along);
      }
    return sum;
  }

  /// Sides that a place in the luminaire frame can see; none from inside.
  [[nodiscard]] std::vector<Surface> seen_from(Vector3 at) const {
    std::vector<Surface> seen;
    if (is_ellipsoid()) {
      add_ellipsoid(at, seen);
      return seen;
    }
    const std::optional<std::size_t> axis = cylinder_axis();
    for (std::size_t i = 0; i < 3; ++i) {
      if (axis && i != *axis) continue;
      const double along = component(at, i);
      if (std::abs(along) <= 0.5 * extent_[i] || end_area(i) <= 0.0) continue;
      const double side = along > 0.0 ? 1.0 : -1.0;
      Surface end;
      end.kind = axis ? Surface::Kind::disc : Surface::Kind::face;
      end.centre = 0.5 * side * extent_[i] * kAxes[i];
      end.u_axis = extent_[(i + 1) % 3] * kAxes[(i + 1) % 3];
      end.v_axis = extent_[(i + 2) % 3] * kAxes[(i + 2) % 3];
      end.w_axis = side * kAxes[i];
      end.luminance = end_luminance_[i][along > 0.0 ? 1 : 0];
      seen.push_back(end);
    }
    if (axis) add_mantle(at, *axis, seen);
    return seen;
  }

 private:
  [[nodiscard]] bool is_ellipsoid() const { return shape_ == Shape::sphere || shape_ == Shape::ellipsoid; }
  /// None for boxes.
  [[nodiscard]] std::optional<std::size_t> cylinder_axis() const {
    switch (shape_) {
      case Shape::cylinder_along:
        return 0;
      case Shape::cylinder_across:
        return 1;
      case Shape::vertical_cylinder:
        return 2;
      default:
        return std::nullopt;
    }
  }
  [[nodiscard]] double end_area(std::size_t i) const {
    const double rectangle = extent_[(i + 1) % 3] * extent_[(i + 2) % 3];
    return cylinder_axis() ? 0.25 * kPi * rectangle : rectangle;
  }
  /// Height of the mantle times the width of its elliptical section across d.
  [[nodiscard]] double mantle_area(std::size_t axis, Vector3 d) const {
    const std::size_t j = (axis + 1) % 3;
    const std::size_t k = (axis + 2) % 3;
    return extent_[axis] * std::hypot(extent_[k] * component(d, j), extent_[j] * component(d, k));
  }
  void add_mantle(Vector3 at, std::size_t axis, std::vector<Surface>& seen) const {
    const std::size_t j = (axis + 1) % 3;
    const std::size_t k = (axis + 2) % 3;
    if (extent_[j] <= 0.0 || extent_[k] <= 0.0 || extent_[axis] <= 0.0) return;
    // On the unit circle whose image the section is: tangents stay tangents.
    const double a = 2.0 * component(at, j) / extent_[j];
    const double b = 2.0 * component(at, k) / extent_[k];
    const double away = std::hypot(a, b);
    if (away <= 1.0) return;
    Surface mantle;
    mantle.kind = Surface::Kind::mantle;
    mantle.u_axis = extent_[j] * kAxes[j];
    mantle.v_axis = extent_[k] * kAxes[k];
    mantle.w_axis = extent_[axis] * kAxes[axis];
    mantle.luminance = mantle_luminance_;
    mantle.mid_angle = std::atan2(b, a);
    mantle.half_angle = std::acos(1.0 / away);
    seen.push_back(mantle);
  }
  void add_ellipsoid(Vector3 at, std::vector<Surface>& seen) const {
    if (extent_[0] <= 0.0 || extent_[1] <= 0.0 || extent_[2] <= 0.0) return;
    const Vector3 on_sphere{2.0 * at.x / extent_[0], 2.0 * at.y / extent_[1], 2.0 * at.z / extent_[2]};
    const double away = length(on_sphere);
    if (away <= 1.0) return;
    Surface cap;
    cap.kind = Surface::Kind::ellipsoid;
    cap.u_axis = extent_[0] * kAxes[0];
    cap.v_axis = extent_[1] * kAxes[1];
    cap.w_axis = extent_[2] * kAxes[2];
    cap.cap = 1.0 - 1.0 / away;
    cap.cap_frame = frame_about((1.0 / away) * on_sphere);
    seen.push_back(cap);
  }

  std::array<double, 3> extent_;
  Shape shape_;
  std::array<std::array<double, 2>, 3> end_luminance_{};  ///< by axis, towards - and +
  double mantle_luminance_ = 0.0;
};

/// Divides surfaces until each part is as small as its distance asks, and gives the points to `visit` as
/// (place and area on the surface, part of u and v, longest side of the part, piece).
class Divider {
 public:
  Divider(Vector3 at, double longest_m, Fineness fineness)
      : at_(at), nearest_m_(kNearestPerLongest * longest_m), halving_(fineness == Fineness::check ? 2 : 1) {}

  template <class Visit>
  void divide(const Surface& s, const Visit& visit) {
    Task task{s, false, 1};
    ++piece_;
    const Pair extent = extents(s, 0.0, {1.0, 1.0});
    switch (s.kind) {
      case Surface::Kind::face:
        break;
      case Surface::Kind::mantle:  // four pairs project within 0.01 % of the mantle however far it is
        task.cells_around = 4;
        break;
      case Surface::Kind::disc:
        if (halving_ == 1 &&
            2.0 * extent.b * kUndividedPerDistance <= distance_to(s, 0.0, -0.5, {2.0 * extent.b, 0.0})) {
          const double area = 0.25 * kPi * length(s.u_axis) * length(s.v_axis);
          visit(OnSurface{s.centre, area * s.w_axis, 1.0}, 1.0, 2.0 * extent.b, piece_);
          return;
        }
        [[fallthrough]];
      case Surface::Kind::ellipsoid: {
        // Once around and far enough, evenly spaced single points are exact for the first harmonics.
        task.cells_around = 4;
        const double away = distance_to(s, 0.0, -0.5, {2.0 * extent.b, 0.0});
        task.single_around = 0.25 * extent.a * kPartsPerDistance <= away;
        if (task.single_around) task.cells_around *= halving_;
        break;
      }
    }
    const double size = 1.0 / task.cells_around;
    for (int i = 0; i < task.cells_around; ++i)
      cell(task, {(i + 0.5) * size - 0.5, 0.0}, {size, 1.0}, 0, visit);
  }

 private:
  // Nearer than this share of the longest side the opening is divided no further.
  static constexpr double kNearestPerLongest = 1e-3;
  static constexpr int kDeepest = 16;

  struct Task {
    const Surface& surface;
    bool single_around;  ///< one point along u in each cell
    int cells_around;
  };

  /// At least, from the place to a part about (u, v).
  [[nodiscard]] double distance_to(const Surface& s, double u, double v, Pair extent) const {
    return std::max(nearest_m_, length(at_ - on_surface(s, u, v).at) - 0.5 * std::hypot(extent.a, extent.b));
  }

  template <class Visit>
  void cell(const Task& task, Pair middle, Pair size, int depth, const Visit& visit) {
    const Surface& s = task.surface;
    const Pair extent = extents(s, middle.b, size);
    const double distance = distance_to(s, middle.a, middle.b, extent);
    // A pair of points stands for two parts.
    const bool split_u = !task.single_around && 0.5 * extent.a * kPartsPerDistance > distance;
    const bool split_v = 0.5 * extent.b * kPartsPerDistance > distance;
    if ((split_u || split_v) && depth < kDeepest) {
      const int nu = split_u ? 2 : 1;
      const int nv = split_v ? 2 : 1;
      const Pair part{size.a / nu, size.b / nv};
      for (int j = 0; j < nv; ++j)
        for (int i = 0; i < nu; ++i)
          cell(task,
               {middle.a - 0.5 * size.a + (i + 0.5) * part.a, middle.b - 0.5 * size.b + (j + 0.5) * part.b},
               part, depth + 1, visit);
      return;
    }
    const bool curved = s.kind != Surface::Kind::face;
    const bool paired_v = s.kind == Surface::Kind::disc || s.kind == Surface::Kind::ellipsoid;
    const int nu = task.single_around ? 1
                                      : halving_ * (curved                                ? 2
                                                    : parts_along(extent.a, distance) > 1 ? 2
                                                                                          : 1);
    const int nv = halving_ * (paired_v || parts_along(extent.b, distance) > 1 ? 2 : 1);
    if (!task.single_around) ++piece_;
    for (int j = 0; j < nv; ++j)
      for (int i = 0; i < nu; ++i)
        visit(on_surface(s, middle.a + size.a * place(i, nu), middle.b + size.b * place(j, nv)),
              size.a * size.b / (nu * nv), std::max(extent.a / nu, extent.b / nv), piece_);
  }

  Vector3 at_;
  double nearest_m_;
  int halving_;
  std::size_t piece_ = 0;
};

Surface flat_surface(const LuminousOpening& o) {
  Surface flat;
  flat.kind = o.shape == Shape::rectangle ? Surface::Kind::face : Surface::Kind::disc;
  const bool vertical = o.shape == Shape::vertical_ellipse;
  flat.u_axis = vertical ? o.width_m * kAxes[1] : o.length_m * kAxes[0];
  flat.v_axis = vertical ? o.height_m * kAxes[2] : o.width_m * kAxes[1];
  flat.w_axis = vertical ? kAxes[0] : kAxes[2];
  return flat;
}

/// Of one point: illuminance in lx, and what it would be for one metre of d cos(incidence).
struct Contribution {
  double facing_m = 0.0;  ///< d cos(incidence); negative from behind
  double lx = 0.0;
  double per_metre_lx = 0.0;
};

Contribution contribution(const LuminaireSource& source, const EmittingPoint& from, Point3 at,
                          Vector3 normal) {
  const Vector3 path = at - from.position;
  const double squared = dot(path, path);
  Contribution c;
  c.facing_m = -dot(path, normal);
  if (squared <= 0.0) return c;
  const double distance = std::sqrt(squared);
  const double intensity = source.distribution.intensity_cd(in_luminaire(source, (1.0 / distance) * path));
  c.per_metre_lx = from.share * intensity / (squared * distance);
  if (c.facing_m > 0.0) c.lx = from.share * intensity * c.facing_m / (squared * distance);
  return c;
}

/// Whether an opening is divided into equal parts for a place at that distance.
bool in_equal_parts(const LuminousOpening& o, double distance_m) {
  constexpr double kNearest_m = 0.05;
  return o.shape == Shape::rectangle &&
         distance_m >= std::max(kNearest_m, kPartsPerDistance / kMostParts * longest_side_m(o));
}

std::vector<EmittingPoint> parts_by_distance(const LuminaireSource& source, Point3 at, Fineness fineness) {
  const LuminousOpening& o = source.distribution.data().opening;
  const Vector3 local = in_luminaire(source, at - source.position);
  Divider divider(local, longest_side_m(o), fineness);
  std::vector<EmittingPoint> points;
  if (!has_sides(o)) {
    divider.divide(flat_surface(o),
                   [&](const OnSurface& on, double part, double extent_m, std::size_t piece) {
                     points.push_back({in_building(source, on.at), part * on.share, extent_m, piece});
                   });
    return points;
  }
  const Body body(source.distribution);
  for (const Surface& s : body.seen_from(local))
    divider.divide(s, [&](const OnSurface& on, double part, double extent_m, std::size_t piece) {
      const Vector3 path = local - on.at;
      const double distance = length(path);
      if (distance <= 0.0) return;
      const Vector3 d = (1.0 / distance) * path;
      const double projected = part * s.luminance * dot(on.area, d);
      if (projected > 0.0)
        points.push_back({in_building(source, on.at), projected / body.projected(d), extent_m, piece});
    });
  return points;
}

}  // namespace

Frame luminaire_frame(double rotation_deg, double tilt_deg, double roll_deg) {
  const double cos_roll = std::cos(roll_deg * kRadPerDeg);
  const double sin_roll = std::sin(roll_deg * kRadPerDeg);
  const double cos_tilt = std::cos(tilt_deg * kRadPerDeg);
  const double sin_tilt = std::sin(tilt_deg * kRadPerDeg);
  const double cos_turn = std::cos(rotation_deg * kRadPerDeg);
  const double sin_turn = std::sin(rotation_deg * kRadPerDeg);
  const auto place_axis = [&](Vector3 v) {
    const Vector3 rolled{cos_roll * v.x - sin_roll * v.z, v.y, sin_roll * v.x + cos_roll * v.z};
    const Vector3 tilted{rolled.x, cos_tilt * rolled.y - sin_tilt * rolled.z,
                         sin_tilt * rolled.y + cos_tilt * rolled.z};
    return Vector3{cos_turn * tilted.x - sin_turn * tilted.y, sin_turn * tilted.x + cos_turn * tilted.y,
                   tilted.z};
  };
  return {place_axis({1, 0, 0}), place_axis({0, 1, 0}), place_axis({0, 0, 1})};
}

bool has_sides(const LuminousOpening& opening) {
  switch (opening.shape) {
    case Shape::point:
    case Shape::rectangle:
    case Shape::circle:
    case Shape::ellipse:
    case Shape::vertical_ellipse:
      return false;
    case Shape::box:
    case Shape::vertical_cylinder:
    case Shape::sphere:
    case Shape::ellipsoid:
    case Shape::cylinder_along:
    case Shape::cylinder_across:
      return true;
  }
  return false;
}

double projected_area_m2(const LuminousOpening& opening, Vector3 unit_direction) {
  if (opening.shape == Shape::point) return 0.0;
  if (has_sides(opening)) return Body(opening).projected(unit_direction);
  const OnSurface middle = on_surface(flat_surface(opening), 0.0, 0.0);
  return std::abs(dot(middle.area, unit_direction));
}

Subdivision required_subdivision(const LuminaireSource& source, double nearest_distance_m) {
  const LuminousOpening& o = source.distribution.data().opening;
  const double longest = longest_side_m(o);
  if (longest <= 0.0) return {};
  // The cap belongs to the longest axis; the other keeps parts of the same size.
  const double d = std::max(nearest_distance_m, kPartsPerDistance * longest / kMostParts);
  return {parts_along(o.length_m, d), parts_along(o.width_m, d)};
}

std::vector<EmittingPoint> emitting_points(const LuminaireSource& source, Point3 seen_from,
                                           Fineness fineness) {
  const LuminousOpening& o = source.distribution.data().opening;
  if (o.shape == Shape::point || longest_side_m(o) <= 0.0) return {{source.position, 1.0, 0.0, 0}};
  const double distance = distance_to_opening_m(source, seen_from);
  if (in_equal_parts(o, distance))
    return equal_parts(source, required_subdivision(source, distance), fineness);
  return parts_by_distance(source, seen_from, fineness);
}

const std::vector<EmittingPoint>& SeenOpening::from(Point3 at) {
  const LuminousOpening& o = source_.distribution.data().opening;
  const double distance = distance_to_opening_m(source_, at);
  if (!in_equal_parts(o, distance)) {
    own_ = emitting_points(source_, at);
    return own_;
  }
  const Subdivision wanted = required_subdivision(source_, distance);
  for (const auto& [subdivision, points] : equal_parts_)
    if (subdivision == wanted) return points;
  equal_parts_.emplace_back(wanted, emitting_points(source_, at));
  return equal_parts_.back().second;
}

double contribution_lx(const LuminaireSource& source, const EmittingPoint& from, Point3 at, Vector3 normal) {
  if (dot(at - from.position, normal) >= 0.0) return 0.0;  // before the table is asked
  return contribution(source, from, at, normal).lx;
}

double distance_to_opening_m(const LuminaireSource& source, Point3 at) {
  const LuminousOpening& o = source.distribution.data().opening;
  const Vector3 local = in_luminaire(source, at - source.position);
  const Vector3 outside{std::max(0.0, std::abs(local.x) - 0.5 * o.length_m),
                        std::max(0.0, std::abs(local.y) - 0.5 * o.width_m),
                        std::max(0.0, std::abs(local.z) - 0.5 * o.height_m)};
  return length(outside);
}

double direct_illuminance_lx(const LuminaireSource& source, Point3 at, Vector3 normal) {
  double sum = 0.0;
  for (const EmittingPoint& p : emitting_points(source, at)) sum += contribution_lx(source, p, at, normal);
  return sum;
}

BoundedIlluminance direct_illuminance(const LuminaireSource& source, Point3 at, Vector3 normal) {
  // Greatest |fourth derivative| r^4 / f of f = 1 / r^4 along a line (840, far along it), and the error
  // (2 s)^4 / 4320 of two-point Gauss over two parts of s.
  constexpr double kPerAxis = 840.0 / 4320.0;
  struct Piece {
    double difference_lx = 0.0;
    double per_metre_lx = 0.0;
    double least_facing_m = std::numeric_limits<double>::max();
    double most_facing_m = std::numeric_limits<double>::lowest();
  };
  std::vector<Piece> pieces;
  const auto piece_of = [&pieces](const EmittingPoint& p) -> Piece& {
    if (p.cell >= pieces.size()) pieces.resize(p.cell + 1);
    return pieces[p.cell];
  };
  BoundedIlluminance result;
  for (const EmittingPoint& p : emitting_points(source, at)) {
    const Contribution c = contribution(source, p, at, normal);
    const double ratio = 4.0 * p.extent_m * p.extent_m / dot(at - p.position, at - p.position);
    result.lx += c.lx;
    result.bound_lx += 2.0 * kPerAxis * ratio * ratio / 16.0 * c.lx;
    piece_of(p).difference_lx += c.lx;
  }
  for (const EmittingPoint& p : emitting_points(source, at, Fineness::check)) {
    const Contribution c = contribution(source, p, at, normal);
    Piece& piece = piece_of(p);
    piece.difference_lx -= c.lx;
    piece.per_metre_lx += c.per_metre_lx;
    piece.least_facing_m = std::min(piece.least_facing_m, c.facing_m);
    piece.most_facing_m = std::max(piece.most_facing_m, c.facing_m);
  }
  for (const Piece& piece : pieces) {
    result.bound_lx += 2.0 * std::abs(piece.difference_lx);
    // The outermost points stand at 0.79 of a pair's half length. One point for max(0, u - c) over [-1, 1] is
    // off by at most a quarter of the length, a pair by less.
    const double half_m = 0.5 * (piece.most_facing_m - piece.least_facing_m) / 0.78;
    const double middle_m = 0.5 * (piece.most_facing_m + piece.least_facing_m);
    if (std::abs(middle_m) < half_m) result.bound_lx += 0.25 * half_m * piece.per_metre_lx;
  }
  return result;
}

}  // namespace halflight::photometry
