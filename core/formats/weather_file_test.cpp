#include "formats/weather_file.hpp"

#include "base/time_axis.hpp"

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::formats {
namespace {

std::span<const std::byte> bytes_of(const std::string& text) { return std::as_bytes(std::span(text)); }

const std::string kEpwHead =
    "LOCATION,Somewhere,-,XX,made up,000000,45.5,-8.25,-1.0,120\n"
    "DESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\n"
    "HOLIDAYS/DAYLIGHT SAVING,No,0,0,0\nCOMMENTS 1,\nCOMMENTS 2,\nDATA PERIODS,1,1,Data,Monday,1/ 1,12/31\n";
const std::string kTmyHead =
    "000000,\"SOMEWHERE, NEAR\",XX,-1.0,45.5,-8.25,120\n"
    "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),Dry-bulb (C),Dew-point (C),Pressure "
    "(mbar)\n";

// Global is the number of the row modulo 1000, so that a misplaced row shows.
std::string epw_row(int month, int day, int hour, int row) {
  return fmt::format(
      "2001,{},{},{},0,?,10.5,4.5,70,100100,9999,9999,300,{},500,100,1,1,1,1,0,0,0,0,0,0,0,9,9,9,9,9,9,9,9\n",
      month, day, hour, row % 1000);
}
std::string tmy_row(int month, int day, int hour, int row) {
  return fmt::format("{:02}/{:02}/2001,{:02}:00,{},500,100,10.5,4.5,1001\n", month, day, hour, row % 1000);
}
template <class Row>
std::string year_of(const std::string& head, Row row_text, bool leap = false) {
  std::string text = head;
  int row = 0;
  for (int day = 0; day < 365; ++day) {
    const MonthDay date = month_day(day);
    for (int hour = 1; hour <= 24; ++hour) text += row_text(date.month, date.day, hour, row++);
    if (leap && date == MonthDay{2, 28})
      for (int hour = 1; hour <= 24; ++hour) text += row_text(2, 29, hour, 999);
  }
  return text;
}
// Changes line `line` (from 1).
std::string with_line(const std::string& text, int line, const std::string& replacement) {
  std::size_t begin = 0;
  for (int i = 1; i < line; ++i) begin = text.find('\n', begin) + 1;
  return text.substr(0, begin) + replacement + text.substr(text.find('\n', begin) + 1);
}
Diagnostic first_error(const std::string& text) {
  const auto result = read_weather(bytes_of(text), "some.file");
  EXPECT_FALSE(result.has_value());
  if (result || result.error().empty()) return {};
  EXPECT_EQ(result.error().front().file, "some.file");
  EXPECT_FALSE(result.error().front().remedy.empty());
  return result.error().front();
}

TEST(WeatherFile, BothFormatsGiveTheSameYear) {
  Diagnostics warnings;
  for (const std::string& text : {year_of(kEpwHead, epw_row), year_of(kTmyHead, tmy_row)}) {
    const auto year = read_weather(bytes_of(text), "some.file", &warnings);
    ASSERT_TRUE(year) << to_text(year.error().front());
    EXPECT_EQ(year->latitude_deg, 45.5);
    EXPECT_EQ(year->longitude_deg, -8.25);
    EXPECT_EQ(year->utc_offset_h, -1.0);
    EXPECT_EQ(year->elevation_m, 120.0);
    ASSERT_EQ(year->rows.size(), 8760U);
    for (std::size_t h = 0; h < 8760; h += 37)
      EXPECT_EQ(year->rows[h].global_w_m2, static_cast<double>(h % 1000));
    EXPECT_EQ(year->rows[4000].beam_w_m2, 500.0);
    EXPECT_EQ(year->rows[4000].diffuse_w_m2, 100.0);
    EXPECT_EQ(year->rows[4000].dry_bulb_c, 10.5);
    EXPECT_EQ(year->rows[4000].dew_point_c, 4.5);
    EXPECT_NEAR(year->rows[4000].pressure_hpa, 1001.0, 1e-9);
  }
  EXPECT_EQ(read_weather(bytes_of(year_of(kTmyHead, tmy_row)), "")->name, "SOMEWHERE, NEAR");
}

TEST(WeatherFile, WindowsLineEndsAndAByteOrderMarkAreRead) {
  std::string text = "\xEF\xBB\xBF";
  for (const char c : year_of(kTmyHead, tmy_row)) text += c == '\n' ? std::string("\r\n") : std::string(1, c);
  EXPECT_TRUE(read_weather(bytes_of(text), "some.file"));
}

TEST(WeatherFile, LeavesOutTheLeapDayAndSaysSo) {
  Diagnostics warnings;
  const auto year = read_weather(bytes_of(year_of(kEpwHead, epw_row, true)), "some.file", &warnings);
  ASSERT_TRUE(year);
  EXPECT_EQ(year->rows.size(), 8760U);
  EXPECT_EQ(year->rows[59 * 24].global_w_m2, 59.0 * 24.0 - 1000.0);
  EXPECT_NE(to_text(warnings.at(0)).find("29 February"), std::string::npos);
}

TEST(WeatherFile, NamesLineAndFieldOfWhatCannotBe) {
  const std::string good = year_of(kTmyHead, tmy_row);
  Diagnostic d = first_error(with_line(good, 12, "01/01/2001,10:00,2000,500,100,10.5,4.5,1001\n"));
  EXPECT_EQ(d.where, "line 12, field 3 (GHI (W/m^2))");
  EXPECT_NE(d.problem.find("2000"), std::string::npos);
  d = first_error(with_line(good, 12, "01/01/2001,10:00,200,oops,100,10.5,4.5,1001\n"));
  EXPECT_EQ(d.where, "line 12, field 4 (DNI (W/m^2))");
  EXPECT_NE(d.problem.find("oops"), std::string::npos);
  EXPECT_EQ(first_error(with_line(good, 12, "01/01/2001,10:00,200,500,-3,10.5,4.5,1001\n")).where,
            "line 12, field 5 (DHI (W/m^2))");
  EXPECT_EQ(first_error(with_line(good, 12, "01/01/2001,10:00,200,500,100,nan,4.5,1001\n")).where,
            "line 12, field 6 (Dry-bulb (C))");
  EXPECT_EQ(first_error(with_line(good, 12, "01/01/2001,10:00,200\n")).where,
            "line 12, field 4 (DNI (W/m^2))");
  EXPECT_EQ(first_error(with_line(good, 1, "0,X,XX,-1.0,95.5,-8.25,120\n")).where,
            "line 1, field 5 (latitude)");
  EXPECT_NE(first_error(with_line(good, 2, "Date (MM/DD/YYYY),Time (HH:MM)\n")).problem.find("GHI"),
            std::string::npos);
}

TEST(WeatherFile, RefusesHoursOutOfOrderAndWrongCounts) {
  const std::string good = year_of(kEpwHead, epw_row);
  EXPECT_EQ(first_error(with_line(good, 20, epw_row(1, 1, 11, 0))).where, "line 20");  // 11 twice
  EXPECT_NE(first_error(with_line(good, 20, "")).problem.find("01/01 12:00 should follow"),
            std::string::npos);
  const std::string last_cut = good.substr(0, good.rfind("2001,12,31,24"));
  EXPECT_NE(first_error(last_cut).problem.find("8759"), std::string::npos);
  EXPECT_NE(first_error(good + epw_row(1, 1, 1, 0)).problem.find("more than"), std::string::npos);
  EXPECT_NE(
      first_error(with_line(good, 8, "DATA PERIODS,1,4,Data,Monday,1/ 1,12/31\n")).problem.find("per hour"),
      std::string::npos);
  EXPECT_NE(first_error(with_line(good, 8, "")).problem.find("DATA PERIODS"), std::string::npos);
  EXPECT_EQ(first_error(with_line(good, 30, "2001,x,1,22,0\n")).where, "line 30");
}

TEST(WeatherFile, BridgesShortGapsOfTemperatureButNeverOfLight) {
  std::string text = year_of(kTmyHead, tmy_row);
  text = with_line(text, 13, "01/01/2001,11:00,200,500,100,-9900,4.5,1001\n");
  text = with_line(text, 14, "01/01/2001,12:00,200,500,100,-9900,4.5,1001\n");
  text = with_line(text, 15, "01/01/2001,13:00,200,500,100,13.5,4.5,1001\n");
  Diagnostics warnings;
  const auto year = read_weather(bytes_of(text), "some.file", &warnings);
  ASSERT_TRUE(year);
  EXPECT_NEAR(year->rows[10].dry_bulb_c, 11.5, 1e-12);
  EXPECT_NEAR(year->rows[11].dry_bulb_c, 12.5, 1e-12);
  EXPECT_NE(warnings.at(0).problem.find("missing in 2 hours"), std::string::npos);
  const auto no_dew = [](int month, int day, int hour, int row) {
    return fmt::format("{:02}/{:02}/2001,{:02}:00,{},500,100,10.5,-9900,1001\n", month, day, hour,
                       row % 1000);
  };
  EXPECT_NE(first_error(year_of(kTmyHead, no_dew)).problem.find("8760 hours"), std::string::npos);
  EXPECT_EQ(first_error(with_line(text, 20, "01/01/2001,18:00,-9900,500,100,10,4,1001\n")).where,
            "line 20, field 3 (GHI (W/m^2))");
}

TEST(WeatherFile, WarnsOfContradictions) {
  const auto odd = [](int month, int day, int hour, int) {
    return fmt::format("{:02}/{:02}/2001,{:02}:00,50,500,100,10.5,14.5,1001\n", month, day, hour);
  };
  Diagnostics warnings;
  ASSERT_TRUE(read_weather(bytes_of(year_of(kTmyHead, odd)), "some.file", &warnings));
  EXPECT_EQ(warnings.size(), 2U);
}

TEST(WeatherFile, SurvivesAnythingElse) {
  for (const std::string& text :
       {std::string(), std::string("\n"), std::string("hello\nworld\n"), std::string("LOCATION"),
        std::string("LOCATION,"), kEpwHead, kTmyHead, std::string(1000, ','), std::string(1000, '"'),
        kTmyHead + std::string(1000, ','), std::string("\0\0\0\xFF", 4)}) {
    EXPECT_FALSE(first_error(text).problem.empty());
  }
  const std::string good = year_of(kEpwHead, epw_row);
  for (std::size_t cut = 0; cut < 1500; cut += 7)
    EXPECT_FALSE(read_weather(bytes_of(good.substr(0, cut)), ""));
  const auto nonsense = [](int month, int day, int hour, int) {
    return fmt::format("{:02}/{:02}/2001,{:02}:00,9999,500,100,10.5,14.5,1001\n", month, day, hour);
  };
  EXPECT_LE(read_weather(bytes_of(year_of(kTmyHead, nonsense)), "").error().size(), 26U);  // not 8,760
}

// Public typical years, read when they lie beside the source tree.
std::string read_beside(const std::string& name) {
  const auto path = std::filesystem::path(HALFLIGHT_SOURCE_DIR) / "../shared/data/weather" / name;
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

TEST(WeatherFile, ReadsAPublicTmy3File) {
  const std::string text = read_beside("723170TYA.CSV");
  if (text.empty()) GTEST_SKIP() << "no TMY3 file beside the source tree";
  Diagnostics warnings;
  const auto year = read_weather(bytes_of(text), "723170TYA.CSV", &warnings);
  ASSERT_TRUE(year) << to_text(year.error().front());
  EXPECT_TRUE(warnings.empty());
  EXPECT_EQ(year->latitude_deg, 36.1);
  EXPECT_EQ(year->utc_offset_h, -5.0);
  // 31 March 16:00 in the file: global 282, beam 66, diffuse 243.
  const auto& row = year->rows[static_cast<std::size_t>(day_of_year({3, 31}) * 24 + 15)];
  EXPECT_EQ(row.global_w_m2, 282.0);
  EXPECT_EQ(row.beam_w_m2, 66.0);
  EXPECT_EQ(row.diffuse_w_m2, 243.0);
}

TEST(WeatherFile, ReadsAPublicEpwFile) {
  const std::string text = read_beside("tmy_45.000_8.000_2005_2023.epw");
  if (text.empty()) GTEST_SKIP() << "no EPW file beside the source tree";
  Diagnostics warnings;
  const auto year = read_weather(bytes_of(text), "tmy.epw", &warnings);
  ASSERT_TRUE(year) << to_text(year.error().front());
  EXPECT_TRUE(warnings.empty());
  EXPECT_EQ(year->longitude_deg, 8.0);
  // 1 January, hour 10 in the file: global 149, beam 125.3, diffuse 117; 996 hPa.
  EXPECT_EQ(year->rows[9].global_w_m2, 149.0);
  EXPECT_EQ(year->rows[9].beam_w_m2, 125.3);
  EXPECT_EQ(year->rows[9].diffuse_w_m2, 117.0);
  EXPECT_NEAR(year->rows[9].pressure_hpa, 996.0, 1e-9);
}

}  // namespace
}  // namespace halflight::formats
