#include "photometry/suspicion.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string_view>

#include <fmt/format.h>

namespace halflight::photometry {
namespace {

using domain::IntensityDistribution;
using domain::LuminousOpening;
using domain::PhotometricData;
using domain::PhotometricType;
using domain::Symmetry;

// Limits without a published source are common practice; each only asks the reader to look again. The rules
// give the reason of each (docs/rules/photometry.md).
constexpr double kLeastOutputRatio = 0.2;
constexpr double kMostOutputRatio = 1.02;
constexpr double kLeastEfficacy_lm_w = 5.0;
constexpr double kMostEfficacy_lm_w = 260.0;
constexpr double kWideVerticalStep_deg = 10.0;
constexpr double kWideHorizontalStep_deg = 45.0;
constexpr double kJump = 1.5;
constexpr double kSameStep = 0.01;
constexpr double kCoarse = 0.05;
constexpr double kLongShape = 3.0;
constexpr double kCosineLike = 0.1;
constexpr double kTinyOpening_m = 0.005;
constexpr double kLongOpening_m = 5.0;
constexpr double kDarkSide = 0.01;
constexpr double kEdgeShare = 0.05;
constexpr double kLeastBallast = 0.5;
constexpr double kMostBallast = 1.3;
constexpr double kMostMultiplier = 100.0;
constexpr double kSamePoints = 0.03;
constexpr double kSameLumens = 0.01;
constexpr double kSameEfficacy = 1.5;

class Judge {
 public:
  Judge(const PhotometricSummary& summary, const IntensityDistribution& distribution,
        const std::string& file_name)
      : s_(summary),
        distribution_(distribution),
        data_(distribution.data()),
        said_(distribution.data().statements),
        file_(file_name) {}

  Diagnostics judge() {
    if (s_.lumens <= 0.0) {
      suspect("PHO-1", "every intensity is 0 cd",
              "check that the file is complete; it describes a dark luminaire");
      return std::move(found_);
    }
    flux();
    power();
    angles();
    opening();
    shape_of_light();
    factors();
    statements();
    return std::move(found_);
  }

 private:
  void suspect(std::string_view rule, std::string problem, std::string_view remedy) {
    found_.push_back(
        {Diagnostic::Severity::warning, file_, "", std::move(problem), fmt::format("{} ({})", remedy, rule)});
  }

  void flux() {
    if (!s_.light_output_ratio) return;
    if (*s_.light_output_ratio > kMostOutputRatio)
      suspect("PHO-2",
              fmt::format("the luminaire gives {:.0f} lm, more than its lamps' {:.0f} lm", s_.lumens,
                          *s_.declared_lumens),
              "check the candela multiplier, the number of lamps and the lumens per lamp");
    if (*s_.light_output_ratio < kLeastOutputRatio)
      suspect("PHO-3",
              fmt::format("only {:.1f} % of the lamps' {:.0f} lm leave the luminaire; usual is 30 to 100 %",
                          100.0 * *s_.light_output_ratio, *s_.declared_lumens),
              "check the candela multiplier, the number of lamps and the lumens per lamp");
  }

  void power() {
    if (!s_.efficacy_lm_w)
      suspect("PHO-5", "input watts are not stated, or 0",
              "enter the watts from the luminaire's label; energy rests on them");
    else if (*s_.efficacy_lm_w > kMostEfficacy_lm_w)
      suspect("PHO-4",
              fmt::format("{:.0f} lm/W at {:g} W; white light sources give at most {:g} lm/W",
                          *s_.efficacy_lm_w, s_.input_w, kMostEfficacy_lm_w),
              "check the input watts and the candela multiplier");
    else if (*s_.efficacy_lm_w < kLeastEfficacy_lm_w)
      suspect("PHO-4",
              fmt::format("{:.1f} lm/W at {:g} W; a tungsten lamp gives more than {:g} lm/W",
                          *s_.efficacy_lm_w, s_.input_w, kLeastEfficacy_lm_w),
              "check the input watts and the candela multiplier");
  }

  void angles() {
    steps("vertical", data_.vertical_deg, kWideVerticalStep_deg,
          "steps of 5 degrees or less resolve a beam; flux and illuminance are interpolated in the gap");
    steps("horizontal", data_.horizontal_deg, kWideHorizontalStep_deg,
          "steps of 22.5 degrees or less resolve an asymmetric beam");
    bends();
  }

  void steps(std::string_view kind, const std::vector<double>& angle, double widest_usual,
             std::string_view remedy) {
    double widest = 0.0;
    for (std::size_t i = 1; i < angle.size(); ++i) widest = std::max(widest, angle[i] - angle[i - 1]);
    if (widest > widest_usual)
      suspect("PHO-6",
              fmt::format("{} angles are up to {:g} degrees apart; at most {:g} is usual", kind, widest,
                          widest_usual),
              remedy);
    for (std::size_t i = 2; i + 1 < angle.size(); ++i) {
      const double before = angle[i - 1] - angle[i - 2];
      const double step = angle[i] - angle[i - 1];
      const double after = angle[i + 1] - angle[i];
      if (std::abs(before - after) > kSameStep * before || step < kJump * before) continue;
      suspect("PHO-7",
              fmt::format("{} angles go from {:g} to {:g} degrees, but by {:g} before and after", kind,
                          angle[i - 1], angle[i], before),
              "a row of the table seems to be missing; ask for the whole table");
      return;
    }
  }

  /// Where straight lines between the entries miss the light: an entry that lies off the line between its
  /// neighbours by e leaves about e / 4 between entries.
  void bends() {
    double worst = 0.0;
    double worst_deg = 0.0;
    const std::vector<double>& t = data_.vertical_deg;
    for (std::size_t h = 0; h < data_.horizontal_deg.size(); ++h)
      for (std::size_t v = 0; v + 1 < t.size(); ++v) {
        double line = 0.0;
        if (v > 0) {
          const double below = (t[v + 1] - t[v]) / (t[v + 1] - t[v - 1]);
          line = below * distribution_.candela(h, v - 1) + (1.0 - below) * distribution_.candela(h, v + 1);
        } else if (data_.type == PhotometricType::c && t[0] == 0.0) {
          line = distribution_.candela(h, 1);  // the same on the other side of nadir, nearly
        } else {
          continue;
        }
        const double off = std::abs(distribution_.candela(h, v) - line) / 4.0;
        if (off > worst) {
          worst = off;
          worst_deg = t[v];
        }
      }
    if (worst > kCoarse * s_.peak.candela)
      suspect(
          "PHO-8",
          fmt::format("about vertical angle {:g} the intensity bends so fast that between the table's angles "
                      "some {:.0f} % of the largest intensity are guessed; up to {:.0f} % is usual",
                      worst_deg, 100.0 * worst / s_.peak.candela, 100.0 * kCoarse),
          "ask for a table with smaller steps there");
  }

  void opening() {
    const LuminousOpening& o = s_.opening;
    const double longest = std::max({o.length_m, o.width_m, o.height_m});
    if (longest <= 0.0)
      suspect("PHO-11", "the luminous opening is a point",
              "enter its size; nearer than about ten times its size the light differs");
    else if (longest < kTinyOpening_m)
      suspect("PHO-11", fmt::format("the luminous opening is {:.2g} mm long", 1000.0 * longest),
              "check the units: dimensions in feet or metres as the file's units number says");
    else if (longest > kLongOpening_m)
      suspect("PHO-11",
              fmt::format("the luminous opening is {:.2f} m long; up to {:g} m is usual", longest,
                          kLongOpening_m),
              "check the units: dimensions in feet or metres as the file's units number says");
    if (s_.symmetry == Symmetry::rotational && o.width_m > 0.0 && o.length_m > 0.0) {
      const double ratio = std::max(o.length_m / o.width_m, o.width_m / o.length_m);
      if (ratio > kLongShape && !follows_cosine())
        suspect("PHO-10",
                fmt::format(
                    "the light is the same in every plane, but the opening is {:.1f} times as long as wide",
                    ratio),
                "a long luminaire differs along and across; ask for the other planes");
    }
    if (o.height_m > 0.0 && data_.type == PhotometricType::c) {
      double sideways = 0.0;
      for (double plane = 0.0; plane < 360.0; plane += 15.0)
        sideways = std::max(sideways, plane_cd(distribution_, plane, 90.0));
      if (sideways < kDarkSide * s_.peak.candela)
        suspect("PHO-12",
                fmt::format("the opening has luminous sides {:.3f} m high, but only {:.2g} % of the largest "
                            "intensity go sideways",
                            o.height_m, 100.0 * sideways / s_.peak.candela),
                "check the height; 0 is a flat opening");
    }
    if (const auto& sides = said_.side_heights_m; !sides.empty()) {
      const auto [least, most] = std::minmax_element(sides.begin(), sides.end());
      if (*least != *most)
        suspect(
            "PHO-13",
            fmt::format("the heights of the luminous area at C0, C90, C180, C270 differ: {:g} to {:g} mm",
                        1000.0 * *least, 1000.0 * *most),
            "all sides are taken as high as the highest; a side without light stays dark by its intensity");
    }
  }

  /// Whether a rotational table is that of an evenly bright flat opening, which looks alike from every side
  /// whatever its outline.
  [[nodiscard]] bool follows_cosine() const {
    const double middle = s_.peak.vertical_deg < 90.0 ? 0.0 : 180.0;
    for (double from_middle = 0.0; from_middle <= 90.0; from_middle += 5.0) {
      const double law = s_.peak.candela * std::cos(from_middle * kRadPerDeg);
      if (std::abs(plane_cd(distribution_, 0.0, std::abs(middle - from_middle)) - law) >
          kCosineLike * s_.peak.candela)
        return false;
    }
    return true;
  }

  void shape_of_light() {
    if (const auto [least, most] = std::minmax_element(data_.candela.begin(), data_.candela.end());
        *least == *most)
      suspect("PHO-14", fmt::format("every intensity is {:.4g} cd", *most),
              "no luminaire shines alike in every direction; check that the file is not a placeholder");
    if (data_.type != PhotometricType::c) return;
    double edge = 0.0;
    for (std::size_t h = 0; h < data_.horizontal_deg.size(); ++h) {
      if (data_.vertical_deg.back() < 135.0)
        edge = std::max(edge, distribution_.candela(h, data_.vertical_deg.size() - 1));
      if (data_.vertical_deg.front() > 45.0) edge = std::max(edge, distribution_.candela(h, 0));
    }
    if (edge > kEdgeShare * s_.peak.candela)
      suspect(
          "PHO-15",
          fmt::format("the table stops at 90 degrees with {:.4g} cd, {:.0f} % of the largest intensity", edge,
                      100.0 * edge / s_.peak.candela),
          "a luminaire that shines sideways usually shines past the horizontal too; ask for angles 0 to 180");
    if (said_.rotational_kind && s_.symmetry != Symmetry::rotational) {
      double differ = 0.0;
      for (double plane = 0.0; plane < 360.0; plane += 15.0)
        for (double t = 0.0; t <= 180.0; t += 5.0)
          differ =
              std::max(differ, std::abs(plane_cd(distribution_, plane, t) - plane_cd(distribution_, 0.0, t)));
      suspect("PHO-10",
              fmt::format(
                  "the kind of luminaire is symmetric about the vertical axis, but planes differ by up to "
                  "{:.0f} % of the largest intensity",
                  100.0 * differ / s_.peak.candela),
              "check which of the two is meant; the planes are used as they stand");
    }
  }

  void factors() {
    const auto unusual = [](double factor) { return factor < kLeastBallast || factor > kMostBallast; };
    if (unusual(data_.ballast_factor))
      suspect("PHO-16",
              fmt::format("the ballast factor is {:g}; {:g} to {:g} is usual", data_.ballast_factor,
                          kLeastBallast, kMostBallast),
              "it has multiplied every intensity; check it");
    if (unusual(said_.ballast_lamp_factor))
      suspect("PHO-16",
              fmt::format("the ballast-lamp photometric factor is {:g}; {:g} to {:g} is usual",
                          said_.ballast_lamp_factor, kLeastBallast, kMostBallast),
              "it has multiplied every intensity; check it");
    if (said_.candela_multiplier > kMostMultiplier || said_.candela_multiplier < 1.0 / kMostMultiplier)
      suspect("PHO-16",
              fmt::format("the candela multiplier is {:g}; {:g} to {:g} is usual", said_.candela_multiplier,
                          1.0 / kMostMultiplier, kMostMultiplier),
              "check it against the lumens of the lamps");
    if (said_.tested_tilt_factor != 1.0 || (data_.lamp_tilt && data_.lamp_tilt->angle_deg.front() != 0.0))
      suspect(
          "PHO-17",
          fmt::format("the tilt table starts at {:g} degrees with {:g}; usual is 1 at 0 degrees",
                      data_.lamp_tilt ? data_.lamp_tilt->angle_deg.front() : 0.0, said_.tested_tilt_factor),
          "that multiplier has scaled every intensity; check that it is not meant for another position");
    if (said_.conversion_factor != 1.0)
      suspect("PHO-18", fmt::format("the conversion factor is {:g}; usual is 1", said_.conversion_factor),
              "it has multiplied every intensity; if the light output ratio below does not match, it was "
              "already in "
              "them");
  }

  void statements() {
    // Of absolute photometry the lumens of the set are the luminaire's own.
    const std::optional<double> ratio =
        s_.light_output_ratio || said_.lamp_sets.size() != 1
            ? s_.light_output_ratio
            : std::optional<double>(s_.lumens / said_.lamp_sets.front().lumens);
    if (said_.light_output_ratio && *said_.light_output_ratio > 0.0 && ratio &&
        std::abs(*said_.light_output_ratio - *ratio) > kSamePoints)
      suspect(
          "PHO-19",
          fmt::format("the file says that {:.1f} % of the lamps' flux leave the luminaire; its intensities "
                      "give {:.1f} %",
                      100.0 * *said_.light_output_ratio, 100.0 * *ratio),
          "the intensities are used; check the flux of the lamps and the conversion factor");
    if (said_.downward_fraction && *said_.downward_fraction > 0.0 &&
        std::abs(*said_.downward_fraction - s_.downward_fraction) > kSamePoints)
      suspect("PHO-20",
              fmt::format("the file says that {:.1f} % of the light go down; its intensities give {:.1f} %",
                          100.0 * *said_.downward_fraction, 100.0 * s_.downward_fraction),
              "the intensities are used; check that the vertical angles count from nadir");
    lamp_sets();
  }

  void lamp_sets() {
    const auto& sets = said_.lamp_sets;
    for (std::size_t i = 1; i < sets.size(); ++i) {
      const domain::LampSet& a = sets.front();
      const domain::LampSet& b = sets[i];
      const double flux = b.lumens / a.lumens;
      if (!said_.lamp_set_chosen && std::abs(flux - 1.0) > kSameLumens)
        suspect(
            "PHO-21",
            fmt::format("sets of lamps 1 and {} disagree: {:g} lm and {:g} lm", i + 1, a.lumens, b.lumens),
            "the light scales with the set that is used; choose the one that is installed");
      if (a.input_w <= 0.0 || b.input_w <= 0.0) continue;
      const double efficacy = flux * a.input_w / b.input_w;
      if (efficacy > kSameEfficacy || efficacy < 1.0 / kSameEfficacy)
        suspect("PHO-21",
                fmt::format("sets of lamps 1 and {} disagree: {:.0f} lm/W and {:.0f} lm/W", i + 1,
                            a.lumens / a.input_w, b.lumens / b.input_w),
                "check the watts of each set");
    }
  }

  const PhotometricSummary& s_;
  const IntensityDistribution& distribution_;
  const PhotometricData& data_;
  const domain::PhotometryStatements& said_;
  const std::string& file_;
  Diagnostics found_;
};

}  // namespace

Diagnostics suspicions(const PhotometricSummary& summary, const IntensityDistribution& distribution,
                       const std::string& file_name) {
  return Judge(summary, distribution, file_name).judge();
}

}  // namespace halflight::photometry
