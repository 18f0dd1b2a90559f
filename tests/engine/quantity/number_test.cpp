// Numbers from text: decimal styles, doubtful groups, limits.
//
// Checked against: the C++ library's own std::from_chars for digit strings; the ISMP list of
// error-prone notation (2006 printing) for trailing zeros and missing leading zeros; the styles
// themselves are our own contract (docs/units.md).
#include <gtest/gtest.h>

#include <charconv>
#include <ostream>
#include <random>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

using namespace std::string_literals;

struct Case {
  std::string_view name;
  std::string text;
  DecimalMark mark = DecimalMark::Point;
  double value = 0;
  std::string_view error = "";  // empty: the value; else the code's name
};
std::ostream& operator<<(std::ostream& os, const Case& c) { return os << c.text; }

std::string_view code_name(Errc code) {
  if (code == Errc::NotANumber) return "NotANumber";
  if (code == Errc::Ambiguous) return "Ambiguous";
  return code == Errc::OutOfRange ? "OutOfRange" : "other";
}

constexpr DecimalMark kPoint = DecimalMark::Point;
constexpr DecimalMark kComma = DecimalMark::Comma;

const Case kCases[] = {
    {"Whole", "50", kPoint, 50},
    {"Zero", "0", kPoint, 0},
    {"Decimal", "0.25", kPoint, 0.25},
    {"DeclaredComma", "0,25", kComma, 0.25},
    {"CommaUnderPoint", "0,25", kPoint, 0, "Ambiguous"},
    {"PointUnderComma", "0.25", kComma, 0, "Ambiguous"},
    {"PaddedThousandsPoint", "1.000", kPoint, 0, "Ambiguous"},
    {"PaddedThousandsPointUnderComma", "1.000", kComma, 0, "Ambiguous"},
    {"ThousandsComma", "1,000", kPoint, 0, "Ambiguous"},
    {"ThousandsCommaUnderComma", "1,000", kComma, 0, "Ambiguous"},
    {"TwoHundredPadded", "250.000", kPoint, 0, "Ambiguous"},
    {"PaddedFraction", "2.500", kPoint, 0, "Ambiguous"},
    {"NoGroupBelowOne", "0.500", kPoint, 0.5},
    {"NoGroupOfFour", "1.0000", kPoint, 1},
    {"NoGroupBeforeFour", "1234.500", kPoint, 1234.5},
    {"ThreePlacesNotPadded", "1.125", kPoint, 1.125},
    {"TrailingZero", "5.0", kPoint, 5},
    {"TwoGroups", "1,000,000", kPoint, 1000000},
    {"TwoGroupsUnderComma", "1.000.000", kComma, 1000000},
    {"TwoGroupsOtherStyle", "1.000.000", kPoint, 0, "Ambiguous"},
    {"GroupAndDecimal", "1,000.5", kPoint, 1000.5},
    {"GroupAndDecimalUnderComma", "1.000,5", kComma, 1000.5},
    {"GroupAndDecimalOtherStyle", "1.000,5", kPoint, 0, "Ambiguous"},
    {"BrokenGroups", "1,00,000", kPoint, 0, "Ambiguous"},
    {"TwoMarks", "1.2.3", kPoint, 0, "NotANumber"},
    {"NoLeadingZero", ".5", kPoint, 0.5},
    {"TrailingMark", "5.", kPoint, 0, "NotANumber"},
    {"OnlyMark", ".", kPoint, 0, "NotANumber"},
    {"OnlyMarks", ".,", kPoint, 0, "NotANumber"},
    {"Empty", "", kPoint, 0, "NotANumber"},
    {"Blank", "  ", kPoint, 0, "NotANumber"},
    {"OuterBlanks", " 5 ", kPoint, 5},
    {"InnerBlank", "10 000", kPoint, 0, "Ambiguous"},
    {"Negative", "-5", kPoint, -5},
    {"NegativeZero", "-0", kPoint, 0},
    {"Plus", "+5", kPoint, 0, "NotANumber"},
    {"UnicodeMinus", "\u22125", kPoint, 0, "NotANumber"},
    {"Exponent", "1e5", kPoint, 0, "NotANumber"},
    {"NegativeExponent", "1e-5", kPoint, 0, "NotANumber"},
    {"TooLarge", "1e309", kPoint, 0, "OutOfRange"},
    {"NaN", "NaN", kPoint, 0, "NotANumber"},
    {"Infinity", "inf", kPoint, 0, "NotANumber"},
    {"Hex", "0x10", kPoint, 0, "NotANumber"},
    {"Letter", "1O0", kPoint, 0, "NotANumber"},
    {"NulByte", "5\0"s, kPoint, 0, "NotANumber"},
    {"NulInside", "5\0005"s, kPoint, 0, "NotANumber"},
    {"FullWidth", "\uFF15", kPoint, 0, "NotANumber"},
    {"ArabicDigit", "\u0665", kPoint, 0, "NotANumber"},
    {"InvalidUtf8", "\xff\xfe", kPoint, 0, "NotANumber"},
    {"FractionNotAsked", "1/2", kPoint, 0, "NotANumber"},
    {"ManyDigits", "0.1234567890123456789012345", kPoint, 0.1234567890123456789012345},
    {"ManyZeros", "0.00000000000000000000000001", kPoint, 1e-26},
    {"SeventeenDigits", "12345678901234567", kPoint, 12345678901234567.0},
};

class NumberFromText : public ::testing::TestWithParam<Case> {};
TEST_P(NumberFromText, GivesTheValueOrSaysWhyNot) {
  const Case& c = GetParam();
  const Result<double> number = parse_number(c.text, c.mark);
  ASSERT_EQ(bool(number), c.error.empty()) << (number ? "" : number.error().message);
  if (number)
    EXPECT_EQ(*number, c.value);
  else
    EXPECT_EQ(code_name(number.error().code), c.error) << number.error().message;
}
INSTANTIATE_TEST_SUITE_P(Text, NumberFromText, ::testing::ValuesIn(kCases),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(NumberText, HugeNumbersAreOutOfRange) {
  const std::string huge(400, '9');
  EXPECT_EQ(parse_number(huge, kPoint).error().code, Errc::OutOfRange);
  const std::string tiny = "0." + std::string(400, '0') + "1";
  EXPECT_EQ(parse_number(tiny, kPoint).error().code, Errc::OutOfRange);
  EXPECT_EQ(*parse_number(std::string(300, '0') + "7", kPoint), 7);
}

TEST(NumberText, FractionsWhereAsked) {
  const auto read = [](std::string_view text) { return parse_number(text, kPoint, true); };
  EXPECT_EQ(*read("1/2"), 0.5);
  EXPECT_EQ(*read("5/8"), 0.625);
  EXPECT_EQ(*read("1 1/2"), 1.5);
  EXPECT_EQ(*read("-1 1/4"), -1.25);
  EXPECT_EQ(*read("5/32"), 0.15625);
  EXPECT_EQ(*read("\u00BD"), 0.5);
  EXPECT_EQ(*read("1\u00BD"), 1.5);
  EXPECT_EQ(*read("2 \u215D"), 2.625);
  for (const std::string_view none : {"1/0", "0/2", "3/2", "1/", "/2", "1/2/3", "1/1000", "1 1"})
    EXPECT_FALSE(read(none)) << none;
}

// Digit strings of every length and scale give the double that the C++ library reads.
TEST(NumberText, AgreesWithTheStandardLibrary) {
  std::mt19937_64 random(20260302);  // NOLINT(cert-msc51-cpp): the same run every time
  for (int i = 0; i < 20000; ++i) {
    std::string text;
    const auto digits = 1 + random() % 24;
    for (std::size_t d = 0; d < digits; ++d)
      text += static_cast<char>('0' + random() % 10);
    if (random() % 4 != 0) {
      text.insert(random() % text.size(), 1, '.');
      if (text.front() == '.') text.insert(0, 1, '0');
    }
    double expected = 0;
    std::from_chars(text.data(), text.data() + text.size(), expected);
    const Result<double> number = parse_number(text, kPoint);
    if (!number) {
      EXPECT_EQ(number.error().code, Errc::Ambiguous) << text;  // `1.000`
      continue;
    }
    EXPECT_EQ(*number, expected) << text;
  }
}

}  // namespace
}  // namespace meniscus::engine
