// Messages that could not be read, kept in a folder until somebody has looked at them.
//
//   auto quarantine = Quarantine::open("/var/lib/meniscus/quarantine");
//   (*quarantine)->put(id, bytes, {"the message has no header (MSH)", "", 1, now});
//
// Files:    NAME.hl7, the bytes as put() got them, and NAME.json: reason, place, line, when.
// Private:  the folder is its owner's alone (0700), and so is each file (0600).  Reasons may quote
//           the message: they stand here and in no log.
// Once:     a message that comes again as it was is not kept a second time.
// Whole:    a file is written beside, brought to the disk, and then named: none is ever half there.
// Limit:    kMost messages; more are refused until somebody has made room.
// Errors:   Input, with the path and what the system says.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.hpp"

namespace meniscus::adapters {

struct QuarantineReason {
  std::string reason;
  std::string at;          // MSH-12; empty: the whole message
  std::uint64_t line = 0;  // of the message, from 1; 0: none
  double received = 0;     // seconds since 1970-01-01 UTC
};

struct Quarantined {
  std::string name;
  QuarantineReason why;
  std::uint64_t bytes = 0;
};

class Quarantine {
 public:
  static constexpr std::size_t kMost = 10'000;

  /// Makes the folder where there is none.
  static engine::Result<std::unique_ptr<Quarantine>> open(const std::string& folder);

  /// On the disk when it returns.  `name`: of letters and digits.
  engine::Status put(const std::string& name, std::string_view bytes, const QuarantineReason& why);

  /// By when they were received.
  [[nodiscard]] engine::Result<std::vector<Quarantined>> list() const;
  [[nodiscard]] bool has(const std::string& name) const;
  /// Where the bytes are.
  [[nodiscard]] std::string path(const std::string& name) const;
  engine::Status discard(const std::string& name);

  /// Messages that the folder holds now; others may take some out.  Where it cannot be read, as it
  /// was known last.
  [[nodiscard]] std::size_t size() const;

 private:
  explicit Quarantine(std::string folder) : folder_(std::move(folder)) {}

  std::string folder_;
  std::size_t size_ = 0;
};

}  // namespace meniscus::adapters
