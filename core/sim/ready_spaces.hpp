#pragma once
#include "climate/sky_division.hpp"
#include "climate/sun.hpp"
#include "domain/code_rules.hpp"
#include "results/study.hpp"
#include "sim/daylight_year.hpp"
#include "sim/lit_space.hpp"
#include "sim/space_model.hpp"
#include "sim/study.hpp"

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace halflight::sim {

/// Spaces of a project lit and ready to run, with the weather that they stand in: what a study and a live
/// room begin with. Its parts refer to one another and to the inputs, which must outlive it.
class ReadySpaces {
 public:
  /// `chosen`: indices of spaces of the project, ascending. Throws Cancelled.
  ReadySpaces(const StudyInputs& inputs, const StudyOptions& options, const std::vector<std::size_t>& chosen,
              const Context& context, lightresponse::StageLog& log);
  ReadySpaces(const ReadySpaces&) = delete;
  ReadySpaces& operator=(const ReadySpaces&) = delete;

  /// Why a chosen space could not be lit; empty where it could. In the order of `chosen`.
  std::vector<std::string> why_dark;

  lightresponse::LightOptions light;
  climate::SkyDivision sky;
  climate::SunTrack track;
  SunnySteps sunny;
  std::vector<domain::WeatherYear> weather;
  std::vector<climate::WeatherTrack> weather_tracks;  ///< as `weather`, clouds within the hours
  std::vector<Hash> sky_keys;                         ///< as `weather`; without a scratch store alike
  std::vector<daylight::Outside> outside_of;          ///< by space of the project
  std::vector<domain::CodeRule> rules;                ///< in force
  /// By weather year, of `lit()`.
  std::vector<std::vector<SpaceDaylight>> daylight_by_year;
  std::vector<std::vector<results::DaylightZone>> zones;  ///< as `lit()`
  std::vector<SpaceModel> models;                         ///< as `lit()`

  /// The chosen spaces that could be lit, in order.
  [[nodiscard]] std::span<const LitSpace> lit() const { return {with_lenders_.data(), lit_count_}; }

 private:
  void light_all(const StudyInputs& inputs, const std::vector<std::size_t>& chosen, const Context& context,
                 lightresponse::StageLog& log);

  std::vector<LitSpace> with_lenders_;  // those that are lit only to lend come last
  std::size_t lit_count_ = 0;
};

}  // namespace halflight::sim
