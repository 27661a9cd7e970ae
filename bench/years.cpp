// Years of use of the furnished office.
#include "climate/sun.hpp"
#include "climate/synthetic_year.hpp"
#include "measure.hpp"
#include "office.hpp"
#include "parts.hpp"
#include "sim/daylight_lines.hpp"
#include "sim/daylight_year.hpp"
#include "sim/space_year.hpp"

namespace halflight::bench {

void years() {
  heading("Years of use of the same room, at steps of five minutes");
  const Office office(10, 8);
  const domain::Project& project = office.project();
  const auto options = sim::light_options(sim::Accuracy::design);
  const climate::SkyDivision sky(options.sky_division);
  const climate::SunTrack track(climate::place_of(project.site), 0.0, 2026);
  const sim::SunnySteps sunny = sim::sunny_steps(track, 1);
  const std::vector<daylight::Outside> outside{daylight::Outside(sky, daylight::Compass(0.0), {})};
  Machine machine;
  lightresponse::StageLog log;
  std::vector<sim::LitSpace> lit;
  lit.push_back(
      sim::light_space(office.inputs(), 0, outside[0], options, sunny.sun, machine.context, log).value());
  const domain::WeatherYear weather =
      climate::synthetic_year(office.normals, 1, project.site.calendar_year, climate::SyntheticKind::natural);
  std::vector<sim::SpaceDaylight> daylight;
  const double sky_s = once([&] {
    const climate::WeatherTrack track_of_year = sim::track_of(project, weather, climate::CloudDraw{});
    daylight = sim::daylight_year(project, lit, outside, sky, track_of_year, sunny, machine.context);
  });
  sim::SpaceModel model;
  const double model_s =
      once([&] { model = sim::make_space_model(project, lit[0], sunny, {}, daylight[0], 1); });
  const sim::Way way = sim::way_of_proposal(model);
  const auto one_year = [&] {
    sim::Replicate replicate(model, daylight[0], sim::Draws{});
    const sim::CaseRun run = replicate.evaluate(way);
    use(&run);
  };
  print({"one year of the proposal, one thread", interleaved({one_year}, 20)[0], "s", 0.05});
  const sim::Uncertainty uncertainty = sim::draw_uncertainty(project, 1, 8, 16, 1);
  std::vector<sim::ReplicateRun> runs(uncertainty.draws.size());
  const auto all_years = [&] {
    machine.executor->for_each(runs.size(), [&](std::size_t r) {
      runs[r] = sim::run_replicate(model, daylight[0], uncertainty.draws[r], r == 0);
    });
    use(runs.data());
  };
  print({"128 years with the four cases and all 32 mixtures, two threads", interleaved({all_years}, 3)[0],
         "s", 10.0});
  // Beyond the first years, which are run with each fault as well; the same fifteen again and again, since a
  // year in which more goes wrong takes longer.
  const auto later_years = [&](std::size_t count) {
    return [&, count] {
      std::vector<sim::ReplicateRun> some(count);
      machine.executor->for_each(count, [&](std::size_t r) {
        some[r] =
            sim::run_replicate(model, daylight[0], uncertainty.draws[sim::kYearsOfFaults + r % 15], false);
      });
      use(some.data());
    };
  };
  const std::vector<double> few_and_many = interleaved({later_years(15), later_years(120)}, 3);
  print({"one of 120 years, against one of 15", few_and_many[1] / few_and_many[0] / 8.0, "", 1.1});
  print({"a weather year through the room, two threads", sky_s, "s"});
  print({"calibrating the photosensors", model_s, "s"});
}

}  // namespace halflight::bench
