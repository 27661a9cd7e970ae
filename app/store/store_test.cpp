#include "store/store.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <barrier>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <fstream>
#include <future>
#include <memory>
#include <stdexcept>
#include <thread>

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sched.h>
#include <sqlite3.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

namespace {
std::atomic<int> syncs = 0;
std::atomic<bool> sync_fails = false;

int sync_or_fail(long call, int fd) {
  ++syncs;
  if (sync_fails) {
    errno = EIO;
    return -1;
  }
  return static_cast<int>(::syscall(call, fd));
}
}  // namespace

// SQLite's calls come here, because a program's own functions go before those of shared libraries.
extern "C" int fdatasync(int fd) { return sync_or_fail(SYS_fdatasync, fd); }
extern "C" int fsync(int fd) { return sync_or_fail(SYS_fsync, fd); }

namespace halflight::store {
namespace {

namespace fs = std::filesystem;
using files::as_bytes;
using files::as_text;

template <class T>
T must(Result<T> result) {
  if (!result) throw std::runtime_error(to_text(result.error().front()));
  return std::move(*result);
}

template <class T>
Diagnostic refused(const Result<T>& result) {
  if (result) return {Diagnostic::Severity::warning, "", "", "nothing was refused", ""};
  return result.error().front();
}

void expect_says(const Diagnostic& diagnostic, std::string_view part) {
  const std::string said = to_text(diagnostic);
  EXPECT_NE(said.find(part), std::string::npos) << said << "\n  should say: " << part;
  EXPECT_FALSE(diagnostic.remedy.empty()) << said;
}
#define EXPECT_SAYS(diagnostic, part) \
  do {                                \
    SCOPED_TRACE("");                 \
    expect_says((diagnostic), part);  \
  } while (false)

Revision kept(Result<Appended> appended) {
  const Appended outcome = must(std::move(appended));
  if (const auto* conflict = std::get_if<Conflict>(&outcome))
    throw std::runtime_error("conflict with head " + std::to_string(conflict->head));
  return std::get<Revision>(outcome);
}

NewRevision edit(std::string_view document, std::string label = "edit", std::int64_t saved_at_s = 1'000) {
  return {as_bytes(document), saved_at_s, std::move(label), ""};
}

/// Does not compress, so that it takes its room.
std::string noise(std::size_t size, std::uint64_t seed) {
  std::string text(size, '\0');
  for (char& c : text) {
    seed = seed * 6364136223846793005U + 1442695040888963407U;
    c = static_cast<char>(seed >> 56U);
  }
  return text;
}

std::string document_of(const ProjectStore& store, std::string_view id, std::int64_t number) {
  const auto bytes = store.document(id, number);
  if (!bytes) return to_text(bytes.error().front());
  return *bytes ? std::string(as_text(**bytes)) : "no such revision";
}

std::string contents_of(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// The database as another program sees it.
class Raw {
 public:
  explicit Raw(const fs::path& path) {
    if (sqlite3_open(path.c_str(), &handle_) != SQLITE_OK) throw std::runtime_error("raw");
  }
  Raw(const Raw&) = delete;
  Raw& operator=(const Raw&) = delete;
  ~Raw() { sqlite3_close(handle_); }
  /// "", or why not.
  [[nodiscard]] std::string run(const std::string& sql) const {
    char* message = nullptr;
    const int code = sqlite3_exec(handle_, sql.c_str(), nullptr, nullptr, &message);
    std::string text = message != nullptr ? message : "";
    sqlite3_free(message);
    return code == SQLITE_OK ? "" : text;
  }
  [[nodiscard]] std::string value(const std::string& sql) const {
    std::string value = "none";
    sqlite3_exec(
        handle_, sql.c_str(),
        [](void* into, int, char** columns, char**) {
          *static_cast<std::string*>(into) = columns[0] != nullptr ? columns[0] : "null";
          return 0;
        },
        &value, nullptr);
    return value;
  }

 private:
  sqlite3* handle_ = nullptr;
};

/// Runs `work` in another process; its exit code, or minus the signal that ended it.
template <class Work>
int in_child(Work&& work) {
  const pid_t child = ::fork();
  if (child == 0) {
    try {
      ::_exit(work());
    } catch (const std::exception& e) {
      std::fprintf(stderr, "child: %s\n", e.what());
      ::_exit(99);
    }
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFSIGNALED(status) ? -WTERMSIG(status) : WEXITSTATUS(status);
}

/// A folder of its own for each test, gone afterwards.
class Store : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (fs::temp_directory_path() / "halflight-store-XXXXXX").string();
    ASSERT_NE(::mkdtemp(pattern.data()), nullptr);
    folder_ = pattern;
    path_ = folder_ / "projects.db";
  }
  void TearDown() override { fs::remove_all(folder_); }

  [[nodiscard]] std::unique_ptr<ProjectStore> opened() const { return must(ProjectStore::open(path_)); }
  [[nodiscard]] std::string why_not_opened() const {
    const auto store = ProjectStore::open(path_);
    return store ? "it opened" : to_text(store.error().front());
  }

  fs::path folder_;
  fs::path path_;
};

// --- projects and revisions ---

TEST_F(Store, KeepsEveryRevisionOverARestart) {
  const std::string second = std::string("two\0\r\n\xff", 7);
  {
    const auto store = must(ProjectStore::open(folder_ / "deep" / "down" / "p.db"));
    const Project project = must(
        store->create_project("Fenwick Hollow Library", {as_bytes("one"), 100, "begin", "first sketch"}));
    EXPECT_EQ(project.id, "fenwick-hollow-library");
    EXPECT_EQ(project.head, 1);
    const Revision two = kept(store->append(project.id, 1, edit(second, "move 3 luminaires", 200)));
    EXPECT_EQ(two.number, 2);
    EXPECT_EQ(two.document, hash_bytes(as_bytes(second)));
    EXPECT_EQ(kept(store->append(project.id, 2, edit("", "clear", 300))).number, 3);
  }
  const auto store = must(ProjectStore::open(folder_ / "deep" / "down" / "p.db"));
  const auto projects = must(store->projects());
  ASSERT_EQ(projects.size(), 1U);
  EXPECT_EQ(projects[0].name, "Fenwick Hollow Library");
  EXPECT_EQ(projects[0].head, 3);
  EXPECT_EQ(projects[0].head_saved_at_s, 300);
  const std::string& id = projects[0].id;
  EXPECT_EQ(document_of(*store, id, 1), "one");
  EXPECT_EQ(document_of(*store, id, 2), second);
  EXPECT_EQ(document_of(*store, id, 3), "");
  EXPECT_EQ(document_of(*store, id, 4), "no such revision");
  const auto revisions = must(store->revisions(id, 100));
  ASSERT_EQ(revisions.size(), 3U);
  EXPECT_EQ(revisions[1].label, "move 3 luminaires");
  EXPECT_EQ(revisions[1].saved_at_s, 200);
  EXPECT_EQ(revisions[1].document_size, 7U);
  EXPECT_EQ(revisions[2].name, "first sketch");
  EXPECT_FALSE(revisions[2].restores || revisions[2].issue);
}

TEST_F(Store, ListsRevisionsInPages) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  for (std::int64_t base = 1; base < 7; ++base) kept(store->append(id, base, edit(std::to_string(base + 1))));
  const auto numbers = [&](std::int64_t limit, std::int64_t offset) {
    std::vector<std::int64_t> found;
    for (const Revision& r : must(store->revisions(id, limit, offset))) found.push_back(r.number);
    return found;
  };
  EXPECT_EQ(numbers(3, 0), (std::vector<std::int64_t>{7, 6, 5}));
  EXPECT_EQ(numbers(3, 5), (std::vector<std::int64_t>{2, 1}));
  EXPECT_TRUE(numbers(0, 0).empty());
  EXPECT_TRUE(numbers(3, 7).empty());
  EXPECT_SAYS(refused(store->revisions(id, -1)), "cannot be listed");
  EXPECT_TRUE(must(store->revisions("absent", 10)).empty());
}

TEST_F(Store, WhatIsNotKeptIsNothingToReadersAndRefusedToWriters) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  EXPECT_FALSE(must(store->project("absent")));
  EXPECT_FALSE(must(store->revision(id, 0)));
  EXPECT_FALSE(must(store->revision("absent", 1)));
  EXPECT_FALSE(must(store->issued_results(id, 1)));
  EXPECT_FALSE(must(store->file(id, "absent.ies")));
  EXPECT_TRUE(must(store->files("absent")).empty());
  EXPECT_SAYS(refused(store->append("absent", 1, edit("x"))), "keeps no project \"absent\"");
  EXPECT_SAYS(refused(store->rename_revision(id, 2, "x")), "keeps no revision 2 of project \"p\"");
  EXPECT_SAYS(refused(store->restore(id, 1, 2, "x", 0)), "keeps no revision 2");
  EXPECT_SAYS(refused(store->put_file("absent", {"a", {}})), "keeps no project");
  EXPECT_SAYS(refused(store->put_away("absent", true)), "keeps no project");
  EXPECT_SAYS(refused(store->copy_project(id, 9, "copy", "", 0)), "keeps no revision 9");
  EXPECT_EQ(must(store->projects()).size(), 1U);
}

TEST_F(Store, IdsAreFitForAddressesAndTellApart) {
  const auto store = opened();
  const auto id_of = [&](const std::string& name) {
    return must(store->create_project(name, edit("{}"))).id;
  };
  EXPECT_EQ(id_of("Town Hall"), "town-hall");
  EXPECT_EQ(id_of("town  hall!"), "town-hall-2");
  EXPECT_EQ(id_of("TOWN_HALL"), "town-hall-3");
  EXPECT_EQ(id_of("\xe6\x9d\xb1\xe4\xba\xac"), "project");
  EXPECT_EQ(id_of("../../etc"), "etc");
  EXPECT_EQ(id_of("a%2f?#&"), "a-2f");
  EXPECT_EQ(id_of(std::string(39, 'a') + " b"), std::string(39, 'a'));
  EXPECT_EQ(id_of(std::string(200, 'a')), std::string(40, 'a'));
}

TEST_F(Store, NamesAreKeptToTheLetter) {
  const auto store = opened();
  for (const std::string name :
       {"O'Hara \"west\" wing", "'; DROP TABLE projects; --", "<script>alert(1)</script>",
        "Biblioth\xc3\xa8que \xf0\x9f\x92\xa1", "?1 %s {}"}) {
    const Project project = must(store->create_project(name, {as_bytes("{}"), 1, name, name}));
    EXPECT_EQ(must(store->project(project.id))->name, name);
    const Revision first = must(store->revision(project.id, 1)).value();
    EXPECT_EQ(first.label, name);
    EXPECT_EQ(first.name, name);
  }
  EXPECT_EQ(must(store->projects()).size(), 5U);
}

TEST_F(Store, NamesThatNoPageCouldShowAreRefused) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  struct Case {
    std::string text;
    std::string_view says;
  };
  for (const auto& [text, says] : {
           Case{std::string("a\0b", 3), "control character U+0000 at byte 2"},
           Case{"a\nb", "U+000A"},
           Case{"\x1b[2J", "U+001B"},
           Case{"\xc2\x85", "U+0085"},
           Case{"ab\xff", "not valid UTF-8 at byte 3"},
           Case{"\xc0\xaf", "not valid UTF-8"},          // a / written too long
           Case{"\xed\xa0\x80", "not valid UTF-8"},      // half of a pair
           Case{"\xf4\x90\x80\x80", "not valid UTF-8"},  // beyond the last code point
           Case{"\xe2\x82", "not valid UTF-8"},          // cut short
           Case{std::string(201, 'x'), "has 201 bytes, 200 are the limit"},
       }) {
    EXPECT_SAYS(refused(store->create_project(text, edit("1"))), says);
    EXPECT_SAYS(refused(store->rename_project(id, text)), says);
    EXPECT_SAYS(refused(store->append(id, 1, edit("2", text))), says);
    EXPECT_SAYS(refused(store->rename_revision(id, 1, text)), says);
    EXPECT_SAYS(refused(store->restore(id, 1, 1, text, 0)), says);
    EXPECT_SAYS(refused(store->issue(id, 1, {text, 1, "digest", {}, {}})), says);
    for (const char c : to_text(refused(store->rename_project(id, text)))) EXPECT_GE(c & 0xFF, 0x20);
  }
  EXPECT_SAYS(refused(store->create_project("", edit("1"))), "is empty");
  EXPECT_SAYS(refused(store->append(id, 1, edit("2", "x", -1))), "no time of saving");
  EXPECT_EQ(must(store->projects()).size(), 1U);
  EXPECT_EQ(must(store->project(id))->head, 1);
}

TEST_F(Store, ASecondWindowIsToldWhatItMissed) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  kept(store->append(id, 1, edit("2", "drop a shade")));
  kept(store->append(id, 2, edit("3", "move a sensor")));
  const Appended outcome = must(store->append(id, 1, edit("lost?", "regroup")));
  ASSERT_TRUE(std::holds_alternative<Conflict>(outcome));
  const auto& conflict = std::get<Conflict>(outcome);
  EXPECT_EQ(conflict.head, 3);
  ASSERT_EQ(conflict.since.size(), 2U);
  EXPECT_EQ(conflict.since[0].label, "drop a shade");
  EXPECT_EQ(conflict.since[1].label, "move a sensor");
  EXPECT_EQ(must(store->project(id))->head, 3);
  // A base beyond the head: a window that outlived the return of an older backup.
  const Appended beyond = must(store->restore(id, 9, 1, "back", 0));
  ASSERT_TRUE(std::holds_alternative<Conflict>(beyond));
  EXPECT_EQ(std::get<Conflict>(beyond).head, 3);
  EXPECT_TRUE(std::get<Conflict>(beyond).since.empty());
  EXPECT_EQ(Raw(path_).value("SELECT count(*) FROM contents"), "3");
}

/// Two writers save from the same base 200 times; `store_of(writer)` gives the store that each uses.
template <class StoreOf>
void race(const ProjectStore& reader, const std::string& id, StoreOf&& store_of) {
  constexpr int rounds = 200;
  std::array<std::array<Result<Appended>, 2>, rounds> outcomes;
  std::barrier together(2);
  const auto writer = [&](std::size_t me) {
    for (int round = 0; round < rounds; ++round) {
      const std::string document = std::to_string(round) + " by " + std::to_string(me);
      together.arrive_and_wait();
      outcomes[static_cast<std::size_t>(round)][me] = store_of(me).append(id, round + 1, edit(document));
    }
  };
  std::thread other(writer, 1);
  writer(0);
  other.join();
  for (int round = 0; round < rounds; ++round) {
    auto& [a, b] = outcomes[static_cast<std::size_t>(round)];
    ASSERT_TRUE(a && b) << to_text((a ? b : a).error().front());
    const bool a_won = std::holds_alternative<Revision>(*a);
    ASSERT_NE(a_won, std::holds_alternative<Revision>(*b)) << "round " << round;
    const auto& won = std::get<Revision>(a_won ? *a : *b);
    const auto& lost = std::get<Conflict>(a_won ? *b : *a);
    EXPECT_EQ(won.number, round + 2);
    ASSERT_FALSE(lost.since.empty());
    EXPECT_EQ(lost.since.front().document, won.document);
    EXPECT_EQ(document_of(reader, id, won.number), std::to_string(round) + (a_won ? " by 0" : " by 1"));
  }
  EXPECT_EQ(must(reader.project(id))->head, rounds + 1);
}

TEST_F(Store, OfTwoWritersFromOneBaseExactlyOneWins) {
  const auto store = opened();
  const auto second = opened();
  const std::string shared = must(store->create_project("one store", edit("1"))).id;
  race(*store, shared, [&](std::size_t) -> ProjectStore& { return *store; });
  const std::string apart = must(store->create_project("two stores", edit("1"))).id;
  race(*store, apart, [&](std::size_t me) -> ProjectStore& { return me == 0 ? *store : *second; });
}

TEST_F(Store, RestoringKeepsTheOldDocumentOnceMoreWithoutFurtherRoom) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("good"))).id;
  kept(store->append(id, 1, edit("bad")));
  const Revision restored = kept(store->restore(id, 2, 1, "restore revision 1", 50));
  EXPECT_EQ(restored.number, 3);
  EXPECT_EQ(restored.restores, 1);
  EXPECT_EQ(restored.saved_at_s, 50);
  EXPECT_EQ(document_of(*store, id, 3), "good");
  EXPECT_EQ(document_of(*store, id, 2), "bad");
  EXPECT_EQ(must(store->revision(id, 3))->restores, 1);
  EXPECT_EQ(Raw(path_).value("SELECT count(*) FROM contents"), "2");
}

TEST_F(Store, ProjectsArePutAwayRenamedAndCopiedButKeepTheirId) {
  const auto store = opened();
  const std::string id = must(store->create_project("Old name", edit("1", "begin", 10))).id;
  kept(store->append(id, 1, edit("2", "more", 20)));
  must(store->put_file(id, {"a.ies", as_bytes("old")}));
  must(store->put_file(id, {"a.ies", as_bytes("new")}));
  EXPECT_TRUE(must(store->put_away(id, true)).put_away);
  EXPECT_EQ(must(store->rename_project(id, "New name")).name, "New name");
  const Project copy = must(store->copy_project(id, 1, "Copy", "copy of Old name", 30));
  EXPECT_EQ(copy.id, "copy");
  EXPECT_FALSE(copy.put_away);
  EXPECT_EQ(copy.head, 1);
  EXPECT_EQ(document_of(*store, "copy", 1), "1");
  EXPECT_EQ(as_text(must(store->file("copy", "a.ies"))->bytes), "new");
  EXPECT_TRUE(must(store->file("copy", "a.ies", hash_bytes(as_bytes("old")))));
  const auto projects = must(store->projects());
  ASSERT_EQ(projects.size(), 2U);
  EXPECT_EQ(projects[0].id, "copy");  // saved last
  EXPECT_EQ(projects[1].id, id);
  EXPECT_TRUE(projects[1].put_away);
  EXPECT_FALSE(must(store->put_away(id, false)).put_away);
  EXPECT_EQ(document_of(*store, id, 2), "2");
}

// --- issued revisions ---

TEST_F(Store, AnIssuedRevisionIsFrozenWithItsResultsAndFiles) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  const FileVersion old = must(store->put_file(id, {"w/town.epw", as_bytes("old weather")}));
  must(store->put_file(id, {"w/town.epw", as_bytes("new weather")}));
  const FileVersion lamp = must(store->put_file(id, {"lamp.ies", as_bytes("lamp")}));
  EXPECT_EQ(must(store->rename_revision(id, 1, "for review")).name, "for review");

  const std::string results = R"({"format": "halflight-study/1"})";
  const NewIssue issue{
      "A. Designer", 500, "digest", as_bytes(results), {{old.path, old.hash}, {lamp.path, lamp.hash}}};
  must(store->issue(id, 1, issue));
  kept(store->append(id, 1, edit("2")));
  const auto revisions = must(store->revisions(id, 10));
  ASSERT_EQ(revisions.size(), 2U);
  EXPECT_FALSE(revisions[0].issue);
  ASSERT_TRUE(revisions[1].issue);
  EXPECT_EQ(revisions[1].issue->by, "A. Designer");
  EXPECT_EQ(revisions[1].issue->at_s, 500);
  EXPECT_EQ(revisions[1].issue->program_digest, "digest");
  EXPECT_EQ(revisions[1].issue->results, hash_bytes(as_bytes(results)));
  EXPECT_EQ(revisions[1].issue->results_size, results.size());
  EXPECT_EQ(revisions[1].issue->files, (std::vector<FileVersion>{lamp, old}));
  EXPECT_EQ(as_text(*must(store->issued_results(id, 1))), results);

  EXPECT_SAYS(refused(store->rename_revision(id, 1, "other")), "is issued and keeps its name");
  EXPECT_SAYS(refused(store->issue(id, 1, issue)), "is issued already");
  EXPECT_EQ(must(store->revision(id, 1))->name, "for review");
  EXPECT_EQ(must(store->rename_revision(id, 2, "other")).name, "other");
}

TEST_F(Store, NothingIsIssuedWithoutWhatItRestsOn) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  const FileVersion lamp = must(store->put_file(id, {"lamp.ies", as_bytes("lamp")}));
  const FileReference good{lamp.path, lamp.hash};
  const auto with = [&](std::vector<FileReference> files) {
    return refused(store->issue(id, 1, {"A", 1, "digest", as_bytes("{}"), std::move(files)}));
  };
  EXPECT_SAYS(with({good, {"lamp.ies", hash_bytes(as_bytes("other"))}}), "keeps no file \"lamp.ies\"");
  EXPECT_SAYS(with({good, {"absent", lamp.hash}}), "keeps no file \"absent\"");
  EXPECT_SAYS(with({good, good}), "is named twice");
  EXPECT_SAYS(refused(store->issue(id, 1, {"", 1, "digest", {}, {}})), "is empty");
  EXPECT_SAYS(refused(store->issue(id, 1, {"A", 1, "", {}, {}})), "is empty");
  EXPECT_SAYS(refused(store->issue(id, 2, {"A", 1, "digest", {}, {}})), "keeps no revision 2");
  EXPECT_FALSE(must(store->revision(id, 1))->issue);
  EXPECT_EQ(Raw(path_).value("SELECT count(*) FROM issue_files"), "0");
}

TEST_F(Store, TheDatabaseItselfRefusesToChangeOrDeleteWhatIsKept) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  const FileVersion lamp = must(store->put_file(id, {"lamp.ies", as_bytes("lamp")}));
  must(store->put_file(id, {"other.ies", as_bytes("other")}));
  must(store->issue(id, 1, {"A", 1, "digest", as_bytes("{}"), {{lamp.path, lamp.hash}}}));
  const Raw raw(path_);
  const auto all = [&] {
    std::string state;
    for (const char* sql :
         {"SELECT group_concat(key || id || name) FROM projects",
          "SELECT group_concat(key || ':' || hex(deflated) || size) FROM contents",
          "SELECT group_concat(project || number || saved_at_s || label || name || document || "
          "document_hash) FROM revisions",
          "SELECT group_concat(project || revision || issued_by || at_s || program_digest || results "
          "|| results_hash) FROM issues",
          "SELECT group_concat(project || path || version || content || hash) FROM files",
          "SELECT group_concat(project || revision || path || version) FROM issue_files"})
      state += raw.value(sql) + "\n";
    return state;
  };
  const std::string before = all();
  EXPECT_EQ(before.find("null"), std::string::npos) << before;
  for (const char* sql : {
           "DELETE FROM projects",
           "DELETE FROM contents",
           "DELETE FROM revisions",
           "DELETE FROM issues",
           "DELETE FROM files",
           "DELETE FROM issue_files",
           "UPDATE projects SET id = 'q'",
           "UPDATE contents SET deflated = x'00'",
           "UPDATE contents SET size = 1",
           "UPDATE revisions SET label = 'other'",
           "UPDATE revisions SET saved_at_s = 0",
           "UPDATE revisions SET number = 7",
           "UPDATE revisions SET restores = 1",
           "UPDATE revisions SET document = 2",
           "UPDATE revisions SET document_hash = ''",
           "UPDATE revisions SET name = 'other'",
           "UPDATE issues SET issued_by = 'B'",
           "UPDATE files SET content = 1",
           "UPDATE issue_files SET version = 2",
           "INSERT OR REPLACE INTO projects(key, id, name) VALUES(1, 'q', 'q')",
           "INSERT OR REPLACE INTO projects(id, name) VALUES('p', 'q')",
           "INSERT OR REPLACE INTO contents(key, size, deflated) VALUES(1, 0, x'00')",
           "INSERT OR REPLACE INTO revisions VALUES(1, 1, 0, '', '', NULL, 1, '')",
           "INSERT INTO revisions VALUES(1, 3, 0, '', '', NULL, 1, '')",
           "INSERT OR REPLACE INTO files VALUES(1, 'lamp.ies', 1, 1, '')",
           "INSERT OR REPLACE INTO issues VALUES(1, 1, 'B', 0, '', 1, '')",
           "INSERT OR REPLACE INTO issue_files VALUES(1, 1, 'lamp.ies', 1)",
           "INSERT INTO issue_files VALUES(1, 1, 'other.ies', 1)",
       }) {
    EXPECT_NE(raw.run(sql), "") << sql;
    EXPECT_EQ(all(), before) << sql;
  }
  EXPECT_EQ(raw.run("UPDATE projects SET put_away = 1"), "");  // what may change does
}

// --- files ---

TEST_F(Store, OldVersionsOfAFileStay) {
  const auto store = opened();
  const std::string id =
      must(store->create_project("p", edit("1"), std::vector<NewFile>{{"lamp.ies", as_bytes("one")}})).id;
  const FileVersion two = must(store->put_file(id, {"lamp.ies", as_bytes("two, longer")}));
  EXPECT_EQ(two, (FileVersion{"lamp.ies", hash_bytes(as_bytes("two, longer")), 11}));
  EXPECT_EQ(as_text(must(store->file(id, "lamp.ies"))->bytes), "two, longer");
  const auto one = must(store->file(id, "lamp.ies", hash_bytes(as_bytes("one"))));
  ASSERT_TRUE(one);
  EXPECT_EQ(as_text(one->bytes), "one");
  EXPECT_EQ(one->version.size, 3U);
  EXPECT_FALSE(must(store->file(id, "lamp.ies", hash_bytes(as_bytes("never")))));

  must(store->put_file(id, {"lamp.ies", as_bytes("two, longer")}));
  const Raw raw(path_);
  EXPECT_EQ(raw.value("SELECT count(*) FROM files"), "2");
  // Back to the first: the newest again, and no second copy of its bytes.
  must(store->put_file(id, {"lamp.ies", as_bytes("one")}));
  EXPECT_EQ(as_text(must(store->file(id, "lamp.ies"))->bytes), "one");
  EXPECT_EQ(raw.value("SELECT count(*) FROM contents"), "3");  // the document and two versions

  must(store->put_file(id, {"Empty", {}}));
  EXPECT_EQ(must(store->file(id, "Empty"))->bytes.size(), 0U);
  const auto all = must(store->files(id));
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(all[0], (FileVersion{"Empty", hash_bytes({}), 0}));
  EXPECT_EQ(all[1], (FileVersion{"lamp.ies", hash_bytes(as_bytes("one")), 3}));
  // Another project's files are its own.
  const std::string other = must(store->create_project("q", edit("1"))).id;
  EXPECT_FALSE(must(store->file(other, "lamp.ies")));
}

TEST_F(Store, HostilePathsAreRefused) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  struct Case {
    std::string path;
    std::string_view says;
  };
  for (const auto& [path, says] : {
           Case{"", "is no path"},
           Case{"/etc/passwd", "is absolute"},
           Case{"//host/share", "is absolute"},
           Case{"C:/lamp.ies", "is absolute"},
           Case{"..", "has the part \"..\""},
           Case{"../lamp.ies", "has the part \"..\""},
           Case{"a/../../b", "has the part \"..\""},
           Case{"a/..", "has the part \"..\""},
           Case{"./a", "has the part \".\""},
           Case{"a/./b", "has the part \".\""},
           Case{"a//b", "part without a name"},
           Case{"a/", "part without a name"},
           Case{"a\\b", "has a backslash"},
           Case{"..\\a", "has a backslash"},
           Case{std::string("a\0.ies", 6), "control character U+0000"},
           Case{"a\nb", "control character U+000A"},
           Case{"a\x7f", "control character U+007F"},
           Case{"a\xff", "not valid UTF-8"},
           Case{std::string(201, 'a'), "has 201 bytes"},
       }) {
    EXPECT_SAYS(refused(store->put_file(id, {path, as_bytes("x")})), says);
    const std::vector<NewFile> files = {{"good", as_bytes("x")}, {path, as_bytes("x")}};
    EXPECT_SAYS(refused(store->create_project("q", edit("1"), files)), says);
    EXPECT_FALSE(must(store->file(id, path)));
  }
  EXPECT_TRUE(must(store->files(id)).empty());
  EXPECT_EQ(must(store->projects()).size(), 1U);
  for (const std::string& path :
       {std::string("a"), std::string("a/b/c.ies"), std::string("..."), std::string("..a"),
        std::string(".hidden"), std::string("a b/'quoted' \"x\" %2e%2e"),
        std::string("\xc3\xa9t\xc3\xa9.epw"), std::string("aC:"), std::string(200, 'a')}) {
    EXPECT_FALSE(path_problem(path)) << path;
    must(store->put_file(id, {path, as_bytes(path)}));
    EXPECT_EQ(as_text(must(store->file(id, path))->bytes), path);
  }
}

TEST_F(Store, WhatIsTooLargeIsRefusedAndTheLargestIsKept) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  std::string large(kLargestDocument + 1, ' ');
  EXPECT_SAYS(refused(store->append(id, 1, edit(large))), "has 67108865 bytes");
  EXPECT_SAYS(refused(store->append(id, 1, edit(large))), "64 MiB");
  EXPECT_SAYS(refused(store->create_project("q", edit(large))), "a document has 67108865 bytes");
  EXPECT_SAYS(refused(store->put_file(id, {"f", as_bytes(large)})), "file \"f\" has 67108865 bytes");
  EXPECT_EQ(must(store->project(id))->head, 1);
  large.pop_back();
  kept(store->append(id, 1, edit(large)));
  EXPECT_TRUE(document_of(*store, id, 2) == large);
}

// --- opening ---

TEST_F(Store, WhatIsNoDatabaseOfProjectsIsLeftAsItIs) {
  for (const std::string& text : {std::string(R"({"format": "halflight-project/1"})"), std::string("x"),
                                  std::string(5000, '\0'), noise(5000, 1)}) {
    std::ofstream(path_, std::ios::binary) << text;
    EXPECT_NE(why_not_opened().find("is not a database of projects"), std::string::npos) << why_not_opened();
    EXPECT_EQ(contents_of(path_), text);
    fs::remove(path_);
  }
  EXPECT_EQ(Raw(path_).run("CREATE TABLE t(a); INSERT INTO t VALUES(1)"), "");
  const std::string foreign = contents_of(path_);
  EXPECT_NE(why_not_opened().find("is a database of another program"), std::string::npos) << why_not_opened();
  EXPECT_EQ(contents_of(path_), foreign);
  fs::remove(path_);

  ASSERT_EQ(::mkfifo(path_.c_str(), 0600), 0);
  EXPECT_NE(why_not_opened().find("is not a regular file"), std::string::npos) << why_not_opened();
  fs::remove(path_);
  fs::create_directory(path_);
  EXPECT_NE(why_not_opened().find("is a folder"), std::string::npos) << why_not_opened();
  path_ = "";
  EXPECT_NE(why_not_opened().find("is no path"), std::string::npos) << why_not_opened();
  std::ofstream(folder_ / "file") << "x";
  path_ = folder_ / "file" / "projects.db";
  EXPECT_NE(why_not_opened().find("Not a directory"), std::string::npos) << why_not_opened();
  path_ = "/proc/projects.db";
  EXPECT_NE(why_not_opened().find("cannot be opened"), std::string::npos) << why_not_opened();
}

TEST_F(Store, AnEmptyFileBecomesADatabase) {
  std::ofstream(path_) << "";
  must(opened()->create_project("p", edit("1")));
  EXPECT_EQ(document_of(*opened(), "p", 1), "1");
}

TEST_F(Store, ANewerFormatIsLeftToANewerProgram) {
  must(opened()->create_project("p", edit("1")));
  EXPECT_EQ(Raw(path_).run("PRAGMA user_version = 2"), "");
  const std::string before = contents_of(path_);
  EXPECT_NE(why_not_opened().find("has format 2, this program reads format 1"), std::string::npos)
      << why_not_opened();
  EXPECT_EQ(contents_of(path_), before);
  EXPECT_EQ(Raw(path_).run("PRAGMA user_version = 1"), "");
  EXPECT_EQ(document_of(*opened(), "p", 1), "1");
}

TEST_F(Store, ManyMayOpenANewDatabaseAtOnce) {
  constexpr std::size_t many = 8;
  std::array<std::string, many> outcomes;
  std::barrier together(many);
  {
    std::vector<std::jthread> threads;
    for (std::size_t i = 0; i < many; ++i) {
      threads.emplace_back([&, i] {
        together.arrive_and_wait();
        auto store = ProjectStore::open(path_);
        const auto made = store ? (*store)->create_project("p", edit("1")) : tl::unexpected(store.error());
        outcomes[i] = made ? made->id : to_text(made.error().front());
      });
    }
  }
  std::sort(outcomes.begin(), outcomes.end());
  EXPECT_EQ(outcomes, (std::array<std::string, many>{"p", "p-2", "p-3", "p-4", "p-5", "p-6", "p-7", "p-8"}));
}

// --- damage ---

TEST_F(Store, DamagedBytesAreToldAndNeverGiven) {
  const std::string lamp = noise(300, 7);
  {
    const auto store = opened();
    const std::string id = must(store->create_project("p", edit("state 1"))).id;
    kept(store->append(id, 1, edit("state 2")));
    const FileVersion version = must(store->put_file(id, {"lamp.ies", as_bytes(lamp)}));
    must(store->issue(id, 2, {"A", 1, "digest", as_bytes("results"), {{version.path, version.hash}}}));
  }
  {
    const Raw raw(path_);
    // Whoever wants to damage finds a way. The first: a whole document of the same size, but another.
    EXPECT_EQ(raw.run("DROP TRIGGER contents_do_not_change; DROP TRIGGER revisions_do_not_change"), "");
    EXPECT_EQ(
        raw.run("UPDATE contents SET deflated = (SELECT deflated FROM contents WHERE key = 2) WHERE key = 1"),
        "");
    EXPECT_EQ(raw.run("UPDATE contents SET deflated = substr(deflated, 1, 100) WHERE key = 3"), "");
    EXPECT_EQ(raw.run("UPDATE contents SET size = 4611686018427387904 WHERE key = 4"), "");
  }
  const auto store = opened();
  EXPECT_SAYS(refused(store->document("p", 1)), "revision 1 of project \"p\" is damaged");
  EXPECT_EQ(document_of(*store, "p", 2), "state 2");
  EXPECT_SAYS(refused(store->file("p", "lamp.ies")), "file \"lamp.ies\" of project \"p\" is damaged");
  EXPECT_SAYS(refused(store->issued_results("p", 2)), "the results of revision 2");
  EXPECT_SAYS(refused(store->restore("p", 2, 1, "back", 0)), "is damaged");
  EXPECT_SAYS(refused(store->copy_project("p", 1, "q", "", 0)), "is damaged");
  EXPECT_SAYS(refused(store->issue("p", 1, {"A", 1, "digest", {}, {}})), "is damaged");
  EXPECT_EQ(must(store->project("p"))->head, 2);
  // The rest goes on, and the same file put once more heals.
  kept(store->append("p", 2, edit("third")));
  must(store->put_file("p", {"lamp.ies", as_bytes(lamp)}));
  EXPECT_EQ(as_text(must(store->file("p", "lamp.ies", hash_bytes(as_bytes(lamp))))->bytes), lamp);

  EXPECT_EQ(
      Raw(path_).run("UPDATE revisions SET document_hash = upper(document_hash) || 'g' WHERE number = 3"),
      "");
  EXPECT_SAYS(refused(store->document("p", 3)), "is damaged");
  EXPECT_EQ(document_of(*store, "p", 2), "state 2");
  EXPECT_EQ(Raw(path_).run("DROP TABLE contents"), "");
  EXPECT_SAYS(refused(store->document("p", 2)), "is damaged");
  EXPECT_SAYS(refused(store->append("p", 3, edit("fourth"))), "is damaged");
}

TEST_F(Store, AFlippedByteAnywhereGivesNoWrongDocument) {
  std::vector<std::string> documents;
  for (std::uint64_t seed = 0; seed < 6; ++seed) documents.push_back(noise(seed < 3 ? 20 : 5000, seed));
  {
    const auto store = opened();
    const std::string id = must(store->create_project("p", edit(documents[0]))).id;
    for (std::size_t i = 1; i < documents.size(); ++i)
      kept(store->append(id, static_cast<std::int64_t>(i), edit(documents[i])));
  }
  const std::string whole = contents_of(path_);
  ASSERT_GT(whole.size(), 15'000U);
  int refusals = 0;
  int right = 0;
  const auto read_all = [&](const std::string& damaged, std::size_t at) {
    std::ofstream(path_, std::ios::binary) << damaged;
    auto store = ProjectStore::open(path_);
    for (std::size_t i = 0; store && i < documents.size(); ++i) {
      const auto bytes = (*store)->document("p", static_cast<std::int64_t>(i) + 1);
      if (!bytes || !*bytes) {
        ++refusals;
      } else {
        ++right;
        EXPECT_TRUE(as_text(**bytes) == documents[i]) << "byte " << at << ", revision " << i + 1;
      }
    }
    if (!store) ++refusals;
    store = {};
    for (const char* suffix : {"-wal", "-shm"}) fs::remove(path_.string() + suffix);
  };
  for (std::size_t at = 0; at < whole.size(); at += at < 100 ? 7 : 101) {
    std::string damaged = whole;
    damaged[at] = static_cast<char>(damaged[at] ^ 0x55);
    read_all(damaged, at);
  }
  for (std::size_t size = 1; size < whole.size(); size += 1500) read_all(whole.substr(0, size), size);
  EXPECT_GT(refusals, 100);
  EXPECT_GT(right, 100);
}

// --- what stands in the way of writing ---

TEST_F(Store, ALockedFileIsToldAfterTwoSecondsAndKeepsTheWork) {
  using Clock = std::chrono::steady_clock;
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  const fs::path other_path = folder_ / "other.db";
  must(ProjectStore::open(other_path));
  std::array<int, 2> locked{};
  std::array<int, 2> done{};
  ASSERT_TRUE(::pipe(locked.data()) == 0 && ::pipe(done.data()) == 0);
  const pid_t child = ::fork();
  if (child == 0) {
    // Another process writes to the one file and holds the other for itself.
    ::close(done[1]);  // a parent that dies shall end this wait
    const Raw writing(path_);
    const Raw holding(other_path);
    const bool ok = writing.run("BEGIN IMMEDIATE; UPDATE projects SET name = 'x'").empty() &&
                    holding
                        .run(
                            "PRAGMA locking_mode = EXCLUSIVE; BEGIN IMMEDIATE; "
                            "INSERT INTO projects(id, name) VALUES('x', 'x'); COMMIT")
                        .empty();
    char byte = ok ? 'y' : 'n';
    if (::write(locked[1], &byte, 1) == 1 && ::read(done[0], &byte, 1) == 1) ::_exit(0);
    ::_exit(1);
  }
  char byte = 0;
  ASSERT_EQ(::read(locked[0], &byte, 1), 1);
  ASSERT_EQ(byte, 'y');
  auto opening = std::async(std::launch::async, [&] { return ProjectStore::open(other_path); });
  const auto start = Clock::now();
  const auto appended = store->append(id, 1, edit("2"));
  const double waited_s = std::chrono::duration<double>(Clock::now() - start).count();
  EXPECT_SAYS(refused(appended), "is locked by another program");
  EXPECT_SAYS(refused(appended), "nothing of this change was written");
  EXPECT_GT(waited_s, 1.5);
  EXPECT_LT(waited_s, 10.0);
  EXPECT_EQ(document_of(*store, id, 1), "1");  // reading does not wait
  EXPECT_SAYS(refused(opening.get()), "is locked by another program");
  ASSERT_EQ(::write(done[1], "x", 1), 1);
  int status = 0;
  ::waitpid(child, &status, 0);
  for (const int fd : {locked[0], locked[1], done[0], done[1]}) ::close(fd);
  EXPECT_EQ(kept(store->append(id, 1, edit("2"))).number, 2);
  EXPECT_EQ(must(store->project(id))->name, "p");  // the child died in mid-write
}

TEST_F(Store, AFileWithoutPermissionToWriteIsTold) {
  must(opened()->create_project("p", edit("1")));
  fs::permissions(path_, fs::perms(0444));
  for (const fs::perms of_folder : {fs::perms(0755), fs::perms(0777)}) {
    fs::permissions(folder_, of_folder);
    const int outcome = in_child([&] {
      // The superuser may write everywhere; somebody else may not.
      if (::geteuid() == 0 && ::setuid(65534) != 0) return 98;
      const auto store = ProjectStore::open(path_);
      if (store) return 1;
      const std::string said = to_text(store.error().front());
      return said.find("cannot be written to; give yourself the permission") != std::string::npos ? 0 : 2;
    });
    EXPECT_EQ(outcome, 0);
  }
  fs::permissions(path_, fs::perms(0644));
  EXPECT_EQ(document_of(*opened(), "p", 1), "1");
}

TEST_F(Store, AFileThatWasMovedAwayTakesNoMoreWork) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  fs::rename(path_, folder_ / "away.db");
  EXPECT_SAYS(refused(store->append(id, 1, edit("2"))), "was moved, replaced or removed");
  std::ofstream(path_) << "something else";
  EXPECT_SAYS(refused(store->append(id, 1, edit("2"))), "was moved, replaced or removed");
  fs::rename(folder_ / "away.db", path_);
  EXPECT_EQ(kept(store->append(id, 1, edit("2"))).number, 2);
}

/// Appends until there is no room; then `make_room`, and goes on. 0 when all was as promised.
template <class MakeRoom>
int fill_up(const fs::path& path, MakeRoom&& make_room) {
  const auto store = must(ProjectStore::open(path));
  const std::string id = must(store->create_project("p", edit("1"))).id;
  std::int64_t head = 1;
  for (;; ++head) {
    if (head > 200) return 1;  // it never was full
    const auto appended = store->append(id, head, edit(noise(100'000, static_cast<std::uint64_t>(head))));
    if (appended) continue;
    const std::string said = to_text(appended.error().front());
    if (said.find("there is no room left to write; make room on that disk") == std::string::npos) return 2;
    break;
  }
  if (head < 10) return 3;
  const auto intact = [&](const ProjectStore& s) {
    if (must(s.project(id))->head != head) return false;
    for (std::int64_t number = 2; number <= head; ++number)
      if (document_of(s, id, number) != noise(100'000, static_cast<std::uint64_t>(number) - 1)) return false;
    return true;
  };
  if (!intact(*store)) return 4;
  if (store->append(id, head, edit(noise(100'000, 0)))) return 5;
  if (!make_room()) return 98;
  if (kept(store->append(id, head, edit(noise(100'000, static_cast<std::uint64_t>(head))))).number !=
      head + 1)
    return 6;
  ++head;
  return intact(*must(ProjectStore::open(path))) ? 0 : 7;
}

TEST_F(Store, NoMoreRoomKeepsTheWorkAndGoesOnWhenThereIs) {
  EXPECT_EQ(in_child([&] {
              ::signal(SIGXFSZ, SIG_IGN);
              rlimit limit{};
              ::getrlimit(RLIMIT_FSIZE, &limit);
              const rlim_t before = limit.rlim_cur;
              limit.rlim_cur = 3'000'000;
              ::setrlimit(RLIMIT_FSIZE, &limit);
              return fill_up(path_, [&] {
                limit.rlim_cur = before;
                return ::setrlimit(RLIMIT_FSIZE, &limit) == 0;
              });
            }),
            0);
}

TEST_F(Store, AFullDiskKeepsTheWorkAndGoesOnWhenItIsNot) {
  const int outcome = in_child([&] {
    // A small disk that this process alone sees.
    if (::unshare(CLONE_NEWNS) != 0) {
      const std::string same_user = "0 " + std::to_string(::geteuid()) + " 1";
      if (::unshare(CLONE_NEWUSER | CLONE_NEWNS) != 0) return 98;
      std::ofstream("/proc/self/uid_map") << same_user;
    }
    if (::mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) != 0) return 98;
    if (::mount("none", folder_.c_str(), "tmpfs", 0, "size=6m") != 0) return 98;
    return fill_up(path_,
                   [&] { return ::mount("none", folder_.c_str(), "tmpfs", MS_REMOUNT, "size=60m") == 0; });
  });
  if (outcome == 98) GTEST_SKIP() << "this machine lets nobody make a small disk";
  EXPECT_EQ(outcome, 0);
}

TEST_F(Store, EveryAcknowledgedAppendWasForcedToTheDisk) {
  const auto store = opened();
  const std::string id = must(store->create_project("p", edit("1"))).id;
  for (std::int64_t base = 1; base <= 20; ++base) {
    const int before = syncs;
    kept(store->append(id, base, edit("x")));
    EXPECT_GT(syncs, before);
  }
  sync_fails = true;
  const auto appended = store->append(id, 21, edit("y"));
  sync_fails = false;
  EXPECT_SAYS(refused(appended), "the disk failed: Input/output error");
  EXPECT_EQ(must(store->project(id))->head, 21);
  EXPECT_EQ(kept(store->append(id, 21, edit("z"))).number, 22);
  EXPECT_EQ(document_of(*opened(), id, 22), "z");
}

}  // namespace
}  // namespace halflight::store
