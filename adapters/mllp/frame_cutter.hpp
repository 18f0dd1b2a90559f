// Bytes of one connection cut into MLLP frames: <VT> message <FS><CR>.  No sockets, no clock.
//
//   FrameCutter cutter(kLargest);
//   const std::span<char> room = cutter.room();
//   cutter.add(read_into(room));
//   while (cutter.next(frame)) use(frame);
//
// Cuts:     as hl7v2::MessageStream does (hl7v2/frame_bytes.hpp has the rules of both), however the
//           bytes come: many frames in one piece, or one frame byte by byte.
// Between:  bytes between frames are counted and skipped.
// Lost:     a frame that is abandoned for a new one, or that the connection's end leaves open, is
//           handed out as Cut; one that is too large as its beginning, and the rest is skipped.
// Memory:   at most the largest frame and one piece; a large buffer is given back once it is empty.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace meniscus::adapters::mllp {

enum class FrameKind : std::uint8_t {
  Whole,
  Cut,      // never closed: the message may be half
  TooLarge  // `bytes` are its first kShown
};

struct Frame {
  FrameKind kind = FrameKind::Whole;
  std::string_view bytes;  // with VT, and FS where there is one
};

class FrameCutter {
 public:
  static constexpr std::size_t kPiece = std::size_t{8} << 10U;
  static constexpr std::size_t kShown = std::size_t{4} << 10U;  // of a frame that is too large

  /// `largest`: bytes of a frame, without FS and CR; at least kShown.
  explicit FrameCutter(std::size_t largest) : largest_(largest) {}

  /// Where the next bytes are to go, at least one; ends the life of all views.
  std::span<char> room();
  /// `count` bytes of room() are filled.
  void add(std::size_t count) { filled_ += count; }

  /// The next frame; its view lives until the next call of anything but the questions below.
  bool next(Frame& frame);
  /// No more bytes come: what is open is handed out.
  void end() { ended_ = true; }
  /// Nothing came after an FS for a while: it ends the open frame, without its CR.
  void end_without_cr() { bare_end_ = is_ending(); }

  /// A frame has begun and is not whole.
  [[nodiscard]] bool is_open() const { return state_ != State::Between; }
  /// The last byte is an FS that may end the open frame.
  [[nodiscard]] bool is_ending() const;
  /// Bytes that stood outside of frames, but for line ends.
  [[nodiscard]] std::uint64_t skipped() const { return skipped_; }

 private:
  enum class State : std::uint8_t {
    Between,
    Inside,
    Dropping  // the rest of a frame that was too large
  };
  enum class Mark : std::uint8_t { None, End, Abandoned };

  bool find_start();
  Mark find_mark();
  bool hand_out(Mark mark, Frame& frame);
  void pass_end();
  void drop();

  std::size_t largest_;
  std::string buffer_;
  std::size_t begin_ = 0;    // of what is not used up
  std::size_t scanned_ = 0;  // looked at up to here
  std::size_t filled_ = 0;
  State state_ = State::Between;
  bool ended_ = false;
  bool bare_end_ = false;
  std::uint64_t skipped_ = 0;
};

}  // namespace meniscus::adapters::mllp
