// Tables: every wrong cell is named by its row and column; good ones become values.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "engine/quantity/quantity.hpp"
#include "grammar/diagnostics.hpp"
#include "tests/grammar/lower/rule_text.hpp"

namespace meniscus::grammar::testing {
namespace {

namespace dim = engine::dim;
using engine::State;
using engine::Table;
using engine::Value;

struct Case {
  std::string name;
  std::string csv;
  std::vector<std::string> diagnostics;
  std::string rule;
};
std::ostream& operator<<(std::ostream& out, const Case& c) { return out << c.name; }

const std::string kDecl = "table t from \"t.csv\"\n";
const std::string kLookUp =
    rule_when("volume > (look up most in t where row.code is substance.code)");

const std::vector<Case>& cases() {
  static const std::vector<Case> kCases = {
      {"UnknownKind", "code,most [volme]\n", {"1:6 R0302 no column holds `volme`"}, ""},
      {"BracketNotClosed",
       "code,most [volume\n",
       {"1:6 R0302 the head `most [volume` lacks its `]`"},
       ""},
      {"ColumnTwice", "code,code\n", {"1:6 R0302 two columns are named `code`"}, ""},
      {"NoHead", "\n\n", {"1:1 R0302 the table has no head"}, ""},
      {"TooFewCells",
       "code,most [volume]\nm\nn,1 mL\n",
       {"2:1 R0303 this row has 1 cell; the head names 2 columns"},
       ""},
      {"NoYesNo",
       "code,latex [yes/no]\nm,maybe\n",
       {"2:3 R0304 row 2, column `latex`: `maybe` stands where `yes` or `no` is needed"},
       ""},
      {"WrongDimension",
       "code,most [volume]\nm,5 mg\n",
       {"2:3 R0304 row 2, column `most`: `5 mg` is a mass; a volume is needed"},
       ""},
      {"EmptyBand",
       "code,ages [time band]\nm,18 years to 2 years\n",
       {"2:3 R0304 row 2, column `ages`: the range `18 years to 2 years` holds nothing; its end is "
        "excluded"},
       ""},
      {"NoBand",
       "code,ages [time band]\nm,18 years\n",
       {"2:3 R0304 row 2, column `ages`: `18 years` is no range; `A to B` is needed, `any` for an "
        "open end"},
       ""},
      {"MissingUnit",
       "code,most [volume]\nm,5\n",
       {"2:3 R0305 row 2, column `most`: `5` has no unit; a volume is needed"},
       ""},
      {"KeyTwice",
       "code,most [volume]\nm,5 mL\nn,1 mL\nm,6 mL\n",
       {"4:1 R0306 rows 2 and 4 have the same key: m"},
       kLookUp},
      {"RowTwice",
       "code,most [volume]\nm,5 mL\nm,5 mL\n",
       {"3:1 R0306 rows 2 and 3 have the same key: m, 5 mL"},
       ""},
      {"QuoteNotClosed",
       "code,note [text]\nm,\"keep\n",
       {"2:3 R0307 a quote is opened and never closed"},
       ""},
  };
  return kCases;
}

class WrongTables : public ::testing::TestWithParam<Case> {};

TEST_P(WrongTables, AreNamedInTheirPlace) {
  const Case& c = GetParam();
  const Compiled compiled = compile_text(kDecl + c.rule, {{"t.csv", c.csv}});
  EXPECT_THAT(lines_of(compiled), ::testing::ElementsAreArray(c.diagnostics));
  EXPECT_EQ(compiled.program, nullptr);
  for (const auto& d : compiled.diagnostics)
    EXPECT_EQ(d.source->name(), "t.csv");
}

INSTANTIATE_TEST_SUITE_P(Tables, WrongTables, ::testing::ValuesIn(cases()),
                         [](const auto& row) { return row.param.name; });

TEST(Tables, AMissingFileIsNamedWhereItIsDeclared) {
  const Compiled compiled = compile({{"rules/a.rule", kDecl + kLookUp}}, options_with({}));
  EXPECT_THAT(lines_of(compiled),
              ::testing::ElementsAre("1:14 R0301 cannot read `rules/t.csv`: no such file"));
}

TEST(Tables, WordsNeedTheirColumns) {
  const Compiled compiled =
      compile_text("table words from \"w.csv\"\n", {{"w.csv", "field,wrd\nside,left\n"}});
  EXPECT_THAT(lines_of(compiled),
              ::testing::ElementsAre("1:1 R0308 table `words` has no column `word`"));
}

TEST(Tables, EveryCodeOfThisRangeHasACase) {
  for (const CodeInfo& code : all_codes()) {
    const bool elsewhere = code.name == "R0301" || code.name == "R0308";
    if (!code.name.starts_with("R03") || elsewhere) continue;
    const bool found = std::any_of(cases().begin(), cases().end(), [&](const Case& c) {
      return c.diagnostics.front().find(std::string(code.name)) != std::string::npos;
    });
    EXPECT_TRUE(found) << code.name << " has no case here";
  }
}

class GoodTable : public ::testing::Test {
 protected:
  const Value& cell(const std::string& head, const std::string& text) {
    compiled_ = compile_text(kDecl, {{"t.csv", "key," + head + "\nk," + text + "\n"}});
    if (compiled_.program == nullptr) {
      ADD_FAILURE() << "no program: " << lines_of(compiled_).front();
      static const Value kNothing;
      return kNothing;
    }
    return compiled_.program->tables[0].cell(0, 1);
  }
  Compiled compiled_;
};

TEST_F(GoodTable, QuantityKeepsItsText) {
  const Value& value = cell("most [volume]", "1.5 mL");
  EXPECT_DOUBLE_EQ(value.number, 1500);  // a millilitre is 1000 cubic millimetres
  EXPECT_EQ(value.aux, dim::kVolume.bits());
  EXPECT_EQ(value.text, "1.5 mL");
}

TEST_F(GoodTable, UnitInTheHeadBelongsToBareNumbers) {
  const Value& value = cell("most [mL]", "1.5");
  EXPECT_DOUBLE_EQ(value.number, 1500);
  EXPECT_EQ(value.text, "1.5 mL");
}

TEST_F(GoodTable, ACellMayNameAnotherUnitOfTheSameDimension) {
  EXPECT_DOUBLE_EQ(cell("most [mL]", "0.001 L").number, 1000);
}

TEST_F(GoodTable, ViscosityBaseIsMillipascalSecond) {
  EXPECT_DOUBLE_EQ(cell("v [viscosity]", "57 mPa.s").number, 57);
}

TEST_F(GoodTable, BandExcludesItsEnd) {
  const Value& value = cell("ages [time band]", "18 months to 2 years");
  EXPECT_EQ(value.text, "18 months to 2 years");
  EXPECT_LT(value.number, engine::band_end(value));
  EXPECT_EQ(cell("ages [time band]", "any to 2 days").number,
            -std::numeric_limits<double>::infinity());
  EXPECT_DOUBLE_EQ(engine::band_end(cell("w [body mass band]", "any to 60 kg")), 60e6);
}

TEST_F(GoodTable, EmptyIsNoneAndAnyIsAny) {
  EXPECT_EQ(cell("most [volume]", "").state, State::None);
  EXPECT_EQ(cell("most [volume]", "any").state, State::Any);
  EXPECT_EQ(cell("word", "any").state, State::Any);
  EXPECT_EQ(cell("note [text]", "any").state, State::Known);
}

TEST_F(GoodTable, SharesAreNumbers) { EXPECT_DOUBLE_EQ(cell("n [number]", "20 %").number, 0.2); }

TEST_F(GoodTable, FractionsOfAnInch) {
  EXPECT_DOUBLE_EQ(cell("n [length]", "1 1/2 in").number, 38.1);  // an inch is 25.4 mm exactly
}

TEST_F(GoodTable, QuotedCellsMayHoldCommasAndQuotes) {
  EXPECT_EQ(cell("note [text]", "\"a, \"\"b\"\"\"").text, "a, \"b\"");
}

TEST(Tables, SynonymsStandForTheirWord) {
  const Compiled compiled =
      compile_text("table sites from \"s.csv\"\ntable volumes from \"v.csv\"\n",
                   {{"s.csv", "site,synonyms [text]\nabdomen,belly; stomach\n"},
                    {"v.csv", "site,most [volume]\nstomach,2 mL\n"}});
  ASSERT_NE(compiled.program, nullptr);
  const Value& site = compiled.program->tables[1].cell(0, 0);
  EXPECT_EQ(site.aux, engine::word_hash("abdomen"));
  EXPECT_EQ(site.text, "abdomen");
}

}  // namespace
}  // namespace meniscus::grammar::testing
