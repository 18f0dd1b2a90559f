// Values over columns.  Truths: columns_truth.cpp; look-ups: columns_find.cpp.
#include "engine/eval/columns.hpp"

#include <algorithm>
#include <bit>

#include "engine/eval/lane_masks.hpp"
#include "engine/eval/primitives.hpp"

namespace meniscus::engine {

namespace p = primitives;

Columns::Columns(const Program& program, Scalar& scalar)
    : program_(program),
      scalar_(scalar),
      truths_(program.nodes.size()),
      value_slot_(program.nodes.size(), 0) {
  const auto is_constant = [](const Node& node) {
    return node.op == Op::Constant || node.op == Op::Setting;
  };
  std::uint32_t slots = 0;
  for (const bool constant : {true, false}) {
    for (NodeId id = 0; id < program.nodes.size(); ++id) {
      const Node& node = program.nodes[id];
      const bool own = node.type != Type::Truth && node.op != Op::Field && !node.scoped;
      if (own && is_constant(node) == constant) value_slot_[id] = slots++;
    }
    if (constant) constants_ = slots;
  }
  values_.resize(slots);
  numbers_.resize(slots);
  auxes_.resize(slots);
  for (std::uint32_t i = 0; i < slots; ++i) {
    values_[i].number = numbers_[i].data();
    values_[i].aux = auxes_[i].data();
  }
  spread_constants();
  plan_recall();
}

void Columns::spread_constants() {
  for (NodeId id = 0; id < program_.nodes.size(); ++id) {
    const Node& node = program_.nodes[id];
    if (node.op != Op::Constant && node.op != Op::Setting) continue;
    const Value v =
        node.op == Op::Constant ? program_.constants[node.a] : program_.settings[node.a].value;
    ValueColumn& column = slot(id);
    std::fill_n(column.number, kLanes, v.number);
    std::fill_n(column.aux, kLanes, v.aux);
    column.known = v.known() ? ~Lanes{0} : 0;
    column.none = v.state == State::None ? ~Lanes{0} : 0;
    column.any = v.state == State::Any ? ~Lanes{0} : 0;
    column.done = ~Lanes{0};
  }
}

Columns::~Columns() = default;

/// What the block before used: little of it where orders come alone.
void Columns::clear_used() {
  for (const NodeId used : used_truths_)
    truths_[used] = {};
  for (const std::uint32_t used : used_values_) {
    ValueColumn& column = values_[used];
    column.done = column.known = column.none = column.any = 0;
  }
  used_truths_.clear();
  used_values_.clear();
}

/// Of what is remembered by its inputs, the lanes of the block before; all of it where it is full.
void Columns::clear_recalled() {
  bool forgotten = text_ids_.make_room();
  for (const std::uint32_t used : used_codes_)
    forgotten = codes_[used].begin() || forgotten;
  for (const std::uint32_t used : used_keys_)
    keys_[used].begin();
  used_codes_.clear();
  used_keys_.clear();
  if (!forgotten) return;
  for (RecallKeys& keys : keys_)
    keys.forget();
  for (InputCodes& codes : codes_)
    codes.forget();
}

void Columns::begin(const OrderBlock& block, std::span<const OrderFacts> facts) {
  block_ = &block;
  facts_ = facts;
  scalar_lane_ = kLanes;
  clear_used();
  clear_recalled();
}

Scalar& Columns::scalar_at(unsigned lane) {
  if (scalar_lane_ != lane) {
    scalar_.begin(facts_[lane]);
    scalar_lane_ = lane;
  }
  return scalar_;
}

ValueView Columns::view(const ValueColumn& column) {
  return {column.known, column.none, column.any, column.number, column.aux};
}

ValueView Columns::view(const OrderBlock::Column& column) {
  return {column.known, column.none, 0, column.number.data(), column.aux.data()};
}

ValueView Columns::value(NodeId id, Lanes lanes) {
  const Node& node = program_.nodes[id];
  if (node.op == Op::Field) return view(block_->column(static_cast<FieldId>(node.a)));
  ValueColumn& column = slot(id);
  const Lanes open = lanes & ~column.done;
  if (open != 0) {
    if (column.done == 0) used_values_.push_back(value_slot_[id]);
    work_out(id, column, open);
    column.done |= open;
  }
  return view(column);
}

Value Columns::value_without_text(NodeId id, unsigned lane) {
  const Lanes bit = Lanes{1} << lane;
  const ValueView v = value(id, bit);
  const auto state = (v.known & bit) != 0  ? State::Known
                     : (v.none & bit) != 0 ? State::None
                     : (v.any & bit) != 0  ? State::Any
                                           : State::Missing;
  if (state != State::Known) return {0, 0, {}, state};
  return {v.number[lane], v.aux[lane], {}, state};
}

Value Columns::shown(NodeId id, unsigned lane) {
  const Node& node = program_.nodes[id];
  if (node.scoped || node.op == Op::Field) return scalar_at(lane).value(id);
  if (node.op == Op::RecordField) {
    const Value handle = value_without_text(node.x, lane);
    if (!handle.known()) return handle;
    return (*facts_[lane].records)[handle.aux].value(static_cast<FieldId>(node.a));
  }
  const bool plain =
      node.type == Type::Quantity || node.type == Type::Gauge || node.type == Type::Date;
  return plain ? value_without_text(id, lane) : scalar_at(lane).value(id);
}

void Columns::put(ValueColumn& out, unsigned lane, const Value& value) {
  const Lanes bit = Lanes{1} << lane;
  out.number[lane] = value.number;
  out.aux[lane] = value.aux;
  if (value.known()) out.known |= bit;
  if (value.state == State::None) out.none |= bit;
  if (value.state == State::Any) out.any |= bit;
}

void Columns::by_lane(NodeId id, ValueColumn& out, Lanes lanes) {
  each_lane(lanes, [&](unsigned lane) { put(out, lane, scalar_at(lane).value(id)); });
}

void Columns::work_out(NodeId id, ValueColumn& out, Lanes lanes) {
  const Node& node = program_.nodes[id];
  if (RecallAnswers* answers = answers_of(id)) return recall(id, *answers, out, lanes);
  switch (node.op) {
    case Op::Add:
    case Op::Subtract:
    case Op::Multiply:
    case Op::Divide:
    case Op::RoundNearest:
    case Op::RoundUp:
    case Op::RoundDown:
      return arithmetic(node, out, lanes);
    case Op::Negate:
    case Op::DaysBetween:
      return unary(node, out, lanes);
    case Op::OrElse:
      return or_else(node, out, lanes);
    case Op::Choose:
      return choose(node, out, lanes);
    case Op::KindOf:
      return kinds(node, out, lanes);
    case Op::RecordField:
    case Op::RecordWhen:
      return record_parts(node, out, lanes);
    case Op::Today:
      return each_lane(lanes, [&](unsigned lane) { put(out, lane, facts_[lane].today); });
    case Op::PlannedDay:
      return each_lane(lanes, [&](unsigned lane) { put(out, lane, facts_[lane].planned_day); });
    case Op::DateAfter:
      return dates_after(node, out, lanes);
    case Op::Written:
      return written(node, out, lanes);
    case Op::Query:
      return query(id, out, lanes);
    case Op::Engine:
      return by_lane(id, out, lanes & may_be_known(static_cast<EngineValue>(node.a)));
    default:  // whatever columns do not do
      return by_lane(id, out, lanes);
  }
}

/// Most orders say neither how many doses there are nor when they end.
Lanes Columns::may_be_known(EngineValue value) const {
  if (value != EngineValue::PlannedDoses && value != EngineValue::SupplyEnd) return ~Lanes{0};
  return block_->column(FieldId::SupplyDoses).known | block_->column(FieldId::ScheduleEnd).known;
}

/// Only whether there is one; columns carry no text.
void Columns::written(const Node& node, ValueColumn& out, Lanes lanes) {
  const auto field = static_cast<FieldId>(node.a);
  out.known |= select(lanes & block_->column(field).present,
                      [&](unsigned lane) { return !block_->written(lane, field).empty(); });
}

void Columns::dates_after(const Node& node, ValueColumn& out, Lanes lanes) {
  const ValueView time = value(node.x, lanes);
  const ValueView date = value(node.y, lanes);
  each_lane(time.known & date.known & lanes, [&](unsigned i) {
    put(out, i,
        p::date_after({time.number[i], time.aux[i], {}, State::Known},
                      {date.number[i], date.aux[i], {}, State::Known}));
  });
  out.none |= (time.none | date.none) & lanes;
}

/// The words that a test compares, by lane; of a guard only where it lets pass.
ValueView Columns::wanted_by(const Scalar::RecordTest& test, Lanes lanes) {
  if (test.other == kNoNode) return {};
  if (!test.guard) return value(test.other, lanes);
  const TruthColumn guard = truth(test.other, lanes);
  return {lanes & ~(guard.holds | guard.unknown | guard.none), 0, 0, nullptr, nullptr};
}

Word Columns::wanted_word(const Scalar::RecordTest& test, const ValueView& wanted, unsigned lane) {
  if ((wanted.known >> lane & 1U) == 0) return kNoWord;
  return test.guard ? Scalar::kPasses : wanted.aux[lane];
}

/// Where a patient is known to have no records, the answer is the same for all orders.  The words
/// that are asked of records are worked out over columns; with them most queries are answered
/// without a tree walk.
void Columns::query(NodeId id, ValueColumn& out, Lanes lanes) {
  const Node& node = program_.nodes[id];
  const Query& query = program_.queries[node.a];
  if (query.source == QuerySource::List) return by_lane(id, out, lanes);
  const Lanes nothing = select(lanes, [&](unsigned lane) {
    const History::Records* const records = facts_[lane].records;
    return (records == nullptr || records->empty()) && facts_[lane].since == History::kAlways;
  });
  if (nothing != 0) {
    const Value answer = scalar_.answer_without_records(node);
    each_lane(nothing, [&](unsigned lane) { put(out, lane, answer); });
  }
  lanes &= ~nothing;
  const std::span<const Scalar::RecordTest> tests = scalar_.tests_of(query);
  std::array<ValueView, Scalar::kMostTests> wanted;
  for (std::size_t i = 0; i < tests.size() && lanes != 0; ++i)
    wanted.at(i) = wanted_by(tests[i], lanes);
  Scalar::WantedWords words{};
  each_lane(lanes, [&](unsigned lane) {
    for (std::size_t i = 0; i < tests.size(); ++i)
      words[i] = wanted_word(tests[i], wanted[i], lane);
    std::optional<Value> answer;
    if (facts_[lane].turn != 0) answer = scalar_.query_without_walk(node, words, facts_[lane]);
    put(out, lane, answer ? *answer : scalar_at(lane).value(id));
  });
}

void Columns::kinds(const Node& node, ValueColumn& out, Lanes lanes) {
  const ValueView x = value(node.x, lanes);
  each_lane(x.known & lanes, [&](unsigned lane) {
    put(out, lane, p::kind_of({x.number[lane], x.aux[lane], {}, State::Known}));
  });
  out.none |= x.none & lanes;
  out.any |= x.any & lanes;
}

void Columns::record_parts(const Node& node, ValueColumn& out, Lanes lanes) {
  const ValueView handle = value(node.x, lanes);
  out.none |= handle.none & lanes;
  each_lane(handle.known & lanes, [&](unsigned lane) {
    const HistoryRecord& record = (*facts_[lane].records)[handle.aux[lane]];
    put(out, lane,
        node.op == Op::RecordWhen ? record.event() : record.value(static_cast<FieldId>(node.a)));
  });
}

namespace {

/// As primitives::arithmetic(), for quantities of one kind.
double added(Op op, double x, double y) {
  if (op == Op::Add) return x + y;
  return op == Op::Subtract ? subtract(x, y) : p::round_to(op, x, y);
}

}  // namespace

void Columns::arithmetic(const Node& node, ValueColumn& out, Lanes lanes) {
  const ValueView x = value(node.x, lanes);
  const ValueView y = value(node.y, lanes);
  Lanes known = x.known & y.known & lanes;
  out.none |= (x.none | y.none) & lanes;
  if (known == 0) return;
  const bool varies = program_.nodes[node.x].varies || program_.nodes[node.y].varies;
  if (node.op == Op::Multiply) {
    each_or_all(known, [&](unsigned i) {
      out.number[i] = x.number[i] * y.number[i];
      out.aux[i] = x.aux[i] + y.aux[i] - Dimension::kZero;
    });
  } else if (node.op == Op::Divide) {
    each_or_all(known, [&](unsigned i) {
      out.number[i] = x.number[i] / y.number[i];
      out.aux[i] = x.aux[i] - y.aux[i] + Dimension::kZero;
    });
    known &= ~zeros(y.number, known);
  } else {
    if (varies) known &= same_kinds(x.aux, y.aux, known);
    each_lane(known, [&](unsigned i) {
      out.number[i] = added(node.op, x.number[i], y.number[i]);
      out.aux[i] = x.aux[i] == p::kZeroOfAnyKind ? y.aux[i] : x.aux[i];
    });
  }
  out.known |= known;
}

void Columns::unary(const Node& node, ValueColumn& out, Lanes lanes) {
  const ValueView x = value(node.x, lanes);
  if (node.op == Op::Negate) {
    each_lane(x.known & lanes, [&](unsigned i) {
      out.number[i] = -x.number[i];
      out.aux[i] = x.aux[i];
    });
    out.known |= x.known & lanes;
    out.none |= x.none & lanes;
    return;
  }
  const ValueView y = value(node.y, lanes);
  const Lanes known = x.known & y.known & lanes;
  each_lane(known, [&](unsigned i) {
    out.number[i] = p::days_between(x.number[i], y.number[i]);
    out.aux[i] = dim::kTime.bits();
  });
  out.known |= known;
  out.none |= (x.none | y.none) & lanes;
}

void Columns::or_else(const Node& node, ValueColumn& out, Lanes lanes) {
  const ValueView x = value(node.x, lanes);
  const Lanes first = (x.known | x.any) & lanes;
  const Lanes second = lanes & ~first;
  each_lane(first, [&](unsigned i) {
    out.number[i] = x.number[i];
    out.aux[i] = x.aux[i];
  });
  out.known |= x.known & lanes;
  out.any |= x.any & lanes;
  if (second == 0) return;
  const ValueView y = value(node.y, second);
  each_lane(second, [&](unsigned i) {
    out.number[i] = y.number[i];
    out.aux[i] = y.aux[i];
  });
  out.known |= y.known & second;
  out.none |= y.none & second;
  out.any |= y.any & second;
}

void Columns::choose(const Node& node, ValueColumn& out, Lanes lanes) {
  const TruthColumn condition = truth(node.x, lanes);
  const auto take = [&](NodeId from, Lanes some) {
    if (some == 0) return;
    const ValueView v = value(from, some);
    each_lane(some, [&](unsigned i) {
      out.number[i] = v.number[i];
      out.aux[i] = v.aux[i];
    });
    out.known |= v.known & some;
    out.none |= v.none & some;
    out.any |= v.any & some;
  };
  take(node.y, condition.holds & lanes);
  take(node.z, lanes & ~condition.holds & ~condition.unknown);
}

}  // namespace meniscus::engine
