#include "formats/object_text.hpp"

#include "formats/project_fields.hpp"

#include <cmath>
#include <map>
#include <optional>
#include <string_view>
#include <type_traits>

namespace halflight::formats {

namespace {

/// To the millimetre, or a thousandth of a foot.
double rounded(double coordinate) { return std::round(1000.0 * coordinate) / 1000.0; }

/// The same, and never above: what hangs on a ceiling must not end up behind it.
double rounded_down(double coordinate) { return std::floor(1000.0 * coordinate + 1e-6) / 1000.0; }

/// A visitor of the description that writes one object.
class ObjectWriter : public ValuesOnly {
 public:
  /// `unsaid`: texts of the members of an object with nothing said, by key; null while they are collected.
  ObjectWriter(double metres_per_unit, const std::map<std::string, std::string>* unsaid)
      : metres_per_unit_(metres_per_unit), unsaid_(unsaid) {}

  template <class T, class Codec>
  void required(std::string_view key, const T& member, const Codec& codec, std::string_view) {
    add(key, text(member, codec));
  }
  template <class T, class Codec>
  void with_default(std::string_view key, const T& member, const Codec& codec, const Basis&, std::string_view,
                    bool relevant = true) {
    if (relevant) add(key, text(member, codec));
  }
  template <class T, class Codec>
  void optional(std::string_view key, const T& member, const Codec& codec, std::string_view) {
    const std::string said = text(member, codec);
    if (unsaid_ != nullptr && unsaid_->at(std::string(key)) == said) return;
    add(key, said);
  }
  template <class T>
  void object(std::string_view key, T& member, std::string_view) {
    const std::string inner = write(member, metres_per_unit_);
    if (inner != "{}") add(key, inner);
  }
  template <class T>
  void maybe(std::string_view key, std::optional<T>& member, std::string_view) {
    if (member) add(key, write(*member, metres_per_unit_));
  }
  template <class T>
  void list(std::string_view key, std::vector<T>& member, std::string_view) {
    if (member.empty()) return;
    std::string items;
    for (T& item : member) items += (items.empty() ? "" : ", ") + write(item, metres_per_unit_);
    add(key, "[" + items + "]");
  }
  void owner(std::string& space) {
    if (!space.empty()) add("space", json_string(space));
  }

  template <class T>
  static std::string write(T& object, double metres_per_unit) {
    T nothing_said{};
    ObjectWriter unsaid(metres_per_unit, nullptr);
    describe(unsaid, nothing_said);
    ObjectWriter writer(metres_per_unit, &unsaid.texts_);
    describe(writer, object);
    return "{" + writer.all_ + "}";
  }

 private:
  double metres_per_unit_;
  const std::map<std::string, std::string>* unsaid_;
  std::map<std::string, std::string> texts_;
  std::string all_;

  void add(std::string_view key, const std::string& value) {
    texts_.emplace(key, value);
    all_ += (all_.empty() ? "" : ", ") + json_string(key) + ": " + value;
  }
  template <class T, class Codec>
  std::string text(const T& member, const Codec& codec) const {
    if constexpr (std::is_same_v<Codec, Place3>)
      return codec.text({rounded(member.x / metres_per_unit_), rounded(member.y / metres_per_unit_),
                         rounded_down(member.z / metres_per_unit_)});
    else
      return codec.text(member);
  }
};

template <class T>
std::string written(T object, double metres_per_unit) {
  return ObjectWriter::write(object, metres_per_unit);
}

}  // namespace

std::string object_text(const domain::LuminaireType& type, double m) { return written(type, m); }
std::string object_text(const domain::Luminaire& luminaire, double m) { return written(luminaire, m); }
std::string object_text(const domain::Group& group, double m) { return written(group, m); }
std::string object_text(const domain::Scene& scene, double m) { return written(scene, m); }
std::string object_text(const domain::OccupancySensor& sensor, double m) { return written(sensor, m); }
std::string object_text(const domain::Photosensor& sensor, double m) { return written(sensor, m); }
std::string object_text(const domain::Station& station, double m) { return written(station, m); }
std::string object_text(const domain::LoadController& controller, double m) { return written(controller, m); }
std::string object_text(const domain::Infrastructure& device, double m) { return written(device, m); }
std::string object_text(const domain::Interface& device, double m) { return written(device, m); }
std::string object_text(const domain::HvacHandOff& hand_off, double m) { return written(hand_off, m); }
std::string object_text(const domain::Sequence& sequence, double m) { return written(sequence, m); }
std::string object_text(const domain::PlugLoads& loads, double m) { return written(loads, m); }

}  // namespace halflight::formats
