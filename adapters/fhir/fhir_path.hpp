// Where something stands in a resource, as FHIR says it.
//
// Form:    the simple subset of FHIRPath that OperationOutcome.issue.expression asks for: names,
//          [n] from 0, dots.  An element of several types has its own name, without the type:
//          `doseQuantity` is `dose`.
// Source:  FHIR R4, OperationOutcome (issue.expression) and FHIRPath; the elements of several
//          types are those of MedicationRequest, MedicationDispense, MedicationAdministration,
//          Dosage, Timing, Medication, Observation, Patient, AllergyIntolerance and Extension.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "adapters/fhir/json_tree.hpp"

namespace meniscus::adapters::fhir {

/// `MedicationRequest.dosageInstruction[0].route` for the byte at `offset` of a record, which
/// begins with the resource's bracket.  As far as the record can be read.
std::string fhir_path_at(std::string_view record, std::size_t offset);
/// The same for a value's byte in a record that was read: quick, however long the record is.
std::string fhir_path_at(const JsonTree& tree, std::size_t offset);

}  // namespace meniscus::adapters::fhir
