// How rules and blame (rule_run.hpp, blame.hpp) read an order: over the columns of a block, or by
// the tree walk for one lane.  Both answer in masks of lanes.
#pragma once

#include "engine/eval/columns.hpp"
#include "engine/eval/lane_masks.hpp"
#include "engine/eval/scalar.hpp"

namespace meniscus::engine {

/// Blame and rules over columns.
struct ColumnAccess {
  const Program& program;
  Columns& columns;
  const OrderBlock* block = nullptr;

  Lanes unknown(NodeId id, Lanes lanes) { return columns.truth(id, lanes).unknown & lanes; }
  Lanes holds(NodeId id, Lanes lanes) { return columns.truth(id, lanes).holds & lanes; }
  Lanes missing(NodeId id, Lanes lanes) {
    if (lanes == 0) return 0;
    const ValueView v = columns.value(id, lanes);
    return lanes & ~(v.known | v.none | v.any);
  }
  Lanes no_word(NodeId id, Lanes lanes) {
    if (lanes == 0 || program.nodes[id].type != Type::Word) return 0;
    const ValueView v = columns.value(id, lanes);
    return zeros(v.aux, lanes & v.known);
  }
  [[nodiscard]] Lanes absent(FieldId field, Lanes lanes) const {
    const OrderBlock::Column& column = block->column(field);
    return lanes & ~(column.known | column.none);
  }
  [[nodiscard]] Lanes before_history(const Query& query, Lanes lanes) const {
    return select(lanes, [&](unsigned i) { return !Scalar::reaches(query, columns.facts(i)); });
  }
};

/// Blame and rules for one lane; masks carry that lane's bit.
struct LaneAccess {
  const Program& program;
  Scalar& scalar;

  Lanes unknown(NodeId id, Lanes lanes) {
    return lanes != 0 && scalar.truth(id) == Truth::Unknown ? lanes : 0;
  }
  Lanes holds(NodeId id, Lanes lanes) {
    return lanes != 0 && scalar.truth(id) == Truth::True ? lanes : 0;
  }
  Lanes missing(NodeId id, Lanes lanes) {
    return lanes != 0 && scalar.value(id).state == State::Missing ? lanes : 0;
  }
  Lanes no_word(NodeId id, Lanes lanes) {
    if (lanes == 0 || program.nodes[id].type != Type::Word) return 0;
    const Value v = scalar.value(id);
    return v.known() && v.aux == kNoWord ? lanes : 0;
  }
  [[nodiscard]] Lanes absent(FieldId field, Lanes lanes) const {
    return scalar.facts().block->value(scalar.facts().lane, field).state == State::Missing ? lanes
                                                                                           : 0;
  }
  [[nodiscard]] Lanes before_history(const Query& query, Lanes lanes) const {
    return scalar.reaches(query) ? 0 : lanes;
  }
};

}  // namespace meniscus::engine
