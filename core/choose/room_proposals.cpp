#include "choose/room_proposals.hpp"

#include "choose/controller_part.hpp"
#include "choose/occupancy_part.hpp"
#include "choose/starting_control.hpp"
#include "choose/usual_sequence.hpp"
#include "energy/estimate.hpp"
#include "sim/electric_states.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <optional>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace halflight::choose {

namespace {

using domain::DeviceKind;

constexpr std::size_t kMostStations = 3;

/// The least kind by its middle cost among those that `fits`; by id where costs are equal; null without one.
template <class Fits>
const DeviceKind* cheapest(const domain::Project& project, const domain::Library& library,
                           const domain::Space& space, Fits fits) {
  const DeviceKind* best = nullptr;
  double best_cost = 0.0;
  for (const DeviceKind* kind : kinds_for(project, library, space)) {
    if (!fits(*kind)) continue;
    const domain::Range cost = unit_cost(project, kind->id, kind->price).cost;
    const double middle = 0.5 * (cost.least + cost.most);
    if (best != nullptr && (middle > best_cost || (middle == best_cost && kind->id > best->id))) continue;
    best = kind;
    best_cost = middle;
  }
  return best;
}

PhotosensorOffer photosensors_on_offer(const domain::Project& project, const domain::Library& library,
                                       const domain::Space& space) {
  const auto of_loop = [&](domain::Photosensor::Loop loop) {
    return cheapest(project, library, space, [&](const DeviceKind& kind) {
      return kind.light && kind.light->loop == loop && kind.mounting == DeviceKind::Mounting::ceiling &&
             !kind.occupancy && !kind.load;
    });
  };
  return {of_loop(domain::Photosensor::Loop::closed), of_loop(domain::Photosensor::Loop::open)};
}

/// How the light comes on: as is usual for the kind, or otherwise.
enum class Coming { usually, by_hand, half_by_motion };
/// ASHRAE 90.1 and IECC let half of the power come on by itself; drivers draw a little more than their share
/// of light.
constexpr double kHalf = 0.45;

/// Puts the room together from what is kept and what is chosen.
class Assembly {
 public:
  Assembly(const sim::StudyInputs& inputs, std::size_t space, const RoomControls& kept,
           const std::set<Part>& free)
      : project_(inputs.project),
        library_(inputs.library),
        space_(inputs.project.spaces[space]),
        design_(*domain::find_design(inputs.project, domain::Design::Role::proposal)),
        kind_(domain::find_by_id(inputs.library.kinds, space_.kind)),
        kept_(kept),
        free_(free),
        stem_(space_.id + "-"),
        taken_(ids_beside(design_, space_.id)) {
    for (const domain::Group& group : kept.groups) taken_.insert(group.id);
    for (const domain::Scene& scene : kept.scenes) taken_.insert(scene.id);
    const auto take = [&](const auto& devices) {
      for (const auto& device : devices) taken_.insert(device.id);
    };
    take(kept.occupancy_sensors);
    take(kept.photosensors);
    take(kept.stations);
    take(kept.load_controllers);
    luminaires_ = fixed_luminaires(project_, design_, space_.id);
    // What is written into the block of a typical gets the room's id before its own.
    if (!luminaires_.empty() && luminaires_.front().id.starts_with(space_.id + ".")) stem_ = space_.id + ".";
  }

  void take_columns(const std::vector<lightresponse::ChannelColumn>& columns) { columns_ = &columns; }
  void keep_for_the_way_out(std::vector<std::string> luminaires) { for_the_way_out_ = std::move(luminaires); }

  [[nodiscard]] const std::set<std::string>& taken() const { return taken_; }
  [[nodiscard]] const std::string& id_stem() const { return stem_; }

  /// Scenes and their groups where the document has none: everything together.
  [[nodiscard]] RoomControls with_scene(RoomControls controls, std::set<std::string>& taken) const {
    const bool has_group =
        std::any_of(controls.groups.begin(), controls.groups.end(),
                    [](const domain::Group& group) { return group.strategy == domain::Strategy::scene; });
    if (has_group || !controls.scenes.empty() || luminaires_.empty()) return controls;
    domain::Group& group = controls.groups.emplace_back();
    group.id = fresh_id(stem_ + "all-", taken);
    group.space = space_.id;
    group.strategy = domain::Strategy::scene;
    group.name = "a";
    group.channels = ids();
    domain::Scene& scene = controls.scenes.emplace_back();
    scene.id = fresh_id(stem_ + "normal-", taken);
    scene.space = space_.id;
    scene.name = "Normal";
    scene.levels = {{group.id, 1.0}};
    controls.sequence.normal_scene = scene.id;
    return controls;
  }

  [[nodiscard]] RoomDesign design(const OccupancyPart* occupancy, const DaylightPart* daylight,
                                  Coming coming) const {
    std::set<std::string> taken = taken_;
    RoomDesign made;
    std::string words;
    const auto say = [&](const std::string& part) { words += (words.empty() ? "" : ", ") + part; };
    RoomControls& controls = made.controls;
    controls = with_scene(kept_, taken);
    if (dims() && !controls.sequence.trim) controls.sequence.trim.emplace();
    if (occupancy != nullptr) {
      add_occupancy(*occupancy, coming, controls, taken, made.why);
      say(occupancy->words);
      if (coming == Coming::by_hand) say("on by hand");
      if (coming == Coming::half_by_motion) say("half on by motion");
    }
    if (free_.contains(Part::daylight)) {
      if (daylight != nullptr) add_daylight(*daylight, controls, made.why);
      if (daylight != nullptr && !for_the_way_out_.empty())
        made.why.push_back(fmt::format("{} stay{} out of daylight control and light{} the way out by day.",
                                       fmt::join(for_the_way_out_, ", "), for_the_way_out_.size() == 1 ? "s" : "",
                                       for_the_way_out_.size() == 1 ? "s" : ""));
      say(daylight == nullptr ? "no daylight control"
                              : fmt::format("{} daylight group{}", daylight->groups.size(),
                                            daylight->groups.size() == 1 ? "" : "s"));
    }
    if (free_.contains(Part::stations)) add_stations(controls, taken, made.why);
    if (occupancy != nullptr && !lengthen_delay(space_, luminaires_, controls, made.why))
      made.refused.emplace_back("somebody who sits still would lose the light even after 20 min");
    const DeviceKind* in_luminaires = occupancy == nullptr ? nullptr : with_controller(*occupancy);
    if (free_.contains(Part::controllers) && in_luminaires != nullptr) {
      add_controllers_of(*in_luminaires, controls, taken, made.why);
    } else if (free_.contains(Part::controllers)) {
      ControllerPart part =
          controller_part(project_, library_, space_.id, controls, *columns_, stem_, taken);
      controls.load_controllers = std::move(part.controllers);
      made.why.insert(made.why.end(), part.why.begin(), part.why.end());
      made.refused.insert(made.refused.end(), part.uncarried.begin(), part.uncarried.end());
    }
    made.name = words.empty() ? "as decided" : words;
    made.cost = first_cost(project_, library_, controls) + luminaire_cost(project_, design_, space_.id);
    return made;
  }

  /// Ways beside the usual one.
  [[nodiscard]] std::vector<Coming> other_ways_of_coming(bool has_sensors) const {
    if (kind_ == nullptr || kind_->start.on.by == domain::OnRule::By::hand) return {};
    std::vector<Coming> ways = {Coming::by_hand};
    if (has_sensors && project_.requirements.automatic_on_allowed) ways.push_back(Coming::half_by_motion);
    return ways;
  }

 private:
  [[nodiscard]] std::vector<std::string> ids() const {
    std::vector<std::string> all;
    for (const domain::Luminaire& luminaire : luminaires_) all.push_back(luminaire.id);
    std::sort(all.begin(), all.end());
    return all;
  }
  [[nodiscard]] bool dims() const {
    return std::any_of(luminaires_.begin(), luminaires_.end(), [&](const domain::Luminaire& luminaire) {
      const auto* type = domain::find_by_id(project_.luminaire_types, luminaire.type);
      return type != nullptr &&
             std::any_of(type->channels.begin(), type->channels.end(), [&](const domain::Channel& channel) {
               return domain::driver_of(project_, channel.driver).dims;
             });
    });
  }

  void add_occupancy(const OccupancyPart& part, Coming coming, RoomControls& controls,
                     std::set<std::string>& taken, std::vector<std::string>& why) const {
    const bool has_sensors = !part.sensors.empty();
    if (kind_ != nullptr)
      apply_usual_rules(project_, space_, *kind_, has_sensors, controls.sequence, why);
    if (controls.sequence.on.by == domain::OnRule::By::occupancy && controls.sequence.on.level < 1.0)
      controls.sequence.on.level = std::min(controls.sequence.on.level, kHalf);
    if (coming == Coming::by_hand) controls.sequence.on = {};
    if (coming == Coming::half_by_motion)
      controls.sequence.on = {domain::OnRule::By::occupancy, kHalf, controls.sequence.on.fade_s};
    if (!part.why.empty()) why.push_back(part.why);
    if (!has_sensors) return;
    const std::vector<std::vector<std::string>> groups =
        part.has_group_each ? nearest_luminaires(part.sensors)
                            : std::vector<std::vector<std::string>>{ids()};
    std::vector<std::string> group_ids;
    for (std::size_t g = 0; g < groups.size(); ++g) {
      domain::Group& group = controls.groups.emplace_back();
      group.id = fresh_id(stem_ + "occupancy-", taken);
      group.space = space_.id;
      group.strategy = domain::Strategy::occupancy;
      group.name = groups.size() == 1 ? "whole room" : fmt::format("part {}", g + 1);
      group.channels = groups[g];
      group_ids.push_back(group.id);
    }
    for (std::size_t s = 0; s < part.sensors.size(); ++s) {
      domain::OccupancySensor sensor = part.sensors[s];
      sensor.id = fresh_id(stem_ + "O", taken);
      sensor.groups = {group_ids[part.has_group_each ? s : 0]};
      controls.occupancy_sensors.push_back(std::move(sensor));
    }
  }

  /// Of each sensor the luminaires that are nearer to it than to any other, sorted.
  [[nodiscard]] std::vector<std::vector<std::string>> nearest_luminaires(
      const std::vector<domain::OccupancySensor>& sensors) const {
    std::vector<std::vector<std::string>> groups(sensors.size());
    for (const domain::Luminaire& luminaire : luminaires_) {
      const auto nearest = std::min_element(sensors.begin(), sensors.end(), [&](const auto& a, const auto& b) {
        const auto away_mm = [&](const domain::OccupancySensor& s) {
          return std::lround(1000.0 * std::hypot(s.at.x - luminaire.at.x, s.at.y - luminaire.at.y));
        };
        return away_mm(a) < away_mm(b);
      });
      groups[static_cast<std::size_t>(nearest - sensors.begin())].push_back(luminaire.id);
    }
    for (std::vector<std::string>& group : groups) std::sort(group.begin(), group.end());
    return groups;
  }

  /// The kind of the sensors where they sit in luminaires and drive them; else null.
  [[nodiscard]] const DeviceKind* with_controller(const OccupancyPart& part) const {
    const DeviceKind* kind =
        part.sensors.empty() ? nullptr : device_kind_of(project_, library_, part.sensors.front().device_kind);
    const bool drives = kind != nullptr && kind->load && kind->mounting == DeviceKind::Mounting::in_luminaire &&
                        std::all_of(part.sensors.begin(), part.sensors.end(),
                                    [&](const auto& sensor) { return sensor.device_kind == kind->id; });
    return drives ? kind : nullptr;
  }

  /// One in each luminaire; where it has its sensor too, both are one device in one place.
  void add_controllers_of(const DeviceKind& kind, RoomControls& controls, std::set<std::string>& taken,
                          std::vector<std::string>& why) const {
    constexpr double kSamePlace_m = 0.01;
    for (const domain::Luminaire& luminaire : luminaires_) {
      domain::LoadController& device = controls.load_controllers.emplace_back();
      device.id = fresh_id(stem_ + "LC", taken);
      device.space = space_.id;
      device.at = luminaire.at;
      for (const domain::OccupancySensor& sensor : controls.occupancy_sensors)
        if (std::hypot(sensor.at.x - luminaire.at.x, sensor.at.y - luminaire.at.y) < kSamePlace_m)
          device.at = sensor.at;
      device.link = kind.link;
      device.device_kind = kind.id;
      device.action = kind.load->action;
      device.mounting = domain::LoadController::Mounting::in_luminaire;
      device.limit_a = kind.load->limit_a;
      device.bus_limit_ma = kind.load->bus_limit_ma;
      device.luminaires = {luminaire.id};
    }
    why.push_back(fmt::format("Each of {} luminaires is driven by its own {}.", luminaires_.size(), kind.name));
  }

  void add_daylight(const DaylightPart& part, RoomControls& controls, std::vector<std::string>& why) const {
    for (const GovernedGroup& governed : part.groups) {
      controls.groups.push_back(governed.group);
      controls.photosensors.push_back(governed.photosensor);
      domain::DaylightRule rule = governed.rule;
      if (kind_ != nullptr) {
        rule.minimum_level = dims() ? kind_->start.daylight_minimum_level : 1.0;
        rule.may_switch_off = (kind_->start.daylight_may_switch_off || !dims()) && !space_.automatic_off_refused;
      }
      controls.sequence.daylight.push_back(rule);
      why.push_back(fmt::format(
          "{}: {} luminaire{} dim together; the photosensor {} and is off what is wanted by {:.0f} % of the "
          "target on average.",
          governed.group.name, governed.group.channels.size(), governed.group.channels.size() == 1 ? "" : "s",
          governed.rule.method == domain::DaylightRule::Method::open_loop_proportional
              ? "looks out of the window"
              : "looks down between them",
          100.0 * governed.held.rms));
    }
  }

  void add_stations(RoomControls& controls, std::set<std::string>& taken,
                    std::vector<std::string>& why) const {
    std::vector<std::string> buttons;
    const bool chooses = controls.scenes.size() > 1;
    if (chooses)
      for (const domain::Scene& scene : controls.scenes)
        if (scene.calendar.empty()) buttons.push_back(scene.id);
    if (!chooses) buttons.emplace_back("on");
    buttons.emplace_back("off");
    if (dims()) {
      buttons.emplace_back("raise");
      buttons.emplace_back("lower");
    }
    // Raise and lower share a rocker and count as one.
    const int count = static_cast<int>(buttons.size()) - (dims() ? 1 : 0);
    // What only switches the mains cannot raise, lower or call a scene.
    const bool sends = chooses || dims();
    const DeviceKind* kind = cheapest(project_, library_, space_, [&](const DeviceKind& one) {
      return one.buttons >= count && one.mounting == DeviceKind::Mounting::wall_box && !one.occupancy && !one.load && (!sends || one.buttons > 2);
    });
    std::vector<const domain::Door*> doors;
    for (const domain::Door& door : space_.doors) doors.push_back(&door);
    if (doors.empty()) doors.push_back(nullptr);
    if (doors.size() > kMostStations) doors.resize(kMostStations);
    domain::ManualRule manual = controls.sequence.manual.value_or(domain::ManualRule{});
    manual.stations.clear();
    for (const domain::Door* door : doors) {
      domain::Station& station = controls.stations.emplace_back();
      station.id = fresh_id(stem_ + "S", taken);
      station.space = space_.id;
      const Point2 at = station_place(space_, door);
      station.at = {at.x, at.y, kStationHeight_m};
      station.buttons = buttons;
      if (kind != nullptr) {
        station.device_kind = kind->id;
        station.link = kind->link;
        station.standby_w = kind->standby_w;
      }
      manual.stations.push_back(station.id);
    }
    if (!controls.sequence.vacancy) manual.holds_until = domain::ManualRule::HoldsUntil::schedule;
    controls.sequence.manual = manual;
    why.push_back(fmt::format("A station by the latch of {}.",
                              doors.size() == 1 ? "the door" : fmt::format("each of {} doors", doors.size())));
  }

  const domain::Project& project_;
  const domain::Library& library_;
  const domain::Space& space_;
  const domain::Design& design_;
  const domain::SpaceKind* kind_;
  RoomControls kept_;
  std::set<Part> free_;
  std::string stem_;
  std::set<std::string> taken_;
  std::vector<domain::Luminaire> luminaires_;
  std::vector<std::string> for_the_way_out_;
  const std::vector<lightresponse::ChannelColumn>* columns_ = nullptr;
};

/// Takes the step towards keeping ways out lit that the failing states ask for; nothing where there is none.
bool light_the_way_out(domain::Sequence& sequence, const sim::DesignTrial& trial) {
  constexpr double kStep = 0.1;
  constexpr double kMost = 0.6;
  const auto fails = [&](std::string_view state) {
    return std::any_of(trial.egress.begin(), trial.egress.end(), [&](const results::EgressState& one) {
      return !one.holds && (one.state == state || one.state.starts_with(fmt::format("{} ", state)));
    });
  };
  if (fails("dimmed by daylight") && !sequence.daylight.empty()) {
    const bool switches = std::any_of(sequence.daylight.begin(), sequence.daylight.end(),
                                      [](const domain::DaylightRule& rule) { return rule.may_switch_off; });
    if (!switches && sequence.daylight.front().minimum_level >= kMost) return false;
    for (domain::DaylightRule& rule : sequence.daylight) {
      if (!switches) rule.minimum_level += kStep;
      rule.may_switch_off = false;
    }
    return true;
  }
  if (sequence.vacancy && fails("vacant")) {
    if (sequence.vacancy->step_level >= kMost) return false;
    sequence.vacancy->step_level += kStep;
    return true;
  }
  if (sequence.vacancy && fails("vacant, later") && sequence.vacancy->off_after_s >= 0.0) {
    sequence.vacancy->off_after_s = -1.0;
    return true;
  }
  if (sequence.schedule && fails("vacant, swept after closing") && sequence.schedule->sweeps_off) {
    sequence.schedule->sweeps_off = false;
    return true;
  }
  return false;
}

/// Runs a design through its years, once its ways out are lit in every state as far as its sequence can.
void try_out(RoomDesign& design, const sim::DesignTrials& trials, const domain::Project& project) {
  const std::string& space = design.controls.sequence.space;
  const domain::Sequence before = design.controls.sequence;
  domain::Sequence& sequence = design.controls.sequence;
  sim::DesignTrial judged = trials.judge(with_controls(project, space, design.controls));
  while (light_the_way_out(sequence, judged)) judged = trials.judge(with_controls(project, space, design.controls));
  if (!sequence.daylight.empty() && !before.daylight.empty() && sequence.daylight != before.daylight)
    design.why.push_back(fmt::format("Daylight leaves at least {:.0f} %, so that the way out stays lit.",
                                     100.0 * sequence.daylight.front().minimum_level));
  if (sequence.vacancy && sequence.vacancy != before.vacancy)
    design.why.push_back(fmt::format("An empty room keeps {:.0f} %, so that the way out stays lit.",
                                     100.0 * sequence.vacancy->step_level));
  if (sequence.schedule != before.schedule)
    design.why.emplace_back("The clock does not turn the light off, so that the way out stays lit.");
  design.trial = judged.refused_because().empty()
                     ? trials.of(with_controls(project, space, design.controls))
                     : std::move(judged);
  for (std::string& because : design.trial.refused_because()) design.refused.push_back(std::move(because));
}

/// "12 % more energy", "240 more to buy": what another design has over this one.
std::vector<std::string> has_over(const Merits& other, const Merits& mine, const std::string& currency) {
  std::vector<std::string> words;
  const Merits a = rounded(other);
  const Merits b = rounded(mine);
  if (a.cost < b.cost) words.push_back(fmt::format("{:.0f} {} less to buy", b.cost - a.cost, currency));
  if (a.kwh < b.kwh) words.push_back(fmt::format("{:.1f} kWh a year less", b.kwh - a.kwh));
  if (a.under_lit_h < b.under_lit_h)
    words.push_back(fmt::format("{:.0f} h a year less of too little light", b.under_lit_h - a.under_lit_h));
  if (a.taken < b.taken)
    words.push_back(fmt::format("takes the light from people {:.1f} times a year less", b.taken - a.taken));
  if (a.set_up_h < b.set_up_h) words.push_back(fmt::format("{:.1f} h less to set up", b.set_up_h - a.set_up_h));
  return words;
}

void make_offers(RoomProposals& found, const std::string& currency) {
  std::vector<Merits> merits;
  for (const RoomDesign& design : found.designs) merits.push_back(design.merits());
  if (merits.empty()) return;
  found.front = front_of(merits);
  const std::vector<std::size_t>& members = found.front.members;
  const auto least = [&](auto figure) {
    return *std::min_element(members.begin(), members.end(), [&](std::size_t a, std::size_t b) {
      return figure(rounded(merits[a])) < figure(rounded(merits[b]));
    });
  };
  const std::vector<std::pair<std::size_t, Pick>> chosen = {
      {members.front(), Pick::least_cost},
      {found.front.knee, Pick::most_for_the_money},
      {least([](const Merits& m) { return m.kwh; }), Pick::least_energy},
      {least([](const Merits& m) { return m.taken; }), Pick::least_light_taken},
  };
  for (const auto& [design, pick] : chosen) {
    const auto known = std::find_if(found.offers.begin(), found.offers.end(), [&](const auto& offer) {
      return offer.design == design;
    });
    if (known != found.offers.end())
      known->picked.push_back(pick);
    else
      found.offers.push_back({design, {pick}, {}});
  }
  std::stable_sort(found.offers.begin(), found.offers.end(), [&](const auto& a, const auto& b) {
    return merits[a.design].cost < merits[b.design].cost;
  });
  for (RoomProposals::Offer& offer : found.offers)
    for (const RoomProposals::Offer& other : found.offers) {
      if (other.design == offer.design) continue;
      std::string words;
      for (const std::string& one : has_over(merits[other.design], merits[offer.design], currency))
        words += (words.empty() ? "" : ", ") + one;
      if (!words.empty()) offer.gives_up.push_back(found.designs[other.design].name + ": " + words);
    }
}

}  // namespace

const char* name_of(Pick pick) {
  switch (pick) {
    case Pick::least_cost:
      return "least cost";
    case Pick::most_for_the_money:
      return "most for the money";
    case Pick::least_energy:
      return "least energy";
    case Pick::least_light_taken:
      return "least light taken from people";
  }
  return "least cost";
}

Result<RoomProposals> propose_room(const sim::StudyInputs& inputs, std::size_t space_index,
                                   const ProposalWish& wish, const Context& context,
                                   lightresponse::StageLog& log) {
  const domain::Project& project = inputs.project;
  const domain::Space& space = project.spaces[space_index];
  const domain::Design* design = domain::find_design(project, domain::Design::Role::proposal);
  if (design == nullptr)
    return tl::unexpected(Diagnostics{{Diagnostic::Severity::error, "", "/designs",
                                       "the project has no proposal", "add a design whose role is \"proposal\""}});
  RoomProposals found;
  found.space = space.id;
  const RoomControls own = controls_of(project, *design, space.id);
  RoomControls kept = own;
  std::set<Part> free;
  for (const Part part : kParts) {
    if (wish.kept.contains(part)) continue;
    kept = without(std::move(kept), part);
    free.insert(part);
    found.free.push_back(part);
  }

  const Result<DaylightPlaces> places =
      free.contains(Part::daylight)
          ? daylight_places(inputs, space_index, photosensors_on_offer(project, inputs.library, space),
                            sim::light_options(wish.options.accuracy))
          : Result<DaylightPlaces>(DaylightPlaces{});
  if (!places) return tl::unexpected(places.error());
  RoomControls fitted = own;
  const std::vector<domain::Photosensor> tried = places->all();
  fitted.photosensors.insert(fitted.photosensors.end(), tried.begin(), tried.end());
  const domain::Project bench_project = with_controls(project, space.id, fitted);
  const sim::StudyInputs bench{.project = bench_project,
                               .library = inputs.library,
                               .code_rules = inputs.code_rules,
                               .photometry_files = inputs.photometry_files,
                               .weather_years = inputs.weather_years,
                               .normals = inputs.normals,
                               .content_keys = {}};
  const sim::DesignTrials trials(bench, wish.options, space_index, context, log);
  if (!trials.why_dark().empty())
    return tl::unexpected(Diagnostics{{Diagnostic::Severity::error, "", fmt::format("/spaces/{}", space_index),
                                       trials.why_dark(), "see what validate says of the room"}});

  Assembly assembly(inputs, space_index, kept, free);
  std::set<std::string> taken = assembly.taken();
  if (free.contains(Part::daylight))
    found.daylight = daylight_choice(trials, project, assembly.with_scene(kept, taken), *places,
                                     assembly.id_stem(), assembly.taken(), context);
  assembly.take_columns(trials.ready().lit().front().scene.columns);
  assembly.keep_for_the_way_out(found.daylight.for_the_way_out);

  std::vector<RoomDesign> candidates;
  const auto add = [&](RoomDesign made) {
    const bool is_known = std::any_of(candidates.begin(), candidates.end(),
                                      [&](const RoomDesign& known) { return known.name == made.name; });
    if (!is_known) candidates.push_back(std::move(made));
  };
  std::vector<OccupancyPart> occupancy;
  if (free.contains(Part::occupancy)) occupancy = occupancy_parts(project, inputs.library, *design, space);
  std::vector<const DaylightPart*> daylight = {nullptr};
  for (const DaylightPart& part : found.daylight.parts) daylight.push_back(&part);
  for (const DaylightPart* by_day : daylight) {
    if (occupancy.empty()) add(assembly.design(nullptr, by_day, Coming::usually));
    for (const OccupancyPart& part : occupancy) {
      add(assembly.design(&part, by_day, Coming::usually));
      for (const Coming coming : assembly.other_ways_of_coming(!part.sensors.empty()))
        add(assembly.design(&part, by_day, coming));
    }
  }
  RoomDesign as_decided;
  as_decided.name = "the document's own";
  as_decided.controls = own;
  as_decided.cost = first_cost(project, inputs.library, own) + luminaire_cost(project, *design, space.id);
  candidates.insert(candidates.begin(), std::move(as_decided));

  candidates.front().trial = trials.of(with_controls(project, space.id, own));
  candidates.front().refused = candidates.front().trial.refused_because();
  std::size_t known = 1;
  if (!candidates.front().refused.empty() && wish.mend)
    if (std::optional<MendedControls> mended = wish.mend(candidates.front().trial.findings)) {
      RoomDesign fixed;
      fixed.name = "the document's own with code fixes";
      fixed.controls = std::move(mended->controls);
      fixed.cost = candidates.front().cost;
      fixed.why = std::move(mended->why);
      fixed.trial = trials.of(with_controls(project, space.id, fixed.controls));
      fixed.refused = fixed.trial.refused_because();
      candidates.insert(candidates.begin() + 1, std::move(fixed));
      ++known;
    }

  std::atomic<std::size_t> done = known;
  context.executor.for_each(candidates.size() - known, [&](std::size_t i) {
    context.check_cancelled();
    try_out(candidates[known + i], trials, project);
    context.report("designs of " + space.number, ++done, candidates.size());
  });
  found.as_found = trials.as_found();
  found.new_luminaires = trials.new_luminaires_only();
  found.luminaires = luminaire_cost(project, *design, space.id);
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    if (candidates[i].refused.empty() && i == 0) found.has_own = true;
    (candidates[i].refused.empty() ? found.designs : found.refused).push_back(std::move(candidates[i]));
  }
  make_offers(found, project.estimate.currency);
  return found;
}

results::Estimate saving_of(const sim::DesignTrial& design, const sim::DesignTrial& against, int scrambles) {
  std::vector<double> saved;
  for (std::size_t r = 0; r < design.kwh.size(); ++r) saved.push_back(against.kwh[r] - design.kwh[r]);
  return energy::ratio_estimate(saved, against.kwh, scrambles);
}

}  // namespace halflight::choose
