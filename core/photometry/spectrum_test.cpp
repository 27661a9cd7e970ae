#include "photometry/spectrum.hpp"

#include "base/units.hpp"
#include "published.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include <gtest/gtest.h>

namespace halflight::photometry {
namespace {

using domain::Photosensor;
using domain::SourceSpectrum;
using Response = Photosensor::SpectralResponse;

constexpr double kLumensPerWatt = 683.0;
constexpr std::array kSources = {SourceSpectrum::white_led, SourceSpectrum::warm_white_led,
                                 SourceSpectrum::fluorescent, SourceSpectrum::incandescent};

std::size_t at_nm(double nm) {
  return static_cast<std::size_t>((nm - kFirstWavelength_nm) / kWavelengthStep_nm + 0.5);
}

Photosensor sensor_of(Response response) {
  Photosensor sensor;
  sensor.spectral_response = response;
  return sensor;
}

TEST(Spectrum, OfTheEyeIsV) {
  const SpectralFunction& v = sensitivity(Response::photopic);
  EXPECT_EQ(v[at_nm(555.0)], 1.0);
  const double area = std::accumulate(v.begin(), v.end(), 0.0) * kWavelengthStep_nm;
  EXPECT_PUBLISHED("CIE 018:2019, from memory", "integral of V(lambda)", "nm", 106.857, area, 0.001);
}

TEST(Spectrum, OfDaylightIsD65) {
  // Weights rounded to three decimals move single values by a few hundredths.
  struct Row {
    double nm;
    double relative;
  };
  for (const auto& [nm, relative] :
       {Row{400, 82.7549}, Row{450, 117.008}, Row{500, 109.354}, Row{600, 90.0062}, Row{700, 71.6091},
        Row{780, 63.3828}, Row{830, 60.3125}})
    EXPECT_PUBLISHED("CIE 015:2018, D65, from memory", fmt::format("daylight at {} nm, 100 at 560", nm), "",
                     relative, daylight_spectrum()[at_nm(nm)], 0.05);
  // Beyond, light keeps the shape of the sun's: water vapour takes most around 935 nm.
  EXPECT_LT(daylight_spectrum()[at_nm(935.0)], 0.4 * daylight_spectrum()[at_nm(1000.0)]);
}

TEST(Spectrum, OfIncandescentLampsIsIlluminantA) {
  const SpectralFunction& a = spectrum_of(SourceSpectrum::incandescent);
  struct Row {
    double nm;
    double relative;
  };
  for (const auto& [nm, relative] :
       {Row{400, 14.708}, Row{500, 59.8611}, Row{650, 165.028}, Row{780, 241.675}})
    EXPECT_PUBLISHED("CIE 015:2018, illuminant A", fmt::format("incandescent at {} nm, 100 at 560", nm), "",
                     relative, 100.0 * a[at_nm(nm)] / a[at_nm(560.0)], 0.02);
}

TEST(Spectrum, OfABlackBodyGivesTheOldCandelaAndItsEfficacy) {
  const auto luminance = [](double kelvins) {
    return kLumensPerWatt * seen(black_body(kelvins), sensitivity(Response::photopic));
  };
  // The candela of 1948. Two kelvins of doubt about where platinum freezes are 1 % of its luminance.
  EXPECT_PUBLISHED("candela of 1948, platinum freezes at 2042 K, from memory",
                   "luminance of freezing platinum", "cd/cm2", 60.0, luminance(2042.0) / 1e4,
                   published::relative(0.015));
  struct Row {
    double kelvins;
    double lm_per_w;
    double last_digit;
  };
  for (const auto& [kelvins, lm_per_w, last_digit] :
       {Row{2800.0, 15.0, 1.0}, Row{4000.0, 54.7, 0.1}, Row{7000.0, 95.0, 1.0}}) {
    const double exitance_w_m2 = 5.670374e-8 * std::pow(kelvins, 4.0);  // Stefan and Boltzmann
    EXPECT_PUBLISHED("tables of luminous efficacy, from memory",
                     fmt::format("lumens per watt of a black body at {} K", kelvins), "lm/W", lm_per_w,
                     kPi * luminance(kelvins) / exitance_w_m2, 0.5 * last_digit);
  }
}

TEST(Spectrum, SiliconSeesRedLightAsPhotodiodesDo) {
  const SpectralFunction& silicon = sensitivity(Response::silicon);
  EXPECT_PUBLISHED("photodiodes with coated surface, from memory", "silicon at 650 nm", "A/W", 0.45,
                   silicon[at_nm(650.0)], 0.03);
  EXPECT_PUBLISHED("photodiodes with coated surface, from memory", "silicon at 950 nm", "A/W", 0.62,
                   silicon[at_nm(950.0)], 0.04);
  // No more than a charge for a photon, and next to none beyond the band gap of 1.12 eV, 1,107 nm.
  for (std::size_t i = 0; i < kWavelengths; ++i) EXPECT_LT(silicon[i], wavelength_nm(i) / 1239.84);
  EXPECT_LT(silicon[at_nm(1100.0)], 0.1);
  const auto peak =
      static_cast<std::size_t>(std::max_element(silicon.begin(), silicon.end()) - silicon.begin());
  EXPECT_GT(wavelength_nm(peak), 880.0);
  EXPECT_LT(wavelength_nm(peak), 980.0);
}

TEST(Spectrum, SeenInClosedForm) {
  SpectralFunction line{};
  line[at_nm(555.0)] = 1.0 / kWavelengthStep_nm;  // 1 W at the peak of V is 683 lm
  EXPECT_DOUBLE_EQ(kLumensPerWatt * seen(line, sensitivity(Response::photopic)), 683.0);
  EXPECT_DOUBLE_EQ(seen(line, sensitivity(Response::silicon)), 0.85 * 555.0 / 1239.84);
}

TEST(Reading, IsExactlyOneWithPhotopicCorrection) {
  const Photosensor sensor = sensor_of(Response::photopic);
  EXPECT_EQ(reading_per_lx_of_daylight(sensor), 1.0);
  for (const SourceSpectrum source : kSources) EXPECT_EQ(reading_per_lx_of(sensor, source), 1.0);
}

TEST(Reading, OfSiliconIsHighWhereThereIsInfrared) {
  const Photosensor sensor = sensor_of(Response::silicon);
  EXPECT_EQ(reading_per_lx_of(sensor, SourceSpectrum::white_led), 1.0);
  EXPECT_PUBLISHED("daylight reads up to 2 to 3 times as high, from memory", "reading of daylight by silicon",
                   "lx/lx", 2.5, reading_per_lx_of_daylight(sensor), 0.5);
  // Lamps that send no infrared differ by what red there is; a filament sends most of its power there.
  EXPECT_NEAR(reading_per_lx_of(sensor, SourceSpectrum::warm_white_led), 1.07, 0.01);
  EXPECT_NEAR(reading_per_lx_of(sensor, SourceSpectrum::fluorescent), 0.92, 0.01);
  EXPECT_GT(reading_per_lx_of(sensor, SourceSpectrum::incandescent),
            2.0 * reading_per_lx_of_daylight(sensor));
}

TEST(Reading, IsWhatTheMakerStates) {
  Photosensor sensor = sensor_of(Response::silicon);
  sensor.daylight_factor = 1.4;
  EXPECT_EQ(reading_per_lx_of_daylight(sensor), 1.4);
  EXPECT_EQ(reading_per_lx_of(sensor, SourceSpectrum::white_led), 1.0);
  sensor.electric_factor = 0.9;
  for (const SourceSpectrum source : kSources) EXPECT_EQ(reading_per_lx_of(sensor, source), 0.9);
}

}  // namespace
}  // namespace halflight::photometry
