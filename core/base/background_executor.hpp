#pragma once
#include "base/context.hpp"

#include <memory>

namespace halflight {

/// A pool with as many threads as the machine has, for work that nobody waits for at this moment: threads
/// leave it between two pieces of work when any other pool of the process has some.
std::unique_ptr<Executor> make_background_executor();

}  // namespace halflight
