#include "validation/path_tracer.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <random>

namespace halflight::validation {

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kOff_m = 1e-6;  // paths leave this far off a surface

/// Numbers in [0, 1), 53 bits each.
class Chance {
 public:
  explicit Chance(std::uint64_t seed) : engine_(seed) {}
  double operator()() { return static_cast<double>(engine_() >> 11) * 0x1p-53; }
  std::size_t below(std::size_t count) {
    return std::min(count - 1, static_cast<std::size_t>((*this)() * static_cast<double>(count)));
  }

 private:
  std::mt19937_64 engine_;
};

bool inside(const std::vector<Point2>& outline, double x, double y) {
  bool odd = false;
  for (std::size_t i = 0, j = outline.size() - 1; i < outline.size(); j = i++) {
    const Point2 a = outline[i];
    const Point2 b = outline[j];
    if ((a.y > y) != (b.y > y) && x < (b.x - a.x) * (y - a.y) / (b.y - a.y) + a.x) odd = !odd;
  }
  return odd;
}

/// A box with its sides along the axes that holds some faces: rays that miss it need no test of each.
struct Bounds {
  std::size_t first_face = 0;
  std::size_t end_face = 0;
  Point3 low{1e30, 1e30, 1e30};
  Point3 high{-1e30, -1e30, -1e30};

  void hold(Point3 p) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y), std::min(low.z, p.z)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y), std::max(high.z, p.z)};
  }
  /// Whether the ray passes through it within `reach` of its start.
  [[nodiscard]] bool met(Point3 from, Vector3 d, double reach) const {
    double enter = 0.0;
    double leave = reach;
    const auto slab = [&](double origin, double step, double least, double most) {
      const double a = (least - 1e-6 - origin) / step;
      const double b = (most + 1e-6 - origin) / step;
      if (step == 0.0) return origin >= least - 1e-6 && origin <= most + 1e-6;
      enter = std::max(enter, std::min(a, b));
      leave = std::min(leave, std::max(a, b));
      return enter <= leave;
    };
    return slab(from.x, d.x, low.x, high.x) && slab(from.y, d.y, low.y, high.y) &&
           slab(from.z, d.z, low.z, high.z);
  }
};

/// A flat polygon in space: a point of its plane, two unit axes and the outline along them.
struct Face {
  Point3 origin;
  Vector3 u, v, normal;  // normal towards the air
  std::vector<Point2> outline;
  Point2 low, high;        // of the outline
  bool rectangle = false;  // the outline fills its bounds
  double reflectance = 0.0;
  std::vector<int> openings;  // that this face may hold

  void measure() {
    low = high = outline.front();
    for (const Point2 p : outline) {
      low = {std::min(low.x, p.x), std::min(low.y, p.y)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    }
    double doubled = 0.0;
    for (std::size_t i = 0; i < outline.size(); ++i) {
      const Point2 a = outline[i];
      const Point2 b = outline[(i + 1) % outline.size()];
      doubled += a.x * b.y - b.x * a.y;
    }
    const double box = (high.x - low.x) * (high.y - low.y);
    rectangle = std::abs(std::abs(0.5 * doubled) - box) < 1e-9 * box;
  }
  [[nodiscard]] Point2 local(Point3 p) const { return {dot(p - origin, u), dot(p - origin, v)}; }
  /// Distance along the ray, or infinity.
  [[nodiscard]] double meets(Point3 from, Vector3 d) const {
    const double along = dot(d, normal);
    if (along == 0.0) return std::numeric_limits<double>::infinity();
    const double t = dot(origin - from, normal) / along;
    if (t <= 0.0) return std::numeric_limits<double>::infinity();
    const Point2 p = local(from + t * d);
    if (p.x < low.x || p.x > high.x || p.y < low.y || p.y > high.y)
      return std::numeric_limits<double>::infinity();
    if (!rectangle && !inside(outline, p.x, p.y)) return std::numeric_limits<double>::infinity();
    return t;
  }
};

Face horizontal(const std::vector<Point2>& plan, double z, double up, double reflectance) {
  Face face;
  face.origin = {0.0, 0.0, z};
  face.u = {1, 0, 0};
  face.v = {0, 1, 0};
  face.normal = {0, 0, up};
  face.outline = plan;
  face.reflectance = reflectance;
  face.measure();
  return face;
}

/// Upright rectangle over the segment a-b; the air is to its left.
Face upright(Point2 a, Point2 b, double low, double high, double reflectance) {
  const double l = std::hypot(b.x - a.x, b.y - a.y);
  Face face;
  face.origin = {a.x, a.y, low};
  face.u = {(b.x - a.x) / l, (b.y - a.y) / l, 0.0};
  face.v = {0, 0, 1};
  face.normal = {-face.u.y, face.u.x, 0.0};
  face.outline = {{0, 0}, {l, 0}, {l, high - low}, {0, high - low}};
  face.reflectance = reflectance;
  face.measure();
  return face;
}

/// Sides, top and bottom of a block over a counter-clockwise outline.
void add_block(std::vector<Face>& faces, const std::vector<Point2>& plan, double bottom, double top,
               double reflectance) {
  for (std::size_t i = 0; i < plan.size(); ++i)
    faces.push_back(upright(plan[(i + 1) % plan.size()], plan[i], bottom, top, reflectance));
  faces.push_back(horizontal(plan, top, 1.0, reflectance));
  faces.push_back(horizontal(plan, bottom, -1.0, reflectance));
}

/// A parallelogram that light comes in through.
struct Window {
  Point3 corner;
  Vector3 along, up;  // its sides
  Vector3 outward;
  double area_m2 = 0.0;
  double reflectance = 0.0;
  std::size_t face = 0;         // that it lies in
  std::vector<Point2> outline;  // in that face's axes
};

struct PlacedLamp {
  Lamp lamp;
  Vector3 x, y, z;  // axes of the luminaire in the building

  explicit PlacedLamp(Lamp l) : lamp(std::move(l)) {
    const double r = lamp.rotation_deg * kPi / 180.0;
    const double t = lamp.tilt_deg * kPi / 180.0;
    // The length is level and turned by r. The aim, straight down without tilt, swings by t towards the
    // direction a quarter turn to the left of the length.
    x = {std::cos(r), std::sin(r), 0.0};
    const Vector3 left{-std::sin(r), std::cos(r), 0.0};
    z = -1.0 * (std::cos(t) * Vector3{0, 0, -1} + std::sin(t) * left);
    y = cross(z, x);
  }
};

/// Sum and sum of squares of one number a path.
struct Tally {
  double sum = 0.0;
  double squares = 0.0;
  void add(double value) {
    sum += value;
    squares += value * value;
  }
  [[nodiscard]] Estimate estimate(int count) const {
    const double n = count;
    const double mean = sum / n;
    return {mean, std::sqrt(std::max(0.0, squares / n - mean * mean) / (n - 1.0))};
  }
};

struct Tallies {
  Tally direct, reflected, total;
  void add(double straight, double bounced) {
    direct.add(straight);
    reflected.add(bounced);
    total.add(straight + bounced);
  }
  [[nodiscard]] Reading reading(int count) const {
    return {direct.estimate(count), reflected.estimate(count), total.estimate(count)};
  }
};

double relative_clear(double cos_zenith, double angle_from_sun_rad) {
  const double gradation = 1.0 - std::exp(-0.32 / std::max(cos_zenith, 1e-3));
  const double c = std::cos(angle_from_sun_rad);
  const double scatter =
      1.0 + 10.0 * (std::exp(-3.0 * angle_from_sun_rad) - std::exp(-1.5 * kPi)) + 0.45 * c * c;
  return gradation * scatter;
}

double angle_between(Vector3 a, Vector3 b) { return std::acos(std::clamp(dot(a, b), -1.0, 1.0)); }

/// A sky with the factor that gives it its horizontal illuminance.
struct ScaledSky {
  Sky sky;
  double scale = 0.0;

  explicit ScaledSky(const Sky& s) : sky(s) {
    switch (sky.kind) {
      case Sky::Kind::uniform:
        scale = sky.horizontal_lx / kPi;
        break;
      case Sky::Kind::overcast:
        scale = sky.horizontal_lx * 9.0 / (7.0 * kPi);  // luminance of the zenith
        break;
      case Sky::Kind::clear: {
        // Midpoints over zenith angle and azimuth; the corona is smooth but for its cusp at the sun.
        constexpr int kRings = 720;
        constexpr int kSectors = 1440;
        double sum = 0.0;
        for (int i = 0; i < kRings; ++i) {
          const double zenith = (i + 0.5) * 0.5 * kPi / kRings;
          const double sine = std::sin(zenith);
          const double cosine = std::cos(zenith);
          double ring = 0.0;
          for (int k = 0; k < kSectors; ++k) {
            const double turn = (k + 0.5) * 2.0 * kPi / kSectors;
            ring += relative_clear(
                cosine, angle_between({sine * std::sin(turn), sine * std::cos(turn), cosine}, sky.sun));
          }
          sum += ring * sine * cosine;
        }
        scale = sky.horizontal_lx / (sum * (0.5 * kPi / kRings) * (2.0 * kPi / kSectors));
        break;
      }
    }
  }
  /// `d`: east, north, up.
  [[nodiscard]] double luminance(Vector3 d) const {
    if (d.z <= 0.0) return sky.ground_cd_m2;
    switch (sky.kind) {
      case Sky::Kind::uniform:
        return scale;
      case Sky::Kind::overcast:
        return scale * (1.0 + 2.0 * d.z) / 3.0;
      case Sky::Kind::clear:
        return scale * relative_clear(d.z, angle_between(d, sky.sun));
    }
    return 0.0;
  }
};

}  // namespace

struct PathTracer::Room {
  std::vector<Face> faces;     // floor, ceiling, walls, then furniture
  std::vector<Bounds> blocks;  // the shell, then one a piece of furniture
  std::vector<Window> windows;
  std::vector<PlacedLamp> lamps;
  std::vector<Face> outside;
  std::vector<ScaledSky> skies;
  Vector3 east, north;  // in building axes

  struct Hit {
    std::size_t face = 0;
    Point3 at;
    double reflectance = 0.0;
    int window = -1;
  };

  [[nodiscard]] std::optional<Hit> first_hit(Point3 from, Vector3 d) const {
    double nearest = std::numeric_limits<double>::infinity();
    std::size_t face = 0;
    for (const Bounds& block : blocks) {
      if (!block.met(from, d, nearest)) continue;
      for (std::size_t i = block.first_face; i < block.end_face; ++i) {
        const double t = faces[i].meets(from, d);
        if (t < nearest) {
          nearest = t;
          face = i;
        }
      }
    }
    // Nothing met, or the back of a face: the path slipped through an edge.
    if (!std::isfinite(nearest) || dot(d, faces[face].normal) > 0.0) return std::nullopt;
    Hit hit{face, from + nearest * d, faces[face].reflectance, -1};
    for (const int w : faces[face].openings) {
      const Window& window = windows[static_cast<std::size_t>(w)];
      const Point2 p = faces[face].local(hit.at);
      if (!inside(window.outline, p.x, p.y)) continue;
      hit.reflectance = window.reflectance;
      hit.window = w;
    }
    return hit;
  }

  [[nodiscard]] bool sees(Point3 from, Point3 to) const {
    const Vector3 d = to - from;
    for (const Bounds& block : blocks) {
      if (!block.met(from, d, 1.0)) continue;
      for (std::size_t i = block.first_face; i < block.end_face; ++i)
        if (faces[i].meets(from, d) < 1.0 - 1e-6) return false;
    }
    return true;
  }

  /// Illuminance (lx) by one random place on a lamp, as if nothing stood between; `from` is the place.
  double unshadowed(const PlacedLamp& placed, Point3 at, Vector3 facing, Chance& chance, Point3& from) const {
    const Lamp& lamp = placed.lamp;
    double x = 0.0;
    double y = 0.0;
    if (lamp.shape == domain::LuminaireType::Shape::circle) {
      const double radius = 0.5 * lamp.length_m * std::sqrt(chance());
      const double turn = 2.0 * kPi * chance();
      x = radius * std::cos(turn);
      y = radius * std::sin(turn);
    } else {
      x = (chance() - 0.5) * lamp.length_m;
      y = (chance() - 0.5) * lamp.width_m;
    }
    from = lamp.at + x * placed.x + y * placed.y;
    const Vector3 path = at - from;
    const double d2 = dot(path, path);
    const double d = std::sqrt(d2);
    const double cosine = -dot(path, facing) / d;
    if (cosine <= 0.0) return 0.0;
    const Vector3 way = (1.0 / d) * path;
    return lamp.distribution->intensity_cd({dot(way, placed.x), dot(way, placed.y), dot(way, placed.z)}) *
           cosine / d2;
  }

  /// Adds `factor` times the luminance outside along a ray that leaves through an opening, one number a sky.
  void add_outside(Point3 place, Vector3 way, double factor, std::vector<double>& lx) const {
    const bool blocked = std::any_of(outside.begin(), outside.end(),
                                     [&](const Face& face) { return std::isfinite(face.meets(place, way)); });
    const Vector3 world{dot(way, east), dot(way, north), way.z};
    for (std::size_t s = 0; s < skies.size(); ++s)
      lx[s] += factor * (blocked ? skies[s].sky.obstruction_cd_m2 : skies[s].luminance(world));
  }

  /// One random place in an opening, seen from a place in the room.
  struct Glimpse {
    Point3 place;
    Vector3 way;
    double cosine = 0.0;      ///< to the normal of the place in the room
    double per_lx = 0.0;      ///< illuminance per luminance, lx per cd/m2; 0 when hidden
    double density_sr = 0.0;  ///< of directions chosen like this, 1/sr
  };
  [[nodiscard]] Glimpse glimpse(const Window& window, Point3 at, Vector3 facing, Chance& chance) const {
    Glimpse g;
    g.place = window.corner + chance() * window.along + chance() * window.up;
    const Vector3 path = g.place - at;
    const double d2 = dot(path, path);
    g.way = (1.0 / std::sqrt(d2)) * path;
    g.cosine = dot(g.way, facing);
    const double leaving = dot(g.way, window.outward);
    if (g.cosine <= 0.0 || leaving <= 0.0 || !sees(at, g.place)) return g;
    g.density_sr = d2 / (leaving * window.area_m2);
    g.per_lx = g.cosine / g.density_sr;
    return g;
  }

  [[nodiscard]] Vector3 scattered(Vector3 normal, Chance& chance, double& cosine) const {
    const double sine = std::sqrt(chance());
    cosine = std::sqrt(1.0 - sine * sine);
    const double turn = 2.0 * kPi * chance();
    const Vector3 other = std::abs(normal.z) < 0.9 ? Vector3{0, 0, 1} : Vector3{1, 0, 0};
    const Vector3 u = normalized(cross(other, normal));
    const Vector3 v = cross(normal, u);
    return (sine * std::cos(turn)) * u + (sine * std::sin(turn)) * v + cosine * normal;
  }

  /// Adds what comes back from the room to a place, by one path. `electric` and `lx` in lx.
  void follow(Point3 at, Vector3 facing, const domain::AngularWeighting* weighting, Chance& chance,
              double& electric, std::vector<double>& lx) const {
    double carried = 1.0;
    // Openings are met in two ways, by aiming at them and by chance. Each way counts with its share of the
    // two densities (balance heuristic: E. Veach, L. Guibas, SIGGRAPH 1995), as aiming alone has no finite
    // variance where furniture touches a window.
    double aimed_share = 0.0;  // chance that aiming picked one given opening, 0 before the first surface
    for (int bounce = 1;; ++bounce) {
      double cosine = 0.0;
      const Vector3 d = scattered(facing, chance, cosine);
      if (bounce == 1 && weighting != nullptr) carried *= weighting->response(cosine);
      if (carried == 0.0) return;
      const std::optional<Hit> hit = first_hit(at, d);
      if (!hit) return;
      if (hit->window >= 0 && aimed_share > 0.0) {
        const Window& window = windows[static_cast<std::size_t>(hit->window)];
        const Vector3 path = hit->at - at;
        const double aimed = aimed_share * dot(path, path) / (dot(d, window.outward) * window.area_m2);
        const double met = cosine / kPi;
        add_outside(hit->at, d, carried * kPi * met / (met + aimed), lx);
      }
      // The first reflections are weighted, those after by chance: a path goes on with the reflectance as its
      // probability and keeps its weight.
      if (bounce <= 2)
        carried *= hit->reflectance;
      else if (chance() >= hit->reflectance)
        return;
      if (carried == 0.0) return;
      facing = faces[hit->face].normal;
      at = hit->at + kOff_m * facing;
      const bool all = bounce == 1;
      for (std::size_t i = 0; i < (all ? lamps.size() : std::min<std::size_t>(1, lamps.size())); ++i) {
        const PlacedLamp& lamp = lamps[all ? i : chance.below(lamps.size())];
        Point3 from;
        const double part = unshadowed(lamp, at, facing, chance, from);
        if (part > 0.0 && sees(at, from))
          electric += carried * part * (all ? 1.0 : static_cast<double>(lamps.size()));
      }
      aimed_share = all ? 1.0 : 1.0 / static_cast<double>(std::max<std::size_t>(1, windows.size()));
      for (std::size_t i = 0; i < (all ? windows.size() : std::min<std::size_t>(1, windows.size())); ++i) {
        const Glimpse g = glimpse(windows[all ? i : chance.below(windows.size())], at, facing, chance);
        if (g.per_lx <= 0.0) continue;
        const double aimed = aimed_share * g.density_sr;
        add_outside(g.place, g.way, carried * g.cosine / (aimed + g.cosine / kPi), lx);
      }
    }
  }
};

PathTracer::PathTracer(const domain::Project& project, std::size_t space_index, std::vector<Lamp> lamps,
                       Surroundings surroundings, std::vector<Sky> skies) {
  const domain::Space& space = project.spaces[space_index];
  auto room = std::make_unique<Room>();
  const double height = space.height_m;
  room->faces.push_back(horizontal(space.floor, 0.0, 1.0, space.reflectances.floor));
  room->faces.push_back(horizontal(space.floor, height, -1.0, space.reflectances.ceiling));
  const std::size_t corners = space.floor.size();
  for (std::size_t w = 0; w < corners; ++w)
    room->faces.push_back(
        upright(space.floor[w], space.floor[(w + 1) % corners], 0.0, height, space.reflectances.walls));
  const auto bound = [&room] {
    Bounds block;
    block.first_face = room->blocks.empty() ? 0 : room->blocks.back().end_face;
    block.end_face = room->faces.size();
    for (std::size_t i = block.first_face; i < block.end_face; ++i)
      for (const Point2 p : room->faces[i].outline)
        block.hold(room->faces[i].origin + p.x * room->faces[i].u + p.y * room->faces[i].v);
    room->blocks.push_back(block);
  };
  bound();
  for (const domain::Opening& opening : space.openings) {
    Window window;
    const domain::Glazing* glazing = domain::find_by_id(project.glazings, opening.glazing);
    assert(glazing != nullptr);
    window.reflectance = glazing->reflectance_inside;
    if (opening.kind == domain::Opening::Kind::skylight) {
      assert(opening.plan.size() == 4);
      window.face = 1;
      window.outline = opening.plan;
      window.corner = {opening.plan[0].x, opening.plan[0].y, height};
      const Vector2 along = opening.plan[1] - opening.plan[0];
      const Vector2 up = opening.plan[3] - opening.plan[0];
      window.along = {along.x, along.y, 0.0};
      window.up = {up.x, up.y, 0.0};
    } else {
      window.face = 2 + static_cast<std::size_t>(opening.wall);
      const double right = opening.offset_m + opening.width_m;
      const double top = opening.sill_m + opening.height_m;
      window.outline = {
          {opening.offset_m, opening.sill_m}, {right, opening.sill_m}, {right, top}, {opening.offset_m, top}};
      const Face& wall = room->faces[window.face];
      window.corner = wall.origin + opening.offset_m * wall.u + opening.sill_m * wall.v;
      window.along = opening.width_m * wall.u;
      window.up = opening.height_m * wall.v;
    }
    window.outward = -room->faces[window.face].normal;
    window.area_m2 = length(cross(window.along, window.up));
    room->faces[window.face].openings.push_back(static_cast<int>(room->windows.size()));
    room->windows.push_back(std::move(window));
  }
  for (const domain::Furniture& piece : space.furniture) {
    add_block(room->faces, piece.plan, piece.bottom_m, piece.top_m,
              piece.reflectance.value_or(space.reflectances.furniture));
    bound();
  }
  for (const domain::Partition& partition : space.partitions) {
    const Vector2 run = partition.to - partition.from;
    const Vector2 half = (0.5 * partition.thickness_m / std::hypot(run.x, run.y)) * Vector2{-run.y, run.x};
    add_block(room->faces,
              {partition.from + (-1.0 * half), partition.to + (-1.0 * half), partition.to + half,
               partition.from + half},
              0.0, partition.height_m, partition.reflectance);
    bound();
  }
  for (const domain::Obstruction& obstruction : surroundings.obstructions) {
    std::vector<Point2> plan;
    for (const auto& p : obstruction.plan_m) plan.push_back({p[0], p[1]});
    add_block(room->outside, plan, obstruction.bottom_m - surroundings.storey_elevation_m,
              obstruction.top_m - surroundings.storey_elevation_m, 0.0);
  }
  for (Lamp& lamp : lamps) room->lamps.emplace_back(std::move(lamp));
  for (const Sky& sky : skies) room->skies.emplace_back(sky);
  // Building +y points to the bearing, clockwise from north; +x a quarter turn further.
  const double bearing = surroundings.plan_north_deg * kPi / 180.0;
  room->east = {std::cos(bearing), std::sin(bearing), 0.0};
  room->north = {-std::sin(bearing), std::cos(bearing), 0.0};
  room_ = std::move(room);
}

PathTracer::~PathTracer() = default;

PointReadings PathTracer::read(const domain::ObservationPoint& point, int paths, std::uint64_t seed) const {
  const Room& room = *room_;
  Chance chance(seed);
  Tallies electric;
  std::vector<Tallies> skies(room.skies.size());
  std::vector<double> straight(room.skies.size());
  std::vector<double> bounced(room.skies.size());
  std::vector<Tally> of_lamp(room.lamps.size());
  std::vector<int> shining(room.lamps.size(), 0);
  std::vector<int> seen(room.lamps.size(), 0);
  const Point3 at = point.at + kOff_m * point.facing;
  for (int k = 0; k < paths; ++k) {
    double direct = 0.0;
    for (std::size_t i = 0; i < room.lamps.size(); ++i) {
      Point3 from;
      double lx = room.unshadowed(room.lamps[i], at, point.facing, chance, from);
      if (lx <= 0.0) continue;
      ++shining[i];
      if (!room.sees(at, from)) continue;
      ++seen[i];
      lx *= point.weighting.response(dot(normalized(from - at), point.facing));
      of_lamp[i].add(lx);
      direct += lx;
    }
    std::fill(straight.begin(), straight.end(), 0.0);
    std::fill(bounced.begin(), bounced.end(), 0.0);
    for (const Window& window : room.windows) {
      const Room::Glimpse g = room.glimpse(window, at, point.facing, chance);
      if (g.per_lx > 0.0)
        room.add_outside(g.place, g.way, g.per_lx * point.weighting.response(g.cosine), straight);
    }
    double indirect = 0.0;
    room.follow(at, point.facing, &point.weighting, chance, indirect, bounced);
    electric.add(direct, indirect);
    for (std::size_t s = 0; s < skies.size(); ++s) skies[s].add(straight[s], bounced[s]);
  }
  PointReadings readings;
  readings.electric = electric.reading(paths);
  for (const Tallies& sky : skies) readings.skies.push_back(sky.reading(paths));
  for (std::size_t i = 0; i < room.lamps.size(); ++i)
    readings.lamps.push_back({of_lamp[i].estimate(paths).standard_error * std::sqrt(paths - 1.0),
                              seen[i] > 0 && seen[i]<shining[i], shining[i]> 0 && shining[i] < paths});
  return readings;
}

Estimate PathTracer::mean_over_surfaces(int paths, std::uint64_t seed) const {
  const Room& room = *room_;
  Chance chance(seed);
  std::vector<double> up_to;
  double area = 0.0;
  for (const Face& face : room.faces) {
    assert(face.rectangle);
    up_to.push_back(area += (face.high.x - face.low.x) * (face.high.y - face.low.y));
  }
  Tally tally;
  std::vector<double> none(room.skies.size());
  for (int k = 0; k < paths; ++k) {
    const double where = chance() * area;
    const auto found = std::upper_bound(up_to.begin(), up_to.end(), where);
    const Face& face = room.faces[static_cast<std::size_t>(found - up_to.begin())];
    const Point3 at = face.origin + (face.low.x + chance() * (face.high.x - face.low.x)) * face.u +
                      (face.low.y + chance() * (face.high.y - face.low.y)) * face.v + kOff_m * face.normal;
    double lx = 0.0;
    for (const PlacedLamp& lamp : room.lamps) {
      Point3 from;
      const double part = room.unshadowed(lamp, at, face.normal, chance, from);
      if (part > 0.0 && room.sees(at, from)) lx += part;
    }
    room.follow(at, face.normal, nullptr, chance, lx, none);
    tally.add(lx);
  }
  return tally.estimate(paths);
}

}  // namespace halflight::validation
