// Table searches, text, lists and mechanics over columns: asked of the tree walk once for each set
// of inputs (recall.hpp).
#include <bit>

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

/// The band that a number stands in: how many of the edges are not above it.
InputCodes::Code band_of(const std::vector<double>& edges, double number) {
  InputCodes::Code band = 0;
  for (const double edge : edges)
    band = static_cast<InputCodes::Code>(band + (below(number, edge) ? 0 : 1));
  return band;
}

}  // namespace

std::uint32_t Columns::codes_for(const RecallInput& input) {
  std::uint32_t at = 0;
  while (at < codes_.size() && codes_[at].input() != input)
    ++at;
  if (at == codes_.size()) codes_.emplace_back(input);
  return at;
}

void Columns::plan_recall() {
  recall_slot_.assign(program_.nodes.size(), 0);
  for (NodeId id = 0; id < program_.nodes.size(); ++id) {
    if (!worth_remembering(program_, program_.nodes[id])) continue;
    const auto inputs = recall_inputs(program_, id);
    if (!inputs) continue;
    std::vector<std::uint32_t> codes;
    for (const RecallInput& input : *inputs)
      codes.push_back(codes_for(input));
    std::uint32_t keys = 0;
    while (keys < keys_.size() && keys_[keys].inputs() != codes)
      ++keys;
    if (keys == keys_.size()) keys_.emplace_back(std::move(codes));
    recalls_.push_back({keys, {}, {}});
    recall_slot_[id] = static_cast<std::uint32_t>(recalls_.size());
  }
}

void Columns::fill_texts(InputCodes& codes, Lanes lanes) {
  const auto field = static_cast<FieldId>(codes.input().id);
  const bool written = codes.input().source == Source::Written;
  const OrderBlock::Column& column = block_->column(field);
  const Lanes there = lanes & (written ? column.present : column.known);
  const Lanes none = written ? 0 : lanes & column.none;
  each_lane(lanes & ~there, [&](unsigned i) { codes.set(i, InputCodes::kMissing); });
  each_lane(none, [&](unsigned i) { codes.set(i, InputCodes::kNone); });
  each_lane(there, [&](unsigned i) {
    const std::string_view text = written ? block_->written(i, field) : column.text[i];
    if (written && text.empty()) return codes.set(i, InputCodes::kMissing);
    const std::uint32_t id = text_ids_.id(text);
    if (id == 0) return codes.set_without(Lanes{1} << i);
    codes.number(i, id);
  });
}

/// Empty lists are alike, and so are lists of the same words; lists of parts have no code.
void Columns::number_list(InputCodes& codes, unsigned lane, std::uint64_t list) {
  const std::uint32_t count = OrderBlock::item_count(list);
  if (count == 0) return codes.number(lane, 0);
  const RecallInput& input = codes.input();
  const bool words = input.source == Source::Field &&
                     info(static_cast<FieldId>(input.id)).kind == FieldKind::Words;
  std::uint32_t id = 0;
  if (words) {
    list_text_.clear();
    const ListItem* const items = block_->items(list);
    for (std::uint32_t i = 0; i < count; ++i) {
      // Whole, and with its length, so that no two lists are one text.
      const Value& item = items[i].self;
      const std::array<std::uint64_t, 2> head{
          item.aux, item.text.size() << 8U | static_cast<std::uint64_t>(item.state)};
      list_text_.append(reinterpret_cast<const char*>(head.data()), sizeof head);  // NOLINT(*-cast)
      list_text_.append(item.text);
    }
    id = text_ids_.id(list_text_);
  }
  if (id == 0) return codes.set_without(Lanes{1} << lane);
  codes.number(lane, id, 1);
}

void Columns::fill_values(InputCodes& codes, const ValueView& values, Lanes lanes) {
  const Kind kind = codes.input().kind;
  const Lanes known = lanes & values.known;
  each_lane(lanes & ~known, [&](unsigned i) {
    const bool none = (values.none >> i & 1U) != 0;
    const bool any = (values.any >> i & 1U) != 0;
    codes.set(i, none ? InputCodes::kNone : (any ? InputCodes::kAny : InputCodes::kMissing));
  });
  if (kind == Kind::Word) {
    each_lane(known, [&](unsigned i) { codes.number(i, values.aux[i]); });
  } else if (kind == Kind::Band) {
    each_lane(known, [&](unsigned i) {
      const unsigned band = band_of(codes.input().edges, values.number[i]);
      codes.set(i, static_cast<InputCodes::Code>(InputCodes::kFirst + band));
    });
  } else if (kind == Kind::List) {
    each_lane(known, [&](unsigned i) { number_list(codes, i, values.aux[i]); });
  } else {
    const bool both = kind == Kind::Quantity;
    each_lane(known, [&](unsigned i) {
      codes.number(i, std::bit_cast<std::uint64_t>(values.number[i]), both ? values.aux[i] : 0);
    });
  }
}

void Columns::fill_codes(InputCodes& codes, Lanes lanes) {
  const RecallInput& input = codes.input();
  if (input.kind == Kind::Text) {
    fill_texts(codes, lanes);
  } else if (input.kind == Kind::Truth) {
    const TruthColumn& t = truth(input.id, lanes);
    each_lane(lanes, [&](unsigned i) {
      codes.set(i, static_cast<InputCodes::Code>((t.holds >> i & 1U) | (t.unknown >> i & 1U) << 1U |
                                                 (t.none >> i & 1U) << 2U));
    });
  } else if (input.source == Source::Field) {
    fill_values(codes, view(block_->column(static_cast<FieldId>(input.id))), lanes);
  } else {
    fill_values(codes, value(input.id, lanes), lanes);
  }
  codes.settle(lanes);
}

const RecallKeys& Columns::keys_for(std::uint32_t key_set, Lanes lanes) {
  RecallKeys& keys = keys_[key_set];
  const Lanes open = keys.open(lanes);
  if (open == 0) return keys;
  if (!keys.is_used()) used_keys_.push_back(key_set);
  for (const std::uint32_t input : keys.inputs()) {
    // Filling one may fill others first: an input can be what a search came to.
    const Lanes needed = codes_[input].open(open);
    if (needed == 0) continue;
    if (!codes_[input].is_used()) used_codes_.push_back(input);
    fill_codes(codes_[input], needed);
  }
  keys.settle(codes_, open);
  return keys;
}

/// Asks the tree walk.
void Columns::ask(NodeId id, unsigned lane, RecallAnswers::ValueAnswer& answer) {
  const Value value = scalar_at(lane).value(id);
  answer.number = value.number;
  answer.aux = value.aux;
  answer.state = value.state;
}

void Columns::ask(NodeId id, unsigned lane, RecallAnswers::TruthAnswer& answer) {
  answer.truth = scalar_at(lane).truth(id);
}

/// Calls `put(lanes, answer)` for all of `lanes`, those of one key at a time.  `kept`: the answers
/// by slot.
template <class Answer, class Put>
void Columns::answers_for(NodeId id, std::uint32_t key_set, std::vector<Answer>& kept, Lanes lanes,
                          Put put) {
  const RecallKeys& keys = keys_for(key_set, lanes);
  if (kept.size() < keys.slots()) kept.resize(keys.slots());
  for (const RecallKeys::Group& group : keys.groups()) {
    const Lanes some = group.lanes & lanes;
    if (some == 0) continue;
    Answer& answer = kept[group.slot];
    if (answer.turn != group.turn) {
      ask(id, static_cast<unsigned>(std::countr_zero(some)), answer);
      answer.turn = group.turn;
    }
    put(some, answer);
  }
  Answer unremembered;
  each_lane(lanes & keys.without(), [&](unsigned lane) {
    ask(id, lane, unremembered);
    put(Lanes{1} << lane, unremembered);
  });
}

void Columns::recall(NodeId id, RecallAnswers& answers, ValueColumn& out, Lanes lanes) {
  std::array<Lanes, 4> by_state{};
  const auto put = [&](Lanes some, const RecallAnswers::ValueAnswer& a) {
    by_state[static_cast<std::size_t>(a.state)] |= some;
    each_lane(some, [&](unsigned lane) {
      out.number[lane] = a.number;
      out.aux[lane] = a.aux;
    });
  };
  answers_for(id, answers.keys, answers.values, lanes, put);
  out.known |= by_state[static_cast<std::size_t>(State::Known)];
  out.none |= by_state[static_cast<std::size_t>(State::None)];
  out.any |= by_state[static_cast<std::size_t>(State::Any)];
}

void Columns::recall_truth(NodeId id, RecallAnswers& answers, TruthColumn& out, Lanes lanes) {
  std::array<Lanes, 4> by_truth{};
  const auto put = [&](Lanes some, const RecallAnswers::TruthAnswer& a) {
    by_truth[static_cast<std::size_t>(a.truth)] |= some;
  };
  answers_for(id, answers.keys, answers.truths, lanes, put);
  out.holds |= by_truth[static_cast<std::size_t>(Truth::True)];
  out.unknown |= by_truth[static_cast<std::size_t>(Truth::Unknown)];
  out.none |= by_truth[static_cast<std::size_t>(Truth::Void)];
}

}  // namespace meniscus::engine
