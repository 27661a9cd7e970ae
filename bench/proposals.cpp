// Proposals for every room of the demo building, and the programmes that they rest on.
#include "choose/occupancy_part.hpp"
#include "choose/relay_network.hpp"
#include "measure.hpp"
#include "office.hpp"
#include "parts.hpp"
#include "projects/building_proposals.hpp"
#include "projects/project_files.hpp"

#include <algorithm>
#include <numeric>
#include <set>
#include <stdexcept>
#include <vector>

namespace halflight::bench {

void proposals() {
  heading("Proposals, every room of the demo, nothing decided, two threads");
  const auto files = projects::read_project(HALFLIGHT_SOURCE_DIR "/projects/fenwick_hollow.halflight.json");
  if (!files) throw std::runtime_error("the demo cannot be read");
  const domain::Project& project = files->document.project();
  const domain::Design& design = *domain::find_design(project, domain::Design::Role::proposal);
  const Machine machine;
  std::vector<std::size_t> every(project.spaces.size());
  std::iota(every.begin(), every.end(), std::size_t{0});
  const std::vector<projects::RoomsAlike> rooms =
      projects::rooms_with_choice(project, design, every, std::set<choose::Part>{}).rooms;
  const auto propose = [&] {
    lightresponse::StageLog log;
    projects::propose_rooms(*files, rooms, {}, machine.context, log,
                            [](const projects::RoomsAlike&, const Result<choose::RoomProposals>& found) {
                              if (!found) throw std::runtime_error(to_text(found.error().front()));
                              use(&*found);
                            });
  };
  propose();  // light
  print({"the whole building, light cached", once(propose), "s", 120.0});
  double slowest = 0.0;
  for (const projects::RoomsAlike& room : rooms)
    slowest = std::max(
        slowest, once([&] {
          use(choose::occupancy_parts(project, *files->library, design, project.spaces[room.spaces.front()])
                  .data());
        }));
  print({"occupancy sensors of a room, each mounting, the slowest", slowest, "s", 10.0});
  print({"repeaters for the building's radio devices", once([&] {
           const auto relays = choose::propose_relays(project, *files->library, design);
           if (!relays) throw std::runtime_error(to_text(relays.error().front()));
         }),
         "s", 10.0});
}

}  // namespace halflight::bench
