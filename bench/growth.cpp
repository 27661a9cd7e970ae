// Whole studies of larger rooms and of many rooms.
#include "measure.hpp"
#include "office.hpp"
#include "parts.hpp"

#include <array>
#include <cstdlib>
#include <stdexcept>
#include <string>

#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace halflight::bench {

namespace {

struct Building {
  std::string_view name;
  double width_m;
  double depth_m;
  int rooms;
};
constexpr std::array<Building, 4> kBuildings{{{"a room of 20 m2", 5, 4, 1},
                                              {"a room of 200 m2", 16, 12.5, 1},
                                              {"a room of 2,000 m2", 50, 40, 1},
                                              {"100 rooms of 20 m2", 5, 4, 100}}};

}  // namespace

void study_building(std::string_view building) {
  for (const Building& b : kBuildings) {
    if (b.name != building) continue;
    const Office office(b.width_m, b.depth_m, b.rooms);
    const Machine machine;
    const double seconds = once([&] {
      const results::Study study = sim::run_study(office.inputs(), {}, machine.context);
      for (const results::SpaceStudy& space : study.spaces)
        if (!space.studied) throw std::logic_error(space.not_studied_because);
    });
    fmt::print("  {:<66} {:>10.4g} s\n", std::string(b.name) + ": a study, 128 years, two threads", seconds);
  }
}

void growth(const char* program) {
  heading("Growth: whole studies from nothing, each in its own process");
  for (const Building& b : kBuildings) {
    std::fflush(stdout);
    const pid_t child = fork();
    if (child == 0) {
      execl(program, program, "building", b.name.data(), static_cast<char*>(nullptr));
      std::_Exit(1);
    }
    int status = 0;
    rusage used{};
    if (wait4(child, &status, 0, &used) != child || status != 0)
      throw std::runtime_error("a study ended badly");
    print({"  its peak of memory", static_cast<double>(used.ru_maxrss) / 1024.0, "MB"});
  }
}

}  // namespace halflight::bench
