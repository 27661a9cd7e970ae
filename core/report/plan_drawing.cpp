#include "report/plan_drawing.hpp"

#include "base/units.hpp"
#include "domain/names.hpp"
#include "geometry/polygon.hpp"
#include "report/colour.hpp"
#include "report/contours.hpp"
#include "report/device_tokens.hpp"
#include "report/png.hpp"
#include "sensing/coverage.hpp"
#include "wording/figures.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

namespace halflight::report {
namespace {

using namespace domain;

constexpr double kWide_px = 690.0;  // room's longest sides on the page
constexpr double kHigh_px = 560.0;
constexpr double kWall_px = 6.0;
constexpr double kRightMargin_px = 62.0;
constexpr double kLetter_px = 7.6;  // mean width of a letter of 11 px text, for placing labels
constexpr int kFiner = 4;           // points drawn between computed ones

/// Plan metres to drawing pixels: x right, y down.
struct View {
  Box2 room;
  double scale = 50.0;  // px per m
  double left = 46.0;
  double top = 34.0;
  [[nodiscard]] double x(double x_m) const { return left + (x_m - room.low.x) * scale; }
  [[nodiscard]] double y(double y_m) const { return top + (room.high.y - y_m) * scale; }
  [[nodiscard]] double x(Point2 p) const { return x(p.x); }
  [[nodiscard]] double y(Point2 p) const { return y(p.y); }
  [[nodiscard]] double width() const { return (room.high.x - room.low.x) * scale; }
  [[nodiscard]] double height() const { return (room.high.y - room.low.y) * scale; }
  [[nodiscard]] std::string at(Point2 p) const { return num(x(p)) + " " + num(y(p)); }
};

View view_of(const Space& space, double wide_px, double high_px) {
  View v;
  v.room = bounds(space.floor);
  const double w = std::max(0.5, v.room.high.x - v.room.low.x);
  const double h = std::max(0.5, v.room.high.y - v.room.low.y);
  v.scale = std::min(wide_px / w, high_px / h);
  return v;
}

std::string path_of(const View& v, const std::vector<Point2>& points, bool is_closed) {
  std::string d;
  for (std::size_t i = 0; i < points.size(); ++i)
    d += (i == 0 ? "M" : "L") + num(v.x(points[i]), 1) + " " + num(v.y(points[i]), 1);
  return is_closed ? d + "Z" : d;
}

struct Box {
  double x0, y0, x1, y1;
  [[nodiscard]] bool meets(const Box& b) const { return x0 < b.x1 && b.x0 < x1 && y0 < b.y1 && b.y0 < y1; }
};

/// Keeps labels off one another and off what is drawn.
class Labels {
 public:
  Labels(const View& view, const Polygon& floor) : view_(view), floor_(floor) {}
  void occupy(Box box) { taken_.push_back(box); }
  void occupy(double x, double y, double half) { occupy({x - half, y - half, x + half, y + half}); }
  static Box box_of(std::string_view text, double x, double y, double anchor) {
    const double w = kLetter_px * static_cast<double>(text.size());
    return {x - anchor * w, y - 9.0, x + (1.0 - anchor) * w, y + 4.0};
  }
  [[nodiscard]] bool is_free(const Box& box) const {
    for (const double x : {box.x0, box.x1})
      for (const double y : {box.y0, box.y1})
        if (!contains(floor_, {view_.room.low.x + (x - view_.left) / view_.scale,
                               view_.room.high.y - (y - view_.top) / view_.scale}))
          return false;
    return std::none_of(taken_.begin(), taken_.end(), [&](const Box& b) { return b.meets(box); });
  }

 private:
  const View& view_;
  const Polygon& floor_;
  std::vector<Box> taken_;
};

void define_clip(Markup& page, const View& v, const Space& space, std::string_view id) {
  const auto clip = page.open("clipPath", {{"id", id}});
  page.empty("path", {{"d", path_of(v, space.floor, true)}});
}

void draw_field(Markup& page, const View& v, const Field& field, const LightRange& range) {
  IndexedPicture picture{field.columns, field.rows, {}};
  picture.pixels.reserve(field.values.size());
  for (int r = field.rows - 1; r >= 0; --r)
    for (int c = 0; c < field.columns; ++c)
      picture.pixels.push_back(static_cast<std::uint8_t>(
          std::lround(255.0 * light_position(field.at(c, r), range.low_lx, range.high_lx))));
  // A pixel is centred on its point, so the picture reaches half a step beyond the outer points.
  const double half = 0.5 * field.step_m;
  page.empty("image", {{"class", "field"},
                       {"x", v.x(field.x0_m - half)},
                       {"y", v.y(field.y0_m + (field.rows - 1) * field.step_m + half)},
                       {"width", field.columns * field.step_m * v.scale},
                       {"height", field.rows * field.step_m * v.scale},
                       {"preserveAspectRatio", "none"},
                       {"href", png_data_uri(picture, light_palette())}});
}

struct ContourLine {
  double level = 0.0;
  bool is_target = false;
  Polyline line;
};

std::vector<ContourLine> contours_of(const Field& field, const std::vector<double>& targets) {
  const auto [low, high] = std::minmax_element(field.values.begin(), field.values.end());
  std::vector<ContourLine> lines;
  for (const double level : contour_levels(*low, *high, targets)) {
    const bool is_target = std::find(targets.begin(), targets.end(), level) != targets.end();
    for (Polyline& line : contour(field, level)) {
      line.points = simplified(line.points, 0.01);
      lines.push_back({level, is_target, std::move(line)});
    }
  }
  return lines;
}

void draw_contours(Markup& page, const View& v, const std::vector<ContourLine>& lines) {
  for (const bool targets : {false, true}) {
    std::string d;
    for (const ContourLine& l : lines)
      if (l.is_target == targets) d += path_of(v, l.line.points, l.line.is_closed);
    if (!d.empty()) page.empty("path", {{"class", targets ? "iso target" : "iso"}, {"d", d}});
  }
}

void label_contours(Markup& page, const View& v, const Space& space, const std::vector<ContourLine>& lines,
                    Labels& labels) {
  for (const ContourLine& l : lines) {
    if (length_of(l.line) * v.scale < 70.0) continue;
    const std::string text = num(l.level, 0);
    // The middle of the line first, then outwards: a label near an end reads as belonging to the wall.
    const std::size_t n = l.line.points.size();
    for (std::size_t k = 0; k < n; ++k) {
      const std::size_t i = (n / 2 + (k % 2 == 0 ? k / 2 : n - (k + 1) / 2)) % n;
      const Point2 p = l.line.points[i];
      if (!contains(space.floor, p) || distance_to_boundary(space.floor, p) * v.scale < 16.0) continue;
      const Box box = Labels::box_of(text, v.x(p), v.y(p) + 4.0, 0.5);
      if (!labels.is_free(box)) continue;
      labels.occupy({box.x0 - 14.0, box.y0 - 10.0, box.x1 + 14.0, box.y1 + 10.0});
      page.leaf("text",
                {{"class", l.is_target ? "lx heavy" : "lx"},
                 {"x", v.x(p)},
                 {"y", v.y(p) + 4.0},
                 {"text-anchor", "middle"}},
                text);
      break;
    }
  }
}

/// A stretch of wall: unit vectors along it and into the room.
struct WallStretch {
  Point2 from;
  Point2 to;
  Vector2 along;
  Vector2 inward;
};
std::optional<WallStretch> stretch_of(const Space& space, int wall, double offset_m, double width_m) {
  if (wall < 0 || static_cast<std::size_t>(wall) >= space.floor.size()) return std::nullopt;
  const Point2 a = space.floor[static_cast<std::size_t>(wall)];
  const Point2 b = space.floor[(static_cast<std::size_t>(wall) + 1) % space.floor.size()];
  if (length(b - a) <= 0.0) return std::nullopt;
  const Vector2 along = (1.0 / length(b - a)) * (b - a);
  const Point2 from = a + offset_m * along;
  return WallStretch{from, from + width_m * along, along, {-along.y, along.x}};
}

/// The stretch as a band centred on the wall's line, `px` thick.
std::string band(const View& v, const WallStretch& s, double px) {
  const Vector2 half = (0.5 * px / v.scale) * s.inward;
  const Vector2 back{-half.x, -half.y};
  return path_of(v, {s.from + half, s.to + half, s.to + back, s.from + back}, true);
}

void draw_walls(Markup& page, const View& v, const Space& space) {
  page.empty("path", {{"class", "wall"}, {"d", path_of(v, space.floor, true)}});
  for (const Opening& o : space.openings) {
    if (o.kind == Opening::Kind::skylight) continue;
    const auto s = stretch_of(space, o.wall, o.offset_m, o.width_m);
    if (!s) continue;
    page.empty("path", {{"class", "pane"}, {"d", band(v, *s, kWall_px)}});
    page.empty("path", {{"class", o.kind == Opening::Kind::window ? "glass" : "innerglass"},
                        {"d", band(v, *s, kWall_px)}});
  }
  for (const Door& door : space.doors) {
    const auto s = stretch_of(space, door.wall, door.offset_m, door.width_m);
    if (!s) continue;
    page.empty("path", {{"class", "gap"}, {"d", band(v, *s, kWall_px + 1.0)}});
    // Seen from inside and facing the wall, left is the direction in which the floor's edge runs.
    const bool hinge_first = door.latch == Door::Latch::left;
    const Point2 hinge = hinge_first ? s->from : s->to;
    const Point2 latch = hinge_first ? s->to : s->from;
    const Vector2 open = (door.swing == Door::Swing::in ? door.width_m : -door.width_m) * s->inward;
    const Point2 tip = hinge + open;
    const bool clockwise = cross(tip - hinge, latch - hinge) < 0.0;  // in plan; the page's y runs down
    page.empty("path", {{"class", "leaf"}, {"d", "M" + v.at(hinge) + "L" + v.at(tip)}});
    page.empty("path",
               {{"class", "swing"},
                {"d", "M" + v.at(tip) + "A" + num(door.width_m * v.scale) + " " +
                          num(door.width_m * v.scale) + " 0 0 " + (clockwise ? "1 " : "0 ") + v.at(latch)}});
  }
}

void draw_fittings(Markup& page, const View& v, const Space& space, Labels& labels) {
  for (const Furniture& f : space.furniture)
    page.empty("path", {{"class", f.top_m > 1.2 ? "shelf" : "table"}, {"d", path_of(v, f.plan, true)}});
  for (const Partition& p : space.partitions)
    page.empty("path", {{"class", p.kind == Partition::Kind::movable ? "partition movable" : "partition"},
                        {"d", path_of(v, {p.from, p.to}, false)},
                        {"stroke-width", std::max(2.0, p.thickness_m * v.scale)}});
  for (const TaskArea& t : space.task_areas) {
    if (t.plan.empty()) continue;
    page.empty("path", {{"class", "task"}, {"d", path_of(v, t.plan, true)}});
  }
  for (const Opening& o : space.openings) {
    if (o.kind != Opening::Kind::skylight || o.plan.empty()) continue;
    page.empty("path", {{"class", "skylight"}, {"d", path_of(v, o.plan, true)}});
    const Box2 b = bounds(o.plan);
    const double x = v.x(b.low.x) + 4.0;
    const double y = v.y(b.low.y) - 5.0;
    page.leaf("text", {{"class", "tiny"}, {"x", x}, {"y", y}}, "skylight");
    labels.occupy(Labels::box_of("skylight", x, y, 0.0));
  }
}

void draw_daylight_zones(Markup& page, const View& v, const results::SpaceStudy& study) {
  for (const results::DaylightZone& zone : study.daylight_zones)
    for (const Polygon& piece : zone.outline)
      if (!piece.empty()) page.empty("path", {{"class", "zone"}, {"d", path_of(v, piece, true)}});
}

void label_daylight_zones(Markup& page, const View& v, const results::SpaceStudy& study, Labels& labels) {
  static constexpr const char* kNames[] = {"primary daylight zone", "secondary daylight zone",
                                           "zone under skylight"};
  for (const results::DaylightZone& zone : study.daylight_zones) {
    for (const Polygon& piece : zone.outline) {
      if (piece.empty()) continue;
      std::string text = kNames[static_cast<int>(zone.kind)];
      if (zone.kind != results::DaylightZone::Kind::toplit) text += ", " + num(zone.depth_m) + " m deep";
      const Box2 b = bounds(piece);
      // Along the zone's inner edge: the top of the box, or failing room there, its foot.
      for (const auto& [x, y, anchor] : {std::tuple{v.x(b.high.x) - 5.0, v.y(b.high.y) + 13.0, 1.0},
                                         std::tuple{v.x(b.low.x) + 5.0, v.y(b.high.y) + 13.0, 0.0},
                                         std::tuple{v.x(b.high.x) - 5.0, v.y(b.low.y) - 6.0, 1.0},
                                         std::tuple{v.x(b.low.x) + 5.0, v.y(b.low.y) - 6.0, 0.0}}) {
        const Box box = Labels::box_of(text, x, y, anchor);
        if (!labels.is_free(box)) continue;
        labels.occupy(box);
        page.leaf(
            "text",
            {{"class", "tiny zonename"}, {"x", x}, {"y", y}, {"text-anchor", anchor > 0.5 ? "end" : "start"}},
            text);
        break;
      }
    }
  }
}

void draw_egress(Markup& page, const View& v, const Space& space) {
  for (const EgressPath& path : space.egress_paths) {
    if (path.centre_line.size() < 2) continue;
    page.empty("path", {{"class", "egress"}, {"d", path_of(v, path.centre_line, false)}});
    for (std::size_t i = 1; i < path.centre_line.size(); ++i) {
      const Point2 a = path.centre_line[i - 1];
      const Point2 b = path.centre_line[i];
      if (length(b - a) <= 0.0) continue;
      const double px = (b.x - a.x) * v.scale;
      const double py = (a.y - b.y) * v.scale;
      const double degrees = std::atan2(py, px) * kDegPerRad;
      const double along = i + 1 == path.centre_line.size() ? 0.97 : 0.55;
      page.empty("path", {{"class", "egresshead"},
                          {"d", "M-7 -5L1 0L-7 5"},
                          {"transform", "translate(" + num(v.x(a) + along * px) + " " +
                                            num(v.y(a) + along * py) + ") rotate(" + num(degrees) + ")"}});
    }
  }
}

void draw_luminaires(Markup& page, const View& v, const Project& project, const Design& design,
                     const Space& space, Labels& labels) {
  for (const Luminaire& l : design.luminaires) {
    if (l.space != space.id || l.status == Status::remove) continue;
    const LuminaireType* type = find_by_id(project.luminaire_types, l.type);
    const double w = std::max(5.0, (type == nullptr ? 0.3 : type->length_m) * v.scale);
    const double h = std::max(5.0, (type == nullptr ? 0.3 : type->width_m) * v.scale);
    const double x = v.x(l.at.x);
    const double y = v.y(l.at.y);
    const auto g = page.open("g", {{"transform", "translate(" + num(x) + " " + num(y) + ") rotate(" +
                                                     num(-l.rotation_deg) + ")"}});
    page.leaf("title", named(l.tag, l.id) + (type == nullptr ? "" : ", type " + named(type->tag, type->id)));
    if (type != nullptr && type->shape == LuminaireType::Shape::circle)
      page.empty("circle", {{"class", "lum"}, {"r", 0.5 * w}});
    else
      page.empty(
          "rect",
          {{"class", "lum"}, {"x", -0.5 * w}, {"y", -0.5 * h}, {"width", w}, {"height", h}, {"rx", 1.2}});
    const double c = std::abs(std::cos(l.rotation_deg * kRadPerDeg));
    const double s = std::abs(std::sin(l.rotation_deg * kRadPerDeg));
    labels.occupy({x - 0.5 * (w * c + h * s) - 2, y - 0.5 * (w * s + h * c) - 2,
                   x + 0.5 * (w * c + h * s) + 2, y + 0.5 * (w * s + h * c) + 2});
  }
  for (const Luminaire& l : design.luminaires)
    if (l.space == space.id && l.status != Status::remove && l.emergency.lights_egress) {
      const double x = v.x(l.at.x);
      const double y = v.y(l.at.y) - 9.0;
      draw_egress_tab(page, x, y);
      labels.occupy(x, y, 8.0);
    }
}

/// Group letters in the margin: left of the row a group forms, or above it when it runs up the page.
void draw_group_letters(Markup& page, const View& v, const Design& design, const Space& space) {
  struct Letter {
    std::string name;
    double at = 0.0;
  };
  std::vector<Letter> rows;
  std::vector<Letter> columns;
  bool any_scene = false;
  for (const Group& g : design.groups) any_scene |= g.space == space.id && g.strategy == Strategy::scene;
  for (const Group& g : design.groups) {
    if (g.space != space.id || g.strategy != (any_scene ? Strategy::scene : Strategy::occupancy)) continue;
    std::vector<Point2> places;
    for (const std::string& entry : g.channels) {
      const Luminaire* l = find_by_id(design.luminaires, entry.substr(0, entry.find('/')));
      if (l != nullptr && l->status != Status::remove) places.push_back({l->at.x, l->at.y});
    }
    if (places.empty()) continue;
    const Box2 b = bounds(places);
    const bool runs_up = b.high.y - b.low.y > b.high.x - b.low.x;
    const double at = runs_up ? v.x(0.5 * (b.low.x + b.high.x)) : v.y(0.5 * (b.low.y + b.high.y));
    (runs_up ? columns : rows).push_back({named(g.name, g.id), at});
  }
  const auto draw = [&](std::vector<Letter>& letters, bool is_row) {
    std::sort(letters.begin(), letters.end(), [](const Letter& a, const Letter& b) { return a.at < b.at; });
    const auto width_of = [](const Letter& l) {
      return std::max(22.0, 7.2 * static_cast<double>(l.name.size()) + 10.0);
    };
    // Off one another from the first on, then back from the edge of the drawing.
    double free_from = -1e9;
    for (Letter& l : letters) {
      const double half = is_row ? 13.5 : 0.5 * width_of(l) + 2.0;
      l.at = std::max(l.at, free_from + half);
      free_from = l.at + half;
    }
    double free_to = is_row ? 1e9 : v.left + v.width() + kRightMargin_px;
    for (auto l = letters.rbegin(); l != letters.rend(); ++l) {
      const double half = is_row ? 13.5 : 0.5 * width_of(*l) + 2.0;
      l->at = std::min(l->at, free_to - half);
      free_to = l->at - half;
    }
    for (const Letter& l : letters) {
      const double w = width_of(l);
      const double x = is_row ? v.left - 12.0 - 0.5 * w : l.at;
      const double y = is_row ? l.at : v.top - 18.0;
      page.empty("rect", {{"class", "letterbox"},
                          {"x", x - 0.5 * w},
                          {"y", y - 12.0},
                          {"width", w},
                          {"height", 24.0},
                          {"rx", 4.0}});
      page.leaf("text", {{"class", "letter"}, {"x", x}, {"y", y + 4.5}}, l.name);
    }
  };
  draw(rows, true);
  draw(columns, false);
}

double letters_width(const Design& design, const Space& space) {
  double w = 22.0;
  for (const Group& g : design.groups)
    if (g.space == space.id && g.strategy == Strategy::scene)
      w = std::max(w, 7.2 * static_cast<double>(named(g.name, g.id).size()) + 10.0);
  return w;
}

std::string path_of(const View& v, const Region& region) {
  std::string d;
  for (const PolygonWithHoles& piece : region) {
    d += path_of(v, piece.outline, true);
    for (const Polygon& hole : piece.holes) d += path_of(v, hole, true);
  }
  return d;
}

/// What the sensors see, walking as a line and small movements dotted; the bare shape thin where it is cut.
void draw_coverage(Markup& page, const View& v, const Design& design, const sensing::RoomReach& reach) {
  using sensing::Motion;
  for (const sensing::RoomReach::Sensor& s : reach.sensors)
    for (const Motion motion : {Motion::major, Motion::minor}) {
      const sensing::Field& field = motion == Motion::major ? s.major : s.minor;
      const std::string kind = motion == Motion::major ? "cover" : "cover small";
      if (!field.hidden.empty()) {
        page.empty(
            "path",
            {{"class", "cover bare"},
             {"d", path_of(v, sensing::coverage_shape(design.occupancy_sensors[s.index], motion), true)}});
        page.empty("path", {{"class", "shadowed"}, {"d", path_of(v, field.hidden)}});
      }
      page.empty("path", {{"class", kind}, {"d", path_of(v, field.seen)}});
    }
}

/// The bare shapes, where what cuts them is beyond counting.
void draw_shapes(Markup& page, const View& v, const Design& design, const Space& space) {
  using sensing::Motion;
  for (const OccupancySensor& s : design.occupancy_sensors)
    if (s.space == space.id && s.status != Status::remove)
      for (const Motion motion : {Motion::major, Motion::minor})
        page.empty("path", {{"class", motion == Motion::major ? "cover" : "cover small"},
                            {"d", path_of(v, sensing::coverage_shape(s, motion), true)}});
}

/// Places that no sensor watches for small movements.
void draw_places(Markup& page, const View& v, const sensing::RoomReach& reach, Labels& labels) {
  for (const sensing::Place& place : reach.places) {
    const sensing::PlaceReach there = sensing::reach_of(place);
    if (there == sensing::PlaceReach::whole) continue;
    page.empty("path", {{"class", "unwatched"}, {"d", path_of(v, place.plan, true)}});
    const Box2 b = bounds(place.plan);
    const char* text = there == sensing::PlaceReach::none ? "out of reach" : "partly in reach";
    const double x = v.x(0.5 * (b.low.x + b.high.x));
    const double y = v.y(0.5 * (b.low.y + b.high.y)) + 4.0;
    const Box box = Labels::box_of(text, x, y, 0.5);
    if (!labels.is_free(box)) continue;
    labels.occupy(box);
    page.leaf("text", {{"class", "tiny"}, {"x", x}, {"y", y}, {"text-anchor", "middle"}}, text);
  }
}

template <class Devices>
void draw_devices(Markup& page, const View& v, const Space& space, const Devices& devices, Token token,
                  Labels& labels) {
  for (const auto& d : devices) {
    if (d.space != space.id || d.status == Status::remove) continue;
    const double x = std::clamp(v.x(d.at.x), v.left + 9.0, v.left + v.width() - 9.0);
    const double y = std::clamp(v.y(d.at.y), v.top + 9.0, v.top + v.height() - 9.0);
    draw_token(page, token, x, y);
    labels.occupy(x, y, 12.0);
    const std::string text = named(d.tag, d.id);
    for (const auto& [tx, ty, anchor] :
         {std::tuple{x + 13.0, y - 7.0, 0.0}, std::tuple{x - 13.0, y - 7.0, 1.0},
          std::tuple{x + 13.0, y + 14.0, 0.0}, std::tuple{x - 13.0, y + 14.0, 1.0}}) {
      const Box box = Labels::box_of(text, tx, ty, anchor);
      if (!labels.is_free(box)) continue;
      labels.occupy(box);
      page.leaf("text",
                {{"class", "tag"}, {"x", tx}, {"y", ty}, {"text-anchor", anchor > 0.5 ? "end" : "start"}},
                text);
      break;
    }
  }
}

void draw_dimensions(Markup& page, const View& v) {
  const double y = v.top + v.height() + 24.0;
  const double x = v.left + v.width() + 24.0;
  const double x0 = v.left, x1 = v.left + v.width(), y0 = v.top, y1 = v.top + v.height();
  page.empty("path", {{"class", "dim"},
                      {"d", "M" + num(x0) + " " + num(y) + "H" + num(x1) + "M" + num(x0) + " " + num(y - 4) +
                                "V" + num(y + 4) + "M" + num(x1) + " " + num(y - 4) + "V" + num(y + 4)}});
  page.leaf("text", {{"class", "dimtext"}, {"x", 0.5 * (x0 + x1)}, {"y", y - 5.0}},
            num(v.room.high.x - v.room.low.x) + " m");
  page.empty("path", {{"class", "dim"},
                      {"d", "M" + num(x) + " " + num(y0) + "V" + num(y1) + "M" + num(x - 4) + " " + num(y0) +
                                "H" + num(x + 4) + "M" + num(x - 4) + " " + num(y1) + "H" + num(x + 4)}});
  page.leaf("text",
            {{"class", "dimtext"},
             {"transform", "translate(" + num(x + 14.0) + " " + num(0.5 * (y0 + y1)) + ") rotate(-90)"}},
            num(v.room.high.y - v.room.low.y) + " m");
}

void draw_north_and_scale(Markup& page, const View& v, double plan_north_deg) {
  {
    const auto g = page.open("g", {{"transform", "translate(" + num(v.left + v.width() + 44.0) + " " +
                                                     num(v.top + v.height() + 36.0) + ")"}});
    {
      const auto turned = page.open("g", {{"transform", "rotate(" + num(-plan_north_deg) + ")"}});
      page.empty("path", {{"class", "north"}, {"d", "M0 13V-12M-5 -5L0 -13L5 -5"}});
    }
    page.leaf("text", {{"class", "dimtext"}, {"x", -14.0}, {"y", 5.0}}, "N");
  }
  const double bar_m = v.room.high.x - v.room.low.x > 4.0 ? 2.0 : 1.0;
  const double y = v.top + v.height() + 44.0;
  const double x = v.left;
  page.empty("path", {{"class", "scalebar"},
                      {"d", "M" + num(x) + " " + num(y - 3) + "V" + num(y) + "H" + num(x + bar_m * v.scale) +
                                "V" + num(y - 3)}});
  page.leaf("text", {{"class", "scaletext"}, {"x", x + bar_m * v.scale + 7.0}, {"y", y + 1.0}},
            num(bar_m) + " m");
}

std::vector<double> targets_of(const Space& space) {
  std::vector<double> targets;
  for (const TaskArea& t : space.task_areas)
    if (t.plane == TaskArea::Plane::horizontal) targets.push_back(t.target_lx);
  std::sort(targets.begin(), targets.end());
  targets.erase(std::unique(targets.begin(), targets.end()), targets.end());
  return targets;
}

double round_down(double v) {
  const double power = std::pow(10.0, std::floor(std::log10(v)));
  for (const double step : {5.0, 2.0, 1.0})
    if (v >= step * power * (1.0 - 1e-9)) return step * power;
  return power;
}
double round_up(double v) {
  const double power = std::pow(10.0, std::floor(std::log10(v)));
  for (const double step : {1.0, 1.5, 2.0, 3.0, 5.0, 7.5})
    if (v <= step * power * (1.0 + 1e-9)) return step * power;
  return 10.0 * power;
}

}  // namespace

LightRange light_range(const results::PlanGrid& computed, const Space& space) {
  const results::PlanGrid grid = beside_furniture(computed, space.furniture);
  double low = 1e9;
  double high = 0.0;
  for (const float value : grid.values_lx) {
    if (!(value >= 0.0F)) continue;
    low = std::min(low, static_cast<double>(value));
    high = std::max(high, static_cast<double>(value));
  }
  if (high <= 0.0) return {1.0, 10.0};
  // At most two and a half decades: below that everything is night to the eye that sees the top.
  low = std::max({low, high / 300.0, 0.1});
  LightRange range{round_down(low), round_up(high)};
  if (range.high_lx < 4.0 * range.low_lx) range.low_lx = round_down(range.high_lx / 4.0);
  return range;
}

void draw_plan(Markup& page, const Project& project, const Design& design, const Space& space,
               const results::SpaceStudy& study, const results::PlanGrid* grid, std::string_view id) {
  if (space.floor.size() < 3) return;
  View v = view_of(space, kWide_px, kHigh_px);
  v.left = letters_width(design, space) + 26.0;
  const double width = v.left + v.width() + kRightMargin_px;
  const double height = v.top + v.height() + 54.0;
  const auto svg = page.open(
      "svg", {{"class", "plan"},
              {"viewBox", "0 0 " + num(width) + " " + num(height)},
              {"role", "img"},
              {"aria-label", "Plan of " + named(space.name, space.id) +
                                 (grid == nullptr ? "" : ": " + grid->quantity + ", contours in lx")}});
  Labels labels(v, space.floor);
  const std::optional<sensing::RoomReach> reach = sensing::reach_of(space, design);
  const Field field = grid == nullptr ? Field{} : drawable(beside_furniture(*grid, space.furniture), kFiner);
  const std::vector<ContourLine> lines =
      field.values.empty() ? std::vector<ContourLine>{} : contours_of(field, targets_of(space));
  {
    define_clip(page, v, space, id);
    const auto room = page.open("g", {{"clip-path", "url(#" + std::string(id) + ")"}});
    page.empty("path", {{"class", "floor"}, {"d", path_of(v, space.floor, true)}});
    if (!field.values.empty()) draw_field(page, v, field, light_range(*grid, space));
    draw_contours(page, v, lines);
    draw_fittings(page, v, space, labels);
    draw_daylight_zones(page, v, study);
    if (reach)
      draw_coverage(page, v, design, *reach);
    else
      draw_shapes(page, v, design, space);
    draw_egress(page, v, space);
  }
  draw_luminaires(page, v, project, design, space, labels);
  draw_walls(page, v, space);
  draw_devices(page, v, space, design.occupancy_sensors, Token::eye, labels);
  draw_devices(page, v, space, design.photosensors, Token::sun, labels);
  draw_devices(page, v, space, design.stations, Token::card, labels);
  draw_devices(page, v, space, design.load_controllers, Token::box, labels);
  draw_devices(page, v, space, design.time_clocks, Token::clock, labels);
  draw_devices(page, v, space, design.interfaces, Token::plug, labels);
  draw_devices(page, v, space, design.infrastructure, Token::node, labels);
  if (reach && !reach->sensors.empty()) draw_places(page, v, *reach, labels);
  label_daylight_zones(page, v, study, labels);
  label_contours(page, v, space, lines, labels);
  draw_group_letters(page, v, design, space);
  draw_dimensions(page, v);
  draw_north_and_scale(page, v, project.site.plan_north_deg);
}

void draw_small_plan(Markup& page, const Space& space, const results::PlanGrid& grid,
                     const std::vector<double>& targets_lx, std::string_view id) {
  if (space.floor.size() < 3) return;
  View v = view_of(space, 300.0, 220.0);
  v.left = v.top = 4.0;
  const auto svg = page.open("svg", {{"class", "smallplan"},
                                     {"viewBox", "0 0 " + num(v.width() + 8.0) + " " + num(v.height() + 8.0)},
                                     {"role", "img"},
                                     {"aria-label", grid.quantity + ", contours in lx"}});
  const Field field = drawable(beside_furniture(grid, space.furniture), kFiner);
  Labels labels(v, space.floor);
  if (!field.values.empty()) {
    const std::vector<ContourLine> lines = contours_of(field, targets_lx);
    {
      define_clip(page, v, space, id);
      const auto room = page.open("g", {{"clip-path", "url(#" + std::string(id) + ")"}});
      draw_field(page, v, field, light_range(grid, space));
      draw_contours(page, v, lines);
    }
    label_contours(page, v, space, lines, labels);
  }
  page.empty("path", {{"class", "wall thin"}, {"d", path_of(v, space.floor, true)}});
}

void draw_point_values(Markup& page, const Space& space, const std::vector<PlanValue>& values,
                       std::string_view id) {
  if (space.floor.size() < 3) return;
  View v = view_of(space, kWide_px, kHigh_px);
  v.left = v.top = 4.0;
  const auto svg = page.open("svg", {{"class", "plan points"},
                                     {"id", id},
                                     {"viewBox", "0 0 " + num(v.width() + 8.0) + " " + num(v.height() + 8.0)},
                                     {"role", "img"},
                                     {"aria-label", "Illuminance at the points of the task areas of " +
                                                        named(space.name, space.id) + ", lx"}});
  page.empty("path", {{"class", "floor"}, {"d", path_of(v, space.floor, true)}});
  for (const Furniture& f : space.furniture)
    page.empty("path", {{"class", "table"}, {"d", path_of(v, f.plan, true)}});
  for (const TaskArea& t : space.task_areas)
    page.empty("path", {{"class", "task"}, {"d", path_of(v, t.plan, true)}});
  page.empty("path", {{"class", "wall thin"}, {"d", path_of(v, space.floor, true)}});
  Labels labels(v, space.floor);
  for (const PlanValue& value : values)
    page.empty("circle", {{"class", "dot"}, {"cx", v.x(value.at)}, {"cy", v.y(value.at)}, {"r", 1.2}});
  for (const PlanValue& value : values) {
    const std::string text = num(value.value, value.value < 10.0 ? 1 : 0);
    // Above its dot.
    const double y = v.y(value.at) - 4.0;
    const Box box = Labels::box_of(text, v.x(value.at), y, 0.5);
    if (!labels.is_free(box)) continue;
    labels.occupy(box);
    page.leaf("text", {{"class", "value"}, {"x", v.x(value.at)}, {"y", y}}, text);
  }
}

void draw_light_scale(Markup& page, const LightRange& range, std::string_view what) {
  const auto line = page.open("p", {{"class", "scale"}});
  page.leaf("span", wording::rounded(range.low_lx, range.low_lx < 1.0 ? -1 : 0));
  {
    const auto svg =
        page.open("svg", {{"viewBox", "0 0 192 11"}, {"class", "ramp"}, {"aria-hidden", "true"}});
    constexpr int kSteps = 32;
    for (int i = 0; i < kSteps; ++i)
      page.empty("rect", {{"x", i * 6.0},
                          {"width", 6.3},
                          {"height", 11.0},
                          {"fill", hex(light_colour(i / (kSteps - 1.0)))}});
  }
  page.leaf("span", wording::rounded(range.high_lx, 0) + " lx");
  page.leaf("span", {{"class", "soft"}}, what);
}

}  // namespace halflight::report
