// How often, from when, until when: the datatype Timing.
//
// Checked against: FHIR R4, datatypes, Timing: the rows of its table of examples (from memory, but
//          for BID, which the value set timing-abbreviation defines) and the definitions of
//          its elements; the same order in the project's own JSON.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/adapters/fhir/fhir_reading.hpp"

namespace meniscus::adapters::fhir {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using testing::read_fhir;
using testing::read_own;
using testing::request_with;
using ::testing::StartsWith;

tests::ReadOrder read_timing(std::string_view timing) {
  return read_fhir(
             request_with(R"("dosageInstruction":[{"timing":{)" + std::string(timing) + "}}]"))
      .front();
}

struct Said {
  std::string_view name;
  std::string_view timing;
  std::string_view schedule;
};
class FhirTimings : public ::testing::TestWithParam<Said> {};
TEST_P(FhirTimings, AreSchedules) {
  const auto order = read_timing(GetParam().timing);
  const auto own = read_own("{\"schedule\":{" + std::string(GetParam().schedule) + "}}");
  for (const std::string& value : own.values)
    EXPECT_THAT(order.values, Contains(value));
  EXPECT_THAT(order.doubts, IsEmpty());
}
INSTANTIATE_TEST_SUITE_P(
    Of, FhirTimings,
    ::testing::Values(
        Said{"TwiceADay", R"("repeat":{"frequency":2,"period":1,"periodUnit":"d"})",
             R"("every":"1 d","times":2)"},
        Said{"Every8Hours", R"("repeat":{"frequency":1,"period":8,"periodUnit":"h"})",
             R"("every":"8 h")"},
        Said{"Every7Days", R"("repeat":{"frequency":1,"period":7,"periodUnit":"d"})",
             R"("every":"7 d")"},
        Said{"NoFrequencyIsOne", R"("repeat":{"period":2,"periodUnit":"wk"})", R"("every":"2 wk")"},
        Said{"Months", R"("repeat":{"frequency":1,"period":3,"periodUnit":"mo"})",
             R"("every":"3 mo")"},
        Said{"DaysOfAWeek",
             R"("repeat":{"period":1,"periodUnit":"d","dayOfWeek":["mon","wed","fri"]})",
             R"("every":"1 wk","times":3)"},
        Said{"DaysThatAreTheFrequency",
             R"("repeat":{"frequency":2,"period":1,"periodUnit":"wk","dayOfWeek":["tue","thu"]})",
             R"("every":"1 wk","times":2)"},
        Said{"TimesOfTheDay",
             R"("repeat":{"period":1,"periodUnit":"d","timeOfDay":["08:00:00","20:00:00"]})",
             R"("every":"1 d","times":2)"},
        Said{"Once", R"("repeat":{"count":1})", R"("every":null)"},
        Said{"Bid", R"("code":{"coding":[{"code":"BID"}]})", R"("every":"1 d","times":2)"},
        Said{"CodeBesideTheSameRepeat",
             R"("code":{"coding":[{"code":"Q6H"}]},)"
             R"("repeat":{"frequency":4,"period":1,"periodUnit":"d"})",
             R"("every":"6 h")"},
        Said{"Weekly", R"("code":{"coding":[{"code":"WK"}]})", R"("every":"1 wk")"},
        Said{"OneDate", R"("event":["2026-03-02"])", R"("every":null,"start":"2026-03-02")"},
        Said{"Bounds",
             R"("repeat":{"frequency":1,"period":1,"periodUnit":"wk",)"
             R"("boundsPeriod":{"start":"2026-03-02","end":"2026-05-25"}})",
             R"("every":"1 wk","start":"2026-03-02","end":"2026-05-25")"}),
    [](const auto& info) { return std::string(info.param.name); });

struct Unclear {
  std::string_view name;
  std::string_view timing;
  std::string_view doubt;
};
class FhirUnclearTimings : public ::testing::TestWithParam<Unclear> {};
TEST_P(FhirUnclearTimings, AreInDoubt) {
  const auto order = read_timing(GetParam().timing);
  EXPECT_THAT(order.doubts, Contains("schedule.every: " + std::string(GetParam().doubt)));
  EXPECT_THAT(order.values, Contains(StartsWith("schedule.every = missing")));
}
INSTANTIATE_TEST_SUITE_P(
    Of, FhirUnclearTimings,
    ::testing::Values(
        Unclear{"Range", R"("repeat":{"frequency":1,"period":4,"periodMax":6,"periodUnit":"h"})",
                "the interval is a range"},
        Unclear{"FrequencyRange",
                R"("repeat":{"frequency":1,"frequencyMax":2,"period":1,"periodUnit":"d"})",
                "the interval is a range"},
        Unclear{"NoUnit", R"("repeat":{"frequency":1,"period":4})", "the period has no unit"},
        Unclear{"OddUnit", R"("repeat":{"frequency":1,"period":4,"periodUnit":"weeks"})",
                "`weeks` is no unit of a period of FHIR"},
        Unclear{"NoPeriod", R"("repeat":{"frequency":4})", "a frequency without a period"},
        Unclear{"HalfADose", R"("repeat":{"frequency":1.5,"period":1,"periodUnit":"d"})",
                "the frequency is no whole number"},
        Unclear{"Bedtime", R"("repeat":{"when":["HS"]})", "an event of the day without a period"},
        Unclear{"ThreeDaysTwice",
                R"("repeat":{"frequency":2,"period":1,"periodUnit":"wk",)"
                R"("dayOfWeek":["mon","wed","fri"]})",
                "the days of the week do not fit the frequency"},
        Unclear{"CodeAgainstRepeat",
                R"("code":{"coding":[{"code":"BID"}]},)"
                R"("repeat":{"frequency":1,"period":1,"periodUnit":"d"})",
                "the code of the timing and its repeat differ"},
        Unclear{"Dates", R"("event":["2026-03-02","2026-03-09"])",
                "its dates are listed one by one"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(FhirTiming, AsNeeded) {
  const auto needed = [](std::string_view member) {
    return read_fhir(request_with("\"dosageInstruction\":[{" + std::string(member) + "}]")).front();
  };
  EXPECT_THAT(needed(R"("asNeededBoolean":true)").values,
              Contains(StartsWith("schedule.as-needed = 1")));
  EXPECT_THAT(needed(R"("asNeededBoolean":false)").values,
              Contains(StartsWith("schedule.as-needed = 0")));
  EXPECT_THAT(needed(R"("asNeededCodeableConcept":{"text":"pain"})").values,
              Contains(StartsWith("schedule.as-needed = 1")));
  EXPECT_THAT(needed(R"("text":"x")").values, Not(Contains(HasSubstr("as-needed"))));
}

}  // namespace
}  // namespace meniscus::adapters::fhir
