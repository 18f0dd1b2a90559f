// The road that nearly every record takes: an object of the plain shape, read in one pass.
//
// Plain:   keys that fields have, once each; texts without escapes and beyond-ASCII letters;
//          numbers, true, false, null; objects one deep; lists of words.  Everything that is read
//          here is checked as it is read, so nothing has to look for the structure first.
// Else:    read() gives up and says nothing; the caller starts the record anew with simdjson, which
//          takes every shape and finds what is wrong.
// Same:    tests/adapters/json/plain_object_test.cpp holds both roads to the same lanes.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <string_view>
#include <vector>

#include "adapters/json/json_target.hpp"

namespace meniscus::adapters {

/// What stood between two values, in the records before: quotes, braces, commas and keys, byte for
/// byte.  Records of one feed are much the same there, so most of that is compared and not read.
class BetweenGuess {
 public:
  static constexpr std::size_t kLongest = 32;  // bytes compared at once; all can be read

  /// What comes next, and how many bytes stand before it.
  struct Next {
    std::uint8_t length = 0;           // 0: no guess
    std::uint8_t field = 0;            // kEnd: nothing, the record ends here
    std::uint8_t group = kRootGroup;   // that the field stands in
    std::uint8_t opened = kRootGroup;  // the group that opens here
    std::uint8_t opens_at = 0;         // and its brace, bytes from the first
    std::uint8_t behind = kRootGroup;  // the group that the value before stands in
  };
  static constexpr std::uint8_t kEnd = 0xFF;
  static constexpr std::uint8_t kStart = 0xFF;  // in place of the field before
  static_assert(engine::kFieldCount < kEnd);

  BetweenGuess() : guesses_(2 * kPlaces) {}

  /// Null where none of what stood behind this field, in an object of this group, stands at `at`.
  /// The same bytes mean something else behind `needle.gauge` than behind `gauge` of a `needle`.
  [[nodiscard]] const Next* find(std::uint8_t before, std::uint8_t group, const char* at) const {
    Words words{};
    std::memcpy(words.data(), at, sizeof words);
    const Guess* const guess = &guesses_[2 * std::size_t{before}];
    if (guess[0].matches(words, group)) return &guess[0].next;
    return guess[1].matches(words, group) ? &guess[1].next : nullptr;
  }
  /// What stood between is guessed the next time; what is too long is not.
  void learn(std::uint8_t before, std::string_view between, Next next);

 private:
  static constexpr std::size_t kPlaces = 256;
  using Words = std::array<std::uint64_t, kLongest / sizeof(std::uint64_t)>;

  struct Guess {
    Words bytes{};
    Words mask{};  // of the bytes that count
    Next next;

    [[nodiscard]] bool matches(const Words& words, std::uint8_t group) const {
      std::uint64_t other = 0;
      for (std::size_t i = 0; i < words.size(); ++i)
        other |= (words[i] ^ bytes[i]) & mask[i];
      return other == 0 && next.length != 0 && next.behind == group;
    }
  };

  std::vector<Guess> guesses_;  // two for each field before
};

class PlainObject {
 public:
  /// False for a while after records that were not plain, the longer the more there were.
  bool worth_trying() {
    if (pause_ == 0) return true;
    --pause_;
    return false;
  }
  /// Reads the object at the start of `target.record`, with BetweenGuess::kLongest readable bytes
  /// behind it.  Its size in bytes; 0 when it is not plain, and the lane then holds a part of it.
  std::size_t read(JsonTarget& target);

 private:
  using Next = BetweenGuess::Next;

  // Each takes the place of its first byte and returns the one behind it; null: not plain.
  const char* members();
  const char* to_next(const char* at, std::uint8_t before, Next& next);
  static const char* to_key(const char* at, Next& next);
  const char* key(const char* at, Next& next, bool& key_is_next);
  const char* group(const char* at, std::uint8_t group, Next& next, bool& key_is_next);
  const char* field(const char* at, engine::FieldId field);
  const char* literal(const char* at, engine::FieldId field);
  const char* number(const char* at, engine::FieldId field);
  const char* list(const char* at, engine::FieldId field);

  static constexpr unsigned kMostPause = 256;  // records

  BetweenGuess guess_;
  JsonTarget* target_ = nullptr;
  const char* from_ = nullptr;  // of what stands between
  bool guessable_ = true;       // nothing stood between that is to be read each time
  unsigned pause_ = 0;
  unsigned next_pause_ = 1;
};

}  // namespace meniscus::adapters
