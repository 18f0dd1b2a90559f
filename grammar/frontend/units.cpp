// Units by the engine's closed list, asked piece by piece: `mg/kg`, `mPa.s`.
#include "grammar/frontend/units.hpp"

#include <algorithm>
#include <array>

#include "engine/quantity/quantity.hpp"

namespace meniscus::grammar {
namespace {

/// Gauges are a type of their own, so the engine's list of units does not have them.
bool is_gauge(std::string_view text) { return text == "G" || text == "gauge"; }

bool is_listed(std::string_view text) {
  const auto units = engine::rule_units();
  return std::find(units.begin(), units.end(), text) != units.end();
}

struct Habit {
  std::string_view written, unit;
};
/// What people are used to write.  For these the nearest spelling would be another unit.
constexpr auto kHabits = std::to_array<Habit>({
    {"ug", "mcg"},
    {"mcgs", "mcg"},
    {"mgs", "mg"},
    {"gm", "g"},
    {"gms", "g"},
    {"cc", "mL"},
    {"ccs", "mL"},
    {"iu", "units"},
    {"U", "units"},
    {"u", "units"},
});

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
  const auto* habit = std::find_if(kHabits.begin(), kHabits.end(),
                                   [text](const Habit& h) { return h.written == text; });
  if (habit != kHabits.end()) return std::string(habit->unit);
  return engine::nearest_unit(text, engine::UnitSet::Rule);
}

}  // namespace meniscus::grammar
