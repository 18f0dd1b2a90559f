// Contract: see baseline_command.hpp.
#include "adapters/cli/baseline_command.hpp"

#include <algorithm>
#include <set>
#include <string>
#include <vector>

#include "adapters/baseline/baseline.hpp"
#include "adapters/cli/counted.hpp"
#include "adapters/cli/judged_orders.hpp"
#include "adapters/cli/known_findings.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rule_set.hpp"

namespace meniscus::adapters {

namespace {
/// What is left of a baseline, and what went.
struct Pruned {
  Baseline left;
  std::size_t gone = 0;
  std::size_t elsewhere = 0;  // of inputs that were not looked at
};

Pruned prune(const Baseline& known, const std::set<std::string>& occurring,
             const std::vector<std::string>& files) {
  Pruned pruned;
  for (const auto& [fingerprint, entry] : known.entries()) {
    const bool looked_at = std::find(files.begin(), files.end(), entry.key.file) != files.end();
    if (looked_at && !occurring.contains(fingerprint)) {
      ++pruned.gone;
      continue;
    }
    if (!looked_at) ++pruned.elsewhere;
    static_cast<void>(pruned.left.add(entry.key, entry.grade));
  }
  return pruned;
}

std::string summary(const Pruned& pruned, const std::string& path) {
  std::string text = path + ": " + std::to_string(pruned.gone) + " gone, " +
                     std::to_string(pruned.left.size()) + " left";
  if (pruned.elsewhere > 0)
    text += ", " + std::to_string(pruned.elsewhere) + " of these of inputs that were not named";
  return text + "\n";
}
}  // namespace

ExitStatus run_baseline_prune(const Arguments& arguments, const Console& console) {
  const std::string& path = arguments.files.front();
  const auto known = load_baseline(path, console);
  if (!known) return ExitStatus::Usage;
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  const auto feed = load_feed(arguments.profile, *program, console);
  if (!feed) return ExitStatus::Usage;
  std::vector<std::string> files;
  for (const std::string& name : arguments.orders)
    files.push_back(settled_name(name));
  std::set<std::string> occurring;
  const JudgeAll judge{arguments, console, program, *feed};
  const ExitStatus status = judge.run(arguments.orders, [&](const JudgedOrder& order) {
    if (order.verdict.findings.empty()) return;
    const std::string file =
        settled_name(order.source.record_place(order.block, order.verdict.lane).file);
    for (const engine::Finding& finding : order.verdict.findings)
      occurring.insert(key_of(finding, order.verdict.order, file).fingerprint());
  });
  if (status != ExitStatus::Clean) {
    console.complain("not all orders could be read; " + path + " stays as it is");
    return status;
  }
  const Pruned pruned = prune(known->baseline, occurring, files);
  const engine::Status written = write_baseline_file(path, pruned.left);
  if (!written) {
    console.complain(written.error().message);
    return ExitStatus::Internal;
  }
  console.say(summary(pruned, path));
  return ExitStatus::Clean;
}

}  // namespace meniscus::adapters
