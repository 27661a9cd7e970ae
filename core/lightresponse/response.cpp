#include "lightresponse/response.hpp"

#include "base/units.hpp"
#include "lightresponse/patch_light.hpp"
#include "lightresponse/reflection.hpp"
#include "transport/exchange.hpp"
#include "transport/gather.hpp"
#include "transport/interreflection.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <cstring>
#include <functional>
#include <optional>
#include <utility>

#include <Eigen/Core>

namespace halflight::lightresponse {

namespace {

// Raise when a method of a stage changes what it stores.
constexpr int kExchangeVersion = 2;
constexpr int kFactorVersion = 3;
constexpr int kDirectVersion = 4;
constexpr int kOpeningVersion = 4;
constexpr int kRowVersion = 5;
constexpr int kSunVersion = 3;
constexpr int kPaneVersion = 3;

// Of points with `light_at_hits`: places on each opening as seen from a hit, of which there are a thousand
// and more; and how many times as many rays see patches, which is cheap and finds small bright things.
constexpr int kSamplesOfAHit = 4;
constexpr std::uint32_t kMoreRaysOfHits = 8;

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
                           .add(options.patch_error)
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
  std::optional<Reflection> reflection;
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
      const std::size_t size = Reflection::size_of(scene.enclosure);
      const std::vector<float> values = stored("factor", factor, size, [&] { return compute_factor(); });
      if (values.size() == size) reflection.emplace(scene.enclosure, scene.reflectance, values);
    });
    return problems.empty();
  }

  std::vector<float> compute_factor() {
    const std::size_t n = patch_count();
    // Exchange areas are stored in single precision and symmetric; the factorisation is in double.
    const std::vector<float> areas = stored("exchange", exchange, n * n, [&] { return compute_exchange(); });
    if (!problems.empty()) return {};
    Result<std::vector<float>> solved = Reflection::solve(context, scene.enclosure, areas, scene.reflectance);
    if (!solved) {
      problems = solved.error();
      return {};
    }
    return *std::move(solved);
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

  /// Direct light of channels on patches.
  struct PatchDirect {
    RowMajor lx;     ///< N x columns, at full output
    RowMajor error;  ///< N x columns, its standard error
    PatchDirect() = default;
    PatchDirect(std::size_t patches, std::size_t columns)
        : lx(static_cast<Eigen::Index>(patches), static_cast<Eigen::Index>(columns)),
          error(static_cast<Eigen::Index>(patches), static_cast<Eigen::Index>(columns)) {}
    void take(std::size_t column, const std::vector<float>& one) {
      const Eigen::Index n = lx.rows();
      lx.col(static_cast<Eigen::Index>(column)) = Eigen::Map<const Eigen::VectorXf>(one.data(), n);
      error.col(static_cast<Eigen::Index>(column)) = Eigen::Map<const Eigen::VectorXf>(one.data() + n, n);
    }
  };

  std::once_flag direct_once;
  PatchDirect patch_direct;

  void need_direct() {
    std::call_once(direct_once, [&] {
      patch_direct = PatchDirect(patch_count(), scene.columns.size());
      context.executor.for_each(scene.columns.size(), [&](std::size_t c) {
        patch_direct.take(c, stored("direct light of a channel", direct[c], 2 * patch_count(), [&] {
                            return direct_on_patches(scene.enclosure, scene.columns[c], options);
                          }));
      });
    });
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
    const std::size_t patches = patch_count();
    std::vector<std::int32_t> all_openings;
    for (const daylight::WindowGroup& group : scene.window_groups)
      all_openings.insert(all_openings.end(), group.openings.begin(), group.openings.end());
    std::vector<float> values(patches * width, 0.0F);
    context.executor.for_each(patches, [&](std::size_t p) {
      const auto patch = static_cast<std::uint32_t>(p);
      daylight::add_direct_coefficients(scene.enclosure, outside, scene.window_groups,
                                        targets_on_patch(scene.enclosure, all_openings, patch, options),
                                        samples_from_patch(), patch * 2654435761U,
                                        std::span(values).subspan(p * width, width));
    });
    return values;
  }

  /// Directions through an opening from each place on a patch.
  [[nodiscard]] int samples_from_patch() const {
    return std::max(8, options.opening_samples / options.patch_samples);
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
    std::vector<std::int32_t> all_openings;
    for (const auto& pane : scene.panes) all_openings.push_back(pane.glass.openings.front());
    std::vector<float> values(patch_count() * width, 0.0F);
    context.executor.for_each(patch_count(), [&](std::size_t p) {
      const auto patch = static_cast<std::uint32_t>(p);
      add_panes(targets_on_patch(scene.enclosure, all_openings, patch, options), samples_from_patch(),
                patch * 2654435761U, std::span(values).subspan(p * width, width));
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
    const RowMajor reflected = reflected_rows(set, at, patch_panes);
    std::vector<float> values(4 * set.daylight_rows() * scene.panes.size());
    context.executor.for_each(set.daylight_rows(), [&](std::size_t row) {
      std::vector<float> straight(width, 0.0F);
      add_panes(targets_of_points(set, at, row), 4 * options.opening_samples,
                0xb0a5U + static_cast<std::uint32_t>(row) * 0x2545f491U, straight);
      std::vector<float> once(width, 0.0F);
      if (set.light_at_hits)
        add_panes(targets_of_hits(set, at, row), kSamplesOfAHit,
                  0x417eU + static_cast<std::uint32_t>(row) * 0x2545f491U, once);
      for (std::size_t p = 0; p < scene.panes.size(); ++p)
        for (std::size_t lobe = 0; lobe < 2; ++lobe) {
          const float bounced = once[2 * p + lobe] + reflected(static_cast<Eigen::Index>(row),
                                                               static_cast<Eigen::Index>(2 * p + lobe));
          float* const reading = values.data() + 4 * (row * scene.panes.size() + p);
          reading[lobe] = straight[2 * p + lobe] + bounced;
          reading[2 + lobe] = bounced;
        }
    });
    return values;
  }

  [[nodiscard]] Hash set_key(const PointSet& set) const {
    KeyBuilder key;
    key.add(set.points.size()).add(set.wants_electric).add(set.of_each_point).add(set.light_at_hits);
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
    Reflection::Rows rows;     // times direct illuminance of patches = reflected reading
    RowMajor half_difference;  // points x N, of the adjoint of two independent gathers
    /// Of points that see direct light where their rays arrive; `rows` then holds what to add.
    std::vector<std::vector<GatherHit>> hits;
  };

  [[nodiscard]] Gathered gathered_at(const PointSet& set) const {
    const auto points = static_cast<Eigen::Index>(set.points.size());
    Gathered at{
        std::vector<Point3>(set.points.size()), std::vector<bool>(set.points.size(), true), {}, {}, {}};
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
    const std::uint32_t half = static_cast<std::uint32_t>(options.gather_rays) / 2;
    const auto step =
        set.light_at_hits ? Reflection::Step::beyond_one_reflection : Reflection::Step::of_all_light;
    if (set.light_at_hits) at.hits.resize(set.points.size());
    std::array<Reflection::Rows, 2> halves;
    for (std::uint32_t h = 0; h < halves.size(); ++h) {
      for (GatherPoint& point : gather_points) point.scramble = h;
      const GatherOptions many{set.light_at_hits ? kMoreRaysOfHits * half : half};
      RowMajor weights = gather(context, scene.enclosure, gather_points, many).weights.cast<float>();
      for (Eigen::Index i = 0; i < points; ++i)
        if (!at.open[static_cast<std::size_t>(i)]) weights.row(i).setZero();
      halves[h] = reflection->rows(context, weights, step);
      for (std::size_t i = 0; i < at.hits.size(); ++i) {
        for (GatherHit hit : gather_hits(scene.enclosure, gather_points[i], {half})) {
          hit.weight *= scene.reflectance[hit.surface];
          // The mean of the patch, which the row has, gives way to the light at the place.
          halves[h].adjoint(static_cast<Eigen::Index>(i), hit.patch) -= static_cast<float>(hit.weight);
          hit.weight *= 0.5;
          at.hits[i].push_back(hit);
        }
      }
    }
    at.rows.adjoint = 0.5F * (halves[0].adjoint + halves[1].adjoint);
    at.rows.mesh_step = 0.5F * (halves[0].mesh_step + halves[1].mesh_step);
    at.half_difference = 0.5F * (halves[0].adjoint - halves[1].adjoint);
    return at;
  }

  /// Readings of a set's rows by light that patches receive, [patch x column].
  [[nodiscard]] static RowMajor reflected_rows(const PointSet& set, const Gathered& at,
                                               const RowMajor& patch_light) {
    return set.of_each_point ? RowMajor(at.rows.adjoint * patch_light)
                             : RowMajor(at.rows.adjoint.colwise().mean() * patch_light);
  }

  /// Points of one row of daylight: itself, or all of the set.
  [[nodiscard]] static std::pair<std::size_t, std::size_t> points_of_row(const PointSet& set,
                                                                         std::size_t row) {
    return set.of_each_point ? std::pair(row, row + 1) : std::pair(std::size_t{0}, set.points.size());
  }

  /// The points of one row that are in free air.
  [[nodiscard]] static std::vector<daylight::Target> targets_of_points(const PointSet& set,
                                                                       const Gathered& at, std::size_t row) {
    const auto [first, last] = points_of_row(set, row);
    std::vector<daylight::Target> targets;
    for (std::size_t i = first; i < last; ++i)
      if (at.open[i])
        targets.push_back({at.origins[i], set.points[i].facing, 1.0 / static_cast<double>(last - first),
                           &observed, &set.points[i].weighting});
    return targets;
  }

  /// The places that the rays of one row's points meet, to be weighted by the light there.
  [[nodiscard]] std::vector<daylight::Target> targets_of_hits(const PointSet& set, const Gathered& at,
                                                              std::size_t row) const {
    const auto [first, last] = points_of_row(set, row);
    std::vector<daylight::Target> targets;
    for (std::size_t i = first; i < last; ++i)
      for (const GatherHit& hit : at.hits[i]) {
        const Vector3 normal = scene.enclosure.surfaces()[hit.surface].frame.z;
        targets.push_back({hit.position + Enclosure::kClearance_m * normal, normal,
                           hit.weight / static_cast<double>(last - first), nullptr, nullptr});
      }
    return targets;
  }

  void add_electric(const PointSet& set, const Gathered& at, std::span<const ChannelColumn> channels,
                    const PatchDirect& on_patches, PointRows& rows) const {
    const std::size_t columns = channels.size();
    const auto width = static_cast<Eigen::Index>(columns);
    for (auto* values :
         {&rows.electric, &rows.electric_reflected, &rows.mesh_step, &rows.gather_error, &rows.sample_error})
      values->assign(set.points.size() * columns, 0.0F);
    const RowMajor patch_variance = on_patches.error.cwiseAbs2();
    context.executor.for_each(set.points.size(), [&](std::size_t i) {
      if (!at.open[i]) return;
      const auto row = static_cast<Eigen::Index>(i);
      const auto put = [&](std::vector<float>& into) {
        return Eigen::Map<Eigen::RowVectorXf>(into.data() + i * columns, width);
      };
      put(rows.electric_reflected) = at.rows.adjoint.row(row) * on_patches.lx;
      put(rows.mesh_step) = at.rows.mesh_step.row(row) * on_patches.lx;
      put(rows.gather_error) = at.half_difference.row(row) * on_patches.lx;
      put(rows.sample_error) = at.rows.adjoint.row(row).cwiseAbs2() * patch_variance;  // squares so far
      for (std::size_t c = 0; c < columns; ++c) {
        ChannelLight light(scene.enclosure, channels[c]);
        const DirectLight direct_light =
            light.at(at.origins[i], set.points[i].facing, &set.points[i].weighting);
        const std::size_t k = i * columns + c;
        if (set.light_at_hits) {
          const HalvedSum once = reflected_once(at.hits[i], light);
          rows.electric_reflected[k] += static_cast<float>(once.sum());
          rows.gather_error[k] += static_cast<float>(once.half_difference());
        }
        rows.electric[k] = static_cast<float>(direct_light.lx) + rows.electric_reflected[k];
        rows.sample_error[k] = static_cast<float>(
            std::sqrt(rows.sample_error[k] + direct_light.error_lx * direct_light.error_lx));
      }
    });
  }

  /// A sum over the rays of two independent gathers, the first half of the rays and the second.
  struct HalvedSum {
    std::array<double, 2> halves{};
    [[nodiscard]] double sum() const { return halves[0] + halves[1]; }
    [[nodiscard]] double half_difference() const { return halves[0] - halves[1]; }
  };

  [[nodiscard]] HalvedSum reflected_once(std::span<const GatherHit> hits, ChannelLight& light) const {
    HalvedSum result;
    for (std::size_t k = 0; k < hits.size(); ++k) {
      const Vector3 normal = scene.enclosure.surfaces()[hits[k].surface].frame.z;
      const Point3 place = hits[k].position + Enclosure::kClearance_m * normal;
      result.halves[2 * k < hits.size() ? 0 : 1] += hits[k].weight * light.at(place, normal).lx;
    }
    return result;
  }

  void add_daylight(const PointSet& set, const Gathered& at, PointRows& rows) {
    need_openings();
    const std::size_t width = daylight_width();
    const RowMajor reflected = reflected_rows(set, at, patch_daylight);
    rows.daylight_reflected.assign(reflected.data(), reflected.data() + reflected.size());
    rows.daylight.resize(rows.daylight_reflected.size());
    context.executor.for_each(set.daylight_rows(), [&](std::size_t row) {
      const auto scramble = static_cast<std::uint32_t>(row) * 0x2545f491U;
      const auto bounced = std::span(rows.daylight_reflected).subspan(row * width, width);
      if (set.light_at_hits)
        daylight::add_direct_coefficients(scene.enclosure, outside, scene.window_groups,
                                          targets_of_hits(set, at, row), kSamplesOfAHit, 0x417eU + scramble,
                                          bounced);
      std::vector<float> straight(width, 0.0F);
      daylight::add_direct_coefficients(scene.enclosure, outside, scene.window_groups,
                                        targets_of_points(set, at, row), 4 * options.opening_samples,
                                        0xd1ecU + scramble, straight);
      for (std::size_t k = 0; k < width; ++k) rows.daylight[row * width + k] = bounced[k] + straight[k];
    });
  }

  /// Nothing when the room cannot be lit.
  [[nodiscard]] std::optional<PointRows> compute_rows(const PointSet& set, PointRows rows) {
    fix_matrix_blocking();
    if (!need_factor()) return std::nullopt;
    const Gathered at = gathered_at(set);
    if (set.wants_electric) {
      need_direct();
      add_electric(set, at, scene.columns, patch_direct, rows);
    }
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

double PointRows::reflected_mean(std::size_t column) const {
  double sum = 0.0;
  for (std::size_t p = 0; p < points; ++p) sum += electric_reflected[p * columns + column];
  return points == 0 ? 0.0 : sum / static_cast<double>(points);
}

double numerical_error_lx(const PointRows& rows, std::span<const double> weight) {
  double squares = 0.0;
  for (std::size_t p = 0; p < rows.points; ++p) {
    double step = 0.0;
    double gathered = 0.0;
    for (std::size_t c = 0; c < rows.columns; ++c) {
      const std::size_t k = p * rows.columns + c;
      step += weight[c] * rows.mesh_step[k];
      gathered += weight[c] * rows.gather_error[k];
      const double sampled = weight[c] * rows.sample_error[k];
      squares += sampled * sampled;
    }
    squares += step * step + gathered * gathered;
  }
  return rows.points == 0 ? 0.0 : kErrorCoverage * std::sqrt(squares / static_cast<double>(rows.points));
}

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
  const std::vector<float> values = s.stored("rows of a point set", key.key(), 5 * electric + 2 * width, [&] {
    const std::optional<PointRows> made = s.compute_rows(set, rows);
    std::vector<float> all;
    if (!made) return all;
    for (const auto* part :
         {&made->electric, &made->electric_reflected, &made->mesh_step, &made->gather_error,
          &made->sample_error, &made->daylight, &made->daylight_reflected})
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
  rows.electric_reflected = take(electric);
  rows.mesh_step = take(electric);
  rows.gather_error = take(electric);
  rows.sample_error = take(electric);
  rows.daylight = take(width);
  rows.daylight_reflected = take(width);
  return rows;
}

struct SpaceLight::Observers {
  PointSet set;
  Stages::Gathered at;
};

Result<std::shared_ptr<const SpaceLight::Observers>> SpaceLight::observers(const PointSet& set) const {
  fix_matrix_blocking();
  if (!stages_->need_factor()) return tl::unexpected(stages_->problems);
  return std::make_shared<const Observers>(Observers{set, stages_->gathered_at(set)});
}

std::vector<PointRows> SpaceLight::rows_for(std::span<const ObserversOfSet> sets,
                                            std::span<const ChannelColumn> channels) const {
  const Stages& s = *stages_;
  Stages::PatchDirect on_patches(s.patch_count(), channels.size());
  s.context.executor.for_each(channels.size(), [&](std::size_t c) {
    on_patches.take(c, direct_on_patches(s.scene.enclosure, channels[c], s.options));
  });
  std::vector<PointRows> all;
  for (const ObserversOfSet& observers : sets) {
    PointRows rows;
    rows.points = observers->set.points.size();
    rows.columns = channels.size();
    s.add_electric(observers->set, observers->at, channels, on_patches, rows);
    all.push_back(std::move(rows));
  }
  return all;
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
    Rays rays(s.scene.enclosure.middle());
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
        rays.add(origins[i], d);
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
          Rays rays(s.scene.enclosure.middle());
          std::vector<std::size_t> of;
          for (std::size_t t = 0; t < sun.size(); ++t) {
            const Vector3 d = s.outside.compass().plan_from_world(sun[t]);
            if (sun[t].z <= 0.0 || dot(d, group.outward) <= 0.0) continue;
            rays.add(point + 1e-3 * group.outward, d);
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
