#pragma once
#include <optional>
#include <string>
#include <vector>

namespace halflight::domain {

/// Devices of one kind in a space, and what may take their power.
struct PlugDevice {
  /// What keeps a device from losing its power; `no`: nothing does.
  enum class MustStayOn { no, medical, refrigeration, network, never_switched };
  /// A plug-in outlet has a motion sensor of its own.
  enum class SwitchedBy { nothing, controlled_receptacle, plug_in_outlet };
  std::string kind;  ///< in words: "screen", "refrigerator"
  int count = 1;
  // Of each, W.
  double on_w = 0.0;       ///< mean while somebody is at it
  double idle_w = 0.0;     ///< ready, with nobody at it
  double standby_w = 0.0;  ///< asleep or switched off, and plugged in
  /// Each belongs to a seat or bed (desks, sleeping) and to whoever has that; else to everybody in the room.
  bool at_seats = false;
  double sleeps_after_s = 1200.0;  ///< of nobody at it, it goes from idle to standby,
  double left_on = 0.3;            ///< but for this share of such absences, through which it stays idle
  MustStayOn must_stay_on = MustStayOn::no;
  SwitchedBy switched_by = SwitchedBy::nothing;  ///< proposal
  SwitchedBy switched_by_as_found = SwitchedBy::nothing;
  /// Drawn always by what switches it, W, of each; proposal.
  double switch_w = 0.0;
};

/// What is plugged in and what of it follows the room.
struct PlugLoads {
  /// What turns controlled receptacles off.
  enum class OffWhen { empty, closed, empty_or_closed };
  double installed_w = 0.0;          ///< of what `devices` do not list, drawn while somebody is there
  double controlled_fraction = 0.0;  ///< of that: share on controlled receptacles
  int receptacles = 0;
  int controlled_receptacles = 0;
  std::vector<PlugDevice> devices;
  OffWhen off_when = OffWhen::empty;
  double off_after_s = 1200.0;  ///< empty: from the last motion; plug-in outlets likewise
  std::string calendar;         ///< closed: whose hours; empty: those of the occupancy
};

/// Whether nothing keeps a device from losing its power.
bool may_be_switched(const PlugDevice& device);

/// Share of `installed_w` that what is not listed draws with nobody there; an assumption.
inline constexpr double kUnlistedWithNobody = 0.5;

/// The devices of a space: those listed, then what is installed beside them, as one device without control
/// and one on controlled receptacles, where there is any.
std::vector<PlugDevice> devices_of(const PlugLoads& loads);

/// "medical equipment", "refrigeration", ...; empty for `no`.
const char* words_of(PlugDevice::MustStayOn why);
/// "controlled receptacle", "plug-in outlet with its own sensor", "nothing".
const char* words_of(PlugDevice::SwitchedBy what);

}  // namespace halflight::domain
