#pragma once
#include "domain/project.hpp"
#include "report/markup.hpp"
#include "results/study.hpp"

namespace halflight::report {

/// Tables of what the sequence does beyond the lamps; each is left out where the study has nothing for it.

/// What is plugged in, by kind of device; of a space or of the building.
void write_plug_loads(Markup& page, const results::PlugLoadsYear& loads);
/// The wall that divides a space for some of its bookings.
void write_divided_room(Markup& page, const results::SpaceStudy& study);
/// What events of demand response take off and leave. `space` may be null.
void write_load_shed(Markup& page, const results::SpaceStudy& study, const domain::Space* space);
void write_load_shed(Markup& page, const results::BuildingTotals& totals);
/// What a signal takes off that asks for power at once, and what it leaves. `space` may be null.
void write_shed_signal(Markup& page, const results::SpaceStudy& study, const domain::Space* space);
void write_shed_signals(Markup& page, const results::BuildingTotals& totals, const domain::Project& project);
/// What HVAC is told of the people in its zones.
void write_hvac_zones(Markup& page, const results::Study& study, const domain::Project& project);

}  // namespace halflight::report
