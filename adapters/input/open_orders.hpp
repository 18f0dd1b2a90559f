// From the name of an input to a source of orders: what format it is in, and the reader for it.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "engine/order/field_text.hpp"
#include "engine/ports/byte_source.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::adapters {

enum class Format : std::uint8_t { Auto, Json, Csv, Hl7, Fhir };

/// The format by what the first bytes hold, whatever the name says.  Auto when nothing fits.
///   HL7 v2   a segment MSH, FHS or BHS, or the start byte of MLLP
///   FHIR     `{` or `[`, and a key `resourceType` among the bytes: it may stand anywhere, also in
///            a resource within the first one
///   JSON     `{` or `[` without
///   CSV      a first line that names at least one field of an order
Format detect_format(std::string_view first_bytes);

/// An input whose format is known.
struct OpenedInput {
  engine::Input input;
  Format format = Format::Auto;
};

/// Opens `name` ("-": standard input), unpacking what is compressed (compressed_bytes.hpp), and
/// finds its format where it is not said.  Errors: Input, when it cannot be opened or no format
/// fits.
engine::Result<OpenedInput> open_formatted(const std::string& name, Format format,
                                           std::uint32_t file);

struct OpenedOrders {
  std::unique_ptr<engine::OrderSource> source;
  Format format = Format::Auto;
};

/// The same, and the reader for it.
engine::Result<OpenedOrders> open_orders(const std::string& name, Format format, std::uint32_t file,
                                         const engine::ReadContext& context);
/// The same over bytes that are already there.
engine::Result<OpenedOrders> open_orders(engine::Input input, Format format,
                                         const engine::ReadContext& context);

}  // namespace meniscus::adapters
