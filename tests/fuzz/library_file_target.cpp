// One file of the library's records.
#include "formats/library_json.hpp"
#include "fuzz_target.hpp"

#include <array>

using namespace halflight;

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::array<formats::LibrarySource, 1> files{{{"a.json", fuzz::bytes_of(data, size)}}};
  const auto library = formats::load_library(files);
  if (!library) fuzz::require_good_refusal(library.error());
  return 0;
}
