// Contract: see record_truths.hpp.
#include "engine/eval/record_truths.hpp"

#include <algorithm>

namespace meniscus::engine {

namespace {

/// Walks a condition and notes the words that it reads.
class Reads {
 public:
  explicit Reads(const Program& program) : program_(program) {}

  /// False where it reads something else.
  bool walk(NodeId id) {
    if (id == kNoNode) return true;
    const Node& node = program_.nodes[id];
    switch (node.op) {
      case Op::Constant:
      case Op::Setting:
      case Op::RowCell:
        return true;
      case Op::Field:
      case Op::RecordField:
        return node.type == Type::Word && field(node, false);
      case Op::LookUp:
      case Op::AnyRow: {
        const LookUp& lookup = program_.lookups[node.a];
        return walk(lookup.where) && walk(lookup.otherwise);
      }
      case Op::IsOneOf:
        return walk(node.x) && std::ranges::all_of(program_.lists[node.a],
                                                   [this](NodeId item) { return walk(item); });
      case Op::IsGiven:
      case Op::IsMissing:
      case Op::IsNone:
        return field(program_.nodes[node.x], true) || walk(node.x);
      case Op::RegionOf:
      case Op::SiteIn:
      case Op::Equal:
      case Op::NotEqual:
      case Op::Not:
      case Op::And:
      case Op::Or:
        return walk(node.x) && walk(node.y);
      default:  // whatever else a condition can ask
        return false;
    }
  }

  RecordTruths::Inputs take() { return std::move(inputs_); }

 private:
  /// Notes a field of the order or of the record; false for any other node.
  bool field(const Node& node, bool only_state) {
    const bool of_record = node.op == Op::RecordField;
    if (of_record ? program_.nodes[node.x].op != Op::CurrentRecord : node.op != Op::Field)
      return false;
    std::vector<RecordTruths::Input>& inputs = of_record ? inputs_.record : inputs_.order;
    const auto id = static_cast<FieldId>(node.a);
    const auto same = [id](const RecordTruths::Input& input) { return input.field == id; };
    const auto at = std::ranges::find_if(inputs, same);
    if (at == inputs.end()) {
      inputs.push_back({id, only_state});
    } else {
      at->only_state = at->only_state && only_state;  // a word comes with its state
    }
    return inputs_.order.size() + inputs_.record.size() <= RecordTruths::kMostWords;
  }

  const Program& program_;
  RecordTruths::Inputs inputs_;
};

}  // namespace

std::optional<RecordTruths::Inputs> RecordTruths::inputs(const Program& program, NodeId where) {
  if (where == kNoNode) return std::nullopt;
  Reads reads(program);
  if (!reads.walk(where)) return std::nullopt;
  return reads.take();
}

void RecordTruths::Key::add(const Value& value, bool only_state) {
  states |= (static_cast<std::uint64_t>(value.state) + 1) << 8U * size;
  const bool word = !only_state && value.known();
  words.at(size++) = word ? value.aux : kNoWord;
  whole = whole && (!word || value.aux != kNoWord);
}

RecordTruths::Key RecordTruths::begin(NodeId condition, const Inputs& inputs,
                                      const OrderBlock& block, unsigned lane) {
  Key key;
  key.condition = condition + 1;
  for (const Input& input : inputs.order)
    key.add(block.value(lane, input.field), input.only_state);
  key.order_size = key.size;
  key.order_whole = key.whole;
  key.order_states = key.states;
  return key;
}

void RecordTruths::complete(Key& key, const Inputs& inputs, const HistoryRecord& record) {
  key.size = key.order_size;
  key.whole = key.order_whole;
  key.states = key.order_states;
  for (const Input& input : inputs.record)
    key.add(record.value(input.field), input.only_state);
}

std::size_t RecordTruths::slot(const Key& key) {
  std::uint64_t hash = key.states ^ key.condition * 0x9E3779B97F4A7C15U;
  for (std::size_t i = 0; i < key.size; ++i)
    hash = (hash ^ key.words[i]) * 0xD6E8FEB86659FD93U;
  return (hash >> 32U) % kKept;
}

}  // namespace meniscus::engine
