// The inputs of nodes, and their keys (contract: recall.hpp).
#include "engine/eval/recall.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <span>
#include <tuple>

#include "engine/eval/engine_value.hpp"
#include "engine/eval/lanes.hpp"

namespace meniscus::engine {
namespace {

using Kind = RecallInput::Kind;
using Source = RecallInput::Source;

constexpr std::size_t kMostEdges = 64;

Kind kind_of(Type type) {
  switch (type) {
    case Type::Truth:
      return Kind::Truth;
    case Type::Gauge:
    case Type::YesNo:
      return Kind::Number;
    case Type::Word:
      return Kind::Word;
    case Type::Text:
      return Kind::Text;
    case Type::Texts:
    case Type::Items:
      return Kind::List;
    case Type::Quantity:
    case Type::Date:
    case Type::Band:
    case Type::Record:
      return Kind::Quantity;
  }
  return Kind::Quantity;
}

Kind kind_of(FieldKind kind) {
  switch (kind) {
    case FieldKind::Id:
    case FieldKind::Code:
    case FieldKind::Word:
      return Kind::Word;
    case FieldKind::Text:
      return Kind::Text;
    case FieldKind::Gauge:
    case FieldKind::YesNo:
      return Kind::Number;
    case FieldKind::Words:
    case FieldKind::Components:
    case FieldKind::Steps:
    case FieldKind::Sites:
      return Kind::List;
    case FieldKind::Quantity:
    case FieldKind::Amount:
    case FieldKind::Strength:
    case FieldKind::AmountPerBodyMass:
    case FieldKind::Count:
    case FieldKind::Date:
    case FieldKind::MonthEnd:
      return Kind::Quantity;
  }
  return Kind::Quantity;
}

/// Walks what a node works out by itself and notes what stands outside of it.
class Frontier {
 public:
  explicit Frontier(const Program& program) : program_(program) {}

  bool walk(NodeId root) {
    inside(program_.nodes[root], kNoTable);
    return possible_ && inputs_.size() <= RecallKeys::kMostInputs;
  }

  std::vector<RecallInput> take() {
    std::sort(inputs_.begin(), inputs_.end(), [](const RecallInput& a, const RecallInput& b) {
      return std::tie(a.source, a.id, a.edges) < std::tie(b.source, b.id, b.edges);
    });
    return std::move(inputs_);
  }

 private:
  static constexpr std::uint32_t kNoTable = 0xFFFFFFFF;

  void visit(NodeId id, std::uint32_t table) {
    if (id == kNoNode || !possible_) return;
    const Node& node = program_.nodes[id];
    if (node.scoped) return inside(node, table);
    outside(id, {});
  }

  void outside(NodeId id, std::vector<double> edges) {
    const Node& node = program_.nodes[id];
    if (node.op == Op::Constant || node.op == Op::Setting) return;
    if (node.op == Op::Written) return add({Source::Written, node.a, Kind::Text, {}});
    if (node.op == Op::Field) {
      return add({Source::Field, node.a, edges.empty() ? kind_of(node.type) : Kind::Band,
                  std::move(edges)});
    }
    // Columns carry neither texts nor lists of other nodes; a text depends on what it is made of.
    if (node.type == Type::Text) return inside(node, kNoTable);
    if (kind_of(node.type) == Kind::List || node.type == Type::Record) {
      possible_ = false;
      return;
    }
    add({Source::Node, id, edges.empty() ? kind_of(node.type) : Kind::Band, std::move(edges)});
  }

  void add(RecallInput input) {
    if (std::find(inputs_.begin(), inputs_.end(), input) == inputs_.end()) {
      inputs_.push_back(std::move(input));
    }
  }

  void look_up(const LookUp& lookup) {
    visit(lookup.where, lookup.table);
    visit(lookup.otherwise, kNoTable);
  }

  /// `row.C includes X`: only the band of X counts.
  bool band(const Node& node, std::uint32_t table) {
    if (node.op != Op::Includes || table == kNoTable) return false;
    const Node& cell = program_.nodes[node.x];
    if (cell.op != Op::RowCell || program_.nodes[node.y].scoped) return false;
    std::vector<double> edges;
    const Table& rows = program_.tables[table];
    for (std::size_t row = 0; row < rows.rows(); ++row) {
      const Value& value = rows.cell(row, cell.a);
      if (!value.known()) continue;
      for (const double edge : {value.number, band_end(value)}) {
        if (std::isfinite(edge)) edges.push_back(edge);
      }
    }
    std::sort(edges.begin(), edges.end());
    edges.erase(std::unique(edges.begin(), edges.end()), edges.end());
    if (edges.empty() || edges.size() > kMostEdges) return false;
    outside(node.y, std::move(edges));
    return true;
  }

  void inside(const Node& node, std::uint32_t table) {
    if (node.op == Op::Query || node.op == Op::CurrentRecord) {
      possible_ = false;
      return;
    }
    if (node.op == Op::Engine) {
      const std::span<const FieldId> reads = engine_value_reads(static_cast<EngineValue>(node.a));
      possible_ = possible_ && !reads.empty();
      for (const FieldId field : reads) {
        add({Source::Field, static_cast<std::uint32_t>(field), kind_of(info(field).kind), {}});
      }
      return;
    }
    if (node.op == Op::LookUp || node.op == Op::LookUpEvery || node.op == Op::AnyRow) {
      return look_up(program_.lookups[node.a]);
    }
    if (band(node, table)) return;
    if (node.op == Op::IsOneOf) {
      for (const NodeId id : program_.lists[node.a])
        visit(id, table);
    }
    visit(node.x, table);
    visit(node.y, table);
    visit(node.z, table);
  }

  const Program& program_;
  bool possible_ = true;
  std::vector<RecallInput> inputs_;
};

}  // namespace

std::optional<std::vector<RecallInput>> recall_inputs(const Program& program, NodeId id) {
  const Node& node = program.nodes[id];
  if (node.scoped) return std::nullopt;
  Frontier frontier(program);
  if (!frontier.walk(id)) return std::nullopt;
  return frontier.take();
}

bool InputCodes::begin() {
  done_ = 0;
  without_ = 0;
  if (next_ < kMostCodes) return false;
  forget();
  return true;
}

void InputCodes::forget() {
  values_.clear();
  recent_ = {};
  next_ = kFirst;
}

/// Null when no code is left, or the hash is another value's.
const InputCodes::Value* InputCodes::find(std::uint64_t word, std::uint64_t more) {
  const std::uint64_t hash = word ^ (more * 0xD6E8FEB86659FD93U);
  Value& value = values_.find_or_add(hash == 0 ? 1 : hash);
  if (value.code == 0 && next_ < kMostCodes) value = {word, more, next_++};
  return value.code == 0 || value.word != word || value.more != more ? nullptr : &value;
}

std::uint64_t RecallKeys::hash(const Key& key) const {
  std::uint64_t result = hash(key[0]);
  for (std::size_t i = 1; i < kWords && inputs_.size() > 4; ++i)
    result = hash((result ^ result >> 32U) ^ key.at(i));
  return result;
}

bool RecallKeys::has(std::size_t slot, const Key& key) const {
  const Used& used = used_[slot];
  return used.turn != 0 && used.first == key[0] && (more_.empty() || more_[slot] == key);
}

/// Slots in plenty cost memory in every program; too few make the same things be worked out again.
void RecallKeys::make_room() {
  constexpr std::size_t kFew = 16;  // times 4, and again, is kSlots
  const std::size_t before = used_.size();
  if (before == 0) {
    used_.resize(kFew);
  } else if (before < kSlots && ++driven_out_ > before / 2) {
    std::vector<Used> fresh(before * 4);
    used_.swap(fresh);  // every key has a new slot, and what was found for it is found again
    driven_out_ = 0;
  }
  if (inputs_.size() > 4) more_.resize(used_.size());
}

void RecallKeys::settle_lane(unsigned lane, const Key& key) {
  std::size_t slot = slot_of(hash(key));
  if (!has(slot, key)) {
    if (used_[slot].turn != 0) make_room();
    slot = slot_of(hash(key));
    used_[slot] = {key[0], ++turns_, 0, 0};
    if (!more_.empty()) more_[slot] = key;
  }
  Used& used = used_[slot];
  if (used.block != block_) {
    used.block = block_;
    used.group = static_cast<std::uint32_t>(group_count_);
    groups_.at(group_count_++) = {0, used.turn, static_cast<std::uint16_t>(slot)};
  }
  groups_.at(used.group).lanes |= Lanes{1} << lane;
}

void RecallKeys::settle(const std::vector<InputCodes>& codes, Lanes lanes) {
  if (used_.empty()) make_room();
  // Word by word and for all lanes at once: a loop that the compiler can turn into vector code.
  const auto end = static_cast<unsigned>(kLanes - std::countl_zero(lanes));
  std::array<std::array<std::uint64_t, kLanes>, kWords> words;
  for (std::size_t word = 0; word < kWords && word * 4 < inputs_.size(); ++word)
    std::fill_n(words.at(word).begin(), end, 0);
  for (std::size_t i = 0; i < inputs_.size(); ++i) {
    const InputCodes& input = codes[inputs_[i]];
    without_ |= input.without() & lanes;
    const std::array<InputCodes::Code, kLanes>& code = input.codes();
    std::array<std::uint64_t, kLanes>& word = words.at(i / 4);
    const std::size_t shift = 16 * (i % 4);
    for (unsigned lane = 0; lane < end; ++lane)
      word[lane] |= std::uint64_t{code[lane]} << shift;
  }
  done_ |= lanes;
  lanes &= ~without_;
  if (inputs_.size() <= 4) {
    each_lane(lanes, [&](unsigned lane) {
      const std::uint64_t key = words[0][lane];
      // Nearly always the key has come in this block before.
      const Used& used = used_[slot_of(hash(key))];
      if (used.first != key || used.block != block_) return settle_lane(lane, {key});
      groups_[used.group].lanes |= Lanes{1} << lane;
    });
    return;
  }
  for (std::size_t word = (inputs_.size() + 3) / 4; word < kWords; ++word)
    std::fill_n(words.at(word).begin(), end, 0);
  each_lane(lanes, [&](unsigned lane) {
    settle_lane(lane, {words[0][lane], words[1][lane], words[2][lane]});
  });
}

}  // namespace meniscus::engine
