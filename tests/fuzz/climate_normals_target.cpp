// A file of climates.
#include "formats/climate_normals_file.hpp"
#include "fuzz_target.hpp"

using namespace halflight;

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto climates = formats::read_climate_normals(fuzz::text_of(data, size), "a.json");
  if (!climates) fuzz::require_good_refusal(climates.error());
  return 0;
}
