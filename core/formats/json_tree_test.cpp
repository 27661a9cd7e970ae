#include "formats/json_tree.hpp"

#include "base/random.hpp"

#include <fstream>
#include <iterator>
#include <string>

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace halflight::formats {
namespace {

std::string one_room() {
  std::ifstream in(HALFLIGHT_SOURCE_DIR "/tests/documents/one_room.halflight.json", std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::string refusal(const std::string& text) {
  const Result<JsonNode> node = parse_json(text, "f");
  return node ? "" : to_text(node.error().front());
}

TEST(JsonTree, KnowsWhereEachValueStands) {
  const std::string text = R"({"a": [1, 2.50, "x"], "b~/": {"c": null}})";
  const Result<JsonNode> root = parse_json(text, "f");
  ASSERT_TRUE(root);
  const auto bytes = [&](const char* pointer) {
    const JsonNode* node = at_pointer(*root, pointer);
    return node == nullptr ? std::string("(none)") : text.substr(node->begin, node->end - node->begin);
  };
  EXPECT_EQ(bytes(""), text);
  EXPECT_EQ(bytes("/a/1"), "2.50");
  EXPECT_EQ(bytes("/a/2"), "\"x\"");
  EXPECT_EQ(bytes("/b~0~1/c"), "null");
  EXPECT_EQ(bytes("/a/3"), "(none)");
  EXPECT_EQ(bytes("/a/x"), "(none)");
  EXPECT_EQ(bytes("no pointer"), "(none)");
  EXPECT_EQ(at_pointer(*root, "/a/1")->text, "2.50") << "the number as typed";
}

TEST(JsonTree, ReadsEscapesAsTheStandardSays) {
  // RFC 8259 section 7 gives the G clef, U+1D11E, as the pair \uD834\uDD1E.
  const Result<JsonNode> node = parse_json(R"("\uD834\uDD1E \u00e9 \n\t\"\\\/")", "f");
  ASSERT_TRUE(node);
  EXPECT_EQ(node->text, "\xF0\x9D\x84\x9E \xC3\xA9 \n\t\"\\/");
  EXPECT_NE(refusal(R"("\uD834")"), "");
  EXPECT_NE(refusal(R"("\uDD1E\uD834")"), "");
  EXPECT_NE(refusal(R"("\x41")"), "");
}

TEST(JsonTree, SkipsAByteOrderMarkAndReadsWindowsLineEnds) {
  const Result<JsonNode> node = parse_json("\xEF\xBB\xBF{\r\n\"a\": 1\r\n}\r\n", "f");
  ASSERT_TRUE(node);
  EXPECT_EQ(node->find("a")->number, 1.0);
}

TEST(JsonTree, CountsColumnsInCharacters) {
  EXPECT_EQ(refusal("{\"\xC3\xA9\": x}"), "error: f line 1, column 7: 'x' stands where a value is expected");
}

TEST(JsonTree, BoundsDepthCountAndSize) {
  const std::string deep = std::string(100'000, '[');
  EXPECT_NE(refusal(deep).find("levels of brackets"), std::string::npos);
  std::string many = "[0";
  for (std::size_t i = 0; i < kMaxJsonValues; ++i) many += ",0";
  EXPECT_NE(refusal(many + "]").find("values"), std::string::npos);
  EXPECT_NE(refusal(std::string(kMaxJsonBytes + 1, ' ')).find("bytes"), std::string::npos);
  EXPECT_EQ(refusal("{\"" + std::string(kMaxJsonKey, 'k') + "\": 1}"), "");
  EXPECT_EQ(refusal("{\"" + std::string(kMaxJsonKey + 1, 'k') + "\": 1}"),
            "error: f line 1, column 2: a key of 201 bytes; give it at most 200");
}

TEST(JsonTree, ListsTwentyKeysThatAreGivenTwice) {
  std::string many = "{\"a\":1";
  for (int i = 0; i < 200'000; ++i) many += ",\n\"a\":1";
  EXPECT_EQ(parse_json(many + "}", "f").error().size(), 20u);
}

TEST(JsonTree, TinyNumbersAreZeroAndHugeOnesRefused) {
  EXPECT_EQ(parse_json("1e-999", "f")->number, 0.0);
  EXPECT_EQ(parse_json("1E-999", "f")->number, 0.0);
  EXPECT_NE(refusal("1e999"), "");
  EXPECT_NE(refusal("-1e999"), "");
}

TEST(JsonTree, LaysOutShortListsOnOneLineAndKeepsNumberTokens) {
  const Result<JsonNode> node = parse_json(
      R"({"floor":[[0,0],[4.00,0],[4,5]],"w":[{"id":"a","x":1e2}],"e":{},"n":{"a":{"b":1}}})", "f");
  ASSERT_TRUE(node);
  EXPECT_EQ(format_json(*node), R"({
  "floor": [[0, 0], [4.00, 0], [4, 5]],
  "w": [
    {"id": "a", "x": 1e2}
  ],
  "e": {},
  "n": {
    "a": {"b": 1}
  }
})");
  EXPECT_EQ(format_json(*parse_json(format_json(*node), "f")), format_json(*node));
}

TEST(JsonTree, AgreesWithAnotherParserOnDamagedTexts) {
  // The other parser has no bounds and takes keys given twice; anything else must be judged alike.
  const std::string good = one_room();
  ASSERT_FALSE(good.empty());
  static constexpr std::string_view kSigns = "{}[]\",:0123456789.eE+-\\untrfals \n\t\x01\xC3\xA9\xFF";
  int accepted = 0;
  for (std::uint32_t i = 0; i < 1000; ++i) {
    std::string text = good;
    const auto words = random_words({1, hash_name("json")}, {0, 0, 0, i});
    for (std::uint32_t k = 0; k <= words[3] % 3; ++k) {
      const auto w = random_words({2 + k, hash_name("json")}, {0, 0, 0, i});
      const std::size_t at = w[0] % text.size();
      const char sign = kSigns[w[1] % kSigns.size()];
      if (w[2] % 3 == 0) text[at] = sign;
      if (w[2] % 3 == 1) text.insert(text.begin() + static_cast<std::ptrdiff_t>(at), sign);
      if (w[2] % 3 == 2) text.erase(at, 1 + w[3] % 4);
    }
    const bool theirs = nlohmann::json::accept(text);
    const std::string why = refusal(text);
    if (why.empty()) {
      ++accepted;
      EXPECT_TRUE(theirs) << text;
    } else if (theirs) {
      EXPECT_NE(why.find("is given twice"), std::string::npos) << why << "\n" << text;
    }
  }
  EXPECT_GT(accepted, 50) << "too few survive for the comparison to mean anything";
}

}  // namespace
}  // namespace halflight::formats
