// What a replay has found, with all that is needed to show it: no rules have to be at hand.
//
// Part:    of a run over a shard of the patients.  Parts of one run add up to its summary.
// Private: examples of a part name patients as they are, so that parts can be put together; those
//          of a summary are numbered unless somebody asks for the ids.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/replay/plan.hpp"
#include "adapters/replay/record_reader.hpp"
#include "adapters/replay/tally.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters::replay {

struct RuleInfo {
  std::string name;
  std::string title;
  std::string cite;
  std::string owner;
  bool built_in = false;
  bool trial = false;
  std::vector<engine::Grade> clauses;
  std::vector<std::optional<engine::Grade>> withouts;  // none: it ignores
  friend bool operator==(const RuleInfo&, const RuleInfo&) = default;
};

struct ChangeInfo {
  std::string what;
  std::string because;
  std::string by;
  std::string until;
  bool over = false;
  friend bool operator==(const ChangeInfo&, const ChangeInfo&) = default;
};

/// A share with the ends of its 95 % interval.
struct Share {
  double value = 0;
  double lower = 0;
  double upper = 0;
};

/// What readers said of the orders that were drawn for a rule (labels.hpp).
struct RuleLabels {
  Count fired_read = 0;  // of those with a finding, that readers settled
  Count fired_right = 0;
  std::optional<Share> ppv;  // positive predictive value
  Count silent_read = 0;
  Count silent_missed = 0;                // in which the rule should have spoken
  std::optional<Share> missed_share;      // of the silent orders
  std::optional<Share> missed_of_wanted;  // of all orders in which it should have spoken
  Count unsettled = 0;
  Count both_read = 0;
  Count agreed = 0;
  std::optional<double> kappa;
};

struct SideInfo {
  std::string name;  // rules; of two: before, after
  std::string hash;
  std::int64_t rules_day = 0;
  std::vector<ChangeInfo> changes;
  std::vector<RuleInfo> rules;  // those of the program, then the built-in ones
  friend bool operator==(const SideInfo&, const SideInfo&) = default;
};

/// All but the counts: the same for all parts of a run.
struct SummaryHead {
  std::string made_by;
  engine::Outcome fail_at{};
  std::uint64_t seed = 1;
  double often = 0.1;  // a rule that fires on a larger share of the judged orders is said
  std::vector<std::string> files;
  std::optional<std::int64_t> since;  // day; none: all is known
  std::vector<std::string> unopened;
  std::vector<SideInfo> sides;
  std::vector<std::string> all_rules;
  friend bool operator==(const SummaryHead&, const SummaryHead&) = default;
};

struct Summary {
  SummaryHead head;
  std::vector<RuleLabels> labels;  // by rule of the last side; empty: nobody has read any
  Shard shard;
  Tally tally;
};

SideInfo side_info(std::string name, const engine::Program& program);

/// `show_patients`: their ids as they are.
std::string summary_json(const Summary& summary, bool show_patients);

/// A part as text that read_part() reads.
std::string part_json(const Summary& part);
/// Errors: Input, a sentence.
engine::Result<Summary> read_part(std::string_view text);

/// The counts alone, for a run that goes on later; none where the text is no such.
std::string tally_json(const Tally& tally);
std::optional<Tally> read_tally(std::string_view text);

/// The parts of one run, in any order, put together.  Errors: Usage, when they are of different
/// runs, or some are missing or there twice.
engine::Result<Summary> merge_parts(std::span<const Summary> parts);

}  // namespace meniscus::adapters::replay
