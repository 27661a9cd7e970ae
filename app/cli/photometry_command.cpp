#include "cli/commands.hpp"
#include "cli/diagnostics_output.hpp"
#include "cli/exit_code.hpp"
#include "files/file.hpp"
#include "photometry/planes.hpp"
#include "photometry/summary.hpp"
#include "projects/photometric_input.hpp"
#include "report/polar_diagram.hpp"
#include "wording/figures.hpp"

#include <algorithm>
#include <cstdio>
#include <optional>
#include <string>
#include <string_view>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace halflight::cli {

namespace {

using Json = nlohmann::ordered_json;

Json number_or_null(const std::optional<double>& value) { return value ? Json(*value) : Json(); }

Json lamp_sets_json(const photometry::PhotometricSummary& s) {
  Json sets = Json::array();
  for (const domain::LampSet& set : s.lamp_sets)
    sets.push_back(
        {{"lamps", set.lamps}, {"type", set.type}, {"lumens", set.lumens}, {"input_w", set.input_w}});
  return sets;
}

Json summary_json(const photometry::PhotometricSummary& s) {
  return {{"type", domain::name_of(s.type)},
          {"symmetry", domain::name_of(s.symmetry)},
          {"lumens", s.lumens},
          {"declared_lumens", number_or_null(s.declared_lumens)},
          {"light_output_ratio", number_or_null(s.light_output_ratio)},
          {"downward_fraction", s.downward_fraction},
          {"upward_fraction", s.upward_fraction},
          {"maximum_cd", s.peak.candela},
          {"maximum_at", {{"vertical_deg", s.peak.vertical_deg}, {"horizontal_deg", s.peak.horizontal_deg}}},
          {"beam_along_deg", number_or_null(s.beam_along_deg)},
          {"beam_across_deg", number_or_null(s.beam_across_deg)},
          {"field_along_deg", number_or_null(s.field_along_deg)},
          {"field_across_deg", number_or_null(s.field_across_deg)},
          {"spacing_to_height_along", number_or_null(s.spacing_along)},
          {"spacing_to_height_across", number_or_null(s.spacing_across)},
          {"input_w", s.input_w > 0.0 ? Json(s.input_w) : Json()},
          {"efficacy_lm_w", number_or_null(s.efficacy_lm_w)},
          {"luminous_opening",
           {{"shape", domain::name_of(s.opening.shape)},
            {"length_m", s.opening.length_m},
            {"width_m", s.opening.width_m},
            {"height_m", s.opening.height_m}}},
          {"lamp_sets", lamp_sets_json(s)},
          {"warnings", to_json(s.warnings)}};
}

using wording::printed;

std::string keyword(const domain::PhotometricData& data, std::string_view name) {
  for (const auto& [key, value] : data.keywords)
    if (key == name && !value.empty()) return value.substr(0, value.find('\n'));
  return "";
}

std::string opening_text(const domain::LuminousOpening& o) {
  using Shape = domain::LuminousOpening::Shape;
  std::string text(domain::name_of(o.shape));
  if (o.shape == Shape::point) return text;
  if (o.shape == Shape::circle || o.shape == Shape::sphere) return text + ", " + printed(o.length_m, "m");
  text += ", " + printed(o.length_m, "m") + " long, " + printed(o.width_m, "m") + " wide";
  if (o.height_m > 0.0) text += ", " + printed(o.height_m, "m") + " high";
  return text;
}

/// "largest 2500 cd at 35° in C90".
std::string remark_on(const photometry::PlaneCurve& plane) {
  const auto largest = std::max_element(plane.candela.begin(), plane.candela.end());
  const auto index = static_cast<std::size_t>(largest - plane.candela.begin());
  const double angle = plane.angle_deg[index];
  const double opposite = plane.candela[plane.candela.size() - 1 - index];
  std::string text = fmt::format("largest {} cd at {:g}°", printed(*largest, ""), std::abs(angle));
  constexpr double kAlike = 0.99;
  if (angle == 0.0 || std::abs(angle) == 180.0 || plane.positive.empty()) return text;
  return text + (opposite > kAlike * *largest ? " on both sides"
                                              : " in " + (angle > 0.0 ? plane.positive : plane.negative));
}

report::PolarDiagram diagram_of(const domain::IntensityDistribution& distribution,
                                const photometry::PhotometricSummary& s, const std::filesystem::path& file) {
  const bool type_c = s.type == domain::PhotometricType::c;
  // Relative photometry is drawn for 1000 lm of lamps, so that files with other lamps compare.
  const double scale = s.declared_lumens ? 1000.0 / *s.declared_lumens : 1.0;
  report::PolarDiagram diagram;
  diagram.title = keyword(distribution.data(), "LUMINAIRE");
  if (diagram.title.empty()) diagram.title = file.filename().string();
  diagram.under = fmt::format("{}, type {}, symmetry: {}", file.filename().string(), domain::name_of(s.type),
                              domain::name_of(s.symmetry));
  diagram.unit = s.declared_lumens ? "cd per 1000 lm of lamps" : "cd";
  diagram.down = type_c ? "down" : "aim";
  for (const photometry::PlaneCurve& plane : photometry::plane_curves(distribution)) {
    const std::string sides =
        plane.positive.empty() ? "" : fmt::format("{} right, {} left; ", plane.positive, plane.negative);
    report::PolarCurve curve{plane.name, sides + remark_on(plane), plane.angle_deg, plane.candela};
    for (double& value : curve.value) value *= scale;
    diagram.curves.push_back(std::move(curve));
  }
  std::string flux = printed(s.lumens, "lm");
  if (s.light_output_ratio)
    flux += fmt::format(", {} of the lamps' {}", printed(*s.light_output_ratio, "fraction"),
                        printed(*s.declared_lumens, "lm"));
  diagram.facts.emplace_back("Flux", flux);
  diagram.facts.emplace_back(
      "Down, up", printed(s.downward_fraction, "fraction") + ", " + printed(s.upward_fraction, "fraction"));
  const auto angles = [&](const char* name, const std::optional<double>& first,
                          const std::optional<double>& second) {
    if (!first || !second) return;
    if (s.symmetry == domain::Symmetry::rotational) {
      diagram.facts.emplace_back(name, fmt::format("{:.0f}°", *first));
      return;
    }
    diagram.facts.emplace_back(name, fmt::format("{:.0f}° {}, {:.0f}° {}", *first, type_c ? "along" : "in H",
                                                 *second, type_c ? "across" : "in V"));
  };
  angles("Beam, to one half", s.beam_along_deg, s.beam_across_deg);
  angles("Field, to one tenth", s.field_along_deg, s.field_across_deg);
  diagram.facts.emplace_back("Luminous opening", opening_text(s.opening));
  diagram.facts.emplace_back(
      "Input power",
      s.efficacy_lm_w ? printed(s.input_w, "W") + ", " + printed(*s.efficacy_lm_w, "lm/W") : "not stated");
  for (const Diagnostic& warning : s.warnings)
    diagram.suspicions.push_back(warning.problem + "; " + warning.remedy);
  return diagram;
}

}  // namespace

int run(const PhotometryCommand& command) {
  const auto bytes = files::read_file(command.file);
  if (!bytes) {
    print_diagnostics(bytes.error());
    return ExitCode::bad_input;
  }
  const std::string name = command.file.string();
  Diagnostics warnings;
  const auto distribution =
      projects::read_photometry_of(*projects::files_in(command.file.parent_path()),
                                   command.file.filename().string(), *bytes, &warnings, command.lamp_set);
  if (!distribution) {
    print_diagnostics(distribution.error());
    return ExitCode::bad_input;
  }
  photometry::PhotometricSummary summary = photometry::photometric_summary(*distribution, name);
  summary.warnings.insert(summary.warnings.begin(), warnings.begin(), warnings.end());
  if (command.svg) {
    const std::string svg = report::polar_diagram_svg(diagram_of(*distribution, summary, command.file));
    if (const auto saved = files::write_file_atomically(*command.svg, files::as_bytes(svg)); !saved) {
      print_diagnostics(saved.error());
      return ExitCode::bad_input;
    }
  }
  if (command.json) {
    print_json(summary_json(summary));
  } else {
    fmt::print("{}", photometry::to_text(summary));
  }
  return ExitCode::done;
}

}  // namespace halflight::cli
