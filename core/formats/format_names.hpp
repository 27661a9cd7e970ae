#pragma once
#include <string_view>

namespace halflight::formats {

/// The formats that this program writes; docs/formats/project.md says what each version holds.
inline constexpr std::string_view kProjectFormat = "halflight-project/1";
inline constexpr std::string_view kLibraryFormat = "halflight-library/1";

}  // namespace halflight::formats
