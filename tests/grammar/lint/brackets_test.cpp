// `and` beside `or` without brackets, outside of rules: in definitions and the scopes of mutes
// (R0606; the conditions of rules are in lint_test.cpp).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/grammar/lower/rule_text.hpp"

namespace meniscus::grammar::testing {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

const std::string kSaid = "R0606 `and` is taken together before the `or` beside it";

/// A rule that lacks nothing and reads the definition `large`.
const std::string kRule =
    "rule r \"t\" concerns all orders\n"
    "    raise note when volume > large say \"{volume}\" blames volume\n"
    "    cite \"c\" owner \"o\" reviewed 2026-01-01 review by 2027-01-01\n"
    "example \"e\" order volume = 1 mL expect nothing from r\n";
const std::string kLarge = "define large = 3 mL\n";

std::vector<std::string> linted(const std::vector<RuleSource>& sources) {
  CompileOptions options = options_with({});
  options.lint = true;
  options.rules_day = 20782;  // 2026-11-25
  return lines_of(compile(sources, options));
}

std::string large_when(const std::string& condition) {
  return "define large = (if " + condition + " then 1 mL otherwise 2 mL)\n" + kRule;
}

TEST(Brackets, AreAskedForInADefinition) {
  const std::string mixed = "volume > 3 mL and dose > 1 mg or dose > 5 mg";
  EXPECT_THAT(linted({{"test.rule", large_when(mixed)}}), ElementsAre("1:20 " + kSaid));
  const std::string clear = "(volume > 3 mL and dose > 1 mg) or dose > 5 mg";
  EXPECT_THAT(linted({{"test.rule", large_when(clear)}}), IsEmpty());
}

TEST(Brackets, AreAskedForInTheScopeOfAMute) {
  const RuleSource rule{"test.rule", kLarge + kRule};
  const auto mute = [](const std::string& scope) {
    return RuleSource{"site.rule",
                      "mute r where " + scope + " because \"why\" by \"lead\" until 2026-12-31\n"};
  };
  EXPECT_THAT(linted({rule, mute("volume > 3 mL and dose > 1 mg or dose > 5 mg")}),
              ElementsAre("1:14 " + kSaid));
  EXPECT_THAT(linted({rule, mute("(volume > 3 mL and dose > 1 mg) or dose > 5 mg")}), IsEmpty());
}

}  // namespace
}  // namespace meniscus::grammar::testing
