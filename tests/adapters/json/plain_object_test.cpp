// The quick road through a record and the thorough one read the same.
//
// How:  a key that starts with `_` is passed over and is not of the plain shape, so that a record
//       that has one is read by simdjson: the reference.  Blanks stand between it and the rest, so
//       that no shown line has it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/json/json_source.hpp"
#include "adapters/json/plain_object.hpp"
#include "adapters/support/chunk_buffer.hpp"
#include "tests/support/orders_text.hpp"

namespace meniscus::adapters {
namespace {

using tests::ReadOrder;

constexpr std::size_t kShown = 120;  // more than the line around a place that is shown

/// One order whose last `}` is moved away from what stands before it.
std::string padded(std::string_view record, std::string_view last_member) {
  std::string text(record.substr(0, record.size() - 1));
  text.append(kShown, ' ').append(last_member).append("}\n");
  return text;
}

/// Read twice, so that keys and values are known the second time.
std::vector<ReadOrder> read_twice(const std::string& record) {
  return tests::read_text(make_json_source, record + record, std::string::npos, JsonLimits{});
}

void expect_same(std::string_view record) {
  const auto quick = read_twice(padded(record, ""));
  const auto thorough = read_twice(padded(record, record.size() > 2 ? ",\"_\":0" : "\"_\":0"));
  ASSERT_EQ(quick.size(), thorough.size()) << record;
  for (std::size_t i = 0; i < quick.size(); ++i) {
    ASSERT_EQ(quick[i].kind, thorough[i].kind) << record;
    if (quick[i].kind == engine::RecordKind::Unreadable) continue;
    EXPECT_EQ(quick[i].fields, thorough[i].fields) << record;
    EXPECT_EQ(quick[i].doubts, thorough[i].doubts) << record;
  }
}

const std::vector<std::string>& records() {
  static const std::string kUsual =
      R"({"order":{"id":"A-102","action":"new","placed":"2026-03-02T09:14:00+01:00"},)"
      R"("patient":{"id":"SM-0012","born":"1988-04-02","weight":"71 kg","allergies":["sesame",)"
      R"("peanut"]},"dose":"50 mg","strength":"200 mg/mL","volume":"0.25 mL","site":"abdomen"})";
  static const std::string kLiterals =
      R"({"order":{"id":"A-103"},"needle":{"gauge":25,"length":"5/8 in"},"draw-needle":null,)"
      R"("self-injected":true,"syringe":{"capacity":"1 mL","needle":null},"injections":2,)"
      R"("supply":{"vials":1,"doses":12}, "order.indication" : "a \"quoted\" word" })";
  static const std::string kNested =
      R"({"order.id":"A-104","volume":{"value":0.25,"unit":"mL"},"vial":{"opened":null},)"
      R"("patient":{"allergies":[]},"schedule":{"every":"1 wk","times":1e0,)"
      R"("text":"w\u00f6chentlich","steps":[{"dose":"5 mg","for":"4 wk"}]},)"
      R"("more-sites":["thigh"],"marks":-0.5})";
  static const std::string kWrong =
      R"({"order":{"id":"A-105"},"volume":1,"volume":2,"syringe":{"capacity":true,)"
      R"("graduation":[]},"needle":"25 G","gauge":"25 G","dose":"50-100 mg","dose-high":"1 g",)"
      R"("route":["oral"]})";
  static const std::string kNothing =
      R"({"order":{},"patient":{"id":""},"dose":"none","strength":" 200 mg/mL ","site":"none"})";
  static const std::vector<std::string> kRecords = {kUsual, kLiterals, kNested, kWrong, kNothing};
  return kRecords;
}

TEST(PlainObject, ReadsWhatTheThoroughRoadReads) {
  for (const std::string& record : records())
    expect_same(record);
}

TEST(PlainObject, TakesTheUsualRecordAndNoOddOne) {
  const engine::Feed feed;
  JsonTarget target({nullptr, &feed});
  PlainObject plain;
  engine::OrderBlock block;
  const auto size_of = [&](const std::string& record) {
    const std::string with_room = record + std::string(ChunkBuffer::kPadding, '\0');
    block.clear();
    target.start(block, block.add_lane(), std::string_view(with_room).substr(0, record.size()));
    return plain.read(target);
  };
  EXPECT_EQ(size_of(records()[0]), records()[0].size());
  EXPECT_EQ(size_of(R"({"volume":"0.25 mL"} )"), 20U);  // and not what follows it
  EXPECT_EQ(size_of(records()[1]), 0U);                 // an escape
  EXPECT_EQ(size_of(records()[2]), 0U);                 // a value as an object
  EXPECT_EQ(size_of(records()[3]), 0U);                 // a key twice
  EXPECT_EQ(size_of(R"({"volume":"0.25 mL")"), 0U);     // not closed
}

TEST(PlainObject, ReadsADamagedRecordAsTheThoroughRoadDoes) {
  constexpr std::string_view kBytes = "\"{}[],:\\ \t\n01.eE-+ntfalsu\x01\x7F\xC3\xA9";
  constexpr int kRounds = 4000;
  std::mt19937 random(20260301);  // NOLINT(cert-msc51-cpp): the same damage each time
  const auto below = [&](std::size_t bound) { return random() % bound; };
  for (int round = 0; round < kRounds; ++round) {
    std::string record = records()[below(records().size())];
    for (std::size_t damage = 1 + below(2); damage > 0; --damage) {
      const std::size_t at = 1 + below(record.size() - 2);
      switch (below(3)) {
        case 0:
          record[at] = kBytes[below(kBytes.size())];
          break;
        case 1:
          record.erase(at, 1);
          break;
        default:
          record.insert(at, 1, kBytes[below(kBytes.size())]);
          break;
      }
    }
    expect_same(record);
    if (::testing::Test::HasFailure()) return;
  }
}

/// Records of many shapes, as one feed may have them: fields and objects in any order, there or
/// not, with blanks or without.
class Shapes {
 public:
  std::string next() {
    std::vector<std::string> members;
    maybe(members, R"("dose":"50 mg")");
    maybe(members, R"("volume":"0.25 mL")");
    maybe(members, R"("route":null)");
    maybe(members, R"("injections":2)");
    if (often())
      maybe(members, group("needle", {R"("gauge":"25 G")", R"("length":"5/8 in")"}));
    else
      maybe(members, R"("needle.gauge":"25 G","needle.length":"5/8 in")");
    maybe(members, group("draw-needle", {R"("gauge":"19 G")"}));
    maybe(members, group("schedule", {R"("every":"1 wk")", R"("start":"2026-03-02")"}));
    maybe(members, group("patient", {R"("id":"SM-0012")", R"("allergies":["sesame"])"}));
    maybe(members, R"("supply":{"vials":1,"doses":12})");
    maybe(members, R"("syringe":null)");
    maybe(members, R"("vial":{})");
    maybe(members, R"("technique":"one-needle")");
    maybe(members, R"("syringe.capacity":"1 mL")");
    maybe(members, R"("stated.dose":"50 mg")");
    std::shuffle(members.begin(), members.end(), random_);
    members.insert(members.begin(), R"("order":{"id":"A-1"})");
    return joined(std::move(members), "{", "}");
  }

 private:
  bool often() { return random_() % 4 != 0; }
  void maybe(std::vector<std::string>& members, std::string member) {
    if (often()) members.push_back(std::move(member));
  }
  std::string group(std::string_view name, const std::vector<std::string>& all) {
    std::vector<std::string> members;
    for (const std::string& member : all)
      maybe(members, member);
    std::string text = "\"";
    return text.append(name).append("\":") + joined(std::move(members), "{", "}");
  }
  std::string joined(std::vector<std::string> members, std::string_view open,
                     std::string_view close) {
    std::string text(open);
    for (std::size_t i = 0; i < members.size(); ++i) {
      if (i > 0) text += often() ? "," : ", ";
      text += members[i];
    }
    return text.append(close);
  }

  std::mt19937 random_{20260302};  // NOLINT(cert-msc51-cpp): the same shapes each time
};

TEST(PlainObject, ReadsManyShapesOfOneFeedAsTheThoroughRoadDoes) {
  constexpr std::size_t kRecords = 3000;
  Shapes shapes;
  std::string quick;
  std::string thorough;
  for (std::size_t i = 0; i < kRecords; ++i) {
    const std::string record = shapes.next();
    quick += padded(record, "");
    thorough += padded(record, ",\"_\":0");
  }
  const auto one = tests::read_text(make_json_source, quick, std::string::npos, JsonLimits{});
  const auto other = tests::read_text(make_json_source, thorough, std::string::npos, JsonLimits{});
  ASSERT_EQ(one.size(), kRecords);
  ASSERT_EQ(other.size(), kRecords);
  for (std::size_t i = 0; i < kRecords; ++i) {
    ASSERT_EQ(one[i].fields, other[i].fields) << i;
    ASSERT_EQ(one[i].doubts, other[i].doubts) << i;
  }
}

TEST(PlainObject, TellsAFlatKeyFromOneInAnObject) {
  const std::string nested = R"({"order":{"id":"A-1"},"needle":{"gauge":"25 G","length":"1 in"}})";
  for (const std::string_view flat :
       {R"({"order":{"id":"A-2"},"needle.gauge":"25 G","length":"1 in"})",
        R"({"order":{"id":"A-2"},"needle.gauge":"25 G"}})",
        R"({"order":{"id":"A-2"},"needle.gauge":"25 G","needle.length":"1 in"}})"}) {
    const std::string text = nested + "\n" + nested + "\n" + std::string(flat) + "\n";
    const auto alone = tests::read_text(make_json_source, std::string(flat) + "\n",
                                        std::string::npos, JsonLimits{});
    const auto behind = tests::read_text(make_json_source, text, std::string::npos, JsonLimits{});
    ASSERT_EQ(behind.size(), alone.size() + 2) << flat;
    for (std::size_t i = 0; i < alone.size(); ++i) {
      EXPECT_EQ(behind[i + 2].kind, alone[i].kind) << flat;
      EXPECT_EQ(behind[i + 2].values, alone[i].values) << flat;
      EXPECT_EQ(behind[i + 2].doubts, alone[i].doubts) << flat;
      EXPECT_EQ(behind[i + 2].reason, alone[i].reason) << flat;
    }
  }
}

TEST(PlainObject, KnowsWhereAnObjectStandsThatLacksAField) {
  const std::string record = R"({"order":{"id":"A-1"},"needle":{"length":"1 in"},"dose":"5 mg"})";
  const std::string again = R"({"order":{"id":"A-2"}, "needle":{"length":"1 in"},"dose":"5 mg"})";
  const std::string text = record + "\n" + record + "\n" + again + "\n{\"dose\":\"5 mg\"}\n";
  const engine::Feed feed;
  const auto source = make_json_source(tests::input_of(text), {nullptr, &feed}, JsonLimits{});
  engine::OrderBlock block;
  ASSERT_TRUE(source->next(block));
  ASSERT_EQ(block.size(), 4U);
  const auto gauge = engine::FieldId::NeedleGauge;
  const auto place_in = [&](unsigned lane) {
    return source->place(block, lane, gauge, block.origin(lane, gauge));
  };
  for (const unsigned lane : {0U, 1U, 2U}) {
    EXPECT_EQ(place_in(lane).at, "/needle") << lane;
    EXPECT_EQ(place_in(lane).line, lane + 1) << lane;
    EXPECT_EQ(place_in(lane).column, lane == 2 ? 33U : 32U) << lane;
  }
  EXPECT_EQ(place_in(3).at, "");
  EXPECT_EQ(place_in(3).column, 1U);
}

TEST(PlainObject, HasRoomForAllGroups) {
  const JsonKeys& keys = JsonKeys::instance();
  for (const engine::FieldInfo& field : engine::fields())
    EXPECT_LT(keys.group_of(field.id), kMostGroups) << field.name;
}

}  // namespace
}  // namespace meniscus::adapters
