#include "report/year_picture.hpp"

#include "base/time_axis.hpp"
#include "geometry/vector.hpp"
#include "report/contours.hpp"
#include "report/png.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

namespace halflight::report {
namespace {

constexpr int kDays = 365;
constexpr double kWidth_px = 1396.0;
constexpr double kHeight_px = 158.0;

double scale_top(const results::YearPicture& year) {
  const double top = year.values.empty() ? 0.0 : *std::max_element(year.values.begin(), year.values.end());
  // A share is read against the whole, other quantities against their own top.
  if (year.unit == "fraction") return std::max(1.0, top);
  return top > 0.0 ? top : 1.0;
}

std::string sun_line(const std::vector<float>& hours) {
  std::vector<Point2> points;
  for (std::size_t day = 0; day < hours.size() && day < static_cast<std::size_t>(kDays); ++day)
    points.push_back({(static_cast<double>(day) + 0.5) * kWidth_px / kDays,
                      kHeight_px * (1.0 - std::clamp(static_cast<double>(hours[day]), 0.0, 24.0) / 24.0)});
  std::string d;
  for (const Point2& p : simplified(points, 0.25))
    d += (d.empty() ? "M" : "L") + num(p.x, 1) + " " + num(p.y, 1);
  return d;
}

}  // namespace

bool is_drawable(const results::YearPicture& year) {
  return year.per_day > 0 && year.values.size() == static_cast<std::size_t>(kDays * year.per_day);
}

void define_year(Markup& page, const results::YearPicture& year, std::string_view id) {
  IndexedPicture picture{kDays, year.per_day, {}};
  picture.pixels.resize(year.values.size());
  const double top = scale_top(year);
  for (int day = 0; day < kDays; ++day)
    for (int cell = 0; cell < year.per_day; ++cell) {
      const double v = year.values[static_cast<std::size_t>(day * year.per_day + cell)] / top;
      picture.pixels[static_cast<std::size_t>((year.per_day - 1 - cell) * kDays + day)] =
          static_cast<std::uint8_t>(std::lround(255.0 * std::clamp(v, 0.0, 1.0)));
    }
  page.empty("image", {{"id", id},
                       {"width", kDays},
                       {"height", static_cast<double>(year.per_day)},
                       {"preserveAspectRatio", "none"},
                       {"class", "pixels"},
                       {"href", png_data_uri(picture, light_palette())}});
}

void draw_year(Markup& page, const results::YearPicture& year, std::string_view id) {
  const auto svg =
      page.open("svg", {{"class", "year"},
                        {"viewBox", "-30 -6 1432 184"},
                        {"role", "img"},
                        {"aria-label", "The year: " + year.quantity + ", days across and hours up"}});
  {
    const auto g = page.open("g", {{"transform", "scale(" + num(kWidth_px / kDays, 6) + " " +
                                                     num(kHeight_px / year.per_day, 6) + ")"}});
    page.empty("use", {{"href", "#" + std::string(id)}});
  }
  for (const auto* hours : {&year.sunrise_h, &year.sunset_h})
    if (const std::string d = sun_line(*hours); !d.empty())
      page.empty("path", {{"class", "sunline"}, {"d", d}});
  for (int hour = 0; hour <= 24; hour += 6)
    page.leaf("text",
              {{"class", "axis"},
               {"x", -8.0},
               {"y", kHeight_px * (1.0 - hour / 24.0) + 4.0},
               {"text-anchor", "end"}},
              std::to_string(hour));
  static constexpr const char* kMonths = "JFMAMJJASOND";
  for (int month = 1; month <= 12; ++month) {
    const double day = day_of_year({month, 15}) + 0.5;
    page.leaf("text",
              {{"class", "axis"},
               {"x", day * kWidth_px / kDays},
               {"y", kHeight_px + 15.0},
               {"text-anchor", "middle"}},
              std::string_view(kMonths + month - 1, 1));
    if (month > 1) {
      const double x = day_of_year({month, 1}) * kWidth_px / kDays;
      page.empty("path", {{"class", "month"}, {"d", "M" + num(x) + " " + num(kHeight_px) + "v4"}});
    }
  }
}

void draw_small_year(Markup& page, const results::YearPicture& year, std::string_view id) {
  const auto svg = page.open("svg", {{"class", "smallyear"},
                                     {"viewBox", "0 0 365 " + std::to_string(year.per_day)},
                                     {"preserveAspectRatio", "none"},
                                     {"role", "img"},
                                     {"aria-label", "Small picture of the year: " + year.quantity}});
  page.empty("use", {{"href", "#" + std::string(id)}});
}

}  // namespace halflight::report
