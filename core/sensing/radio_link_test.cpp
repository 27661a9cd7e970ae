#include "sensing/radio_link.hpp"

#include "published.hpp"

#include <string>

#include <gtest/gtest.h>

namespace halflight::sensing {
namespace {

using domain::Radio;
using Band = Radio::Band;

constexpr const char* kSiteGeneral = "ITU-R P.1238, site-general formula, worked independently";
constexpr const char* kMultiWall = "COST 231, multi-wall formula at 1800 MHz, worked independently";

TEST(RadioLoss, SiteGeneralFormulaGivesItsWorkedValues) {
  struct Case {
    double f_mhz, coefficient, d_m, floors_db, loss_db;
  };
  for (const Case& c :
       {Case{900, 33, 10, 0, 64.085}, Case{915, 33, 10, 0, 64.228}, Case{915, 33, 30, 0, 79.973},
        Case{868, 33, 30, 0, 79.515}, Case{2400, 30, 10, 0, 69.604}, Case{2450, 30, 30, 0, 84.097},
        Case{915, 33, 20, 9, 83.162}, Case{2450, 30, 20, 14, 92.814}})
    EXPECT_PUBLISHED(kSiteGeneral,
                     fmt::format("loss in an office, {:.0f} MHz, {:.0f} m{}", c.f_mhz, c.d_m,
                                 c.floors_db > 0.0 ? ", one floor" : ""),
                     "dB", c.loss_db, site_general_loss_db(c.f_mhz, c.coefficient, c.d_m, c.floors_db),
                     0.001);
  EXPECT_EQ(site_general_loss_db(2450, 30, 0.2, 0), site_general_loss_db(2450, 30, 1.0, 0));
}

TEST(RadioLoss, OfficesHaveTheCoefficientsOfTheTable) {
  EXPECT_EQ(distance_coefficient(Band::mhz_868), 33.0);
  EXPECT_EQ(distance_coefficient(Band::mhz_915), 33.0);
  EXPECT_EQ(distance_coefficient(Band::mhz_2450), 30.0);
  const double below[] = {0.0, 9.0, 19.0, 24.0, 29.0};
  const double above[] = {0.0, 14.0, 19.0, 23.0};
  for (int n = 0; n < 5; ++n) EXPECT_EQ(floor_loss_db(Band::mhz_868, n), below[n]) << n;
  for (int n = 0; n < 4; ++n) EXPECT_EQ(floor_loss_db(Band::mhz_2450, n), above[n]) << n;
}

TEST(RadioLoss, FreeSpaceFollowsItsClosedForm) {
  for (const auto& [f, loss] : {std::pair{868.0, 31.218}, {915.0, 31.676}, {2450.0, 40.231}}) {
    EXPECT_PUBLISHED("closed form: 20 log10(4 pi d f / c)", fmt::format("free space, 1 m at {:.0f} MHz", f),
                     "dB", loss, free_space_loss_db(f, 1.0), 0.001);
    EXPECT_NEAR(free_space_loss_db(f, 10.0) - free_space_loss_db(f, 1.0), 20.0, 1e-9);
  }
}

TEST(RadioLoss, MultiWallFormulaGivesItsWorkedValues) {
  struct Case {
    double d_m;
    Crossed crossed;
    const char* what;
    double loss_db;
  };
  for (const Case& c :
       {Case{10, {}, "10 m, no walls", 57.553},
        Case{10, {2, 1, 0}, "10 m, 2 light walls and 1 heavy", 71.253},
        Case{10, {0, 0, 1}, "10 m, 1 floor", 75.853}, Case{10, {0, 0, 2}, "10 m, 2 floors", 91.077},
        Case{10, {1, 1, 2}, "10 m, 1 light wall, 1 heavy, 2 floors", 101.377},
        Case{20, {3, 1, 0}, "20 m, 3 light walls and 1 heavy", 80.674}})
    EXPECT_PUBLISHED(kMultiWall, fmt::format("loss over {}", c.what), "dB", c.loss_db,
                     multi_wall_loss_db(1800, c.d_m, c.crossed, kLossAt1800), 0.001);
  for (const auto& [floors, power] : {std::pair{1, 1.0}, {2, 1.83189}, {3, 2.38191}})
    EXPECT_PUBLISHED(
        kMultiWall, fmt::format("factor of the loss of one floor, k = {}", floors), "", power,
        (multi_wall_loss_db(1800, 10, {0, 0, floors}, kLossAt1800) - free_space_loss_db(1800, 10)) / 18.3,
        1e-5);
  EXPECT_EQ(crossing_loss(Band::mhz_868).light_wall_db, 1.9);
  EXPECT_EQ(crossing_loss(Band::mhz_2450).light_wall_db, 3.4);
}

TEST(RadioBudget, LinkBudgetGivesItsWorkedExamples) {
  Radio radio;
  radio.band = Band::mhz_915;
  radio.transmit_power_dbm = 10.0;
  radio.shadowing_db = 8.0;
  const double low = margin_db(radio, site_general_loss_db(915, 33, 30, 0));
  EXPECT_PUBLISHED("link budget, worked independently", "margin at 915 MHz, 10 dBm, 30 m", "dB", 22.027, low,
                   0.001);
  EXPECT_PUBLISHED("link budget, worked independently", "availability of that margin, spread 8 dB", "",
                   0.99705, availability(low, 8.0), 1e-5);
  radio.band = Band::mhz_2450;
  radio.transmit_power_dbm = 0.0;
  const double high = margin_db(radio, site_general_loss_db(2450, 30, 30, 0));
  EXPECT_PUBLISHED("link budget, worked independently", "margin at 2450 MHz, 0 dBm, 30 m", "dB", 0.903, high,
                   0.001);
  EXPECT_PUBLISHED("link budget, worked independently", "availability of that margin, spread 10 dB", "",
                   0.536, availability(high, 10.0), 5e-4);
}

TEST(RadioBudget, GainsAndSensitivityShiftTheMargin) {
  Radio radio;
  const double plain = margin_db(radio, 60.0);
  EXPECT_EQ(plain, -60.0 + 85.0);
  radio.device_gain_dbi = -3.0;
  radio.gateway_gain_dbi = 5.0;
  radio.sensitivity_dbm = -100.0;
  EXPECT_EQ(margin_db(radio, 60.0), plain + 2.0 + 15.0);
  radio.sensitivity_dbm.reset();
  radio.band = Band::mhz_868;
  EXPECT_EQ(sensitivity_dbm(radio), -92.0);
}

TEST(RadioBudget, AvailabilityIsTheNormalDistribution) {
  struct Case {
    double margin_db, shadowing_db, expected;
  };
  for (const Case& c : {Case{0, 8, 0.5}, Case{5, 8, 0.73401}, Case{8, 8, 0.84134}, Case{10.25, 8, 0.89995},
                        Case{13.16, 8, 0.95002}, Case{15, 10, 0.93319}})
    EXPECT_PUBLISHED("normal distribution",
                     fmt::format("availability at {} dB, spread {} dB", c.margin_db, c.shadowing_db), "",
                     c.expected, availability(c.margin_db, c.shadowing_db), 1e-5);
  EXPECT_EQ(availability(0.0, 0.0), 1.0);
  EXPECT_EQ(availability(-0.1, 0.0), 0.0);
}

}  // namespace
}  // namespace halflight::sensing
