// `meniscus rules page`: the rule set in words, as Markdown (contract: rules_command.hpp).
#include <filesystem>
#include <string>
#include <vector>

#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/report/local_changes.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/rules/rule_page.hpp"

namespace meniscus::adapters {

namespace {
/// `path` below the folder `root`, or its last part where `root` is the file itself.
std::string name_below(const std::string& path, const std::string& root) {
  const std::string folder = root.ends_with('/') ? root : root + "/";
  if (path.starts_with(folder)) return path.substr(folder.size());
  return std::filesystem::path(path).filename().string();
}
}  // namespace

ExitStatus run_rules_page(const Arguments& arguments, const Console& console) {
  const auto program = load_rule_set(arguments, console);
  const auto roots = rule_paths(arguments, console);
  if (program == nullptr || !roots) return ExitStatus::Usage;
  std::vector<RuleFile> files;
  for (const std::string& root : *roots) {
    const auto paths = rule_files_at(root);
    if (!paths) continue;
    for (const std::string& path : *paths) {
      auto text = read_file(path);
      if (!text) {
        console.complain(text.error().message);
        return ExitStatus::Unread;
      }
      files.push_back({name_below(path, root), path, std::move(*text)});
    }
  }
  std::string page = rule_page(*program, files);
  if (!program->changes.empty()) page += "\n## Local changes\n\n";
  for (const engine::LocalChange& change : program->changes)
    page += "- " + change_sentence(change) + "\n";
  console.say(page);
  return ExitStatus::Clean;
}

}  // namespace meniscus::adapters
