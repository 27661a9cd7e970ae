// The printed numerical error of electric light against what it claims: over the rooms of the demo building,
// another calculation with twice as many patches and rays moves no more than one point in twenty by more, and
// it is not so large that it would hold for any calculation.
#include "lightresponse/response.hpp"
#include "projects/project_files.hpp"
#include "sim/lit_space.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::validation {
namespace {

/// Task areas and ways out of a space, as a study lights them.
std::vector<lightresponse::PointSet> sets_of(const domain::Space& space) {
  std::vector<lightresponse::PointSet> sets;
  for (const domain::TaskArea& task : space.task_areas) {
    sets.push_back(sim::task_points(task));
    sets.back().wants_daylight = false;
  }
  for (const domain::EgressPath& path : space.egress_paths)
    if (lightresponse::PointSet set = sim::egress_points(path, space.floor); !set.points.empty())
      sets.push_back(std::move(set));
  return sets;
}

/// Twice the patches and twice the rays.
lightresponse::LightOptions doubled(lightresponse::LightOptions options) {
  options.patch_m /= std::sqrt(2.0);
  options.most_patches *= 2;
  options.exchange_rays *= 2;
  options.gather_rays *= 2;
  options.patch_samples *= 2;
  options.patch_error /= std::sqrt(2.0);
  return options;
}

/// One point in both calculations.
struct Observed {
  double change = 0.0;   ///< as a share of the printed error
  double printed = 0.0;  ///< as a share of the light
};

/// `every`: 1, each room of the building; 2, each second one.
std::vector<Observed> observe(sim::Accuracy accuracy, std::size_t every) {
  const auto files = projects::read_project(HALFLIGHT_SOURCE_DIR "/projects/fenwick_hollow.halflight.json");
  if (!files) throw std::runtime_error(to_text(files.error().front()));
  const domain::Project& project = files->document.project();
  const auto executor = make_pool_executor(0);
  const climate::SkyDivision division(1);
  const daylight::Outside outside(division, daylight::Compass(0.0), {});
  std::vector<Observed> all;
  for (std::size_t s = 0; s < project.spaces.size(); s += every) {
    const domain::Space& space = project.spaces[s];
    const auto rows_with = [&](const lightresponse::LightOptions& options) {
      const auto scene = lightresponse::make_scene(project, s, files->photometry_files, options);
      if (!scene) throw std::runtime_error(to_text(scene.error().front()));
      const auto blobs = make_memory_blob_store();
      const Context context{*executor, *blobs, nullptr, {}};
      lightresponse::StageLog log;
      const lightresponse::SpaceLight light(*scene, outside, options, context, log);
      std::vector<lightresponse::PointRows> rows;
      for (const lightresponse::PointSet& set : sets_of(space)) rows.push_back(light.rows(set).value());
      return rows;
    };
    const auto scene = lightresponse::make_scene(project, s, files->photometry_files, {});
    std::vector<double> weight;  // the proposal, all on
    for (const lightresponse::ChannelColumn& column : scene->columns)
      weight.push_back(project.designs[column.design].role == domain::Design::Role::proposal ? 1.0 : 0.0);
    const auto usual = rows_with(sim::light_options(accuracy));
    const auto finer = rows_with(doubled(sim::light_options(accuracy)));
    for (std::size_t k = 0; k < usual.size(); ++k) {
      const double printed_lx = numerical_error_lx(usual[k], weight);
      for (std::size_t p = 0; p < usual[k].points; ++p) {
        double lx = 0.0;
        double finer_lx = 0.0;
        for (std::size_t c = 0; c < weight.size(); ++c) {
          lx += weight[c] * usual[k].electric_of(p)[c];
          finer_lx += weight[c] * finer[k].electric_of(p)[c];
        }
        if (lx > 0.0) all.push_back({std::abs(finer_lx - lx) / printed_lx, printed_lx / lx});
      }
    }
  }
  return all;
}

void expect_honest(const std::vector<Observed>& all, double most_in_the_median) {
  ASSERT_GE(all.size(), 50U);
  const auto count = static_cast<double>(all.size());
  const auto share = [&](auto condition) {
    return static_cast<double>(std::count_if(all.begin(), all.end(), condition)) / count;
  };
  const double held = share([](const Observed& o) { return o.change <= 1.0; });
  const double felt = share([](const Observed& o) { return o.change > 0.25; });
  std::vector<double> printed;
  for (const Observed& o : all) printed.push_back(o.printed);
  std::nth_element(printed.begin(), printed.begin() + static_cast<std::ptrdiff_t>(printed.size() / 2),
                   printed.end());
  const double median = printed[printed.size() / 2];
  const std::string seen =
      fmt::format("{} points, held at {:.1f} %, above a quarter {:.1f} %, median {:.2f} %", all.size(),
                  100 * held, 100 * felt, 100 * median);
  testing::Test::RecordProperty("seen", seen);
  EXPECT_GE(held, 0.95) << seen;
  EXPECT_GE(felt, 0.30) << seen;
  EXPECT_LE(median, most_in_the_median) << seen;
}

TEST(PrintedError, HoldsForDrafts) { expect_honest(observe(sim::Accuracy::draft, 1), 0.10); }
TEST(PrintedError, HoldsForDesign) { expect_honest(observe(sim::Accuracy::design, 1), 0.03); }
// The rule is that of drafts and designs, which every room has tried; a proof takes some ten times their
// work.
TEST(PrintedErrorOfProof, Holds) { expect_honest(observe(sim::Accuracy::proof, 2), 0.01); }

}  // namespace
}  // namespace halflight::validation
