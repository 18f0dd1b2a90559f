// The parts of filling one order, each in its own file.
#pragma once

#include <string>

#include "adapters/fhir/lane.hpp"

namespace meniscus::adapters::fhir {

/// The patient and what else the record holds about this patient (patient.cpp).
void read_patient(const Lane& lane);
/// A dispense to another patient than its prescription's is in doubt (patient.cpp).
void compare_patient(const Lane& lane, Element request);

/// Dosage instructions of one order: one, or several that follow one another.
struct Instructions {
  std::vector<Element> parts;  // of type Dosage, or MedicationAdministration.dosage
  Element order;               // the resource that orders: of a dispense, its prescription if known
  std::string doubt;           // why they cannot be told apart; empty: they can
  [[nodiscard]] Element first() const { return parts.empty() ? Element() : parts.front(); }
};

/// Route, site and side (place.cpp).  Why the order is no injection, if it is none, and where that
/// is said.
std::string read_place(const Lane& lane, const Instructions& instructions, Element& where);
/// Doses, steps of a plan, directions (dosage.cpp).
void read_dosage(const Lane& lane, const Instructions& instructions);
/// What the prescription says otherwise than the one instruction of its dispense, as stated.* or a
/// doubt; what the dispense leaves out is the prescription's (dosage.cpp, timing.cpp, place.cpp).
void compare_prescription(const Lane& lane, Element request, Element dosage);
void compare_timing(const Lane& lane, Element asked_timing, Element timing);
void compare_route(const Lane& lane, Element route);
/// Timing of one instruction (timing.cpp).
void read_timing(const Lane& lane, Element timing);
/// The interval between two doses of a Timing, for a step of a plan; empty where it says none.
std::string interval_of(Element timing);

/// The medicine that a resource names.
struct Medicine {
  Element name;        // CodeableConcept: medicationCodeableConcept, or the Medication's code
  Element medication;  // the resource Medication, where there is one
  Element reference;   // medicationReference, where there is one
  [[nodiscard]] bool exists() const { return name.exists() || reference.exists(); }
};
Medicine medicine_of(const Lane& lane, Element resource);
/// Code, name, form, strength, components, expiry (medicine.cpp).
void read_medicine(const Lane& lane, const Medicine& medicine);
/// Once names and texts have been read: a code that no table knows still names the medicine, and a
/// reference that leads nowhere is in doubt where no name says the same (medicine.cpp).
void settle_medicine(const Lane& lane, const Medicine& medicine);
/// What the pharmacy fills, beside what was ordered (medicine.cpp).
void read_supplied(const Lane& lane, const Medicine& medicine, const Medicine& ordered);
/// A form that is swallowed, rubbed in or breathed; none: it has no such form (medicine.cpp).
Element other_form(const Medicine& medicine);
/// Keys that FHIR R4 does not have there; extensions that change the meaning, of the order or of
/// its Medication (keys.cpp).
void check_keys(const Lane& lane, const Instructions& instructions, Element medication);

/// The number that names an order: an identifier of type PLAC, the resource's id, else an
/// identifier.
Element number_of(Element resource);

}  // namespace meniscus::adapters::fhir
