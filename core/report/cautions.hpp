#pragma once
#include "domain/project.hpp"

#include <string_view>
#include <vector>

namespace halflight::report {

/// A caution printed with every sheet to which it applies. The grounds are safety practice, and the law where
/// named.
struct Caution {
  std::string_view id;
  std::string_view brief;  ///< for the foot of every room's sheet
  std::string_view text;
};

/// The cautions that this project calls for. Some apply to all lighting work; the others follow from what the
/// project holds (a stair, a battery, a controlled socket).
std::vector<Caution> applicable_cautions(const domain::Project& project);

}  // namespace halflight::report
