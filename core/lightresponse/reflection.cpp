#include "lightresponse/reflection.hpp"

#include "transport/interreflection.hpp"

namespace halflight::lightresponse {

namespace {

/// Exitance of each patch per direct illuminance of each other: (I - rho F)^-1 rho.
Result<RowMajor> exitances(const Context& context, const Eigen::MatrixXd& exchange_m2,
                           const std::vector<double>& area_m2, const std::vector<double>& reflectance) {
  const Result<Interreflection> interreflection = Interreflection::make(exchange_m2, area_m2, reflectance);
  if (!interreflection) return tl::unexpected(interreflection.error());
  const Eigen::Index n = interreflection->size();
  Eigen::MatrixXd inverse = interreflection->adjoint(context, Eigen::MatrixXd::Identity(n, n));
  for (Eigen::Index j = 0; j < n; ++j) inverse.col(j) *= reflectance[static_cast<std::size_t>(j)];
  return RowMajor(inverse.cast<float>());
}

}  // namespace

std::size_t Reflection::size_of(const Enclosure& room) {
  return room.patches().size() * room.patches().size() + room.block_count() * room.block_count();
}

Result<std::vector<float>> Reflection::solve(const Context& context, const Enclosure& room,
                                             std::span<const float> exchange_m2,
                                             std::span<const double> reflectance) {
  const auto n = static_cast<Eigen::Index>(room.patches().size());
  const auto blocks = static_cast<Eigen::Index>(room.block_count());
  const Eigen::MatrixXd exchange = Eigen::Map<const RowMajor>(exchange_m2.data(), n, n).cast<double>();
  Eigen::MatrixXd exchange_of_blocks = Eigen::MatrixXd::Zero(blocks, blocks);
  std::vector<double> area;
  std::vector<double> rho;
  std::vector<double> area_of_block(room.block_count(), 0.0);
  std::vector<double> rho_of_block(room.block_count(), 0.0);
  for (Eigen::Index i = 0; i < n; ++i) {
    const Patch& patch = room.patches()[static_cast<std::size_t>(i)];
    area.push_back(patch.area_m2);
    rho.push_back(reflectance[patch.surface]);
    area_of_block[patch.block] += patch.area_m2;
    rho_of_block[patch.block] = rho.back();
    for (Eigen::Index j = 0; j < n; ++j)
      exchange_of_blocks(patch.block, room.patches()[static_cast<std::size_t>(j)].block) += exchange(i, j);
  }
  const Result<RowMajor> fine = exitances(context, exchange, area, rho);
  if (!fine) return tl::unexpected(fine.error());
  const Result<RowMajor> coarse = exitances(context, exchange_of_blocks, area_of_block, rho_of_block);
  if (!coarse) return tl::unexpected(coarse.error());
  std::vector<float> values(fine->data(), fine->data() + fine->size());
  values.insert(values.end(), coarse->data(), coarse->data() + coarse->size());
  return values;
}

Reflection::Reflection(const Enclosure& room, std::span<const double> reflectance,
                       std::span<const float> solved)
    : room_(room) {
  const auto n = static_cast<Eigen::Index>(room.patches().size());
  const auto blocks = static_cast<Eigen::Index>(room.block_count());
  patches_ = Eigen::Map<const RowMajor>(solved.data(), n, n);
  blocks_ = Eigen::Map<const RowMajor>(solved.data() + n * n, blocks, blocks);
  std::vector<double> area_of_block(room.block_count(), 0.0);
  for (const Patch& patch : room.patches()) area_of_block[patch.block] += patch.area_m2;
  reflectance_.resize(n);
  share_of_block_.resize(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const Patch& patch = room.patches()[static_cast<std::size_t>(i)];
    reflectance_(i) = static_cast<float>(reflectance[patch.surface]);
    share_of_block_(i) = static_cast<float>(patch.area_m2 / area_of_block[patch.block]);
  }
}

Reflection::Rows Reflection::rows(const Context& context, const RowMajor& weights, Step step) const {
  Rows rows{RowMajor(weights.rows(), weights.cols()), RowMajor(weights.rows(), weights.cols())};
  const auto patches = room_.patches();
  context.executor.for_each(static_cast<std::size_t>(weights.rows()), [&](std::size_t row) {
    const auto p = static_cast<Eigen::Index>(row);
    Eigen::RowVectorXf weights_of_blocks = Eigen::RowVectorXf::Zero(blocks_.rows());
    Eigen::RowVectorXf once_of_blocks = Eigen::RowVectorXf::Zero(blocks_.rows());
    const Eigen::RowVectorXf once = weights.row(p).cwiseProduct(reflectance_);
    for (Eigen::Index i = 0; i < weights.cols(); ++i) {
      const std::uint32_t block = patches[static_cast<std::size_t>(i)].block;
      weights_of_blocks(block) += weights(p, i);
      once_of_blocks(block) += once(i);
    }
    const Eigen::RowVectorXf all = weights.row(p) * patches_;
    Eigen::RowVectorXf fine = all;
    Eigen::RowVectorXf coarse = weights_of_blocks * blocks_;
    if (step == Step::beyond_one_reflection) {
      fine -= once;
      coarse -= once_of_blocks;
    }
    for (Eigen::Index j = 0; j < weights.cols(); ++j)
      rows.mesh_step(p, j) =
          (fine(j) - coarse(patches[static_cast<std::size_t>(j)].block) * share_of_block_(j)) / 3.0F;
    rows.adjoint.row(p) = all + rows.mesh_step.row(p);
  });
  return rows;
}

}  // namespace halflight::lightresponse
