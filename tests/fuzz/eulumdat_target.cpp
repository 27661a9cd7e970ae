// The EULUMDAT reader by itself, past the question whether a text is EULUMDAT at all.
#include "distribution_checks.hpp"
#include "formats/eulumdat.hpp"

using namespace halflight;

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = fuzz::text_of(data, size);
  Diagnostics warnings;
  const auto distribution = formats::read_eulumdat(text, "a.ldt", &warnings);
  if (distribution)
    fuzz::require_good(*distribution);
  else
    fuzz::require_good_refusal(distribution.error());
  formats::looks_like_eulumdat(text);
  return 0;
}
