#pragma once
#include "report/markup.hpp"

namespace halflight::report {

// Control devices on a plan: small white tokens drawn as what they do, about 16 px across, centred at (x, y)
// px.

enum class Token {
  eye,    ///< sees movement
  sun,    ///< sees daylight: a lozenge with a sun
  card,   ///< a wall station: a card with lines
  box,    ///< a load controller: a box with a sign of switching
  clock,  ///< a time clock
  plug,   ///< a signal to or from another system
  node,   ///< bus supply, gateway, repeater
};
void draw_token(Markup& page, Token token, double x, double y);

/// A green tab with an arrow: this luminaire lights the way out.
void draw_egress_tab(Markup& page, double x, double y);

}  // namespace halflight::report
