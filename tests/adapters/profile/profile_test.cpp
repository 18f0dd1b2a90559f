// Feed profiles: what is read, what is refused and where; drafts from orders.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/json/json_source.hpp"
#include "adapters/profile/learn.hpp"
#include "adapters/profile/profile.hpp"
#include "tests/support/orders_text.hpp"

namespace meniscus::adapters {
namespace {

using engine::FieldId;
using ::testing::HasSubstr;
using ::testing::SizeIs;

TEST(Profile, SaysWhatIsParticularToAFeed) {
  const ReadProfile read = read_profile(R"({
    "$schema": "https://example.org/feed-profile.schema.json", "_note": "free",
    "name": "Slatemoor clinic", "decimal": "comma", "date-order": "dmy", "time-zone": "-05:30",
    "never-carries": ["needle.gauge"], "ignore": ["pharmacy-note"],
    "hl7": [{"field": "syringe.capacity", "segment": "ZRX", "field-number": 3, "component": 2},
            {"field": "patient.weight", "observation": "29463-7"}],
    "translate": {"units": {"Einh": "units"}, "site": {"Bauch": "abdomen"}}})");
  ASSERT_TRUE(read.feed.has_value()) << describe(read.problems.front(), "p");
  const engine::Feed& feed = *read.feed;
  EXPECT_EQ(feed.name, "Slatemoor clinic");
  EXPECT_EQ(feed.decimal, engine::DecimalMark::Comma);
  EXPECT_EQ(feed.date_order, engine::DateOrder::Dmy);
  EXPECT_EQ(feed.offset_minutes, -330);
  EXPECT_TRUE(feed.never_carries.test(engine::index(FieldId::NeedleGauge)));
  EXPECT_TRUE(feed.ignored.contains("pharmacy-note"));
  ASSERT_THAT(feed.hl7, SizeIs(2));
  EXPECT_EQ(feed.hl7[0].segment, "ZRX");
  EXPECT_EQ(feed.hl7[0].component, 2);
  EXPECT_EQ(feed.hl7[1].segment, "OBX");
  EXPECT_EQ(feed.units.at("Einh"), "units");
  EXPECT_EQ(feed.words.at(FieldId::Site).at("Bauch"), "abdomen");
}

TEST(Profile, AnEmptyOneIsTheStrictDefault) {
  const ReadProfile read = read_profile("{}");
  ASSERT_TRUE(read.feed.has_value());
  EXPECT_EQ(read.feed->decimal, engine::DecimalMark::Point);
  EXPECT_EQ(read.feed->date_order, engine::DateOrder::Ymd);
  EXPECT_FALSE(read.feed->offset_minutes.has_value());
}

struct Mistake {
  std::string_view name;
  std::string_view text;
  std::string_view said;
};
class ProfileMistakes : public ::testing::TestWithParam<Mistake> {};
TEST_P(ProfileMistakes, AreSaidWithTheirPlaceAndTheProfileIsNotUsed) {
  const ReadProfile read = read_profile(GetParam().text);
  EXPECT_FALSE(read.feed.has_value());
  ASSERT_THAT(read.problems, SizeIs(1));
  EXPECT_EQ(describe(read.problems.front(), "f.json"), GetParam().said);
}
INSTANTIATE_TEST_SUITE_P(
    Of, ProfileMistakes,
    ::testing::Values(
        Mistake{"NoJson", "{\n \"name\": }",
                "f.json:2:10: error: this is no JSON: `}` where a value is needed"},
        Mistake{"NoObject", "[]", "f.json:1:1: error: a profile is an object"},
        Mistake{"UnknownKey", R"({"decimals": "comma"})",
                "f.json:1:14: error: unknown key `decimals`; is `decimal` meant? (/decimals)"},
        Mistake{"Decimal", R"({"decimal": ","})",
                "f.json:1:13: error: `point` or `comma` is needed (/decimal)"},
        Mistake{"DateOrder", R"({"date-order": "d/m/y"})",
                "f.json:1:16: error: `ymd`, `dmy` or `mdy` is needed (/date-order)"},
        Mistake{"ZoneName", R"({"time-zone": "Europe/London"})",
                "f.json:1:15: error: `Europe/London` is no offset from UTC; write it as `+01:00` "
                "(/time-zone)"},
        Mistake{"ZoneTooFar", R"({"time-zone": "+15:00"})",
                "f.json:1:15: error: `+15:00` is no offset from UTC; write it as `+01:00` "
                "(/time-zone)"},
        Mistake{"NoField", R"({"never-carries": ["dose", "needle.guage"]})",
                "f.json:1:28: error: `needle.guage` is no field; is `needle.gauge` meant? "
                "(/never-carries/1)"},
        Mistake{"IgnoredField", R"({"ignore": ["dose"]})",
                "f.json:1:13: error: `dose` is a field; a field is never ignored (/ignore/0)"},
        Mistake{
            "PlaceWithoutField", R"({"hl7": [{"segment": "ZRX", "field-number": 1}]})",
            "f.json:1:10: error: the place does not say which field it holds: `field` is needed "
            "(/hl7/0)"},
        Mistake{"HalfAPlace", R"({"hl7": [{"field": "dose", "segment": "ZRX"}]})",
                "f.json:1:10: error: a place is a `segment` with a `field-number`, or an "
                "`observation` (/hl7/0)"},
        Mistake{"Segment", R"({"hl7": [{"field": "dose", "segment": "zrx1", "field-number": 1}]})",
                "f.json:1:39: error: a segment is named by three letters, like `RXE` or `ZRX` "
                "(/hl7/0/segment)"},
        Mistake{"FieldNumber",
                R"({"hl7": [{"field": "dose", "segment": "ZRX", "field-number": 0}]})",
                "f.json:1:62: error: a number from 1 to 500 is needed (/hl7/0/field-number)"},
        Mistake{"UnitOfNothing", R"({"translate": {"dose": {"a": "b"}}})",
                "f.json:1:24: error: `dose` holds no word that could be translated "
                "(/translate/dose)"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(Profile, AllMistakesAreSaidInOneRun) {
  EXPECT_THAT(read_profile(R"({"decimal": 1, "date-order": 2, "what": 3})").problems, SizeIs(3));
}

TEST(Profile, ATranslationIntoAnUnknownUnitIsAMistake) {
  const ReadProfile read = read_profile(R"({"translate": {"units": {"Einh": "unidades"}}})");
  ASSERT_THAT(read.problems, SizeIs(1));
  EXPECT_EQ(read.problems.front().at, "/translate/units/Einh");
}

TEST(Profile, TranslationsAreCheckedAgainstTheRulesWords) {
  engine::Program program;
  program.vocabularies[engine::index(FieldId::Site)].add("abdomen", "abdomen");
  EXPECT_TRUE(read_profile(R"({"translate": {"site": {"x": "abdomen"}}})", &program).feed);
  const ReadProfile read = read_profile(R"({"translate": {"site": {"x": "abdomn"}}})", &program);
  ASSERT_THAT(read.problems, SizeIs(1));
  EXPECT_THAT(read.problems.front().message, HasSubstr("`abdomn` is no word"));
}

TEST(Profile, AFileThatIsNotThereIsAProblem) {
  const ReadProfile read = read_profile_file("/nonexistent/feed.json");
  ASSERT_THAT(read.problems, SizeIs(1));
  EXPECT_EQ(describe(read.problems.front(), "x"), "x: error: the file cannot be read");
}

TEST(LearnProfile, GivesADraftThatIsAProfile) {
  static const engine::Feed kFeed;
  const auto source = make_json_source(
      tests::input_of(
          "{\"order\":{\"id\":\"A-1\"},\"patient\":{\"id\":\"SM-0012\"},\"dose\":\"5 mg\","
          "\"site\":\"tummy\",\"volume\":\"0,25 mL\"}\n{broken\n"),
      {nullptr, &kFeed});
  ProfileLearner learner;
  engine::OrderBlock block;
  while (source->next(block))
    learner.add(block);
  EXPECT_EQ(learner.orders(), 1U);
  const std::string draft = learner.draft("Slatemoor");
  const ReadProfile read = read_profile(draft);
  ASSERT_TRUE(read.feed.has_value()) << draft;
  EXPECT_EQ(read.feed->name, "Slatemoor");
  EXPECT_TRUE(read.feed->never_carries.test(engine::index(FieldId::NeedleGauge)));
  EXPECT_FALSE(read.feed->never_carries.test(engine::index(FieldId::Dose)));
  EXPECT_FALSE(read.feed->never_carries.test(engine::index(FieldId::Volume)));
  EXPECT_FALSE(read.feed->never_carries.test(engine::index(FieldId::PatientAge)));
  EXPECT_THAT(draft, HasSubstr("tummy"));
  EXPECT_THAT(draft, HasSubstr("_unreadable"));
  EXPECT_EQ(draft.find("SM-0012"), std::string::npos);  // nothing about a patient
  EXPECT_EQ(draft.find("A-1"), std::string::npos);
}

}  // namespace
}  // namespace meniscus::adapters
