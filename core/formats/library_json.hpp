#pragma once
#include "base/diagnostic.hpp"
#include "domain/project.hpp"
#include "formats/format_names.hpp"

#include <span>
#include <string>
#include <string_view>

namespace halflight::formats {

/// A file of library/, read or embedded.
struct LibrarySource {
  std::string name;
  std::span<const std::byte> bytes;
};

/// The records of all the files together: kinds of space, drivers, luminaire types, kinds of devices,
/// electrical rules. Each file may have any of the lists. Errors: broken syntax, another format, unknown
/// keys, values out of range, missing keys, an id given twice, a luminaire type whose driver no file defines.
Result<domain::Library> load_library(std::span<const LibrarySource> files);

}  // namespace halflight::formats
