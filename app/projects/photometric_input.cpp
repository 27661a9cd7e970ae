#include "projects/photometric_input.hpp"

#include "formats/photometric_file.hpp"

#include <string_view>

namespace halflight::projects {

Result<domain::IntensityDistribution> read_photometry_of(const OtherFiles& others, const std::string& name,
                                                         std::span<const std::byte> bytes,
                                                         Diagnostics* warnings, std::optional<int> lamp_set) {
  formats::PhotometryOptions options;
  options.lamp_set = lamp_set;
  options.other_file = [&](std::string_view table) -> std::optional<std::string> {
    if (table.find_first_of("/\\:") != std::string_view::npos) return std::nullopt;
    const std::filesystem::path beside = std::filesystem::path(name).parent_path() / std::string(table);
    const auto other = others.read(beside.string());
    if (!other) return std::nullopt;
    return std::string(files::as_text(*other));
  };
  return formats::read_photometry(bytes, others.shown(name), warnings, options);
}

}  // namespace halflight::projects
