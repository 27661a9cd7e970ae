#include "service/workbench.hpp"

#include "service/request.hpp"

#include <chrono>

#include <fmt/format.h>

namespace halflight::service {

Answer<store::Project> Workbench::project(const std::string& id) {
  auto found = stored(store.project(id));
  if (!found) return tl::unexpected(found.error());
  if (!*found)
    return refuse(Problem::Code::not_found, fmt::format("there is no project {}", id),
                  "choose one of the list");
  return **found;
}

Answer<Revision> Workbench::revision(const std::string& id, const std::string& number,
                                     const std::string& design) {
  const auto of = project(id);
  if (!of) return tl::unexpected(of.error());
  const auto asked = number.empty() ? std::optional(of->head) : whole_number(number);
  if (!asked)
    return refuse(Problem::Code::bad_request, "\"revision\" is no whole number", "give its number",
                  "/revision");
  const auto opened = desk.open(id, *asked);
  return opened && !design.empty() ? desk.with_design(**opened, design) : opened;
}

Answer<std::size_t> space_of(const Revision& revision, const std::string& id) {
  if (const auto index = revision->space(id)) return *index;
  return refuse(Problem::Code::not_found, fmt::format("revision {} has no room {}", revision->number, id),
                "open the building");
}

std::int64_t now_s() {
  using namespace std::chrono;
  return duration_cast<seconds>(system_clock::now().time_since_epoch()).count();
}

std::string iso_time(std::int64_t seconds_since_1970) {
  using namespace std::chrono;
  const sys_seconds t{seconds(seconds_since_1970)};
  const auto day = floor<days>(t);
  const year_month_day date(day);
  const hh_mm_ss clock(t - day);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z", int(date.year()), unsigned(date.month()),
                     unsigned(date.day()), clock.hours().count(), clock.minutes().count(),
                     clock.seconds().count());
}

Json to_json(const store::Revision& revision) {
  Json issued;
  if (revision.issue) {
    Json files = Json::array();
    for (const store::FileVersion& file : revision.issue->files)
      files.push_back({{"path", file.path}, {"hash", file.hash.hex()}});
    issued = {{"by", revision.issue->by},
              {"at", iso_time(revision.issue->at_s)},
              {"program_digest", revision.issue->program_digest},
              {"results_hash", revision.issue->results.hex()},
              {"files", files}};
  }
  return {{"number", revision.number},
          {"saved_at", iso_time(revision.saved_at_s)},
          {"label", revision.label},
          {"name", revision.name},
          {"restores", revision.restores ? Json(*revision.restores) : Json()},
          {"document_hash", revision.document.hex()},
          {"issued", issued}};
}

Json to_json(const store::Project& project) {
  return {{"id", project.id},
          {"name", project.name},
          {"head", project.head},
          {"saved_at", iso_time(project.head_saved_at_s)}};
}

}  // namespace halflight::service
