#pragma once
#include "base/diagnostic.hpp"
#include "files/file.hpp"

#include <filesystem>
#include <memory>
#include <string>

namespace halflight::projects {

/// The files that a document refers to by name, wherever they are kept.
class OtherFiles {
 public:
  virtual ~OtherFiles() = default;
  /// `name`: relative, as the document writes it. The diagnostics say what stands in the way and how the user
  /// calls the file.
  [[nodiscard]] virtual Result<files::Bytes> read(const std::string& name) const = 0;
  /// How the user calls the file, for messages.
  [[nodiscard]] virtual std::string shown(const std::string& name) const = 0;
};

/// Those in a folder and below it.
std::unique_ptr<const OtherFiles> files_in(std::filesystem::path folder);

}  // namespace halflight::projects
