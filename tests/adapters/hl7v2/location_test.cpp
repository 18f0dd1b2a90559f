// A segment's place that is told without splitting the message is the one that splitting tells.
#include "adapters/hl7v2/location.hpp"

#include <gtest/gtest.h>

#include <random>
#include <string>
#include <vector>

namespace meniscus::adapters::hl7v2 {
namespace {

const std::vector<std::string>& pieces() {
  static const std::vector<std::string> kPieces = {
      "RXE||C^Name|1", "RXE", "ORC|NW|A-1", "RXR|IM|LD",  "NTE|1||RXE", "PID|1||SM-0012",
      "|RXE|",         "\r",  "\r\n",       "\n",         " ",          "\r\r",
      "MSH|^~\\&|",    "|",   "RX",         "TQ1|1||Q1W", "\x1C",       "|RXE||mg|ORC|NW|"};
  return kPieces;
}

/// A header, then segments and what real senders put between and into them.
std::string odd_message(std::mt19937& random) {
  std::string text = random() % 8 == 0 ? "" : "MSH|^~\\&|APP|FAC|RX|PH|||RDE^O11|M-1|P|2.5.1";
  for (int i = 0; i < 12; ++i) {
    if (random() % 3 != 0) text += "\r";
    text += pieces()[random() % pieces().size()];
  }
  return text;
}

TEST(SegmentPath, IsWhatSplittingTellsOrNothing) {
  std::mt19937 random(20260302);  // NOLINT(*-msc51-cpp): the same messages each time
  std::size_t told = 0;
  for (int round = 0; round < 20000; ++round) {
    const std::string text = odd_message(random);
    Message message;
    message.parse(text);
    for (const Segment& segment : message.segments()) {
      const auto path = segment_path(text, segment.begin, message.delimiters().field);
      if (!path) continue;
      ++told;
      ASSERT_EQ(to_string(*path), to_string(path_of(message, {segment.begin, 3}))) << text;
    }
  }
  EXPECT_GT(told, 20000U);
}

TEST(SegmentPath, CountsSegmentsOfTheName) {
  const std::string text = "MSH|^~\\&|APP\rORC|NW\rRXE||RXE^A\rORC|NW\rRXE\rRXR|IM\r";
  EXPECT_EQ(to_string(*segment_path(text, text.find("RXE||"), '|')), "RXE");
  EXPECT_EQ(to_string(*segment_path(text, text.find("RXE\r"), '|')), "RXE[2]");
  EXPECT_FALSE(segment_path(text, text.find("RXE^"), '|')) << "no segment begins there";
  EXPECT_FALSE(segment_path(text, 0, '|'));
  EXPECT_FALSE(segment_path(text, 4000, '|'));
}

}  // namespace
}  // namespace meniscus::adapters::hl7v2
