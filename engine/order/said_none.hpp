// What it means when a field is said to be none: `null`, `none`, HL7's `""`.
//
// Mostly that it is known to be none: no allergies, a vial that was not opened.  Of what no
// injection is without (the patient, the medicine, the dose, ...) it means that nobody filled it
// in: it is missing, so that a rule that needs it says so.
#pragma once

#include "engine/order/field.hpp"
#include "engine/order/value.hpp"

namespace meniscus::engine {

/// Some injection is without it.
bool can_be_none(FieldId field);

/// The value of a field that is said to be none: none, or missing.
inline Value said_none(FieldId field) {
  return can_be_none(field) ? Value::none() : Value::missing();
}

}  // namespace meniscus::engine
