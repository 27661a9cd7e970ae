#include "report/cautions.hpp"
#include "report/pages.hpp"
#include "report/tables.hpp"
#include "wording/figures.hpp"

#include <map>
#include <set>

#include <fmt/format.h>

namespace halflight::report {
namespace {

/// A value of fewer bytes stays on one line.
constexpr std::size_t kUnbroken = 32;

std::string points(double effect) { return wording::rounded(100.0 * effect, -1) + " points"; }

void write_assumptions(Markup& page, const Book& book) {
  std::set<std::string> left_out;  // these have a table of their own
  for (const domain::DefaultTaken& d : book.project.defaults_taken) left_out.insert(d.pointer);
  Table table{"Assumptions",
              "inputs that were varied, largest effect on the saving first",
              {"what", "value", "where from", Cell("effect of one standard deviation", "n"),
               Cell("of the interval's variance", "n"), "confirmed"},
              {}};
  for (const results::Assumption& a : book.study.assumptions)
    if (concerns_study(book, a.path) && !left_out.contains(a.path))
      table.add({place_in_words(book.project, a.path),
                 Cell(with_signs(a.value), a.value.size() < kUnbroken ? "u" : ""), a.source,
                 Cell(points(a.effect), "n"), Cell(wording::percent(a.share_of_variance), "n"),
                 a.confirmed ? "yes" : "no"});
  if (!table.rows.empty())
    table.add({"People's own days, and inputs together", "", "", "",
               Cell(wording::percent(book.study.proof.variance_of_the_rest), "n"), ""});
  write(page, table);
}

void write_readings(Markup& page, const Book& book) {
  const results::Proof& proof = book.study.proof;
  std::string remark = "model before and after years that fit them count for more";
  if (proof.widened > 1.0)
    remark +=
        fmt::format("; read {} times as wide as stated, for too few years fit: look at the inputs again",
                    wording::rounded(proof.widened, -1));
  Table table{
      "Lighting as found against readings",
      remark,
      {"of", Cell("read", "n"), Cell("model before", "n"), Cell("model after", "n"), Cell("residual", "n")},
      {}};
  for (const results::ReadingCheck& r : proof.readings) {
    const bool used = r.not_used_because.empty();
    table.add({r.of, Cell(wording::printed(r.value, r.unit), "n"),
               used ? with_interval(r.before, r.unit) : Cell("not used", "n"),
               used ? with_interval(r.after, r.unit) : Cell(r.not_used_because, "n"),
               Cell(used ? fmt::format("{:+.1f} %", 100.0 * r.residual) : "", "n")});
  }
  write(page, table);
}

void write_logging(Markup& page, const Book& book) {
  Table table{
      "Log this next",
      "two weeks of an energy logger on the lighting as found that would narrow the saving's interval most",
      {"space", "from", "to", Cell("narrower by about", "n")},
      {}};
  for (const results::Logging& l : book.study.proof.logging) {
    const domain::Space* space = domain::find_by_id(book.project.spaces, l.space);
    table.add({space == nullptr ? l.space : space->number + " " + space->name, Cell(date_text(l.from), "u"),
               Cell(date_text(l.to), "u"), Cell(wording::percent(l.narrowing), "n")});
  }
  if (table.rows.empty()) table.add({"none stands out from chance", "", "", ""});
  write(page, table);
}

void write_convergence(Markup& page, const Book& book) {
  Table table{"Saving by the first building-years alone",
              "against as found; the interval should stand still before the last",
              {"building-years", Cell("saving", "n"), Cell("standard error of the mean", "n")},
              {}};
  for (const results::ConvergenceStep& c : book.study.proof.convergence)
    table.add({std::to_string(c.replicates), with_interval(c.saving, "fraction"),
               Cell(wording::rounded(100.0 * c.saving.standard_error, -2) + " points", "n")});
  write(page, table);
}

void write_defaults(Markup& page, const Book& book) {
  std::map<std::string, double> effect;
  for (const results::Assumption& a : book.study.assumptions) effect[a.path] = a.effect;
  Table table{"Defaults taken",
              "left out of the document; the effect is that of the varied input each is part of",
              {"what", "value", "where from", "typical room", Cell("effect", "n")},
              {}};
  for (const domain::DefaultTaken& d : book.project.defaults_taken)
    if (concerns_study(book, d.pointer))
      table.add({place_in_words(book.project, d.pointer), Cell(d.value, "u"), d.source, d.typical,
                 Cell(effect[d.pointer] > 0.0 ? points(effect[d.pointer]) : "not varied", "n")});
  write(page, table);
}

void write_confirmations(Markup& page, const Book& book) {
  Table table{"Confirmed", "", {"what", "by", "on", "how"}, {}};
  for (const domain::Confirmation& c : book.project.confirmations)
    if (concerns_study(book, c.pointer))
      table.add({place_in_words(book.project, c.pointer), c.by, Cell(c.on, "u"), c.how});
  write(page, table);
}

void write_methods(Markup& page, const Book& book) {
  std::map<std::string, std::set<std::string>> claims_by_method;
  for (const results::SpaceStudy& s : book.study.spaces)
    for (const results::Claim& c : s.claims)
      if (!c.method.empty()) claims_by_method[c.method].insert(c.id);
  Table table{"Methods",
              "each has its page in docs/methods with equations and sources",
              {"method", "claims that rest on it"},
              {}};
  for (const auto& [method, claims] : claims_by_method) {
    std::string list;
    for (const std::string& claim : claims) list += (list.empty() ? "" : ", ") + claim;
    table.add({method, list});
  }
  write(page, table);
}

}  // namespace

void write_foot(Markup& page, const Book& book) {
  std::string line;
  for (const Caution& c : applicable_cautions(book.project))
    line.append(line.empty() ? "" : " \u00B7 ").append(c.brief);
  const auto foot = page.open("p", {{"class", "foot"}});
  page.text(line + " \u00B7 ");
  page.leaf("a", {{"href", "#cautions"}}, "in full at the end");
}

void write_back(Markup& page, const Book& book) {
  const auto section = page.open("section", {{"class", "room back"}, {"id", "rests-on"}});
  page.leaf("h2", "What all this rests on");
  page.leaf("p", {{"class", "under"}},
            "Seed " + std::to_string(book.study.seed) + ", accuracy " + book.study.accuracy +
                "; intervals are the 5th to 95th percentile over building-years.");
  write_assumptions(page, book);
  write_readings(page, book);
  {
    const auto two = page.open("div", {{"class", "two"}});
    {
      const auto left = page.open("div");
      write_convergence(page, book);
    }
    const auto right = page.open("div");
    write_logging(page, book);
  }
  {
    const auto two = page.open("div", {{"class", "two"}});
    {
      const auto left = page.open("div");
      write_defaults(page, book);
    }
    const auto right = page.open("div");
    write_methods(page, book);
    write_confirmations(page, book);
  }
  const auto cautions = page.open("section", {{"class", "block"}, {"id", "cautions"}});
  page.leaf("h3", "Cautions");
  const auto list = page.open("ol", {{"class", "cautions"}});
  for (const Caution& c : applicable_cautions(book.project))
    page.leaf("li", {{"id", "caution-" + std::string(c.id)}}, c.text);
}

}  // namespace halflight::report
