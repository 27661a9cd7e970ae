#include "wording/sequence.hpp"

#include "domain/names.hpp"
#include "wording/figures.hpp"

#include <algorithm>
#include <cstddef>
#include <initializer_list>
#include <set>

namespace halflight::wording {
namespace {

using namespace domain;

/// Position of the item called `id`, or -1.
template <class Items>
int index_of(const Items& items, const std::string& id) {
  const auto found =
      std::find_if(items.begin(), items.end(), [&](const auto& item) { return item.id == id; });
  return found == items.end() ? -1 : static_cast<int>(found - items.begin());
}

/// The data of one sequence with the places of its values in the document.
class Reader {
 public:
  Reader(const Project& the_project, const Design& the_design, const Sequence& the_sequence,
         Catalogue language)
      : project_(the_project), design_(the_design), sequence_(the_sequence), catalogue_(language) {
    design_path_ = "/designs/" + std::to_string(std::max(0, index_of(project_.designs, design_.id)));
    const auto at = std::find_if(design_.sequences.begin(), design_.sequences.end(),
                                 [&](const Sequence& s) { return s.space == sequence_.space; });
    path_ = design_path_ + "/sequences/" + std::to_string(at - design_.sequences.begin());
    space_index_ = index_of(project_.spaces, sequence_.space);
    space_ = space_index_ < 0 ? nullptr : &project_.spaces[static_cast<std::size_t>(space_index_)];
  }

  Phrase value(std::string text, const std::string& below) const { return {std::move(text), path_ + below}; }
  Phrase word(Message message, const std::string& below) const { return value(say(message), below); }
  std::string say(Message message) const { return plain_text(compose(catalogue_, message)); }

  /// "to 50 %" or "off": a light at level 0 is off, never "at 0 %".
  Phrase to_level(double level, const std::string& below) const {
    if (level <= 0.0) return word(Message::to_off, below);
    return value(plain_text(compose(catalogue_, Message::to_level, {{"level", {percent(level), ""}}})),
                 below);
  }
  /// "50 %" or "off".
  Phrase level(double level, const std::string& below) const {
    return level <= 0.0 ? word(Message::cell_off, below) : value(percent(level), below);
  }

  Phrase group_name(const std::string& id, const std::string& below) const {
    const Group* group = find_by_id(design_.groups, id);
    return value(group == nullptr ? id : named(group->name, id), below);
  }
  /// The subject of the vacancy rule: its groups, or the light.
  Phrase vacancy_subject() const {
    return light_of(sequence_.vacancy->groups, Message::the_light, "/vacancy/groups");
  }
  /// What the sweep turns off: its groups, or everything.
  Phrase swept() const {
    return light_of(sequence_.schedule->groups, Message::everything, "/schedule/groups");
  }
  Phrase light_of(const std::vector<std::string>& groups, Message all, const std::string& below) const {
    if (groups.empty()) return {say(all), ""};
    std::string names;
    for (const std::string& id : groups) names += (names.empty() ? "" : ", ") + group_name(id, "").text;
    return value(plain_text(compose(catalogue_, Message::light_of, {{"groups", {names, ""}}})), below);
  }
  Phrase scene_name(const std::string& id, const std::string& below) const {
    const Scene* scene = find_by_id(design_.scenes, id);
    return value(scene == nullptr ? id : named(scene->name, id), below);
  }
  std::string calendar_name(const std::string& id) const {
    const Calendar* calendar = find_by_id(project_.calendars, id);
    return calendar == nullptr ? id : named(calendar->name, calendar->id);
  }
  Phrase calendar_name() const {
    return value(calendar_name(sequence_.schedule->calendar), "/schedule/calendar");
  }
  const TaskArea* task_area(const std::string& id) const {
    return space_ == nullptr ? nullptr : find_by_id(space_->task_areas, id);
  }
  Phrase task_name(const DaylightRule& rule, const std::string& below) const {
    const TaskArea* area = task_area(rule.task_area);
    return value(area == nullptr ? rule.task_area : named(area->name, area->id), below + "/task_area");
  }
  /// The target stands with the task area, not with the rule.
  Phrase target(const DaylightRule& rule) const {
    const TaskArea* area = task_area(rule.task_area);
    if (area == nullptr) return {"its target", ""};
    return {printed(area->target_lx, "lx"), "/spaces/" + std::to_string(space_index_) + "/task_areas/" +
                                                std::to_string(area - space_->task_areas.data()) + "/target"};
  }
  template <class Devices>
  std::string tag(const Devices& devices, const std::string& id) const {
    const auto* device = find_by_id(devices, id);
    return device == nullptr ? id : named(device->tag, id);
  }

  const Project& project() const { return project_; }
  const Design& design() const { return design_; }
  const Sequence& sequence() const { return sequence_; }
  const Space* space() const { return space_; }
  const std::string& design_path() const { return design_path_; }
  int space_index() const { return space_index_; }
  Catalogue catalogue() const { return catalogue_; }

 private:
  const Project& project_;
  const Design& design_;
  const Sequence& sequence_;
  Catalogue catalogue_;
  std::string design_path_;
  std::string path_;
  int space_index_ = -1;
  const Space* space_ = nullptr;
};

Message name_of(EmergencyType type) {
  switch (type) {
    case EmergencyType::none:
    case EmergencyType::own_battery:
      return Message::own_battery;
    case EmergencyType::central_battery:
      return Message::central_battery;
    case EmergencyType::generator:
      return Message::generator;
    case EmergencyType::transfer_device:
      return Message::transfer_device;
    case EmergencyType::bypass_device:
      return Message::bypass_device;
  }
  return Message::own_battery;
}

bool lights_egress(const Luminaire& luminaire) {
  return luminaire.emergency.lights_egress && luminaire.emergency.type != EmergencyType::none &&
         luminaire.status != Status::remove;
}

/// Sentences of one paragraph, a space between them.
class Paragraph {
 public:
  explicit Paragraph(const Reader& reader) : reader_(reader) {}
  void say(Message message, const Places& places = {}) {
    Sentence sentence = compose(reader_.catalogue(), message, places);
    if (!phrases_.empty()) {
      if (phrases_.back().is_value())
        phrases_.push_back({" ", ""});
      else
        phrases_.back().text += " ";
    }
    for (Phrase& phrase : sentence) {
      if (!phrases_.empty() && !phrases_.back().is_value() && !phrase.is_value())
        phrases_.back().text += phrase.text;
      else
        phrases_.push_back(std::move(phrase));
    }
  }
  std::vector<Phrase> take() { return std::move(phrases_); }

 private:
  const Reader& reader_;
  std::vector<Phrase> phrases_;
};

void say_on(const Reader& r, Paragraph& out) {
  const Sequence& s = r.sequence();
  switch (s.on.by) {
    case OnRule::By::hand:
      out.say(Message::on_by_hand, {{"by", r.word(Message::by_hand, "/on/by")}});
      break;
    case OnRule::By::occupancy:
      out.say(
          s.on.level < 1.0 ? Message::on_by_movement_partly : Message::on_by_movement,
          {{"by", r.word(Message::with_movement, "/on/by")}, {"level", r.to_level(s.on.level, "/on/level")}});
      break;
    case OnRule::By::schedule:
      if (!s.schedule) break;  // validation says that the schedule is missing
      out.say(Message::on_by_schedule,
              {{"by", r.word(Message::with_opening_hours, "/on/by")}, {"calendar", r.calendar_name()}});
      if (s.schedule->before_open_s > 0.0)
        out.say(Message::on_before_opening,
                {{"before", r.value(duration(s.schedule->before_open_s), "/schedule/before_open")}});
      break;
    case OnRule::By::always:
      out.say(Message::never_switched, {{"by", r.word(Message::never_off, "/on/by")}});
      return;
  }
  if (s.on.fade_s > 0.0) out.say(Message::fade_up, {{"fade", r.value(duration(s.on.fade_s), "/on/fade")}});
}

void say_limits_and_daylight(const Reader& r, Paragraph& out) {
  const Sequence& s = r.sequence();
  if (!s.normal_scene.empty())
    out.say(Message::normal_scene, {{"scene", r.scene_name(s.normal_scene, "/normal_scene")}});
  if (s.trim) {
    if (s.trim->high)
      out.say(Message::high_trim, {{"high", r.value(percent(*s.trim->high), "/trim/high")}});
    else
      out.say(Message::high_trim_to_targets, {{"targets", r.word(Message::targets_just_held, "/trim/high")}});
    if (s.trim->low > 0.0) out.say(Message::low_trim, {{"low", r.value(percent(s.trim->low), "/trim/low")}});
  }
  for (std::size_t i = 0; i < s.daylight.size(); ++i) {
    const DaylightRule& rule = s.daylight[i];
    const std::string below = "/daylight/" + std::to_string(i);
    const Phrase group = r.group_name(rule.group, below + "/group");
    const Phrase minimum = r.value(percent(rule.minimum_level), below + "/minimum_level");
    const bool dims = rule.minimum_level < 1.0;
    out.say(dims ? Message::daylight_dims : Message::daylight_switches,
            {{"sensor", r.value(r.tag(r.design().photosensors, rule.photosensor), below + "/photosensor")},
             {"group", group},
             {"task", r.task_name(rule, below)},
             {"target", r.target(rule)}});
    if (rule.method == DaylightRule::Method::dual_loop)
      out.say(Message::daylight_second_sensor,
              {{"sensor", r.value(r.tag(r.design().photosensors, rule.open_photosensor),
                                  below + "/open_photosensor")}});
    if (rule.calibrated_at)
      out.say(Message::daylight_set_at,
              {{"day", r.value(date_text(rule.calibrated_at->on), below + "/calibrated_at/on")},
               {"time", r.value(clock_reading(rule.calibrated_at->at_s), below + "/calibrated_at/at")}});
    if (!dims) continue;
    if (rule.deadband > 0.0)
      out.say(Message::daylight_deadband,
              {{"deadband", r.value(percent(rule.deadband), below + "/deadband")}});
    // Faster fades make no difference to anything that is computed; slower ones are worth a sentence.
    if (rule.fade_s_per_tenth > DaylightRule{}.fade_s_per_tenth)
      out.say(Message::daylight_fade,
              {{"fade", r.value(duration(rule.fade_s_per_tenth), below + "/fade_per_tenth")}});
    if (rule.may_switch_off)
      out.say(
          Message::daylight_may_switch_off,
          {{"minimum", minimum}, {"off", r.word(Message::enough_daylight_off, below + "/may_switch_off")}});
    else
      out.say(Message::daylight_minimum, {{"minimum", minimum}});
  }
}

void say_vacancy(const Reader& r, Paragraph& out) {
  const Sequence& s = r.sequence();
  if (!s.vacancy) {
    if (s.on.by != OnRule::By::always) out.say(Message::no_vacancy);
    return;
  }
  const VacancyRule& v = *s.vacancy;
  const Phrase delay = r.value(duration(v.delay_s), "/vacancy/delay");
  bool ends_off = true;
  if (v.step_level <= 0.0) {
    out.say(Message::vacancy_off, {{"delay", delay},
                                   {"who", r.vacancy_subject()},
                                   {"level", r.word(Message::goes_off, "/vacancy/step_level")}});
  } else {
    out.say(Message::vacancy_step, {{"delay", delay},
                                    {"who", r.vacancy_subject()},
                                    {"step", r.value(percent(v.step_level), "/vacancy/step_level")}});
    ends_off = v.off_after_s >= 0.0;
    if (ends_off)
      out.say(Message::vacancy_off_after,
              {{"after", r.value(duration(v.off_after_s), "/vacancy/off_after")}});
    else
      out.say(Message::vacancy_step_stays,
              {{"until", r.word(Message::until_movement, "/vacancy/off_after")}});
  }
  if (ends_off && v.warning_s > 0.0)
    out.say(Message::vacancy_warning,
            {{"warning", r.value(percent(v.warning_level), "/vacancy/warning_level")},
             {"time", r.value(duration(v.warning_s), "/vacancy/warning")}});
  if (v.brief_visit_s > 0.0)
    out.say(Message::vacancy_brief, {{"visit", r.value(duration(v.brief_visit_s), "/vacancy/brief_visit")},
                                     {"delay", r.value(duration(v.brief_delay_s), "/vacancy/brief_delay")}});
  if (!v.held_by.empty()) {
    std::string rooms;
    for (const std::string& id : v.held_by) {
      const Space* space = find_by_id(r.project().spaces, id);
      rooms += (rooms.empty() ? "" : ", ") + (space == nullptr ? id : named(space->number, id));
    }
    out.say(Message::vacancy_held, {{"rooms", r.value(rooms, "/vacancy/held_by")}});
  }
}

/// The wall that bookings divide the room by, where they do.
Phrase name_of_wall(const Reader& r, const Partition& wall) {
  return {wall.id, "/spaces/" + std::to_string(r.space_index()) + "/partitions/" +
                       std::to_string(&wall - r.space()->partitions.data()) + "/states"};
}

/// The partition sensor that tells the controls of the room, or null.
const Interface* partition_sensor(const Reader& r) {
  for (const Interface& one : r.design().interfaces)
    if (one.space == r.sequence().space && one.kind == Interface::Kind::partition_sensor &&
        stands_in(r.design(), one.status))
      return &one;
  return nullptr;
}

void say_divided(const Reader& r, Paragraph& out) {
  const Partition* wall = r.space() == nullptr ? nullptr : wall_in_use(*r.space());
  if (wall == nullptr) return;
  Places places = {{"share",
                    {percent(r.space()->occupancy.divided_fraction),
                     "/spaces/" + std::to_string(r.space_index()) + "/occupancy/divided_fraction"}},
                   {"wall", name_of_wall(r, *wall)}};
  const Interface* sensor = partition_sensor(r);
  if (sensor == nullptr) return out.say(Message::divided_apart, places);
  places.emplace_back("sensor",
                      Phrase{named(sensor->tag, sensor->id),
                             r.design_path() + "/interfaces/" +
                                 std::to_string(sensor - r.design().interfaces.data()) + "/signal"});
  out.say(Message::divided_parts, places);
}

/// The words on a station's buttons: "Open, Story hour, off or raise".
std::string buttons_in_words(const Reader& r, const Station& station) {
  std::vector<std::string> words;
  for (const std::string& button : station.buttons) {
    if (button == "on")
      words.push_back(r.say(Message::button_on));
    else if (button == "off")
      words.push_back(r.say(Message::button_off));
    else if (button == "raise")
      words.push_back(r.say(Message::button_raise));
    else if (button == "lower")
      words.push_back(r.say(Message::button_lower));
    else
      words.push_back(r.scene_name(button, "").text);
  }
  std::string list;
  for (std::size_t i = 0; i < words.size(); ++i)
    list = i == 0                  ? words[0]
           : i + 1 == words.size() ? plain_text(compose(r.catalogue(), Message::last_of_list,
                                                        {{"list", {list, ""}}, {"last", {words[i], ""}}}))
                                   : list + ", " + words[i];
  return list;
}

/// Stations with equal buttons are told together.
void say_buttons(const Reader& r, Paragraph& out) {
  struct Alike {
    std::string tags;
    std::string buttons;
    std::string pointer;  // of the first one's buttons
  };
  std::vector<Alike> kinds;
  for (const std::string& id : r.sequence().manual->stations) {
    const int i = index_of(r.design().stations, id);
    const Station* station = i < 0 ? nullptr : &r.design().stations[static_cast<std::size_t>(i)];
    if (station != nullptr && station->buttons.empty() && !station->switch_legs.empty()) continue;
    const std::string buttons = station == nullptr ? "" : buttons_in_words(r, *station);
    const std::string tag = r.tag(r.design().stations, id);
    const auto same =
        std::find_if(kinds.begin(), kinds.end(), [&](const Alike& k) { return k.buttons == buttons; });
    if (same == kinds.end())
      kinds.push_back({tag, buttons, r.design_path() + "/stations/" + std::to_string(i) + "/buttons"});
    else
      same->tags += ", " + tag;
  }
  for (const Alike& k : kinds) {
    const Phrase stations = r.value(k.tags, "/manual/stations");
    if (k.buttons.empty())
      out.say(Message::buttons_not_stated, {{"stations", stations}});
    else
      out.say(Message::station_buttons, {{"stations", stations}, {"buttons", {k.buttons, k.pointer}}});
  }
}

/// Stations with a switch for each of some groups.
void say_switch_legs(const Reader& r, Paragraph& out) {
  for (const std::string& id : r.sequence().manual->stations) {
    const int i = index_of(r.design().stations, id);
    if (i < 0) continue;
    std::string legs;
    for (const std::string& leg : r.design().stations[static_cast<std::size_t>(i)].switch_legs)
      legs += (legs.empty() ? "" : ", ") + r.group_name(leg, "").text;
    if (legs.empty()) continue;
    const std::string path = r.design_path() + "/stations/" + std::to_string(i) + "/switch_legs";
    out.say(
        Message::station_switch_legs,
        {{"stations", r.value(r.tag(r.design().stations, id), "/manual/stations")}, {"legs", {legs, path}}});
  }
}

/// What a scene does beside setting levels.
void say_behaviour(const Reader& r, const Scene& scene, const std::string& path, Paragraph& out) {
  const Phrase name{named(scene.name, scene.id), path + "/name"};
  if (!scene.called_by.empty())
    out.say(Message::scene_called_by,
            {{"scene", name},
             {"contact", Phrase{r.tag(r.design().interfaces, scene.called_by), path + "/called_by"}}});
  if (scene.shades != Scene::Shades::as_they_stand) {
    const Message how = scene.shades == Scene::Shades::drawn ? Message::shades_drawn : Message::shades_raised;
    out.say(Message::scene_shades, {{"scene", name}, {"shades", Phrase{r.say(how), path + "/shades"}}});
  }
  const std::string stays = r.say(Message::stays_clear);
  if (!scene.follows_daylight)
    out.say(Message::scene_without_daylight,
            {{"scene", name}, {"stays", Phrase{stays, path + "/follows_daylight"}}});
  if (!scene.in_demand_response)
    out.say(Message::scene_kept_in_events,
            {{"scene", name}, {"stays", Phrase{stays, path + "/in_demand_response"}}});
}

/// Scenes that are called by the hours of a calendar, and what scenes do beside setting levels.
void say_scenes(const Reader& r, Paragraph& out) {
  const auto& scenes = r.design().scenes;
  for (std::size_t i = 0; i < scenes.size(); ++i) {
    const Scene& scene = scenes[i];
    if (scene.space != r.sequence().space || scene.id == r.sequence().normal_scene) continue;
    const std::string path = r.design_path() + "/scenes/" + std::to_string(i);
    say_behaviour(r, scene, path, out);
    if (scene.calendar.empty() || use_share(scene) <= 0.0) continue;
    Places places = {{"calendar", Phrase{r.calendar_name(scene.calendar), path + "/calendar"}},
                     {"scene", Phrase{named(scene.name, scene.id), path + "/name"}}};
    if (use_share(scene) >= 1.0) {
      out.say(Message::scene_in_hours, places);
      continue;
    }
    places.emplace_back("share", Phrase{percent(use_share(scene)), path + "/use_fraction"});
    out.say(Message::scene_in_share_of_hours, places);
  }
}

void say_schedule_and_hand(const Reader& r, Paragraph& out) {
  const Sequence& s = r.sequence();
  if (s.schedule && s.schedule->sweeps_off) {
    if (s.schedule->after_close_s > 0.0)
      out.say(Message::sweep_after_closing,
              {{"what", r.swept()},
               {"after", r.value(duration(s.schedule->after_close_s), "/schedule/after_close")}});
    else
      out.say(Message::sweep_at_closing,
              {{"what", r.swept()}, {"off", r.word(Message::cell_off, "/schedule/sweeps_off")}});
    out.say(Message::override_limit,
            {{"limit", r.value(duration(s.schedule->override_s), "/schedule/override")}});
  }
  if (s.manual && !s.manual->stations.empty()) {
    say_buttons(r, out);
    say_switch_legs(r, out);
    switch (s.manual->holds_until) {
      case ManualRule::HoldsUntil::vacancy:
        out.say(Message::manual_until_vacancy,
                {{"until", r.word(Message::the_room_empties, "/manual/holds_until")}});
        break;
      case ManualRule::HoldsUntil::schedule:
        out.say(Message::manual_until_schedule,
                {{"until", r.word(Message::next_scheduled_change, "/manual/holds_until")}});
        break;
      case ManualRule::HoldsUntil::time_limit:
        out.say(Message::manual_for_time,
                {{"limit", r.value(duration(s.manual->time_limit_s), "/manual/time_limit")}});
        break;
    }
  }
  if (s.demand_response && s.demand_response->cap < 1.0)
    out.say(Message::demand_response,
            {{"cap", r.value(percent(s.demand_response->cap), "/demand_response/cap")}});
  if (s.load_shed)
    out.say(
        Message::load_shed,
        {{"signal", r.value(r.tag(r.design().interfaces, s.load_shed->interface), "/load_shed/interface")},
         {"what", r.light_of(s.load_shed->groups, Message::the_light, "/load_shed/groups")},
         {"level", r.to_level(s.load_shed->level, "/load_shed/level")}});
}

/// Task lamps that are in no group: those of one plug-in controller together.
void say_task_lamps(const Reader& r, Paragraph& out) {
  const Design& d = r.design();
  std::set<std::string> told;
  const auto lamps_among = [&](const std::vector<std::string>& ids) {
    std::string tags;
    for (const std::string& id : ids) {
      const Luminaire* l = find_by_id(d.luminaires, id);
      if (l == nullptr || l->space != r.sequence().space || !stands_in(d, l->status) ||
          !plugs_in(r.project(), *l) || in_any_group(d, id) || !told.insert(id).second)
        continue;
      tags += (tags.empty() ? "" : ", ") + named(l->tag, l->id);
    }
    return tags;
  };
  for (std::size_t i = 0; i < d.load_controllers.size(); ++i) {
    const LoadController& c = d.load_controllers[i];
    if (c.mounting != LoadController::Mounting::plug_in || !c.sensor_delay_s || !stands_in(d, c.status))
      continue;
    const std::string path = r.design_path() + "/load_controllers/" + std::to_string(i);
    const std::string tags = lamps_among(driven_luminaires(r.project(), d, c));
    if (!tags.empty())
      out.say(Message::task_lamps_by_sensor,
              {{"lamps", Phrase{tags, path + "/luminaires"}},
               {"controller", Phrase{named(c.tag, c.id), path + "/mounting"}},
               {"delay", Phrase{duration(*c.sensor_delay_s), path + "/sensor_delay"}}});
  }
  std::vector<std::string> all;
  for (const Luminaire& l : d.luminaires) all.push_back(l.id);
  const std::string tags = lamps_among(all);
  if (!tags.empty()) out.say(Message::task_lamps_by_hand, {{"lamps", Phrase{tags, ""}}});
}

void say_receptacles(const Reader& r, Paragraph& out) {
  const Space* space = r.space();
  if (space == nullptr || space->plug_loads.controlled_receptacles == 0) return;
  using OffWhen = PlugLoads::OffWhen;
  const PlugLoads& loads = space->plug_loads;
  const std::string path = "/spaces/" + std::to_string(r.space_index()) + "/plug_loads";
  const std::string calendar = loads.calendar.empty() ? space->occupancy.calendar : loads.calendar;
  const std::pair<const char*, Phrase> count{
      "count", Phrase{std::to_string(loads.controlled_receptacles), path + "/controlled_receptacles"}};
  const std::pair<const char*, Phrase> delay{"delay",
                                             Phrase{duration(loads.off_after_s), path + "/off_after"}};
  const std::pair<const char*, Phrase> hours{"calendar",
                                             Phrase{r.calendar_name(calendar), path + "/calendar"}};
  switch (loads.off_when) {
    case OffWhen::empty:
      return out.say(Message::receptacles, {delay, count});
    case OffWhen::closed:
      return out.say(Message::receptacles_by_hours, {hours, count});
    case OffWhen::empty_or_closed:
      return out.say(Message::receptacles_by_both, {delay, hours, count});
  }
}

void say_other_systems(const Reader& r, Paragraph& out) {
  say_task_lamps(r, out);
  say_receptacles(r, out);
  const auto& hand_offs = r.design().hvac_hand_offs;
  for (std::size_t i = 0; i < hand_offs.size(); ++i) {
    if (hand_offs[i].space != r.sequence().space) continue;
    const std::string path = r.design_path() + "/hvac_hand_offs/" + std::to_string(i);
    const Phrase interface { r.tag(r.design().interfaces, hand_offs[i].interface), path + "/interface" };
    const Phrase delay{duration(hand_offs[i].delay_s), path + "/delay"};
    if (hand_offs[i].occupied_after_s > 0.0)
      out.say(Message::hvac_standby_and_back,
              {{"interface", interface},
               {"delay", delay},
               {"after", Phrase{duration(hand_offs[i].occupied_after_s), path + "/occupied_after"}}});
    else
      out.say(Message::hvac_standby, {{"interface", interface}, {"delay", delay}});
  }
}

void say_loss(const Reader& r, Paragraph& out) {
  const LossRule& loss = r.sequence().loss;
  if (loss.sensor_lost == loss.controller_lost && loss.sensor_lost == loss.network_lost &&
      loss.sensor_lost == loss.clock_lost) {
    out.say(Message::any_lost, {{"level", r.to_level(loss.sensor_lost, "/loss")}});
  } else {
    out.say(Message::sensor_lost, {{"level", r.to_level(loss.sensor_lost, "/loss/sensor_lost")}});
    out.say(Message::controller_lost, {{"level", r.to_level(loss.controller_lost, "/loss/controller_lost")}});
    out.say(Message::network_lost, {{"level", r.to_level(loss.network_lost, "/loss/network_lost")}});
    out.say(Message::clock_lost, {{"level", r.to_level(loss.clock_lost, "/loss/clock_lost")}});
  }
  out.say(Message::power_returns,
          {{"level", r.to_level(loss.power_return, "/loss/power_return")},
           {"hold", r.value(duration(loss.power_return_hold_s), "/loss/power_return_hold")}});
  for (std::size_t i = 0; i < loss.groups.size(); ++i) {
    const GroupLoss& own = loss.groups[i];
    const std::string path = "/loss/groups/" + std::to_string(i);
    const auto say = [&](Message message, const std::optional<double>& level, const std::string& field) {
      if (level)
        out.say(message, {{"group", r.group_name(own.group, path + "/group")},
                          {"level", r.to_level(*level, path + field)}});
    };
    say(Message::sensor_lost_group, own.sensor_lost, "/sensor_lost");
    say(Message::controller_lost_group, own.controller_lost, "/controller_lost");
    say(Message::network_lost_group, own.network_lost, "/network_lost");
    say(Message::clock_lost_group, own.clock_lost, "/clock_lost");
    say(Message::power_returns_group, own.power_return, "/power_return");
  }
}

void say_emergency(const Reader& r, Paragraph& out) {
  const auto& luminaires = r.design().luminaires;
  bool any = false;
  for (const EmergencyType type :
       {EmergencyType::own_battery, EmergencyType::central_battery, EmergencyType::generator,
        EmergencyType::transfer_device, EmergencyType::bypass_device}) {
    std::string tags;
    std::string first;
    for (std::size_t i = 0; i < luminaires.size(); ++i) {
      const Luminaire& l = luminaires[i];
      if (l.space != r.sequence().space || l.emergency.type != type || !lights_egress(l)) continue;
      tags += (tags.empty() ? "" : ", ") + named(l.tag, l.id);
      if (first.empty()) first = r.design_path() + "/luminaires/" + std::to_string(i) + "/emergency";
    }
    if (tags.empty()) continue;
    any = true;
    out.say(Message::emergency_light,
            {{"luminaires", Phrase{tags, first}}, {"source", Phrase{r.say(name_of(type)), first + "/type"}}});
  }
  if (!any && r.space() != nullptr && !r.space()->egress_paths.empty()) out.say(Message::no_emergency_light);
}

// ---------------------------------------------------------------------------------------------------------

using Channels = std::vector<std::string>;

Channels channels_of_group(const Reader& r, const Group& group) {
  Channels all;
  for (const std::string& entry : group.channels) {
    const Channels some = channels_of(r.project(), r.design(), entry);
    all.insert(all.end(), some.begin(), some.end());
  }
  std::sort(all.begin(), all.end());
  return all;
}

bool overlap(const Channels& a, const Channels& b) {
  return std::any_of(a.begin(), a.end(),
                     [&](const std::string& c) { return std::binary_search(b.begin(), b.end(), c); });
}

struct Column {
  const Group* group = nullptr;
  Channels channels;
};

std::vector<Column> columns_of(const Reader& r) {
  for (const Strategy strategy : {Strategy::scene, Strategy::occupancy, Strategy::daylight,
                                  Strategy::schedule, Strategy::demand_response, Strategy::emergency}) {
    std::vector<Column> columns;
    for (const Group& group : r.design().groups)
      if (group.space == r.sequence().space && group.strategy == strategy)
        columns.push_back({&group, channels_of_group(r, group)});
    if (!columns.empty()) return columns;
  }
  return {};
}

class MatrixBuilder {
 public:
  explicit MatrixBuilder(const Reader& reader) : r_(reader), columns_(columns_of(reader)) {
    for (const Column& c : columns_) matrix_.groups.push_back(named(c.group->name, c.group->id));
  }

  /// The same cell in every column that `ids` (groups of any strategy; empty: all) act on.
  void row(Sentence event, const std::vector<std::string>& ids, const Sentence& cell) {
    std::vector<Sentence> cells(columns_.size());
    for (std::size_t c = 0; c < columns_.size(); ++c)
      if (ids.empty() || std::any_of(ids.begin(), ids.end(), [&](const auto& id) { return acts_on(id, c); }))
        cells[c] = cell;
    matrix_.rows.push_back({std::move(event), std::move(cells)});
  }
  void row(Sentence event, std::vector<Sentence> cells) {
    matrix_.rows.push_back({std::move(event), std::move(cells)});
  }

  bool acts_on(const std::string& group_id, std::size_t column) const {
    if (columns_[column].group->id == group_id) return true;
    const Group* group = find_by_id(r_.design().groups, group_id);
    return group != nullptr && overlap(channels_of_group(r_, *group), columns_[column].channels);
  }
  const std::vector<Column>& columns() const { return columns_; }
  Sentence event(Message message, const Places& places = {}) const {
    return compose(r_.catalogue(), message, places);
  }
  SequenceMatrix take() { return std::move(matrix_); }

 private:
  const Reader& r_;
  std::vector<Column> columns_;
  SequenceMatrix matrix_;
};

void rows_of_people(const Reader& r, MatrixBuilder& m) {
  const Sequence& s = r.sequence();
  const std::vector<std::string> followed = s.vacancy ? s.vacancy->groups : std::vector<std::string>{};
  switch (s.on.by) {
    case OnRule::By::hand:
      m.row(m.event(Message::event_enters), {}, {r.word(Message::cell_by_hand, "/on/by")});
      break;
    case OnRule::By::occupancy:
      m.row(m.event(Message::event_enters), followed, {r.level(s.on.level, "/on/level")});
      break;
    case OnRule::By::schedule:
      m.row(m.event(Message::event_enters), {}, {});
      break;
    case OnRule::By::always:
      m.row(m.event(Message::event_enters), {}, {r.word(Message::cell_on, "/on/by")});
      break;
  }
  if (!s.vacancy) return;
  const VacancyRule& v = *s.vacancy;
  m.row(m.event(Message::event_empties, {{"delay", r.value(duration(v.delay_s), "/vacancy/delay")}}),
        v.groups, {r.level(v.step_level, "/vacancy/step_level")});
  const bool steps = v.step_level > 0.0;
  if (steps && v.off_after_s >= 0.0)
    m.row(m.event(Message::event_step_ends,
                  {{"after", r.value(duration(v.off_after_s), "/vacancy/off_after")}}),
          v.groups, {r.word(Message::cell_off, "/vacancy/off_after")});
  if ((!steps || v.off_after_s >= 0.0) && v.warning_s > 0.0)
    m.row(m.event(Message::event_warning, {{"time", r.value(duration(v.warning_s), "/vacancy/warning")}}),
          v.groups,
          compose(r.catalogue(), Message::cell_dip,
                  {{"warning", r.value(percent(v.warning_level), "/vacancy/warning_level")}}));
}

void row_of_daylight(const Reader& r, MatrixBuilder& m) {
  const Sequence& s = r.sequence();
  if (s.daylight.empty()) return;
  std::vector<Sentence> cells(m.columns().size());
  for (std::size_t i = 0; i < s.daylight.size(); ++i) {
    const DaylightRule& rule = s.daylight[i];
    const std::string below = "/daylight/" + std::to_string(i);
    for (std::size_t c = 0; c < cells.size(); ++c) {
      if (!m.acts_on(rule.group, c)) continue;
      Places places = {{"target", r.target(rule)}, {"task", r.task_name(rule, below)}};
      const bool dims = rule.minimum_level < 1.0;
      if (dims)
        places.emplace_back("minimum", r.value(percent(rule.minimum_level), below + "/minimum_level"));
      cells[c] = compose(r.catalogue(),
                         dims ? Message::cell_keeps_target : Message::cell_switches_with_target, places);
    }
  }
  m.row(m.event(Message::event_daylight), std::move(cells));
}

void rows_of_schedule(const Reader& r, MatrixBuilder& m) {
  const Sequence& s = r.sequence();
  if (!s.schedule) return;
  if (s.on.by == OnRule::By::schedule) {
    const bool early = s.schedule->before_open_s > 0.0;
    m.row(early ? m.event(Message::event_opens_early,
                          {{"before", r.value(duration(s.schedule->before_open_s), "/schedule/before_open")}})
                : m.event(Message::event_opens),
          {}, {r.level(s.on.level, "/on/level")});
  }
  if (s.schedule->sweeps_off) {
    const bool late = s.schedule->after_close_s > 0.0;
    m.row(late ? m.event(Message::event_closes_late,
                         {{"after", r.value(duration(s.schedule->after_close_s), "/schedule/after_close")}})
               : m.event(Message::event_closes),
          s.schedule->groups, {r.word(Message::cell_off, "/schedule/sweeps_off")});
  }
}

void rows_of_scenes(const Reader& r, MatrixBuilder& m) {
  const auto& scenes = r.design().scenes;
  for (std::size_t i = 0; i < scenes.size(); ++i) {
    if (scenes[i].space != r.sequence().space) continue;
    const std::string path = r.design_path() + "/scenes/" + std::to_string(i);
    std::vector<Sentence> cells(m.columns().size());
    for (std::size_t l = 0; l < scenes[i].levels.size(); ++l) {
      const SceneLevel& level = scenes[i].levels[l];
      const std::string at = path + "/levels/" + std::to_string(l) + "/level";
      for (std::size_t c = 0; c < cells.size(); ++c)
        if (m.acts_on(level.group, c))
          cells[c] = {{level.level <= 0.0 ? r.say(Message::cell_off) : percent(level.level), at}};
    }
    Places places = {{"scene", Phrase{named(scenes[i].name, scenes[i].id), path + "/name"}}};
    const bool in_hours = !scenes[i].calendar.empty() && use_share(scenes[i]) > 0.0 &&
                          scenes[i].id != r.sequence().normal_scene;
    if (in_hours)
      places.emplace_back("calendar", Phrase{r.calendar_name(scenes[i].calendar), path + "/calendar"});
    m.row(m.event(in_hours ? Message::event_scene_in_hours : Message::event_scene, places), std::move(cells));
  }
}

void row_of_divided(const Reader& r, MatrixBuilder& m) {
  const Partition* wall = r.space() == nullptr ? nullptr : wall_in_use(*r.space());
  if (wall == nullptr) return;
  // What acts together is an occupancy group, or the column itself where it is in none.
  const auto sides_of = [&](const Channels& channels, std::set<int>& sides) {
    for (const std::string& channel : channels)
      if (const Luminaire* l = find_by_id(r.design().luminaires, channel.substr(0, channel.find('/'))))
        sides.insert(side_of(*wall, {l->at.x, l->at.y}));
  };
  std::vector<Sentence> cells;
  for (const Column& column : m.columns()) {
    std::set<int> sides;
    sides_of(column.channels, sides);
    for (const Group& group : r.design().groups) {
      if (group.space != r.sequence().space || group.strategy != Strategy::occupancy) continue;
      const Channels channels = channels_of_group(r, group);
      if (overlap(channels, column.channels)) sides_of(channels, sides);
    }
    cells.push_back(
        compose(r.catalogue(), sides.size() > 1 ? Message::cell_both_parts : Message::cell_own_part));
  }
  m.row(m.event(Message::event_divided, {{"wall", name_of_wall(r, *wall)}}), std::move(cells));
}

void rows_of_trouble(const Reader& r, MatrixBuilder& m) {
  const Sequence& s = r.sequence();
  if (s.demand_response)
    m.row(m.event(Message::event_demand_response), {},
          compose(r.catalogue(), Message::cell_at_most,
                  {{"cap", r.value(percent(s.demand_response->cap), "/demand_response/cap")}}));
  if (s.load_shed)
    m.row(m.event(Message::event_load_shed,
                  {{"signal",
                    r.value(r.tag(r.design().interfaces, s.load_shed->interface), "/load_shed/interface")}}),
          s.load_shed->groups,
          s.load_shed->level <= 0.0
              ? Sentence{r.level(0.0, "/load_shed/level")}
              : compose(r.catalogue(), Message::cell_at_most,
                        {{"cap", r.value(percent(s.load_shed->level), "/load_shed/level")}}));
  const LossRule& loss = s.loss;
  const auto lost = [&](Sentence event, double level, std::optional<double> GroupLoss::*of_group,
                        const std::string& field) {
    std::vector<Sentence> cells(m.columns().size(), Sentence{r.level(level, "/loss" + field)});
    for (std::size_t i = 0; i < loss.groups.size(); ++i)
      for (std::size_t c = 0; c < cells.size(); ++c)
        if (const std::optional<double>& own = loss.groups[i].*of_group;
            own && m.acts_on(loss.groups[i].group, c))
          cells[c] = {r.level(*own, "/loss/groups/" + std::to_string(i) + field)};
    m.row(std::move(event), std::move(cells));
  };
  lost(m.event(Message::event_sensor_lost), loss.sensor_lost, &GroupLoss::sensor_lost, "/sensor_lost");
  lost(m.event(Message::event_controller_lost), loss.controller_lost, &GroupLoss::controller_lost,
       "/controller_lost");
  lost(m.event(Message::event_network_lost), loss.network_lost, &GroupLoss::network_lost, "/network_lost");
  lost(m.event(Message::event_clock_lost), loss.clock_lost, &GroupLoss::clock_lost, "/clock_lost");

  std::vector<Sentence> cells(m.columns().size());
  for (std::size_t c = 0; c < cells.size(); ++c) {
    std::string tags;
    std::string first;
    const auto& luminaires = r.design().luminaires;
    for (std::size_t i = 0; i < luminaires.size(); ++i) {
      if (luminaires[i].space != s.space || !lights_egress(luminaires[i])) continue;
      Channels channels = channels_of(r.project(), r.design(), luminaires[i].id);
      std::sort(channels.begin(), channels.end());
      if (!overlap(channels, m.columns()[c].channels)) continue;
      tags += (tags.empty() ? "" : ", ") + named(luminaires[i].tag, luminaires[i].id);
      if (first.empty()) first = r.design_path() + "/luminaires/" + std::to_string(i) + "/emergency";
    }
    cells[c] = tags.empty()
                   ? compose(r.catalogue(), Message::cell_no_power)
                   : compose(r.catalogue(), Message::cell_emergency, {{"luminaires", Phrase{tags, first}}});
  }
  m.row(m.event(Message::event_power_lost), std::move(cells));
  lost(m.event(Message::event_power_back,
               {{"hold", r.value(duration(loss.power_return_hold_s), "/loss/power_return_hold")}}),
       loss.power_return, &GroupLoss::power_return, "/power_return");
}

}  // namespace

std::vector<Phrase> sequence_sentence(const Project& project, const Design& design, const Sequence& sequence,
                                      Catalogue catalogue) {
  const Reader reader(project, design, sequence, catalogue);
  Paragraph out(reader);
  say_on(reader, out);
  say_limits_and_daylight(reader, out);
  say_vacancy(reader, out);
  say_divided(reader, out);
  say_scenes(reader, out);
  say_schedule_and_hand(reader, out);
  say_other_systems(reader, out);
  say_loss(reader, out);
  say_emergency(reader, out);
  return out.take();
}

SequenceMatrix sequence_matrix(const Project& project, const Design& design, const Sequence& sequence,
                               Catalogue catalogue) {
  const Reader reader(project, design, sequence, catalogue);
  MatrixBuilder builder(reader);
  rows_of_people(reader, builder);
  row_of_daylight(reader, builder);
  rows_of_schedule(reader, builder);
  row_of_divided(reader, builder);
  rows_of_scenes(reader, builder);
  rows_of_trouble(reader, builder);
  return builder.take();
}

}  // namespace halflight::wording
