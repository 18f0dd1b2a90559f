// Contract: see settings.hpp.
#include "adapters/config/settings.hpp"

#include <algorithm>
#include <array>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <set>
#include <system_error>
#include <utility>

#include "adapters/support/json_scan.hpp"

namespace meniscus::adapters {

namespace {
using Json = nlohmann::json;

// `rules` has no variable: MENISCUS_RULES names the folder of the shipped rules.
constexpr std::array kSettings = {
    SettingInfo{"from", "MENISCUS_FROM", SettingKind::Text, "auto"},
    SettingInfo{"to", "MENISCUS_TO", SettingKind::Text, "text"},
    SettingInfo{"fail-at", "MENISCUS_FAIL_AT", SettingKind::Text, "incomplete"},
    SettingInfo{"as-of", "MENISCUS_AS_OF", SettingKind::Text, ""},
    SettingInfo{"rules", "", SettingKind::Paths, ""},
    SettingInfo{"only-rules", "MENISCUS_ONLY_RULES", SettingKind::YesNo, "no"},
    SettingInfo{"rules-as-of", "MENISCUS_RULES_AS_OF", SettingKind::Text, ""},
    SettingInfo{"profile", "MENISCUS_PROFILE", SettingKind::Path, ""},
    SettingInfo{"answers", "MENISCUS_ANSWERS", SettingKind::Path, ""},
    SettingInfo{"baseline", "MENISCUS_BASELINE", SettingKind::Path, ""},
    SettingInfo{"slips", "MENISCUS_SLIPS", SettingKind::YesNo, "yes"},
    SettingInfo{"log", "MENISCUS_LOG", SettingKind::Text, "warn"}};

/// Options of `check` that are no settings.
constexpr std::array<std::string_view, 5> kAskedFor = {"on-hold", "history", "history-since",
                                                       "allow-mute-hold", "write-baseline"};

const SettingInfo* setting_named(std::string_view name) {
  const auto* const found =
      std::find_if(kSettings.begin(), kSettings.end(),
                   [name](const SettingInfo& setting) { return setting.name == name; });
  return found == kSettings.end() ? nullptr : found;
}

std::string unknown_setting(const std::string& key) {
  if (std::find(kAskedFor.begin(), kAskedFor.end(), key) != kAskedFor.end())
    return "`" + key + "` is no setting: write it on the command line";
  std::vector<std::string_view> known;
  known.reserve(kSettings.size());
  for (const SettingInfo& setting : kSettings)
    known.push_back(setting.name);
  return unknown_key(key, known);
}

class ConfigReader {
 public:
  ConfigReader(std::string_view text, const std::string& name, const std::filesystem::path& folder)
      : text_(text), name_(name), folder_(folder) {}

  ReadConfig run() {
    if (const auto problem = json_problem(text_)) {
      say(problem->offset, "this is no JSON: " + problem->message, "");
      return std::move(read_);
    }
    std::vector<std::string> keys;
    const Json root = Json::parse(text_, keep_keys(keys), false);
    if (!root.is_object()) {
      say(0, std::string(kConfigName) + " holds an object", "");
      return std::move(read_);
    }
    for (const std::string& key : keys) {
      if (std::count(keys.begin(), keys.end(), key) > 1) twice_.insert(key);
    }
    for (const auto& [key, value] : root.items())
      member(key, value);
    std::stable_sort(read_.problems.begin(), read_.problems.end(),
                     [](const auto& a, const auto& b) {
                       return std::pair(a.line, a.column) < std::pair(b.line, b.column);
                     });
    return std::move(read_);
  }

 private:
  /// Hands over the keys of the outermost object, doubled ones too.
  static Json::parser_callback_t keep_keys(std::vector<std::string>& keys) {
    return [&keys](int depth, Json::parse_event_t event, Json& parsed) {
      if (depth == 1 && event == Json::parse_event_t::key)
        keys.push_back(parsed.get<std::string>());
      return true;
    };
  }

  void say(std::size_t offset, std::string message, std::string at) {
    read_.problems.push_back(problem_at(text_, offset, std::move(message), std::move(at)));
  }

  void member(const std::string& key, const Json& value) {
    if (key == "$schema" || key.starts_with("_")) return;
    const std::string at = "/" + pointer_step(key);
    const std::size_t offset = json_offset_of(text_, at).value_or(0);
    const SettingInfo* const setting = setting_named(key);
    if (setting == nullptr) return say(offset, unknown_setting(key), at);
    if (twice_.contains(key)) return say(offset, "`" + key + "` stands here twice", at);
    Given given;
    if (const std::string wrong = take(*setting, value, given); !wrong.empty())
      return say(offset, wrong, at);
    const InputProblem place = problem_at(text_, offset, "", "");
    given.from = name_ + ":" + std::to_string(place.line) + ":" + std::to_string(place.column);
    read_.given[key] = std::move(given);
  }

  /// What is wrong with the value; empty when nothing is.
  std::string take(const SettingInfo& setting, const Json& value, Given& given) const {
    switch (setting.kind) {
      case SettingKind::YesNo:
        if (!value.is_boolean()) return "true or false is needed";
        given.values = {value.get<bool>() ? "yes" : "no"};
        return {};
      case SettingKind::Text:
      case SettingKind::Path:
        if (!is_text(value)) return "text in quotes is needed";
        given.values = {setting.kind == SettingKind::Path ? path(value.get<std::string>())
                                                          : value.get<std::string>()};
        return {};
      case SettingKind::Paths:
        break;
    }
    if (!value.is_array() || !std::all_of(value.begin(), value.end(), is_text))
      return "a list of texts in quotes is needed";
    for (const Json& item : value)
      given.values.push_back(path(item.get<std::string>()));
    return {};
  }

  static bool is_text(const Json& value) {
    return value.is_string() && !value.get_ref<const std::string&>().empty();
  }

  [[nodiscard]] std::string path(const std::string& written) const {
    if (folder_.empty()) return written;
    return (folder_ / written).lexically_normal().generic_string();
  }

  std::string_view text_;
  const std::string& name_;
  const std::filesystem::path& folder_;
  std::set<std::string> twice_;
  ReadConfig read_;
};

/// `yes` or `no`; empty for what is neither.
std::string yes_or_no(std::string_view text) {
  if (text == "yes" || text == "true" || text == "1") return "yes";
  if (text == "no" || text == "false" || text == "0") return "no";
  return {};
}

void append_mistake(std::string& mistakes, std::string_view mistake) {
  if (!mistakes.empty()) mistakes += '\n';
  mistakes += mistake;
}

/// Puts what the environment says over what `given` holds.
void take_variables(const Surroundings& around, GivenSettings& given, std::string& mistakes) {
  if (!around.variable) return;
  for (const SettingInfo& setting : kSettings) {
    if (setting.variable.empty()) continue;
    const std::string variable(setting.variable);
    std::string value = around.variable(variable);
    if (value.empty()) continue;
    if (setting.kind == SettingKind::YesNo) {
      value = yes_or_no(value);
      if (value.empty()) {
        append_mistake(mistakes, variable + " is neither yes nor no");
        continue;
      }
    }
    given[std::string(setting.name)] = {{value}, variable};
  }
}

/// The file as places name it, and what its paths start from.
void take_file(const std::filesystem::path& path, const std::filesystem::path& here,
               GivenSettings& given, std::string& mistakes) {
  const std::filesystem::path shown = path.lexically_relative(here);
  const std::string name = (shown.empty() ? path : shown).generic_string();
  std::ifstream in(path, std::ios::binary);
  const std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
  if (!in || in.bad()) return append_mistake(mistakes, "cannot read " + name);
  ReadConfig read = read_config(text, name, std::filesystem::path(name).parent_path());
  for (const InputProblem& problem : read.problems)
    append_mistake(mistakes, describe(problem, name));
  given = std::move(read.given);
}
}  // namespace

std::span<const SettingInfo> settings() { return kSettings; }

ReadConfig read_config(std::string_view text, const std::string& name,
                       const std::filesystem::path& folder) {
  return ConfigReader(text, name, folder).run();
}

std::optional<std::filesystem::path> find_config(const std::filesystem::path& folder) {
  std::error_code problem;
  for (std::filesystem::path at = folder; !at.empty(); at = at.parent_path()) {
    std::filesystem::path file = at / kConfigName;
    if (std::filesystem::is_regular_file(file, problem)) return file;
    // A worktree has a file of that name.
    if (std::filesystem::exists(at / ".git", problem) || at == at.parent_path()) break;
  }
  return std::nullopt;
}

engine::Result<GivenSettings> outer_settings(const Surroundings& around) {
  GivenSettings given;
  std::string mistakes;
  if (!around.folder.empty()) {
    if (const auto file = find_config(around.folder))
      take_file(*file, around.folder, given, mistakes);
  }
  take_variables(around, given, mistakes);
  if (mistakes.empty()) return given;
  return engine::Error{engine::Errc::Usage, mistakes, 0, 0};
}

}  // namespace meniscus::adapters
