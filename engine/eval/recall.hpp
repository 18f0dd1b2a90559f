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
//         long text, a list of parts) has no slot, and is worked out anew.
// Bounded: kMostCodes values an input, kSlots keys; a new key takes the slot of an old one.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
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
  /// Have lanes of the block codes?
  [[nodiscard]] bool is_used() const { return done_ != 0; }
  void forget();
  [[nodiscard]] Lanes open(Lanes lanes) const { return lanes & ~done_; }

  void set(unsigned lane, Code code) { code_[lane] = code; }
  /// The code of a value that stands in one word or two; none when there are too many values.
  void number(unsigned lane, std::uint64_t word, std::uint64_t more = 0) {
    Value& recent = recent_[((word ^ more) * 0x9E3779B97F4A7C15U) >> 58U];
    if (recent.word != word || recent.more != more || recent.code == 0) {
      const Value* const value = find(word, more);
      if (value == nullptr) {
        without_ |= Lanes{1} << lane;  // no code is left, or the hash is another value's
        return;
      }
      recent = *value;
    }
    code_[lane] = recent.code;
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
  const Value* find(std::uint64_t word, std::uint64_t more);

  RecallInput input_;
  Lanes done_ = 0;
  Lanes without_ = 0;
  std::array<Value, 64> recent_{};  // by hash: values that came lately, before the table is asked
  Code next_ = kFirst;
  std::array<Code, kLanes> code_{};
  FlatMap<Value> values_;
};

/// The keys that were seen, each with a slot, and the lanes of a block by their key.
class RecallKeys {
 public:
  /// `inputs`: indexes of InputCodes, at most kMostInputs.
  explicit RecallKeys(std::vector<std::uint32_t> inputs) : inputs_(std::move(inputs)) {}

  static constexpr std::size_t kSlots = 4096;
  static constexpr std::size_t kMostInputs = 12;

  /// Lanes of the block that have one key.  Most blocks have few, so what is remembered is asked
  /// for a key and not for a lane.
  struct Group {
    Lanes lanes = 0;
    std::uint64_t turn = 0;  // tells one key in a slot from another that had it before; never 0
    std::uint16_t slot = 0;
  };

  [[nodiscard]] const std::vector<std::uint32_t>& inputs() const { return inputs_; }
  /// The lanes of the next block have no keys yet.
  void begin() {
    done_ = without_ = 0;
    group_count_ = 0;
    ++block_;
  }
  /// Have lanes of the block keys?
  [[nodiscard]] bool is_used() const { return done_ != 0; }
  /// Forgets all keys.
  void forget() {
    for (Used& used : used_)
      used.turn = 0;
  }
  [[nodiscard]] Lanes open(Lanes lanes) const { return lanes & ~done_; }
  /// Finds or makes the slots of `lanes`, whose inputs have their codes.
  void settle(const std::vector<InputCodes>& codes, Lanes lanes);

  [[nodiscard]] std::size_t slots() const { return used_.size(); }
  [[nodiscard]] std::span<const Group> groups() const { return {groups_.data(), group_count_}; }
  /// Lanes whose key cannot be told.
  [[nodiscard]] Lanes without() const { return without_; }

 private:
  /// Codes of all inputs, four in a word.  Most keys are one word.
  static constexpr std::size_t kWords = kMostInputs / 4;
  using Key = std::array<std::uint64_t, kWords>;
  struct Used {
    std::uint64_t first = 0;  // the first word of its key; the others are in `more_`
    std::uint64_t turn = 0;   // 0: nobody's
    std::uint64_t block = 0;  // the last that had it, and its group there
    std::uint32_t group = 0;
  };

  static std::uint64_t hash(std::uint64_t word) { return word * 0xD6E8FEB86659FD93U; }
  [[nodiscard]] std::uint64_t hash(const Key& key) const;
  [[nodiscard]] std::size_t slot_of(std::uint64_t hash) const {
    return (hash ^ hash >> 32U) & (used_.size() - 1);
  }
  [[nodiscard]] bool has(std::size_t slot, const Key& key) const;
  void settle_lane(unsigned lane, const Key& key);
  void make_room();

  std::vector<std::uint32_t> inputs_;
  Lanes done_ = 0;
  Lanes without_ = 0;
  std::uint64_t turns_ = 0;
  std::uint64_t block_ = 1;  // not that of a slot that nobody had
  std::vector<Used> used_;   // by slot, a power of two; grows while keys drive one another out
  std::vector<Key> more_;    // by slot; empty where keys are one word
  std::size_t driven_out_ = 0;
  std::array<Group, kLanes> groups_;
  std::size_t group_count_ = 0;
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
