#pragma once
#include "base/context.hpp"
#include "base/time_axis.hpp"
#include "daylight/directions.hpp"
#include "domain/observation.hpp"
#include "lightresponse/scene.hpp"

#include <cstddef>
#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <span>
#include <string>
#include <string_view>
#include <vector>

// The light response of a space: what observation points receive from every channel at full output and from
// every direction of sky and sun through every window group. Computed by stages, each stored under the hash
// of exactly what it depends on; see docs/methods/light_response.md.

namespace halflight::lightresponse {

/// Counts, by stage, what was computed and what came from the store.
class StageLog {
 public:
  void note(std::string_view stage, bool reused);
  struct Count {
    int computed = 0;
    int reused = 0;
  };
  [[nodiscard]] std::map<std::string, Count> counts() const;

 private:
  mutable std::mutex mutex_;
  std::map<std::string, Count> counts_;
};

/// Points that are asked for together and stored together: the grid of a task area, an egress path, a sensor.
struct PointSet {
  std::vector<domain::ObservationPoint> points;
  bool wants_electric = true;
  bool wants_daylight = false;  ///< also the response to sky and sun: of the mean over points,
  bool of_each_point = false;   ///< or of every point by itself
  /// Light that surfaces reflect once is taken where each ray arrives instead of as the mean of a patch: for
  /// photosensors, which may look at little but an edge of sun or a pool of light. Dear: for a few points.
  bool light_at_hits = false;

  /// Rows of daylight and of direct sun: one a point, or that of their mean.
  [[nodiscard]] std::size_t daylight_rows() const { return of_each_point ? points.size() : 1; }
};

/// Rows of the light response. Single precision: stored and used alike, so that a run from the store cannot
/// differ.
struct PointRows {
  std::size_t points = 0;
  std::size_t columns = 0;
  std::size_t groups = 0;
  std::size_t bins = 0;
  // Of each point and column, [point x columns + column], lx at full output, initial.
  std::vector<float> electric;
  std::vector<float> electric_reflected;  ///< the part that arrives reflected
  // What the numbers of `electric` owe to the calculation itself. Over columns the first two add with their
  // signs (all columns share rays and patches), the third as a root of squares; see `numerical_error_lx`.
  std::vector<float> mesh_step;     ///< what the comparison of two sizes of patches added
  std::vector<float> gather_error;  ///< standard error by the rays of the point, from one difference
  std::vector<float> sample_error;  ///< standard error by points on patches and places on luminaires
  /// Reading per unit luminance of each bin through each group's bare opening, in all and the part that
  /// arrives after reflection inside, [(row x groups + group) x bins + bin], lx per cd/m2; rows as
  /// PointSet::daylight_rows, groups 0 where no daylight was asked for.
  std::vector<float> daylight;
  std::vector<float> daylight_reflected;

  [[nodiscard]] std::span<const float> electric_of(std::size_t point) const {
    return std::span(electric).subspan(point * columns, columns);
  }
  /// Mean over points of the part of a column that arrives reflected, lx.
  [[nodiscard]] double reflected_mean(std::size_t column) const;
  /// Coefficients by bin of one row and group.
  [[nodiscard]] std::span<const float> daylight_of(std::size_t row, std::size_t group) const {
    return std::span(daylight).subspan((row * groups + group) * bins, bins);
  }
  [[nodiscard]] std::span<const float> daylight_reflected_of(std::size_t row, std::size_t group) const {
    return std::span(daylight_reflected).subspan((row * groups + group) * bins, bins);
  }
};

/// What points receive through inner glazing: readings per unit luminance of an evenly bright pane, of the
/// half of its light that descends into the room and of the half that rises, lx per cd/m2.
struct PaneRows {
  struct Reading {
    float descending = 0.0F;
    float rising = 0.0F;
    float descending_reflected = 0.0F;  ///< the part that arrives after reflection inside
    float rising_reflected = 0.0F;
  };
  std::size_t panes = 0;          ///< of the scene
  std::vector<Reading> readings;  ///< [row x panes + pane], rows as PointSet::daylight_rows
  [[nodiscard]] const Reading& of(std::size_t row, std::size_t pane) const {
    return readings[row * panes + pane];
  }
};

/// Standard errors are multiplied by this in what is printed: the coverage factor for about 95 of 100 cases
/// (JCGM 100:2008, Guide to the expression of uncertainty in measurement, 6.3.3). More rays and smaller
/// patches, of independent chance, move a point by less in that share of cases; so does the truth.
inline constexpr double kErrorCoverage = 2.0;

/// Numerical error of the electric light of a set's points, lx, with columns at `weight` times full output:
/// no more than one point in twenty is off by more. The whole step between two sizes of patches counts as one
/// standard error, although most of what it stands for is taken off. Of the calculation alone; what is not
/// known of the room (reflectances, photometry) comes on top. One figure for all points, because their errors
/// are alike and the root mean square of many is better known than each.
double numerical_error_lx(const PointRows& rows, std::span<const double> weight);

/// Direct sun: for each instant of a series, what of it a set's points see through each group.
struct SunlitShares {
  std::size_t instants = 0;
  std::size_t groups = 0;
  /// Visible x R x cosine of the mean over points, or of each; [(row x groups + group) x instants + instant].
  std::vector<float> share;
  [[nodiscard]] std::span<const float> of(std::size_t row, std::size_t group) const {
    return std::span(share).subspan((row * groups + group) * instants, instants);
  }
};

/// The light of one space, computed on demand. Safe from any thread.
class SpaceLight {
 public:
  /// `scene` and `outside` must outlive it.
  SpaceLight(const SpaceScene& scene, const daylight::Outside& outside, LightOptions options,
             const Context& context, StageLog& log);
  ~SpaceLight();

  /// Errors: the room is not closed (rays leak) or its surfaces cannot be.
  [[nodiscard]] Result<PointRows> rows(const PointSet& set) const;
  /// Points that have looked about: how each sees every patch, whatever shines on them.
  struct Observers;
  /// Errors as `rows`.
  [[nodiscard]] Result<std::shared_ptr<const Observers>> observers(const PointSet& set) const;
  using ObserversOfSet = std::shared_ptr<const Observers>;
  /// The electric light of other channels than the scene's at such points, set by set and one column each, as
  /// `rows` has it: for a luminaire that is being moved.
  [[nodiscard]] std::vector<PointRows> rows_for(std::span<const ObserversOfSet> sets,
                                                std::span<const ChannelColumn> channels) const;
  /// What the set's points receive through inner glazing; errors as `rows`.
  [[nodiscard]] Result<PaneRows> pane_rows(const PointSet& set) const;
  /// `sun`: unit vectors towards the sun in true-north world axes, one an instant; below the horizon gives 0.
  [[nodiscard]] SunlitShares sunlit(const PointSet& set, std::span<const Vector3> sun) const;
  /// The same without the store, for what is wanted once.
  [[nodiscard]] SunlitShares sunlit_now(const PointSet& set, std::span<const Vector3> sun) const;
  /// Hash of all that `sunlit` depends on.
  [[nodiscard]] Hash sunlit_key(const PointSet& set, std::span<const Vector3> sun) const;
  /// Illuminance on the outside of each window group per unit luminance of each bin, [group x bins + bin].
  [[nodiscard]] std::vector<float> incident() const;
  /// Share of each group's glass that the sun reaches past solids outside, [group x instants + instant].
  [[nodiscard]] std::vector<float> sun_on_groups(std::span<const Vector3> sun) const;
  /// Rays that met nothing, as a share of all (0 when everything came from the store).
  [[nodiscard]] double leak_share() const;

 private:
  struct Stages;
  std::unique_ptr<Stages> stages_;
};

}  // namespace halflight::lightresponse
