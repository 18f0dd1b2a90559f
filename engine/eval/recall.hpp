// What a node comes to is remembered by the values that it depends on.
//
// Why:    a search in a table, a pattern in a text or a sum of mechanics costs a hundred times a
//         comparison, and a clinic's orders ask the same again and again (this substance at this
//         strength, this needle for this route).
// Inputs: the nodes on the edge of what a node works out by itself: values of the order, or of
// other
//         nodes that columns work out.  A number that is only asked for its band of a table counts
//         as that band.  Nodes with equal inputs share one Inputs.
// Exact:  keys are compared whole, texts by TextIds; a lane whose key cannot be told (a long text,
// a
//         list with items) has no slot, and is worked out anew.
// Bounded: kSlots keys an Inputs; a new key takes the slot of an old one.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "engine/order/order_block.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {

inline constexpr std::uint32_t kRecallSlots = 256;

/// One value that a node depends on.
struct RecallInput {
  enum class Source : std::uint8_t { Field, Written, Node };
  enum class Kind : std::uint8_t { Truth, Number, Word, Quantity, Text, List, Band };
  Source source{};
  std::uint32_t id = 0;  // FieldId or NodeId
  Kind kind{};
  std::vector<double> edges;  // Band: the ends of the bands, rising, at most 64

  friend bool operator==(const RecallInput&, const RecallInput&) = default;
};

/// The inputs of a node, each once, in a fixed order; nothing when it must be worked out each time.
std::optional<std::vector<RecallInput>> recall_inputs(const Program& program, NodeId id);

/// The keys that were seen, each with a slot, and the slots of the lanes of a block.
class RecallKeys {
 public:
  explicit RecallKeys(std::vector<RecallInput> inputs);

  static constexpr std::uint16_t kNoSlot = 0xFFFF;

  [[nodiscard]] const std::vector<RecallInput>& inputs() const { return inputs_; }
  /// The lanes of the next block have no slots yet.
  void begin() { done_ = 0; }
  /// Forgets all keys.
  void forget();
  [[nodiscard]] Lanes open(Lanes lanes) const { return lanes & ~done_; }
  /// Word `i` of the keys, one a lane, to be filled for open lanes before settle(): two for an
  /// input of kind Quantity, one for any other, then one for the states of all.
  std::array<std::uint64_t, kLanes>& words(std::size_t i) { return words_[i]; }
  [[nodiscard]] std::size_t word_count() const { return words_.size(); }
  /// Finds or makes the slots of `lanes`; those in `without` get none.
  void settle(Lanes lanes, Lanes without);

  [[nodiscard]] std::uint16_t slot(unsigned lane) const { return slot_[lane]; }
  /// Tells one key in a slot from another that had it before; never 0.
  [[nodiscard]] std::uint64_t turn(unsigned lane) const { return turn_[lane]; }

 private:
  void settle_lane(unsigned lane, std::uint64_t hash);

  std::vector<RecallInput> inputs_;
  Lanes done_ = 0;
  std::uint64_t turns_ = 0;
  std::vector<std::array<std::uint64_t, kLanes>> words_;
  std::vector<std::uint64_t> keys_;        // kRecallSlots * words
  std::vector<std::uint64_t> slot_turns_;  // 0: empty
  std::array<std::uint16_t, kLanes> slot_{};
  std::array<std::uint64_t, kLanes> turn_{};
};

/// What one node came to, by slot.
struct RecallAnswers {
  struct Answer {
    double number = 0;
    std::uint64_t aux = 0;
    std::uint64_t turn = 0;  // RecallKeys::turn that it belongs to
    State state = State::Missing;
    Truth truth = Truth::Unknown;
  };
  std::uint32_t keys = 0;  // index of its RecallKeys
  std::vector<Answer> answers;
};

}  // namespace meniscus::engine
