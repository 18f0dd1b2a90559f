// What a node comes to is remembered by the values that it depends on.
//
// Why:    a search in a table, a pattern in a text or a sum of mechanics costs a hundred times a
//         comparison, and a clinic's orders ask the same again and again (this substance at this
//         strength, this needle for this route).
// Inputs: the nodes on the edge of what a node works out by itself: values of the order, or of
//         other nodes that columns work out.  A number that is only asked for its band of a table
//         counts as that band.
// Codes:  each input's values are numbered as they come (InputCodes), so that a key is a few small
//         numbers; nodes with equal inputs share their keys (RecallKeys).
// Exact:  values and keys are compared whole, texts by TextIds; a lane whose key cannot be told (a
//         long text, a list with items) has no slot, and is worked out anew.
// Bounded: kMostCodes values an input, kSlots keys; a new key takes the slot of an old one.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "engine/base/flat_map.hpp"
#include "engine/order/order_block.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {

/// One value that a node depends on.
struct RecallInput {
  enum class Source : std::uint8_t { Field, Written, Node };
  enum class Kind : std::uint8_t { Truth, Number, Word, Quantity, Text, List, Band };
  Source source{};
  std::uint32_t id = 0;  // FieldId or NodeId
  Kind kind{};
  std::vector<double> edges;  // Band: the ends of the bands, rising

  friend bool operator==(const RecallInput&, const RecallInput&) = default;
};

/// The inputs of a node, each once, in a fixed order; nothing when it must be worked out each time.
std::optional<std::vector<RecallInput>> recall_inputs(const Program& program, NodeId id);

/// The values of one input, numbered as they come, and the numbers of the lanes of a block.
class InputCodes {
 public:
  explicit InputCodes(RecallInput input) : input_(std::move(input)) {}

  using Code = std::uint16_t;
  static constexpr Code kMissing = 0;
  static constexpr Code kNone = 1;
  static constexpr Code kAny = 2;
  static constexpr Code kFirst = 3;  // of the codes that the caller may choose
  static constexpr Code kMostCodes = 0xFFF0;

  [[nodiscard]] const RecallInput& input() const { return input_; }
  /// The next block.  True when all codes given so far are forgotten.
  bool begin();
  void forget();
  [[nodiscard]] Lanes open(Lanes lanes) const { return lanes & ~done_; }

  void set(unsigned lane, Code code) { code_[lane] = code; }
  /// The code of a value that stands in one word or two; none when there are too many values.
  void number(unsigned lane, std::uint64_t word, std::uint64_t more = 0) {
    if (last_.code == 0 || last_.word != word || last_.more != more) {
      const std::uint64_t hash = word ^ (more * 0xD6E8FEB86659FD93U);
      Value& value = values_.find_or_add(hash == 0 ? 1 : hash);
      if (value.code == 0 && next_ < kMostCodes) value = {word, more, next_++};
      if (value.code == 0 || value.word != word || value.more != more) {
        without_ |= Lanes{1} << lane;  // no code is left, or the hash is another value's
        return;
      }
      last_ = value;
    }
    code_[lane] = last_.code;
  }
  /// Lanes whose value has no code.
  void set_without(Lanes lanes) { without_ |= lanes; }
  void settle(Lanes lanes) { done_ |= lanes; }

  [[nodiscard]] const std::array<Code, kLanes>& codes() const { return code_; }
  [[nodiscard]] Lanes without() const { return without_; }

 private:
  struct Value {
    std::uint64_t word = 0;
    std::uint64_t more = 0;
    Code code = 0;
  };

  RecallInput input_;
  Lanes done_ = 0;
  Lanes without_ = 0;
  Value last_;
  Code next_ = kFirst;
  std::array<Code, kLanes> code_{};
  FlatMap<Value> values_;
};

/// The keys that were seen, each with a slot, and the slots of the lanes of a block.
class RecallKeys {
 public:
  /// `inputs`: indexes of InputCodes, at most kMostInputs.
  explicit RecallKeys(std::vector<std::uint32_t> inputs) : inputs_(std::move(inputs)) {}

  static constexpr std::uint16_t kNoSlot = 0xFFFF;
  static constexpr std::size_t kSlots = 4096;
  static constexpr std::size_t kMostInputs = 12;

  [[nodiscard]] const std::vector<std::uint32_t>& inputs() const { return inputs_; }
  /// The lanes of the next block have no slots yet.
  void begin() { done_ = 0; }
  /// Forgets all keys.
  void forget() {
    for (Used& used : used_)
      used.turn = 0;
  }
  [[nodiscard]] Lanes open(Lanes lanes) const { return lanes & ~done_; }
  /// Finds or makes the slots of `lanes`, whose inputs have their codes.
  void settle(const std::vector<InputCodes>& codes, Lanes lanes);

  [[nodiscard]] std::size_t slots() const { return used_.size(); }
  [[nodiscard]] std::uint16_t slot(unsigned lane) const { return slot_[lane]; }
  /// Tells one key in a slot from another that had it before; never 0.
  [[nodiscard]] std::uint64_t turn(unsigned lane) const { return turn_[lane]; }

 private:
  /// Codes of all inputs, four in a word.
  using Key = std::array<std::uint64_t, kMostInputs / 4>;
  struct Used {
    Key key{};
    std::uint64_t turn = 0;  // 0: nobody's
  };

  static bool same(const Key& a, const Key& b) {
    return ((a[0] ^ b[0]) | (a[1] ^ b[1]) | (a[2] ^ b[2])) == 0;
  }
  static std::uint64_t hash(const Key& key);
  void settle_lane(unsigned lane, const Key& key);
  void make_room();

  std::vector<std::uint32_t> inputs_;
  Lanes done_ = 0;
  std::uint64_t turns_ = 0;
  std::vector<Used> used_;  // by slot, a power of two; grows while keys drive one another out
  std::size_t driven_out_ = 0;
  std::array<std::uint16_t, kLanes> slot_{};
  std::array<std::uint64_t, kLanes> turn_{};
};

/// What one node came to, by slot: a value or a truth, and the RecallKeys::turn that it belongs to.
struct RecallAnswers {
  struct ValueAnswer {
    double number = 0;
    std::uint64_t aux = 0;
    std::uint64_t turn = 0;
    State state = State::Missing;
  };
  struct TruthAnswer {
    std::uint64_t turn = 0;
    Truth truth = Truth::Unknown;
  };
  std::uint32_t keys = 0;  // index of its RecallKeys
  std::vector<ValueAnswer> values;
  std::vector<TruthAnswer> truths;
};

}  // namespace meniscus::engine
