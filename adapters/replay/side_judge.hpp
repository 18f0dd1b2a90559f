// One set of rules over the records of one partition: verdicts, and what is counted of them.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "adapters/replay/generations.hpp"
#include "adapters/replay/plan.hpp"
#include "adapters/replay/record_image.hpp"
#include "adapters/replay/tally.hpp"
#include "engine/eval/checker.hpp"
#include "engine/history/history.hpp"

namespace meniscus::adapters::replay {

inline constexpr std::size_t kNoSlot = static_cast<std::size_t>(-1);

/// What is known of the lanes of a block beside their fields.
struct LaneNote {
  std::size_t slot = kNoSlot;  // of its month
  std::uint64_t key = 0;       // for drawing examples
  std::uint32_t file = 0;
  std::uint64_t line = 0;
  std::int64_t day = 0;     // on which it was received, since 1970-01-01
  std::uint64_t order = 0;  // the patient's order number, hashed; 0: it has none
  bool judged = false;      // a new or changed order, as far as it is an injection's
  bool changes = false;     // or ends an earlier one
};
using LaneNotes = std::array<LaneNote, engine::kLanes>;

/// What a side found in an order, for comparing.
struct LaneFound {
  struct Hit {
    std::uint32_t rule = 0;  // of Plan::all_rules
    std::uint16_t clause = 0;
    std::uint16_t without = 0;
    engine::Grade grade{};
    friend bool operator==(const Hit&, const Hit&) = default;
    // NOLINTNEXTLINE(modernize-use-nullptr): clang-tidy 14 takes <=> for a comparison with 0
    friend auto operator<=>(const Hit&, const Hit&) = default;
  };
  engine::Outcome outcome{};  // Outside where the side has not judged it
  std::vector<Hit> hits;      // sorted
  Said said;
  [[nodiscard]] bool judged() const { return outcome <= engine::Outcome::Hold; }
};

class SideJudge {
 public:
  SideJudge(const Plan& plan, std::size_t side, double since);

  /// Judges the block, or only remembers it; counts into `tally`.
  void judge(const engine::OrderBlock& block, const LaneNotes& notes,
             const engine::FieldSet& never_carries, SideTally& tally);
  void remember(const engine::OrderBlock& block, const engine::FieldSet& never_carries);

  /// Adds what is known at the end: what the feeds never carry.
  void finish(SideTally& tally) const;

  /// Of the last block, where two sides are compared: by lane.
  [[nodiscard]] const std::array<LaneFound, engine::kLanes>& found() const { return found_; }
  /// The order of a lane, without what was said of it.
  [[nodiscard]] Example example(const engine::OrderBlock& block, unsigned lane,
                                const LaneNote& note) const;

 private:
  struct OfFeed {
    engine::FieldSet never_carries;
    engine::Checker checker;
  };
  engine::Checker& checker_of(const engine::FieldSet& never_carries);
  void count(const engine::Verdict& verdict, const LaneNote& note, SideTally& tally);
  void count_changed(const LaneNote& note, SideTally& tally);
  std::uint32_t rule_set(const std::vector<std::uint16_t>& rules);
  void count_findings(const engine::Verdict& verdict, const LaneNote& note, SideTally& tally);
  void count_open(const engine::Verdict& verdict, const LaneNote& note, SideTally& tally);
  void count_hidden(const engine::Verdict& verdict, const LaneNote& note, SideTally& tally);
  void count_concerned(const engine::Checker& checker, const LaneNotes& notes, unsigned lanes,
                       SideTally& tally) const;
  void mark(std::vector<engine::Lanes>& lanes, std::uint16_t rule, unsigned lane) const;
  void draw(const engine::Checker& checker, const LaneNotes& notes, SideTally& tally) const;
  void draw_from(engine::Lanes lanes, std::uint64_t rule_key, const LaneNotes& notes,
                 Examples& into) const;
  void keep_for_comparison(const engine::Verdict& verdict);
  [[nodiscard]] std::uint16_t rule_number(std::string_view name) const;
  void add_example(Examples& examples, const engine::Verdict& verdict, const LaneNote& note) const;

  const Plan& plan_;
  const PlanSide& side_;
  engine::History history_;
  std::vector<std::unique_ptr<OfFeed>> feeds_;
  std::unordered_map<const char*, std::uint16_t> numbers_;  // by where a rule's name stands
  std::array<LaneFound, engine::kLanes> found_;
  const engine::OrderBlock* block_ = nullptr;  // being judged
  std::vector<std::uint16_t> fired_;           // rules of the order at hand
  std::vector<std::uint16_t> open_;
  // By rule, lanes of the block, where orders are drawn for readers:
  std::vector<engine::Lanes> fired_lanes_;
  std::vector<engine::Lanes> other_lanes_;  // not assessed, or found and hidden
  /// By order, the rules that found something in it, until a later record changes or ends it: the
  /// number of their set, since the same few sets come again and again.
  Generations<std::uint32_t> followed_;
  std::map<std::vector<std::uint16_t>, std::uint32_t> rule_sets_;
  std::vector<const std::vector<std::uint16_t>*> by_set_;  // keys of `rule_sets_`
};

}  // namespace meniscus::adapters::replay
