#pragma once
#include "geometry/vector.hpp"

#include <cstddef>
#include <vector>

namespace halflight::climate {

/// The sky cut into patches: the eight bands of P. R. Tregenza (Lighting Research & Technology 19(1), 1987,
/// 13-14), each band and azimuth step divided by `m` (1..6), which makes 144 m^2 + 1 patches.
///
/// Order: row after row from the horizon upward, in each row clockwise seen from above (north, east, south,
/// west); the first patch of a row begins at azimuth 0, that is at the +y axis. The last patch is the cap at
/// the zenith. The division belongs to whatever axes the caller uses: geographic or the building's.
class SkyDivision {
 public:
  explicit SkyDivision(int m);

  /// A patch between two parallels and two meridians. Azimuth from +y clockwise (toward +x).
  struct Bounds {
    double low_elevation_rad, high_elevation_rad;
    double low_azimuth_rad, high_azimuth_rad;
  };

  [[nodiscard]] int m() const { return m_; }
  [[nodiscard]] std::size_t size() const { return solid_angle_sr_.size(); }
  [[nodiscard]] std::size_t rows() const { return row_begin_.size() - 1; }  ///< 7 m + 1, with the cap
  /// Index of the first patch of a row; `row_begin(rows())` is `size()`.
  [[nodiscard]] std::size_t row_begin(std::size_t row) const { return row_begin_[row]; }
  [[nodiscard]] std::size_t row_of(std::size_t patch) const;

  /// The patch that holds a unit vector. Directions below the horizon (z < 0) fall into the lowest row.
  [[nodiscard]] std::size_t patch_of(Vector3 direction) const;
  [[nodiscard]] Bounds bounds(std::size_t patch) const;
  [[nodiscard]] double solid_angle_sr(std::size_t patch) const { return solid_angle_sr_[patch]; }
  /// Integral of the cosine of the zenith angle over the patch: its luminance times this is its horizontal
  /// illuminance. The sum over all patches is pi.
  [[nodiscard]] double cosine_solid_angle_sr(std::size_t patch) const {
    return cosine_solid_angle_sr_[patch];
  }
  /// Unit vector to the centre of gravity of the patch on the sphere.
  [[nodiscard]] Vector3 centroid(std::size_t patch) const { return centroid_[patch]; }

  /// Sample directions for averages over patches, `side`^2 of each patch, each standing for an equal solid
  /// angle. Sample k of patch p is at [k * size() + p]; k / `side` counts upward in elevation.
  struct Samples {
    int side = 1;
    std::vector<float> x, y, z;
    std::vector<float> elevation_sine;  ///< of the samples of a row: [row * side + k / side]
  };
  [[nodiscard]] const Samples& samples() const { return samples_; }

 private:
  int m_ = 1;
  double row_height_rad_ = 0.0;
  std::vector<std::size_t> row_begin_;
  std::vector<double> row_sine_;  // of the lower edge of each row
  std::vector<double> solid_angle_sr_;
  std::vector<double> cosine_solid_angle_sr_;
  std::vector<Vector3> centroid_;
  Samples samples_;
};

}  // namespace halflight::climate
