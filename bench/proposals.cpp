// Proposals for every room of the demo building, and the programmes that they rest on.
#include "choose/occupancy_part.hpp"
#include "choose/relay_network.hpp"
#include "choose/room_proposals.hpp"
#include "measure.hpp"
#include "office.hpp"
#include "parts.hpp"
#include "projects/project_files.hpp"

#include <algorithm>
#include <set>
#include <stdexcept>
#include <string>

namespace halflight::bench {

void proposals() {
  heading("Proposals, every room of the demo, nothing decided, two threads");
  const auto files = projects::read_project(HALFLIGHT_SOURCE_DIR "/projects/fenwick_hollow.halflight.json");
  if (!files) throw std::runtime_error("the demo cannot be read");
  const domain::Project& project = files->document.project();
  const domain::Design& design = *domain::find_design(project, domain::Design::Role::proposal);
  const sim::StudyInputs inputs = projects::study_inputs(*files);
  choose::ProposalWish wish;
  wish.options.points_per_scramble = sim::kPointsOfTrials;
  const Machine machine;
  std::vector<std::size_t> rooms;  // of rooms alike the first
  std::set<std::string> typicals;
  for (std::size_t s = 0; s < project.spaces.size(); ++s)
    if (project.spaces[s].typical.empty() || typicals.insert(project.spaces[s].typical).second)
      rooms.push_back(s);
  const auto propose = [&] {
    for (const std::size_t room : rooms) {
      lightresponse::StageLog log;
      const auto found = choose::propose_room(inputs, room, wish, machine.context, log);
      if (!found) throw std::runtime_error(to_text(found.error().front()));
      use(&*found);
    }
  };
  propose();  // light
  print({"the whole building, light cached", once(propose), "s", 120.0});
  double slowest = 0.0;
  for (const std::size_t room : rooms)
    slowest = std::max(
        slowest, once([&] {
          use(choose::occupancy_parts(project, *files->library, design, project.spaces[room]).data());
        }));
  print({"occupancy sensors of a room, each mounting, the slowest", slowest, "s", 10.0});
  print({"repeaters for the building's radio devices", once([&] {
           const auto relays = choose::propose_relays(project, *files->library, design);
           if (!relays) throw std::runtime_error(to_text(relays.error().front()));
         }),
         "s", 10.0});
}

}  // namespace halflight::bench
