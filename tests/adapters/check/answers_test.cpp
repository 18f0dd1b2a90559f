// Questions that somebody has answered: when an answer holds, and all that opens a question again.
// Every case runs over columns and one by one.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <optional>
#include <set>

#include "engine/answers/question.hpp"
#include "engine/eval/facts.hpp"
#include "tests/support/rules_under_test.hpp"

namespace meniscus {
namespace {

using engine::Answer;
using engine::Answers;
using engine::QuestionScope;
using testing::Fields;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using testing::LocalFile;
using testing::RulesUnderTest;

constexpr std::int64_t kDay = 20514;  // 2026-03-02

/// What is asserted of one verdict.
struct Seen {
  std::string outcome;
  std::vector<std::string> open;      // "rule: say"
  std::vector<std::string> answered;  // "rule: answer"
  std::string earlier;                // why an earlier answer does not hold
  std::size_t slips = 0;
  std::vector<Answer> questions;  // of each clarify, ready to be answered
  friend bool operator==(const Seen&, const Seen&) = default;
};

Seen seen(const engine::Verdict& verdict, engine::Scalar& scalar, QuestionScope scope) {
  Seen out;
  out.outcome = name(verdict.outcome);
  out.slips = verdict.slips.size();
  for (const engine::Answered& item : verdict.answered)
    out.answered.push_back(std::string(item.rule) + ": " + item.answer->text);
  engine::QuestionReader reader(scalar.program());
  for (const engine::Finding& finding : verdict.findings) {
    out.open.push_back(std::string(finding.rule) + ": " + finding.say);
    if (!finding.earlier.why.empty()) out.earlier = finding.earlier.why;
    const auto& rules = scalar.program().rules;
    for (std::uint32_t number = 0; number < rules.size(); ++number) {
      if (rules[number].name != finding.rule || finding.grade != engine::Grade::Clarify) continue;
      const engine::Question& question =
          reader.read(scalar, {number, finding.clause - 1, finding.without - 1, 0}, scope);
      Answer& answer = out.questions.emplace_back();
      if (scope == QuestionScope::Order) answer.order = verdict.order;
      answer.patient = verdict.patient;
      answer.rule = finding.rule;
      answer.conditions = question.conditions;
      answer.values = question.values;
      answer.text = "meant so";
      answer.by = "pharmacist";
      answer.on = kDay;
      answer.until = kDay + 30;
    }
  }
  return out;
}

/// Judges the orders as one input; the last one's verdict, the same in both modes.
class Desk {
 public:
  explicit Desk(const std::string& rules, std::map<std::string, std::string> files = {},
                const LocalFile& local = {})
      : rules_(rules, std::move(files), local) {}

  QuestionScope scope = QuestionScope::Order;

  Seen judge(const std::vector<Fields>& orders, const Answers* answers = nullptr) const {
    const Seen columns = run(orders, answers, engine::Mode::Columns);
    EXPECT_EQ(columns, run(orders, answers, engine::Mode::OneByOne));
    return columns;
  }
  Seen judge(const Fields& order, const Answers* answers = nullptr) const {
    return judge(std::vector<Fields>{order}, answers);
  }
  Answers answer(const std::vector<Fields>& orders) const {
    Answers answers;
    for (Answer& each : judge(orders).questions)
      answers.add(std::move(each));
    return answers;
  }
  Answers answer(const Fields& order) const { return answer(std::vector<Fields>{order}); }

 private:
  Seen run(const std::vector<Fields>& orders, const Answers* answers, engine::Mode mode) const {
    const engine::Program& program = rules_.program();
    engine::CheckOptions options;
    options.today = kDay;
    options.mode = mode;
    options.answers = answers;
    engine::Checker checker(rules_.shared(), options);
    engine::History history(program.look_back, program.history_fields, program.history_written);
    engine::Scalar scalar(program);
    const engine::Feed feed;
    const engine::ReadContext context{&program, &feed};
    Seen last;
    for (const Fields& order : orders) {
      engine::OrderBlock block;
      block.add_lane();
      for (const auto& [name, text] : order) {
        const auto field = *engine::field_named(name);
        if (text == "none") {
          block.set(0, field, engine::Value::none(), "", {0, 0});
        } else {
          engine::set_field(context, block, 0, field, block.keep(text), {0, 1});
        }
      }
      engine::complete(context, block, 0);
      checker.check(block, history, [&](const engine::Verdict& verdict) {
        engine::OrderFacts facts = engine::facts_of(block, 0, {std::nullopt, kDay});
        const engine::Value patient = block.value(0, engine::FieldId::PatientId);
        if (patient.known()) facts.records = &history.of(patient.aux);
        scalar.begin(facts);
        last = seen(verdict, scalar, scope);
      });
    }
    return last;
  }

  RulesUnderTest rules_;
};

std::string rule(const std::string& name, const std::string& body) {
  return "rule " + name + " \"t\"\n    concerns all orders\n" + body;
}

const std::string kVolume =
    rule("big",
         "    raise hold when volume > 5 mL or dose > 900 mg say \"stop\" blames volume\n"
         "    raise clarify when volume > 1 mL say \"{volume} is big\" ask \"Really?\" blames "
         "volume\n"
         "    without dose ignore\n");

Fields order(const std::string& volume) {
  return {{"order.id", "A-1"},
          {"patient.id", "SM-0012"},
          {"substance.code", "a"},
          {"dose", "50 mg"},
          {"volume", volume}};
}

Fields with(Fields fields, const std::string& name, const std::string& text) {
  const auto at = std::find_if(fields.begin(), fields.end(),
                               [&](const auto& field) { return field.first == name; });
  if (at != fields.end()) {
    at->second = text;
  } else {
    fields.emplace_back(name, text);
  }
  return fields;
}

Fields without(Fields fields, const std::string& name) {
  std::erase_if(fields, [&](const auto& field) { return field.first == name; });
  return fields;
}

TEST(Answered, AQuestionDoesNotCountWhileItsAnswerHolds) {
  const Desk desk(kVolume);
  EXPECT_EQ(desk.judge(order("2 mL")).outcome, "clarify");
  const Answers answers = desk.answer(order("2 mL"));
  ASSERT_EQ(answers.all().size(), 1U);
  const Seen seen = desk.judge(order("2 mL"), &answers);
  EXPECT_EQ(seen.outcome, "clear");
  EXPECT_THAT(seen.open, IsEmpty());
  EXPECT_EQ(seen.answered, std::vector<std::string>{"big: meant so"});
  EXPECT_EQ(seen.slips, 0U);
}

TEST(Answered, TheSameValueInOtherWordsIsTheSame) {
  const Desk desk(kVolume);
  const Answers answers = desk.answer(order("2 mL"));
  EXPECT_EQ(desk.judge(order("2000 uL"), &answers).outcome, "clear");
  EXPECT_EQ(desk.judge(order("2.0 mL"), &answers).outcome, "clear");
  EXPECT_EQ(desk.judge(order("2.0000000001 mL"), &answers).outcome, "clarify");
}

TEST(Answered, AChangedValueOpensTheQuestionAndIsNamed) {
  const Desk desk(kVolume);
  const Answers answers = desk.answer(order("2 mL"));
  const Seen seen = desk.judge(order("2.5 mL"), &answers);
  EXPECT_EQ(seen.outcome, "clarify");
  EXPECT_EQ(seen.earlier,
            "answered before on 2026-03-02, but volume has changed from 2 mL to 2.5 mL");
  EXPECT_THAT(desk.judge(order("0.5 mL"), &answers).answered, IsEmpty());  // nothing is asked
}

TEST(Answered, AHoldNeverIs) {
  const Desk desk(kVolume);
  const Answers answers = desk.answer(order("2 mL"));
  const Seen seen = desk.judge(order("6 mL"), &answers);
  EXPECT_EQ(seen.outcome, "hold");
  EXPECT_THAT(seen.answered, IsEmpty());
  EXPECT_EQ(seen.earlier,
            "answered before on 2026-03-02, but this is a hold, which no answer settles");
}

TEST(Answered, NotWhereTheGraverClauseOfTheRuleHoldsForAnotherReason) {
  const Desk desk(kVolume);
  const Answers answers = desk.answer(order("2 mL"));
  EXPECT_EQ(desk.judge(with(order("2 mL"), "dose", "950 mg"), &answers).outcome, "hold");
  // What the clause does not read does not open its question.
  EXPECT_EQ(desk.judge(with(order("2 mL"), "dose", "60 mg"), &answers).outcome, "clear");
}

TEST(Answered, NotWhereTheGraverClauseCannotBeDecided) {
  const Desk desk(rule("big",
                       "    raise hold when dose > 900 mg say \"stop\" blames dose\n"
                       "    raise clarify when volume > 1 mL say \"big\" blames volume\n"));
  const Answers answers = desk.answer(order("2 mL"));
  EXPECT_EQ(desk.judge(order("2 mL"), &answers).outcome, "clear");
  const Seen seen = desk.judge(without(order("2 mL"), "dose"), &answers);
  EXPECT_EQ(seen.outcome, "clarify");
  EXPECT_THAT(seen.earlier, HasSubstr("a graver part of the rule could not be checked"));
}

TEST(Answered, OtherFindingsCountAsBefore) {
  const Desk desk(kVolume +
                  rule("note", "    raise note when dose > 1 mg say \"n\" blames dose\n") +
                  rule("open",
                       "    raise hold when patient.weight > 300 kg say \"w\" blames "
                       "patient.weight\n"));
  const Answers answers = desk.answer(order("2 mL"));
  const Seen seen = desk.judge(order("2 mL"), &answers);
  EXPECT_EQ(seen.outcome, "incomplete");  // the weight is missing
  EXPECT_EQ(seen.open, std::vector<std::string>{"note: n"});
  EXPECT_EQ(desk.judge(with(order("2 mL"), "patient.weight", "70 kg"), &answers).outcome, "note");
}

TEST(Answered, FromTheDayOfTheAnswerToItsLastDay) {
  Desk desk(kVolume);
  Answers answers = desk.answer(order("2 mL"));
  const auto outcome_on = [&](std::int64_t day) {
    return Desk(kVolume, {}, LocalFile{"", day, false}).judge(order("2 mL"), &answers);
  };
  EXPECT_EQ(outcome_on(kDay - 1).outcome, "clarify");
  EXPECT_EQ(outcome_on(kDay - 1).earlier, "");
  EXPECT_EQ(outcome_on(kDay).outcome, "clear");
  EXPECT_EQ(outcome_on(kDay + 30).outcome, "clear");
  EXPECT_EQ(outcome_on(kDay + 31).outcome, "clarify");
  EXPECT_EQ(outcome_on(kDay + 31).earlier,
            "answered before on 2026-03-02, but that answer ended on 2026-04-01");
}

TEST(Answered, ForItsOrderAndPatientOnly) {
  const Desk desk(kVolume);
  const Answers answers = desk.answer(order("2 mL"));
  const Seen other = desk.judge(with(order("2 mL"), "order.id", "A-2"), &answers);
  EXPECT_EQ(other.outcome, "clarify");
  EXPECT_EQ(other.earlier, "");
  const Seen patient = desk.judge(with(order("2 mL"), "patient.id", "SM-0013"), &answers);
  EXPECT_EQ(patient.outcome, "clarify");
  EXPECT_THAT(patient.earlier, HasSubstr("the order is another patient's now"));
}

TEST(AnsweredForAPatient, EveryOrderOfTheSameMedicineWithTheSameValues) {
  Desk desk(kVolume);
  desk.scope = QuestionScope::Patient;
  const Answers answers = desk.answer(order("2 mL"));
  ASSERT_EQ(answers.all().size(), 1U);
  const Fields next = with(order("2 mL"), "order.id", "A-2");
  EXPECT_EQ(desk.judge(next, &answers).outcome, "clear");
  EXPECT_EQ(desk.judge(with(next, "volume", "3 mL"), &answers).outcome, "clarify");
  EXPECT_EQ(desk.judge(with(next, "patient.id", "SM-0013"), &answers).outcome, "clarify");
  const Seen medicine = desk.judge(with(next, "substance.code", "b"), &answers);
  EXPECT_EQ(medicine.outcome, "clarify");
  EXPECT_EQ(medicine.earlier, "");  // it was about something else
}

TEST(AnsweredForAPatient, TheDayIsNoValueUnlessTheRuleNamesIt) {
  const std::string rules =
      rule("old",
           "    raise clarify when days since vial.opened > 28 days say \"old\" blames "
           "vial.opened\n");
  Fields first = with(order("2 mL"), "vial.opened", "2026-01-01");
  first = with(first, "order.placed", "2026-03-02");
  Fields later = with(with(first, "order.placed", "2026-03-03"), "order.id", "A-2");
  Desk desk(rules);
  desk.scope = QuestionScope::Patient;
  const Answers answers = desk.answer(first);
  EXPECT_EQ(desk.judge(later, &answers).outcome, "clear");
  const Desk by_order(rules);
  const Answers own = by_order.answer(first);
  EXPECT_EQ(by_order.judge(first, &own).outcome, "clear");
  EXPECT_THAT(by_order.judge(with(first, "order.placed", "2026-03-03"), &own).earlier,
              HasSubstr("order.placed has changed from 2026-03-02 to 2026-03-03"));
}

TEST(Answered, SettingsTablesAndWhatWasGivenBeforeAreValuesToo) {
  const std::string rules = R"(setting limit = 1 mL between 0.5 mL and 3 mL "t"
table limits from "limits.csv"
rule by-setting "t"
    concerns all orders
    raise clarify when volume > limit say "big" blames volume
rule by-table "t"
    concerns all orders
    let most = look up most in limits where row.code is substance.code
    raise clarify when dose > most say "much" blames dose
rule by-history "t"
    concerns all orders
    let before = latest earlier order where earlier.substance.code is substance.code
    raise clarify when dose > before.dose * 2 say "more" blames dose
)";
  const auto desk = [&](const std::string& most, const std::string& change = "") {
    return Desk(rules, {{"limits.csv", "code, most [mass]\na, " + most + "\n"}},
                LocalFile{change, kDay, false});
  };
  const auto orders = [](const std::string& before) {
    Fields first = with(with(order("2 mL"), "order.id", "A-0"), "dose", before);
    first = with(first, "order.placed", "2026-02-20");
    return std::vector<Fields>{first, with(order("2 mL"), "order.placed", "2026-03-02")};
  };
  const Answers answers = desk("10 mg").answer(orders("20 mg"));
  ASSERT_EQ(answers.all().size(), 3U);
  EXPECT_EQ(desk("10 mg").judge(orders("20 mg"), &answers).outcome, "clear");
  EXPECT_THAT(desk("12 mg").judge(orders("20 mg"), &answers).earlier,
              HasSubstr("most has changed from 10 mg to 12 mg"));
  EXPECT_THAT(desk("10 mg").judge(orders("15 mg"), &answers).earlier,
              HasSubstr("before.dose has changed from 20 mg to 15 mg"));
  const std::string change =
      "adjust limit = 1.5 mL because \"p\" by \"lead nurse\" until 2026-12-31\n";
  EXPECT_THAT(desk("10 mg", change).judge(orders("20 mg"), &answers).earlier,
              HasSubstr("limit has changed from 1 mL to 1.5 mL"));
}

TEST(Answered, ARuleThatAsksSomethingElseIsOpenAndOneThatIsOnlyWordedAnewIsNot) {
  const Answers answers = Desk(kVolume).answer(order("2 mL"));
  std::string other = kVolume;
  other.replace(other.find("volume > 1 mL"), 13, "volume > 1.2 mL");
  EXPECT_THAT(Desk(other).judge(order("2 mL"), &answers).earlier,
              HasSubstr("the rule asks something else now"));
  std::string worded =
      rule("first", "    raise note when dose > 1 g say \"x\" blames dose\n") + kVolume;
  worded.replace(worded.find("is big"), 6, "is much");
  EXPECT_EQ(Desk(worded).judge(order("2 mL"), &answers).outcome, "clear");
}

TEST(Answered, AQuestionOfAWithout) {
  const Desk desk(rule("weight",
                       "    raise hold when patient.weight < 1 kg say \"w\" blames "
                       "patient.weight\n"
                       "    without patient.weight raise clarify say \"no weight\"\n"));
  const Answers answers = desk.answer(order("2 mL"));
  ASSERT_EQ(answers.all().size(), 1U);
  EXPECT_EQ(desk.judge(order("2 mL"), &answers).outcome, "clear");
  EXPECT_EQ(desk.judge(with(order("2 mL"), "patient.weight", "0.5 kg"), &answers).outcome, "hold");
}

TEST(Answered, TheNewestAnswerThatHoldsIsShown) {
  const Desk desk(kVolume);
  Answers answers = desk.answer(order("2 mL"));
  Answer second = answers.all().front();
  second.text = "still so";
  answers.add(second);
  Answer ended = second;
  ended.until = kDay - 1;
  ended.on = kDay - 10;
  ended.text = "over";
  answers.add(ended);
  EXPECT_EQ(desk.judge(order("2 mL"), &answers).answered,
            std::vector<std::string>{"big: still so"});
}

TEST(Answered, IsNoReasonToLookForSlips) {
  const std::string rules =
      rule("agree",
           "    raise clarify when volume differs from dose / strength by more than 5 % "
           "say \"{volume}\" blames volume\n") +
      rule("other",
           "    raise clarify when schedule.every < 2 days say \"often\" blames "
           "schedule.every\n"
           "    without schedule.every ignore\n");
  const Desk desk(rules);
  const Fields asked = with(order("2.5 mL"), "strength", "200 mg/mL");
  EXPECT_GT(desk.judge(asked).slips, 0U);
  const Answers answers = desk.answer(asked);
  EXPECT_EQ(desk.judge(asked, &answers).slips, 0U);
  const Seen both = desk.judge(with(asked, "schedule.every", "1 d"), &answers);
  EXPECT_EQ(both.open, std::vector<std::string>{"other: often"});
  EXPECT_EQ(both.answered, std::vector<std::string>{"agree: meant so"});
}

// ---- any change of a value that a question rests on opens it; no other does

struct Change {
  std::string field, from, to;
};
const std::vector<Change>& changes() {
  static const std::vector<Change> kChanges = {
      {"order.placed", "2026-03-02", "2026-03-01"},
      {"order.indication", "deficiency", "gender"},
      {"order.prescriber", "P-1", "P-2"},
      {"patient.born", "1988-04-02", "1988-04-03"},
      {"patient.weight", "71 kg", "71.5 kg"},
      {"patient.weighed", "2026-02-20", "2026-02-21"},
      {"patient.height", "170 cm", "171 cm"},
      {"patient.allergies", "sesame-oil; latex", "latex"},
      {"substance.code", "a", "b"},
      {"substance.form", "solution", "suspension"},
      {"strength", "200 mg/mL", "201 mg/mL"},
      {"vial.volume", "10 mL", "10.5 mL"},
      {"vial.opened", "2026-02-20", "2026-02-19"},
      {"vial.expires", "2027-01", "2027-02"},
      {"components", "dose=5 mg volume=1 mL", "dose=5 mg volume=1.1 mL"},
      {"dose", "50 mg", "50.001 mg"},
      {"volume", "2 mL", "2.01 mL"},
      {"injections", "1", "2"},
      {"route", "subcutaneous", "intramuscular"},
      {"site", "abdomen", "thigh"},
      {"side", "left", "right"},
      {"syringe.capacity", "3 mL", "5 mL"},
      {"syringe.graduation", "0.1 mL", "0.2 mL"},
      {"needle.gauge", "25 G", "27 G"},
      {"needle.length", "5/8 in", "1 in"},
      {"self-injected", "yes", "no"},
      {"schedule.every", "1 wk", "2 wk"},
      {"schedule.times", "1", "2"},
      {"schedule.start", "2026-03-03", "2026-03-04"},
      {"supply.vials", "1", "2"},
      {"order.directions", "as told", "as said"},
  };
  return kChanges;
}

struct RestsOn {
  std::string clause;            // what stands after `raise clarify when`, or a whole rule
  std::set<std::string> fields;  // by hand, from what the clause says; the medicine apart
};
std::ostream& operator<<(std::ostream& os, const RestsOn& r) { return os << r.clause; }

const RestsOn kRestsOn[] = {
    {"volume > 1 mL say \"big\" blames volume", {"volume"}},
    {"dose / strength < volume say \"x\" blames volume", {"dose", "strength", "volume"}},
    {"volume > 1 mL say \"{syringe.capacity}\" ask \"{supply.vials}?\" blames site",
     {"volume", "syringe.capacity", "supply.vials"}},
    {"needle.gauge thinner than 20 G and needle.length < 2 in say \"x\" blames site",
     {"needle.gauge", "needle.length"}},
    {"patient.age > 18 years say \"x\" blames patient.born",
     {"patient.born", "order.placed", "schedule.start"}},
    {"self-injected is yes or supply.vials > 5 say \"x\" blames site",
     {"self-injected", "supply.vials"}},
    {"days from vial.opened to vial.expires > 28 days say \"x\" blames site",
     {"vial.opened", "vial.expires"}},
    {"order.directions contains \"told\" say \"x\" blames site", {"order.directions"}},
    {"patient.height is given say \"x\" blames site", {"patient.height"}},
    {"planned-day is after 2026-01-01 say \"x\" blames site", {"order.placed", "schedule.start"}},
    {"(total volume of list components) > 0.5 mL say \"x\" blames site", {"components"}},
    {"any of patient.allergies is latex say \"x\" blames site", {"patient.allergies"}},
    {"weekly dose of this order > 1 mg say \"x\" blames site",
     {"dose", "schedule.every", "schedule.times"}},
};

class Opens : public ::testing::TestWithParam<RestsOn> {};

TEST_P(Opens, WhateverItRestsOnAndNothingElse) {
  const Desk desk("table allergens from \"allergens.csv\"\n" +
                      rule("r", "    raise clarify when " + GetParam().clause + "\n"),
                  {{"allergens.csv", "allergen\nlatex\nsesame-oil\n"}});
  Fields all = {{"order.id", "A-1"}, {"patient.id", "SM-0012"}};
  for (const Change& change : changes())
    all.emplace_back(change.field, change.from);
  const Answers answers = desk.answer(all);
  ASSERT_EQ(answers.all().size(), 1U) << desk.judge(all).outcome;
  ASSERT_EQ(desk.judge(all, &answers).answered, std::vector<std::string>{"r: meant so"});
  std::size_t opened = 0;
  for (const Change& change : changes()) {
    const bool rests = GetParam().fields.contains(change.field) || change.field == "substance.code";
    opened += rests ? 1U : 0U;
    for (const Fields& changed : {with(all, change.field, change.to), without(all, change.field)}) {
      const Seen seen = desk.judge(changed, &answers);
      if (rests) {
        EXPECT_THAT(seen.answered, IsEmpty()) << change.field;
        if (!seen.open.empty()) {
          EXPECT_THAT(seen.earlier, HasSubstr(change.field));
        }
      } else {
        EXPECT_EQ(seen.answered, std::vector<std::string>{"r: meant so"})
            << change.field << ": " << seen.earlier;
      }
    }
  }
  EXPECT_EQ(opened, GetParam().fields.size() + 1);
}
INSTANTIATE_TEST_SUITE_P(Questions, Opens, ::testing::ValuesIn(kRestsOn));

}  // namespace
}  // namespace meniscus
