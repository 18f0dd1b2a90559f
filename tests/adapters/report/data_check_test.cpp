// The reports of the data check: what a fingerprint rests on, names of inputs, texts that are safe
// in XML.
//
// Checked against: XML 1.0 (fifth edition), production 2 (Char); RFC 3986, section 2.3.  Whole
// reports are checked in tests/interop/datacheck, by a schema and a parser of others.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "adapters/report/data_items.hpp"
#include "adapters/report/junit_writer.hpp"
#include "adapters/report/sarif_writer.hpp"
#include "tests/adapters/report/sample_verdict.hpp"

namespace meniscus::adapters {
namespace {
using testing::FixedSource;
using testing::hold_verdict;

std::string fingerprint(const engine::Verdict& verdict, std::string_view file) {
  return key_of(verdict.findings.at(0), verdict.order, file).fingerprint();
}

TEST(Fingerprint, RestsOnNeitherValueNorPlaceNorPatient) {
  const engine::Verdict verdict = hold_verdict();
  engine::Verdict other = hold_verdict();
  other.patient = "SM-0099";
  other.findings[0].say = "40 mg at 200 mg/mL is 0.2 mL; the order says 0.4 mL.";
  other.findings[0].fields[0].value = "0.4 mL";
  other.findings[0].fields[0].origin = {500, 6};
  EXPECT_EQ(fingerprint(verdict, "a.csv"), fingerprint(other, "a.csv"));
  EXPECT_EQ(fingerprint(verdict, "a.csv").size(), 32U);
}

TEST(Items, StandWhereTheOrderHasWhatIsBlamed) {
  engine::OrderBlock block;
  block.add_lane();
  engine::Verdict verdict = hold_verdict();
  using F = engine::FieldId;
  verdict.findings[0].fields = {{F::OrderDirections, "", {10, 0}, false},
                                {F::Dose, "50mg", {40, 4}, false},
                                {F::Volume, "", {10, 0}, false},
                                {F::Strength, "200 mg/mL", {60, 9}, false}};
  const std::vector<DataItem> items = items_of(verdict, block, FixedSource(), "a.csv");
  std::vector<std::string> names;
  for (const PlacedField& field : items.at(0).fields)
    names.emplace_back(field.name);
  EXPECT_EQ(names, (std::vector<std::string>{"dose", "strength", "order.directions", "volume"}));
  EXPECT_EQ(items.at(0).key->fields.front(), "order.directions");  // fingerprints stay as they were
}

TEST(Fingerprint, ChangesWithRuleClauseOrderFieldsAndInput) {
  const engine::Verdict verdict = hold_verdict();
  const std::string before = fingerprint(verdict, "a.csv");
  EXPECT_NE(before, fingerprint(verdict, "b.csv"));
  engine::Verdict other = hold_verdict();
  other.order = "A-103";
  EXPECT_NE(before, fingerprint(other, "a.csv"));
  other = hold_verdict();
  other.findings[0].rule = "dose-volume";
  EXPECT_NE(before, fingerprint(other, "a.csv"));
  other = hold_verdict();
  other.findings[0].clause = 2;
  EXPECT_NE(before, fingerprint(other, "a.csv"));
  other = hold_verdict();
  other.findings[0].fields[0].field = engine::FieldId::Dose;
  EXPECT_NE(before, fingerprint(other, "a.csv"));
}

TEST(Fingerprint, HasNoneWithoutAnOrderNumber) {
  engine::Verdict verdict = hold_verdict();
  verdict.order = "";
  EXPECT_FALSE(key_of(verdict.findings[0], verdict.order, "a.csv").is_sound());
}

TEST(InputNames, AreShortAndSafe) {
  EXPECT_EQ(settled_name("./orders/../day.csv"), "day.csv");
  EXPECT_EQ(settled_name("-"), "-");
  EXPECT_EQ(settled_name("/no/such/day.csv"), "/no/such/day.csv");
  EXPECT_EQ(uri_of("a b/c%\xC3\xA4:.csv"), "a%20b/c%25%C3%A4%3A.csv");
  EXPECT_EQ(uri_of("/tmp/day.csv"), "file:///tmp/day.csv");
}

TEST(Lines, AreOneLineWhateverTheTextHolds) {
  engine::Verdict verdict = hold_verdict();
  verdict.findings[0].say = "two\nlines\x1b[2J";
  verdict.findings[0].ask = "";
  const FixedSource source;
  const engine::OrderBlock block;
  std::string out;
  append_item_line(out, "a\nb.csv", items_of(verdict, block, source, "a.csv").at(0));
  EXPECT_EQ(out, "a b.csv:12:30: hold: two lines [2J [dose-volume-agreement]\n");
}

TEST(Xml, HasNoCharacterThatXmlHasNot) {
  std::string out;
  append_xml(out, "<a b=\"c\">&\xEF\xBF\xBE\xEF\xBF\xBF\xEF\xBF\xBD\xEF\xBF");
  EXPECT_EQ(out,
            "&lt;a b=&quot;c&quot;&gt;&amp;\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"
            "\xEF\xBF");
}

TEST(Weights, FollowTheTableOfGrades) {  // docs/formats-fhir.md, "Grades in other standards"
  EXPECT_EQ(weight_of(engine::Grade::Hold), Weight::Error);
  EXPECT_EQ(weight_of(engine::Grade::Clarify), Weight::Error);
  EXPECT_EQ(weight_of(engine::Grade::Caution), Weight::Warning);
  EXPECT_EQ(weight_of(engine::Grade::Note), Weight::Note);
}

}  // namespace
}  // namespace meniscus::adapters
