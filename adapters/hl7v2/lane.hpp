// One order being filled from one message: text decoded, origins kept, doubts said.
//
// Raw:      every `raw` is a view into the message as it stands (undecoded), so that its place can
//           be found; what is stored is decoded.
// Null:     `""` sets the field to none; an empty view sets nothing.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "adapters/hl7v2/escape.hpp"
#include "adapters/hl7v2/message.hpp"
#include "engine/order/field_text.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters::hl7v2 {

inline bool is_null(std::string_view raw) { return raw == "\"\""; }

struct Lane {
  const engine::ReadContext& context;
  engine::OrderBlock& block;
  const Message& message;
  const TextCoding& coding;
  std::optional<engine::Date> message_date;  // MSH-7: its offset is the default of all times
  unsigned lane = 0;
  engine::ValueMemo* dates = nullptr;  // the reader's own, of HL7's days; may be null

  [[nodiscard]] engine::Origin origin(std::string_view raw) const;
  [[nodiscard]] std::string_view text(std::string_view raw) const {
    return coding.may_change ? decode(raw, coding, block) : raw;
  }
  [[nodiscard]] bool is_known(engine::FieldId field) const {
    return block.value(lane, field).known();
  }
  [[nodiscard]] bool is_present(engine::FieldId field) const {
    return (block.column(field).present >> lane & 1U) != 0;
  }
  /// A table of the rule set, or the feed's own translations, know the word.
  [[nodiscard]] bool knows(engine::FieldId field, std::string_view word) const;

  /// As the field's kind says (engine/order/field_text.hpp).
  void set(engine::FieldId field, std::string_view raw, bool from_text = false) const;
  /// One of our own words or texts that `raw` stands for; what was written stays `raw`.
  void set_as(engine::FieldId field, std::string_view ours, std::string_view raw,
              bool from_text = false) const;
  /// The number and the unit; the unit resolved by unit_of().
  void set_amount(engine::FieldId field, std::string_view number, std::string_view unit_field,
                  bool from_text = false) const;
  /// A time of HL7's form.
  void set_date(engine::FieldId field, std::string_view raw) const;
  void doubt(engine::FieldId field, std::string reason, std::string_view raw) const;
  /// The doubt about a text that is_lost().
  void doubt_text(engine::FieldId field, std::string_view raw) const;

  /// The text of a coded field (CE, CWE): its name, else its original text, else its code.
  [[nodiscard]] std::string_view name_of(std::string_view coded) const;
  /// The unit that a coded field stands for, or a doubt's reason.
  struct UnitText {
    std::string_view unit;
    std::string reason;
  };
  [[nodiscard]] UnitText unit_of(std::string_view coded) const;
  /// The first component of a coded unit that is one, whatever the others say.
  [[nodiscard]] UnitText first_unit_of(std::string_view coded) const;
  /// What the reader's memo has of a text that stands as it is read.
  [[nodiscard]] const engine::Value* remembered(engine::FieldId field, std::string_view raw) const;
};

/// A number as HL7 has it (NM): a sign, digits and one point; also what could be a decimal comma,
/// which the quantity reader judges by the feed.
bool looks_numeric(std::string_view text);

}  // namespace meniscus::adapters::hl7v2
