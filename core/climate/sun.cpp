#include "climate/sun.hpp"

#include "base/units.hpp"
#include "climate/sun_series.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::climate {

namespace {

constexpr double kJ2000 = 2'451'545.0;
constexpr double kDaysPerCentury = 36'525.0;
// Radius of the disc and refraction at the horizon, as the report takes them.
constexpr double kRiseAltitude_deg = -(0.26667 + 0.5667);

double wrap_360(double deg) {
  const double r = std::fmod(deg, 360.0);
  return r < 0.0 ? r + 360.0 : r;
}
double wrap_180(double deg) {
  const double r = wrap_360(deg);
  return r > 180.0 ? r - 360.0 : r;
}

double century_of(double julian_day_ut) { return (julian_day_ut - kJ2000) / kDaysPerCentury; }

// Mean sidereal time at Greenwich (eq. 28).
double mean_sidereal_deg(double julian_day_ut) {
  const double t = century_of(julian_day_ut);
  return 280.46061837 + 360.98564736629 * (julian_day_ut - kJ2000) + t * t * (0.000387933 - t / 38'710'000.0);
}

double mean_obliquity_arcsec(double millennium) {
  const double u = millennium / 10.0;
  constexpr double kCoefficients[] = {2.45,    5.79,   27.87,   7.12,  -39.05,
                                      -249.67, -51.38, 1999.25, -1.55, -4680.93};
  double sum = 0.0;
  for (const double c : kCoefficients) sum = (sum + c) * u;
  return 84381.448 + sum;
}

// Topocentric sun in the frame of the local meridian: x toward the meridian in the equator's plane, y west,
// z toward the pole. Subtracting the observer from the geocentric sun is the report's parallax (eqs. 33 to
// 41) without its angles.
Vector3 meridian_direction(double hour_angle_deg, double declination_deg, double earth_sun_au,
                           const Place& place) {
  constexpr double kFlattening = 0.99664719;  // polar over equatorial radius
  constexpr double kEarthRadius_m = 6'378'140.0;
  const double latitude = place.latitude_deg * kRadPerDeg;
  const double u = std::atan2(kFlattening * std::sin(latitude), std::cos(latitude));
  const double height = place.elevation_m / kEarthRadius_m;
  const double x = std::cos(u) + height * std::cos(latitude);
  const double y = kFlattening * std::sin(u) + height * std::sin(latitude);
  const double sin_parallax = std::sin(8.794 / 3600.0 / earth_sun_au * kRadPerDeg);
  const double h = hour_angle_deg * kRadPerDeg;
  const double d = declination_deg * kRadPerDeg;
  return normalized({std::cos(d) * std::cos(h) - x * sin_parallax, std::cos(d) * std::sin(h),
                     std::sin(d) - y * sin_parallax});
}

// To east, north, up.
Vector3 horizon_direction(Vector3 meridian, double latitude_deg) {
  const double s = std::sin(latitude_deg * kRadPerDeg);
  const double c = std::cos(latitude_deg * kRadPerDeg);
  return {-meridian.y, c * meridian.z - s * meridian.x, c * meridian.x + s * meridian.z};
}

// Precise near the zenith and the nadir, where the arc cosine is not.
double zenith_of(Vector3 v) { return std::atan2(std::hypot(v.x, v.y), v.z); }

double refraction_deg(double altitude_deg, const Place& place) {
  if (altitude_deg < kRiseAltitude_deg) return 0.0;
  return place.pressure_hpa / 1010.0 * 283.0 / (273.0 + place.temperature_c) * 1.02 /
         (60.0 * std::tan((altitude_deg + 10.3 / (altitude_deg + 5.11)) * kRadPerDeg));
}

double altitude_deg(double julian_day_ut, double delta_t, const Place& place) {
  return 90.0 - sun_position(julian_day_ut, delta_t, place).zenith_geometric_deg;
}

// The instant between `low` (sun below the rise altitude) and `high` (above it), to 0.01 s.
double crossing(double low, double high, double delta_t, const Place& place) {
  constexpr double kTolerance_d = 1e-7;
  while (std::abs(high - low) > kTolerance_d) {
    const double middle = 0.5 * (low + high);
    (altitude_deg(middle, delta_t, place) < kRiseAltitude_deg ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

bool is_leap(int year) { return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0; }

}  // namespace

double standard_pressure_hpa(double elevation_m) {
  return 1013.25 * std::pow(1.0 - 2.25577e-5 * elevation_m, 5.25588);
}

Place place_of(const domain::Site& site) {
  Place place;
  place.latitude_deg = site.latitude_deg;
  place.longitude_deg = site.longitude_deg;
  place.elevation_m = site.elevation_m;
  place.pressure_hpa = standard_pressure_hpa(site.elevation_m);
  return place;
}

double julian_day(int year, int month, int day, double hour_ut) {
  if (month < 3) {
    --year;
    month += 12;
  }
  const double whole = std::floor(365.25 * (year + 4716)) + std::floor(30.6001 * (month + 1)) + day - 1524.5;
  const int a = year / 100;
  const double gregorian = whole > 2'299'160.0 ? 2 - a + a / 4 : 0;
  return whole + gregorian + hour_ut / 24.0;
}

double delta_t_s(double year) {
  const auto polynomial = [](double x, std::initializer_list<double> highest_first) {
    double sum = 0.0;
    for (const double c : highest_first) sum = sum * x + c;
    return sum;
  };
  const double u = (year - 1820.0) / 100.0;
  const double parabola = -20.0 + 32.0 * u * u;
  if (year < 1900.0 || year >= 2150.0) return parabola;
  if (year < 1920.0) return polynomial(year - 1900.0, {-0.000197, 0.0061966, -0.0598939, 1.494119, -2.79});
  if (year < 1941.0) return polynomial(year - 1920.0, {0.0020936, -0.076100, 0.84493, 21.20});
  if (year < 1961.0) return polynomial(year - 1950.0, {1.0 / 2547.0, -1.0 / 233.0, 0.407, 29.07});
  if (year < 1986.0) return polynomial(year - 1975.0, {-1.0 / 718.0, -1.0 / 260.0, 1.067, 45.45});
  if (year < 2005.0)
    return polynomial(year - 2000.0, {0.00002373599, 0.000651814, 0.0017275, -0.060374, 0.3345, 63.86});
  if (year < 2050.0) return polynomial(year - 2000.0, {0.005589, 0.32217, 62.92});
  return parabola - 0.5628 * (2150.0 - year);
}

GeocentricSun geocentric_sun(double julian_day_ut, double delta_t) {
  const double century = century_of(julian_day_ut + delta_t / kDay);
  const double millennium = century / 10.0;
  const EarthCoordinates earth = earth_coordinates(millennium);
  const Nutation nod = nutation(century);

  GeocentricSun sun;
  sun.earth_sun_au = earth.radius_au;
  sun.nutation_longitude_deg = nod.longitude_deg;
  sun.nutation_obliquity_deg = nod.obliquity_deg;
  sun.obliquity_deg = mean_obliquity_arcsec(millennium) / 3600.0 + nod.obliquity_deg;
  const double aberration_deg = -20.4898 / (3600.0 * earth.radius_au);
  sun.apparent_longitude_deg = wrap_360(earth.longitude_deg + 180.0 + nod.longitude_deg + aberration_deg);

  const double lambda = sun.apparent_longitude_deg * kRadPerDeg;
  const double epsilon = sun.obliquity_deg * kRadPerDeg;
  const double beta = -earth.latitude_deg * kRadPerDeg;
  sun.right_ascension_deg =
      wrap_360(std::atan2(std::sin(lambda) * std::cos(epsilon) - std::tan(beta) * std::sin(epsilon),
                          std::cos(lambda)) *
               kDegPerRad);
  sun.declination_deg =
      std::asin(std::sin(beta) * std::cos(epsilon) + std::cos(beta) * std::sin(epsilon) * std::sin(lambda)) *
      kDegPerRad;
  const double equinoxes_deg = nod.longitude_deg * std::cos(epsilon);
  sun.sidereal_deg = wrap_360(mean_sidereal_deg(julian_day_ut) + equinoxes_deg);

  const double t = millennium;
  const double mean_longitude_deg =
      280.4664567 + t * (360'007.6982779 +
                         t * (0.03032028 + t * (1.0 / 49'931.0 - t * (1.0 / 15'300.0 + t / 2'000'000.0))));
  sun.equation_of_time_min =
      4.0 * wrap_180(mean_longitude_deg - 0.0057183 - sun.right_ascension_deg + equinoxes_deg);
  return sun;
}

SunPosition sun_position(double julian_day_ut, double delta_t, const Place& place) {
  const GeocentricSun sun = geocentric_sun(julian_day_ut, delta_t);
  const double hour_angle_deg = sun.sidereal_deg + place.longitude_deg - sun.right_ascension_deg;
  const Vector3 meridian = meridian_direction(hour_angle_deg, sun.declination_deg, sun.earth_sun_au, place);

  SunPosition position;
  position.direction = horizon_direction(meridian, place.latitude_deg);
  position.zenith_geometric_deg = zenith_of(position.direction) * kDegPerRad;
  position.zenith_deg =
      position.zenith_geometric_deg - refraction_deg(90.0 - position.zenith_geometric_deg, place);
  position.azimuth_deg = wrap_360(std::atan2(position.direction.x, position.direction.y) * kDegPerRad);
  position.declination_deg = 90.0 - zenith_of(meridian) * kDegPerRad;
  position.hour_angle_deg = std::atan2(meridian.y, meridian.x) * kDegPerRad;
  position.equation_of_time_min = sun.equation_of_time_min;
  position.earth_sun_au = sun.earth_sun_au;
  return position;
}

Vector3 to_building_axes(Vector3 v, double plan_north_deg) {
  const double s = std::sin(plan_north_deg * kRadPerDeg);
  const double c = std::cos(plan_north_deg * kRadPerDeg);
  return {c * v.x - s * v.y, s * v.x + c * v.y, v.z};
}

double incidence_deg(const SunPosition& sun, Vector3 normal) {
  const double z = sun.zenith_deg * kRadPerDeg;
  const double azimuth = sun.azimuth_deg * kRadPerDeg;
  const Vector3 seen{std::sin(z) * std::sin(azimuth), std::sin(z) * std::cos(azimuth), std::cos(z)};
  return std::acos(std::clamp(dot(seen, normal), -1.0, 1.0)) * kDegPerRad;
}

SunTimes sun_times(int year, int month, int day, double utc_offset_h, const Place& place) {
  const double noon = julian_day(year, month, day, 12.0 - utc_offset_h);
  const double delta_t = delta_t_s(year + (month - 0.5) / 12.0);
  constexpr double kDegPerDay = 360.0;

  SunTimes times;
  times.transit = noon;
  for (int i = 0; i < 4; ++i)  // each pass cuts the error by the ratio of sidereal to solar rate, some 300
    times.transit -= sun_position(times.transit, delta_t, place).hour_angle_deg / kDegPerDay;

  const double before = times.transit - 0.5;
  const double after = times.transit + 0.5;
  if (altitude_deg(times.transit, delta_t, place) < kRiseAltitude_deg) {
    times.kind = SunTimes::Kind::never_rises;
    return times;
  }
  if (altitude_deg(before, delta_t, place) < kRiseAltitude_deg)
    times.sunrise = crossing(before, times.transit, delta_t, place);
  if (altitude_deg(after, delta_t, place) < kRiseAltitude_deg)
    times.sunset = crossing(after, times.transit, delta_t, place);
  if (!times.sunrise && !times.sunset) times.kind = SunTimes::Kind::never_sets;
  return times;
}

double SunInstant::zenith_rad() const { return zenith_of(direction); }

SunTrack::SunTrack(const Place& place, double utc_offset_s, int calendar_year)
    : place_(place), utc_offset_s_(utc_offset_s), leap_(is_leap(calendar_year)) {
  first_day_ = julian_day(calendar_year, 1, 1, -utc_offset_s / kSecondsPerHour);
  constexpr double kMargin = 3.0;  // days before and after the axis: one asked for, two for the cubic
  first_node_ = std::floor(first_day_) - kMargin;
  const auto count = static_cast<std::size_t>(366.0 + 2.0 * kMargin + 1.0);
  const double delta_t = halflight::climate::delta_t_s(calendar_year + 0.5);
  nodes_.reserve(count);
  for (std::size_t i = 0; i < count; ++i) {
    const double jd = first_node_ + static_cast<double>(i);
    const GeocentricSun sun = geocentric_sun(jd, delta_t);
    double right_ascension = sun.right_ascension_deg;
    if (i > 0)
      right_ascension += 360.0 * std::round((nodes_.back().right_ascension_deg - right_ascension) / 360.0);
    nodes_.push_back({right_ascension, sun.declination_deg, sun.earth_sun_au,
                      sun.nutation_longitude_deg * std::cos(sun.obliquity_deg * kRadPerDeg)});
  }
}

double SunTrack::julian_day_ut(Seconds t) const {
  constexpr Seconds kFirstOfMarch = 59 * kDay;
  const double stepped_over = leap_ && t >= kFirstOfMarch ? 1.0 : 0.0;
  return first_day_ + stepped_over + static_cast<double>(t) / kDay;
}

SunInstant SunTrack::at(Seconds t) const {
  const double jd = julian_day_ut(t);
  const double last = static_cast<double>(nodes_.size()) - 3.0;
  const double position = std::clamp(jd - first_node_, 1.0, last);
  const auto i = static_cast<std::size_t>(position);
  const double f = position - static_cast<double>(i);
  // Lagrange's cubic through the nodes at -1, 0, 1, 2.
  const double w0 = -f * (f - 1.0) * (f - 2.0) / 6.0;
  const double w1 = (f + 1.0) * (f - 1.0) * (f - 2.0) / 2.0;
  const double w2 = -(f + 1.0) * f * (f - 2.0) / 2.0;
  const double w3 = (f + 1.0) * f * (f - 1.0) / 6.0;
  const auto blend = [&](double Node::*field) {
    return w0 * nodes_[i - 1].*field + w1 * nodes_[i].*field + w2 * nodes_[i + 1].*field +
           w3 * nodes_[i + 2].*field;
  };
  const double au = blend(&Node::earth_sun_au);
  const double hour_angle_deg = wrap_360(mean_sidereal_deg(jd) + blend(&Node::equinoxes_deg)) +
                                place_.longitude_deg - blend(&Node::right_ascension_deg);
  const Vector3 meridian = meridian_direction(hour_angle_deg, blend(&Node::declination_deg), au, place_);
  return {horizon_direction(meridian, place_.latitude_deg), au};
}

}  // namespace halflight::climate
