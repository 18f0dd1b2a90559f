// Byte sources of a program: files, standard input, bytes in memory.
#pragma once

#include <memory>
#include <string>

#include "engine/ports/byte_source.hpp"

namespace meniscus::adapters {

/// A file, or standard input for "-".  Errors: Input, naming what the system says.
engine::Result<std::unique_ptr<engine::ByteSource>> open_bytes(const std::string& path);

/// Bytes in memory; each read() gives at most `most` of them.
std::unique_ptr<engine::ByteSource> memory_bytes(std::string bytes,
                                                 std::size_t most = static_cast<std::size_t>(-1));

/// `first`, then `rest`: for bytes that were read to find out the format.
std::unique_ptr<engine::ByteSource> with_bytes_before(std::string first,
                                                      std::unique_ptr<engine::ByteSource> rest);

/// Nothing but `error`, at each read().
std::unique_ptr<engine::ByteSource> broken_off(engine::Error error);

}  // namespace meniscus::adapters
