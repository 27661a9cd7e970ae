#include "report/visual_tables.hpp"

#include "report/pages.hpp"
#include "report/tables.hpp"
#include "wording/figures.hpp"

#include <algorithm>
#include <string>

namespace halflight::report {
namespace {

std::string area_name(const domain::Space* space, const std::string& id) {
  const domain::TaskArea* area = space == nullptr ? nullptr : domain::find_by_id(space->task_areas, id);
  return area == nullptr ? id : named(area->name, area->id);
}

Cell lx(double value) { return {wording::printed(value, "lx"), "n"}; }
Cell places(double value, int decimals) { return {wording::rounded(value, -decimals), "n"}; }

/// What stands between the rating and its range of use.
std::string outside_range(const results::EyeLight& light) {
  std::string text;
  const auto add = [&](int count, const char* what) {
    if (count > 0) text += (text.empty() ? "" : "; ") + std::to_string(count) + what;
  };
  if (light.glare) {
    add(light.glare->too_small, " of its luminaires under 0.0003 sr");
    add(light.glare->too_large, " of its luminaires over 0.1 sr");
  }
  add(light.luminaires_left_out, " in the room without luminous area, left out");
  return text;
}

/// What a sheet has room for: all groups full on, and the scenes, of which the normal one is the trimmed
/// state; without scenes that state itself. The rest is in the study file.
template <class Lights>
Lights for_print(const Lights& lights) {
  const bool has_scenes = std::any_of(lights.begin(), lights.end(),
                                      [](const auto& light) { return light.state.starts_with("scene "); });
  Lights kept;
  for (const auto& light : lights)
    if (light.state != "initial" && !(has_scenes && light.state == "trimmed")) kept.push_back(light);
  return kept;
}

}  // namespace

void write_eye_light(Markup& page, const results::SpaceStudy& study, const domain::Space* space) {
  Table table{
      "Glare and faces",
      "worst unified glare rating (CIE 117) of all places and lines of sight, and light on upright "
      "cylinders at the same places; electric light alone, at the end of the maintenance interval",
      {"task area", "state", Cell("UGR", "n"), Cell("limit", "n"), "where it is worst", "outside its range",
       Cell("cylindrical, mean", "n"), Cell("least", "n"), Cell("modelling index", "n")},
      {}};
  for (const results::EyeLight& e : for_print(study.eye_light)) {
    const std::string where = e.glare ? num(e.glare->x_m) + ", " + num(e.glare->y_m) + ", " +
                                            num(e.eye_height_m) + " m, looking " +
                                            wording::rounded(e.glare->looking_deg, 0) + "\u00B0 from north"
                                      : "no luminaire in view";
    const bool fails = e.ugr_limit && e.glare && e.state == "maintained" && e.glare->ugr > *e.ugr_limit;
    table.add({area_name(space, e.task_area), e.state, e.glare ? places(e.glare->ugr, 1) : Cell("", "n"),
               e.ugr_limit ? places(*e.ugr_limit, 0) : Cell("", "n"), where, outside_range(e),
               lx(e.cylindrical_mean_lx), lx(e.cylindrical_min_lx), places(e.modelling_index, 2)},
              fails ? "fails" : "");
  }
  write(page, table);
}

void write_room_surfaces(Markup& page, const results::SpaceStudy& study) {
  Table table{"Walls and ceiling",
              "electric light on matt surfaces without their openings",
              {"surface", "state", Cell("mean", "n"), Cell("least", "n"), Cell("uniformity", "n"),
               Cell("mean luminance", "n")},
              {}};
  for (const results::RoomSurfaceLight& r : for_print(study.room_surfaces))
    table.add({r.surface, r.state, lx(r.mean_lx), lx(r.min_lx), places(r.uniformity, 2),
               Cell(wording::printed(r.luminance_cd_m2, "cd/m\u00B2"), "n")});
  write(page, table);
}

void write_screens(Markup& page, const results::SpaceStudy& study, const domain::Space* space) {
  Table table{"Screens",
              "ratio of white to black that electric light leaves on a matt screen",
              {"screen", "state", Cell("spill, mean", "n"), Cell("most", "n"), Cell("contrast", "n"),
               Cell("at the most lit point", "n"), Cell("in the dark", "n")},
              {}};
  const auto ratio = [](double value) {
    return Cell(wording::rounded(value, value < 20.0 ? -1 : 0) + " : 1", "n");
  };
  for (const results::ScreenLight& s : for_print(study.screens))
    table.add({area_name(space, s.task_area), s.state, lx(s.spill_mean_lx), lx(s.spill_max_lx),
               ratio(s.contrast), ratio(s.contrast_at_worst), ratio(s.contrast_alone)});
  write(page, table);
}

}  // namespace halflight::report
