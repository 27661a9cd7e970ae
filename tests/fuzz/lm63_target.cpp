// Photometric files as they come from a disk: LM-63, and whatever is taken for EULUMDAT.
#include "distribution_checks.hpp"

using namespace halflight;

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  Diagnostics warnings;
  const auto distribution = formats::read_photometry(fuzz::bytes_of(data, size), "a.ies", &warnings);
  if (distribution)
    fuzz::require_good(*distribution);
  else
    fuzz::require_good_refusal(distribution.error());
  return 0;
}
