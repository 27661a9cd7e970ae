// Every rule of docs/rules is cited by a test, and every rule that a test cites exists.
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <regex>
#include <set>
#include <string>

#include <gtest/gtest.h>

namespace {

namespace fs = std::filesystem;

std::string text_of(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// Rule ids by the file that mentions them. `pattern` has the id as its first group.
std::map<std::string, std::string> ids_in(const fs::path& path, const std::regex& pattern) {
  std::map<std::string, std::string> ids;
  const std::string text = text_of(path);
  for (std::sregex_iterator m(text.begin(), text.end(), pattern), end; m != end; ++m)
    ids[(*m)[1]] = path.string();
  return ids;
}

TEST(Rules, EveryRuleHasATestAndEveryCitationARule) {
  const fs::path root = HALFLIGHT_SOURCE_DIR;
  std::map<std::string, std::string> rules;
  for (const auto& entry : fs::directory_iterator(root / "docs" / "rules"))
    if (entry.path().extension() == ".md")
      rules.merge(ids_in(entry.path(), std::regex(R"(\*\*([A-Z]{3}-[0-9]+)\*\*)")));
  ASSERT_GT(rules.size(), 20U);
  std::string prefixes;
  std::set<std::string> known;
  for (const auto& [id, file] : rules)
    if (known.insert(id.substr(0, 3)).second) prefixes += (prefixes.empty() ? "" : "|") + id.substr(0, 3);

  std::map<std::string, std::string> cited;
  const std::regex citation("\\b((?:" + prefixes + ")-[0-9]+)\\b");
  for (const char* folder : {"core", "tests", "app"}) {
    if (!fs::exists(root / folder)) continue;
    for (const auto& entry : fs::recursive_directory_iterator(root / folder))
      if (entry.path().filename().string().ends_with("_test.cpp"))
        cited.merge(ids_in(entry.path(), citation));
  }
  for (const auto& [id, file] : rules)
    EXPECT_TRUE(cited.contains(id)) << id << " of " << file << " has no test";
  for (const auto& [id, file] : cited)
    EXPECT_TRUE(rules.contains(id)) << file << " cites " << id << ", no such rule";
}

}  // namespace
