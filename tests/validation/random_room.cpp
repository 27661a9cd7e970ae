#include "validation/random_room.hpp"

#include "photometry/synthetic.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <stdexcept>

#include <fmt/format.h>

namespace halflight::validation {

namespace {

constexpr double kPi = std::numbers::pi;

class Draw {
 public:
  explicit Draw(std::uint64_t seed) : engine_(seed) {}
  double between(double low, double high) {
    return low + (high - low) * (static_cast<double>(engine_() >> 11) * 0x1p-53);
  }
  /// Whole numbers low..high.
  int whole(int low, int high) {
    return low + static_cast<int>(engine_() % static_cast<std::uint64_t>(high - low + 1));
  }
  bool chance(double share) { return between(0.0, 1.0) < share; }

 private:
  std::mt19937_64 engine_;
};

/// Axis-parallel, before the room is turned.
struct Rect {
  double x0, y0, x1, y1;
  [[nodiscard]] bool overlaps(const Rect& o, double gap) const {
    return x0 < o.x1 + gap && o.x0 < x1 + gap && y0 < o.y1 + gap && o.y0 < y1 + gap;
  }
  [[nodiscard]] bool holds(Point2 p, double margin) const {
    return p.x > x0 - margin && p.x < x1 + margin && p.y > y0 - margin && p.y < y1 + margin;
  }
};

/// The room's outline before it is turned: a rectangle with, perhaps, its upper right corner missing.
struct Outline {
  double length = 0.0;
  double depth = 0.0;
  bool l_shaped = false;
  Rect missing{0, 0, 0, 0};

  [[nodiscard]] std::vector<Point2> corners() const {
    if (!l_shaped) return {{0, 0}, {length, 0}, {length, depth}, {0, depth}};
    return {{0, 0},    {length, 0}, {length, missing.y0}, {missing.x0, missing.y0}, {missing.x0, depth},
            {0, depth}};
  }
  /// Inside by at least `margin` from every wall.
  [[nodiscard]] bool holds(const Rect& r, double margin) const {
    return r.x0 >= margin && r.y0 >= margin && r.x1 <= length - margin && r.y1 <= depth - margin &&
           !(l_shaped && r.overlaps(missing, margin));
  }
};

class Builder {
 public:
  explicit Builder(std::uint64_t seed) : draw_(seed) {}

  RandomRoom build() {
    room_.project.spaces.emplace_back();
    room_.project.designs.emplace_back();
    room_.project.designs[0].id = "proposal";
    space().id = "room";
    shell();
    windows();
    furniture();
    luminaires();
    outside();
    points();
    turn();
    room_.description =
        fmt::format("{}{:.1f} × {:.1f} × {:.1f} m, {} {}, {} {}", outline_.l_shaped ? "L-shaped " : "",
                    outline_.length, outline_.depth, space().height_m, luminaire_count_,
                    luminaire_count_ == 1 ? "luminaire" : "luminaires", space().openings.size(),
                    space().openings.size() == 1 ? "opening" : "openings");
    return std::move(room_);
  }

 private:
  domain::Space& space() { return room_.project.spaces[0]; }

  void shell() {
    outline_.length = draw_.between(3.2, 6.0);
    outline_.depth = draw_.between(3.0, 4.6);
    outline_.l_shaped = draw_.chance(0.4);
    if (outline_.l_shaped)
      outline_.missing = {outline_.length * draw_.between(0.45, 0.7),
                          outline_.depth * draw_.between(0.45, 0.7), outline_.length, outline_.depth};
    space().floor = outline_.corners();
    space().height_m = draw_.between(2.4, 4.0);
    space().reflectances = {draw_.between(0.5, 0.85), draw_.between(0.3, 0.7), draw_.between(0.1, 0.4),
                            draw_.between(0.1, 0.6)};
  }

  void windows() {
    room_.project.glazings.emplace_back();
    room_.project.glazings[0].id = "glass";
    room_.project.glazings[0].reflectance_inside = draw_.between(0.05, 0.2);
    const int wanted = draw_.whole(0, 3);
    const std::vector<Point2> corners = outline_.corners();
    for (int i = 0; i < wanted; ++i) {
      domain::Opening opening;
      opening.id = fmt::format("W{}", i + 1);
      opening.glazing = "glass";
      opening.sill_m = draw_.between(0.2, 1.2);
      opening.height_m = draw_.between(0.6, space().height_m - opening.sill_m - 0.2);
      opening.wall = draw_.whole(0, static_cast<int>(corners.size()) - 1);
      const auto w = static_cast<std::size_t>(opening.wall);
      const double wall_m = length(corners[(w + 1) % corners.size()] - corners[w]);
      opening.width_m = std::min(draw_.between(0.6, 2.4), wall_m - 0.6);
      opening.offset_m = draw_.between(0.3, wall_m - 0.3 - opening.width_m);
      const bool taken = std::any_of(space().openings.begin(), space().openings.end(),
                                     [&](const domain::Opening& o) { return o.wall == opening.wall; });
      if (!taken) space().openings.push_back(opening);
    }
    if (draw_.chance(0.25)) {
      domain::Opening opening;
      opening.id = "S1";
      opening.kind = domain::Opening::Kind::skylight;
      opening.glazing = "glass";
      skylight_ = {0.6, 0.6, 0.6 + draw_.between(0.5, 1.2), 0.6 + draw_.between(0.5, 1.0)};
      opening.plan = {{skylight_.x0, skylight_.y0},
                      {skylight_.x1, skylight_.y0},
                      {skylight_.x1, skylight_.y1},
                      {skylight_.x0, skylight_.y1}};
      space().openings.push_back(opening);
      has_skylight_ = true;
    }
  }

  void add_furniture(const std::string& kind, const Rect& r, double bottom, double top) {
    domain::Furniture piece;
    piece.id = fmt::format("{}{}", kind, space().furniture.size() + 1);
    piece.kind = kind;
    piece.plan = {{r.x0, r.y0}, {r.x1, r.y0}, {r.x1, r.y1}, {r.x0, r.y1}};
    piece.bottom_m = bottom;
    piece.top_m = top;
    if (draw_.chance(0.3)) piece.reflectance = draw_.between(0.05, 0.7);
    space().furniture.push_back(piece);
    taken_.push_back(r);
  }

  [[nodiscard]] bool is_free(const Rect& r, double gap) const {
    return std::none_of(taken_.begin(), taken_.end(), [&](const Rect& o) { return r.overlaps(o, gap); });
  }

  void furniture() {
    const double most_m = std::min(2.0, space().height_m - 1.0);
    // Shelves stand against the lower or the left wall.
    const int shelves = draw_.whole(0, 2);
    for (int i = 0; i < shelves; ++i) {
      const double long_m = draw_.between(0.8, 2.0);
      const double deep_m = draw_.between(0.3, 0.5);
      Rect r{};
      if (draw_.chance(0.5)) {
        r = {draw_.between(0.05, outline_.length - long_m - 0.05), 0.0, 0.0, deep_m};
        r.x1 = r.x0 + long_m;
      } else {
        r = {0.0, draw_.between(0.05, outline_.depth - long_m - 0.05), deep_m, 0.0};
        r.y1 = r.y0 + long_m;
      }
      if (is_free(r, 0.05)) add_furniture("shelf", r, 0.0, draw_.between(0.9, most_m));
    }
    const int desks = draw_.whole(1, 4);
    for (int i = 0; i < desks; ++i) {
      double a = draw_.between(1.2, 1.8);
      double b = draw_.between(0.7, 0.9);
      if (draw_.chance(0.5)) std::swap(a, b);
      for (int attempt = 0; attempt < 20; ++attempt) {
        Rect r{draw_.between(0.0, outline_.length), draw_.between(0.0, outline_.depth), 0.0, 0.0};
        r.x1 = r.x0 + a;
        r.y1 = r.y0 + b;
        if (!outline_.holds(r, 0.08) || !is_free(r, 0.08)) continue;
        const double top = draw_.between(0.68, 0.78);
        desks_.push_back(r);
        desk_top_.push_back(top);
        add_furniture("desk", r, draw_.chance(0.7) ? top - 0.04 : 0.0, top);
        break;
      }
    }
    if (!draw_.chance(0.6)) return;
    for (int attempt = 0; attempt < 20; ++attempt) {
      domain::Partition screen;
      screen.id = "screen";
      screen.kind = domain::Partition::Kind::part_height;
      screen.height_m = draw_.between(1.2, std::min(1.8, space().height_m - 0.9));
      screen.reflectance = draw_.between(0.2, 0.7);
      const double run = draw_.between(1.0, 0.6 * outline_.depth);
      const double x = draw_.between(0.5, outline_.length - 0.5);
      // From the lower wall, or free.
      const double y = draw_.chance(0.5) ? 0.0 : draw_.between(0.3, outline_.depth - run);
      const Rect r{x - 0.03, y, x + 0.03, y + run};
      if (!outline_.holds(r, y == 0.0 ? 0.0 : 0.1) || !is_free(r, 0.05)) continue;
      screen.from = {x, y};
      screen.to = {x, y + run};
      space().partitions.push_back(screen);
      taken_.push_back(r);
      break;
    }
  }

  static domain::Channel channel(std::string id, std::string formula,
                                 std::map<std::string, double> parameters, double lumens) {
    domain::Channel channel;
    channel.id = std::move(id);
    channel.lumens = lumens;
    channel.photometry.formula = std::move(formula);
    channel.photometry.parameters = std::move(parameters);
    return channel;
  }

  void luminaire_types() {
    using Shape = domain::LuminaireType::Shape;
    const auto add = [&](const std::string& id, Shape shape, double along, double across,
                         std::vector<domain::Channel> channels) {
      domain::LuminaireType type;
      type.id = id;
      type.shape = shape;
      type.length_m = along;
      type.width_m = across;
      type.channels = std::move(channels);
      room_.project.luminaire_types.push_back(type);
    };
    // The recommended sets of docs/methods/photometry.md.
    add("panel", Shape::rectangle, 0.6, 0.6, {channel("all", "cosine_down", {{"exponent", 1.1}}, 3600)});
    add("pendant", Shape::rectangle, 1.2, 0.07,
        {channel("up", "cosine_up", {{"exponent", 1.0}}, 1600),
         channel("down", "batwing_across",
                 {{"peak_deg", 30}, {"boost", 0.8}, {"width_deg", 18}, {"other_exponent", 1.5}}, 2600)});
    add("downlight", Shape::circle, 0.15, 0.15,
        {channel("all", "downlight", {{"exponent", 2}, {"cutoff_deg", 60}, {"softness_deg", 20}}, 1100)});
    add("wash", Shape::rectangle, 1.2, 0.06,
        {channel("all", "wall_wash", {{"aim_deg", 35}, {"exponent", 4}}, 1800)});
    add("strip", Shape::rectangle, 1.2, 0.06,
        {channel("all", "batwing_along",
                 {{"peak_deg", 45}, {"boost", 1.5}, {"width_deg", 18}, {"other_exponent", 1.5}}, 2000)});
    add("troffer", Shape::rectangle, 1.2, 0.6,
        {channel("all", "two_plane_cosine", {{"along_exponent", 1.2}, {"across_exponent", 1.7}}, 4600)});
    add("batten", Shape::rectangle, 1.5, 0.03, {channel("all", "bare_lamp", {{"upward", 0.15}}, 3900)});
  }

  void luminaires() {
    luminaire_types();
    const int wanted = draw_.whole(1, 8);
    for (int attempt = 0; luminaire_count_ < wanted && attempt < 200; ++attempt) {
      const auto& types = room_.project.luminaire_types;
      const auto& type = types[static_cast<std::size_t>(draw_.whole(0, static_cast<int>(types.size()) - 1))];
      domain::Luminaire luminaire;
      luminaire.type = type.id;
      luminaire.space = "room";
      const Point2 at{draw_.between(0.0, outline_.length), draw_.between(0.0, outline_.depth)};
      const double reach = 0.5 * std::hypot(type.length_m, type.width_m) + 0.3;
      const Rect r{at.x - reach, at.y - reach, at.x + reach, at.y + reach};
      if (!outline_.holds(r, 0.0)) continue;
      const bool hangs = type.id == "pendant" || type.id == "batten";
      if (has_skylight_ && !hangs && r.overlaps(skylight_, 0.0)) continue;
      luminaire.at = {at.x, at.y, space().height_m - (hangs ? draw_.between(0.35, 0.7) : 0.0)};
      luminaire.rotation_deg = draw_.between(0.0, 360.0);
      if (hangs && draw_.chance(0.3)) luminaire.tilt_deg = draw_.between(-25.0, 25.0);
      luminaire.id = fmt::format("L{}", ++luminaire_count_);
      room_.project.designs[0].luminaires.push_back(luminaire);
    }
  }

  void outside() {
    room_.surroundings.plan_north_deg = draw_.between(0.0, 360.0);
    room_.surroundings.storey_elevation_m = draw_.between(0.0, 6.0);
    if (!draw_.chance(0.4)) return;
    domain::Obstruction opposite;
    opposite.id = "opposite";
    // Before the lower wall, or to the left of the left one.
    const double away = draw_.between(6.0, 15.0);
    const Rect r = draw_.chance(0.5)
                       ? Rect{-10.0, -away - 10.0, outline_.length + draw_.between(0.0, 10.0), -away}
                       : Rect{-away - 10.0, -5.0, -away, outline_.depth + draw_.between(0.0, 10.0)};
    opposite.plan_m = {{r.x0, r.y0}, {r.x1, r.y0}, {r.x1, r.y1}, {r.x0, r.y1}};
    opposite.top_m = draw_.between(4.0, 14.0);
    room_.surroundings.obstructions.push_back(opposite);
  }

  /// A place at least 0.3 m from walls and furniture.
  Point2 clear_place() {
    for (;;) {
      const Point2 p{draw_.between(0.0, outline_.length), draw_.between(0.0, outline_.depth)};
      if (outline_.holds(Rect{p.x, p.y, p.x, p.y}, 0.3) &&
          std::none_of(taken_.begin(), taken_.end(), [&](const Rect& r) { return r.holds(p, 0.3); }))
        return p;
    }
  }

  void points() {
    using Kind = RandomRoom::PointKind;
    if (!desks_.empty()) {
      const Rect& r = desks_.front();
      room_.points.push_back(
          {Kind::work,
           {{draw_.between(r.x0 + 0.1, r.x1 - 0.1), draw_.between(r.y0 + 0.1, r.y1 - 0.1), desk_top_.front()},
            {0, 0, 1},
            {}}});
    }
    const Point2 low = clear_place();
    room_.points.push_back({Kind::work, {{low.x, low.y, draw_.chance(0.5) ? 0.0 : 0.75}, {0, 0, 1}, {}}});
    const Point2 eye = clear_place();
    const double way = draw_.between(0.0, 2.0 * kPi);
    room_.points.push_back({Kind::upright, {{eye.x, eye.y, 1.2}, {std::cos(way), std::sin(way), 0.0}, {}}});
    const Point2 high = clear_place();
    room_.points.push_back({Kind::sensor,
                            {{high.x, high.y, space().height_m - 0.02},
                             {0, 0, -1},
                             {domain::AngularWeighting::Kind::narrowed, draw_.between(30.0, 55.0)}}});
  }

  /// Turns and moves the whole plan, in a third of the rooms, so that nothing rests on axes.
  void turn() {
    if (!draw_.chance(0.34)) return;
    const double by_deg = draw_.between(0.0, 360.0);
    const double c = std::cos(by_deg * kPi / 180.0);
    const double s = std::sin(by_deg * kPi / 180.0);
    const Vector2 move{draw_.between(-20.0, 20.0), draw_.between(-20.0, 20.0)};
    const auto turned = [&](Point2 p) {
      return Point2{c * p.x - s * p.y + move.x, s * p.x + c * p.y + move.y};
    };
    for (Point2& p : space().floor) p = turned(p);
    for (domain::Opening& o : space().openings)
      for (Point2& p : o.plan) p = turned(p);
    for (domain::Furniture& f : space().furniture)
      for (Point2& p : f.plan) p = turned(p);
    for (domain::Partition& p : space().partitions) {
      p.from = turned(p.from);
      p.to = turned(p.to);
    }
    for (domain::Luminaire& l : room_.project.designs[0].luminaires) {
      const Point2 p = turned({l.at.x, l.at.y});
      l.at = {p.x, p.y, l.at.z};
      l.rotation_deg += by_deg;
    }
    for (domain::Obstruction& o : room_.surroundings.obstructions)
      for (auto& p : o.plan_m) {
        const Point2 q = turned({p[0], p[1]});
        p = {q.x, q.y};
      }
    for (RandomRoom::Point& p : room_.points) {
      const Point2 q = turned({p.point.at.x, p.point.at.y});
      p.point.at = {q.x, q.y, p.point.at.z};
      const Vector3 f = p.point.facing;
      p.point.facing = {c * f.x - s * f.y, s * f.x + c * f.y, f.z};
    }
  }

  Draw draw_;
  RandomRoom room_;
  Outline outline_;
  Rect skylight_{0, 0, 0, 0};
  bool has_skylight_ = false;
  std::vector<Rect> taken_;
  std::vector<Rect> desks_;
  std::vector<double> desk_top_;
  int luminaire_count_ = 0;
};

}  // namespace

RandomRoom random_room(std::uint64_t seed) { return Builder(seed).build(); }

std::vector<Lamp> lamps_of(const domain::Project& project) {
  std::vector<Lamp> lamps;
  for (const domain::Luminaire& luminaire : project.designs[0].luminaires) {
    const domain::LuminaireType* type = domain::find_by_id(project.luminaire_types, luminaire.type);
    for (const domain::Channel& channel : type->channels) {
      photometry::SyntheticSpec spec;
      spec.formula = channel.photometry.formula;
      spec.parameters = channel.photometry.parameters;
      spec.lumens = channel.lumens;
      const Result<domain::IntensityDistribution> made = photometry::synthesise(spec);
      if (!made) throw std::runtime_error(to_text(made.error().front()));
      lamps.push_back({std::make_shared<const domain::IntensityDistribution>(*made), type->shape,
                       type->length_m, type->width_m, luminaire.at, luminaire.rotation_deg,
                       luminaire.tilt_deg});
    }
  }
  return lamps;
}

}  // namespace halflight::validation
