#pragma once
#include "base/context.hpp"
#include "base/hash.hpp"
#include "domain/code_rules.hpp"
#include "domain/intensity_distribution.hpp"
#include "domain/project.hpp"
#include "domain/weather.hpp"
#include "lightresponse/scene.hpp"
#include "results/study.hpp"

#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace halflight::sim {

/// How much time is traded for how small an error; each level is a fixed set of method options (study.cpp).
enum class Accuracy { draft, design, proof };

/// Options that change the answer. (Threads, cache and progress are in the Context and change only the time.)
struct StudyOptions {
  Accuracy accuracy = Accuracy::design;
  std::uint32_t seed = 1;
  int scrambles = 8;                ///< independent scrambles; the standard error comes from them
  int points_per_scramble = 16;     ///< replicates = scrambles x points
  std::vector<std::string> spaces;  ///< ids to study; empty: all
  double spread = 1.0;              ///< multiplies the standard deviation of every uncertain input

  [[nodiscard]] std::size_t building_years() const {
    return static_cast<std::size_t>(scrambles) * static_cast<std::size_t>(points_per_scramble);
  }
};
/// "draft", "design" or "proof".
const char* name_of(Accuracy accuracy);

/// What the project refers to, already read: nothing in core opens a file.
struct StudyInputs {
  const domain::Project& project;
  const domain::Library& library;
  const std::vector<domain::CodeRule>& code_rules;
  lightresponse::PhotometryFiles photometry_files;
  /// The site's weather file, when it names one; else the library climate `normals`.
  std::vector<domain::WeatherYear> weather_years;
  domain::ClimateNormals normals;
  /// By space: hash of all that its years of use depend on beside its light and the options, which includes
  /// the program itself (formats/content_key.hpp). Empty: years of use are not kept in the blob store.
  std::vector<Hash> content_keys;
};

/// The whole chain: light, year, people, control, energy, rules, claims. Studies as far as the project goes;
/// a space that cannot be studied says why in its `not_studied_because`. Throws Cancelled.
results::Study run_study(const StudyInputs& inputs, const StudyOptions& options, const Context& context);

}  // namespace halflight::sim
