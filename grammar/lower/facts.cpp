// Contract: see facts.hpp.
#include "grammar/lower/facts.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/quantity/quantity.hpp"

namespace meniscus::grammar {

using engine::kNoNode;
using engine::Node;
using engine::NodeId;
using engine::Op;
using engine::Type;
using engine::Word;

namespace {

/// As engine::compare(), for infinite ends too.
int compare(double a, double b) {
  if (std::isfinite(a) && std::isfinite(b)) return engine::compare(a, b);
  if (a < b) return -1;
  return a > b ? 1 : 0;
}

}  // namespace

bool Range::empty() const {
  const int order = compare(low, high);
  return order > 0 || (order == 0 && (low_open || high_open));
}

bool Range::within(const Range& other) const {
  const int least = compare(low, other.low);
  const int most = compare(high, other.high);
  return (least > 0 || (least == 0 && (low_open || !other.low_open))) &&
         (most < 0 || (most == 0 && (high_open || !other.high_open)));
}

Range Range::with(const Range& other) const {
  Range both = *this;
  const int least = compare(other.low, low);
  if (least > 0) both.low = other.low;
  if (least > 0) both.low_open = other.low_open;
  if (least == 0) both.low_open = low_open || other.low_open;
  const int most = compare(other.high, high);
  if (most < 0) both.high = other.high;
  if (most < 0) both.high_open = other.high_open;
  if (most == 0) both.high_open = high_open || other.high_open;
  return both;
}

namespace {

Range at_least(double low, bool open) {
  Range range;
  range.low = low;
  range.low_open = open;
  return range;
}

Range at_most(double high, bool open) {
  Range range;
  range.high = high;
  range.high_open = open;
  return range;
}

/// The numbers x for which `x OP number` holds; nothing for what is no comparison.
std::optional<Range> range_of(Op op, double number) {
  if (op == Op::Less || op == Op::WiderThan) return at_most(number, true);
  if (op == Op::LessEqual) return at_most(number, false);
  if (op == Op::Greater || op == Op::ThinnerThan) return at_least(number, true);
  if (op == Op::GreaterEqual) return at_least(number, false);
  if (op == Op::Equal || op == Op::NotEqual)
    return at_least(number, false).with(at_most(number, false));
  return std::nullopt;
}

/// `number OP x` as `x OP number`.
Op turned(Op op) {
  if (op == Op::Less) return Op::Greater;
  if (op == Op::LessEqual) return Op::GreaterEqual;
  if (op == Op::Greater) return Op::Less;
  if (op == Op::GreaterEqual) return Op::LessEqual;
  if (op == Op::ThinnerThan) return Op::WiderThan;
  if (op == Op::WiderThan) return Op::ThinnerThan;
  return op;
}

/// The numbers outside of a range, where they are one range too.
std::optional<Range> outside(const Range& range) {
  const bool below = compare(range.low, -std::numeric_limits<double>::infinity()) == 0;
  const bool above = compare(range.high, std::numeric_limits<double>::infinity()) == 0;
  if (below == above) return std::nullopt;
  return below ? at_least(range.high, !range.high_open) : at_most(range.low, !range.low_open);
}

std::optional<double> calculated(Op op, double x, double y) {
  if (op == Op::Add) return x + y;
  if (op == Op::Subtract) return engine::subtract(x, y);
  if (op == Op::Multiply) return x * y;
  if (op == Op::Divide && y != 0) return x / y;
  return std::nullopt;
}

bool is_word(Type type) { return type == Type::Word || type == Type::YesNo; }

}  // namespace

std::optional<Facts::Number> Facts::number(NodeId id) const {
  if (id == kNoNode) return std::nullopt;
  const Node& node = program_.nodes[id];
  const bool plain =
      node.type == Type::Quantity || node.type == Type::Gauge || node.type == Type::Date;
  if (!plain) return std::nullopt;
  const std::uint64_t by_type = node.type == Type::Quantity ? node.dimension.bits() : 0;
  if (node.op == Op::Constant || node.op == Op::Setting) return figure(node);
  const auto x = number(node.x);
  if (!x || node.varies) return std::nullopt;
  if (node.op == Op::Negate) return Number{-x->value, by_type};
  const auto y = number(node.y);
  const auto result = y ? calculated(node.op, x->value, y->value) : std::nullopt;
  return result ? std::optional(Number{*result, by_type}) : std::nullopt;
}

/// A constant, or a setting whose value may be taken as it is.
std::optional<Facts::Number> Facts::figure(const Node& node) const {
  if (node.op == Op::Setting && settings_ == Settings::Unknown) return std::nullopt;
  const engine::Value& value =
      node.op == Op::Constant ? program_.constants[node.a] : program_.settings[node.a].value;
  if (!value.known()) return std::nullopt;
  return Number{value.number, node.type == Type::Quantity ? value.aux : 0};
}

std::optional<Facts::Atom> Facts::number_atom(const Node& node) const {
  Atom atom;
  if (node.op == Op::Between) {
    const auto from = number(node.y);
    const auto to = number(node.z);
    if (!from || !to || number(node.x) || from->dimension != to->dimension) return std::nullopt;
    atom.subject = {node.x, from->dimension};
    atom.range = at_least(from->value, false).with(at_most(to->value, false));
    return atom;
  }
  if (!range_of(node.op, 0)) return std::nullopt;
  const auto left = number(node.x);
  const auto right = number(node.y);
  if (left.has_value() == right.has_value()) return std::nullopt;  // none, or nothing to know
  const Number& limit = left ? *left : *right;
  atom.subject = {left ? node.y : node.x, limit.dimension};
  atom.range = *range_of(left ? turned(node.op) : node.op, limit.value);
  atom.reversed = node.op == Op::NotEqual;
  return atom;
}

std::set<Word> Facts::sites_in(Word site) const {
  std::set<Word> all = {site};
  for (bool more = true; more;) {
    more = false;
    for (const auto& [below, parent] : program_.site_parent)
      more = (all.count(parent) > 0 && all.insert(below).second) || more;
  }
  return all;
}

/// A constant word; of yes and no 2 and 1.
std::optional<Word> Facts::word(NodeId id) const {
  const Node& side = program_.nodes[id];
  if (side.op != Op::Constant) return std::nullopt;
  const engine::Value& value = program_.constants[side.a];
  if (!value.known()) return std::nullopt;
  if (side.type != Type::YesNo) return value.aux;
  return value.number != 0 ? 2U : 1U;
}

std::optional<Facts::Atom> Facts::word_atom(const Node& node) const {
  Atom atom;
  atom.of_words = true;
  atom.subject = {node.x, 0};
  if (node.op == Op::IsOneOf) {
    for (const NodeId each : program_.lists[node.a]) {
      const auto choice = word(each);
      if (!choice) return std::nullopt;
      atom.words.insert(*choice);
    }
    return atom;
  }
  const auto right = word(node.y);
  if (word(node.x) || !right) return std::nullopt;
  if (node.op == Op::SiteIn) {
    if (program_.site_parent.empty()) return std::nullopt;
    atom.words = sites_in(*right);
    return atom;
  }
  if (node.op != Op::Equal && node.op != Op::NotEqual) return std::nullopt;
  atom.words.insert(*right);
  atom.reversed = node.op == Op::NotEqual;
  return atom;
}

std::optional<Facts::Atom> Facts::atom(NodeId id) const {
  const Node& node = program_.nodes[id];
  if (node.x == kNoNode) return std::nullopt;
  const Type type = program_.nodes[node.x].type;
  const bool words = node.op == Op::IsOneOf || node.op == Op::SiteIn || is_word(type);
  if (words)
    return is_word(type) && (node.op == Op::IsOneOf || node.y != kNoNode) ? word_atom(node)
                                                                          : std::nullopt;
  return node.y == kNoNode ? std::nullopt : number_atom(node);
}

Facts::Known Facts::known(const Subject& subject) const {
  const auto at = known_.find(subject);
  if (at != known_.end()) return at->second;
  Known known;
  const Node& node = program_.nodes[subject.first];
  const bool of_order = node.op == Op::Field || node.op == Op::RecordField ||
                        node.op == Op::ItemPart || node.op == Op::Engine;
  if (of_order && node.type == Type::Quantity) known.range.low = 0;  // a reader takes no other
  if (node.type == Type::YesNo) known.words = std::set<Word>{1, 2};
  const bool closed = node.op == Op::Field || node.op == Op::RecordField;
  if (!closed || node.type != Type::Word) return known;
  const engine::Vocabulary& vocabulary = program_.vocabularies[node.a];
  if (vocabulary.empty()) return known;
  known.words.emplace();
  for (const auto& [spelling, entry] : vocabulary.entries())
    known.words->insert(entry.word);
  return known;
}

std::optional<bool> Facts::decide_atom(const Atom& atom, const Known& known) const {
  if (!atom.of_words) {
    if (known.range.within(atom.range)) return !atom.reversed;
    if (known.range.with(atom.range).empty()) return atom.reversed;
    return std::nullopt;
  }
  if (!known.words) {
    const bool none = std::all_of(atom.words.begin(), atom.words.end(),
                                  [&](Word word) { return known.not_words.count(word) > 0; });
    return none ? std::optional<bool>(atom.reversed) : std::nullopt;
  }
  const auto in = std::count_if(known.words->begin(), known.words->end(),
                                [&](Word word) { return atom.words.count(word) > 0; });
  if (in == 0) return atom.reversed;
  if (static_cast<std::size_t>(in) == known.words->size()) return !atom.reversed;
  return std::nullopt;
}

std::optional<bool> Facts::decide_given(const Node& node) const {
  for (const auto& [subject, known] : known_)
    if (subject.first == node.x && known.given) return node.op == Op::IsGiven;
  if (node.op == Op::IsGiven && absent_.count(node.x) > 0) return false;
  return std::nullopt;
}

std::optional<bool> Facts::decide(NodeId id, bool as_if_given) const {
  if (id == kNoNode) return std::nullopt;
  const Node& node = program_.nodes[id];
  if (node.op == Op::Not) {
    const auto inner = decide(node.x, as_if_given);
    return inner ? std::optional<bool>(!*inner) : std::nullopt;
  }
  if (node.op == Op::And || node.op == Op::Or) {
    const bool decisive = node.op == Op::Or;
    const auto x = decide(node.x, as_if_given);
    const auto y = decide(node.y, as_if_given);
    if (x == decisive || y == decisive) return decisive;
    return x && y ? std::optional<bool>(!decisive) : std::nullopt;
  }
  if (node.op == Op::IsGiven || node.op == Op::IsMissing) return decide_given(node);
  const auto comparison = atom(id);
  if (!comparison) return std::nullopt;
  const Known about = known(comparison->subject);
  if (!as_if_given && !about.given) return std::nullopt;
  return decide_atom(*comparison, about);
}

bool Facts::fail(NodeId node, NodeId other) {
  clash_ = {node, other};
  return false;
}

bool Facts::both(const Node& node, Claim claim) {
  return assume(node.x, claim) && assume(node.y, claim);
}

/// One of the two sides is so; which one is known where the other one cannot be.
bool Facts::either(const Node& node, Claim claim) {
  const bool wanted = claim == Claim::Holds || claim == Claim::NotFailed;
  if (decide(node.x) == !wanted) return assume(node.y, claim);
  if (decide(node.y) == !wanted) return assume(node.x, claim);
  return true;
}

bool Facts::assume(NodeId id, Claim claim) {
  if (id == kNoNode) return true;
  const Node& node = program_.nodes[id];
  const bool holds = claim == Claim::Holds || claim == Claim::NotFailed;
  if (node.op == Op::Not) {
    static constexpr Claim kReverse[] = {Claim::Fails, Claim::Holds, Claim::NotFailed,
                                         Claim::NotHeld};
    return assume(node.x, kReverse[static_cast<std::size_t>(claim)]);
  }
  if (node.op == Op::And) return holds ? both(node, claim) : either(node, claim);
  if (node.op == Op::Or) return holds ? either(node, claim) : both(node, claim);
  if (node.op == Op::IsGiven) return assume_given(node.x, id, holds);
  if (node.op == Op::IsMissing) return holds ? assume_given(node.x, id, false) : true;
  if (node.op == Op::IsNone) return holds ? assume_given(node.x, id, false) : true;
  const auto comparison = atom(id);
  return comparison ? assume_atom(id, *comparison, claim) : true;
}

bool Facts::assume_given(NodeId value, NodeId node, bool given) {
  if (!given) {
    absent_.emplace(value, node);
    for (const auto& [subject, known] : known_) {
      if (subject.first != value || !known.given) continue;
      const NodeId by = known.low_by != kNoNode ? known.low_by : known.high_by;
      return fail(node, by != kNoNode ? by : known.words_by);
    }
    return true;
  }
  const auto absent = absent_.find(value);
  return absent == absent_.end() ? true : fail(node, absent->second);
}

bool Facts::narrow(NodeId node, const Atom& atom, bool inside, Known& known) {
  return atom.of_words ? narrow_words(node, atom, inside, known)
                       : narrow_range(node, atom, inside, known);
}

bool Facts::narrow_range(NodeId node, const Atom& atom, bool inside, Known& known) {
  const auto range = inside ? std::optional<Range>(atom.range) : outside(atom.range);
  if (!range) return true;
  const Range both = known.range.with(*range);
  const bool low = compare(both.low, known.range.low) != 0 || both.low_open != known.range.low_open;
  const bool high =
      compare(both.high, known.range.high) != 0 || both.high_open != known.range.high_open;
  const NodeId other = low ? known.high_by : known.low_by;
  known.range = both;
  if (low) known.low_by = node;
  if (high) known.high_by = node;
  if (!known.given || !both.empty()) return true;
  return fail(node, other == node ? kNoNode : other);
}

bool Facts::narrow_words(NodeId node, const Atom& atom, bool inside, Known& known) {
  const NodeId other = std::exchange(known.words_by, node);
  if (!inside) known.not_words.insert(atom.words.begin(), atom.words.end());
  if (inside && !known.words) known.words = atom.words;
  if (!known.words) return true;
  std::set<Word> left;
  for (const Word word : *known.words) {
    const bool named = atom.words.count(word) > 0;
    if (named == inside && known.not_words.count(word) == 0) left.insert(word);
  }
  known.words = std::move(left);
  return !known.given || !known.words->empty() || fail(node, other);
}

bool Facts::assume_atom(NodeId node, const Atom& atom, Claim claim) {
  Known about = known(atom.subject);
  const bool certain = claim == Claim::Holds || claim == Claim::Fails;
  if (certain) {
    const auto absent = absent_.find(atom.subject.first);
    if (absent != absent_.end()) return fail(node, absent->second);
    about.given = true;
  }
  const bool holds = claim == Claim::Holds || claim == Claim::NotFailed;
  const auto decided = decide_atom(atom, about);
  bool good = narrow(node, atom, holds != atom.reversed, about);
  if (good && about.given && decided == !holds) {
    const NodeId by = about.low_by != kNoNode ? about.low_by : about.high_by;
    good = fail(node, by != kNoNode ? by : about.words_by);
  }
  known_[atom.subject] = std::move(about);
  return good;
}

std::optional<std::size_t> hidden_by(const engine::Program& program, const engine::Rule& rule,
                                     std::size_t clause, Facts::Settings settings) {
  Facts facts(program, settings);
  // What can never hold at all is another mistake.
  if (!facts.assume(rule.concerns, Claim::Holds)) return std::nullopt;
  if (!facts.assume(rule.clauses[clause].when, Claim::Holds)) return std::nullopt;
  for (std::size_t above = 0; above < clause; ++above) {
    if (!facts.assume(rule.clauses[above].when, Claim::NotHeld)) return above;
  }
  return std::nullopt;
}

}  // namespace meniscus::grammar
