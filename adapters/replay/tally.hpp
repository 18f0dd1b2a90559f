// What a replay counts.  Plain data that adds up: the sum over partitions, shards or ranks is what
// one run over everything gives, to the last count and example.
//
// Examples: those with the smallest keys, and a key depends on nothing but the order and the seed;
//           so whoever draws from a part and then from the parts' draws gets the same orders.
// Months:   by slot; Tally::months says which month a slot is.  Orders without a date are in the
//           totals and in no month.
#pragma once

#include <array>
#include <compare>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters::replay {

using Count = std::uint64_t;

/// Months since year 0.
using Month = std::int32_t;
Month month_of(std::int64_t day);
/// "2025-01".
std::string month_text(Month month);
std::optional<Month> month_named(std::string_view text);

inline constexpr std::size_t kOutcomes = 6;  // Clear to Hold

/// A finding as an example shows it.
struct Found {
  std::string rule;
  engine::Grade grade{};
  std::string say;
  std::string ask;
  std::vector<std::pair<std::string, std::string>> fields;  // name, as written
  friend bool operator==(const Found&, const Found&) = default;
};

/// What one set of rules said of the order.
struct Said {
  engine::Outcome outcome{};
  std::vector<Found> found;
  friend bool operator==(const Said&, const Said&) = default;
};

struct Example {
  std::uint64_t key = 0;
  std::string order;
  std::string patient;
  std::int64_t day = 0;  // judged as of, since 1970-01-01
  std::string file;
  std::uint64_t line = 0;
  std::vector<Said> said;                                   // by side
  std::vector<std::pair<std::string, std::string>> fields;  // of a drawn order, as written
  friend bool operator==(const Example&, const Example&) = default;
};

/// The orders with the smallest keys, at most `most` of them, by key.
class Examples {
 public:
  /// None are kept until it is said how many, so that an empty sum takes the number of its parts.
  explicit Examples(std::size_t most = 0) : most_(most) {}
  [[nodiscard]] bool wants(std::uint64_t key) const {
    return orders_.size() < most_ || (most_ > 0 && key < orders_.back().key);
  }
  void add(Example example);
  void merge(const Examples& other);
  [[nodiscard]] const std::vector<Example>& orders() const { return orders_; }
  [[nodiscard]] std::size_t most() const { return most_; }

 private:
  std::size_t most_;
  std::vector<Example> orders_;
};

struct RuleMonth {
  Count concerned = 0;
  Count fired = 0;
  Count not_assessed = 0;
  Count muted = 0;
};

struct RuleTally {
  Count concerned = 0;
  Count fired = 0;
  Count not_assessed = 0;
  Count muted = 0;
  Count trial_found = 0;
  Count answered = 0;
  Count changed_after = 0;
  std::vector<Count> clauses;
  std::vector<Count> withouts;
  std::map<std::string, Count> missing;
  std::vector<RuleMonth> months;
  Examples examples;
  Examples drawn_fired;   // for readers: orders that it found something in,
  Examples drawn_silent;  // and orders that it was decided on and silent about
};

struct OutcomeMonth {
  Count judged = 0;
  Count stopped = 0;
  std::array<Count, kOutcomes> outcomes{};
};

/// What one set of rules found.
struct SideTally {
  std::array<Count, kOutcomes> outcomes{};
  Count stopped = 0;
  std::array<Count, 4> findings_per_order{};  // none, one, two, three or more
  std::array<Count, 4> groups_per_order{};
  std::vector<OutcomeMonth> months;
  std::map<std::pair<std::uint16_t, std::uint16_t>, Count> pairs;  // rules, the smaller first
  std::vector<RuleTally> rules;  // those of the program, then the built-in ones
  /// What no order of some feed or input ever carries, and the rules that want it.
  std::map<std::string, std::set<std::uint16_t>> never_assessed;
};

/// How what two sets of rules say of an order differs.
enum class Shift : std::uint8_t {
  Same,
  NewlyStopped,
  NoLongerStopped,
  Graver,
  Milder,
  OtherReason  // the same outcome from other findings
};
inline constexpr std::size_t kShifts = 6;
std::string_view name(Shift shift);

struct RuleShift {
  Count same = 0;  // found by both in the same grade
  Count newly = 0;
  Count gone = 0;
  Count graver = 0;
  Count milder = 0;
  Examples examples;  // of all but `same`
};

struct ComparisonTally {
  std::array<Count, kShifts> shifts{};  // of the orders that both judged
  Count outside_of_one = 0;             // orders that are no injection's to one of the two
  std::vector<std::array<Count, kShifts>> months;
  std::array<std::array<Count, kOutcomes>, kOutcomes> outcomes{};  // [before][after]
  std::array<Examples, kShifts> examples;
  std::vector<RuleShift> rules;  // Plan::all_rules
};

/// A record that could not be read.
struct Unread {
  std::uint32_t file = 0;  // which input
  std::uint64_t line = 0;
  std::string why;
  // NOLINTNEXTLINE(modernize-use-nullptr): clang-tidy 14 takes <=> for a comparison with 0
  friend auto operator<=>(const Unread&, const Unread&) = default;
};

struct InputTally {
  static constexpr std::size_t kUnreadKept = 20;

  Count judged = 0;
  Count recorded = 0;
  Count outside = 0;
  Count unreadable = 0;
  Count repeated = 0;
  Count merges = 0;
  Count warm_up = 0;
  Count undated = 0;                 // of all these
  Count patients = 0;                // different ids
  std::optional<std::int64_t> from;  // days, of the judged orders
  std::optional<std::int64_t> to;
  std::set<Unread> unread;  // the first of them, in the order of the inputs

  void add_unread(Unread record);
  [[nodiscard]] Count records() const {
    return judged + recorded + outside + unreadable + repeated + merges + warm_up;
  }
};

struct Tally {
  std::vector<Month> months;  // by slot
  InputTally input;
  std::vector<SideTally> sides;
  std::optional<ComparisonTally> comparison;

  std::size_t slot(Month month);
  /// Adds what another part counted, with the same sets of rules.
  void merge(const Tally& other);
};

}  // namespace meniscus::adapters::replay
