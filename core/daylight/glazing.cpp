#include "daylight/glazing.hpp"

#include "base/units.hpp"

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
  if (normal_transmittance <= 0.0) {
    scale = 0.0;  // no absorption darkens glass to nothing
  } else if (normal_transmittance >= clearest) {
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

namespace {

/// The cosine-weighted mean of a law over directions of one luminance between two elevations (sine); over the
/// whole hemisphere before the opening where it sees none of them.
template <class Law>
Passage mean_passage(Vector3 outward, double lowest, double highest, Law law) {
  constexpr int rings = 48;
  constexpr int steps = 96;
  const Frame frame = frame_about(outward);
  Passage within;
  Passage all;
  int count = 0;
  for (int i = 0; i < rings; ++i) {
    // Rings of equal cosine-weighted solid angle.
    const double radius = std::sqrt((i + 0.5) / rings);
    const double along = std::sqrt(1.0 - radius * radius);
    for (int j = 0; j < steps; ++j) {
      const double angle = 2.0 * kPi * (j + 0.5) / steps;
      const Vector3 d =
          radius * std::cos(angle) * frame.x + radius * std::sin(angle) * frame.y + along * frame.z;
      const Passage one = law(d);
      const auto add = [&](Passage& sum) {
        sum.straight += one.straight;
        sum.descending_per_sr += one.descending_per_sr;
        sum.rising_per_sr += one.rising_per_sr;
      };
      add(all);
      if (d.z < lowest || d.z > highest) continue;
      add(within);
      ++count;
    }
  }
  const Passage& sum = count > 0 ? within : all;
  const double n = count > 0 ? count : rings * steps;
  return {sum.straight / n, sum.descending_per_sr / n, sum.rising_per_sr / n};
}

bool is_switched(const domain::Shade* shade) {
  return shade != nullptr && shade->kind == domain::Shade::Kind::switched_glass;
}

}  // namespace

OpeningLaw::OpeningLaw(const domain::Glazing& glazing, double frame_fraction, const domain::Shade* shade,
                       Vector3 outward, const Well* well)
    : glass_(is_switched(shade) ? shade->switched_transmittance : glazing.transmittance, glazing.panes),
      outward_(outward) {
  const double passes = (1.0 - frame_fraction) * glazing.maintenance;
  const bool milky =
      glazing.kind == domain::Glazing::Kind::diffusing || (is_switched(shade) && shade->switched_diffusing);
  if (shade == nullptr || is_switched(shade)) {
    clear_ = milky ? 0.0 : passes;
    diffuse_ = milky ? passes : 0.0;
  } else if (shade->kind == domain::Shade::Kind::cloth) {
    // Nothing passes diffusing glass straight; cloth behind it takes its whole transmittance from scattered
    // light.
    clear_ = milky ? 0.0 : passes * shade->openness;
    diffuse_ = passes * (shade->diffuse_transmittance + (milky ? shade->openness : 0.0));
  } else {
    slats_.emplace(SlatGeometry{shade->slat_width_m, shade->slat_spacing_m, shade->slat_tilt_deg,
                                shade->slat_reflectance});
    clear_ = milky ? 0.0 : passes;
    if (milky) {
      // Evenly from every direction: the mean over the profile angles of an even hemisphere.
      const Passage mean = mean_passage(outward_, -1.0, 1.0, [&](Vector3 d) {
        const SlatOptics optics = slats_->at(std::atan2(d.z, dot(d, outward_)));
        return Passage{optics.straight, optics.downwards, optics.upwards};
      });
      diffuse_ = passes * (mean.straight + mean.descending_per_sr + mean.rising_per_sr);
      slats_.reset();
    }
  }
  if (well != nullptr) well_.emplace(*well);
  const auto law = [this](Vector3 d) { return from(d); };
  from_ground_ = mean_passage(outward_, -1.0, 0.0, law);
  const double facade = std::sin(45.0 * kRadPerDeg);
  from_facades_ = mean_passage(outward_, -facade, facade, law);
  from_all_around_ = mean_passage(outward_, -1.0, 1.0, law);
}

Passage OpeningLaw::from(Vector3 towards) const {
  const Passage at_top = without_well(towards);
  if (!well_) return at_top;
  // What is scattered at the top is even over the well; what its walls scatter leaves evenly.
  const double scattered =
      at_top.descending_per_sr * well_->even() + at_top.straight * well_->scattered(towards) / kPi;
  return {at_top.straight * well_->straight(towards), scattered, scattered};
}

Passage OpeningLaw::without_well(Vector3 towards) const {
  const double cosine = dot(towards, outward_);
  if (cosine <= 0.0) return {};
  const double glass = glass_.transmittance(cosine);
  if (!slats_) return {clear_ * glass, diffuse_ * glass / kPi, diffuse_ * glass / kPi};
  const SlatOptics optics = slats_->at(std::atan2(towards.z, cosine));
  // Each half of what is seen through an upright opening has the projected solid angle pi / 2.
  const double half = 0.5 * kPi;
  return {clear_ * glass * optics.straight, clear_ * glass * optics.downwards / half,
          clear_ * glass * optics.upwards / half};
}

}  // namespace halflight::daylight
