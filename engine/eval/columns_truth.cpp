// Conditions over columns.
#include <cmath>

#include "engine/eval/columns.hpp"
#include "engine/eval/lane_masks.hpp"
#include "engine/eval/primitives.hpp"

namespace meniscus::engine {

namespace p = primitives;

void Columns::put(TruthColumn& out, Lanes lanes, Lanes holds, Lanes unknown, Lanes none) {
  out.holds |= holds & lanes;
  out.unknown |= unknown & lanes;
  out.none |= none & lanes;
}

const TruthColumn& Columns::truth(NodeId id, Lanes lanes) {
  TruthColumn& column = truths_[id];
  const Lanes open = lanes & ~column.done;
  if (open != 0) {
    if (column.done == 0) used_truths_.push_back(id);
    decide(id, column, open);
    column.done |= open;
  }
  return column;
}

void Columns::decide_by_lane(NodeId id, TruthColumn& out, Lanes lanes) {
  each_lane(lanes, [&](unsigned lane) {
    const Lanes bit = Lanes{1} << lane;
    const Truth t = scalar_at(lane).truth(id);
    put(out, bit, t == Truth::True ? bit : 0, t == Truth::Unknown ? bit : 0,
        t == Truth::Void ? bit : 0);
  });
}

namespace {

/// What the states of both sides say, before any number is looked at (primitives::by_state).
struct States {
  Lanes any = 0;
  Lanes none = 0;
  Lanes unknown = 0;
  Lanes known = 0;
};

States joint_states(const ValueView& x, const ValueView& y, Lanes lanes) {
  States s;
  s.any = (x.any | y.any) & lanes;
  s.none = (x.none | y.none) & lanes & ~s.any;
  s.known = x.known & y.known & lanes & ~s.any & ~s.none;
  s.unknown = lanes & ~s.any & ~s.none & ~s.known;
  return s;
}

/// The lanes in which the numbers of `x` and `y` stand as `op` asks.
Lanes in_order(Op op, const double* x, const double* y, Lanes lanes) {
  switch (op) {
    case Op::Less:
    case Op::WiderThan:
      return below(x, y, lanes);
    case Op::LessEqual:
      return lanes & ~below(y, x, lanes);
    case Op::Greater:
    case Op::ThinnerThan:
      return below(y, x, lanes);
    case Op::GreaterEqual:
      return lanes & ~below(x, y, lanes);
    default:
      return alike(x, y, lanes);
  }
}

Lanes compared(Op op, Type type, const ValueView& x, const ValueView& y, Lanes lanes) {
  if (lanes == 0) return 0;
  if (type == Type::Word) return equal(x.aux, y.aux, lanes);
  if (type != Type::Date) return in_order(op, x.number, y.number, lanes);
  std::array<double, kLanes> first{};
  std::array<double, kLanes> second{};
  each_lane(lanes, [&](unsigned i) {
    first[i] = p::day_number(x.number[i]);
    second[i] = p::day_number(y.number[i]);
  });
  return in_order(op, first.data(), second.data(), lanes);
}

}  // namespace

void Columns::compare_columns(const Node& node, TruthColumn& out, Lanes lanes) {
  const ValueView x = value(node.x, lanes);
  const ValueView y = value(node.y, lanes);
  const Type type = program_.nodes[node.x].type;
  States s = joint_states(x, y, lanes);
  static_assert(kNoWord == 0);
  if (type == Type::Word) {
    Lanes odd = zeros(x.aux, s.known);
    if (program_.nodes[node.y].op != Op::Constant) odd |= zeros(y.aux, s.known);
    s.known &= ~odd;
    s.unknown |= odd;
  } else if (type == Type::Quantity &&
             (program_.nodes[node.x].varies || program_.nodes[node.y].varies)) {
    const Lanes odd = s.known & ~same_kinds(x.aux, y.aux, s.known);
    s.known &= ~odd;
    s.unknown |= odd;
  }
  const bool turned = node.op == Op::NotEqual;
  Lanes holds = compared(turned ? Op::Equal : node.op, type, x, y, s.known);
  if (turned) holds = s.known & ~holds;
  put(out, lanes, turned ? holds : holds | s.any, s.unknown, s.none);
}

void Columns::between(const Node& node, TruthColumn& out, Lanes lanes) {
  Node low = node;
  low.op = Op::GreaterEqual;
  Node high = node;
  high.op = Op::LessEqual;
  high.y = node.z;
  TruthColumn a;
  TruthColumn b;
  compare_columns(low, a, lanes);
  compare_columns(high, b, lanes);
  const Lanes fails =
      (lanes & ~(a.holds | a.unknown | a.none)) | (lanes & ~(b.holds | b.unknown | b.none));
  const Lanes none = (a.none | b.none) & ~fails;
  const Lanes unknown = (a.unknown | b.unknown) & ~fails & ~none;
  put(out, lanes, a.holds & b.holds, unknown, none);
}

void Columns::differs(const Node& node, TruthColumn& out, Lanes lanes) {
  const ValueView x = value(node.x, lanes);
  const ValueView y = value(node.y, lanes);
  const ValueView by = value(node.z, lanes);
  States s = joint_states(x, y, lanes);
  s.none |= s.known & by.none;
  s.unknown |= s.known & ~by.known & ~by.none & ~by.any;
  s.any |= s.known & by.any;
  s.known &= by.known & ~s.none & ~s.any;
  const Lanes odd = s.known & ~same_kinds(x.aux, y.aux, s.known);
  s.known &= ~odd;
  s.unknown |= odd;
  const bool share = node.op == Op::DiffersByShare;
  const Lanes holds = select(s.known, [&](unsigned i) {
    const double limit = share ? by.number[i] * std::fabs(y.number[i]) : by.number[i];
    return compare(std::fabs(x.number[i] - y.number[i]), limit) > 0;
  });
  put(out, lanes, holds | s.any, s.unknown, s.none);
}

void Columns::one_of(const Node& node, TruthColumn& out, Lanes lanes) {
  Lanes holds = 0;
  Lanes unknown = 0;
  Lanes none = 0;
  Node equal = node;
  equal.op = Op::Equal;
  for (const NodeId id : program_.lists[node.a]) {
    const Lanes open = lanes & ~holds;
    TruthColumn one;
    equal.y = id;
    compare_columns(equal, one, open);
    holds |= one.holds;
    unknown |= one.unknown;
    none |= one.none;
  }
  unknown &= ~holds;
  put(out, lanes, holds, unknown, none & ~holds & ~unknown);
}

void Columns::asked(const Node& node, TruthColumn& out, Lanes lanes) {
  const ValueView x = value(node.x, lanes);
  const Lanes missing = lanes & ~(x.known | x.none | x.any);
  if (node.op == Op::IsMissing) return put(out, lanes, missing, 0, 0);
  if (node.op == Op::IsNone) return put(out, lanes, x.none, missing, 0);
  put(out, lanes, x.known | x.any, node.a == 0 ? missing : 0, 0);
}

void Columns::multiples(const Node& node, TruthColumn& out, Lanes lanes) {
  const ValueView x = value(node.x, lanes);
  const ValueView y = value(node.y, lanes);
  States s = joint_states(x, y, lanes);
  const Lanes odd = s.known & ~same_kinds(x.aux, y.aux, s.known);
  s.known &= ~odd;
  s.unknown |= odd;
  Lanes holds = 0;
  each_lane(s.known, [&](unsigned i) {
    if (p::is_multiple(x.number[i], y.number[i])) holds |= Lanes{1} << i;
  });
  put(out, lanes, holds | s.any, s.unknown, s.none);
}

void Columns::bands(const Node& node, TruthColumn& out, Lanes lanes) {
  const ValueView band = value(node.x, lanes);
  const ValueView x = value(node.y, lanes);
  const States s = joint_states(band, x, lanes);
  Lanes holds = s.any;
  each_lane(s.known, [&](unsigned i) {
    const Truth t = p::includes({band.number[i], band.aux[i], {}, State::Known},
                                {x.number[i], x.aux[i], {}, State::Known});
    if (t == Truth::True) holds |= Lanes{1} << i;
  });
  put(out, lanes, holds, s.unknown, s.none);
}

/// Most lists are not there or have nothing in them.
void Columns::any_item(NodeId id, TruthColumn& out, Lanes lanes) {
  const Node& list = program_.nodes[program_.nodes[id].x];
  if (list.op != Op::Field) return decide_by_lane(id, out, lanes);
  const ValueView items = view(block_->column(static_cast<FieldId>(list.a)));
  const Lanes some = select(lanes & items.known,
                            [&](unsigned i) { return OrderBlock::item_count(items.aux[i]) > 0; });
  put(out, lanes & ~some, 0, lanes & ~(items.known | items.none), 0);
  decide_by_lane(id, out, some);
}

void Columns::decide(NodeId id, TruthColumn& out, Lanes lanes) {
  const Node& node = program_.nodes[id];
  if (RecallAnswers* answers = answers_of(id)) return recall_truth(id, *answers, out, lanes);
  switch (node.op) {
    case Op::Not: {
      const TruthColumn x = truth(node.x, lanes);
      return put(out, lanes, ~(x.holds | x.unknown | x.none), x.unknown, x.none);
    }
    case Op::And: {
      const TruthColumn x = truth(node.x, lanes);
      const Lanes no = lanes & ~(x.holds | x.unknown | x.none);
      const TruthColumn y = truth(node.y, lanes & ~no);
      const Lanes fails = no | (lanes & ~no & ~(y.holds | y.unknown | y.none));
      const Lanes none = (x.none | y.none) & ~fails;
      return put(out, lanes & ~fails, x.holds & y.holds, (x.unknown | y.unknown) & ~none, none);
    }
    case Op::Or: {
      const TruthColumn x = truth(node.x, lanes);
      const Lanes open = lanes & ~x.holds;
      const TruthColumn y = truth(node.y, open);
      const Lanes holds = x.holds | (y.holds & open);
      const Lanes unknown = (x.unknown | (y.unknown & open)) & ~holds;
      return put(out, lanes, holds, unknown, (x.none | (y.none & open)) & ~holds & ~unknown);
    }
    case Op::Less:
    case Op::LessEqual:
    case Op::Greater:
    case Op::GreaterEqual:
    case Op::Equal:
    case Op::NotEqual:
    case Op::ThinnerThan:
    case Op::WiderThan:
      if (program_.nodes[node.x].type == Type::Text) return decide_by_lane(id, out, lanes);
      return compare_columns(node, out, lanes);
    case Op::Between:
      return between(node, out, lanes);
    case Op::DiffersByShare:
    case Op::DiffersByAmount:
      return differs(node, out, lanes);
    case Op::IsOneOf:
      if (program_.nodes[node.x].type == Type::Text) return decide_by_lane(id, out, lanes);
      return one_of(node, out, lanes);
    case Op::IsGiven:
    case Op::IsMissing:
    case Op::IsNone:
      return asked(node, out, lanes);
    case Op::MultipleOf:
      return multiples(node, out, lanes);
    case Op::AnyItem:
      return any_item(id, out, lanes);
    case Op::Includes:
      return bands(node, out, lanes);
    default:
      return decide_by_lane(id, out, lanes);
  }
}

}  // namespace meniscus::engine
