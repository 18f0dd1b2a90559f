// Bytes of one input: a file, standard input, a buffer in memory.  Readers of a format pull from
// it; what stands behind it is the host's business (adapters/input has the usual ones).
//
// Contract: read() gives what is there, at least one byte, and blocks until then; 0 means the end.
//           A failure is an Error of code Input and ends the input.
// Threads:  one reader a source.
#pragma once

#include <cstddef>
#include <memory>
#include <string>

#include "engine/base/result.hpp"

namespace meniscus::engine {

class ByteSource {
 public:
  ByteSource() = default;
  ByteSource(const ByteSource&) = delete;
  ByteSource& operator=(const ByteSource&) = delete;
  virtual ~ByteSource() = default;

  /// Reads up to `size` bytes into `into`.  0: the end.
  [[nodiscard]] virtual Result<std::size_t> read(char* into, std::size_t size) = 0;
};

/// One input as a reader of a format takes it.
struct Input {
  std::string name;  // as the user named it; "-" for standard input
  std::unique_ptr<ByteSource> bytes;
  std::uint32_t file = 0;  // which input of the run, from 0: RecordInfo::file
};

}  // namespace meniscus::engine
