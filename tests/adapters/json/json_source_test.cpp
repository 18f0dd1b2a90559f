// Orders from JSON: layouts, doubt, damage, places.
//
// Sources: RFC 8259 (JSON), RFC 6901 (pointers), RFC 3629 (UTF-8).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/json/json_source.hpp"
#include "tests/support/orders_text.hpp"

namespace meniscus::adapters {
namespace {

using engine::RecordKind;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;
using tests::ReadOrder;

std::vector<ReadOrder> read(std::string_view text, std::size_t at_once = std::string::npos,
                            const JsonLimits& limits = {}) {
  return tests::read_text(make_json_source, text, at_once, limits);
}
std::vector<ReadOrder> read_with(const engine::Feed& feed, std::string_view text) {
  return tests::read_text(make_json_source, text, std::string::npos, JsonLimits{}, feed);
}

constexpr std::string_view kOrder =
    R"({"order":{"id":"A-1"},"volume":"0.25 mL","needle":{"gauge":"25 G"}})";

struct Layout {
  std::string_view name;
  std::string text;
  std::size_t orders;
};
class JsonLayouts : public ::testing::TestWithParam<Layout> {};
TEST_P(JsonLayouts, AreReadAlike) {
  const auto orders = read(GetParam().text);
  ASSERT_THAT(orders, SizeIs(GetParam().orders));
  const auto plain = read(kOrder);
  for (const ReadOrder& order : orders) {
    EXPECT_EQ(order.kind, RecordKind::Order) << order.reason;
    EXPECT_EQ(order.values, plain.front().values);
    EXPECT_THAT(order.doubts, IsEmpty());
  }
}
const std::string kOne(kOrder);
const std::string kPretty =
    "{\n  \"order\": {\n    \"id\": \"A-1\"\n  },\n  \"volume\": \"0.25 mL\",\n"
    "  \"needle\": { \"gauge\": \"25 G\" }\n}\n";
const std::string kUnindented =
    "{\n\"order\":\n{\n\"id\": \"A-1\"\n},\n\"volume\": \"0.25 mL\",\n\"needle\":\n{\"gauge\": "
    "\"25 G\"}\n}\n";
INSTANTIATE_TEST_SUITE_P(
    Of, JsonLayouts,
    ::testing::Values(Layout{"One", kOne, 1}, Layout{"Lines", kOne + "\n" + kOne + "\n" + kOne, 3},
                      Layout{"WindowsLines", kOne + "\r\n" + kOne + "\r\n", 2},
                      Layout{"BlankLines", "\n\n" + kOne + "\n\n \n" + kOne + "\n\n", 2},
                      Layout{"ByteOrderMark", "\xEF\xBB\xBF" + kOne, 1},
                      Layout{"List", "[" + kOne + "," + kOne + "]", 2},
                      Layout{"ListOverLines", "[\n" + kOne + ",\n" + kOne + "\n]\n", 2},
                      Layout{"Pretty", kPretty, 1}, Layout{"PrettyTwice", kPretty + kPretty, 2},
                      Layout{"PrettyList", "[\n" + kPretty + ",\n" + kPretty + "]", 2},
                      Layout{"Unindented", kUnindented + kUnindented, 2},
                      Layout{"OneLine", kOne + kOne + " " + kOne, 3},
                      Layout{"Flat",
                             R"({"order.id":"A-1","volume":"0.25 mL","needle.gauge":"25 G"})", 1},
                      Layout{"Blanks",
                             R"( { "order" : { "id" : "A-1" } , "volume" : "0.25 mL" , )"
                             R"("needle" : { "gauge" : "25 G" } } )",
                             1}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(JsonSource, QuantitiesMayBeObjectsAndCountsNumbers) {
  const auto orders =
      read(R"({"volume":{"value":0.25,"unit":"mL"},"dose":{"unit":"mg","value":"50"},)"
           R"("supply":{"vials":2},"needle":{"gauge":25}})");
  EXPECT_EQ(orders.front().values,
            read(R"({"volume":"0.25 mL","dose":"50 mg","supply":{"vials":"2"},)"
                 R"("needle":{"gauge":"25 G"}})")
                .front()
                .values);
}

TEST(JsonSource, ANumberHasAPointWhateverTheFeedWrites) {
  engine::Feed feed;
  feed.decimal = engine::DecimalMark::Comma;
  const auto orders = read_with(feed, R"({"volume":{"value":0.25,"unit":"mL"},"dose":"12,5 mg"})");
  EXPECT_THAT(orders.front().doubts, IsEmpty());
}

TEST(JsonSource, NullIsUnknownWhereNoInjectionIsWithoutTheField) {
  const auto orders =
      read(R"({"order":{"id":null,"placed":null},"patient":{"id":null,"weight":null},)"
           R"("substance":{"code":null,"name":"none"},"strength":null,"dose":null,)"
           R"("route":null,"site":null})");
  for (const char* const field : {"order.id", "order.placed", "patient.id", "patient.weight",
                                  "substance.code", "substance.name", "strength", "dose", "route"})
    EXPECT_THAT(orders.front().values,
                ::testing::Not(::testing::Contains(HasSubstr(std::string(field) + " = none"))));
  EXPECT_THAT(orders.front().values, ::testing::Contains(HasSubstr("site = none")));
}

TEST(JsonSource, AByteOrderMarkIsNoColumn) {
  const std::string text = R"({"dose":"0,25 mg"})";
  const auto plain = read(text);
  const auto marked = read("\xEF\xBB\xBF" + text);
  EXPECT_EQ(plain.front().place.column, 1U);
  EXPECT_EQ(marked.front().place.column, plain.front().place.column);
  EXPECT_EQ(marked.front().place.excerpt, plain.front().place.excerpt);
}

TEST(JsonSource, NullAndTheEmptyListAreNone) {
  const auto orders =
      read(R"({"order":{"id":"A-1"},"vial":{"opened":null},"patient":{"allergies":[]},)"
           R"("draw-needle":null})");
  EXPECT_THAT(orders.front().values, ::testing::Contains(HasSubstr("vial.opened = none")));
  EXPECT_THAT(orders.front().values, ::testing::Contains(HasSubstr("patient.allergies = none")));
  EXPECT_THAT(orders.front().values, ::testing::Contains(HasSubstr("draw-needle.gauge = none")));
}

TEST(JsonSource, ListsOfThings) {
  const auto orders = read(
      R"({"patient":{"allergies":["a","b"]},"more-sites":["thigh",{"site":"abdomen","side":"left"}],)"
      R"("schedule":{"steps":[{"dose":{"value":5,"unit":"mg"},"every":"1 wk","lasts":null}]}})");
  EXPECT_THAT(orders.front().doubts, IsEmpty());
  EXPECT_THAT(orders.front().values, SizeIs(3));
}

struct Doubtful {
  std::string_view name;
  std::string_view text;
  std::string_view doubt;
  std::string_view at;
};
class Doubts : public ::testing::TestWithParam<Doubtful> {};
TEST_P(Doubts, AreSaidWithFieldReasonAndPlace) {
  const auto orders = read(GetParam().text);
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_EQ(orders.front().kind, RecordKind::Order);
  ASSERT_THAT(orders.front().doubts, SizeIs(1));
  EXPECT_THAT(orders.front().doubts.front(), HasSubstr(GetParam().doubt));
  EXPECT_THAT(orders.front().fields,
              ::testing::Contains(HasSubstr("at " + std::string(GetParam().at) + " ")));
}
INSTANTIATE_TEST_SUITE_P(
    Of, Doubts,
    ::testing::Values(
        Doubtful{"BareNumber", R"({"dose":50})", "dose: `50` has no unit", "/dose"},
        Doubtful{"Typo", R"({"voulme":"0.25 mL"})",
                 "volume: the key `voulme` is no field; is `volume` meant?", "/voulme"},
        Doubtful{"TypoInGroup", R"({"needle":{"guage":"25 G"}})",
                 "needle.gauge: the key `guage` is no field; is `gauge` meant?", "/needle/guage"},
        Doubtful{"TypoOfGroup", R"({"neddle":{"gauge":"25 G"}})", "is `needle` meant?", "/neddle"},
        Doubtful{"UnknownKey", R"({"volume":"1 mL","frobnication":1})",
                 "order.id: the key `frobnication` is no field", "/frobnication"},
        Doubtful{"Twice", R"({"dose":"5 mg","dose":"6 mg"})", "dose: the key stands twice",
                 "/dose"},
        Doubtful{"TextForGroup", R"({"volume":"1 mL","needle":"25 G"})",
                 "needle.gauge: text where the object `needle` is needed", "/needle"},
        Doubtful{"NumberForText", R"({"order":{"directions":5}})", "a number where text",
                 "/order/directions"},
        Doubtful{"TruthForText", R"({"route":true})", "true or false where text", "/route"},
        Doubtful{"ListForQuantity", R"({"dose":["5 mg"]})", "a list where text", "/dose"},
        Doubtful{"ObjectForWord", R"({"route":{"a":1}})", "an object where text", "/route"},
        Doubtful{"HugeNumber", R"({"supply":{"vials":1e309}})", "supply.vials: `1e309`",
                 "/supply/vials"},
        Doubtful{"WrongUnitShape", R"({"dose":{"value":5,"units":"mg"}})", "not of the shape",
                 "/dose/units"},
        Doubtful{"NumberInList", R"({"patient":{"allergies":["a",7]}})",
                 "a number where a word of the list", "/patient/allergies/1"},
        Doubtful{"UnknownPart", R"({"components":[{"dosage":"5 mg"}]})", "`dosage` is no part",
                 "/components/0"},
        Doubtful{"NulInText", R"({"order":{"id":"A\u00001"}})", "NUL", "/order/id"},
        Doubtful{"BrokenEscape", R"({"order":{"id":"A\ud8001"}})", "escape", "/order/id"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(JsonSource, AKeyOfTheSitesOwnIsPassedOver) {
  engine::Feed feed;
  feed.ignored.insert("pharmacy-note");
  const auto orders =
      read_with(feed, R"({"dose":"5 mg","_made-by":{"a":[1]},"x-note":"b","pharmacy-note":[{}]})");
  EXPECT_THAT(orders.front().doubts, IsEmpty());
}

TEST(JsonSource, AnUnknownKeyLeavesTheOrdersNumber) {
  const auto orders = read(R"({"order":{"id":"A-1"},"frobnication":1})");
  EXPECT_THAT(orders.front().values, ::testing::Contains(HasSubstr("order.id = 0.000000 A-1")));
}

struct Damage {
  std::string_view name;
  std::string text;
  std::string_view reason;
  std::uint64_t line;
  std::uint64_t column;
};
class Damaged : public ::testing::TestWithParam<Damage> {};
TEST_P(Damaged, IsSaidWithItsPlaceAndTheRestIsRead) {
  const std::string text = GetParam().text + "\n" + kOne + "\n";
  const auto orders = read(text);
  ASSERT_THAT(orders, SizeIs(2));
  EXPECT_EQ(orders[0].kind, RecordKind::Unreadable);
  EXPECT_THAT(orders[0].reason, HasSubstr(GetParam().reason));
  EXPECT_EQ(orders[0].place.line, GetParam().line);
  EXPECT_EQ(orders[0].place.column, GetParam().column);
  EXPECT_EQ(orders[1].kind, RecordKind::Order);
  EXPECT_EQ(orders[1].values, read(kOrder).front().values);
}
INSTANTIATE_TEST_SUITE_P(
    Of, Damaged,
    ::testing::Values(
        Damage{"CutInText", R"({"order":{"id":"A-1)", "never ends", 1, 16},
        Damage{"CutAfterColon", R"({"order":{"id":"A-1"},"dose":)", "where a value is needed", 1,
               30},
        Damage{"CutAfterComma", R"({"order":{"id":"A-1"},)", "where a key in quotes is needed", 1,
               23},
        Damage{"CutInGroup", R"({"order":{"id":"A-1")", "`,` or `}`", 1, 21},
        Damage{"MissingComma", R"({"order":{"id":"A-1"} "dose":"5 mg"})", "`,` or `}`", 1, 23},
        Damage{"BadUtf8", "{\"order\":{\"id\":\"A\xFF\"}}", "UTF-8", 1, 18},
        Damage{"NulByte", std::string("{\"order\":{\"id\":\"A\0\"}}", 21), "NUL", 1, 18},
        Damage{"BareWord", R"({"dose":5 mg})", "`,` or `}`", 1, 11},
        Damage{"BadLiteral", R"({"dose":nul})", "where a value is needed", 1, 9},
        Damage{"LeadingZero", R"({"supply":{"vials":01}})", "needless zero", 1, 21},
        Damage{"Garbage", "hello", "a JSON object is needed", 1, 1},
        Damage{"NoField", "{}", "no field of an order", 1, 1},
        Damage{"OtherDocument", R"({"resourceType":"Patient"})", "no field of an order", 1, 1}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(JsonSource, EmptyInputIsSaid) {
  for (const std::string_view text : {"", "\n \n", "\xEF\xBB\xBF"}) {
    const auto orders = read(text);
    ASSERT_THAT(orders, SizeIs(1));
    EXPECT_EQ(orders.front().kind, RecordKind::Unreadable);
    EXPECT_EQ(orders.front().reason, "the input is empty");
  }
}

TEST(JsonSource, AListThatIsNotClosedIsSaid) {
  const auto orders = read("[" + kOne + "\n");
  ASSERT_THAT(orders, SizeIs(2));
  EXPECT_EQ(orders[0].kind, RecordKind::Order);
  EXPECT_THAT(orders[1].reason, HasSubstr("the list that starts on line 1 is not closed"));
}

TEST(JsonSource, ARecordOverTheLimitIsRefusedAndTheNextIsRead) {
  const std::string big =
      R"({"order":{"id":"A-1","directions":")" + std::string(5000, 'x') + "\"}}";
  const JsonLimits limits{1000, 64};
  const auto orders = read(big + "\n" + kOne + "\n", 100, limits);
  ASSERT_THAT(orders, SizeIs(2));
  EXPECT_EQ(orders[0].kind, RecordKind::Unreadable);
  EXPECT_THAT(orders[0].reason, HasSubstr("longer than"));
  EXPECT_EQ(orders[1].kind, RecordKind::Order);
  EXPECT_EQ(orders[1].place.line, 2U);
}

TEST(JsonSource, ALineOfTenMegabytesIsRead) {
  const std::string big =
      R"({"order":{"id":"A-1","directions":")" + std::string(10'000'000, 'x') + "\"}}";
  static const engine::Feed kFeed;
  const auto source = make_json_source(tests::input_of(big + "\n" + kOne), {nullptr, &kFeed});
  engine::OrderBlock block;
  std::vector<std::size_t> sizes;
  while (source->next(block))
    for (unsigned lane = 0; lane < block.size(); ++lane)
      sizes.push_back(block.value(lane, engine::FieldId::OrderDirections).text.size());
  EXPECT_THAT(sizes, ElementsAre(10'000'000, 0));
}

TEST(JsonSource, DeepNestingIsRefusedNotFollowed) {
  const std::string deep = R"({"order":{"id":"A-1"},"x-deep":)" + std::string(100'000, '[');
  const auto orders = read(deep + "\n" + kOne);
  ASSERT_THAT(orders, SizeIs(2));
  EXPECT_EQ(orders[0].kind, RecordKind::Unreadable);
}

TEST(JsonSource, ColumnsCountCharacters) {
  const auto orders = read("{\"order\":{\"id\":\"\xC3\xA9\"},\"dose\":\"5 mg\"}");
  EXPECT_THAT(orders.front().fields, ::testing::Contains(HasSubstr("`5 mg` at /dose 1:29 ")));
}

TEST(JsonSource, AMissingFieldIsPlacedAtItsObject) {
  static const engine::Feed kFeed;
  const auto source = make_json_source(tests::input_of(kOrder), {nullptr, &kFeed});
  engine::OrderBlock block;
  ASSERT_TRUE(source->next(block));
  const engine::Place length = source->place(block, 0, engine::FieldId::NeedleLength, {});
  EXPECT_EQ(length.at, "/needle");
  EXPECT_EQ(length.column, 51U);
  EXPECT_EQ(source->place(block, 0, engine::FieldId::SyringeCapacity, {}).at, "");
  EXPECT_EQ(source->place(block, 0, engine::FieldId::Dose, {}).at, "");
}

TEST(JsonSource, ThePiecesThatInputArrivesInMakeNoDifference) {
  const std::string text = "\xEF\xBB\xBF" + kOne + "\r\n" + kPretty + kOne + kOne + "\n" +
                           R"({"order":{"id":"A-2"},"dose":"5 m)" + "\n" + "junk\n[" + kOne +
                           ",\n" + R"({"order":{"id":"caf\u00e9"},"voulme":1})" + "]\n" +
                           kUnindented + kOne;
  const auto whole = read(text);
  ASSERT_THAT(whole, SizeIs(10));
  for (const std::size_t piece : {1, 2, 3, 7, 64, 100}) {
    const auto pieces = read(text, piece, {1 << 20, 16});
    ASSERT_EQ(pieces.size(), whole.size()) << piece;
    for (std::size_t i = 0; i < whole.size(); ++i) {
      EXPECT_EQ(pieces[i].values, whole[i].values) << piece << " order " << i;
      EXPECT_EQ(pieces[i].reason, whole[i].reason) << piece << " order " << i;
      EXPECT_EQ(pieces[i].doubts, whole[i].doubts) << piece << " order " << i;
      EXPECT_EQ(pieces[i].place.line, whole[i].place.line) << piece << " order " << i;
      EXPECT_EQ(pieces[i].place.column, whole[i].place.column) << piece << " order " << i;
    }
  }
}

TEST(JsonSource, MoreOrdersThanABlockHolds) {
  std::string text;
  for (int i = 0; i < 200; ++i)
    text += R"({"order":{"id":"A-)" + std::to_string(i) + "\"}}\n";
  const auto orders = read(text);
  ASSERT_THAT(orders, SizeIs(200));
  EXPECT_EQ(orders[199].place.line, 200U);
  EXPECT_THAT(orders[199].values, ElementsAre(HasSubstr("A-199")));
}

TEST(JsonSource, RefusesABraceInPlaceOfAValue) {
  for (const std::string_view record :
       {R"({"dose":"5 mg","_a":}})", R"({"dose":"5 mg","orde":}},)", R"({"dose":{"value":}}})",
        R"({"order":{"id":"A-1","b":}},"dose":"5 mg"})", R"({"dose":"5 mg","volume":]})"}) {
    const auto orders = tests::read_text(make_json_source, std::string(record) + "\n",
                                         std::string::npos, JsonLimits{});
    ASSERT_FALSE(orders.empty()) << record;
    EXPECT_EQ(orders[0].kind, engine::RecordKind::Unreadable) << record;
    EXPECT_THAT(orders[0].reason, ::testing::HasSubstr("where a value is needed")) << record;
  }
}

TEST(JsonSource, RefusesATextBehindATextThatIsNoKey) {
  for (const std::string_view record :
       {R"({"dose":"5 mg","volume":"1 mL":"2 mL","route":"oral"}})",
        R"({"dose":"5 mg","_a":"1 mL" : "2 mL","route":"oral"}})",
        R"({"order":{"id":"A-1","b":"c":"d"},"dose":"5 mg","route":"oral"}})",
        R"({"dose":"5 mg","_a":"Aiid":"A-1"}},)"}) {
    const auto orders = tests::read_text(make_json_source, std::string(record) + "\n",
                                         std::string::npos, JsonLimits{});
    ASSERT_FALSE(orders.empty()) << record;
    EXPECT_EQ(orders[0].kind, engine::RecordKind::Unreadable) << record;
    EXPECT_THAT(orders[0].reason, ::testing::HasSubstr("`:` where `,` or `}` is needed")) << record;
  }
}

}  // namespace
}  // namespace meniscus::adapters
