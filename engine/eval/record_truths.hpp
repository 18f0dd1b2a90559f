// What a query's condition comes to for a record, remembered by the words that it reads of the
// order and of the record (`earlier.site is in site`): a clinic has few sites, routes and
// substances, and asks the same of each record of each patient.
//
// For:     conditions that read nothing but words, tables, settings and whether a field is given;
//          others have no inputs.
// Exact:   words and their states are compared whole.  A word that no table knows is told apart by
//          its text, so a key with one is not remembered.
// Bounded: kKept answers; a new one takes the place of an old one.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "engine/history/history.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {

class RecordTruths {
 public:
  static constexpr std::size_t kMostWords = 8;

  /// A field that a condition reads: its word, or only whether there is one.
  struct Input {
    FieldId field{};
    bool only_state = false;
    friend bool operator==(const Input&, const Input&) = default;
  };
  /// At most kMostWords together.
  struct Inputs {
    std::vector<Input> order;
    std::vector<Input> record;
  };
  /// Nothing when the condition reads more than words and whether something is given.
  static std::optional<Inputs> inputs(const Program& program, NodeId where);

  struct Key {
    NodeId condition = 0;  // 1 + its node; 0: nobody's
    std::uint8_t size = 0;
    std::uint8_t order_size = 0;
    bool whole = true;        // false: a word is not to be remembered
    bool order_whole = true;  // and of the order's part
    std::uint64_t states = 0;
    std::uint64_t order_states = 0;
    std::array<Word, kMostWords> words;  // of `size` words; the others are not looked at

    void add(const Value& value, bool only_state);
  };
  /// The order's part of the keys of a condition.
  static Key begin(NodeId condition, const Inputs& inputs, const OrderBlock& block, unsigned lane);
  /// Puts a record's part behind it, in the place of another record's.
  static void complete(Key& key, const Inputs& inputs, const HistoryRecord& record);

  /// What was kept with the same key, where it still is.
  [[nodiscard]] std::optional<Truth> kept(const Key& key) const {
    if (!key.whole) return std::nullopt;
    const Kept& kept = kept_[slot(key)];
    bool same = kept.condition == key.condition && kept.states == key.states;
    for (std::size_t i = 0; i < key.size && same; ++i)
      same = kept.words[i] == key.words[i];
    return same ? std::optional(kept.truth) : std::nullopt;
  }
  void keep(const Key& key, Truth truth) {
    if (key.whole) kept_[slot(key)] = {key.condition, truth, key.states, key.words};
  }
  /// Forgets all answers: the nodes of the program have changed.
  void forget() { kept_.assign(kKept, {}); }

 private:
  static constexpr std::size_t kKept = 512;  // a power of two
  struct Kept {
    NodeId condition = 0;
    Truth truth = Truth::Unknown;
    std::uint64_t states = 0;
    std::array<Word, kMostWords> words{};
  };
  static std::size_t slot(const Key& key);

  std::vector<Kept> kept_ = std::vector<Kept>(kKept);
};

}  // namespace meniscus::engine
