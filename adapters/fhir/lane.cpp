// Contract: see lane.hpp.
#include "adapters/fhir/lane.hpp"

#include <array>
#include <charconv>
#include <optional>

#include "adapters/hl7v2/amount_text.hpp"
#include "adapters/hl7v2/codes.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::FieldId;
using engine::UnitSet;
using engine::Value;

std::string_view type_name(Element value) {
  if (value.is(JsonKind::Object)) return "an object";
  if (value.is(JsonKind::List)) return "a list";
  if (value.is(JsonKind::Number)) return "a number";
  return value.is(JsonKind::Text) ? "text" : "true or false";
}

bool same_unit(const engine::Unit& a, const engine::Unit& b) {
  return a.dimension.bits() == b.dimension.bits() && engine::compare(a.factor, b.factor) == 0;
}

/// A trade spelling as the quantity reader knows it.
std::string_view spelled(std::string_view text) {
  const std::string_view alias = hl7v2::unit_alias(text);
  return alias.empty() ? text : alias;
}

/// A unit as orders write it, trade spellings too.
std::optional<engine::Unit> order_unit(std::string_view text) {
  if (text.empty()) return std::nullopt;
  const auto unit = engine::parse_unit(spelled(text), UnitSet::Order);
  if (!unit) return std::nullopt;
  return *unit;
}

/// What the text beside a code says against it; empty: nothing.
std::string disagreement(const engine::Unit& coded, std::string_view code, std::string_view text) {
  if (text.empty() || text == code) return {};
  const auto said = order_unit(text);
  const bool counts = hl7v2::is_other_form(text) || hl7v2::is_container(text);
  if (said ? same_unit(*said, coded) : !counts) return {};
  return "the unit's code is " + quoted(code) + ", its text " + quoted(text);
}

/// A code that says that it is UCUM's.  It must mean the same in orders; but `U` is units there, as
/// in the examples of FHIR R4 (medrx0320), and not UCUM's enzyme unit.
Lane::UnitText ucum_unit(std::string_view code, std::string_view text) {
  const auto ucum = engine::parse_unit(code, UnitSet::Ucum);
  if (!ucum) return {{}, quoted(code) + " is no UCUM unit, though the order says so"};
  const auto coded = engine::parse_unit(code, UnitSet::Order);
  if (!coded || (code != "U" && !same_unit(*ucum, *coded)))
    return {{}, quoted(code) + " is no unit of an order"};
  std::string against = disagreement(*coded, code, text);
  if (!against.empty()) return {{}, std::move(against)};
  return {code, {}};
}

/// A decimal as text is read: `1.000` and `1e3` have one meaning in JSON, and two or none in text.
std::string plain_number(std::string_view token) {
  std::string number(token);
  if (number.find_first_of("eE") != std::string::npos) {
    double value = 0;
    const auto read = std::from_chars(number.data(), number.data() + number.size(), value);
    std::array<char, 64> digits{};
    const auto shown = std::to_chars(digits.data(), digits.data() + digits.size(), value,
                                     std::chars_format::fixed);
    if (read.ec != std::errc{} || shown.ec != std::errc{}) return number;
    return {digits.data(), shown.ptr};
  }
  if (number.find('.') == std::string::npos) return number;
  while (number.back() == '0')
    number.pop_back();
  if (number.back() == '.') number.pop_back();
  return number;
}

}  // namespace

bool Lane::knows(FieldId field, std::string_view word) const {
  if (word.empty()) return false;
  const auto translations = context.feed->words.find(field);
  if (translations != context.feed->words.end() &&
      translations->second.find(word) != translations->second.end())
    return true;
  return context.program != nullptr &&
         context.program->vocabularies[engine::index(field)].find(word) != nullptr;
}

void Lane::set_part(FieldId field, std::string_view part, Element value, bool from_text) const {
  if (part.find('\0') != std::string_view::npos) {
    doubt(field, "the text has a NUL character", value);
    return;
  }
  const bool in_record =
      part.data() >= record.data() && part.data() < record.data() + record.size();
  engine::set_field(context, block, lane, field, in_record ? part : block.keep(part),
                    value.origin(), from_text);
}

void Lane::set(FieldId field, Element value, bool from_text) const {
  if (!value.exists()) return;
  if (value.is(JsonKind::Text)) {
    set_part(field, value.text(), value, from_text);
  } else if (value.is(JsonKind::Number) && engine::info(field).kind == engine::FieldKind::Count) {
    engine::set_field(numbers, block, lane, field, value.token(), value.origin(), from_text);
  } else {
    doubt(field, std::string(type_name(value)) + " where text is needed", value);
  }
}

void Lane::set_as(FieldId field, std::string_view ours, Element value, bool from_text) const {
  engine::set_field(context, block, lane, field, block.keep(ours), value.origin(), from_text);
  const Value set = block.value(lane, field);
  const std::string_view written = value.is(JsonKind::Text) ? value.text() : value.token();
  if (set.known()) block.set(lane, field, set, block.keep(written), value.origin(), from_text);
}

void Lane::set_none(FieldId field, Element value) const {
  block.set(lane, field, Value::none(), block.keep(value.text()), value.origin());
}

void Lane::doubt(FieldId field, std::string reason, Element value) const {
  const std::string_view written = value.is(JsonKind::Text)     ? value.text()
                                   : value.is(JsonKind::Number) ? value.token()
                                                                : std::string_view{};
  block.doubt(lane, field, std::move(reason), written, value.origin());
}

void Lane::beside(std::string reason, Element value) const {
  const FieldId field = FieldId::OrderId;
  const Value id = block.value(lane, field);
  const std::string written(block.written(lane, field));
  const engine::Origin origin = block.origin(lane, field);
  const bool had = is_present(field);
  doubt(field, std::move(reason), value);
  if (had) block.set(lane, field, id, block.keep(written), origin);
}

Lane::UnitText Lane::unit_of(Element quantity) const {
  const std::string_view code = quantity["code"].text();
  const std::string_view text = quantity["unit"].text();
  const auto& translated = context.feed->units;
  for (const std::string_view said : {code, text})
    if (translated.find(said) != translated.end()) return {said, {}};
  if (!code.empty() && quantity["system"].text() == kUcum) return ucum_unit(code, text);
  for (const std::string_view said : {text, code})
    if (order_unit(said)) return {spelled(said), {}};
  const std::string_view shown = text.empty() ? code : text;
  if (shown.empty()) return {};
  return {{}, quoted(shown) + " is no unit of an amount"};
}

void Lane::set_amount(FieldId field, Element quantity) const {
  if (!quantity.exists()) return;
  if (!quantity.is(JsonKind::Object)) {
    doubt(field, std::string(type_name(quantity)) + " where a Quantity is needed", quantity);
    return;
  }
  const Element value = quantity["value"];
  if (const Element bound = quantity["comparator"]; bound.exists()) {
    doubt(field, "the value is only a bound (" + quoted(bound.text()) + ")", bound);
    return;
  }
  if (!value.exists()) {
    doubt(field, "the Quantity has no value", quantity);
    return;
  }
  if (!value.is(JsonKind::Number)) {
    doubt(field, std::string(type_name(value)) + " where a number is needed", value);
    return;
  }
  const UnitText unit = unit_of(quantity);
  if (!unit.reason.empty()) {
    doubt(field, unit.reason, value);
    return;
  }
  const std::string_view number = block.keep(plain_number(value.token()));  // written looks at it
  engine::set_quantity(numbers, block, lane, field, number, unit.unit, value.origin());
  if (!is_known(field)) return;
  const bool dose = field == FieldId::Dose || field == FieldId::DoseHigh;
  if (unit.unit.empty()) return;
  const std::string written =
      dose ? hl7v2::amount_text(value.token(), unit.unit)
           : std::string(value.token()) + " " + std::string(hl7v2::unit_word(unit.unit));
  if (written == block.written(lane, field)) return;
  block.set(lane, field, block.value(lane, field), block.keep(written), value.origin());
}

std::string Lane::amount_text(Element quantity, std::string& reason) const {
  const Element value = quantity["value"];
  if (quantity["comparator"].exists() || !value.is(JsonKind::Number)) {
    reason = "the Quantity has no value of its own";
    return {};
  }
  UnitText unit = unit_of(quantity);
  reason = std::move(unit.reason);
  if (unit.unit.empty()) return {};
  return plain_number(value.token()) + " " + std::string(unit.unit);
}

std::vector<Element> Lane::words_of(Element concept_element) {
  std::vector<Element> words;
  each(concept_element["coding"], [&](Element coding) {
    for (const std::string_view part : {"code", "display"})
      if (!coding[part].text().empty()) words.push_back(coding[part]);
  });
  const Element text = concept_element["text"];
  if (!text.text().empty()) words.push_back(text);
  return words;
}

Element Lane::name_of(Element concept_element) {
  if (!concept_element["text"].text().empty()) return concept_element["text"];
  Element name;
  for (const std::string_view part : {"display", "code"})
    each(concept_element["coding"], [&](Element coding) {
      if (!name.exists() && !coding[part].text().empty()) name = coding[part];
    });
  return name;
}

}  // namespace meniscus::adapters::fhir
