#include "cli/commands.hpp"
#include "cli/diagnostics_output.hpp"
#include "cli/exit_code.hpp"
#include "files/file.hpp"
#include "formats/photometric_file.hpp"
#include "photometry/summary.hpp"

#include <cstdio>
#include <optional>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace halflight::cli {

namespace {

using Json = nlohmann::ordered_json;

Json number_or_null(const std::optional<double>& value) { return value ? Json(*value) : Json(); }

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
          {"spacing_to_height_along", number_or_null(s.spacing_along)},
          {"spacing_to_height_across", number_or_null(s.spacing_across)},
          {"input_w", s.input_w > 0.0 ? Json(s.input_w) : Json()},
          {"efficacy_lm_w", number_or_null(s.efficacy_lm_w)},
          {"luminous_opening",
           {{"shape", domain::name_of(s.opening.shape)},
            {"length_m", s.opening.length_m},
            {"width_m", s.opening.width_m},
            {"height_m", s.opening.height_m}}},
          {"warnings", to_json(s.warnings)}};
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
  const auto distribution = formats::read_photometry(*bytes, name, &warnings);
  if (!distribution) {
    print_diagnostics(distribution.error());
    return ExitCode::bad_input;
  }
  photometry::PhotometricSummary summary = photometry::photometric_summary(*distribution, name);
  summary.warnings.insert(summary.warnings.begin(), warnings.begin(), warnings.end());
  if (command.json) {
    print_json(summary_json(summary));
  } else {
    fmt::print("{}", photometry::to_text(summary));
  }
  return ExitCode::done;
}

}  // namespace halflight::cli
