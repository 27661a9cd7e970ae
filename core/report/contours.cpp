#include "report/contours.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <utility>

namespace halflight::report {
namespace {

constexpr double kLeast_lx = 0.1;  // floor of the logarithm: darker than moonlit ground is drawn as dark

constexpr double kTall_m = 1.2;    // furniture above this holds every plane on which people work
constexpr double kSkin_m = 0.01;   // points so near an edge see the side of the furniture
constexpr double kEnclosed = 0.5;  // share of the light beside it below which a point is inside, not on top

constexpr int kRings = 2;  // cells added around the grid: its outer points may stand one step off the walls

/// Grid with rings around it, holes filled ring by ring with the mean of the neighbours that are known.
Field filled(const results::PlanGrid& grid) {
  Field f{grid.x0_m - kRings * grid.step_m, grid.y0_m - kRings * grid.step_m, grid.step_m,
          grid.columns + 2 * kRings,        grid.rows + 2 * kRings,           {}};
  f.values.assign(static_cast<std::size_t>(f.columns) * static_cast<std::size_t>(f.rows), -1.0);
  const auto index = [&](int c, int r) { return static_cast<std::size_t>(r * f.columns + c); };
  bool any = false;
  for (int r = 0; r < grid.rows; ++r)
    for (int c = 0; c < grid.columns; ++c) {
      const double v = grid.values_lx[static_cast<std::size_t>(r * grid.columns + c)];
      if (!(v >= 0.0)) continue;
      f.values[index(c + kRings, r + kRings)] = v;
      any = true;
    }
  if (!any) return {};
  for (bool holes = true; holes;) {
    holes = false;
    const std::vector<double> known = f.values;
    for (int r = 0; r < f.rows; ++r)
      for (int c = 0; c < f.columns; ++c) {
        if (known[index(c, r)] >= 0.0) continue;
        double sum = 0.0;
        int count = 0;
        for (int dr = -1; dr <= 1; ++dr)
          for (int dc = -1; dc <= 1; ++dc) {
            if (r + dr < 0 || r + dr >= f.rows || c + dc < 0 || c + dc >= f.columns) continue;
            if (const double v = known[index(c + dc, r + dr)]; v >= 0.0) sum += v, ++count;
          }
        if (count > 0)
          f.values[index(c, r)] = sum / count;
        else
          holes = true;
      }
  }
  return f;
}

/// Slope at a point with differences `before` and `after` to its neighbours: their harmonic mean, or none at
/// a peak or dip. Steep enough for a smooth curve, never so steep that a piece overshoots its ends (Fritsch
/// and Butland, SIAM Journal on Scientific and Statistical Computing 5, 1984).
double limited_slope(double before, double after) {
  return before * after <= 0.0 ? 0.0 : 2.0 * before * after / (before + after);
}

/// Cubic Hermite piece from b (t = 0) to c (t = 1) that stays between them.
double monotone_cubic(double a, double b, double c, double d, double t) {
  const double m0 = limited_slope(b - a, c - b);
  const double m1 = limited_slope(c - b, d - c);
  return b + t * (m0 + t * (3.0 * (c - b) - 2.0 * m0 - m1 + t * (m0 + m1 - 2.0 * (c - b))));
}

}  // namespace

results::PlanGrid beside_furniture(results::PlanGrid grid, const std::vector<domain::Furniture>& furniture) {
  enum class Place : char { open, low, tall };
  std::vector<Place> places(grid.values_lx.size(), Place::open);
  results::PlanGrid open = grid;
  for (int r = 0; r < grid.rows; ++r)
    for (int c = 0; c < grid.columns; ++c) {
      const auto i = static_cast<std::size_t>(r * grid.columns + c);
      const Point2 p{grid.x0_m + c * grid.step_m, grid.y0_m + r * grid.step_m};
      for (const domain::Furniture& f : furniture)
        if (contains(f.plan, p) || distance_to_boundary(f.plan, p) < kSkin_m)
          places[i] = std::max(places[i], f.top_m > kTall_m ? Place::tall : Place::low);
      if (places[i] != Place::open) open.values_lx[i] = -1.0F;
    }
  const Field around = filled(open);
  if (around.values.empty()) return grid;  // furniture everywhere: nothing to compare with
  for (int r = 0; r < grid.rows; ++r)
    for (int c = 0; c < grid.columns; ++c) {
      const auto i = static_cast<std::size_t>(r * grid.columns + c);
      if (places[i] == Place::open || grid.values_lx[i] < 0.0F) continue;
      const double beside = around.at(c + kRings, r + kRings);
      if (places[i] == Place::tall || grid.values_lx[i] < kEnclosed * beside)
        grid.values_lx[i] = static_cast<float>(beside);
    }
  return grid;
}

Field drawable(const results::PlanGrid& grid, int factor) {
  const Field coarse = filled(grid);
  if (coarse.values.empty()) return {};
  Field fine{coarse.x0_m,
             coarse.y0_m,
             coarse.step_m / factor,
             (coarse.columns - 1) * factor + 1,
             (coarse.rows - 1) * factor + 1,
             {}};
  fine.values.reserve(static_cast<std::size_t>(fine.columns) * static_cast<std::size_t>(fine.rows));
  const auto log_at = [&](int c, int r) {
    return std::log(std::max(
        kLeast_lx, coarse.at(std::clamp(c, 0, coarse.columns - 1), std::clamp(r, 0, coarse.rows - 1))));
  };
  for (int r = 0; r < fine.rows; ++r)
    for (int c = 0; c < fine.columns; ++c) {
      const int row = r / factor;
      const int column = c / factor;
      const double u = static_cast<double>(c % factor) / factor;
      const double v = static_cast<double>(r % factor) / factor;
      std::array<double, 4> across{};
      for (int k = 0; k < 4; ++k)
        across[static_cast<std::size_t>(k)] =
            monotone_cubic(log_at(column - 1, row - 1 + k), log_at(column, row - 1 + k),
                           log_at(column + 1, row - 1 + k), log_at(column + 2, row - 1 + k), u);
      fine.values.push_back(std::exp(monotone_cubic(across[0], across[1], across[2], across[3], v)));
    }
  return fine;
}

std::vector<Polyline> contour(const Field& f, double level) {
  if (f.columns < 2 || f.rows < 2) return {};
  // An edge of the grid carries at most one crossing: edge 2 i runs right from node i, edge 2 i + 1 up from
  // it.
  const std::size_t nodes = f.values.size();
  const auto node = [&](int c, int r) {
    return static_cast<std::size_t>(r) * static_cast<std::size_t>(f.columns) + static_cast<std::size_t>(c);
  };
  constexpr std::size_t kNone = static_cast<std::size_t>(-1);
  std::vector<std::array<std::size_t, 2>> next(2 * nodes, {kNone, kNone});
  const auto join = [&](std::size_t a, std::size_t b) {
    next[a][next[a][0] == kNone ? 0 : 1] = b;
    next[b][next[b][0] == kNone ? 0 : 1] = a;
  };
  for (int r = 0; r + 1 < f.rows; ++r)
    for (int c = 0; c + 1 < f.columns; ++c) {
      const double a = f.at(c, r), b = f.at(c + 1, r), d = f.at(c + 1, r + 1), e = f.at(c, r + 1);
      const bool ia = a >= level, ib = b >= level, id = d >= level, ie = e >= level;
      const std::size_t south = 2 * node(c, r), east = 2 * node(c + 1, r) + 1, north = 2 * node(c, r + 1),
                        west = 2 * node(c, r) + 1;
      std::array<std::size_t, 4> cut{};
      std::size_t cuts = 0;
      if (ia != ib) cut[cuts++] = south;
      if (ib != id) cut[cuts++] = east;
      if (id != ie) cut[cuts++] = north;
      if (ie != ia) cut[cuts++] = west;
      if (cuts == 2) join(cut[0], cut[1]);
      if (cuts == 4) {
        const bool middle = 0.25 * (a + b + d + e) >= level;
        if (middle == ia) {
          join(south, east);
          join(north, west);
        } else {
          join(west, south);
          join(east, north);
        }
      }
    }
  const auto point = [&](std::size_t edge) {
    const int i = static_cast<int>(edge / 2);
    const int c = i % f.columns, r = i / f.columns;
    const bool up = edge % 2 == 1;
    const double from = f.at(c, r);
    const double to = up ? f.at(c, r + 1) : f.at(c + 1, r);
    const double t = (level - from) / (to - from);
    return Point2{f.x0_m + f.step_m * (c + (up ? 0.0 : t)), f.y0_m + f.step_m * (r + (up ? t : 0.0))};
  };
  std::vector<char> seen(2 * nodes, 0);
  std::vector<Polyline> lines;
  const auto trace = [&](std::size_t start, bool is_closed) {
    Polyline line;
    line.is_closed = is_closed;
    for (std::size_t edge = start; edge != kNone && !seen[edge];) {
      seen[edge] = 1;
      line.points.push_back(point(edge));
      const std::size_t a = next[edge][0], b = next[edge][1];
      edge = a != kNone && !seen[a] ? a : b;
    }
    if (line.points.size() > 1) lines.push_back(std::move(line));
  };
  for (std::size_t e = 0; e < next.size(); ++e)
    if (!seen[e] && next[e][0] != kNone && next[e][1] == kNone) trace(e, false);
  for (std::size_t e = 0; e < next.size(); ++e)
    if (!seen[e] && next[e][0] != kNone) trace(e, true);
  return lines;
}

std::vector<double> contour_levels(double low, double high, const std::vector<double>& targets) {
  static constexpr double kRound[] = {1,    2,    5,    10,   20,    30,    50,   75,   100,
                                      150,  200,  300,  400,  500,   600,   750,  1000, 1500,
                                      2000, 3000, 5000, 7500, 10000, 20000, 50000};
  constexpr std::size_t kEnough = 7;
  std::vector<double> levels;
  for (const double level : kRound)
    if (level > low && level < high) levels.push_back(level);
  while (levels.size() > kEnough) {
    // Too many: keep every second, the upper ones first.
    std::vector<double> fewer;
    for (std::size_t i = (levels.size() - 1) % 2; i < levels.size(); i += 2) fewer.push_back(levels[i]);
    levels = std::move(fewer);
  }
  for (const double target : targets)
    if (target > low && target < high) levels.push_back(target);
  std::sort(levels.begin(), levels.end());
  levels.erase(std::unique(levels.begin(), levels.end()), levels.end());
  return levels;
}

std::vector<Point2> simplified(const std::vector<Point2>& line, double tolerance) {
  if (line.size() < 3) return line;
  std::vector<char> keep(line.size(), 0);
  keep.front() = keep.back() = 1;
  std::vector<std::pair<std::size_t, std::size_t>> open = {{0, line.size() - 1}};
  while (!open.empty()) {
    const auto [from, to] = open.back();
    open.pop_back();
    double worst = 0.0;
    std::size_t at = from;
    for (std::size_t i = from + 1; i < to; ++i)
      if (const double d = distance_to_segment(line[i], line[from], line[to]); d > worst) worst = d, at = i;
    if (worst <= tolerance) continue;
    keep[at] = 1;
    open.push_back({from, at});
    open.push_back({at, to});
  }
  std::vector<Point2> fewer;
  for (std::size_t i = 0; i < line.size(); ++i)
    if (keep[i]) fewer.push_back(line[i]);
  return fewer;
}

double length_of(const Polyline& line) {
  double sum = 0.0;
  for (std::size_t i = 1; i < line.points.size(); ++i) sum += length(line.points[i] - line.points[i - 1]);
  if (line.is_closed && line.points.size() > 1) sum += length(line.points.front() - line.points.back());
  return sum;
}

}  // namespace halflight::report
