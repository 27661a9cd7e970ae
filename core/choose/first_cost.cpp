#include "choose/first_cost.hpp"

#include "domain/names.hpp"

#include <algorithm>
#include <map>
#include <utility>

namespace halflight::choose {

namespace {

/// Counts things by id and prices them.
class TakeOff {
 public:
  void add(const std::string& id, const std::string& name, const UnitCost& unit) {
    Quantity& line = lines_[id];
    line.id = id;
    line.name = name;
    ++line.count;
    line.cost = {line.cost.least + unit.cost.least, line.cost.most + unit.cost.most};
    line.set_up_h = {line.set_up_h.least + unit.set_up_h.least, line.set_up_h.most + unit.set_up_h.most};
  }
  void add_unpriced(const std::string& what) { unpriced_.push_back(what); }

  [[nodiscard]] FirstCost done() const {
    FirstCost cost;
    cost.unpriced = unpriced_;
    for (const auto& [id, line] : lines_) {
      cost.quantities.push_back(line);
      cost.cost = {cost.cost.least + line.cost.least, cost.cost.most + line.cost.most};
      cost.set_up_h = {cost.set_up_h.least + line.set_up_h.least, cost.set_up_h.most + line.set_up_h.most};
    }
    return cost;
  }

 private:
  std::map<std::string, Quantity> lines_;
  std::vector<std::string> unpriced_;
};

}  // namespace

const domain::DeviceKind* device_kind_of(const domain::Project& project, const domain::Library& library,
                                         const std::string& id) {
  const domain::DeviceKind* own = domain::find_by_id(project.device_kinds, id);
  return own != nullptr ? own : domain::find_by_id(library.device_kinds, id);
}

namespace {

/// `material` of one in the currency of the estimate.
UnitCost priced(const domain::Project& project, const std::string& id, domain::Range material,
                const domain::Price& price) {
  const auto item = std::find_if(project.costs.begin(), project.costs.end(),
                                 [&](const domain::CostItem& one) { return one.applies_to == id; });
  UnitCost unit;
  unit.set_up_h = price.set_up_h;
  domain::Range labour_h = price.labour_h;
  if (item != project.costs.end()) {
    material = {item->material, item->material};
    labour_h = {item->labour_h, item->labour_h};
  }
  const double rate = project.estimate.labour_rate_per_h;
  unit.cost = {material.least + rate * (labour_h.least + price.set_up_h.least),
               material.most + rate * (labour_h.most + price.set_up_h.most)};
  return unit;
}

domain::Range from_library_currency(const domain::Project& project, const domain::Range& material) {
  const double factor = project.estimate.per_library_currency;
  return {material.least * factor, material.most * factor};
}

bool is_same(const domain::Range& a, const domain::Range& b) {
  return a.least == b.least && a.most == b.most;
}

/// Whether a type of the project is one of the library's that the reader has put beside its own.
bool is_of_library(const domain::Library& library, const domain::LuminaireType& type) {
  const domain::LuminaireType* shipped = domain::find_by_id(library.luminaire_types, type.id);
  return shipped != nullptr && shipped->price && type.price &&
         is_same(shipped->price->material, type.price->material);
}

}  // namespace

UnitCost unit_cost(const domain::Project& project, const std::string& id, const domain::Price& price) {
  const bool is_own = domain::find_by_id(project.device_kinds, id) != nullptr;
  return priced(project, id, is_own ? price.material : from_library_currency(project, price.material), price);
}

FirstCost first_cost(const domain::Project& project, const domain::Library& library,
                     const RoomControls& controls) {
  TakeOff take_off;
  // Of each kind in each place as many as the list has that names it most often.
  struct Placed {
    const domain::DeviceKind* kind = nullptr;
    Point3 at;
    int counted = 0;
    int of_list = 0;
  };
  std::vector<Placed> places;
  const auto count = [&](const auto& devices) {
    for (Placed& place : places) place.of_list = 0;
    for (const auto& device : devices) {
      if (device.status != domain::Status::added) continue;
      const domain::DeviceKind* kind = device_kind_of(project, library, device.device_kind);
      if (kind == nullptr) {
        take_off.add_unpriced(domain::named(device.tag, device.id));
        continue;
      }
      auto place = std::find_if(places.begin(), places.end(), [&](const Placed& one) {
        return one.kind == kind && length(one.at - device.at) < kOnePlace_m;
      });
      if (place == places.end()) place = places.insert(places.end(), {kind, device.at, 0, 0});
      if (++place->of_list <= place->counted) continue;
      ++place->counted;
      take_off.add(kind->id, kind->name, unit_cost(project, kind->id, kind->price));
    }
  };
  count(controls.occupancy_sensors);
  count(controls.photosensors);
  count(controls.stations);
  count(controls.load_controllers);
  count(controls.partition_sensors);
  return take_off.done();
}

FirstCost luminaire_cost(const domain::Project& project, const domain::Library& library,
                         const domain::Design& design, const std::string& space) {
  TakeOff take_off;
  for (const domain::Luminaire& luminaire : design.luminaires) {
    if (luminaire.space != space || luminaire.status != domain::Status::added) continue;
    const domain::LuminaireType* type = domain::find_by_id(project.luminaire_types, luminaire.type);
    if (type == nullptr) continue;
    const bool is_listed =
        std::any_of(project.costs.begin(), project.costs.end(),
                    [&](const domain::CostItem& one) { return one.applies_to == type->id; });
    if (type->price || is_listed) {
      const domain::Price price = type->price.value_or(domain::Price{});
      take_off.add(type->id, type->name,
                   priced(project, type->id,
                          is_of_library(library, *type) ? from_library_currency(project, price.material)
                                                        : price.material,
                          price));
    } else {
      take_off.add_unpriced(type->name.empty() ? type->id : type->name);
    }
  }
  return take_off.done();
}

FirstCost operator+(FirstCost a, const FirstCost& b) {
  for (const Quantity& line : b.quantities) {
    const auto same = std::find_if(a.quantities.begin(), a.quantities.end(),
                                   [&](const Quantity& known) { return known.id == line.id; });
    if (same == a.quantities.end()) {
      a.quantities.push_back(line);
      continue;
    }
    same->count += line.count;
    same->cost = {same->cost.least + line.cost.least, same->cost.most + line.cost.most};
    same->set_up_h = {same->set_up_h.least + line.set_up_h.least, same->set_up_h.most + line.set_up_h.most};
  }
  std::sort(a.quantities.begin(), a.quantities.end(),
            [](const Quantity& x, const Quantity& y) { return x.id < y.id; });
  a.unpriced.insert(a.unpriced.end(), b.unpriced.begin(), b.unpriced.end());
  a.cost = {a.cost.least + b.cost.least, a.cost.most + b.cost.most};
  a.set_up_h = {a.set_up_h.least + b.set_up_h.least, a.set_up_h.most + b.set_up_h.most};
  return a;
}

}  // namespace halflight::choose
