// One record of an input as bytes of its own: what a reader found, without the text around it.
//
// Why:       a replay reads records where they stand and judges them by patient, maybe much later
//            and from a file; a record is read once, whatever its format.
// Holds:     every field that was set, with its value and how it was written; doubts; lists; what
//            kind of record it is and where it stands.  Not where in the record a field stands.
// Layout:    the head, as it lies in memory, then the fields.  For the program that wrote it, on
//            the machine that wrote it: nothing else reads images.
// Private:   images hold patients' orders.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "engine/order/order_block.hpp"

namespace meniscus::adapters::replay {

struct ImageHead {
  std::uint32_t size = 0;  // of the whole image, bytes
  std::uint32_t file = 0;  // which input
  std::uint64_t line = 0;  // first line of the record in it, from 1
  std::uint64_t turn = 0;  // counts the records of all inputs, in their order; with gaps
  double received = 0;     // local seconds; NaN: the record has no date of its own
  engine::Word patient = engine::kNoWord;
  engine::Word order = engine::kNoWord;   // placer number, else filler number
  engine::Word former = engine::kNoWord;  // of a merge: the patient's id that is no longer used
  std::uint64_t content = 0;              // of all fields; equal for a record that comes again
  engine::FieldSet never_carries;         // of its feed and input
  engine::RecordKind kind{};
  bool warm_up = false;  // only remembered

  /// What has the same value is judged in sequence: the patient's records, or those of an order
  /// without one.
  [[nodiscard]] std::uint64_t owner() const {
    if (patient != engine::kNoWord) return patient;
    return order != engine::kNoWord ? order : turn + 1;
  }
};

/// Appends the image of a lane.  Of `head`, the caller sets file, line, turn, never_carries and
/// warm_up; the rest is worked out here.
void append_image(const engine::OrderBlock& block, unsigned lane, ImageHead head, std::string& out);

/// The head of the image at the start of `bytes`.
ImageHead head_of(std::string_view bytes);

/// Opens a lane of the block with the record.  Its texts stand in `image`.
void open_image(std::string_view image, engine::OrderBlock& block);

}  // namespace meniscus::adapters::replay
