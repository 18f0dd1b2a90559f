// A byte source that turns UTF-16 into UTF-8 and hands everything else on as it is.
//
// Told by:  a byte order mark, FF FE or FE FF, which no UTF-8 text, HL7 frame or JSON begins with.
//           Spreadsheets save "Unicode text" so.
// Places:   lines and columns are those of the text; offsets count the bytes of UTF-8.
// Errors:   Input, naming the input and after how many of its bytes: half a character at the end,
//           or what is no UTF-16.  What came before is given first.
#pragma once

#include <memory>
#include <string>

#include "engine/ports/byte_source.hpp"

namespace meniscus::adapters {

/// `name` is for errors only; "-" is standard input.
std::unique_ptr<engine::ByteSource> utf8_bytes(std::unique_ptr<engine::ByteSource> bytes,
                                               const std::string& name);

}  // namespace meniscus::adapters
