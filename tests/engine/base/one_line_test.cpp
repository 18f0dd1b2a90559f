// Text of rule files for people.
#include "engine/base/one_line.hpp"

#include <gtest/gtest.h>

namespace meniscus::engine {
namespace {

TEST(WithoutComments, KeepsWhatStandsInQuotes) {
  EXPECT_EQ(without_comments("a # b \"c\nd"), "a \nd");
  EXPECT_EQ(without_comments("say \"# \\\" # is no comment\" # this is"),
            "say \"# \\\" # is no comment\" ");
  EXPECT_EQ(without_comments("\"ends in \\\\\" # this is"), "\"ends in \\\\\" ");
}

TEST(OnOneLine, HasSingleBlanksAndNoComments) {
  EXPECT_EQ(on_one_line("a >\n    b  # because\r\n    and c\n"), "a > b and c");
  EXPECT_EQ(on_one_line("# only this"), "");
}

}  // namespace
}  // namespace meniscus::engine
