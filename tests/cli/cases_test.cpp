// Runs every tests/cases/*.case against the program, each under several languages and time zones of the
// machine: what the program prints must not depend on them.
#include "case_file.hpp"

#include <algorithm>
#include <chrono>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <thread>

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

namespace halflight::tests {
namespace {

namespace fs = std::filesystem;

constexpr auto kTimeLimit = std::chrono::seconds(240);

struct Outcome {
  int exit_code = -1;
  std::string output;
  std::string error;
  bool operator==(const Outcome&) const = default;
};

std::string contents(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

Outcome run(std::vector<std::string> words, const fs::path& folder, std::vector<std::string> environment) {
  words.insert(words.begin(), HALFLIGHT_PROGRAM);
  const pid_t child = ::fork();
  if (child == 0) {
    const auto pointers = [](std::vector<std::string>& texts) {
      std::vector<char*> list;
      for (std::string& text : texts) list.push_back(text.data());
      list.push_back(nullptr);
      return list;
    };
    const auto redirect = [](const fs::path& path, int flags, int descriptor) {
      ::dup2(::open(path.c_str(), flags, 0600), descriptor);
    };
    redirect("/dev/null", O_RDONLY, STDIN_FILENO);
    redirect(folder / ".output", O_WRONLY | O_CREAT | O_TRUNC, STDOUT_FILENO);
    redirect(folder / ".error", O_WRONLY | O_CREAT | O_TRUNC, STDERR_FILENO);
    if (::chdir(folder.c_str()) != 0) ::_exit(125);
    ::execve(words.front().c_str(), pointers(words).data(), pointers(environment).data());
    ::_exit(126);
  }
  Outcome outcome;
  int status = 0;
  const auto deadline = std::chrono::steady_clock::now() + kTimeLimit;
  while (::waitpid(child, &status, WNOHANG) == 0) {
    if (std::chrono::steady_clock::now() > deadline) {
      ADD_FAILURE() << "still running after " << kTimeLimit.count() << " s";
      ::kill(child, SIGKILL);
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
  outcome.exit_code = WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
  outcome.output = contents(folder / ".output");
  outcome.error = contents(folder / ".error");
  return outcome;
}

/// A folder that goes with it.
class FreshFolder {
 public:
  FreshFolder() {
    std::string pattern = (fs::temp_directory_path() / "halflight-case-XXXXXX").string();
    if (::mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no temporary folder");
    path_ = pattern;
  }
  FreshFolder(const FreshFolder&) = delete;
  FreshFolder& operator=(const FreshFolder&) = delete;
  ~FreshFolder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  [[nodiscard]] const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

/// Runs the steps of one case in a fresh folder. `home`: of the person at the machine, with the usual cache.
std::vector<Outcome> play(const CaseFile& the_case, const std::vector<std::string>& surroundings,
                          const fs::path& home) {
  const FreshFolder fresh;
  const fs::path& folder = fresh.path();
  for (const std::string& path : the_case.copied) {
    fs::copy_file(fs::path(HALFLIGHT_SOURCE_DIR) / path, folder / fs::path(path).filename());
  }
  for (const auto& [name, text] : the_case.written) std::ofstream(folder / name, std::ios::binary) << text;
  std::vector<std::string> environment = surroundings;
  environment.push_back("HOME=" + home.string());
  std::vector<Outcome> outcomes;
  for (const Step& step : the_case.steps) outcomes.push_back(run(step.command, folder, environment));
  return outcomes;
}

class Case : public ::testing::TestWithParam<fs::path> {};

TEST_P(Case, HoldsWhateverTheMachine) {
  const CaseFile the_case = parse_case(contents(GetParam()));
  // Elsewhere the machine goes by another language and clock and has studied this before: what is read and
  // printed is at stake. Studies computed anew in another language are compared in determinism.sh.
  const FreshFolder home;
  const std::vector<Outcome> outcomes = play(the_case, {}, home.path());
  for (std::size_t i = 0; i < outcomes.size(); ++i) {
    const Step& step = the_case.steps[i];
    const Outcome& outcome = outcomes[i];
    const std::string all =
        "\n--- standard output:\n" + outcome.output + "--- standard error:\n" + outcome.error;
    EXPECT_EQ(outcome.exit_code, step.exit_code) << "of the command in line " << step.line << all;
    for (const auto& [stream, text] : {std::pair(ExpectedLine::Stream::output, outcome.output),
                                       std::pair(ExpectedLine::Stream::error, outcome.error)}) {
      if (const auto missing = first_missing(step.expected, stream, text)) {
        ADD_FAILURE_AT(GetParam().c_str(), missing->line) << "not found: " << missing->text << all;
      }
    }
    if (step.silent_on_error_stream) {
      EXPECT_EQ(outcome.error, "");
    }
  }
  for (const std::vector<std::string>& elsewhere :
       {std::vector<std::string>{"LC_ALL=de_DE.UTF-8", "LANG=de_DE.UTF-8", "TZ=Asia/Kolkata"},
        std::vector<std::string>{"LC_ALL=tr_TR.UTF-8", "TZ=Pacific/Chatham"}}) {
    EXPECT_EQ(play(the_case, elsewhere, home.path()) == outcomes, true)
        << "differs under " << elsewhere.front();
  }
}

std::vector<fs::path> all_cases() {
  std::vector<fs::path> paths;
  for (const auto& entry : fs::directory_iterator(fs::path(HALFLIGHT_SOURCE_DIR) / "tests" / "cases")) {
    if (entry.path().extension() == ".case") paths.push_back(entry.path());
  }
  std::sort(paths.begin(), paths.end());
  return paths;
}

INSTANTIATE_TEST_SUITE_P(Cases, Case, ::testing::ValuesIn(all_cases()),
                         [](const auto& tested) { return tested.param.stem().string(); });

// The judge is judged first.

TEST(CaseLines, MatchWordByWord) {
  EXPECT_TRUE(line_matches("a b", "  a    b "));
  EXPECT_FALSE(line_matches("a b", "a b c"));
  EXPECT_FALSE(line_matches("a b c", "a b"));
  EXPECT_TRUE(line_matches("a * c", "a b c"));
  EXPECT_FALSE(line_matches("a * c", "a c"));
  EXPECT_TRUE(line_matches("a ... z", "a z"));
  EXPECT_TRUE(line_matches("... c ... z ...", "a b c d z"));
  EXPECT_FALSE(line_matches("a ... z", "a b"));
}

TEST(CaseLines, CompareNumbersWithinTheirTolerance) {
  EXPECT_TRUE(line_matches("x 1.5 +-0.1 lm", "x 1.55 lm"));
  EXPECT_FALSE(line_matches("x 1.5 +-0.1 lm", "x 1.61 lm"));
  EXPECT_FALSE(line_matches("x 1.5 +-0.1 lm", "x nothing lm"));
  EXPECT_FALSE(line_matches("x 1.5 lm", "x 1.50 lm"));
  EXPECT_TRUE(line_matches("\"x\": 1.5 +-0.1", "\"x\": 1.45,"));
  EXPECT_THROW(line_matches("x y +-0.1", "x 1"), std::runtime_error);
}

TEST(CaseLines, KeepTheirOrder) {
  const std::vector<ExpectedLine> expected = {{ExpectedLine::Stream::output, "a", 1},
                                              {ExpectedLine::Stream::output, "b", 2}};
  EXPECT_FALSE(first_missing(expected, ExpectedLine::Stream::output, "a\nx\nb\n"));
  const auto missing = first_missing(expected, ExpectedLine::Stream::output, "b\na\n");
  ASSERT_TRUE(missing);
  EXPECT_EQ(missing->line, 2);
}

TEST(CaseText, IsParsed) {
  const CaseFile parsed = parse_case(
      "# story\ngiven a/b.json\ngiven lamp.ies\n| x\n|\n$ halflight study 'a b' \"c\"\n> out\n! err\nexit "
      "2\n");
  EXPECT_EQ(parsed.copied, std::vector<std::string>{"a/b.json"});
  ASSERT_EQ(parsed.written.size(), 1u);
  EXPECT_EQ(parsed.written[0].second, "x\n\n");
  ASSERT_EQ(parsed.steps.size(), 1u);
  EXPECT_EQ(parsed.steps[0].command, (std::vector<std::string>{"study", "a b", "c"}));
  EXPECT_EQ(parsed.steps[0].expected.size(), 2u);
  EXPECT_EQ(parsed.steps[0].exit_code, 2);
  EXPECT_THROW(parse_case("> out\n"), std::runtime_error);
  EXPECT_THROW(parse_case("$ halflight sun\nexpects 2\n"), std::runtime_error);
  EXPECT_THROW(parse_case("# nothing\n"), std::runtime_error);
}

}  // namespace
}  // namespace halflight::tests
