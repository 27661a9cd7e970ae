#pragma once
#include "base/context.hpp"
#include "base/diagnostic.hpp"
#include "geometry/enclosure.hpp"

#include <cstddef>
#include <span>
#include <vector>

#include <Eigen/Core>

namespace halflight::lightresponse {

using RowMajor = Eigen::Matrix<float, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// From the direct illuminance of patches to what observers receive reflected, through all reflections, with
/// the leading error of the size of patches taken off.
///
/// A patch carries one mean of the light on it, and what it loses by that falls with the square of its side.
/// The same room with blocks for patches (geometry/enclosure.hpp) has sides twice as long and the same rays,
/// so a third of the difference between both answers is what the patches still miss, and is added (L. F.
/// Richardson, Phil. Trans. R. Soc. A 210, 1911). docs/methods/light_response.md has what is left.
class Reflection {
 public:
  /// Exitance of each patch per direct illuminance of each other, for patches and then for blocks, in single
  /// precision for the store: patch_count^2 + block_count^2 numbers. `exchange_m2`: exchange areas between
  /// patches (transport/exchange.hpp); `reflectance`: one a surface.
  static Result<std::vector<float>> solve(const Context& context, const Enclosure& room,
                                          std::span<const float> exchange_m2,
                                          std::span<const double> reflectance);
  static std::size_t size_of(const Enclosure& room);

  /// `solved` as `solve` gave it. The room must outlive it.
  Reflection(const Enclosure& room, std::span<const double> reflectance, std::span<const float> solved);

  /// Rows of observers: times the direct illuminance of patches they give the reading of reflected light.
  struct Rows {
    RowMajor adjoint;    ///< observer x patch, as the best answer
    RowMajor mesh_step;  ///< the part of it that the comparison with blocks added
  };
  enum class Step {
    of_all_light,
    beyond_one_reflection,  ///< the caller knows better what is reflected once
  };
  /// `weights`: gather weights, observer x patch.
  [[nodiscard]] Rows rows(const Context& context, const RowMajor& weights, Step step) const;

 private:
  const Enclosure& room_;
  Eigen::RowVectorXf reflectance_;     // by patch
  Eigen::RowVectorXf share_of_block_;  // area of a patch in that of its block
  RowMajor patches_;
  RowMajor blocks_;
};

}  // namespace halflight::lightresponse
