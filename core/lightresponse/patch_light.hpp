#pragma once
#include "daylight/directions.hpp"
#include "domain/observation.hpp"
#include "lightresponse/scene.hpp"
#include "photometry/direct.hpp"

#include <cstdint>
#include <span>
#include <vector>

// Light straight from luminaires and openings: at a place, and as the mean of each patch.

namespace halflight::lightresponse {

/// Illuminance straight from one channel at full output, and what its calculation may be off by.
struct DirectLight {
  double lx = 0.0;
  /// Standard error by the places that stand for a luminous opening of which something hides a part, lx: the
  /// spread of their light over their number.
  double error_lx = 0.0;
};

/// Direct light of one channel at many places; a shadow ray for each emitting point. Keeps its buffers. The
/// room and the column must outlive it. Not for use by several threads at once.
class ChannelLight {
 public:
  ChannelLight(const Enclosure& room, const ChannelColumn& column);
  /// `weighting` of an observer, or nothing for illuminance.
  DirectLight at(Point3 place, Vector3 facing, const domain::AngularWeighting* weighting = nullptr);
  /// Mean illuminance of several places on a plane.
  double mean_lx(std::span<const Point3> places, Vector3 normal);

 private:
  void add_paths(Point3 place, Vector3 facing, const domain::AngularWeighting* weighting);
  void trace();

  const Enclosure& room_;
  photometry::LuminaireSource source_;
  photometry::SeenOpening opening_;
  Rays paths_;  ///< from places to emitting points
  std::vector<double> lx_;
  std::vector<std::uint8_t> hidden_;
};

/// Mean direct illuminance of every patch, lx at full output, and the standard error of each by the points
/// that it was taken at, [2 x patch]: means first.
std::vector<float> direct_on_patches(const Enclosure& room, const ChannelColumn& column,
                                     const LightOptions& options);

/// Places on a patch at which the light of openings is taken, of equal weight; more where one is near.
std::vector<daylight::Target> targets_on_patch(const Enclosure& room, std::span<const std::int32_t> openings,
                                               std::uint32_t patch, const LightOptions& options);

}  // namespace halflight::lightresponse
