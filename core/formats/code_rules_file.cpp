#include "formats/code_rules_file.hpp"

#include "base/units.hpp"
#include "formats/json_tree.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <initializer_list>
#include <optional>
#include <set>
#include <utility>

namespace halflight::formats {
namespace {

using domain::CodeRule;
using domain::DaylightZoneRule;
using domain::Figure;
using domain::HowKnown;
using domain::RuleCondition;
using domain::RuleException;

/// Whoever mends the first of them sees the rest.
constexpr std::size_t kMostErrors = 500;
constexpr double kSquareMetresPerSquareFoot = kMetresPerFoot * kMetresPerFoot;

constexpr std::array<std::pair<std::string_view, double>, 14> kUnits = {{
    {"", 1.0},
    {"%", 0.01},
    {"ft2", kSquareMetresPerSquareFoot},
    {"m2", 1.0},
    {"ft", kMetresPerFoot},
    {"m", 1.0},
    {"min", 60.0},
    {"h", 3600.0},
    {"s", 1.0},
    {"W", 1.0},
    {"W/ft2", 1.0 / kSquareMetresPerSquareFoot},
    {"W/m2", 1.0},
    {"fc", kLuxPerFootcandle},
    {"lx", 1.0},
}};

constexpr std::array<std::pair<HowKnown, std::string_view>, 3> kHowKnownNames = {{
    {HowKnown::confirmed, "confirmed"},
    {HowKnown::from_memory, "from_memory"},
    {HowKnown::low, "low"},
}};

template <class E, std::size_t N>
std::string words_of(const std::array<std::pair<E, std::string_view>, N>& names) {
  std::string list;
  for (const auto& [value, name] : names) list += (list.empty() ? "" : ", ") + std::string(name);
  return list;
}

// A value of the tree with the place it stands at.
struct Place {
  const JsonNode* node = nullptr;
  std::string pointer;

  [[nodiscard]] Place child(std::string_view key) const {
    return {node->find(key), pointer + "/" + pointer_step(key)};
  }
  /// The i-th value of an object.
  [[nodiscard]] Place member(std::size_t i) const {
    return {&node->children[i], pointer + "/" + pointer_step(node->keys[i].name)};
  }
  [[nodiscard]] Place item(std::size_t i) const {
    return {&node->children[i], pointer + "/" + std::to_string(i)};
  }
};

class Reader {
 public:
  explicit Reader(std::string file) : file_(std::move(file)) {}

  std::vector<CodeRule> read(const JsonNode& root) {
    const Place top{&root, ""};
    std::vector<CodeRule> rules;
    if (!is_object(top, {"format", "version", "code", "edition", "title", "data_date", "caution", "sources",
                         "exceptions", "rules"}))
      return rules;
    if (text(top, "format", true) != "halflight code rules")
      error(top.child("format"), "not a file of code rules", "write \"format\": \"halflight code rules\"");
    if (number(top, "version", true) != 1.0)
      error(top.child("version"), "unknown version of the form", "write \"version\": 1");
    const std::string code = text(top, "code", true);
    const std::string edition = text(top, "edition", true);
    const std::string date = text(top, "data_date", true);
    const std::vector<RuleException> shared = exceptions(top);
    const Place list = top.child("rules");
    if (!is_array(list)) return rules;
    std::set<std::string> ids;
    for (std::size_t i = 0; i < list.node->children.size(); ++i) {
      CodeRule rule = read_rule(list.item(i));
      rule.code = code;
      rule.edition = edition;
      rule.data_date = date;
      // After a mistake the rules are not given out, and copies for empty ones would only fill the memory.
      if (diagnostics.empty()) rule.exceptions.insert(rule.exceptions.end(), shared.begin(), shared.end());
      if (!ids.insert(rule.id).second)
        error(list.item(i).child("id"), "the id \"" + rule.id + "\" is given twice",
              "give each rule its own id");
      rules.push_back(std::move(rule));
    }
    return rules;
  }

  Diagnostics diagnostics;

 private:
  void error(const Place& at, std::string problem, std::string remedy) {
    if (diagnostics.size() == kMostErrors) return;
    diagnostics.push_back(
        {Diagnostic::Severity::error, file_, at.pointer, std::move(problem), std::move(remedy)});
  }

  bool is_object(const Place& at, std::initializer_list<std::string_view> keys) {
    if (at.node == nullptr || at.node->kind != JsonNode::Kind::object) {
      error(at, "an object is expected here", "write { ... }");
      return false;
    }
    for (const JsonNode::Key& key : at.node->keys)
      if (std::find(keys.begin(), keys.end(), key.name) == keys.end())
        error({at.node, at.pointer + "/" + pointer_step(key.name)},
              "the key \"" + key.name + "\" is not known here", "take it out, or correct its spelling");
    return true;
  }

  bool is_array(const Place& at) {
    if (at.node != nullptr && at.node->kind == JsonNode::Kind::array) return true;
    error(at, "a list is expected here", "write [ ... ]");
    return false;
  }

  std::string text(const Place& parent, std::string_view key, bool required) {
    const Place at = parent.child(key);
    if (at.node == nullptr && !required) return "";
    if (at.node == nullptr || at.node->kind != JsonNode::Kind::string ||
        (required && at.node->text.empty())) {
      error(at, "a text is expected here", "write a text between quotation marks");
      return "";
    }
    return at.node->text;
  }

  double number(const Place& parent, std::string_view key, bool required, double otherwise = 0.0) {
    const Place at = parent.child(key);
    if (at.node == nullptr && !required) return otherwise;
    if (at.node == nullptr || at.node->kind != JsonNode::Kind::number || !(at.node->number >= 0.0)) {
      error(at, "a number of at least 0 is expected here", "write a number");
      return otherwise;
    }
    return at.node->number;
  }

  bool flag(const Place& parent, std::string_view key) {
    const Place at = parent.child(key);
    if (at.node == nullptr) return false;
    if (at.node->kind != JsonNode::Kind::boolean)
      error(at, "true or false is expected here", "write true or false");
    return at.node->boolean;
  }

  std::vector<std::string> texts(const Place& parent, std::string_view key) {
    const Place at = parent.child(key);
    std::vector<std::string> list;
    if (at.node == nullptr || !is_array(at)) return list;
    for (std::size_t i = 0; i < at.node->children.size(); ++i) {
      const Place item = at.item(i);
      if (item.node->kind == JsonNode::Kind::string)
        list.push_back(item.node->text);
      else
        error(item, "a text is expected here", "write a text between quotation marks");
    }
    return list;
  }

  template <class E, std::size_t N>
  E word(const Place& parent, std::string_view key,
         const std::array<std::pair<E, std::string_view>, N>& names,
         std::optional<E> otherwise = std::nullopt) {
    const Place at = parent.child(key);
    if (at.node == nullptr && otherwise) return *otherwise;
    if (at.node != nullptr && at.node->kind == JsonNode::Kind::string)
      for (const auto& [value, name] : names)
        if (name == at.node->text) return value;
    error(at, "a word of a closed set is expected here", "write one of: " + words_of(names));
    return names.front().first;
  }

  // {"value": 20, "unit": "min", "known": "confirmed"}; `unit` may be left out for pure numbers.
  Figure figure(const Place& at, HowKnown otherwise) {
    Figure figure;
    if (!is_object(at, {"value", "unit", "known"})) return figure;
    figure.entered = number(at, "value", true);
    figure.unit = text(at, "unit", false);
    figure.how_known = word(at, "known", kHowKnownNames, std::optional(otherwise));
    if (const auto si = figure_si(figure.entered, figure.unit))
      figure.si = *si;
    else
      error(at.child("unit"), "the unit \"" + figure.unit + "\" is not known",
            "write a unit such as ft2, min, W");
    return figure;
  }

  std::map<std::string, Figure> figures(const Place& parent, std::string_view key, HowKnown otherwise) {
    const Place at = parent.child(key);
    std::map<std::string, Figure> found;
    if (at.node == nullptr) return found;
    if (at.node->kind != JsonNode::Kind::object) {
      error(at, "an object of figures is expected here",
            "write { \"name\": { \"value\": ..., \"unit\": ... } }");
      return found;
    }
    for (std::size_t i = 0; i < at.node->keys.size(); ++i)
      found[at.node->keys[i].name] = figure(at.member(i), otherwise);
    return found;
  }

  // {"unit": "W/ft2", "known": "from_memory", "values": {"office_open": 0.61, ...}}
  std::map<std::string, Figure> table(const Place& parent, HowKnown otherwise) {
    const Place at = parent.child("by_space_type");
    std::map<std::string, Figure> found;
    if (at.node == nullptr || !is_object(at, {"unit", "known", "values"})) return found;
    const std::string unit = text(at, "unit", true);
    const HowKnown known = word(at, "known", kHowKnownNames, std::optional(otherwise));
    const Place values = at.child("values");
    if (values.node == nullptr || values.node->kind != JsonNode::Kind::object) {
      error(values, "an object of numbers is expected here", "write { \"office_open\": 0.61 }");
      return found;
    }
    for (const JsonNode::Key& type : values.node->keys) {
      const double value = number(values, type.name, true);
      const auto si = figure_si(value, unit);
      if (!si) {
        error(at.child("unit"), "the unit \"" + unit + "\" is not known", "write a unit such as W/ft2");
        return found;
      }
      found[type.name] = {value, unit, *si, known};
    }
    return found;
  }

  std::vector<RuleCondition> conditions(const Place& parent, std::string_view key, HowKnown otherwise) {
    const Place at = parent.child(key);
    std::vector<RuleCondition> list;
    if (at.node == nullptr || !is_array(at)) return list;
    for (std::size_t i = 0; i < at.node->children.size(); ++i) {
      const Place item = at.item(i);
      if (!is_object(item, {"fact", "is", "figure"})) continue;
      list.push_back({word(item, "fact", domain::kFactNames), word(item, "is", domain::kComparisonNames),
                      figure(item.child("figure"), otherwise)});
    }
    return list;
  }

  std::vector<RuleException> exceptions(const Place& parent, HowKnown otherwise = HowKnown::from_memory) {
    const Place at = parent.child("exceptions");
    std::vector<RuleException> list;
    if (at.node == nullptr || !is_array(at)) return list;
    for (std::size_t i = 0; i < at.node->children.size(); ++i) {
      const Place item = at.item(i);
      if (!is_object(item, {"id", "text", "space_types", "conditions"})) continue;
      list.push_back({text(item, "id", true), text(item, "text", true), texts(item, "space_types"),
                      conditions(item, "conditions", otherwise)});
    }
    return list;
  }

  std::optional<DaylightZoneRule> zones(const Place& parent) {
    const Place at = parent.child("zones");
    if (at.node == nullptr) return std::nullopt;
    DaylightZoneRule rule;
    if (!is_object(at, {"primary_depth_head_heights", "secondary_depth_head_heights", "side",
                        "side_head_heights", "toplit_ceiling_heights", "obstruction_height",
                        "toplit_obstruction_ceiling_heights", "sidelit_glazing_min",
                        "outside_rise_per_distance", "outside_rise_from_head", "luminaire_share_min"}))
      return rule;
    const auto si = [&](std::string_view key, double otherwise) {
      const Place place = at.child(key);
      return place.node == nullptr ? otherwise : figure(place, HowKnown::from_memory).si;
    };
    rule.primary_depth_head_heights = number(at, "primary_depth_head_heights", true);
    rule.secondary_depth_head_heights = number(at, "secondary_depth_head_heights", true);
    rule.side_m = si("side", 0.0);
    rule.side_head_heights = number(at, "side_head_heights", false);
    rule.toplit_ceiling_heights = number(at, "toplit_ceiling_heights", true);
    if (at.child("obstruction_height").node != nullptr)
      rule.obstruction_height_m = si("obstruction_height", 0.0);
    rule.toplit_obstruction_ceiling_heights = number(at, "toplit_obstruction_ceiling_heights", true);
    rule.sidelit_glazing_min_m2 = si("sidelit_glazing_min", 0.0);
    rule.outside_rise_per_distance = number(at, "outside_rise_per_distance", true);
    rule.outside_rise_from_head = flag(at, "outside_rise_from_head");
    rule.luminaire_share_min = number(at, "luminaire_share_min", false);
    return rule;
  }

  CodeRule read_rule(const Place& at) {
    CodeRule rule;
    if (!is_object(at, {"id",           "section", "title",       "family",          "requirement",
                        "known",        "source",  "verified",    "space_types",     "excluded_space_types",
                        "judgement",    "trigger", "trigger_any", "limits",          "by_space_type",
                        "zone_kinds",   "zones",   "exceptions",  "evidence_wanted", "note",
                        "blocks_issue", "fallback"}))
      return rule;
    rule.id = text(at, "id", true);
    rule.section = text(at, "section", true);
    rule.title = text(at, "title", true);
    rule.family = word(at, "family", domain::kRuleFamilyNames);
    rule.requirement = word(at, "requirement", domain::kRequirementNames);
    rule.how_known = word(at, "known", kHowKnownNames);
    rule.source = text(at, "source", true);
    rule.verified = flag(at, "verified");
    rule.space_types = texts(at, "space_types");
    rule.excluded_space_types = texts(at, "excluded_space_types");
    if (const Place judgement = at.child("judgement"); judgement.node != nullptr) {
      if (judgement.node->kind != JsonNode::Kind::object)
        error(judgement, "an object of reasons is expected here", "write { \"space type\": \"reason\" }");
      else
        for (const JsonNode::Key& type : judgement.node->keys)
          rule.judgement[type.name] = text(judgement, type.name, true);
    }
    rule.trigger = conditions(at, "trigger", rule.how_known);
    rule.trigger_any = conditions(at, "trigger_any", rule.how_known);
    rule.limits = figures(at, "limits", rule.how_known);
    rule.by_space_type = table(at, rule.how_known);
    rule.zone_kinds = texts(at, "zone_kinds");
    for (const std::string& kind : rule.zone_kinds)
      if (kind != "primary" && kind != "secondary" && kind != "toplit")
        error(at.child("zone_kinds"), "\"" + kind + "\" is no kind of daylight zone",
              "write primary, secondary or toplit");
    rule.zones = zones(at);
    rule.exceptions = exceptions(at, rule.how_known);
    rule.evidence_wanted = text(at, "evidence_wanted", false);
    rule.note = text(at, "note", false);
    rule.blocks_issue = flag(at, "blocks_issue");
    rule.fallback = flag(at, "fallback");

    for (const std::string_view name : domain::required_limits(rule.requirement))
      if (!rule.limits.contains(std::string(name)))
        error(at.child("limits"), "the requirement needs the limit \"" + std::string(name) + "\"",
              "add it with its value and unit");
    if (rule.requirement == domain::Requirement::daylight_control && rule.zone_kinds.empty())
      error(at.child("zone_kinds"), "the requirement needs the kinds of zone",
            "write \"zone_kinds\": [\"primary\"]");
    if (rule.requirement == domain::Requirement::daylight_zone_definition && !rule.zones)
      error(at.child("zones"), "the requirement needs the definition of the zones",
            "write \"zones\": { ... }");
    if (rule.requirement == domain::Requirement::lighting_power && rule.by_space_type.empty())
      error(at.child("by_space_type"), "the requirement needs the allowances",
            "write \"by_space_type\": { ... }");
    return rule;
  }

  std::string file_;
};

}  // namespace

std::optional<double> figure_si(double value, std::string_view unit) {
  for (const auto& [symbol, factor] : kUnits)
    if (symbol == unit) return value * factor;
  return std::nullopt;
}

Result<std::vector<CodeRule>> read_code_rules(std::string_view text, const std::string& file) {
  const auto tree = parse_json(text, file);
  if (!tree) return tl::unexpected(tree.error());
  Reader reader(file);
  std::vector<CodeRule> rules = reader.read(*tree);
  if (has_errors(reader.diagnostics)) return tl::unexpected(reader.diagnostics);
  return rules;
}

}  // namespace halflight::formats
