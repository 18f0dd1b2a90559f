// Orders from FHIR R4 JSON: a resource, a Bundle, one a line (NDJSON), or one after another.
//
// Takes:    MedicationRequest, MedicationDispense and MedicationAdministration, by themselves or in
//           a Bundle with what they refer to (docs/formats-fhir.md).
// Places:   FHIRPath, with line and column: `MedicationRequest.dosageInstruction[0].route`.
// Lifetime: text is valid until the next next().
// Threads:  one reader a source.
#pragma once

#include <memory>

#include "engine/order/field_text.hpp"
#include "engine/ports/byte_source.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::adapters::fhir {

struct FhirLimits {
  std::size_t record_bytes = std::size_t{64} << 20U;  // a longer record is unreadable
  std::size_t chunk_bytes = std::size_t{256} << 10U;  // read at a time
};

/// Reads `input` to its end.  The context's program and feed must outlive the source.
std::unique_ptr<engine::OrderSource> make_fhir_source(engine::Input input,
                                                      const engine::ReadContext& context,
                                                      const FhirLimits& limits = {});

}  // namespace meniscus::adapters::fhir
