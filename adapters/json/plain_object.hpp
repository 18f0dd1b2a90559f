// The road that nearly every record takes: an object of the plain shape, read in one pass.
//
// Plain:   keys that fields have, once each; texts without escapes and beyond-ASCII letters;
//          numbers, true, false, null; objects one deep; lists of words.  Everything that is read
//          here is checked as it is read, so nothing has to look for the structure first.
// Else:    read() gives up and says nothing; the caller starts the record anew with simdjson, which
//          takes every shape and finds what is wrong.
// Same:    tests/adapters/json/plain_object_test.cpp holds both roads to the same lanes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

#include "adapters/json/json_target.hpp"

namespace meniscus::adapters {

class PlainObject {
 public:
  /// False for a while after records that were not plain, the longer the more there were.
  bool worth_trying() {
    if (pause_ == 0) return true;
    --pause_;
    return false;
  }
  /// Reads the object at the start of `target.record`, with 16 readable bytes behind it.  Its size
  /// in bytes; 0 when it is not plain, and the lane then holds a part of it.
  std::size_t read(JsonTarget& target);

 private:
  // Each takes the place of its first byte and returns the one behind it; null: not plain.
  const char* object(const char* at, std::uint8_t group);
  const char* member(const char* at, std::uint8_t group);
  const char* group(const char* at, std::uint8_t group);
  const char* field(const char* at, engine::FieldId field);
  const char* literal(const char* at, engine::FieldId field);
  const char* number(const char* at, engine::FieldId field);
  const char* list(const char* at, engine::FieldId field);

  static constexpr unsigned kMostPause = 256;  // records

  JsonTarget* target_ = nullptr;
  unsigned pause_ = 0;
  unsigned next_pause_ = 1;
};

}  // namespace meniscus::adapters
