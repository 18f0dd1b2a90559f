// How far the object that starts a text reaches: the next record of an input.
//
// Cut off: a line that starts with `{` while the record is open begins another record, but where a
//          list may have an item there (`"entry": [`, line end, `{"fullUrl"`).  An item that begins
//          with "resourceType" is taken for a record all the same: lines of NDJSON begin so.
// Layout:  where the first line holds nothing but the brace, every line may begin with one.
#pragma once

#include <string_view>

#include "adapters/support/json_scan.hpp"

namespace meniscus::adapters::fhir {

/// Brackets are counted and strings respected; nothing else is checked.
ObjectEnd record_end(std::string_view text);

}  // namespace meniscus::adapters::fhir
