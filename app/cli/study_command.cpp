#include "base/context.hpp"
#include "choose/what_if.hpp"
#include "cli/cache.hpp"
#include "cli/cancellation.hpp"
#include "cli/chosen_spaces.hpp"
#include "cli/commands.hpp"
#include "cli/diagnostics_output.hpp"
#include "cli/exit_code.hpp"
#include "cli/instant.hpp"
#include "cli/number.hpp"
#include "cli/summary.hpp"
#include "cli/terminal_progress.hpp"
#include "cli/what_if_output.hpp"
#include "files/disk_blob_store.hpp"
#include "files/file.hpp"
#include "formats/point_values_csv.hpp"
#include "formats/study_json.hpp"
#include "projects/project_files.hpp"
#include "projects/variants.hpp"
#include "projects/what_if_json.hpp"
#include "report/report.hpp"
#include "sim/explain.hpp"
#include "sim/study.hpp"

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <memory>
#include <string>

#include <fmt/format.h>

namespace halflight::cli {

namespace {

namespace fs = std::filesystem;

/// What stands against studying the project at all: errors, places that the results cannot be written to,
/// spaces that it does not have. Found before the long work begins.
Diagnostics obstacles(const StudyCommand& command, const projects::ProjectFiles& files) {
  Diagnostics found = against_lighting(files.diagnostics, command.spaces, files.document.project());
  if (command.out) {
    if (const auto made = files::make_folder(*command.out); !made) {
      found.insert(found.end(), made.error().begin(), made.error().end());
    }
  }
  for (const std::optional<fs::path>& file : {command.json, command.points}) {
    if (!file) continue;
    const fs::path folder = file->has_parent_path() ? file->parent_path() : ".";
    std::error_code ignored;
    if (!fs::is_directory(folder, ignored)) {
      found.push_back({Diagnostic::Severity::error, file->string(), "", "its folder does not exist",
                       "make the folder first"});
    }
  }
  return found;
}

/// Today in universal time, or the day of SOURCE_DATE_EPOCH for reports that are to be equal byte by byte.
std::string date_text() {
  using namespace std::chrono;
  sys_seconds now = floor<seconds>(system_clock::now());
  if (const char* pinned = std::getenv("SOURCE_DATE_EPOCH")) {
    if (const auto epoch_s = parse_number<std::int64_t>(pinned)) now = sys_seconds(seconds(*epoch_s));
  }
  const year_month_day date(floor<days>(now));
  return fmt::format("{:04}-{:02}-{:02}", int(date.year()), unsigned(date.month()), unsigned(date.day()));
}

int write(const fs::path& path, const std::string& text, const char* label) {
  if (const auto saved = files::write_file_atomically(path, files::as_bytes(text)); !saved) {
    print_diagnostics(saved.error());
    return ExitCode::bad_input;
  }
  fmt::print("{} {}\n", label, path.string());
  return ExitCode::done;
}

/// One instant instead of a study.
int explain(const StudyCommand& command, const sim::StudyInputs& inputs, const sim::StudyOptions& options,
            Cache& cache, const Cancellation& cancellation) {
  const domain::Project& project = inputs.project;
  const CivilTime clock = sim::clock_of(project.site);
  const Result<Seconds> standard = second_of_year(*command.explain, project.site.calendar_year, clock,
                                                  project.site.utc_offset_h, "--explain");
  if (!standard) {
    print_diagnostics(standard.error());
    return ExitCode::bad_input;
  }
  if (command.building_year > options.building_years()) {
    print_diagnostics({{Diagnostic::Severity::error, "--building-year", "",
                        fmt::format("a study runs {} building-years", options.building_years()),
                        fmt::format("give 1 to {}", options.building_years())}});
    return ExitCode::bad_input;
  }
  std::vector<std::size_t> spaces;
  for (std::size_t s = 0; s < project.spaces.size(); ++s)
    if (options.spaces.empty() ||
        std::find(options.spaces.begin(), options.spaces.end(), project.spaces[s].id) != options.spaces.end())
      spaces.push_back(s);

  const auto executor = make_pool_executor(command.threads);
  auto progress = make_terminal_progress();
  const sim::ExplainedInstant instant =
      sim::explain_spaces(inputs, options, spaces, command.building_year - 1, *standard,
                          Context{*executor, cache.store(), progress.get(), cancellation.token()});
  progress.reset();
  fmt::print(
      "{}\n  {} by the clocks of the site\n  building-year {} of {}, seed {}, accuracy {}; weather year "
      "{} of {}: {}\n{}",
      project.name, clock_text(*standard, project.site.calendar_year, clock, project.site.utc_offset_h),
      command.building_year, options.building_years(), options.seed, sim::name_of(options.accuracy),
      instant.weather_year + 1, instant.weather_years, instant.climate, explained_text(instant, project));
  cache.warn_of_trouble();
  return ExitCode::done;
}

/// Values of one thing instead of a study.
int vary(const StudyCommand& command, const projects::ProjectFiles& files, const sim::StudyInputs& inputs,
         sim::StudyOptions options, Cache& cache, const Cancellation& cancellation) {
  const auto refuse = [](const Diagnostics& problems) {
    print_diagnostics(problems);
    return ExitCode::bad_input;
  };
  const std::size_t equals = command.vary->find('=');
  if (equals == std::string::npos || command.spaces.size() != 1)
    return refuse({{Diagnostic::Severity::error, "--vary", "",
                    equals == std::string::npos ? "no values are given" : "one space is varied at a time",
                    "write --space ID --vary 'delay=5 min,10 min'"}});
  const std::string what = command.vary->substr(0, equals);
  std::vector<std::string> values;
  for (std::size_t begin = equals + 1; begin <= command.vary->size();) {
    const std::size_t end = std::min(command.vary->find(',', begin), command.vary->size());
    values.push_back(command.vary->substr(begin, end - begin));
    begin = end + 1;
  }
  const std::string& id = command.spaces.front();
  const Result<projects::Variation> variation = projects::variation_of(files.document, id, what);
  if (!variation) return refuse(variation.error());
  const auto others = projects::files_in(command.project.parent_path());
  std::vector<projects::ProjectFiles> variants;
  for (const std::string& value : values) {
    Result<projects::ProjectFiles> variant = projects::variant_of(files, *others, *variation, value);
    if (!variant) return refuse(variant.error());
    variants.push_back(*std::move(variant));
  }
  std::vector<const domain::Project*> as_projects;
  for (const projects::ProjectFiles& variant : variants) as_projects.push_back(&variant.document.project());
  const std::vector<domain::Space>& spaces = inputs.project.spaces;
  const auto space =
      std::find_if(spaces.begin(), spaces.end(), [&](const domain::Space& one) { return one.id == id; });

  options.points_per_scramble = sim::kPointsOfTrials;
  const auto executor = make_pool_executor(command.threads);
  auto progress = make_terminal_progress();
  lightresponse::StageLog log;
  const Result<std::vector<choose::WhatIf>> found = choose::what_if(
      inputs, static_cast<std::size_t>(space - spaces.begin()), as_projects, variation->light_stays, options,
      Context{*executor, cache.store(), progress.get(), cancellation.token()}, log);
  progress.reset();
  if (!found) return refuse(found.error());
  fmt::print("{} {}: what {} would make of it, {} building-years each\n{}", space->number, space->name, what,
             options.building_years(), what_if_text(values, *found));
  fmt::print("\n{}", caution_text());
  cache.warn_of_trouble();
  if (command.json)
    return write(*command.json, projects::what_if_json(id, what, values, *found).dump(2) + "\n", "Results:");
  return ExitCode::done;
}

}  // namespace

int run(const StudyCommand& command) {
  const Cancellation cancellation;  // before any other thread
  const auto files = projects::read_project(command.project);
  if (!files) {
    print_diagnostics(files.error());
    return ExitCode::bad_input;
  }
  if (const Diagnostics against = obstacles(command, *files); !against.empty()) {
    print_diagnostics(against);
    return ExitCode::bad_input;
  }
  print_diagnostics(files->diagnostics);

  const sim::StudyInputs inputs = projects::study_inputs(*files, projects::years_content_keys(*files));
  sim::StudyOptions options;
  options.accuracy = command.accuracy;
  options.seed = command.seed;
  options.spaces = command.spaces;

  Cache cache(command.cache, command.no_cache, "the study");
  if (command.vary) return vary(command, *files, inputs, options, cache, cancellation);
  if (command.explain) return explain(command, inputs, options, cache, cancellation);
  const auto executor = make_pool_executor(command.threads);
  auto progress = make_terminal_progress();
  const results::Study study = sim::run_study(
      inputs, options, Context{*executor, cache.store(), progress.get(), cancellation.token()});
  progress.reset();  // clears its line

  fmt::print("{}\n", summary_text(study));
  if (command.cache_report) fmt::print("{}\n", cache_report_text(study.cache));
  cache.warn_of_trouble();

  int code = ExitCode::done;
  for (const Requirement& requirement : command.requirements) {
    const Judgement judgement = judge(requirement, study);
    fmt::print("{}\n", judgement.text);
    if (!judgement.holds) code = ExitCode::does_not_hold;
  }
  if (command.out) {
    const report::ReportOptions report_options{
        .revision = "", .date = date_text(), .missing = files->diagnostics};
    const std::string html = report::html_report(study, inputs.project, report_options);
    if (const int failed = write(*command.out / "index.html", html, "Report: ")) return failed;
  }
  if (command.json) {
    if (const int failed = write(*command.json, formats::study_json(study), "Results:")) return failed;
  }
  if (command.points) {
    if (const int failed = write(*command.points, formats::point_values_csv(study), "Points: "))
      return failed;
  }
  return code;
}

}  // namespace halflight::cli
