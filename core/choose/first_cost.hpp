#pragma once
#include "choose/room_controls.hpp"
#include "domain/project.hpp"

#include <string>
#include <vector>

// What a design costs to buy, install and set to work (docs/methods/proposals.md).

namespace halflight::choose {

/// A kind of device or a luminaire type by id: the project's own, else the library's; null where neither has
/// it.
const domain::DeviceKind* device_kind_of(const domain::Project& project, const domain::Library& library,
                                         const std::string& id);

/// Devices of one kind nearer than this are one.
inline constexpr double kOnePlace_m = 0.005;

/// How many of one thing.
struct Quantity {
  std::string id;    ///< of a DeviceKind or a luminaire type
  std::string name;  ///< in words
  int count = 0;
  domain::Range cost;      ///< of all of them, installed and set to work, in the currency of the estimate
  domain::Range set_up_h;  ///< of all of them
};

/// In the middle of the range, by which things are compared.
inline double middle(const domain::Range& range) { return 0.5 * (range.least + range.most); }

struct FirstCost {
  std::vector<Quantity> quantities;   ///< by id
  std::vector<std::string> unpriced;  ///< what nothing is known of, in words
  domain::Range cost;
  domain::Range set_up_h;
  [[nodiscard]] double middle() const { return choose::middle(cost); }
  [[nodiscard]] double set_up_middle_h() const { return choose::middle(set_up_h); }
};

/// What one costs to buy, install and set to work, in the currency of the estimate.
struct UnitCost {
  domain::Range cost;
  domain::Range set_up_h;
};
/// Of a kind of device by its id: the project's cost item for material and labour, else the price; that of a
/// kind which is not the project's own is turned from the library's currency into the project's.
UnitCost unit_cost(const domain::Project& project, const std::string& id, const domain::Price& price);

/// Of a room's devices that are new. One device that does several things, as a sensor with its controller in
/// a luminaire, is counted once where all of them are in one place: of each kind in each place there are as
/// many as the longest list names. A device without `device_kind` is unpriced.
FirstCost first_cost(const domain::Project& project, const domain::Library& library,
                     const RoomControls& controls);
/// Of the new luminaires of a design in a space. A type whose price is that of the library's type of the same
/// id is taken for the library's.
FirstCost luminaire_cost(const domain::Project& project, const domain::Library& library,
                         const domain::Design& design, const std::string& space);
/// Both together, line by line.
FirstCost operator+(FirstCost a, const FirstCost& b);

}  // namespace halflight::choose
