#pragma once
#include "domain/names.hpp"
#include "domain/project.hpp"
#include "report/markup.hpp"
#include "report/report.hpp"
#include "results/study.hpp"
#include "results/study_document.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace halflight::report {

using domain::named;

/// What every part of the report reads.
struct Book {
  const results::Study& study;
  const domain::Project& project;
  const ReportOptions& options;
  const domain::Design* proposal;  ///< may be null
  results::StudyNumbers numbers;
};

/// Building: what blocks issue, totals, shares, spaces with small years, what is missing.
void write_building(Markup& page, const Book& book);
/// One space: sequence, plan, claims, year, tables.
void write_space(Markup& page, const Book& book, std::size_t index);
/// Back matter: assumptions, defaults, methods, cautions.
void write_back(Markup& page, const Book& book);

/// The cautions that apply, in one line; every sheet ends with it.
void write_foot(Markup& page, const Book& book);

/// The years' pictures, kept once in the page.
void define_years(Markup& page, const Book& book);
std::string year_id(std::size_t space);
std::string room_id(std::size_t space);

/// "as found", "new luminaires, old controls", "code minimum", "proposal".
std::string case_name(std::size_t which);
/// A JSON pointer into the project, in words: "Reading room: reflectances, walls".
std::string place_in_words(const domain::Project& project, const std::string& pointer);
std::string title_of(const results::SpaceStudy& space);
/// "+- 5 %" of the study's plain text as "\u00B1 5 %".
std::string with_signs(std::string text);

/// Whether what the pointer names belongs to a space of the study, or to no one space.
bool concerns_study(const Book& book, const std::string& pointer);

/// Whether more than half of the proposal's energy is standby, so that the saving tells little of the light.
bool is_mostly_standby(const results::SpaceStudy& space);
inline constexpr std::string_view kStandbyNote =
    "more than half of the proposal's energy here is standby of equipment that stands in this room";

}  // namespace halflight::report
