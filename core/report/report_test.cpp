#include "report/report.hpp"

#include "report/cautions.hpp"
#include "report/pages.hpp"
#include "report/study_fixture_test.hpp"

#include <algorithm>
#include <regex>
#include <set>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::report {
namespace {

bool holds(const std::string& text, const std::string& what) { return text.find(what) != std::string::npos; }

std::string page_of(const Fixture& f) { return html_report(f.study, f.project, f.options); }

TEST(Report, IsOnePageThatAsksForNothing) {
  const std::string html = page_of(fixture());
  EXPECT_TRUE(html.starts_with("<!doctype html>"));
  EXPECT_FALSE(holds(html, "http://"));
  EXPECT_FALSE(holds(html, "https://"));
  EXPECT_FALSE(holds(html, "<script"));
  EXPECT_FALSE(holds(html, "<link"));
  EXPECT_FALSE(holds(html, "@import"));
  // Every reference is a fragment of this page or a picture in it.
  const std::regex reference("(href|src)=\"([^\"]{0,16})");
  for (auto it = std::sregex_iterator(html.begin(), html.end(), reference); it != std::sregex_iterator();
       ++it) {
    const std::string target = (*it)[2];
    EXPECT_TRUE(target.starts_with("#") || target.starts_with("data:image/png")) << target;
  }
  EXPECT_LT(html.size(), 400'000U) << "two rooms with plans and years";
}

TEST(Report, FragmentsLeadSomewhereAndIdsAreUnique) {
  const std::string html = page_of(fixture());
  std::set<std::string> ids;
  const std::regex id(" id=\"([^\"]+)\"");
  for (auto it = std::sregex_iterator(html.begin(), html.end(), id); it != std::sregex_iterator(); ++it)
    EXPECT_TRUE(ids.insert((*it)[1]).second) << "twice: " << (*it)[1];
  const std::regex fragment("(?:href=\"|url\\()#([^\")]+)");
  for (auto it = std::sregex_iterator(html.begin(), html.end(), fragment); it != std::sregex_iterator(); ++it)
    EXPECT_TRUE(ids.contains((*it)[1])) << (*it)[1];
}

/// Tags open and close in order: elements that this report uses, HTML void elements and self-closed ones
/// aside.
TEST(Report, ElementsNest) {
  const std::string html = page_of(fixture());
  std::vector<std::string> open;
  const std::regex tag("<(/?)([a-zA-Z][a-zA-Z0-9]*)([^<>]*?)(/?)>");
  const std::string body = html.substr(html.find("</style>") + 8);
  open = {"html", "head"};
  for (auto it = std::sregex_iterator(body.begin(), body.end(), tag); it != std::sregex_iterator(); ++it) {
    const std::string name = (*it)[2];
    if (!(*it)[4].str().empty()) continue;
    if ((*it)[1].str().empty()) {
      open.push_back(name);
      continue;
    }
    ASSERT_FALSE(open.empty());
    ASSERT_EQ(open.back(), name);
    open.pop_back();
  }
  EXPECT_TRUE(open.empty());
}

TEST(Report, IsTheSameBytesTwice) { EXPECT_EQ(page_of(fixture()), page_of(fixture())); }

TEST(Report, HostileNamesStayText) {
  Fixture f = fixture();
  const std::string hostile = "\"></style><script>alert(1)</script><img src=x onerror=alert(2)>";
  f.study.project_name = hostile;
  f.options.revision = hostile;
  f.project.spaces[0].name = hostile;
  f.project.spaces[0].task_areas[0].name = hostile;
  f.project.designs[0].groups[0].name = hostile;
  f.project.designs[0].luminaires[0].tag = hostile;
  f.project.designs[0].occupancy_sensors[0].tag = hostile;
  f.project.designs[0].scenes[0].name = hostile;
  f.project.luminaire_types[0].name = hostile;
  results::SpaceStudy& s = f.study.spaces[0];
  s.name = s.number = s.kind = hostile;
  s.claims[0].text = hostile + " {value}";
  s.claims[0].test.measure = hostile;
  s.findings[0].evidence = s.findings[0].title = hostile;
  s.egress[0].path = s.egress[0].why = hostile;
  s.scenes[0].name = s.scenes[0].levels[0].first = hostile;
  s.grids[0].quantity = s.pictures[0].quantity = hostile;
  s.moments[0].sentences[0] = hostile;
  s.shares[0].strategy = hostile;
  s.electric[0].task_areas[0].state = hostile;
  f.study.not_to_be_issued_because = {hostile};
  f.study.assumptions[0].value = f.study.assumptions[0].path = hostile;
  const std::string html = page_of(f);
  EXPECT_FALSE(holds(html, "<script"));
  EXPECT_FALSE(holds(html, "<img"));
  EXPECT_EQ(html.find("</style>"), html.rfind("</style>"));
  EXPECT_TRUE(holds(html, "&lt;script&gt;alert(1)"));
}

TEST(Report, SaysWhatMayNotBeIssued) {
  Fixture f = fixture();
  EXPECT_TRUE(holds(page_of(f), "<strong>Not to be issued</strong>"));
  EXPECT_TRUE(holds(page_of(f), "mean of 8.1 lx is below 10.8 lx"));
  f.study.may_be_issued = true;
  EXPECT_FALSE(holds(page_of(f), "<strong>Not to be issued</strong>"));
}

TEST(Report, ClaimsShowFigureIntervalAndTest) {
  const std::string html = page_of(fixture());
  EXPECT_TRUE(holds(html, "<b>46 %</b>"));
  EXPECT_TRUE(holds(html, "<i>41 to 51 %</i>"));
  EXPECT_TRUE(holds(html, "The room uses 46 % less lighting energy than stands there now."));
  EXPECT_TRUE(holds(
      html,
      "Refuted by: kWh of circuit LP1-7 by logger, 15-minute readings; expected 37 to 55 %, over 90 days. "
      "Chance of noticing a shortfall of 10 points: 83 %. Two weeks cannot tell."));
  EXPECT_TRUE(holds(html, "Rests on 14 people, \u00B1 20 %; wall reflectance 0.50."));
  EXPECT_TRUE(holds(html, "a design aid, not an approval"));
}

TEST(Report, NoClaimNoSentence) {
  Fixture f = fixture();
  f.study.spaces[0].claims[0].result = "/spaces/0/no/such/place";
  const std::string html = page_of(f);
  EXPECT_FALSE(holds(html, "The room uses"));
  EXPECT_TRUE(holds(html, "which the study does not hold"));
}

TEST(Report, TablesHaveScopedHeadingsAndPicturesHaveWords) {
  const std::string html = page_of(fixture());
  EXPECT_EQ(html.find("<th>"), std::string::npos) << "every heading has its scope";
  // Each drawing says what it is, or says that it is decoration.
  const std::regex svg("<svg[^>]*>");
  for (auto it = std::sregex_iterator(html.begin(), html.end(), svg); it != std::sregex_iterator(); ++it) {
    const std::string tag = it->str();
    EXPECT_TRUE(holds(tag, "aria-label=") || holds(tag, "aria-hidden=\"true\"")) << tag;
  }
  EXPECT_TRUE(holds(html, "<html lang=\"en\">"));
}

TEST(Report, GoesAsFarAsTheProjectDoes) {
  Fixture f = fixture();
  f.project.designs.clear();
  EXPECT_TRUE(holds(page_of(f), "201 Reading room"));
  f.project.spaces.clear();
  EXPECT_TRUE(holds(page_of(f), "201 Reading room"));
  f.study = {};
  f.project = {};
  EXPECT_TRUE(holds(page_of(f), "</html>"));
}

TEST(Report, PointersReadAsWords) {
  const Fixture f = fixture();
  EXPECT_EQ(place_in_words(f.project, "/spaces/0/reflectances/walls"), "Reading room: reflectances, walls");
  EXPECT_EQ(place_in_words(f.project, "/designs/0/sequences/1/vacancy/delay_s"),
            "Proposal, Head librarian: vacancy, delay");
  EXPECT_EQ(place_in_words(f.project, "/site/latitude_deg"), "site, latitude");
  EXPECT_EQ(place_in_words(f.project, ""), "");
  EXPECT_EQ(place_in_words(f.project, "/spaces/*/occupancy"), "all spaces, occupancy");
  EXPECT_EQ(place_in_words(f.project, "/designs/as_found/luminaires/*/watts"),
            "as found, all luminaires, watts");
  EXPECT_EQ(place_in_words(f.project, "/spaces/99/name"), "spaces 100, name");
}

TEST(Report, ShowsGlareSurfacesScreensAndPoints) {
  const std::string html = page_of(fixture());
  for (const char* text :
       {"Glare and faces", "20.4", "3.2, 1.4, 1.2 m, looking 90\u00B0 from north",
        "1 of its luminaires under 0.0003 sr; 2 of its luminaires over 0.1 sr; 1 in the room without "
        "luminous area",
        "no luminaire in view", "Walls and ceiling", "22.8 cd/m\u00B2", "Screens", "17.4 : 1", "800 : 1",
        "Illuminance at the points of the task areas", ">431<", ">8.3<"})
    EXPECT_TRUE(holds(html, text)) << text;
}

TEST(Report, RulesOfOurOwnCiteNoCode) {
  Fixture f = fixture();
  for (const char* code : {"", "halflight"}) {
    f.study.spaces[0].findings[0].code = code;
    f.study.spaces[0].findings[0].edition = "";
    f.study.spaces[0].findings[0].section = "own rule";
    const std::string html = page_of(f);
    EXPECT_TRUE(holds(html, ">of our own<"));
    EXPECT_FALSE(holds(html, ", own rule"));
  }
}

TEST(Report, ListsOnlyWhatConcernsTheSpacesStudied) {
  Fixture f = fixture();
  f.options.missing.push_back(
      {Diagnostic::Severity::missing, "fixture", "/site/latitude_deg", "no latitude", ""});
  f.options.missing.push_back(
      {Diagnostic::Severity::missing, "fixture", "/designs/0/sequences/1/on", "no rule for on", ""});
  const auto all = page_of(f);
  for (const char* text : {"no way out is drawn", "no latitude", "no rule for on", "2.7 m<"})
    EXPECT_TRUE(holds(all, text)) << text;
  f.study.spaces.resize(1);  // the reading room alone
  const auto one = page_of(f);
  for (const char* text : {"no way out is drawn", "no rule for on", "2.7 m<"})
    EXPECT_FALSE(holds(one, text)) << text;
  EXPECT_TRUE(holds(one, "no latitude"));
  EXPECT_TRUE(holds(one, "0.70")) << "a default of the room studied";
}

TEST(Report, ExplainsSavingsThatStandbyEats) {
  Fixture f = fixture();
  EXPECT_FALSE(holds(page_of(f), "is standby of equipment that stands in this room"));
  results::CaseYear& proposal = f.study.spaces[1].cases[3];
  proposal.standby_kwh.mean = 1.01 * proposal.lighting_kwh.mean;
  EXPECT_TRUE(holds(page_of(f), "is standby of equipment that stands in this room"));
}

TEST(Report, TellsFailuresOfAWayOutOnce) {
  Fixture f = fixture();
  results::SpaceStudy& s = f.study.spaces[0];
  s.egress[0].holds = s.egress[1].holds = false;
  s.findings[0].verdict = results::Finding::Verdict::fail;
  s.findings[0].evidence = "Path way-1, scene Open: dark. Path way-1, vacant: darker.";
  f.study.not_to_be_issued_because = {s.number + " " + s.name + ": " + s.findings[0].evidence};
  const std::string html = page_of(f);
  EXPECT_TRUE(holds(html, "<li>201 Reading room: Path way-1, vacant: darker. So in 1 more state.</li>"));
  EXPECT_FALSE(holds(html, "Path way-1, scene Open"));
}

TEST(Report, SaysTheSameOfAMomentOnce) {
  Fixture f = fixture();
  auto& sentences = f.study.spaces[0].moments[0].sentences;
  sentences = {"Group a: off.", "Group b: off.", "Group a: off."};
  const std::string html = page_of(f);
  EXPECT_EQ(html.find("<li>Group a: off.</li>"), html.rfind("<li>Group a: off.</li>"));
}

// --- cautions

std::set<std::string> ids_of(const domain::Project& p) {
  std::set<std::string> ids;
  for (const Caution& c : applicable_cautions(p)) ids.insert(std::string(c.id));
  return ids;
}

const std::set<std::string> kAlways = {
    "electrician", "isolate",   "dark-may-be-live", "controls-do-not-isolate",
    "egress",      "authority", "estimates"};

domain::Project with_proposal() {
  domain::Project p;
  p.type.kind = domain::ProjectType::Kind::new_building;
  p.designs.resize(1);
  p.designs[0].role = domain::Design::Role::proposal;
  p.spaces.resize(1);
  return p;
}

/// What `change` adds to the cautions of an empty new building.
template <class Change>
std::set<std::string> added_by(Change change) {
  domain::Project p = with_proposal();
  change(p, p.designs[0]);
  std::set<std::string> ids = ids_of(p);
  for (const std::string& id : kAlways) EXPECT_EQ(ids.erase(id), 1U) << id;
  return ids;
}

using Ids = std::set<std::string>;
using domain::Design;
using domain::Project;

TEST(Cautions, SomeApplyToAllWork) { EXPECT_EQ(ids_of(with_proposal()), kAlways); }

TEST(Cautions, OthersFollowFromTheProject) {
  EXPECT_EQ(added_by([](Project& p, Design&) { p.type.kind = domain::ProjectType::Kind::alteration; }),
            Ids{"old-building"});
  EXPECT_EQ(added_by([](Project&, Design& d) { d.luminaires.resize(1), d.luminaires[0].at.z = 2.7; }),
            Ids{"height"});
  EXPECT_EQ(added_by([](Project&, Design& d) { d.luminaires.resize(1), d.luminaires[0].at.z = 1.2; }), Ids{});
  EXPECT_EQ(added_by([](Project&, Design& d) { d.load_controllers.resize(1); }), Ids{"low-voltage-wiring"});
  EXPECT_EQ(added_by([](Project&, Design& d) {
              d.load_controllers.resize(1);
              d.load_controllers[0].action = domain::LoadController::Action::on_off;
            }),
            Ids{});
  EXPECT_EQ(added_by([](Project&, Design& d) { d.sequences.resize(1), d.sequences[0].vacancy.emplace(); }),
            (Ids{"no-flashing", "no-sudden-dark"}));
  EXPECT_EQ(added_by([](Project&, Design& d) {
              d.sequences.resize(1);
              d.sequences[0].vacancy.emplace().step_level = 0.2;  // stays lit: nobody is left in the dark
            }),
            Ids{"no-flashing"});
  EXPECT_EQ(added_by([](Project& p, Design&) { p.spaces[0].automatic_off_refused = true; }),
            Ids{"stairs-and-machines"});
  EXPECT_EQ(added_by([](Project& p, Design&) {
              p.spaces[0].egress_paths.resize(1);
              p.spaces[0].egress_paths[0].surface = domain::EgressPath::Surface::stair;
            }),
            Ids{"stairs-and-machines"});
  EXPECT_EQ(added_by([](Project& p, Design&) {
              p.luminaire_types.resize(1);
              p.luminaire_types[0].channels.resize(2);
              p.luminaire_types[0].channels[0].cct_k = 2700.0;
            }),
            Ids{"no-health-claims"});
  EXPECT_EQ(added_by([](Project&, Design& d) { d.interfaces.resize(1); }), Ids{"network"});
  EXPECT_EQ(added_by([](Project&, Design& d) { d.occupancy_sensors.resize(1); }),
            Ids{"presence-is-personal"});
  EXPECT_EQ(added_by([](Project& p, Design&) { p.spaces[0].plug_loads.controlled_receptacles = 2; }),
            Ids{"receptacles"});
  EXPECT_EQ(added_by([](Project&, Design& d) { d.hvac_hand_offs.resize(1); }), Ids{"ventilation"});
}

TEST(Cautions, WhatStandsTodayIsNotWorkProposed) {
  EXPECT_EQ(added_by([](Project&, Design& d) {
              d.role = Design::Role::as_found;
              d.luminaires.resize(1);
              d.luminaires[0].at.z = 3.0;
              d.occupancy_sensors.resize(1);
            }),
            Ids{});
}

TEST(Cautions, ThoseThatApplyArePrinted) {
  const Fixture f = fixture();
  const std::string html = page_of(f);
  const auto count = [&](const std::string& what) {
    std::size_t n = 0;
    for (std::size_t at = html.find(what); at != std::string::npos; at = html.find(what, at + 1)) ++n;
    return n;
  };
  for (const Caution& c : applicable_cautions(f.project)) {
    EXPECT_EQ(count("id=\"caution-" + std::string(c.id) + "\""), 1U) << c.id;
    // In brief on the building's sheet and on each of the three rooms'.
    EXPECT_GE(count(std::string(c.brief)), 4U) << c.id;
  }
}

}  // namespace
}  // namespace halflight::report
