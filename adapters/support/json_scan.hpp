// A small strict JSON scanner over bytes: for cutting records apart, and for saying what is wrong
// and where.  The fast reading is simdjson's; this runs on what that refuses, and on places.
//
// Source:  RFC 8259.
// Limits:  nesting of kMostDepth; no allocation that grows with the text but for the pointer.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "engine/order/order_block.hpp"

namespace meniscus::adapters {

inline constexpr std::size_t kMostDepth = 256;

/// White space between values (RFC 8259, section 2).
constexpr bool is_json_space(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

/// How far the object or list that starts `text` reaches.
struct ObjectEnd {
  enum class Kind : std::uint8_t {
    Complete,  // `size` bytes
    More,      // the text ends inside it
    Broken     // it cannot be cut apart; `size` bytes belong to it, the next record starts there
  };
  Kind kind = Kind::More;
  std::size_t size = 0;
};
/// Brackets are counted and strings respected; nothing else is checked.  A line that starts a new
/// object where the former one is still open means that the former was cut off.
ObjectEnd object_end(std::string_view text);

struct JsonProblem {
  std::size_t offset = 0;
  std::string message;  // lower case, what was found and what was needed
};
/// The first thing that is wrong in `text`, which should be one JSON value.
std::optional<JsonProblem> json_problem(std::string_view text);

/// RFC 6901 pointer of the innermost value that holds the byte at `offset`; a key counts as its
/// value.  As far as the text can be read.
std::string json_pointer_at(std::string_view text, std::size_t offset);

/// Where the value stands that an RFC 6901 pointer names.
std::optional<std::size_t> json_offset_of(std::string_view text, std::string_view pointer);

/// Where the value of the top-level `key` stands.
std::optional<engine::Origin> top_level_value(std::string_view text, std::string_view key);

/// A string's content with its escapes undone; nothing when one is malformed.
std::optional<std::string> unescaped(std::string_view content);

}  // namespace meniscus::adapters
