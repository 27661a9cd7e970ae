// Weather files as they come from a disk. A whole year is longer than a fuzzed input:
// weather_year_target.cpp.
#include "weather_checks.hpp"

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  halflight::fuzz::read_weather_and_check(halflight::fuzz::text_of(data, size));
  return 0;
}
