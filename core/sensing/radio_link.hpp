#pragma once
#include "domain/site.hpp"

// How much of a radio signal is left at the other end (docs/methods/radio_links.md). Losses and gains in dB,
// powers in dBm, frequencies in MHz, distances in metres.

namespace halflight::sensing {

double frequency_mhz(domain::Radio::Band band);

/// ITU-R P.1238 (editions to 8), for an office of which nothing but the distance is known:
/// 20 log10 f + N log10 d + Lf - 28. Below 1 m, where it does not hold, the loss at 1 m.
/// `coefficient` is N, `floors_db` is Lf.
double site_general_loss_db(double f_mhz, double coefficient, double d_m, double floors_db);
/// N of offices.
double distance_coefficient(domain::Radio::Band band);
/// Lf of offices for `floors` floors between the ends. Where its table ends: at 2450 MHz what it says of
/// 1.8 to 2 GHz, below 1 GHz the last step again for each further floor.
double floor_loss_db(domain::Radio::Band band, int floors);

/// 20 log10(4 pi d f / c); below 0.1 m the loss there.
double free_space_loss_db(double f_mhz, double d_m);

/// What a straight line passes through.
struct Crossed {
  int light_walls = 0;
  int heavy_walls = 0;
  int floors = 0;
};
/// Loss of one of each.
struct CrossingLoss {
  double light_wall_db = 0.0;
  double heavy_wall_db = 0.0;
  double floor_db = 0.0;
};
/// COST 231: measured at 900 MHz (of which the heavy wall is that of 1800 MHz), and at 1800 MHz.
inline constexpr CrossingLoss kLossAt900 = {1.9, 6.9, 14.8};
inline constexpr CrossingLoss kLossAt1800 = {3.4, 6.9, 18.3};
/// Below 1 GHz that at 900 MHz; at 2450 MHz that at 1800 MHz, which is less than it is there.
const CrossingLoss& crossing_loss(domain::Radio::Band band);

/// COST 231 multi-wall: free space, each wall, and floors with the exponent (k + 2) / (k + 1) - 0.46.
double multi_wall_loss_db(double f_mhz, double d_m, const Crossed& crossed, const CrossingLoss& loss);

/// Power at the receiver over the weakest that it understands.
double margin_db(const domain::Radio& radio, double loss_db);
/// What the receiver understands: as stated, or the least that IEEE 802.15.4 asks for.
double sensitivity_dbm(const domain::Radio& radio);

/// Probability that a link works whose margin spreads normally about its mean by `shadowing_db`, 0..1.
/// Without spread 1 from 0 dB on, else 0.
double availability(double margin_db, double shadowing_db);

}  // namespace halflight::sensing
