#include "choose/linear_program.hpp"

#include "base/random.hpp"

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

/// Least 3 x + 2 y with x + y >= 4, x <= 3, y <= 2.5, x - y <= 2: x = 1.5, y = 2.5 costs 9.5. The row's price
/// is 3, that of x; y's bound is worth 1 a unit.
LinearProgram example() {
  return {{{3.0, 0.0, 3.0}, {2.0, 0.0, 2.5}}, {{{1.0, 1.0}, 4.0}, {{1.0, -1.0}, -kUnlimited, 2.0}}};
}

TEST(LinearProgram, SolvesAHandWorkedExample) {
  const auto found = linear_optimum(example());
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->x[0], 1.5, 1e-9);
  EXPECT_NEAR(found->x[1], 2.5, 1e-9);
  EXPECT_NEAR(found->price[0], 3.0, 1e-9);
  EXPECT_NEAR(found->price[1], 0.0, 1e-9);
}

TEST(LinearProgram, HasNoOptimumWhereRowsConflict) {
  LinearProgram program = example();
  program.rows[0].least = 6.0;  // 3 + 2.5 is the most
  EXPECT_FALSE(linear_optimum(program));
  EXPECT_EQ(whole_optimum(program, 1000, 0.0).state, WholeOptimum::State::none);
}

TEST(LinearProgram, HasNoneOnWholeNumbersWhereOnlyFractionsFit) {
  LinearProgram program{{{1.0, 0.0, 5.0, true}}, {{{2.0}, 3.0, 3.0}}};  // 2 x = 3
  EXPECT_TRUE(linear_optimum(program));
  EXPECT_EQ(whole_optimum(program, 1000, 0.0).state, WholeOptimum::State::none);
}

TEST(LinearProgram, TakesWholeNumbersWhereAsked) {
  LinearProgram program = example();
  program.columns[1].is_whole = true;
  const WholeOptimum found = whole_optimum(program, 1000, 1e-6);
  EXPECT_EQ(found.state, WholeOptimum::State::proved);
  EXPECT_NEAR(found.x[0], 2.0, 1e-9);
  EXPECT_EQ(found.x[1], 2.0);
  EXPECT_LE(found.bound, 10.0);
  EXPECT_GE(found.bound, 10.0 - 2e-6) << "what counts as equal, and rounding";
}

TEST(DualityCheck, ProvesAnOptimum) {
  const DualityCheck check = check_duality(example(), std::vector{1.5, 2.5}, std::vector{3.0, 0.0});
  EXPECT_EQ(check.violation, 0.0);
  EXPECT_EQ(check.cost, 9.5);
  EXPECT_LE(check.bound, 9.5);
  EXPECT_NEAR(check.gap(), 0.0, 1e-13) << "a few roundings of numbers of 10";
}

TEST(DualityCheck, LeavesAGapWhereXIsNoOptimum) {
  const DualityCheck check = check_duality(example(), std::vector{2.0, 2.0}, std::vector{3.0, 0.0});
  EXPECT_EQ(check.violation, 0.0);
  EXPECT_NEAR(check.gap(), 0.5, 1e-13);
}

TEST(DualityCheck, LeavesAGapWherePricesAreWrong) {
  // At a price of 2.5 the bound is 10 + 2.5 (2 - 2.5) = 8.75; at 4 it is 16 - 3 - 2 (2.5) = 8.
  EXPECT_NEAR(check_duality(example(), std::vector{1.5, 2.5}, std::vector{2.5, 0.0}).bound, 8.75, 1e-13);
  EXPECT_NEAR(check_duality(example(), std::vector{1.5, 2.5}, std::vector{4.0, 0.0}).bound, 8.0, 1e-13);
}

TEST(DualityCheck, DoesNotCountAPriceThatPullsAtNoBound) {
  const DualityCheck check = check_duality(example(), std::vector{1.5, 2.5}, std::vector{-1e6, 1e6});
  EXPECT_LE(check.bound, 0.0);
  EXPECT_NEAR(check.bound, 0.0, 1e-13) << "without prices both columns are 0";
}

TEST(DualityCheck, SaysByHowMuchXIsOutside) {
  EXPECT_DOUBLE_EQ(check_duality(example(), std::vector{1.0, 2.5}, std::vector{3.0, 0.0}).violation, 0.5);
  EXPECT_DOUBLE_EQ(check_duality(example(), std::vector{1.5, 2.75}, std::vector{3.0, 0.0}).violation, 0.25);
  EXPECT_DOUBLE_EQ(check_duality(example(), std::vector{3.0, 0.0}, std::vector{3.0, 0.0}).violation, 1.0);
}

TEST(DualityCheck, ProvesNothingOfAColumnWithoutEnd) {
  LinearProgram program = example();
  program.columns[0].least = -kUnlimited;
  EXPECT_EQ(check_duality(program, std::vector{1.5, 2.5}, std::vector{2.0, 0.0}).bound, -kUnlimited);
}

TEST(DualityCheck, IsBelowEveryCostWhateverThePrices) {
  const RandomKey key{7, hash_name("any price")};
  for (std::uint32_t i = 0; i < 1000; ++i) {
    const auto draw = [&](std::uint32_t slot) { return random_uniform(key, {i, 0, 0, slot}); };
    const std::vector x{3.0 * draw(0), 2.5 * draw(1)};
    const std::vector price{20.0 * draw(2) - 10.0, 20.0 * draw(3) - 10.0};
    const DualityCheck check = check_duality(example(), x, price);
    EXPECT_TRUE(check.violation > 0.0 || check.bound <= check.cost);
    EXPECT_LE(check.bound, 9.5);
  }
}

}  // namespace
}  // namespace halflight::choose
