#include "photometry/summary.hpp"

#include "photometry/suspicion.hpp"

#include <string_view>

#include <fmt/format.h>

namespace halflight::photometry {

using domain::IntensityDistribution;

namespace {

constexpr double kBeam = 0.5;
constexpr double kField = 0.1;

}  // namespace

PhotometricSummary photometric_summary(const IntensityDistribution& distribution,
                                       const std::string& file_name) {
  const domain::PhotometricData& data = distribution.data();
  PhotometricSummary s;
  s.type = data.type;
  s.symmetry = distribution.symmetry();
  s.opening = data.opening;
  s.lumens = flux_lm(distribution);
  s.declared_lumens = distribution.declared_lumens();
  if (s.declared_lumens) s.light_output_ratio = s.lumens / *s.declared_lumens;
  if (s.lumens > 0.0) {
    s.downward_fraction = downward_flux_lm(distribution) / s.lumens;
    s.upward_fraction = 1.0 - s.downward_fraction;
  }
  s.peak = peak_intensity(distribution);
  s.beam_along_deg = beam_angle_deg(distribution, 0.0, kBeam);
  s.beam_across_deg = beam_angle_deg(distribution, 90.0, kBeam);
  s.field_along_deg = beam_angle_deg(distribution, 0.0, kField);
  s.field_across_deg = beam_angle_deg(distribution, 90.0, kField);
  s.spacing_along = spacing_to_height(distribution, 0.0);
  s.spacing_across = spacing_to_height(distribution, 90.0);
  s.input_w = data.input_w;
  if (data.input_w > 0.0) s.efficacy_lm_w = s.lumens / data.input_w;
  if (data.statements.lamp_sets.size() > 1) s.lamp_sets = data.statements.lamp_sets;
  s.warnings = suspicions(s, distribution, file_name);
  return s;
}

std::string to_text(const PhotometricSummary& s) {
  std::string text;
  const auto line = [&text](std::string_view label, const std::string& value) {
    text += fmt::format("{:<22}{}\n", label, value);
  };
  line("Photometric type", std::string(name_of(s.type)));
  line("Symmetry", std::string(name_of(s.symmetry)));
  line("Luminous opening",
       fmt::format("{}, {:.3f} m long, {:.3f} m wide, {:.3f} m high", name_of(s.opening.shape),
                   s.opening.length_m, s.opening.width_m, s.opening.height_m));
  line("Lumens, integrated", fmt::format("{:.1f} lm", s.lumens));
  line("Lumens, declared", s.declared_lumens ? fmt::format("{:.1f} lm of lamps, light output ratio {:.1f} %",
                                                           *s.declared_lumens, 100.0 * *s.light_output_ratio)
                                             : std::string("absolute photometry"));
  const bool type_c = s.type == domain::PhotometricType::c;
  line(type_c ? "Down, up" : "Below, above the aim",
       fmt::format("{:.1f} %, {:.1f} %", 100.0 * s.downward_fraction, 100.0 * s.upward_fraction));
  line("Largest intensity", fmt::format("{:.1f} cd at vertical {:g}, horizontal {:g} degrees", s.peak.candela,
                                        s.peak.vertical_deg, s.peak.horizontal_deg));
  const auto angles = [&line, type_c](std::string_view label, const std::optional<double>& along,
                                      const std::optional<double>& across) {
    if (along && across)
      line(label, fmt::format("{:.0f} degrees {}, {:.0f} {}", *along, type_c ? "along" : "in H", *across,
                              type_c ? "across" : "in V"));
  };
  angles("Beam, to one half", s.beam_along_deg, s.beam_across_deg);
  angles("Field, to one tenth", s.field_along_deg, s.field_across_deg);
  if (s.spacing_along && s.spacing_across)
    line("Spacing over height",
         fmt::format("{:.2f} along, {:.2f} across", *s.spacing_along, *s.spacing_across));
  line("Input power", s.input_w > 0.0 ? fmt::format("{:g} W", s.input_w) : std::string("not stated"));
  if (s.efficacy_lm_w) line("Efficacy", fmt::format("{:.1f} lm/W", *s.efficacy_lm_w));
  for (std::size_t i = 0; i < s.lamp_sets.size(); ++i)
    line(fmt::format("Set of lamps {}", i + 1),
         fmt::format("{} x {}, {:g} lm, {:g} W", s.lamp_sets[i].lamps, s.lamp_sets[i].type,
                     s.lamp_sets[i].lumens, s.lamp_sets[i].input_w));
  for (const Diagnostic& warning : s.warnings) text += halflight::to_text(warning) + "\n";
  return text;
}

}  // namespace halflight::photometry
