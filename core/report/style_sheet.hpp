#pragma once
#include <string_view>

namespace halflight::report {

/// The look of the report, on screen and on paper; docs/style.md says why it is so. Names no font file and no
/// address.
std::string_view style_sheet();

}  // namespace halflight::report
