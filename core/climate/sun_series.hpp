#pragma once

namespace halflight::climate {

/// Where the earth is, seen from the sun.
struct EarthCoordinates {
  double longitude_deg = 0.0;  ///< heliocentric ecliptic longitude, 0..360
  double latitude_deg = 0.0;   ///< heliocentric ecliptic latitude
  double radius_au = 1.0;      ///< distance from the sun
};

/// The truncated VSOP87 series of Reda and Andreas, NREL/TP-560-34302 (rev. 2008), table A4.2.
/// `millennium`: Julian ephemeris millennia from J2000. Good to 0.0003 deg from year -2000 to 6000.
EarthCoordinates earth_coordinates(double millennium);

/// The nodding of the earth's axis.
struct Nutation {
  double longitude_deg = 0.0;
  double obliquity_deg = 0.0;
};

/// IAU 1980 nutation, the 63 terms of table A4.3 of the same report. `century`: Julian ephemeris centuries.
Nutation nutation(double century);

}  // namespace halflight::climate
