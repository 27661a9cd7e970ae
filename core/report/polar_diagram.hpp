#pragma once
#include <string>
#include <utility>
#include <vector>

namespace halflight::report {

/// One curve of a polar diagram. The first three are told apart by colour and by dashes.
struct PolarCurve {
  std::string name;
  std::string remark;             ///< beside the name in the legend; may be empty
  std::vector<double> angle_deg;  ///< ascending in [-180, 180]; 0 points down, positive to the right
  std::vector<double> value;      ///< >= 0, one for each angle
};

struct PolarDiagram {
  std::string title;
  std::string under;          ///< a soft line below the title
  std::string unit;           ///< of the rings
  std::string down = "down";  ///< what the direction 0 is
  std::vector<PolarCurve> curves;
  std::vector<std::pair<std::string, std::string>> facts;  ///< name and value
  std::vector<std::string> suspicions;                     ///< sentences, each wrapped as needed
};

/// The diagram as an SVG document of its own, 760 px wide. Half a circle is drawn when less than 1 % of the
/// largest value lies in the other half.
std::string polar_diagram_svg(const PolarDiagram& diagram);

}  // namespace halflight::report
