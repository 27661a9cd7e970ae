#pragma once
#include "base/diagnostic.hpp"
#include "domain/weather.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace halflight::formats {

/// Reads a file of climates (library/climates/*.json): {"format": "halflight-library/1", "climates": [...]}
/// with the names of domain::ClimateNormals; the lists have twelve numbers, January first. Refused, each with
/// its place: unknown and missing keys, lists of another length, values outside what the earth has, dew
/// points above the mean temperature, ids given twice.
Result<std::vector<domain::ClimateNormals>> read_climate_normals(std::string_view text,
                                                                 const std::string& file);

}  // namespace halflight::formats
