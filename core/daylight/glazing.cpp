#include "daylight/glazing.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::daylight {

namespace {

struct Polarised {
  double t;
  double r;
};

// Multiple reflections between two elements in air, one polarisation (Siegel and Howell, Thermal Radiation
// Heat Transfer, chapter on windows).
Polarised stacked(Polarised a, Polarised b) {
  const double loop = 1.0 - a.r * b.r;
  return {a.t * b.t / loop, a.r + a.t * a.t * b.r / loop};
}

// One pane for one polarisation: interface reflectance `r`, one passage transmits `a`.
Polarised pane(double r, double a) {
  const double loop = 1.0 - r * r * a * a;
  const double t = (1.0 - r) * (1.0 - r) * a / loop;
  return {t, r + r * (1.0 - r) * (1.0 - r) * a * a / loop};
}

struct BothPolarisations {
  Polarised s;
  Polarised p;
};

BothPolarisations pane_polarised(double cosine, double absorption) {
  const double c = std::clamp(cosine, 1e-9, 1.0);
  const double sine_inside = std::sqrt(1.0 - c * c) / kGlassIndex;
  const double c_inside = std::sqrt(1.0 - sine_inside * sine_inside);
  const double rs = (c - kGlassIndex * c_inside) / (c + kGlassIndex * c_inside);
  const double rp = (kGlassIndex * c - c_inside) / (kGlassIndex * c + c_inside);
  const double a = std::exp(-absorption / c_inside);
  return {pane(rs * rs, a), pane(rp * rp, a)};
}

}  // namespace

PaneOptics pane_optics(double cosine, double absorption) {
  const BothPolarisations one = pane_polarised(cosine, absorption);
  return {0.5 * (one.s.t + one.p.t), 0.5 * (one.s.r + one.p.r)};
}

double panes_transmittance(double cosine, double absorption, int panes) {
  const BothPolarisations one = pane_polarised(cosine, absorption);
  BothPolarisations all = one;
  for (int i = 1; i < panes; ++i) all = {stacked(all.s, one.s), stacked(all.p, one.p)};
  return 0.5 * (all.s.t + all.p.t);
}

GlazingLaw::GlazingLaw(double normal_transmittance, int panes) {
  const double clearest = panes_transmittance(1.0, 0.0, panes);
  double absorption = 0.0;
  double scale = 1.0;
  if (normal_transmittance >= clearest) {
    scale = normal_transmittance / clearest;
  } else {
    // Transmittance falls steadily with absorption: bisection to rounding.
    double low = 0.0;
    double high = 50.0;
    for (int i = 0; i < 100; ++i) {
      absorption = 0.5 * (low + high);
      (panes_transmittance(1.0, absorption, panes) > normal_transmittance ? low : high) = absorption;
    }
  }
  constexpr int steps = 256;
  table_.resize(steps + 1);
  table_[0] = 0.0;
  for (int i = 1; i <= steps; ++i)
    table_[static_cast<std::size_t>(i)] =
        scale * panes_transmittance(static_cast<double>(i) / steps, absorption, panes);
  // Integral of 2 t(c) c dc over 0..1, trapezoid on a fine grid of the exact law.
  constexpr int fine = 4096;
  double sum = 0.0;
  for (int i = 0; i <= fine; ++i) {
    const double c = static_cast<double>(i) / fine;
    sum += (i == 0 || i == fine ? 0.5 : 1.0) * 2.0 * c * scale * panes_transmittance(c, absorption, panes);
  }
  hemispherical_ = sum / fine;
}

double GlazingLaw::transmittance(double cosine) const {
  const double x = std::clamp(cosine, 0.0, 1.0) * static_cast<double>(table_.size() - 1);
  const auto i = std::min(static_cast<std::size_t>(x), table_.size() - 2);
  const double f = x - static_cast<double>(i);
  return (1.0 - f) * table_[i] + f * table_[i + 1];
}

OpeningLaw::OpeningLaw(const domain::Glazing& glazing, double frame_fraction, const domain::Shade* shade)
    : glass_(glazing.transmittance, glazing.panes) {
  const double passes = (1.0 - frame_fraction) * glazing.maintenance;
  if (glazing.kind == domain::Glazing::Kind::diffusing) {
    // Nothing passes straight; a shade behind it takes its whole transmittance from scattered light.
    clear_ = 0.0;
    diffuse_ = passes * (shade == nullptr ? 1.0 : shade->openness + shade->diffuse_transmittance);
  } else if (shade == nullptr) {
    clear_ = passes;
  } else {
    clear_ = passes * shade->openness;
    diffuse_ = passes * shade->diffuse_transmittance;
  }
}

double OpeningLaw::beam(double cosine) const { return clear_ * glass_.transmittance(cosine); }
double OpeningLaw::scattered(double cosine) const { return diffuse_ * glass_.transmittance(cosine); }

}  // namespace halflight::daylight
