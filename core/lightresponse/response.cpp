#include "lightresponse/response.hpp"

#include "base/units.hpp"
#include "photometry/direct.hpp"
#include "transport/exchange.hpp"
#include "transport/gather.hpp"
#include "transport/interreflection.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstring>
#include <functional>
#include <optional>

#include <Eigen/Core>

namespace halflight::lightresponse {

namespace {

using RowMajor = Eigen::Matrix<float, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

// Raise when a method of a stage changes what it stores.
constexpr int kExchangeVersion = 1;
constexpr int kFactorVersion = 1;
constexpr int kDirectVersion = 2;
constexpr int kOpeningVersion = 2;
constexpr int kRowVersion = 3;
constexpr int kSunVersion = 2;
constexpr int kPaneVersion = 1;

std::vector<std::byte> bytes_of(std::span<const float> values) {
  const auto raw = std::as_bytes(values);
  return {raw.begin(), raw.end()};
}

std::vector<float> floats_of(const std::vector<std::byte>& bytes) {
  std::vector<float> values(bytes.size() / sizeof(float));
  std::memcpy(values.data(), bytes.data(), values.size() * sizeof(float));
  return values;
}

double observed(double cosine, const void* weighting) {
  return static_cast<const domain::AngularWeighting*>(weighting)->response(cosine);
}

}  // namespace

void StageLog::note(std::string_view stage, bool reused) {
  const std::lock_guard lock(mutex_);
  Count& count = counts_[std::string(stage)];
  ++(reused ? count.reused : count.computed);
}

std::map<std::string, StageLog::Count> StageLog::counts() const {
  const std::lock_guard lock(mutex_);
  return counts_;
}

struct SpaceLight::Stages {
  Stages(const SpaceScene& s, const daylight::Outside& o, LightOptions opt, const Context& c, StageLog& l)
      : scene(s), outside(o), options(opt), context(c), log(l) {
    KeyBuilder mesh_key;
    scene.enclosure.add_to_key(mesh_key);
    mesh = mesh_key.key();
    exchange = KeyBuilder().add("exchange").add(kExchangeVersion).add(mesh).add(options.exchange_rays).key();
    factor = KeyBuilder()
                 .add("factor")
                 .add(kFactorVersion)
                 .add(exchange)
                 .add(std::span<const double>(scene.reflectance))
                 .key();
    KeyBuilder columns_key;
    for (const ChannelColumn& column : scene.columns) {
      direct.push_back(KeyBuilder()
                           .add("direct")
                           .add(kDirectVersion)
                           .add(mesh)
                           .add(column.key)
                           .add(options.patch_samples)
                           .key());
      columns_key.add(direct.back());
    }
    all_columns = columns_key.key();
    KeyBuilder opening_key;
    opening_key.add("openings")
        .add(kOpeningVersion)
        .add(mesh)
        .add(options.opening_samples)
        .add(options.patch_samples);
    outside.add_to_key(opening_key);
    for (const daylight::WindowGroup& group : scene.window_groups) {
      opening_key.add(group.openings.size());
      for (const std::int32_t opening : group.openings) opening_key.add(opening);
    }
    openings = opening_key.key();
    KeyBuilder pane_key;
    pane_key.add("inner glazing").add(kPaneVersion).add(mesh).add(options.opening_samples);
    pane_key.add(options.patch_samples).add(scene.panes.size());
    for (const InnerPane& pane : scene.panes) pane_key.add(pane.glass.openings.front());
    panes = pane_key.key();
  }

  const SpaceScene& scene;
  const daylight::Outside& outside;
  LightOptions options;
  const Context& context;
  StageLog& log;
  Hash mesh;
  Hash exchange;
  Hash factor;
  std::vector<Hash> direct;
  Hash all_columns;
  Hash openings;
  Hash panes;

  // Heavy stages, made or fetched at the first row that is not in the store.
  std::once_flag factor_once;
  RowMajor
      reflected_by_direct;  // N x N: gather weights times this times direct illuminance = reflected light
  std::once_flag direct_once;
  RowMajor patch_direct;  // N x columns, lx at full output
  std::once_flag openings_once;
  RowMajor patch_daylight;  // N x (groups x bins), lx per cd/m2
  std::once_flag panes_once;
  RowMajor patch_panes;  // N x (panes x lobe), lx per cd/m2
  Diagnostics problems;
  std::atomic<std::size_t> rays{0};
  std::atomic<std::size_t> leaks{0};

  [[nodiscard]] std::size_t patch_count() const { return scene.enclosure.patches().size(); }
  [[nodiscard]] std::size_t daylight_width() const {
    return scene.window_groups.size() * outside.bin_count();
  }

  /// From the store, or computed and put there; a blob of another size than expected is a miss.
  std::vector<float> stored(std::string_view stage, const Hash& key, std::size_t size,
                            const std::function<std::vector<float>()>& compute) const {
    context.check_cancelled();
    if (const auto blob = context.blobs.get(key); blob && blob->size() == size * sizeof(float)) {
      log.note(stage, true);
      return floats_of(*blob);
    }
    std::vector<float> values = compute();
    context.check_cancelled();
    if (values.size() != size) return {};
    context.blobs.put(key, bytes_of(values));
    log.note(stage, false);
    return values;
  }

  /// False when the room cannot be lit; `problems` then says why.
  bool need_factor() {
    std::call_once(factor_once, [&] {
      const std::size_t n = patch_count();
      const std::vector<float> values = stored("factor", factor, n * n, [&] { return compute_factor(); });
      if (values.size() == n * n)
        reflected_by_direct = Eigen::Map<const RowMajor>(values.data(), static_cast<Eigen::Index>(n),
                                                         static_cast<Eigen::Index>(n));
    });
    return problems.empty();
  }

  std::vector<float> compute_factor() {
    const auto n = static_cast<Eigen::Index>(patch_count());
    // Exchange areas are stored in single precision and symmetric; the factorisation is in double.
    const std::vector<float> areas =
        stored("exchange", exchange, static_cast<std::size_t>(n * n), [&] { return compute_exchange(); });
    if (!problems.empty()) return {};
    std::vector<double> area;
    std::vector<double> rho;
    for (const Patch& patch : scene.enclosure.patches()) {
      area.push_back(patch.area_m2);
      rho.push_back(scene.reflectance[patch.surface]);
    }
    const Result<Interreflection> interreflection =
        Interreflection::make(Eigen::Map<const RowMajor>(areas.data(), n, n).cast<double>(), area, rho);
    if (!interreflection) {
      problems = interreflection.error();
      return {};
    }
    Eigen::MatrixXd inverse = interreflection->adjoint(context, Eigen::MatrixXd::Identity(n, n));
    for (Eigen::Index j = 0; j < n; ++j) inverse.col(j) *= rho[static_cast<std::size_t>(j)];
    const RowMajor rounded = inverse.cast<float>();
    return {rounded.data(), rounded.data() + rounded.size()};
  }

  std::vector<float> compute_exchange() {
    const Result<Exchange> result =
        exchange_areas(context, scene.enclosure, {static_cast<std::uint32_t>(options.exchange_rays), 0});
    if (!result) {
      problems = result.error();
      return {};
    }
    rays += result->report.rays;
    leaks += result->report.leaks;
    const RowMajor rounded = result->area_m2.cast<float>();
    return {rounded.data(), rounded.data() + rounded.size()};
  }

  void need_direct() {
    std::call_once(direct_once, [&] {
      const std::size_t n = patch_count();
      const std::size_t columns = scene.columns.size();
      patch_direct.resize(static_cast<Eigen::Index>(n), static_cast<Eigen::Index>(columns));
      std::vector<std::vector<float>> all(columns);
      context.executor.for_each(columns, [&](std::size_t c) {
        all[c] = stored("direct light of a channel", direct[c], n, [&] { return compute_direct(c); });
      });
      for (std::size_t c = 0; c < columns; ++c)
        for (std::size_t p = 0; p < n; ++p)
          patch_direct(static_cast<Eigen::Index>(p), static_cast<Eigen::Index>(c)) = all[c][p];
    });
  }

  std::vector<float> compute_direct(std::size_t column) const {
    const ChannelColumn& c = scene.columns[column];
    const photometry::LuminaireSource source{*c.distribution, c.position, c.orientation};
    const auto samples = static_cast<std::size_t>(options.patch_samples);
    std::vector<Point3> points(samples);
    std::vector<float> values(patch_count());
    photometry::SeenOpening opening(source);
    std::vector<Segment> segments;
    std::vector<double> weights;
    std::vector<std::uint8_t> hidden;
    const auto patches = scene.enclosure.patches();
    for (std::uint32_t p = 0; p < patches.size(); ++p) {
      const Patch& patch = patches[p];
      scene.enclosure.sample_patch(p, 0x9a7cU + p, points);
      segments.clear();
      weights.clear();
      for (const Point3 at : points)
        add_segments(source, opening, at, patch.normal, nullptr, segments, weights);
      hidden.assign(segments.size(), 0);
      scene.enclosure.occluded(segments, hidden);
      double sum = 0.0;
      for (std::size_t i = 0; i < segments.size(); ++i)
        if (hidden[i] == 0) sum += weights[i];
      values[p] = static_cast<float>(sum / static_cast<double>(samples));
    }
    return values;
  }

  static void add_segments(const photometry::LuminaireSource& source, photometry::SeenOpening& opening,
                           Point3 at, Vector3 normal, const domain::AngularWeighting* weighting,
                           std::vector<Segment>& segments, std::vector<double>& weights) {
    for (const photometry::EmittingPoint& from : opening.from(at)) {
      double lx = photometry::contribution_lx(source, from, at, normal);
      if (lx <= 0.0) continue;
      if (weighting != nullptr) lx *= weighting->response(dot(normalized(from.position - at), normal));
      segments.push_back({at, from.position});
      weights.push_back(lx);
    }
  }

  void need_openings() {
    std::call_once(openings_once, [&] {
      const std::size_t n = patch_count();
      const std::size_t width = daylight_width();
      const std::vector<float> values =
          stored("openings", openings, n * width, [&] { return compute_openings(); });
      patch_daylight = Eigen::Map<const RowMajor>(values.data(), static_cast<Eigen::Index>(n),
                                                  static_cast<Eigen::Index>(width));
    });
  }

  std::vector<float> compute_openings() const {
    const std::size_t width = daylight_width();
    const auto patches = scene.enclosure.patches();
    std::vector<float> values(patches.size() * width, 0.0F);
    context.executor.for_each(patches.size(), [&](std::size_t p) {
      const auto samples = static_cast<std::size_t>(options.patch_samples);
      std::vector<Point3> points(samples);
      scene.enclosure.sample_patch(static_cast<std::uint32_t>(p), 0xda71U + static_cast<std::uint32_t>(p),
                                   points);
      std::vector<daylight::Target> targets;
      for (const Point3 at : points)
        targets.push_back({at, patches[p].normal, 1.0 / static_cast<double>(samples), nullptr, nullptr});
      daylight::add_direct_coefficients(scene.enclosure, outside, scene.window_groups, targets,
                                        std::max(8, options.opening_samples / options.patch_samples),
                                        static_cast<std::uint32_t>(p) * 2654435761U,
                                        std::span(values).subspan(p * width, width));
    });
    return values;
  }

  void need_panes() {
    std::call_once(panes_once, [&] {
      const std::size_t n = patch_count();
      const std::size_t width = 2 * scene.panes.size();
      const std::vector<float> values =
          stored("inner glazing", panes, n * width, [&] { return compute_panes(); });
      patch_panes = Eigen::Map<const RowMajor>(values.data(), static_cast<Eigen::Index>(n),
                                               static_cast<Eigen::Index>(width));
    });
  }

  std::vector<float> compute_panes() const {
    const std::size_t width = 2 * scene.panes.size();
    const auto patches = scene.enclosure.patches();
    std::vector<float> values(patches.size() * width, 0.0F);
    context.executor.for_each(patches.size(), [&](std::size_t p) {
      std::vector<Point3> points(static_cast<std::size_t>(options.patch_samples));
      scene.enclosure.sample_patch(static_cast<std::uint32_t>(p), 0xb0aaU + static_cast<std::uint32_t>(p),
                                   points);
      std::vector<daylight::Target> targets;
      for (const Point3 at : points)
        targets.push_back(
            {at, patches[p].normal, 1.0 / static_cast<double>(options.patch_samples), nullptr, nullptr});
      add_panes(targets, std::max(8, options.opening_samples / options.patch_samples),
                static_cast<std::uint32_t>(p) * 2654435761U, std::span(values).subspan(p * width, width));
    });
    return values;
  }

  /// Direct readings of one row, [pane x lobe].
  void add_panes(std::span<const daylight::Target> targets, int samples, std::uint32_t scramble,
                 std::span<float> row) const {
    for (std::size_t p = 0; p < scene.panes.size(); ++p) {
      const daylight::EvenLobes lobes = daylight::even_lobes(
          scene.enclosure, scene.panes[p].glass.openings.front(), targets, samples, scramble);
      row[2 * p] = static_cast<float>(lobes.descending);
      row[2 * p + 1] = static_cast<float>(lobes.rising);
    }
  }

  [[nodiscard]] std::vector<float> compute_pane_rows(const PointSet& set) {
    fix_matrix_blocking();
    if (!need_factor()) return {};
    need_panes();
    const Gathered at = gathered_at(set);
    const std::size_t width = 2 * scene.panes.size();
    const RowMajor reflected = set.of_each_point ? RowMajor(at.adjoint * patch_panes)
                                                 : RowMajor(at.adjoint.colwise().mean() * patch_panes);
    std::vector<float> values(4 * set.daylight_rows() * scene.panes.size());
    context.executor.for_each(set.daylight_rows(), [&](std::size_t row) {
      std::vector<daylight::Target> targets;
      const std::size_t first = set.of_each_point ? row : 0;
      const std::size_t last = set.of_each_point ? row + 1 : set.points.size();
      for (std::size_t i = first; i < last; ++i)
        if (at.open[i])
          targets.push_back({at.origins[i], set.points[i].facing, 1.0 / static_cast<double>(last - first),
                             &observed, &set.points[i].weighting});
      std::vector<float> straight(width, 0.0F);
      add_panes(targets, 4 * options.opening_samples, 0xb0a5U + static_cast<std::uint32_t>(row) * 0x2545f491U,
                straight);
      for (std::size_t p = 0; p < scene.panes.size(); ++p)
        for (std::size_t lobe = 0; lobe < 2; ++lobe) {
          const float bounced =
              reflected(static_cast<Eigen::Index>(row), static_cast<Eigen::Index>(2 * p + lobe));
          float* const reading = values.data() + 4 * (row * scene.panes.size() + p);
          reading[lobe] = straight[2 * p + lobe] + bounced;
          reading[2 + lobe] = bounced;
        }
    });
    return values;
  }

  [[nodiscard]] Hash set_key(const PointSet& set) const {
    KeyBuilder key;
    key.add(set.points.size()).add(set.wants_electric).add(set.of_each_point);
    for (const domain::ObservationPoint& point : set.points) {
      key.add(point.at.x).add(point.at.y).add(point.at.z);
      key.add(point.facing.x).add(point.facing.y).add(point.facing.z);
      key.add(static_cast<int>(point.weighting.kind)).add(point.weighting.angle_deg);
    }
    return key.key();
  }

  /// Where points observe from and how they see every patch.
  struct Gathered {
    std::vector<Point3> origins;
    std::vector<bool> open;    // in free air
    RowMajor adjoint;          // points x N: times direct illuminance of patches = reflected reading
    RowMajor mean_difference;  // 1 x N, half the difference of two independent gathers of the mean point
  };

  [[nodiscard]] Gathered gathered_at(const PointSet& set) const {
    const auto points = static_cast<Eigen::Index>(set.points.size());
    Gathered at{std::vector<Point3>(set.points.size()),
                std::vector<bool>(set.points.size(), true),
                RowMajor(points, static_cast<Eigen::Index>(patch_count())),
                {}};
    std::vector<GatherPoint> gather_points;
    for (std::size_t i = 0; i < set.points.size(); ++i) {
      const ObservationOrigin origin =
          scene.enclosure.observation_origin(set.points[i].at, set.points[i].facing);
      at.origins[i] = origin.position;
      at.open[i] = origin.state == ObservationOrigin::State::clear;
      gather_points.push_back(
          {set.points[i].at, set.points[i].facing, response_of(set.points[i].weighting), 0});
    }
    // Two independent halves of the gather rays: their mean is the answer, their difference its error.
    const GatherOptions half{static_cast<std::uint32_t>(options.gather_rays) / 2};
    const Eigen::MatrixXd first = gather(context, scene.enclosure, gather_points, half).weights;
    for (GatherPoint& point : gather_points) point.scramble = 1;
    const Eigen::MatrixXd second = gather(context, scene.enclosure, gather_points, half).weights;
    RowMajor weights = (0.5 * (first + second)).cast<float>();
    at.mean_difference = (0.5 * (first - second)).colwise().mean().cast<float>();
    for (Eigen::Index i = 0; i < points; ++i)
      if (!at.open[static_cast<std::size_t>(i)]) weights.row(i).setZero();
    context.executor.for_each(set.points.size(), [&](std::size_t i) {
      const auto row = static_cast<Eigen::Index>(i);
      at.adjoint.row(row).noalias() = weights.row(row) * reflected_by_direct;
    });
    return at;
  }

  void add_electric(const PointSet& set, const Gathered& at, PointRows& rows) {
    need_direct();
    const auto columns = static_cast<Eigen::Index>(rows.columns);
    rows.electric.assign(set.points.size() * rows.columns, 0.0F);
    context.executor.for_each(set.points.size(), [&](std::size_t i) {
      if (!at.open[i]) return;
      const Eigen::Matrix<float, 1, Eigen::Dynamic> reflected =
          at.adjoint.row(static_cast<Eigen::Index>(i)) * patch_direct;
      std::vector<Segment> segments;
      std::vector<double> lx;
      std::vector<std::uint8_t> hidden;
      for (std::size_t c = 0; c < rows.columns; ++c) {
        const ChannelColumn& column = scene.columns[c];
        const photometry::LuminaireSource source{*column.distribution, column.position, column.orientation};
        photometry::SeenOpening opening(source);
        segments.clear();
        lx.clear();
        add_segments(source, opening, at.origins[i], set.points[i].facing, &set.points[i].weighting, segments,
                     lx);
        hidden.assign(segments.size(), 0);
        scene.enclosure.occluded(segments, hidden);
        double direct_lx = 0.0;
        for (std::size_t s = 0; s < segments.size(); ++s)
          if (hidden[s] == 0) direct_lx += lx[s];
        rows.electric[i * rows.columns + c] =
            static_cast<float>(direct_lx) + reflected[static_cast<Eigen::Index>(c)];
      }
    });
    const RowMajor reflected_mean = at.adjoint.colwise().mean() * patch_direct;
    rows.electric_reflected.assign(reflected_mean.data(), reflected_mean.data() + columns);
    const RowMajor error = (at.mean_difference * reflected_by_direct) * patch_direct;
    rows.electric_error.resize(rows.columns);
    for (Eigen::Index c = 0; c < columns; ++c)
      rows.electric_error[static_cast<std::size_t>(c)] = std::abs(error(0, c));
  }

  void add_daylight(const PointSet& set, const Gathered& at, PointRows& rows) {
    need_openings();
    const std::size_t width = daylight_width();
    const RowMajor reflected = set.of_each_point ? RowMajor(at.adjoint * patch_daylight)
                                                 : RowMajor(at.adjoint.colwise().mean() * patch_daylight);
    rows.daylight_reflected.assign(reflected.data(), reflected.data() + reflected.size());
    rows.daylight = rows.daylight_reflected;
    const auto add_direct = [&](std::size_t row, std::span<const daylight::Target> targets) {
      std::vector<float> straight(width, 0.0F);
      daylight::add_direct_coefficients(scene.enclosure, outside, scene.window_groups, targets,
                                        4 * options.opening_samples,
                                        0xd1ecU + static_cast<std::uint32_t>(row) * 0x2545f491U, straight);
      for (std::size_t k = 0; k < width; ++k) rows.daylight[row * width + k] += straight[k];
    };
    const auto target = [&](std::size_t i, double weight) {
      return daylight::Target{at.origins[i], set.points[i].facing, weight, &observed,
                              &set.points[i].weighting};
    };
    if (set.of_each_point) {
      context.executor.for_each(set.points.size(), [&](std::size_t i) {
        const std::vector<daylight::Target> one = {target(i, 1.0)};
        if (at.open[i]) add_direct(i, one);
      });
    } else {
      std::vector<daylight::Target> all;
      for (std::size_t i = 0; i < set.points.size(); ++i)
        if (at.open[i]) all.push_back(target(i, 1.0 / static_cast<double>(set.points.size())));
      add_direct(0, all);
    }
  }

  /// Nothing when the room cannot be lit.
  [[nodiscard]] std::optional<PointRows> compute_rows(const PointSet& set, PointRows rows) {
    fix_matrix_blocking();
    if (!need_factor()) return std::nullopt;
    const Gathered at = gathered_at(set);
    if (set.wants_electric) add_electric(set, at, rows);
    if (rows.groups > 0) add_daylight(set, at, rows);
    return rows;
  }

  static AngularResponse response_of(const domain::AngularWeighting& weighting) {
    AngularResponse response;
    const double angle_rad = weighting.angle_deg * kRadPerDeg;
    switch (weighting.kind) {
      case domain::AngularWeighting::Kind::cosine:
        break;
      case domain::AngularWeighting::Kind::narrowed:
        response.exponent = std::log(0.5) / std::log(std::cos(angle_rad));
        break;
      case domain::AngularWeighting::Kind::shielded:
        response.cut_off_rad = angle_rad;
        break;
    }
    return response;
  }
};

SpaceLight::SpaceLight(const SpaceScene& scene, const daylight::Outside& outside, LightOptions options,
                       const Context& context, StageLog& log)
    : stages_(std::make_unique<Stages>(scene, outside, options, context, log)) {}
SpaceLight::~SpaceLight() = default;

Result<PointRows> SpaceLight::rows(const PointSet& set) const {
  Stages& s = *stages_;
  PointRows rows;
  rows.points = set.points.size();
  rows.columns = set.wants_electric ? s.scene.columns.size() : 0;
  rows.bins = s.outside.bin_count();
  rows.groups = set.wants_daylight ? s.scene.window_groups.size() : 0;
  const std::size_t width = set.daylight_rows() * rows.groups * rows.bins;
  KeyBuilder key;
  key.add("rows")
      .add(kRowVersion)
      .add(s.set_key(set))
      .add(s.factor)
      .add(s.all_columns)
      .add(s.options.gather_rays);
  if (rows.groups > 0) key.add(s.openings);
  const std::size_t electric = rows.points * rows.columns;
  const std::vector<float> values =
      s.stored("rows of a point set", key.key(), electric + 2 * rows.columns + 2 * width, [&] {
        const std::optional<PointRows> made = s.compute_rows(set, rows);
        std::vector<float> all;
        if (!made) return all;
        for (const auto* part : {&made->electric, &made->electric_error, &made->electric_reflected,
                                 &made->daylight, &made->daylight_reflected})
          all.insert(all.end(), part->begin(), part->end());
        return all;
      });
  if (!s.problems.empty()) return tl::unexpected(s.problems);
  auto next = values.begin();
  const auto take = [&](std::size_t count) {
    std::vector<float> part(next, next + static_cast<std::ptrdiff_t>(count));
    next += static_cast<std::ptrdiff_t>(count);
    return part;
  };
  rows.electric = take(electric);
  rows.electric_error = take(rows.columns);
  rows.electric_reflected = take(rows.columns);
  rows.daylight = take(width);
  rows.daylight_reflected = take(width);
  return rows;
}

Result<PaneRows> SpaceLight::pane_rows(const PointSet& set) const {
  Stages& s = *stages_;
  PaneRows rows;
  rows.panes = s.scene.panes.size();
  if (rows.panes == 0) return rows;
  KeyBuilder key;
  key.add("inner glazing of points")
      .add(kPaneVersion)
      .add(s.set_key(set))
      .add(s.factor)
      .add(s.panes)
      .add(s.options.gather_rays);
  const std::vector<float> values =
      s.stored("inner glazing of a point set", key.key(), 4 * set.daylight_rows() * rows.panes,
               [&] { return s.compute_pane_rows(set); });
  if (!s.problems.empty()) return tl::unexpected(s.problems);
  for (std::size_t i = 0; i < values.size(); i += 4)
    rows.readings.push_back({values[i], values[i + 1], values[i + 2], values[i + 3]});
  return rows;
}

namespace {

Hash key_of_sun(std::span<const Vector3> sun) {
  KeyBuilder key;
  for (const Vector3& v : sun) key.add(v.x).add(v.y).add(v.z);
  return key.key();
}

}  // namespace

Hash SpaceLight::sunlit_key(const PointSet& set, std::span<const Vector3> sun) const {
  KeyBuilder key;
  key.add("sun").add(kSunVersion).add(stages_->set_key(set)).add(stages_->openings).add(key_of_sun(sun));
  return key.key();
}

SunlitShares SpaceLight::sunlit(const PointSet& set, std::span<const Vector3> sun) const {
  Stages& s = *stages_;
  SunlitShares result{sun.size(), s.scene.window_groups.size(), {}};
  result.share = s.stored("direct sun of a point set", sunlit_key(set, sun),
                          set.daylight_rows() * result.groups * result.instants,
                          [&] { return sunlit_now(set, sun).share; });
  return result;
}

SunlitShares SpaceLight::sunlit_now(const PointSet& set, std::span<const Vector3> sun) const {
  const Stages& s = *stages_;
  SunlitShares result{sun.size(), s.scene.window_groups.size(), {}};
  result.share.assign(set.daylight_rows() * result.groups * result.instants, 0.0F);
  std::vector<std::int32_t> group_of(static_cast<std::size_t>(s.scene.enclosure.opening_count()), -1);
  for (std::size_t g = 0; g < result.groups; ++g)
    for (const std::int32_t opening : s.scene.window_groups[g].openings)
      group_of[static_cast<std::size_t>(opening)] = static_cast<std::int32_t>(g);
  std::vector<Point3> origins;
  std::vector<std::size_t> index;
  for (std::size_t i = 0; i < set.points.size(); ++i) {
    const ObservationOrigin origin =
        s.scene.enclosure.observation_origin(set.points[i].at, set.points[i].facing);
    if (origin.state != ObservationOrigin::State::clear) continue;
    origins.push_back(origin.position);
    index.push_back(i);
  }
  constexpr std::size_t chunk = 1024;
  s.context.executor.for_each((sun.size() + chunk - 1) / chunk, [&](std::size_t block) {
    struct Share {
      std::size_t row;
      std::size_t instant;
      double weight;
    };
    std::vector<Ray> rays;
    std::vector<Share> of;
    for (std::size_t t = block * chunk; t < std::min(sun.size(), (block + 1) * chunk); ++t) {
      if (sun[t].z <= 0.0) continue;
      const Vector3 d = s.outside.compass().plan_from_world(sun[t]);
      const bool faces_a_group = std::any_of(s.scene.window_groups.begin(), s.scene.window_groups.end(),
                                             [&](const auto& g) { return dot(g.outward, d) > 0.0; });
      if (!faces_a_group) continue;
      for (std::size_t i = 0; i < origins.size(); ++i) {
        const double cosine = dot(d, set.points[index[i]].facing);
        const double weight = set.points[index[i]].weighting.response(cosine) * cosine;
        if (cosine <= 0.0 || weight <= 0.0) continue;
        rays.push_back({origins[i], d});
        if (set.of_each_point)
          of.push_back({index[i], t, weight});
        else
          of.push_back({0, t, weight / static_cast<double>(set.points.size())});
      }
    }
    std::vector<std::int32_t> exits(rays.size(), -1);
    s.scene.enclosure.exit_opening(rays, exits);
    std::vector<daylight::Outside::Seen> seen(rays.size());
    s.outside.look(rays, seen);
    for (std::size_t i = 0; i < rays.size(); ++i) {
      if (exits[i] < 0 || seen[i].solid) continue;
      const std::int32_t g = group_of[static_cast<std::size_t>(exits[i])];
      if (g >= 0)
        result
            .share[(of[i].row * result.groups + static_cast<std::size_t>(g)) * sun.size() + of[i].instant] +=
            static_cast<float>(of[i].weight);
    }
  });
  return result;
}

std::vector<float> SpaceLight::incident() const {
  Stages& s = *stages_;
  const std::size_t bins = s.outside.bin_count();
  const Hash key = KeyBuilder().add("incident").add(kOpeningVersion).add(s.openings).key();
  return s.stored("light on the openings", key, s.scene.window_groups.size() * bins, [&] {
    std::vector<float> all;
    for (const daylight::WindowGroup& group : s.scene.window_groups) {
      const std::vector<float> one = daylight::incident_coefficients(s.scene.enclosure, s.outside, group,
                                                                     64 * s.options.opening_samples);
      all.insert(all.end(), one.begin(), one.end());
    }
    return all;
  });
}

std::vector<float> SpaceLight::sun_on_groups(std::span<const Vector3> sun) const {
  Stages& s = *stages_;
  constexpr std::size_t points_each = 16;  // a share in steps of a sixteenth of an opening
  const Hash key =
      KeyBuilder().add("sun on openings").add(kSunVersion).add(s.openings).add(key_of_sun(sun)).key();
  return s.stored("direct sun on the openings", key, s.scene.window_groups.size() * sun.size(), [&] {
    std::vector<float> share(s.scene.window_groups.size() * sun.size(), 0.0F);
    s.context.executor.for_each(s.scene.window_groups.size(), [&](std::size_t g) {
      const daylight::WindowGroup& group = s.scene.window_groups[g];
      for (const std::int32_t opening : group.openings) {
        const Surface& surface = s.scene.enclosure.surfaces()[s.scene.enclosure.opening_surface(opening)];
        const std::vector<Point3> points =
            daylight::points_on_opening(surface, 0x5e11U + static_cast<std::uint32_t>(opening), points_each);
        const double each = surface.area_m2 / (group.area_m2 * static_cast<double>(points.size()));
        for (const Point3 point : points) {
          std::vector<Ray> rays;
          std::vector<std::size_t> of;
          for (std::size_t t = 0; t < sun.size(); ++t) {
            const Vector3 d = s.outside.compass().plan_from_world(sun[t]);
            if (sun[t].z <= 0.0 || dot(d, group.outward) <= 0.0) continue;
            rays.push_back({point + 1e-3 * group.outward, d});
            of.push_back(t);
          }
          std::vector<daylight::Outside::Seen> seen(rays.size());
          s.outside.look(rays, seen);
          for (std::size_t i = 0; i < rays.size(); ++i)
            if (!seen[i].solid) share[g * sun.size() + of[i]] += static_cast<float>(each);
        }
      }
    });
    return share;
  });
}

double SpaceLight::leak_share() const {
  const std::size_t rays = stages_->rays.load();
  return rays == 0 ? 0.0 : static_cast<double>(stages_->leaks.load()) / static_cast<double>(rays);
}

}  // namespace halflight::lightresponse
