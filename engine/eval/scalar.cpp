// The tree walk: leaves, arithmetic, comparisons, logic.  Tables and history: scalar_queries.cpp.
#include "engine/eval/scalar.hpp"

#include <algorithm>

#include "engine/eval/engine_value.hpp"
#include "engine/eval/primitives.hpp"

namespace meniscus::engine {

namespace p = primitives;

namespace {
constexpr std::size_t kMatched = 512;  // remembered answers of patterns, a power of two
}  // namespace

Scalar::Scalar(const Program& program)
    : program_(program),
      memo_(program.nodes.size()),
      finds_(program.find_count),
      text_rows_(program) {
  scoped_finds_.resize(8);
  lane_records_.resize(kLanes);
  matched_.resize(program.patterns.empty() ? 0 : kMatched);
  plan();
}

void Scalar::plan() {
  cells_.assign(kCells, {});
  text_rows_.forget();
  record_truths_.forget();
  plans_.assign(program_.queries.size(), {});
  for (std::size_t i = 0; i < plans_.size(); ++i)
    plan_query(program_.queries[i], plans_[i]);
}

void Scalar::begin(const OrderFacts& facts) {
  facts_ = facts;
  scope_ = {};
  scratch_.clear();
  find_depth_ = 0;
  if (++epoch_ == 0) {  // wrapped: no old memo may look new
    for (Memo& memo : memo_)
      memo.epoch = 0;
    for (Find& find : finds_)
      find.epoch = 0;
    for (LaneRecords& kept : lane_records_)
      kept.turn = 0;
    epoch_ = 1;
  }
}

Value Scalar::value(NodeId id) {
  const Node& node = program_.nodes[id];
  if (node.op <= Op::CurrentRecord || node.scoped) return work_out(node);
  if (memo_[id].epoch == epoch_) return memo_[id].value;
  const Value value = work_out(node);
  memo_[id].value = value;
  memo_[id].epoch = epoch_;
  return value;
}

Truth Scalar::truth(NodeId id) {
  const Node& node = program_.nodes[id];
  if (node.scoped) return decide(node);
  if (memo_[id].epoch == epoch_) return memo_[id].truth;
  const Truth truth = decide(node);
  memo_[id].truth = truth;
  memo_[id].epoch = epoch_;
  return truth;
}

Value Scalar::leaf(const Node& node) const {
  const unsigned lane = facts_.lane;
  if (node.op == Op::Constant) return program_.constants[node.a];
  if (node.op == Op::Field) return facts_.block->value(lane, static_cast<FieldId>(node.a));
  if (node.op == Op::Setting) return program_.settings[node.a].value;
  if (node.op == Op::Today) return facts_.today;
  if (node.op == Op::PlannedDay) return facts_.planned_day;
  if (node.op == Op::RowCell) return program_.tables[scope_.table].cell(scope_.row, node.a);
  if (node.op == Op::ItemPart) {
    return scope_.item == nullptr ? Value::missing() : scope_.item->parts[node.a];
  }
  if (node.op == Op::PreviousPart) {
    return scope_.previous == nullptr ? Value::none() : scope_.previous->parts[node.a];
  }
  if (node.op == Op::ItemSelf) return scope_.item == nullptr ? Value::missing() : scope_.item->self;
  const std::string_view written = facts_.block->written(lane, static_cast<FieldId>(node.a));
  return written.empty() ? Value::missing() : Value{0, 0, written, State::Known};
}

const HistoryRecord* Scalar::record_at(const Value& handle) const {
  return handle.known() && facts_.records != nullptr ? &(*facts_.records)[handle.aux] : nullptr;
}

Value Scalar::record_part(const Node& node) {
  const Value handle = value(node.x);
  if (handle.state != State::Known) return {0, 0, {}, handle.state};
  const HistoryRecord* record = record_at(handle);
  if (record == nullptr) return Value::missing();
  if (node.op == Op::RecordWhen) return record->event();
  if (node.op == Op::RecordField) return record->value(static_cast<FieldId>(node.a));
  const std::string_view text = record->written(static_cast<FieldId>(node.a));
  return text.empty() ? Value::missing() : Value{0, 0, text, State::Known};
}

namespace {

/// A duration in whole days as a quantity, or the joint state.
Value days(const Value& from, const Value& to) {
  const State state = p::joint(from, to);
  if (state != State::Known) return {0, 0, {}, state};
  return Value::quantity(p::days_between(from.number, to.number), dim::kTime);
}

/// Clock time from `from` to `to`: offsets count where both were written.
Value clock_time(const Value& from, const Value& to) {
  const State state = p::joint(from, to);
  if (state != State::Known) return {0, 0, {}, state};
  const Date a = unpack(from.number, from.aux);
  const Date b = unpack(to.number, to.aux);
  double seconds = to.number - from.number;
  if (a.has_offset && b.has_offset) seconds -= 60.0 * (b.offset_minutes - a.offset_minutes);
  return Value::quantity(seconds, dim::kTime);
}

/// The same, missing where one of the two does not say the time of day.
Value exact_time(const Value& from, const Value& to) {
  const auto tells = [](const Value& date) {
    return !date.known() || unpack(date.number, date.aux).precision > Precision::Day;
  };
  return tells(from) && tells(to) ? clock_time(from, to) : Value::missing();
}

}  // namespace

Value Scalar::work_out(const Node& node) {
  switch (node.op) {
    case Op::RecordField:
    case Op::RecordWritten:
    case Op::RecordWhen:
      return record_part(node);
    case Op::CurrentRecord:
      return {0, scope_.record_index, {}, scope_.record == nullptr ? State::Missing : State::Known};
    case Op::Engine:
      return engine_value(*this, static_cast<EngineValue>(node.a));
    case Op::Negate: {
      Value x = value(node.x);
      x.number = -x.number;
      return x;
    }
    case Op::Add:
    case Op::Subtract:
    case Op::Multiply:
    case Op::Divide:
    case Op::RoundNearest:
    case Op::RoundUp:
    case Op::RoundDown:
      return p::arithmetic(node.op, value(node.x), value(node.y));
    case Op::DaysBetween:
      return days(value(node.x), value(node.y));
    case Op::TimeSince: {
      if (node.y != kNoNode) return exact_time(value(node.x), value(node.y));
      const Value placed = facts_.block->value(facts_.lane, FieldId::OrderPlaced);
      return clock_time(value(node.x), placed.known() ? placed : facts_.today);
    }
    case Op::DateAfter:
      return p::date_after(value(node.x), value(node.y));
    case Op::KindOf:
      return p::kind_of(value(node.x));
    case Op::RegionOf:
      return p::region_of(program_, value(node.x));
    case Op::OrElse: {
      const Value x = value(node.x);
      return x.known() || x.state == State::Any ? x : value(node.y);
    }
    case Op::Choose: {
      const Truth condition = truth(node.x);
      if (condition == Truth::Unknown) return Value::missing();
      return value(condition == Truth::True ? node.y : node.z);
    }
    case Op::LookUp:
      return look_up(node);
    case Op::LookUpEvery:
      return look_up_every(node);
    case Op::Query:
      return query(node);
    default:
      return leaf(node);
  }
}

Truth Scalar::asked(const Node& node) {
  const Value x = value(node.x);
  if (node.op == Op::IsGiven) {
    if (x.state == State::Missing && node.a == 0) return Truth::Unknown;
    return p::truth(x.known() || x.state == State::Any);
  }
  if (node.op == Op::IsMissing) return p::truth(x.state == State::Missing);
  if (x.state == State::Missing) return Truth::Unknown;
  return p::truth(x.state == State::None);
}

Truth Scalar::logic(const Node& node) {
  const Truth x = truth(node.x);
  if (node.op == Op::Not) return p::negate(x);
  if (node.op == Op::And) return x == Truth::False ? x : p::both(x, truth(node.y));
  return x == Truth::True ? x : p::either(x, truth(node.y));
}

bool Scalar::is_true(NodeId id) {
  const Node& node = program_.nodes[id];
  if (node.scoped && node.op == Op::And) return is_true(node.x) && is_true(node.y);
  if (node.scoped && node.op == Op::Or) return is_true(node.x) || is_true(node.y);
  return truth(id) == Truth::True;
}

Truth Scalar::one_of(const Node& node) {
  const Value x = value(node.x);
  Truth any = Truth::False;
  for (const NodeId id : program_.lists[node.a]) {
    any = p::either(any, p::equal(program_.nodes[node.x].type, x, value(id)));
    if (any == Truth::True) return any;
  }
  return any;
}

Truth Scalar::matches(const Node& node) {
  const Value x = value(node.x);
  if (const auto t = p::by_state(x, x)) return *t;
  const std::string_view text = x.text;
  const Pattern& pattern = *program_.patterns[node.a];
  if (text.empty() || text.size() > Matched{}.text.size()) return p::truth(pattern.found_in(text));
  std::uint64_t hash = node.a + 1;
  for (const char c : text)
    hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001B3U;
  Matched& entry = matched_[(hash >> 20U) % kMatched];
  if (entry.pattern != node.a || std::string_view(entry.text.data(), entry.length) != text) {
    entry.pattern = node.a;
    entry.length = static_cast<std::uint8_t>(text.size());
    std::copy(text.begin(), text.end(), entry.text.begin());
    entry.found = pattern.found_in(text);
  }
  return p::truth(entry.found);
}

Truth Scalar::decide(const Node& node) {
  switch (node.op) {
    case Op::Less:
    case Op::LessEqual:
    case Op::Greater:
    case Op::GreaterEqual:
      return p::order(node.op, program_.nodes[node.x].type, value(node.x), value(node.y));
    case Op::Equal:
      return p::equal(program_.nodes[node.x].type, value(node.x), value(node.y));
    case Op::NotEqual:
      return p::negate(p::equal(program_.nodes[node.x].type, value(node.x), value(node.y)));
    case Op::Between: {
      const Value x = value(node.x);
      const Type type = program_.nodes[node.x].type;
      return p::both(p::order(Op::GreaterEqual, type, x, value(node.y)),
                     p::order(Op::LessEqual, type, x, value(node.z)));
    }
    case Op::DiffersByShare:
    case Op::DiffersByAmount:
      return p::differs(node.op, value(node.x), value(node.y), value(node.z));
    case Op::MultipleOf: {
      const Value x = value(node.x);
      const Value y = value(node.y);
      if (const auto t = p::by_state(x, y)) return *t;
      return p::same_kind(x.aux, y.aux) ? p::truth(p::is_multiple(x.number, y.number))
                                        : Truth::Unknown;
    }
    case Op::ThinnerThan:  // a higher gauge number is a thinner needle
      return p::order(Op::Greater, Type::Gauge, value(node.x), value(node.y));
    case Op::WiderThan:
      return p::order(Op::Less, Type::Gauge, value(node.x), value(node.y));
    case Op::IsOneOf:
      return one_of(node);
    case Op::SiteIn:
      return p::site_in(program_, value(node.x), value(node.y));
    case Op::Includes:
      return p::includes(value(node.x), value(node.y));
    case Op::Contains:
      return p::contains(value(node.x), value(node.y));
    case Op::Matches:
      return matches(node);
    case Op::IsGiven:
    case Op::IsMissing:
    case Op::IsNone:
      return asked(node);
    case Op::Not:
    case Op::And:
    case Op::Or:
      return logic(node);
    case Op::AnyRow:
      return any_row(node);
    case Op::AnyItem:
      return any_item(node);
    default:
      return Truth::Unknown;  // a value where a condition is needed: the compiler refuses it
  }
}

}  // namespace meniscus::engine
