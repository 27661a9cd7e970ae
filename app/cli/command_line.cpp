#include "cli/command_line.hpp"

#include "cli/number.hpp"

#include <map>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

namespace halflight::cli {

namespace {

constexpr const char* kDescription =
    "Halflight works out how the lighting of a building should be controlled: the light in each room, who\n"
    "is there, what sensors see, what the controls do, the energy that is left, and whether it meets code.\n"
    "Every saving comes with its interval and with the test that could refute it.\n";

constexpr const char* kFooter =
    "Examples:\n"
    "  halflight study library.halflight.json --out report/\n"
    "      study every space; report/index.html is the report\n"
    "  halflight study library.halflight.json --space 101 --accuracy draft\n"
    "      one room, quickly\n"
    "  halflight study library.halflight.json --require 'saving_low_against_as_found>=0.2' --require "
    "egress_holds==1\n"
    "      exit with 1 unless both hold; 'halflight study --help' names the figures\n"
    "  halflight study library.halflight.json --space 101 --explain 2026-03-17T14:35\n"
    "      who was there, what the sensors saw, and why each group stood where it stood\n"
    "  halflight study library.halflight.json --space 101 --vary 'delay=5 min,10 min,20 min'\n"
    "      energy and comfort at each of these delays, in the same building-years\n"
    "  halflight propose library.halflight.json --space 106 --out proposed.halflight.json\n"
    "      find the levels of its scenes at least power, and write them into a document\n"
    "  halflight validate library.halflight.json\n"
    "  halflight photometry downlight.ies --svg downlight.svg\n"
    "  halflight serve library.halflight.json\n"
    "      the workbench, in a browser on this machine\n"
    "  halflight sun --latitude 51.48 --longitude 0 --time 2026-06-21T12:00:00+01:00\n"
    "\n"
    "Exit codes: 0 done; 1 something asked with --require does not hold; 2 bad input; 3 internal fault;\n"
    "130 cancelled. Results go to standard output, all else to standard error.\n";

std::string requirable_help() {
  std::string text = "Figures for --require, compared with >=, <= or ==:\n";
  for (const RequirableFigure& figure : requirable_figures()) {
    text += fmt::format("  {:<34}{}\n", figure.name, figure.meaning);
  }
  return text;
}

/// An option whose value is a number in [low, high], read without regard to the machine's language. `into` is
/// the number or an optional of it.
template <class Number, class Into>
CLI::Option* add_number(CLI::App& app, const std::string& name, Into& into, const std::string& description,
                        Number low, Number high, const std::string& unit = "") {
  const auto take = [&into, name, low, high, unit](const std::string& text) {
    const auto value = parse_number<Number>(text);
    if (!value || *value < low || *value > high) {
      throw CLI::ValidationError(
          fmt::format("{}: '{}' is not a number from {} to {}{}", name, text, low, high, unit));
    }
    into = *value;
  };
  return app.add_option_function<std::string>(name, take, description)->type_name("NUMBER");
}

/// The value of `result`, or its diagnostics as CLI11's error.
template <class T>
T value_or_throw(Result<T> result) {
  if (!result)
    throw CLI::ValidationError(to_text(result.error().front()).substr(std::string_view("error: ").size()));
  return std::move(*result);
}

void add_json_flag(CLI::App& app, bool& json) {
  app.add_flag("--json", json, "print JSON, for programs to read");
}

void add_accuracy(CLI::App& app, sim::Accuracy& accuracy) {
  app.add_option("--accuracy", accuracy, "draft, design (default) or proof: slower and finer in this order")
      ->transform(
          CLI::CheckedTransformer(std::map<std::string, sim::Accuracy>{{"draft", sim::Accuracy::draft},
                                                                       {"design", sim::Accuracy::design},
                                                                       {"proof", sim::Accuracy::proof}})
              .description(""))
      ->type_name("LEVEL");
}

void add_cache(CLI::App& app, std::optional<std::filesystem::path>& folder, bool& none) {
  CLI::Option* cache =
      app.add_option("--cache", folder, "keep computed light in this folder (default: the user's cache)")
          ->type_name("DIR");
  app.add_flag("--no-cache", none, "keep nothing on the disk")->excludes(cache);
}

void add_spaces(CLI::App& app, std::vector<std::string>& spaces, const std::string& description) {
  app.add_option("--space", spaces, description)->type_name("ID")->expected(1)->take_all();
}

void add_threads(CLI::App& app, std::size_t& threads) {
  add_number<std::size_t>(app, "--threads", threads,
                          "threads (default: all of the machine); never changes a result", 1, 1024);
}

CLI::App* add_propose(CLI::App& app, ProposeCommand& propose) {
  CLI::App* sub =
      app.add_subcommand("propose", "Find control designs for rooms, and levels for their scenes");
  sub->add_option("project", propose.project, "the project's document (*.halflight.json)")
      ->required()
      ->type_name("PROJECT");
  add_spaces(*sub, propose.spaces, "only this space (its id); may be given again");
  sub->add_option(
         "--keep", propose.keep,
         "part of each room that stays as it is: occupancy, daylight, stations, controllers, receptacles, "
         "or none; may be given again; left out: whatever the document has decided")
      ->type_name("PART")
      ->delimiter(',')
      ->check(CLI::IsMember({"occupancy", "daylight", "stations", "controllers", "receptacles", "none"}));
  add_number<double>(
      *sub, "--largest-step", propose.largest_step,
      "in a scene, most per cent by which the levels of groups with luminaires of one type side "
      "by side may differ (default: any)",
      0.0, 100.0, " %");
  sub->add_option("--take", propose.take,
                  "which design --out takes for each room: \"least cost\", \"most for the money\" (default), "
                  "\"least energy\", \"least light taken from people\" or \"most for the building's money\"")
      ->type_name("DESIGN")
      ->check(CLI::IsMember({"least cost", "most for the money", "least energy",
                             "least light taken from people", "most for the building's money"}));
  sub->add_option("--out", propose.out, "write the document with what was found to this file")
      ->type_name("FILE");
  sub->add_option("--json", propose.json, "write what was found as JSON to this file")->type_name("FILE");
  add_threads(*sub, propose.threads);
  add_accuracy(*sub, propose.accuracy);
  add_cache(*sub, propose.cache, propose.no_cache);
  return sub;
}

CLI::App* add_study(CLI::App& app, StudyCommand& study) {
  CLI::App* sub = app.add_subcommand("study", "Study a project: light, a year of use, energy, rules, claims");
  sub->add_option("project", study.project, "the project's document (*.halflight.json)")
      ->required()
      ->type_name("PROJECT");
  add_spaces(*sub, study.spaces, "study only this space (its id); may be given again");
  sub->add_option("--out", study.out, "write the report into this folder")->type_name("DIR");
  sub->add_option("--json", study.json, "write the results as JSON to this file")->type_name("FILE");
  sub->add_option("--points", study.points,
                  "write the light at every point as comma-separated text to this file")
      ->type_name("FILE");
  add_number<std::uint32_t>(*sub, "--seed", study.seed,
                            "seed of the random draws (default 1); another seed, another sample", 0,
                            4'294'967'295U);
  add_threads(*sub, study.threads);
  add_accuracy(*sub, study.accuracy);
  sub->add_option_function<std::vector<std::string>>(
         "--require",
         [&study](const std::vector<std::string>& texts) {
           for (const std::string& text : texts)
             study.requirements.push_back(value_or_throw(parse_requirement(text)));
         },
         "exit with 1 unless this holds, e.g. 'code_failures==0'; may be given again")
      ->type_name("NAME>=VALUE")
      ->expected(1)
      ->take_all();
  add_cache(*sub, study.cache, study.no_cache);
  sub->add_flag("--cache-report", study.cache_report,
                "say what was computed and what was found in the cache");
  CLI::Option* explain = sub->add_option_function<std::string>(
                                "--explain",
                                [&study](const std::string& text) {
                                  study.explain =
                                      value_or_throw(parse_iso8601(text, "--explain", Offset::optional));
                                },
                                "instead of a study, say why the light is as it is at this instant by the "
                                "clocks of the site, as "
                                "in 2026-03-17T14:35")
                             ->type_name("TIME");
  CLI::Option* const year = add_number<std::uint32_t>(
      *sub, "--building-year", study.building_year,
      "which building-year --explain looks at (default 1, the one that the report draws)", 1, 4'294'967'295U);
  year->needs(explain);
  CLI::Option* const vary =
      sub->add_option(
             "--vary", study.vary,
             "instead of a study, say what each value of one thing would make of one space, in the "
             "same building-years: delay, vacancy-level, trim, daylight-minimum, or the JSON pointer "
             "of a value, as in 'delay=5 min,10 min,20 min'")
          ->type_name("WHAT=VALUES");
  for (const char* of_a_study : {"--out", "--points", "--require", "--cache-report"}) {
    explain->excludes(of_a_study);
    vary->excludes(of_a_study);
  }
  explain->excludes("--json");
  explain->excludes(vary);
  sub->footer(requirable_help());
  return sub;
}

CLI::App* add_validate(CLI::App& app, ValidateCommand& validate) {
  CLI::App* sub =
      app.add_subcommand("validate", "Check a project's document: what is wrong, doubtful or missing");
  sub->add_option("project", validate.project, "the project's document (*.halflight.json)")
      ->required()
      ->type_name("PROJECT");
  add_json_flag(*sub, validate.json);
  return sub;
}

CLI::App* add_photometry(CLI::App& app, PhotometryCommand& photometry) {
  CLI::App* sub = app.add_subcommand(
      "photometry",
      "Describe a photometric file (IES LM-63 or EULUMDAT) and say what looks suspicious in it");
  sub->add_option("file", photometry.file, "the photometric file")->required()->type_name("FILE");
  sub->add_option("--svg", photometry.svg, "draw the polar diagram into this file")->type_name("FILE");
  add_number<int>(*sub, "--lamp-set", photometry.lamp_set,
                  "which set of lamps of an EULUMDAT file is installed (default: the first)", 1, 20);
  add_json_flag(*sub, photometry.json);
  return sub;
}

CLI::App* add_serve(CLI::App& app, ServeCommand& serve) {
  CLI::App* sub = app.add_subcommand("serve", "Open the workbench: pages in a browser on this machine");
  sub->add_option("project", serve.projects,
                  "documents (*.halflight.json) to take in, with the files beside them")
      ->type_name("PROJECT");
  add_number<int>(*sub, "--port", serve.port, "port on this machine (default 8137); 0: any that is free", 0,
                  65535);
  sub->add_option("--store", serve.store, "keep projects in this file (default: in the user's data folder)")
      ->type_name("FILE");
  sub->add_option("--cache", serve.cache, "keep computed light in this folder (default: the user's cache)")
      ->type_name("DIR");
  return sub;
}

CLI::App* add_sun(CLI::App& app, SunCommand& sun) {
  CLI::App* sub = app.add_subcommand("sun", "Where the sun stands, and when it rises and sets");
  add_number<double>(*sub, "--latitude", sun.latitude_deg, "degrees, north positive", -90.0, 90.0, " degrees")
      ->required();
  add_number<double>(*sub, "--longitude", sun.longitude_deg, "degrees, east positive", -180.0, 180.0,
                     " degrees")
      ->required();
  add_number<double>(*sub, "--elevation", sun.elevation_m, "metres above the sea (default 0)", -500.0, 9000.0,
                     " metres");
  add_number<double>(*sub, "--pressure", sun.pressure_hpa,
                     "air pressure in hPa, for refraction (default: standard at the elevation)", 0.0, 1100.0,
                     " hPa");
  add_number<double>(*sub, "--temperature", sun.temperature_c,
                     "air temperature in deg C, for refraction (default 10)", -80.0, 60.0, " deg C");
  sub->add_option_function<std::string>(
         "--time", [&sun](const std::string& text) { sun.time = value_or_throw(parse_iso8601(text)); },
         "moment in ISO 8601 with its offset from UTC, as in 2026-06-21T12:00:00+01:00")
      ->required()
      ->type_name("TIME");
  add_json_flag(*sub, sun.json);
  return sub;
}

}  // namespace

CommandLine parse_command_line(int argc, const char* const* argv) {
  StudyCommand study;
  ProposeCommand propose;
  ValidateCommand validate;
  PhotometryCommand photometry;
  SunCommand sun;

  CLI::App app(kDescription, "halflight");
  app.footer(kFooter);
  app.set_version_flag("--version", "halflight " HALFLIGHT_VERSION, "print the version");
  app.require_subcommand(1);
  const CLI::App* const study_app = add_study(app, study);
  const CLI::App* const propose_app = add_propose(app, propose);
  const CLI::App* const validate_app = add_validate(app, validate);
  const CLI::App* const photometry_app = add_photometry(app, photometry);
  const CLI::App* sun_app = add_sun(app, sun);
  ServeCommand serve;
  add_serve(app, serve);

  try {
    app.parse(argc, argv);
  } catch (const CLI::CallForVersion&) {
    return Notice{app.version() + "\n"};
  } catch (const CLI::CallForHelp&) {
    const auto chosen = app.get_subcommands();
    return Notice{chosen.empty() ? app.help() : chosen.front()->help("halflight")};
  } catch (const CLI::ParseError& error) {
    if (argc < 2) return UsageError{app.help()};
    const auto chosen = app.get_subcommands();
    const std::string which = chosen.empty() ? "" : " " + chosen.front()->get_name();
    return UsageError{fmt::format("error: {}\n'halflight{} --help' explains.\n", error.what(), which)};
  }
  if (study_app->parsed()) return study;
  if (propose_app->parsed()) return propose;
  if (validate_app->parsed()) return validate;
  if (photometry_app->parsed()) return photometry;
  if (sun_app->parsed()) return sun;
  return serve;
}

}  // namespace halflight::cli
