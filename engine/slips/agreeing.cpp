// The value of a field that makes two sides of a comparison agree: a volume computed anew from dose
// and strength, a dose from volume and strength, a code as the words say it.
//
// How: the side's expression is turned round step by step (x * y is v, so x is v / y) down to its
//      fields; a choice is followed the way it falls for this order.
#include <charconv>

#include "engine/eval/primitives.hpp"
#include "engine/slips/ask.hpp"
#include "engine/slips/value_text.hpp"

namespace meniscus::engine::slips {
namespace {

namespace p = primitives;

class Solver {
 public:
  explicit Solver(const Ask& ask) : ask_(ask) {}

  void compare(NodeId id, bool turned) {
    const Node& node = ask_.program.nodes[id];
    switch (node.op) {
      case Op::And:
      case Op::Or:
        compare(node.x, turned);
        compare(node.y, turned);
        return;
      case Op::Not:
        return compare(node.x, !turned);
      case Op::DiffersByShare:
      case Op::DiffersByAmount:
      case Op::NotEqual:
        if (!turned) sides(node);
        return;
      case Op::Equal:
        if (turned) sides(node);
        return;
      default:
        return;
    }
  }

 private:
  void sides(const Node& node) {
    if (ask_.program.nodes[node.x].scoped || ask_.program.nodes[node.y].scoped) return;
    solve(node.x, ask_.scalar.value(node.y));
    solve(node.y, ask_.scalar.value(node.x));
  }

  void solve_pair(const Node& node, const Value& target) {
    const Value x = ask_.scalar.value(node.x);
    const Value y = ask_.scalar.value(node.y);
    switch (node.op) {
      case Op::Add:
        solve(node.x, p::arithmetic(Op::Subtract, target, y));
        return solve(node.y, p::arithmetic(Op::Subtract, target, x));
      case Op::Subtract:
        solve(node.x, p::arithmetic(Op::Add, target, y));
        return solve(node.y, p::arithmetic(Op::Subtract, x, target));
      case Op::Multiply:
        solve(node.x, p::arithmetic(Op::Divide, target, y));
        return solve(node.y, p::arithmetic(Op::Divide, target, x));
      case Op::Divide:
        solve(node.x, p::arithmetic(Op::Multiply, target, y));
        return solve(node.y, p::arithmetic(Op::Divide, x, target));
      default:
        return;
    }
  }

  /// Fields below `id` that, changed alone, make it `target`.
  void solve(NodeId id, const Value& target) {
    if (id == kNoNode || !target.known()) return;
    const Node& node = ask_.program.nodes[id];
    switch (node.op) {
      case Op::Field:
        return set(static_cast<FieldId>(node.a), target);
      case Op::OrElse: {
        const Value first = ask_.scalar.value(node.x);
        return solve(first.known() ? node.x : node.y, target);
      }
      case Op::Choose: {
        const Truth condition = ask_.scalar.truth(node.x);
        if (condition == Truth::Unknown) return;
        return solve(condition == Truth::True ? node.y : node.z, target);
      }
      case Op::Add:
      case Op::Subtract:
      case Op::Multiply:
      case Op::Divide:
        return solve_pair(node, target);
      default:
        return;  // what stands in a table or was rounded cannot be turned round
    }
  }

  void set(FieldId field, const Value& target) {
    if (!ask_.wants(field)) return;
    const Value now = ask_.value(field);
    const FieldKind kind = info(field).kind;
    const bool number = kind == FieldKind::Quantity || kind == FieldKind::Amount ||
                        kind == FieldKind::Strength || kind == FieldKind::AmountPerBodyMass ||
                        kind == FieldKind::Count;
    if (!number) return ask_.add(Kind::Computed, field, target, 1);
    if (now.aux != target.aux) return;  // another dimension
    Value to = target;
    to.number = short_number(target, ask_.written(field));
    ask_.add(Kind::Computed, field, to, places(now.number, to.number));
  }

  /// As a person would write it: a number that does not end soon is cut to three digits.
  static double short_number(const Value& target, std::string_view written) {
    const Measure exact = measure(target, written);
    const auto to_digits = [&](int digits) {
      const std::string text = format_number(exact.number, digits);
      double number = exact.number;
      std::from_chars(text.data(), text.data() + text.size(), number);
      return number;
    };
    const double five = to_digits(5);
    return engine::compare(five, exact.number) == 0 ? target.number : to_digits(3) * exact.factor;
  }

  const Ask& ask_;
};

}  // namespace

void add_agreeing(const Ask& ask, NodeId condition) { Solver(ask).compare(condition, false); }

}  // namespace meniscus::engine::slips
