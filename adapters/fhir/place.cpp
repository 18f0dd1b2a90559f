// Route, site and side; and whether the order is an injection at all.
//
// Code before text: the codes of SNOMED CT that FHIR's examples use, those of HL7 (tables 0162 and
//          0163, v3 RouteOfAdministration and ActSite), then the words of the rule set and of the
//          feed.  Two that name two routes are in doubt.
#include <algorithm>

#include "adapters/fhir/order_fields.hpp"
#include "adapters/hl7v2/codes.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::FieldId;

bool is_hl7_route(std::string_view system) {
  return system.ends_with("v3-RouteOfAdministration") || system.ends_with("v2-0162");
}
bool is_hl7_site(std::string_view system) {
  return system.ends_with("v3-ActSite") || system.ends_with("v2-0163");
}

/// A word as the rule set calls it; empty where neither it nor the feed knows it.
std::string our_route(const Lane& lane, std::string_view text) {
  std::string_view word = text;
  const auto translations = lane.context.feed->words.find(FieldId::Route);
  if (translations != lane.context.feed->words.end()) {
    const auto found = translations->second.find(text);
    if (found != translations->second.end()) word = found->second;
  }
  const engine::Program* program = lane.context.program;
  const auto* entry = program == nullptr
                          ? nullptr
                          : program->vocabularies[engine::index(FieldId::Route)].find(word);
  if (entry != nullptr) return std::string(entry->name);
  return word == text ? std::string() : std::string(word);
}

/// What one word of a route means; empty: nothing that we know.
std::string route_word(const Lane& lane, Element word, Element coding) {
  const std::string_view text = word.text();
  const std::string_view system = coding["system"].text();
  std::string ours = our_route(lane, text);
  if (!ours.empty()) return ours;
  if (word.key() == "code" && system == kSnomed) return std::string(snomed_route(text));
  if (word.key() == "code" && !is_hl7_route(system) && !system.empty()) return {};
  const std::string_view plain = without_semantic_tag(text);
  ours = our_route(lane, plain);
  if (!ours.empty()) return ours;
  const auto code = hl7v2::route_code(plain);
  return code ? std::string(code->word) : std::string();
}

struct RouteReading {
  std::string word;
  Element from;
  bool differ = false;
};

void read_word(const Lane& lane, Element word, Element coding, RouteReading& reading) {
  if (word.text().empty()) return;
  const std::string said = route_word(lane, word, coding);
  if (said.empty()) return;
  if (!reading.from.exists()) {
    reading.word = said;
    reading.from = word;
    return;
  }
  reading.differ = reading.differ || said != reading.word;
}

RouteReading reading_of(const Lane& lane, Element route) {
  RouteReading reading;
  each(route["coding"], [&](Element coding) {
    read_word(lane, coding["code"], coding, reading);
    read_word(lane, coding["display"], coding, reading);
  });
  read_word(lane, route["text"], {}, reading);
  return reading;
}

void read_route(const Lane& lane, Element route) {
  const RouteReading reading = reading_of(lane, route);
  if (reading.differ) {
    lane.doubt(FieldId::Route, "its codes and texts name two routes", route);
  } else if (reading.from.exists()) {
    lane.set_as(FieldId::Route, reading.word, reading.from);
  } else {
    lane.set(FieldId::Route, Lane::name_of(route));
  }
}

void set_side(const Lane& lane, std::string_view side, Element from) {
  if (side.empty()) return;
  const engine::Value had = lane.block.value(lane.lane, FieldId::Side);
  if (had.known() && had.text != side)
    lane.doubt(FieldId::Side, "its codes and texts name two sides", from);
  else if (!lane.is_present(FieldId::Side))
    lane.set_as(FieldId::Side, side, from);
}

/// One word of a site: `LA`, `LLQ abdomen`, `left deltoid`, `deltoid`.  True when it is one.
bool read_site_word(const Lane& lane, Element word, Element coding) {
  const std::string_view text = without_semantic_tag(word.text());
  if (text.empty()) return false;
  const bool code = word.key() == "code";
  if (code) {
    const auto known = hl7v2::site_code(text);
    if (!known || !(is_hl7_site(coding["system"].text()) || coding["system"].text().empty()))
      return false;
    lane.set_as(FieldId::Site, known->site, word);
    set_side(lane, known->side, word);
    return true;
  }
  std::string_view rest = text;
  const std::string_view side = hl7v2::side_before(text, rest);
  set_side(lane, side, word);
  if (lane.is_present(FieldId::Site)) return true;
  if (const auto quadrant = hl7v2::quadrant_in(text)) {
    lane.set_as(FieldId::Site, quadrant->site, word);
    set_side(lane, quadrant->side, word);
    return true;
  }
  const std::string_view site = side.empty() ? text : rest;
  if (!lane.knows(FieldId::Site, site)) return false;
  lane.set_part(FieldId::Site, site, word);
  return true;
}

void read_site(const Lane& lane, Element site) {
  if (!site.exists()) return;
  bool read = false;
  each(site["coding"], [&](Element coding) {
    read = read_site_word(lane, coding["code"], coding) || read;
    read = read_site_word(lane, coding["display"], coding) || read;
  });
  read = read_site_word(lane, site["text"], {}) || read;
  if (read || lane.is_present(FieldId::Site)) return;
  const Element name = Lane::name_of(site);
  std::string_view rest = name.text();
  if (hl7v2::side_before(name.text(), rest).empty())
    lane.set(FieldId::Site, name);
  else
    lane.set_part(FieldId::Site, rest, name);
}

/// Several instructions of one plan must agree on the way in.
void compare_routes(const Lane& lane, const Instructions& instructions) {
  const std::string_view route = Lane::name_of(instructions.first()["route"]).text();
  for (const Element part : instructions.parts) {
    const Element other = Lane::name_of(part["route"]);
    if (other.text() == route) continue;
    lane.doubt(FieldId::Route, "the instructions name two routes", other.exists() ? other : part);
    return;
  }
}

/// A unit of the dose that is no amount of an injection: tablets, drops, puffs.
Element other_unit(Element dosage) {
  Element found;
  const auto look = [&](Element quantity) {
    for (const std::string_view key : {"unit", "code"})
      if (!found.exists() && hl7v2::is_other_form(quantity[key].text())) found = quantity[key];
  };
  each(dosage["doseAndRate"], [&](Element dose) {
    look(dose["doseQuantity"]);
    look(dose["doseRange"]["low"]);
    look(dose["doseRange"]["high"]);
  });
  look(dosage["dose"]);
  return found;
}

}  // namespace

void compare_route(const Lane& lane, Element route) {
  const RouteReading asked = reading_of(lane, route);
  const engine::Value set = lane.block.value(lane.lane, FieldId::Route);
  if (!asked.from.exists() || asked.differ || !set.known() || set.text == asked.word) return;
  lane.set_as(FieldId::StatedRoute, asked.word, asked.from);
}

std::string read_place(const Lane& lane, const Instructions& instructions, Element& where) {
  const Element dosage = instructions.first();
  read_route(lane, dosage["route"]);
  compare_routes(lane, instructions);
  read_site(lane, dosage["site"]);
  const engine::Value route = lane.block.value(lane.lane, FieldId::Route);
  where = dosage["route"];
  if (route.known() && !hl7v2::may_be_injection(route.text))
    return "the route is " + std::string(route.text) + ": no injection";
  if (route.known() && (hl7v2::route_code(route.text) || lane.knows(FieldId::Route, route.text)))
    return {};
  where = other_unit(dosage);
  if (!where.exists()) where = other_form(medicine_of(lane, lane.resource));
  if (!where.exists()) return {};
  return "it is " + quoted(where.text()) + ": no injection";
}

}  // namespace meniscus::adapters::fhir
