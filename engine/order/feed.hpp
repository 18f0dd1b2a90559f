// What is particular to one feed (read from a profile by adapters/profile).
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "engine/order/field.hpp"
#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {

/// Where a feed keeps a fact in HL7 v2: `field` is what it is; the place is a segment with field
/// and component (Z segments too), or an OBX whose OBX-3 has `observation` as code or text.
struct Hl7Place {
  FieldId field{};
  std::string segment;      // "RXE", "ZRX", "OBX"
  int field_number = 0;     // 1-based; 0 for an observation
  int component = 0;        // 0: the whole field
  std::string observation;  // OBX-3 code or text
};

struct Feed {
  std::string name;
  DecimalMark decimal = DecimalMark::Point;
  DateOrder date_order = DateOrder::Ymd;
  std::optional<std::int16_t> offset_minutes;  // time-zone, as an offset from UTC
  FieldSet never_carries;  // by profile, and by what the format has no place for
  std::set<std::string, std::less<>> ignored;  // JSON keys and CSV columns that are no fields
  std::vector<Hl7Place> hl7;
  std::map<std::string, std::string, std::less<>> units;  // local spelling -> ours
  std::map<FieldId, std::map<std::string, std::string, std::less<>>> words;  // local -> ours
};

}  // namespace meniscus::engine
