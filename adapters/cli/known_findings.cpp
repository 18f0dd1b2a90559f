// Contract: see known_findings.hpp.
#include "adapters/cli/known_findings.hpp"

#include <algorithm>
#include <utility>

#include "adapters/baseline/hide_known.hpp"
#include "adapters/cli/counted.hpp"
#include "adapters/config/settings.hpp"

namespace meniscus::adapters {

std::optional<ReadBaseline> load_baseline(const std::string& path, const Console& console) {
  auto read = read_baseline_file(path);
  if (!read) {
    console.complain(read.error().message);
    return std::nullopt;
  }
  std::string text;
  for (const InputProblem& problem : read->problems) {
    append_plain(text, describe(problem, path));
    text += '\n';
  }
  console.say_err(text);
  if (read->problems.empty()) return std::move(*read);
  console.complain("the baseline has mistakes; nothing was judged");
  return std::nullopt;
}

namespace {
/// From the folder of a meniscus.json that names the baseline to the working folder: `sub/deep`.
/// Empty: they are one, or the baseline was named in another way.
std::filesystem::path working_folder_from_config(const Arguments& arguments,
                                                 const Console& console) {
  const auto setting = std::ranges::find(arguments.settings, "baseline", &SettingShown::name);
  if (setting == arguments.settings.end() || console.folder.empty()) return {};
  const std::size_t end = setting->from.find(std::string(kConfigName) + ":");
  if (end == std::string::npos) return {};
  const auto config = (console.folder / setting->from.substr(0, end)).lexically_normal();
  const auto below = console.folder.lexically_relative(config);
  return below == "." ? std::filesystem::path() : below;
}
}  // namespace

std::optional<KnownFindings> KnownFindings::load(const Arguments& arguments,
                                                 const Console& console) {
  KnownFindings findings;
  findings.read_from_ = arguments.baseline;
  findings.write_to_ = arguments.write_baseline;
  if (arguments.baseline.empty()) return findings;
  findings.named_from_ = working_folder_from_config(arguments, console);
  auto read = load_baseline(arguments.baseline, console);
  if (!read) return std::nullopt;
  findings.known_ = std::move(*read);
  return findings;
}

void KnownFindings::begin_input(std::string_view name) {
  file_ = settled_name(name);
  if (named_from_.empty() || file_ == "-" || file_.starts_with('/')) return;
  file_ = (named_from_ / file_).lexically_normal().generic_string();
}

const engine::Verdict& KnownFindings::shown(const engine::Verdict& verdict) {
  if (!is_used() || verdict.findings.empty()) return verdict;
  copy_ = verdict;
  const std::size_t hidden = hide_known(
      copy_, [&](const engine::Finding& finding) { return is_known(finding, verdict.order); });
  hidden_ += hidden;
  if (hidden > 0) ++hidden_orders_;
  return hidden > 0 ? copy_ : verdict;
}

bool KnownFindings::is_known(const engine::Finding& finding, std::string_view order) {
  const FindingKey key = key_of(finding, order, file_);
  if (write_to_.empty()) return known_.baseline.hides(key, finding.grade);
  if (found_.add(key, finding.grade)) return true;
  ++(finding.grade == engine::Grade::Hold ? holds_ : unnumbered_);
  return false;
}

engine::Status KnownFindings::finish(bool all_opened, std::vector<std::string>& say) {
  if (!is_used()) return engine::Done{};
  const std::string& name = write_to_.empty() ? read_from_ : write_to_;
  if (known_.holds > 0) {
    say.push_back(counted(known_.holds, "hold") + " in " + read_from_ +
                  " passed over: a hold is never hidden");
  }
  if (!write_to_.empty() && !all_opened) {
    say.push_back("the baseline " + name + " is not written, since an input could not be opened");
    return engine::Done{};
  }
  say.push_back(counted(hidden_, "finding") + " of " + counted(hidden_orders_, "order") +
                " hidden by the baseline " + name);
  if (write_to_.empty()) return engine::Done{};
  if (holds_ > 0) {
    say.push_back(counted(holds_, "hold") + " not written: a hold is never in a baseline");
  }
  if (unnumbered_ > 0) {
    say.push_back(counted(unnumbered_, "finding") + " of orders without a number not written");
  }
  return write_baseline_file(write_to_, found_);
}

}  // namespace meniscus::adapters
