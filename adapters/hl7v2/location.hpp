// Where bytes of a message stand, as people and programs name it: `RXE-3.1`, line and column.
//
// Worked out only when somebody asks: the message is split again, unless who asks has it split.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "adapters/hl7v2/message.hpp"
#include "engine/order/field.hpp"
#include "engine/order/order_block.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::adapters::hl7v2 {

/// A path into a message; every number from 1, 0 where it does not apply.
struct Path {
  std::string segment;
  unsigned occurrence = 0;  // among the segments of that name in the message
  unsigned field = 0;
  unsigned repetition = 0;
  unsigned component = 0;
  unsigned subcomponent = 0;
};

/// The path of `origin` in the message `text`; an empty segment when it lies in none.
Path path_of(std::string_view text, engine::Origin origin);
Path path_of(const Message& message, engine::Origin origin);
/// The path of the segment that begins at `offset`, without splitting `text`, which has no hidden
/// separators; none where only splitting tells.
std::optional<Path> segment_path(std::string_view text, std::uint32_t offset, char separator);
/// `RXE-3.1`, `RXR[2]-1`, `RXE-2(2).1`; empty for an empty path.
std::string to_string(const Path& path);

/// The path of a field that is absent: the segment that should carry it, in the order whose detail
/// segment stands at `order` (RecordInfo::reason_origin).
Path absent_path(std::string_view text, engine::Origin order, engine::FieldId field);
Path absent_path(const Message& message, engine::Origin order, engine::FieldId field);

/// Line, column, excerpt and caret of bytes in a record.
void locate(const engine::RecordInfo& record, engine::Origin origin, engine::Place& place);

}  // namespace meniscus::adapters::hl7v2
