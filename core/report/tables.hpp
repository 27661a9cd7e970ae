#pragma once
#include "report/markup.hpp"
#include "results/study.hpp"

#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace halflight::report {

/// A cell: its text and how it is set ("n": a number, right; "u": not broken; or a class of the style sheet).
struct Cell {
  Cell(std::string cell_text, std::string_view cell_kind = "")
      : text(std::move(cell_text)), kind(cell_kind) {}
  Cell(const char* cell_text) : text(cell_text) {}
  std::string text;
  std::string_view kind;
};

/// Figures of an estimate as a number's cell: "4,100 kWh", "3,800 to 4,500 kWh", and the first with the
/// second in brackets.
Cell mean(const results::Estimate& e, std::string_view unit);
Cell interval(const results::Estimate& e, std::string_view unit);
Cell with_interval(const results::Estimate& e, std::string_view unit);

/// A table with scoped headings; the first cell of each row heads it.
struct Table {
  std::string caption;
  std::string remark;  ///< after the caption, softer
  std::vector<Cell> head;
  struct Row {
    std::vector<Cell> cells;
    std::string_view kind;
  };
  std::vector<Row> rows;
  void add(std::vector<Cell> cells, std::string_view kind = "") { rows.push_back({std::move(cells), kind}); }
};

/// Writes nothing for a table without rows.
void write(Markup& page, const Table& table);

}  // namespace halflight::report
