#pragma once
#include "choose/what_if.hpp"

#include <string>
#include <vector>

#include <nlohmann/json.hpp>

namespace halflight::projects {

/// What values of one thing make of a space. `values`: one for each of `found`.
nlohmann::json what_if_json(const std::string& space, const std::string& what,
                            const std::vector<std::string>& values, const std::vector<choose::WhatIf>& found);

}  // namespace halflight::projects
