// One order being filled from one resource: texts with their places, quantities, doubts.
//
// Wrong type: what FHIR has as a text, a number or an object and is none here is in doubt.
// Numbers:    have a point, whatever the feed writes in its texts.
// Beside:     a doubt that belongs to no field is said beside the order's number, which stays.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "adapters/fhir/codes.hpp"
#include "adapters/fhir/json_tree.hpp"
#include "adapters/fhir/resources.hpp"
#include "engine/order/field_text.hpp"

namespace meniscus::adapters::fhir {

struct Lane {
  const engine::ReadContext& context;
  const engine::ReadContext& numbers;  // the same, with a decimal point
  engine::OrderBlock& block;
  const Resources& resources;
  std::string_view record;
  OrderType type;
  Element resource;
  unsigned lane = 0;

  [[nodiscard]] bool is_present(engine::FieldId field) const {
    return (block.column(field).present >> lane & 1U) != 0;
  }
  [[nodiscard]] bool is_known(engine::FieldId field) const {
    return block.value(lane, field).known();
  }
  /// A table of the rule set, or the feed's own translations, know the word.
  [[nodiscard]] bool knows(engine::FieldId field, std::string_view word) const;

  /// A text, or a number where the field takes one, as the field's kind says.
  void set(engine::FieldId field, Element value, bool from_text = false) const;
  /// A piece of the text of `value`.
  void set_part(engine::FieldId field, std::string_view part, Element value,
                bool from_text = false) const;
  /// One of our own words or texts that `value` stands for; what was written stays.
  void set_as(engine::FieldId field, std::string_view ours, Element value,
              bool from_text = false) const;
  /// A Quantity: UCUM's code before the unit's text; what they say differently is in doubt.
  void set_amount(engine::FieldId field, Element quantity) const;
  void set_none(engine::FieldId field, Element value) const;

  void doubt(engine::FieldId field, std::string reason, Element value) const;
  void beside(std::string reason, Element value) const;

  struct UnitText {
    std::string_view unit;
    std::string reason;  // of the doubt, where there is no unit
  };
  [[nodiscard]] UnitText unit_of(Element quantity) const;
  /// `2 meq` of a Quantity; empty, with the reason of the doubt, where it has no such text.
  [[nodiscard]] std::string amount_text(Element quantity, std::string& reason) const;

  /// Of a CodeableConcept: its codes, their displays and its text, in this order.
  [[nodiscard]] static std::vector<Element> words_of(Element concept_element);
  /// What people call it: its text, else a display, else a code.
  [[nodiscard]] static Element name_of(Element concept_element);
};

inline std::string quoted(std::string_view text) { return "`" + std::string(text) + "`"; }

}  // namespace meniscus::adapters::fhir
