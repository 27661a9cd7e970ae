#include "report/report.hpp"

#include "report/markup.hpp"
#include "report/pages.hpp"
#include "report/style_sheet.hpp"
#include "report/year_picture.hpp"
#include "wording/egress.hpp"

#include <algorithm>
#include <charconv>

namespace halflight::report {
namespace {

/// The hatches of glass and of what a sensor does not see, shared by all plans.
constexpr std::string_view kPatterns =
    R"(<pattern id="glass" width="6" height="6" patternUnits="userSpaceOnUse"><path d="M0 6L6 0" stroke="#7c93a8" stroke-width="1"/></pattern>)"
    R"(<pattern id="shadow" width="5" height="5" patternUnits="userSpaceOnUse"><path class="hatch" d="M-1 1L1 -1M0 5L5 0M4 6L6 4"/></pattern>)";

void write_head(Markup& page, const Book& book) {
  const auto head = page.open("head");
  page.empty("meta", {{"charset", "utf-8"}});
  page.empty("meta", {{"name", "viewport"}, {"content", "width=device-width, initial-scale=1"}});
  // The page asks for nothing: pictures are in it, and a browser is told to refuse all else.
  page.empty("meta", {{"http-equiv", "Content-Security-Policy"},
                      {"content", "default-src 'none'; style-src 'unsafe-inline'; img-src data:"}});
  page.leaf("title", named(book.study.project_name, book.study.project_id) + ": lighting controls study");
  page.trusted("<style>");
  page.trusted(style_sheet());
  page.trusted("</style>");
}

void write_heading(Markup& page, const Book& book) {
  const auto header = page.open("header");
  page.leaf("b", "Halflight");
  page.leaf("span", named(book.study.project_name, book.study.project_id));
  std::string issue = book.options.revision.empty() ? "draft" : "revision " + book.options.revision;
  if (!book.options.date.empty()) issue += " \u00B7 " + book.options.date;
  page.leaf("span", {{"class", "end"}}, issue + " \u00B7 lx, m, W, kWh a year");
}

/// The reason, told path by path where it lists the states of a room's ways out.
std::string reason_by_path(const results::Study& study, const std::string& reason) {
  for (const results::SpaceStudy& s : study.spaces)
    for (const results::Finding& f : s.findings)
      if (!f.evidence.empty() && reason == s.number + " " + s.name + ": " + f.evidence)
        return wording::told_by_path(s, reason);
  return reason;
}

void write_banner(Markup& page, const Book& book) {
  const results::Study& study = book.study;
  if (study.may_be_issued) return;
  const auto banner = page.open("section", {{"class", "banner"}, {"aria-label", "Not to be issued"}});
  page.leaf("strong", "Not to be issued");
  const auto list = page.open("ul");
  for (const std::string& reason : study.not_to_be_issued_because)
    page.leaf("li", reason_by_path(study, reason));
}

constexpr std::size_t kNoIndex = static_cast<std::size_t>(-1);

std::vector<std::string> parts_of(const std::string& pointer) {
  std::vector<std::string> parts;
  for (std::size_t from = 1; from <= pointer.size();) {
    const std::size_t to = std::min(pointer.find('/', from), pointer.size());
    parts.push_back(pointer.substr(from, to - from));
    from = to + 1;
  }
  return parts;
}

/// The part as the index of an array, or kNoIndex.
std::size_t index_in(const std::vector<std::string>& parts, std::size_t i) {
  std::size_t value = 0;
  const bool is_number = i < parts.size() && !parts[i].empty() &&
                         std::from_chars(parts[i].data(), parts[i].data() + parts[i].size(), value).ptr ==
                             parts[i].data() + parts[i].size();
  return is_number ? value : kNoIndex;
}

template <class Items>
std::string space_at(const Items& items, std::size_t i) {
  return i < items.size() ? items[i].space : "";
}

/// Id of the space to which a pointer's place belongs; empty where it belongs to none alone.
std::string space_of(const domain::Project& project, const std::string& pointer) {
  const std::vector<std::string> parts = parts_of(pointer);
  if (parts.size() < 2) return "";
  const std::size_t first = index_in(parts, 1);
  if (parts[0] == "spaces") return first < project.spaces.size() ? project.spaces[first].id : "";
  if (parts[0] != "designs" || first >= project.designs.size() || parts.size() < 4) return "";
  const domain::Design& d = project.designs[first];
  const std::size_t i = index_in(parts, 3);
  if (parts[2] == "luminaires") return space_at(d.luminaires, i);
  if (parts[2] == "groups") return space_at(d.groups, i);
  if (parts[2] == "scenes") return space_at(d.scenes, i);
  if (parts[2] == "sequences") return space_at(d.sequences, i);
  if (parts[2] == "occupancy_sensors") return space_at(d.occupancy_sensors, i);
  if (parts[2] == "photosensors") return space_at(d.photosensors, i);
  if (parts[2] == "stations") return space_at(d.stations, i);
  if (parts[2] == "load_controllers") return space_at(d.load_controllers, i);
  if (parts[2] == "time_clocks") return space_at(d.time_clocks, i);
  if (parts[2] == "interfaces") return space_at(d.interfaces, i);
  if (parts[2] == "infrastructure") return space_at(d.infrastructure, i);
  if (parts[2] == "hvac_hand_offs") return space_at(d.hvac_hand_offs, i);
  return "";
}

}  // namespace

bool concerns_study(const Book& book, const std::string& pointer) {
  const std::string id = space_of(book.project, pointer);
  return id.empty() || domain::find_by_id(book.study.spaces, id) != nullptr;
}

bool is_mostly_standby(const results::SpaceStudy& s) {
  const results::CaseYear& proposal = s.cases[static_cast<std::size_t>(results::Case::proposal)];
  return s.studied && proposal.standby_kwh.mean > proposal.lighting_kwh.mean;
}

std::string title_of(const results::SpaceStudy& space) {
  const std::string name = named(space.name, space.id);
  return space.number.empty() ? name : space.number + " " + name;
}

std::string year_id(std::size_t space) { return "year-" + std::to_string(space); }
std::string room_id(std::size_t space) { return "room-" + std::to_string(space); }

std::string case_name(std::size_t which) {
  static constexpr const char* kNames[] = {"as found", "new luminaires, old controls", "code minimum",
                                           "proposal"};
  return kNames[which];
}

std::string with_signs(std::string text) {
  for (std::size_t at = text.find("+-"); at != std::string::npos; at = text.find("+-", at))
    text.replace(at, 2, "\u00B1");
  return text;
}

std::string place_in_words(const domain::Project& project, const std::string& pointer) {
  const std::vector<std::string> parts = parts_of(pointer);
  const auto index = [&](std::size_t i) { return index_in(parts, i); };
  std::string head;
  std::size_t rest = 0;
  if (parts.size() > 1 && parts[0] == "spaces" && index(1) < project.spaces.size()) {
    const domain::Space& space = project.spaces[index(1)];
    head = named(space.name, space.id);
    rest = 2;
  } else if (parts.size() > 1 && parts[0] == "designs" && index(1) < project.designs.size()) {
    const domain::Design& design = project.designs[index(1)];
    head = named(design.name, design.id);
    rest = 2;
    if (parts.size() > 3 && parts[2] == "sequences" && index(3) < design.sequences.size()) {
      const domain::Space* space = find_by_id(project.spaces, design.sequences[index(3)].space);
      if (space != nullptr) head += ", " + named(space->name, space->id);
      rest = 4;
    }
  }
  std::string words;
  // "designs/as_found" is the lighting as found: the collection adds nothing.
  if (rest == 0 && parts.size() > 1 && parts[0] == "designs" && index(1) == kNoIndex) rest = 1;
  for (std::size_t i = rest; i < parts.size(); ++i) {
    std::string part = parts[i];
    if (part == "*") continue;
    if (i + 1 < parts.size() && parts[i + 1] == "*") part = "all " + part;
    if (index(i) != kNoIndex) part = std::to_string(index(i) + 1);
    for (const std::string_view unit : {"_lx", "_w", "_m", "_s", "_h", "_deg", "_min", "_lm", "_k"})
      if (part.size() > unit.size() && part.ends_with(unit)) {
        part.resize(part.size() - unit.size());
        break;
      }
    std::replace(part.begin(), part.end(), '_', ' ');
    words += (words.empty() ? "" : index(i) != kNoIndex ? " " : ", ") + part;
  }
  if (head.empty()) return words;
  return words.empty() ? head : head + ": " + words;
}

void define_years(Markup& page, const Book& book) {
  const auto svg = page.open("svg", {{"class", "defs"}, {"aria-hidden", "true"}});
  const auto defs = page.open("defs");
  page.trusted(kPatterns);
  for (std::size_t i = 0; i < book.study.spaces.size(); ++i) {
    const auto& pictures = book.study.spaces[i].pictures;
    if (!pictures.empty() && is_drawable(pictures.front())) define_year(page, pictures.front(), year_id(i));
  }
}

std::string html_report(const results::Study& study, const domain::Project& project,
                        const ReportOptions& options) {
  const Book book{study, project, options, find_design(project, domain::Design::Role::proposal),
                  results::StudyNumbers(study)};
  Markup page;
  page.trusted("<!doctype html>\n");
  {
    const auto html = page.open("html", {{"lang", "en"}});
    write_head(page, book);
    const auto body = page.open("body");
    define_years(page, book);
    write_heading(page, book);
    write_banner(page, book);
    const auto main = page.open("main");
    write_building(page, book);
    for (std::size_t i = 0; i < study.spaces.size(); ++i) write_space(page, book, i);
    write_back(page, book);
  }
  return page.str();
}

}  // namespace halflight::report
