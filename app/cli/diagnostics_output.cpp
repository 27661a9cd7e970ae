#include "cli/diagnostics_output.hpp"

#include <cstdio>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace halflight::cli {

void print_diagnostics(const Diagnostics& diagnostics) {
  std::string counts;
  for (const auto severity :
       {Diagnostic::Severity::error, Diagnostic::Severity::warning, Diagnostic::Severity::missing}) {
    int count = 0;
    for (const Diagnostic& diagnostic : diagnostics) {
      if (diagnostic.severity != severity) continue;
      fmt::print(stderr, "{}\n", to_text(diagnostic));
      ++count;
    }
    if (count > 0) counts += fmt::format("{}{} {}", counts.empty() ? "" : ", ", count, name_of(severity));
  }
  if (diagnostics.size() > 1) fmt::print(stderr, "in all: {}\n", counts);
}

nlohmann::ordered_json to_json(const Diagnostics& diagnostics) {
  auto list = nlohmann::ordered_json::array();
  for (const Diagnostic& d : diagnostics) {
    list.push_back({{"severity", name_of(d.severity)},
                    {"file", d.file},
                    {"where", d.where},
                    {"problem", d.problem},
                    {"remedy", d.remedy}});
  }
  return list;
}

void print_json(const nlohmann::ordered_json& json) {
  fmt::print("{}\n", json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace));
}

}  // namespace halflight::cli
