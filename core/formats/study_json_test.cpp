#include "formats/study_json.hpp"

#include "results/study_document.hpp"

#include <algorithm>
#include <clocale>
#include <fstream>
#include <functional>
#include <limits>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace halflight::formats {
namespace {

using nlohmann::json;

std::string text_of(const std::string& path) {
  std::ifstream in(std::string(HALFLIGHT_SOURCE_DIR) + "/" + path);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

json schema() { return json::parse(text_of("schema/study.schema.json")); }

/// A study in which every list has an entry, so that every name is written.
results::Study full_study() {
  results::Study study;
  study.project_id = "fenwick";
  study.project_name = "Fenwick Hollow \"Library\"\n";
  study.replicates = 128;
  study.seed = 7;
  study.not_to_be_issued_because = {"egress"};
  study.totals.area_m2 = 0.1 + 0.2;  // 0.30000000000000004: shortest text that reads back needs 17 digits
  study.totals.kwh[3] = {1000.0, 900.0, 1100.0, 4.0};
  study.totals.shares = {{"standby", {-12.5, -14.0, -11.0, 0.2}}};
  results::SpaceStudy space;
  space.id = "reading";
  space.electric = {
      {"A", 120.0, {{"tables", "maintained", "horizontal 0.75 m", 512.0, 402.0, 600.0, 0.785, 1.5, 500.0}}}};
  space.eye_light = {{"tables", "maintained", 1.2, 12, 8, results::Glare{18.6, 2.0, 3.0, 90.0, 7, 0, 1}, 0,
                      19.0, 160.0, 120.0, 0.4}};
  space.room_surfaces = {{"walls", "maintained", 48, 120.0, 40.0, 0.333, 19.1}};
  space.screens = {{"board", "maintained", 150.0, 180.0, 12.0, 10.0, 1000.0}};
  space.daylight = {{"tables", 0.62}};
  space.egress = {{"way-1", "vacant", 12.0, 20.0, 10.8, true, "12.0 lx is above 10.8 lx"}};
  space.cases[3].lighting_kwh = {640.0, 610.0, 680.0, 2.0};
  space.saving.against_as_found = {0.4632, 0.41, 0.51, 0.002};
  space.shares = {{"occupancy", {80.0, 60.0, 90.0, 1.0}}};
  space.findings = {{}};
  results::Claim claim;
  claim.id = "saving-against-as-found";
  claim.result = "/spaces/0/annual/saving/against_as_found";
  claim.inputs = {"/spaces/0/occupancy"};
  claim.assumptions = {"/spaces/0/reflectances/walls"};
  space.claims = {claim};
  space.daylight_zones.emplace_back().openings = {"w1"};
  space.sensors.emplace_back();
  space.loops.emplace_back();
  space.scenes = {{"Open", {{"A", 0.8}}, 480.0}};
  space.plug_loads.devices = {{"screen", 2, "controlled receptacle", "", {}, {}, {}, {}}};
  space.load_shed.emplace().tasks.emplace_back().task_area = "desk";
  space.divided = results::DividedRoom{"folding-wall", {240.0, 200.0, 280.0, 3.0}, true};
  space.shed_signal = results::ShedSignal{
      "GEN", 0.3, {"a"}, 300.0, 135.0, {{"desk", 500.0, 240.0}}, {{"way-1", "load shed", 12.0, 10.8, true}}};
  study.totals.shed_signals = {{"GEN", {"room"}, 300.0, 135.0}};
  study.totals.plug_loads = space.plug_loads;
  study.totals.load_shed.emplace().events = {"15 Jul 14:00"};
  study.hvac_zones = {{"zone", "Zone", {"room"}, {"hall"}, true, 3000.0, {}, {}, {}}};
  study.spaces = {space};
  study.assumptions = {{"/spaces/0/reflectances/walls", "0.5", "assumed", 0.012, 0.4, "", false}};
  study.proof.readings.emplace_back();
  study.proof.logging.emplace_back();
  study.proof.convergence.emplace_back();
  return study;
}

/// The part of JSON Schema 2020-12 that our schema uses; anything else in it is an error.
void check(const json& root, const json& rule, const json& value, const std::string& where,
           std::vector<std::string>& faults) {
  static const std::set<std::string> kKnown = {
      "$schema",     "$id",  "$defs",      "$ref",     "title",
      "description", "type", "properties", "required", "additionalProperties",
      "items",       "enum", "const",      "minimum",  "maximum"};
  for (const auto& [key, unused] : rule.items())
    if (!kKnown.contains(key)) faults.push_back(where + ": keyword " + key + " is not checked here");
  if (!rule.contains("description")) faults.push_back(where + " has no description");
  if (rule.contains("$ref")) {
    const std::string target = rule["$ref"].get<std::string>().substr(1);
    return check(root, root.at(json::json_pointer(target)), value, where, faults);
  }
  if (rule.contains("const") && value != rule["const"]) faults.push_back(where + " is not the constant");
  if (rule.contains("enum") &&
      std::find(rule["enum"].begin(), rule["enum"].end(), value) == rule["enum"].end())
    faults.push_back(where + " is none of the enum");
  if (rule.contains("type")) {
    const std::string type = rule["type"];
    const bool fits = type == "object"    ? value.is_object()
                      : type == "array"   ? value.is_array()
                      : type == "string"  ? value.is_string()
                      : type == "boolean" ? value.is_boolean()
                      : type == "number"  ? value.is_number()
                      : type == "integer" ? value.is_number() && value.get<double>() == value.get<long long>()
                                          : false;
    if (!fits) faults.push_back(where + " is not of type " + type);
  }
  if (value.is_number() && rule.contains("minimum") && value < rule["minimum"])
    faults.push_back(where + " too small");
  if (value.is_number() && rule.contains("maximum") && value > rule["maximum"])
    faults.push_back(where + " too large");
  if (value.is_object()) {
    const json properties = rule.value("properties", json::object());
    for (const auto& name : rule.value("required", json::array()))
      if (!value.contains(name)) faults.push_back(where + "/" + name.get<std::string>() + " is missing");
    for (const auto& [name, inner] : value.items()) {
      if (properties.contains(name))
        check(root, properties[name], inner, where + "/" + name, faults);
      else
        faults.push_back(where + "/" + name + " is not in the schema");
    }
  }
  if (value.is_array())
    for (std::size_t i = 0; i < value.size(); ++i)
      check(root, rule.at("items"), value[i], where + "/" + std::to_string(i), faults);
}

std::vector<std::string> faults_of(const json& document) {
  std::vector<std::string> faults;
  const json root = schema();
  check(root, root, document, "", faults);
  return faults;
}

TEST(StudyJson, FollowsItsSchemaInEveryName) {
  EXPECT_EQ(faults_of(json::parse(study_json(full_study()))), std::vector<std::string>{});
}

TEST(StudyJson, SchemaRefusesWhatItShould) {
  json document = json::parse(study_json(full_study()));
  document["extra"] = 1;
  document["spaces"][0]["area_m2"] = nullptr;
  document["spaces"][0]["findings"][0]["verdict"] = "maybe";
  document["totals"].erase("kwh");
  EXPECT_EQ(faults_of(document).size(), 4U);
}

TEST(StudyJson, EveryNameIsDescribedInTheFormatPage) {
  const std::string page = text_of("docs/formats/study.md");
  const std::function<void(const json&)> visit = [&](const json& rule) {
    if (rule.contains("properties")) {
      for (const auto& [name, inner] : rule["properties"].items()) {
        EXPECT_TRUE(page.find("." + name + "`") != std::string::npos ||
                    page.find("`" + name + "`") != std::string::npos)
            << name;
        visit(inner);
      }
    }
    if (rule.contains("items")) visit(rule["items"]);
    if (rule.contains("$defs"))
      for (const auto& [name, inner] : rule["$defs"].items()) visit(inner);
  };
  visit(schema());
}

TEST(StudyJson, NumbersAreTheShortestTextThatReadsBack) {
  const std::string text = study_json(full_study());
  EXPECT_NE(text.find("\"area_m2\": 0.30000000000000004"), std::string::npos);
  EXPECT_NE(text.find("\"mean\": 0.4632"), std::string::npos);
  EXPECT_NE(text.find("\"kwh\": -12.5"), std::string::npos);
}

TEST(StudyJson, IsTheSameBytesInAnyLocale) {
  const std::string before = study_json(full_study());
  // A locale with decimal commas; where the machine lacks it the call changes nothing and the test still
  // holds.
  const char* old = std::setlocale(LC_ALL, "de_DE.UTF-8");
  const std::string after = study_json(full_study());
  std::setlocale(LC_ALL, "C");
  EXPECT_EQ(before, after) << (old == nullptr ? "(locale not installed)" : old);
}

TEST(StudyJson, EscapesTextAndRepairsBadBytes) {
  results::Study study = full_study();
  study.project_id = "a\"\\\x01\xC3\xA9\xFF\xED\xA0\x80";
  const json document = json::parse(study_json(study));
  // é stays; the lone FF and each byte of the encoded surrogate become U+FFFD.
  EXPECT_EQ(document["project"]["id"], "a\"\\\x01\xC3\xA9\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
  EXPECT_EQ(document["project"]["name"], full_study().project_name);
}

TEST(StudyJson, WritesNullForWhatIsNotFinite) {
  results::Study study = full_study();
  study.totals.area_m2 = std::numeric_limits<double>::quiet_NaN();
  EXPECT_TRUE(json::parse(study_json(study))["totals"]["area_m2"].is_null());
}

TEST(StudyJson, PointersFindWhatTheFileHolds) {
  const results::Study study = full_study();
  const json document = json::parse(study_json(study));
  const results::StudyNumbers numbers(study);
  // Every number in the file is found at its pointer, and nothing else is.
  const json flat = document.flatten();
  for (const auto& [pointer, value] : flat.items()) {
    const auto found = numbers.at(pointer);
    EXPECT_EQ(found.has_value(), value.is_number()) << pointer;
    if (found && value.is_number()) {
      EXPECT_EQ(*found, value.get<double>()) << pointer;
    }
  }
  EXPECT_EQ(numbers.at(study.spaces[0].claims[0].result), 0.4632);
  EXPECT_FALSE(numbers.at("/spaces/1/area_m2").has_value());
}

}  // namespace
}  // namespace halflight::formats
