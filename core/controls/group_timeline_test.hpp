#pragma once
// The timeline of one group, as tests read it: levels in place of settings.
#include "controls/timeline.hpp"

#include <vector>

namespace halflight::controls {

/// Level 0 is off.
struct LevelSegment {
  Seconds begin = 0;
  Seconds end = 0;
  double level = 0.0;
  Cause cause = Cause::not_switched_on;
  friend bool operator==(const LevelSegment&, const LevelSegment&) = default;
};

/// Neighbours differ in level or cause.
inline std::vector<LevelSegment> levels_of(const Timeline& timeline, const GroupLevels& levels) {
  std::vector<LevelSegment> own;
  for (const Segment& s : timeline.segments) {
    const double level = levels.of(s.setting);
    if (!own.empty() && own.back().level == level && own.back().cause == s.cause)
      own.back().end = s.end;
    else
      own.push_back({s.begin, s.end, level, s.cause});
  }
  return own;
}

}  // namespace halflight::controls
