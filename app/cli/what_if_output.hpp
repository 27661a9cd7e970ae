#pragma once
#include "choose/what_if.hpp"

#include <string>
#include <vector>

namespace halflight::cli {

/// A table of variants for a terminal, with the differences from the first, paired by building-year.
/// `values`: one for each.
std::string what_if_text(const std::vector<std::string>& values, const std::vector<choose::WhatIf>& found);

}  // namespace halflight::cli
