#pragma once
#include "base/diagnostic.hpp"
#include "domain/project.hpp"
#include "results/study.hpp"
#include "wording/catalogue.hpp"

#include <string>

namespace halflight::report {

struct ReportOptions {
  std::string revision;  ///< printed in the heading of every sheet; empty: "draft"
  std::string date;      ///< as the caller writes dates; empty: none. Core reads no clock.
  Diagnostics missing;   ///< what validation found absent or doubtful in the document
  wording::Catalogue catalogue = wording::english;
};

/// The whole study as one HTML page, UTF-8: no script, no other file, no address of a network, fit to print.
/// Every statement about a result is a claim of the study; the rest is tables and drawings of its figures,
/// and sentences about the design (the sequence). All text of the project is escaped. Equal inputs give equal
/// bytes. `project` is the project that was studied; a space of the study that it lacks is reported without
/// plan or sequence.
std::string html_report(const results::Study& study, const domain::Project& project,
                        const ReportOptions& options = {});

}  // namespace halflight::report
