#include "files/disk_blob_store.hpp"

#include "files/descriptor.hpp"
#include "files/file.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <mutex>
#include <string>
#include <system_error>
#include <tuple>
#include <type_traits>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>

namespace halflight::files {

namespace fs = std::filesystem;

namespace {

/// The layout on disk: this header, then `length` bytes. Every bit of the file is covered: magic, key and
/// length are compared with what they must be, the rest with the checksum.
struct Header {
  std::array<char, 8> magic = {'H', 'L', 'F', 'B', 'L', 'O', 'B', '1'};
  Hash key;
  std::uint64_t length = 0;
  Hash checksum;
};
static_assert(sizeof(Header) == 48 && std::is_trivially_copyable_v<Header>);

constexpr std::string_view kSuffix = ".blob";
constexpr std::string_view kTemporarySuffix = ".part";
/// A temporary this old was left by a process that died.
constexpr auto kAbandoned = std::chrono::hours(1);
/// Eviction makes room for a while, so that it does not run at every blob.
constexpr double kKeptShare = 0.9;

bool read_all(int fd, void* into, std::size_t size) {
  auto* at = static_cast<char*>(into);
  while (size > 0) {
    const ssize_t n = ::read(fd, at, size);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) return false;
    at += n;
    size -= static_cast<std::size_t>(n);
  }
  return true;
}

bool write_all(int fd, std::span<const std::byte> bytes) {
  while (!bytes.empty()) {
    const ssize_t n = ::write(fd, bytes.data(), bytes.size());
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return false;
    bytes = bytes.subspan(static_cast<std::size_t>(n));
  }
  return true;
}

std::optional<fs::path> absolute_folder(const char* variable) {
  const char* value = std::getenv(variable);
  if (value == nullptr || value[0] != '/') return std::nullopt;
  return fs::path(value);
}

Diagnostic cache_warning(const fs::path& folder, int error) {
  return {
      Diagnostic::Severity::warning, folder.string(), "",
      fmt::format("the cache cannot be written: {}", std::generic_category().message(error)),
      "results are the same, but the next run computes everything again; give another folder with --cache"};
}

}  // namespace

std::optional<fs::path> default_cache_folder() {
  if (const auto cache = absolute_folder("XDG_CACHE_HOME")) return *cache / "halflight";
  if (const auto home = absolute_folder("HOME")) return *home / ".cache" / "halflight";
  return std::nullopt;
}

struct DiskBlobStore::State {
  fs::path folder;
  std::uint64_t largest_bytes = 0;
  std::mutex mutex;
  std::uint64_t bytes_in_use = 0;     // guarded by mutex; what other processes add is seen at the next survey
  std::optional<Diagnostic> warning;  // guarded by mutex

  struct Blob {
    fs::path path;
    std::uint64_t size = 0;
    fs::file_time_type used;
  };

  /// Every blob in the folder; removes temporaries whose writer died. Files of other names are not touched.
  std::vector<Blob> survey() const {
    std::vector<Blob> blobs;
    std::error_code error;
    const auto now = fs::file_time_type::clock::now();
    for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
      std::error_code gone;  // another process may remove it between two calls
      const fs::path& path = it->path();
      const auto used = it->last_write_time(gone);
      if (gone) continue;
      if (path.extension() == kTemporarySuffix) {
        if (now - used > kAbandoned) fs::remove(path, gone);
      } else if (path.extension() == kSuffix) {
        const auto size = it->file_size(gone);
        if (!gone) blobs.push_back({path, size, used});
      }
    }
    return blobs;
  }

  void make_room() {
    std::vector<Blob> blobs = survey();
    std::sort(blobs.begin(), blobs.end(), [](const Blob& a, const Blob& b) {
      return std::tie(a.used, a.path) < std::tie(b.used, b.path);
    });
    std::uint64_t total = 0;
    for (const Blob& blob : blobs) total += blob.size;
    const auto keep = static_cast<std::uint64_t>(kKeptShare * static_cast<double>(largest_bytes));
    for (const Blob& blob : blobs) {
      if (total <= keep) break;
      std::error_code gone;
      fs::remove(blob.path, gone);
      total -= blob.size;
    }
    bytes_in_use = total;
  }

  void warn(int error) {
    const std::lock_guard lock(mutex);
    if (!warning) warning = cache_warning(folder, error);
  }
};

DiskBlobStore::DiskBlobStore(std::unique_ptr<State> state) : state_(std::move(state)) {}
DiskBlobStore::~DiskBlobStore() = default;

Result<std::unique_ptr<DiskBlobStore>> DiskBlobStore::open(const fs::path& folder,
                                                           std::uint64_t largest_bytes) {
  if (auto made = make_folder(folder); !made) return tl::unexpected(made.error());
  if (::access(folder.c_str(), R_OK | W_OK | X_OK) != 0) {
    return tl::unexpected(Diagnostics{cache_warning(folder, errno)});
  }
  auto state = std::make_unique<State>();
  state->folder = folder;
  state->largest_bytes = largest_bytes;
  for (const State::Blob& blob : state->survey()) state->bytes_in_use += blob.size;
  return std::unique_ptr<DiskBlobStore>(new DiskBlobStore(std::move(state)));
}

fs::path DiskBlobStore::path_of(const Hash& key) const {
  return state_->folder / (key.hex() + std::string(kSuffix));
}

std::optional<Diagnostic> DiskBlobStore::warning() const {
  const std::lock_guard lock(state_->mutex);
  return state_->warning;
}

std::optional<std::vector<std::byte>> DiskBlobStore::get(const Hash& key) {
  const Descriptor file(::open(path_of(key).c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (!file) return std::nullopt;
  struct stat status = {};
  if (::fstat(file.get(), &status) != 0 || !S_ISREG(status.st_mode)) return std::nullopt;
  const auto size = static_cast<std::uint64_t>(status.st_size);
  const Header expected;
  Header header;
  if (size < sizeof header || !read_all(file.get(), &header, sizeof header)) return std::nullopt;
  // The length is compared with the file before anything is allocated by it.
  if (header.magic != expected.magic || header.key != key || header.length != size - sizeof header) {
    return std::nullopt;
  }
  std::vector<std::byte> bytes(header.length);
  if (!read_all(file.get(), bytes.data(), bytes.size())) return std::nullopt;
  if (hash_bytes(bytes) != header.checksum) return std::nullopt;
  ::futimens(file.get(), nullptr);  // used now; on failure it is only evicted earlier
  return bytes;
}

void DiskBlobStore::put(const Hash& key, std::span<const std::byte> bytes) {
  const std::uint64_t size = sizeof(Header) + bytes.size();
  if (size > state_->largest_bytes) return;
  Header header;
  header.key = key;
  header.length = bytes.size();
  header.checksum = hash_bytes(bytes);

  // Stores of one process may share a folder: the count is the process's.
  static std::atomic<unsigned> temporaries = 0;
  const fs::path temporary =
      state_->folder / fmt::format("{}-{}-{}{}", key.hex(), ::getpid(), temporaries++, kTemporarySuffix);
  Descriptor file(::open(temporary.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666));
  if (!file) return state_->warn(errno);
  // No fsync: what a power cut leaves behind fails the checksum and is a miss.
  const bool written = write_all(file.get(), std::as_bytes(std::span(&header, 1))) &&
                       write_all(file.get(), bytes) && file.close() &&
                       ::rename(temporary.c_str(), path_of(key).c_str()) == 0;
  if (!written) {
    const int error = errno;
    ::unlink(temporary.c_str());
    return state_->warn(error);
  }
  const std::lock_guard lock(state_->mutex);
  state_->bytes_in_use += size;
  if (state_->bytes_in_use > state_->largest_bytes) state_->make_room();
}

}  // namespace halflight::files
