// A stream of bytes cut into messages, whatever framing it came in.
//
// Reads:    MLLP frames (<VT> ... <FS><CR>), messages one after the other, FHS/BHS batches, or a
//           mixture; a byte order mark, blank lines and noise between frames are passed over.
// Cuts:     at a line that begins with MSH, FHS, BHS, BTS or FTS and a separator, and at the end of
//           a frame.  A frame that is never closed, or abandoned for a new one, is marked `cut`.
// Memory:   views stay valid until release(); buffers are used again.
// Limit:    a message of more than kLargestMessage bytes is handed out in pieces, the later ones of
//           kind Other, so nothing is dropped.
// Source:   HL7 v2.5.1 section 2.10.3 (batches); MLLP release 1 (block format, from memory).
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <string>
#include <string_view>

#include "engine/ports/byte_source.hpp"

namespace meniscus::adapters::hl7v2 {

inline constexpr std::size_t kLargestMessage = std::size_t{64} << 20U;

enum class UnitKind : std::uint8_t {
  Message,
  FileHeader,
  BatchHeader,
  BatchTrailer,
  FileTrailer,
  Other  // text that begins with no header
};

struct Unit {
  UnitKind kind = UnitKind::Other;
  std::string_view text;
  std::uint64_t offset = 0;  // bytes from the start of the input
  std::uint64_t line = 1;    // from 1; CR, LF and CRLF each end a line
  bool framed = false;       // it came in an MLLP frame
  bool cut = false;          // its frame was not closed, or the input broke off within it
};

/// Units one after the other, wherever they come from.
class UnitSource {
 public:
  UnitSource() = default;
  UnitSource(const UnitSource&) = delete;
  UnitSource& operator=(const UnitSource&) = delete;
  virtual ~UnitSource() = default;

  /// The next unit; false at the end.
  virtual bool next(Unit& unit) = 0;
  /// A whole unit seems to be in memory: next() does not wait for bytes.
  [[nodiscard]] virtual bool has_unit() const = 0;
  /// Ends the life of all views but, when `keep_last`, those of the last unit.
  virtual void release(bool keep_last) = 0;
  /// What follows is an input of its own.  All views end.
  virtual void restart() = 0;
  /// Why the input ended, when it did not end by itself; empty otherwise.
  [[nodiscard]] virtual const std::string& failure() const = 0;
  /// Behind the last unit: the input is over, and not only a piece of it.
  [[nodiscard]] virtual bool is_over() const { return true; }
};

class MessageStream : public UnitSource {
 public:
  explicit MessageStream(std::unique_ptr<engine::ByteSource> bytes) : bytes_(std::move(bytes)) {}

  bool next(Unit& unit) override;
  /// Without a frame a unit ends where the next one begins, or with the input.
  [[nodiscard]] bool has_unit() const override;
  void release(bool keep_last) override;
  /// The bytes go on after their end: what follows is read in the same memory.
  void restart() override;
  [[nodiscard]] const std::string& failure() const override { return failure_; }

 private:
  struct Buffer {
    std::string bytes;
    std::size_t filled = 0;
  };

  bool read_more();
  bool skip_mark();
  bool skip_noise();
  void pass_line_ends();
  bool find_frame_end();
  [[nodiscard]] std::size_t unit_end();
  void hand_out(Unit& unit, std::size_t end);
  void consume(std::size_t count);
  [[nodiscard]] std::string_view rest() const {
    return {current_->bytes.data() + position_, current_->filled - position_};
  }

  std::unique_ptr<engine::ByteSource> bytes_;
  std::deque<Buffer> buffers_;
  Buffer* current_ = nullptr;
  std::size_t used_ = 0;      // buffers in use; the last of them is current_
  std::size_t position_ = 0;  // in current_
  std::size_t scanned_ = 0;   // bytes after position_ that were looked at already
  std::uint64_t offset_ = 0;
  std::uint64_t line_ = 1;
  bool after_cr_ = false;  // the byte before position_ was a CR
  bool at_end_ = false;
  bool in_frame_ = false;
  bool frame_known_ = false;
  bool frame_cut_ = false;
  std::size_t frame_left_ = 0;  // bytes from position_ to the frame's end
  std::string failure_;
};

}  // namespace meniscus::adapters::hl7v2
