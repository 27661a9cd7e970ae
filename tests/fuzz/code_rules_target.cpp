// A file of code rules.
#include "formats/code_rules_file.hpp"
#include "fuzz_target.hpp"

#include <cmath>

using namespace halflight;

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto rules = formats::read_code_rules(fuzz::text_of(data, size), "a.json");
  if (!rules) {
    fuzz::require_good_refusal(rules.error());
    return 0;
  }
  for (const domain::CodeRule& rule : *rules)
    for (const auto& [name, figure] : rule.limits)
      fuzz::require(std::isfinite(figure.si) && figure.si >= 0.0, "figures are finite and not negative");
  return 0;
}
