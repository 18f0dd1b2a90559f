// Character sets and time zones that the message header declares.
//
// Checked against: HL7 v2.5.1 table 0211 (names of the sets), section 2.7.2 (\C and \M), section
// 2.14.9.7 (MSH-7: its zone is the default of the whole message).  The bytes are those of JIS X
// 0208 (as in RFC 1468), ISO/IEC 8859, KS X 1001, GB 18030 and BIG-5, taken from Python's codecs,
// which are other tables than those of the C library.
#include "adapters/hl7v2/characters.hpp"

#include <gtest/gtest.h>

#include <ostream>
#include <string>
#include <string_view>

#include "engine/quantity/calendar.hpp"
#include "tests/adapters/hl7v2/hl7_reading.hpp"

namespace meniscus::testing {
namespace {

using adapters::hl7v2::character_set;
using engine::RecordKind;
using engine::State;

/// An order of 50 mg into the deltoid; `set` is MSH-18, `name` the medicine's, `note` an NTE.
std::string order_in(std::string_view set, std::string_view name, std::string_view note = {}) {
  std::string text = "MSH|^~\\&|A|B|C|D|20260302||RDE^O11|M1|P|2.5||||||" + std::string(set) +
                     "\rPID|1||SM-0012^^^X^MR\rORC|NW|77\rRXE||C^" + std::string(name) +
                     "|50||mg\rRXR|IM|LD^Left Deltoid^HL70163\r";
  if (!note.empty()) text += "NTE|1||" + std::string(note) + "\r";
  return text;
}

void expect_the_rest(const Record& r) {
  EXPECT_EQ(r.kind, RecordKind::Order);
  EXPECT_EQ(r.field("order.id").text, "77");
  EXPECT_DOUBLE_EQ(r.field("dose").number, 50);
  EXPECT_EQ(r.field("dose").at, "RXE-3.1");
  EXPECT_EQ(r.field("route").text, "intramuscular");
  EXPECT_EQ(r.field("site").text, "deltoid");
}

struct Case {
  std::string_view name, set, sent, read;
};
std::ostream& operator<<(std::ostream& os, const Case& c) { return os << c.name; }
const Case kReadable[] = {
    {"Latin1", "8859/1", "Caf\xE9", "Café"},
    {"Latin9HasTheEuroSign", "8859/15", "5 \xA4", "5 €"},
    {"Latin2", "8859/2", "\xB1", "ą"},
    {"Cyrillic", "8859/5", "\xD6", "ж"},
    {"Korean", "KS X 1001", "\xC1\xD6", "주"},
    {"SecondByteIsABackslash", "BIG-5", "\xB3\\ 5", "許 5"},
    {"SimplifiedChinese", "GB 18030-2000", "\xBD\xEE", "筋"},
    {"PairHoldsAComponentSeparator", "~ISO IR87", "A\x1B$B:^\x1B(B B", "A剤 B"},
    {"PairHoldsAFieldSeparator", "~ISO IR87", "\x1B$BF|K\\\x1B(B", "日本"},
    {"PairHoldsASubcomponentSeparator", "ISO IR6~ISO IR87", "\x1B$B1&B\\\x1B(B", "右腿"},
    {"ShiftsSpelledOut", "~ISO IR87", "\\M2442\\F|K\\\\C2842\\ x", "日本 x"},
    {"EscapesBesideAShift", "~ISO IR87", "a\\T\\b\x1B$BF|\x1B(B", "a&b日"},
    {"Utf8InSpiteOfTheDeclaration", "~ISO IR87", "日本", "日本"},
};
class Hl7Characters : public ::testing::TestWithParam<Case> {};
TEST_P(Hl7Characters, AreReadAndHideTheirSeparators) {
  const Case& c = GetParam();
  const auto records = read_hl7(order_in(c.set, c.sent));
  ASSERT_EQ(records.size(), 1U);
  EXPECT_EQ(records[0].field("substance.name").text, c.read);
  EXPECT_EQ(records[0].field("substance.name").at, "RXE-2.2");
  EXPECT_TRUE(records[0].doubts.empty());
  expect_the_rest(records[0]);
}
INSTANTIATE_TEST_SUITE_P(Sets, Hl7Characters, ::testing::ValuesIn(kReadable),
                         [](const auto& info) { return std::string(info.param.name); });

const Case kLost[] = {
    {"ASetNobodyNamed", "ISO IR58", "\x1B$A0!\x1B(B", "ISO IR58"},
    {"HighBytesOfASetNobodyNamed", "WINDOWS-9", "Caf\xE9", "WINDOWS-9"},
    {"NoCharacterOfTheSet", "BIG-5", "\xFF\xFF", "BIG-5"},
    {"PairsThatNoShiftCloses", "~ISO IR87", "\x1B$BF", "ISO IR87"},
    {"APairOutsideTheSet", "~ISO IR87", "\x1B$B~~\x1B(B", "ISO IR87"},
};
class Hl7LostText : public ::testing::TestWithParam<Case> {};
TEST_P(Hl7LostText, IsSaidWithItsPlaceAndNothingElseIsLost) {
  const Case& c = GetParam();
  const auto records = read_hl7(order_in(c.set, c.sent));
  ASSERT_EQ(records.size(), 1U);
  const Record& r = records[0];
  EXPECT_EQ(r.field("substance.name").state, State::Missing);
  EXPECT_EQ(r.field("substance.name").at, "RXE-2.2");
  ASSERT_TRUE(r.doubts.contains("substance.name"));
  EXPECT_EQ(r.doubts.at("substance.name"),
            "the text cannot be read in the character set `" + std::string(c.read) + "` (MSH-18)");
  expect_the_rest(r);
}
INSTANTIATE_TEST_SUITE_P(Sets, Hl7LostText, ::testing::ValuesIn(kLost),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(Hl7LostText, OneOfSeveralDirectionsLeavesTheOthers) {
  const auto records = read_hl7(order_in("WINDOWS-9", "Name", "every 14 days") +
                                "NTE|2||\xFF\xFE\r" + "NTE|3||slowly\r");
  ASSERT_EQ(records.size(), 1U);
  EXPECT_EQ(records[0].field("order.directions").text, "every 14 days; slowly");
  EXPECT_TRUE(records[0].doubts.contains("order.directions"));
}

TEST(Hl7LostText, OneOfSeveralAllergiesLeavesTheOthers) {
  const auto records =
      read_hl7(order_in("WINDOWS-9", "Name") + "AL1|1|DA|^\xFF\xFE\rAL1|2|DA|^penicillin\r");
  ASSERT_EQ(records.size(), 1U);
  EXPECT_EQ(records[0].field("patient.allergies").state, State::Known);
  EXPECT_TRUE(records[0].doubts.contains("patient.allergies"));
}

TEST(Hl7CharacterSet, TheFirstThatIsMoreThanAsciiCounts) {
  EXPECT_EQ(character_set("", '~').name, "");
  EXPECT_EQ(character_set("ASCII~ISO IR6", '~').name, "");
  EXPECT_EQ(character_set("UNICODE UTF-8", '~').name, "");
  EXPECT_EQ(character_set("~ISO IR14~ISO IR87", '~').name, "ISO IR14");
  EXPECT_EQ(character_set("ISO IR6@8859/1", '@').name, "8859/1");
}

// HL7 v2.5.1 section 2.A.22 (DTM): a time without a zone has that of MSH-7.
struct ZoneCase {
  std::string_view name, msh7, orc9;
  bool has_offset;
  int minutes;
};
std::ostream& operator<<(std::ostream& os, const ZoneCase& c) { return os << c.name; }
const ZoneCase kZones[] = {
    {"OfTheHeader", "20260302091400-0500", "202603020900", true, -300},
    {"ItsOwnCountsFirst", "20260302091400-0500", "202603020900+0100", true, 60},
    {"HalfHours", "20260302091400+0530", "20260302090000", true, 330},
    {"ADayHasNone", "20260302091400-0500", "20260302", false, 0},
    {"HeaderWithout", "20260302091400", "202603020900", false, 0},
    {"NoHeaderTime", "", "202603020900", false, 0},
};
class Hl7Zone : public ::testing::TestWithParam<ZoneCase> {};
TEST_P(Hl7Zone, DefaultsToTheMessagesOwn) {
  const ZoneCase& c = GetParam();
  const std::string text = "MSH|^~\\&|A|B|C|D|" + std::string(c.msh7) +
                           "||RDE^O11|M1|P|2.5\rPID|1||SM-1\rORC|NW|1|||||||" +
                           std::string(c.orc9) + "\rRXE||C^N|50||mg\r";
  static const engine::Feed kFeed;
  adapters::hl7v2::Hl7Source source(text_input(text), {&shipped_words(), &kFeed});
  engine::OrderBlock block;
  ASSERT_TRUE(source.next(block));
  const engine::Value placed = block.value(0, engine::FieldId::OrderPlaced);
  ASSERT_TRUE(placed.known());
  const engine::Date date = engine::unpack(placed.number, placed.aux);
  EXPECT_EQ(date.has_offset, c.has_offset);
  EXPECT_EQ(date.offset_minutes, c.minutes);
  EXPECT_EQ(date.day(), engine::days_from_civil({2026, 3, 2}));
}
INSTANTIATE_TEST_SUITE_P(OrderPlaced, Hl7Zone, ::testing::ValuesIn(kZones),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(Hl7Zone, OfTheHeaderComesBeforeThatOfTheFeed) {
  engine::Feed feed;
  feed.offset_minutes = 120;
  const std::string rest = "||RDE^O11|M1|P|2.5\rORC|NW|1|||||||202603020900\rRXE||C^N|50||mg\r";
  const auto offset = [&](std::string_view msh7) {
    adapters::hl7v2::Hl7Source source(text_input("MSH|^~\\&|A|B|C|D|" + std::string(msh7) + rest),
                                      {&shipped_words(), &feed});
    engine::OrderBlock block;
    EXPECT_TRUE(source.next(block));
    const engine::Value placed = block.value(0, engine::FieldId::OrderPlaced);
    return engine::unpack(placed.number, placed.aux).offset_minutes;
  };
  EXPECT_EQ(offset("20260302091400-0500"), -300);
  EXPECT_EQ(offset("20260302091400"), 120);
}

}  // namespace
}  // namespace meniscus::testing
