#pragma once
#include "report/markup.hpp"
#include "results/study.hpp"

#include <string_view>

namespace halflight::report {

/// The colours of a year, kept once in the page as a symbol called `id` and shown by the two functions below.
void define_year(Markup& page, const results::YearPicture& year, std::string_view id);

/// Days across and hours up, with sunrise and sunset, months and hours along the edges.
void draw_year(Markup& page, const results::YearPicture& year, std::string_view id);

/// The same picture alone, for a row of a table.
void draw_small_year(Markup& page, const results::YearPicture& year, std::string_view id);

/// Whether the picture has the cells that it says it has.
bool is_drawable(const results::YearPicture& year);

}  // namespace halflight::report
