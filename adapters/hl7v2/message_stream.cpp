// Framing by looking at line starts and at the two frame bytes; contents are never decoded here.
#include "adapters/hl7v2/message_stream.hpp"

#include <algorithm>
#include <cstring>
#include <optional>

#include "adapters/hl7v2/frame_bytes.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

constexpr std::size_t kChunk = std::size_t{256} << 10U;
constexpr std::size_t kNotYet = std::string_view::npos;
constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

bool is_noise(char c) {
  return c == '\r' || c == '\n' || c == ' ' || c == '\t' || c == '\0' || c == kFrameEnd;
}

bool is_separator(char c) {
  const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
  return c > ' ' && c < '\x7F' && !letter && c != '_';
}

/// The kind of unit that a line begins, if it begins one.
std::optional<UnitKind> header_kind(std::string_view line) {
  if (line.size() < 4 || !is_separator(line[3])) return std::nullopt;
  const std::string_view name = line.substr(0, 3);
  if (name == "MSH") return UnitKind::Message;
  if (name == "FHS") return UnitKind::FileHeader;
  if (name == "BHS") return UnitKind::BatchHeader;
  if (name == "BTS") return UnitKind::BatchTrailer;
  if (name == "FTS") return UnitKind::FileTrailer;
  return std::nullopt;
}

/// A trailer without fields (`BTS` alone on its line).
std::optional<UnitKind> bare_trailer(std::string_view text) {
  while (!text.empty() && (text.back() == '\r' || text.back() == '\n'))
    text.remove_suffix(1);
  if (text == "BTS") return UnitKind::BatchTrailer;
  if (text == "FTS") return UnitKind::FileTrailer;
  return std::nullopt;
}

/// Whether a frame's first byte ends what comes before it.
enum class Frames : std::uint8_t { EndHere, AreOver };

/// The next line end at or after `from`, or first byte of a frame; npos when there is none.  Looks
/// at a little at a time: a line is short, and what ends it may be the only one of its kind for
/// long.
std::size_t next_break(std::string_view text, std::size_t from, Frames frames) {
  constexpr std::size_t kWindow = 256;
  for (std::size_t at = from; at < text.size(); at += kWindow) {
    const std::string_view window = text.substr(at, kWindow);
    std::size_t end = window.size();
    for (const char c : {'\r', '\n', kFrameStart}) {
      if (c == kFrameStart && frames == Frames::AreOver) break;
      const void* const found = std::memchr(window.data(), c, end);
      if (found != nullptr)
        end = static_cast<std::size_t>(static_cast<const char*>(found) - window.data());
    }
    if (end < window.size()) return at + end;
  }
  return std::string_view::npos;
}

/// Where the next header line, or frame, begins in `text` after `from`; npos when there is none.
/// `checked` tells how far the answer holds however much text follows.
std::size_t next_start(std::string_view text, std::size_t from, Frames frames,
                       std::size_t& checked) {
  for (std::size_t at = from;;) {
    const std::size_t end = next_break(text, at, frames);
    if (end == std::string_view::npos) break;
    if (text[end] == kFrameStart) return end;
    const std::size_t line = end + 1;
    if (line + 4 > text.size()) {
      const std::size_t frame = text.find(kFrameStart, line);
      if (frame != std::string_view::npos && frames == Frames::EndHere) return frame;
      checked = end;
      return kNotYet;
    }
    if (header_kind(text.substr(line, 4))) return line;
    at = line;
  }
  checked = text.size();
  return kNotYet;
}

/// Counted in bytes, so that 16 of them are added at once.
std::uint64_t count_returns(std::string_view text) {
  constexpr std::size_t kMost = 240;  // below 256, what a byte holds
  std::uint64_t all = 0;
  for (std::size_t at = 0; at < text.size(); at += kMost) {
    std::uint8_t returns = 0;
    for (const char c : text.substr(at, kMost))
      returns = static_cast<std::uint8_t>(returns + (c == '\r' ? 1U : 0U));
    all += returns;
  }
  return all;
}

/// How many bytes of noise `text` begins with.
std::size_t noise_before(std::string_view text) {
  std::size_t noise = 0;
  while (noise < text.size() && is_noise(text[noise]))
    ++noise;
  return noise;
}

/// The frame ends at `at`; so does one whose last byte is the last of the input.
bool closes_frame(std::string_view text, std::size_t at) {
  if (text[at] != kFrameEnd) return false;
  return at + 1 == text.size() || follows_frame_end(text[at + 1]);
}

/// The bytes of frames in a text, from the front.  Each is looked for by itself: find_first_of()
/// searches its list anew for each character.
class FrameBytes {
 public:
  FrameBytes(std::string_view text, std::size_t at) : text_(text), end_(next_end(at)) {}

  /// The first at or after `at`, which grows from call to call; the text's end where there is none.
  std::size_t from(std::size_t at) {
    if (end_ < at) end_ = next_end(at);
    return std::min(text_.substr(0, end_).find(kFrameStart, at), end_);
  }

 private:
  [[nodiscard]] std::size_t next_end(std::size_t at) const {
    return std::min(text_.find(kFrameEnd, at), text_.size());
  }

  std::string_view text_;
  std::size_t end_;  // the next FS, or the text's end
};

/// Another frame begins at `at`, so the one before was never closed.
bool begins_frame(std::string_view text, std::size_t at) {
  if (text[at] != kFrameStart) return false;
  return at + 1 == text.size() || begins_header(text[at + 1]);
}

}  // namespace

bool MessageStream::read_more() {
  if (at_end_) return false;
  if (current_ == nullptr || current_->filled == current_->bytes.size()) {
    const std::string_view tail = current_ == nullptr ? std::string_view{} : rest();
    if (used_ == buffers_.size()) buffers_.emplace_back();
    Buffer& next = buffers_[used_++];
    const std::size_t wanted = std::max(kChunk, 2 * tail.size());
    if (next.bytes.size() < wanted) next.bytes.resize(wanted);
    std::copy(tail.begin(), tail.end(), next.bytes.begin());
    next.filled = tail.size();
    current_ = &next;
    position_ = 0;
  }
  const engine::Result<std::size_t> got = bytes_->read(current_->bytes.data() + current_->filled,
                                                       current_->bytes.size() - current_->filled);
  if (!got) {
    failure_ = got.error().message;
    at_end_ = true;
    return false;
  }
  current_->filled += *got;
  at_end_ = *got == 0;
  return !at_end_;
}

void MessageStream::release(bool keep_last) {
  if (current_ == nullptr) return;
  if (used_ > 1) {  // the older buffers hold nothing that is still needed
    std::rotate(buffers_.begin(), buffers_.begin() + static_cast<std::ptrdiff_t>(used_ - 1),
                buffers_.end());
    used_ = 1;
    current_ = &buffers_.front();
  }
  if (keep_last) return;
  const std::string_view tail = rest();
  if (position_ > current_->bytes.size() / 2) {
    std::memmove(current_->bytes.data(), tail.data(), tail.size());
    current_->filled = tail.size();
    position_ = 0;
  }
}

void MessageStream::restart() {
  release(false);
  if (current_ != nullptr) current_->filled = 0;
  position_ = 0;
  scanned_ = 0;
  offset_ = 0;
  line_ = 1;
  after_cr_ = false;
  at_end_ = false;
  in_frame_ = false;
  frame_known_ = false;
  frame_cut_ = false;
  frame_left_ = 0;
  failure_.clear();
}

void MessageStream::consume(std::size_t count) {
  const std::string_view gone = rest().substr(0, count);
  line_ += count_returns(gone);
  for (std::size_t at = gone.find('\n'); at != std::string_view::npos;
       at = gone.find('\n', at + 1)) {
    const bool after_cr = at == 0 ? after_cr_ : gone[at - 1] == '\r';
    line_ += after_cr ? 0U : 1U;
  }
  if (!gone.empty()) after_cr_ = gone.back() == '\r';
  offset_ += count;
  position_ += count;
  scanned_ = 0;
}

/// Steps over a byte order mark at the very beginning; false when there is none.
bool MessageStream::skip_mark() {
  if (offset_ != 0) return false;
  while (rest().size() < kByteOrderMark.size() && kByteOrderMark.starts_with(rest())) {
    if (!read_more()) break;
  }
  if (!rest().starts_with(kByteOrderMark)) return false;
  offset_ += kByteOrderMark.size();
  position_ += kByteOrderMark.size();
  return true;
}

bool MessageStream::skip_noise() {
  for (;;) {
    if ((current_ == nullptr || rest().empty()) && !read_more()) return false;
    if (skip_mark()) continue;
    const std::size_t noise = noise_before(rest());
    if (noise > 0) {
      consume(noise);
      continue;
    }
    if (rest()[0] != kFrameStart) return true;
    in_frame_ = true;
    frame_known_ = false;
    consume(1);
  }
}

/// True when the end of the open frame is known: frame_left_ bytes after position_.
bool MessageStream::find_frame_end() {
  for (;;) {
    const std::string_view text = rest();
    FrameBytes bytes(text, scanned_);
    for (std::size_t at = scanned_; at < text.size(); ++at) {
      at = bytes.from(at);
      if (at == text.size()) break;
      if (at + 1 == text.size() && !at_end_ && read_more()) return find_frame_end();
      const bool abandoned = begins_frame(text, at);
      if (!abandoned && !closes_frame(text, at)) continue;
      frame_left_ = at;
      frame_cut_ = abandoned;
      return true;
    }
    scanned_ = text.size();
    if (text.size() > kLargestMessage || !read_more()) {
      frame_left_ = rest().size();
      frame_cut_ = true;
      return true;
    }
  }
}

/// Where the unit at position_ ends, counted from it.
std::size_t MessageStream::unit_end() {
  if (in_frame_) {
    std::size_t checked = 0;
    const std::string_view frame = rest().substr(0, frame_left_);
    const std::size_t at = next_start(frame, 0, Frames::AreOver, checked);
    return at == kNotYet ? frame.size() : at;
  }
  for (;;) {
    const std::string_view text = rest();
    const std::size_t at = next_start(text, scanned_, Frames::EndHere, scanned_);
    if (at != kNotYet) return at;
    if (text.size() > kLargestMessage) return text.size();
    if (!read_more()) return rest().size();
  }
}

void MessageStream::hand_out(Unit& unit, std::size_t end) {
  unit.text = rest().substr(0, end);
  unit.offset = offset_;
  unit.line = line_;
  unit.framed = in_frame_;
  unit.kind = header_kind(unit.text).value_or(bare_trailer(unit.text).value_or(UnitKind::Other));
  consume(end);
  // Without a frame only the end of the input ends the last message: one that broke off is no end.
  unit.cut = !in_frame_ && !failure_.empty() && rest().empty();
  if (!in_frame_) return;
  frame_left_ -= end;
  if (frame_left_ > 0) return;
  unit.cut = frame_cut_;
  in_frame_ = false;
}

/// More of the same frame may follow; what is only line ends is passed over.
void MessageStream::pass_line_ends() {
  const std::size_t noise = noise_before(rest().substr(0, frame_left_));
  consume(noise);
  frame_left_ -= noise;
  if (frame_left_ == 0) in_frame_ = false;
}

bool MessageStream::has_unit() const {
  if (at_end_ || (in_frame_ && frame_known_ && frame_left_ > 0)) return true;
  if (current_ == nullptr) return false;
  std::string_view text = rest();
  text.remove_prefix(noise_before(text));
  if (in_frame_ || text.starts_with(kFrameStart))
    return text.find(kFrameEnd) != std::string_view::npos;
  return text.find("MSH", 1) != std::string_view::npos ||
         text.find(kFrameStart) != std::string_view::npos;
}

bool MessageStream::next(Unit& unit) {
  for (;;) {
    if (in_frame_ && frame_known_) pass_line_ends();
    if (!in_frame_ && !skip_noise()) return false;
    if (in_frame_ && !frame_known_) {
      find_frame_end();
      frame_known_ = true;
      continue;
    }
    const std::size_t end = unit_end();
    hand_out(unit, end);
    // Commit blocks of MLLP release 2 carry no message.
    if (unit.framed && (unit.text == "\x06" || unit.text == "\x15")) continue;
    return true;
  }
}

}  // namespace meniscus::adapters::hl7v2
