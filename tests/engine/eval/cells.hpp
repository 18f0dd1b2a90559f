// One lane of a column, as the tree walk would give it.
#pragma once

#include "engine/eval/columns.hpp"

namespace meniscus::engine::testing {

inline Truth truth_at(const TruthColumn& column, unsigned lane) {
  const Lanes bit = Lanes{1} << lane;
  if ((column.holds & bit) != 0) return Truth::True;
  if ((column.unknown & bit) != 0) return Truth::Unknown;
  return (column.none & bit) != 0 ? Truth::Void : Truth::False;
}

inline State state_at(const ValueView& view, unsigned lane) {
  const Lanes bit = Lanes{1} << lane;
  if ((view.known & bit) != 0) return State::Known;
  if ((view.none & bit) != 0) return State::None;
  return (view.any & bit) != 0 ? State::Any : State::Missing;
}

}  // namespace meniscus::engine::testing
