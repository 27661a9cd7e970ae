#pragma once
#include "domain/project.hpp"
#include "results/study.hpp"
#include "sim/explain.hpp"

#include <string>

namespace halflight::cli {

/// A study as a page of text for a terminal: energy of each space and of the building by case, the saving
/// with its interval, egress, code verdicts, and what is missing. The HTML report holds the rest.
std::string summary_text(const results::Study& study);

/// What stands under everything that is computed of a design.
std::string caution_text();

/// What was computed and what was found in the cache, by stage.
std::string cache_report_text(const results::CacheReport& report);

/// Each space of an instant: the words, then its groups as they stand.
std::string explained_text(const sim::ExplainedInstant& instant, const domain::Project& project);

/// "31 % (22 % to 40 %)": whole percents, since no interval of a study is narrower than a few of them.
std::string percent_text(const results::Estimate& fraction);

}  // namespace halflight::cli
