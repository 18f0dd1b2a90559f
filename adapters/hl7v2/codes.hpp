// HL7's code tables, as far as an injection order needs them, and the local spellings seen beside
// them.
//
// Words:   every result is one of our own words (docs/fields.md); the feed's translations and the
//          rule set's vocabularies come first, these tables second (order_reader.cpp).
// Unknown: a code that no table has gives nothing; it is never taken for the nearest one.
// Source:  HL7 v2.5.1 tables 0119, 0038, 0162, 0163, 0335, 0322 (codes and texts); the meanings of
//          NCIT and SNOMED route codes are from memory and to be confirmed.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "engine/base/ascii.hpp"

namespace meniscus::adapters::hl7v2 {

/// Upper case of ASCII letters, without blanks at the ends.
std::string upper(std::string_view text);
inline std::string_view trim(std::string_view text) { return engine::ascii::trimmed(text); }

/// ORC-1 (table 0119) or ORC-5 (table 0038) in the words of order.action and order.status; empty
/// where the code says nothing about that one.
struct Control {
  std::string_view action;
  std::string_view status;
};
std::optional<Control> order_control(std::string_view code);
std::optional<Control> order_status(std::string_view code);

struct RouteCode {
  std::string_view word;   // of order field `route`
  bool injection = false;  // through a needle
};
/// Table 0162, NCIT and SNOMED codes, and local spellings.
std::optional<RouteCode> route_code(std::string_view code);
/// By our word (or a usual spelling): false only for a word that is known to be no injection.
bool may_be_injection(std::string_view route_word);

struct SiteCode {
  std::string_view site;  // empty where our tree of sites has no such place
  std::string_view side;
  std::string_view quadrant;
};
/// Table 0163, ABD and the quadrants of the abdomen (LLQ, RLQ, LUQ, RUQ).
std::optional<SiteCode> site_code(std::string_view code);
/// A text that names a quadrant of the abdomen and nothing else: `LLQ`, `LLQ abdomen`, `abdomen,
/// left lower quadrant`.
std::optional<SiteCode> quadrant_in(std::string_view text);
/// `LEFT`, `L`, `Rt` ... as a side; table 0495 for RXR-6.
std::string_view side_word(std::string_view text);
/// A side in words at the start of a site's text (`left deltoid`), and what is left of it.
std::string_view side_before(std::string_view text, std::string_view& rest);

/// A repeat pattern (table 0335 and the words in use) as texts for schedule.every and
/// schedule.times.  `once`: it is not repeated.
struct Pattern {
  std::string every;  // "1 wk"; empty: not known from the pattern
  int times = 1;
  bool as_needed = false;
  bool once = false;
  [[nodiscard]] bool says_nothing() const { return every.empty() && !as_needed && !once; }
};
Pattern repeat_pattern(std::string_view text);
/// A unit of time as HL7 writes it in intervals (`h`, `Hr`, `min`, `d`, `wk`, `mo`); empty if none.
std::string_view time_unit(std::string_view text);

/// Tablets, capsules, creams ...: a form or a unit that is no injection.
bool is_other_form(std::string_view text);
/// Vials, ampoules, syringes, pens, cartridges: units that count containers.
bool is_container(std::string_view text);
/// A trade or foreign spelling of a unit that the quantity reader does not know; empty if none.
std::string_view unit_alias(std::string_view text);
/// NKA, NKDA, "no known allergies".
bool is_no_allergy(std::string_view text);

}  // namespace meniscus::adapters::hl7v2
