// Items of a rule file: what arrives in the syntax tree, and that mistakes leave the rest whole.
#include <gtest/gtest.h>

#include <fstream>
#include <memory>
#include <sstream>
#include <string>

#include "grammar/frontend/parse.hpp"
#include "tests/grammar/frontend/shape.hpp"

namespace meniscus::grammar {
namespace {

Parsed parse_text(std::string text, const ParseLimits& limits = {}) {
  return parse(std::make_shared<const engine::SourceText>("t.rule", std::move(text)), limits);
}

std::string lines(const Parsed& parsed) {
  std::string out;
  for (const engine::Diagnostic& d : parsed.diagnostics)
    out += engine::render_line(d) + "\n";
  return out;
}

constexpr const char* kRule = R"(rule site-rest "Let a site rest"
    concerns orders where route is one of subcutaneous, intramuscular
    let here = latest earlier injection where earlier.side is side
    raise caution when days since here.when < 7 days
        say "The {{{side}}} \"{site}\" was used {days since here.when} ago, {dose rounded down to step}."
        ask "Is {total volume of list components} right?"
        blames site, schedule.last-given
    without site, side ignore
    without volume raise note say "No volume."  ask "Which?"
    owner "lead nurse" cite "common practice" review by 2027-05-01 reviewed 2026-05-01
)";

Parsed parse_without_examples(std::string text) {
  ParseLimits limits;
  limits.examples = false;
  return parse_text(std::move(text), limits);
}

TEST(RuleFileText, MayBeReadWithoutItsExamples) {
  const std::string text = std::string(kRule) +
                           "example \"one\"  # a note\n"
                           "    order site = abdomen,\n"
                           "          side = left\n\n"
                           "    # another note\n"
                           "    earlier order.given = 2026-03-02\n"
                           "    expect nothing\n"
                           "setting limit = 1 mL \"A limit\"\n"
                           "example \"two\"\n    order site = thigh\n    expect clear\n";
  const Parsed all = parse_text(text);
  const Parsed some = parse_without_examples(text);
  EXPECT_EQ(lines(some), "");
  EXPECT_EQ(all.file->examples.size(), 2U);
  EXPECT_TRUE(some.file->examples.empty());
  ASSERT_EQ(some.file->rules.size(), 1U);
  ASSERT_EQ(some.file->settings.size(), 1U);
  EXPECT_EQ(some.file->settings[0].name.span.begin, all.file->settings[0].name.span.begin);
}

TEST(RuleFileText, WithoutExamplesLosesNothingElse) {
  // What stands where a line of an example should go on is an item all the same.
  const std::string open = std::string(kRule) + "example \"one\"\n    order site = abdomen,\n";
  const auto items = [&open](const std::string& item) {
    const Parsed parsed = parse_without_examples(open + item + "\n");
    return parsed.file->settings.size() + parsed.file->changes.size();
  };
  EXPECT_EQ(items("setting limit = 1 mL \"A limit\""), 1U);
  EXPECT_EQ(items("    retire site-rest because \"x\" by \"y\" until 2026-12-31"), 1U);
  EXPECT_EQ(items("mute site-rest because \"x\" by \"y\" until 2026-12-31"), 1U);
  // And what is neither is said.
  EXPECT_NE(lines(parse_without_examples(std::string(kRule) + "example \"one\"\n    ordr a\n")),
            "");
}

TEST(RuleFileText, HoldsARule) {
  const Parsed parsed = parse_text(kRule);
  ASSERT_EQ(lines(parsed), "");
  const Rule& rule = parsed.file->rules.at(0);
  EXPECT_EQ(rule.name.text, "site-rest");
  EXPECT_EQ(rule.title, "Let a site rest");
  EXPECT_EQ(testing::shape(*rule.concerns), "(one-of route subcutaneous intramuscular)");
  EXPECT_EQ(rule.lets.at(0).name.text, "here");
  EXPECT_EQ(rule.cite, "common practice");
  EXPECT_EQ(rule.owner, "lead nurse");
  EXPECT_EQ(rule.reviewed, "2026-05-01");
  EXPECT_EQ(rule.review_by, "2027-05-01");
  const Clause& clause = rule.clauses.at(0);
  EXPECT_EQ(clause.grade.text, "caution");
  ASSERT_EQ(clause.blames.size(), 2U);
  EXPECT_EQ(clause.blames[1].text, "schedule.last-given");
  ASSERT_EQ(rule.withouts.size(), 2U);
  EXPECT_TRUE(rule.withouts[0].ignore);
  EXPECT_EQ(rule.withouts[0].names.at(1).text, "side");
  EXPECT_EQ(rule.withouts[1].grade.text, "note");
  EXPECT_EQ(rule.withouts[1].ask.pieces.at(0).text, "Which?");
}

TEST(RuleFileText, InsertionsAreExpressionsInPlace) {
  const std::string text = kRule;
  const Parsed parsed = parse_text(text);
  const Text& say = parsed.file->rules.at(0).clauses.at(0).say;
  std::string plain;
  for (const TextPiece& piece : say.pieces) {
    plain += piece.value ? "<" + testing::shape(*piece.value) + ">" : piece.text;
  }
  EXPECT_EQ(plain,
            "The {<side>} \"<site>\" was used <(days-since here.when)> ago, "
            "<(round-down dose step)>.");
  const Span site = say.pieces.at(3).value->span;
  EXPECT_EQ(text.substr(site.begin, site.end - site.begin), "site");
}

TEST(RuleFileText, HoldsSettingsTablesAndDefinitions) {
  const Parsed parsed = parse_text(
      "setting a = 1.5 mL between 0.5 mL and 3 mL \"Title\"\n"
      "setting b unset \"Yours\"\n"
      "setting c = yes\n"
      "table t from \"t.csv\"\n"
      "define d = a\n");
  ASSERT_EQ(lines(parsed), "");
  const auto& settings = parsed.file->settings;
  ASSERT_EQ(settings.size(), 3U);
  EXPECT_EQ(settings[0].value.text, "1.5 mL");
  EXPECT_EQ(settings[0].least.text, "0.5 mL");
  EXPECT_EQ(settings[0].most.text, "3 mL");
  EXPECT_EQ(settings[0].title, "Title");
  EXPECT_TRUE(settings[1].unset);
  EXPECT_EQ(settings[2].value.text, "yes");
  EXPECT_EQ(parsed.file->tables.at(0).path, "t.csv");
  EXPECT_EQ(parsed.file->defines.at(0).name.text, "d");
}

TEST(RuleFileText, HoldsExamples) {
  const Parsed parsed = parse_text(
      "example \"twice\"\n"
      "    order dose = 50 mg, strength = 100 mg/5 mL, vial.opened = none\n"
      "    earlier order.given = 2026-03-02, site = abdomen\n"
      "    earlier site = thigh\n"
      "    expect hold from a, caution from b\n"
      "    expect incomplete\n");
  ASSERT_EQ(lines(parsed), "");
  const Example& example = parsed.file->examples.at(0);
  ASSERT_EQ(example.order.size(), 3U);
  EXPECT_EQ(example.order[1].text.text, "100 mg/5 mL");
  EXPECT_EQ(example.order[2].field.text, "vial.opened");
  ASSERT_EQ(example.earlier.size(), 2U);
  EXPECT_EQ(example.earlier[0].at(0).text.text, "2026-03-02");
  ASSERT_EQ(example.expectations.size(), 3U);
  EXPECT_EQ(example.expectations[1].rule.text, "b");
  EXPECT_EQ(example.expectations[2].what.text, "incomplete");
}

TEST(RuleFileText, ReadsLocalChanges) {
  const Parsed parsed = parse_text(
      "adjust a = 2 mL because \"b\" by \"c\" until 2027-03-01\n"
      "regrade r from clarify to note because \"b\" by \"c\" until 2027-01-01\n"
      "mute r where substance.code is x because \"b\" by \"c\" until 2026-12-31\n"
      "retire r because \"b\" by \"c\" until 2026-12-31\n"
      "extend table t from \"ours.csv\" because \"b\" by \"c\"\n"
      "trial rule n until 2026-12-31 \"T\"\n"
      "    raise note when a is b say \"s\" blames a\n");
  ASSERT_EQ(parsed.file->changes.size(), 5U);
  EXPECT_EQ(parsed.file->changes[0].value.text, "2 mL");
  EXPECT_EQ(parsed.file->changes[1].to_grade.text, "note");
  EXPECT_EQ(testing::shape(*parsed.file->changes[2].scope), "(is substance.code x)");
  EXPECT_EQ(parsed.file->changes[3].until.text, "2026-12-31");
  EXPECT_EQ(parsed.file->changes[4].path, "ours.csv");
  EXPECT_TRUE(parsed.file->rules.at(0).trial);
  EXPECT_EQ(parsed.file->rules.at(0).until.text, "2026-12-31");
  EXPECT_EQ(lines(parsed), "");
}

TEST(RuleFileText, DatesOfForceStandBeforeTheTitle) {
  const Parsed parsed = parse_text(
      "setting a = 1 mL from 2026-01-01 until 2026-12-31 \"T\"\n"
      "table t from \"t.csv\" from 2026-02-01\n");
  EXPECT_EQ(parsed.file->settings.at(0).from.text, "2026-01-01");
  EXPECT_EQ(parsed.file->settings.at(0).until.text, "2026-12-31");
  EXPECT_EQ(parsed.file->settings.at(0).title, "T");
  EXPECT_EQ(parsed.file->tables.at(0).from.text, "2026-02-01");
}

TEST(RuleFileText, AMistakeLeavesTheOtherRulesWhole) {
  const std::string broken =
      "rule a \"A\"\n    raise hold when dose > > 5 mg\n        say \"s\" blames dose\n"
      "    raise note when dose is given\n        say \"s\" blames dose\n"
      "nonsense here\n";
  const Parsed parsed = parse_text(broken + kRule);
  EXPECT_EQ(parsed.diagnostics.size(), 2U) << lines(parsed);
  ASSERT_EQ(parsed.file->rules.size(), 2U);
  EXPECT_EQ(parsed.file->rules[0].clauses.size(), 2U);
  EXPECT_EQ(parsed.file->rules[0].clauses[0].blames.size(), 1U);
  EXPECT_EQ(parsed.file->rules[1].clauses.size(), 1U);
}

TEST(RuleFileText, NothingIsAFileToo) {
  EXPECT_EQ(lines(parse_text("")), "");
  EXPECT_EQ(lines(parse_text("# only a comment")), "");
}

// The generated parser decides every step on one token; so no text has two readings.
TEST(Grammar, NeverPredicts) {
  std::ifstream file(MENISCUS_BINARY_DIR "/grammar/generated/RuleParser.cpp");
  ASSERT_TRUE(file) << "the generated parser is not where the build puts it";
  std::stringstream text;
  text << file.rdbuf();
  EXPECT_GT(text.str().size(), 10000U);
  EXPECT_EQ(text.str().find("adaptivePredict"), std::string::npos);
}

}  // namespace
}  // namespace meniscus::grammar
