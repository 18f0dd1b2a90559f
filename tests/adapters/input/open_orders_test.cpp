// Formats by content, inputs one after another, patterns.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/input/open_orders.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "tests/support/orders_text.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::HasSubstr;
using ::testing::SizeIs;

TEST(DetectFormat, ByWhatTheFirstBytesHold) {
  EXPECT_EQ(detect_format("{\"order\":"), Format::Json);
  EXPECT_EQ(detect_format("\xEF\xBB\xBF \n [ {"), Format::Json);
  EXPECT_EQ(detect_format("MSH|^~\\&|"), Format::Hl7);
  EXPECT_EQ(detect_format("\x0BMSH|^~\\&|"), Format::Hl7);
  EXPECT_EQ(detect_format("FHS|^~\\&|"), Format::Hl7);
  EXPECT_EQ(detect_format("order.id,dose\n1,2"), Format::Csv);
  EXPECT_EQ(detect_format("\"note\";\"needle.gauge\"\n"), Format::Csv);
  EXPECT_EQ(detect_format("Order.ID,Dose\n1,2"), Format::Csv);
  EXPECT_EQ(detect_format("sep=;\r\norder.id;dose\r\n1;2"), Format::Csv);
  EXPECT_EQ(detect_format("sep=;\r\nwhat;ever\r\n1;2"), Format::Auto);
  EXPECT_EQ(detect_format("hello, world"), Format::Auto);
  EXPECT_EQ(detect_format(""), Format::Auto);
  EXPECT_EQ(detect_format("{\"resourceType\":\"Bundle\""), Format::Fhir);
  EXPECT_EQ(detect_format("[ {\n \"id\": \"x\",\n \"resourceType\" : \"Bundle\""), Format::Fhir);
  // Within the first resource is near enough; the words in a text are not.
  EXPECT_EQ(detect_format(R"({"entry":[{"resource":{"resourceType":"Patient"}}]})"), Format::Fhir);
  EXPECT_EQ(detect_format(R"({"order.directions":"\"resourceType\": no"})"), Format::Json);
  EXPECT_EQ(detect_format(R"({"resourceType" )"), Format::Json);
}

const engine::Feed kFeed;
const engine::ReadContext kContext{nullptr, &kFeed};

TEST(OpenOrders, TakesTheReaderThatFits) {
  for (const std::string_view text : {"{\"order\":{\"id\":\"A-1\"}}", "order.id\nA-1\n"}) {
    for (const std::size_t piece : {std::size_t{1}, std::string::npos}) {
      auto opened = open_orders(tests::input_of(text, piece), Format::Auto, kContext);
      ASSERT_TRUE(opened) << opened.error().message;
      const auto orders = tests::read_all(*opened->source);
      ASSERT_THAT(orders, SizeIs(1));
      EXPECT_THAT(orders[0].values, ::testing::ElementsAre(HasSubstr("A-1")));
    }
  }
}

TEST(OpenOrders, WaitsForTheKeyThatTellsFhirFromJson) {
  const std::string fhir = R"({"id":"rx1","status":"active","resourceType":"MedicationRequest"})";
  for (const std::size_t piece : {std::size_t{1}, std::size_t{20}, std::string::npos}) {
    const auto opened = open_orders(tests::input_of(fhir, piece), Format::Auto, kContext);
    ASSERT_TRUE(opened);
    EXPECT_EQ(opened->format, Format::Fhir);
  }
  // A key of our own settles it: the bytes that follow are not waited for.
  const auto own = open_orders(tests::input_of("{\"order\":{}} {\"resourceType\":1}", 9),
                               Format::Auto, kContext);
  ASSERT_TRUE(own);
  EXPECT_EQ(own->format, Format::Json);
}

TEST(OpenOrders, WhatNoReaderKnowsIsAnError) {
  const auto opened = open_orders(tests::input_of("hello"), Format::Auto, kContext);
  ASSERT_FALSE(opened);
  EXPECT_THAT(opened.error().message, HasSubstr("--from"));
}

TEST(OpenOrders, AFileThatIsNotThereIsAnError) {
  const auto opened = open_orders("/nonexistent/orders.json", Format::Auto, 0, kContext);
  ASSERT_FALSE(opened);
  EXPECT_THAT(opened.error().message, HasSubstr("/nonexistent/orders.json"));
  EXPECT_FALSE(open_orders("/", Format::Auto, 0, kContext));
}

TEST(Re2Patterns, FindAnywhereOrSayWhatIsWrong) {
  const auto pattern = re2_patterns()("(^|[^0-9])[.][0-9]");
  ASSERT_TRUE(pattern);
  EXPECT_TRUE((*pattern)->found_in("give .5 mg"));
  EXPECT_FALSE((*pattern)->found_in("give 0.5 mg"));
  const auto broken = re2_patterns()("[0-9");
  ASSERT_FALSE(broken);
  EXPECT_EQ(broken.error().code, engine::Errc::Syntax);
}

}  // namespace
}  // namespace meniscus::adapters
