// What is remembered of an order's body changes nothing but the time that reading takes.
//
// Checked against the same reader with nothing to remember: each message read by a source of its
// own.  The bodies are those of RDE^O11 (HL7 v2.5.1, 4.13.6) with the fields of 4.14.
#include "adapters/hl7v2/body_memo.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "adapters/hl7v2/order_fields.hpp"
#include "adapters/hl7v2/order_reader.hpp"
#include "tests/adapters/hl7v2/hl7_reading.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;
using meniscus::testing::read_hl7;
using meniscus::testing::Record;

/// What varies in the messages below.
struct Made {
  std::string sent = "20260302091400+0100";
  std::string set;  // MSH-18
  std::string patient = "SM-0012";
  std::string dose = "50";
  std::string filler = "7";  // RXE-15
  std::string start = "20260302";
  std::string name = "Testosterone cypionate 200 mg/mL";
};

std::string message(const Made& made) {
  return "MSH|^~\\&|ORDERS|SLATEMOOR|PHARMACY|SLATEMOOR|" + made.sent +
         "||RDE^O11^RDE_O11|1|P|2.5.1||||||" + made.set + "\rPID|1||" + made.patient +
         "^^^SLATEMOOR^MR||||19880402|F\rORC|NW|A-" + made.patient +
         "^SLATEMOOR\rRXE||testosterone-cypionate^" + made.name + "^L|" + made.dose +
         "||mg^^UCUM|INJ|^Inject 0.25 mL under the skin once a week|||1|VIAL|3|||" + made.filler +
         "||||||||||200|mg|||||||1|mL\rTQ1|1||Q1W||||" + made.start +
         "\rRXR|SC^Subcutaneous^HL70162|LLAQ^Left lower abdomen^HL70163\r"
         "OBX|1|NM|29463-7^Body weight^LN||71|kg^^UCUM|||||F\r";
}

/// One message after the other with one memo, as OrderReader has them.
class Reading {
 public:
  /// recall() was true.
  bool read(const std::string& text) {
    text_ = text;
    block_.clear();
    const unsigned number = block_.add_lane();
    block_.record(number).text = text_;
    message_.parse(text_);
    plan_orders(message_, plans_);
    TextCoding coding;
    coding.delimiters = message_.delimiters();
    coding.has_high_bytes = message_.has_high_bytes();
    coding.characters = message_.characters();
    coding.converter = &converter_;
    const auto date =
        engine::parse_hl7_date(message_.first(message_.field(*message_.find("MSH"), 7), 1));
    const Lane lane{context_, block_, message_, coding, date ? std::optional(*date) : std::nullopt,
                    number};
    if (memo_.recall(lane, plans_[0])) return true;
    std::string_view place;
    EXPECT_EQ(read_route(lane, plans_[0], place), "");
    read_medicine(lane, plans_[0]);
    read_timing(lane, plans_[0]);
    memo_.keep(lane);
    return false;
  }
  [[nodiscard]] const engine::OrderBlock& block() const { return block_; }
  [[nodiscard]] std::string at(FieldId field) const {
    const engine::Origin origin = block_.origin(0, field);
    return text_.substr(origin.offset, origin.length);
  }

 private:
  engine::Feed feed_;
  engine::ReadContext context_{&meniscus::testing::shipped_words(), &feed_};
  std::string text_;
  engine::OrderBlock block_;
  Message message_;
  Converter converter_;
  std::vector<OrderPlan> plans_;
  BodyMemo memo_;
};

TEST(BodyMemo, KnowsABodyTheThirdTime) {
  Reading reading;
  EXPECT_FALSE(reading.read(message({})));
  EXPECT_FALSE(reading.read(message({})));
  EXPECT_TRUE(reading.read(message({})));
  Made other;
  other.dose = "51";
  EXPECT_FALSE(reading.read(message(other)));
}

TEST(BodyMemo, PlacesAreThoseOfTheMessageAtHand) {
  Reading reading;
  for (int i = 0; i < 2; ++i)
    reading.read(message({}));
  Made other;
  other.patient = "SM-0012345678";   // moves all of the body
  other.filler = "a longer number";  // and what stands after RXE-15
  other.start = "202604";
  ASSERT_TRUE(reading.read(message(other)));
  EXPECT_EQ(reading.at(FieldId::Dose), "50");
  EXPECT_EQ(reading.at(FieldId::Strength), "200|mg|||||||1|mL");
  EXPECT_EQ(reading.at(FieldId::Route), "SC");
  EXPECT_EQ(reading.at(FieldId::Site), "LLAQ");
  EXPECT_EQ(reading.at(FieldId::ScheduleText), "Q1W");
  EXPECT_EQ(reading.at(FieldId::ScheduleStart), "202604");
  EXPECT_EQ(reading.block().written(0, FieldId::Strength), "200 mg/mL");
}

TEST(BodyMemo, ReadsTheDatesOfTheTimingEachTime) {
  Reading reading;
  for (int i = 0; i < 2; ++i)
    reading.read(message({}));
  Made other;
  other.start = "20261399";
  ASSERT_TRUE(reading.read(message(other)));
  EXPECT_FALSE(reading.block().value(0, FieldId::ScheduleStart).known());
  ASSERT_EQ(reading.block().doubts().size(), 1U);
  EXPECT_EQ(reading.block().doubts()[0].field, FieldId::ScheduleStart);
  other.start = "";
  ASSERT_TRUE(reading.read(message(other)));
  EXPECT_TRUE(reading.block().doubts().empty());
}

TEST(BodyMemo, DependsOnTheSeparatorsTheSetAndTheOffset) {
  Reading reading;
  for (int i = 0; i < 2; ++i)
    reading.read(message({}));
  Made made;
  made.sent = "20260302091400+0200";
  EXPECT_FALSE(reading.read(message(made)));
  made.sent = "20260302091400";
  EXPECT_FALSE(reading.read(message(made)));
  made = {};
  made.set = "8859/1";
  EXPECT_FALSE(reading.read(message(made)));
  // The usual characters keep their meaning in any order, so nothing changes.
  std::string order = message({});
  order.replace(order.find("^~\\&"), 4, "^&~\\");
  EXPECT_TRUE(reading.read(order));
  // The same bytes under another escape character or another mark of what is cut short.
  std::string escape = message({});
  escape.replace(escape.find("^~\\&"), 4, "^~!&");
  EXPECT_FALSE(reading.read(escape));
  std::string truncation = message({});
  truncation.replace(truncation.find("^~\\&"), 4, "^~\\&#");
  EXPECT_FALSE(reading.read(truncation));
  std::string component = message({});
  component.replace(component.find("^~\\&"), 4, "*~\\&");
  EXPECT_FALSE(reading.read(component));
}

TEST(BodyMemo, KeepsNoDoubt) {
  Reading reading;
  Made made;
  made.dose = "0,5.1";
  for (int i = 0; i < 4; ++i) {
    EXPECT_FALSE(reading.read(message(made)));
    EXPECT_EQ(reading.block().doubts().size(), 1U);
  }
}

TEST(BodyMemo, LeavesOutWhatSetsHideSeparatorsIn) {
  Reading reading;
  Made made;
  made.set = "ISO IR87";
  for (int i = 0; i < 3; ++i)
    EXPECT_FALSE(reading.read(message(made)));
}

TEST(BodyMemo, RemembersTextThatWasDecoded) {
  Reading reading;
  Made made;
  made.name = "A \\T\\ B 5 mg/mL";
  for (int i = 0; i < 2; ++i)
    reading.read(message(made));
  ASSERT_TRUE(reading.read(message(made)));
  EXPECT_EQ(reading.block().value(0, FieldId::SubstanceName).text, "A & B 5 mg/mL");
  EXPECT_EQ(reading.at(FieldId::SubstanceName), "A \\T\\ B 5 mg/mL");
}

/// All but the line, which counts from the start of the input.
std::vector<Record> without_lines(std::vector<Record> records) {
  for (Record& record : records)
    record.line = 0;
  return records;
}

TEST(BodyMemo, AFullMemoForgetsAndStaysRight) {
  std::vector<std::string> messages;
  constexpr int kBodies = 3000;  // more than there are entries
  for (int i = 0; i < 3 * kBodies; ++i) {
    Made made;
    const int body = i % 3 == 2 ? i / 3 % 7 : i % kBodies;  // a few come often
    made.dose = std::to_string(body + 1);
    made.patient = "SM-" + std::to_string(i);
    made.name = body % 5 == 0 ? "Methotrexate \\S\\ 25 mg/mL" : "Testosterone";
    messages.push_back(message(made));
  }
  std::string all;
  std::vector<Record> alone;
  for (const std::string& text : messages) {
    all += text;
    alone.push_back(read_hl7(text).at(0));
  }
  const std::vector<Record> together = without_lines(read_hl7(all));
  alone = without_lines(std::move(alone));
  ASSERT_EQ(together.size(), alone.size());
  for (std::size_t i = 0; i < alone.size(); ++i)
    ASSERT_EQ(together[i], alone[i]) << i;
}

TEST(BodyMemo, OtherVersionsSeparatorsAndSetsInOneFeed) {
  std::vector<Made> kinds(6);
  kinds[1].sent = "20260302";
  kinds[1].set = kinds[3].set = "UNICODE UTF-8";
  kinds[2].set = "8859/1";
  kinds[2].name = "Testost\xE9rone 200 mg/mL";
  kinds[3].name = "Testost\xC3\xA9rone";
  kinds[4].dose = "875/125";
  kinds[5].start = "\"\"";
  std::string all;
  std::vector<Record> alone;
  for (int i = 0; i < 60; ++i) {
    std::string text = message(kinds[static_cast<std::size_t>(i) % kinds.size()]);
    if (i % 4 == 1) text.replace(text.find("2.5.1"), 5, "2.3");
    if (i % 5 == 2) text.replace(text.find("^~\\&"), 4, "*~\\&");
    if (i % 7 == 3) text.replace(text.find("TQ1|"), 4, "NTE|1||with food\rTQ1|");
    all += text;
    alone.push_back(read_hl7(text).at(0));
  }
  EXPECT_EQ(without_lines(read_hl7(all)), without_lines(std::move(alone)));
}

}  // namespace
}  // namespace meniscus::adapters::hl7v2
