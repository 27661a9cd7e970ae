#include "formats/library_json.hpp"

#include "formats/field_reader.hpp"

#include <iterator>

#include <fmt/format.h>

namespace halflight::formats {

namespace {

template <class T>
void append(std::vector<T>& all, std::vector<T>& some, const std::string& file, Diagnostics& diagnostics) {
  for (T& item : some) {
    if (domain::find_by_id(all, item.id) != nullptr)
      diagnostics.push_back({Diagnostic::Severity::error, file, "",
                             fmt::format("the id {} is given in two files", json_string(item.id)),
                             "give each its own id"});
    all.push_back(std::move(item));
  }
}

/// Ranges that run from more to less.
void check_ranges(const std::string& name, const domain::Price& price, Diagnostics& diagnostics) {
  for (const domain::Range& range : {price.material, price.labour_h, price.set_up_h})
    if (range.least > range.most)
      diagnostics.push_back({Diagnostic::Severity::error, "library", "",
                             fmt::format("the price of {} is at least {} and at most {}", json_string(name),
                                         range.least, range.most),
                             "give the smaller figure as least"});
}

}  // namespace

Result<domain::Library> load_library(std::span<const LibrarySource> files) {
  domain::Library library;
  Diagnostics diagnostics;
  for (const LibrarySource& source : files) {
    const std::string_view text(reinterpret_cast<const char*>(source.bytes.data()), source.bytes.size());
    Result<JsonNode> root = parse_json(text, source.name);
    if (!root) {
      std::move(root.error().begin(), root.error().end(), std::back_inserter(diagnostics));
      continue;
    }
    FieldReader reader(source.name, nullptr);
    LibraryFile file;
    reader.read(*root, file);
    if (file.format != kLibraryFormat)
      reader.add(Diagnostic::Severity::error, "/format",
                 fmt::format("{} is no format of a library file", json_string(file.format)),
                 fmt::format("write \"{}\"", kLibraryFormat));
    // References across files are checked below. Nothing in the library may be unfinished.
    for (Diagnostic& d : reader.take_diagnostics()) {
      d.severity = Diagnostic::Severity::error;
      diagnostics.push_back(std::move(d));
    }
    append(library.kinds, file.library.kinds, source.name, diagnostics);
    append(library.drivers, file.library.drivers, source.name, diagnostics);
    append(library.luminaire_types, file.library.luminaire_types, source.name, diagnostics);
    append(library.device_kinds, file.library.device_kinds, source.name, diagnostics);
    append(library.electrical_rules, file.library.electrical_rules, source.name, diagnostics);
  }
  for (const domain::LuminaireType& type : library.luminaire_types)
    for (const domain::Channel& channel : type.channels)
      if (domain::find_by_id(library.drivers, channel.driver) == nullptr)
        diagnostics.push_back({Diagnostic::Severity::error, "library", "",
                               fmt::format("luminaire type {} names the driver {}, which no file defines",
                                           json_string(type.id), json_string(channel.driver)),
                               "define it in one of the files"});
  for (const domain::LuminaireType& type : library.luminaire_types)
    if (type.price) check_ranges(type.id, *type.price, diagnostics);
  for (const domain::DeviceKind& kind : library.device_kinds) check_ranges(kind.id, kind.price, diagnostics);
  if (!diagnostics.empty()) return tl::unexpected(std::move(diagnostics));
  return library;
}

}  // namespace halflight::formats
