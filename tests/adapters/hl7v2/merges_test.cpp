// Messages that merge two patients.
//
// Source: HL7 v2.5.1, chapter 3: 3.3.40 (A40 merge patient - patient identifier list) has the
// structure: PID and MRG in turn, the patient of the PID stays; 3.4.10 (MRG): MRG-1 the prior list.
#include "adapters/hl7v2/merges.hpp"

#include <gtest/gtest.h>

#include "tests/adapters/hl7v2/hl7_reading.hpp"

namespace meniscus::testing {
namespace {

std::string merge(const std::string& groups, const std::string& event = "A40") {
  return "MSH|^~\\&|ADT|SLATEMOOR|RX|PH|20260302||ADT^" + event + "^ADT_A39|M-1|P|2.5.1\r" +
         "EVN|" + event + "|20260302\r" + groups;
}

struct Merge {
  engine::RecordKind kind{};
  std::string patient;
  std::string former;
  std::string reason;
  std::string at;
};

std::vector<Merge> read(const std::string& text) {
  const engine::Feed feed;
  const engine::ReadContext context{&shipped_words(), &feed};
  adapters::hl7v2::Hl7Source source(text_input(text), context);
  engine::OrderBlock block;
  std::vector<Merge> all;
  while (source.next(block)) {
    for (unsigned lane = 0; lane < block.size(); ++lane) {
      const engine::RecordInfo& record = block.record(lane);
      all.push_back({record.kind, std::string(block.value(lane, engine::FieldId::PatientId).text),
                     std::string(record.former), record.reason,
                     source.record_place(block, lane).at});
    }
  }
  return all;
}

TEST(Merges, TheFormerIdAndThePatient) {
  const auto all = read(merge("PID|1||SM-0013^^^SLATEMOOR^MR||\rMRG|SM-0012^^^SLATEMOOR^MR\r"));
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].kind, engine::RecordKind::Merge);
  EXPECT_EQ(all[0].patient, "SM-0013");
  EXPECT_EQ(all[0].former, "SM-0012");
  EXPECT_EQ(all[0].at, "MRG-1.1");
}

TEST(Merges, SeveralInOneMessage) {
  const auto all = read(merge("PID|1||SM-0013\rMRG|SM-0012\rPID|2||SM-0015\rPV1|1\rMRG|SM-0014\r"));
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(all[1].patient, "SM-0015");
  EXPECT_EQ(all[1].former, "SM-0014");
}

TEST(Merges, OfSeveralIdsTheRecordNumber) {
  const auto all = read(merge("PID|1||9^^^X^NI~SM-0013^^^S^MR\rMRG|8^^^X^NI~SM-0012^^^S^MR\r"));
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].patient, "SM-0013");
  EXPECT_EQ(all[0].former, "SM-0012");
}

TEST(Merges, WhatIsMissingIsSaidWithItsPlace) {
  const auto no_former = read(merge("PID|1||SM-0013\rMRG|\r"));
  ASSERT_EQ(no_former.size(), 1U);
  EXPECT_EQ(no_former[0].kind, engine::RecordKind::Unreadable);
  EXPECT_EQ(no_former[0].reason, "the merge names no former patient (MRG-1)");
  const auto no_group = read(merge("PID|1||SM-0013\r"));
  EXPECT_EQ(no_group.at(0).reason, "the merge names no former patient (no MRG after its PID)");
  const auto no_patient = read(merge("PID|1||\rMRG|SM-0012\r"));
  EXPECT_EQ(no_patient.at(0).reason, "the merge does not say whose records stay (PID-3)");
  EXPECT_EQ(no_patient.at(0).at, "PID");
  const auto alone = read(merge("MRG|SM-0012\r"));
  EXPECT_EQ(alone.at(0).kind, engine::RecordKind::Unreadable);
}

TEST(Merges, OtherAdmissionMessagesAreNone) {
  const auto all = read(merge("PID|1||SM-0013\r", "A08"));
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].kind, engine::RecordKind::Outside);
  EXPECT_EQ(read(merge("PID|1||SM-0013\rMRG|SM-0012\r", "A34")).at(0).kind,
            engine::RecordKind::Merge);
}

}  // namespace
}  // namespace meniscus::testing
