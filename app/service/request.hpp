#pragma once
#include "formats/project_json.hpp"
#include "service/json.hpp"
#include "service/problem.hpp"
#include "store/store.hpp"
#include "store/text_rules.hpp"

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

// What comes in, made into values.

namespace halflight::service {

/// The whole of a text as a whole number.
std::optional<std::int64_t> whole_number(const std::string& text);

/// A body as JSON: an object, never nested deeply.
Answer<Json> body_of(const std::string& body);

/// Reads fields of a body and remembers the first that is wrong; keys that nothing asked for are wrong too.
class Fields {
 public:
  explicit Fields(const Json& json) : json_(json) {}

  std::string text(const char* key, std::optional<std::string> otherwise = {}) {
    const Json* value = find(key, otherwise.has_value());
    if (value == nullptr) return otherwise.value_or("");
    if (!value->is_string()) return wrong(key, "is no text"), "";
    return value->get<std::string>();
  }
  /// A name or label as the store keeps it.
  std::string name(const char* key, std::optional<std::string> otherwise = {}) {
    std::string given = text(key, std::move(otherwise));
    if (const auto problem = store::text_problem(given, store::kLongestText)) wrong(key, *problem);
    return given;
  }
  std::int64_t whole(const char* key, std::optional<std::int64_t> otherwise = {}) {
    const Json* value = find(key, otherwise.has_value());
    if (value == nullptr) return otherwise.value_or(0);
    if (!value->is_number_integer()) return wrong(key, "is no whole number"), 0;
    return value->get<std::int64_t>();
  }
  bool flag(const char* key) {
    const Json* value = find(key, true);
    if (value == nullptr) return false;
    if (!value->is_boolean()) return wrong(key, "is neither true nor false"), false;
    return value->get<bool>();
  }
  /// Null where the key is absent.
  const Json* any(const char* key) { return find(key, true); }

  void wrong(const std::string& key, const std::string& what) {
    if (!problem_)
      problem_ = Problem{Problem::Code::bad_request, fmt::format("\"{}\" {}", key, what),
                         "see the description of the interface", "/" + key};
  }
  std::optional<Problem> problem() {
    for (const auto& [key, value] : json_.items())
      if (asked_.count(key) == 0) wrong(key, "is not known here");
    return problem_;
  }

 private:
  const Json* find(const char* key, bool may_be_absent) {
    asked_.insert(key);
    const auto found = json_.find(key);
    if (found != json_.end()) return &*found;
    if (!may_be_absent) wrong(key, "is missing");
    return nullptr;
  }
  const Json& json_;
  std::set<std::string> asked_;
  std::optional<Problem> problem_;
};

/// Steps of a change to a document: RFC 6902 without "move", "copy" and "test". Null: none. What is wrong
/// with them is noted in `fields`.
std::vector<formats::DocumentEdit> edits_of(const Json* list, Fields& fields);

}  // namespace halflight::service
