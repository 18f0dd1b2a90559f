// What is cut off, broken, or comes in pieces; and places.
//
// Checked against: RFC 8259 (JSON); FHIR R4, "FHIRPath" (the simple subset) and its examples.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/fhir/fhir_path.hpp"
#include "adapters/fhir/json_tree.hpp"
#include "tests/adapters/fhir/fhir_reading.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::RecordKind;
using testing::fhir_example;
using ::testing::HasSubstr;
using testing::read_fhir;
using testing::request_with;
using ::testing::SizeIs;
using tests::ReadOrder;

bool operator_equal(const ReadOrder& a, const ReadOrder& b) {
  return a.kind == b.kind && a.reason == b.reason && a.fields == b.fields && a.doubts == b.doubts &&
         a.place.at == b.place.at && a.place.line == b.place.line;
}

/// One line, as NDJSON has it.
std::string on_one_line(const std::string& text) {
  std::string out;
  for (const char c : text)
    if (c != '\n' && c != '\r') out += c;
  return out;
}

TEST(FhirDamage, PiecesOfOneByteMakeNoDifference) {
  const std::string text = fhir_example("MedicationRequest-medrx0332") + "\n" +
                           on_one_line(fhir_example("MedicationDispense-meddisp0302")) + "\n" +
                           on_one_line(fhir_example("MedicationAdministration-medadmin0308"));
  const auto whole = read_fhir(text);
  ASSERT_THAT(whole, SizeIs(5));
  for (const std::size_t piece : {std::size_t{1}, std::size_t{7}}) {
    const auto pieces = read_fhir(text, piece, {1U << 20U, 16});
    ASSERT_THAT(pieces, SizeIs(whole.size()));
    for (std::size_t i = 0; i < whole.size(); ++i)
      EXPECT_TRUE(operator_equal(whole[i], pieces[i])) << i;
  }
}

TEST(FhirDamage, CutAnywhereTheRestIsUnreadableAndNothingElseIsLost) {
  const std::string first = request_with("");
  const std::string second =
      request_with(R"("dosageInstruction":[{"text":"50 mg","route":{"text":"IM"}}])");
  for (std::size_t cut = 1; cut < second.size(); ++cut) {
    const auto orders = read_fhir(first + "\n" + second.substr(0, cut));
    ASSERT_THAT(orders, SizeIs(2)) << cut;
    EXPECT_EQ(orders[0].kind, RecordKind::Order) << cut;
    EXPECT_EQ(orders[1].kind, RecordKind::Unreadable) << cut;
    EXPECT_THAT(orders[1].reason, HasSubstr("no JSON")) << cut;
    EXPECT_EQ(orders[1].place.line, 2U) << cut;
  }
}

TEST(FhirDamage, ALineThatIsCutEndsWithItsLine) {
  const std::string order = request_with("");
  for (std::size_t cut = 1; cut < order.size(); ++cut) {
    const auto orders = read_fhir(order.substr(0, cut) + "\n" + order + "\n");
    ASSERT_THAT(orders, SizeIs(2)) << cut;
    EXPECT_EQ(orders[0].kind, RecordKind::Unreadable) << cut;
    EXPECT_EQ(orders[1].kind, RecordKind::Order) << cut;
  }
}

struct Broken {
  std::string_view name;
  std::string text;
  std::string_view reason;
  std::string_view at;
};
class FhirBroken : public ::testing::TestWithParam<Broken> {};
TEST_P(FhirBroken, IsOneUnreadableLaneAndTheNextIsRead) {
  const auto orders = read_fhir(GetParam().text + "\n" + request_with(""));
  ASSERT_THAT(orders, SizeIs(2));
  EXPECT_EQ(orders[0].kind, RecordKind::Unreadable);
  EXPECT_THAT(orders[0].reason, HasSubstr(std::string(GetParam().reason)));
  EXPECT_EQ(orders[0].place.at, GetParam().at);
  EXPECT_EQ(orders[1].kind, RecordKind::Order);
}
INSTANTIATE_TEST_SUITE_P(
    Of, FhirBroken,
    ::testing::Values(
        Broken{"NoType", R"({"id":"x"})", "does not say what it is (resourceType)", ""},
        Broken{"Comma", R"({"resourceType":"MedicationRequest",,"id":"x"})", "no JSON",
               "MedicationRequest"},
        Broken{"Stray", "hello", "a JSON object is needed here", ""},
        Broken{"NoMedicine", R"({"resourceType":"MedicationRequest","status":"active"})",
               "the order names no medicine", "MedicationRequest"},
        Broken{"KeyTwice",
               R"({"resourceType":"MedicationRequest","status":"active","status":"stopped"})",
               "the key `status` stands twice", "MedicationRequest.status"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(FhirDamage, OneOfABundleIsNotTheOthers) {
  const std::string bundle =
      R"({"resourceType":"Bundle","entry":[{"resource":{"resourceType":"MedicationRequest",)"
      R"("id":"a","id":"b"}},{"resource":)" +
      request_with("") + R"(},{"resource":{"resourceType":"Medication","id":"m","id":"n"}}]})";
  const auto orders = read_fhir(bundle);
  ASSERT_THAT(orders, SizeIs(3));
  EXPECT_EQ(orders[0].kind, RecordKind::Unreadable);
  EXPECT_EQ(orders[0].place.at, "Bundle.entry[0].resource.id");
  EXPECT_EQ(orders[1].kind, RecordKind::Order);
  EXPECT_EQ(orders[2].kind, RecordKind::Unreadable);  // a Medication that is not sure is not used
}

TEST(FhirDamage, ALongRecordIsUnreadableAndReadingGoesOn) {
  const std::string text =
      request_with("\"note\":[{\"text\":\"" + std::string(4000, 'x') + "\"}]") + "\n" +
      request_with("");
  const auto orders = read_fhir(text, 100, {2000, 256});
  ASSERT_THAT(orders, SizeIs(2));
  EXPECT_THAT(orders[0].reason, HasSubstr("the record is longer than"));
  EXPECT_EQ(orders[1].kind, RecordKind::Order);
}

TEST(FhirDamage, ListsOfResourcesAreReadThoughFhirHasNone) {
  EXPECT_THAT(read_fhir("[" + request_with("") + ",\n" + request_with("") + "]\n"), SizeIs(2));
  const auto open = read_fhir("[" + request_with(""));
  ASSERT_THAT(open, SizeIs(2));
  EXPECT_THAT(open[1].reason, HasSubstr("is not closed"));
  EXPECT_THAT(read_fhir("").front().reason, HasSubstr("empty"));
}

TEST(FhirDamage, EscapesAreUndoneAndNulIsInDoubt) {
  const auto orders = read_fhir(request_with(
      R"("dosageInstruction":[{"text":"give \"50 mg\" \u00e0 18 h"}],"authoredOn":"2026\u0000")"));
  EXPECT_THAT(
      orders[0].values,
      ::testing::Contains(HasSubstr("order.directions = 0.000000 give \"50 mg\" \xC3\xA0")));
  EXPECT_THAT(orders[0].doubts, ::testing::Contains(HasSubstr("NUL")));
}

// ---- places

std::string path_of(std::string_view text, std::string_view what) {
  const std::size_t at = text.find(what);
  JsonTree tree;
  EXPECT_TRUE(tree.parse(text));
  EXPECT_EQ(fhir_path_at(tree, at), fhir_path_at(text, at)) << what;
  return fhir_path_at(tree, at);
}

TEST(FhirPath, NamesElementsAsFhirDoes) {
  constexpr std::string_view kText =
      R"({"resourceType":"MedicationRequest","doseAndRate":[{"doseQuantity":{"value":11}},)"
      R"({"rateRatio":{"numerator":{"value":12}}}],"_authoredOn":{"id":"13"},)"
      R"("medicationCodeableConcept":{"text":"14"},"asNeededBoolean":true,"a b":15})";
  EXPECT_EQ(path_of(kText, "11"), "MedicationRequest.doseAndRate[0].dose.value");
  EXPECT_EQ(path_of(kText, "12"), "MedicationRequest.doseAndRate[1].rate.numerator.value");
  EXPECT_EQ(path_of(kText, "13"), "MedicationRequest.authoredOn.id");
  EXPECT_EQ(path_of(kText, "14"), "MedicationRequest.medication.text");
  EXPECT_EQ(path_of(kText, "true"), "MedicationRequest.asNeeded");
  EXPECT_EQ(path_of(kText, "15"), "MedicationRequest.`a b`");
  EXPECT_EQ(path_of(kText, "{"), "MedicationRequest");
}

TEST(FhirPlaces, OfALongBundleAreThoseOfAShortOne) {
  // The same order at the end of some 700 kB, on one line and on many.
  for (const std::string_view between : {",", ",\n"}) {
    std::string text = R"({"resourceType":"Bundle","entry":[)";
    for (int i = 0; i < 4000; ++i)
      text += R"({"resource":{"resourceType":"Patient","id":"p)" + std::to_string(i) +
              "\",\"name\":[{\"text\":\"\xC3\xA9" + std::string(120, 'x') + "\"}]}}" +
              std::string(between);
    const std::size_t at = text.size();
    text += R"({"resource":)" + request_with(R"("authoredOn":"2026-03-02")") + "}]}";
    const auto orders = read_fhir(text);
    ASSERT_THAT(orders, SizeIs(1));
    const std::size_t value = text.find("2026-03-02", at);
    const std::size_t line_start = text.rfind('\n', value) + 1;
    const auto lines = std::count(text.begin(), text.begin() + static_cast<long>(value), '\n');
    std::size_t column = 1;
    for (std::size_t i = line_start; i < value; ++i)
      column += (static_cast<unsigned char>(text[i]) & 0xC0U) != 0x80U ? 1 : 0;
    EXPECT_THAT(orders[0].fields,
                ::testing::Contains(
                    HasSubstr("`2026-03-02` at Bundle.entry[4000].resource.authoredOn " +
                              std::to_string(lines + 1) + ":" + std::to_string(column) + " ")));
  }
}

TEST(FhirPath, TreeAndTextAgreeAtEveryValueOfTheExamples) {
  for (const char* name : {"MedicationRequest-medrx0322", "MedicationDispense-meddisp0302"}) {
    const std::string text = fhir_example(name);
    JsonTree tree;
    ASSERT_TRUE(tree.parse(text));
    std::size_t values = 0;
    const auto walk = [&](const auto& self, Element element) -> void {
      for (Element child = element.first(); child.exists(); child = child.next()) {
        ++values;
        EXPECT_EQ(fhir_path_at(tree, child.begin()), fhir_path_at(text, child.begin()));
        self(self, child);
      }
    };
    walk(walk, tree.root());
    EXPECT_GT(values, 50U);
  }
}

}  // namespace
}  // namespace meniscus::adapters::fhir
