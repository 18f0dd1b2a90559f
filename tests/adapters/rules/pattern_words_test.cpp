// Patterns in words, for readers who have never seen one.
#include "adapters/rules/pattern_words.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace meniscus::adapters {
namespace {

struct Pattern {
  const char* pattern;
  const char* words;
};
const Pattern kPatterns[] = {
    {"[0-9]{5}", "a digit, 5 times"},
    {"[0-9]{6,}", "a digit, 6 or more times"},
    {"[0-9]{1,3}", "a digit, 1 to 3 times"},
    {"[<>@&]", "(`<` or `>` or `@` or `&`)"},
    {"(^|[^0-9])[.][0-9]", "(the beginning or anything but a digit), then `.`, then a digit"},
    {"[0-9] *I?U", "a digit, then blanks or none, then perhaps `I`, then `U`"},
    {"(mg|mcg)", "(`mg` or `mcg`)"},
    {"(mg|units?)", "(`mg` or (`unit`, then perhaps `s`))"},
    {"(?i)days?", "`day`, then perhaps `s`, in small or capital letters"},
    {"[A-Za-z]+", "a letter, once or more"},
    {"a.*b", "`a`, then any character, any number of times or not at all, then `b`"},
    {R"(\d\.)", "a digit, then `.`"},
    // What it does not know it does not guess.
    {R"(\pL)", ""},
    {"(?P<name>a)", ""},
    {"[a", ""},
    {"(a", ""},
    {"*", ""}};

class PatternWords : public ::testing::TestWithParam<Pattern> {};
TEST_P(PatternWords, SayWhatIsLookedFor) {
  EXPECT_EQ(pattern_words(GetParam().pattern), GetParam().words);
}
INSTANTIATE_TEST_SUITE_P(Of, PatternWords, ::testing::ValuesIn(kPatterns));

TEST(PatternWords, EveryPatternOfTheShippedRulesHasThem) {
  namespace fs = std::filesystem;
  std::size_t count = 0;
  for (const auto& entry : fs::recursive_directory_iterator(MENISCUS_SOURCE_DIR "/rules")) {
    if (entry.path().extension() != ".rule") continue;
    std::ifstream file(entry.path());
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    constexpr std::string_view kMatches = "matches \"";
    for (std::size_t at = text.find(kMatches); at != std::string::npos;
         at = text.find(kMatches, at)) {
      at += kMatches.size();
      const std::string pattern = text.substr(at, text.find('"', at) - at);
      EXPECT_NE(pattern_words(pattern), "") << pattern;
      ++count;
    }
  }
  EXPECT_GT(count, 20U);
}

}  // namespace
}  // namespace meniscus::adapters
