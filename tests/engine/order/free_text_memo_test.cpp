// A free text that is remembered says what it said when it was read.
//
// Checked against complete() without a memo, field by field, over texts of the forms that its own
// tests have (free text of medicines' names and directions; common practice).
#include "engine/order/free_text_memo.hpp"

#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <vector>

#include "engine/order/free_text.hpp"
#include "tests/support/table_vocabularies.hpp"

namespace meniscus::engine {
namespace {

const Program& words() {
  static const std::unique_ptr<const Program> kProgram = [] {
    auto made = std::make_unique<Program>();
    meniscus::testing::load_vocabularies(MENISCUS_SOURCE_DIR "/rules", *made);
    return made;
  }();
  return *kProgram;
}

/// One order whose name and directions stand in a record of their own.
struct Order {
  std::string record;
  OrderBlock block;

  void read(const ReadContext& context, const std::string& name, const std::string& directions,
            FreeTextMemo* memo) {
    record = "a record: " + name + "|" + directions;
    block.clear();
    const unsigned lane = block.add_lane();
    block.record(lane).text = record;
    const std::string_view all = record;
    const auto set = [&](FieldId field, std::size_t at, std::size_t size) {
      set_field(context, block, lane, field, all.substr(at, size),
                {static_cast<std::uint32_t>(at), static_cast<std::uint32_t>(size)});
    };
    set(FieldId::SubstanceName, 10, name.size());
    set(FieldId::OrderDirections, 11 + name.size(), directions.size());
    if (memo == nullptr) {
      complete(context, block, lane);
    } else {
      complete(context, block, lane, *memo);
    }
  }
  /// All that is set, for comparing.
  [[nodiscard]] std::vector<std::string> summary() const {
    std::vector<std::string> out;
    for (const FieldInfo& field : fields()) {
      if ((block.column(field.id).present & 1U) == 0) continue;
      const Value value = block.value(0, field.id);
      const Origin origin = block.origin(0, field.id);
      out.push_back(std::string(field.name) + " " + std::to_string(value.number) + " " +
                    std::to_string(value.aux) + " " + std::string(value.text) + " <" +
                    std::string(block.written(0, field.id)) + "> " + std::to_string(origin.offset) +
                    "+" + std::to_string(origin.length));
    }
    for (const Doubt& doubt : block.doubts())
      out.push_back(doubt.reason + " <" + doubt.written + ">");
    return out;
  }
};

const std::vector<std::string> kNames = {"Testosterone cypionate 200 mg/mL", "insulin U-100 pen",
                                         "Methotrexate 25 mg/mL intramuscular",
                                         "adalimumab 40 mg/0.8 mL prefilled syringe"};
const std::vector<std::string> kDirections = {
    "Inject 0.25 mL under the skin once a week", "50 mg biweekly into the left thigh",
    "inject 1 mg/kg IM every 2 weeks, right deltoid", "875/125 mg twice daily",
    "Inject 15 mg, methotrexate 25 mg weekly and testosterone cypionate 50 mg"};

TEST(FreeTextMemo, SaysWhatReadingSays) {
  const Feed feed;
  const ReadContext context{&words(), &feed};
  FreeTextMemo memo;
  Order with;
  Order without;
  for (int turn = 0; turn < 3; ++turn) {
    for (const std::string& name : kNames) {
      for (const std::string& directions : kDirections) {
        const std::string padding(static_cast<std::size_t>(turn) * 7, ' ');  // moves the places
        with.read(context, name, padding + directions, &memo);
        without.read(context, name, padding + directions, nullptr);
        EXPECT_EQ(with.summary(), without.summary()) << name << "; " << directions;
        EXPECT_GT(with.summary().size(), 2U);
      }
    }
  }
}

TEST(FreeTextMemo, WhichMedicineIsTheOrdersOwnCounts) {
  const Feed feed;
  const ReadContext context{&words(), &feed};
  FreeTextMemo memo;
  const std::string text = "0.6 mL weekly, methotrexate 15 mg";
  EXPECT_TRUE(memo.read(context, text, TextRole::Directions, "methotrexate").amount.clear());
  EXPECT_TRUE(memo.read(context, text, TextRole::Directions, "enoxaparin").amount.empty());
  EXPECT_TRUE(memo.read(context, text, TextRole::Directions, "methotrexate").amount.clear());
}

TEST(FreeTextMemo, OneTextAsANameAndAsDirections) {
  const Feed feed;
  const ReadContext context{&words(), &feed};
  FreeTextMemo memo;
  Order with;
  Order without;
  for (int turn = 0; turn < 3; ++turn) {
    const std::string text = "2 mL pen 50 mg";
    with.read(context, text, text, &memo);
    without.read(context, text, text, nullptr);
    EXPECT_EQ(with.summary(), without.summary());
  }
}

TEST(FreeTextMemo, MoreTextsThanItHolds) {
  const Feed feed;
  const ReadContext context{&words(), &feed};
  FreeTextMemo memo;
  Order with;
  Order without;
  for (std::size_t i = 0; i < 3 * FreeTextMemo::kEntries; ++i) {
    const std::string name = "Testosterone " + std::to_string(i % 700 + 1) + " mg/mL";
    const std::string directions = "Inject " + std::to_string(i % 5 + 1) + " mL weekly";
    with.read(context, name, directions, &memo);
    without.read(context, name, directions, nullptr);
    ASSERT_EQ(with.summary(), without.summary()) << i;
  }
}

TEST(FreeTextMemo, ALongTextIsReadEachTime) {
  const Feed feed;
  const ReadContext context{&words(), &feed};
  FreeTextMemo memo;
  const std::string text = "inject 50 mg " + std::string(FreeTextMemo::kLongest, 'x');
  const FreeText said = memo.read(context, text, TextRole::Directions);
  ASSERT_TRUE(said.amount.clear());
  EXPECT_EQ(said.amount.written().data(), text.data() + 7);
}

}  // namespace
}  // namespace meniscus::engine
