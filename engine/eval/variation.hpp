// Which lanes could come to something else in another order of the same key (order_keys.hpp).
//
// Two masks a node: `value`, its value or truth could be another one; `state`, it could even be
// missing (or none) where it is known here, or the other way round.
// Safe:    a lane is in a mask wherever it cannot be shown that it need not be.  A date that is
//          missing makes a comparison with today unknown whatever day it is; a side of `and` that
//          is false settles it whatever the other one says.
// Why so:  causes (blame.hpp) are told from states alone, so what is unknown and does not vary has
//          the same causes in the other order too.
// Asks:    Columns, and only for lanes that do not vary; they work it out where nobody has.
// Memory:  masks by node, good for one block; kept and reused.
#pragma once

#include <cstdint>
#include <initializer_list>
#include <vector>

#include "engine/eval/columns.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {

class Variation {
 public:
  Variation(const Program& program, Columns& columns);

  struct Masks {
    Lanes value = 0;
    Lanes state = 0;
  };

  /// The next block, or the same with other records.
  void begin(const OrderBlock& block) {
    block_ = &block;
    ++turn_;
  }

  /// Of `lanes`.
  Masks of(NodeId id, Lanes lanes);

  /// What a rule does in the lanes among `lanes` where it does the same for all orders of their
  /// keys.
  struct Fixed {
    Lanes lanes = 0;
    Lanes concerned = 0;  // among them
  };
  Fixed fixed(const Rule& rule, Lanes lanes);

 private:
  struct Kept {
    std::uint64_t turn = 0;
    Lanes done = 0;
    Masks masks;
  };

  Masks work_out(NodeId id, const Node& node, Lanes lanes);
  Masks of_leaf(const Node& node, Lanes lanes);
  [[nodiscard]] Masks of_field(FieldId field, Lanes lanes) const;
  [[nodiscard]] Lanes with_records(Lanes lanes) const;
  [[nodiscard]] Masks of_engine(EngineValue value, Lanes lanes) const;
  Masks of_time_since(const Node& node, Lanes lanes);
  Masks of_operands(const Node& node, std::initializer_list<NodeId> operands, Lanes lanes);
  Masks of_between(const Node& node, Lanes lanes);
  Masks of_list(const Node& node, Lanes lanes);
  Masks of_logic(const Node& node, Lanes lanes);
  Masks of_or_else(const Node& node, Lanes lanes);
  Masks of_choice(const Node& node, Lanes lanes);
  Masks of_query(NodeId id, const Node& node, Lanes lanes);
  Masks of_what_is_read(NodeId id, Lanes lanes);
  void find_outer(NodeId id, bool top, std::vector<NodeId>& out) const;
  [[nodiscard]] Lanes decided(NodeId id, bool as, Lanes lanes);

  const Program& program_;
  Columns& columns_;
  const OrderBlock* block_ = nullptr;
  std::uint64_t turn_ = 0;
  std::vector<Kept> kept_;                  // by node
  std::vector<std::vector<NodeId>> outer_;  // by node: what stands outside of rows and items
  std::vector<bool> outer_known_;
};

}  // namespace meniscus::engine
