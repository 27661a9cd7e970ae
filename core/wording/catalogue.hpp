#pragma once
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace halflight::wording {

/// Every sentence that the program says about a design. A message is a template with named places, `{delay}`,
/// so that a language may put them in its own order.
enum class Message {
  // What brings the light on.
  on_by_hand,
  on_by_movement,
  on_by_movement_partly,
  on_by_schedule,
  on_before_opening,
  never_switched,
  fade_up,
  by_hand,
  with_movement,
  with_opening_hours,
  never_off,
  normal_scene,
  // Limits and daylight.
  high_trim,
  high_trim_to_targets,
  targets_just_held,
  low_trim,
  daylight_dims,
  daylight_switches,
  daylight_second_sensor,
  daylight_set_at,
  daylight_deadband,
  daylight_fade,
  daylight_minimum,
  daylight_may_switch_off,
  enough_daylight_off,
  // Vacancy.
  vacancy_step,
  vacancy_step_stays,
  until_movement,
  vacancy_off_after,
  vacancy_off,
  vacancy_warning,
  vacancy_held,
  vacancy_brief,
  no_vacancy,
  divided_parts,
  divided_apart,
  everything,
  the_light,
  light_of,
  goes_off,
  // Schedule, hand, demand response.
  sweep_at_closing,
  sweep_after_closing,
  override_limit,
  station_buttons,
  buttons_not_stated,
  station_switch_legs,
  last_of_list,
  button_on,
  button_off,
  button_raise,
  button_lower,
  scene_in_hours,
  scene_in_share_of_hours,
  scene_called_by,
  scene_shades,
  scene_without_daylight,
  scene_kept_in_events,
  shades_drawn,
  shades_raised,
  stays_clear,
  manual_until_vacancy,
  manual_until_schedule,
  manual_for_time,
  the_room_empties,
  next_scheduled_change,
  demand_response,
  load_shed,
  task_lamps_by_sensor,
  task_lamps_by_hand,
  // Other systems.
  receptacles,
  receptacles_by_hours,
  receptacles_by_both,
  hvac_standby,
  hvac_standby_and_back,
  // Loss and return.
  any_lost,
  sensor_lost,
  controller_lost,
  network_lost,
  clock_lost,
  power_returns,
  sensor_lost_group,
  controller_lost_group,
  network_lost_group,
  clock_lost_group,
  power_returns_group,
  to_level,
  to_off,
  emergency_light,
  no_emergency_light,
  own_battery,
  central_battery,
  generator,
  transfer_device,
  bypass_device,
  // Events of the matrix.
  event_enters,
  event_empties,
  event_step_ends,
  event_warning,
  event_daylight,
  event_opens,
  event_opens_early,
  event_closes,
  event_closes_late,
  event_scene,
  event_scene_in_hours,
  event_divided,
  event_demand_response,
  event_load_shed,
  event_sensor_lost,
  event_controller_lost,
  event_network_lost,
  event_clock_lost,
  event_power_back,
  event_power_lost,
  cell_off,
  cell_by_hand,
  cell_on,
  cell_at_most,
  cell_keeps_target,
  cell_switches_with_target,
  cell_emergency,
  cell_no_power,
  cell_dip,
  cell_own_part,
  cell_both_parts,
};

/// One language: a function from message to template. English is a switch over all messages, so that a
/// compiler warning (an error in this build) names what a new language leaves untranslated.
using Catalogue = std::string_view (*)(Message);
std::string_view english(Message message);

/// A piece of a sentence: plain text, or a value that the document holds at `pointer` (RFC 6901) and an
/// editor can change in place.
struct Phrase {
  std::string text;
  std::string pointer;
  [[nodiscard]] bool is_value() const { return !pointer.empty(); }
  friend bool operator==(const Phrase&, const Phrase&) = default;
};
using Sentence = std::vector<Phrase>;

/// What goes into the named places of a message.
using Places = std::vector<std::pair<std::string_view, Phrase>>;

/// The message with its places filled. A place that is not given, or given and not in the message, is a
/// programmer's error (assert).
Sentence compose(Catalogue catalogue, Message message, const Places& places = {});

/// The words alone.
std::string plain_text(const Sentence& sentence);

}  // namespace halflight::wording
