// Reading HL7 v2 against the samples of others (tests/fixtures/hl7/README.md) and the standard's
// own rules (HL7 v2.5.1 chapter 2 for encoding, chapter 4 for the fields).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <filesystem>

#include "engine/quantity/dimension.hpp"
#include "tests/adapters/hl7v2/hl7_reading.hpp"

namespace meniscus::testing {
namespace {

using engine::RecordKind;
using engine::State;
using ::testing::HasSubstr;

constexpr double kMillilitre = 1000;  // cubic millimetres

std::string message(const std::string& rest) {
  return "MSH|^~\\&|A|B|C|D|20260302||RDE^O11^RDE_O11|M1|P|2.5.1\rPID|1||SM-0012^^^X^MR\r" + rest;
}

std::vector<std::string> all_samples() {
  std::vector<std::string> names;
  for (const auto& entry :
       std::filesystem::directory_iterator(MENISCUS_SOURCE_DIR "/tests/fixtures/hl7"))
    if (entry.path().extension() == ".hl7") names.push_back(entry.path().filename());
  return names;
}

TEST(Hl7Samples, EnoxaparinDoseInTheMaximumAndStrengthInTheName) {
  const auto records = read_hl7(sample("i-rde-o11-enoxaparin.hl7"));
  ASSERT_EQ(records.size(), 1U);
  const Record& r = records[0];
  EXPECT_EQ(r.kind, RecordKind::Order);
  EXPECT_DOUBLE_EQ(r.field("dose").number, 80);  // mg
  EXPECT_EQ(r.field("dose").at, "RXE-4.1");
  EXPECT_DOUBLE_EQ(r.field("strength").number, 100 / kMillilitre);
  EXPECT_TRUE(r.field("strength").from_text);
  EXPECT_EQ(r.field("route").text, "subcutaneous");
  EXPECT_EQ(r.field("route").at, "RXR-1.1");
  EXPECT_EQ(r.field("site").text, "abdomen");
  EXPECT_EQ(r.field("substance.code").text, "enoxaparin");
  EXPECT_EQ(r.field("supply.vials").number, 1);
  EXPECT_EQ(r.line, 6U);
  EXPECT_TRUE(r.doubts.empty());
}

TEST(Hl7Samples, ShiftedRequestIsNotReadWhereTheEncodedOrderStands) {
  const auto records = read_hl7(sample("i-rde-o11-insulin-es.hl7"));
  ASSERT_EQ(records.size(), 1U);
  EXPECT_DOUBLE_EQ(records[0].field("dose").number, 20);  // units
  EXPECT_EQ(records[0].field("dose").at, "RXE-3.1");
  EXPECT_EQ(records[0].field("stated.dose").state, State::Missing);
  EXPECT_EQ(records[0].field("substance.code").text, "insulin-glargine");
  EXPECT_DOUBLE_EQ(records[0].field("schedule.every").number, 86400);
  EXPECT_TRUE(records[0].field("schedule.every").from_text);  // RXE-8 is no place for it
}

TEST(Hl7Samples, ShiftedRequestAloneIsInDoubt) {
  const auto records = read_hl7(message("ORC|NW|1\rRXO|1|A10AE04^Insulin glargine||20|units\r"));
  ASSERT_EQ(records.size(), 1U);
  EXPECT_EQ(records[0].field("dose").state, State::Missing);
  ASSERT_TRUE(records[0].doubts.contains("dose"));
  EXPECT_NE(records[0].doubts.at("dose").find("shifted"), std::string::npos);
}

TEST(Hl7Samples, RateInTheUnitFieldIsInDoubt) {
  const auto records = read_hl7(sample("a-rde-o11-01.hl7"));
  ASSERT_EQ(records.size(), 1U);
  EXPECT_EQ(records[0].field("dose").state, State::Missing);
  EXPECT_TRUE(records[0].doubts.contains("dose"));
}

TEST(Hl7Samples, EncodedInjectionIsJudgedThoughACapsuleWasRequested) {
  const auto records = read_hl7(sample("f-rde-o11-testosterone.hl7"));
  ASSERT_EQ(records.size(), 1U);
  EXPECT_EQ(records[0].kind, RecordKind::Order);
  EXPECT_EQ(records[0].field("substance.code").text, "testosterone-cypionate");
  EXPECT_DOUBLE_EQ(records[0].field("dose").number, 100);
}

TEST(Hl7Samples, RefusedAndOtherVaccinationsInOneMessage) {
  const auto records = read_hl7(sample("f-vxu-three-rxa.hl7"));
  ASSERT_EQ(records.size(), 3U);
  EXPECT_EQ(records[0].kind, RecordKind::Order);
  EXPECT_EQ(records[0].field("order.action").text, "given");
  EXPECT_DOUBLE_EQ(records[0].field("dose").number, 0.5 * kMillilitre);
  EXPECT_DOUBLE_EQ(records[0].field("volume").number, 0.5 * kMillilitre);
  EXPECT_EQ(records[1].kind, RecordKind::Outside);
  EXPECT_NE(records[1].reason.find("refused"), std::string::npos);
}

TEST(Hl7Samples, LeadingDotUnknownAmountAndImpossibleDate) {
  EXPECT_DOUBLE_EQ(read_hl7(sample("f-vxu-leading-dot-dose.hl7"))[0].field("dose").number,
                   0.5 * kMillilitre);
  EXPECT_EQ(read_hl7(sample("c-vxu-v04-historical.hl7"))[0].field("dose").state, State::Missing);
  EXPECT_TRUE(read_hl7(sample("f-vxu-bad-date.hl7"))[0].doubts.contains("order.given"));
}

TEST(Hl7Samples, WeightOfAnotherOrdersGroupBelongsToThePatient) {
  const auto records = read_hl7(sample("f-omp-o09-three-orders-weight.hl7"));
  ASSERT_EQ(records.size(), 3U);
  for (const Record& r : records)
    EXPECT_DOUBLE_EQ(r.field("patient.weight").number, 90e6);  // mg of body mass
}

TEST(Hl7Samples, LostSegmentEndIsSaid) {
  const auto records = read_hl7(sample("f-vxu-missing-terminator.hl7"));
  ASSERT_EQ(records.size(), 1U);
  EXPECT_TRUE(records[0].doubts.contains("order.directions"));
}

TEST(Hl7Samples, TheSameInPiecesOfOneByte) {
  for (const std::string& name : all_samples())
    EXPECT_EQ(read_hl7(sample(name)), read_hl7(sample(name), 1)) << name;
}

TEST(Hl7Samples, CutAnywhereTheReaderSaysSomethingOrNothingWasThere) {
  for (const std::string& name : all_samples()) {
    const std::string text = sample(name);
    // Every cut of the short ones; a prime stride keeps the long ones quick.
    const std::size_t step = text.size() < 1500 ? 1 : 97;
    for (std::size_t end = 4; end < text.size(); end += step)
      ASSERT_FALSE(read_hl7(text.substr(0, end)).empty()) << name << " cut at " << end;
  }
}

TEST(Hl7Framing, FramesBatchesAndConcatenation) {
  const std::string one = message("ORC|NW|1\rRXE||C^Name|50||mg\r");
  EXPECT_EQ(read_hl7(one + one).size(), 2U);
  EXPECT_EQ(read_hl7("\x0B" + one + "\x1C\r\x0B" + one + "\x1C\r").size(), 2U);
  const auto whole = read_hl7("FHS|^~\\&|A\rBHS|^~\\&|A\r" + one + one + "BTS|2\rFTS|1\r");
  ASSERT_EQ(whole.size(), 2U);
  const auto lost = read_hl7("BHS|^~\\&|A\r" + one + "BTS|2\r");
  ASSERT_EQ(lost.size(), 2U);
  EXPECT_EQ(lost[1].kind, RecordKind::Unreadable);
  EXPECT_NE(lost[1].reason.find("says 2, 1 were read"), std::string::npos);
}

// HL7 v2.5.1, 2.10.3 lets a trailer be left out; an input that was cut off looks the same.
TEST(Hl7Framing, AMissingTrailerIsSaidOnceAndLosesNothing) {
  const std::string one = message("ORC|NW|1\rRXE||C^Name|50||mg\r");
  const std::string head = "FHS|^~\\&|A\rBHS|^~\\&|A\r";
  const std::string batch = "the batch has no trailer (BTS): some of it may be lost";
  struct Case {
    std::string text;
    std::string reason;
  };
  const std::vector<Case> cases = {
      {head + one + one,
       "the batch (BTS) and the file (FTS) have no trailer: some of them may be lost"},
      {head + one + one + "BTS|2\r", "the file has no trailer (FTS): some of it may be lost"},
      {head + one + one + "FTS|1\r", batch},
      {"BHS|^~\\&|A\r" + one + one, batch},
      {"BHS|^~\\&|A\r" + one + "BHS|^~\\&|A\r" + one + "BTS|1\r", batch},
  };
  for (const Case& each : cases) {
    std::vector<std::string> reasons;
    std::size_t orders = 0;
    for (const Record& record : read_hl7(each.text)) {
      orders += record.kind == RecordKind::Order ? 1U : 0U;
      if (record.kind == RecordKind::Unreadable) reasons.push_back(record.reason);
    }
    EXPECT_EQ(orders, 2U) << each.text;
    EXPECT_EQ(reasons, std::vector<std::string>{each.reason}) << each.text;
  }
  EXPECT_EQ(read_hl7(one + one).size(), 2U) << "without a header none is missing";
  EXPECT_EQ(read_hl7("BHS|^~\\&|A\r").size(), 1U) << "a file cut behind its header";
}

// Line ends are looked for a window at a time: none may be missed, wherever it stands.
TEST(Hl7Framing, FindsTheNextMessageBehindALineOfAnyLength) {
  for (std::size_t length = 180; length < 800; ++length) {
    const std::string long_line = "NTE|1||" + std::string(length, 'x');
    for (const std::string end : {"\r", "\n", "\r\n"}) {
      std::string one = message("ORC|NW|1\rRXE||C^Name|50||mg\r" + long_line + "\r");
      const auto lines = static_cast<std::uint64_t>(std::count(one.begin(), one.end(), '\r'));
      for (std::size_t at = one.find('\r'); at != std::string::npos;
           at = one.find('\r', at + end.size()))
        one.replace(at, 1, end);
      const auto records = read_hl7(one + one);
      ASSERT_EQ(records.size(), 2U) << length;
      EXPECT_EQ(records[1].line - records[0].line, lines) << length;
      EXPECT_EQ(read_hl7(one + one, 7), records) << length;
    }
  }
}

// A message without a frame ends where a frame begins, if that is the last byte that there is.
TEST(Hl7Framing, AFrameEndsWhatStandsBeforeIt) {
  const std::string one = message("ORC|NW|1\rRXE||C^Name|50||mg\r");
  for (const std::string tail : {"\x0B", "\x0BM", "\x0BMSH"}) {
    const auto records = read_hl7(one + tail);
    ASSERT_FALSE(records.empty());
    EXPECT_EQ(records[0], read_hl7(one)[0]) << tail.size();
  }
  const auto both = read_hl7(one + "\x0B" + one + "\x1C\r");
  ASSERT_EQ(both.size(), 2U);
  EXPECT_EQ(both[1].kind, RecordKind::Order);
}

TEST(Hl7Framing, TwoMessagesThatGrewTogetherAreRefusedAsOne) {
  const std::string other =
      "MSH|^~\\&|A|B|C|D|20260302||RDE^O11^RDE_O11|M2|P|2.5.1\rPID|1||SM-0013^^^X^MR\r"
      "ORC|NW|B-2\rRXE||H^heparin^L|5000||[iU]\r";
  const auto records =
      read_hl7(message("ORC|NW|B-1\rRXE||H^heparin^L|5000||[iU]\rRXR|SC^^HL70162") + other +
               message("ORC|NW|B-3\rRXE||H^heparin^L|5000||[iU]\r"));
  ASSERT_EQ(records.size(), 2U);
  EXPECT_EQ(records[0].kind, RecordKind::Unreadable);
  EXPECT_THAT(records[0].reason, HasSubstr("another message (MSH) begins within this one"));
  EXPECT_EQ(records[1].field("order.id").text, "B-3");
}

TEST(Hl7Framing, AMessageIsAboutOnePatient) {
  const std::string orders = "ORC|NW|B-1\rRXE||H^heparin^L|5000||[iU]\r";
  const auto two = read_hl7(message(orders + "PID|2||SM-0013^^^X^MR\r" + orders));
  ASSERT_EQ(two.size(), 1U);
  EXPECT_EQ(two[0].kind, RecordKind::Unreadable);
  EXPECT_THAT(two[0].reason, HasSubstr("the message is about several patients (PID)"));
  EXPECT_EQ(two[0].at, "PID[2]-3");
  // The same one again.
  EXPECT_EQ(read_hl7(message(orders + "PID|2||SM-0012^^^X^MR\r" + orders)).size(), 2U);
}

TEST(Hl7Encoding, AnIdOfBytesThatAreNoTextIsInDoubt) {
  const auto records = read_hl7(
      "MSH|^~\\&|A|B|C|D|20260302||RDE^O11^RDE_O11|M1|P|2.5.1\rPID|1||M\xFCl^^^X^MR\r"
      "ORC|NW|B-1\rRXE||H^heparin^L|5000||[iU]\r");
  ASSERT_EQ(records.size(), 1U);
  EXPECT_EQ(records[0].field("patient.id").state, State::Missing);
  EXPECT_THAT(records[0].doubts.at("patient.id"), HasSubstr("no UTF-8"));
}

TEST(Hl7Framing, AFrameThatIsNotClosedIsNotJudged) {
  const auto records = read_hl7("\x0B" + message("ORC|NW|1\rRXE||C^Name|50||mg\r"));
  ASSERT_EQ(records.size(), 1U);
  EXPECT_EQ(records[0].kind, RecordKind::Unreadable);
}

TEST(Hl7Framing, MoreOrdersThanABlockHolds) {
  std::string text = message("");
  for (int i = 0; i < 150; ++i)
    text += "ORC|NW|" + std::to_string(i) + "\rRXE||C^Name|" + std::to_string(i + 1) + "||mg\r";
  const auto records = read_hl7(text, 100);
  ASSERT_EQ(records.size(), 150U);
  EXPECT_EQ(records[149].field("order.id").text, "149");
  EXPECT_DOUBLE_EQ(records[149].field("dose").number, 150);
  EXPECT_EQ(records[149].field("dose").at, "RXE[150]-3.1");
}

TEST(Hl7Encoding, DeclaredSeparatorsEscapesAndNull) {
  const auto records = read_hl7(
      "MSH$*!/%$A$B$C$D$20260302$$RDE*O11$M1$P$2.5\rPID$1$$SM-1\rORC$NW$A/F/1*X\r"
      "RXE$$C*Name /T/ more$50$$mg\rAL1$1$$\"\"\r");
  ASSERT_EQ(records.size(), 1U);
  EXPECT_EQ(records[0].field("order.id").text, "A$1");
  EXPECT_EQ(records[0].field("substance.name").text, "Name % more");
  EXPECT_DOUBLE_EQ(records[0].field("dose").number, 50);
  EXPECT_EQ(records[0].field("patient.allergies").state, State::None);
}

TEST(Hl7Encoding, Latin1IsConvertedAndOtherBytesAreShownReplaced) {
  const std::string tail = "\rPID|1||SM-1\rORC|NW|1\rRXE||C^Caf\xE9|50||mg\r";
  const auto declared = read_hl7("MSH|^~\\&|||||20260302||RDE^O11|1|P|2.5||||||8859/1" + tail);
  EXPECT_EQ(declared.at(0).field("substance.name").text, "Caf\xC3\xA9");
  const auto silent = read_hl7("MSH|^~\\&|||||20260302||RDE^O11|1|P|2.5" + tail);
  EXPECT_EQ(silent.at(0).field("substance.name").text, "Caf\xEF\xBF\xBD");
}

TEST(Hl7Encoding, ABareLineFeedInsideAMessageOfReturnsIsContent) {
  const auto records = read_hl7(message("ORC|NW|1\rRXE||C^Two\nlines|50||mg\r"));
  EXPECT_DOUBLE_EQ(records.at(0).field("dose").number, 50);
}

struct DoseCase {
  std::string_view name;
  std::string_view rxe;
  double dose;  // base units; 0: in doubt
};
// Deviations seen in the samples of others.
const DoseCase kDoses[] = {
    {"Plain", "RXE||C^N|50||mg", 50},
    {"UcumStrict", "RXE||C^N|50||mg^^UCUM", 50},
    {"UcumLabelOnATradeSpelling", "RXE||C^N|50||units^^UCUM", 0},
    {"CapitalsOfIsoPlus", "RXE||C^N|0.5||ML^^ISO+", 0.5 * kMillilitre},
    {"TwoNumbers", "RXE||C^N|875/125||mg", 0},
    {"Comparator", "RXE||C^N|<5||mg", 0},
    {"DecimalComma", "RXE||C^N|2,5||mg", 0},
    {"NoUnit", "RXE||C^N|5", 0},
    {"NumberInTheUnit", "RXE||C^N|1||75 mg", 0},
    {"UnitInTheNumber", "RXE||C^N|75 mg", 75},
    {"CodeAndItsText", "RXE||C^N|50||mg^milligram^UCUM^MG^mgs^L", 50},
    {"UnitsAndTheirText", "RXE||C^N|50||U^units^UCUM", 50},
    {"CodeAndAnotherText", "RXE||C^N|50||mg^microgram^UCUM", 0},
    {"CodeAndAnotherLocalCode", "RXE||C^N|50||mg^milligram^ISO+^mcg^microgram^L", 0},
    {"AmountAndVolume", "RXE||C^N|5||mg^mL", 0},
    {"TabletsAreNoAmount", "RXE||C^N|2||SYR", 0},
};
class Hl7Dose : public ::testing::TestWithParam<DoseCase> {};
TEST_P(Hl7Dose, IsReadOrInDoubt) {
  const auto records = read_hl7(message("ORC|NW|1\r" + std::string(GetParam().rxe) + "\r"));
  ASSERT_EQ(records.size(), 1U);
  EXPECT_DOUBLE_EQ(records[0].field("dose").number, GetParam().dose);
  EXPECT_EQ(records[0].doubts.contains("dose"), GetParam().dose == 0);
}
INSTANTIATE_TEST_SUITE_P(Deviations, Hl7Dose, ::testing::ValuesIn(kDoses),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(Hl7Fields, StrengthIsARatio) {
  // HL7 v2.5.1 section 4.14.4.25: 120 mg per 5 mL is strength 120, mg, volume 5, mL.
  const auto ratio =
      read_hl7(message("ORC|NW|1\rRXE||C^N|50||mg||||||||||||||||||||120|mg|||||||5|mL\r"));
  EXPECT_DOUBLE_EQ(ratio.at(0).field("strength").number, 24 / kMillilitre);
  const auto amount = read_hl7(message("ORC|NW|1\rRXE||C^N|50||mg||||||||||||||||||||120|mg\r"));
  EXPECT_EQ(amount.at(0).field("strength").state, State::Missing);
}

struct TimingCase {
  std::string_view name;
  std::string_view pattern;
  double seconds;  // 0: not known
  double times;
};
// HL7 v2.5.1 table 0335; the words are those of the samples.
const TimingCase kTimings[] = {
    {"Daily", "QD", 86400, 0},       {"TwiceADay", "BID", 86400, 2},
    {"EveryEight", "Q8H", 28800, 0}, {"Week", "Q1W", 604800, 0},
    {"Weekly", "WEEKLY", 604800, 0}, {"Fortnight", "Q2W", 1209600, 0},
    {"Days28", "Q28D", 2419200, 0},  {"NoUnit", "Q8", 0, 0},
    {"Ambiguous", "BIWEEKLY", 0, 0}, {"Unknown", "XYZ", 0, 0},
};
class Hl7Timing : public ::testing::TestWithParam<TimingCase> {};
TEST_P(Hl7Timing, IsReadOrLeftAsText) {
  const auto records = read_hl7(
      message("ORC|NW|1\rRXE||C^N|50||mg\rTQ1|1||" + std::string(GetParam().pattern) + "\r"));
  EXPECT_DOUBLE_EQ(records.at(0).field("schedule.every").number, GetParam().seconds);
  EXPECT_DOUBLE_EQ(records.at(0).field("schedule.times").number, GetParam().times);
  // QD is right as a code and forbidden as text (US Joint Commission Do Not Use list).
  const bool code = GetParam().pattern == "QD";
  EXPECT_EQ(records.at(0).field("schedule.text").text, code ? "" : GetParam().pattern);
}
INSTANTIATE_TEST_SUITE_P(Patterns, Hl7Timing, ::testing::ValuesIn(kTimings),
                         [](const auto& info) { return std::string(info.param.name); });

struct ControlCase {
  std::string_view code;
  std::string_view action;
};
// HL7 v2.5.1 table 0119.
const ControlCase kControls[] = {{"NW", "new"},    {"RE", "new"},    {"RF", "new"},
                                 {"XO", "change"}, {"RP", "change"}, {"CA", "cancel"},
                                 {"OC", "cancel"}, {"DC", "stop"},   {"OD", "stop"}};
TEST(Hl7Fields, OrderControl) {
  for (const ControlCase& c : kControls) {
    const auto records = read_hl7(message("ORC|" + std::string(c.code) + "|1\rRXE||C^N|50||mg\r"));
    EXPECT_EQ(records.at(0).field("order.action").text, c.action) << c.code;
  }
  EXPECT_TRUE(
      read_hl7(message("ORC|ZZ|1\rRXE||C^N|50||mg\r")).at(0).doubts.contains("order.action"));
}

// HL7 v2.5.1 table 0038; a new order that comes with such a status is not simply new.
TEST(Hl7Fields, OrderStatus) {
  const std::pair<std::string_view, std::string_view> cases[] = {
      {"CA", "cancelled"}, {"DC", "stopped"},   {"RP", "stopped"}, {"ER", "unknown"},
      {"HD", "suspended"}, {"CM", "completed"}, {"IP", "active"},  {"SC", "active"}};
  for (const auto& [code, status] : cases) {
    const auto records =
        read_hl7(message("ORC|NW|1|||" + std::string(code) + "\rRXE||C^N|50||mg\r"));
    EXPECT_EQ(records.at(0).field("order.action").text, "new") << code;
    EXPECT_EQ(records.at(0).field("order.status").text, status) << code;
  }
  const auto changed = read_hl7(message("ORC|SC|1|||CA\rRXE||C^N|50||mg\r"));
  EXPECT_EQ(changed.at(0).field("order.action").text, "cancel");
}

// HL7 v2.5.1 table 0119: RP is the order that is replaced, RO the one in its place.
TEST(Hl7Fields, AnOrderThatIsReplacedInTheMessageIsCancelled) {
  const auto pair = read_hl7(message("ORC|RP|1\rRXE||C^N|50||mg\rORC|RO|2\rRXE||C^N|60||mg\r"));
  ASSERT_EQ(pair.size(), 2U);
  EXPECT_EQ(pair.at(0).field("order.action").text, "cancel");
  EXPECT_EQ(pair.at(1).field("order.action").text, "new");
}

TEST(Hl7Fields, AMonthIsTheEndOfAnOrderAndNotItsFirstDay) {
  // DTM may end after the month (HL7 v2.5.1 chapter 2A); TQ1-7 is the start, TQ1-8 the end.
  const auto end = read_hl7(
      message("ORC|NW|1|||||||20260302\rRXE||C^N|50||mg\rTQ1|1||Q1W||||20260302|202605\r"));
  EXPECT_TRUE(end.at(0).doubts.empty());
  EXPECT_EQ(end.at(0).field("schedule.end").number,
            static_cast<double>(engine::days_from_civil({2026, 5, 31})) * 86400);
  const auto start =
      read_hl7(message("ORC|NW|1|||||||202603\rRXE||C^N|50||mg\rTQ1|1||Q1W||||202603\r"));
  EXPECT_TRUE(start.at(0).doubts.contains("schedule.start"));
  EXPECT_TRUE(start.at(0).doubts.contains("order.placed"));
}

TEST(Hl7Fields, SideOfCodeAndTextMustAgree) {
  // Table 0163: LD is the left deltoid.
  const auto agree =
      read_hl7(message("ORC|NW|1\rRXE||C^N|50||mg\rRXR|IM|LD^Left Deltoid^HL70163\r"));
  EXPECT_EQ(agree.at(0).field("site").text, "deltoid");
  EXPECT_EQ(agree.at(0).field("side").text, "left");
  const auto differ =
      read_hl7(message("ORC|NW|1\rRXE||C^N|50||mg\rRXR|IM|LD^Right Deltoid^HL70163\r"));
  EXPECT_TRUE(differ.at(0).doubts.contains("side"));
}

TEST(Hl7Fields, AQuadrantOfTheAbdomenIsASiteWithItsSide) {
  // The quadrants of the abdomen, common practice; the side is the patient's own.
  struct Case {
    std::string_view coded;
    std::string_view side;
  };
  for (const Case& c :
       {Case{"LLQ^abdomen, left lower quadrant", "left"}, Case{"RLQ", "right"},
        Case{"LUQ^^HL70163", "left"}, Case{"RUQ^Abdomen^L", "right"},
        Case{"S17^abdomen, right upper quadrant^L", "right"}, Case{"S18^Abdomen LLQ^L", "left"}}) {
    const auto records =
        read_hl7(message("ORC|NW|1\rRXE||C^N|50||mg\rRXR|SC|" + std::string(c.coded) + "\r"));
    EXPECT_EQ(records.at(0).field("site").text, "abdomen") << c.coded;
    EXPECT_EQ(records.at(0).field("side").text, c.side) << c.coded;
  }
  const auto whole = read_hl7(message("ORC|NW|1\rRXE||C^N|50||mg\rRXR|SC|ABD^Abdomen^HL70163\r"));
  EXPECT_EQ(whole.at(0).field("site").text, "abdomen");
  EXPECT_EQ(whole.at(0).field("side").state, State::Missing);
}

TEST(Hl7Fields, AQuadrantThatIsInDoubtIsNotGuessed) {
  const auto differ =
      read_hl7(message("ORC|NW|1\rRXE||C^N|50||mg\rRXR|SC|LLQ^abdomen, right lower quadrant\r"));
  EXPECT_TRUE(differ.at(0).doubts.contains("side"));
  const auto buttock = read_hl7(
      message("ORC|NW|1\rRXE||C^N|50||mg\rRXR|IM|S19^right upper quadrant of the buttock^L\r"));
  EXPECT_NE(buttock.at(0).field("site").text, "abdomen");
}

TEST(Hl7Fields, WhatTextOrTheBirthDateGivesIsNotOneThatIsNeverCarried) {
  using engine::FieldId;
  static const engine::Feed kFeed;
  const adapters::hl7v2::Hl7Source source(text_input(""), {nullptr, &kFeed});
  const engine::FieldSet never = source.never_carries();
  for (const FieldId field : {FieldId::PatientAge,    FieldId::Strength,    FieldId::Volume,
                              FieldId::VialContent,   FieldId::VialVolume,  FieldId::Route,
                              FieldId::Site,          FieldId::Side,        FieldId::ScheduleEvery,
                              FieldId::ScheduleTimes, FieldId::Dose,        FieldId::DosePerWeight,
                              FieldId::SubstanceCode, FieldId::StatedDose,  FieldId::StatedStrength,
                              FieldId::StatedVolume,  FieldId::StatedEvery, FieldId::StatedRoute,
                              FieldId::StatedSite,    FieldId::StatedSide})
    EXPECT_FALSE(never.test(engine::index(field))) << engine::info(field).name;
}

TEST(Hl7Fields, ACodedNumberAndUnitAreShownAsAPersonWouldWriteThem) {
  // Commas and `units` in words: ISMP list of 2006, US Joint Commission Do Not Use list.
  const auto records = read_hl7(message("ORC|NW|1\rRXE||C^N|1000000|2400000|[IU]\r"));
  EXPECT_EQ(records.at(0).field("dose").written, "1,000,000 units");
  EXPECT_EQ(records.at(0).field("dose-high").written, "2,400,000 units");
  const auto small = read_hl7(message("ORC|NW|1\rRXE||C^N|999||U\r"));
  EXPECT_EQ(small.at(0).field("dose").written, "999 units");
}

TEST(Hl7Fields, RequestedDoseThatDiffersIsKept) {
  const auto records = read_hl7(message("ORC|NW|1\rRXO|C^N|60||mg\rRXE||C^N|50||mg\r"));
  EXPECT_DOUBLE_EQ(records.at(0).field("dose").number, 50);
  EXPECT_DOUBLE_EQ(records.at(0).field("stated.dose").number, 60);
  const auto same = read_hl7(message("ORC|NW|1\rRXO|C^N|0.05||g\rRXE||C^N|50||mg\r"));
  EXPECT_EQ(same.at(0).field("stated.dose").state, State::Missing);
}

// RXD-16 to 29: HL7 v2.5.1 chapter 4.14.5; the RXE of the same group says what was ordered.
constexpr std::string_view kEncoded =
    "ORC|RE|1\rRXE||testosterone-cypionate|60||mg||||||||||||||||||||200|mg|||||||1|mL\rRXR|IM\r";
constexpr std::string_view kDispensed =
    "RXD|1|testosterone-cypionate|20260302|2|vial||||Shake well|||||||100|mg|L1|20260101|||"
    "5|mL|||||1|mL\r";

TEST(Hl7Dispense, WhatIsHandedOutIsReadBesideTheOrder) {
  const auto records =
      read_hl7(message(std::string(kEncoded) + std::string(kDispensed) + "RXR|IM\r"));
  ASSERT_EQ(records.size(), 1U);
  const Record& order = records.front();
  EXPECT_EQ(order.field("vial.expires").written, "20260101");
  EXPECT_EQ(order.field("supplied.strength").written, "100 mg/mL");
  EXPECT_DOUBLE_EQ(order.field("supplied.vials").number, 2);
  EXPECT_DOUBLE_EQ(order.field("supplied.vial-volume").number, 5 * kMillilitre);
  EXPECT_EQ(order.field("order.directions").text, "Shake well");
  EXPECT_EQ(order.field("stated.route").state, State::Missing);
  EXPECT_TRUE(order.doubts.empty());
}

TEST(Hl7Dispense, AnotherRouteOnTheLabelIsKept) {
  const auto records =
      read_hl7(message(std::string(kEncoded) + std::string(kDispensed) + "RXR|SC\r"));
  EXPECT_EQ(records.at(0).field("route").text, "intramuscular");
  EXPECT_EQ(records.at(0).field("stated.route").text, "subcutaneous");
}

TEST(Hl7Dispense, ThePartsOfTheLabelAreNotAddedToThoseOfTheOrder) {
  const std::string parts = "RXC|A|ceftriaxone|1000|mg\rRXC|A|lidocaine|18|mg\r";
  const auto same = read_hl7(
      message(std::string(kEncoded) + parts + std::string(kDispensed) + "RXR|IM\r" + parts));
  EXPECT_EQ(same.at(0).field("components").state, State::Known);
  EXPECT_TRUE(same.at(0).doubts.empty());
  const auto other = read_hl7(message(std::string(kEncoded) + parts + std::string(kDispensed) +
                                      "RXC|A|ceftriaxone|500|mg\rRXC|A|lidocaine|18|mg\r"));
  EXPECT_EQ(other.at(0).doubts.count("components"), 1U);
}

TEST(Hl7Fields, ProfileNamesPlacesOfItsOwn) {
  engine::Feed feed;
  feed.hl7.push_back({engine::FieldId::NeedleGauge, "ZRX", 2, 0, ""});
  feed.hl7.push_back({engine::FieldId::SyringeCapacity, "OBX", 0, 0, "SYR-CAP"});
  const auto records = read_hl7(message("ORC|NW|1\rRXE||C^N|50||mg\rZRX|1|25 G\r"
                                        "OBX|1|NM|SYR-CAP||1|mL\r"),
                                1U << 20U, feed);
  EXPECT_DOUBLE_EQ(records.at(0).field("needle.gauge").number, 25);
  EXPECT_DOUBLE_EQ(records.at(0).field("syringe.capacity").number, kMillilitre);
  const engine::ReadContext context{nullptr, &feed};
  const adapters::hl7v2::Hl7Source source(text_input(""), context);
  EXPECT_FALSE(source.never_carries().test(engine::index(engine::FieldId::NeedleGauge)));
  EXPECT_TRUE(source.never_carries().test(engine::index(engine::FieldId::NeedleLength)));
  EXPECT_FALSE(source.never_carries().test(engine::index(engine::FieldId::Dose)));
}

TEST(Hl7Kinds, OtherMessagesSayWhatTheyAre) {
  const auto adt = read_hl7("MSH|^~\\&|||||20260302||ADT^A01|1|P|2.5\rPID|1||SM-1\r");
  ASSERT_EQ(adt.size(), 1U);
  EXPECT_EQ(adt[0].kind, RecordKind::Outside);
  const auto empty = read_hl7(message(""));
  EXPECT_EQ(empty.at(0).kind, RecordKind::Unreadable);
  EXPECT_EQ(read_hl7("hello").at(0).kind, RecordKind::Unreadable);
  EXPECT_EQ(read_hl7(message("ORC|NW|1\r")).at(0).kind, RecordKind::Unreadable);
  EXPECT_EQ(read_hl7(message("ORC|CA|1\r")).at(0).field("order.action").text, "cancel");
  EXPECT_TRUE(read_hl7("").empty());
}

}  // namespace
}  // namespace meniscus::testing
