// Orders from CSV: a head with the names of fields, then one order a record.
//
// Reads:    RFC 4180 (quotes, doubled quotes, line ends inside quotes, CRLF or LF), a byte order
//           mark, and `,` `;` or tab as separator, whichever the head has.
// Head:     a column that is no field is said once and its cells are not read; a field named twice
//           is an error of the head.  A field that no column gives, neither its own nor one that it
//           is read or counted from (the name, the directions, the birth date), is never carried;
//           the order's and the patient's id, the medicine and the dose are always awaited.
// Cells:    empty is unknown, `none` is known to be none.  Lists are separated by `;`, so in a file
//           with `;` between its columns they stand in quotes.
// Refused:  a record with too few or too many cells: which cell belongs where is not known.
#pragma once

#include <memory>

#include "engine/order/field_text.hpp"
#include "engine/ports/byte_source.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::adapters {

struct CsvLimits {
  std::size_t record_bytes = std::size_t{16} << 20U;
  std::size_t chunk_bytes = std::size_t{256} << 10U;
};

/// Reads the head at once, so that never_carries() is known before the first order.  The context's
/// program and feed must outlive the source.
std::unique_ptr<engine::OrderSource> make_csv_source(engine::Input input,
                                                     const engine::ReadContext& context,
                                                     const CsvLimits& limits = {});

}  // namespace meniscus::adapters
