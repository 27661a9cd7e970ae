#include "report/tables.hpp"

#include "wording/figures.hpp"

namespace halflight::report {

Cell mean(const results::Estimate& e, std::string_view unit) {
  // 0 in 9 of 10 years: whatever is left in the mean, no figure of it is known.
  const double shown = e.low == 0.0 && e.high == 0.0 ? 0.0 : e.mean;
  return {wording::printed(shown, e.low, e.high, unit), "n"};
}
Cell interval(const results::Estimate& e, std::string_view unit) {
  return {wording::printed_interval(e.low, e.high, unit), "n"};
}
Cell with_interval(const results::Estimate& e, std::string_view unit) {
  return {mean(e, unit).text + " (" + interval(e, unit).text + ")", "n"};
}

void write(Markup& page, const Table& table) {
  if (table.rows.empty()) return;
  const auto block = page.open("div", {{"class", "block"}});
  const auto t = page.open("table");
  {
    const auto caption = page.open("caption");
    page.text(table.caption);
    if (!table.remark.empty()) page.leaf("span", table.remark);
  }
  {
    const auto head = page.open("thead");
    const auto row = page.open("tr");
    for (const Cell& c : table.head) page.leaf("th", {{"scope", "col"}, {"class", c.kind}}, c.text);
  }
  const auto body = page.open("tbody");
  for (const Table::Row& r : table.rows) {
    const auto row = page.open("tr", {{"class", r.kind}});
    for (std::size_t i = 0; i < r.cells.size(); ++i) {
      if (i == 0)
        page.leaf("th", {{"scope", "row"}, {"class", r.cells[i].kind}}, r.cells[i].text);
      else
        page.leaf("td", {{"class", r.cells[i].kind}}, r.cells[i].text);
    }
  }
}

}  // namespace halflight::report
