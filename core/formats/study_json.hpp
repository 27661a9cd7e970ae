#pragma once
#include "results/study.hpp"

#include <string>

namespace halflight::formats {

/// The study as JSON text, format "halflight-study/1": what schema/study.schema.json checks and
/// docs/formats/study.md describes name by name. UTF-8, two spaces of indent, a newline at the end, names in
/// a fixed order. Numbers are the shortest decimal text that reads back to the same double, whatever the
/// locale; shares are fractions, never per cent. Equal studies give equal bytes: no time, path of a machine
/// or number of threads is written. A number that is not finite has no JSON form and is written as null. Text
/// that is not UTF-8 has its bad bytes replaced by U+FFFD.
std::string study_json(const results::Study& study);

}  // namespace halflight::formats
