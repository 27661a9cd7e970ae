#pragma once
#include "domain/project.hpp"
#include "files/embedded_files.hpp"
#include "formats/library_json.hpp"

#include <string>
#include <string_view>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::projects {

/// The program's own.
inline const domain::Library& library() {
  static const domain::Library loaded = [] {
    std::vector<formats::LibrarySource> sources;
    for (const files::EmbeddedFile& file : files::embedded_library())
      if (file.name.find('/') == std::string_view::npos)
        sources.push_back({std::string(file.name), file.bytes});
    const Result<domain::Library> result = formats::load_library(sources);
    EXPECT_TRUE(result) << (result ? "" : to_text(result.error().front()));
    return result.value_or(domain::Library{});
  }();
  return loaded;
}

}  // namespace halflight::projects
