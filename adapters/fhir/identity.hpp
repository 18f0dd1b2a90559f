// What an order is called, what it asks for, and in which state it is.
#pragma once

#include <string>

#include "adapters/fhir/order_fields.hpp"

namespace meniscus::adapters::fhir {

/// order.id, .filler, .fulfils; `part` counts instructions that hold beside one another, from 0.
void read_numbers(const Lane& lane, unsigned part);
/// Action, status, dates, prescriber, indication.  Why it is nothing to judge, and where that is
/// said; empty: it is.
std::string read_state(const Lane& lane, Element& where);
/// The one MedicationRequest of the record that a MedicationDispense fills; none else.
Element prescription_of(const Lane& lane);

}  // namespace meniscus::adapters::fhir
