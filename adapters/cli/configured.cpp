// Contract: see configured.hpp.
#include "adapters/cli/configured.hpp"

#include <algorithm>
#include <string_view>

namespace meniscus::adapters {

namespace {
using engine::Errc;
using engine::Error;
using engine::Result;

/// A flag that sets it stands on the command line.
bool is_flagged(const std::vector<std::string>& words, std::string_view name) {
  const std::string flag = name == "slips" ? "--no-slips" : "--" + std::string(name);
  return std::any_of(words.begin(), words.end(), [&flag](const std::string& word) {
    return word == flag || word.starts_with(flag + "=");
  });
}

/// What would be written on the command line for it.
std::vector<std::string> words_for(const SettingInfo& setting, const Given& given) {
  const std::string option = "--" + std::string(setting.name);
  if (setting.kind == SettingKind::YesNo) {
    if (given.values.front() == setting.by_default) return {};
    return {setting.name == "slips" ? "--no-slips" : option};
  }
  std::vector<std::string> words;
  for (const std::string& value : given.values)
    words.push_back(std::string(option).append("=").append(value));
  return words;
}

std::string joined(const std::vector<std::string>& values) {
  std::string text;
  for (const std::string& value : values)
    text.append(text.empty() ? "" : ", ").append(value);
  return text;
}

/// Lays the settings from outside under the words of the command line, one after another.
class Layers {
 public:
  Layers(const std::vector<std::string>& words, Arguments first)
      : flags_(words), words_(words), arguments_(std::move(first)) {}

  Result<Arguments> lay(const GivenSettings& outer) {
    for (const SettingInfo& setting : settings()) {
      const auto given = outer.find(setting.name);
      if (is_flagged(flags_, setting.name)) {
        show(setting, flagged_value(setting), "the command line");
      } else if (given == outer.end()) {
        show(setting, std::string(setting.by_default), "default");
      } else if (const auto taken = take(setting, given->second); !taken) {
        return taken.error();
      }
    }
    arguments_.settings = std::move(shown_);
    return std::move(arguments_);
  }

 private:
  void show(const SettingInfo& setting, std::string value, std::string from) {
    shown_.push_back({std::string(setting.name), std::move(value), std::move(from)});
  }

  engine::Status take(const SettingInfo& setting, const Given& given) {
    if (setting.name == "baseline" && !is_data_check(arguments_.to)) {
      show(setting, "", given.from + ", not used with this --to");
      return engine::Done{};
    }
    std::vector<std::string> words = words_;
    for (std::string& word : words_for(setting, given))
      words.push_back(std::move(word));
    auto parsed = parse_arguments(words);
    if (!parsed) return Error{Errc::Usage, given.from + ": " + parsed.error().message, 0, 0};
    if (parsed->to == ToFormat::Fhir) {  // --to=hl7 alone is no command line: it needs --on-hold
      return Error{Errc::Usage,
                   given.from + ": answers are asked for on the command line: --to fhir", 0, 0};
    }
    arguments_ = std::move(*parsed);
    words_ = std::move(words);
    show(setting, joined(given.values), given.from);
    return engine::Done{};
  }

  /// As it was understood.
  [[nodiscard]] std::string flagged_value(const SettingInfo& setting) const {
    if (setting.kind == SettingKind::YesNo) return setting.name == "slips" ? "no" : "yes";
    if (setting.kind == SettingKind::Paths) return joined(arguments_.rules);
    const std::string flag = "--" + std::string(setting.name);
    for (auto word = flags_.begin(); word != flags_.end(); ++word) {
      if (word->starts_with(flag + "=")) return word->substr(flag.size() + 1);
      if (*word == flag && word + 1 != flags_.end()) return *(word + 1);
    }
    return {};
  }

  const std::vector<std::string>& flags_;
  std::vector<std::string> words_;
  Arguments arguments_;
  std::vector<SettingShown> shown_;
};
}  // namespace

Result<Arguments> parse_configured(const std::vector<std::string>& words,
                                   const Surroundings& around) {
  auto first = parse_arguments(words);
  if (!first) return first;
  const bool takes = first->command == Command::Check || first->command == Command::Config;
  const bool answers = first->to == ToFormat::Hl7 || first->to == ToFormat::Fhir;
  if (!takes) return first;
  GivenSettings outer;
  if (!first->no_config && !answers) {
    auto given = outer_settings(around);
    if (!given) return given.error();
    outer = std::move(*given);
  }
  return Layers(words, std::move(*first)).lay(outer);
}

}  // namespace meniscus::adapters
