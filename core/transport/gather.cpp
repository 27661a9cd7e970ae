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

}  // namespace

double AngularResponse::total() const { return 2.0 / (exponent + 2.0) * within_cut_off(*this); }

Rays gather_rays(const Enclosure& enclosure, const GatherPoint& point, Point3 origin, std::uint32_t count) {
  Rays rays(enclosure.middle(), count);
  for (Rays::Block& block : rays.blocks()) block.start_at(origin - rays.about());
  spread_about(frame_about(point.direction), {point.response.exponent, within_cut_off(point.response)},
               SampleStream(point.scramble, hash_name("gather")), 0, rays);
  return rays;
}

namespace {

struct Sent {
  ObservationOrigin::State state = ObservationOrigin::State::clear;
  Rays rays;
  std::vector<SurfaceHit> hits;
};

Sent send(const Enclosure& enclosure, const GatherPoint& point, std::uint32_t count) {
  const ObservationOrigin origin = enclosure.observation_origin(point.position, point.direction);
  if (origin.state != ObservationOrigin::State::clear) return {origin.state, Rays(origin.position), {}};
  Sent sent{origin.state, gather_rays(enclosure, point, origin.position, count),
            std::vector<SurfaceHit>(count)};
  enclosure.trace(sent.rays, sent.hits);
  return sent;
}

/// What each ray carries.
class RayWeights {
 public:
  RayWeights(const GatherPoint& point, const Sent& sent)
      : point_(point),
        rays_(sent.rays),
        each_(point.response.total() / static_cast<double>(sent.hits.size())) {}
  [[nodiscard]] double operator[](std::size_t ray) const {
    if (!point_.response.extra) return each_;
    const double cosine = dot(rays_.direction(ray), point_.direction);
    return each_ * point_.response.extra(std::acos(std::min(1.0, cosine)));
  }

 private:
  const GatherPoint& point_;
  const Rays& rays_;
  double each_;
};

}  // namespace

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
    const RayWeights weights(points[p], sent);
    for (std::size_t k = 0; k < sent.hits.size(); ++k) {
      if (sent.hits[k].patch == SurfaceHit::kNone) {
        ++leaks[p];
      } else {
        result.weights(static_cast<Eigen::Index>(p), static_cast<Eigen::Index>(sent.hits[k].patch)) +=
            weights[k];
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
  const RayWeights weights(point, sent);
  std::vector<GatherHit> hits;
  hits.reserve(sent.hits.size());
  for (std::size_t k = 0; k < sent.hits.size(); ++k)
    if (sent.hits[k].patch != SurfaceHit::kNone)
      hits.push_back({enclosure.patches()[sent.hits[k].patch].surface, sent.hits[k].patch,
                      sent.rays.at(k, static_cast<double>(sent.hits[k].distance_m)), weights[k]});
  return hits;
}

}  // namespace halflight
