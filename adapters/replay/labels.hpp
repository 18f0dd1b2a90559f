// Whether rules are right: orders drawn from a replay, read by people, and what their answers say.
//
//   sample.csv        for the readers: a row an order and rule, fired and silent ones mixed,
//   without
//                     saying which; they write yes, no or unsure into `label`
//   sample.csv.key    not for them: the counts of the replay, and which rows had fired
//   replay labels     puts them together
//
// Question: would this rule be right to speak about this order?
// Settled:  a row counts where every reader who labelled it gave the same label, yes or no.
// Shares:   with 95 % intervals after Wilson ("Probable inference, the law of succession, and
//           statistical inference", 1927); agreement of two readers by Cohen's kappa ("A
//           coefficient of agreement for nominal scales", 1960).
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/replay/summary.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters::replay {

/// The table for the readers, RFC 4180.  `show_patients`: their ids as they are.
std::string sample_csv(const Summary& summary, bool show_patients);

/// Reads what one reader sent back and adds it; call once a reader.  Errors: Input, one sentence
/// that names the line: an unknown sample, a label that is none of yes, no, unsure, a row twice.
class Labels {
 public:
  explicit Labels(const Summary& key);
  engine::Status add(std::string_view csv);
  /// Puts what the labels say into the summary's head.
  void settle(Summary& summary) const;

 private:
  enum class Label : std::uint8_t { None, Yes, No, Unsure };
  struct Row {
    std::string id;
    std::size_t rule = 0;
    bool fired = false;
    std::vector<Label> labels;  // by reader
    [[nodiscard]] std::optional<Label> agreed() const;
  };
  using Pairs = std::array<std::array<Count, 3>, 3>;  // [first reader][second]
  static void compare(const Row& row, Pairs& both, RuleLabels& out);
  static std::optional<Label> label_named(std::string_view text);
  [[nodiscard]] RuleLabels of_rule(std::size_t rule, const RuleTally& tally) const;

  std::vector<Row> rows_;  // by id
  std::size_t readers_ = 0;
};

/// Value, lower and upper end; without orders, none.  Source: Wilson 1927.
std::optional<Share> wilson(Count part, Count all);

/// Cohen's kappa of a square table of counts [first reader][second]; none where chance alone would
/// agree on everything.
std::optional<double> kappa(const std::array<std::array<Count, 3>, 3>& counts);

}  // namespace meniscus::adapters::replay
