#include "cli/photometric_input.hpp"

#include "formats/photometric_file.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace halflight::cli {

Result<domain::IntensityDistribution> read_photometry_of(const std::filesystem::path& path,
                                                         const files::Bytes& bytes, Diagnostics* warnings,
                                                         std::optional<int> lamp_set) {
  formats::PhotometryOptions options;
  options.lamp_set = lamp_set;
  options.other_file = [&path](std::string_view name) -> std::optional<std::string> {
    if (name.find_first_of("/\\:") != std::string_view::npos) return std::nullopt;
    const auto other = files::read_file(path.parent_path() / std::string(name));
    if (!other) return std::nullopt;
    return std::string(files::as_text(*other));
  };
  return formats::read_photometry(bytes, path.string(), warnings, options);
}

}  // namespace halflight::cli
