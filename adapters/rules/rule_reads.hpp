// What a rule reads, through lets, defines, look-ups and queries alike; and settings as people
// write them.
#pragma once

#include <cstdint>
#include <set>
#include <string>
#include <string_view>

#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// Indices of Program::settings and Program::tables.
struct RuleReads {
  std::set<std::uint32_t> settings;
  std::set<std::uint32_t> tables;
};
RuleReads reads_of(const engine::Program& program, const engine::Rule& rule);

/// "20 %", "1.5 mL", "unset".
std::string setting_text(const engine::Setting& setting);
/// "10 % to 25 %"; empty where the setting has no range.
std::string range_text(const engine::Setting& setting, std::string_view link = " to ");

}  // namespace meniscus::adapters
