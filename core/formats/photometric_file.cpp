#include "formats/photometric_file.hpp"

#include "base/units.hpp"
#include "formats/eulumdat.hpp"
#include "formats/photometric_text.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <optional>
#include <vector>

#include <fmt/format.h>

namespace halflight::formats {
namespace {

using domain::IntensityDistribution;
using domain::LampTilt;
using domain::LuminousOpening;
using domain::PhotometricData;
using domain::PhotometricType;
using Shape = LuminousOpening::Shape;

constexpr std::size_t kLargestFile_bytes = std::size_t{16} << 20U;
constexpr double kMostAngles = 1000;
constexpr double kLargestOpening_m = 100.0;
constexpr std::size_t kMostKeywords = 1000;
constexpr double kMostLumens = 1e9;
// The other multipliers are divided by the first.
constexpr double kLeastTestedTilt = 1e-3;
constexpr double kMostTilt = 10.0;  // both as it stands and after that division

/// Where something stands, both from 1.
struct Place {
  int line = 1;
  int column = 1;
};

/// Thrown inside this file only and caught in `read_photometry`: the grammar nests too deeply for error
/// returns to stay readable.
struct Refused {
  Diagnostic diagnostic;
};

std::string text_of(Place place) { return fmt::format("line {}, column {}", place.line, place.column); }

/// Walks the bytes once and knows where it is.
class Scanner {
 public:
  Scanner(std::string_view text, std::string_view file) : text_(text), file_(file) {}

  [[noreturn]] void refuse(Place place, std::string problem, std::string remedy) const {
    throw Refused{
        {Diagnostic::Severity::error, file_, text_of(place), std::move(problem), std::move(remedy)}};
  }
  [[nodiscard]] Place place() const { return {line_, static_cast<int>(at_ - line_start_) + 1}; }
  [[nodiscard]] bool at_end() const { return at_ >= text_.size(); }
  [[nodiscard]] const std::string& file() const { return file_; }

  /// The rest of the line, without its end; moves to the next line.
  std::string_view take_line() {
    const std::size_t begin = at_;
    while (!at_end() && !is_line_end(text_[at_])) ++at_;
    const std::string_view line = text_.substr(begin, at_ - begin);
    if (!at_end()) pass_line_end();
    return line;
  }

  struct Number {
    double value;
    Place place;
  };
  /// The next number; `what` names it in messages: "lumens per lamp".
  Number number(const std::string& what) {
    pass_delimiters(what);
    const Place here = place();
    if (at_end())
      refuse(here, fmt::format("the file ends where {} should stand", what),
             "complete the file; numbers are missing");
    const std::string_view token = take_token();
    std::string_view digits = token;
    if (digits.size() > 1 && digits.front() == '+' && digits[1] != '-') digits.remove_prefix(1);
    double value = 0.0;
    const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
    if (error == std::errc::result_out_of_range)
      refuse(here, fmt::format("{} is too large or too small ({})", shown(token), what),
             "give a number of ordinary size");
    if (error != std::errc() || end != digits.data() + digits.size())
      refuse(here, fmt::format("{} is not a number ({})", shown(token), what),
             "give a number with a point as decimal sign, set apart by blanks, commas or line ends");
    if (!std::isfinite(value))
      refuse(here, fmt::format("{} is not a finite number ({})", shown(token), what),
             "give an ordinary number");
    return {value, here};
  }
  /// A whole number in [least, most].
  int whole(const std::string& what, int least, int most, const std::string& remedy) {
    const Number n = number(what);
    if (n.value < least || n.value > most || n.value != std::floor(n.value))
      refuse(n.place, fmt::format("{} is {}", what, n.value), remedy);
    return static_cast<int>(n.value);
  }
  /// Refuses anything but blanks and line ends (and the end mark of old systems, byte 26) before the file's
  /// end.
  void expect_end() {
    while (!at_end() && (is_blank(text_[at_]) || is_line_end(text_[at_]) || text_[at_] == '\x1A')) {
      if (is_line_end(text_[at_]))
        pass_line_end();
      else
        ++at_;
    }
    if (at_end()) return;
    const Place here = place();
    refuse(here, fmt::format("{} stands after the last candela value", shown(take_token())),
           "remove it, or correct the numbers of angles so that they count every value");
  }

 private:
  void pass_line_end() {
    if (text_[at_] == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n') ++at_;
    ++at_;
    ++line_;
    line_start_ = at_;
  }
  /// Blanks and line ends with at most one comma among them.
  void pass_delimiters(const std::string& what) {
    int commas = first_number_ ? 1 : 0;  // none may stand before the first number
    for (; !at_end();) {
      const char c = text_[at_];
      if (is_line_end(c)) {
        pass_line_end();
        continue;
      }
      if (c == ',' && ++commas > 1)
        refuse(place(), fmt::format("nothing stands before this comma ({})", what),
               "one comma between two numbers; write 0 for a number that is zero");
      if (!is_blank(c) && c != ',') break;
      ++at_;
    }
    first_number_ = false;
  }
  std::string_view take_token() {
    const std::size_t begin = at_;
    while (!at_end() && !is_blank(text_[at_]) && !is_line_end(text_[at_]) && text_[at_] != ',') ++at_;
    return text_.substr(begin, at_ - begin);
  }

  std::string_view text_;
  std::string file_;
  std::size_t at_ = 0;
  std::size_t line_start_ = 0;
  int line_ = 1;
  bool first_number_ = true;
};

enum class Edition { y1986, y1991, y1995, y2002, y2019 };

class Reader {
 public:
  Reader(std::string_view text, std::string_view file, Diagnostics* warnings,
         const PhotometryOptions& options)
      : in_(text, file), warnings_(warnings), options_(options) {}

  Result<IntensityDistribution> read() {
    read_heading();
    double multiplier = read_tilt();
    read_main_lines(multiplier);
    read_tables(multiplier);
    in_.expect_end();
    if (warnings_ != nullptr) append_seam_warnings(data_, in_.file(), text_of(table_place_), *warnings_);
    return IntensityDistribution::make(std::move(data_));
  }

 private:
  void warn(Place place, std::string problem, std::string remedy) {
    if (warnings_ == nullptr) return;
    warnings_->push_back(
        {Diagnostic::Severity::warning, in_.file(), text_of(place), std::move(problem), std::move(remedy)});
  }

  /// The first line, if it names an edition.
  std::optional<Edition> edition_of(std::string_view line) {
    const std::string name = upper(trimmed(line));
    if (name == "IESNA91") return Edition::y1991;
    if (name == "IESNA:LM-63-1995") return Edition::y1995;
    if (name == "IESNA:LM-63-2002") return Edition::y2002;
    if (name == "IES:LM-63-2019") return Edition::y2019;
    if (!name.starts_with("IES")) return std::nullopt;
    constexpr std::array<std::pair<std::string_view, Edition>, 5> kYears{{{"2019", Edition::y2019},
                                                                          {"2002", Edition::y2002},
                                                                          {"95", Edition::y1995},
                                                                          {"91", Edition::y1991},
                                                                          {"86", Edition::y1986}}};
    for (const auto& [year, edition] : kYears) {
      if (name.find(year) == std::string::npos) continue;
      warn(
          {},
          fmt::format("{} is not how an edition is written; read as the edition its year names", shown(name)),
          "IESNA91, IESNA:LM-63-1995, IESNA:LM-63-2002 or IES:LM-63-2019");
      return edition;
    }
    warn({}, fmt::format("{} names no known edition; read by the rules of 2002", shown(name)),
         "IESNA91, IESNA:LM-63-1995, IESNA:LM-63-2002 or IES:LM-63-2019");
    return Edition::y2002;
  }

  /// Label or keyword lines up to the line TILT=...; keeps what follows the sign in `tilt_`.
  void read_heading() {
    bool first = true;
    while (!in_.at_end()) {
      const Place place = in_.place();
      const std::string_view line = in_.take_line();
      if (first) {
        first = false;
        if (const std::optional<Edition> edition = edition_of(line)) {
          edition_ = *edition;
          continue;
        }
      }
      if (take_tilt(line, place)) return;
      take_label(line, place);
    }
    in_.refuse(in_.place(), "no line starts with TILT=",
               "an LM-63 file has a line TILT=NONE or TILT=INCLUDE before its numbers");
  }

  bool take_tilt(std::string_view line, Place place) {
    const std::string_view text = trimmed(line);
    if (upper(text.substr(0, 4)) != "TILT") return false;
    const std::string_view rest = trimmed(text.substr(4));
    if (rest.empty() || rest.front() != '=') return false;
    tilt_ = trimmed(rest.substr(1));
    tilt_place_ = place;
    return true;
  }

  void take_label(std::string_view line, Place place) {
    const std::string_view text = trimmed(line);
    if (text.empty()) return;
    if (data_.keywords.size() >= kMostKeywords)
      in_.refuse(place, fmt::format("more than {} lines of labels", kMostKeywords), "shorten the labels");
    const std::size_t close = text.find(']');
    if (text.front() != '[' || close == std::string_view::npos) {
      if (edition_ != Edition::y1986)
        warn(place, fmt::format("{} is neither a keyword nor TILT=", shown(text)),
             "lines start with [KEYWORD]");
      data_.keywords.emplace_back("", as_utf8(text));
      return;
    }
    const std::string name = as_utf8(upper(trimmed(text.substr(1, close - 1))));
    const std::string value = as_utf8(trimmed(text.substr(close + 1)));
    if (name != "MORE") {
      data_.keywords.emplace_back(name, value);
    } else if (data_.keywords.empty()) {
      warn(place, "[MORE] continues nothing", "put it after the keyword that it continues");
    } else {
      data_.keywords.back().second += "\n" + value;
    }
  }

  /// The multiplier of the position in which the luminaire was tested, 1 without a tilt table.
  double read_tilt() {
    const std::string kind = upper(tilt_);
    if (kind == "NONE") return 1.0;
    if (kind.empty())
      in_.refuse(tilt_place_, "nothing stands after TILT=", "write TILT=NONE or TILT=INCLUDE");
    if (kind == "INCLUDE") return read_tilt_table(in_);
    const std::optional<std::string> table = options_.other_file ? options_.other_file(tilt_) : std::nullopt;
    if (!table)
      in_.refuse(
          tilt_place_, fmt::format("TILT={} names another file, which cannot be read", shown(tilt_)),
          "place that file beside this one, or use TILT=INCLUDE with its table copied below, or TILT=NONE if "
          "tilt does not matter");
    Scanner other(*table, as_utf8(tilt_));
    const double tested = read_tilt_table(other);
    other.expect_end();
    return tested;
  }

  double read_tilt_table(Scanner& in) {
    LampTilt tilt;
    tilt.lamp_geometry = in.whole("lamp-to-luminaire geometry", 1, 3, "it is 1, 2 or 3");
    const int pairs = in.whole("the number of tilt angles", 1, 1000, "give 1 to 1000");
    for (int i = 0; i < pairs; ++i) {
      const Scanner::Number angle = in.number(fmt::format("tilt angle {} of {}", i + 1, pairs));
      if (angle.value < 0.0 || angle.value > 180.0)
        in.refuse(angle.place, fmt::format("a tilt angle of {} degrees", angle.value),
                  "give 0 to 180 degrees");
      if (!tilt.angle_deg.empty() && angle.value <= tilt.angle_deg.back())
        in.refuse(angle.place, fmt::format("tilt angle {} follows {}", angle.value, tilt.angle_deg.back()),
                  "list tilt angles from the smallest up");
      tilt.angle_deg.push_back(angle.value);
    }
    for (int i = 0; i < pairs; ++i) {
      const Scanner::Number m = in.number(fmt::format("tilt multiplier {} of {}", i + 1, pairs));
      if (m.value < 0.0 || m.value > kMostTilt)
        in.refuse(m.place, fmt::format("a tilt multiplier of {}", m.value),
                  fmt::format("give 0 to {:g}; 1 is the tested position", kMostTilt));
      if (i == 0 && m.value < kLeastTestedTilt)
        in.refuse(m.place, "the lamp gives no light in its first position",
                  "the first multiplier is above 0, usually 1");
      if (i > 0 && m.value / tilt.multiplier.front() > kMostTilt)
        in.refuse(m.place,
                  fmt::format("a tilt multiplier of {}, {:.3g} times the first one", m.value,
                              m.value / tilt.multiplier.front()),
                  fmt::format("give at most {:g} times the first, the tested position", kMostTilt));
      tilt.multiplier.push_back(m.value);
    }
    // The first entry is the position nearest to that of the test; the others are kept relative to it.
    const double tested = tilt.multiplier.front();
    for (double& m : tilt.multiplier) m /= tested;
    data_.lamp_tilt = std::move(tilt);
    data_.statements.tested_tilt_factor = tested;
    return tested;
  }

  void read_main_lines(double& multiplier) {
    data_.lamps = in_.whole("the number of lamps", 1, 10'000, "give a whole number of lamps, 1 or more");
    const Scanner::Number lumens = in_.number("lumens per lamp");
    if (lumens.value > 0.0 && lumens.value <= kMostLumens)
      data_.lumens_per_lamp = lumens.value;
    else if (lumens.value != -1.0)
      in_.refuse(lumens.place, fmt::format("lumens per lamp is {}", lumens.value),
                 "give lumens above 0, or -1 for absolute photometry");
    data_.statements.candela_multiplier = positive("the candela multiplier").value;
    multiplier *= data_.statements.candela_multiplier;
    vertical_count_ =
        in_.whole("the number of vertical angles", 2, static_cast<int>(kMostAngles), "give 2 to 1000");
    horizontal_count_ =
        in_.whole("the number of horizontal angles", 1, static_cast<int>(kMostAngles), "give 1 to 1000");
    const int type = in_.whole("the photometric type", 1, 3, "1 is type C, 2 type B, 3 type A");
    data_.type = type == 1 ? PhotometricType::c : type == 2 ? PhotometricType::b : PhotometricType::a;
    const int units = in_.whole("the units number", 1, 2, "1 is feet, 2 metres");
    read_opening(units == 1 ? kMetresPerFoot : 1.0);
    data_.ballast_factor = positive("the ballast factor").value;
    multiplier *= data_.ballast_factor;
    const Scanner::Number lamp_factor = positive("the ballast-lamp photometric factor");
    if (edition_ < Edition::y2002) {
      data_.statements.ballast_lamp_factor = lamp_factor.value;
      multiplier *= lamp_factor.value;
    } else if (edition_ == Edition::y2002 && lamp_factor.value != 1.0) {
      warn(lamp_factor.place,
           fmt::format("a ballast-lamp photometric factor of {} was not applied", lamp_factor.value),
           "the 2002 edition reserves this number; if it is a factor, put it into the candela multiplier "
           "(PHO-16)");
    }
    const Scanner::Number watts = in_.number("input watts");
    if (watts.value < 0.0 || watts.value > 1e6)
      in_.refuse(watts.place, fmt::format("input watts is {}", watts.value), "give 0 to 1000000 W");
    data_.input_w = watts.value;
  }

  Scanner::Number positive(const std::string& what) {
    const Scanner::Number n = in_.number(what);
    if (n.value <= 0.0 || n.value > 1e9)
      in_.refuse(n.place, fmt::format("{} is {}", what, n.value),
                 "give a number above 0; 1 when it has no effect");
    return n;
  }

  /// Width, length and height with the signs that tell the shape.
  void read_opening(double metres) {
    const Scanner::Number w = in_.number("the width of the luminous opening");
    const Scanner::Number l = in_.number("the length of the luminous opening");
    const Scanner::Number h = in_.number("the height of the luminous opening");
    for (const Scanner::Number& n : {w, l, h})
      if (std::abs(n.value) * metres > kLargestOpening_m)
        in_.refuse(n.place, fmt::format("the luminous opening measures {}", n.value),
                   fmt::format("give at most {} m; check the units number", kLargestOpening_m));
    const std::optional<Shape> shape = shape_of(w.value, l.value, h.value);
    if (!shape)
      in_.refuse(w.place,
                 fmt::format("width {}, length {}, height {} describe no shape", w.value, l.value, h.value),
                 "rectangles have three numbers of 0 or more; -d -d 0 is a circle; -w -l 0 an ellipse; "
                 "-d -d h a vertical cylinder; -d -d -d a sphere");
    LuminousOpening& o = data_.opening;
    o.shape = *shape;
    o.width_m = std::abs(w.value) * metres;
    o.length_m = std::abs(l.value) * metres;
    o.height_m = std::abs(h.value) * metres;
    // The older editions give a round section by one diameter; the other extent is the same.
    const bool round_face =
        o.shape == Shape::circle || o.shape == Shape::vertical_cylinder || o.shape == Shape::sphere;
    if (round_face && l.value == 0.0) o.length_m = o.width_m;
    if (o.shape == Shape::cylinder_along && w.value == 0.0) o.width_m = o.height_m;
    if (o.shape == Shape::cylinder_across && l.value == 0.0) o.length_m = o.height_m;
  }

  /// Both columns of signs (1995 and before; 2002 and after). Where the same signs mean two shapes, the
  /// edition decides.
  [[nodiscard]] std::optional<Shape> shape_of(double w, double l, double h) const {
    const bool old = edition_ < Edition::y2002;
    if (w >= 0 && l >= 0 && h >= 0) {
      if (w == 0 && l == 0 && h == 0) return Shape::point;
      return h == 0 ? Shape::rectangle : Shape::box;
    }
    if (h == 0) {
      if (w < 0 && (l == 0 || l == w)) return Shape::circle;
      if (l != 0 && w != 0) return Shape::ellipse;
      return std::nullopt;
    }
    if (h > 0) {
      if (w < 0 && (l == 0 || l < 0)) return Shape::vertical_cylinder;
      return std::nullopt;
    }
    // h < 0
    if (w < 0 && l < 0) return w == l && l == h ? Shape::sphere : Shape::ellipsoid;
    if (w < 0 && l == 0) return old && w == h ? Shape::sphere : Shape::vertical_ellipse;
    if (w == 0 && l > 0) return Shape::cylinder_along;
    if (w > 0 && l == 0) return Shape::cylinder_across;
    if (w < 0 && l > 0) return old ? Shape::ellipsoid : Shape::cylinder_along;
    if (w > 0 && l < 0) return old ? Shape::ellipsoid : Shape::cylinder_across;
    return std::nullopt;
  }

  struct Angles {
    std::vector<double> values;
    Place first;
    Place last;
  };
  Angles read_angles(const char* kind, int count) {
    Angles angles;
    for (int i = 0; i < count; ++i) {
      const Scanner::Number angle = in_.number(fmt::format("{} angle {} of {}", kind, i + 1, count));
      if (i > 0 && angle.value <= angles.values.back())
        in_.refuse(angle.place,
                   fmt::format("{} angle {} follows {}", kind, angle.value, angles.values.back()),
                   fmt::format("the {} {} angles ascend; check their number", count, kind));
      if (i == 0) angles.first = angle.place;
      angles.last = angle.place;
      angles.values.push_back(angle.value);
    }
    return angles;
  }

  void require(bool fits, Place place, const char* kind, const char* end, double value,
               const char* remedy) const {
    if (!fits) in_.refuse(place, fmt::format("the {} {} angle is {}", end, kind, value), remedy);
  }

  void check_vertical(const Angles& a) const {
    const double first = a.values.front();
    const double last = a.values.back();
    if (data_.type == PhotometricType::c) {
      require(first == 0 || first == 90, a.first, "vertical", "first", first, "type C starts at 0 or 90");
      require(last == 180 || (last == 90 && first == 0), a.last, "vertical", "last", last,
              "type C ends at 90 or 180 (at 180 when it starts at 90)");
    } else {
      require(first == 0 || first == -90, a.first, "vertical", "first", first,
              "types A and B start at -90 or 0");
      require(last == 90, a.last, "vertical", "last", last, "types A and B end at 90");
    }
  }

  void check_horizontal(const Angles& a) const {
    const double first = a.values.front();
    const double last = a.values.back();
    if (data_.type == PhotometricType::c) {
      require(first == 0 || first == 90, a.first, "horizontal", "first", first,
              "type C starts at 0 (or 90, to end at 270)");
      if (first == 90)
        require(last == 270, a.last, "horizontal", "last", last, "type C that starts at 90 ends at 270");
      else
        require((last == 0 && a.values.size() == 1) || last == 90 || last == 180 || last == 360, a.last,
                "horizontal", "last", last, "type C ends at 0 (a single angle), 90, 180 or 360");
    } else {
      require(first == 0 || first == -90, a.first, "horizontal", "first", first,
              "types A and B start at -90 or 0");
      require(last == 90, a.last, "horizontal", "last", last, "types A and B end at 90");
    }
  }

  void read_tables(double multiplier) {
    const Angles vertical = read_angles("vertical", vertical_count_);
    check_vertical(vertical);
    const Angles horizontal = read_angles("horizontal", horizontal_count_);
    check_horizontal(horizontal);
    for (int h = 0; h < horizontal_count_; ++h) {
      for (int v = 0; v < vertical_count_; ++v) {
        const Scanner::Number cd =
            in_.number(fmt::format("candela value {} of {} at horizontal angle {}", v + 1, vertical_count_,
                                   horizontal.values[static_cast<std::size_t>(h)]));
        if (cd.value < 0.0)
          in_.refuse(cd.place, fmt::format("an intensity of {} cd", cd.value), "intensities are 0 or more");
        const double absolute = cd.value * multiplier;
        if (!(absolute <= 1e12))
          in_.refuse(cd.place, fmt::format("an intensity of {} cd", absolute),
                     "check the value and the multipliers");
        data_.candela.push_back(absolute);
      }
    }
    data_.vertical_deg = vertical.values;
    data_.horizontal_deg = horizontal.values;
    table_place_ = vertical.first;
  }

  Scanner in_;
  Diagnostics* warnings_;
  const PhotometryOptions& options_;
  PhotometricData data_;
  Edition edition_ = Edition::y1986;
  std::string_view tilt_;
  Place tilt_place_;
  Place table_place_;
  int vertical_count_ = 0;
  int horizontal_count_ = 0;
};

Diagnostics whole_file(std::string_view file, std::string problem, std::string remedy) {
  return {{Diagnostic::Severity::error, std::string(file), "line 1, column 1", std::move(problem),
           std::move(remedy)}};
}

}  // namespace

Result<IntensityDistribution> read_photometry(std::span<const std::byte> bytes, std::string_view file_name,
                                              Diagnostics* warnings, const PhotometryOptions& options) {
  if (bytes.size() > kLargestFile_bytes)
    return tl::unexpected(
        whole_file(file_name, fmt::format("the file has {} bytes", bytes.size()),
                   "a photometric file has some thousands of bytes; at most 16 MiB are read"));
  std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF"))
    return tl::unexpected(
        whole_file(file_name, "the file is in 16-bit characters", "save it as plain text (ASCII or UTF-8)"));
  if (trimmed(text).empty())
    return tl::unexpected(whole_file(file_name, "the file is empty", "choose a photometric file"));
  if (text.find('\0') != std::string_view::npos)
    return tl::unexpected(whole_file(file_name, "the file holds binary data", "choose an LM-63 text file"));
  if (upper(text).find("TILT") == std::string::npos && looks_like_eulumdat(text))
    return read_eulumdat(text, file_name, warnings, options.lamp_set);
  if (options.lamp_set && warnings != nullptr) {
    Diagnostic ignored =
        whole_file(file_name, fmt::format("set of lamps {} is not looked for", *options.lamp_set),
                   "only EULUMDAT files hold sets of lamps to choose among; leave it out")
            .front();
    ignored.severity = Diagnostic::Severity::warning;
    warnings->push_back(std::move(ignored));
  }
  try {
    return Reader(text, file_name, warnings, options).read();
  } catch (const Refused& refused) {
    return tl::unexpected(Diagnostics{refused.diagnostic});
  }
}

namespace {

/// Numbers in lines of at most 100 characters.
class NumberLines {
 public:
  void add(double value) {
    const std::string number = fmt::format("{}", value);
    if (!line_.empty() && line_.size() + 1 + number.size() > 100) flush();
    if (!line_.empty()) line_ += ' ';
    line_ += number;
  }
  void flush() {
    if (line_.empty()) return;
    text_ += line_ + "\n";
    line_.clear();
  }
  [[nodiscard]] const std::string& text() const { return text_; }

 private:
  std::string text_;
  std::string line_;
};

/// Width, length, height with the signs of the 2002 and later editions.
std::array<double, 3> signed_opening(const LuminousOpening& o) {
  const double w = o.width_m;
  const double l = o.length_m;
  const double h = o.height_m;
  switch (o.shape) {
    case Shape::point:
      return {0, 0, 0};
    case Shape::rectangle:
      return {w, l, 0};
    case Shape::box:
      return {w, l, h};
    case Shape::circle:
    case Shape::ellipse:
      return {-w, -l, 0};
    case Shape::vertical_cylinder:
      return {-w, -l, h};
    case Shape::sphere:
    case Shape::ellipsoid:
      return {-w, -l, -h};
    case Shape::cylinder_along:
      return {-w, l, -h};
    case Shape::cylinder_across:
      return {w, -l, -h};
    case Shape::vertical_ellipse:
      return {-w, 0, -h};
  }
  return {0, 0, 0};
}

void write_keyword(std::string& text, std::string_view name, std::string_view value) {
  std::size_t begin = 0;
  for (bool first = true;; first = false) {
    const std::size_t end = value.find('\n', begin);
    text += fmt::format("[{}] {}\n", first ? name : "MORE", value.substr(begin, end - begin));
    if (end == std::string_view::npos) return;
    begin = end + 1;
  }
}

}  // namespace

std::string write_lm63(const IntensityDistribution& distribution) {
  const PhotometricData& data = distribution.data();
  std::string text = "IES:LM-63-2019\n";
  constexpr std::array<std::pair<std::string_view, std::string_view>, 4> kRequired{
      {{"TEST", "none; not measured"}, {"TESTLAB", "none"}, {"ISSUEDATE", "none"}, {"MANUFAC", "generic"}}};
  for (const auto& [name, value] : kRequired) {
    const bool given = std::any_of(data.keywords.begin(), data.keywords.end(),
                                   [key = name](const auto& keyword) { return keyword.first == key; });
    if (!given) write_keyword(text, name, value);
  }
  for (const auto& [name, value] : data.keywords) write_keyword(text, name.empty() ? "OTHER" : name, value);

  NumberLines numbers;
  if (data.lamp_tilt) {
    text += "TILT=INCLUDE\n";
    numbers.add(data.lamp_tilt->lamp_geometry);
    numbers.add(static_cast<double>(data.lamp_tilt->angle_deg.size()));
    numbers.flush();
    for (const double angle : data.lamp_tilt->angle_deg) numbers.add(angle);
    numbers.flush();
    for (const double multiplier : data.lamp_tilt->multiplier) numbers.add(multiplier);
    numbers.flush();
  } else {
    text += "TILT=NONE\n";
  }
  const auto [width, length, height] = signed_opening(data.opening);
  const int type = data.type == PhotometricType::c ? 1 : data.type == PhotometricType::b ? 2 : 3;
  // Declared lumens include the ballast factor once the intensities do, so the factor is written as 1.
  const double lumens = data.lumens_per_lamp ? *data.lumens_per_lamp * data.ballast_factor : -1.0;
  for (const double n :
       {static_cast<double>(data.lamps), lumens, 1.0, static_cast<double>(data.vertical_deg.size()),
        static_cast<double>(data.horizontal_deg.size()), static_cast<double>(type), 2.0, width, length,
        height})
    numbers.add(n);
  numbers.flush();
  // The second number is the edition's file-generation code; 1.00010 marks a computed file (from memory).
  for (const double n : {1.0, 1.0001, data.input_w}) numbers.add(n);
  numbers.flush();
  for (const double angle : data.vertical_deg) numbers.add(angle);
  numbers.flush();
  for (const double angle : data.horizontal_deg) numbers.add(angle);
  numbers.flush();
  for (std::size_t h = 0; h < data.horizontal_deg.size(); ++h) {
    for (std::size_t v = 0; v < data.vertical_deg.size(); ++v) numbers.add(distribution.candela(h, v));
    numbers.flush();
  }
  return text + numbers.text();
}

}  // namespace halflight::formats
