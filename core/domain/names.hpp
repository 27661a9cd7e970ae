#pragma once
#include <string>

namespace halflight::domain {

/// What people call a thing: its name, or its tag on the drawings, or its id where it has none. Of the
/// arguments the one that it is.
inline const std::string& named(const std::string& name_or_tag, const std::string& id) {
  return name_or_tag.empty() ? id : name_or_tag;
}

}  // namespace halflight::domain
