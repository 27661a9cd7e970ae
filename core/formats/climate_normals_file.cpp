#include "formats/climate_normals_file.hpp"

#include "formats/json_tree.hpp"
#include "formats/library_json.hpp"

#include <array>
#include <set>

#include <fmt/format.h>

namespace halflight::formats {

namespace {

/// Whoever mends the first of them sees the rest.
constexpr std::size_t kMostErrors = 500;

struct Range {
  double low;
  double high;
  std::string_view unit;
};

/// Takes the fields of one climate and notes what is wrong with them.
class ClimateReader {
 public:
  ClimateReader(const JsonNode& node, std::string where, const std::string& file, Diagnostics& diagnostics)
      : node_(node), where_(std::move(where)), file_(file), diagnostics_(diagnostics) {}

  void text(std::string_view key, std::string& into) {
    const JsonNode* value = require(key);
    if (value == nullptr) return;
    if (value->kind != JsonNode::Kind::string || value->text.empty()) {
      refuse(key, "is no text", "write words between quotation marks");
      return;
    }
    into = value->text;
  }
  void number(std::string_view key, Range range, double& into) {
    if (const JsonNode* value = require(key)) take(*value, std::string(key), range, into);
  }
  void months(std::string_view key, Range range, std::array<double, 12>& into) {
    const JsonNode* value = require(key);
    if (value == nullptr) return;
    if (value->kind != JsonNode::Kind::array || value->children.size() != into.size()) {
      refuse(key, "is no list of twelve numbers", "give one for each month, January first");
      return;
    }
    for (std::size_t m = 0; m < into.size(); ++m) {
      take(value->children[m], fmt::format("{}/{}", key, m), range, into[m]);
    }
  }
  /// After all fields: whatever else stands there is a spelling mistake.
  void refuse_others() {
    if (node_.kind != JsonNode::Kind::object) return;
    for (const JsonNode::Key& key : node_.keys) {
      if (!known_.contains(key.name)) refuse(pointer_step(key.name), "is no key of a climate", "take it out");
    }
  }
  void refuse(std::string_view place, std::string problem, std::string remedy) {
    diagnostics_.push_back({Diagnostic::Severity::error, file_, fmt::format("{}/{}", where_, place),
                            std::move(problem), std::move(remedy)});
  }

 private:
  const JsonNode* require(std::string_view key) {
    known_.emplace(key);
    const JsonNode* value = node_.find(key);
    if (value == nullptr) refuse(key, "is not given", "give it");
    return value;
  }
  void take(const JsonNode& value, const std::string& place, Range range, double& into) {
    if (value.kind != JsonNode::Kind::number || value.number < range.low || value.number > range.high) {
      refuse(place, "is no number that can be right",
             fmt::format("give one from {:g} to {:g} {}", range.low, range.high, range.unit));
      return;
    }
    into = value.number;
  }

  const JsonNode& node_;
  std::string where_;
  const std::string& file_;
  Diagnostics& diagnostics_;
  std::set<std::string, std::less<>> known_;
};

domain::ClimateNormals read_one(ClimateReader& reader) {
  // Ranges are wider than any weather station's record of monthly means (from memory), to catch slips of
  // unit.
  domain::ClimateNormals climate;
  reader.text("id", climate.id);
  reader.text("name", climate.name);
  reader.text("source", climate.source);
  reader.number("latitude_deg", {-90, 90, "degrees"}, climate.latitude_deg);
  reader.number("longitude_deg", {-180, 180, "degrees"}, climate.longitude_deg);
  reader.number("elevation_m", {-500, 9000, "m"}, climate.elevation_m);
  reader.number("utc_offset_h", {-12, 14, "h"}, climate.utc_offset_h);
  reader.months("global_wh_m2_day", {0, 13'000, "Wh/m2 a day"}, climate.global_wh_m2_day);
  reader.months("dry_bulb_c", {-70, 50, "deg C"}, climate.dry_bulb_c);
  reader.months("daily_range_k", {0, 30, "K"}, climate.daily_range_k);
  reader.months("dew_point_c", {-80, 35, "deg C"}, climate.dew_point_c);
  reader.refuse_others();
  for (std::size_t m = 0; m < climate.dew_point_c.size(); ++m) {
    if (climate.dew_point_c[m] > climate.dry_bulb_c[m]) {
      reader.refuse(fmt::format("dew_point_c/{}", m), "is above the mean temperature",
                    "air holds no more water");
    }
  }
  return climate;
}

}  // namespace

Result<std::vector<domain::ClimateNormals>> read_climate_normals(std::string_view text,
                                                                 const std::string& file) {
  const auto root = parse_json(text, file);
  if (!root) return tl::unexpected(root.error());
  Diagnostics diagnostics;
  const auto refuse = [&](std::string where, std::string problem, std::string remedy) {
    diagnostics.push_back(
        {Diagnostic::Severity::error, file, std::move(where), std::move(problem), std::move(remedy)});
  };
  const JsonNode* format = root->find("format");
  if (format == nullptr || format->text != kLibraryFormat) {
    refuse("/format", "is not that of a library", fmt::format("write \"{}\"", kLibraryFormat));
  }
  std::vector<domain::ClimateNormals> climates;
  std::set<std::string> ids;
  const JsonNode* list = root->find("climates");
  if (list == nullptr || list->kind != JsonNode::Kind::array) {
    refuse("/climates", "is no list", "list the climates");
  } else {
    for (std::size_t i = 0; i < list->children.size() && diagnostics.size() < kMostErrors; ++i) {
      const std::string where = fmt::format("/climates/{}", i);
      ClimateReader reader(list->children[i], where, file, diagnostics);
      climates.push_back(read_one(reader));
      if (!ids.insert(climates.back().id).second) refuse(where + "/id", "is given twice", "give another id");
    }
  }
  if (!diagnostics.empty()) return tl::unexpected(diagnostics);
  return climates;
}

}  // namespace halflight::formats
