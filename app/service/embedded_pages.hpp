#pragma once
#include "files/embedded_files.hpp"

#include <span>

namespace halflight::service {

/// The bundle of web/ as it was built with the program: "index.html" and "assets/...".
std::span<const files::EmbeddedFile> embedded_pages();

/// The projects of projects/, to be explored.
std::span<const files::EmbeddedFile> embedded_projects();

/// What schema/ says about documents, studies and this service.
std::span<const files::EmbeddedFile> embedded_schemas();

}  // namespace halflight::service
