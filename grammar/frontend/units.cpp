// Units by the engine's closed list, asked piece by piece: `mg/kg`, `mPa.s`.
#include "grammar/frontend/units.hpp"

#include <algorithm>

#include "engine/quantity/quantity.hpp"

namespace meniscus::grammar {
namespace {

/// Gauges are a type of their own, so the engine's list of units does not have them.
bool is_gauge(std::string_view text) { return text == "G" || text == "gauge"; }

bool is_listed(std::string_view text) {
  const auto units = engine::rule_units();
  return std::find(units.begin(), units.end(), text) != units.end();
}

}  // namespace

bool is_unit(std::string_view text) {
  if (is_gauge(text)) return true;
  while (!is_listed(text)) {
    const std::size_t cut = text.find_first_of("./");
    if (cut == std::string_view::npos || !is_listed(text.substr(0, cut))) return false;
    text.remove_prefix(cut + 1);
  }
  return true;
}

std::string near_unit(std::string_view text) {
  return engine::nearest_unit(text, engine::UnitSet::Rule);
}

}  // namespace meniscus::grammar
