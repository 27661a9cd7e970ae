#include "choose/first_cost.hpp"

#include "domain/names.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>
#include <utility>

namespace halflight::choose {

namespace {

/// Counts things by id and prices them.
class TakeOff {
 public:
  explicit TakeOff(const domain::Project& project) : project_(project) {}

  void add(const std::string& id, const std::string& name, const domain::Price& price) {
    const UnitCost unit = unit_cost(project_, id, price);
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
  const domain::Project& project_;
  std::map<std::string, Quantity> lines_;
  std::vector<std::string> unpriced_;
};

}  // namespace

const domain::DeviceKind* device_kind_of(const domain::Project& project, const domain::Library& library,
                                         const std::string& id) {
  const domain::DeviceKind* own = domain::find_by_id(project.device_kinds, id);
  return own != nullptr ? own : domain::find_by_id(library.device_kinds, id);
}

UnitCost unit_cost(const domain::Project& project, const std::string& id, const domain::Price& price) {
  const domain::Estimate& estimate = project.estimate;
  const auto item = std::find_if(project.costs.begin(), project.costs.end(),
                                 [&](const domain::CostItem& one) { return one.applies_to == id; });
  UnitCost unit;
  unit.set_up_h = price.set_up_h;
  domain::Range material{price.material.least * estimate.per_library_currency,
                         price.material.most * estimate.per_library_currency};
  domain::Range labour_h = price.labour_h;
  if (item != project.costs.end()) {
    material = {item->material, item->material};
    labour_h = {item->labour_h, item->labour_h};
  }
  const double rate = estimate.labour_rate_per_h;
  unit.cost = {material.least + rate * (labour_h.least + price.set_up_h.least),
               material.most + rate * (labour_h.most + price.set_up_h.most)};
  return unit;
}

FirstCost first_cost(const domain::Project& project, const domain::Library& library,
                     const RoomControls& controls) {
  TakeOff take_off(project);
  using PlacedKind = std::tuple<std::string, double, double, double>;
  std::set<PlacedKind> counted;  // by the lists before
  const auto count = [&](const auto& devices) {
    std::set<PlacedKind> of_list;
    for (const auto& device : devices) {
      if (device.status != domain::Status::added) continue;
      const domain::DeviceKind* kind = device_kind_of(project, library, device.device_kind);
      if (kind == nullptr) {
        take_off.add_unpriced(domain::named(device.tag, device.id));
        continue;
      }
      const PlacedKind placed{kind->id, device.at.x, device.at.y, device.at.z};
      of_list.insert(placed);
      if (!counted.contains(placed)) take_off.add(kind->id, kind->name, kind->price);
    }
    counted.merge(of_list);
  };
  count(controls.occupancy_sensors);
  count(controls.photosensors);
  count(controls.stations);
  count(controls.load_controllers);
  return take_off.done();
}

FirstCost luminaire_cost(const domain::Project& project, const domain::Design& design,
                         const std::string& space) {
  TakeOff take_off(project);
  for (const domain::Luminaire& luminaire : design.luminaires) {
    if (luminaire.space != space || luminaire.status != domain::Status::added) continue;
    const domain::LuminaireType* type = domain::find_by_id(project.luminaire_types, luminaire.type);
    if (type == nullptr) continue;
    const bool is_listed =
        std::any_of(project.costs.begin(), project.costs.end(),
                    [&](const domain::CostItem& one) { return one.applies_to == type->id; });
    if (type->price || is_listed)
      take_off.add(type->id, type->name, type->price.value_or(domain::Price{}));
    else
      take_off.add_unpriced(type->name.empty() ? type->id : type->name);
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
