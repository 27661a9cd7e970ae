#include "case_file.hpp"

#include <charconv>
#include <cmath>
#include <sstream>
#include <stdexcept>

namespace halflight::tests {

namespace {

std::vector<std::string> words_of(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> words;
  for (std::string word; in >> word;) words.push_back(word);
  return words;
}

/// As a shell splits words, with quotes and nothing else.
std::vector<std::string> command_words(const std::string& text) {
  std::vector<std::string> words;
  std::string word;
  bool in_word = false;
  char quote = 0;
  for (const char c : text) {
    if (quote != 0) {
      if (c == quote) {
        quote = 0;
      } else {
        word += c;
      }
    } else if (c == '\'' || c == '"') {
      quote = c;
      in_word = true;
    } else if (c == ' ') {
      if (in_word) words.push_back(std::exchange(word, {}));
      in_word = false;
    } else {
      word += c;
      in_word = true;
    }
  }
  if (quote != 0) throw std::runtime_error("a quote is not closed");
  if (in_word) words.push_back(word);
  return words;
}

/// A number, perhaps with a comma, colon or full stop of the sentence behind it.
std::optional<double> number_of(const std::string& word) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), value);
  const std::string rest(end, word.data() + word.size());
  if (error != std::errc() || !(rest.empty() || rest == "," || rest == ";" || rest == "%"))
    return std::nullopt;
  return value;
}

bool words_match(const std::vector<std::string>& expected, std::size_t e,
                 const std::vector<std::string>& actual, std::size_t a) {
  if (e == expected.size()) return a == actual.size();
  if (expected[e] == "...") {
    for (std::size_t skip = a; skip <= actual.size(); ++skip) {
      if (words_match(expected, e + 1, actual, skip)) return true;
    }
    return false;
  }
  if (a == actual.size()) return false;
  if (e + 1 < expected.size() && expected[e + 1].starts_with("+-")) {
    const auto wanted = number_of(expected[e]);
    const auto tolerance = number_of(expected[e + 1].substr(2));
    if (!wanted || !tolerance)
      throw std::runtime_error("'" + expected[e] + " " + expected[e + 1] + "' is no number");
    const auto got = number_of(actual[a]);
    return got && std::abs(*got - *wanted) <= *tolerance && words_match(expected, e + 2, actual, a + 1);
  }
  return (expected[e] == "*" || expected[e] == actual[a]) && words_match(expected, e + 1, actual, a + 1);
}

}  // namespace

bool line_matches(const std::string& expected, const std::string& actual) {
  return words_match(words_of(expected), 0, words_of(actual), 0);
}

std::optional<ExpectedLine> first_missing(const std::vector<ExpectedLine>& expected,
                                          ExpectedLine::Stream stream, const std::string& text) {
  std::istringstream in(text);
  for (const ExpectedLine& line : expected) {
    if (line.stream != stream) continue;
    bool found = false;
    for (std::string actual; !found && std::getline(in, actual);) found = line_matches(line.text, actual);
    if (!found) return line;
  }
  return std::nullopt;
}

CaseFile parse_case(const std::string& text) {
  CaseFile result;
  std::istringstream in(text);
  std::string line;
  const auto rest_after = [&](std::string_view start) { return line.substr(start.size()); };
  for (int number = 1; std::getline(in, line); ++number) {
    try {
      if (line.empty() || line.starts_with('#')) continue;
      if (line.starts_with("given ")) {
        const std::string name = rest_after("given ");
        if (in.peek() == '|') {
          result.written.emplace_back(name, "");
        } else {
          result.copied.push_back(name);
        }
        continue;
      }
      if (line.starts_with('|')) {
        if (result.written.empty()) throw std::runtime_error("contents without a file");
        result.written.back().second += (line.size() > 2 ? line.substr(2) : "") + "\n";
        continue;
      }
      if (line.starts_with("$ halflight")) {
        result.steps.push_back(
            {.command = command_words(rest_after("$ halflight")), .expected = {}, .line = number});
        continue;
      }
      if (result.steps.empty()) throw std::runtime_error("not understood, or it stands before a command");
      Step& step = result.steps.back();
      if (line.starts_with("> ")) {
        step.expected.push_back({ExpectedLine::Stream::output, rest_after("> "), number});
      } else if (line.starts_with("! ")) {
        step.expected.push_back({ExpectedLine::Stream::error, rest_after("! "), number});
      } else if (line == "no ! ...") {
        step.silent_on_error_stream = true;
      } else if (line.starts_with("exit ")) {
        step.exit_code = std::stoi(rest_after("exit "));
      } else {
        throw std::runtime_error("not understood");
      }
    } catch (const std::exception& error) {
      throw std::runtime_error("line " + std::to_string(number) + ": " + error.what() + ": " + line);
    }
  }
  if (result.steps.empty()) throw std::runtime_error("no command");
  return result;
}

}  // namespace halflight::tests
