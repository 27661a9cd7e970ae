#pragma once
#include "base/diagnostic.hpp"
#include "base/time_axis.hpp"
#include "formats/json_tree.hpp"
#include "formats/quantity_text.hpp"
#include "geometry/polygon.hpp"
#include "geometry/vector.hpp"

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <fmt/format.h>

// A codec knows one way of writing one value in a document. From it come the reader, the JSON Schema, the
// text of a default and the samples of the completeness test, so that the four cannot disagree. Each has
//   Value                                        what is held in memory
//   bool read(const JsonNode&, Value&, ValueContext&) const   false after a report
//   std::string schema() const                   members of the value's schema, without braces
//   std::string text(const Value&) const         JSON text that reads back as the value
//   Value sample(int n) const                    a lawful value; n and n + 1 give different ones

namespace halflight::formats {

/// What an id names, and what a reference must name.
enum class Thing {
  storey,
  obstruction,
  glazing,
  shade,
  calendar,
  typical,
  space,
  kind,
  hvac_zone,
  meter,
  reading,
  driver,
  channel,
  luminaire_type,
  device_kind,
  electrical_rules,
  tariff,
  cost,
  design,
  opening,
  door,
  partition,
  furniture,
  egress_path,
  task_area,
  luminaire,
  circuit,
  group,
  scene,
  occupancy_sensor,
  photosensor,
  station,
  load_controller,
  time_clock,
  interface,
  infrastructure,
  project,
};
/// "shade cloth", for messages.
std::string_view noun_of(Thing thing);
/// Where an id must be unique and a reference looks.
enum class Scope { project, design, space, type };
Scope scope_of(Thing thing);

/// What reading one value needs to know of the document around it, and whom it tells.
class ValueContext {
 public:
  virtual ~ValueContext() = default;
  /// An error about the value at `pointer`.
  virtual void report(std::string problem, std::string remedy) = 0;
  /// An id was read; may be renamed (rooms that inherit).
  virtual void identify(Thing thing, std::string& id) = 0;
  /// A reference was read; may be renamed.
  virtual void refer(Thing thing, std::string& id) = 0;

  std::string pointer;           ///< of the value being read
  double metres_per_unit = 1.0;  ///< of bare coordinates
  Point2 offset_m;               ///< added to coordinates in plan
};

/// "true", "2.7", "a list": a value as shown in a message.
std::string shown(const JsonNode& node);

/// Free text.
struct Text {
  using Value = std::string;
  bool read(const JsonNode& node, std::string& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const { return R"("type": "string")"; }
  [[nodiscard]] std::string text(const std::string& value) const { return json_string(value); }
  [[nodiscard]] std::string sample(int n) const { return "text " + std::to_string(n); }
};

/// The name of a file's format. Any text is read: whoever reads the file says what other formats mean.
struct FormatName {
  using Value = std::string;
  std::string_view expected;
  bool read(const JsonNode& node, std::string& out, ValueContext& context) const {
    return Text{}.read(node, out, context);
  }
  [[nodiscard]] std::string schema() const { return "\"const\": " + json_string(expected); }
  [[nodiscard]] std::string text(const std::string& value) const { return json_string(value); }
  [[nodiscard]] std::string sample(int) const { return std::string(expected); }
};

/// The name of a thing within its scope.
struct Id {
  using Value = std::string;
  Thing thing;
  bool read(const JsonNode& node, std::string& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(const std::string& value) const { return json_string(value); }
  [[nodiscard]] std::string sample(int n) const { return "id-" + std::to_string(n); }
};

/// The id of a thing that stands elsewhere.
struct Reference {
  using Value = std::string;
  Thing thing;
  std::vector<std::string_view> words = {};  ///< taken in place of an id
  bool may_name_channel = false;             ///< "luminaire/channel" as well as "luminaire"
  bool read(const JsonNode& node, std::string& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(const std::string& value) const { return json_string(value); }
  [[nodiscard]] std::string sample(int n) const { return "ref-" + std::to_string(n); }
};

/// A number with a unit, within limits that are given in the unit of the member.
struct Measure {
  using Value = double;
  const Dimension* dimension;
  std::string_view unit;
  double low;
  double high;
  bool read(const JsonNode& node, double& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(double value) const;
  [[nodiscard]] double sample(int n) const;
};
inline Measure metres(double low, double high) { return {&kLength, "m", low, high}; }
inline Measure lux(double low, double high) { return {&kIlluminance, "lx", low, high}; }
inline Measure luminances(double low, double high) { return {&kLuminance, "cd/m2", low, high}; }
inline Measure seconds(double low, double high) { return {&kDuration, "s", low, high}; }
inline Measure minutes(double low, double high) { return {&kDuration, "min", low, high}; }
inline Measure hours(double low, double high) { return {&kDuration, "h", low, high}; }
inline Measure watts(double low, double high) { return {&kPower, "W", low, high}; }
inline Measure degrees(double low, double high) { return {&kAngle, "deg", low, high}; }
inline Measure lumens(double low, double high) { return {&kLuminousFlux, "lm", low, high}; }
inline Measure kelvins(double low, double high) { return {&kColourTemperature, "K", low, high}; }
inline Measure amperes(double low, double high) { return {&kCurrent, "A", low, high}; }
inline Measure milliamperes(double low, double high) { return {&kCurrent, "mA", low, high}; }
inline Measure volts(double low, double high) { return {&kVoltage, "V", low, high}; }
inline Measure radio_power(double low, double high) { return {&kRadioPower, "dBm", low, high}; }
inline Measure decibels(double low, double high) { return {&kDecibels, "dB", low, high}; }

/// As `Measure` in seconds, for whole seconds.
struct WholeSeconds {
  using Value = Seconds;
  Measure measure;
  bool read(const JsonNode& node, Seconds& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const { return measure.schema(); }
  [[nodiscard]] std::string text(Seconds value) const { return measure.text(static_cast<double>(value)); }
  [[nodiscard]] Seconds sample(int n) const { return Seconds{60} * (1 + n % 60); }
};

/// A share: 0.8 or "80 %".
struct Fraction {
  using Value = double;
  double low = 0.0;
  double high = 1.0;
  bool read(const JsonNode& node, double& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(double value) const { return json_number(value); }
  [[nodiscard]] double sample(int n) const { return low + (high - low) * (1 + n % 7) / 8.0; }
};

/// A number without a unit.
struct Number {
  using Value = double;
  double low;
  double high;
  bool read(const JsonNode& node, double& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(double value) const { return json_number(value); }
  [[nodiscard]] double sample(int n) const { return low + (high - low) * (1 + n % 7) / 8.0; }
};

struct Count {
  using Value = int;
  int low;
  int high;
  bool read(const JsonNode& node, int& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(int value) const { return std::to_string(value); }
  [[nodiscard]] int sample(int n) const { return low + n % (high - low + 1); }
};

struct Flag {
  using Value = bool;
  bool read(const JsonNode& node, bool& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const { return R"("type": "boolean")"; }
  [[nodiscard]] std::string text(bool value) const { return value ? "true" : "false"; }
  [[nodiscard]] bool sample(int n) const { return n % 2 == 0; }
};

/// Reads a word of a list and gives its index.
std::optional<std::size_t> read_word(const JsonNode& node, const std::vector<std::string_view>& words,
                                     ValueContext& context);
std::string words_schema(const std::vector<std::string_view>& words);

/// The words of an enumeration in the order of its enumerators; specialised in project_fields.hpp.
template <class E>
struct Words;

template <class E>
struct Word {
  using Value = E;
  bool read(const JsonNode& node, E& out, ValueContext& context) const {
    const auto index = read_word(node, all(), context);
    if (index) out = static_cast<E>(*index);
    return index.has_value();
  }
  [[nodiscard]] std::string schema() const { return words_schema(all()); }
  [[nodiscard]] std::string text(E value) const {
    return json_string(all()[static_cast<std::size_t>(value)]);
  }
  [[nodiscard]] E sample(int n) const { return static_cast<E>(static_cast<std::size_t>(n) % all().size()); }
  static std::vector<std::string_view> all() { return {Words<E>::kAll.begin(), Words<E>::kAll.end()}; }
};

/// A day of the week, "mon" ... "sun"; 0 = Monday.
struct Weekday {
  using Value = int;
  bool read(const JsonNode& node, int& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(int value) const;
  [[nodiscard]] int sample(int n) const { return n % 7; }
};

/// A day of the year without the year: "24 Dec".
struct Date {
  using Value = MonthDay;
  bool read(const JsonNode& node, MonthDay& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(MonthDay value) const;
  [[nodiscard]] MonthDay sample(int n) const { return {1 + n % 12, 1 + n % 28}; }
};

/// A reading of the clock, "08:30" or "24:00"; seconds after midnight.
struct Clock {
  using Value = Seconds;
  bool read(const JsonNode& node, Seconds& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(Seconds value) const;
  [[nodiscard]] Seconds sample(int n) const { return (60 + n % 1000) * kMinute; }
};

/// [x, y] or [x, y, z] in the document's coordinates.
struct Place2 {
  using Value = Point2;
  bool read(const JsonNode& node, Point2& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(Point2 value) const;
  [[nodiscard]] Point2 sample(int n) const { return {1.0 + n % 50, 2.5}; }
};
struct Place3 {
  using Value = Point3;
  bool read(const JsonNode& node, Point3& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(Point3 value) const;
  [[nodiscard]] Point3 sample(int n) const { return {1.0 + n % 50, 2.5, 2.25}; }
};
/// Vertices of a polygon, or of a line; at least `least`.
struct Vertices {
  using Value = std::vector<Point2>;
  std::size_t least = 3;
  bool turned =
      false;  ///< a clockwise outline is turned; else the order stays as drawn (walls are numbered by it)
  bool read(const JsonNode& node, std::vector<Point2>& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(const std::vector<Point2>& value) const;
  [[nodiscard]] std::vector<Point2> sample(int n) const {
    const double x = 1.0 + n % 50;
    return {{0.0, 0.0}, {x, 0.0}, {x, 2.5}};
  }
};

/// As `Vertices`, for members that hold plain arrays.
struct VertexArrays {
  using Value = std::vector<std::array<double, 2>>;
  Vertices vertices;
  bool read(const JsonNode& node, Value& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const { return vertices.schema(); }
  [[nodiscard]] std::string text(const Value& value) const;
  [[nodiscard]] Value sample(int n) const { return {{0.0, 0.0}, {1.0 + n % 50, 0.0}, {5.0, 2.5}}; }
};

/// A list of values.
template <class Codec>
struct Each {
  using Value = std::vector<typename Codec::Value>;
  Codec item;
  std::size_t least = 0;

  bool read(const JsonNode& node, Value& out, ValueContext& context) const {
    if (node.kind != JsonNode::Kind::array) {
      context.report(shown(node) + " stands where a list is expected", "put it in [ and ]");
      return false;
    }
    if (node.children.size() < least) {
      context.report("the list is empty", fmt::format("give at least {}", least));
      return false;
    }
    Value items;
    bool good = true;
    const std::string own_pointer = context.pointer;
    for (std::size_t i = 0; i < node.children.size(); ++i) {
      context.pointer = own_pointer + "/" + std::to_string(i);
      typename Codec::Value value{};
      if (item.read(node.children[i], value, context))
        items.push_back(std::move(value));
      else
        good = false;
    }
    context.pointer = own_pointer;
    out = std::move(items);
    return good;
  }
  [[nodiscard]] std::string schema() const {
    return R"("type": "array", )" + (least > 0 ? fmt::format(R"("minItems": {}, )", least) : std::string()) +
           R"("items": {)" + item.schema() + "}";
  }
  [[nodiscard]] std::string text(const Value& value) const {
    std::string out = "[";
    for (const auto& v : value) out += (out.size() > 1 ? ", " : "") + item.text(v);
    return out + "]";
  }
  [[nodiscard]] Value sample(int n) const { return {item.sample(n), item.sample(n + 1)}; }
};
template <class Codec>
Each(Codec) -> Each<Codec>;
template <class Codec>
Each(Codec, std::size_t) -> Each<Codec>;

/// A value that may be left out and then has a meaning of its own.
template <class Codec>
struct Unset {
  using Value = std::optional<typename Codec::Value>;
  Codec inner;
  bool read(const JsonNode& node, Value& out, ValueContext& context) const {
    typename Codec::Value value{};
    if (!inner.read(node, value, context)) return false;
    out = std::move(value);
    return true;
  }
  [[nodiscard]] std::string schema() const { return inner.schema(); }
  [[nodiscard]] std::string text(const Value& value) const { return value ? inner.text(*value) : ""; }
  [[nodiscard]] Value sample(int n) const { return inner.sample(n); }
};
template <class Codec>
Unset(Codec) -> Unset<Codec>;

/// Numbers by name.
struct NumberTable {
  using Value = std::map<std::string, double>;
  bool read(const JsonNode& node, Value& out, ValueContext& context) const;
  [[nodiscard]] std::string schema() const;
  [[nodiscard]] std::string text(const Value& value) const;
  [[nodiscard]] Value sample(int n) const { return {{"a", 1.0 + n}, {"b", 0.5}}; }
};

/// The words of `known` that are nearest to `word` by the number of changed letters, at most `count` of them
/// and only those that may have been meant.
std::vector<std::string> nearest_words(std::string_view word, const std::vector<std::string>& known,
                                       std::size_t count);
/// "a, b or c", quoted.
std::string word_list(const std::vector<std::string_view>& words);

}  // namespace halflight::formats
