// Answers against HL7 v2.5.1: section 2.9 (modes), 2.15.5 (ERR), 2.15.8 (MSA), tables 0008, 0119,
// 0357 and 0516.
#include "adapters/hl7v2/hl7_ack_sink.hpp"

#include <gtest/gtest.h>

#include "tests/adapters/hl7v2/hl7_reading.hpp"

namespace meniscus::testing {
namespace {

using adapters::hl7v2::AckPolicy;
using adapters::hl7v2::Hl7AckSink;
using adapters::hl7v2::OnHold;
using engine::Grade;
using engine::Outcome;

const AckPolicy kUa{OnHold::Ua, Outcome::Clarify};
const AckPolicy kAe{OnHold::Ae, Outcome::Clarify};

std::string order(const std::string& version = "2.5.1", const std::string& modes = "||") {
  return "MSH|^~\\&|APP|FAC|RX|PH|20260302||RDE^O11^RDE_O11|id\\T\\1|P|" + version + "||" + modes +
         "\rPID|1||SM-0012\rORC|NW|A-1^X|F-1^Y\rRXE||C^N|50||mg\rRXR|SC\r";
}

Grade grade_of(Outcome outcome) {
  if (outcome == Outcome::Hold) return Grade::Hold;
  if (outcome == Outcome::Clarify) return Grade::Clarify;
  return outcome == Outcome::Caution ? Grade::Caution : Grade::Note;
}

/// The answers to `text`, whose lanes all have `outcome` (and one finding at or above a note).
std::string answers(const std::string& text, const AckPolicy& policy, Outcome outcome) {
  const engine::Feed feed;
  const engine::ReadContext context{&shipped_words(), &feed};
  adapters::hl7v2::Hl7Source source(text_input(text), context);
  std::string out;
  Hl7AckSink sink(
      policy,
      [&](std::string_view answer) {
        out += answer;
        return true;
      },
      [] { return std::string("20260302091400+0100"); });
  engine::OrderBlock block;
  while (source.next(block)) {
    for (unsigned lane = 0; lane < block.size(); ++lane) {
      engine::Verdict verdict;
      verdict.lane = lane;
      verdict.outcome = outcome;
      if (block.record(lane).kind == engine::RecordKind::Outside)
        verdict.outcome = Outcome::Outside;
      verdict.reason = block.record(lane).reason;
      const bool graded = outcome != Outcome::Clear && outcome != Outcome::Incomplete &&
                          outcome != Outcome::Recorded;
      if (graded && verdict.outcome != Outcome::Outside) {
        engine::Finding& f = verdict.add_finding();
        f.rule = "dose-volume-agreement";
        f.grade = grade_of(outcome);
        f.say = "50 mg | too much";
        f.fields.push_back(
            {engine::FieldId::Dose, "50 mg", block.origin(lane, engine::FieldId::Dose), false});
      }
      if (outcome == Outcome::Incomplete)
        verdict.not_assessed.push_back({"patient.weight", {"weight-dose"}, true});
      sink.write(verdict, block, source);
    }
  }
  EXPECT_TRUE(sink.finish());
  return out;
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

TEST(Hl7Answer, ClearOrderIsAccepted) {
  const std::string out = answers(order(), kUa, Outcome::Clear);
  EXPECT_TRUE(out.starts_with("MSH|^~\\&|RX|PH|APP|FAC|20260302091400+0100||RRE^O12^RRE_O12|"));
  EXPECT_TRUE(has(out, "|P|2.5.1|"));
  EXPECT_TRUE(has(out, "\rMSA|AA|id\\T\\1\r"));
  EXPECT_TRUE(has(out, "\rORC|OK|A-1|F-1\r"));
  EXPECT_FALSE(has(out, "ERR|"));
}

TEST(Hl7Answer, HeldOrderByPolicy) {
  const std::string ua = answers(order(), kUa, Outcome::Hold);
  EXPECT_TRUE(has(ua, "MSA|AA|"));
  EXPECT_TRUE(has(ua, "ORC|UA|A-1|F-1\r"));
  EXPECT_TRUE(has(ua,
                  "ERR||RXE^1^3^1^1|207^Application error^HL70357|E|"
                  "dose-volume-agreement^^MNS||grade hold|50 mg \\F\\ too much\r"));
  const std::string ae = answers(order(), kAe, Outcome::Hold);
  EXPECT_TRUE(has(ae, "MSA|AE|"));
  EXPECT_TRUE(has(ae, "ORC|UA|"));
}

TEST(Hl7Answer, IncompleteIsNeverAPlainAccept) {
  const AckPolicy high{OnHold::Ua, Outcome::Hold};
  const std::string out = answers(order(), high, Outcome::Incomplete);
  EXPECT_FALSE(has(out, "ORC|OK"));
  EXPECT_TRUE(has(out, "ORC|UA"));
  EXPECT_TRUE(has(out, "|I|not-assessed^^MNS|"));
  EXPECT_TRUE(has(answers(order(), kAe, Outcome::Incomplete), "MSA|AE|"));
}

TEST(Hl7Answer, BelowTheThresholdIsAcceptedWithItsWarning) {
  const std::string out = answers(order(), kUa, Outcome::Caution);
  EXPECT_TRUE(has(out, "ORC|OK|"));
  EXPECT_TRUE(has(out, "HL70357|W|"));
}

TEST(Hl7Answer, UnreadableIsRejectedAndUnsupportedToo) {
  EXPECT_TRUE(has(answers("MSH|^~\\&|A|B|C|D|20260302||RDE^O11|7|P|2.5\r", kUa, Outcome::Hold),
                  "MSA|AR|7\r"));
  const std::string adt =
      answers("MSH|^~\\&|A|B|C|D|20260302||ADT^A01|8|P|2.5\r", kUa, Outcome::Clear);
  EXPECT_TRUE(has(adt, "MSA|AR|8\r"));
  EXPECT_TRUE(has(adt, "200^Unsupported message type"));
  EXPECT_EQ(answers("MSH|^~\\&|A|B|C|D|20260302||ACK|8|P|2.5\rMSA|AA|1\r", kUa, Outcome::Clear),
            "");
}

TEST(Hl7Answer, OldVersionsHaveLocationInErr1AndTextInMsa) {
  const std::string out = answers(order("2.3.1"), kUa, Outcome::Hold);
  EXPECT_TRUE(has(out, "MSA|AA|id\\T\\1|50 mg \\F\\ too much\r"));
  EXPECT_TRUE(has(out, "ERR|RXE^1^3^207&Application error&HL70357\r"));
}

TEST(Hl7Answer, EnhancedMode) {
  const std::string both = answers(order("2.5.1", "|AL|AL"), kUa, Outcome::Clear);
  EXPECT_TRUE(has(both, "MSA|CA|"));
  EXPECT_TRUE(has(both, "MSA|AA|"));
  EXPECT_LT(both.find("MSA|CA|"), both.find("MSA|AA|"));
  const std::string never = answers(order("2.5.1", "|AL|NE"), kUa, Outcome::Clear);
  EXPECT_TRUE(has(never, "MSA|CA|"));
  EXPECT_FALSE(has(never, "MSA|AA|"));
  // A held order is answered whatever MSH-16 says: silence would be an accept.
  EXPECT_TRUE(has(answers(order("2.5.1", "|AL|NE"), kUa, Outcome::Hold), "ORC|UA|"));
}

TEST(Hl7Answer, NothingFollowsAnEnhancedReject) {
  const std::string out =
      answers("MSH|^~\\&|A|B|C|D|20260302||ADT^A01|8|P|2.5|||AL|AL\r", kUa, Outcome::Clear);
  EXPECT_TRUE(has(out, "MSA|CR|8\r"));
  EXPECT_FALSE(has(out, "MSA|AR"));
}

TEST(Hl7Answer, TextWithoutAHeaderIsRejectedByItself) {
  const std::string out = answers("MSH\r" + order(), kUa, Outcome::Hold);
  EXPECT_TRUE(has(out, "MSA|AR|\r"));
  EXPECT_TRUE(has(out, "ORC|UA|A-1|F-1\r"));
}

TEST(Hl7Answer, VaccinationIsAnsweredByAnAckThatCannotHideAHold) {
  const std::string text =
      "MSH|^~\\&|A|B|C|D|20260302||VXU^V04^VXU_V04|9|P|2.5.1\rPID|1||SM-1\rORC|RE|1\r"
      "RXA|0|1|20260302||88^influenza^CVX|0.5|mL|||||||||||||CP\r";
  EXPECT_TRUE(has(answers(text, kUa, Outcome::Recorded), "||ACK^V04^ACK|"));
  EXPECT_TRUE(has(answers(text, kUa, Outcome::Recorded), "MSA|AA|9\r"));
  EXPECT_TRUE(has(answers(text, kUa, Outcome::Hold), "MSA|AE|9\r"));
}

TEST(Hl7Answer, FramedIfItCameFramed) {
  const std::string out = answers("\x0B" + order() + "\x1C\r", kUa, Outcome::Clear);
  EXPECT_EQ(out.front(), '\x0B');
  EXPECT_TRUE(out.ends_with("\r\x1C\r"));
}

TEST(Hl7Answer, NoInjectionIsNeitherAcceptedNorRefused) {
  std::string text = order();
  text.replace(text.find("RXR|SC"), 6, "RXR|PO");
  const std::string out = answers(text, kUa, Outcome::Clear);
  EXPECT_FALSE(has(out, "ORC|OK"));
  EXPECT_TRUE(has(out, "|I|outside^^MNS|"));
}

TEST(Hl7Answers, ShowWhetherAnOrderMustNotGoThrough) {
  using adapters::hl7v2::refuses_an_order;
  for (const AckPolicy& policy : {kUa, kAe}) {
    EXPECT_TRUE(refuses_an_order(answers(order(), policy, Outcome::Hold)));
    EXPECT_TRUE(refuses_an_order(answers(order("2.3"), policy, Outcome::Clarify)));
    EXPECT_TRUE(refuses_an_order(answers(order("2.5.1", "|AL|NE"), policy, Outcome::Incomplete)));
    EXPECT_FALSE(refuses_an_order(answers(order(), policy, Outcome::Clear)));
    EXPECT_FALSE(refuses_an_order(answers(order("2.5.1", "|AL|AL"), policy, Outcome::Caution)));
  }
  EXPECT_FALSE(refuses_an_order(""));
  EXPECT_FALSE(refuses_an_order("MSA\rORC"));
}

TEST(Hl7Answers, NameTheGravestOutcome) {
  using adapters::hl7v2::outcome_in;
  EXPECT_EQ(outcome_in("ERR||RXE^1|207|I|a^^MNS||grade note; source|x\r"
                       "ERR||RXE^1|207|E|b^^MNS||grade clarify|grade hold\r"),
            Outcome::Clarify);
  EXPECT_EQ(outcome_in("ERR**RXE*207*I*a***outcome incomplete*x"), std::nullopt) << "field 8";
  EXPECT_EQ(outcome_in("\x0BMSH|^~\\&\rERR||R|207|I|a||outcome incomplete|x\r\x1C\r"),
            Outcome::Incomplete);
  EXPECT_EQ(outcome_in("ERR||R|207|I|a||muted; grade hold|x\r"), std::nullopt);
  for (const char* text : {"", "ERR", "ERR|", "ERR||||||", "ERR|||||||", "MSA|AA|grade hold\r"})
    EXPECT_EQ(outcome_in(text), std::nullopt) << text;
}

}  // namespace
}  // namespace meniscus::testing
