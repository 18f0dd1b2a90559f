// Verdicts for people: what a reader must be able to see, and what must not get to a terminal.
#include "adapters/report/text_writer.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>
#include <string>

#include "adapters/report/wrap.hpp"
#include "tests/adapters/report/sample_verdict.hpp"

namespace meniscus::adapters {
namespace {
using testing::clear_verdict;
using testing::FixedSource;
using ::testing::HasSubstr;
using testing::hold_verdict;
using ::testing::Not;
using ::testing::StartsWith;

class Text : public ::testing::Test {
 protected:
  std::string report(const std::vector<engine::Verdict>& verdicts,
                     const Emphasis& emphasis = Emphasis::none()) {
    std::string out;
    TextWriter writer(
        [&](std::string_view bytes) -> engine::Status {
          out += bytes;
          return engine::Done{};
        },
        emphasis);
    writer.begin({1, "sha256:00ff"});
    writer.begin_input("day.ndjson");
    for (const engine::Verdict& verdict : verdicts)
      writer.write(verdict, block_, source_);
    writer.never_assessed(never_);
    EXPECT_TRUE(writer.finish());
    return out;
  }

  engine::OrderBlock block_;
  FixedSource source_;
  std::vector<engine::NotAssessed> never_;
};

TEST_F(Text, HoldShowsWhatWhyWhereAndTheQuestion) {
  EXPECT_THAT(report({hold_verdict()}), StartsWith(R"([====] hold        A-102  patient SM-0012
    1  [====] hold     50 mg at 200 mg/mL is 0.25 mL; the order says 0.5 mL.
             ask   Which of the dose, the strength and the volume is meant?
             rule  dose-volume-agreement
             cite  common practice
             day.ndjson:12:30  volume  at /volume
             | "dose":"50 mg","volume":"0.5 mL"
             |                         ^^^^^^^^
       [==? ] needle.gauge missing: 3 rules not assessed (needle-thin, needle-force, draw)

1 order: 1 hold
)"));
}

TEST_F(Text, SlipIsAQuestionBehindTheFindings) {
  engine::Verdict verdict = hold_verdict();
  engine::Slip& slip = verdict.add_slip();
  slip.field = engine::FieldId::Volume;
  slip.from = "0.5 mL";
  slip.to = "0.25 mL";
  slip.why = "it is what the rest of the order comes to";
  slip.clears = {"dose-volume-agreement"};
  EXPECT_THAT(report({verdict}), HasSubstr(R"(
       slip? Is volume meant to be 0.25 mL, not 0.5 mL? It is what the rest of the order comes to.
             That would settle dose-volume-agreement.
       [==? ] needle.gauge missing)"));
}

TEST_F(Text, SlipShowsNoControlCharacters) {
  engine::Verdict verdict = hold_verdict();
  engine::Slip& slip = verdict.add_slip();
  slip.field = engine::FieldId::Volume;
  slip.from = "0.5\x1b[31mmL";
  slip.to = "0.25 mL";
  slip.why = "why";
  EXPECT_THAT(report({verdict}), Not(HasSubstr("\x1b")));
}

TEST_F(Text, ClearOrdersAreOneLineEach) {
  EXPECT_THAT(report({clear_verdict(), clear_verdict()}),
              StartsWith("[    ] clear       A-102  patient SM-0012\n"
                         "[    ] clear       A-102  patient SM-0012\n\n2 orders: 2 clear\n"));
}

TEST_F(Text, ClearOrderStillSaysWhatWasNotAssessed) {
  engine::Verdict verdict = clear_verdict();
  verdict.not_assessed = {{"site", {"site-rest"}, false}};
  EXPECT_THAT(report({verdict}), HasSubstr("(not assessed for want of site)"));
}

TEST_F(Text, EveryOutcomeHasItsOwnMark) {
  using engine::Outcome;
  std::set<std::string_view> marks;
  for (const Outcome outcome :
       {Outcome::Clear, Outcome::Note, Outcome::Caution, Outcome::Incomplete, Outcome::Clarify,
        Outcome::Hold, Outcome::Outside, Outcome::Recorded}) {
    EXPECT_EQ(mark(outcome).size(), 6U);
    marks.insert(mark(outcome));
  }
  EXPECT_EQ(marks.size(), 8U);
}

TEST_F(Text, GroupNamesItsPlaceOnce) {
  engine::Verdict verdict = hold_verdict();
  engine::Finding& second = verdict.add_finding();
  second = verdict.findings[0];
  second.rule = "syringe-marks";
  second.grade = engine::Grade::Clarify;
  const std::string out = report({verdict});
  EXPECT_THAT(out, HasSubstr("syringe-marks"));
  const std::size_t first = out.find("day.ndjson:12:30");
  ASSERT_NE(first, std::string::npos);
  EXPECT_EQ(out.find("day.ndjson:12:30", first + 1), std::string::npos);
}

TEST_F(Text, ControlCharactersDoNotReachTheTerminal) {
  engine::Verdict verdict = hold_verdict();
  verdict.order = "A-\x1b[2J102";
  verdict.findings[0].say = "the site is \x1b]0;x\x07";
  EXPECT_THAT(report({verdict}), Not(HasSubstr("\x1b")));
}

TEST_F(Text, TerminalGetsBoldAndFaintAndNoColour) {
  const std::string out = report({hold_verdict()}, Emphasis::terminal());
  EXPECT_THAT(out, HasSubstr("\x1b[1m[====] hold"));
  // SGR 30 to 37 and 90 to 97 would be colours (ECMA-48, 8.3.117).
  EXPECT_THAT(out, Not(::testing::ContainsRegex("\x1b\\[[349][0-9]m")));
}

TEST_F(Text, FeedsGapsAndTheCautionStandOnceAtTheEnd) {
  never_ = {{"draw-needle.gauge", {"draw", "filter"}, false}};
  const std::string out = report({clear_verdict()});
  EXPECT_THAT(out, HasSubstr("  draw-needle.gauge: 2 rules (draw, filter)\n"));
  EXPECT_THAT(out, HasSubstr("not an approval."));
  EXPECT_THAT(out, HasSubstr("History: only what stands earlier in the same input."));
}

TEST_F(Text, RecordThatIsNoOrderIsNamedByItsPlace) {
  engine::Verdict verdict = hold_verdict();
  verdict.order = "";
  verdict.patient = "";
  verdict.findings[0].fields.clear();
  const std::string out = report({verdict});
  EXPECT_THAT(out, StartsWith("[====] hold        no order number, day.ndjson:7:1\n"));
  EXPECT_THAT(out, HasSubstr("| not an order\n             | ^^^^^^^^^^^^\n"));
}

TEST(Wrap, BreaksBetweenWordsAndCountsCharacters) {
  std::string out;
  const std::string micro = "\xC2\xB5";
  std::string text;
  for (int i = 0; i < 60; ++i)
    text += micro + micro + micro + " ";
  append_wrapped(out, text, 10, 4);
  std::size_t begin = 0;
  for (std::size_t end = out.find('\n'); end != std::string::npos; end = out.find('\n', begin)) {
    EXPECT_LE(characters(out.substr(begin, end - begin)), kReportWidth);
    begin = end + 1;
  }
  EXPECT_EQ(characters(micro), 1U);
}

}  // namespace
}  // namespace meniscus::adapters
