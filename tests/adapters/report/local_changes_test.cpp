// Local changes in reports: each is there once with reason, role and last day, muted findings are
// seen and count for nothing, and what a trial rule found is not shown to people.
#include "adapters/report/local_changes.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/report/jsonl_writer.hpp"
#include "adapters/report/text_writer.hpp"
#include "tests/adapters/report/sample_verdict.hpp"

namespace meniscus::adapters {
namespace {

using engine::ChangeKind;
using engine::LocalChange;
using ::testing::HasSubstr;
using ::testing::Not;

LocalChange change(ChangeKind kind, const std::string& target, bool over = false) {
  LocalChange made;
  made.kind = kind;
  made.target = target;
  made.what = std::string(engine::name(kind)) + " " + target;
  made.because = "Local protocol 14";
  made.by = "clinical lead";
  made.until = 20818;  // 2026-12-31
  made.over = over;
  return made;
}

class Reports : public ::testing::Test {
 protected:
  Reports() {
    verdict_ = testing::clear_verdict();
    engine::Hidden& muted = verdict_.add_muted();
    muted.rule = "site-rest";
    muted.grade = engine::Grade::Caution;
    muted.say = "The left abdomen was used 3 days ago.";
    muted.change = changes_.data();
    engine::Hidden& trial = verdict_.add_trial();
    trial.rule = "idea";
    trial.grade = engine::Grade::Hold;
    trial.say = "Something new.";
    trial.change = &changes_[2];
  }

  template <class Writer>
  std::string report(Writer& writer) {
    writer.begin({1, "sha256:00ff", changes_});
    writer.begin_input("day.ndjson");
    writer.write(verdict_, block_, source_);
    writer.write(testing::clear_verdict(), block_, source_);
    EXPECT_TRUE(writer.finish());
    return out_;
  }
  WriteBytes into_out() {
    return [this](std::string_view bytes) -> engine::Status {
      out_ += bytes;
      return engine::Done{};
    };
  }
  std::string text() {
    TextWriter writer(into_out(), Emphasis::none());
    return report(writer);
  }
  std::string json_lines() {
    JsonLinesWriter writer(into_out(), "sha256:00ff");
    return report(writer);
  }

  std::vector<LocalChange> changes_ = {change(ChangeKind::Mute, "site-rest"),
                                       change(ChangeKind::Retire, "interval", true),
                                       change(ChangeKind::Trial, "idea")};
  engine::Verdict verdict_;
  engine::OrderBlock block_;
  testing::FixedSource source_;
  std::string out_;
};

TEST_F(Reports, TextShowsWhatIsMutedAndWhyAndTheOutcomeIsClear) {
  const std::string shown = text();
  EXPECT_THAT(shown, HasSubstr("[    ] clear       A-102  patient SM-0012\n"
                               "       muted  caution of site-rest: The left abdomen was used 3 "
                               "days ago. Muted: Local protocol 14\n"
                               "             (clinical lead, until 2026-12-31).\n"));
  EXPECT_THAT(shown, HasSubstr("2 orders: 2 clear\n"));
}

TEST_F(Reports, TextListsEachChangeOnceAtItsEnd) {
  const std::string shown = text();
  EXPECT_THAT(shown, HasSubstr("Local changes to the rules:\n"
                               "  mute site-rest: Local protocol 14 (clinical lead, until "
                               "2026-12-31)\n"
                               "Local changes that have ended and change nothing any more:\n"
                               "  retire interval: Local protocol 14 (clinical lead, ended "
                               "2026-12-31)\n"));
  EXPECT_EQ(shown.find("Local changes to the rules"), shown.rfind("Local changes to the rules"));
}

TEST_F(Reports, TextCountsTrialsAndDoesNotShowWhatTheyFound) {
  const std::string shown = text();
  EXPECT_THAT(shown, HasSubstr("idea spoke on 1 of 2 orders: Local protocol 14 (clinical lead, "
                               "until 2026-12-31)\n"));
  EXPECT_THAT(shown, Not(HasSubstr("Something new")));
}

TEST_F(Reports, JsonLinesHaveMutedTrialAndChanges) {
  const std::string shown = json_lines();
  EXPECT_THAT(shown, HasSubstr(R"("muted":[{"rule":"site-rest","grade":"caution",)"
                               R"("say":"The left abdomen was used 3 days ago.",)"
                               R"("reason":"Local protocol 14","by":"clinical lead",)"
                               R"("until":"2026-12-31"}],"trial":[{"rule":"idea","grade":"hold",)"
                               R"("say":"Something new."}],"changes":[{"kind":"mute",)"));
  EXPECT_THAT(shown, HasSubstr(R"("muted":[],"changes":[{"kind":"mute",)"));  // the second order
}

TEST_F(Reports, NothingIsSaidWhereNothingIsChanged) {
  changes_.clear();
  verdict_ = testing::clear_verdict();
  EXPECT_THAT(text(), Not(HasSubstr("changes")));
  out_.clear();
  EXPECT_THAT(json_lines(), Not(HasSubstr("changes")));
}

TEST(Sentence, SaysWhatElseIsToBeKnown) {
  LocalChange made = change(ChangeKind::Extend, "substances");
  made.until.reset();
  made.note = "beware";
  EXPECT_EQ(change_sentence(made),
            "extend table substances: Local protocol 14 (clinical lead); beware");
}

}  // namespace
}  // namespace meniscus::adapters
