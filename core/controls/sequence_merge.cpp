#include "controls/sequence_merge.hpp"

#include <array>

namespace halflight::controls {

namespace {
constexpr unsigned kAll = (1U << Strategies::kCount) - 1U;
}

Strategies Strategies::from_mask(unsigned mask) {
  return {(mask & 1U) != 0, (mask & 2U) != 0, (mask & 4U) != 0, (mask & 8U) != 0, (mask & 16U) != 0};
}

unsigned Strategies::mask() const {
  return (schedule ? 1U : 0U) | (occupancy ? 2U : 0U) | (scenes ? 4U : 0U) | (trim ? 8U : 0U) |
         (daylight ? 16U : 0U);
}

const char* name_of_strategy(unsigned bit) {
  static constexpr std::array<const char*, Strategies::kCount> kNames = {"schedule", "occupancy", "scenes",
                                                                         "trim", "daylight"};
  return kNames.at(bit);
}

domain::Sequence merged(const domain::Sequence& as_found, const domain::Sequence& proposal,
                        Strategies from_proposal) {
  if (from_proposal.mask() == kAll) return proposal;
  domain::Sequence sequence = as_found;
  if (from_proposal.schedule) sequence.schedule = proposal.schedule;
  if (from_proposal.occupancy) {
    sequence.on = proposal.on;
    sequence.vacancy = proposal.vacancy;
  }
  if (from_proposal.scenes) {
    sequence.normal_scene = proposal.normal_scene;
    sequence.manual = proposal.manual;
  }
  if (from_proposal.trim) sequence.trim = proposal.trim;
  if (from_proposal.daylight) sequence.daylight = proposal.daylight;
  return sequence;
}

}  // namespace halflight::controls
