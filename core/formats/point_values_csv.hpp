#pragma once
#include "results/study.hpp"

#include <string>

namespace halflight::formats {

/// The illuminance at every point of a study as comma-separated text (RFC 4180, lines end with CR LF), UTF-8:
/// one line a point, the task areas of each space and then its plan grid, in the order of the study. After
/// the columns of the place one column a state, with the unit in its name; states that a space does not have
/// are empty. docs/formats/points.md lists the columns. Equal studies give equal bytes.
std::string point_values_csv(const results::Study& study);

}  // namespace halflight::formats
