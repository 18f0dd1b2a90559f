// The look of a diagnostic.
#include "engine/base/diagnostic.hpp"

#include <gtest/gtest.h>

#include <memory>
#include <string>

namespace meniscus::engine {
namespace {

Diagnostic make(std::string text, Span span) {
  Diagnostic d;
  d.code = "R0220";
  d.source = std::make_shared<const SourceText>("rules/total.rule", std::move(text));
  d.span = span;
  d.message = "cannot compare volume with mass";
  return d;
}

TEST(Render, ShowsTheLineWithACaret) {
  Diagnostic d = make("rule r\n  raise hold when volume > 5 mg\n", {32, 33});
  d.help = "write `5 mL`";
  EXPECT_EQ(render(d),
            "rules/total.rule:2:26: error[R0220]: cannot compare volume with mass\n"
            "  |\n"
            "2 |   raise hold when volume > 5 mg\n"
            "  |                          ^\n"
            "  = help: write `5 mL`\n");
}

TEST(Render, PutsLabelsUnderTheirMarks) {
  Diagnostic d = make("rule r\n  raise hold when volume > 5 mg\n", {32, 33});
  d.labels = {{{25, 31}, "volume"}, {{34, 38}, "mass"}};
  EXPECT_EQ(render(d),
            "rules/total.rule:2:26: error[R0220]: cannot compare volume with mass\n"
            "  |\n"
            "2 |   raise hold when volume > 5 mg\n"
            "  |                   ------ ^ ---- mass\n"
            "  |                   volume\n");
}

TEST(Render, ShowsTheLineOfALabelElsewhere) {
  Diagnostic d = make("a (b\nc\nd\ne\n", {9, 10});
  d.labels = {{{2, 3}, "opened here"}};
  EXPECT_EQ(render(d),
            "rules/total.rule:4:1: error[R0220]: cannot compare volume with mass\n"
            "  |\n"
            "1 | a (b\n"
            "  |   - opened here\n"
            "  :\n"
            "4 | e\n"
            "  | ^\n");
}

// `é` takes one column and two bytes, the syringe (U+1F489) two columns and four bytes.
TEST(Render, AlignsAfterWideCharacters) {
  const std::string text = "say \"\xC3\xA9 \xF0\x9F\x92\x89\" x";
  const auto at = static_cast<std::uint32_t>(text.size() - 1);
  EXPECT_EQ(render(make(text, {at, at + 1})),
            "rules/total.rule:1:11: error[R0220]: cannot compare volume with mass\n"
            "  |\n"
            "1 | " +
                text +
                "\n"
                "  |            ^\n");
}

TEST(Render, TheEndOfTheTextIsAPlaceToo) {
  EXPECT_EQ(render(make("ab", {2, 2})),
            "rules/total.rule:1:3: error[R0220]: cannot compare volume with mass\n"
            "  |\n"
            "1 | ab\n"
            "  |   ^\n");
}

TEST(Render, ASpanOverSeveralLinesIsMarkedOnTheFirst) {
  EXPECT_EQ(render(make("abc\ndef\n", {1, 6})),
            "rules/total.rule:1:2: error[R0220]: cannot compare volume with mass\n"
            "  |\n"
            "1 | abc\n"
            "  |  ^^\n");
}

TEST(Render, ControlCharactersAreShownAsBlanks) {
  const std::string shown = render(make("a\tb\x1B[31mc\n", {2, 3}));
  EXPECT_EQ(shown.find('\x1B'), std::string::npos);
  EXPECT_NE(shown.find("1 | a b [31mc\n  |   ^\n"), std::string::npos) << shown;
}

TEST(Render, ALongLineIsCut) {
  const std::string shown = render(make(std::string(100000, 'a'), {0, 99999}));
  EXPECT_LT(shown.size(), 600U);
}

TEST(Render, SeveritiesAndPlainOnes) {
  Diagnostic d = make("a", {0, 1});
  d.severity = Severity::Warning;
  EXPECT_EQ(render_line(d),
            "rules/total.rule:1:1: warning[R0220]: cannot compare volume with mass");
  d.severity = Severity::Note;
  d.source = nullptr;
  d.code.clear();
  EXPECT_EQ(render(d), "note: cannot compare volume with mass\n");
}

}  // namespace
}  // namespace meniscus::engine
