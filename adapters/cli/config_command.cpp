// Contract: see config_command.hpp.
#include "adapters/cli/config_command.hpp"

#include <algorithm>
#include <string>

#include "adapters/config/settings.hpp"
#include "adapters/rules/rule_files.hpp"
#include "engine/base/utf8.hpp"

namespace meniscus::adapters {

namespace {
constexpr std::size_t kNameWidth = 13;
constexpr std::size_t kMostValueWidth = 40;

void append_padded(std::string& out, std::string_view text, std::size_t width) {
  append_plain(out, text);
  const std::size_t used = engine::count_characters(text);
  out.append(used < width ? width - used : 1, ' ');
}
}  // namespace

ExitStatus run_config(const Arguments& arguments, const Console& console) {
  std::size_t width = 0;
  for (const SettingShown& setting : arguments.settings)
    width = std::max(width, engine::count_characters(setting.value) + 2);
  width = std::min(width, kMostValueWidth);
  std::string out;
  for (const SettingShown& setting : arguments.settings) {
    append_padded(out, setting.name, kNameWidth);
    append_padded(out, setting.value.empty() ? "-" : setting.value, width);
    append_plain(out, setting.from);
    out += '\n';
  }
  const Shipped shipped = find_shipped_rules(console.program, console.rules_path.c_str());
  out += shipped.path.empty() ? "The shipped rules are not there" : "The shipped rules: ";
  append_plain(out, shipped.path);
  out += console.rules_path.empty() ? ".\n" : " (MENISCUS_RULES).\n";
  const auto file = find_config(console.folder);
  if (!file) out += "There is no " + std::string(kConfigName) + " for this folder.\n";
  console.say(out);
  return ExitStatus::Clean;
}

}  // namespace meniscus::adapters
