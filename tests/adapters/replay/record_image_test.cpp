// A record comes out of its image as it went in: every field, list and doubt.
#include "adapters/replay/record_image.hpp"

#include <gtest/gtest.h>

#include <string>

#include "adapters/json/json_source.hpp"
#include "tests/support/orders_text.hpp"

namespace meniscus::adapters::replay {
namespace {

/// What a lane holds, without places.
std::vector<std::string> texts_of(const engine::OrderBlock& block, unsigned lane) {
  std::vector<std::string> texts;
  for (const engine::FieldInfo& field : engine::fields()) {
    if ((block.column(field.id).present >> lane & 1U) == 0) continue;
    texts.push_back(tests::describe_field(block, lane, field) + " `" +
                    std::string(block.written(lane, field.id)) + "`");
  }
  for (const engine::Doubt& doubt : block.doubts()) {
    if (doubt.lane == lane)
      texts.push_back(std::string(engine::info(doubt.field).name) + "? " + doubt.reason + " `" +
                      doubt.written + "`");
  }
  texts.push_back(block.record(lane).reason + " " + std::to_string(block.record(lane).line));
  return texts;
}

constexpr std::string_view kOrders =
    R"({"order":{"id":"A-102","action":"new","placed":"2026-03-02T09:14:00+01:00","directions":"Inject 0.25 mL under the skin once a week"},"patient":{"id":"SM-0012","born":"1988-04-02","weight":"71 kg","allergies":["sesame-oil","latex"]},"substance":{"code":"testosterone-cypionate","vehicle":"cottonseed-oil"},"dose":"50 mg","strength":"200 mg/mL","volume":"0.25 mL","needle":{"gauge":"25 G","length":"5/8 in"},"vial":{"opened":null},"schedule":{"every":"1 wk"}}
{"order":{"id":"A-103"},"dose":"0,25 mg","volume":1e309,"patient":{"id":"SM-0012","allergies":[]},"components":[{"substance":"x","dose":"1 mg"},{"substance":"y","volume":"2 mL"}]}
{"order":
{"order":{"id":"A-105","action":"given","given":"2026-03-02"},"dose":{"value":5,"unit":"mg"},"substance":{"name":"Enoxaparin 80mg/0.8mL Injectable Solution"}}
)";

TEST(RecordImage, GivesBackEveryField) {
  const engine::Feed feed;
  const auto source = make_json_source(tests::input_of(kOrders), {nullptr, &feed});
  engine::OrderBlock read;
  ASSERT_TRUE(source->next(read));
  ASSERT_EQ(read.size(), 4U);
  std::string images;
  for (unsigned lane = 0; lane < read.size(); ++lane) {
    ImageHead head;
    head.line = read.record(lane).line;
    append_image(read, lane, head, images);
  }
  engine::OrderBlock opened;
  for (std::string_view rest = images; !rest.empty(); rest.remove_prefix(head_of(rest).size))
    open_image(rest.substr(0, head_of(rest).size), opened);
  ASSERT_EQ(opened.size(), read.size());
  for (unsigned lane = 0; lane < read.size(); ++lane) {
    EXPECT_EQ(texts_of(opened, lane), texts_of(read, lane));
    EXPECT_EQ(opened.record(lane).kind, read.record(lane).kind);
  }
  EXPECT_GT(texts_of(read, 0).size(), 15U) << "there was something to lose";
}

TEST(RecordImage, KnowsARecordThatComesAgain) {
  const engine::Feed feed;
  const std::string text = R"({"order":{"id":"A-1"},"dose":"5 mg"})"
                           "\n"
                           R"({ "dose" : "5 mg", "order" : {"id":"A-1"} })"
                           "\n"
                           R"({"order":{"id":"A-1"},"dose":"6 mg"})"
                           "\n";
  const auto source = make_json_source(tests::input_of(text), {nullptr, &feed});
  engine::OrderBlock read;
  ASSERT_TRUE(source->next(read));
  std::vector<std::uint64_t> contents;
  for (unsigned lane = 0; lane < 3; ++lane) {
    std::string image;
    append_image(read, lane, {}, image);
    contents.push_back(head_of(image).content);
  }
  EXPECT_EQ(contents[0], contents[1]) << "its layout does not matter";
  EXPECT_NE(contents[0], contents[2]);
}

}  // namespace
}  // namespace meniscus::adapters::replay
