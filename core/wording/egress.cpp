#include "wording/egress.hpp"

#include <algorithm>
#include <cstddef>
#include <string_view>
#include <utility>
#include <vector>

namespace halflight::wording {
namespace {

/// Where a state is told within a text.
struct Told {
  const results::EgressState* state = nullptr;
  std::size_t from = 0;
  std::size_t to = 0;
};

std::vector<Told> told_in(const results::SpaceStudy& space, std::string_view text) {
  std::vector<Told> told;
  for (const results::EgressState& e : space.egress)
    if (const std::size_t at = text.find("Path " + e.path + ", " + e.state + ": ");
        at != std::string_view::npos)
      told.push_back({&e, at, 0});
  std::sort(told.begin(), told.end(), [](const Told& a, const Told& b) { return a.from < b.from; });
  // What is told of a state ends where the next begins; after the last one, where the text does.
  for (std::size_t i = 0; i < told.size(); ++i)
    told[i].to = i + 1 < told.size() ? told[i + 1].from : text.size();
  return told;
}

bool is_darker(const results::EgressState& a, const results::EgressState& b) {
  return std::pair(a.min_lx, a.mean_lx) < std::pair(b.min_lx, b.mean_lx);
}

}  // namespace

std::string told_by_path(const results::SpaceStudy& space, std::string text) {
  const std::vector<Told> told = told_in(space, text);
  if (told.size() < 2) return text;
  std::vector<std::string> paths;
  for (const Told& t : told)
    if (std::find(paths.begin(), paths.end(), t.state->path) == paths.end()) paths.push_back(t.state->path);
  std::string shorter = text.substr(0, told.front().from);
  for (const std::string& path : paths) {
    const Told* worst = nullptr;
    std::size_t others = 0;
    for (const Told& t : told) {
      if (t.state->path != path) continue;
      if (worst != nullptr) ++others;
      if (worst == nullptr || is_darker(*t.state, *worst->state)) worst = &t;
    }
    std::string one = text.substr(worst->from, worst->to - worst->from);
    while (one.ends_with(' ')) one.pop_back();
    if (others > 0)
      one += " So in " + std::to_string(others) + (others == 1 ? " more state." : " more states.");
    shorter += (shorter.empty() || shorter.ends_with(' ') ? "" : " ") + one;
  }
  return shorter;
}

}  // namespace halflight::wording
