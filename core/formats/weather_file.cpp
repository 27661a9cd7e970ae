#include "formats/weather_file.hpp"

#include "base/time_axis.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

namespace halflight::formats {

namespace {

using domain::WeatherRow;
using domain::WeatherYear;

constexpr std::size_t kLargestFile_bytes = std::size_t{16} << 20U;
constexpr std::size_t kMostErrors = 20;
constexpr std::size_t kLongestGap_h = 6;
constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();

using Fields = std::vector<std::string_view>;

std::string_view trimmed(std::string_view s) {
  constexpr std::string_view kBlank = " \t\r\"";
  const std::size_t begin = s.find_first_not_of(kBlank);
  if (begin == std::string_view::npos) return {};
  return s.substr(begin, s.find_last_not_of(kBlank) - begin + 1);
}

// Splits at commas outside quotes.
Fields split(std::string_view line) {
  Fields fields;
  bool quoted = false;
  std::size_t begin = 0;
  for (std::size_t i = 0; i <= line.size(); ++i) {
    if (i < line.size() && line[i] == '"') quoted = !quoted;
    if (i == line.size() || (line[i] == ',' && !quoted)) {
      fields.push_back(trimmed(line.substr(begin, i - begin)));
      begin = i + 1;
    }
  }
  return fields;
}

std::optional<double> number_in(std::string_view text) {
  if (!text.empty() && text.front() == '+') text.remove_prefix(1);
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

// What one column holds and what it may hold. `index` counts from 0.
struct Column {
  std::string name;
  std::size_t index = 0;
  double lowest = 0.0;
  double highest = 0.0;
  double missing = 0.0;  // code of a missing value; anything as far out counts
  double unit = 1.0;     // factor to the unit of WeatherRow
  double WeatherRow::*target = nullptr;
  bool may_be_bridged = false;
};

struct Date {
  int month = 0, day = 0, hour = 0;  // hour 1..24, ending
  friend bool operator==(const Date&, const Date&) = default;
};
std::string text_of(Date d) { return fmt::format("{:02}/{:02} {:02}:00", d.month, d.day, d.hour); }

class Reader {
 public:
  Reader(std::string_view text, std::string_view file, Diagnostics* warnings)
      : text_(text), file_(file), warnings_(warnings) {}

  Result<WeatherYear> read() {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    if (text_.starts_with(kByteOrderMark)) text_.remove_prefix(kByteOrderMark.size());
    const std::string_view first = text_.substr(0, text_.find('\n'));
    const bool epw = trimmed(split(first).front()) == "LOCATION";
    const bool tmy3 = text_.substr(0, 4096).find("Date (MM/DD/YYYY)") != std::string_view::npos;
    if (!epw && !tmy3) {
      error("line 1", "neither a TMY3 nor an EPW weather file",
            "a TMY3 file has the heading 'Date (MM/DD/YYYY)' in line 2, an EPW file begins with 'LOCATION,'");
      return tl::unexpected(errors_);
    }
    year_.rows.reserve(domain::kHoursPerYear);
    if (epw ? read_epw_head() : read_tmy3_head()) read_rows(epw);
    if (errors_.empty()) finish();
    if (!errors_.empty()) return tl::unexpected(errors_);
    return std::move(year_);
  }

 private:
  bool next_line(std::string_view& line) {
    if (at_ >= text_.size()) return false;
    const std::size_t end = std::min(text_.find('\n', at_), text_.size());
    line = text_.substr(at_, end - at_);
    at_ = end + 1;
    ++line_;
    return true;
  }

  void error(std::string where, std::string problem, std::string remedy) {
    errors_.push_back({Diagnostic::Severity::error, std::string(file_), std::move(where), std::move(problem),
                       std::move(remedy)});
  }
  void warn(std::string where, std::string problem, std::string remedy) {
    if (warnings_ == nullptr) return;
    warnings_->push_back({Diagnostic::Severity::warning, std::string(file_), std::move(where),
                          std::move(problem), std::move(remedy)});
  }
  [[nodiscard]] std::string where(std::size_t index, std::string_view name) const {
    return fmt::format("line {}, field {} ({})", line_, index + 1, name);
  }

  // A number of the heading, within limits.
  double head_number(const Fields& fields, std::size_t index, std::string_view name, double lowest,
                     double highest) {
    const std::string_view text = index < fields.size() ? fields[index] : std::string_view{};
    const std::optional<double> value = number_in(text);
    if (!value || *value < lowest || *value > highest) {
      error(where(index, name), fmt::format("'{}' is not a {}", text, name),
            fmt::format("give a number from {} to {}", lowest, highest));
      return 0.0;
    }
    return *value;
  }

  void read_place(const Fields& f, std::size_t latitude, std::size_t longitude, std::size_t zone,
                  std::size_t elevation) {
    year_.latitude_deg = head_number(f, latitude, "latitude", -90.0, 90.0);
    year_.longitude_deg = head_number(f, longitude, "longitude", -180.0, 180.0);
    year_.utc_offset_h = head_number(f, zone, "time zone", -12.0, 14.0);
    year_.elevation_m = head_number(f, elevation, "elevation", -500.0, 9000.0);
  }

  void set_columns(const std::array<std::size_t, 6>& index, const std::array<double, 6>& missing,
                   double pressure_unit, const std::array<std::string, 6>& names) {
    columns_ = {
        {names[0], index[0], 0.0, 1500.0, missing[0], 1.0, &WeatherRow::global_w_m2, false},
        {names[1], index[1], 0.0, 1500.0, missing[1], 1.0, &WeatherRow::beam_w_m2, false},
        {names[2], index[2], 0.0, 1500.0, missing[2], 1.0, &WeatherRow::diffuse_w_m2, false},
        {names[3], index[3], -90.0, 65.0, missing[3], 1.0, &WeatherRow::dry_bulb_c, true},
        {names[4], index[4], -95.0, 45.0, missing[4], 1.0, &WeatherRow::dew_point_c, true},
        {names[5], index[5], 300.0, 1100.0, missing[5], pressure_unit, &WeatherRow::pressure_hpa, true},
    };
  }

  bool read_epw_head() {
    std::string_view line;
    next_line(line);
    const Fields place = split(line);
    if (place.size() < 10) {
      error("line 1", fmt::format("LOCATION has {} fields", place.size()),
            "it has ten: LOCATION, city, state, country, source, station, latitude, longitude, time zone, "
            "elevation");
      return false;
    }
    year_.name = std::string(place[1]);
    year_.source = fmt::format("EPW, station {}, {}", place[5], place[4]);
    read_place(place, 6, 7, 8, 9);
    while (next_line(line)) {
      const Fields fields = split(line);
      if (fields.front() != "DATA PERIODS") {
        if (number_in(fields.front())) break;
        continue;
      }
      if (fields.size() < 3 || number_in(fields[1]) != 1.0 || number_in(fields[2]) != 1.0) {
        error(fmt::format("line {}", line_), "not one data period with one record per hour",
              "give a file of hourly records of one whole year: DATA PERIODS,1,1,...");
        return false;
      }
      set_columns(
          {13, 14, 15, 6, 7, 9}, {9999, 9999, 9999, 99.9, 99.9, 999999}, 0.01,
          {"global horizontal", "direct normal", "diffuse horizontal", "dry bulb", "dew point", "pressure"});
      return errors_.empty();
    }
    error(fmt::format("line {}", line_), "no line DATA PERIODS before the hourly records",
          "an EPW file has eight heading lines, of which DATA PERIODS is the last");
    return false;
  }

  bool read_tmy3_head() {
    std::string_view line;
    next_line(line);
    const Fields place = split(line);
    if (place.size() < 7) {
      error("line 1", fmt::format("{} fields", place.size()),
            "it has seven: station, name, state, time zone, latitude, longitude, elevation");
      return false;
    }
    year_.name = std::string(place[1]);
    year_.source = fmt::format("TMY3, station {}", place[0]);
    read_place(place, 4, 5, 3, 6);
    if (!next_line(line)) line = {};
    const Fields headings = split(line);
    const auto find = [&](std::string_view name) {
      for (std::size_t i = 0; i < headings.size(); ++i)
        if (headings[i] == name) return i;
      error(fmt::format("line {}", line_), fmt::format("no column '{}'", name), "keep the headings of TMY3");
      return std::size_t{0};
    };
    date_column_ = find("Date (MM/DD/YYYY)");
    time_column_ = find("Time (HH:MM)");
    const std::array<std::string, 6> names = {"GHI (W/m^2)",  "DNI (W/m^2)",   "DHI (W/m^2)",
                                              "Dry-bulb (C)", "Dew-point (C)", "Pressure (mbar)"};
    std::array<std::size_t, 6> index{};
    for (std::size_t i = 0; i < names.size(); ++i) index[i] = find(names[i]);
    set_columns(index, {-9900, -9900, -9900, -9900, -9900, -9900}, 1.0, names);
    return errors_.empty();
  }

  // Month, day and hour of a row; nothing when they cannot be read, which has been reported then.
  std::optional<Date> date_of(const Fields& fields, bool epw) {
    const auto part = [&](std::string_view text, std::size_t at, std::size_t length) -> std::optional<int> {
      if (at + length > text.size()) return std::nullopt;
      const std::optional<double> value = number_in(text.substr(at, length));
      if (!value || *value != std::floor(*value) || std::abs(*value) > 1e4) return std::nullopt;
      return static_cast<int>(*value);
    };
    std::optional<int> month, day, hour;
    if (epw) {
      if (fields.size() > 3) {
        month = part(fields[1], 0, fields[1].size());
        day = part(fields[2], 0, fields[2].size());
        hour = part(fields[3], 0, fields[3].size());
      }
    } else if (std::max(date_column_, time_column_) < fields.size()) {
      const std::string_view date = fields[date_column_];
      const std::string_view time = fields[time_column_];
      if (date.size() == 10 && date[2] == '/' && date[5] == '/' && time.size() == 5 &&
          time.substr(2) == ":00") {
        month = part(date, 0, 2);
        day = part(date, 3, 2);
        hour = part(time, 0, 2);
      }
    }
    if (month && day && hour) return Date{*month, *day, *hour};
    error(fmt::format("line {}", line_), "no date and hour can be read",
          epw ? "fields 2 to 4 are month, day and hour 1 to 24"
              : "write the date MM/DD/YYYY and the time HH:00");
    return std::nullopt;
  }

  static Date expected(std::size_t row) {
    const MonthDay date = month_day(static_cast<int>(row / 24));
    return {date.month, date.day, static_cast<int>(row % 24) + 1};
  }

  void read_rows(bool epw) {
    std::string_view line;
    std::size_t leap_rows = 0;
    while (next_line(line)) {
      if (trimmed(line).empty()) continue;
      if (errors_.size() >= kMostErrors) return;
      const Fields fields = split(line);
      const std::optional<Date> date = date_of(fields, epw);
      if (!date) return;
      if (date->month == 2 && date->day == 29) {
        ++leap_rows;
        continue;
      }
      const std::size_t row = year_.rows.size();
      if (row == domain::kHoursPerYear) {
        error(fmt::format("line {}", line_), "more than 8,760 hourly rows", "give one year");
        return;
      }
      if (*date != expected(row)) {
        error(
            fmt::format("line {}", line_),
            fmt::format("{} (month/day hour) where {} should follow", text_of(*date), text_of(expected(row))),
            "rows are the hours of a year in order, hours 1 to 24 by their end");
        return;  // every later row would be reported too
      }
      read_values(fields);
    }
    if (year_.rows.size() != domain::kHoursPerYear)
      error(fmt::format("line {}", line_),
            fmt::format("the file ends after {} hourly rows", year_.rows.size()),
            "give the 8,760 hours of a year");
    if (leap_rows > 0)
      warn("", fmt::format("{} rows of 29 February left out", leap_rows),
           "none needed: the year has 365 days");
  }

  void read_values(const Fields& fields) {
    WeatherRow row;
    for (const Column& column : columns_) {
      const std::string_view text = column.index < fields.size() ? fields[column.index] : std::string_view{};
      const std::optional<double> raw = number_in(text);
      if (!raw) {
        error(where(column.index, column.name), fmt::format("'{}' is not a number", text), "write a number");
        continue;
      }
      const bool missing = column.missing < 0.0 ? *raw <= column.missing : *raw >= column.missing;
      if (missing && column.may_be_bridged) {
        row.*column.target = kMissing;
        continue;
      }
      const double value = *raw * column.unit;
      if (missing) {
        error(where(column.index, column.name), "the value is missing",
              "irradiance cannot be guessed; fill the gap or take another file");
      } else if (value < column.lowest || value > column.highest) {
        error(where(column.index, column.name), fmt::format("{} cannot be", text),
              fmt::format("values lie between {:g} and {:g}", column.lowest / column.unit,
                          column.highest / column.unit));
      } else {
        row.*column.target = value + 0.0;  // -0 becomes 0
      }
    }
    year_.rows.push_back(row);
  }

  // Bridges gaps, looks for contradictions.
  void finish() {
    for (const Column& column : columns_)
      if (column.may_be_bridged) bridge(column);
    std::size_t too_diffuse = 0;
    std::size_t too_moist = 0;
    for (const WeatherRow& row : year_.rows) {
      if (row.diffuse_w_m2 > row.global_w_m2 + 5.0) ++too_diffuse;
      if (row.dew_point_c > row.dry_bulb_c + 1.0) ++too_moist;
    }
    if (too_diffuse > 0)
      warn("", fmt::format("diffuse irradiance exceeds global by more than 5 W/m2 in {} hours", too_diffuse),
           "check the columns; light is computed from beam and diffuse");
    if (too_moist > 0)
      warn("", fmt::format("the dew point exceeds the dry bulb by more than 1 K in {} hours", too_moist),
           "check the columns; the dew point changes luminous efficacy a little");
  }

  void bridge(const Column& column) {
    auto& rows = year_.rows;
    const auto value = [&](std::size_t i) -> double& { return rows[i].*column.target; };
    std::size_t bridged = 0;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      if (!std::isnan(value(i))) continue;
      std::size_t end = i;
      while (end < rows.size() && std::isnan(value(end))) ++end;
      if (end - i > kLongestGap_h) {
        error("",
              fmt::format("{} is missing for {} hours from {}", column.name, end - i, text_of(expected(i))),
              fmt::format("gaps up to {} hours are bridged; fill this one", kLongestGap_h));
        return;
      }
      // At the ends of the year the nearest value stands; a gap cannot reach both ends.
      const double before = i > 0 ? value(i - 1) : value(end);
      const double after = end < rows.size() ? value(end) : before;
      const auto length = static_cast<double>(end - i + 1);
      for (std::size_t k = i; k < end; ++k)
        value(k) = std::lerp(before, after, static_cast<double>(k - i + 1) / length);
      bridged += end - i;
      i = end;
    }
    if (bridged > 0)
      warn("", fmt::format("{} was missing in {} hours", column.name, bridged), "bridged by straight lines");
  }

  std::string_view text_;
  std::string_view file_;
  Diagnostics* warnings_;
  std::size_t at_ = 0;
  std::size_t line_ = 0;
  std::size_t date_column_ = 0;
  std::size_t time_column_ = 0;
  std::vector<Column> columns_;
  WeatherYear year_;
  Diagnostics errors_;
};

}  // namespace

Result<WeatherYear> read_weather(std::span<const std::byte> bytes, std::string_view file_name,
                                 Diagnostics* warnings) {
  if (bytes.size() > kLargestFile_bytes)
    return tl::unexpected(
        Diagnostics{{Diagnostic::Severity::error, std::string(file_name), "",
                     fmt::format("{} bytes are too many for a year of weather", bytes.size()),
                     "give a file below 16 MiB"}});
  const std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  return Reader(text, file_name, warnings).read();
}

}  // namespace halflight::formats
