#pragma once
#include "domain/project.hpp"
#include "report/markup.hpp"
#include "results/study.hpp"

namespace halflight::report {

/// Tables of what people see beside their task; each is left out where the study has nothing for it. `space`
/// may be null.

/// Glare and cylindrical illuminance at the eyes.
void write_eye_light(Markup& page, const results::SpaceStudy& study, const domain::Space* space);
/// Light on walls and ceiling.
void write_room_surfaces(Markup& page, const results::SpaceStudy& study);
/// Contrast of screens.
void write_screens(Markup& page, const results::SpaceStudy& study, const domain::Space* space);

}  // namespace halflight::report
