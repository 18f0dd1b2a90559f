// Lines of a history's export that say which ids are of one person, among orders.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "adapters/json/json_merge.hpp"
#include "adapters/json/json_source.hpp"
#include "tests/support/text_input.hpp"

namespace meniscus::adapters {
namespace {

using engine::RecordKind;
using ::testing::HasSubstr;

struct Read {
  RecordKind kind{};
  std::string patient;
  std::string former;
  std::string reason;
};

std::vector<Read> read(const std::string& text) {
  const engine::Feed feed;
  const auto source = make_json_source(testing::text_input(text), {nullptr, &feed});
  engine::OrderBlock block;
  std::vector<Read> all;
  while (source->next(block)) {
    for (unsigned lane = 0; lane < block.size(); ++lane) {
      const engine::RecordInfo& record = block.record(lane);
      all.push_back({record.kind, std::string(block.value(lane, engine::FieldId::PatientId).text),
                     std::string(record.former), record.reason});
    }
  }
  return all;
}

TEST(JsonMerge, StandsBetweenOrders) {
  const std::string order = R"({"patient.id":"SM-0012","dose":"50 mg"})";
  const std::vector<std::string> texts = {
      order + "\n" + merge_line("SM-0013", "SM-0012") + "\n" + order + "\n",
      order + merge_line("SM-0013", "SM-0012") + order,
      "[" + order + "," + merge_line("SM-0013", "SM-0012") + ",\n" + order + "]",
      order + "\n{ \"merge\" :\n {\"patient\": \"SM-0012\", \"former\": \"SM-0013\"}}\n" + order};
  for (const std::string& text : texts) {
    const auto all = read(text);
    ASSERT_EQ(all.size(), 3U) << text;
    EXPECT_EQ(all[0].kind, RecordKind::Order);
    EXPECT_EQ(all[1].kind, RecordKind::Merge) << all[1].reason;
    EXPECT_EQ(all[1].former, "SM-0013");
    EXPECT_EQ(all[1].patient, "SM-0012");
    EXPECT_EQ(all[2].patient, "SM-0012");
  }
}

TEST(JsonMerge, IdsComeBackAsTheyAre) {
  const std::string odd = "7 \"a\"\\\xC3\xA9";
  const auto all = read(merge_line(odd, "SM-0012"));
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].former, odd);
}

TEST(JsonMerge, WhatIsNoneIsSaid) {
  for (const char* const text :
       {R"({"merge":{"former":"SM-0013"}})", R"({"merge":{"former":"","patient":"SM-0012"}})",
        R"({"merge":{"former":7,"patient":"SM-0012"}})", R"({"merge":["SM-0013","SM-0012"]})",
        R"({"merge":{"former":"SM-0013","patient":"SM-0012"},"dose":"50 mg"})"}) {
    const auto all = read(text);
    ASSERT_EQ(all.size(), 1U) << text;
    EXPECT_EQ(all[0].kind, RecordKind::Unreadable) << text;
    EXPECT_THAT(all[0].reason, HasSubstr("a merge is written")) << text;
  }
  EXPECT_EQ(read(R"({"merge":{"former" "SM-0013"}})").at(0).kind, RecordKind::Unreadable);
}

}  // namespace
}  // namespace meniscus::adapters
