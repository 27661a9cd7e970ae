#pragma once
#include <string>

namespace halflight::domain {

/// From the least to the most that something usually is; `least` is not above `most`.
struct Range {
  double least = 0.0;
  double most = 0.0;
};

/// What one of a thing costs to buy, to install and to set to work. Money in the currency of the library, or
/// of the project's estimate where the project states it.
struct Price {
  Range material;
  Range labour_h;  ///< to install
  Range set_up_h;  ///< to address, aim, calibrate and test
};

/// What an estimate is made in.
struct Estimate {
  std::string currency = "USD";
  double labour_rate_per_h = 80.0;    ///< an electrician's hour with overhead
  double per_library_currency = 1.0;  ///< `currency` for one unit of the library's
};

}  // namespace halflight::domain
