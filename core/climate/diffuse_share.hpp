#pragma once

namespace halflight::climate {

/// Share of diffuse in global light by clearness, global light over what arrives outside the air on the
/// horizontal: D. G. Erbs, S. A. Klein, J. A. Duffie, Solar Energy 28(4), 1982, 293-302.
inline double diffuse_share(double clearness) {
  const double k = clearness;
  if (k <= 0.22) return 1.0 - 0.09 * k;
  if (k <= 0.80) return 0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)));
  return 0.165;
}

}  // namespace halflight::climate
