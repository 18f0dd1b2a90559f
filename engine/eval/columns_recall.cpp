// Table searches, text, lists and mechanics over columns: asked of the tree walk once for each set
// of inputs (recall.hpp).
#include "engine/eval/columns.hpp"
#include "engine/eval/lanes.hpp"
#include "engine/eval/primitives.hpp"

namespace meniscus::engine {

namespace {

using Kind = RecallInput::Kind;
using Source = RecallInput::Source;

/// Costs more than to look it up by its inputs.
bool worth_remembering(const Program& program, const Node& node) {
  switch (node.op) {
    case Op::LookUp:
    case Op::LookUpEvery:
    case Op::AnyRow:
    case Op::AnyItem:
    case Op::Engine:
    case Op::RegionOf:
    case Op::SiteIn:
    case Op::Includes:
    case Op::Contains:
    case Op::Matches:
      return true;
    case Op::Equal:
    case Op::NotEqual:
    case Op::IsOneOf:
      return program.nodes[node.x].type == Type::Text;
    default:  // cheaper than a key
      return false;
  }
}

/// The bands that a number stands in, by the edges that are not above it.
std::uint64_t band_of(const std::vector<double>& edges, double number) {
  std::uint64_t bits = 0;
  for (std::size_t i = 0; i < edges.size(); ++i)
    bits |= static_cast<std::uint64_t>(!below(number, edges[i])) << i;
  return bits;
}

}  // namespace

void Columns::plan_recall() {
  recall_slot_.assign(program_.nodes.size(), 0);
  for (NodeId id = 0; id < program_.nodes.size(); ++id) {
    if (!worth_remembering(program_, program_.nodes[id])) continue;
    auto inputs = recall_inputs(program_, id);
    if (!inputs) continue;
    std::uint32_t keys = 0;
    while (keys < keys_.size() && keys_[keys].inputs() != *inputs)
      ++keys;
    if (keys == keys_.size()) keys_.emplace_back(std::move(*inputs));
    recalls_.push_back({keys, std::vector<RecallAnswers::Answer>(kRecallSlots)});
    recall_slot_[id] = static_cast<std::uint32_t>(recalls_.size());
  }
}

/// Numbers the texts of `lanes`; gives back the lanes whose text has none.
Lanes Columns::fill_text(const RecallInput& input, std::array<std::uint64_t, kLanes>& words,
                         std::array<std::uint64_t, kLanes>& states, std::size_t number,
                         Lanes lanes) {
  const auto field = static_cast<FieldId>(input.id);
  const bool written = input.source == Source::Written;
  const OrderBlock::Column& column = block_->column(field);
  TextColumn& texts = texts_[2 * index(field) + (written ? 1 : 0)];
  Lanes without = 0;
  const auto& from = written ? column.written : column.text;
  Lanes there = lanes & (written ? column.present : column.known);
  if (written) there = select(there, [&](unsigned i) { return !from[i].empty(); });
  each_lane(there & ~texts.done, [&](unsigned i) { texts.id[i] = text_ids_.id(from[i]); });
  texts.done |= there;
  each_lane(lanes, [&](unsigned i) {
    const Lanes bit = Lanes{1} << i;
    const bool known = (there & bit) != 0;
    words[i] = known ? texts.id[i] : 0;
    if (known && texts.id[i] == 0) without |= bit;
    const bool none = !written && (column.none & bit) != 0;
    states[i] |= std::uint64_t{known ? 1U : (none ? 2U : 0U)} << (2 * number);
  });
  return without;
}

/// Writes one input's words and states; gives back the lanes that cannot be told by them.
Lanes Columns::fill_input(const RecallInput& input, RecallKeys& keys, std::size_t at,
                          std::size_t number, Lanes lanes) {
  std::array<std::uint64_t, kLanes>& words = keys.words(at);
  std::array<std::uint64_t, kLanes>& states = keys.words(keys.word_count() - 1);
  if (input.kind == Kind::Text) return fill_text(input, words, states, number, lanes);
  if (input.kind == Kind::Truth) {
    const TruthColumn& t = truth(input.id, lanes);
    each_lane(lanes, [&](unsigned i) {
      words[i] = (t.holds >> i & 1U) | (t.unknown >> i & 1U) << 1U | (t.none >> i & 1U) << 2U;
    });
    return 0;
  }
  const ValueView v = input.source == Source::Field
                          ? view(block_->column(static_cast<FieldId>(input.id)))
                          : value(input.id, lanes);
  std::array<std::uint64_t, kLanes>* more =
      input.kind == Kind::Quantity ? &keys.words(at + 1) : nullptr;
  Lanes without = 0;
  each_lane(lanes, [&](unsigned i) {
    const bool known = (v.known >> i & 1U) != 0;
    std::uint64_t word = 0;
    if (known) {
      const bool by_aux = input.kind == Kind::Word || input.kind == Kind::List;
      word = by_aux ? v.aux[i] : std::bit_cast<std::uint64_t>(v.number[i]);
      if (input.kind == Kind::Band) word = band_of(input.edges, v.number[i]);
      if (input.kind == Kind::List && OrderBlock::item_count(v.aux[i]) != 0) {
        without |= Lanes{1} << i;
      }
    }
    words[i] = input.kind == Kind::List ? 0 : word;
    if (more != nullptr) (*more)[i] = known ? v.aux[i] : 0;
    const std::uint64_t state =
        known ? 1U : ((v.none >> i & 1U) != 0 ? 2U : ((v.any >> i & 1U) != 0 ? 3U : 0U));
    states[i] |= state << (2 * number);
  });
  return without;
}

Lanes Columns::fill_words(RecallKeys& keys, Lanes lanes) {
  std::array<std::uint64_t, kLanes>& states = keys.words(keys.word_count() - 1);
  each_lane(lanes, [&](unsigned i) { states[i] = 0; });
  Lanes without = 0;
  std::size_t at = 0;
  for (std::size_t number = 0; number < keys.inputs().size(); ++number) {
    const RecallInput& input = keys.inputs()[number];
    without |= fill_input(input, keys, at, number, lanes);
    at += input.kind == Kind::Quantity ? 2 : 1;
  }
  return without;
}

const RecallKeys& Columns::keys_for(const RecallAnswers& answers, Lanes lanes) {
  // Inputs may be remembered themselves, by other keys.
  RecallKeys& keys = keys_[answers.keys];
  const Lanes open = keys.open(lanes);
  if (open != 0) {
    const Lanes without = fill_words(keys, open);
    keys.settle(open, without);
  }
  return keys;
}

const RecallAnswers::Answer& Columns::answer(NodeId id, RecallAnswers& answers,
                                             const RecallKeys& keys, unsigned lane) {
  const std::uint16_t slot = keys.slot(lane);
  const bool kept = slot != RecallKeys::kNoSlot;
  RecallAnswers::Answer& answer = kept ? answers.answers[slot] : unremembered_;
  if (kept && answer.turn == keys.turn(lane)) return answer;
  answer.turn = kept ? keys.turn(lane) : 0;
  if (program_.nodes[id].type == Type::Truth) {
    answer.truth = scalar_at(lane).truth(id);
  } else {
    const Value value = scalar_at(lane).value(id);
    answer.number = value.number;
    answer.aux = value.aux;
    answer.state = value.state;
  }
  return answer;
}

void Columns::recall(NodeId id, RecallAnswers& answers, ValueColumn& out, Lanes lanes) {
  const RecallKeys& keys = keys_for(answers, lanes);
  each_lane(lanes, [&](unsigned lane) {
    const RecallAnswers::Answer& a = answer(id, answers, keys, lane);
    put(out, lane, {a.number, a.aux, {}, a.state});
  });
}

void Columns::recall_truth(NodeId id, RecallAnswers& answers, TruthColumn& out, Lanes lanes) {
  const RecallKeys& keys = keys_for(answers, lanes);
  each_lane(lanes, [&](unsigned lane) {
    const Lanes bit = Lanes{1} << lane;
    const Truth t = answer(id, answers, keys, lane).truth;
    put(out, bit, t == Truth::True ? bit : 0, t == Truth::Unknown ? bit : 0,
        t == Truth::Void ? bit : 0);
  });
}

}  // namespace meniscus::engine
