#include "projects/variants.hpp"

#include <algorithm>
#include <array>
#include <iterator>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <nlohmann/json.hpp>

namespace halflight::projects {

namespace {

struct Name {
  std::string_view word;
  std::string_view rule;   ///< key of the sequence
  std::string_view value;  ///< key of the rule
};
constexpr std::array kNames = {
    Name{"delay", "vacancy", "delay"},
    Name{"vacancy-level", "vacancy", "step_level"},
    Name{"trim", "trim", "high"},
    Name{"daylight-minimum", "daylight", "minimum_level"},
};

Diagnostics refused(const std::string& what, std::string problem, std::string remedy) {
  return {{Diagnostic::Severity::error, "", what, std::move(problem), std::move(remedy)}};
}

/// A value as JSON text: what is no number and no truth value is a string.
std::string as_json(const std::string& typed) {
  const nlohmann::json value = nlohmann::json::parse(typed, nullptr, false);
  if (!value.is_discarded() && (value.is_number() || value.is_boolean() || value.is_string())) return typed;
  return nlohmann::json(typed).dump();
}

}  // namespace

std::vector<std::string_view> names_of_variations() {
  std::vector<std::string_view> words;
  for (const Name& name : kNames) words.push_back(name.word);
  return words;
}

Result<Variation> variation_of(const formats::ProjectDocument& document, const std::string& space,
                               const std::string& what) {
  const nlohmann::json tree = nlohmann::json::parse(document.text());
  if (what.starts_with('/')) {
    Variation variation{{what}, false};
    const nlohmann::json flat = tree.flatten();
    if (!flat.contains(what))
      return tl::unexpected(refused(what, "no single value stands there in the document",
                                    "give the JSON pointer of a number, a word or a quantity, as "
                                    "/glazings/0/transmittance"));
    variation.light_stays =
        what.find("/sequences/") != std::string::npos || what.find("/scenes/") != std::string::npos;
    return variation;
  }
  const auto* const name =
      std::find_if(kNames.begin(), kNames.end(), [&](const Name& one) { return one.word == what; });
  if (name == kNames.end())
    return tl::unexpected(refused(what, "nothing is called so that could be varied",
                                  fmt::format("give {}, or the JSON pointer of a value in the document",
                                              fmt::join(names_of_variations(), ", "))));
  const domain::Project& project = document.project();
  for (std::size_t d = 0; d < project.designs.size(); ++d) {
    if (project.designs[d].role != domain::Design::Role::proposal) continue;
    const std::vector<domain::Sequence>& sequences = project.designs[d].sequences;
    for (std::size_t s = 0; s < sequences.size(); ++s) {
      if (sequences[s].space != space) continue;
      const std::string pointer = document.document_pointer(fmt::format("/designs/{}/sequences/{}", d, s));
      const nlohmann::json& sequence = tree.at(nlohmann::json::json_pointer(pointer));
      const std::string rule(name->rule);
      if (!sequence.contains(rule) || (sequence[rule].is_array() && sequence[rule].empty()))
        return tl::unexpected(refused(what, fmt::format("the sequence of {} has no {} rule", space, rule),
                                      "add the rule first, or vary something else"));
      Variation variation{{}, true};
      if (sequence[rule].is_array())
        for (std::size_t r = 0; r < sequence[rule].size(); ++r)
          variation.pointers.push_back(fmt::format("{}/{}/{}/{}", pointer, rule, r, name->value));
      else
        variation.pointers.push_back(fmt::format("{}/{}/{}", pointer, rule, name->value));
      return variation;
    }
    break;
  }
  return tl::unexpected(
      refused(what, fmt::format("the proposal has no sequence for {}", space), "add the sequence first"));
}

Result<ProjectFiles> variant_of(const ProjectFiles& files, const OtherFiles& others,
                                const Variation& variation, const std::string& value) {
  formats::ProjectDocument document = files.document;
  for (const std::string& pointer : variation.pointers)
    if (Diagnostics problems = document.replace(pointer, as_json(value)); !problems.empty())
      return tl::unexpected(std::move(problems));
  ProjectFiles variant = read_again(std::move(document), files, others);
  Diagnostics errors;
  std::copy_if(variant.diagnostics.begin(), variant.diagnostics.end(), std::back_inserter(errors),
               [](const Diagnostic& d) { return d.severity == Diagnostic::Severity::error; });
  if (!errors.empty()) return tl::unexpected(std::move(errors));
  return variant;
}

}  // namespace halflight::projects
