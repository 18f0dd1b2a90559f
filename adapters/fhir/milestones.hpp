// Lines and columns in a long record without counting from its start each time.
//
// Why:      a Bundle may be one line of many megabytes, and each of its orders asks for places.
// Holds:    of one record at a time, the line and the characters on it before every kStep bytes; as
//           far as somebody has asked.
// Lifetime: the record's text must live until the next start().
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

#include "adapters/support/text_place.hpp"

namespace meniscus::adapters::fhir {

class Milestones {
 public:
  /// Forgets the record before.
  void stop() { text_ = {}; }
  /// A part of `record` that begins before `origin`, with the window that text_place() needs for
  /// it; `origin` is moved with it.  A short record is given back as it is.
  void narrow(engine::RecordInfo& record, TextWindow& window, engine::Origin& origin);

 private:
  static constexpr std::size_t kStep = std::size_t{64} << 10U;
  static constexpr std::size_t kShown = 1024;  // bytes around a place, for its excerpt

  struct Mark {
    std::uint64_t line = 0;
    std::uint64_t characters = 0;  // on that line, before it
  };
  void start(const engine::RecordInfo& record, const TextWindow& window);
  void extend();

  std::string_view text_;
  std::vector<Mark> marks_;
};

}  // namespace meniscus::adapters::fhir
