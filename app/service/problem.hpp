#pragma once
#include "base/diagnostic.hpp"

#include <string>

namespace halflight::service {

/// Why a request was not met, as the pages show it.
struct Problem {
  enum class Code {
    bad_request,  ///< 400: what was asked cannot be understood, or the document cannot be so
    refused,      ///< 403
    not_found,    ///< 404
    conflict,     ///< 409
    too_large,    ///< 413
    busy,         ///< 503
    storage,      ///< 507: the disk or the database stands in the way
    internal,     ///< 500
  };
  Code code = Code::internal;
  std::string problem;
  std::string remedy;
  std::string where{};  ///< pointer into the request or the document
};

template <class T>
using Answer = tl::expected<T, Problem>;

inline tl::unexpected<Problem> refuse(Problem::Code code, std::string problem, std::string remedy,
                                      std::string where = {}) {
  return tl::unexpected(Problem{code, std::move(problem), std::move(remedy), std::move(where)});
}

/// The first of them.
inline Problem problem_of(Problem::Code code, const Diagnostics& diagnostics) {
  if (diagnostics.empty()) return {code, "something went wrong", "try again"};
  const Diagnostic& first = diagnostics.front();
  return {code, first.problem, first.remedy, first.where};
}

}  // namespace halflight::service
