// What the medicine, route and timing of an order were read as, by the bytes that they stand in.
//
// Why:     a clinic's feed says the same few hundred things again and again: RXE, RXR and TQ1 come
//          byte for byte as before, between a patient and an order number that are new.
// Use:     recall() in place of reading; where it gives false, read, and keep() what was set.
// Exact:   all bytes are compared that the outcome depends on, with the separators, the character
//          set and the offset of the message's time (MSH-1, 2, 7, 18).  Left out: RXE-13 to 20,
//          which reading the medicine does not look at, and TQ1-7 and 8, which are read each time.
//          One memo serves one way of reading (program, feed).
// Places:  kept as segment, field and byte in the field, so they are right wherever the segments
//          stand in the next message.
// Never:   what holds a doubt, a list or a lost segment end, what is not an injection, an injection
//          that was given, timings of the old type, character sets that hide separators.
// Bounded: kEntries bodies of at most kLongest bytes; a text is kept when it comes the second time.
//          A new one takes the place of an old one, and its memory.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/hl7v2/lane.hpp"
#include "adapters/hl7v2/order_plan.hpp"

namespace meniscus::adapters::hl7v2 {

class BodyMemo {
 public:
  static constexpr std::size_t kEntries = 1024;
  static constexpr std::size_t kLongest = 1024;  // bytes

  /// Sets what read_route(), read_medicine() and read_timing() would set; false: nothing was set.
  bool recall(const Lane& lane, const OrderPlan& plan);
  /// After the same lane was read, no reason found that it is no injection: remembers what was set.
  void keep(const Lane& lane);

 private:
  /// A byte of the body, wherever it stands in the message.
  struct Spot {
    std::uint8_t segment = 0;  // of those of the body
    std::uint8_t field = 0;
    std::uint16_t byte = 0;
  };
  struct Span {
    Spot begin;
    Spot end;
  };
  enum class From : std::uint8_t { Nowhere, Body, Program, Kept };
  struct Text {
    From from = From::Nowhere;
    Span span;              // Body
    std::string_view view;  // Program: lives as long as it
    std::uint32_t begin = 0;
    std::uint32_t size = 0;  // Kept: in Entry::kept
  };
  struct Effect {
    engine::FieldId field{};
    engine::State state{};
    bool from_text = false;
    bool has_origin = false;
    bool same_text = false;  // the value's text is what was written
    double number = 0;
    std::uint64_t aux = 0;
    Span origin;
    Text text;
    Text written;
  };
  struct Entry {
    std::uint64_t hash = 0;
    std::uint64_t used = 0;
    std::string key;
    std::string kept;
    std::vector<Effect> effects;
  };

  bool take_body(const Lane& lane, const OrderPlan& plan);
  void add_bytes(const Message& message, const Segment& segment);
  void add_separators(const Lane& lane);
  Entry* find();
  void replay(const Lane& lane, const Entry& entry) const;
  void set_dates(const Lane& lane) const;
  [[nodiscard]] std::string_view text_of(const Lane& lane, const Entry& entry,
                                         const Text& text) const;
  [[nodiscard]] std::uint32_t offset_of(const Message& message, Spot spot) const;
  bool spot_of(const Message& message, std::uint32_t offset, Spot& spot) const;
  bool span_of(const Message& message, engine::Origin origin, Span& span) const;
  bool describe(const Lane& lane, engine::FieldId field, std::string_view view, Text& text,
                Entry& entry) const;
  bool describe(const Lane& lane, engine::FieldId field, Effect& effect, Entry& entry) const;
  bool collect(const Lane& lane, Entry& entry) const;

  std::vector<Entry> entries_;       // two for each hash
  std::vector<std::uint64_t> once_;  // hashes that came once
  std::uint64_t turn_ = 0;

  // The body at hand, between recall() and keep().
  std::string key_;
  std::uint64_t hash_ = 0;
  std::vector<const Segment*> segments_;
  const Segment* timing_ = nullptr;  // TQ1
  bool keeps_ = false;
  engine::FieldSet before_;  // what was set before the body was read
  std::size_t doubts_before_ = 0;
};

}  // namespace meniscus::adapters::hl7v2
