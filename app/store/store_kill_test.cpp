// A process that writes is killed a hundred times at moments nobody chose: what it had acknowledged is there.
#include "store/store.hpp"

#include <algorithm>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <optional>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>
#include <poll.h>
#include <sys/wait.h>
#include <unistd.h>

namespace halflight::store {
namespace {

namespace fs = std::filesystem;

template <class T>
T must(Result<T> result) {
  if (!result) throw std::runtime_error(to_text(result.error().front()));
  return std::move(*result);
}

/// 1 to 60 kB that differ for every number and kind and do not compress.
std::string bytes_of(std::string_view kind, std::int64_t number) {
  const std::string seed_text = std::string(kind) + std::to_string(number);
  std::uint64_t state = hash_bytes(files::as_bytes(seed_text)).low;
  std::string text(1'000 + state % 59'000, '\0');
  for (char& c : text) {
    state = state * 6364136223846793005U + 1442695040888963407U;
    c = static_cast<char>(state >> 56U);
  }
  return text;
}

std::string label_of(std::int64_t number) { return "edit " + std::to_string(number); }
std::string path_of(std::int64_t number) { return "files/" + std::to_string(number) + ".ies"; }

/// What was acknowledged: a revision, or, of every third, also a file and that the revision was issued with
/// it.
struct Acknowledged {
  enum class Kind : std::int64_t { revision, file, issue } kind;
  std::int64_t number;
};

/// Never returns: edits until it is killed.
[[noreturn]] void edit_and_acknowledge(const fs::path& path, int acknowledge) {
  const auto tell = [&](Acknowledged what) {
    if (::write(acknowledge, &what, sizeof what) != sizeof what) ::_exit(3);
  };
  try {
    const auto store = must(ProjectStore::open(path));
    for (std::int64_t head = must(store->project("p"))->head;; ++head) {
      const std::int64_t number = head + 1;
      const std::string document = bytes_of("document", number);
      const auto appended =
          must(store->append("p", head, {files::as_bytes(document), number, label_of(number), ""}));
      if (!std::holds_alternative<Revision>(appended)) ::_exit(4);
      tell({Acknowledged::Kind::revision, number});
      if (number % 3 != 0) continue;
      const std::string lamp = bytes_of("file", number);
      const FileVersion file = must(store->put_file("p", {path_of(number), files::as_bytes(lamp)}));
      tell({Acknowledged::Kind::file, number});
      const std::string results = bytes_of("results", number);
      must(store->issue("p", number,
                        {"A", number, "digest", files::as_bytes(results), {{file.path, file.hash}}}));
      tell({Acknowledged::Kind::issue, number});
    }
  } catch (const std::exception& e) {
    std::fprintf(stderr, "child: %s\n", e.what());
    ::_exit(2);
  }
}

void expect_kept(const ProjectStore& store, const Acknowledged& what) {
  const std::int64_t number = what.number;
  SCOPED_TRACE(number);
  switch (what.kind) {
    case Acknowledged::Kind::revision: {
      const auto revision = must(store.revision("p", number));
      ASSERT_TRUE(revision);
      const std::string document = bytes_of("document", number);
      EXPECT_EQ(revision->label, label_of(number));
      EXPECT_EQ(revision->document, hash_bytes(files::as_bytes(document)));
      EXPECT_TRUE(files::as_text(must(store.document("p", number)).value()) == document);
      break;
    }
    case Acknowledged::Kind::file: {
      const auto file = must(store.file("p", path_of(number)));
      ASSERT_TRUE(file);
      EXPECT_TRUE(files::as_text(file->bytes) == bytes_of("file", number));
      break;
    }
    case Acknowledged::Kind::issue: {
      const auto results = must(store.issued_results("p", number));
      ASSERT_TRUE(results);
      EXPECT_TRUE(files::as_text(*results) == bytes_of("results", number));
      EXPECT_EQ(must(store.revision("p", number))->issue.value().files.at(0).path, path_of(number));
      break;
    }
  }
}

/// The two ends of a pipe that close themselves.
struct Pipe {
  Pipe() {
    if (::pipe(ends) != 0) throw std::runtime_error("no pipe");
  }
  Pipe(const Pipe&) = delete;
  Pipe& operator=(const Pipe&) = delete;
  ~Pipe() {
    close(0);
    close(1);
  }
  void close(int end) {
    if (ends[end] >= 0) ::close(std::exchange(ends[end], -1));
  }
  int ends[2] = {-1, -1};
};

/// Another process that has the database open until this goes. While it does, no opening starts from nothing,
/// no closing empties the log, and so the log is emptied in the middle of edits.
class Bystander {
 public:
  explicit Bystander(const fs::path& path) {
    Pipe ready;
    child_ = ::fork();
    if (child_ == 0) {
      until_.close(1);
      const auto store = ProjectStore::open(path);
      const bool ok = store && (*store)->projects();
      char byte = ok ? 'y' : 'n';
      if (::write(ready.ends[1], &byte, 1) != 1) ::_exit(1);
      ::_exit(::read(until_.ends[0], &byte, 1) == 0 ? 0 : 1);
    }
    char byte = 'n';
    if (::read(ready.ends[0], &byte, 1) != 1 || byte != 'y')
      throw std::runtime_error("the bystander did not open");
  }
  Bystander(const Bystander&) = delete;
  Bystander& operator=(const Bystander&) = delete;
  ~Bystander() {
    until_.close(1);
    ::waitpid(child_, nullptr, 0);
  }

 private:
  Pipe until_;
  pid_t child_ = -1;
};

TEST(StoreKilled, AHundredTimesInMidEditLosesNothingAcknowledged) {
  std::string pattern = (fs::temp_directory_path() / "halflight-kill-XXXXXX").string();
  ASSERT_NE(::mkdtemp(pattern.data()), nullptr);
  const fs::path folder = pattern;
  const fs::path path = folder / "projects.db";
  const std::string first = bytes_of("document", 1);
  must(must(ProjectStore::open(path))->create_project("p", {files::as_bytes(first), 1, label_of(1), ""}));

  constexpr int kills = 100;
  std::vector<Acknowledged> all = {{Acknowledged::Kind::revision, 1}};
  std::int64_t newest = 1;
  std::optional<Bystander> bystander;
  std::uint64_t random = 20240229;
  for (int round = 0; round < kills; ++round) {
    SCOPED_TRACE("round " + std::to_string(round));
    if (round == kills / 2) bystander.emplace(path);
    Pipe acknowledged;
    const pid_t child = ::fork();
    if (child == 0) {
      acknowledged.close(0);
      edit_and_acknowledge(path, acknowledged.ends[1]);
    }
    acknowledged.close(1);
    // Every fourth dies soon after its start, while it opens; the others after their first edit.
    const bool opening = round % 4 == 0;
    if (!opening) {
      pollfd first_edit{acknowledged.ends[0], POLLIN, 0};
      ASSERT_EQ(::poll(&first_edit, 1, 30'000), 1);
    }
    random = random * 6364136223846793005U + 1442695040888963407U;
    ::usleep(static_cast<useconds_t>((random >> 33U) % (opening ? 10'000 : 60'000)));
    ::kill(child, SIGKILL);
    int status = 0;
    ASSERT_EQ(::waitpid(child, &status, 0), child);
    ASSERT_TRUE(WIFSIGNALED(status)) << "the child ended by itself, with " << WEXITSTATUS(status);

    const std::size_t before = all.size();
    for (Acknowledged what{}; ::read(acknowledged.ends[0], &what, sizeof what) == sizeof what;)
      all.push_back(what);
    ASSERT_TRUE(opening || all.size() > before);
    const auto store = must(ProjectStore::open(path));
    for (std::size_t i = before; i < all.size(); ++i) {
      expect_kept(*store, all[i]);
      newest = std::max(newest, all[i].number);
    }
    // The edit that was under way is there whole, not acknowledged, or not there.
    const std::int64_t head = must(store->project("p")).value().head;
    EXPECT_GE(head, newest);
    EXPECT_LE(head, newest + 1);
    if (head > newest) expect_kept(*store, {Acknowledged::Kind::revision, head});
    newest = head;
  }
  bystander.reset();
  const auto store = must(ProjectStore::open(path));
  for (const Acknowledged& what : all) expect_kept(*store, what);
  // The last killed edit may have reached the log but not the bystander's view of it: then it is found only
  // now.
  const std::int64_t head = must(store->project("p")).value().head;
  EXPECT_GE(head, newest);
  EXPECT_LE(head, newest + 1);
  expect_kept(*store, {Acknowledged::Kind::revision, head});
  EXPECT_EQ(static_cast<std::int64_t>(must(store->revisions("p", 1'000'000)).size()), head);
  EXPECT_GE(newest, kills * 3 / 4);
  fs::remove_all(folder);
}

}  // namespace
}  // namespace halflight::store
