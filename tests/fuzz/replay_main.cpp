// Feeds a target the files of the folders and the files named, for builds without libFuzzer.
#include "fuzz_target.hpp"

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

int main(int argc, char** argv) {
  namespace fs = std::filesystem;
  std::vector<fs::path> paths;
  for (int i = 1; i < argc; ++i) {
    if (fs::is_directory(argv[i]))
      for (const auto& entry : fs::recursive_directory_iterator(argv[i])) {
        if (entry.is_regular_file()) paths.push_back(entry.path());
      }
    else
      paths.emplace_back(argv[i]);
  }
  std::sort(paths.begin(), paths.end());
  for (const fs::path& path : paths) {
    std::ifstream in(path, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    if (!in) {
      std::fprintf(stderr, "%s cannot be read\n", path.c_str());
      return 1;
    }
    std::fprintf(stderr, "%s\n", path.c_str());  // the last one named is the one that failed
    LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(text.data()), text.size());
  }
  std::fprintf(stderr, "%zu inputs\n", paths.size());
  return paths.empty() ? 1 : 0;
}
