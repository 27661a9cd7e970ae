#include "transport/gather.hpp"

#include "base/random.hpp"
#include "geometry/low_discrepancy.hpp"
#include "transport/cosine_rays.hpp"

#include <atomic>
#include <cassert>
#include <cmath>

namespace halflight {

namespace {

// Share of 1 - cos^(n + 2) of the cut-off: what the distribution function below leaves out beyond it.
double within_cut_off(const AngularResponse& response) {
  return 1.0 - std::pow(std::max(0.0, std::cos(response.cut_off_rad)), response.exponent + 2.0);
}

struct Sent {
  ObservationOrigin::State state = ObservationOrigin::State::clear;
  std::vector<SurfaceHit> hits;
  std::vector<double> weights;
};

Sent send(const Enclosure& enclosure, const GatherPoint& point, std::uint32_t count) {
  const ObservationOrigin origin = enclosure.observation_origin(point.position, point.direction);
  Sent sent;
  sent.state = origin.state;
  if (origin.state != ObservationOrigin::State::clear) return sent;
  const Frame frame = frame_about(point.direction);
  const SampleStream stream(point.scramble, hash_name("gather"));
  const double within = within_cut_off(point.response);
  const double power = 1.0 / (point.response.exponent + 2.0);
  const double each = point.response.total() / count;
  std::vector<Ray> rays(count);
  sent.weights.assign(count, each);
  for (std::uint32_t k = 0; k < count; ++k) {
    // Inverse of the distribution of cos(theta) under the density cos^(n + 1)(theta) sin(theta).
    const double u = 1.0 - stream(k, 0) * within;
    const double cosine = point.response.exponent == 0.0 ? std::sqrt(u) : std::pow(u, power);
    rays[k] = {origin.position, direction_about(frame, cosine, stream(k, 1))};
    if (point.response.extra) sent.weights[k] *= point.response.extra(std::acos(std::min(1.0, cosine)));
  }
  sent.hits.resize(count);
  enclosure.trace(rays, sent.hits);
  return sent;
}

}  // namespace

double AngularResponse::total() const { return 2.0 / (exponent + 2.0) * within_cut_off(*this); }

Gather gather(const Context& context, const Enclosure& enclosure, std::span<const GatherPoint> points,
              const GatherOptions& options) {
  assert(options.rays > 0);
  Gather result;
  result.weights = Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(points.size()),
                                         static_cast<Eigen::Index>(enclosure.patches().size()));
  result.states.resize(points.size());
  std::vector<std::uint64_t> leaks(points.size(), 0);
  std::vector<std::uint64_t> rays(points.size(), 0);
  std::atomic<std::size_t> done{0};
  context.executor.for_each(points.size(), [&](std::size_t p) {
    context.check_cancelled();
    const Sent sent = send(enclosure, points[p], options.rays);
    result.states[p] = sent.state;
    rays[p] = sent.hits.size();
    for (std::size_t k = 0; k < sent.hits.size(); ++k) {
      if (sent.hits[k].patch == SurfaceHit::kNone) {
        ++leaks[p];
      } else {
        result.weights(static_cast<Eigen::Index>(p), static_cast<Eigen::Index>(sent.hits[k].patch)) +=
            sent.weights[k];
      }
    }
    context.report("gathering at points", ++done, points.size());
  });
  for (std::size_t p = 0; p < points.size(); ++p) {
    result.rays += rays[p];
    result.leaks += leaks[p];
  }
  return result;
}

std::vector<GatherHit> gather_hits(const Enclosure& enclosure, const GatherPoint& point,
                                   const GatherOptions& options) {
  const Sent sent = send(enclosure, point, options.rays);
  std::vector<GatherHit> hits;
  hits.reserve(sent.hits.size());
  for (std::size_t k = 0; k < sent.hits.size(); ++k)
    if (sent.hits[k].patch != SurfaceHit::kNone)
      hits.push_back({sent.hits[k].surface, sent.hits[k].patch, sent.hits[k].position, sent.weights[k]});
  return hits;
}

}  // namespace halflight
