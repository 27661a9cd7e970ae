#pragma once
#include <cstddef>
#include <span>
#include <string_view>

namespace halflight::files {

/// A file as it was when the program was built.
struct EmbeddedFile {
  std::string_view name;  ///< relative to its folder, such as "codes/example.json"
  std::span<const std::byte> bytes;
};

/// The files of library/, in the order of their names.
std::span<const EmbeddedFile> embedded_library();

}  // namespace halflight::files
