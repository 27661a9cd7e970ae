#include "sensing/radio_link.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace halflight::sensing {

namespace {

using Band = domain::Radio::Band;

constexpr double kSpeedOfLight_m_s = 299792458.0;

}  // namespace

double frequency_mhz(Band band) {
  static constexpr std::array<double, 3> kFrequencies = {868.0, 915.0, 2450.0};
  return kFrequencies[static_cast<std::size_t>(band)];
}

double site_general_loss_db(double f_mhz, double coefficient, double d_m, double floors_db) {
  return 20.0 * std::log10(f_mhz) + coefficient * std::log10(std::max(1.0, d_m)) + floors_db - 28.0;
}

double distance_coefficient(Band band) { return band == Band::mhz_2450 ? 30.0 : 33.0; }

double floor_loss_db(Band band, int floors) {
  if (floors <= 0) return 0.0;
  if (band == Band::mhz_2450) return floors == 1 ? 14.0 : 15.0 + 4.0 * (floors - 1);
  static constexpr std::array<double, 3> kBelow1GHz = {9.0, 19.0, 24.0};
  const double step = kBelow1GHz[2] - kBelow1GHz[1];
  return floors <= 3 ? kBelow1GHz[static_cast<std::size_t>(floors - 1)]
                     : kBelow1GHz.back() + step * (floors - 3);
}

double free_space_loss_db(double f_mhz, double d_m) {
  return 20.0 * std::log10(4.0 * kPi * std::max(0.1, d_m) * f_mhz * 1e6 / kSpeedOfLight_m_s);
}

const CrossingLoss& crossing_loss(Band band) { return band == Band::mhz_2450 ? kLossAt1800 : kLossAt900; }

double multi_wall_loss_db(double f_mhz, double d_m, const Crossed& crossed, const CrossingLoss& loss) {
  constexpr double kFloorBend = 0.46;
  const double k = crossed.floors;
  const double floors = k > 0.0 ? std::pow(k, (k + 2.0) / (k + 1.0) - kFloorBend) * loss.floor_db : 0.0;
  return free_space_loss_db(f_mhz, d_m) + crossed.light_walls * loss.light_wall_db +
         crossed.heavy_walls * loss.heavy_wall_db + floors;
}

double sensitivity_dbm(const domain::Radio& radio) {
  return radio.sensitivity_dbm.value_or(radio.band == Band::mhz_2450 ? -85.0 : -92.0);
}

double margin_db(const domain::Radio& radio, double loss_db) {
  return radio.transmit_power_dbm + radio.device_gain_dbi + radio.gateway_gain_dbi - loss_db -
         sensitivity_dbm(radio);
}

double availability(double margin_db, double shadowing_db) {
  if (shadowing_db <= 0.0) return margin_db >= 0.0 ? 1.0 : 0.0;
  return 0.5 * std::erfc(-margin_db / (shadowing_db * std::sqrt(2.0)));
}

}  // namespace halflight::sensing
