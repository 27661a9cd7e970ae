#include "files/disk_blob_store.hpp"
#include "files/embedded_files.hpp"
#include "files/file.hpp"

#include <atomic>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <set>
#include <string>
#include <thread>

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

namespace halflight::files {
namespace {

namespace fs = std::filesystem;

/// A folder of its own for each test, gone afterwards.
class Files : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (fs::temp_directory_path() / "halflight-files-XXXXXX").string();
    ASSERT_NE(::mkdtemp(pattern.data()), nullptr);
    folder_ = pattern;
  }
  void TearDown() override { fs::remove_all(folder_); }

  void plant(const fs::path& path, const std::string& text) const {
    std::ofstream(path, std::ios::binary) << text;
  }
  [[nodiscard]] std::string read(const fs::path& path) const {
    const auto bytes = read_file(path);
    return bytes ? std::string(as_text(*bytes)) : "unreadable: " + to_text(bytes.error().front());
  }
  [[nodiscard]] std::set<std::string> names() const {
    std::set<std::string> found;
    for (const auto& entry : fs::directory_iterator(folder_)) found.insert(entry.path().filename().string());
    return found;
  }

  fs::path folder_;
};

std::string problem_of(const fs::path& path) {
  const auto bytes = read_file(path);
  return bytes ? "none" : bytes.error().front().problem;
}

TEST_F(Files, ReadsBytesAsTheyAre) {
  const std::string text = std::string("a\0b\r\n\xff", 6);
  plant(folder_ / "f", text);
  EXPECT_EQ(read(folder_ / "f"), text);
  plant(folder_ / "empty", "");
  EXPECT_EQ(read(folder_ / "empty"), "");
}

TEST_F(Files, SaysWhyAFileCannotBeRead) {
  EXPECT_NE(problem_of(folder_ / "absent").find("No such file"), std::string::npos);
  EXPECT_EQ(problem_of(folder_), "is a folder");
  EXPECT_EQ(problem_of("/dev/zero"), "is not a regular file");
  plant(folder_ / "f", "x");
  EXPECT_NE(problem_of(folder_ / "f" / "below").find("Not a directory"), std::string::npos);
}

TEST_F(Files, ANamedPipeIsRefusedAndNotWaitedFor) {
  ASSERT_EQ(::mkfifo((folder_ / "pipe").c_str(), 0600), 0);
  EXPECT_EQ(problem_of(folder_ / "pipe"), "is not a regular file");
}

TEST_F(Files, AHugeFileIsRefusedBeforeItIsRead) {
  plant(folder_ / "huge", "");
  fs::resize_file(folder_ / "huge", kLargestInput + 1);  // sparse
  EXPECT_EQ(problem_of(folder_ / "huge"), "has 1073741825 bytes");
}

TEST_F(Files, SavesANewFileAndReplacesAnOldOne) {
  const fs::path path = folder_ / "project.json";
  ASSERT_TRUE(write_file_atomically(path, as_bytes("first")));
  EXPECT_EQ(read(path), "first");
  ASSERT_EQ(::chmod(path.c_str(), 0640), 0);
  ASSERT_TRUE(write_file_atomically(path, as_bytes("second")));
  EXPECT_EQ(read(path), "second");
  EXPECT_EQ(names(), std::set<std::string>{"project.json"});
  EXPECT_EQ(fs::status(path).permissions(), fs::perms(0640));
}

TEST_F(Files, SavesThroughASymbolicLink) {
  plant(folder_ / "real", "old");
  fs::create_symlink("real", folder_ / "link");
  ASSERT_TRUE(write_file_atomically(folder_ / "link", as_bytes("new")));
  EXPECT_TRUE(fs::is_symlink(folder_ / "link"));
  EXPECT_EQ(read(folder_ / "real"), "new");
}

// Three blocks, so that `write` can fail with part of the file written.
std::string three_blocks() { return std::string(3 << 16, 'n'); }

struct FailingStep {
  SaveStep step;
  int occurrence;  ///< 1 = the first
};
constexpr FailingStep kBeforeReplacement[] = {
    {SaveStep::create_temporary, 1}, {SaveStep::write, 1},   {SaveStep::write, 3},
    {SaveStep::sync_file, 1},        {SaveStep::replace, 1},
};

SaveFault at_step(FailingStep failing, std::function<int()> act) {
  return [failing, act, seen = 0](SaveStep step) mutable {
    return step == failing.step && ++seen == failing.occurrence ? act() : 0;
  };
}

TEST_F(Files, AFailureAtAnyStepLeavesTheOldFileWholeAndNothingElse) {
  const fs::path path = folder_ / "project.json";
  plant(path, "old");
  for (const FailingStep& failing : kBeforeReplacement) {
    const auto saved =
        write_file_atomically(path, as_bytes(three_blocks()), at_step(failing, [] { return ENOSPC; }));
    ASSERT_FALSE(saved);
    EXPECT_NE(saved.error().front().problem.find("No space left"), std::string::npos);
    EXPECT_EQ(read(path), "old");
    EXPECT_EQ(names(), std::set<std::string>{"project.json"});
  }
}

TEST_F(Files, DeathAtAnyStepLeavesTheOldFileWholeOrTheNewFileWhole) {
  const fs::path path = folder_ / "project.json";
  const auto die_in_mid_save = [&](FailingStep failing) {
    const pid_t child = ::fork();
    if (child == 0) {
      const auto saved = write_file_atomically(path, as_bytes(three_blocks()), at_step(failing, []() -> int {
                                                 ::kill(::getpid(), SIGKILL);
                                                 return 0;
                                               }));
      ::_exit(saved ? 0 : 1);  // not reached: the step kills
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    EXPECT_TRUE(WIFSIGNALED(status));
  };
  for (const FailingStep& failing : kBeforeReplacement) {
    plant(path, "old");
    die_in_mid_save(failing);
    EXPECT_EQ(read(path), "old");
  }
  die_in_mid_save({SaveStep::sync_folder, 1});
  EXPECT_EQ(read(path), three_blocks());
  // What a dead save left behind does not stand in the way of the next.
  ASSERT_TRUE(write_file_atomically(path, as_bytes("after")));
  EXPECT_EQ(read(path), "after");
}

TEST_F(Files, AFolderThatCannotBeForcedToDiskIsReported) {
  const auto saved = write_file_atomically(folder_ / "f", as_bytes("new"),
                                           at_step({SaveStep::sync_folder, 1}, [] { return EIO; }));
  EXPECT_FALSE(saved);
  EXPECT_EQ(read(folder_ / "f"), "new");
}

TEST_F(Files, SavingIntoNothingIsRefused) {
  const auto nowhere = write_file_atomically(folder_ / "absent" / "f", as_bytes("x"));
  ASSERT_FALSE(nowhere);
  EXPECT_EQ(nowhere.error().front().file, (folder_ / "absent" / "f").string());
  EXPECT_FALSE(write_file_atomically(folder_, as_bytes("x")));
}

// --- the cache ---

Hash key_of(std::string_view name) { return KeyBuilder().add(name).key(); }

std::unique_ptr<DiskBlobStore> opened(const fs::path& folder, std::uint64_t largest = kDefaultCacheBytes) {
  auto store = DiskBlobStore::open(folder, largest);
  if (!store) throw std::runtime_error(to_text(store.error().front()));
  return std::move(*store);
}

std::string got(BlobStore& store, const Hash& key) {
  const auto bytes = store.get(key);
  return bytes ? std::string(as_text(*bytes)) : "miss";
}

TEST_F(Files, ABlobOutlivesTheStoreThatWroteIt) {
  opened(folder_ / "deep" / "cache")->put(key_of("a"), as_bytes("light"));
  const auto store = opened(folder_ / "deep" / "cache");
  EXPECT_EQ(got(*store, key_of("a")), "light");
  EXPECT_EQ(got(*store, key_of("b")), "miss");
  store->put(key_of("empty"), {});
  EXPECT_EQ(got(*store, key_of("empty")), "");
}

TEST_F(Files, FlippingAnyBitOfABlobIsAMiss) {
  const auto store = opened(folder_);
  const Hash key = key_of("a");
  store->put(key, as_bytes("seventeen bytes."));
  const fs::path path = store->path_of(key);
  const std::string whole = read(path);
  ASSERT_EQ(whole.size(), 48u + 16u);
  for (std::size_t i = 0; i < whole.size(); ++i) {
    for (int bit = 0; bit < 8; ++bit) {
      std::string damaged = whole;
      damaged[i] = static_cast<char>(damaged[i] ^ (1 << bit));
      plant(path, damaged);
      ASSERT_EQ(got(*store, key), "miss") << "byte " << i << ", bit " << bit;
    }
  }
  plant(path, whole);
  EXPECT_EQ(got(*store, key), "seventeen bytes.");
}

TEST_F(Files, ABlobCutShortOrLengthenedIsAMissAndIsMended) {
  const auto store = opened(folder_);
  const Hash key = key_of("a");
  store->put(key, as_bytes("light"));
  const std::string whole = read(store->path_of(key));
  for (std::size_t size = 0; size < whole.size(); ++size) {
    plant(store->path_of(key), whole.substr(0, size));
    ASSERT_EQ(got(*store, key), "miss") << size;
  }
  plant(store->path_of(key), whole + "x");
  EXPECT_EQ(got(*store, key), "miss");
  store->put(key, as_bytes("light"));
  EXPECT_EQ(got(*store, key), "light");
}

TEST_F(Files, ABlobUnderTheNameOfAnotherIsAMiss) {
  const auto store = opened(folder_);
  store->put(key_of("a"), as_bytes("light"));
  fs::copy_file(store->path_of(key_of("a")), store->path_of(key_of("b")));
  EXPECT_EQ(got(*store, key_of("b")), "miss");
}

TEST_F(Files, AFolderThatCannotServeIsExplained) {
  plant(folder_ / "file", "x");
  EXPECT_FALSE(DiskBlobStore::open(folder_ / "file"));
  EXPECT_FALSE(DiskBlobStore::open(folder_ / "file" / "below"));
}

TEST_F(Files, AStoreWhoseFolderVanishesMissesAndWarnsOnce) {
  const auto store = opened(folder_ / "cache");
  EXPECT_FALSE(store->warning());
  fs::remove_all(folder_ / "cache");
  store->put(key_of("a"), as_bytes("light"));
  EXPECT_EQ(got(*store, key_of("a")), "miss");
  ASSERT_TRUE(store->warning());
  EXPECT_EQ(store->warning()->severity, Diagnostic::Severity::warning);
}

TEST_F(Files, TheLeastRecentlyUsedBlobsLeaveFirst) {
  // Ten blobs of 100 bytes with their headers fill the store exactly.
  const auto store = opened(folder_, 1000);
  const std::string payload(100 - 48, 'x');
  const auto set_age = [&](const Hash& key, int hours) {
    fs::last_write_time(store->path_of(key), fs::file_time_type::clock::now() - std::chrono::hours(hours));
  };
  for (int i = 0; i < 10; ++i) {
    store->put(key_of(std::to_string(i)), as_bytes(payload));
    set_age(key_of(std::to_string(i)), 100 - i);
  }
  EXPECT_EQ(names().size(), 10u);
  EXPECT_NE(got(*store, key_of("0")), "miss");  // used: no longer the oldest
  store->put(key_of("new"), as_bytes(payload));
  EXPECT_EQ(got(*store, key_of("1")), "miss");
  EXPECT_EQ(got(*store, key_of("2")), "miss");
  EXPECT_NE(got(*store, key_of("0")), "miss");
  EXPECT_NE(got(*store, key_of("3")), "miss");
  EXPECT_NE(got(*store, key_of("new")), "miss");
  store->put(key_of("too large"), as_bytes(std::string(2000, 'x')));
  EXPECT_EQ(got(*store, key_of("too large")), "miss");
}

TEST_F(Files, WhatADeadWriterLeftIsClearedAndStrangersAreNotTouched) {
  plant(folder_ / "old.part", "x");
  plant(folder_ / "young.part", "x");
  plant(folder_ / "notes.txt", "x");
  fs::last_write_time(folder_ / "old.part", fs::file_time_type::clock::now() - std::chrono::hours(2));
  opened(folder_);
  EXPECT_EQ(names(), (std::set<std::string>{"young.part", "notes.txt"}));
}

TEST_F(Files, WritersAtTheSameTimeNeverShowHalfABlob) {
  const Hash key = key_of("shared");
  const std::string payload(200'000, 'x');
  std::atomic<int> wrong = 0;
  {
    std::vector<std::jthread> writers;
    for (int t = 0; t < 4; ++t) {
      writers.emplace_back([&] {
        const auto store = opened(folder_);
        for (int i = 0; i < 50; ++i) {
          store->put(key, as_bytes(payload));
          if (got(*store, key) != payload) ++wrong;
        }
      });
    }
  }
  EXPECT_EQ(wrong, 0);
  EXPECT_EQ(names().size(), 1u);
}

TEST(EmbeddedLibrary, IsTheLibraryOfTheSourceTreeByteForByte) {
  const fs::path root = fs::path(HALFLIGHT_SOURCE_DIR) / "library";
  std::set<std::string> on_disk;
  for (const auto& entry :
       fs::recursive_directory_iterator(root, fs::directory_options::follow_directory_symlink)) {
    if (entry.path().extension() == ".json") on_disk.insert(entry.path().lexically_relative(root).string());
  }
  std::set<std::string> embedded;
  for (const EmbeddedFile& file : embedded_library()) {
    embedded.insert(std::string(file.name));
    const auto bytes = read_file(root / file.name);
    ASSERT_TRUE(bytes) << file.name;
    EXPECT_EQ(as_text(*bytes), as_text(file.bytes)) << file.name;
  }
  EXPECT_EQ(embedded, on_disk);
  EXPECT_FALSE(embedded.empty());
}

TEST(CacheFolder, ComesFromTheEnvironment) {
  ::setenv("HOME", "/home/someone", 1);
  ::unsetenv("XDG_CACHE_HOME");
  EXPECT_EQ(default_cache_folder(), fs::path("/home/someone/.cache/halflight"));
  ::setenv("XDG_CACHE_HOME", "/var/cache/someone", 1);
  EXPECT_EQ(default_cache_folder(), fs::path("/var/cache/someone/halflight"));
  ::setenv("XDG_CACHE_HOME", "relative", 1);  // the convention: a relative path is ignored
  EXPECT_EQ(default_cache_folder(), fs::path("/home/someone/.cache/halflight"));
  ::setenv("HOME", "", 1);
  EXPECT_EQ(default_cache_folder(), std::nullopt);
}

}  // namespace
}  // namespace halflight::files
