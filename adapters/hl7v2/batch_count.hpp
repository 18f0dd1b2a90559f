// What the trailers of batches and files say, against what was read; and trailers that are missing.
//
//   BatchCount count;
//   if (const auto off = count.take(unit)) say(off->reason);      // for each unit of a stream
//   if (const auto off = count.end()) say(off->reason);           // behind the last one
//
// Missing:  the standard lets a sender leave a trailer out.  Where there is a header and none, what
//           was cut off cannot be told from what is whole, so it is said.
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
  /// The input ends here: what is off where a trailer is still to come.
  [[nodiscard]] std::optional<Off> end() const;

 private:
  static std::optional<Off> compare(std::string_view trailer, std::string_view what, long counted);
  [[nodiscard]] std::optional<Off> end_batch() const;

  long messages_ = 0;      // of the batch
  long batches_ = 0;       // of the file
  bool in_batch_ = false;  // there was a header, and no trailer yet
  bool in_file_ = false;
};

/// A record's text that is of no message: a header or trailer, or nothing.  What is said of it is
/// said of the input.
[[nodiscard]] bool is_of_no_message(std::string_view text);

}  // namespace meniscus::adapters::hl7v2
