// A byte source that unpacks gzip and Zstandard data and hands everything else on as it is.
//
// Told by:  the first bytes, whatever the name says: 1F 8B (gzip, RFC 1952), 28 B5 2F FD or a
//           skippable frame (Zstandard, RFC 8878).  Waits for more bytes only while those that came
//           may still be such a beginning, so that a live input is not held up.
// Reads:    all members or frames, one after another; skippable frames are skipped.
// Memory:   one buffer, and what the format asks for: 32 KiB for gzip, at most 128 MiB for
//           Zstandard.  How far the data expand makes no difference.
// Errors:   Input, naming the input and after how many of its bytes: data that end early, that are
//           damaged, or that are followed by something else.  What came before is given first, and
//           the error is given again at each further read().
#pragma once

#include <memory>
#include <string>

#include "engine/ports/byte_source.hpp"

namespace meniscus::adapters {

/// `name` is for errors only; "-" is standard input.
std::unique_ptr<engine::ByteSource> unpacked_bytes(std::unique_ptr<engine::ByteSource> packed,
                                                   const std::string& name);

}  // namespace meniscus::adapters
