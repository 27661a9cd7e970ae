// Whole years from a few lines: the input is the file's heading, an empty line, and what follows the date in
// hourly rows, repeated until the year is full. Reaches the bridging of gaps and the checks of a year.
#include "base/time_axis.hpp"
#include "weather_checks.hpp"

#include <string>
#include <vector>

#include <fmt/format.h>

using namespace halflight;

namespace {

/// What stands before the values in each row.
struct Dates {
  std::vector<std::string> epw;
  std::vector<std::string> tmy3;
};

const Dates& dates() {
  static const Dates of_the_year = [] {
    Dates made;
    for (std::size_t h = 0; h < domain::kHoursPerYear; ++h) {
      const MonthDay date = month_day(static_cast<int>(h / 24));
      made.epw.push_back(fmt::format("2001,{},{},{},0,?,", date.month, date.day, h % 24 + 1));
      made.tmy3.push_back(fmt::format("{:02}/{:02}/2001,{:02}:00,", date.month, date.day, h % 24 + 1));
    }
    return made;
  }();
  return of_the_year;
}

}  // namespace

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view input = fuzz::text_of(data, size);
  const std::size_t gap = input.find("\n\n");
  if (gap == std::string_view::npos) return 0;
  std::vector<std::string_view> rows;
  for (std::string_view rest = input.substr(gap + 2); !rest.empty();) {
    const std::size_t end = rest.find('\n');
    rows.push_back(rest.substr(0, end));
    rest = end == std::string_view::npos ? std::string_view{} : rest.substr(end + 1);
  }
  // Long rows would only take time: no field that is read stands far from the start.
  constexpr std::size_t kLongestRow = 400;
  if (rows.empty()) return 0;
  std::string text(input.substr(0, gap + 1));
  const bool epw = text.starts_with("LOCATION");
  for (std::size_t h = 0; h < domain::kHoursPerYear; ++h) {
    text += epw ? dates().epw[h] : dates().tmy3[h];
    text += rows[h % rows.size()].substr(0, kLongestRow);
    text += '\n';
  }
  fuzz::read_weather_and_check(text);
  return 0;
}
