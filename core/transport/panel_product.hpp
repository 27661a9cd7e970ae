#pragma once
#include <algorithm>

#include <Eigen/Core>

namespace halflight {

/// Rows of a product are filled up to a multiple of this with zeros.
inline constexpr Eigen::Index kPanel = 16;

/// Height of the next panel when so many rows are left. Tall panels are faster, since the matrix library
/// copies the other factor for each. Its kernels of 24 and of 16 rows add in one order and that of 8 rows in
/// another, so a height is a multiple of 24 or is 16.
constexpr Eigen::Index panel_height(Eigen::Index rows_left) {
  constexpr Eigen::Index tall = 2 * 24;
  constexpr Eigen::Index tallest = 5 * tall;
  return rows_left < tall ? kPanel : std::min(tallest, rows_left / tall * tall);
}

/// rows x columns, panel after panel (`rows` by columns, which the library copies faster); the number of rows
/// is a multiple of `kPanel`. Calls `use(first_row, panel)` with each panel of the product. A row's result
/// does not depend on what other rows there are (tested): call `fix_matrix_blocking` first.
template <class Use>
void multiply_in_panels(const Eigen::MatrixXf& rows, const Eigen::MatrixXf& columns, const Use& use) {
  eigen_assert(rows.rows() % kPanel == 0);
  Eigen::MatrixXf product(panel_height(rows.rows()), columns.cols());
  for (Eigen::Index first = 0; first < rows.rows();) {
    auto panel = product.topRows(panel_height(rows.rows() - first));
    panel.noalias() = rows.middleRows(first, panel.rows()) * columns;
    use(first, panel);
    first += panel.rows();
  }
}

}  // namespace halflight
