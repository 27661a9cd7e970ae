#pragma once
#include "base/diagnostic.hpp"
#include "domain/price.hpp"
#include "domain/project.hpp"
#include "lightresponse/scene.hpp"

#include <set>
#include <string>
#include <vector>

// Load controllers that rooms of a storey share (docs/methods/controllers.md).

namespace halflight::choose {

/// What rooms of one storey would hang on together.
struct SharedControllers {
  std::string storey;
  std::vector<domain::LoadController> controllers;  ///< those of one room among them; without ids
  std::vector<std::string> replaced;                ///< ids of load controllers that go
  std::vector<std::string> spaces;                  ///< whose loads they carry
  domain::Range cost_before;                        ///< installed and set to work, currency of the estimate
  domain::Range cost_after;
  bool is_least = false;  ///< proved: nothing costs less
  std::vector<std::string> why;
};

/// For the rooms in `spaces` of each storey whose loads hang on new load controllers of the room alone, above
/// the ceiling or in a panel, and into which a new wire can be brought: controllers of least cost for all of
/// them at once, kinds that serve several rooms among these (DeviceKind::load), where they cost less in the
/// middle of the range than those that stand. A choice is left out where a bus or pair that it takes is
/// longer than its current allows; rooms of one typical only where all of them are in `spaces` and on one
/// storey, since they have one design. The luminaires, groups and sequences of the rooms stay as they are.
/// Errors as pack_controllers, and of photometric files.
Result<std::vector<SharedControllers>> shared_controllers(const domain::Project& project,
                                                          const domain::Library& library,
                                                          const lightresponse::PhotometryFiles& files,
                                                          const std::set<std::string>& spaces);

}  // namespace halflight::choose
