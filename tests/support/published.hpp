#pragma once
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>

#include <fmt/format.h>
#include <gtest/gtest.h>

// Checks against something outside the project. Each becomes a row of docs/validation.md, which
// tests/support/validation_page.sh makes.
namespace halflight::published {

/// How far the computed value may be off: in the quantity's unit, or as a share of the expected value.
struct Allowed {
  double value = 0.0;
  bool relative = false;

  // Not explicit: a plain number is the usual case.
  Allowed(double absolute) : value(absolute) {}
};
inline Allowed relative(double share) {
  Allowed allowed(share);
  allowed.relative = true;
  return allowed;
}

/// One line of the file that HALFLIGHT_VALIDATION names, which the first line of a program empties: test,
/// source, quantity, unit, expected, computed, allowed (with a % sign where it is a share), why it is further
/// off. Nothing without that variable.
inline void record(const std::string& source, const std::string& quantity, const std::string& unit,
                   double expected, double computed, Allowed allowed, const std::string& why_outside) {
  const char* path = std::getenv("HALFLIGHT_VALIDATION");
  if (path == nullptr) return;
  const testing::TestInfo& test = *testing::UnitTest::GetInstance()->current_test_info();
  static bool has_begun = false;
  std::FILE* file = std::fopen(path, has_begun ? "a" : "w");
  if (file == nullptr) {
    ADD_FAILURE() << "cannot write to " << path;
    return;
  }
  has_begun = true;
  fmt::print(file, "{}.{}\t{}\t{}\t{}\t{:.17g}\t{:.17g}\t{:.17g}{}\t{}\n", test.test_suite_name(),
             test.name(), source, quantity, unit, expected, computed,
             allowed.value * (allowed.relative ? 100.0 : 1.0), allowed.relative ? "%" : "", why_outside);
  std::fclose(file);
}

inline testing::AssertionResult check(const std::string& source, const std::string& quantity,
                                      const std::string& unit, double expected, double computed,
                                      Allowed allowed) {
  record(source, quantity, unit, expected, computed, allowed, "");
  const double limit = allowed.value * (allowed.relative ? std::abs(expected) : 1.0);
  if (std::abs(computed - expected) <= limit) return testing::AssertionSuccess();
  return testing::AssertionFailure() << fmt::format("{} is {} {}, but {} {} by {}; {} either way is allowed",
                                                    quantity, computed, unit, expected, unit, source, limit);
}

/// On which side of what is allowed a value lies.
enum class Side { below, above };

inline testing::AssertionResult check_outside(const std::string& source, const std::string& quantity,
                                              const std::string& unit, double expected, double computed,
                                              Allowed allowed, Side side, const std::string& why) {
  record(source, quantity, unit, expected, computed, allowed, why);
  const double limit = allowed.value * (allowed.relative ? std::abs(expected) : 1.0);
  const double beyond = side == Side::above ? computed - expected : expected - computed;
  if (beyond > limit) return testing::AssertionSuccess();
  return testing::AssertionFailure() << fmt::format(
             "{} is {} {} and no longer {} {} {} by {} by more than {}: the reason given does not stand, and "
             "within it the check is one with EXPECT_PUBLISHED",
             quantity, computed, unit, side == Side::above ? "above" : "below", expected, unit, source,
             limit);
}

}  // namespace halflight::published

/// Expects a computed value to be a published one, or that of a closed form. `source` says where the expected
/// value is from, as honestly as the comment it stands for ("from memory" where nobody looked it up);
/// `quantity` is what a reader of the page sees and tells the rows of a loop apart; `unit` is "" for ratios.
/// Stands in the body of a test, where the script finds it.
#define EXPECT_PUBLISHED(source, quantity, unit, expected, computed, allowed) \
  EXPECT_TRUE(::halflight::published::check(source, quantity, unit, expected, computed, allowed))

/// Reports a published value that the program is further off than the published spread, with the side that it
/// lies on and the reason in words, for the page. Fails once the value is no longer out there, so that no
/// reason outlives its deviation. What must hold in spite of it stands beside this, as checks of its own.
#define EXPECT_OUTSIDE_PUBLISHED(source, quantity, unit, expected, computed, allowed, side, why) \
  EXPECT_TRUE(                                                                                   \
      ::halflight::published::check_outside(source, quantity, unit, expected, computed, allowed, side, why))
