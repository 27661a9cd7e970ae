#pragma once
#include "base/hash.hpp"
#include "domain/project.hpp"

#include <vector>

namespace halflight::formats {

/// One hash by space of everything in a project that its control and energy can depend on: all that the
/// document describes but for other spaces, what designs place in them, and what is only printed or priced
/// (names of the project and its people, confirmations, tariffs, costs). Resolved values count, not their
/// wording: "10 ft" and "3.048 m" give the same key. What kinds of space bring with them is a matter of the
/// library, whose hash belongs beside this one.
std::vector<Hash> content_keys(domain::Project project);

}  // namespace halflight::formats
