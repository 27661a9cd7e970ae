#include "store/sqlite.hpp"

#include "store/store.hpp"

#include <cerrno>
#include <charconv>
#include <new>
#include <system_error>

#include <fmt/format.h>
#include <sqlite3.h>
#include <sys/stat.h>

namespace halflight::store {

namespace {

std::optional<std::pair<std::uint64_t, std::uint64_t>> identity_of(const std::filesystem::path& path) {
  struct stat status = {};
  if (::stat(path.c_str(), &status) != 0) return std::nullopt;
  return std::pair<std::uint64_t, std::uint64_t>(status.st_dev, status.st_ino);
}

bool is_full(int code, int system_error) {
  if ((code & 0xFF) == SQLITE_FULL) return true;
  return (code & 0xFF) == SQLITE_IOERR &&
         (system_error == ENOSPC || system_error == EDQUOT || system_error == EFBIG);
}

std::string with_reason(std::string_view problem, int system_error) {
  if (system_error == 0) return std::string(problem);
  return fmt::format("{}: {}", problem, std::generic_category().message(system_error));
}

}  // namespace

void fail(std::string file, std::string problem, std::string remedy) {
  throw Trouble{{{Diagnostic::Severity::error, std::move(file), "", std::move(problem), std::move(remedy)}}};
}

void Database::Close::operator()(sqlite3* handle) const { sqlite3_close(handle); }
void Statement::Finalize::operator()(sqlite3_stmt* handle) const { sqlite3_finalize(handle); }

Database::Database(const std::filesystem::path& path) : path_(path) {
  sqlite3* handle = nullptr;
  errno = 0;
  // The store's mutex guards the connection, so SQLite's own is left out.
  const int code = sqlite3_open_v2(
      path.c_str(), &handle,
      SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, nullptr);
  handle_.reset(handle);  // also a connection that failed must be closed
  if (handle == nullptr) throw std::bad_alloc();
  if (code != SQLITE_OK) fail_with(code);
  // A file without permission to write is opened for reading only, without a word.
  if (sqlite3_db_readonly(handle, "main") == 1) fail_with(SQLITE_READONLY);
  sqlite3_busy_timeout(handle, kLongestWait_ms);
  const auto identity = identity_of(path);
  if (!identity) fail_with(SQLITE_READONLY_DBMOVED);
  identity_ = *identity;
}

void Database::run(const char* sql) const {
  errno = 0;
  const int code = sqlite3_exec(handle(), sql, nullptr, nullptr, nullptr);
  if (code != SQLITE_OK) fail_with(code);
}

std::string Database::value_of(const char* sql) const {
  Statement statement(*this, sql);
  return statement.step() ? statement.text(0) : std::string();
}

std::int64_t Database::last_key() const { return sqlite3_last_insert_rowid(handle()); }
bool Database::in_transaction() const { return sqlite3_get_autocommit(handle()) == 0; }

void Database::check_in_place() const {
  const auto identity = identity_of(path_);
  if (!identity || *identity != identity_) fail_with(SQLITE_READONLY_DBMOVED);
}

void Database::fail_damaged(std::string_view what) const {
  fail(file(), fmt::format("{} is damaged: what is kept is not what was written", what),
       "keep a copy of the file and bring back the latest backup; other revisions and files can still be "
       "read");
}

void Database::fail_with(int code) const {
  const int system_error = errno;  // SQLite's own memory of it misses what fails at the end of a transaction
  if (is_full(code, system_error)) {
    fail(file(), "there is no room left to write",
         "make room on that disk and save again; all that was saved before is safe, nothing of this change "
         "was written");
  }
  if (code == SQLITE_READONLY_DBMOVED) {
    fail(file(), "was moved, replaced or removed while it was open",
         "put it back and start again; nothing of this change was written");
  }
  switch (code & 0xFF) {
    case SQLITE_NOMEM:
      throw std::bad_alloc();
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      fail(file(), fmt::format("is locked by another program, for more than {} s", kLongestWait_ms / 1000),
           "close what else has this file open, such as a second service, a backup or a database tool, and "
           "try again; all that was saved before is safe, nothing of this change was written");
    case SQLITE_READONLY:
    case SQLITE_PERM:
      fail(file(), "cannot be written to",
           "give yourself the permission to write to the file and its folder, or choose another place; all "
           "that was saved before is safe");
    case SQLITE_CANTOPEN:
      fail(file(), with_reason("cannot be opened, or the files beside it", system_error),
           "check the path and the permissions of the file and its folder");
    case SQLITE_NOTADB:
      fail(file(), "is not a database of projects", "choose another path; the file was left as it is");
    case SQLITE_IOERR:
      fail(file(), with_reason("the disk failed", system_error),
           "check the disk and its connection; all that was saved before stays, nothing of this change is "
           "promised");
    default:
      // CORRUPT, and what only a damaged or foreign schema can bring about.
      fail(file(), fmt::format("is damaged ({})", sqlite3_errmsg(handle())),
           "keep a copy of the file and bring back the latest backup");
  }
}

Statement::Handle Statement::prepare(const Database& database, std::string_view sql) {
  sqlite3_stmt* handle = nullptr;
  const int code =
      sqlite3_prepare_v2(database.handle(), sql.data(), static_cast<int>(sql.size()), &handle, nullptr);
  if (code != SQLITE_OK) database.fail_with(code);
  return Handle(handle);
}

void Statement::check(int code) const {
  if (code != SQLITE_OK) database_.fail_with(code);
}

void Statement::bind(int place, std::int64_t value) {
  check(sqlite3_bind_int64(handle_.get(), place, value));
}
void Statement::bind(int place, const std::optional<std::int64_t>& value) {
  if (value) {
    bind(place, *value);
  } else {
    check(sqlite3_bind_null(handle_.get(), place));
  }
}
void Statement::bind(int place, std::string_view text) {
  // A null pointer would be bound as NULL and not as empty text.
  const char* data = text.empty() ? "" : text.data();
  check(sqlite3_bind_text64(handle_.get(), place, data, text.size(), SQLITE_TRANSIENT, SQLITE_UTF8));
}
void Statement::bind(int place, std::span<const std::byte> bytes) {
  check(sqlite3_bind_blob64(handle_.get(), place, bytes.data(), bytes.size(), SQLITE_STATIC));
}
void Statement::bind(int place, const Hash& hash) { bind(place, hash.hex()); }

bool Statement::step() {
  errno = 0;
  const int code = sqlite3_step(handle_.get());
  if (code != SQLITE_ROW && code != SQLITE_DONE) database_.fail_with(code);
  return code == SQLITE_ROW;
}

bool Statement::is_null(int column) const {
  return sqlite3_column_type(handle_.get(), column) == SQLITE_NULL;
}
std::int64_t Statement::integer(int column) const { return sqlite3_column_int64(handle_.get(), column); }
std::string Statement::text(int column) const {
  const auto* data = reinterpret_cast<const char*>(sqlite3_column_text(handle_.get(), column));
  const int size = sqlite3_column_bytes(handle_.get(), column);
  return data == nullptr ? std::string() : std::string(data, static_cast<std::size_t>(size));
}
files::Bytes Statement::bytes(int column) const {
  const auto* data = static_cast<const std::byte*>(sqlite3_column_blob(handle_.get(), column));
  const int size = sqlite3_column_bytes(handle_.get(), column);
  return data == nullptr ? files::Bytes() : files::Bytes(data, data + size);
}
Hash Statement::hash(int column) const {
  const std::string digits = text(column);
  Hash hash;
  const char* const middle = digits.data() + digits.size() / 2;
  const char* const end = digits.data() + digits.size();
  const auto high = std::from_chars(digits.data(), middle, hash.high, 16);
  const auto low = std::from_chars(middle, end, hash.low, 16);
  if (hash.hex() != digits || high.ptr != middle || low.ptr != end) database_.fail_damaged("a hash");
  return hash;
}

Transaction::Transaction(const Database& database, Kind kind) : database_(database) {
  database.run(kind == Kind::write ? "BEGIN IMMEDIATE" : "BEGIN");
}
Transaction::~Transaction() {
  // A full disk makes SQLite undo the transaction by itself. When undoing fails there is nothing left to do:
  // what was not committed does not count when the file is opened again.
  if (database_.in_transaction()) sqlite3_exec(database_.handle(), "ROLLBACK", nullptr, nullptr, nullptr);
}
void Transaction::commit() { database_.run("COMMIT"); }

}  // namespace halflight::store
