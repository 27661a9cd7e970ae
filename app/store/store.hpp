#pragma once
#include "base/diagnostic.hpp"
#include "base/hash.hpp"
#include "files/file.hpp"

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

// Where the service keeps projects: one database file with every revision that was ever acknowledged
// (docs/formats/store.md).

namespace halflight::store {

using files::Bytes;

inline constexpr std::uint64_t kLargestDocument = std::uint64_t{64} << 20;  ///< bytes
inline constexpr std::uint64_t kLargestFile = std::uint64_t{64} << 20;      ///< bytes
inline constexpr std::uint64_t kLargestResults = std::uint64_t{256} << 20;  ///< bytes
/// Longest name, label or signature, bytes of UTF-8.
inline constexpr std::size_t kLongestText = 200;
/// Longest relative path of a file, bytes of UTF-8.
inline constexpr std::size_t kLongestPath = 200;
/// How long a call waits for another process that is writing, ms.
inline constexpr int kLongestWait_ms = 2000;

struct Project {
  std::string id;         ///< [a-z0-9] and single '-' between; made from the first name, never changes
  std::string name;       ///< as a person gave it
  std::int64_t head = 0;  ///< number of the newest revision, at least 1
  std::int64_t head_saved_at_s = 0;
  bool put_away = false;  ///< hidden from everyday lists; nothing else differs
};

/// One version of a file that documents refer to by relative path.
struct FileVersion {
  std::string path;
  Hash hash;
  std::uint64_t size = 0;  ///< bytes
  friend bool operator==(const FileVersion&, const FileVersion&) = default;
};

struct KeptFile {
  FileVersion version;
  Bytes bytes;
};

/// That a revision was issued: from then on it, its name and its results are frozen.
struct Issue {
  std::string by;
  std::int64_t at_s = 0;           ///< seconds since 1970-01-01 UTC
  std::string program_digest;      ///< program and library that made the results (files::program_digest)
  Hash results;                    ///< of the bytes that issued_results gives
  std::uint64_t results_size = 0;  ///< bytes
  std::vector<FileVersion> files;  ///< every file the revision refers to, by path
};

/// A revision without its document.
struct Revision {
  std::int64_t number = 0;               ///< 1 for the first of a project, then without gaps
  std::int64_t saved_at_s = 0;           ///< seconds since 1970-01-01 UTC
  std::string label;                     ///< what the edit did: "move 3 luminaires"
  std::string name;                      ///< given by hand; may be empty
  std::optional<std::int64_t> restores;  ///< the older revision whose document it holds again
  Hash document;
  std::uint64_t document_size = 0;  ///< bytes
  std::optional<Issue> issue;
};

struct NewRevision {
  std::span<const std::byte>
      document;                 ///< kept to the last byte and not looked into; at most kLargestDocument
  std::int64_t saved_at_s = 0;  ///< seconds since 1970-01-01 UTC, before the year 10000
  std::string label;
  std::string name;
};

struct NewFile {
  std::string path;
  std::span<const std::byte> bytes;  ///< at most kLargestFile
};

/// A version of a file, as a revision refers to it.
struct FileReference {
  std::string path;
  Hash hash;
};

struct NewIssue {
  std::string by;  ///< who stands behind it; not empty
  std::int64_t at_s = 0;
  std::string program_digest;
  std::span<const std::byte> results;  ///< the study as JSON; at most kLargestResults
  std::vector<FileReference> files;    ///< each must be kept in the project
};

/// The edit was made from a revision that is no longer the newest. Nothing was written.
struct Conflict {
  std::int64_t head = 0;
  std::vector<Revision>
      since;  ///< revisions after the base, oldest first; empty when the base is beyond the head
};

/// The revision as it was kept, or why it was not.
using Appended = std::variant<Revision, Conflict>;

/// Nothing if `path` may name a file of a project; else what is wrong. A path is relative, with '/' between
/// components, none of them empty, "." or ".."; no backslash, no drive letter, no control characters, valid
/// UTF-8, 1 to kLongestPath bytes.
std::optional<Diagnostic> path_problem(std::string_view path);

/// Projects with all their revisions and files, in one SQLite database (write-ahead log, every commit forced
/// to the disk). When a writing call has returned a value, what it wrote survives the death of the process
/// and of the machine; when it returned diagnostics, nothing of it was written. Nothing is ever deleted.
///
/// Every function may be called from any thread, and several processes may hold the same file. Do not carry a
/// store through fork().
///
/// Texts (names, labels) are kept as they are, quotes and markup too; control characters, invalid UTF-8 and
/// more than kLongestText bytes are refused. What is read again is compared with its hash: damage gives
/// diagnostics, never wrong bytes. Where a function gives an optional, nothing means that no such thing is
/// kept; functions that write give diagnostics for an unknown project or revision.
class ProjectStore {
 public:
  /// Opens the database, or makes it and its folder when absent. Diagnostics when the file is something else,
  /// of a newer format, damaged, read-only, or locked by another process for longer than kLongestWait_ms.
  static Result<std::unique_ptr<ProjectStore>> open(const std::filesystem::path& path);
  ~ProjectStore();
  ProjectStore(const ProjectStore&) = delete;
  ProjectStore& operator=(const ProjectStore&) = delete;

  // --- projects ---

  /// All of them, also those put away; most recently saved first.
  [[nodiscard]] Result<std::vector<Project>> projects() const;
  [[nodiscard]] Result<std::optional<Project>> project(std::string_view id) const;
  /// A project whose revision 1 is `first`, with its files, all or nothing. The name must not be empty.
  Result<Project> create_project(const std::string& name, const NewRevision& first,
                                 std::span<const NewFile> files = {});
  /// A new project whose revision 1 holds the document of revision `number` of `id`, with every version of
  /// every file of that project.
  Result<Project> copy_project(std::string_view id, std::int64_t number, const std::string& name,
                               const std::string& label, std::int64_t saved_at_s);
  Result<Project> rename_project(std::string_view id, const std::string& name);
  Result<Project> put_away(std::string_view id, bool away);

  // --- revisions ---

  /// Newest first, `limit` of them after leaving out the newest `offset`. An unknown project has none.
  [[nodiscard]] Result<std::vector<Revision>> revisions(std::string_view id, std::int64_t limit,
                                                        std::int64_t offset = 0) const;
  [[nodiscard]] Result<std::optional<Revision>> revision(std::string_view id, std::int64_t number) const;
  [[nodiscard]] Result<std::optional<Bytes>> document(std::string_view id, std::int64_t number) const;
  /// Keeps `revision` as number base + 1 if `base` is the newest, in one step for all threads and processes.
  Result<Appended> append(std::string_view id, std::int64_t base, const NewRevision& revision);
  /// Keeps the document of revision `number` once more, as number base + 1, if `base` is the newest. Needs no
  /// further room for the document.
  Result<Appended> restore(std::string_view id, std::int64_t base, std::int64_t number,
                           const std::string& label, std::int64_t saved_at_s);
  /// An empty name takes the name away. Refused once the revision is issued.
  Result<Revision> rename_revision(std::string_view id, std::int64_t number, const std::string& name);
  /// Freezes a revision with its results. A revision is issued once.
  Result<Revision> issue(std::string_view id, std::int64_t number, const NewIssue& issue);
  [[nodiscard]] Result<std::optional<Bytes>> issued_results(std::string_view id, std::int64_t number) const;

  // --- files that documents refer to ---

  /// The newest version of every file, by path.
  [[nodiscard]] Result<std::vector<FileVersion>> files(std::string_view id) const;
  /// Keeps `bytes` as the newest version at `path`; older versions stay. Bytes that are the newest already
  /// are not kept twice.
  Result<FileVersion> put_file(std::string_view id, const NewFile& file);
  /// The newest version at `path`.
  [[nodiscard]] Result<std::optional<KeptFile>> file(std::string_view id, std::string_view path) const;
  /// The version at `path` with this hash, be it old or new.
  [[nodiscard]] Result<std::optional<KeptFile>> file(std::string_view id, std::string_view path,
                                                     const Hash& hash) const;

 private:
  struct State;
  explicit ProjectStore(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace halflight::store
