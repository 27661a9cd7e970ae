#include "formats/eulumdat.hpp"

#include "formats/photometric_text.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

namespace halflight::formats {
namespace {

using domain::IntensityDistribution;
using domain::LuminousOpening;
using domain::PhotometricData;
using Shape = LuminousOpening::Shape;

/// Thrown inside this file only and caught in `read_eulumdat`.
struct Refused {
  Diagnostic diagnostic;
};

/// A number that fills its line; a decimal comma counts as a point.
std::optional<double> number_of(std::string_view line) {
  std::string digits(trimmed(line));
  std::replace(digits.begin(), digits.end(), ',', '.');
  double value = 0.0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (error != std::errc() || end != digits.data() + digits.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

std::vector<std::string_view> lines_of(std::string_view text) {
  std::vector<std::string_view> lines;
  while (!text.empty()) {
    std::size_t end = 0;
    while (end < text.size() && !is_line_end(text[end])) ++end;
    lines.push_back(text.substr(0, end));
    if (end < text.size()) end += text.substr(end).starts_with("\r\n") ? 2 : 1;
    text.remove_prefix(end);
  }
  return lines;
}

struct Plane {
  double angle_deg;
  std::vector<double> candela;
};

class Reader {
 public:
  Reader(std::string_view text, std::string_view file, Diagnostics* warnings, std::optional<int> lamp_set)
      : lines_(lines_of(text)), file_(file), warnings_(warnings), lamp_set_(lamp_set.value_or(1)) {
    data_.statements.lamp_set_chosen = lamp_set.has_value();
  }

  Result<IntensityDistribution> read() {
    const std::string_view company = label("the company");
    // 1: a point with symmetry about the vertical axis, 2: a line, 3: a point with any other symmetry.
    data_.statements.rotational_kind = whole("the kind of luminaire", 0, 3) == 1;
    const int symmetry = whole("the symmetry", 0, 4);
    const int planes = whole("the number of C planes", 1, 1000);
    number("the step between C planes", 0.0, 360.0);
    const int angles = whole("the number of intensities in each plane", 2, 1000);
    number("the step between intensities", 0.0, 180.0);
    const std::string_view report = label("the report number");
    const std::string_view name = label("the luminaire's name");
    const std::string_view catalogue = label("the luminaire's number");
    label("the file name");
    const std::string_view date = label("the date");
    data_.keywords = {{"TEST", as_utf8(trimmed(report))},
                      {"ISSUEDATE", as_utf8(trimmed(date))},
                      {"MANUFAC", as_utf8(trimmed(company))},
                      {"LUMINAIRE", as_utf8(trimmed(name))},
                      {"LUMCAT", as_utf8(trimmed(catalogue))}};
    read_opening();
    data_.statements.downward_fraction = number("the downward flux fraction", 0.0, 100.5) / 100.0;
    data_.statements.light_output_ratio = number("the light output ratio", 0.0, 1000.0) / 100.0;
    const double conversion = number("the conversion factor", 0.0, 1e6);
    if (conversion == 0.0) refuse("the conversion factor is 0", "1 when it has no effect");
    data_.statements.conversion_factor = conversion;
    if (const double tilt = number("the tilt of the luminaire in the test", -360.0, 360.0); tilt != 0.0)
      warn(
          fmt::format("the luminaire was tested at a tilt of {} degrees", tilt),
          "it is placed as if tested level; turn it in the document if the angles of the file count from the "
          "tilted luminaire (PHO-22)");
    const double lamp_lumens = read_lamps();
    for (int i = 0; i < 10; ++i) number("a direct ratio", 0.0, 1e3);
    const std::vector<double> c = ascending("C angle", planes);
    data_.vertical_deg = ascending("vertical angle", angles);
    read_planes(symmetry, c, conversion * lamp_lumens / 1000.0);
    for (; at_ < lines_.size(); ++at_)
      if (const std::string_view rest = trimmed(lines_[at_]); !rest.empty() && rest != "\x1A") {
        ++at_;
        refuse(fmt::format("{} stands after the last intensity", shown(rest)),
               "remove it, or correct the numbers of planes and angles");
      }
    if (warnings_ != nullptr) append_seam_warnings(data_, file_, "", *warnings_);
    auto made = IntensityDistribution::make(std::move(data_));
    if (!made) refuse(made.error().front().problem, made.error().front().remedy);
    return made;
  }

 private:
  /// About the line read last.
  [[noreturn]] void refuse(std::string problem, std::string remedy) const {
    throw Refused{{Diagnostic::Severity::error, file_, where(), std::move(problem), std::move(remedy)}};
  }
  void warn(std::string problem, std::string remedy) const {
    if (warnings_ != nullptr)
      warnings_->push_back(
          {Diagnostic::Severity::warning, file_, where(), std::move(problem), std::move(remedy)});
  }
  [[nodiscard]] std::string where() const {
    return fmt::format("line {}, column 1", std::max<std::size_t>(at_, 1));
  }

  std::string_view label(const std::string& what) {
    if (at_ >= lines_.size())
      refuse(fmt::format("the file ends where {} should stand", what),
             "complete the file; it has one value a line");
    return lines_[at_++];
  }
  double number(const std::string& what, double least, double most) {
    const std::string_view line = label(what);
    const std::optional<double> value = number_of(line);
    if (!value)
      refuse(fmt::format("{} is not a number ({})", shown(trimmed(line)), what),
             "give one number on this line");
    if (*value < least || *value > most)
      refuse(fmt::format("{} is {}", what, *value), fmt::format("give {} to {}", least, most));
    return *value;
  }
  int whole(const std::string& what, int least, int most) {
    const double value = number(what, least, most);
    if (value != std::floor(value)) refuse(fmt::format("{} is {}", what, value), "give a whole number");
    return static_cast<int>(value);
  }
  std::vector<double> ascending(const std::string& what, int count) {
    std::vector<double> angles;
    for (int i = 0; i < count; ++i) {
      const double angle = number(fmt::format("{} {} of {}", what, i + 1, count), 0.0, 360.0);
      if (i > 0 && angle <= angles.back())
        refuse(fmt::format("{} {} follows {}", what, angle, angles.back()),
               "the angles ascend; check their number");
      angles.push_back(angle);
    }
    return angles;
  }

  void read_opening() {
    constexpr double kMost_mm = 100'000.0;
    number("the luminaire's length", 0.0, kMost_mm);
    number("the luminaire's width", 0.0, kMost_mm);
    number("the luminaire's height", 0.0, kMost_mm);
    const double length = number("the length of the luminous area", 0.0, kMost_mm) / 1000.0;
    const double width = number("the width of the luminous area", 0.0, kMost_mm) / 1000.0;
    std::vector<double>& heights = data_.statements.side_heights_m;
    for (const char* side : {"C0", "C90", "C180", "C270"})
      heights.push_back(number(fmt::format("the height of the luminous area at {}", side), 0.0, kMost_mm) /
                        1000.0);
    const double height = *std::max_element(heights.begin(), heights.end());
    LuminousOpening& o = data_.opening;
    if (length == 0.0 && width == 0.0 && height == 0.0) return;
    if (width == 0.0 && length > 0.0)  // the format's sign of a circle
      o = {height > 0.0 ? Shape::vertical_cylinder : Shape::circle, length, length, height};
    else
      o = {height > 0.0 ? Shape::box : Shape::rectangle, length, width, height};
  }

  /// Flux of the chosen set of lamps, lm. The sets are alternatives.
  double read_lamps() {
    const int sets = whole("the number of sets of lamps", 1, 20);
    if (lamp_set_ < 1 || lamp_set_ > sets)
      refuse(fmt::format("there is no set of lamps {}", lamp_set_), fmt::format("choose 1 to {}", sets));
    if (sets > 1 && !data_.statements.lamp_set_chosen)
      warn(fmt::format("{} sets of lamps; set {} is used", sets, lamp_set_),
           "sets are alternatives: choose the one that is installed with lamp_set in the document or "
           "--lamp-set (PHO-21)");
    for (int i = 1; i <= sets; ++i) {
      const int lamps = whole("the number of lamps", -10'000, 10'000);
      if (lamps == 0)
        refuse("the number of lamps is 0", "give 1 or more, or a negative number for absolute photometry");
      const std::string type = as_utf8(trimmed(label("the type of lamps")));
      const double lumens = number("the flux of the lamps", 0.0, 1e8);
      if (lumens == 0.0) refuse("the flux of the lamps is 0", "give the lumens of all lamps of the set");
      label("the colour of the light");
      label("the colour rendering");
      const double watts = number("the input watts", 0.0, 1e6);
      data_.statements.lamp_sets.push_back({std::abs(lamps), type, lumens, watts});
      if (i != lamp_set_) continue;
      data_.lamps = std::abs(lamps);
      if (lamps > 0) data_.lumens_per_lamp = lumens / lamps;
      data_.input_w = watts;
      data_.keywords.emplace_back("LAMP", type);
    }
    return data_.statements.lamp_sets[static_cast<std::size_t>(lamp_set_) - 1].lumens;
  }

  std::vector<double> intensities(double plane_deg, double factor) {
    std::vector<double> candela;
    for (std::size_t i = 0; i < data_.vertical_deg.size(); ++i)
      candela.push_back(factor * number(fmt::format("intensity {} of {} in plane C{}", i + 1,
                                                    data_.vertical_deg.size(), plane_deg),
                                        0.0, 1e9));
    return candela;
  }

  /// Reads the planes that the symmetry stores and turns them into the luminaire frame, where C is C - 90
  /// degrees.
  void read_planes(int symmetry, const std::vector<double>& c, double factor) {
    std::vector<Plane> planes;
    const auto store = [&](double file_deg, double frame_deg) {
      planes.push_back({frame_deg, intensities(file_deg, factor)});
    };
    switch (symmetry) {
      case 1:
        store(c.front(), 0.0);
        break;
      case 4:  // both mirrors: C0..C90 becomes 90..0
        for (const double angle : c)
          if (angle <= 90.0) store(angle, 90.0 - angle);
        break;
      case 2:  // mirror in C0-C180, which is 90-270 here: C0..C180 becomes 270..90
        for (const double angle : c)
          if (angle <= 180.0) store(angle, 270.0 - angle);
        break;
      case 3:  // mirror in C90-C270, which is 0-180 here: C270..C360..C90 becomes 180..0
        for (const double angle : c)
          if (angle >= 270.0 && angle < 360.0) store(angle, 450.0 - angle);
        for (const double angle : c)
          if (angle <= 90.0) store(angle, 90.0 - angle);
        break;
      default:
        for (const double angle : c)
          if (angle < 360.0) store(angle, angle < 90.0 ? angle + 270.0 : angle - 90.0);
        break;
    }
    std::sort(planes.begin(), planes.end(),
              [](const Plane& a, const Plane& b) { return a.angle_deg < b.angle_deg; });
    if (symmetry == 0) {
      if (planes.empty() || planes.front().angle_deg != 0.0)
        refuse("there is no plane C90",
               "a file without symmetry lists planes that include C0, C90, C180 and C270");
      planes.push_back({360.0, planes.front().candela});
    }
    for (const Plane& plane : planes) {
      data_.horizontal_deg.push_back(plane.angle_deg);
      data_.candela.insert(data_.candela.end(), plane.candela.begin(), plane.candela.end());
    }
  }

  std::vector<std::string_view> lines_;
  std::string file_;
  Diagnostics* warnings_;
  int lamp_set_;
  PhotometricData data_;
  std::size_t at_ = 0;  ///< lines read
};

}  // namespace

bool looks_like_eulumdat(std::string_view text) {
  const std::vector<std::string_view> lines = lines_of(text.substr(0, 4096));
  if (lines.size() < 4) return false;
  const auto small_whole = [](std::string_view line, double most) {
    const std::optional<double> value = number_of(line);
    return value && *value >= 0.0 && *value <= most && *value == std::floor(*value);
  };
  return small_whole(lines[1], 3.0) && small_whole(lines[2], 4.0) && number_of(lines[3]).has_value();
}

Result<IntensityDistribution> read_eulumdat(std::string_view text, std::string_view file_name,
                                            Diagnostics* warnings, std::optional<int> lamp_set) {
  try {
    return Reader(text, file_name, warnings, lamp_set).read();
  } catch (const Refused& refused) {
    return tl::unexpected(Diagnostics{refused.diagnostic});
  }
}

}  // namespace halflight::formats
