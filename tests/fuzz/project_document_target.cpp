// A project document, read beside the library that ships with the program, and edited.
#include "files/embedded_files.hpp"
#include "formats/library_json.hpp"
#include "formats/project_json.hpp"
#include "fuzz_target.hpp"

#include <string>
#include <vector>

using namespace halflight;

namespace {

const domain::Library& library() {
  static const domain::Library read = [] {
    std::vector<formats::LibrarySource> records;
    for (const files::EmbeddedFile& file : files::embedded_library())
      if (file.name.find('/') == std::string_view::npos)
        records.push_back({std::string(file.name), file.bytes});
    return *formats::load_library(records);
  }();
  return read;
}

void require_round_trip(const std::string& text) {
  const auto root = formats::parse_json(text, "a");
  if (!root) return;
  const std::string laid_out = formats::format_json(*root);
  const auto again = formats::parse_json(laid_out, "b");
  fuzz::require(again.has_value(), "a laid out document reads");
  fuzz::require(formats::format_json(*again) == laid_out, "laying out twice changes nothing");
}

}  // namespace

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  auto document = formats::ProjectDocument::load(fuzz::bytes_of(data, size), "a.json", library());
  if (!document.diagnostics().empty()) fuzz::require_good_refusal(document.diagnostics());
  const std::string text = document.text();
  fuzz::require(text == fuzz::text_of(data, size), "the text is kept byte for byte");
  require_round_trip(text);
  // A key that is added and removed leaves nothing behind.
  const auto before = formats::parse_json(text, "a");
  if (before && before->find("an edit") == nullptr && document.replace("/an edit", "1").empty()) {
    fuzz::require(document.remove("/an edit").empty(), "what was added can be removed");
    const auto after = formats::parse_json(document.text(), "a");
    fuzz::require(after && formats::format_json(*after) == formats::format_json(*before),
                  "and then nothing has changed");
  }
  return 0;
}
