// What the trailers of batches and files say, against what was read.
//
//   BatchCount count;
//   if (const auto off = count.take(unit)) say(off->reason);      // for each unit of a stream
//
// Source:  HL7 v2.5.1, 2.15.3 (BTS-1, messages) and 2.15.7 (FTS-1, batches); the sections
//          from memory.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "adapters/hl7v2/message_stream.hpp"

namespace meniscus::adapters::hl7v2 {

class BatchCount {
 public:
  struct Off {
    std::string reason;
    bool lost;  // fewer than stated: orders may be lost.  More: nothing is.
  };

  /// Counts a unit; for a trailer that states another number, what is off.
  std::optional<Off> take(const Unit& unit);

 private:
  static std::optional<Off> compare(std::string_view trailer, std::string_view what, long counted);

  long messages_ = 0;  // of the batch
  long batches_ = 0;   // of the file
};

}  // namespace meniscus::adapters::hl7v2
