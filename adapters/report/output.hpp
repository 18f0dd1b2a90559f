// Bytes on their way out: one reused buffer, written in large pieces.
//
// Errors:   the first failed write is kept and said by finish(); later text is dropped.
// Memory:   the buffer grows to one piece and what one verdict adds, and is then reused.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "engine/base/result.hpp"

namespace meniscus::adapters {

/// Writes all of `bytes`.  Errors: Input.
using WriteBytes = std::function<engine::Status(std::string_view bytes)>;

class Output {
 public:
  explicit Output(WriteBytes write);

  /// The text that is not yet written; writers append to it and then call piece_done().
  std::string& text() { return text_; }
  /// Writes when a piece is full.
  void piece_done() {
    if (text_.size() >= kPiece) flush();
  }
  void flush();
  [[nodiscard]] const engine::Status& status() const { return status_; }
  engine::Status finish();

 private:
  static constexpr std::size_t kPiece = std::size_t{256} << 10U;
  WriteBytes write_;
  std::string text_;
  engine::Status status_;
};

/// Appends a whole number.
void append_number(std::string& out, std::uint64_t number);
/// A whole number for people: 4112 as 4,112.
std::string grouped(std::uint64_t number);
/// Appends `text` as a JSON string with its quotes.  Invalid UTF-8 becomes U+FFFD.
void append_json(std::string& out, std::string_view text);
/// Appends `,"key":"text"`.
void append_key(std::string& out, std::string_view key, std::string_view text);
/// Appends `text` on one line and without control characters, which become blanks, so that no input
/// can move a terminal's cursor.  Invalid UTF-8 becomes U+FFFD.
void append_plain(std::string& out, std::string_view text);

}  // namespace meniscus::adapters
