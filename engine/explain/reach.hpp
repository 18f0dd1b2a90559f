// Orders at the limit of a comparison: what one field would have to be.
//
//   Reach reach(program, {as_of, host});
//   for (const Reached& r : reach.around(facts, node)) ...      // trial values, likeliest first
//   scalar.begin(reach.trial(facts, r)); ...                    // the order with that value
//
// Limits:  where the sides of a comparison meet; of `between` both ends, of `differs` both ends of
//          the room and what is compared with.
// How:     of each number and date that the comparison depends on, the value at which its sides
//          meet is found by the secant method, by evaluating the comparison's own sides; then that
//          value and its neighbours in the unit that the field is written in (about a twentieth
//          away, and never finer than that) are the trial values. Words are tried where a
//          comparison asks for one.
// Never:   says that a trial order is right; who asks judges it.
// Lifetime: trial facts are valid until the next call; the program must outlive this.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/eval/facts.hpp"
#include "engine/slips/candidates.hpp"
#include "engine/slips/dependence.hpp"
#include "engine/slips/trial.hpp"

namespace meniscus::engine {

/// A value that one field might have.
struct Reached {
  FieldId field{};
  Value value;
  double size = 0;     // how far it is from what the order says; 0 is no change
  std::string text;    // as an order would say it
  std::string before;  // what the order says
};

class Reach {
 public:
  /// `days`: whose day counts, as the order itself was judged.
  Reach(const Program& program, const Days& days);

  /// Trial values for the comparison `node`; the smallest changes first.
  std::vector<Reached> around(const OrderFacts& order, NodeId node);

  /// The order with one value changed.
  const OrderFacts& trial(const OrderFacts& order, const Reached& reached);

 private:
  void add_numbers(const OrderFacts& order, NodeId node, FieldId field, std::vector<Reached>& out);
  void add_neighbours(const OrderFacts& order, FieldId field, double root,
                      std::vector<Reached>& out);
  void add_words(const OrderFacts& order, NodeId node, std::vector<Reached>& out);
  void add(const OrderFacts& order, FieldId field, const Value& value, std::vector<Reached>& out);
  std::optional<double> meet(const OrderFacts& order, NodeId node, FieldId field, int limit);
  std::optional<double> side(NodeId node, Type type);
  std::optional<double> gap(NodeId node, int limit);
  std::optional<double> gap_at(const OrderFacts& order, NodeId node, FieldId field, int limit,
                               double number);
  const OrderFacts& stand(const OrderFacts& order, FieldId field, const Value& value);

  const Program& program_;
  slips::Dependence dependence_;
  std::vector<FieldSet> fields_;
  slips::Trial trial_;
  Scalar scalar_;
};

}  // namespace meniscus::engine
