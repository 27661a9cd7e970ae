#include "lightresponse/patch_light.hpp"

#include "photometry/flux.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace halflight::lightresponse {

ChannelLight::ChannelLight(const Enclosure& room, const ChannelColumn& column)
    : room_(room),
      source_{*column.distribution, column.position, column.orientation},
      opening_(source_),
      paths_(room.middle()) {}

void ChannelLight::add_paths(Point3 place, Vector3 facing, const domain::AngularWeighting* weighting) {
  for (const photometry::EmittingPoint& from : opening_.from(place)) {
    double lx = photometry::contribution_lx(source_, from, place, facing);
    if (lx <= 0.0) continue;
    if (weighting != nullptr) lx *= weighting->response(dot(normalized(from.position - place), facing));
    paths_.add(place, from.position - place);
    lx_.push_back(lx);
  }
}

void ChannelLight::trace() {
  hidden_.resize(paths_.size());
  room_.occluded(paths_, hidden_);
}

DirectLight ChannelLight::at(Point3 place, Vector3 facing, const domain::AngularWeighting* weighting) {
  paths_.clear();
  lx_.clear();
  add_paths(place, facing, weighting);
  trace();
  DirectLight light;
  double all_lx = 0.0;
  double squares = 0.0;
  for (std::size_t i = 0; i < lx_.size(); ++i) {
    all_lx += lx_[i];
    const double arrives = hidden_[i] == 0 ? lx_[i] : 0.0;
    light.lx += arrives;
    squares += arrives * arrives;
  }
  const auto n = static_cast<double>(lx_.size());
  if (light.lx > 0.0 && light.lx < all_lx)
    light.error_lx = std::sqrt(std::max(0.0, n * squares - light.lx * light.lx)) / n;
  return light;
}

double ChannelLight::mean_lx(std::span<const Point3> places, Vector3 normal) {
  paths_.clear();
  lx_.clear();
  for (const Point3 place : places) add_paths(place, normal, nullptr);
  trace();
  double sum = 0.0;
  for (std::size_t i = 0; i < lx_.size(); ++i)
    if (hidden_[i] == 0) sum += lx_[i];
  return sum / static_cast<double>(places.size());
}

std::vector<float> direct_on_patches(const Enclosure& room, const ChannelColumn& column,
                                     const LightOptions& options) {
  constexpr std::size_t kParts = 4;   // of the points of a patch, whose means tell the error
  constexpr std::size_t kMost = 256;  // points on a patch
  const auto patches = room.patches();
  const double flux_lm = photometry::flux_lm(*column.distribution);
  std::vector<float> values(2 * patches.size());
  std::vector<Point3> points;
  ChannelLight light(room, column);
  for (std::uint32_t p = 0; p < patches.size(); ++p) {
    const double wanted_lx = options.patch_error * flux_lm / patches[p].area_m2;
    // Runs of a scrambled Sobol sequence are each spread evenly over the patch.
    std::vector<double> parts;
    double mean = 0.0;
    double error = 0.0;
    for (std::size_t run = std::max<std::size_t>(1, static_cast<std::size_t>(options.patch_samples) / kParts);
         ; run *= 4) {
      points.resize(kParts * run);
      room.sample_patch(p, 0x9a7cU + p, points);
      // What the first points gave stays: they are the first part of the longer run.
      const bool first = parts.empty();
      if (!first) parts = {mean};
      for (std::size_t k = first ? 0 : 1; k < kParts; ++k)
        parts.push_back(light.mean_lx(std::span(points).subspan(k * run, run), patches[p].normal));
      mean = 0.0;
      for (const double part : parts) mean += part / kParts;
      double squares = 0.0;
      for (const double part : parts) squares += (part - mean) * (part - mean);
      error = std::sqrt(squares / (kParts * (kParts - 1)));
      if (error <= wanted_lx || points.size() >= kMost) break;
    }
    values[p] = static_cast<float>(mean);
    values[patches.size() + p] = static_cast<float>(error);
  }
  return values;
}

std::vector<daylight::Target> targets_on_patch(const Enclosure& room, std::span<const std::int32_t> openings,
                                               std::uint32_t patch, const LightOptions& options) {
  const Patch& target = room.patches()[patch];
  // The nearer an opening, the less its light is alike over a patch.
  double nearest_m = std::numeric_limits<double>::infinity();
  for (const std::int32_t opening : openings) {
    const Surface& surface = room.surfaces()[room.opening_surface(opening)];
    for (std::uint32_t k = 0; k < surface.patch_count; ++k)
      nearest_m =
          std::min(nearest_m, length(room.patches()[surface.first_patch + k].centroid - target.centroid));
  }
  const double side_m = std::sqrt(target.area_m2);
  const int more = nearest_m > 4.0 * side_m ? 1 : nearest_m > 1.5 * side_m ? 4 : 16;
  std::vector<Point3> points(static_cast<std::size_t>(options.patch_samples * more));
  room.sample_patch(patch, 0xda71U + patch, points);
  std::vector<daylight::Target> targets;
  for (const Point3 at : points)
    targets.push_back({at, target.normal, 1.0 / static_cast<double>(points.size()), nullptr, nullptr});
  return targets;
}

}  // namespace halflight::lightresponse
