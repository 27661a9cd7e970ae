#include "base/context.hpp"
#include "cli/cancellation.hpp"
#include "cli/command_line.hpp"
#include "cli/exit_code.hpp"
#include "cli/instant.hpp"
#include "cli/number.hpp"
#include "cli/requirement.hpp"
#include "cli/summary.hpp"
#include "cli/terminal_progress.hpp"

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

namespace halflight::cli {
namespace {

using results::Case;
using results::Finding;
using results::Study;

// --- numbers and moments ---

TEST(Number, TakesTheWholeTextOrNothing) {
  EXPECT_EQ(parse_number<double>("1.5"), 1.5);
  EXPECT_EQ(parse_number<double>("+2e3"), 2000.0);
  EXPECT_EQ(parse_number<int>("-7"), -7);
  for (const char* text : {"", "1,5", "1.5x", " 1", "nan", "inf", "1e999", "0x10"}) {
    EXPECT_EQ(parse_number<double>(text), std::nullopt) << text;
  }
  EXPECT_EQ(parse_number<unsigned>("-1"), std::nullopt);
}

TEST(InstantText, IsReadWithItsOffset) {
  const auto t = parse_iso8601("2003-10-17T12:30:30.25-07:00");
  ASSERT_TRUE(t);
  EXPECT_EQ(t->year, 2003);
  EXPECT_EQ(t->month, 10);
  EXPECT_EQ(t->day, 17);
  EXPECT_EQ(t->second_of_day(), 12 * 3600 + 30 * 60 + 30.25);
  EXPECT_EQ(t->offset_min, -420);
  EXPECT_EQ(parse_iso8601("2026-06-21T12:00Z")->offset_min, 0);
  EXPECT_EQ(parse_iso8601("2026-06-21T12:00+05:30")->offset_min, 330);
}

TEST(InstantText, IsRefusedWhenAmbiguousOrImpossible) {
  const auto problem = [](const char* text) {
    const auto t = parse_iso8601(text);
    return t ? std::string("none") : t.error().front().problem;
  };
  EXPECT_EQ(problem("2026-06-21T12:00"), "'2026-06-21T12:00' has no offset from UTC");
  EXPECT_EQ(problem("2026-02-29T12:00Z"), "'2026-02-29T12:00Z' is not a day of the calendar");
  EXPECT_EQ(problem("2024-02-29T12:00Z"), "none");
  for (const char* text :
       {"", "2026", "2026-6-21T12:00Z", "2026-06-21 12:00Z", "2026-06-21T24:00Z", "2026-06-21T12:60Z",
        "2026-06-21T12:00:60Z", "2026-06-21T12:00+15:00", "2026-06-21T12:00Zulu", "2026-06-21T12:00:Z",
        "2026-06-21T12:00:1.2.3Z", "99999-06-21T12:00Z", "2026-06-21T12:00-0a:00"}) {
    EXPECT_NE(problem(text), "none") << text;
  }
}

TEST(InstantText, CrossesMidnightAndYearsEnd) {
  const auto t = parse_iso8601("2026-12-31T12:00-06:00");
  ASSERT_TRUE(t);
  EXPECT_EQ(to_iso8601(*t, 86400.0 + 61.4), "2027-01-01T00:01:01-06:00");
  EXPECT_EQ(to_iso8601(*t, -1.0), "2026-12-30T23:59:59-06:00");
  EXPECT_EQ(to_iso8601(*parse_iso8601("2024-02-28T00:00+05:45"), 86400.0), "2024-02-29T00:00:00+05:45");
}

// --- a study to judge ---

Study small_study() {
  Study study;
  study.project_name = "Mill Lane Reading Room";
  study.replicates = 128;
  study.seed = 1;
  study.accuracy = "design";
  study.climate = "invented";
  results::SpaceStudy room;
  room.number = "101";
  room.name = "Lesesaal Ü";
  room.area_m2 = 80.0;
  room.lpd_w_m2 = 7.3;
  room.saving.against_as_found = {0.42, 0.30, 0.55, 0.01};
  for (std::size_t c = 0; c < 4; ++c) {
    room.cases[c].lighting_kwh.mean = 1000.0 - 200.0 * static_cast<double>(c);
    room.cases[c].standby_kwh.mean = 10.0;
    study.totals.kwh[c].mean = 1010.0 - 200.0 * static_cast<double>(c);
  }
  results::GroupLight all;
  all.group = "all";
  all.task_areas = {
      {.id = "desks", .state = "initial", .plane = "", .mean_lx = 100.0, .target_lx = 500.0},
      {.id = "desks", .state = "maintained", .plane = "", .mean_lx = 540.0, .target_lx = 500.0},
      {.id = "shelves", .state = "maintained", .plane = "", .mean_lx = 190.0, .target_lx = 200.0}};
  results::GroupLight trimmed;
  trimmed.group = "all";
  trimmed.task_areas = {{.id = "desks",
                         .state = "trimmed",
                         .plane = "",
                         .mean_lx = 500.0,
                         .error_lx = 4.0,
                         .input_spread_lx = 25.0,
                         .target_lx = 500.0}};
  room.electric = {all, trimmed};
  room.egress = {{.path = "p", .state = "vacant", .holds = true, .why = ""},
                 {.path = "p", .state = "normal power lost", .holds = false, .why = "0.4 lx is below 1 lx"}};
  Finding fail;
  fail.code = "Code X";
  fail.edition = "2020";
  fail.section = "5.1";
  fail.title = "Bilevel";
  fail.verdict = Finding::Verdict::fail;
  fail.evidence = "no middle step";
  Finding pass = fail;
  pass.verdict = Finding::Verdict::pass;
  Finding own;
  own.title = "These groups hunt";
  own.verdict = Finding::Verdict::fail;
  own.evidence = "gain 1.3";
  Finding own_pass = own;
  own_pass.title = "A dip warns";
  own_pass.verdict = Finding::Verdict::pass;
  room.findings = {fail, pass, own, own_pass};
  results::SpaceStudy closed;
  closed.number = "102";
  closed.name = "Store";
  closed.studied = false;
  closed.not_studied_because = "it has no floor polygon";
  study.spaces = {room, closed};
  study.totals.area_m2 = 80.0;
  study.totals.connected_w = 584.0;
  study.totals.saving.against_as_found = {0.42, 0.30, 0.55, 0.01};
  study.totals.saving_as_usually_found = {0.35, 0.2, 0.5, 0.01};
  study.may_be_issued = false;
  study.not_to_be_issued_because = {"egress of 101 does not hold"};
  return study;
}

double figure(const char* name, const Study& study) {
  for (const RequirableFigure& f : requirable_figures())
    if (std::string(f.name) == name) return f.value(study).value_or(-999.0);
  ADD_FAILURE() << name;
  return 0.0;
}

TEST(RequirableFigures, AreTakenFromTheRightPlaces) {
  const Study study = small_study();
  EXPECT_EQ(figure("saving_against_as_found", study), 0.42);
  EXPECT_EQ(figure("saving_low_against_as_found", study), 0.30);
  EXPECT_EQ(figure("saving_low_as_usually_found", study), 0.2);
  EXPECT_EQ(figure("as_found_kwh", study), 1010.0);
  EXPECT_EQ(figure("proposal_kwh", study), 410.0);
  EXPECT_EQ(figure("proposal_kwh_per_m2", study), 410.0 / 80.0);
  EXPECT_EQ(figure("connected_w_per_m2", study), 584.0 / 80.0);
  EXPECT_EQ(figure("worst_task_ratio", study), 0.95);  // maintained only: the initial 100 lx do not count
  EXPECT_EQ(figure("egress_holds", study), 0.0);
  EXPECT_EQ(figure("egress_failures", study), 1.0);
  EXPECT_EQ(figure("code_failures", study), 1.0);  // a finding of ours is no code verdict
  EXPECT_EQ(figure("own_rule_failures", study), 1.0);
  EXPECT_EQ(figure("code_passes", study), 1.0);
  EXPECT_EQ(figure("code_needs_evidence", study), 0.0);
  EXPECT_EQ(figure("spaces_studied", study), 1.0);
  EXPECT_EQ(figure("spaces_not_studied", study), 1.0);
  EXPECT_EQ(figure("may_be_issued", study), 0.0);
}

TEST(RequirableFigures, AreSilentWhenNothingWasStudied) {
  // A study of nothing must satisfy no requirement on its content.
  const Study nothing;
  for (const RequirableFigure& f : requirable_figures()) {
    const std::string name = f.name;
    if (name.starts_with("spaces_") || name == "may_be_issued") continue;
    EXPECT_EQ(f.value(nothing), std::nullopt) << name;
  }
}

TEST(RequirableFigures, AreAllDocumented) {
  std::ifstream page(HALFLIGHT_SOURCE_DIR "/docs/command_line.md");
  const std::string text{std::istreambuf_iterator<char>(page), {}};
  for (const RequirableFigure& f : requirable_figures()) {
    const std::string row = std::string("| `") + f.name + "` | " + f.meaning + " |";
    EXPECT_NE(text.find(row), std::string::npos) << row;
  }
}

TEST(RequirementText, IsParsedAndJudged) {
  const Study study = small_study();
  const auto judged = [&](const char* text) {
    const auto requirement = parse_requirement(text);
    if (!requirement) return "refused: " + requirement.error().front().problem;
    return judge(*requirement, study).text;
  };
  EXPECT_EQ(judged("saving_against_as_found>=0.42"), "holds: saving_against_as_found>=0.42 (is 0.42)");
  EXPECT_EQ(judged("saving_against_as_found >= 0.43"),
            "does not hold: saving_against_as_found >= 0.43 (is 0.42)");
  EXPECT_EQ(judged("egress_failures<=0"), "does not hold: egress_failures<=0 (is 1)");
  EXPECT_EQ(judged("egress_failures<=1"), "holds: egress_failures<=1 (is 1)");
  EXPECT_EQ(judged("egress_holds==true"), "does not hold: egress_holds==true (is 0)");
  EXPECT_EQ(judged("egress_holds==false"), "holds: egress_holds==false (is 0)");
  EXPECT_EQ(judged("egress_holds"), "refused: 'egress_holds' has no comparison");
  EXPECT_EQ(judged("egress_holds=1"), "refused: 'egress_holds=1' has no comparison");
  EXPECT_EQ(judged("egress_holds>0"), "refused: 'egress_holds>0' has no comparison");
  EXPECT_EQ(judged("code_failures<=0,5"), "refused: '0,5' is not a number");
  EXPECT_EQ(judged("savings>=0.2"), "refused: 'savings' is not a figure of a study");
  const auto unknown = parse_requirement("savings>=0.2");
  EXPECT_NE(unknown.error().front().remedy.find("saving_low_against_as_found"), std::string::npos);
  const auto untellable = judge(*parse_requirement("worst_task_ratio>=0"), Study{});
  EXPECT_FALSE(untellable.holds);
  EXPECT_EQ(untellable.text, "does not hold: worst_task_ratio>=0 (the study cannot tell)");
}

TEST(Summary, SaysWhatAPersonAsks) {
  const std::string text = summary_text(small_study());
  for (const char* line : {
           "Mill Lane Reading Room\n  128 replicates, seed 1, accuracy design; climate: invented\n",
           "  Space            m2   W/m2   as found   relamped   code min.   proposal   saving against as "
           "found\n"
           "  101 Lesesaal Ü   80    7.3       1010        810         610        410       42 % (30 % to 55 "
           "%)\n"
           "  Total            80    7.3       1010        810         610        410       42 % (30 % to 55 "
           "%)\n",
           "Electric light on task areas (1): the calculation is within 0.8 % (median; 0.8 % at most) at 19 "
           "of "
           "20 points;\n  reflectances, photometry and light loss leave 10 % (median) in the mean\n",
           "Egress: does not hold\n  fails   101 p in 1 of 2 states; normal power lost: 0.4 lx is below 1 "
           "lx\n",
           "Code: 1 pass, 1 fail, 0 need evidence, 0 do not apply\n  fails   101 Code X 2020 5.1 Bilevel: no "
           "middle step\n",
           "Rules of our own\n  fails           101 These groups hunt: gain 1.3\n",
           "Not studied\n  102 Store: it has no floor polygon\n",
           "Not to be issued because\n  egress of 101 does not hold\n",
           "Estimates, not guarantees.",
       }) {
    EXPECT_NE(text.find(line), std::string::npos) << "missing:\n" << line << "\nin:\n" << text;
  }
}

TEST(Summary, IsSilentAboutRulesThatHold) {
  EXPECT_EQ(summary_text(small_study()).find("A dip warns"), std::string::npos);
}

TEST(Summary, ShowsNoMoreDigitsThanTheIntervalCarries) {
  Study study = small_study();
  study.totals.kwh[0] = {1013.4, 930.0, 1090.0, 1.0};  // half width 80: to tens
  EXPECT_NE(summary_text(study).find("1010"), std::string::npos);
  EXPECT_EQ(summary_text(study).find("1013"), std::string::npos);
  EXPECT_EQ(percent_text({-2.04, -3.62, -1.01, 0.1}), "-200 % (-360 % to -100 %)");
}

TEST(Summary, MarksSavingsThatStandbyEats) {
  Study study = small_study();
  EXPECT_EQ(summary_text(study).find("standby of equipment"), std::string::npos);
  results::CaseYear& proposal = study.spaces[0].cases[3];
  proposal.standby_kwh.mean = proposal.lighting_kwh.mean + 1.0;
  EXPECT_NE(summary_text(study).find("%) *\n"), std::string::npos);
  EXPECT_NE(summary_text(study).find("standby of equipment"), std::string::npos);
}

TEST(Summary, TellsFailuresOfAWayOutOnce) {
  Study study = small_study();
  results::SpaceStudy& room = study.spaces[0];
  room.egress[0].holds = false;
  study.not_to_be_issued_because = {room.number + " " + room.name +
                                    ": Path p, vacant: dark. Path p, normal power lost: dark."};
  EXPECT_NE(summary_text(study).find("Path p, vacant: dark. So in 1 more state.\n"), std::string::npos)
      << summary_text(study);
}

TEST(Summary, HasNoNegativeZeroAndNoFiguresForAnEmptyStudy) {
  EXPECT_EQ(percent_text({-0.001, -0.12, 0.004, 0.0}), "0 % (-12 % to 0 %)");
  const std::string text = summary_text(Study{});
  EXPECT_NE(text.find("No space could be studied."), std::string::npos);
  EXPECT_EQ(text.find("Saving"), std::string::npos);
}

// --- progress and signals ---

TEST(ProgressLine, TellsTheTimeLeftOnceItCan) {
  EXPECT_EQ(progress_line("light", 0, 8, 5.0), "light: 0 % (0 of 8)");
  EXPECT_EQ(progress_line("light", 2, 8, 0.5), "light: 25 % (2 of 8)");
  EXPECT_EQ(progress_line("light", 2, 8, 5.0), "light: 25 % (2 of 8), about 15 s left");
  EXPECT_EQ(progress_line("light", 1, 101, 3.0), "light: 0 % (1 of 101), about 5 min left");
  EXPECT_EQ(progress_line("light", 8, 8, 5.0), "light: 100 % (8 of 8)");
  EXPECT_EQ(progress_line("light", 0, 0, 5.0), "light");
}

int exit_code_after_signals(int signals) {
  const pid_t child = ::fork();
  if (child == 0) {
    ::close(STDERR_FILENO);
    const Cancellation cancellation;
    for (int i = 0; i < signals; ++i) {
      ::kill(::getpid(), i == 0 ? SIGINT : SIGTERM);
      // Two signals that are pending together count as one; wait until the first has been taken.
      for (int wait = 0; i == 0 && wait < 1000 && !cancellation.token().stop_requested(); ++wait)
        ::usleep(1000);
    }
    if (signals > 1) ::sleep(5);  // not slept out: the second signal ends the process
    ::_exit(cancellation.token().stop_requested() ? 10 : 20);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

TEST(CancellationBySignal, FirstAsksSecondEnds) {
  EXPECT_EQ(exit_code_after_signals(0), 20);
  EXPECT_EQ(exit_code_after_signals(1), 10);
  EXPECT_EQ(exit_code_after_signals(2), ExitCode::cancelled);
}

// --- the command line ---

CommandLine parsed(std::vector<const char*> words) {
  words.insert(words.begin(), "halflight");
  return parse_command_line(static_cast<int>(words.size()), words.data());
}

std::string usage_error(std::vector<const char*> words) {
  const CommandLine line = parsed(std::move(words));
  const auto* error = std::get_if<UsageError>(&line);
  return error == nullptr ? "understood" : error->text;
}

TEST(CommandLineText, StudyIsReadWhole) {
  const CommandLine line = parsed({"study",      "p.json",
                                   "--space",    "a",
                                   "--space",    "b",
                                   "--out",      "r",
                                   "--json",     "s.json",
                                   "--seed",     "4294967295",
                                   "--threads",  "7",
                                   "--accuracy", "proof",
                                   "--require",  "code_failures==0",
                                   "--require",  "egress_holds==1",
                                   "--no-cache", "--cache-report"});
  const auto* study = std::get_if<StudyCommand>(&line);
  ASSERT_NE(study, nullptr);
  EXPECT_EQ(study->project, "p.json");
  EXPECT_EQ(study->spaces, (std::vector<std::string>{"a", "b"}));
  EXPECT_EQ(study->out, "r");
  EXPECT_EQ(study->json, "s.json");
  EXPECT_EQ(study->seed, 4'294'967'295U);
  EXPECT_EQ(study->threads, 7u);
  EXPECT_EQ(study->accuracy, sim::Accuracy::proof);
  ASSERT_EQ(study->requirements.size(), 2u);
  EXPECT_EQ(study->requirements[1].text, "egress_holds==1");
  EXPECT_TRUE(study->no_cache);
  EXPECT_TRUE(study->cache_report);
}

TEST(CommandLineText, OptionsMayStandBeforeTheProject) {
  const CommandLine line = parsed({"study", "--space", "a", "--require", "egress_holds==1", "p.json"});
  const auto* study = std::get_if<StudyCommand>(&line);
  ASSERT_NE(study, nullptr);
  EXPECT_EQ(study->project, "p.json");
  EXPECT_EQ(study->spaces, std::vector<std::string>{"a"});
}

TEST(CommandLineText, SunTakesNegativeNumbers) {
  const CommandLine line = parsed({"sun", "--latitude", "-33.9", "--longitude", "-70.5", "--elevation", "-10",
                                   "--time", "2026-06-21T12:00Z"});
  const auto* sun = std::get_if<SunCommand>(&line);
  ASSERT_NE(sun, nullptr);
  EXPECT_EQ(sun->latitude_deg, -33.9);
  EXPECT_EQ(sun->longitude_deg, -70.5);
  EXPECT_EQ(sun->elevation_m, -10.0);
}

TEST(CommandLineText, ErrorsSayWhatWouldBeRight) {
  const auto says = [](const std::string& text, const char* part) {
    EXPECT_NE(text.find(part), std::string::npos) << "'" << part << "' is not in: " << text;
  };
  says(usage_error({}), "Examples:");
  says(usage_error({"frobnicate"}), "--help");
  says(usage_error({"study"}), "project");
  says(usage_error({"study", "p.json", "--seed", "-1"}), "'-1' is not a number from 0 to 4294967295");
  says(usage_error({"study", "p.json", "--threads", "0"}), "'0' is not a number from 1 to 1024");
  says(usage_error({"study", "p.json", "--accuracy", "best"}), "best");
  says(usage_error({"study", "p.json", "--accuracy", "best"}), "proof");
  says(usage_error({"study", "p.json", "--require", "savings>=1"}), "one of saving_against_as_found, ");
  says(usage_error({"study", "p.json", "--cache", "c", "--no-cache"}), "--no-cache");
  says(usage_error({"sun", "--latitude", "91", "--longitude", "0", "--time", "2026-06-21T12:00Z"}),
       "from -90 to 90 degrees");
  says(usage_error({"sun", "--latitude", "5,5", "--longitude", "0", "--time", "2026-06-21T12:00Z"}),
       "'5,5' is not a number");
  says(usage_error({"sun", "--latitude", "5", "--longitude", "0", "--time", "2026-06-21T12:00"}),
       "no offset from UTC");
}

TEST(CommandLineText, HelpNamesEveryFigure) {
  const CommandLine line = parsed({"study", "--help"});
  const auto* help = std::get_if<Notice>(&line);
  ASSERT_NE(help, nullptr);
  for (const RequirableFigure& f : requirable_figures())
    EXPECT_NE(help->text.find(f.name), std::string::npos) << f.name;
  EXPECT_TRUE(std::holds_alternative<Notice>(parsed({"--help"})));
  EXPECT_EQ(std::get<Notice>(parsed({"--version"})).text.rfind("halflight ", 0), 0u);
}

}  // namespace
}  // namespace halflight::cli
