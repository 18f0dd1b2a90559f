// Orders from CSV: the shape of the file, the head, damage, places; and the same order as JSON.
//
// Source: RFC 4180; `;` and tab as separators, common practice.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "adapters/csv/csv_source.hpp"
#include "adapters/json/json_source.hpp"
#include "tests/support/orders_text.hpp"

namespace meniscus::adapters {
namespace {

using engine::FieldId;
using engine::RecordKind;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;
using tests::ReadOrder;

std::vector<ReadOrder> read(std::string_view text, std::size_t at_once = std::string::npos,
                            const CsvLimits& limits = {}) {
  return tests::read_text(make_csv_source, text, at_once, limits);
}

struct Layout {
  std::string_view name;
  std::string_view text;
};
class Layouts : public ::testing::TestWithParam<Layout> {};
TEST_P(Layouts, AreReadAlike) {
  const auto orders = read(GetParam().text);
  const auto plain = read("order.id,volume,order.directions\nA-1,0.25 mL,\"a, \"\"b\"\"\"\n");
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_EQ(orders.front().kind, RecordKind::Order) << orders.front().reason;
  EXPECT_EQ(orders.front().values, plain.front().values);
  EXPECT_THAT(orders.front().values, SizeIs(3));
}
INSTANTIATE_TEST_SUITE_P(
    Of, Layouts,
    ::testing::Values(
        Layout{"NoLastLineEnd", "order.id,volume,order.directions\nA-1,0.25 mL,\"a, \"\"b\"\"\""},
        Layout{"WindowsLines",
               "order.id,volume,order.directions\r\nA-1,0.25 mL,\"a, \"\"b\"\"\"\r\n"},
        Layout{"ByteOrderMark",
               "\xEF\xBB\xBForder.id,volume,order.directions\nA-1,0.25 mL,\"a, \"\"b\"\"\"\n"},
        Layout{"Semicolons", "order.id;volume;order.directions\nA-1;0.25 mL;\"a, \"\"b\"\"\"\n"},
        Layout{"Tabs", "order.id\tvolume\torder.directions\nA-1\t0.25 mL\t\"a, \"\"b\"\"\"\n"},
        Layout{
            "EverythingQuoted",
            "\"order.id\",\"volume\",\"order.directions\"\n\"A-1\",\"0.25 mL\",\"a, \"\"b\"\"\"\n"},
        Layout{"BlankLines",
               "\n\norder.id,volume,order.directions\n\nA-1,0.25 mL,\"a, \"\"b\"\"\"\n\n\r\n"},
        Layout{"SeparatorLine",
               "sep=;\r\norder.id;volume;order.directions\r\nA-1;0.25 mL;\"a, \"\"b\"\"\"\r\n"},
        Layout{"CapitalsInHead",
               "Order.ID,VOLUME,Order.Directions\nA-1,0.25 mL,\"a, \"\"b\"\"\"\n"},
        Layout{"BlanksInHead",
               "order.id, volume ,order.directions\nA-1,0.25 mL,\"a, \"\"b\"\"\"\n"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(CsvSource, ASeparatorThatIsNotReadIsSaid) {
  const auto orders = read("sep=|\norder.id|volume\nA-1|0.25 mL\n");
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_EQ(orders.front().kind, RecordKind::Unreadable);
  EXPECT_THAT(orders.front().reason, HasSubstr("separator `|`"));
}

/// Whatever the size of the pieces, and of the reader's own buffer.
class HeadInPieces : public ::testing::TestWithParam<Layout> {};
TEST_P(HeadInPieces, IsTheSameHead) {
  const std::string text(GetParam().text);
  const auto whole = read(text);
  ASSERT_THAT(whole, SizeIs(1));
  EXPECT_EQ(whole.front().kind, RecordKind::Order) << whole.front().reason;
  EXPECT_THAT(whole.front().values, SizeIs(2));
  for (std::size_t piece = 1; piece <= text.size(); ++piece) {
    const auto pieces = read(text, piece, {1U << 20U, 16});
    ASSERT_THAT(pieces, SizeIs(1)) << piece;
    EXPECT_EQ(pieces.front().kind, RecordKind::Order) << pieces.front().reason;
    EXPECT_EQ(pieces.front().values, whole.front().values) << piece;
    EXPECT_EQ(pieces.front().place.line, whole.front().place.line) << piece;
  }
}
INSTANTIATE_TEST_SUITE_P(
    Behind, HeadInPieces,
    ::testing::Values(Layout{"SeparatorLine", "\nsep=;\norder.id;volume\nA-1;0.25 mL\n"},
                      Layout{"BlankLines", "\n\n\norder.id;volume\nA-1;0.25 mL\n"},
                      Layout{"BlankWindowsLines", "\r\n\r\norder.id;volume\r\nA-1;0.25 mL\r\n"},
                      Layout{"AByteOrderMark", "\xEF\xBB\xBForder.id;volume\nA-1;0.25 mL\n"},
                      Layout{"Both", "\xEF\xBB\xBF\r\n\norder.id;volume\n\nA-1;0.25 mL"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(CsvSource, ALineEndMayStandInQuotes) {
  const auto orders = read("order.id,order.directions\nA-1,\"one\ntwo\"\nA-2,three\n");
  ASSERT_THAT(orders, SizeIs(2));
  EXPECT_THAT(orders[0].values, ElementsAre(HasSubstr("A-1"), HasSubstr("one\ntwo")));
  EXPECT_EQ(orders[1].place.line, 4U);
}

TEST(CsvSource, AnEmptyCellIsUnknownAndNoneIsNone) {
  const auto orders = read("order.id,vial.opened,dose\nA-1,none,\n");
  EXPECT_THAT(orders.front().values,
              ElementsAre(HasSubstr("A-1"), HasSubstr("vial.opened = none")));
}

TEST(CsvSource, AFieldWithoutAColumnIsNeverCarried) {
  static const engine::Feed kFeed;
  const auto source =
      make_csv_source(tests::input_of("order.id,dose\nA-1,5 mg\n"), {nullptr, &kFeed});
  EXPECT_TRUE(source->never_carries().test(engine::index(FieldId::NeedleGauge)));
  EXPECT_FALSE(source->never_carries().test(engine::index(FieldId::Dose)));
}

struct Absence {
  const char* name;
  const char* head;
  std::vector<FieldId> awaited;  // an order without one is incomplete
  std::vector<FieldId> never;
};

class CsvNeverCarries : public ::testing::TestWithParam<Absence> {};

TEST_P(CsvNeverCarries, HoldsOnlyWhatTheHeadCannotGive) {
  static const engine::Feed kFeed;
  const auto source = make_csv_source(tests::input_of(GetParam().head), {nullptr, &kFeed});
  const engine::FieldSet never = source->never_carries();
  for (const FieldId field : GetParam().awaited)
    EXPECT_FALSE(never.test(engine::index(field))) << engine::info(field).name;
  for (const FieldId field : GetParam().never)
    EXPECT_TRUE(never.test(engine::index(field))) << engine::info(field).name;
}

INSTANTIATE_TEST_SUITE_P(
    Heads, CsvNeverCarries,
    ::testing::Values(
        Absence{"NothingThatGivesMore",
                "order.status\n",
                {FieldId::OrderId, FieldId::PatientId, FieldId::SubstanceCode, FieldId::Dose},
                {FieldId::PatientAge, FieldId::Strength, FieldId::Volume, FieldId::VialContent,
                 FieldId::VialVolume, FieldId::Route, FieldId::Site, FieldId::Side,
                 FieldId::ScheduleEvery, FieldId::StatedDose, FieldId::StatedEvery,
                 FieldId::SubstanceName}},
        Absence{"Age", "patient.age\n", {FieldId::PatientAge, FieldId::PatientBorn}, {}},
        Absence{"BirthDate",
                "patient.born,order.placed\n",
                {FieldId::PatientAge},
                {FieldId::StatedDose}},
        Absence{"BirthDateWithoutADayToCountTo",
                "patient.born\n",
                {FieldId::PatientBorn},
                {FieldId::PatientAge, FieldId::OrderPlaced}},
        Absence{"Name",
                "substance.name\n",
                {FieldId::Strength, FieldId::VialContent, FieldId::VialVolume, FieldId::Route,
                 FieldId::StatedStrength},
                {FieldId::PatientAge, FieldId::Volume, FieldId::Site, FieldId::ScheduleEvery,
                 FieldId::NeedleGauge}},
        Absence{"Directions",
                "order.directions\n",
                {FieldId::Strength, FieldId::Volume, FieldId::Route, FieldId::Site, FieldId::Side,
                 FieldId::VialContent, FieldId::VialVolume, FieldId::DosePerWeight,
                 FieldId::ScheduleEvery, FieldId::ScheduleTimes, FieldId::StatedDose,
                 FieldId::StatedStrength, FieldId::StatedVolume, FieldId::StatedEvery,
                 FieldId::StatedRoute, FieldId::StatedSite, FieldId::StatedSide},
                {FieldId::PatientAge, FieldId::NeedleGauge, FieldId::SyringeCapacity}},
        Absence{"Frequency",
                "schedule.text\n",
                {FieldId::ScheduleEvery, FieldId::ScheduleTimes, FieldId::StatedEvery},
                {FieldId::Strength, FieldId::Route, FieldId::NeedleGauge}}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(CsvSource, APlaceNamesOnlyAColumnThatIsThere) {
  static const engine::Feed kFeed;
  const auto source =
      make_csv_source(tests::input_of("order.id,volume\nA-1,\n"), {nullptr, &kFeed});
  engine::OrderBlock block;
  ASSERT_TRUE(source->next(block));
  EXPECT_EQ(source->place(block, 0, FieldId::Volume, {}).at, "record 1, column volume");
  EXPECT_EQ(source->place(block, 0, FieldId::Dose, {}).at, "record 1");
}

TEST(CsvSource, UnknownColumnsAreSaidOnce) {
  const auto orders = read("order.id,doze,note\nA-1,5 mg,x\nA-2,6 mg,y\n");
  ASSERT_THAT(orders, SizeIs(3));
  EXPECT_EQ(orders[0].kind, RecordKind::Unreadable);
  EXPECT_THAT(orders[0].reason, HasSubstr("`doze` (is `dose` meant?), `note`"));
  EXPECT_EQ(orders[0].place.line, 1U);
  EXPECT_EQ(orders[0].place.column, 10U);
  EXPECT_EQ(orders[1].kind, RecordKind::Order);
  EXPECT_THAT(orders[1].values, SizeIs(1));
}

TEST(CsvSource, ColumnsThatAreMeantToBeIgnoredAreNotSaid) {
  const auto orders = read("order.id,x-note,_row\nA-1,5 mg,x\n");
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_EQ(orders[0].kind, RecordKind::Order);
}

struct Refused {
  std::string_view name;
  std::string text;
  std::string_view reason;
  std::uint64_t line;
  std::uint64_t column;
};
class Refuses : public ::testing::TestWithParam<Refused> {};
TEST_P(Refuses, ARecordThatCannotBeTrustedAndReadsOn) {
  const auto orders = read("order.id,dose\n" + GetParam().text + "\nA-9,5 mg\n");
  ASSERT_THAT(orders, SizeIs(2));
  EXPECT_EQ(orders[0].kind, RecordKind::Unreadable);
  EXPECT_THAT(orders[0].reason, HasSubstr(GetParam().reason));
  EXPECT_EQ(orders[0].place.line, GetParam().line);
  EXPECT_EQ(orders[0].place.column, GetParam().column);
  EXPECT_EQ(orders[0].place.at, "record 1");
  EXPECT_THAT(orders[1].values, ElementsAre(HasSubstr("A-9"), HasSubstr("dose = 5")));
}
INSTANTIATE_TEST_SUITE_P(
    Of, Refuses,
    ::testing::Values(Refused{"TooFew", "A-1", "has 1 cells and the head 2", 2, 1},
                      Refused{"TooMany", "A-1,5 mg,x", "has 3 cells and the head 2", 2, 1},
                      Refused{"TextBehindQuote", "\"A-1\"x,5 mg", "a quote", 2, 6},
                      Refused{"BadUtf8", "A\xFF,5 mg", "UTF-8", 2, 2},
                      Refused{"NulByte", std::string("A\0,5 mg", 7), "NUL", 2, 2}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(CsvSource, AQuoteThatNeverEndsIsSaid) {
  const auto orders = read("order.id,dose\nA-1,\"5 mg\nA-2,6 mg\n");
  ASSERT_THAT(orders, SizeIs(2));
  EXPECT_EQ(orders[0].kind, RecordKind::Unreadable);
  EXPECT_EQ(orders[0].place.column, 5U);
  EXPECT_EQ(orders[1].kind, RecordKind::Order);
}

struct Head {
  std::string_view name;
  std::string_view text;
  std::string_view reason;
};
class Heads : public ::testing::TestWithParam<Head> {};
TEST_P(Heads, ThatCannotBeUsedAreSaidAndNothingIsRead) {
  const auto orders = read(GetParam().text);
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_EQ(orders[0].kind, RecordKind::Unreadable);
  EXPECT_THAT(orders[0].reason, HasSubstr(GetParam().reason));
}
INSTANTIATE_TEST_SUITE_P(
    Of, Heads,
    ::testing::Values(Head{"Empty", "", "the input is empty"},
                      Head{"OnlyBlank", "\n\n", "the input is empty"},
                      Head{"NoField", "a,b\n1,2\n", "names no field"},
                      Head{"Twice", "dose,dose\n5 mg,6 mg\n", "`dose` stands twice"},
                      Head{"OpenQuote", "\"dose,volume\n5 mg,1 mL\n", "a quote"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(CsvSource, DoubtsNameTheirCell) {
  const auto orders = read("order.id,dose,volume\nA-1,50,\"0,25 mL\"\n");
  EXPECT_THAT(orders.front().doubts, SizeIs(2));
  EXPECT_THAT(orders.front().fields,
              ElementsAre(HasSubstr("A-1"), HasSubstr("`50` at record 1, column dose 2:5"),
                          HasSubstr("`0,25 mL` at record 1, column volume 2:9")));
}

TEST(CsvSource, ThePiecesThatInputArrivesInMakeNoDifference) {
  const std::string text =
      "\xEF\xBB\xBForder.id,dose,order.directions\r\nA-1,5 mg,\"a \"\"b\"\"\r\nc\"\r\n"
      "A-2,5\r\nA-3,\"6 mg\",\"x\"\n\nA-4,\"7\"z,\nA-5,8 mg,\"end\"";
  const auto whole = read(text);
  ASSERT_THAT(whole, SizeIs(5));
  for (const std::size_t piece : {1, 2, 3, 5, 16}) {
    const auto pieces = read(text, piece, {1 << 20, 16});
    ASSERT_EQ(pieces.size(), whole.size()) << piece;
    for (std::size_t i = 0; i < whole.size(); ++i) {
      EXPECT_EQ(pieces[i].values, whole[i].values) << piece << " order " << i;
      EXPECT_EQ(pieces[i].reason, whole[i].reason) << piece << " order " << i;
      EXPECT_EQ(pieces[i].place.line, whole[i].place.line) << piece << " order " << i;
      EXPECT_EQ(pieces[i].place.column, whole[i].place.column) << piece << " order " << i;
    }
  }
}

std::string fixture(const std::string& name) {
  std::ifstream file(std::string(MENISCUS_SOURCE_DIR) + "/tests/fixtures/orders/" + name);
  return {std::istreambuf_iterator<char>(file), {}};
}

TEST(CsvAndJson, TheSameOrderGivesTheSameBlock) {
  static const engine::Feed kFeed;
  const auto json = make_json_source(tests::input_of(fixture("slatemoor.json")), {nullptr, &kFeed});
  const auto from_json = tests::read_all(*json);
  const auto from_csv = read(fixture("slatemoor.csv"));
  ASSERT_THAT(from_json, SizeIs(2));
  ASSERT_EQ(from_csv.size(), from_json.size());
  for (std::size_t i = 0; i < from_json.size(); ++i) {
    EXPECT_EQ(from_csv[i].values, from_json[i].values);
    EXPECT_THAT(from_json[i].doubts, IsEmpty());
  }
}

}  // namespace
}  // namespace meniscus::adapters
