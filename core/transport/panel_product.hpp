#pragma once
#include <Eigen/Core>

namespace halflight {

using RowMajorFloat = Eigen::Matrix<float, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// Rows of a product come in panels of this height or of `kTallPanel`. The result of a row does not depend on
/// which it is in, nor on the other rows (tested): call `fix_matrix_blocking` first.
inline constexpr Eigen::Index kPanel = 16;
/// Fills the matrix library's kernel of 24 rows and hides behind work that it copies the other factor.
inline constexpr Eigen::Index kTallPanel = 48;

/// rows x columns, panel after panel; the number of rows is a multiple of `kPanel`, filled up with zeros.
/// Calls `use(first_row, panel)` with each panel of the product.
template <class Use>
void multiply_in_panels(const RowMajorFloat& rows, const Eigen::MatrixXf& columns, const Use& use) {
  eigen_assert(rows.rows() % kPanel == 0);
  Eigen::MatrixXf product(kTallPanel, columns.cols());
  for (Eigen::Index first = 0; first < rows.rows();) {
    const Eigen::Index height = rows.rows() - first >= kTallPanel ? kTallPanel : kPanel;
    auto panel = product.topRows(height);
    panel.noalias() = rows.middleRows(first, height) * columns;
    use(first, panel);
    first += height;
  }
}

}  // namespace halflight
