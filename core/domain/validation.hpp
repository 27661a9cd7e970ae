#pragma once
#include "base/diagnostic.hpp"
#include "domain/project.hpp"

namespace halflight::domain {

/// What a reader of single values cannot see: geometry that does not fit, objects that contradict each other,
/// and what is still missing before a space can be studied. `file` of each diagnostic is empty, `where` names
/// the object by its place in `project`: "/spaces/3/openings/0". References that dangle are the reader's
/// business and are passed over here. At most 500 of each severity are listed, the rest counted, and work is
/// bounded: of floors that lie over each other beyond reason not all are compared, and one overlap of an
/// opening is told.
Diagnostics validate(const Project& project);

}  // namespace halflight::domain
