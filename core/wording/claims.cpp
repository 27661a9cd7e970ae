#include "wording/claims.hpp"

#include "wording/figures.hpp"

#include <string_view>
#include <utility>

namespace halflight::wording {

std::string claim_sentence(const results::Claim& claim, double value) {
  const std::pair<std::string_view, double> figures[] = {
      {"{value}", value}, {"{low}", claim.low}, {"{high}", claim.high}};
  std::string sentence;
  std::string_view rest = claim.text;
  while (!rest.empty()) {
    bool replaced = false;
    for (const auto& [place, figure] : figures) {
      if (!rest.starts_with(place)) continue;
      sentence += printed(figure, claim.low, claim.high, claim.unit);
      rest.remove_prefix(place.size());
      replaced = true;
      break;
    }
    if (replaced) continue;
    sentence += rest.front();
    rest.remove_prefix(1);
  }
  return sentence;
}

}  // namespace halflight::wording
