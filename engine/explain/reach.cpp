// Secants to the limit, and neighbours that people would write (contract: reach.hpp).
#include "engine/explain/reach.hpp"

#include <algorithm>
#include <cmath>

#include "engine/eval/primitives.hpp"
#include "engine/slips/value_text.hpp"

namespace meniscus::engine {
namespace {

constexpr double kDay = 86400;
constexpr int kMostSteps = 24;
constexpr double kNeighbour = 0.05;  // trial values stand about this far from a limit

bool is_date(FieldId field) {
  const FieldKind kind = info(field).kind;
  return kind == FieldKind::Date || kind == FieldKind::MonthEnd;
}
bool is_number(FieldId field) {
  const FieldKind kind = info(field).kind;
  return kind == FieldKind::Quantity || kind == FieldKind::Amount || kind == FieldKind::Strength ||
         kind == FieldKind::AmountPerBodyMass || kind == FieldKind::Count ||
         kind == FieldKind::Gauge || is_date(field);
}
bool is_word(FieldId field) {
  const FieldKind kind = info(field).kind;
  return kind == FieldKind::Word || kind == FieldKind::Code || kind == FieldKind::YesNo;
}
bool is_whole(FieldId field) {
  return info(field).kind == FieldKind::Count || info(field).kind == FieldKind::Gauge;
}

Value with_number(FieldId field, const Value& like, double number) {
  if (!is_date(field)) {
    Value value = like;
    value.number = number;
    value.text = {};
    return value;
  }
  Date date = unpack(like.number, like.aux);
  date.seconds = static_cast<std::int64_t>(std::floor(number / kDay) * kDay);
  date.precision = Precision::Day;
  date.has_offset = false;
  return Value::date(date);
}

/// The step in which a person would write a number of this size: a power of ten.
double written_step(double number) {
  if (number == 0) return 1;
  return std::pow(10.0, std::floor(std::log10(std::fabs(number) * kNeighbour)));
}

/// An age that was worked out is said in years.
std::string_view unit_of(FieldId field) {
  return field == FieldId::PatientAge ? std::string_view("1 years") : std::string_view();
}

/// What the left side of a comparison must be to stand at one of its limits.
std::optional<double> where_it_meets(Op op, int limit, double y, std::optional<double> z) {
  switch (op) {
    case Op::Less:
    case Op::LessEqual:
    case Op::Greater:
    case Op::GreaterEqual:
    case Op::Equal:
    case Op::NotEqual:
    case Op::ThinnerThan:
    case Op::WiderThan:
      return limit == 0 ? std::optional<double>(y) : std::nullopt;
    case Op::Between:
      if (limit == 2) return std::nullopt;
      return limit == 0 ? y : z;
    case Op::DiffersByShare:
    case Op::DiffersByAmount: {
      if (limit == 2) return y;
      if (!z) return std::nullopt;
      const double room = op == Op::DiffersByShare ? *z * std::fabs(y) : *z;
      return limit == 0 ? y + room : y - room;
    }
    default:  // other conditions have no sides that meet
      return std::nullopt;
  }
}

}  // namespace

Reach::Reach(const Program& program, const Days& days)
    : program_(program),
      dependence_(program),
      fields_(slips::fields_by_node(program)),
      trial_(dependence_, days),
      scalar_(program) {}

const OrderFacts& Reach::stand(const OrderFacts& order, FieldId field, const Value& value) {
  slips::Candidate candidate;
  candidate.count = 1;
  candidate.changes[0] = {field, value};
  trial_.fill(order, {&candidate, 1}, dependence_.any);
  if (dependence_.written.test(index(field))) trial_.write_text(0, candidate);
  return trial_.facts()[0];
}

const OrderFacts& Reach::trial(const OrderFacts& order, const Reached& reached) {
  return stand(order, reached.field, reached.value);
}

std::optional<double> Reach::side(NodeId node, Type type) {
  if (node == kNoNode) return std::nullopt;
  const Value value = scalar_.value(node);
  if (!value.known()) return std::nullopt;
  return type == Type::Date ? std::floor(value.number / kDay) * kDay : value.number;
}

std::optional<double> Reach::gap(NodeId id, int limit) {
  const Node& node = program_.nodes[id];
  if (node.x == kNoNode || node.y == kNoNode) return std::nullopt;
  const Type type = program_.nodes[node.x].type;
  if (type != Type::Quantity && type != Type::Gauge && type != Type::Date) return std::nullopt;
  const auto x = side(node.x, type);
  const auto y = side(node.y, type);
  if (!x || !y) return std::nullopt;
  const auto meets = where_it_meets(node.op, limit, *y, side(node.z, type));
  return meets ? std::optional<double>(subtract(*x, *meets)) : std::nullopt;
}

std::optional<double> Reach::gap_at(const OrderFacts& order, NodeId node, FieldId field, int limit,
                                    double number) {
  const Value value = order.block->value(order.lane, field);
  scalar_.begin(stand(order, field, with_number(field, value, number)));
  return gap(node, limit);
}

std::optional<double> Reach::meet(const OrderFacts& order, NodeId node, FieldId field, int limit) {
  double a = order.block->value(order.lane, field).number;
  const double least = is_date(field) ? kDay : is_whole(field) ? 1 : std::fabs(a) * 0.01;
  double b = a + (least == 0 ? 1 : least);
  auto at_a = gap_at(order, node, field, limit, a);
  auto at_b = gap_at(order, node, field, limit, b);
  for (int step = 0; step < kMostSteps && at_a && at_b; ++step) {
    if (*at_b == 0) return b;
    if (*at_a == 0) return a;
    if (*at_a == *at_b) return std::nullopt;  // it does not depend on the field here
    double next = b - *at_b * (b - a) / (*at_b - *at_a);
    if (!std::isfinite(next)) return std::nullopt;
    if (is_date(field)) next = std::round(next / kDay) * kDay;
    if (next == b) return b;  // between two days
    a = b;
    at_a = at_b;
    b = next;
    at_b = gap_at(order, node, field, limit, b);
  }
  return std::nullopt;
}

void Reach::add(const OrderFacts& order, FieldId field, const Value& value,
                std::vector<Reached>& out) {
  const Value now = order.block->value(order.lane, field);
  if (slips::same_value(now, value)) return;
  const auto same = [&](const Reached& other) {
    return other.field == field && slips::same_value(other.value, value);
  };
  if (std::any_of(out.begin(), out.end(), same)) return;
  Reached reached;
  reached.field = field;
  reached.value = value;
  const std::string_view written = order.block->written(order.lane, field);
  const std::string_view like = written.empty() ? unit_of(field) : written;
  slips::write_value(field, value, like, {}, reached.text);
  reached.before = written;
  if (written.empty() || written.front() == '{') {
    slips::write_value(field, now, like, {}, reached.before);
  }
  const double scale = std::fmax(std::fabs(now.number), std::fabs(value.number));
  reached.size =
      is_word(field) ? 1 : std::fabs(value.number - now.number) / (scale == 0 ? 1 : scale);
  if (is_date(field)) reached.size = std::fabs(value.number - now.number) / (365 * kDay);
  out.push_back(std::move(reached));
}

void Reach::add_numbers(const OrderFacts& order, NodeId node, FieldId field,
                        std::vector<Reached>& out) {
  const Value now = order.block->value(order.lane, field);
  for (const int limit : {0, 1, 2}) {
    const auto root = meet(order, node, field, limit);
    if (!root || (*root <= 0 && !is_date(field))) continue;
    if (is_date(field)) {
      for (const double days : {0.0, -1.0, 1.0})
        add(order, field, with_number(field, now, *root + days * kDay), out);
    } else {
      add_neighbours(order, field, *root, out);
    }
  }
}

void Reach::add_neighbours(const OrderFacts& order, FieldId field, double root,
                           std::vector<Reached>& out) {
  const Value now = order.block->value(order.lane, field);
  const std::string_view written = order.block->written(order.lane, field);
  const bool whole = is_whole(field);
  const double factor =
      whole ? 1 : slips::measure(now, written.empty() ? unit_of(field) : written).factor;
  const double number = root / factor;
  const double step = whole ? 1 : written_step(number);
  const double steps = number / step;
  const bool on_step = primitives::is_multiple(number, step);
  const double below = on_step ? std::round(steps) - 1 : std::floor(steps);
  const double above = on_step ? std::round(steps) + 1 : std::ceil(steps);
  if (!whole || on_step) add(order, field, with_number(field, now, root), out);
  if (below * step > 0) add(order, field, with_number(field, now, below * step * factor), out);
  add(order, field, with_number(field, now, above * step * factor), out);
}

void Reach::add_words(const OrderFacts& order, NodeId node, std::vector<Reached>& out) {
  const Node& n = program_.nodes[node];
  const bool asks =
      n.op == Op::Equal || n.op == Op::NotEqual || n.op == Op::IsOneOf || n.op == Op::SiteIn;
  if (!asks || program_.nodes[n.x].op != Op::Field) return;
  const auto field = static_cast<FieldId>(program_.nodes[n.x].a);
  if (!is_word(field)) return;
  std::vector<NodeId> wanted;
  if (n.op == Op::IsOneOf) {
    wanted = program_.lists[n.a];
  } else {
    wanted.push_back(n.y);
  }
  scalar_.begin(order);
  std::vector<Value> values;
  for (const NodeId side : wanted)
    if (!program_.nodes[side].scoped) values.push_back(scalar_.value(side));
  for (const Value& value : values)
    if (value.known()) add(order, field, value, out);
}

std::vector<Reached> Reach::around(const OrderFacts& order, NodeId node) {
  std::vector<Reached> out;
  for (const FieldInfo& field : fields()) {
    const bool asked = fields_[node].test(index(field.id)) && is_number(field.id) &&
                       !field.name.starts_with("stated.");
    if (asked && order.block->value(order.lane, field.id).known()) {
      add_numbers(order, node, field.id, out);
    }
  }
  add_words(order, node, out);
  std::stable_sort(out.begin(), out.end(),
                   [](const Reached& a, const Reached& b) { return a.size < b.size; });
  return out;
}

}  // namespace meniscus::engine
