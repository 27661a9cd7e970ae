// Fails when a file includes a module that its own module may not see, or when core touches the outside
// world. The table is the architecture (docs/architecture.md); changing it is a design decision.
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <string>

#include <gtest/gtest.h>

namespace {

using Names = std::set<std::string>;

const std::map<std::string, Names>& may_see() {
  static const std::map<std::string, Names> table = [] {
    std::map<std::string, Names> t = {
        {"base", {}},
        {"geometry", {}},
        {"domain", {"geometry"}},
        {"results", {"domain", "geometry"}},
        {"climate", {"domain", "geometry"}},
        {"photometry", {"domain", "geometry"}},
        {"transport", {"geometry"}},
        {"daylight", {"domain", "geometry", "climate", "transport"}},
        {"lightresponse", {"domain", "geometry", "photometry", "transport", "daylight"}},
        {"people", {"domain", "geometry"}},
        {"sensing", {"domain", "geometry"}},
        {"controls", {"domain"}},
        {"energy", {"domain", "results"}},
        {"codes", {"domain", "geometry", "results"}},
    };
    Names below_sim;
    for (const auto& [module, sees] : t) below_sim.insert(module);
    t["sim"] = below_sim;
    t["choose"] = below_sim;
    t["choose"].insert("sim");
    t["wording"] = {"domain", "results"};
    t["report"] = {"domain", "geometry", "sensing", "results", "wording"};
    t["formats"] = {"domain", "geometry", "results"};
    for (auto& [module, sees] : t)
      if (module != "base") sees.insert("base");
    return t;
  }();
  return table;
}

// Standard headers that mean input, output, clocks, or random numbers that differ between libraries.
const Names kBanned = {"fstream", "iostream", "filesystem", "cstdio", "ctime", "random", "chrono"};

struct Include {
  std::string module;  // of "module/file.hpp", or empty
  std::string system;  // of <header>, or empty
  int line = 0;
};

std::vector<Include> includes_of(const std::filesystem::path& path) {
  static const std::regex pattern(R"(^\s*#\s*include\s+(?:"([a-z_]+)/[^"]*"|<([a-z_]+)>))");
  std::ifstream in(path);
  std::vector<Include> found;
  std::string text;
  for (int line = 1; std::getline(in, text); ++line) {
    std::smatch m;
    if (std::regex_search(text, m, pattern)) found.push_back({m[1], m[2], line});
  }
  return found;
}

bool is_source(const std::filesystem::path& p) { return p.extension() == ".cpp" || p.extension() == ".hpp"; }
bool is_test(const std::filesystem::path& p) { return p.stem().string().ends_with("_test"); }

TEST(Layers, CoreModulesIncludeOnlyWhatTheyMaySee) {
  const std::filesystem::path core = std::filesystem::path(HALFLIGHT_SOURCE_DIR) / "core";
  int files = 0;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(core)) {
    if (!entry.is_regular_file() || !is_source(entry.path())) continue;
    ++files;
    const std::string module = entry.path().lexically_relative(core).begin()->string();
    ASSERT_TRUE(may_see().contains(module)) << entry.path() << ": no row for module " << module;
    const Names& sees = may_see().at(module);
    for (const Include& include : includes_of(entry.path())) {
      if (!include.module.empty()) {
        EXPECT_TRUE(include.module == module || sees.contains(include.module))
            << entry.path().string() << ":" << include.line << ": " << module << " may not include "
            << include.module << "/";
      }
      if (!is_test(entry.path())) {
        EXPECT_FALSE(kBanned.contains(include.system)) << entry.path().string() << ":" << include.line
                                                       << ": core may not include <" << include.system << ">";
      }
    }
  }
  EXPECT_GT(files, 10);
}

}  // namespace
