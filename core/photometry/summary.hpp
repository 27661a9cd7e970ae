#pragma once
#include "base/diagnostic.hpp"
#include "photometry/flux.hpp"

#include <optional>
#include <string>
#include <vector>

namespace halflight::photometry {

/// What `halflight photometry FILE` prints.
struct PhotometricSummary {
  domain::PhotometricType type = domain::PhotometricType::c;
  domain::Symmetry symmetry = domain::Symmetry::none;
  domain::LuminousOpening opening;
  double lumens = 0.0;                       ///< by integration
  std::optional<double> declared_lumens;     ///< of all lamps times ballast factor; none: absolute photometry
  std::optional<double> light_output_ratio;  ///< lumens / declared lumens
  double downward_fraction = 0.0;            ///< of `lumens`, 0..1
  double upward_fraction = 0.0;
  PeakIntensity peak;
  std::optional<double> beam_along_deg;   ///< to half of the largest intensity, in the 0-degree plane
  std::optional<double> beam_across_deg;  ///< in the 90-degree plane
  std::optional<double> field_along_deg;  ///< to a tenth
  std::optional<double> field_across_deg;
  std::optional<double> spacing_along;   ///< spacing over height in the 0-degree plane
  std::optional<double> spacing_across;  ///< in the 90-degree plane
  double input_w = 0.0;
  std::optional<double> efficacy_lm_w;     ///< none when the watts are not stated
  std::vector<domain::LampSet> lamp_sets;  ///< when the file lists several
  Diagnostics warnings;                    ///< what looks suspicious (photometry/suspicion.hpp)
};
PhotometricSummary photometric_summary(const domain::IntensityDistribution& distribution,
                                       const std::string& file_name);
/// The summary as lines of text for a terminal.
std::string to_text(const PhotometricSummary& summary);

}  // namespace halflight::photometry
