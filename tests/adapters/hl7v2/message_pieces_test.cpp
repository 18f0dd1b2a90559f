// Pieces of HL7 v2: their units are those of the stream as a whole, in its order and at its places.
//
// Checked against MessageStream over the same bytes, on the samples of others
// (tests/fixtures/hl7/README.md) one after the other.
#include "adapters/hl7v2/message_pieces.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "adapters/input/byte_sources.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

std::string all_samples() {
  std::vector<std::filesystem::path> paths;
  for (const auto& entry :
       std::filesystem::directory_iterator(MENISCUS_SOURCE_DIR "/tests/fixtures/hl7"))
    if (entry.path().extension() == ".hl7") paths.push_back(entry.path());
  std::ranges::sort(paths);
  std::string text;
  for (const auto& path : paths) {
    std::ifstream file(path, std::ios::binary);
    text.append(std::istreambuf_iterator<char>(file), {}).append("\r");
  }
  return text;
}

void expect_same(const Unit& one, const Unit& other) {
  EXPECT_EQ(one.text, other.text);
  EXPECT_EQ(one.kind, other.kind);
  EXPECT_EQ(one.offset, other.offset);
  EXPECT_EQ(one.line, other.line);
  EXPECT_EQ(one.framed, other.framed);
  EXPECT_EQ(one.cut, other.cut);
}

TEST(MessagePieces, HoldTheUnitsOfTheStream) {
  const std::string text = all_samples() + "\x0B" + all_samples() + "\x1C\r" + all_samples();
  for (const PieceLimits& most : {PieceLimits{1, 1}, PieceLimits{3, 900'000}, PieceLimits{}}) {
    MessageStream stream(memory_bytes(text));
    MessagePieces pieces(memory_bytes(text), most);
    MessagePiece piece;
    std::uint32_t messages = 0;
    std::size_t count = 0;
    Unit expected;
    for (; pieces.take(piece); ++count) {
      EXPECT_EQ(piece.messages, messages);
      EXPECT_LE(piece.units.size(), most.units);
      for (const Unit& unit : piece.units) {
        ASSERT_TRUE(stream.next(expected));
        expect_same(unit, expected);
        messages += unit.kind == UnitKind::Message ? 1U : 0U;
      }
      stream.release(false);
    }
    EXPECT_FALSE(stream.next(expected));
    EXPECT_FALSE(pieces.take(piece));
    EXPECT_GE(count, messages / most.units);
    EXPECT_GT(messages, 30U);
  }
}

TEST(MessagePieces, SayWhyTheInputEndedBehindTheLastUnit) {
  const std::string text = all_samples();
  MessagePieces pieces(with_bytes_before(text, broken_off({engine::Errc::Input, "gone", 0, 0})));
  MessagePiece piece;
  std::vector<std::string> failures;
  while (pieces.take(piece))
    failures.push_back(piece.failure);
  ASSERT_FALSE(failures.empty());
  EXPECT_EQ(failures.back(), "gone");
  failures.pop_back();
  for (const std::string& failure : failures)
    EXPECT_EQ(failure, "");
}

}  // namespace
}  // namespace meniscus::adapters::hl7v2
