#include "store/store.hpp"

#include "store/sqlite.hpp"
#include "store/text_rules.hpp"

#include <algorithm>
#include <mutex>
#include <set>
#include <type_traits>

#include <fmt/format.h>
#include <zlib.h>

namespace halflight::store {

namespace fs = std::filesystem;

namespace {

/// Says that a database file is one of ours: "HLPS" (PRAGMA application_id).
constexpr std::string_view kApplicationId = "1212960851";
/// Raised with every change of the tables (PRAGMA user_version).
constexpr std::int64_t kFormat = 1;
constexpr std::int64_t kLatestTime_s = 253402300799;  // 9999-12-31T23:59:59Z

// A hash stands beside the reference to its content, so that also a damaged reference is noticed.
// Revisions, contents, files and issues are only ever added to. The triggers hold against other programs too,
// which may not have REPLACE run the triggers of DELETE: hence those before INSERT.
constexpr const char* kTables = R"(
CREATE TABLE projects(
  key INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  name TEXT NOT NULL,
  put_away INTEGER NOT NULL DEFAULT 0 CHECK(put_away IN (0, 1))) STRICT;
CREATE TABLE contents(
  key INTEGER PRIMARY KEY,
  size INTEGER NOT NULL CHECK(size >= 0),
  deflated BLOB NOT NULL) STRICT;
CREATE TABLE revisions(
  project INTEGER NOT NULL REFERENCES projects,
  number INTEGER NOT NULL,
  saved_at_s INTEGER NOT NULL,
  label TEXT NOT NULL,
  name TEXT NOT NULL,
  restores INTEGER,
  document INTEGER NOT NULL REFERENCES contents,
  document_hash TEXT NOT NULL,
  PRIMARY KEY(project, number),
  FOREIGN KEY(project, restores) REFERENCES revisions) STRICT, WITHOUT ROWID;
CREATE TABLE files(
  project INTEGER NOT NULL REFERENCES projects,
  path TEXT NOT NULL,
  version INTEGER NOT NULL CHECK(version >= 1),
  content INTEGER NOT NULL REFERENCES contents,
  hash TEXT NOT NULL,
  PRIMARY KEY(project, path, version)) STRICT, WITHOUT ROWID;
CREATE TABLE issues(
  project INTEGER NOT NULL,
  revision INTEGER NOT NULL,
  issued_by TEXT NOT NULL,
  at_s INTEGER NOT NULL,
  program_digest TEXT NOT NULL,
  results INTEGER NOT NULL REFERENCES contents,
  results_hash TEXT NOT NULL,
  PRIMARY KEY(project, revision),
  FOREIGN KEY(project, revision) REFERENCES revisions) STRICT, WITHOUT ROWID;
CREATE TABLE issue_files(
  project INTEGER NOT NULL,
  revision INTEGER NOT NULL,
  path TEXT NOT NULL,
  version INTEGER NOT NULL,
  PRIMARY KEY(project, revision, path),
  FOREIGN KEY(project, revision) REFERENCES revisions,
  FOREIGN KEY(project, path, version) REFERENCES files) STRICT, WITHOUT ROWID;

CREATE TRIGGER projects_stay BEFORE DELETE ON projects
  BEGIN SELECT RAISE(ABORT, 'a project is never deleted'); END;
CREATE TRIGGER projects_keep_their_id BEFORE UPDATE OF key, id ON projects
  BEGIN SELECT RAISE(ABORT, 'the id of a project never changes'); END;
CREATE TRIGGER projects_are_not_replaced BEFORE INSERT ON projects
  WHEN EXISTS(SELECT 1 FROM projects WHERE key = NEW.key OR id = NEW.id)
  BEGIN SELECT RAISE(ABORT, 'a project is never replaced'); END;

CREATE TRIGGER contents_stay BEFORE DELETE ON contents
  BEGIN SELECT RAISE(ABORT, 'content is never deleted'); END;
CREATE TRIGGER contents_do_not_change BEFORE UPDATE ON contents
  BEGIN SELECT RAISE(ABORT, 'content never changes'); END;
CREATE TRIGGER contents_are_not_replaced BEFORE INSERT ON contents
  WHEN EXISTS(SELECT 1 FROM contents WHERE key = NEW.key)
  BEGIN SELECT RAISE(ABORT, 'content is never replaced'); END;

CREATE TRIGGER revisions_stay BEFORE DELETE ON revisions
  BEGIN SELECT RAISE(ABORT, 'a revision is never deleted'); END;
CREATE TRIGGER revisions_do_not_change
  BEFORE UPDATE OF project, number, saved_at_s, label, restores, document, document_hash ON revisions
  BEGIN SELECT RAISE(ABORT, 'a revision never changes'); END;
CREATE TRIGGER issued_revisions_keep_their_name BEFORE UPDATE ON revisions
  WHEN EXISTS(SELECT 1 FROM issues WHERE project = OLD.project AND revision = OLD.number)
  BEGIN SELECT RAISE(ABORT, 'an issued revision never changes'); END;
CREATE TRIGGER revisions_are_numbered_without_gaps BEFORE INSERT ON revisions
  WHEN NEW.number <> 1 + coalesce((SELECT max(number) FROM revisions WHERE project = NEW.project), 0)
  BEGIN SELECT RAISE(ABORT, 'a revision follows the newest'); END;

CREATE TRIGGER files_stay BEFORE DELETE ON files
  BEGIN SELECT RAISE(ABORT, 'a version of a file is never deleted'); END;
CREATE TRIGGER files_do_not_change BEFORE UPDATE ON files
  BEGIN SELECT RAISE(ABORT, 'a version of a file never changes'); END;
CREATE TRIGGER files_are_not_replaced BEFORE INSERT ON files
  WHEN EXISTS(SELECT 1 FROM files WHERE project = NEW.project AND path = NEW.path AND version = NEW.version)
  BEGIN SELECT RAISE(ABORT, 'a version of a file is never replaced'); END;

CREATE TRIGGER issues_stay BEFORE DELETE ON issues
  BEGIN SELECT RAISE(ABORT, 'an issue is never deleted'); END;
CREATE TRIGGER issues_do_not_change BEFORE UPDATE ON issues
  BEGIN SELECT RAISE(ABORT, 'an issue never changes'); END;
CREATE TRIGGER issues_are_not_replaced BEFORE INSERT ON issues
  WHEN EXISTS(SELECT 1 FROM issues WHERE project = NEW.project AND revision = NEW.revision)
  BEGIN SELECT RAISE(ABORT, 'a revision is issued once'); END;

CREATE TRIGGER issue_files_stay BEFORE DELETE ON issue_files
  BEGIN SELECT RAISE(ABORT, 'a file of an issue is never deleted'); END;
CREATE TRIGGER issue_files_do_not_change BEFORE UPDATE ON issue_files
  BEGIN SELECT RAISE(ABORT, 'a file of an issue never changes'); END;
CREATE TRIGGER issue_files_come_before_the_issue BEFORE INSERT ON issue_files
  WHEN EXISTS(SELECT 1 FROM issues WHERE project = NEW.project AND revision = NEW.revision)
    OR EXISTS(SELECT 1 FROM issue_files
              WHERE project = NEW.project AND revision = NEW.revision AND path = NEW.path)
  BEGIN SELECT RAISE(ABORT, 'an issue gets no further files'); END;
)";

// --- what a caller may ask for ---

void require_text(std::string_view what, std::string_view text, bool may_be_empty) {
  if (text.empty() && !may_be_empty) fail("", fmt::format("{} is empty", what), "give a name");
  if (const auto problem = text_problem(text, kLongestText)) {
    fail("", fmt::format("{} {} {}", what, shown(text), *problem),
         fmt::format("give up to {} bytes of text without control characters", kLongestText));
  }
}

void require_time(std::int64_t at_s) {
  if (at_s < 0 || at_s > kLatestTime_s) {
    fail("", fmt::format("{} s is no time of saving", at_s),
         "give seconds since 1970-01-01 UTC, before the year 10000");
  }
}

void require_path(std::string_view path) {
  if (auto problem = path_problem(path)) throw Trouble{{std::move(*problem)}};
}

// --- bytes, compressed ---

/// Bytes as they are kept.
struct Content {
  Hash hash;
  std::uint64_t size = 0;
  Bytes deflated;
};

Content deflated(std::string_view what, std::span<const std::byte> bytes, std::uint64_t largest) {
  if (bytes.size() > largest) {
    fail("", fmt::format("{} has {} bytes", what, bytes.size()),
         fmt::format("up to {} bytes ({} MiB) are kept", largest, largest >> 20));
  }
  Content content{hash_bytes(bytes), bytes.size(), Bytes(compressBound(bytes.size()))};
  uLongf size = content.deflated.size();
  const int code =
      compress2(reinterpret_cast<Bytef*>(content.deflated.data()), &size,
                reinterpret_cast<const Bytef*>(bytes.data()), bytes.size(), Z_DEFAULT_COMPRESSION);
  if (code != Z_OK) throw std::bad_alloc();  // the only other outcome with room for the bound
  content.deflated.resize(size);
  return content;
}

/// Nothing when the bytes are not those that were kept.
std::optional<Bytes> inflated(const Content& content) {
  // A damaged size must not exhaust the memory: deflate saves at most a factor of 1032.
  if (content.size > kLargestResults || content.size / 1032 > content.deflated.size()) return std::nullopt;
  Bytes bytes(content.size);
  uLongf size = bytes.size();
  const int code =
      uncompress(reinterpret_cast<Bytef*>(bytes.data()), &size,
                 reinterpret_cast<const Bytef*>(content.deflated.data()), content.deflated.size());
  if (code == Z_MEM_ERROR) throw std::bad_alloc();
  if (code != Z_OK || size != content.size || hash_bytes(bytes) != content.hash) return std::nullopt;
  return bytes;
}

/// Where content is kept, and what it must be.
struct Reference {
  std::int64_t key = 0;
  Hash hash;
};

Reference insert(const Database& database, const Content& content) {
  run(database, "INSERT INTO contents(size, deflated) VALUES(?, ?)", static_cast<std::int64_t>(content.size),
      content.deflated);
  return {database.last_key(), content.hash};
}

/// Without its row, which only damage can take away, content that cannot be inflated.
Content content(const Database& database, const Reference& reference) {
  Statement row(database, "SELECT size, deflated FROM contents WHERE key = ?", reference.key);
  if (!row.step()) return {reference.hash, 0, {}};
  return {reference.hash, static_cast<std::uint64_t>(row.integer(0)), row.bytes(1)};
}

// --- rows ---

std::string name_of_revision(std::string_view id, std::int64_t number) {
  return fmt::format("revision {} of project {}", number, shown(id));
}

std::optional<std::int64_t> find_project(const Database& database, std::string_view id) {
  Statement row(database, "SELECT key FROM projects WHERE id = ?", id);
  if (!row.step()) return std::nullopt;
  return row.integer(0);
}

std::int64_t require_project(const Database& database, std::string_view id) {
  const auto key = find_project(database, id);
  if (!key)
    fail(database.file(), fmt::format("keeps no project {}", shown(id)),
         "give the id of a project that is kept");
  return *key;
}

std::vector<Project> read_projects(const Database& database, std::string_view only = {}) {
  Statement row(
      database,
      "SELECT p.id, p.name, p.put_away, r.number, r.saved_at_s FROM projects p LEFT JOIN revisions r "
      "ON r.project = p.key AND r.number = (SELECT max(number) FROM revisions WHERE project = p.key) "
      "WHERE ?1 = '' OR p.id = ?1 ORDER BY r.saved_at_s DESC, p.key DESC",
      only);
  std::vector<Project> projects;
  while (row.step()) {
    if (row.is_null(3)) database.fail_damaged(fmt::format("project {}", shown(row.text(0))));
    projects.push_back({row.text(0), row.text(1), row.integer(3), row.integer(4), row.integer(2) != 0});
  }
  return projects;
}

Project read_project(const Database& database, std::string_view id) {
  return read_projects(database, id).front();
}

std::vector<FileVersion> read_issue_files(const Database& database, std::int64_t project,
                                          std::int64_t revision) {
  Statement row(
      database,
      "SELECT i.path, f.hash, c.size FROM issue_files i JOIN files f USING(project, path, version) "
      "LEFT JOIN contents c ON c.key = f.content WHERE i.project = ? AND i.revision = ? ORDER BY i.path",
      project, revision);
  std::vector<FileVersion> files;
  while (row.step()) files.push_back({row.text(0), row.hash(1), static_cast<std::uint64_t>(row.integer(2))});
  return files;
}

enum class Order { newest_first, oldest_first };

/// Revisions numbered first to last, at most `limit` after the first `offset` of the order.
std::vector<Revision> read_revisions(const Database& database, std::int64_t project, std::int64_t first,
                                     std::int64_t last, Order order, std::int64_t limit,
                                     std::int64_t offset) {
  Statement row(
      database,
      fmt::format("SELECT r.number, r.saved_at_s, r.label, r.name, r.restores, r.document_hash, c.size, "
                  "i.issued_by, i.at_s, i.program_digest, i.results_hash, s.size FROM revisions r "
                  "LEFT JOIN contents c ON c.key = r.document "
                  "LEFT JOIN issues i ON i.project = r.project AND i.revision = r.number "
                  "LEFT JOIN contents s ON s.key = i.results "
                  "WHERE r.project = ? AND r.number BETWEEN ? AND ? ORDER BY r.number {} LIMIT ? OFFSET ?",
                  order == Order::newest_first ? "DESC" : "ASC"),
      project, first, last, limit, offset);
  std::vector<Revision> revisions;
  while (row.step()) {
    Revision& r = revisions.emplace_back();
    r.number = row.integer(0);
    r.saved_at_s = row.integer(1);
    r.label = row.text(2);
    r.name = row.text(3);
    if (!row.is_null(4)) r.restores = row.integer(4);
    r.document = row.hash(5);
    r.document_size = static_cast<std::uint64_t>(row.integer(6));
    if (row.is_null(7)) continue;
    r.issue = Issue{row.text(7),
                    row.integer(8),
                    row.text(9),
                    row.hash(10),
                    static_cast<std::uint64_t>(row.integer(11)),
                    read_issue_files(database, project, r.number)};
  }
  return revisions;
}

std::optional<Revision> find_revision(const Database& database, std::int64_t project, std::int64_t number) {
  auto found = read_revisions(database, project, number, number, Order::newest_first, 1, 0);
  if (found.empty()) return std::nullopt;
  return std::move(found.front());
}

Revision require_revision(const Database& database, std::int64_t project, std::string_view id,
                          std::int64_t number) {
  auto found = find_revision(database, project, number);
  if (!found) {
    fail(database.file(), fmt::format("keeps no {}", name_of_revision(id, number)),
         "give a number from 1 to that of the newest revision");
  }
  return std::move(*found);
}

std::int64_t head_of(const Database& database, std::int64_t project) {
  Statement row(database, "SELECT max(number) FROM revisions WHERE project = ?", project);
  row.step();
  return row.integer(0);
}

/// The key of the document of a revision that is kept, after a look whether it can still be read: what is
/// damaged shall not become the head again.
Reference require_document(const Database& database, std::int64_t project, std::string_view id,
                           std::int64_t number) {
  const Revision revision = require_revision(database, project, id, number);
  Statement row(database, "SELECT document FROM revisions WHERE project = ? AND number = ?", project, number);
  row.step();
  const Reference reference{row.integer(0), revision.document};
  if (!inflated(content(database, reference))) database.fail_damaged(name_of_revision(id, number));
  return reference;
}

void insert_revision(const Database& database, std::int64_t project, std::int64_t number,
                     const Reference& document, std::int64_t saved_at_s, const std::string& label,
                     const std::string& name, std::optional<std::int64_t> restores) {
  run(database,
      "INSERT INTO revisions(project, number, document, document_hash, saved_at_s, label, name, restores) "
      "VALUES(?, ?, ?, ?, ?, ?, ?, ?)",
      project, number, document.key, document.hash, saved_at_s, label, name, restores);
}

std::string insert_project(const Database& database, const std::string& name) {
  const std::string stem = id_from(name);
  std::string id = stem;
  for (int count = 2; find_project(database, id); ++count) id = fmt::format("{}-{}", stem, count);
  run(database, "INSERT INTO projects(id, name) VALUES(?, ?)", id, name);
  return id;
}

struct FileRow {
  std::int64_t version = 0;
  Reference content;
};

/// The newest version at a path, or the newest of those with a hash.
std::optional<FileRow> find_file(const Database& database, std::int64_t project, std::string_view path,
                                 const std::optional<Hash>& hash) {
  Statement row(database,
                "SELECT version, content, hash FROM files WHERE project = ?1 AND path = ?2 "
                "AND (?3 = '' OR hash = ?3) ORDER BY version DESC LIMIT 1",
                project, path, hash ? hash->hex() : std::string());
  if (!row.step()) return std::nullopt;
  return FileRow{row.integer(0), {row.integer(1), row.hash(2)}};
}

FileVersion insert_file(const Database& database, std::int64_t project, std::string_view path,
                        const Content& kept) {
  const FileVersion version{std::string(path), kept.hash, kept.size};
  const auto newest = find_file(database, project, path, std::nullopt);
  const auto same = find_file(database, project, path, kept.hash);
  // Bytes that are kept already need no second place, unless that place is damaged: then this heals it.
  const bool readable = same && inflated(content(database, same->content));
  if (readable && same->version == newest->version) return version;
  const Reference reference = readable ? same->content : insert(database, kept);
  run(database, "INSERT INTO files(project, path, version, content, hash) VALUES(?, ?, ?, ?, ?)", project,
      path, newest ? newest->version + 1 : 1, reference.key, reference.hash);
  return version;
}

template <class Function>
auto attempt(Function&& function) -> Result<std::invoke_result_t<Function>> {
  try {
    return function();
  } catch (Trouble& trouble) {
    return tl::unexpected(std::move(trouble.diagnostics));
  }
}

// --- opening ---

/// True for a database of this format, false for an empty one; everything else is refused.
bool is_ours(const Database& database) {
  const std::string application = database.value_of("PRAGMA application_id");
  const std::string format = database.value_of("PRAGMA user_version");
  if (application == "0" && format == "0" && database.value_of("SELECT count(*) FROM sqlite_schema") == "0") {
    return false;
  }
  if (application != kApplicationId) {
    fail(database.file(), "is a database of another program",
         "choose another path; the file was left as it is");
  }
  if (format != std::to_string(kFormat)) {
    fail(database.file(), fmt::format("has format {}, this program reads format {}", format, kFormat),
         "use the newer version of the program that wrote it; the file was left as it is");
  }
  return true;
}

void prepare(const Database& database) {
  for (const char* pragma : {
           "PRAGMA foreign_keys = ON",
           "PRAGMA synchronous = FULL",
           "PRAGMA temp_store = MEMORY",   // a full disk shall not stand in the way of reading
           "PRAGMA trusted_schema = OFF",  // the file may come from somebody else
           "PRAGMA cell_size_check = ON",  // find damage early
           "PRAGMA journal_size_limit = 67108864",
       }) {
    database.run(pragma);
  }
  const bool made = is_ours(database);
  if (database.value_of("PRAGMA journal_mode = WAL") != "wal") {
    fail(database.file(), "lies on a disk that cannot keep a write-ahead log",
         "choose a path on a disk of this machine");
  }
  if (made) return;
  Transaction transaction(database, Transaction::Kind::write);
  if (!is_ours(database)) {  // another process may have been quicker
    database.run(kTables);
    database.run(fmt::format("PRAGMA application_id = {}", kApplicationId).c_str());
    database.run(fmt::format("PRAGMA user_version = {}", kFormat).c_str());
  }
  transaction.commit();
}

}  // namespace

struct ProjectStore::State {
  explicit State(const fs::path& path) : database(path) { prepare(database); }

  /// What `function` reads in one transaction: all of one moment.
  template <class Function>
  auto read(Function&& function) {
    const std::lock_guard lock(mutex);
    Transaction transaction(database, Transaction::Kind::read);
    auto value = function();
    transaction.commit();
    return value;
  }

  /// What `function` writes in one transaction: all of it or nothing.
  template <class Function>
  auto write(Function&& function) {
    const std::lock_guard lock(mutex);
    Transaction transaction(database, Transaction::Kind::write);
    auto value = function();
    database.check_in_place();
    transaction.commit();
    return value;
  }

  /// Appends with `insert_next(project, number)` if `base` is the head.
  template <class Function>
  Appended append(std::string_view id, std::int64_t base, Function&& insert_next) {
    return write([&]() -> Appended {
      const std::int64_t project = require_project(database, id);
      const std::int64_t head = head_of(database, project);
      if (base != head) {
        if (base > head) return Conflict{head, {}};
        return Conflict{head,
                        read_revisions(database, project, base + 1, head, Order::oldest_first, head, 0)};
      }
      insert_next(project, head + 1);
      return require_revision(database, project, id, head + 1);
    });
  }

  /// The bytes that `find` gives the content of, checked.
  template <class Function>
  std::optional<Bytes> read_bytes(std::string_view what, Function&& find) {
    const std::optional<Content> kept = read(find);
    if (!kept) return std::nullopt;
    auto bytes = inflated(*kept);
    if (!bytes) database.fail_damaged(what);
    return bytes;
  }

  std::optional<KeptFile> read_file(std::string_view id, std::string_view path,
                                    const std::optional<Hash>& hash) {
    FileVersion version;
    auto bytes = read_bytes(
        fmt::format("file {} of project {}", shown(path), shown(id)), [&]() -> std::optional<Content> {
          const auto project = find_project(database, id);
          const auto found = project ? find_file(database, *project, path, hash) : std::nullopt;
          if (!found) return std::nullopt;
          Content kept = content(database, found->content);
          version = {std::string(path), kept.hash, kept.size};
          return kept;
        });
    if (!bytes) return std::nullopt;
    return KeptFile{std::move(version), std::move(*bytes)};
  }

  const Database database;
  std::mutex mutex;  // guards the connection
};

ProjectStore::ProjectStore(std::unique_ptr<State> state) : state_(std::move(state)) {}
ProjectStore::~ProjectStore() = default;

Result<std::unique_ptr<ProjectStore>> ProjectStore::open(const fs::path& asked_path) {
  return attempt([&] {
    std::error_code error;
    // An absolute path also keeps SQLite from reading a meaning into names like ":memory:".
    const fs::path path = fs::absolute(asked_path, error);
    if (error || !path.has_filename())
      fail(asked_path.string(), "is no path of a file", "give the path of the database, such as projects.db");
    if (auto made = files::make_folder(path.parent_path()); !made) throw Trouble{made.error()};
    const fs::file_status status = fs::status(path, error);
    if (fs::is_directory(status)) fail(path.string(), "is a folder", "give the path of a file in it");
    if (fs::exists(status) && !fs::is_regular_file(status))
      fail(path.string(), "is not a regular file", "choose another path");
    // SQLite takes a file of one byte for an empty one and would write over it.
    if (fs::exists(status) && fs::file_size(path, error) == 1)
      fail(path.string(), "is not a database of projects", "choose another path; the file was left as it is");
    return std::unique_ptr<ProjectStore>(new ProjectStore(std::make_unique<State>(path)));
  });
}

// --- projects ---

Result<std::vector<Project>> ProjectStore::projects() const {
  return attempt([&] { return state_->read([&] { return read_projects(state_->database); }); });
}

Result<std::optional<Project>> ProjectStore::project(std::string_view id) const {
  return attempt([&] {
    return state_->read([&]() -> std::optional<Project> {
      if (!find_project(state_->database, id)) return std::nullopt;
      return read_project(state_->database, id);
    });
  });
}

Result<Project> ProjectStore::create_project(const std::string& name, const NewRevision& first,
                                             std::span<const NewFile> files) {
  return attempt([&] {
    require_text("the name of a project", name, false);
    require_text("the label of a revision", first.label, true);
    require_text("the name of a revision", first.name, true);
    require_time(first.saved_at_s);
    const Content document = deflated("a document", first.document, kLargestDocument);
    std::vector<Content> kept;
    for (const NewFile& file : files) {
      require_path(file.path);
      kept.push_back(deflated(fmt::format("file {}", shown(file.path)), file.bytes, kLargestFile));
    }
    return state_->write([&] {
      const Database& database = state_->database;
      const std::string id = insert_project(database, name);
      const std::int64_t project = require_project(database, id);
      insert_revision(database, project, 1, insert(database, document), first.saved_at_s, first.label,
                      first.name, std::nullopt);
      for (std::size_t i = 0; i < files.size(); ++i) insert_file(database, project, files[i].path, kept[i]);
      return read_project(database, id);
    });
  });
}

Result<Project> ProjectStore::copy_project(std::string_view id, std::int64_t number, const std::string& name,
                                           const std::string& label, std::int64_t saved_at_s) {
  return attempt([&] {
    require_text("the name of a project", name, false);
    require_text("the label of a revision", label, true);
    require_time(saved_at_s);
    return state_->write([&] {
      const Database& database = state_->database;
      const std::int64_t original = require_project(database, id);
      const Reference document = require_document(database, original, id, number);
      const std::string copy_id = insert_project(database, name);
      const std::int64_t copy = require_project(database, copy_id);
      insert_revision(database, copy, 1, document, saved_at_s, label, "", std::nullopt);
      run(database,
          "INSERT INTO files(project, path, version, content, hash) "
          "SELECT ?, path, version, content, hash FROM files WHERE project = ?",
          copy, original);
      return read_project(database, copy_id);
    });
  });
}

Result<Project> ProjectStore::rename_project(std::string_view id, const std::string& name) {
  return attempt([&] {
    require_text("the name of a project", name, false);
    return state_->write([&] {
      const std::int64_t project = require_project(state_->database, id);
      run(state_->database, "UPDATE projects SET name = ? WHERE key = ?", name, project);
      return read_project(state_->database, id);
    });
  });
}

Result<Project> ProjectStore::put_away(std::string_view id, bool away) {
  return attempt([&] {
    return state_->write([&] {
      const std::int64_t project = require_project(state_->database, id);
      run(state_->database, "UPDATE projects SET put_away = ? WHERE key = ?", std::int64_t{away}, project);
      return read_project(state_->database, id);
    });
  });
}

// --- revisions ---

Result<std::vector<Revision>> ProjectStore::revisions(std::string_view id, std::int64_t limit,
                                                      std::int64_t offset) const {
  return attempt([&] {
    if (limit < 0 || offset < 0) {
      fail("", fmt::format("{} revisions after {} cannot be listed", limit, offset),
           "give a limit and an offset of 0 or more");
    }
    return state_->read([&]() -> std::vector<Revision> {
      const auto project = find_project(state_->database, id);
      if (!project) return {};
      const std::int64_t head = head_of(state_->database, *project);
      return read_revisions(state_->database, *project, 1, head, Order::newest_first, limit, offset);
    });
  });
}

Result<std::optional<Revision>> ProjectStore::revision(std::string_view id, std::int64_t number) const {
  return attempt([&] {
    return state_->read([&]() -> std::optional<Revision> {
      const auto project = find_project(state_->database, id);
      return project ? find_revision(state_->database, *project, number) : std::nullopt;
    });
  });
}

Result<std::optional<Bytes>> ProjectStore::document(std::string_view id, std::int64_t number) const {
  return attempt([&] {
    return state_->read_bytes(name_of_revision(id, number), [&]() -> std::optional<Content> {
      Statement row(
          state_->database,
          "SELECT r.document, r.document_hash FROM revisions r JOIN projects p ON p.key = r.project "
          "WHERE p.id = ? AND r.number = ?",
          id, number);
      if (!row.step()) return std::nullopt;
      return content(state_->database, {row.integer(0), row.hash(1)});
    });
  });
}

Result<Appended> ProjectStore::append(std::string_view id, std::int64_t base, const NewRevision& revision) {
  return attempt([&] {
    require_text("the label of a revision", revision.label, true);
    require_text("the name of a revision", revision.name, true);
    require_time(revision.saved_at_s);
    const Content document = deflated("a document", revision.document, kLargestDocument);
    return state_->append(id, base, [&](std::int64_t project, std::int64_t next) {
      insert_revision(state_->database, project, next, insert(state_->database, document),
                      revision.saved_at_s, revision.label, revision.name, std::nullopt);
    });
  });
}

Result<Appended> ProjectStore::restore(std::string_view id, std::int64_t base, std::int64_t number,
                                       const std::string& label, std::int64_t saved_at_s) {
  return attempt([&] {
    require_text("the label of a revision", label, true);
    require_time(saved_at_s);
    return state_->append(id, base, [&](std::int64_t project, std::int64_t next) {
      insert_revision(state_->database, project, next,
                      require_document(state_->database, project, id, number), saved_at_s, label, "", number);
    });
  });
}

Result<Revision> ProjectStore::rename_revision(std::string_view id, std::int64_t number,
                                               const std::string& name) {
  return attempt([&] {
    require_text("the name of a revision", name, true);
    return state_->write([&] {
      const Database& database = state_->database;
      const std::int64_t project = require_project(database, id);
      if (require_revision(database, project, id, number).issue) {
        fail(database.file(), fmt::format("{} is issued and keeps its name", name_of_revision(id, number)),
             "restore it as a new revision and name that");
      }
      run(database, "UPDATE revisions SET name = ? WHERE project = ? AND number = ?", name, project, number);
      return require_revision(database, project, id, number);
    });
  });
}

Result<Revision> ProjectStore::issue(std::string_view id, std::int64_t number, const NewIssue& issue) {
  return attempt([&] {
    require_text("the name of who issues", issue.by, false);
    require_text("the digest of the program", issue.program_digest, false);
    require_time(issue.at_s);
    const Content results = deflated("the results", issue.results, kLargestResults);
    return state_->write([&] {
      const Database& database = state_->database;
      const std::int64_t project = require_project(database, id);
      if (require_revision(database, project, id, number).issue) {
        fail(database.file(), fmt::format("{} is issued already", name_of_revision(id, number)),
             "save the change as a new revision and issue that");
      }
      require_document(database, project, id, number);
      std::set<std::string_view> seen;
      for (const FileReference& file : issue.files) {
        const auto kept = find_file(database, project, file.path, file.hash);
        if (!kept) {
          fail(database.file(),
               fmt::format("keeps no file {} with the hash {} in project {}", shown(file.path),
                           file.hash.hex(), shown(id)),
               "put the file into the project first");
        }
        if (!seen.insert(file.path).second)
          fail("", fmt::format("file {} is named twice", shown(file.path)), "name each file once");
        if (!inflated(content(database, kept->content)))
          database.fail_damaged(fmt::format("file {} of project {}", shown(file.path), shown(id)));
        run(database, "INSERT INTO issue_files(project, revision, path, version) VALUES(?, ?, ?, ?)", project,
            number, file.path, kept->version);
      }
      run(database,
          "INSERT INTO issues(project, revision, issued_by, at_s, program_digest, results, results_hash) "
          "VALUES(?, ?, ?, ?, ?, ?, ?)",
          project, number, issue.by, issue.at_s, issue.program_digest, insert(database, results).key,
          results.hash);
      return require_revision(database, project, id, number);
    });
  });
}

Result<std::optional<Bytes>> ProjectStore::issued_results(std::string_view id, std::int64_t number) const {
  return attempt([&] {
    return state_->read_bytes(
        "the results of " + name_of_revision(id, number), [&]() -> std::optional<Content> {
          Statement row(state_->database,
                        "SELECT i.results, i.results_hash FROM issues i JOIN projects p ON p.key = i.project "
                        "WHERE p.id = ? AND i.revision = ?",
                        id, number);
          if (!row.step()) return std::nullopt;
          return content(state_->database, {row.integer(0), row.hash(1)});
        });
  });
}

// --- files that documents refer to ---

Result<std::vector<FileVersion>> ProjectStore::files(std::string_view id) const {
  return attempt([&] {
    return state_->read([&] {
      Statement row(
          state_->database,
          "SELECT f.path, f.hash, c.size FROM files f JOIN projects p ON p.key = f.project "
          "LEFT JOIN contents c ON c.key = f.content WHERE p.id = ? AND f.version = "
          "(SELECT max(version) FROM files WHERE project = f.project AND path = f.path) ORDER BY f.path",
          id);
      std::vector<FileVersion> files;
      while (row.step())
        files.push_back({row.text(0), row.hash(1), static_cast<std::uint64_t>(row.integer(2))});
      return files;
    });
  });
}

Result<FileVersion> ProjectStore::put_file(std::string_view id, const NewFile& file) {
  return attempt([&] {
    require_path(file.path);
    const Content kept = deflated(fmt::format("file {}", shown(file.path)), file.bytes, kLargestFile);
    return state_->write([&] {
      const std::int64_t project = require_project(state_->database, id);
      return insert_file(state_->database, project, file.path, kept);
    });
  });
}

Result<std::optional<KeptFile>> ProjectStore::file(std::string_view id, std::string_view path) const {
  return attempt([&] { return state_->read_file(id, path, std::nullopt); });
}

Result<std::optional<KeptFile>> ProjectStore::file(std::string_view id, std::string_view path,
                                                   const Hash& hash) const {
  return attempt([&] { return state_->read_file(id, path, hash); });
}

}  // namespace halflight::store
