// Route, site and side; and whether the order is an injection at all.
#include <array>

#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/order_fields.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;

bool is_detail(std::string_view name) {
  return name == "RXO" || name == "RXE" || name == "RXG" || name == "RXD" || name == "RXA";
}

/// The RXR of the order's detail segment: its own, else the nearest one before it, else any.
struct Routes {
  const Segment* first = nullptr;
  const Segment* second = nullptr;  // another one of the same owner
};

Routes routes_of(const Message& m, const OrderPlan& plan) {
  const auto& segments = m.segments();
  const int detail = plan.detail();
  Routes own;
  Routes other;
  bool mine = false;
  for (int i = plan.begin; i < plan.end; ++i) {
    const Segment& s = segments[static_cast<std::size_t>(i)];
    if (i == detail) {
      mine = true;
    } else if (is_detail(s.name) && !(s.name == "RXA" && own.first == nullptr)) {
      mine = false;  // an RXR after several RXA belongs to all of them
    }
    if (s.name != "RXR") continue;
    Routes& to = mine ? own : other;
    if (to.first == nullptr || (!mine && i < detail)) {
      to.first = &s;
    } else if (mine && to.second == nullptr) {
      to.second = &s;
    }
  }
  if (own.first != nullptr) return own;
  other.second = nullptr;
  return other;
}

/// The RXR after the RXD, where another segment says what is ordered.
const Segment* dispensed_route(const Message& m, const OrderPlan& plan) {
  if (plan.rxd < 0 || plan.rxd == plan.detail()) return nullptr;
  for (int i = plan.rxd + 1; i < plan.end; ++i) {
    const Segment& s = m.segments()[static_cast<std::size_t>(i)];
    if (is_detail(s.name)) return nullptr;
    if (s.name == "RXR") return &s;
  }
  return nullptr;
}

/// Sets the route from a coded field; false when nothing in it says one.
bool set_route(const Lane& lane, std::string_view coded, bool from_text) {
  const Message& m = lane.message;
  std::string_view shown;
  for (const unsigned component : {1U, 2U, 4U, 5U}) {
    const std::string_view raw = trim(m.component(coded, component));
    if (raw.empty()) continue;
    if (shown.empty()) shown = raw;
    if (lane.knows(FieldId::Route, lane.text(raw))) {
      lane.set(FieldId::Route, raw, from_text);
      return true;
    }
  }
  for (const unsigned component : {1U, 2U, 4U, 5U}) {
    const std::string_view raw = trim(m.component(coded, component));
    const auto code = route_code(lane.text(raw));
    if (!code) continue;
    lane.set_as(FieldId::Route, code->word, raw, from_text);
    return true;
  }
  if (shown.empty() || upper(shown) == "OTH" || from_text) return false;
  lane.set(FieldId::Route, shown);
  return true;
}

/// Our word for a component of a route; empty: neither the tables of HL7 nor the rule set have it.
std::string_view route_word(const Lane& lane, std::string_view raw) {
  if (const auto code = route_code(lane.text(raw))) return code->word;
  if (raw.empty() || lane.context.program == nullptr) return {};
  const auto* entry =
      lane.context.program->vocabularies[engine::index(FieldId::Route)].find(lane.text(raw));
  return entry == nullptr ? std::string_view{} : std::string_view(entry->name);
}

/// The route of the label, where it is another one than was ordered.
void compare_dispensed(const Lane& lane, const OrderPlan& plan) {
  const Message& m = lane.message;
  const Segment* label = dispensed_route(m, plan);
  const engine::Value route = lane.block.value(lane.lane, FieldId::Route);
  if (label == nullptr || !route.known()) return;
  const std::string_view coded = m.repetition(m.field(*label, 1), 0);
  for (const unsigned component : {1U, 2U, 4U, 5U}) {
    const std::string_view raw = trim(m.component(coded, component));
    const std::string_view word = route_word(lane, raw);
    if (word.empty()) continue;
    if (word != route.text) lane.set_as(FieldId::StatedRoute, word, raw);
    return;
  }
}

/// Route fields that the standard has not, but senders use.
void route_from_elsewhere(const Lane& lane, const OrderPlan& plan) {
  const Message& m = lane.message;
  const auto& segments = m.segments();
  struct Candidate {
    int segment;
    unsigned field;
  };
  const std::array<Candidate, 5> candidates = {
      {{plan.rxa, 8}, {plan.rxe, 6}, {plan.rxe, 7}, {plan.rxo, 6}, {plan.rxo, 7}}};
  for (const Candidate& c : candidates) {
    if (c.segment < 0) continue;
    const Segment& s = segments[static_cast<std::size_t>(c.segment)];
    if (looks_shifted(m, s)) continue;
    const std::string_view coded = m.repetition(m.field(s, c.field), 0);
    const bool table = m.component(coded, 3).find("0162") != std::string_view::npos;
    const std::string_view code = trim(m.component(coded, 1));
    const bool one_word = code.size() > 1 && code.find(' ') == std::string_view::npos;
    if ((table || (one_word && route_code(code))) && set_route(lane, coded, true)) return;
  }
}

void set_coded_site(const Lane& lane, const SiteCode& code, std::string_view coded,
                    bool from_text) {
  const std::string_view raw = lane.message.component(coded, 1);
  lane.set_as(FieldId::Site, code.site, raw, from_text);
  if (code.side.empty()) return;
  const std::string_view text = lane.text(lane.message.component(coded, 2));
  std::string_view rest;
  std::string_view said = side_before(text, rest);
  if (said.empty()) {
    const auto quadrant = quadrant_in(text);
    if (quadrant) said = quadrant->side;
  }
  if (!said.empty() && said != code.side) {
    lane.doubt(FieldId::Side,
               "the code says " + std::string(code.side) + ", its text says " + std::string(said),
               coded);
    return;
  }
  lane.set_as(FieldId::Side, code.side, raw, from_text);
}

/// A quadrant of the abdomen in any component of a site that no table has as a whole; before the
/// words, of which `Abdomen` would lose the side.
bool set_quadrant_site(const Lane& lane, std::string_view coded, bool from_text) {
  for (const unsigned component : {1U, 2U, 4U, 5U}) {
    const std::string_view raw = trim(lane.message.component(coded, component));
    const auto site = raw.empty() ? std::nullopt : quadrant_in(lane.text(raw));
    if (!site) continue;
    set_coded_site(lane, *site, coded, from_text);
    return true;
  }
  return false;
}

void set_site(const Lane& lane, std::string_view coded, bool from_text) {
  const Message& m = lane.message;
  if (trim(coded).empty()) return;
  const std::string_view system = m.component(coded, 3);
  const std::string_view code = trim(m.component(coded, 1));
  const bool standard = system.empty() || system.find("0163") != std::string_view::npos;
  const auto translations = lane.context.feed->words.find(FieldId::Site);
  const bool translated = translations != lane.context.feed->words.end() &&
                          translations->second.find(code) != translations->second.end();
  if (const auto row = site_code(code); row && standard && !translated) {
    set_coded_site(lane, *row, coded, from_text);
    return;
  }
  if (!translated && set_quadrant_site(lane, coded, from_text)) return;
  std::string_view shown;
  for (const unsigned component : {1U, 2U, 4U, 5U}) {
    const std::string_view raw = trim(m.component(coded, component));
    if (raw.empty()) continue;
    if (shown.empty() || component == 2) shown = raw;
    if (!lane.knows(FieldId::Site, lane.text(raw))) continue;
    lane.set(FieldId::Site, raw, from_text);
    return;
  }
  std::string_view rest;
  const std::string_view side = side_before(lane.text(shown), rest);
  if (side.empty()) {
    lane.set(FieldId::Site, shown, from_text);
    return;
  }
  lane.set_as(FieldId::Site, rest, shown, from_text);
  lane.set_as(FieldId::Side, side, shown, from_text);
}

/// A form or a unit that is swallowed, rubbed in or breathed, where no route says otherwise.
std::string_view other_form(const Lane& lane, const OrderPlan& plan) {
  const Message& m = lane.message;
  // Of the detail alone: a request for a capsule may have been encoded as an injection.
  for (const int index : {plan.detail()}) {
    if (index < 0 || looks_shifted(m, m.segments()[static_cast<std::size_t>(index)])) continue;
    const Segment& s = m.segments()[static_cast<std::size_t>(index)];
    const DetailLayout& at = layout_of(s.name);
    for (const unsigned number : {unsigned{at.form}, unsigned{at.units}}) {
      const std::string_view coded = m.repetition(m.field(s, number), 0);
      for (const unsigned component : {1U, 2U}) {
        const std::string_view raw = trim(m.component(coded, component));
        if (is_other_form(raw)) return raw;
      }
    }
    const std::string name = upper(m.first(m.field(s, at.code), 2));
    for (const std::string_view form :
         {"ORAL TABLET", "ORAL CAPSULE", "ORAL SOLUTION", "ORAL SUSPENSION", " TABLET", " CAPSULE"})
      if (name.find(form) != std::string::npos) return m.first(m.field(s, at.code), 2);
  }
  return {};
}

}  // namespace

std::string read_route(const Lane& lane, const OrderPlan& plan, std::string_view& at) {
  const Message& m = lane.message;
  const Routes routes = routes_of(m, plan);
  if (routes.first != nullptr) {
    const std::string_view coded = m.repetition(m.field(*routes.first, 1), 0);
    set_route(lane, coded, false);
    const std::string_view again =
        routes.second == nullptr ? coded : m.repetition(m.field(*routes.second, 1), 0);
    if (m.component(again, 1) != m.component(coded, 1))
      lane.doubt(FieldId::Route, "two routes are given", coded);
    set_site(lane, m.repetition(m.field(*routes.first, 2), 0), false);
    const std::string_view modifier = m.first(m.field(*routes.first, 6), 1);
    if (const std::string_view side = side_word(modifier);
        !side.empty() && !lane.is_present(FieldId::Side))
      lane.set_as(FieldId::Side, side, modifier);
  }
  if (!lane.is_present(FieldId::Route)) route_from_elsewhere(lane, plan);
  if (!lane.is_present(FieldId::Site) && plan.rxa >= 0) {
    const Segment& rxa = m.segments()[static_cast<std::size_t>(plan.rxa)];
    const std::string_view coded = m.repetition(m.field(rxa, 9), 0);
    if (m.component(coded, 3).find("0163") != std::string_view::npos) set_site(lane, coded, true);
  }
  compare_dispensed(lane, plan);
  const engine::Value route = lane.block.value(lane.lane, FieldId::Route);
  at = lane.block.written(lane.lane, FieldId::Route);
  if (route.known() && !may_be_injection(route.text))
    return "the route is " + std::string(route.text) + ": no injection";
  if (route.known() && route_code(route.text)) return {};
  if (route.known() && lane.knows(FieldId::Route, route.text)) return {};
  at = other_form(lane, plan);
  if (!at.empty()) return "it is `" + std::string(lane.text(at)) + "`: no injection";
  return {};
}

}  // namespace meniscus::adapters::hl7v2
