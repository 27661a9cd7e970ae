#pragma once

namespace halflight::people {

/// One step of the two-state inhomogeneous Markov chain of J. Page, D. Robinson, N. Morel, J.-L. Scartezzini,
/// Energy and Buildings 40(2), 2008: chances of being present after the step.
struct ChainStep {
  double appears = 0.0;  ///< for who is absent before it (T01)
  double stays = 0.0;    ///< for who is present before it (T11)
};

/// The step that takes the chance of presence from `now` to `next` (0..1) at the parameter of mobility
/// `mobility` = (T01 + T10) / (T00 + T11), in (0, 1]. Where a steep profile asks for more than the chain can
/// do, its memory is lowered for the step, so that presence follows the profile exactly.
ChainStep chain_step(double now, double next, double mobility);

/// The parameter of mobility at which absences last `mean_absence_steps` on average while the chance of
/// presence stays at `present`: 1 / (2 P A - 1), and 1 (no memory) where even that is too slow.
double mobility_of(double present, double mean_absence_steps);

}  // namespace halflight::people
