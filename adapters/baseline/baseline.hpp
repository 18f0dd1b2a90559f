// Findings that are known and not to be shown again: JSON Lines, one finding a line, sorted.
//
// Line:
// {"file":"a.csv","rule":"dose-range","clause":2,"fields":["dose"],"order":"9c...","grade":"clarify"}
//           what the fingerprint rests on (report/finding_key.hpp), and the grade.  No value, no
//           line number, no patient; the order's number is hashed.
// Hides:    a finding of the same fingerprint whose grade is not above that of the line.
// Never:    a hold.  None is written; one that somebody adds by hand hides nothing and is counted.
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/report/finding_key.hpp"
#include "adapters/support/input_problem.hpp"
#include "engine/base/result.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

class Baseline {
 public:
  struct Entry {
    FindingKey key;
    engine::Grade grade{};
  };

  /// False, and nothing is added: a hold, or an order without a number.
  bool add(const FindingKey& key, engine::Grade grade);
  [[nodiscard]] bool hides(const FindingKey& key, engine::Grade grade) const;
  [[nodiscard]] std::size_t size() const { return entries_.size(); }
  /// By fingerprint.
  [[nodiscard]] const std::map<std::string, Entry>& entries() const { return entries_; }
  /// As it stands in a file: sorted by file, rule, clause, fields, order.
  [[nodiscard]] std::string text() const;

 private:
  std::map<std::string, Entry> entries_;
};

struct ReadBaseline {
  Baseline baseline;
  std::size_t holds = 0;  // lines that hide nothing
  std::vector<InputProblem> problems;
};
ReadBaseline read_baseline(std::string_view text);
/// Errors: Input, when the file cannot be read.
engine::Result<ReadBaseline> read_baseline_file(const std::string& path);
/// Replaces the file as a whole, or leaves it as it was.  Errors: Input.
engine::Status write_baseline_file(const std::string& path, const Baseline& baseline);

}  // namespace meniscus::adapters
