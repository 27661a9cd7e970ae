#include "service/problem_json.hpp"

#include <array>
#include <cstddef>

namespace halflight::service {

namespace {

struct CodeRow {
  const char* name;
  int status;
};

/// In the order of Problem::Code.
constexpr std::array<CodeRow, 8> kCodes = {{{"bad_request", 400},
                                            {"refused", 403},
                                            {"not_found", 404},
                                            {"conflict", 409},
                                            {"too_large", 413},
                                            {"busy", 503},
                                            {"storage", 507},
                                            {"internal", 500}}};

}  // namespace

int status_of(Problem::Code code) { return kCodes[static_cast<std::size_t>(code)].status; }

Json to_json(const Problem& problem) {
  Json json = {{"code", kCodes[static_cast<std::size_t>(problem.code)].name},
               {"problem", problem.problem},
               {"remedy", problem.remedy}};
  if (!problem.where.empty()) json["where"] = problem.where;
  return json;
}

}  // namespace halflight::service
