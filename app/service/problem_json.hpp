#pragma once
#include "service/json.hpp"
#include "service/problem.hpp"

namespace halflight::service {

int status_of(Problem::Code code);  ///< of HTTP
Json to_json(const Problem& problem);

}  // namespace halflight::service
