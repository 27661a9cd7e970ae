#include "formats/codecs.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace halflight::formats {

namespace {

constexpr std::size_t kLongestText = 20'000;
constexpr std::size_t kLongestId = 80;
/// No building is larger, and the integer grid of polygons reaches 1e6 m.
constexpr double kFarthest_m = 10'000.0;
/// Of an outline: tests of outlines take the square of it.
constexpr std::size_t kMostVertices = 1000;

constexpr std::array<std::string_view, 7> kWeekdays = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
constexpr std::array<std::string_view, 12> kMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                      "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

bool is_id(std::string_view id) {
  const auto is_plain = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
  };
  return !id.empty() && id.size() <= kLongestId && is_plain(id.front()) &&
         std::all_of(id.begin(), id.end(),
                     [&](char c) { return is_plain(c) || c == '.' || c == '_' || c == '-'; });
}

bool expect_string(const JsonNode& node, ValueContext& context, std::string remedy) {
  if (node.kind == JsonNode::Kind::string) return true;
  context.report(shown(node) + " stands where text is expected", std::move(remedy));
  return false;
}

std::string coordinate(double value) { return json_number(value); }

/// `out[i]` of [x, y] or [x, y, z] in metres, without the offset.
bool read_coordinates(const JsonNode& node, double* out, std::size_t count, ValueContext& context) {
  const std::string remedy = count == 2 ? "write [x, y]" : "write [x, y, z]";
  if (node.kind != JsonNode::Kind::array || node.children.size() != count ||
      std::any_of(node.children.begin(), node.children.end(),
                  [](const JsonNode& n) { return n.kind != JsonNode::Kind::number; })) {
    context.report(shown(node) + " is no position", remedy + ", numbers without unit");
    return false;
  }
  for (std::size_t i = 0; i < count; ++i) {
    out[i] = node.children[i].number * context.metres_per_unit;
    if (std::abs(out[i]) > kFarthest_m) {
      context.report(fmt::format("the coordinate {} lies {:.0f} m from the building's origin",
                                 node.children[i].text.substr(0, 40), std::abs(out[i])),
                     fmt::format("keep coordinates within {} m", kFarthest_m));
      return false;
    }
  }
  return true;
}

std::string position_schema(int count) {
  return fmt::format(R"("type": "array", "items": {{"type": "number"}}, "minItems": {0}, "maxItems": {0})",
                     count);
}

std::string range_text(double low, double high) {
  return fmt::format("give a number between {} and {}", json_number(low), json_number(high));
}

}  // namespace

std::string_view noun_of(Thing thing) {
  switch (thing) {
    case Thing::storey:
      return "storey";
    case Thing::obstruction:
      return "obstruction";
    case Thing::glazing:
      return "glazing";
    case Thing::shade:
      return "shade";
    case Thing::calendar:
      return "calendar";
    case Thing::typical:
      return "typical";
    case Thing::space:
      return "space";
    case Thing::kind:
      return "kind of space";
    case Thing::hvac_zone:
      return "HVAC zone";
    case Thing::meter:
      return "meter";
    case Thing::reading:
      return "reading";
    case Thing::driver:
      return "driver";
    case Thing::channel:
      return "channel";
    case Thing::luminaire_type:
      return "luminaire type";
    case Thing::device_kind:
      return "kind of device";
    case Thing::electrical_rules:
      return "set of electrical rules";
    case Thing::tariff:
      return "tariff";
    case Thing::cost:
      return "cost item";
    case Thing::design:
      return "design";
    case Thing::opening:
      return "opening";
    case Thing::door:
      return "door";
    case Thing::partition:
      return "partition";
    case Thing::furniture:
      return "piece of furniture";
    case Thing::egress_path:
      return "egress path";
    case Thing::task_area:
      return "task area";
    case Thing::luminaire:
      return "luminaire";
    case Thing::circuit:
      return "circuit";
    case Thing::group:
      return "group";
    case Thing::scene:
      return "scene";
    case Thing::occupancy_sensor:
      return "occupancy sensor";
    case Thing::photosensor:
      return "photosensor";
    case Thing::station:
      return "station";
    case Thing::load_controller:
      return "load controller";
    case Thing::time_clock:
      return "time clock";
    case Thing::interface:
      return "interface";
    case Thing::infrastructure:
      return "infrastructure device";
    case Thing::project:
      return "project";
  }
  return "thing";
}

Scope scope_of(Thing thing) {
  switch (thing) {
    case Thing::channel:
      return Scope::type;
    case Thing::opening:
    case Thing::door:
    case Thing::partition:
    case Thing::furniture:
    case Thing::egress_path:
    case Thing::task_area:
      return Scope::space;
    case Thing::luminaire:
    case Thing::circuit:
    case Thing::group:
    case Thing::scene:
    case Thing::occupancy_sensor:
    case Thing::photosensor:
    case Thing::station:
    case Thing::load_controller:
    case Thing::time_clock:
    case Thing::interface:
    case Thing::infrastructure:
      return Scope::design;
    default:
      return Scope::project;
  }
}

std::string shown(const JsonNode& node) {
  switch (node.kind) {
    case JsonNode::Kind::null:
      return "null";
    case JsonNode::Kind::boolean:
      return node.boolean ? "true" : "false";
    case JsonNode::Kind::number:
      return node.text.substr(0, 40);
    case JsonNode::Kind::string:
      return node.text.size() <= 40 ? json_string(node.text)
                                    : fmt::format("a text of {} bytes", node.text.size());
    case JsonNode::Kind::array:
      return node.children.empty() ? "an empty list" : fmt::format("a list of {}", node.children.size());
    case JsonNode::Kind::object:
      return "an object in { }";
  }
  return "";
}

bool Text::read(const JsonNode& node, std::string& out, ValueContext& context) const {
  if (!expect_string(node, context, "write text in double quotation marks")) return false;
  if (node.text.size() > kLongestText) {
    context.report(fmt::format("a text of {} bytes", node.text.size()),
                   fmt::format("keep it below {} bytes", kLongestText));
    return false;
  }
  out = node.text;
  return true;
}

bool Id::read(const JsonNode& node, std::string& out, ValueContext& context) const {
  if (!expect_string(node, context, "write the id in double quotation marks")) return false;
  if (!is_id(node.text)) {
    context.report(
        fmt::format("{} is no id", shown(node)),
        fmt::format("use up to {} letters, digits, '.', '_' and '-', a letter or digit first", kLongestId));
    return false;
  }
  out = node.text;
  context.identify(thing, out);
  return true;
}

std::string Id::schema() const {
  return fmt::format(R"("type": "string", "pattern": "^[A-Za-z0-9][A-Za-z0-9._-]*$", "maxLength": {})",
                     kLongestId);
}

bool Reference::read(const JsonNode& node, std::string& out, ValueContext& context) const {
  if (!expect_string(node, context,
                     fmt::format("write the id of a {} in double quotation marks", noun_of(thing))))
    return false;
  out = node.text;
  // An empty reference says "none", as leaving the key out does; a room that inherits can clear one with it.
  if (out.empty() || std::find(words.begin(), words.end(), out) != words.end()) return true;
  const std::size_t slash = may_name_channel ? out.find('/') : std::string::npos;
  std::string head = out.substr(0, slash);
  context.refer(thing, head);
  out = head + (slash == std::string::npos ? "" : out.substr(slash));
  return true;
}

std::string Reference::schema() const { return R"("type": "string")"; }

bool Measure::read(const JsonNode& node, double& out, ValueContext& context) const {
  const auto remedy = [&] {
    return fmt::format("give {} between {} and {}", dimension->noun, quantity_text(low, *dimension, unit),
                       quantity_text(high, *dimension, unit));
  };
  if (node.kind == JsonNode::Kind::number) {
    context.report(fmt::format("{} lacks a unit", node.text.substr(0, 40)),
                   fmt::format("write {} in {}, such as \"{}\"", dimension->noun, unit_list(*dimension),
                               dimension->example));
    return false;
  }
  if (node.kind != JsonNode::Kind::string) {
    context.report(shown(node) + " is not " + std::string(dimension->noun), remedy());
    return false;
  }
  const Result<double> value = parse_quantity(node.text, *dimension, unit);
  if (!value) {
    context.report(value.error().front().problem, value.error().front().remedy);
    return false;
  }
  if (!(*value >= low && *value <= high)) {
    context.report(fmt::format("{} is out of range", shown(node)), remedy());
    return false;
  }
  out = *value == 0.0 ? 0.0 : *value;
  return true;
}

std::string Measure::schema() const {
  return fmt::format(R"("type": "string", "pattern": {})", json_string(quantity_pattern(*dimension)));
}

std::string Measure::text(double value) const { return json_string(quantity_text(value, *dimension, unit)); }

double Measure::sample(int n) const {
  // Quarters survive every unit that divides evenly.
  return std::floor((low + (high - low) * (1 + n % 7) / 8.0) * 4.0) / 4.0 + 0.25;
}

bool WholeSeconds::read(const JsonNode& node, Seconds& out, ValueContext& context) const {
  double value = 0.0;
  if (!measure.read(node, value, context)) return false;
  out = std::llround(value);
  return true;
}

bool Fraction::read(const JsonNode& node, double& out, ValueContext& context) const {
  const auto remedy = [&] {
    return fmt::format("give a number between {} and {}, or a percentage such as \"{} %\"", json_number(low),
                       json_number(high), json_number(50.0 * (low + high)));
  };
  double value = 0.0;
  if (node.kind == JsonNode::Kind::number) {
    value = node.number;
  } else if (node.kind == JsonNode::Kind::string) {
    std::string_view digits = node.text;
    if (digits.ends_with('%')) digits.remove_suffix(1);
    if (digits.ends_with(' ')) digits.remove_suffix(1);
    const auto [end, error] =
        std::from_chars(digits.data(), digits.data() + digits.size(), value, std::chars_format::fixed);
    if (error != std::errc() || end != digits.data() + digits.size() || !node.text.ends_with('%') ||
        digits.empty() || digits.back() < '0' || digits.back() > '9') {
      context.report(shown(node) + " is no fraction", remedy());
      return false;
    }
    value /= 100.0;
  } else {
    context.report(shown(node) + " is no fraction", remedy());
    return false;
  }
  if (!(value >= low && value <= high)) {
    context.report(shown(node) + " is out of range", remedy());
    return false;
  }
  out = value == 0.0 ? 0.0 : value;
  return true;
}

std::string Fraction::schema() const {
  return fmt::format(R"("anyOf": [{{"type": "number", "minimum": {}, "maximum": {}}}, )"
                     R"({{"type": "string", "pattern": "^[0-9]+(\\.[0-9]+)? ?%$"}}])",
                     json_number(low), json_number(high));
}

bool Number::read(const JsonNode& node, double& out, ValueContext& context) const {
  if (node.kind != JsonNode::Kind::number) {
    context.report(shown(node) + " stands where a number is expected", range_text(low, high));
    return false;
  }
  if (!(node.number >= low && node.number <= high)) {
    context.report(shown(node) + " is out of range", range_text(low, high));
    return false;
  }
  out = node.number == 0.0 ? 0.0 : node.number;
  return true;
}

std::string Number::schema() const {
  return fmt::format(R"("type": "number", "minimum": {}, "maximum": {})", json_number(low),
                     json_number(high));
}

bool Count::read(const JsonNode& node, int& out, ValueContext& context) const {
  const auto remedy = [&] { return fmt::format("give a whole number from {} to {}", low, high); };
  if (node.kind != JsonNode::Kind::number || node.number != std::floor(node.number)) {
    context.report(shown(node) + " stands where a whole number is expected", remedy());
    return false;
  }
  if (!(node.number >= low && node.number <= high)) {
    context.report(shown(node) + " is out of range", remedy());
    return false;
  }
  out = static_cast<int>(node.number);
  return true;
}

std::string Count::schema() const {
  return fmt::format(R"("type": "integer", "minimum": {}, "maximum": {})", low, high);
}

bool Flag::read(const JsonNode& node, bool& out, ValueContext& context) const {
  if (node.kind != JsonNode::Kind::boolean) {
    context.report(shown(node) + " is neither true nor false",
                   "write true or false, without quotation marks");
    return false;
  }
  out = node.boolean;
  return true;
}

std::optional<std::size_t> read_word(const JsonNode& node, const std::vector<std::string_view>& words,
                                     ValueContext& context) {
  if (node.kind == JsonNode::Kind::string) {
    const auto found = std::find(words.begin(), words.end(), node.text);
    if (found != words.end()) return static_cast<std::size_t>(found - words.begin());
  }
  context.report(shown(node) + " is not one of the words that may stand here", "write " + word_list(words));
  return std::nullopt;
}

std::string words_schema(const std::vector<std::string_view>& words) {
  std::string list;
  for (const std::string_view word : words) list += (list.empty() ? "" : ", ") + json_string(word);
  return R"("enum": [)" + list + "]";
}

bool Weekday::read(const JsonNode& node, int& out, ValueContext& context) const {
  const auto index = read_word(node, {kWeekdays.begin(), kWeekdays.end()}, context);
  if (index) out = static_cast<int>(*index);
  return index.has_value();
}
std::string Weekday::schema() const { return words_schema({kWeekdays.begin(), kWeekdays.end()}); }
std::string Weekday::text(int value) const { return json_string(kWeekdays[static_cast<std::size_t>(value)]); }

bool Date::read(const JsonNode& node, MonthDay& out, ValueContext& context) const {
  if (node.kind == JsonNode::Kind::string) {
    const std::string_view text = node.text;
    MonthDay date;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), date.day);
    const std::string_view rest = text.substr(static_cast<std::size_t>(end - text.data()));
    const auto month = rest.size() == 4 && rest[0] == ' '
                           ? std::find(kMonths.begin(), kMonths.end(), rest.substr(1))
                           : kMonths.end();
    date.month = 1 + static_cast<int>(month - kMonths.begin());
    if (error == std::errc() && month != kMonths.end() && is_valid(date)) {
      out = date;
      return true;
    }
  }
  context.report(shown(node) + " is no date",
                 "write day and month, such as \"24 Dec\" (29 Feb does not exist here)");
  return false;
}
std::string Date::schema() const {
  return R"("type": "string", "pattern": "^[0-3]?[0-9] (Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)$")";
}
std::string Date::text(MonthDay value) const {
  return fmt::format("\"{} {}\"", value.day, kMonths[static_cast<std::size_t>(value.month - 1)]);
}

bool Clock::read(const JsonNode& node, Seconds& out, ValueContext& context) const {
  const std::string_view text = node.text;
  const auto digit = [&](std::size_t i) { return text[i] - '0'; };
  const auto is_digit = [&](std::size_t i) { return text[i] >= '0' && text[i] <= '9'; };
  if (node.kind == JsonNode::Kind::string && text.size() == 5 && text[2] == ':' && is_digit(0) &&
      is_digit(1) && is_digit(3) && is_digit(4)) {
    const Seconds time = (10 * digit(0) + digit(1)) * kHour + (10 * digit(3) + digit(4)) * kMinute;
    if (time <= kDay && digit(3) < 6) {
      out = time;
      return true;
    }
  }
  context.report(shown(node) + " is no clock time", "write hours and minutes from \"00:00\" to \"24:00\"");
  return false;
}
std::string Clock::schema() const {
  return R"("type": "string", "pattern": "^([01][0-9]|2[0-3]):[0-5][0-9]$|^24:00$")";
}
std::string Clock::text(Seconds value) const {
  return fmt::format("\"{:02}:{:02}\"", value / kHour, value % kHour / kMinute);
}

bool Place2::read(const JsonNode& node, Point2& out, ValueContext& context) const {
  double xy[2];
  if (!read_coordinates(node, xy, 2, context)) return false;
  out = {xy[0] + context.offset_m.x, xy[1] + context.offset_m.y};
  return true;
}
std::string Place2::schema() const { return position_schema(2); }
std::string Place2::text(Point2 p) const { return fmt::format("[{}, {}]", coordinate(p.x), coordinate(p.y)); }

bool Place3::read(const JsonNode& node, Point3& out, ValueContext& context) const {
  double xyz[3];
  if (!read_coordinates(node, xyz, 3, context)) return false;
  out = {xyz[0] + context.offset_m.x, xyz[1] + context.offset_m.y, xyz[2]};
  return true;
}
std::string Place3::schema() const { return position_schema(3); }
std::string Place3::text(Point3 p) const {
  return fmt::format("[{}, {}, {}]", coordinate(p.x), coordinate(p.y), coordinate(p.z));
}

bool Vertices::read(const JsonNode& node, std::vector<Point2>& out, ValueContext& context) const {
  if (node.kind != JsonNode::Kind::array || node.children.size() < least) {
    context.report(shown(node) + (least >= 3 ? " is no outline" : " is no line"),
                   fmt::format("write at least {} positions, [[x, y], [x, y], ...]", least));
    return false;
  }
  if (node.children.size() > kMostVertices) {
    context.report(fmt::format("{} positions", node.children.size()),
                   fmt::format("draw it with at most {}", kMostVertices));
    return false;
  }
  std::vector<Point2> vertices;
  const std::string own_pointer = context.pointer;
  bool good = true;
  for (std::size_t i = 0; i < node.children.size(); ++i) {
    context.pointer = own_pointer + "/" + std::to_string(i);
    Point2 p;
    good = Place2{}.read(node.children[i], p, context) && good;
    vertices.push_back(p);
  }
  context.pointer = own_pointer;
  if (good && least >= 3 && vertices.front() == vertices.back()) {
    context.report("the last vertex repeats the first", "leave it out; an outline closes by itself");
    return false;
  }
  if (good) out = turned && signed_area(vertices) < 0.0 ? reversed(vertices) : std::move(vertices);
  return good;
}
std::string Vertices::schema() const {
  return fmt::format(R"("type": "array", "minItems": {}, "items": {{{}}})", least, position_schema(2));
}
std::string Vertices::text(const std::vector<Point2>& value) const {
  std::string out = "[";
  for (const Point2& p : value) out += (out.size() > 1 ? ", " : "") + Place2{}.text(p);
  return out + "]";
}

bool VertexArrays::read(const JsonNode& node, Value& out, ValueContext& context) const {
  std::vector<Point2> points;
  if (!vertices.read(node, points, context)) return false;
  out.clear();
  for (const Point2& p : points) out.push_back({p.x, p.y});
  return true;
}
std::string VertexArrays::text(const Value& value) const {
  std::vector<Point2> points;
  for (const auto& [x, y] : value) points.push_back({x, y});
  return vertices.text(points);
}

bool NumberTable::read(const JsonNode& node, Value& out, ValueContext& context) const {
  if (node.kind != JsonNode::Kind::object) {
    context.report(shown(node) + " stands where numbers by name are expected",
                   "write {\"name\": number, ...}");
    return false;
  }
  Value table;
  for (std::size_t i = 0; i < node.children.size(); ++i) {
    if (node.children[i].kind != JsonNode::Kind::number) {
      context.report(fmt::format("{} is given {}", json_string(node.keys[i].name), shown(node.children[i])),
                     "give a number");
      return false;
    }
    table[node.keys[i].name] = node.children[i].number;
  }
  out = std::move(table);
  return true;
}
std::string NumberTable::schema() const {
  return R"("type": "object", "additionalProperties": {"type": "number"})";
}
std::string NumberTable::text(const Value& value) const {
  std::string out = "{";
  for (const auto& [name, number] : value)
    out += (out.size() > 1 ? ", " : "") + json_string(name) + ": " + json_number(number);
  return out + "}";
}

std::vector<std::string> nearest_words(std::string_view word, const std::vector<std::string>& known,
                                       std::size_t count) {
  word = word.substr(0, kLongestId);
  std::vector<std::pair<std::size_t, std::string>> ranked;
  for (const std::string& candidate : known) {
    // Levenshtein distance, one row at a time.
    std::vector<std::size_t> row(candidate.size() + 1);
    for (std::size_t j = 0; j < row.size(); ++j) row[j] = j;
    for (std::size_t i = 0; i < word.size(); ++i) {
      std::size_t diagonal = row[0];
      row[0] = i + 1;
      for (std::size_t j = 0; j < candidate.size(); ++j) {
        const std::size_t changed = diagonal + (word[i] == candidate[j] ? 0 : 1);
        diagonal = row[j + 1];
        row[j + 1] = std::min({changed, row[j] + 1, row[j + 1] + 1});
      }
    }
    const bool contained =
        word.size() >= 3 && (candidate.find(word) != std::string::npos ||
                             (candidate.size() >= 3 && word.find(candidate) != std::string::npos));
    if (row.back() <= std::max<std::size_t>(1, word.size() / 3) || contained)
      ranked.emplace_back(row.back(), candidate);
  }
  std::stable_sort(ranked.begin(), ranked.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<std::string> nearest;
  for (const auto& [distance, candidate] : ranked)
    if (nearest.size() < count) nearest.push_back(candidate);
  return nearest;
}

std::string word_list(const std::vector<std::string_view>& words) {
  std::string list;
  for (std::size_t i = 0; i < words.size(); ++i)
    list += (i == 0 ? "" : i + 1 == words.size() ? " or " : ", ") + json_string(words[i]);
  return list;
}

}  // namespace halflight::formats
