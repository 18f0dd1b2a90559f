// JSON with a record a line, cut into pieces that several threads read at once.
//
//   JsonLines lines(bytes);
//   if (lines.worth_it())
//     while (lines.take(piece)) ...                               // begins at piece.begins
//   make_json_rest({name, lines.rest({}), file}, context, lines.place());   // what is left
//
// Pieces: end after a line that stands between `}` and `{`, at most kLanes lines of at most kMost
//         bytes: one block of orders.  Where they end depends on the bytes alone.  What cannot be
//         cut so (a list, a record of many lines, the last lines) is left for rest().
// Errors: of the input: what rest() gives ends with them.
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "adapters/json/json_source.hpp"
#include "engine/ports/byte_source.hpp"

namespace meniscus::adapters {

/// The first line is a whole object, as far as its ends tell.
bool begins_with_json_line(std::string_view text);
/// True when a line ends at `newline` between `}` and `{`: it ends no list and no object, so JSON
/// with a record a line can be cut behind it.
bool is_between_records(std::string_view text, std::size_t newline);

class JsonLines {
 public:
  static constexpr std::size_t kMost = std::size_t{192} << 10U;

  struct Piece {
    std::string bytes;
    JsonPlace begins;
  };

  explicit JsonLines(std::unique_ptr<engine::ByteSource> bytes) : bytes_(std::move(bytes)) {}

  /// There is a record a line, and more of them than one thread has judged before a second begins.
  [[nodiscard]] bool worth_it();
  /// The next piece, in place of what was in it; false: there is none.
  bool take(Piece& piece);
  /// Where the next piece begins, or the rest.
  [[nodiscard]] const JsonPlace& place() const { return place_; }
  /// What take() has not given, to the input's end, behind `before`.  Call once.
  std::unique_ptr<engine::ByteSource> rest(std::string before);

 private:
  void read_on();
  [[nodiscard]] std::size_t cut();

  std::unique_ptr<engine::ByteSource> bytes_;
  std::string held_;
  std::size_t begin_ = 0;  // in held_, of what was not given
  bool ended_ = false;
  std::optional<engine::Error> error_;
  JsonPlace place_;
};

}  // namespace meniscus::adapters
