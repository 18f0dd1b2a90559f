// What the rules and tables themselves say about the values that a field may have.
//
// Listing:   a look-up asks `row.C is FIELD` (or `FIELD is in row.C`): column C lists values of the
//            field, for rows in which the rest of the look-up's condition holds for the order.
// Fallback:  `FIELD or else VALUE`: what stands for the field where the order does not say it.
// Sizes:     a rule compares the field with a column (`needle.length < least`): the column's values
//            are sizes that are usual; and every gauge in any table is one.
// Exchange:  a rule compares two fields of one kind (`draw-needle.gauge thinner than
// needle.gauge`):
//            these may be exchanged, together with the other fields of the same two things.
// Words:     the words of a short closed list (left, right, middle).
// So a new table or rule brings its own candidates; no medicine is known here.
#pragma once

#include <array>
#include <string_view>
#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::engine::slips {

/// One condition on a row: `row.COLUMN is NODE`, `row.COLUMN includes NODE`, `NODE is in
/// row.COLUMN`.
struct RowCondition {
  Op op{};
  std::uint32_t column = 0;
  NodeId node = kNoNode;
  Type type{};
  friend bool operator==(const RowCondition&, const RowCondition&) = default;
};
struct Listing {
  FieldId field{};
  std::uint32_t table = 0;
  std::uint32_t column = 0;
  std::vector<RowCondition> rest;
};
struct Fallback {
  FieldId field{};
  NodeId value = kNoNode;
};
struct Exchange {
  std::vector<std::pair<FieldId, FieldId>> pairs;  // the compared one first
};
/// A unit that a number may have been meant in.
struct UnitChoice {
  std::string_view text;
  double factor = 1;  // base = value * factor
  Dimension dimension;
};

class Sources {
 public:
  explicit Sources(const Program& program);

  std::vector<Listing> listings;
  std::vector<Fallback> fallbacks;
  std::vector<Exchange> exchanges;
  std::array<std::vector<Value>, kFieldCount> sizes;  // by field: rising
  std::array<std::vector<Value>, kFieldCount> words;  // by field: of short lists
  std::vector<NodeId> per_mark;                       // look-ups of a volume per mark
  std::array<std::vector<UnitChoice>, kFieldCount> units;

 private:
  void add_lookups(const Program& program);
  void add_node(const Program& program, const Node& node);
  void add_compared(const Program& program, NodeId field, NodeId other);
  void add_exchange(FieldId a, FieldId b);
  void add_words(const Program& program);
  void add_units();
  void add_sizes_of(const Program& program, NodeId below, FieldId field, int depth);
  void add_size(FieldId field, const Value& value);
};

/// The field that a value stands for: the field itself, or the first of `FIELD or else ...`.
std::optional<FieldId> plain_field(const Program& program, NodeId id);

}  // namespace meniscus::engine::slips
