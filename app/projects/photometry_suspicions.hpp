#pragma once
#include "projects/project_files.hpp"

namespace halflight::projects {

/// What looks suspicious in the light of the project's luminaire types (docs/rules/photometry.md): warnings,
/// once for each photometric file and set of lamps, `where` naming the types that use it, and once for each
/// channel whose light is a formula. Light that could not be read has been reported with the files.
Diagnostics photometry_suspicions(const ProjectFiles& files);

}  // namespace halflight::projects
