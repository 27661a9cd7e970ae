// bench [part...]: prints the table that docs/bench.md explains.
#include "measure.hpp"
#include "parts.hpp"

#include <algorithm>
#include <string_view>
#include <vector>

#include <fmt/format.h>

int main(int argc, char** argv) {
  using namespace halflight::bench;
  std::vector<std::string_view> parts(argv + 1, argv + argc);
  if (parts.size() == 2 && parts[0] == "building") {
    study_building(parts[1]);
    return 0;
  }
  const auto wanted = [&](std::string_view part) {
    return parts.empty() || std::find(parts.begin(), parts.end(), part) != parts.end();
  };
  fmt::print("  {:<66} {:>10} {:<6} {}\n", "", "seen", "", "goal at most");
  if (wanted("rays")) rays();
  if (wanted("products")) products();
  if (wanted("light")) light();
  if (wanted("years")) years();
  if (wanted("service")) service();
  if (wanted("proposals")) proposals();
  if (wanted("growth")) growth(argv[0]);
  return 0;
}
