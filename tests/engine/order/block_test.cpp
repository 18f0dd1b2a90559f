// A block of orders: what is set is read back, and nothing outlives clear().
//
// Checked against: the contract in engine/order/order_block.hpp.
#include "engine/order/order_block.hpp"

#include <gtest/gtest.h>

namespace meniscus::engine {
namespace {

TEST(OrderBlock, HoldsWhatWasSet) {
  OrderBlock block;
  const unsigned lane = block.add_lane();
  block.set(lane, FieldId::Volume, Value::quantity(250, dim::kVolume), "0.25 mL", {10, 7}, true);
  const Value value = block.value(lane, FieldId::Volume);
  EXPECT_TRUE(value.known());
  EXPECT_EQ(value.number, 250);
  EXPECT_EQ(value.aux, dim::kVolume.bits());
  EXPECT_EQ(block.written(lane, FieldId::Volume), "0.25 mL");
  EXPECT_EQ(block.origin(lane, FieldId::Volume), (Origin{10, 7}));
  EXPECT_TRUE(block.from_text(lane, FieldId::Volume));
  EXPECT_EQ(block.value(lane, FieldId::Dose).state, State::Missing);
  EXPECT_EQ(block.written(lane, FieldId::Dose), "");
  EXPECT_FALSE(block.from_text(lane, FieldId::Dose));
}

TEST(OrderBlock, KnowsWhatWasWrittenInTheRecordAndApartFromIt) {
  const std::string record = R"({"volume":"0.25 mL"})";
  const std::string unescaped = "0.25 mL";
  OrderBlock block;
  const unsigned lane = block.add_lane();
  block.record(lane).text = record;
  const Value value = Value::quantity(250, dim::kVolume);
  const std::string_view inside = std::string_view(record).substr(11, 7);
  block.set_known(lane, FieldId::Volume, value, inside, {11, 7});
  EXPECT_EQ(block.written(lane, FieldId::Volume).data(), inside.data());
  EXPECT_EQ(block.written(lane, FieldId::Volume).size(), inside.size());
  block.set(lane, FieldId::Volume, value, unescaped, {10, 9});
  EXPECT_EQ(block.written(lane, FieldId::Volume).data(), unescaped.data());
  block.set(lane, FieldId::Volume, value, inside, {11, 7});
  EXPECT_EQ(block.written(lane, FieldId::Volume).data(), inside.data());
  block.set(lane, FieldId::Dose, value, unescaped, {0, 0});
  block.reopen_last_lane();
  block.set_known(lane, FieldId::Dose, value, inside, {11, 7});
  EXPECT_EQ(block.written(lane, FieldId::Dose).data(), inside.data());
  block.set(lane, FieldId::Route, Value::none(), {}, {400, 0});
  EXPECT_EQ(block.written(lane, FieldId::Route), "");
}

TEST(OrderBlock, NoneIsNotMissing) {
  OrderBlock block;
  const unsigned lane = block.add_lane();
  block.set(lane, FieldId::VialOpened, Value::none(), "null", {3, 4});
  EXPECT_EQ(block.value(lane, FieldId::VialOpened).state, State::None);
  block.set(lane, FieldId::VialOpened, Value::date({86400}), "1970-01-02", {3, 12});
  EXPECT_EQ(block.value(lane, FieldId::VialOpened).state, State::Known);
}

TEST(OrderBlock, DoubtLeavesTheFieldMissingAndKeepsItsText) {
  OrderBlock block;
  const unsigned lane = block.add_lane();
  block.set(lane, FieldId::Dose, Value::quantity(5, dim::kMass), "5 mg", {1, 4});
  block.doubt(lane, FieldId::Dose, "two ways to read it", "0,25 mg", {20, 7});
  EXPECT_EQ(block.value(lane, FieldId::Dose).state, State::Missing);
  EXPECT_EQ(block.written(lane, FieldId::Dose), "0,25 mg");
  EXPECT_EQ(block.origin(lane, FieldId::Dose), (Origin{20, 7}));
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_EQ(block.doubts()[0].lane, lane);
  EXPECT_EQ(block.doubts()[0].field, FieldId::Dose);
  EXPECT_EQ(block.doubts()[0].written, "0,25 mg");
}

TEST(OrderBlock, AbsentFieldsPointAtTheirObject) {
  OrderBlock block;
  block.add_lane();
  const unsigned lane = block.add_lane();
  block.set_absent_place(lane, FieldId::NeedleGauge, {40, 0});
  EXPECT_EQ(block.origin(lane, FieldId::NeedleGauge), (Origin{40, 0}));
  EXPECT_EQ(block.origin(0, FieldId::NeedleGauge), Origin{});
  EXPECT_EQ(block.origin(lane, FieldId::NeedleLength), Origin{});
  block.set(lane, FieldId::NeedleGauge, Value::quantity(25, dim::kNumber), "25 G", {50, 4});
  EXPECT_EQ(block.origin(lane, FieldId::NeedleGauge), (Origin{50, 4}));
}

TEST(OrderBlock, FillsAllLanes) {
  OrderBlock block;
  for (unsigned i = 0; i < kLanes; ++i) {
    ASSERT_FALSE(block.full());
    ASSERT_EQ(block.add_lane(), i);
    ASSERT_EQ(std::popcount(block.lanes()), static_cast<int>(i + 1));
    block.set(i, FieldId::Dose, Value::quantity(i, dim::kMass), "", {});
  }
  EXPECT_TRUE(block.full());
  for (unsigned i = 0; i < kLanes; ++i)
    EXPECT_EQ(block.value(i, FieldId::Dose).number, i);
}

TEST(OrderBlock, ClearForgetsEverythingAndKeepsCapacity) {
  OrderBlock block;
  const unsigned lane = block.add_lane();
  block.set(lane, FieldId::Dose, Value::quantity(5, dim::kMass), "5 mg", {1, 4}, true);
  block.set(lane, FieldId::VialOpened, Value::none(), "", {});
  block.doubt(lane, FieldId::Volume, "why", "x", {});
  block.set_absent_place(lane, FieldId::Site, {9, 0});
  block.set_message_date(lane, {86400});
  block.record(lane).reason = "unreadable";
  block.record(lane).kind = RecordKind::Unreadable;
  const char* const kept =
      block.keep("a text that is long enough not to sit inside the string").data();
  block.clear();
  EXPECT_EQ(block.size(), 0U);
  EXPECT_EQ(block.lanes(), 0U);
  ASSERT_EQ(block.add_lane(), lane);
  for (const FieldInfo& field : fields()) {
    EXPECT_EQ(block.value(lane, field.id).state, State::Missing) << field.name;
    EXPECT_EQ(block.written(lane, field.id), "") << field.name;
    EXPECT_EQ(block.origin(lane, field.id), Origin{}) << field.name;
    EXPECT_FALSE(block.from_text(lane, field.id)) << field.name;
  }
  EXPECT_TRUE(block.doubts().empty());
  EXPECT_EQ(block.message_date(lane).state, State::Missing);
  EXPECT_EQ(block.record(lane).kind, RecordKind::Order);
  EXPECT_TRUE(block.record(lane).reason.empty());
  EXPECT_EQ(block.keep("the same bytes are used again for this text, no more").data(), kept);
}

TEST(OrderBlock, KeptTextStaysWhileMoreIsKept) {
  OrderBlock block;
  std::vector<std::string_view> kept;
  for (int i = 0; i < 1000; ++i)
    kept.push_back(block.keep("text number " + std::to_string(i)));
  for (int i = 0; i < 1000; ++i)
    ASSERT_EQ(kept[static_cast<std::size_t>(i)], "text number " + std::to_string(i));
}

TEST(OrderBlock, ListsShareOneStore) {
  OrderBlock block;
  std::vector<ListItem> first(2);
  first[0].written = "sesame-oil";
  first[1].written = "latex";
  std::vector<ListItem> second(1);
  second[0].written = "5 mg";
  const std::uint64_t a = block.add_items(first);
  const std::uint64_t b = block.add_items(second);
  const std::uint64_t none = block.add_items({});
  EXPECT_EQ(OrderBlock::item_count(a), 2U);
  EXPECT_EQ(OrderBlock::item_count(b), 1U);
  EXPECT_EQ(OrderBlock::item_count(none), 0U);
  EXPECT_EQ(block.items(a)[1].written, "latex");
  EXPECT_EQ(block.items(b)[0].written, "5 mg");
}

TEST(OrderBlock, MessageDateByLane) {
  OrderBlock block;
  block.add_lane();
  block.add_lane();
  block.set_message_date(1, {172800});
  EXPECT_EQ(block.message_date(0).state, State::Missing);
  EXPECT_EQ(block.message_date(1).number, 172800);
}

}  // namespace
}  // namespace meniscus::engine
