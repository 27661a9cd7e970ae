#include "photometry/synthetic.hpp"

#include "base/units.hpp"
#include "photometry/flux.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace halflight::photometry {
namespace {

using Parameters = std::map<std::string, double>;

constexpr double kVerticalStep_deg = 2.5;
constexpr double kHorizontalStep_deg = 10.0;

constexpr std::array kCosine{SyntheticParameter{"exponent", 0.5, 60.0, 1.0}};
constexpr std::array kTwoPlane{SyntheticParameter{"along_exponent", 0.5, 60.0, 1.0},
                               SyntheticParameter{"across_exponent", 0.5, 60.0, 1.4}};
constexpr std::array kBatwing{
    SyntheticParameter{"peak_deg", 10.0, 60.0, 35.0}, SyntheticParameter{"boost", 0.0, 5.0, 1.0},
    SyntheticParameter{"width_deg", 5.0, 40.0, 18.0}, SyntheticParameter{"other_exponent", 0.5, 60.0, 2.0}};
constexpr std::array kDownlight{SyntheticParameter{"exponent", 0.5, 60.0, 2.0},
                                SyntheticParameter{"cutoff_deg", 20.0, 90.0, 60.0},
                                SyntheticParameter{"softness_deg", 2.5, 40.0, 15.0}};
constexpr std::array kWallWash{SyntheticParameter{"aim_deg", 0.0, 80.0, 35.0},
                               SyntheticParameter{"exponent", 0.5, 60.0, 4.0}};
constexpr std::array kBareLamp{SyntheticParameter{"upward", 0.0, 1.0, 0.1}};

constexpr std::array kFormulas{
    SyntheticFormula{"cosine_down", "panel or other diffuse face that looks down", kCosine},
    SyntheticFormula{"cosine_up", "diffuse face that looks up", kCosine},
    SyntheticFormula{"two_plane_cosine", "troffer with different beams along and across", kTwoPlane},
    SyntheticFormula{"batwing_across", "widespread across its length: aisles between stacks", kBatwing},
    SyntheticFormula{"batwing_along", "widespread along its length: corridors", kBatwing},
    SyntheticFormula{"downlight", "round beam with a cut-off", kDownlight},
    SyntheticFormula{"wall_wash", "tilted lobe towards the 90-degree plane", kWallWash},
    SyntheticFormula{"bare_lamp", "linear lamp without optics under a batten", kBareLamp},
};

double below_horizontal(double t_deg) { return t_deg < 90.0 ? std::cos(t_deg * kRadPerDeg) : 0.0; }

double cosine_power(double t_deg, double exponent) { return std::pow(below_horizontal(t_deg), exponent); }

/// cos t [1 + boost (bump(t) - bump(0))], bump a Gauss curve about the peak; 1 at nadir in every plane.
double wing(double t_deg, const Parameters& p) {
  const auto bump = [&p](double at_deg) {
    const double x = (at_deg - p.at("peak_deg")) / p.at("width_deg");
    return std::exp(-x * x);
  };
  return std::max(0.0, below_horizontal(t_deg) * (1.0 + p.at("boost") * (bump(t_deg) - bump(0.0))));
}

double relative_intensity(std::string_view formula, const Parameters& p, double t_deg, double c_deg) {
  const double sin_c = std::sin(c_deg * kRadPerDeg);
  const double across = sin_c * sin_c;  // share of the 90-270 plane
  const double along = 1.0 - across;
  if (formula == "cosine_down") return cosine_power(t_deg, p.at("exponent"));
  if (formula == "cosine_up") return cosine_power(180.0 - t_deg, p.at("exponent"));
  if (formula == "two_plane_cosine")
    return cosine_power(t_deg, along * p.at("along_exponent") + across * p.at("across_exponent"));
  if (formula == "batwing_across")
    return across * wing(t_deg, p) + along * cosine_power(t_deg, p.at("other_exponent"));
  if (formula == "batwing_along")
    return along * wing(t_deg, p) + across * cosine_power(t_deg, p.at("other_exponent"));
  if (formula == "downlight") {
    const double x = std::clamp((p.at("cutoff_deg") - t_deg) / p.at("softness_deg"), 0.0, 1.0);
    return cosine_power(t_deg, p.at("exponent")) * x * x * (3.0 - 2.0 * x);
  }
  if (formula == "wall_wash") {
    if (t_deg >= 90.0) return 0.0;
    const double t = t_deg * kRadPerDeg;
    const double aim = p.at("aim_deg") * kRadPerDeg;
    const double cosine = std::sin(t) * sin_c * std::sin(aim) + std::cos(t) * std::cos(aim);
    return std::pow(std::max(0.0, cosine), p.at("exponent"));
  }
  // bare_lamp
  const double s =
      std::sin(t_deg * kRadPerDeg) * std::cos(c_deg * kRadPerDeg);  // cosine from the length axis
  const double shade = t_deg <= 90.0 ? 1.0 : 1.0 - (1.0 - p.at("upward")) * (t_deg - 90.0) / 90.0;
  return std::sqrt(std::max(0.0, 1.0 - s * s)) * shade;
}

std::vector<double> steps(double from, double to, double step) {
  std::vector<double> angles;
  const int count = static_cast<int>(std::lround((to - from) / step));
  for (int i = 0; i <= count; ++i) angles.push_back(from + i * step);
  return angles;
}

std::vector<double> horizontal_angles(std::string_view formula) {
  if (formula == "cosine_down" || formula == "cosine_up" || formula == "downlight") return {0.0};
  if (formula == "wall_wash") return steps(90.0, 270.0, kHorizontalStep_deg);
  return steps(0.0, 90.0, kHorizontalStep_deg);
}

Diagnostic error(std::string where, std::string problem, std::string remedy) {
  return {Diagnostic::Severity::error, "", std::move(where), std::move(problem), std::move(remedy)};
}

/// The formula's parameters with defaults filled in; what is wrong goes to `errors`.
Parameters complete(const SyntheticFormula& formula, const Parameters& given, Diagnostics& errors) {
  std::vector<std::string_view> names;
  Parameters full;
  for (const SyntheticParameter& parameter : formula.parameters) {
    names.push_back(parameter.name);
    const auto found = given.find(std::string(parameter.name));
    const double value = found == given.end() ? parameter.standard : found->second;
    full[std::string(parameter.name)] = value;
    if (!(value >= parameter.least && value <= parameter.most))
      errors.push_back(error(fmt::format("parameters/{}", parameter.name),
                             fmt::format("{} is {}", parameter.name, value),
                             fmt::format("give {} to {}", parameter.least, parameter.most)));
  }
  for (const auto& [name, value] : given)
    if (std::find(names.begin(), names.end(), name) == names.end())
      errors.push_back(error("parameters/" + name,
                             fmt::format("{} has no parameter \"{}\"", formula.name, name),
                             fmt::format("its parameters are {}", fmt::join(names, ", "))));
  return full;
}

}  // namespace

std::span<const SyntheticFormula> synthetic_formulas() { return kFormulas; }

Result<domain::IntensityDistribution> synthesise(const SyntheticSpec& spec) {
  const auto formula = std::find_if(kFormulas.begin(), kFormulas.end(),
                                    [&spec](const SyntheticFormula& f) { return f.name == spec.formula; });
  if (formula == kFormulas.end()) {
    std::vector<std::string_view> names;
    for (const SyntheticFormula& f : kFormulas) names.push_back(f.name);
    return tl::unexpected(Diagnostics{error("formula", fmt::format("\"{}\" is not a formula", spec.formula),
                                            fmt::format("formulas are {}", fmt::join(names, ", ")))});
  }
  Diagnostics errors;
  const Parameters parameters = complete(*formula, spec.parameters, errors);
  if (!(spec.lumens > 0.0 && spec.lumens <= 1e6))
    errors.push_back(
        error("lumens", fmt::format("{} lm", spec.lumens), "give more than 0 and at most 1,000,000 lm"));
  if (!(spec.input_w >= 0.0 && spec.input_w <= 1e5))
    errors.push_back(error("input_w", fmt::format("{} W", spec.input_w), "give 0 to 100,000 W"));
  for (const double extent : {spec.opening.length_m, spec.opening.width_m, spec.opening.height_m})
    if (!(extent >= 0.0 && extent <= 100.0))
      errors.push_back(
          error("opening", fmt::format("a luminous opening of {} m", extent), "give 0 to 100 m"));
  if (!errors.empty()) return tl::unexpected(std::move(errors));

  domain::PhotometricData data;
  const bool whole_sphere = spec.formula == "bare_lamp" || spec.formula == "cosine_up";
  data.vertical_deg = steps(0.0, whole_sphere ? 180.0 : 90.0, kVerticalStep_deg);
  data.horizontal_deg = horizontal_angles(spec.formula);
  for (const double c : data.horizontal_deg)
    for (const double t : data.vertical_deg)
      data.candela.push_back(relative_intensity(spec.formula, parameters, t, c));
  data.opening = spec.opening;
  data.input_w = spec.input_w;
  data.keywords = {{"LUMINAIRE", fmt::format("Synthetic distribution {}", spec.formula)}};
  for (const auto& [name, value] : parameters)
    data.keywords.emplace_back("OTHER", fmt::format("{} = {}", name, value));

  return domain::IntensityDistribution::make(std::move(data))
      .and_then(
          [&spec](const domain::IntensityDistribution& relative) -> Result<domain::IntensityDistribution> {
            const double flux = flux_lm(relative);
            if (!(flux > 0.0))
              return tl::unexpected(
                  Diagnostics{error("parameters", "the parameters leave no light in any direction",
                                    "lower the exponent or widen the cut-off")});
            return relative.scaled(spec.lumens / flux);
          });
}

}  // namespace halflight::photometry
