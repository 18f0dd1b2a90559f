// What a message is known again by when it is sent once more: sender, control id, and what it says.
//
// Sender:   MSH-3 and MSH-4.  Control id: MSH-10.
// Says:     SHA-256 of the message without its time (MSH-7): a sender that tries again may set a
//           new one.
// Source:   HL7 v2.5.1, 2.14.9 (MSH) and 2.9.2 (MSA-2 and the control id).
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace meniscus::adapters {

struct MessageKey {
  std::string sender;
  std::string control;
  std::string digest;  // 32 bytes
};

/// Of the bytes of a frame.  None: without a header or a control id nothing is known again.
std::optional<MessageKey> key_of(std::string_view frame);

/// SHA-256, 32 bytes.
std::string digest_of(std::string_view bytes);

}  // namespace meniscus::adapters
