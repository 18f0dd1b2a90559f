// One mistake a row: text, and the first line that is reported for it.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <memory>
#include <ostream>
#include <set>
#include <sstream>
#include <string>
#include <string_view>

#include "grammar/diagnostics.hpp"
#include "grammar/frontend/parse.hpp"

namespace meniscus::grammar {
namespace {

struct Case {
  std::string_view name, text, line, help;
};
std::ostream& operator<<(std::ostream& os, const Case& c) { return os << c.text; }

Parsed parse_text(std::string text, const ParseLimits& limits = {}) {
  return parse(std::make_shared<const engine::SourceText>("t.rule", std::move(text)), limits);
}

#define CLAUSE "rule r \"R\"\n  raise hold when "
#define REST "\n    say \"s\" blames dose\n"

const Case kCases[] = {
    {"CurlyQuotes", "table t from “t.csv”",
     "t.rule:1:14: error[R0101]: found a text in curly quotes", "write `\"` on both sides"},
    {"SingleQuotes", "table t from 't.csv'",
     "t.rule:1:14: error[R0101]: found a text in single quotes", "write `\"` on both sides"},
    {"LongDash", "define x = a \xE2\x80\x93 b",
     "t.rule:1:14: error[R0101]: found a long dash outside a text", "write `-`"},
    {"GreaterOrEqual", "define x = a ≥ b", "t.rule:1:14: error[R0101]: found `≥` outside a text",
     "write `>=` or `at least`"},
    {"Letter", "define x = café", "t.rule:1:15: error[R0101]: found `é` outside a text",
     "names are made of the letters a to z, digits and hyphens; put words into quotes"},
    {"Semicolon", "define x = a;", "t.rule:1:13: error[R0101]: found `;` outside a text",
     "lines need no sign at their end; lists are written with `,`"},
    {"NotUtf8", "define x = a\xFF", "t.rule:1:13: error[R0102]: found a byte that is no UTF-8 text",
     "save the file as UTF-8"},
    {"Nul", std::string_view("define x = a\0", 13),
     "t.rule:1:13: error[R0102]: found a control character", "save the file as plain text"},
    {"Tab", "define x =\ta", "t.rule:1:11: error[R0103]: found a tab",
     "use blanks; the other tabs of this file are not shown"},
    {"NoClosingQuote", "table t from \"t.csv",
     "t.rule:1:14: error[R0104]: found a text without its closing quote",
     "put `\"` at the end of the text; a text stands on one line"},
    {"DecimalComma", "define x = 0,25 mL",
     "t.rule:1:12: error[R0105]: found `0,25`; a number has no comma in it", "write `0.25`"},
    {"Thousands", "define x = 1,000 mg",
     "t.rule:1:12: error[R0105]: found `1,000`; a number has no comma in it",
     "write `1.000` or `1000`, whichever is meant"},
    {"NoLeadingZero", "define x = .5 mL",
     "t.rule:1:12: error[R0106]: found `.5`; a decimal point needs a digit on both sides",
     "write `0.5`"},
    {"NakedPoint", "define x = 5. mL",
     "t.rule:1:12: error[R0106]: found `5.`; a decimal point needs a digit on both sides",
     "write `5`"},
    {"Exponent", "define x = 1e3",
     "t.rule:1:12: error[R0106]: found `1e3`; a number has no exponent", "write the number out"},
    {"GluedUnit", "define x = 5mg/kg",
     "t.rule:1:12: error[R0107]: found `5mg/kg`; a number and its unit need a blank between them",
     "write `5 mg/kg`"},
    {"GluedPercent", "define x = 20%",
     "t.rule:1:12: error[R0107]: found `20%`; a number and its unit need a blank between them",
     "write `20 %`"},
    {"GluedMinus", "define x = volume-0.5 mL",
     "t.rule:1:12: error[R0108]: found `volume-0.5`; a hyphen belongs to the name before it",
     "write `volume - 0.5`"},
    {"GluedDivide", "define x = dose/strength",
     "t.rule:1:16: error[R0108]: found `/` without blanks around it",
     "write a blank before and after `/`"},
    {"SlashDate", "define x = days since 3/4/2026",
     "t.rule:1:23: error[R0109]: found `3/4/2026`; a date is written year, month, day with all "
     "its digits",
     "write it as in `2026-03-02`"},
    {"PointDate", "define x = days since 3.4.2026",
     "t.rule:1:23: error[R0109]: found `3.4.2026`; a date is written year, month, day with all "
     "its digits",
     "write it as in `2026-03-02`"},
    {"Capitals", CLAUSE "a is b AND c is d" REST,
     "t.rule:2:26: error[R0110]: found `AND`; the words of the language are written in small "
     "letters",
     "write `and`, or put it into quotes if it is a code"},
    {"DoubleEquals", CLAUSE "dose == 5 mg" REST,
     "t.rule:2:24: error[R0111]: found `==`, which is no sign of this language",
     "write `is` to compare, `=` to give a name"},
    {"NotEquals", CLAUSE "dose != 5 mg" REST,
     "t.rule:2:24: error[R0111]: found `!=`, which is no sign of this language", "write `is not`"},
    {"Arrow", CLAUSE "dose => 5 mg" REST,
     "t.rule:2:24: error[R0111]: found `=>`, which is no sign of this language",
     "write `>=` or `at least`"},
    {"OneEquals", CLAUSE "dose = 5 mg" REST,
     "t.rule:2:24: error[R0111]: found `=` where values are compared",
     "write `is`, or `<`, `>`, `<=`, `>=`"},
    {"UnknownUnit", "define x = 5 mgg", "t.rule:1:14: error[R0112]: found the unknown unit `mgg`",
     "did you mean `mg`?"},
    {"BareQuery", CLAUSE "dose > look up most in t where row.a is b" REST,
     "t.rule:2:26: error[R0113]: found the query `look up` where it has no clear end",
     "put brackets around the whole query, or name it with a `let` line"},
    {"BareIf", "define x = 1 + if a is b then c otherwise d",
     "t.rule:1:16: error[R0113]: found `if` inside an expression",
     "put brackets around `if ... then ... otherwise ...`"},
    {"NoValue", CLAUSE REST, "t.rule:3:5: error[R0114]: found `say` where a value is needed", ""},
    {"NoName", "rule\nrule r \"R\"",
     "t.rule:2:1: error[R0114]: found `rule` where a name is needed", ""},
    {"NoThen", "define x = if a is b c otherwise d",
     "t.rule:1:22: error[R0114]: found `c` where `then` is needed",
     "write `if CONDITION then VALUE otherwise VALUE`"},
    {"NoOtherwise", "define x = if a is b then c\n",
     "t.rule:2:1: error[R0114]: found the end of the file where `otherwise` is needed",
     "write `if CONDITION then VALUE otherwise VALUE`"},
    {"LastOfNone", "define x = number of last 0 earlier injections",
     "t.rule:1:27: error[R0114]: found `0` where a whole number from 1 to 1000 is needed",
     "write as in `last 3 earlier injections`"},
    {"Misspelt", "rule r \"R\"\n  rasie hold when a is b" REST,
     "t.rule:2:3: error[R0115]: found `rasie` where a line of the rule such as `let`, `raise`, "
     "`without` or `cite` is needed",
     "did you mean `raise`?"},
    {"MisspeltItem", "setting a = 1 mL\nruel r \"R\"",
     "t.rule:2:1: error[R0115]: found `ruel` where a `rule`, `setting`, `table`, `define` or "
     "`example` is needed",
     "did you mean `rule`?"},
    {"OperatorUnknown", CLAUSE "volume differs expected" REST,
     "t.rule:2:26: error[R0115]: found `differs` after `volume` where `and`, `or`, a sign or a new "
     "line is needed",
     "write `differs from ... by more than ...`"},
    {"NoComma", "example \"e\"\n  order dose = 5 mg volume = 1 mL\n  expect clear",
     "t.rule:2:21: error[R0115]: found `volume` where `order`, `earlier` or `expect` is needed",
     "write `,` between two fields"},
    {"OpenBracket", CLAUSE "(a is b or c is d" REST,
     "t.rule:3:5: error[R0116]: found `say` where `)` is needed", "add `)`"},
    {"ClosingBracket", CLAUSE "a is b)" REST,
     "t.rule:2:25: error[R0116]: found `)` without a `(` before it",
     "leave it out, or add the bracket that is missing"},
    {"OpenBrace", CLAUSE "a is b say \"x {dose\" blames dose",
     "t.rule:2:33: error[R0117]: found `{` without a `}` after it",
     "write `{name}` to show a value, `{{` for a brace that is to be shown"},
    {"EmptyBraces", CLAUSE "a is b say \"x {}\" blames dose",
     "t.rule:2:33: error[R0117]: found `{}` with nothing in it",
     "name the value to be shown, as in `{dose}`"},
    {"ClosingBrace", CLAUSE "a is b say \"é}\" blames dose",
     "t.rule:2:32: error[R0117]: found `}` without a `{` before it",
     "write `}}` for a brace that is to be shown"},
    {"NoSay", CLAUSE "a is b blames dose",
     "t.rule:2:3: error[R0401]: found a `raise` without a `say`",
     "add `say \"...\"`, the sentence that is to be shown"},
    {"NoBlames", CLAUSE "a is b say \"s\"",
     "t.rule:2:3: error[R0402]: found a `raise` without a `blames`",
     "add `blames FIELD`, the field that is to be marked"},
    {"TwoCites", "rule r \"R\"\n  raise hold when a is b" REST "  cite \"a\" cite \"b\"",
     "t.rule:4:12: error[R0403]: found a second `cite`", "keep one of the two"},
    {"NoRaise", "rule r \"R\"\n  concerns all orders",
     "t.rule:1:6: error[R0404]: found no `raise` line in the rule `r`",
     "write `raise GRADE when CONDITION`"},
    {"NoExpect", "example \"e\"\n  order dose = 5 mg",
     "t.rule:1:1: error[R0405]: found an example without an `expect`",
     "add `expect GRADE from RULE`, `expect clear` or the like"},
    {"NoReason", "mute r by \"lead nurse\" until 2026-12-31",
     "t.rule:1:1: error[R0406]: found a local change without `because`",
     "add `because \"...\"`: the reason, the role that decided, the last day"},
    {"NoRole", "retire r because \"b\" until 2026-12-31",
     "t.rule:1:1: error[R0406]: found a local change without `by`",
     "add `by \"...\"`: the reason, the role that decided, the last day"},
    {"NoEnd", "adjust a = 2 mL because \"b\" by \"c\"",
     "t.rule:1:1: error[R0406]: found a local change without `until`",
     "add `until 2027-01-31`: the reason, the role that decided, the last day"},
    {"EmptyReason", "extend table t from \"t.csv\" because \"\" by \"c\"",
     "t.rule:1:1: error[R0406]: found a local change without `because`",
     "add `because \"...\"`: the reason, the role that decided, the last day"},
    {"TrialWithoutEnd", "trial rule r \"R\"\n  raise note when a is b" REST,
     "t.rule:1:1: error[R0406]: found a trial rule without `until`",
     "add `until 2027-01-31` after its name: the last day of the trial"},
};

class Mistake : public ::testing::TestWithParam<Case> {};

TEST_P(Mistake, IsSaidWithItsPlaceAndWhatToWrite) {
  const Parsed parsed = parse_text(std::string(GetParam().text));
  ASSERT_FALSE(parsed.diagnostics.empty());
  EXPECT_EQ(engine::render_line(parsed.diagnostics.front()), GetParam().line);
  EXPECT_EQ(parsed.diagnostics.front().help, GetParam().help);
}
INSTANTIATE_TEST_SUITE_P(Text, Mistake, ::testing::ValuesIn(kCases),
                         [](const auto& info) { return std::string(info.param.name); });

std::string first_line(const Parsed& parsed) {
  return parsed.diagnostics.empty() ? "" : engine::render_line(parsed.diagnostics.front());
}

TEST(Limits, ALargeFileIsNotRead) {
  const Parsed parsed = parse_text(std::string(10U << 20U, '('));
  EXPECT_EQ(first_line(parsed),
            "t.rule:1:1: error[R0119]: found 10485760 bytes; a rule file has at most 4194304");
  EXPECT_EQ(parsed.diagnostics.size(), 1U);
}

TEST(Limits, DeepBracketsAreRefused) {
  const Parsed parsed =
      parse_text("define x = " + std::string(100000, '(') + "a" + std::string(100000, ')'));
  EXPECT_EQ(first_line(parsed),
            "t.rule:1:212: error[R0118]: found more than 200 levels of brackets");
}

TEST(Limits, TwoHundredLevelsAreRead) {
  const Parsed parsed =
      parse_text("define x = " + std::string(200, '(') + "a" + std::string(200, ')'));
  EXPECT_EQ(first_line(parsed), "");
  EXPECT_EQ(parsed.file->defines.size(), 1U);
}

TEST(Limits, LongChainsAreRefused) {
  std::string text = "define x = a";
  for (int i = 0; i < 100000; ++i)
    text += " + a";
  const Parsed parsed = parse_text(text);
  EXPECT_EQ(parsed.diagnostics.at(0).code, "R0118");
  for (const std::string_view word : {"not ", "- ", "if a is b then c otherwise "}) {
    std::string chain = "define x = ";
    for (int i = 0; i < 100000; ++i)
      chain += word;
    EXPECT_EQ(parse_text(chain + "a").diagnostics.at(0).code, "R0118") << word;
  }
}

TEST(Limits, ManyMistakesAreCutShort) {
  std::string text;
  for (int i = 0; i < 500; ++i)
    text += "setting a = .5 mL\n";
  ParseLimits limits;
  limits.max_diagnostics = 7;
  const Parsed parsed = parse_text(text, limits);
  ASSERT_EQ(parsed.diagnostics.size(), 8U);
  EXPECT_EQ(parsed.diagnostics.back().code, "R0120");
  EXPECT_EQ(parsed.diagnostics.back().severity, engine::Severity::Note);
}

/// Codes that only a limit brings about; the tests above name them.
const std::set<std::string_view> kByLimits = {"R0118", "R0119", "R0120"};

bool is_ours(std::string_view code) {
  return code.starts_with("R01") || (code.starts_with("R04") && code <= "R0406");
}

TEST(Registry, EverySyntaxCodeIsTested) {
  for (const CodeInfo& row : all_codes()) {
    if (!is_ours(row.name) || kByLimits.contains(row.name)) continue;
    const std::string tag = "[" + std::string(row.name) + "]";
    const bool tested = std::any_of(std::begin(kCases), std::end(kCases), [&](const Case& c) {
      return c.line.find(tag) != std::string_view::npos;
    });
    EXPECT_TRUE(tested) << row.name;
  }
}

TEST(Registry, EverySyntaxCodeHasItsPage) {
  std::ifstream file(MENISCUS_SOURCE_DIR "/docs/diagnostics.md");
  std::stringstream text;
  text << file.rdbuf();
  for (const CodeInfo& row : all_codes()) {
    if (!is_ours(row.name)) continue;
    const std::string heading =
        "### " + std::string(row.name) + " " + std::string(row.title) + "\n";
    EXPECT_NE(text.str().find(heading), std::string::npos) << heading;
  }
}

}  // namespace
}  // namespace meniscus::grammar
