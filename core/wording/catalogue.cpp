#include "wording/catalogue.hpp"

#include <algorithm>
#include <cassert>

namespace halflight::wording {

// Rules of the house: one actor, one condition, one number with one unit between two full stops or
// semicolons; both the start and the end of a state are said; "off" and "minimum" are different words; a
// dimmed group is on.
std::string_view english(Message message) {
  switch (message) {
    case Message::on_by_hand:
      return "The light comes on {by}.";
    case Message::on_by_movement:
      return "The light comes on {by}, {level}.";
    case Message::on_by_movement_partly:
      return "The light comes on {by}, {level}; the rest is raised by hand.";
    case Message::on_by_schedule:
      return "The light comes on {by} of {calendar}.";
    case Message::on_before_opening:
      return "It is on {before} before opening.";
    case Message::never_switched:
      return "The light is {by}.";
    case Message::fade_up:
      return "Fading up takes {fade}.";
    case Message::by_hand:
      return "by hand";
    case Message::with_movement:
      return "with movement";
    case Message::with_opening_hours:
      return "with the opening hours";
    case Message::never_off:
      return "never switched";
    case Message::normal_scene:
      return "Scene {scene} stands unless another is called.";
    case Message::high_trim:
      return "Trim holds the light to {high} of full output.";
    case Message::high_trim_to_targets:
      return "Trim is set so that {targets} when maintenance is due.";
    case Message::targets_just_held:
      return "the task areas just hold their targets";
    case Message::low_trim:
      return "Low-end trim keeps lit luminaires from falling below {low} of full output.";
    case Message::daylight_dims:
      return "{sensor} dims {group} to keep {target} on {task}.";
    case Message::daylight_switches:
      return "{sensor} switches {group} off while daylight alone keeps {target} on {task}; it does not dim.";
    case Message::daylight_second_sensor:
      return "{sensor}, which sees daylight alone, says when daylight has changed.";
    case Message::daylight_set_at:
      return "The loop is set by day on {day}, at {time}.";
    case Message::daylight_deadband:
      return "The light stays while the loop asks for no more than {deadband} of the set-point more or less.";
    case Message::daylight_fade:
      return "A tenth of full output takes {fade}.";
    case Message::daylight_minimum:
      return "It never falls below {minimum}.";
    case Message::daylight_may_switch_off:
      return "It falls to {minimum}; {off}.";
    case Message::enough_daylight_off:
      return "with enough daylight it goes off";
    case Message::vacancy_step:
      return "After {delay} without movement, {who} sinks to {step}.";
    case Message::vacancy_step_stays:
      return "It stays there {until}.";
    case Message::until_movement:
      return "until somebody moves";
    case Message::vacancy_off_after:
      return "{after} later it is off.";
    case Message::vacancy_off:
      return "After {delay} without movement, {who} goes {level}.";
    case Message::vacancy_warning:
      return "Before off it dips to {warning}, for {time}, never flashing.";
    case Message::no_vacancy:
      return "An empty room changes nothing.";
    case Message::everything:
      return "everything";
    case Message::the_light:
      return "the light";
    case Message::light_of:
      return "the light of {groups}";
    case Message::goes_off:
      return "off";
    case Message::vacancy_held:
      return "Whoever is in {rooms} counts as if here.";
    case Message::divided_parts:
      return "For {share} of the bookings {wall} stands: {sensor} then lets each part go by its own people "
             "and "
             "sensors, and joins them while it is open.";
    case Message::divided_apart:
      return "For {share} of the bookings {wall} stands: nothing tells the controls, and each part goes by "
             "its "
             "own sensors all the time.";
    case Message::vacancy_brief:
      return "After a visit of less than {visit}, it waits {delay} only.";
    case Message::sweep_at_closing:
      return "At closing the sweep turns {what} {off}.";
    case Message::sweep_after_closing:
      return "The sweep turns {what} off {after} after closing.";
    case Message::override_limit:
      return "After hours a press holds for {limit}.";
    case Message::station_buttons:
      return "On {stations} people press {buttons}.";
    case Message::buttons_not_stated:
      return "What the buttons of {stations} do is not stated.";
    case Message::station_switch_legs:
      return "On {stations} people switch {legs} one by one.";
    case Message::last_of_list:
      return "{list} or {last}";
    case Message::button_on:
      return "on";
    case Message::button_off:
      return "off";
    case Message::button_raise:
      return "raise";
    case Message::button_lower:
      return "lower";
    case Message::scene_in_hours:
      return "In the hours of {calendar} scene {scene} is called while somebody is there.";
    case Message::scene_in_share_of_hours:
      return "For {share} of the hours of {calendar} scene {scene} is called while somebody is there.";
    case Message::scene_called_by:
      return "Scene {scene} is also called by {contact}, the contact of the audio-visual system.";
    case Message::scene_shades:
      return "While scene {scene} stands the shades are {shades}; afterwards they hang as before.";
    case Message::scene_without_daylight:
      return "While scene {scene} stands it {stays} daylight control.";
    case Message::scene_kept_in_events:
      return "While scene {scene} stands it {stays} demand response.";
    case Message::shades_drawn:
      return "drawn";
    case Message::shades_raised:
      return "raised";
    case Message::stays_clear:
      return "stays out of";
    case Message::manual_until_vacancy:
    case Message::manual_until_schedule:
      return "A press holds until {until}.";
    case Message::manual_for_time:
      return "A press holds for {limit}.";
    case Message::the_room_empties:
      return "the room empties";
    case Message::next_scheduled_change:
      return "the next scheduled change";
    case Message::demand_response:
      return "Demand response holds the light to {cap}.";
    case Message::load_shed:
      return "When {signal} asks for power, {what} goes {level} at once, and comes back once it clears.";
    case Message::task_lamps_by_sensor:
      return "Whoever sits at {lamps} has it lit; {controller} turns it off after {delay} with nobody at it.";
    case Message::task_lamps_by_hand:
      return "Whoever sits at {lamps} switches it.";
    case Message::receptacles:
      return "When the room has been empty for {delay}, {count} of its receptacles are off.";
    case Message::receptacles_by_hours:
      return "Outside the hours of {calendar}, {count} of its receptacles are off.";
    case Message::receptacles_by_both:
      return "When the room has been empty for {delay}, and outside the hours of {calendar}, {count} of its "
             "receptacles are off.";
    case Message::hvac_standby:
      return "{interface} sends the ventilation to standby {delay} after the room empties.";
    case Message::hvac_standby_and_back:
      return "{interface} sends the ventilation to standby {delay} after the room empties, and calls it back "
             "once somebody has been there for {after}.";
    case Message::any_lost:
      return "If a sensor, controller, network or clock is lost, the light goes {level}.";
    case Message::sensor_lost:
      return "When a sensor is lost, the light goes {level}.";
    case Message::controller_lost:
      return "When a controller is lost, the light goes {level}.";
    case Message::network_lost:
      return "When the network is lost, the light goes {level}.";
    case Message::clock_lost:
      return "When the clock is lost, the light goes {level}.";
    case Message::power_returns:
      return "When power returns it goes {level}, for {hold}.";
    case Message::sensor_lost_group:
      return "Group {group} goes {level} when a sensor is lost.";
    case Message::controller_lost_group:
      return "Group {group} goes {level} when a controller is lost.";
    case Message::network_lost_group:
      return "Group {group} goes {level} when the network is lost.";
    case Message::clock_lost_group:
      return "Group {group} goes {level} when the clock is lost.";
    case Message::power_returns_group:
      return "Group {group} goes {level} when power returns.";
    case Message::to_level:
      return "to {level}";
    case Message::to_off:
      return "off";
    case Message::emergency_light:
      return "When normal power is lost, the way out is lit by {luminaires}, fed from {source}.";
    case Message::no_emergency_light:
      return "When normal power is lost, no luminaire here lights the way out.";
    case Message::own_battery:
      return "a battery in the luminaire";
    case Message::central_battery:
      return "a central battery";
    case Message::generator:
      return "a generator";
    case Message::transfer_device:
      return "a second source through a transfer device";
    case Message::bypass_device:
      return "an emergency circuit through a bypass device";
    case Message::event_enters:
      return "Person enters";
    case Message::event_empties:
      return "Room empty for {delay}";
    case Message::event_step_ends:
      return "Still empty {after} later";
    case Message::event_warning:
      return "Warning, {time} before off";
    case Message::event_daylight:
      return "Daylight";
    case Message::event_opens:
      return "Opening";
    case Message::event_opens_early:
      return "{before} before opening";
    case Message::event_closes:
      return "Closing, sweep";
    case Message::event_closes_late:
      return "{after} after closing, sweep";
    case Message::event_scene:
      return "Scene {scene}";
    case Message::event_scene_in_hours:
      return "Scene {scene}, in the hours of {calendar}";
    case Message::event_divided:
      return "{wall} stands";
    case Message::event_demand_response:
      return "Demand response";
    case Message::event_load_shed:
      return "Load shed by {signal}, until it clears";
    case Message::event_sensor_lost:
      return "Sensor lost";
    case Message::event_controller_lost:
      return "Controller lost";
    case Message::event_network_lost:
      return "Network lost";
    case Message::event_clock_lost:
      return "Clock lost";
    case Message::event_power_back:
      return "Power back, for {hold}";
    case Message::event_power_lost:
      return "Normal power lost";
    case Message::cell_off:
      return "off";
    case Message::cell_by_hand:
      return "by hand";
    case Message::cell_on:
      return "on";
    case Message::cell_at_most:
      return "at most {cap}";
    case Message::cell_switches_with_target:
      return "off while daylight keeps {target} on {task}";
    case Message::cell_keeps_target:
      return "{target} on {task}, minimum {minimum}";
    case Message::cell_emergency:
      return "{luminaires} lit";
    case Message::cell_no_power:
      return "no power";
    case Message::cell_dip:
      return "dips to {warning} of its level";
    case Message::cell_own_part:
      return "by its own part";
    case Message::cell_both_parts:
      return "by both parts";
  }
  assert(false && "message out of range");
  return "";
}

Sentence compose(Catalogue catalogue, Message message, const Places& places) {
  Sentence sentence;
  const auto add = [&](Phrase phrase) {
    if (phrase.text.empty()) return;
    if (!phrase.is_value() && !sentence.empty() && !sentence.back().is_value())
      sentence.back().text += phrase.text;
    else
      sentence.push_back(std::move(phrase));
  };
  std::string_view rest = catalogue(message);
  std::size_t filled = 0;
  for (;;) {
    const std::size_t open = rest.find('{');
    add({std::string(rest.substr(0, open)), ""});
    if (open == std::string_view::npos) break;
    const std::size_t close = rest.find('}', open);
    const std::string_view name = rest.substr(open + 1, close - open - 1);
    const auto place =
        std::find_if(places.begin(), places.end(), [&](const auto& p) { return p.first == name; });
    assert(place != places.end() && "a place of the message is not given");
    if (place != places.end()) add(place->second);
    ++filled;
    rest.remove_prefix(close + 1);
  }
  assert(filled == places.size() && "a place is given that the message does not have");
  // A sentence starts with a capital, also when a value stands first ("photosensor P1 ...").
  if (!sentence.empty() && sentence.back().text.ends_with('.') && sentence.front().text.front() >= 'a' &&
      sentence.front().text.front() <= 'z')
    sentence.front().text.front() = static_cast<char>(sentence.front().text.front() - 'a' + 'A');
  return sentence;
}

std::string plain_text(const Sentence& sentence) {
  std::string text;
  for (const Phrase& phrase : sentence) text += phrase.text;
  return text;
}

}  // namespace halflight::wording
