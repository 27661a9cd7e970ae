// The light response of a furnished room: from nothing, from the store, and after moving a photosensor.
#include "climate/sun.hpp"
#include "lightresponse/response.hpp"
#include "measure.hpp"
#include "office.hpp"
#include "parts.hpp"
#include "sim/daylight_year.hpp"
#include "sim/lit_space.hpp"

#include <algorithm>
#include <limits>

#include <fmt/format.h>

namespace halflight::bench {

namespace {

lightresponse::PointSet desk_points() {
  lightresponse::PointSet set;
  set.wants_daylight = true;
  for (int i = 0; i < 400; ++i)
    set.points.push_back({{0.25 + 0.5 * (i % 20), 0.2 + 0.4 * (i / 20), 0.75}, {0, 0, 1}, {}});
  return set;
}
lightresponse::PointSet photosensor(double x_m) {
  lightresponse::PointSet set;
  set.wants_daylight = true;
  set.points.push_back({{x_m, 2.4, 2.9}, {0, 0, -1}, {domain::AngularWeighting::Kind::shielded, 60.0}});
  return set;
}

}  // namespace

void light() {
  heading(
      "Light response of a furnished room of 80 m2, 400 points, 12 luminaires, two groups of windows; two "
      "threads");
  const Office office(10, 8);
  const auto options = sim::light_options(sim::Accuracy::design);
  const climate::SkyDivision sky(options.sky_division);
  const daylight::Outside outside(sky, daylight::Compass(0.0), {});
  const lightresponse::PointSet desks = desk_points();

  const auto ask = [&](const Context& context, double sensor_x_m, bool only_sensor) {
    lightresponse::StageLog log;
    const auto scene = lightresponse::make_scene(office.project(), 0, {}, options).value();
    const lightresponse::SpaceLight light(scene, outside, options, context, log);
    const auto sensor = light.rows(photosensor(sensor_x_m)).value();
    use(sensor.daylight.data());
    if (only_sensor) return;
    const auto rows = light.rows(desks).value();
    const auto incident = light.incident();
    use(rows.electric.data());
    use(incident.data());
  };
  double cold = std::numeric_limits<double>::infinity();
  double stored = cold;
  double moved = cold;
  double x_m = 4.0;
  for (int r = 0; r < 3; ++r) {
    Machine machine;
    cold = std::min(cold, once([&] { ask(machine.context, 3.0, false); }));
    for (int k = 0; k < 5; ++k) {
      stored = std::min(stored, once([&] { ask(machine.context, 3.0, false); }));
      moved = std::min(moved, once([&] { ask(machine.context, x_m += 0.01, true); }));
    }
  }
  print({"from nothing", cold, "s", 2.0});
  print({"from the store in memory", stored, "s", 0.05});
  print({"a photosensor at a new place, all else from the store", moved, "s", 0.02});

  // The same room as a study asks for it: task grid by EN 12464-1, plan, sensor, and direct sun at every
  // step.
  const climate::SunTrack track(climate::place_of(office.project().site), 0.0, 2026);
  const sim::SunnySteps sunny = sim::sunny_steps(track, 1);
  const sim::StudyInputs inputs = office.inputs();
  Machine machine;
  lightresponse::StageLog log;
  const auto whole = [&] {
    const auto lit = sim::light_space(inputs, 0, outside, options, sunny.sun, machine.context, log).value();
    use(lit.task_rows.data());
  };
  print({fmt::format("as a study asks for it, direct sun at {} steps: from nothing", sunny.sun.size()),
         once(whole), "s"});
  print({"  and from the store", interleaved({whole}, 5)[0], "s"});
}

}  // namespace halflight::bench
