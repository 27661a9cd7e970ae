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

double cosine_down(const Parameters& p, double t_deg, double) {
  return cosine_power(t_deg, p.at("exponent"));
}

double cosine_up(const Parameters& p, double t_deg, double) {
  return cosine_power(180.0 - t_deg, p.at("exponent"));
}

/// Share of the plane across the length in a blend of two planes, sin^2 of the C-plane.
double across_share(double c_deg) {
  const double s = std::sin(c_deg * kRadPerDeg);
  return s * s;
}

double two_plane_cosine(const Parameters& p, double t_deg, double c_deg) {
  const double across = across_share(c_deg);
  return cosine_power(t_deg, (1.0 - across) * p.at("along_exponent") + across * p.at("across_exponent"));
}

double batwing(const Parameters& p, double t_deg, double wing_share) {
  return wing_share * wing(t_deg, p) + (1.0 - wing_share) * cosine_power(t_deg, p.at("other_exponent"));
}

double batwing_across(const Parameters& p, double t_deg, double c_deg) {
  return batwing(p, t_deg, across_share(c_deg));
}

double batwing_along(const Parameters& p, double t_deg, double c_deg) {
  return batwing(p, t_deg, 1.0 - across_share(c_deg));
}

double downlight(const Parameters& p, double t_deg, double) {
  const double x = std::clamp((p.at("cutoff_deg") - t_deg) / p.at("softness_deg"), 0.0, 1.0);
  return cosine_power(t_deg, p.at("exponent")) * x * x * (3.0 - 2.0 * x);
}

double wall_wash(const Parameters& p, double t_deg, double c_deg) {
  if (t_deg >= 90.0) return 0.0;
  const double t = t_deg * kRadPerDeg;
  const double aim = p.at("aim_deg") * kRadPerDeg;
  const double cosine =
      std::sin(t) * std::sin(c_deg * kRadPerDeg) * std::sin(aim) + std::cos(t) * std::cos(aim);
  return std::pow(std::max(0.0, cosine), p.at("exponent"));
}

double bare_lamp(const Parameters& p, double t_deg, double c_deg) {
  const double to_axis = std::sin(t_deg * kRadPerDeg) * std::cos(c_deg * kRadPerDeg);  // cosine of the angle
  const double shade = t_deg <= 90.0 ? 1.0 : 1.0 - (1.0 - p.at("upward")) * (t_deg - 90.0) / 90.0;
  return std::sqrt(std::max(0.0, 1.0 - to_axis * to_axis)) * shade;
}

enum class Planes { one, quadrant, across_mirror };

/// A formula with the code and the part of the sphere that its table needs.
struct Coded {
  SyntheticFormula formula;
  double (*relative)(const Parameters&, double t_deg, double c_deg);
  Planes planes;
  double last_vertical_deg;
};

constexpr std::array kCoded{
    Coded{{"cosine_down", "panel or other diffuse face that looks down", kCosine},
          cosine_down,
          Planes::one,
          90.0},
    Coded{{"cosine_up", "diffuse face that looks up", kCosine}, cosine_up, Planes::one, 180.0},
    Coded{{"two_plane_cosine", "troffer with different beams along and across", kTwoPlane},
          two_plane_cosine,
          Planes::quadrant,
          90.0},
    Coded{{"batwing_across", "widespread across its length: aisles between stacks", kBatwing},
          batwing_across,
          Planes::quadrant,
          90.0},
    Coded{{"batwing_along", "widespread along its length: corridors", kBatwing},
          batwing_along,
          Planes::quadrant,
          90.0},
    Coded{{"downlight", "round beam with a cut-off", kDownlight}, downlight, Planes::one, 90.0},
    Coded{{"wall_wash", "tilted lobe towards the 90-degree plane", kWallWash},
          wall_wash,
          Planes::across_mirror,
          90.0},
    Coded{{"bare_lamp", "linear lamp without optics under a batten", kBareLamp},
          bare_lamp,
          Planes::quadrant,
          180.0},
};

constexpr std::array kFormulas = [] {
  std::array<SyntheticFormula, kCoded.size()> formulas{};
  for (std::size_t i = 0; i < kCoded.size(); ++i) formulas[i] = kCoded[i].formula;
  return formulas;
}();

std::vector<double> steps(double from, double to, double step) {
  std::vector<double> angles;
  const int count = static_cast<int>(std::lround((to - from) / step));
  for (int i = 0; i <= count; ++i) angles.push_back(from + i * step);
  return angles;
}

std::vector<double> horizontal_angles(Planes planes) {
  switch (planes) {
    case Planes::one:
      return {0.0};
    case Planes::quadrant:
      return steps(0.0, 90.0, kHorizontalStep_deg);
    case Planes::across_mirror:
      return steps(90.0, 270.0, kHorizontalStep_deg);
  }
  return {};
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
  const auto coded = std::find_if(kCoded.begin(), kCoded.end(),
                                  [&spec](const Coded& c) { return c.formula.name == spec.formula; });
  if (coded == kCoded.end()) {
    std::vector<std::string_view> names;
    for (const SyntheticFormula& f : kFormulas) names.push_back(f.name);
    return tl::unexpected(Diagnostics{error("formula", fmt::format("\"{}\" is not a formula", spec.formula),
                                            fmt::format("formulas are {}", fmt::join(names, ", ")))});
  }
  Diagnostics errors;
  const Parameters parameters = complete(coded->formula, spec.parameters, errors);
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
  data.vertical_deg = steps(0.0, coded->last_vertical_deg, kVerticalStep_deg);
  data.horizontal_deg = horizontal_angles(coded->planes);
  for (const double c : data.horizontal_deg)
    for (const double t : data.vertical_deg) data.candela.push_back(coded->relative(parameters, t, c));
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
