#pragma once
#include "base/time_axis.hpp"
#include "domain/site.hpp"
#include "geometry/vector.hpp"

#include <optional>
#include <vector>

namespace halflight::climate {

// Where the sun stands, by Reda and Andreas, "Solar position algorithm for solar radiation applications",
// NREL/TP-560-34302 (rev. 2008), stated uncertainty 0.0003 deg. Equations, limits and checks:
// docs/methods/sun.md.
//
// Directions here are geographic: x east, y true north, z up. Turn them by the site's plan north before using
// them in building axes.

/// Solar constant, W/m2, at one astronomical unit. The value (World Radiometric Reference scale, 1981) that
/// the sky and weather models used beside it were fitted with; today's best is about 0.4 % lower.
inline constexpr double kSolarConstant_w_m2 = 1367.0;

/// An observer, and the air that bends the light.
struct Place {
  double latitude_deg = 0.0;   ///< north positive, -90..90
  double longitude_deg = 0.0;  ///< east positive, -180..180
  double elevation_m = 0.0;
  double pressure_hpa = 1013.25;  ///< annual mean at the place; 0 switches refraction off
  double temperature_c = 10.0;    ///< annual mean
};
/// The site with the standard atmosphere's pressure at its elevation.
Place place_of(const domain::Site& site);
/// Pressure of the International Standard Atmosphere (ISO 2533), hPa, valid up to 11 km.
double standard_pressure_hpa(double elevation_m);

/// Julian day of a calendar date and time in universal time (Gregorian after 15 October 1582). `hour` may be
/// fractional and outside 0..24.
double julian_day(int year, int month, int day, double hour_ut);

/// Terrestrial time minus universal time, in seconds, for a year with its fraction: the polynomials of F.
/// Espenak and J. Meeus, "Five millennium canon of solar eclipses", NASA/TP-2006-214141. Extrapolated after
/// 2005: some 6 s too long in 2026, in which the sun moves 0.00007 deg.
double delta_t_s(double year);

/// The sun seen from the earth's centre, with the steps on the way there.
struct GeocentricSun {
  double earth_sun_au = 1.0;
  double nutation_longitude_deg = 0.0;
  double nutation_obliquity_deg = 0.0;
  double obliquity_deg = 0.0;           ///< true obliquity of the ecliptic
  double apparent_longitude_deg = 0.0;  ///< with nutation and aberration, 0..360
  double right_ascension_deg = 0.0;     ///< 0..360
  double declination_deg = 0.0;
  double sidereal_deg = 0.0;          ///< apparent sidereal time at Greenwich, 0..360
  double equation_of_time_min = 0.0;  ///< apparent minus mean solar time, -20..20
};
GeocentricSun geocentric_sun(double julian_day_ut, double delta_t_s);

struct SunPosition {
  Vector3 direction;                  ///< unit vector to the centre of the disc, without refraction
  double zenith_geometric_deg = 0.0;  ///< topocentric, without refraction
  double zenith_deg = 0.0;            ///< with refraction; equal to the geometric one well below the horizon
  double azimuth_deg = 0.0;           ///< from true north through east, 0..360
  double declination_deg = 0.0;       ///< topocentric
  double hour_angle_deg = 0.0;        ///< topocentric, west positive, -180..180
  double equation_of_time_min = 0.0;
  double earth_sun_au = 1.0;
};
SunPosition sun_position(double julian_day_ut, double delta_t_s, const Place& place);

/// A direction in the building's axes, whose +y points `plan_north_deg` clockwise from true north
/// (domain::Site).
Vector3 to_building_axes(Vector3 geographic, double plan_north_deg);

/// Angle between the sun and the normal of a surface, degrees. `normal` is a unit vector in geographic axes.
double incidence_deg(const SunPosition& sun, Vector3 normal);

/// Rise, transit and set of one day as Julian days in universal time.
struct SunTimes {
  enum class Kind { ordinary, never_sets, never_rises } kind = Kind::ordinary;
  std::optional<double>
      sunrise;           ///< upper limb on the sea-level horizon: centre at -0.8333 deg, without refraction
  double transit = 0.0;  ///< hour angle zero
  std::optional<double> sunset;
};
/// The day whose transit is nearest to 12:00 of the date at `utc_offset_h`. Rise and set are looked for in
/// the half days before and after transit, so sunset may fall on the next date. Within some days of the
/// change to polar day or night the times are only as good as the air: nobody can predict refraction there.
SunTimes sun_times(int year, int month, int day, double utc_offset_h, const Place& place);

/// The sun at one instant of the project's year.
struct SunInstant {
  Vector3 direction;  ///< unit vector, without refraction
  double earth_sun_au = 1.0;
  [[nodiscard]] double cos_zenith() const { return direction.z; }
  [[nodiscard]] double zenith_rad() const;
  /// Irradiance on a plane across the beam outside the air, W/m2.
  [[nodiscard]] double extraterrestrial_w_m2() const {
    return kSolarConstant_w_m2 / (earth_sun_au * earth_sun_au);
  }
};

/// The sun through the project's year, fast: right ascension, declination and distance are interpolated by
/// cubics between midnights, everything else is exact. Within 1e-5 deg of `sun_position`.
///
/// The axis has 365 days of local standard time (base/time_axis.hpp). In a leap year 29 February is stepped
/// over, so that every instant keeps its calendar date. Safe from any thread.
class SunTrack {
 public:
  SunTrack(const Place& place, double utc_offset_s, int calendar_year);

  /// Any instant from a day before the axis to a day after it; ask for mid-steps, not ends.
  [[nodiscard]] SunInstant at(Seconds t) const;
  [[nodiscard]] double julian_day_ut(Seconds t) const;
  [[nodiscard]] const Place& place() const { return place_; }
  [[nodiscard]] double utc_offset_s() const { return utc_offset_s_; }

 private:
  struct Node {
    double right_ascension_deg;  // unwrapped over the year
    double declination_deg;
    double earth_sun_au;
    double equinoxes_deg;  // apparent minus mean sidereal time
  };
  Place place_;
  double utc_offset_s_ = 0.0;
  double first_day_ = 0.0;  // Julian day of 1 January 00:00 local standard time, in universal time
  bool leap_ = false;
  double first_node_ = 0.0;  // Julian day of node 0
  std::vector<Node> nodes_;  // one per day
};

}  // namespace halflight::climate
