#include "formats/content_key.hpp"

#include "formats/project_fields.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <type_traits>

namespace halflight::formats {

namespace {

/// A visitor of the description that adds each member to a key, under its name in the document.
class ContentWriter : public ValuesOnly {
 public:
  explicit ContentWriter(const std::string& space) : space_(space) {}

  template <class T, class Codec>
  void required(std::string_view key, const T& member, const Codec& codec, std::string_view) {
    value(key, member, codec);
  }
  template <class T, class Codec>
  void with_default(std::string_view key, const T& member, const Codec& codec, const Basis&, std::string_view,
                    bool = true) {
    value(key, member, codec);
  }
  template <class T, class Codec>
  void optional(std::string_view key, const T& member, const Codec& codec, std::string_view) {
    value(key, member, codec);
  }
  template <class T>
  void object(std::string_view key, T& member, std::string_view) {
    key_.add(key);
    describe(*this, member);
  }
  template <class T>
  void maybe(std::string_view key, std::optional<T>& member, std::string_view) {
    key_.add(key).add(member.has_value());
    if (member) describe(*this, *member);
  }
  template <class T>
  void list(std::string_view key, std::vector<T>& member, std::string_view) {
    key_.add(key);
    for (T& item : member) {
      if (!concerns(item)) continue;
      key_.add(true);
      describe(*this, item);
    }
    key_.add(false);
  }
  void owner(std::string& space) { key_.add("space").add(space); }

  [[nodiscard]] Hash key() const { return key_.key(); }

 private:
  const std::string& space_;
  KeyBuilder key_;

  template <class T>
  [[nodiscard]] bool concerns(const T& item) const {
    if constexpr (std::is_same_v<T, domain::Space>)
      return item.id == space_;
    else if constexpr (std::is_same_v<T, domain::LoadController>)
      return true;  // what hangs in one room may drive the light of another
    else if constexpr (requires { item.space; })
      return item.space == space_;
    else
      return true;
  }
  template <class T, class Codec>
  void value(std::string_view key, const T& member, const Codec& codec) {
    key_.add(key);
    if constexpr (std::is_arithmetic_v<T>)  // texts of quantities round
      key_.add(member);
    else
      key_.add(codec.text(member));
  }
};

}  // namespace

std::vector<Hash> content_keys(domain::Project project) {
  project.name.clear();
  project.client.clear();
  project.author.clear();
  project.tariffs.clear();
  project.estimate = {};
  project.costs.clear();
  project.device_kinds.clear();
  project.electrical_rules.clear();
  project.confirmations.clear();
  project.readings.clear();
  std::vector<Hash> keys;
  keys.reserve(project.spaces.size());
  for (const domain::Space& space : project.spaces) {
    ContentWriter writer(space.id);
    describe(writer, project);
    keys.push_back(writer.key());
  }
  return keys;
}

}  // namespace halflight::formats
