#include "photometry/spectrum.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace halflight::photometry {
namespace {

using Response = domain::Photosensor::SpectralResponse;
using domain::SourceSpectrum;

// Tables in steps of 5 nm, from 380 nm unless they say otherwise.

/// Spectral luminous efficiency for photopic vision (CIE 1924; CIE 018:2019, ISO/CIE 23539).
constexpr std::array<double, 81> kLuminousEfficiency = {
    0.000039, 0.000064, 0.00012,  0.000217, 0.000396, 0.00064,  0.00121, 0.00218,  0.004,
    0.0073,   0.0116,   0.01684,  0.023,    0.0298,   0.038,    0.048,   0.06,     0.0739,
    0.09098,  0.1126,   0.13902,  0.1693,   0.20802,  0.2586,   0.323,   0.4073,   0.503,
    0.6082,   0.71,     0.7932,   0.862,    0.91485,  0.954,    0.9803,  0.99495,  1.0,
    0.995,    0.9786,   0.952,    0.9154,   0.87,     0.8163,   0.757,   0.6949,   0.631,
    0.5668,   0.503,    0.4412,   0.381,    0.321,    0.265,    0.217,   0.175,    0.1382,
    0.107,    0.0816,   0.061,    0.04458,  0.032,    0.0232,   0.017,   0.01192,  0.00821,
    0.005723, 0.004102, 0.002929, 0.002091, 0.001484, 0.001047, 0.00074, 0.00052,  0.000361,
    0.000249, 0.000172, 0.00012,  0.000085, 0.00006,  0.000042, 0.00003, 0.000021, 0.000015};

/// Components of daylight (CIE 015:2018), to 830 nm.
constexpr std::array<double, 91> kDaylightMean = {
    63.4,   64.6,   65.8,   80.3,   94.8,  99.8,   104.8, 105.35, 105.9, 101.35, 96.8,  105.35, 113.9,
    119.75, 125.6,  125.55, 125.5,  123.4, 121.3,  121.3, 121.3,  117.4, 113.5,  113.3, 113.1,  111.95,
    110.8,  108.65, 106.5,  107.65, 108.8, 107.05, 105.3, 104.85, 104.4, 102.2,  100.0, 98.0,   96.0,
    95.55,  95.1,   92.1,   89.1,   89.8,  90.5,   90.4,  90.3,   89.35, 88.4,   86.2,  84.0,   84.55,
    85.1,   83.5,   81.9,   82.25,  82.6,  83.75,  84.9,  83.1,   81.3,  76.6,   71.9,  73.1,   74.3,
    75.35,  76.4,   69.85,  63.3,   67.5,  71.7,   74.35, 77.0,   71.1,  65.2,   56.45, 47.7,   58.15,
    68.6,   66.8,   65.0,   65.5,   66.0,  63.5,   61.0,  57.15,  53.3,  56.1,   58.9,  60.4,   61.9};
constexpr std::array<double, 91> kDaylightFirst = {
    38.5,  36.75, 35.0,   39.2,   43.4,  44.85,  46.3,  45.1,  43.9,  40.5,  37.1,  36.9,   36.7,
    36.3,  35.9,  34.25,  32.6,   30.25, 27.9,   26.1,  24.3,  22.2,  20.1,  18.15, 16.2,   14.7,
    13.2,  10.9,  8.6,    7.35,   6.1,   5.15,   4.2,   3.05,  1.9,   0.95,  0.0,   -0.8,   -1.6,
    -2.55, -3.5,  -3.5,   -3.5,   -4.65, -5.8,   -6.5,  -7.2,  -7.9,  -8.6,  -9.05, -9.5,   -10.2,
    -10.9, -10.8, -10.7,  -11.35, -12.0, -13.0,  -14.0, -13.8, -13.6, -12.8, -12.0, -12.65, -13.3,
    -13.1, -12.9, -11.75, -10.6,  -11.1, -11.6,  -11.9, -12.2, -11.2, -10.2, -9.0,  -7.8,   -9.5,
    -11.2, -10.8, -10.4,  -10.5,  -10.6, -10.15, -9.7,  -9.0,  -8.3,  -8.8,  -9.3,  -9.55,  -9.8};
constexpr std::array<double, 91> kDaylightSecond = {
    3.0,  2.1,  1.2,  0.05,  -1.1, -0.8, -0.5, -0.6,  -0.7, -0.95, -1.2, -1.9,  -2.6, -2.75, -2.9, -2.85,
    -2.8, -2.7, -2.6, -2.6,  -2.6, -2.2, -1.8, -1.65, -1.5, -1.4,  -1.3, -1.25, -1.2, -1.1,  -1.0, -0.75,
    -0.5, -0.4, -0.3, -0.15, 0.0,  0.1,  0.2,  0.35,  0.5,  1.3,   2.1,  2.65,  3.2,  3.65,  4.1,  4.4,
    4.7,  4.9,  5.1,  5.9,   6.7,  7.0,  7.3,  7.95,  8.6,  9.2,   9.8,  10.0,  10.2, 9.25,  8.3,  8.95,
    9.6,  9.05, 8.5,  7.75,  7.0,  7.3,  7.6,  7.8,   8.0,  7.35,  6.7,  5.95,  5.2,  6.3,   7.4,  7.1,
    6.8,  6.9,  7.0,  6.7,   6.4,  5.95, 5.5,  5.8,   6.1,  6.3,   6.5};

/// Sun and sky together at air mass 1.5, W/(m2 nm), from 830 nm: means over 5 nm (ASTM G173-03, global tilt).
constexpr std::array<double, 55> kSunAndSky = {
    0.903, 0.975, 1.005, 1.004, 0.963, 0.939, 0.991, 0.941, 0.959, 0.947, 0.934, 0.925, 0.923, 0.793,
    0.655, 0.753, 0.668, 0.648, 0.711, 0.734, 0.457, 0.194, 0.37,  0.3,   0.334, 0.342, 0.432, 0.495,
    0.675, 0.596, 0.653, 0.717, 0.744, 0.746, 0.737, 0.716, 0.721, 0.712, 0.699, 0.695, 0.689, 0.679,
    0.673, 0.66,  0.657, 0.647, 0.629, 0.624, 0.608, 0.607, 0.595, 0.578, 0.58,  0.531, 0.492};

/// LED-B3, a blue-pumped white LED of 4,103 K (CIE 015:2018).
constexpr std::array<double, 81> kWhiteLed = {
    0.0,   0.0,   0.01,  0.02,  0.05,  0.11,  0.25,  0.56,  1.2,   2.37,  4.24,  7.17,  12.11, 17.7,
    18.87, 14.58, 9.9,   7.53,  6.02,  5.11,  5.17,  5.82,  6.77,  7.88,  8.94,  9.82,  10.52, 11.06,
    11.51, 11.93, 12.37, 12.83, 13.31, 13.79, 14.26, 14.68, 15.08, 15.42, 15.72, 15.97, 16.18, 16.37,
    16.5,  16.55, 16.5,  16.32, 16.0,  15.54, 14.96, 14.27, 13.48, 12.62, 11.71, 10.78, 9.85,  8.93,
    8.04,  7.2,   6.42,  5.69,  5.02,  4.42,  3.88,  3.39,  2.95,  2.56,  2.22,  1.92,  1.65,  1.43,
    1.23,  1.06,  0.91,  0.78,  0.68,  0.58,  0.5,   0.43,  0.37,  0.32,  0.28};

/// LED-B1, the same of 2,733 K.
constexpr std::array<double, 81> kWarmWhiteLed = {
    0.0,   0.01,  0.01, 0.02,  0.04,  0.07,  0.15,  0.28,  0.53,  0.92,  1.54,  2.52,  4.16,  6.39,
    7.89,  7.57,  6.25, 5.16,  4.37,  3.84,  3.7,   3.88,  4.26,  4.79,  5.41,  6.05,  6.7,   7.34,
    7.98,  8.64,  9.31, 10.02, 10.76, 11.53, 12.38, 13.28, 14.23, 15.2,  16.2,  17.19, 18.14, 19.02,
    19.78, 20.38, 20.8, 21.0,  20.97, 20.71, 20.23, 19.56, 18.76, 17.82, 16.78, 15.66, 14.49, 13.31,
    12.15, 11.02, 9.95, 8.93,  7.98,  7.1,   6.3,   5.57,  4.89,  4.26,  3.72,  3.25,  2.83,  2.47,
    2.15,  1.87,  1.63, 1.42,  1.25,  1.1,   0.97,  0.86,  0.76,  0.68,  0.61};

/// FL11, a three-band fluorescent lamp of 4,000 K (CIE 015:2018).
constexpr std::array<double, 81> kFluorescent = {
    0.91,  0.63, 0.46, 0.37, 1.29,  12.68, 1.59,  1.79,  2.46,  3.33, 4.49, 33.94, 12.13, 6.95,
    7.19,  7.12, 6.72, 6.13, 5.46,  4.79,  5.66,  14.29, 14.96, 8.97, 4.72, 2.33,  1.47,  1.1,
    0.89,  0.83, 1.18, 4.9,  39.59, 72.84, 32.61, 7.52,  2.83,  1.96, 1.67, 4.43,  11.28, 14.76,
    12.73, 9.74, 7.33, 9.72, 55.27, 42.58, 13.18, 13.16, 12.26, 5.11, 2.07, 2.34,  3.58,  3.01,
    2.48,  2.14, 1.54, 1.33, 1.46,  1.94,  2.0,   1.2,   1.35,  4.1,  5.58, 2.51,  0.57,  0.27,
    0.23,  0.21, 0.24, 0.24, 0.2,   0.24,  0.32,  0.26,  0.16,  0.12, 0.09};

template <std::size_t N>
SpectralFunction padded(const std::array<double, N>& table) {
  SpectralFunction function{};
  std::copy(table.begin(), table.end(), function.begin());
  return function;
}

SpectralFunction make_daylight() {
  // Weights of D65, x = 0.3127, y = 0.3291, with the three decimals of CIE 015.
  constexpr double first = -0.296;
  constexpr double second = -0.688;
  SpectralFunction daylight{};
  const std::size_t last = kDaylightMean.size() - 1;
  for (std::size_t i = 0; i <= last; ++i)
    daylight[i] = kDaylightMean[i] + first * kDaylightFirst[i] + second * kDaylightSecond[i];
  for (std::size_t i = last + 1; i < kWavelengths; ++i)
    daylight[i] = daylight[last] * kSunAndSky[i - last] / kSunAndSky.front();
  return daylight;
}

/// A/W: a photon that is absorbed frees one electron. 15 % are lost at the surface; what is left is absorbed
/// on 0.2 mm of silicon, all of it below 800 nm.
SpectralFunction make_silicon() {
  constexpr double kPerPhoton_nm_w_a = 1239.84;  // h c / e
  constexpr double kEnters = 0.85;
  constexpr double kThickness_cm = 0.02;
  constexpr double kFirst_nm = 800.0;
  constexpr double kStep_nm = 50.0;
  // Absorption of silicon at 300 K, 1/cm (M. Green, Solar Energy Materials and Solar Cells 92, 2008; from
  // memory), interpolated in the logarithm.
  constexpr std::array<double, 7> kAbsorption_per_cm = {850.0, 535.0, 306.0, 157.0, 64.0, 16.3, 3.5};
  SpectralFunction silicon{};
  for (std::size_t i = 0; i < kWavelengths; ++i) {
    const double nm = wavelength_nm(i);
    double absorbed = 1.0;
    if (nm >= kFirst_nm) {
      const double at = (nm - kFirst_nm) / kStep_nm;
      const auto below = std::min(static_cast<std::size_t>(at), kAbsorption_per_cm.size() - 2);
      const double per_cm =
          kAbsorption_per_cm[below] * std::pow(kAbsorption_per_cm[below + 1] / kAbsorption_per_cm[below],
                                               at - static_cast<double>(below));
      absorbed = 1.0 - std::exp(-per_cm * kThickness_cm);
    }
    silicon[i] = kEnters * absorbed * nm / kPerPhoton_nm_w_a;
  }
  return silicon;
}

double reading_per_lx(Response response, const SpectralFunction& light) {
  const SpectralFunction& scale = spectrum_of(SourceSpectrum::white_led);
  const SpectralFunction& eye = sensitivity(Response::photopic);
  const SpectralFunction& sensor = sensitivity(response);
  return (seen(light, sensor) / seen(light, eye)) / (seen(scale, sensor) / seen(scale, eye));
}

}  // namespace

const SpectralFunction& daylight_spectrum() {
  static const SpectralFunction daylight = make_daylight();
  return daylight;
}

const SpectralFunction& spectrum_of(SourceSpectrum source) {
  static const SpectralFunction white_led = padded(kWhiteLed);
  static const SpectralFunction warm_white_led = padded(kWarmWhiteLed);
  static const SpectralFunction fluorescent = padded(kFluorescent);
  // Illuminant A is defined as 2,848 K with c2 = 1.435e-2 m K, which is 2,855.5 K today.
  static const SpectralFunction incandescent = black_body(2855.5);
  switch (source) {
    case SourceSpectrum::white_led:
      return white_led;
    case SourceSpectrum::warm_white_led:
      return warm_white_led;
    case SourceSpectrum::fluorescent:
      return fluorescent;
    case SourceSpectrum::incandescent:
      return incandescent;
  }
  return white_led;
}

SpectralFunction black_body(double kelvins) {
  constexpr double kFirst_w_m2 = 1.191042972e-16;  // 2 h c^2 per steradian
  constexpr double kSecond_m_k = 1.438776877e-2;   // h c / k
  SpectralFunction light{};
  for (std::size_t i = 0; i < kWavelengths; ++i) {
    const double m = wavelength_nm(i) * 1e-9;
    light[i] = kFirst_w_m2 / (std::pow(m, 5.0) * std::expm1(kSecond_m_k / (m * kelvins))) * 1e-9;
  }
  return light;
}

const SpectralFunction& sensitivity(Response response) {
  static const SpectralFunction eye = padded(kLuminousEfficiency);
  static const SpectralFunction silicon = make_silicon();
  return response == Response::photopic ? eye : silicon;
}

double seen(const SpectralFunction& light, const SpectralFunction& sensitivity) {
  double sum = 0.0;
  for (std::size_t i = 0; i < kWavelengths; ++i) sum += light[i] * sensitivity[i];
  return sum * kWavelengthStep_nm;
}

double reading_per_lx_of_daylight(const domain::Photosensor& sensor) {
  return sensor.daylight_factor.value_or(reading_per_lx(sensor.spectral_response, daylight_spectrum()));
}

double reading_per_lx_of(const domain::Photosensor& sensor, SourceSpectrum source) {
  return sensor.electric_factor.value_or(reading_per_lx(sensor.spectral_response, spectrum_of(source)));
}

}  // namespace halflight::photometry
