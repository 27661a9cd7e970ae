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
#include <utility>

struct sqlite3;
struct sqlite3_stmt;

// The part of SQLite that the store needs, private to this module. Not safe for threads: the store guards it.

namespace halflight::store {

/// Thrown below the functions of ProjectStore, which give its diagnostics: nearly every line of a transaction
/// may fail, always with the same consequence.
struct Trouble {
  Diagnostics diagnostics;
};

/// Throws a Trouble of one error.
[[noreturn]] void fail(std::string file, std::string problem, std::string remedy);

/// An open connection to a database file. Throws Trouble, or std::bad_alloc.
class Database {
 public:
  /// Makes the file when absent. Nothing is written to one that exists.
  explicit Database(const std::filesystem::path& path);

  /// Statements without parameters; rows that they give are left aside.
  void run(const char* sql) const;
  /// The single value of a statement such as a pragma, as text.
  [[nodiscard]] std::string value_of(const char* sql) const;
  [[nodiscard]] std::int64_t last_key() const;  ///< of the newest row inserted
  [[nodiscard]] bool in_transaction() const;
  [[nodiscard]] sqlite3* handle() const { return handle_.get(); }
  [[nodiscard]] std::string file() const { return path_.string(); }

  /// The file still has its name. On a file that was removed or replaced, writing would go to nowhere.
  void check_in_place() const;
  /// `code` is the extended code of the call that just failed.
  [[noreturn]] void fail_with(int code) const;
  /// What is kept is not what was written; `what` reads "revision 3 of ...".
  [[noreturn]] void fail_damaged(std::string_view what) const;

 private:
  struct Close {
    void operator()(sqlite3* handle) const;
  };
  std::filesystem::path path_;
  std::unique_ptr<sqlite3, Close> handle_;
  std::pair<std::uint64_t, std::uint64_t> identity_;  // device and number of the file
};

/// A prepared statement with its parameters. Bytes that are bound must outlive it; text is copied.
class Statement {
 public:
  template <class... Values>
  explicit Statement(const Database& database, std::string_view sql, const Values&... values)
      : database_(database), handle_(prepare(database, sql)) {
    int place = 0;
    (bind(++place, values), ...);
  }

  /// True: a row is there.
  bool step();
  /// Of the row, from column 0.
  [[nodiscard]] bool is_null(int column) const;
  [[nodiscard]] std::int64_t integer(int column) const;
  [[nodiscard]] std::string text(int column) const;
  [[nodiscard]] files::Bytes bytes(int column) const;
  /// A hash that was bound as one; damage when it reads as none.
  [[nodiscard]] Hash hash(int column) const;

 private:
  struct Finalize {
    void operator()(sqlite3_stmt* handle) const;
  };
  using Handle = std::unique_ptr<sqlite3_stmt, Finalize>;
  static Handle prepare(const Database& database, std::string_view sql);
  void bind(int place, std::int64_t value);
  void bind(int place, std::string_view text);
  void bind(int place, std::span<const std::byte> bytes);
  void bind(int place, const Hash& hash);  // as its hexadecimal digits
  void bind(int place, const std::optional<std::int64_t>& value);
  void check(int code) const;

  const Database& database_;
  Handle handle_;
};

/// Runs a statement that gives no rows.
template <class... Values>
void run(const Database& database, std::string_view sql, const Values&... values) {
  Statement(database, sql, values...).step();
}

/// Undone at the end of its life unless it was committed.
class Transaction {
 public:
  enum class Kind { read, write };
  Transaction(const Database& database, Kind kind);
  ~Transaction();
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  void commit();

 private:
  const Database& database_;
};

}  // namespace halflight::store
