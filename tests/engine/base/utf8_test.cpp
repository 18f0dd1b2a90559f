// UTF-8: what is valid.  Source: RFC 3629, section 4 (syntax) and section 10 (overlong forms).
#include "engine/base/utf8.hpp"

#include <gtest/gtest.h>

#include <ostream>
#include <string>
#include <string_view>

namespace meniscus::engine {
namespace {

constexpr std::size_t kNone = std::string_view::npos;

struct Case {
  std::string_view name, text;
  std::size_t invalid;
};
std::ostream& operator<<(std::ostream& os, const Case& c) { return os << c.name; }

const Case kCases[] = {
    {"Empty", "", kNone},
    {"Ascii", "dose", kNone},
    {"TwoBytes", "caf\xC3\xA9", kNone},
    {"ThreeBytes", "\xE2\x89\xA5", kNone},
    {"FourBytes", "\xF0\x9F\x92\x89", kNone},
    {"LastCodePoint", "\xF4\x8F\xBF\xBF", kNone},
    {"LoneTail", "ab\x80", 2},
    {"CutShort", "ab\xE2\x89", 2},
    {"OverlongSlash", "\xC0\xAF", 0},
    {"OverlongThree", "\xE0\x80\xAF", 0},
    {"OverlongFour", "\xF0\x80\x80\xAF", 0},
    {"Surrogate", "\xED\xA0\x80", 0},
    {"AboveTheLast", "\xF4\x90\x80\x80", 0},
    {"Latin1", "caf\xE9 x", 3},
};

class Utf8 : public ::testing::TestWithParam<Case> {};
TEST_P(Utf8, FindsTheFirstBadByte) {
  EXPECT_EQ(first_invalid_utf8(GetParam().text), GetParam().invalid);
}
INSTANTIATE_TEST_SUITE_P(Text, Utf8, ::testing::ValuesIn(kCases),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(Utf8Places, FindsABadByteWhereverItStands) {
  for (const Case& one : kCases) {
    for (std::size_t before = 0; before < 20; ++before) {
      const std::string text = std::string(before, 'a').append(one.text).append(20, 'b');
      const std::size_t invalid = one.invalid == kNone ? kNone : one.invalid + before;
      EXPECT_EQ(first_invalid_utf8(text), invalid) << one.name << before;
    }
  }
}

TEST(Utf8Count, CountsCodePoints) {
  EXPECT_EQ(count_characters(""), 0U);
  EXPECT_EQ(count_characters("caf\xC3\xA9"), 4U);
  EXPECT_EQ(count_characters("\xF0\x9F\x92\x89x"), 2U);
  // Each character at each place among more bytes than are looked at together.
  for (const std::string_view character : {"x", "\xC3\xA9", "\xE2\x82\xAC", "\xF0\x9F\x92\x89"}) {
    for (std::size_t before = 0; before < 70; ++before) {
      const std::string text = std::string(before, 'a').append(character).append(70, 'b');
      EXPECT_EQ(count_characters(text), before + 71) << before;
    }
  }
}

}  // namespace
}  // namespace meniscus::engine
