#include "projects/other_files.hpp"

#include <utility>

namespace halflight::projects {

namespace {

class FilesInFolder final : public OtherFiles {
 public:
  explicit FilesInFolder(std::filesystem::path folder) : folder_(std::move(folder)) {}
  [[nodiscard]] Result<files::Bytes> read(const std::string& name) const override {
    return files::read_file(folder_ / name);
  }
  [[nodiscard]] std::string shown(const std::string& name) const override {
    return (folder_ / name).string();
  }

 private:
  std::filesystem::path folder_;
};

}  // namespace

std::unique_ptr<const OtherFiles> files_in(std::filesystem::path folder) {
  return std::make_unique<const FilesInFolder>(std::move(folder));
}

}  // namespace halflight::projects
