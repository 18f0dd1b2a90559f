// Contract: see frame_cutter.hpp.
#include "adapters/mllp/frame_cutter.hpp"

#include <algorithm>
#include <cstring>

#include "adapters/hl7v2/frame_bytes.hpp"

namespace meniscus::adapters::mllp {

using hl7v2::kFrameEnd;
using hl7v2::kFrameStart;

std::span<char> FrameCutter::room() {
  const std::size_t left = filled_ - begin_;
  if (left == 0) {
    begin_ = scanned_ = filled_ = 0;
    if (buffer_.size() > 4 * kPiece) buffer_ = std::string();
  }
  if (buffer_.size() - filled_ < kPiece / 2 && begin_ > 0) {
    std::memmove(buffer_.data(), buffer_.data() + begin_, left);
    scanned_ -= begin_;
    filled_ = left;
    begin_ = 0;
  }
  if (buffer_.size() - filled_ < kPiece / 2) buffer_.resize(std::max(kPiece, 2 * buffer_.size()));
  return {buffer_.data() + filled_, std::min(kPiece, buffer_.size() - filled_)};
}

/// Passes over what stands between frames; true at a VT.
bool FrameCutter::find_start() {
  for (; begin_ < filled_; ++begin_) {
    const char c = buffer_[begin_];
    if (c == kFrameStart) {
      scanned_ = begin_ + 1;
      return true;
    }
    if (c != '\r' && c != '\n') ++skipped_;
  }
  scanned_ = begin_;
  return false;
}

/// Stands at the byte that ends the open frame, or behind all that is decided.
FrameCutter::Mark FrameCutter::find_mark() {
  const std::string_view text(buffer_.data(), filled_);
  std::size_t end = 0;  // the next FS; found once, so that many VTs before it cost no more
  for (bool first = true;; ++scanned_, first = false) {
    if (first || scanned_ > end) end = std::min(text.find(kFrameEnd, scanned_), filled_);
    scanned_ = std::min(text.substr(0, end).find(kFrameStart, scanned_), end);
    if (scanned_ == filled_) return Mark::None;
    const bool last = scanned_ + 1 == filled_;
    if (last && !ended_ && !bare_end_) return Mark::None;
    if (text[scanned_] == kFrameEnd) {
      if (last || hl7v2::follows_frame_end(text[scanned_ + 1])) return Mark::End;
    } else if (last || hl7v2::begins_header(text[scanned_ + 1])) {
      return Mark::Abandoned;
    }
  }
}

bool FrameCutter::is_ending() const {
  return is_open() && scanned_ < filled_ && scanned_ + 1 == filled_ &&
         buffer_[scanned_] == kFrameEnd;
}

/// Steps over the FS at scanned_ and the line end after it.
void FrameCutter::pass_end() {
  begin_ = scanned_ + 1;
  if (begin_ < filled_ && buffer_[begin_] != kFrameStart) ++begin_;
  scanned_ = begin_;
  state_ = State::Between;
}

/// What is decided of a frame that nobody wants.
void FrameCutter::drop() {
  const Mark mark = find_mark();
  begin_ = scanned_;
  if (mark == Mark::End) pass_end();
  if (mark == Mark::Abandoned) state_ = State::Between;
}

bool FrameCutter::hand_out(Mark mark, Frame& frame) {
  const std::size_t end = scanned_;
  const std::size_t size = end - begin_ - 1;  // without VT
  const std::string_view text(buffer_.data() + begin_, end - begin_);
  if (size > largest_) {
    frame = {FrameKind::TooLarge, text.substr(0, kShown)};
    state_ = State::Dropping;
    return true;
  }
  if (mark == Mark::None && !ended_) return false;
  state_ = State::Between;
  const std::size_t start = begin_;
  begin_ = end;
  if (mark == Mark::End) {
    frame = {FrameKind::Whole, {buffer_.data() + start, end - start + 1}};
    pass_end();
    return true;
  }
  frame = {FrameKind::Cut, text};
  return size > 0;  // a VT alone is no message
}

bool FrameCutter::next(Frame& frame) {
  bool found = false;
  while (!found) {
    if (state_ == State::Dropping) drop();
    if (state_ == State::Dropping) break;
    if (state_ == State::Between) {
      if (!find_start()) break;
      state_ = State::Inside;
    }
    const Mark mark = find_mark();
    found = hand_out(mark, frame);
    if (!found && state_ == State::Inside) break;
  }
  bare_end_ = false;
  return found;
}

}  // namespace meniscus::adapters::mllp
