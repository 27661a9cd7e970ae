#pragma once
#include "base/diagnostic.hpp"
#include "geometry/polygon.hpp"

#include <string>
#include <vector>

#include <nlohmann/json.hpp>

namespace halflight::service {

using Json = nlohmann::ordered_json;

/// Text as it goes over the wire; bytes that are not UTF-8 are replaced.
std::string text_of(const Json& json);

Json to_json(Point2 point);
Json to_json(Point3 point);
Json to_json(const Polygon& polygon);
/// To the millimetre, which is finer than any screen.
Json drawn_json(const Polygon& ring);
/// The same of a line, one number after the other: x, y, x, y, ...
Json drawn_line_json(const std::vector<Point2>& line);
/// Without the file: a page knows which document it shows.
Json to_json(const Diagnostics& diagnostics);

}  // namespace halflight::service
