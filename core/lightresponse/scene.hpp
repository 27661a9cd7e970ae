#pragma once
#include "base/diagnostic.hpp"
#include "daylight/directions.hpp"
#include "domain/intensity_distribution.hpp"
#include "domain/project.hpp"
#include "geometry/enclosure.hpp"

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

namespace halflight::lightresponse {

/// How much is spent on the light of a space. Part of every key that depends on it.
struct LightOptions {
  double patch_m = 0.6;     ///< wanted side of a patch
  int most_patches = 900;   ///< larger rooms get larger patches
  int exchange_rays = 512;  ///< per patch, each way
  int gather_rays = 2048;   ///< per observation point
  int patch_samples = 4;    ///< points on a patch for direct light, at least
  /// More points are taken on a patch until the standard error of the flux that it gets from a luminaire is
  /// below this share of the luminaire's.
  double patch_error = 3e-4;
  int opening_samples = 64;  ///< points on an opening, at least
  int sky_division = 2;      ///< m of climate::SkyDivision
};

/// One column of the electric light response: a channel of a placed luminaire at full output.
struct ChannelColumn {
  std::size_t design = 0;      ///< index into the project's designs
  std::size_t luminaire = 0;   ///< index into the design's luminaires
  std::size_t channel = 0;     ///< index into the type's channels
  std::string id;              ///< "luminaire/channel"
  bool only_switched = false;  ///< by its load controllers (domain::switched_channels)
  std::shared_ptr<const domain::IntensityDistribution> distribution;
  Point3 position;
  Frame orientation;
  Hash key;  ///< of distribution, position and orientation
};

/// Inner glazing, through which light of another space comes.
struct InnerPane {
  daylight::WindowGroup glass;  ///< one opening; outward is into the lender
  std::size_t opening = 0;      ///< index into domain::light_openings of the space
  std::size_t lender = 0;       ///< index of the space behind it in the project
};

/// Everything that the light of one space depends on, resolved from the document. Coordinates: building axes,
/// z above the storey's floor.
struct SpaceScene {
  Enclosure enclosure;
  std::vector<double> reflectance;  ///< one a surface of the enclosure, 0..1
  std::vector<ChannelColumn> columns;
  std::vector<daylight::WindowGroup> window_groups;
  std::vector<InnerPane> panes;
};

/// Photometric files that were read.
using PhotometryFiles = std::map<domain::PhotometryKey, domain::IntensityDistribution>;

/// The light of a channel at full output. Errors: its file is not among `files`, or what its formula lacks.
Result<domain::IntensityDistribution> distribution_of(const domain::LuminaireType& type,
                                                      const domain::Channel& channel,
                                                      const PhotometryFiles& files);

/// Luminaires of every design stand in one scene: columns of designs that are not in force get no weight
/// later. Errors name the space's parts; a luminaire whose photometry cannot be had is an error with its
/// reason.
/// `arrangement`: how movable partitions stand; nullptr: in their first states.
Result<SpaceScene> make_scene(const domain::Project& project, std::size_t space, const PhotometryFiles& files,
                              const LightOptions& options, const domain::Arrangement* arrangement = nullptr);

/// The columns of `make_scene` alone: channels of the luminaires that stand in a space. Errors as there.
Result<std::vector<ChannelColumn>> channel_columns(const domain::Project& project, std::size_t space,
                                                   const PhotometryFiles& files);

/// Points spread evenly over the inner glazing `pane` of `space`, on the wall of `lender` behind it: where
/// light that will cross is observed. Empty where no such wall stands there.
std::vector<Point3> points_behind(const domain::Space& space, const domain::Opening& pane,
                                  const domain::Space& lender);
/// Unit normal of a wall away from its space, building axes.
Vector3 outward_of_wall(const domain::Space& space, int wall);

}  // namespace halflight::lightresponse
