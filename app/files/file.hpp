#pragma once
#include "base/diagnostic.hpp"

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <span>
#include <string_view>
#include <vector>

// The only code of the program that touches files. Everything under core/ works on bytes.

namespace halflight::files {

using Bytes = std::vector<std::byte>;

/// No input of this program comes near it; it keeps a wrong path from exhausting the memory.
inline constexpr std::uint64_t kLargestInput = std::uint64_t{1} << 30;

/// The whole of a regular file. Never blocks on a pipe or device: those are refused. The diagnostics say what
/// stands in the way and what would help.
Result<Bytes> read_file(const std::filesystem::path& path);

/// The steps of an atomic save, in order. `write` occurs once for each block of 64 KiB.
enum class SaveStep { create_temporary, write, sync_file, replace, sync_folder };

/// Called before each step of a save. A return value other than 0 is taken as the errno with which the step
/// fails. Tests inject failures and sudden death through it; the program passes none.
using SaveFault = std::function<int(SaveStep)>;

/// Replaces `path` by `bytes`, or leaves it exactly as it was: the bytes go to a temporary in the same
/// folder, are forced to the disk, and take the name in one step; then the folder is forced to the disk.
/// Whoever opens `path` at any instant, even after a power cut in mid-save, finds the old file whole or the
/// new file whole. A symbolic link is followed, and the permissions of an existing file are kept. The folder
/// must exist.
Result<void> write_file_atomically(const std::filesystem::path& path, std::span<const std::byte> bytes,
                                   const SaveFault& fault = {});

/// Makes `folder` and what is above it, when absent.
Result<void> make_folder(const std::filesystem::path& folder);

inline std::span<const std::byte> as_bytes(std::string_view text) {
  return std::as_bytes(std::span(text.data(), text.size()));
}
inline std::string_view as_text(std::span<const std::byte> bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

}  // namespace halflight::files
