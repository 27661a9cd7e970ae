#include "files/file.hpp"

#include "files/descriptor.hpp"

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <string>
#include <system_error>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>

namespace halflight::files {

namespace {

constexpr std::size_t kBlock = std::size_t{64} << 10;

tl::unexpected<Diagnostics> failure(const std::filesystem::path& path, std::string problem,
                                    std::string remedy) {
  return tl::unexpected(
      Diagnostics{{Diagnostic::Severity::error, path.string(), "", std::move(problem), std::move(remedy)}});
}

std::string remedy_for(int error) {
  switch (error) {
    case ENOENT:
      return "check the spelling; a relative path starts at the folder the program is run in";
    case ENOTDIR:
      return "a part of the path before the last is a file and not a folder";
    case EACCES:
    case EPERM:
      return "give yourself the permission, or choose another place";
    case ENOSPC:
    case EDQUOT:
      return "make room on that disk, or choose another place";
    case EROFS:
      return "that disk cannot be written to; choose another place";
    case ENAMETOOLONG:
      return "give a shorter path";
    case ELOOP:
      return "the path runs in a circle of symbolic links; give the file itself";
    default:
      return "the system gives no further reason";
  }
}

tl::unexpected<Diagnostics> system_failure(const std::filesystem::path& path, std::string_view doing,
                                           int error) {
  return failure(path, fmt::format("{}: {}", doing, std::generic_category().message(error)),
                 remedy_for(error));
}

/// write(2) until all is written. 0, or errno.
int write_all(int fd, std::span<const std::byte> bytes) {
  while (!bytes.empty()) {
    const ssize_t n = ::write(fd, bytes.data(), bytes.size());
    if (n < 0) {
      if (errno == EINTR) continue;
      return errno;
    }
    bytes = bytes.subspan(static_cast<std::size_t>(n));
  }
  return 0;
}

}  // namespace

Result<Bytes> read_file(const std::filesystem::path& path) {
  constexpr std::string_view doing = "cannot be read";
  // Without O_NONBLOCK, opening a named pipe would wait for a writer.
  const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (!file) return system_failure(path, doing, errno);
  struct stat status = {};
  if (::fstat(file.get(), &status) != 0) return system_failure(path, doing, errno);
  if (S_ISDIR(status.st_mode)) return failure(path, "is a folder", "give the path of a file in it");
  if (!S_ISREG(status.st_mode))
    return failure(path, "is not a regular file", "save the data to a file first");
  const auto size = static_cast<std::uint64_t>(status.st_size);
  if (size > kLargestInput) {
    return failure(
        path, fmt::format("has {} bytes", size),
        fmt::format("files of up to {} bytes are read; this is probably not the file meant", kLargestInput));
  }
  Bytes bytes(size);
  std::size_t filled = 0;
  while (filled < bytes.size()) {
    const ssize_t n = ::read(file.get(), bytes.data() + filled, bytes.size() - filled);
    if (n < 0) {
      if (errno == EINTR) continue;
      return system_failure(path, doing, errno);
    }
    if (n == 0)
      return failure(path, "became shorter while it was read", "run again when nothing writes to it");
    filled += static_cast<std::size_t>(n);
  }
  return bytes;
}

Result<void> write_file_atomically(const std::filesystem::path& asked_path, std::span<const std::byte> bytes,
                                   const SaveFault& fault) {
  constexpr std::string_view doing = "cannot be written";
  std::error_code ignored;
  std::filesystem::path path = std::filesystem::weakly_canonical(asked_path, ignored);
  if (path.empty()) path = asked_path;
  if (std::filesystem::is_directory(path, ignored)) {
    return failure(asked_path, "is a folder", "give the path of a file in it");
  }
  const std::filesystem::path folder = path.has_parent_path() ? path.parent_path() : ".";
  struct stat existing = {};
  const bool exists = ::stat(path.c_str(), &existing) == 0;

  static std::atomic<unsigned> count = 0;
  const std::filesystem::path temporary =
      folder / fmt::format(".{}.saving-{}-{}", path.filename().string(), ::getpid(), count++);

  const auto fails = [&](SaveStep step) { return fault ? fault(step) : 0; };
  const auto give_up = [&](int error) {
    ::unlink(temporary.c_str());
    return system_failure(asked_path, doing, error);
  };

  if (const int error = fails(SaveStep::create_temporary)) return system_failure(asked_path, doing, error);
  Descriptor file(::open(temporary.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666));
  if (!file) return system_failure(asked_path, doing, errno);
  // A new file keeps what the user's mask gave it.
  if (exists && ::fchmod(file.get(), existing.st_mode & 07777) != 0) return give_up(errno);

  for (std::size_t at = 0; at < bytes.size(); at += kBlock) {
    if (const int error = fails(SaveStep::write)) return give_up(error);
    const auto block = bytes.subspan(at, std::min(kBlock, bytes.size() - at));
    if (const int error = write_all(file.get(), block)) return give_up(error);
  }
  if (const int error = fails(SaveStep::sync_file)) return give_up(error);
  if (::fsync(file.get()) != 0) return give_up(errno);
  if (!file.close()) return give_up(errno);

  if (const int error = fails(SaveStep::replace)) return give_up(error);
  if (::rename(temporary.c_str(), path.c_str()) != 0) return give_up(errno);

  // From here on the new file is in place; what can still fail is the promise that it survives a power cut.
  if (const int error = fails(SaveStep::sync_folder)) return system_failure(asked_path, doing, error);
  const Descriptor directory(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (!directory || ::fsync(directory.get()) != 0) return system_failure(asked_path, doing, errno);
  return {};
}

Result<void> make_folder(const std::filesystem::path& folder) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) return system_failure(folder, "cannot be made", error.value());
  if (!std::filesystem::is_directory(folder, error)) {
    return failure(folder, "is a file", "give the path of a folder");
  }
  return {};
}

}  // namespace halflight::files
