#include "service/request.hpp"

#include <charconv>

#include <fmt/format.h>

namespace halflight::service {

namespace {

constexpr std::size_t kMostEdits = 20'000;
constexpr int kDeepestJson = 64;

}  // namespace

std::optional<std::int64_t> whole_number(const std::string& text) {
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return value;
}

Answer<Json> body_of(const std::string& body) {
  struct TooDeep {};
  try {
    Json json = Json::parse(body, [](int depth, Json::parse_event_t, Json&) {
      if (depth > kDeepestJson) throw TooDeep{};
      return true;
    });
    if (!json.is_object())
      return refuse(Problem::Code::bad_request, "the body is no JSON object", "send an object");
    return json;
  } catch (const TooDeep&) {
    return refuse(Problem::Code::bad_request, fmt::format("the body nests deeper than {}", kDeepestJson),
                  "send flatter JSON");
  } catch (const Json::exception& e) {
    return refuse(Problem::Code::bad_request, fmt::format("the body is no JSON: {}", e.what()),
                  "send a JSON object, UTF-8");
  }
}

std::vector<formats::DocumentEdit> edits_of(const Json* list, Fields& fields) {
  using Operation = formats::DocumentEdit::Operation;
  std::vector<formats::DocumentEdit> edits;
  if (list == nullptr) return edits;
  if (!list->is_array() || list->size() > kMostEdits) {
    fields.wrong("edits", fmt::format("is no list of at most {} steps", kMostEdits));
    return edits;
  }
  for (const Json& step : *list) {
    const auto op = step.is_object() ? step.find("op") : step.end();
    const auto path = step.is_object() ? step.find("path") : step.end();
    if (op == step.end() || path == step.end() || !op->is_string() || !path->is_string()) {
      fields.wrong("edits", "holds a step without op and path");
      return {};
    }
    formats::DocumentEdit edit;
    edit.pointer = path->get<std::string>();
    const std::string name = op->get<std::string>();
    if (name == "add" || name == "replace") {
      edit.operation = name == "add" ? Operation::add : Operation::replace;
      const auto value = step.find("value");
      if (value == step.end()) {
        fields.wrong("edits", "holds a step without a value");
        return {};
      }
      if (edit.pointer.empty() && !value->is_object()) {
        fields.wrong("edits", "would leave no document: it is an object");
        return {};
      }
      edit.json = text_of(*value);
    } else if (name == "remove") {
      edit.operation = Operation::remove;
    } else {
      fields.wrong("edits", fmt::format("holds \"{}\", which is none of add, replace and remove", name));
      return {};
    }
    edits.push_back(std::move(edit));
  }
  return edits;
}

}  // namespace halflight::service
