#pragma once
#include "cli/instant.hpp"
#include "cli/requirement.hpp"
#include "sim/study.hpp"

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

// What each command was asked to do, and the commands themselves. A command prints, and returns an exit code
// (cli/exit_code.hpp); it may throw Cancelled, and whatever else it throws is an internal fault.

namespace halflight::cli {

struct StudyCommand {
  std::filesystem::path project;
  std::vector<std::string> spaces;  ///< empty: all
  std::optional<std::filesystem::path> out;
  std::optional<std::filesystem::path> json;
  std::optional<std::filesystem::path> points;
  std::uint32_t seed = 1;
  std::size_t threads = 0;  ///< 0: as many as the machine has
  sim::Accuracy accuracy = sim::Accuracy::design;
  std::vector<Requirement> requirements;
  std::optional<std::filesystem::path> cache;  ///< none: the user's cache folder
  bool no_cache = false;
  bool cache_report = false;
  std::optional<Instant> explain;   ///< instead of a study: this instant, by the clocks of the site
  std::uint32_t building_year = 1;  ///< of which replicate, from 1
  /// Instead of a study of one space: what each value of this would make of it, "delay=5 min,10 min".
  std::optional<std::string> vary;
};

struct ProposeCommand {
  std::filesystem::path project;
  std::vector<std::string> spaces;  ///< empty: all
  /// Names of choose::Part, of the parts of a room that stay as the document has them, or "none" alone;
  /// empty: those that it has decided.
  std::vector<std::string> keep;
  /// Name of choose::Pick: which design of the front `out` takes for each room.
  std::string take = "most for the money";
  /// Greatest difference between the levels of neighbouring groups in a scene, per cent; none: any.
  std::optional<double> largest_step;
  std::optional<std::filesystem::path> out;
  std::optional<std::filesystem::path> json;
  std::size_t threads = 0;  ///< 0: as many as the machine has
  sim::Accuracy accuracy = sim::Accuracy::design;
  std::optional<std::filesystem::path> cache;  ///< none: the user's cache folder
  bool no_cache = false;
};

struct ValidateCommand {
  std::filesystem::path project;
  bool json = false;
};

struct PhotometryCommand {
  std::filesystem::path file;
  std::optional<std::filesystem::path> svg;
  std::optional<int> lamp_set;
  bool json = false;
};

struct SunCommand {
  double latitude_deg = 0.0;
  double longitude_deg = 0.0;
  double elevation_m = 0.0;
  std::optional<double> pressure_hpa;  ///< none: of the standard atmosphere at the elevation
  double temperature_c = 10.0;
  Instant time;
  bool json = false;
};

struct ServeCommand {
  std::vector<std::filesystem::path> projects;  ///< taken into the store, unless they are there
  int port = 8137;                              ///< 0: any that is free
  std::optional<std::filesystem::path> store;   ///< none: in the user's data folder
  std::optional<std::filesystem::path> cache;   ///< none: the user's cache folder
};

int run(const StudyCommand& command);
int run(const ProposeCommand& command);
int run(const ValidateCommand& command);
int run(const PhotometryCommand& command);
int run(const SunCommand& command);
int run(const ServeCommand& command);

}  // namespace halflight::cli
