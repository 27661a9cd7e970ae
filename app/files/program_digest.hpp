#pragma once
#include <string_view>

namespace halflight::files {

/// A digest of the program's own sources and library as they were when it was built, for keys of results that
/// must not outlive them.
std::string_view program_digest();

}  // namespace halflight::files
