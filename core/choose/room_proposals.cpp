#include "choose/room_proposals.hpp"

#include "choose/controller_part.hpp"
#include "choose/occupancy_part.hpp"
#include "choose/room_assembly.hpp"
#include "choose/scene_set.hpp"
#include "energy/estimate.hpp"

#include <algorithm>
#include <atomic>
#include <optional>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace halflight::choose {

namespace {

using domain::DeviceKind;

PhotosensorOffer photosensors_on_offer(const domain::Project& project, const domain::Library& library,
                                       const domain::Space& space) {
  const auto of_loop = [&](domain::Photosensor::Loop loop) {
    return cheapest_kind(project, library, space, [&](const DeviceKind& kind) {
      return kind.light && kind.light->loop == loop && kind.mounting == DeviceKind::Mounting::ceiling &&
             !kind.occupancy && !kind.load;
    });
  };
  return {of_loop(domain::Photosensor::Loop::closed), of_loop(domain::Photosensor::Loop::open)};
}

/// Takes the step towards keeping ways out lit that the failing states ask for, of what is free to choose;
/// nothing where there is none.
bool light_the_way_out(domain::Sequence& sequence, const sim::DesignTrial& trial, const std::set<Part>& free,
                       bool dims) {
  constexpr double kStep = 0.1;
  constexpr double kMost = 0.6;
  const auto fails = [&](std::string_view state) {
    return std::any_of(trial.egress.begin(), trial.egress.end(), [&](const results::EgressState& one) {
      return !one.holds && (one.state == state || one.state.starts_with(fmt::format("{} ", state)));
    });
  };
  if (free.contains(Part::daylight) && fails("dimmed by daylight") && !sequence.daylight.empty()) {
    // What only switches would never go off.
    if (sequence.daylight.front().minimum_level >= 1.0) return false;
    const bool switches = std::any_of(sequence.daylight.begin(), sequence.daylight.end(),
                                      [](const domain::DaylightRule& rule) { return rule.may_switch_off; });
    if (!switches && sequence.daylight.front().minimum_level >= kMost) return false;
    for (domain::DaylightRule& rule : sequence.daylight) {
      if (!switches) rule.minimum_level += kStep;
      rule.may_switch_off = false;
    }
    return true;
  }
  if (!free.contains(Part::occupancy)) return false;
  if (sequence.vacancy && fails("vacant")) {
    if (!dims || sequence.vacancy->step_level >= kMost) return false;
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
void try_out(RoomDesign& design, const sim::DesignTrials& trials, const domain::Project& project,
             const std::set<Part>& free, bool dims) {
  const std::string& space = design.controls.sequence.space;
  const domain::Sequence before = design.controls.sequence;
  domain::Sequence& sequence = design.controls.sequence;
  sim::DesignTrial judged = trials.judge(with_controls(project, space, design.controls));
  while (light_the_way_out(sequence, judged, free, dims))
    judged = trials.judge(with_controls(project, space, design.controls));
  if (!sequence.daylight.empty() && !before.daylight.empty() && sequence.daylight != before.daylight)
    design.why.push_back(fmt::format("Daylight leaves at least {:.0f} %, so that the way out stays lit.",
                                     100.0 * sequence.daylight.front().minimum_level));
  if (sequence.vacancy && sequence.vacancy != before.vacancy)
    design.why.push_back(fmt::format("An empty room keeps {:.0f} %, so that the way out stays lit.",
                                     100.0 * sequence.vacancy->step_level));
  if (sequence.schedule != before.schedule)
    design.why.emplace_back("The clock does not turn the light off, so that the way out stays lit.");
  design.trial = judged.refused_because().empty() ? trials.of(with_controls(project, space, design.controls))
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
    words.push_back(fmt::format("{:.1f} h a year less of too little light", b.under_lit_h - a.under_lit_h));
  if (a.taken < b.taken)
    words.push_back(fmt::format("takes the light from people {:.1f} times a year less", b.taken - a.taken));
  if (a.set_up_h < b.set_up_h)
    words.push_back(fmt::format("{:.1f} h less to set up", b.set_up_h - a.set_up_h));
  return words;
}

/// The front of those designs of whose devices the fewest have no price: what is not known to cost anything
/// is not cheap.
Front front_of_priced(const std::vector<RoomDesign>& designs, const std::vector<Merits>& merits) {
  std::size_t fewest = designs.front().cost.unpriced.size();
  for (const RoomDesign& design : designs) fewest = std::min(fewest, design.cost.unpriced.size());
  std::vector<std::size_t> priced;
  std::vector<Merits> of_priced;
  for (std::size_t i = 0; i < designs.size(); ++i)
    if (designs[i].cost.unpriced.size() == fewest) {
      priced.push_back(i);
      of_priced.push_back(merits[i]);
    }
  Front front = front_of(of_priced);
  std::vector<std::optional<std::size_t>> dominated_by(designs.size());
  for (std::size_t p = 0; p < priced.size(); ++p)
    if (front.dominated_by[p]) dominated_by[priced[p]] = priced[*front.dominated_by[p]];
  front.dominated_by = std::move(dominated_by);
  for (std::size_t& member : front.members) member = priced[member];
  for (std::size_t& member : front.hull) member = priced[member];
  front.knee = priced[front.knee];
  return front;
}

void make_offers(RoomProposals& found, const std::string& currency) {
  std::vector<Merits> merits;
  for (const RoomDesign& design : found.designs) merits.push_back(design.merits());
  if (merits.empty()) return;
  found.front = front_of_priced(found.designs, merits);
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
    const auto known = std::find_if(found.offers.begin(), found.offers.end(),
                                    [&](const auto& offer) { return offer.design == design; });
    if (known != found.offers.end())
      known->picked.push_back(pick);
    else
      found.offers.push_back({design, {pick}});
  }
  std::stable_sort(found.offers.begin(), found.offers.end(), [&](const auto& a, const auto& b) {
    return merits[a.design].cost < merits[b.design].cost;
  });
  std::set<std::size_t> shown(members.begin(), members.end());
  if (found.has_own) shown.insert(0);
  for (const std::size_t design : shown)
    for (const RoomProposals::Offer& other : found.offers) {
      if (other.design == design) continue;
      std::string words;
      for (const std::string& one : has_over(merits[other.design], merits[design], currency))
        words += (words.empty() ? "" : ", ") + one;
      if (!words.empty())
        found.designs[design].gives_up.push_back(found.designs[other.design].name + ": " + words);
    }
}

/// Gives the document's own design, those that are offered and those on the hull what takes the power of what
/// is plugged in. Designs with the same sensors get the same.
void choose_receptacles(RoomProposals& found, const sim::StudyInputs& inputs, const domain::Space& space,
                        int outlets_asked, const sim::DesignTrials& trials, int scrambles,
                        const Context& context) {
  std::set<std::size_t> wanted(found.front.hull.begin(), found.front.hull.end());
  for (const RoomProposals::Offer& offer : found.offers) wanted.insert(offer.design);
  if (found.has_own) wanted.insert(0);
  std::vector<std::vector<std::size_t>> alike;
  for (const std::size_t design : wanted) {
    const auto same = std::find_if(alike.begin(), alike.end(), [&](const std::vector<std::size_t>& some) {
      return found.designs[some.front()].controls.occupancy_sensors ==
             found.designs[design].controls.occupancy_sensors;
    });
    if (same == alike.end())
      alike.push_back({design});
    else
      same->push_back(design);
  }
  context.executor.for_each(alike.size(), [&](std::size_t i) {
    context.check_cancelled();
    RoomControls controls = found.designs[alike[i].front()].controls;
    const bool has_sensors = !controls.occupancy_sensors.empty();
    if (!has_sensors) controls.plug_loads.off_when = domain::PlugLoads::OffWhen::closed;
    domain::Space there = space;
    there.plug_loads = controls.plug_loads;
    const ReceptaclePart part =
        receptacle_part(inputs.project, inputs.library, there, outlets_asked,
                        trials.plugs(with_controls(inputs.project, space.id, controls)), scrambles);
    for (const std::size_t design : alike[i]) {
      found.designs[design].controls.plug_loads = part.loads;
      found.designs[design].receptacles = part;
    }
  });
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
    return tl::unexpected(
        Diagnostics{{Diagnostic::Severity::error, "", "/designs", "the project has no proposal",
                     "add a design whose role is \"proposal\""}});
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
    return tl::unexpected(
        Diagnostics{{Diagnostic::Severity::error, "", fmt::format("/spaces/{}", space_index),
                     trials.why_dark(), "see what validate says of the room"}});

  RoomControls own_filled = own;
  int outlets_asked = 0;
  if (free.contains(Part::receptacles)) {
    outlets_asked = outlets_asked_for(
        own.plug_loads,
        trials.judge(with_controls(project, space.id, without(own, Part::receptacles))).findings,
        trials.ready().rules);
    kept.plug_loads.controlled_receptacles = outlets_asked;
    own_filled.plug_loads = kept.plug_loads;
  }
  RoomAssembly assembly(inputs, space_index, kept, free);
  if (assembly.wants_scenes())
    assembly.take_scenes(scene_set(trials, project, assembly.kind(), kept, assembly.luminaires(),
                                   assembly.id_stem(), assembly.taken()));
  std::set<std::string> taken = assembly.taken();
  if (free.contains(Part::daylight))
    found.daylight = daylight_choice(trials, project, assembly.with_scene(kept, taken, true), *places,
                                     assembly.id_stem(), assembly.taken(), context);
  assembly.take_columns(trials.ready().lit().front().scene.columns);
  assembly.keep_for_the_way_out(found.daylight.for_the_way_out);

  struct Candidate {
    RoomDesign design;
    bool dims = false;
  };
  std::vector<Candidate> candidates(1);
  candidates.front().design.name = "the document's own";
  candidates.front().design.controls = own_filled;
  candidates.front().design.cost = assembly.cost_of(own_filled);
  const auto add = [&](RoomDesign made, bool dims) {
    const std::string name = made.name;
    const auto is_taken = [&] {
      return std::any_of(candidates.begin(), candidates.end(),
                         [&](const Candidate& known) { return known.design.name == made.name; });
    };
    for (int other = 2; is_taken(); ++other) made.name = fmt::format("{} ({})", name, other);
    candidates.push_back({std::move(made), dims});
  };
  const bool only_receptacles = free == std::set<Part>{Part::receptacles};
  std::vector<OccupancyPart> occupancy;
  if (free.contains(Part::occupancy)) occupancy = occupancy_parts(project, inputs.library, *design, space);
  std::vector<const DaylightPart*> daylight = {nullptr};
  for (const DaylightPart& part : found.daylight.parts) daylight.push_back(&part);
  // With nothing else to choose, any other design would be the document's own.
  if (only_receptacles) daylight.clear();
  for (const DaylightPart* by_day : daylight) {
    if (occupancy.empty()) add(assembly.design(nullptr, by_day, Coming::usually), assembly.can_dim(nullptr));
    for (const OccupancyPart& part : occupancy) {
      // Boxes that switch follow no photosensor.
      if (by_day != nullptr && assembly.is_in_boxes(&part)) continue;
      const bool dims = assembly.can_dim(&part);
      add(assembly.design(&part, by_day, Coming::usually), dims);
      for (const Coming coming : assembly.other_ways_of_coming(part))
        add(assembly.design(&part, by_day, coming), dims);
    }
  }

  const auto try_as_it_is = [&](RoomDesign& one) {
    one.trial = trials.of(with_controls(project, space.id, one.controls));
    one.refused = one.trial.refused_because();
  };
  try_as_it_is(candidates.front().design);
  std::size_t known = 1;
  if (!candidates.front().design.refused.empty() && wish.mend)
    if (std::optional<MendedControls> mended = wish.mend(candidates.front().design.trial.findings)) {
      Candidate fixed;
      fixed.design.name = "the document's own with code fixes";
      fixed.design.controls = std::move(mended->controls);
      fixed.design.cost = candidates.front().design.cost;
      fixed.design.why = std::move(mended->why);
      try_as_it_is(fixed.design);
      candidates.insert(candidates.begin() + 1, std::move(fixed));
      ++known;
    }
  std::atomic<std::size_t> done = known;
  context.executor.for_each(candidates.size() - known, [&](std::size_t i) {
    context.check_cancelled();
    Candidate& one = candidates[known + i];
    if (one.design.refused.empty()) try_out(one.design, trials, project, free, one.dims);
    context.report("designs of " + space.number, ++done, candidates.size());
  });
  found.as_found = trials.as_found();
  found.new_luminaires = trials.new_luminaires_only();
  found.luminaires = luminaire_cost(project, inputs.library, *design, space.id);
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    RoomDesign& one = candidates[i].design;
    if (one.refused.empty() && i == 0) found.has_own = true;
    (one.refused.empty() ? found.designs : found.refused).push_back(std::move(one));
  }
  make_offers(found, project.estimate.currency);
  if (free.contains(Part::receptacles))
    choose_receptacles(found, inputs, space, outlets_asked, trials, wish.options.scrambles, context);
  return found;
}

results::Estimate saving_of(const sim::DesignTrial& design, const sim::DesignTrial& against, int scrambles) {
  std::vector<double> saved;
  for (std::size_t r = 0; r < design.kwh.size(); ++r) saved.push_back(against.kwh[r] - design.kwh[r]);
  return energy::ratio_estimate(saved, against.kwh, scrambles);
}

}  // namespace halflight::choose
