// Frames out of bytes, however they come: block format of MLLP release 1.
#include "adapters/mllp/frame_cutter.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

namespace meniscus::adapters::mllp {
namespace {

constexpr std::size_t kLargest = std::size_t{16} << 10U;

/// Fills as much of the cutter's room as there is text.
void feed(FrameCutter& cutter, std::string_view& text, std::size_t piece) {
  const std::span<char> room = cutter.room();
  const std::size_t count = std::min({room.size(), text.size(), piece});
  std::copy_n(text.begin(), count, room.begin());
  cutter.add(count);
  text.remove_prefix(count);
}

char mark_of(FrameKind kind) {
  switch (kind) {
    case FrameKind::Whole:
      return 'w';
    case FrameKind::Cut:
      return 'c';
    case FrameKind::TooLarge:
      return 't';
  }
  return '?';
}

struct Cut {
  std::vector<std::string> frames;  // each with its kind in front
  std::uint64_t skipped = 0;
  friend bool operator==(const Cut&, const Cut&) = default;
};

Cut cut(std::string_view text, std::size_t piece, bool end = true) {
  FrameCutter cutter(kLargest);
  Cut out;
  Frame frame;
  const auto take = [&] {
    while (cutter.next(frame))
      out.frames.push_back(mark_of(frame.kind) + std::string(frame.bytes));
  };
  while (!text.empty()) {
    feed(cutter, text, piece);
    take();
  }
  if (end) cutter.end();
  take();
  out.skipped = cutter.skipped();
  return out;
}

struct Case {
  std::string_view name;
  std::string text;
  std::vector<std::string> frames;
  std::uint64_t skipped = 0;
};
std::ostream& operator<<(std::ostream& os, const Case& c) { return os << c.name; }

const std::vector<Case>& cases() {
  static const std::vector<Case> kCases = {
      {"Nothing", "", {}},
      {"One", "\x0BMSH|1\r\x1C\r", {"w\x0BMSH|1\r\x1C"}},
      {"TwoInOnePiece", "\x0BMSH|1\x1C\r\x0BMSH|2\x1C\r", {"w\x0BMSH|1\x1C", "w\x0BMSH|2\x1C"}},
      {"LineFeedInsteadOfTheLastByte", "\x0BMSH|1\x1C\n", {"w\x0BMSH|1\x1C"}},
      {"NoLastByteBeforeTheNext",
       "\x0BMSH|1\x1C\x0BMSH|2\x1C\r",
       {"w\x0BMSH|1\x1C", "w\x0BMSH|2\x1C"}},
      {"NoLastByteAtTheEnd", "\x0BMSH|1\x1C", {"w\x0BMSH|1\x1C"}},
      {"LineEndsBetween", "\r\n\x0BMSH|1\x1C\r\r\n", {"w\x0BMSH|1\x1C"}},
      {"NoiseBetween",
       "ab\x0BMSH|1\x1C\rcd\x0BMSH|2\x1C\r",
       {"w\x0BMSH|1\x1C", "w\x0BMSH|2\x1C"},
       4},
      {"NoFrameAtAll", "MSH|1\r", {}, 5},
      {"Abandoned", "\x0BMSH|1\x0BMSH|2\x1C\r", {"c\x0BMSH|1", "w\x0BMSH|2\x1C"}},
      {"NeverClosed", "\x0BMSH|1\rPID", {"c\x0BMSH|1\rPID"}},
      {"EndByteInTheText", "\x0BMSH|\x1C|1\x1C\r", {"w\x0BMSH|\x1C|1\x1C"}},
      {"StartByteInTheText", "\x0BMSH|\x0B|1\x1C\r", {"w\x0BMSH|\x0B|1\x1C"}},
      {"OnlyAStart", "\x0B", {}},
      {"EmptyFrame", "\x0B\x1C\r", {"w\x0B\x1C"}},
  };
  return kCases;
}

class Frames : public ::testing::TestWithParam<Case> {};

TEST_P(Frames, AreTheSameInPiecesOfAnySize) {
  const Case& c = GetParam();
  for (std::size_t piece = 1; piece <= c.text.size() + 1; ++piece) {
    const Cut got = cut(c.text, piece);
    EXPECT_EQ(got.frames, c.frames) << "pieces of " << piece;
    EXPECT_EQ(got.skipped, c.skipped) << "pieces of " << piece;
  }
}
INSTANTIATE_TEST_SUITE_P(Text, Frames, ::testing::ValuesIn(cases()),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(FrameCutter, WaitsForTheByteAfterAnEnd) {
  // Half an order would be judged if the FS were content.
  EXPECT_TRUE(cut("\x0BMSH|1\x1C", 100, false).frames.empty());
}

TEST(FrameCutter, AnEndWithoutCrCountsWhenNothingFollows) {
  FrameCutter cutter(kLargest);
  std::string_view text = "\x0BMSH|1\x1C";
  feed(cutter, text, 100);
  Frame frame;
  EXPECT_FALSE(cutter.next(frame));
  EXPECT_TRUE(cutter.is_ending());
  cutter.end_without_cr();
  ASSERT_TRUE(cutter.next(frame));
  EXPECT_EQ(frame.kind, FrameKind::Whole);
  EXPECT_EQ(frame.bytes, "\x0BMSH|1\x1C");
  EXPECT_FALSE(cutter.is_open());
  // The CR may still come; the next frame is read as ever.
  text = "\r\x0BMSH|2\x1C\r";
  feed(cutter, text, 100);
  ASSERT_TRUE(cutter.next(frame));
  EXPECT_EQ(frame.bytes, "\x0BMSH|2\x1C");
  EXPECT_EQ(cutter.skipped(), 0U);
}

TEST(FrameCutter, WithoutAnEndWaitingChangesNothing) {
  FrameCutter cutter(kLargest);
  std::string_view text = "\x0BMSH|1\r";
  feed(cutter, text, 100);
  Frame frame;
  EXPECT_FALSE(cutter.next(frame));
  EXPECT_FALSE(cutter.is_ending());
  cutter.end_without_cr();
  EXPECT_FALSE(cutter.next(frame));
  EXPECT_TRUE(cutter.is_open());
}

TEST(FrameCutter, TooLargeIsRefusedAndTheNextIsRead) {
  const std::string large = "MSH|1|" + std::string(kLargest, 'x');
  const std::string text = "\x0B" + large + "\x1C\r\x0BMSH|2\x1C\r";
  const std::string shown = "t" + text.substr(0, FrameCutter::kShown);
  for (const std::size_t piece : {std::size_t{1}, std::size_t{777}, text.size()})
    EXPECT_EQ(cut(text, piece).frames, (std::vector{shown, std::string("w\x0BMSH|2\x1C")}));
}

TEST(FrameCutter, TheLargestIsRead) {
  const std::string text = "\x0B" + std::string(kLargest, 'x') + "\x1C\r";
  for (const std::size_t piece : {std::size_t{1}, text.size()}) {
    const Cut got = cut(text, piece);
    ASSERT_EQ(got.frames.size(), 1U);
    EXPECT_EQ(got.frames[0], "w" + text.substr(0, text.size() - 1));
  }
}

TEST(FrameCutter, MemoryStaysAtTheLargestFrame) {
  FrameCutter cutter(kLargest);
  Frame frame;
  const std::string noise(1000, '\x1C');
  std::size_t refused = 0;
  for (int i = 0; i < 1000; ++i) {  // one endless frame
    std::string_view text = i == 0 ? std::string_view("\x0BMSH|") : std::string_view(noise);
    while (!text.empty())
      feed(cutter, text, text.size());
    while (cutter.next(frame))
      ++refused;
  }
  EXPECT_EQ(refused, 1U);
  EXPECT_LE(cutter.room().size(), FrameCutter::kPiece);
  EXPECT_TRUE(cutter.is_open());
}

}  // namespace
}  // namespace meniscus::adapters::mllp
