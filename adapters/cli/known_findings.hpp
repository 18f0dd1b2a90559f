// What `check` does with a baseline: hides what is known (--baseline), writes what is found
// (--write-baseline).  A run that writes one hides what it writes: it shows what the next run with
// this baseline will show.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/baseline/baseline.hpp"
#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

class KnownFindings {
 public:
  /// None, and said: the baseline cannot be read or has mistakes.
  static std::optional<KnownFindings> load(const Arguments& arguments, const Console& console);

  void begin_input(std::string_view name);
  /// The verdict without what is hidden; it lives until the next call.
  const engine::Verdict& shown(const engine::Verdict& verdict);
  /// What is to be said at the end of the run; writes the baseline, unless `all_opened` is false.
  /// Errors: Input, when it could not be written.
  engine::Status finish(bool all_opened, std::vector<std::string>& say);

 private:
  [[nodiscard]] bool is_used() const { return !read_from_.empty() || !write_to_.empty(); }
  bool is_known(const engine::Finding& finding, std::string_view order);

  std::string read_from_;
  std::string write_to_;
  ReadBaseline known_;
  Baseline found_;
  std::filesystem::path named_from_;  // what stands before names of inputs; empty: nothing
  std::string file_;
  engine::Verdict copy_;
  std::size_t hidden_ = 0;         // findings
  std::size_t hidden_orders_ = 0;  // orders of theirs
  std::size_t holds_ = 0;          // found, and not written
  std::size_t unnumbered_ = 0;     // findings of orders without a number, not written
};

/// Reads a baseline; what is wrong in it is said.
std::optional<ReadBaseline> load_baseline(const std::string& path, const Console& console);

}  // namespace meniscus::adapters
