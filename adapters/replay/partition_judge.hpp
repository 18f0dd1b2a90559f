// The records of one partition, in the order in which they were received: judged by every side,
// counted and compared.
//
// Not judged: a record that comes again (the same order number, and nothing in it has changed); it
//             is counted and leaves no other trace.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <memory>
#include <string_view>
#include <vector>

#include "adapters/replay/generations.hpp"
#include "adapters/replay/plan.hpp"
#include "adapters/replay/record_image.hpp"
#include "adapters/replay/side_judge.hpp"
#include "adapters/replay/tally.hpp"
#include "engine/base/flat_map.hpp"

namespace meniscus::adapters::replay {

class PartitionJudge {
 public:
  /// `since`: local seconds from which on all is known.
  PartitionJudge(const Plan& plan, double since);

  /// Takes the record at the start of `images` and its image for the second side, where the plan
  /// has two.  `images` stays as it is until settle().
  void take(std::string_view images);
  /// Judges what was taken.
  void settle();

  /// A record was received before one that was taken already, or more than a month before the
  /// newest: what has been counted is worth nothing.
  [[nodiscard]] bool is_out_of_order() const { return out_of_order_; }

  /// What was counted.  Call once, after settle().
  Tally finish();

 private:
  bool note_record(const ImageHead& head);
  void note_order_of_receipt(const ImageHead& head);
  void count_record(const ImageHead& head, unsigned lane);
  void compare(const LaneNote& note, unsigned lane);
  void compare_rules(const LaneNote& note, unsigned lane);
  void add_example(Examples& examples, const LaneNote& note, unsigned lane) const;

  const Plan& plan_;
  std::vector<std::unique_ptr<SideJudge>> sides_;
  std::array<engine::OrderBlock, 2> blocks_;
  LaneNotes notes_;
  engine::FieldSet never_carries_;  // of the records in the blocks
  bool warm_up_ = false;
  engine::FlatMap<double> last_received_;  // by owner with a patient
  double newest_ = -std::numeric_limits<double>::infinity();
  bool out_of_order_ = false;
  Generations<bool> seen_;
  Tally tally_;
};

}  // namespace meniscus::adapters::replay
