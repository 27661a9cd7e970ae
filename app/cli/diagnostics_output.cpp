#include "cli/diagnostics_output.hpp"

#include <algorithm>
#include <cstdio>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace halflight::cli {

void print_diagnostics(const Diagnostics& diagnostics) {
  for (const auto severity :
       {Diagnostic::Severity::error, Diagnostic::Severity::warning, Diagnostic::Severity::missing}) {
    for (const Diagnostic& diagnostic : diagnostics) {
      if (diagnostic.severity == severity) fmt::print(stderr, "{}\n", to_text(diagnostic));
    }
  }
}

std::size_t count(const Diagnostics& diagnostics, Diagnostic::Severity severity) {
  return static_cast<std::size_t>(
      std::count_if(diagnostics.begin(), diagnostics.end(),
                    [severity](const Diagnostic& d) { return d.severity == severity; }));
}

std::string counted(std::size_t count, std::string_view noun) {
  return fmt::format("{} {}{}", count, noun, count == 1 ? "" : "s");
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
