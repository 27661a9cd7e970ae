#include "domain/intensity_distribution.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace halflight::domain {
namespace {

constexpr std::size_t kMostAngles = 1000;
// Angles in files carry at most a few decimals; what differs by less is the same angle.
constexpr double kSameAngle_deg = 1e-6;

bool same(double a, double b) { return std::abs(a - b) <= kSameAngle_deg; }

Diagnostics one_error(std::string problem, std::string remedy) {
  return {{Diagnostic::Severity::error, "", "", std::move(problem), std::move(remedy)}};
}

bool ascending(const std::vector<double>& angles) {
  for (std::size_t i = 0; i < angles.size(); ++i) {
    if (!std::isfinite(angles[i])) return false;
    if (i > 0 && angles[i] <= angles[i - 1]) return false;
  }
  return true;
}

std::optional<Symmetry> symmetry_of(PhotometricType type, const std::vector<double>& horizontal) {
  const double first = horizontal.front();
  const double last = horizontal.back();
  if (type != PhotometricType::c) {
    if (horizontal.size() < 2 || !same(last, 90)) return std::nullopt;
    if (same(first, -90)) return Symmetry::none;
    if (same(first, 0)) return Symmetry::mirrored_h;
    return std::nullopt;
  }
  if (horizontal.size() == 1) {
    if (same(first, 0)) return Symmetry::rotational;
    return std::nullopt;
  }
  if (same(first, 90) && same(last, 270)) return Symmetry::bilateral_90_270;
  if (!same(first, 0)) return std::nullopt;
  if (same(last, 90)) return Symmetry::quadrant;
  if (same(last, 180)) return Symmetry::bilateral_0_180;
  if (same(last, 360)) return Symmetry::none;
  return std::nullopt;
}

bool vertical_range_fits(PhotometricType type, double first, double last) {
  if (type == PhotometricType::c)
    return (same(first, 0) && (same(last, 90) || same(last, 180))) || (same(first, 90) && same(last, 180));
  return (same(first, -90) || same(first, 0)) && same(last, 90);
}

double clamped_asin_deg(double s) { return std::asin(std::clamp(s, -1.0, 1.0)) * kDegPerRad; }

}  // namespace

std::string_view name_of(PhotometricType type) {
  switch (type) {
    case PhotometricType::c:
      return "C";
    case PhotometricType::b:
      return "B";
    case PhotometricType::a:
      return "A";
  }
  return "";
}

std::string_view name_of(Symmetry symmetry) {
  switch (symmetry) {
    case Symmetry::none:
      return "none";
    case Symmetry::bilateral_0_180:
      return "bilateral about the 0-180 plane";
    case Symmetry::bilateral_90_270:
      return "bilateral about the 90-270 plane";
    case Symmetry::quadrant:
      return "quadrant";
    case Symmetry::rotational:
      return "rotational";
    case Symmetry::mirrored_h:
      return "left and right alike";
  }
  return "";
}

std::string_view name_of(LuminousOpening::Shape shape) {
  using Shape = LuminousOpening::Shape;
  switch (shape) {
    case Shape::point:
      return "point";
    case Shape::rectangle:
      return "rectangle";
    case Shape::box:
      return "rectangle with luminous sides";
    case Shape::circle:
      return "circle";
    case Shape::ellipse:
      return "ellipse";
    case Shape::vertical_cylinder:
      return "vertical cylinder";
    case Shape::sphere:
      return "sphere";
    case Shape::ellipsoid:
      return "ellipsoid";
    case Shape::cylinder_along:
      return "cylinder along the length";
    case Shape::cylinder_across:
      return "cylinder across the length";
    case Shape::vertical_ellipse:
      return "vertical ellipse";
  }
  return "";
}

IntensityDistribution::Axis IntensityDistribution::make_axis(const std::vector<double>& angles) {
  Axis axis{angles.front(), angles.back(), 0.0, angles};
  const std::size_t cells = angles.size() - 1;
  if (cells == 0) return axis;
  const double step = (axis.last - axis.first) / static_cast<double>(cells);
  bool equal = true;
  for (std::size_t i = 0; i <= cells; ++i)
    equal = equal && std::abs(angles[i] - (axis.first + static_cast<double>(i) * step)) < 1e-9;
  if (equal) axis.per_step = 1.0 / step;
  return axis;
}

IntensityDistribution::Axis::Cell IntensityDistribution::Axis::cell_of(double angle) const {
  const std::size_t cells = angles.size() - 1;
  if (cells == 0 || angle <= first) return {0, 0.0};
  if (angle >= last) return {cells - 1, 1.0};
  if (per_step > 0.0) {
    const double steps = (angle - first) * per_step;
    const std::size_t index = std::min(static_cast<std::size_t>(steps), cells - 1);
    return {index, steps - static_cast<double>(index)};
  }
  const auto above = std::upper_bound(angles.begin(), angles.end(), angle);
  const std::size_t index = static_cast<std::size_t>(above - angles.begin()) - 1;
  return {index, (angle - angles[index]) / (angles[index + 1] - angles[index])};
}

Result<IntensityDistribution> IntensityDistribution::make(PhotometricData data) {
  const std::size_t vertical = data.vertical_deg.size();
  const std::size_t horizontal = data.horizontal_deg.size();
  if (vertical < 2 || vertical > kMostAngles || horizontal < 1 || horizontal > kMostAngles)
    return tl::unexpected(one_error(
        fmt::format("a table of {} vertical and {} horizontal angles", vertical, horizontal),
        fmt::format("give 2 to {} vertical and 1 to {} horizontal angles", kMostAngles, kMostAngles)));
  if (data.candela.size() != vertical * horizontal)
    return tl::unexpected(
        one_error(fmt::format("{} intensities for {} x {} angles", data.candela.size(), horizontal, vertical),
                  "give one intensity for each pair of angles"));
  if (!ascending(data.vertical_deg) || !ascending(data.horizontal_deg))
    return tl::unexpected(
        one_error("the angles do not ascend", "list each set of angles from the smallest up"));
  if (!vertical_range_fits(data.type, data.vertical_deg.front(), data.vertical_deg.back()))
    return tl::unexpected(one_error(
        fmt::format("vertical angles run from {} to {}", data.vertical_deg.front(), data.vertical_deg.back()),
        data.type == PhotometricType::c ? "type C runs from 0 to 90, 0 to 180 or 90 to 180"
                                        : "types A and B run from -90 or 0 to 90"));
  const std::optional<Symmetry> symmetry = symmetry_of(data.type, data.horizontal_deg);
  if (!symmetry)
    return tl::unexpected(
        one_error(fmt::format("horizontal angles run from {} to {}", data.horizontal_deg.front(),
                              data.horizontal_deg.back()),
                  data.type == PhotometricType::c
                      ? "type C is 0 alone, or runs from 0 to 90, 180 or 360, or from 90 to 270"
                      : "types A and B run from -90 or 0 to 90"));
  for (const double cd : data.candela)
    if (!std::isfinite(cd) || cd < 0.0)
      return tl::unexpected(one_error(fmt::format("an intensity of {} cd", cd), "intensities are 0 or more"));

  IntensityDistribution distribution;
  distribution.symmetry_ = *symmetry;
  distribution.vertical_ = make_axis(data.vertical_deg);
  distribution.horizontal_ = make_axis(data.horizontal_deg);
  distribution.data_ = std::move(data);
  return distribution;
}

double IntensityDistribution::table_cd(double vertical_deg, double horizontal_deg) const {
  const Axis::Cell v = vertical_.cell_of(vertical_deg);
  const std::size_t stride = data_.vertical_deg.size();
  const double* column = data_.candela.data() + v.index;
  if (data_.horizontal_deg.size() == 1) return column[0] + v.fraction * (column[1] - column[0]);
  const Axis::Cell h = horizontal_.cell_of(horizontal_deg);
  column += h.index * stride;
  const double here = column[0] + v.fraction * (column[1] - column[0]);
  const double next = column[stride] + v.fraction * (column[stride + 1] - column[stride]);
  return here + h.fraction * (next - here);
}

double IntensityDistribution::intensity_cd(Vector3 d) const {
  double vertical = 0.0;
  double horizontal = 0.0;
  switch (data_.type) {
    case PhotometricType::c: {
      vertical = std::acos(std::clamp(-d.z, -1.0, 1.0)) * kDegPerRad;
      // The mirrors act on the components, before the one arc tangent.
      switch (symmetry_) {
        case Symmetry::rotational:
          break;
        case Symmetry::quadrant:
          horizontal = std::atan2(std::abs(d.y), std::abs(d.x)) * kDegPerRad;
          break;
        case Symmetry::bilateral_0_180:
          horizontal = std::atan2(std::abs(d.y), d.x) * kDegPerRad;
          break;
        case Symmetry::bilateral_90_270:
          // From 90 (+y) through 180 (-x) to 270 (-y): the angle from +y towards -x, plus 90.
          horizontal = 90.0 + std::atan2(std::abs(d.x), d.y) * kDegPerRad;
          break;
        case Symmetry::none:
        case Symmetry::mirrored_h:
          horizontal = std::atan2(d.y, d.x) * kDegPerRad;
          if (horizontal < 0.0) horizontal += 360.0;
          break;
      }
      break;
    }
    case PhotometricType::b:
      if (d.x < 0.0) return 0.0;
      vertical = std::atan2(d.z, d.x) * kDegPerRad;
      horizontal = clamped_asin_deg(-d.y);
      break;
    case PhotometricType::a:
      if (d.x < 0.0) return 0.0;
      vertical = clamped_asin_deg(d.z);
      horizontal = std::atan2(-d.y, d.x) * kDegPerRad;
      break;
  }
  if (symmetry_ == Symmetry::mirrored_h) horizontal = std::abs(horizontal);
  if (vertical < vertical_.first - kSameAngle_deg || vertical > vertical_.last + kSameAngle_deg) return 0.0;
  return table_cd(vertical, horizontal);
}

std::optional<double> IntensityDistribution::declared_lumens() const {
  if (!data_.lumens_per_lamp) return std::nullopt;
  return data_.lamps * *data_.lumens_per_lamp * data_.ballast_factor;
}

IntensityDistribution IntensityDistribution::scaled(double factor) const {
  IntensityDistribution copy = *this;
  for (double& cd : copy.data_.candela) cd *= factor;
  return copy;
}

double IntensityDistribution::lamp_tilt_factor(double tilt_deg) const {
  if (!data_.lamp_tilt) return 1.0;
  const std::vector<double>& angle = data_.lamp_tilt->angle_deg;
  const std::vector<double>& multiplier = data_.lamp_tilt->multiplier;
  const double tilt = std::abs(tilt_deg);
  if (tilt <= angle.front()) return multiplier.front();
  if (tilt >= angle.back()) return multiplier.back();
  const std::size_t i =
      static_cast<std::size_t>(std::upper_bound(angle.begin(), angle.end(), tilt) - angle.begin());
  const double fraction = (tilt - angle[i - 1]) / (angle[i] - angle[i - 1]);
  return multiplier[i - 1] + fraction * (multiplier[i] - multiplier[i - 1]);
}

Vector3 direction_of(PhotometricType type, double vertical_deg, double horizontal_deg) {
  const double sin_v = std::sin(vertical_deg * kRadPerDeg);
  const double cos_v = std::cos(vertical_deg * kRadPerDeg);
  const double sin_h = std::sin(horizontal_deg * kRadPerDeg);
  const double cos_h = std::cos(horizontal_deg * kRadPerDeg);
  switch (type) {
    case PhotometricType::c:
      return {sin_v * cos_h, sin_v * sin_h, -cos_v};
    case PhotometricType::b:
      return {cos_h * cos_v, -sin_h, cos_h * sin_v};
    case PhotometricType::a:
      return {cos_v * cos_h, -cos_v * sin_h, sin_v};
  }
  return {};
}

}  // namespace halflight::domain
