#pragma once
#include "base/context.hpp"

namespace halflight::service {

/// On what the service computes.
struct Executors {
  Executor& at_hand;  ///< for what somebody waits for with the hand on the page
  Executor&
      background;  ///< for what takes longer and must not hold up the former (base/background_executor.hpp)
};

}  // namespace halflight::service
