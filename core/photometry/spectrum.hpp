#pragma once
#include "domain/control.hpp"
#include "domain/luminaire.hpp"

#include <array>
#include <cstddef>

// What a photosensor that does not see as the eye does reads of a lux of daylight and of a lux of lamp light
// (docs/methods/photosensors.md).

namespace halflight::photometry {

/// A function of wavelength in steps of 5 nm, from the beginning of visible light to where silicon ends.
inline constexpr double kFirstWavelength_nm = 380.0;
inline constexpr double kWavelengthStep_nm = 5.0;
inline constexpr std::size_t kWavelengths = 145;
using SpectralFunction = std::array<double, kWavelengths>;
constexpr double wavelength_nm(std::size_t i) {
  return kFirstWavelength_nm + kWavelengthStep_nm * static_cast<double>(i);
}

/// Relative power of light: daylight of 6,500 K outdoors (CIE D65, beyond 830 nm as the sun and sky of ASTM
/// G173), and lamps (CIE 015:2018: LED-B3, LED-B1, FL11, A). Lamps other than incandescent end at 780 nm.
const SpectralFunction& daylight_spectrum();
const SpectralFunction& spectrum_of(domain::SourceSpectrum source);
/// Spectral radiance of a black body, W/(m2 sr nm), by Planck's law.
SpectralFunction black_body(double kelvins);

/// What a sensor makes of a watt at each wavelength: V(lambda) of CIE 018:2019, or A/W of a bare silicon
/// photodiode.
const SpectralFunction& sensitivity(domain::Photosensor::SpectralResponse response);

/// Sum over wavelengths of `light` seen with `sensitivity`, per nm.
double seen(const SpectralFunction& light, const SpectralFunction& sensitivity);

/// lx that the sensor reads per lx of this light: what its maker states, else from the spectra. A sensor's
/// scale is right for the white LED light that photometers are calibrated with, and so its reading is
/// exactly 1 there, and 1 for all light with photopic correction.
double reading_per_lx_of_daylight(const domain::Photosensor& sensor);
double reading_per_lx_of(const domain::Photosensor& sensor, domain::SourceSpectrum source);

/// A sensor reads daylight and lamp light alike while the ratio of the two readings, either way, is at most
/// this. Assumption, no source.
inline constexpr double kReadsAlikeWithin = 1.2;

}  // namespace halflight::photometry
