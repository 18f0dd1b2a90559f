// The parts of filling one order, each in its own file.
#pragma once

#include "adapters/hl7v2/feed_places.hpp"
#include "adapters/hl7v2/lane.hpp"
#include "adapters/hl7v2/order_reader.hpp"

namespace meniscus::adapters::hl7v2 {

/// The number in a list of patient ids (CX): that of type MR, else the first.
std::string_view patient_number(const Message& message, std::string_view ids);
/// PID, AL1 and the observations of weight and height in the whole message (patient.cpp).
void read_patient(const Lane& lane);
/// The id and the person alone, of one of several PID.
void read_identity(const Lane& lane, const Segment& pid);
/// TQ1, ORC-7, RXE-1, RXG-3 (timing.cpp).
void read_timing(const Lane& lane, const OrderPlan& plan);

/// Where a segment that says what is given keeps it; 0 where it has no such field.
struct DetailLayout {
  std::string_view name;
  std::uint8_t code, low, high, units, form;
  std::uint8_t note1, note2;
  std::uint8_t strength, strength_units, strength_volume, strength_volume_units;
  std::uint8_t dispense, dispense_units, refills;
  std::uint8_t indication, other_code, expires;
};
const DetailLayout& layout_of(std::string_view segment);
/// A set id stands before the fields, so that each is one place too far right.
bool looks_shifted(const Message& message, const Segment& segment);

/// Route, site and side; RXR, else the fields that senders use for want of one (route.cpp).
/// Gives the reason why the order is no injection, if it is none, and its raw text.
std::string read_route(const Lane& lane, const OrderPlan& plan, std::string_view& at);
/// Substance, dose, strength, supply, components, directions (medicine.cpp).
void read_medicine(const Lane& lane, const OrderPlan& plan);
/// The medicine's identity alone (medicine.cpp).
void read_substance(const Lane& lane, const OrderPlan& plan);
/// What the feed's profile says about where this site keeps things (feed_places.cpp).
void read_feed_places(const Lane& lane, const OrderPlan& plan,
                      const std::vector<FeedPlace>& places);

}  // namespace meniscus::adapters::hl7v2
