#pragma once
#include "results/study.hpp"

#include <string>

namespace halflight::wording {

/// A rule on a way out tells its failures state by state ("Path A, vacant: ... Path A, sensor lost: ...").
/// This tells them path by path: the state with the least light, with its figures, and the number of others.
/// `text` is a finding's evidence or a reason not to issue; what in it is not about `space`'s ways out stays.
std::string told_by_path(const results::SpaceStudy& space, std::string text);

}  // namespace halflight::wording
