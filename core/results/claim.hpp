#pragma once
#include <optional>
#include <string>
#include <vector>

namespace halflight::results {

/// The test that could refute a claim.
struct RefutingTest {
  std::string measure;     ///< what to measure, where, with what
  double expected = 0.0;   ///< under those conditions, in the claim's unit
  double tolerance = 0.0;  ///< outside expected +- tolerance the claim is refuted
  double duration_days = 0.0;
  std::string shortfall;            ///< the shortfall considered: "10 points of saving", "10 % of the mean"
  double chance_of_noticing = 0.0;  ///< that the test would notice that shortfall, 0..1
  std::string remark;               ///< "two weeks cannot tell" where that is so
};

/// A statement the designer will be held to. It points at its result and never holds a second copy.
struct Claim {
  std::string id;      ///< "saving-against-as-found"
  std::string text;    ///< the statement, with {value}, {low}, {high} where the figures go
  std::string result;  ///< JSON pointer into the study
  std::string unit;    ///< "fraction", "lx", "kWh", ...
  double low = 0.0;
  double high = 0.0;
  std::string method;                    ///< name of the page in docs/methods
  std::vector<std::string> inputs;       ///< JSON pointers into the project
  std::vector<std::string> assumptions;  ///< paths of the assumptions that it rests on
  RefutingTest test;
};

}  // namespace halflight::results
