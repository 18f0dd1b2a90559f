// What a condition becomes: the nodes of its program, written as one expression.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <sstream>

#include "tests/grammar/lower/rule_text.hpp"

namespace meniscus::grammar::testing {
namespace {

const Tables kTables = {
    {"products.csv",
     "code,strength [strength],vehicle,in-use [time],ages [time band],note [text],latex [yes/no]\n"
     "m,25 mg/mL,water,28 days,any,keep cool,no\n"
     "n,50 mg/mL,sesame-oil,7 days,18 years to any,,yes\n"},
    {"sites.csv", "site,parent,synonyms [text]\nabdomen,trunk,belly\ndeltoid,upper-arm,\n"}};

const std::string kHead =
    "table products from \"products.csv\"\ntable sites from \"sites.csv\"\n"
    "setting share = 20 % \"s\"\nsetting limit unset \"u\"\n"
    "define drawn = dose / strength\n";

/// engine::print() with every node written where it is used.
class Expansion {
 public:
  explicit Expansion(const engine::Program& program) {
    std::istringstream in(engine::print(program));
    for (std::string line; std::getline(in, line);) {
      if (!is_node(line.substr(0, line.find(' ')))) continue;
      const std::size_t space = line.find(' ');
      lines_[line.substr(0, space)] = line.substr(space + 1, line.find(" : ") - space - 1);
    }
  }
  [[nodiscard]] std::string of(engine::NodeId id) const { return of("n" + std::to_string(id)); }

 private:
  static bool is_node(const std::string& word) {
    return word.size() > 1 && word[0] == 'n' &&
           std::all_of(word.begin() + 1, word.end(),
                       [](char c) { return std::isdigit(static_cast<unsigned char>(c)) != 0; });
  }
  [[nodiscard]] std::string of(const std::string& name) const {
    std::istringstream in(lines_.at(name));
    std::string result = "(";
    for (std::string word; in >> word;) {
      if (result.size() > 1) result += ' ';
      result += is_node(word) ? of(word) : word;
    }
    return result + ")";
  }
  std::map<std::string, std::string> lines_;
};

std::string lowered(const std::string& condition) {
  const Compiled compiled = compile_text(kHead + rule_when(condition), kTables);
  if (compiled.program == nullptr) return "error: " + lines_of(compiled).front();
  return Expansion(*compiled.program).of(compiled.program->rules[0].clauses[0].when);
}

struct Case {
  std::string name;
  std::string condition;
  std::string nodes;
};
std::ostream& operator<<(std::ostream& out, const Case& c) { return out << c.name; }

const Case kCases[] = {
    {"Order", "volume >= 5 mL", "(greater-equal (field volume) (constant 5 mL))"},
    {"DoseMayBeAMass", "dose > 5 mg", "(greater (field dose) (constant 5 mg))"},
    {"WordsForSigns", "volume at most 5 mL", "(less-equal (field volume) (constant 5 mL))"},
    {"Code", "site is abdomen", "(equal (field site) (constant `abdomen`))"},
    {"SynonymIsItsWord", "site is not belly", "(not-equal (field site) (constant `abdomen`))"},
    {"OpenFieldTakesEveryWord", "order.indication is cancer",
     "(equal (field order.indication) (constant `cancer`))"},
    {"OneOf", "route is one of intramuscular, subcutaneous",
     "(one-of (field route) (constant `intramuscular`) (constant `subcutaneous`))"},
    {"NotOneOf", "route is not one of oral, topical",
     "(not (one-of (field route) (constant `oral`) (constant `topical`)))"},
    {"YesNo", "self-injected is yes", "(equal (field self-injected) (constant `yes`))"},
    {"NotGiven", "not (side is given)", "(not (is-given 1 (field side)))"},
    {"GivenOfNoField", "(2 * volume) is given",
     "(is-given (multiply (constant 2) (field volume)))"},
    {"Missing", "route is missing", "(is-missing (field route))"},
    {"None", "vial.opened is none", "(is-none (field vial.opened))"},
    {"BodyMassLiteral", "patient.weight < 50 kg", "(less (field patient.weight) (constant 50 kg))"},
    {"Percent", "volume < 10 % * syringe.capacity",
     "(less (field volume) (multiply (constant 0.1) (field syringe.capacity)))"},
    {"DiffersByShare", "volume differs from drawn by more than share",
     "(differs-by-share (field volume) (divide (field dose) (field strength)) (setting share))"},
    {"DiffersByAmount", "volume differs from drawn by more than 0.1 mL",
     "(differs-by-amount (field volume) (divide (field dose) (field strength)) (constant 0.1 mL))"},
    {"Between", "dose between 1 mg and 2 mg",
     "(between (field dose) (constant 1 mg) (constant 2 mg))"},
    {"MultipleOf", "dose is not a multiple of 2.5 mg",
     "(not (multiple-of (field dose) (constant 2.5 mg)))"},
    {"Gauge", "needle.gauge thinner than 21 G", "(thinner (field needle.gauge) (constant 21 G))"},
    {"SiteIn", "site is in deltoid", "(site-in (field site) (constant `deltoid`))"},
    {"RegionOf", "region of site is trunk", "(equal (region-of (field site)) (constant `trunk`))"},
    {"KindOf", "kind of dose is by-volume",
     "(equal (kind-of (field dose)) (constant `by-volume`))"},
    {"Before", "vial.expires is before planned-day", "(less (field vial.expires) (planned-day))"},
    {"DaysSince", "days since patient.weighed > 90 days",
     "(greater (days-between (field patient.weighed) (today)) (constant 90 days))"},
    {"After", "(7 days after schedule.start) is after schedule.end",
     "(greater (date-after (constant 7 days) (field schedule.start)) (field schedule.end))"},
    {"AsWritten", "dose as written contains \"IU\"", "(contains (written dose) (constant `IU`))"},
    {"Matches", "strength as written matches \"1:\"", "(matches (written strength))"},
    {"Rounded", "volume rounded up to 0.1 mL > 1 mL",
     "(greater (round-up (field volume) (constant 0.1 mL)) (constant 1 mL))"},
    {"OrElse", "(supply.doses or else 1) > 2",
     "(greater (or-else (field supply.doses) (constant 1)) (constant 2))"},
    {"OneIfNotSaid", "injections > 2",
     "(greater (or-else (field injections) (constant 1)) (constant 2))"},
    {"Choose", "(if vial.kind is powder then diluent otherwise vial.volume) > 1 mL",
     "(greater (choose (equal (field vial.kind) (constant `powder`)) (field diluent) (field "
     "vial.volume)) (constant 1 mL))"},
    {"AnyOfWords", "any of patient.allergies is sesame",
     "(any-item (field patient.allergies) (equal (item) (constant `sesame`)))"},
    {"AnyOfParts", "(any of schedule.steps where each.dose > 2 * previous.dose)",
     "(any-item (field schedule.steps) (greater (each dose) (multiply (constant 2) (previous "
     "dose))))"},
    {"LookUpByKey", "(look up in-use in products where row.code is substance.code) > 3 days",
     "(greater (look-up products.in-use where (equal (row) (field substance.code)) key code) "
     "(constant 3 days))"},
    {"LookUpKeyIsAnyConjunct",
     "(any row of products where row.latex is yes and row.vehicle is substance.vehicle)",
     "(any-row products where (and (equal (row 6) (constant `yes`)) (equal (row 2) (field "
     "substance.vehicle))) key vehicle)"},
    {"Includes", "(look up ages in products where row.code is substance.code) includes patient.age",
     "(includes (look-up products.ages where (equal (row) (field substance.code)) key code) "
     "(field patient.age))"},
    {"EngineValue", "time to inject > 60 s",
     "(greater (engine time to inject) (constant 1 minute))"},
    {"UnsetSettingFitsAnything", "volume > limit", "(greater (field volume) (setting limit))"},
};

class Conditions : public ::testing::TestWithParam<Case> {};

TEST_P(Conditions, BecomeNodes) { EXPECT_EQ(lowered(GetParam().condition), GetParam().nodes); }

INSTANTIATE_TEST_SUITE_P(Lowering, Conditions, ::testing::ValuesIn(kCases),
                         [](const auto& row) { return row.param.name; });

TEST(Lowering, EqualExpressionsAreOneNode) {
  const Compiled compiled =
      compile_text(kHead +
                       "rule r \"t\"\n    concerns all orders\n    let a = dose / strength\n"
                       "    raise hold when volume > 2 * (dose / strength) and volume > 2 * a and "
                       "volume > 2 * drawn\n        say \"x\"\n        blames volume\n",
                   kTables);
  ASSERT_NE(compiled.program, nullptr);
  const auto& nodes = compiled.program->nodes;
  const engine::Node& both = nodes[compiled.program->rules[0].clauses[0].when];
  EXPECT_EQ(nodes[both.x].x, nodes[both.x].y);
  EXPECT_EQ(nodes[both.x].x, both.y);
}

TEST(Lowering, BodyMassLiteralHasTheDimensionOfBodyMass) {
  const Compiled compiled = compile_text(rule_when("patient.weight < 50 kg"));
  ASSERT_NE(compiled.program, nullptr);
  const auto& program = *compiled.program;
  const engine::Node& less = program.nodes[program.rules[0].clauses[0].when];
  EXPECT_EQ(program.nodes[less.y].dimension, engine::dim::kBodyMass);
}

TEST(Lowering, DimensionIsKnownOrSaidToVary) {
  const Compiled compiled = compile_text(rule_when("dose / strength > 1 mL and volume > 1 mL"));
  ASSERT_NE(compiled.program, nullptr);
  const auto& nodes = compiled.program->nodes;
  const engine::Node& both = nodes[compiled.program->rules[0].clauses[0].when];
  EXPECT_TRUE(nodes[nodes[both.x].x].varies);
  EXPECT_FALSE(nodes[nodes[both.y].x].varies);
  EXPECT_EQ(nodes[nodes[both.y].x].dimension, engine::dim::kVolume);
}

TEST(Lowering, RecordsHaveFieldsAndADay) {
  const Compiled compiled = compile_text(
      "rule r \"t\"\n    concerns all orders\n"
      "    let here = latest last 3 earlier injections within 26 weeks where earlier.site is site\n"
      "    raise hold when days since here.when < 7 days and here.dose > dose\n"
      "        say \"x\"\n        blames site\n");
  if (compiled.program == nullptr) {
    GTEST_SKIP() << "grammar takes another form: " << lines_of(compiled).front();
  }
  ASSERT_EQ(compiled.program->queries.size(), 1U);
  EXPECT_DOUBLE_EQ(compiled.program->queries[0].within, 26 * 7 * 86400.0);
  EXPECT_TRUE(compiled.program->rules[0].history);
}

TEST(Lowering, ReadsAreTheFieldsOfConditions) {
  const Compiled compiled = compile_text(
      "define drawn = dose / strength\n"
      "rule r \"t\"\n    concerns orders where route is intramuscular\n"
      "    raise hold when volume > drawn and delivered-dose error > 5 %\n"
      "        say \"{site}\"\n        blames volume\n");
  ASSERT_NE(compiled.program, nullptr);
  const engine::Rule& rule = compiled.program->rules[0];
  using F = engine::FieldId;
  for (const F field : {F::Route, F::Volume, F::Dose, F::Strength, F::SyringeCapacity}) {
    EXPECT_TRUE(rule.reads.test(index(field))) << engine::info(field).name;
  }
  EXPECT_FALSE(rule.reads.test(index(F::Site)));
  EXPECT_FALSE(rule.history);
}

TEST(Lowering, TextsKnowPlainFields) {
  const Compiled compiled = compile_text(
      "rule r \"t\"\n    concerns all orders\n    raise hold when volume > 1 mL\n"
      "        say \"{volume} is {2 * volume}\"\n        blames volume\n");
  ASSERT_NE(compiled.program, nullptr);
  const auto& pieces = compiled.program->rules[0].clauses[0].say.pieces;
  ASSERT_EQ(pieces.size(), 3U);
  EXPECT_EQ(pieces[0].field, engine::FieldId::Volume);
  EXPECT_EQ(pieces[1].text, " is ");
  EXPECT_EQ(pieces[2].field, std::nullopt);
  EXPECT_NE(pieces[2].node, engine::kNoNode);
}

TEST(Lowering, RulesKeepTheirHeadTheirDatesAndTheirText) {
  const std::string text = rule_when("volume > 1 mL") +
                           "    cite \"common practice\" owner \"lead nurse\" reviewed 2026-05-01 "
                           "review by 2027-05-01\n";
  const Compiled compiled = compile_text("# one\n" + text);
  ASSERT_NE(compiled.program, nullptr);
  const engine::Rule& rule = compiled.program->rules[0];
  EXPECT_EQ(rule.name, "r");
  EXPECT_EQ(rule.title, "t");
  EXPECT_EQ(rule.cite, "common practice");
  EXPECT_EQ(rule.owner, "lead nurse");
  EXPECT_EQ(rule.reviewed, engine::days_from_civil({2026, 5, 1}));
  EXPECT_EQ(rule.review_by, engine::days_from_civil({2027, 5, 1}));
  EXPECT_EQ(rule.file, "test.rule");
  EXPECT_EQ(rule.line, 2U);
  EXPECT_EQ(rule.text.substr(0, 6), "rule r");
}

TEST(Lowering, SettingsKeepTheirLimits) {
  const Compiled compiled =
      compile_text("setting a = 20 % between 10 % and 25 % \"x\"\nsetting b unset \"y\"\n");
  ASSERT_NE(compiled.program, nullptr);
  const auto& settings = compiled.program->settings;
  EXPECT_DOUBLE_EQ(settings[0].value.number, 0.2);
  EXPECT_TRUE(settings[0].percent);
  EXPECT_EQ(settings[0].least, 0.1);
  EXPECT_EQ(settings[0].most, 0.25);
  EXPECT_EQ(settings[1].value.state, engine::State::Missing);
}

TEST(Lowering, ExamplesKeepTheirFieldsAsTexts) {
  const Compiled compiled = compile_text(
      rule_when("volume > 1 mL") +
      "example \"e\"\n    order volume = 2 mL, site = abdomen\n    expect hold from r\n"
      "example \"f\"\n    order volume = 0.5 mL\n    expect nothing from r\n");
  ASSERT_NE(compiled.program, nullptr);
  const auto& examples = compiled.program->examples;
  ASSERT_EQ(examples.size(), 2U);
  ASSERT_EQ(examples[0].order.fields.size(), 2U);
  EXPECT_EQ(examples[0].order.fields[0].field, engine::FieldId::Volume);
  EXPECT_EQ(examples[0].order.fields[0].text, "2 mL");
  EXPECT_EQ(examples[0].expectations[0].outcome, engine::Outcome::Hold);
  EXPECT_TRUE(examples[1].expectations[0].nothing);
}

TEST(Lowering, HashDependsOnNamesTextsAndTables) {
  const auto hash = [](const std::string& name, const std::string& text, const std::string& csv) {
    const Compiled compiled =
        compile({{name, "table t from \"t.csv\"\n" + text}}, options_with({{"t.csv", csv}}));
    return compiled.program == nullptr ? std::string("none") : compiled.program->hash;
  };
  const std::string one = hash("a.rule", "", "code\nm\n");
  EXPECT_EQ(one.substr(0, 7), "sha256:");
  EXPECT_EQ(one.size(), 7U + 64U);
  EXPECT_EQ(one, hash("a.rule", "", "code\nm\n"));
  EXPECT_NE(one, hash("b.rule", "", "code\nm\n"));
  EXPECT_NE(one, hash("a.rule", "# x\n", "code\nm\n"));
  EXPECT_NE(one, hash("a.rule", "", "code\nn\n"));
}

}  // namespace
}  // namespace meniscus::grammar::testing
