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
    std::uint32_t query = 0;  // 1 + its number; 0: nobody's
    bool whole = true;        // false: a word is not to be remembered
    std::uint64_t states = 0;
    std::array<Word, kMostWords> words{};

    void add(std::size_t at, const Value& value, bool only_state);
  };
  /// The order's part of the keys of a query.
  static Key begin(std::uint32_t query, const Inputs& inputs, const OrderBlock& block,
                   unsigned lane);
  static void complete(Key& key, const Inputs& inputs, const HistoryRecord& record);

  /// What `ask()` says, or said when it was asked with the same key.
  template <class Ask>
  Truth of(const Key& key, Ask&& ask) {
    if (!key.whole) return ask();
    Kept& kept = kept_[slot(key)];
    if (kept.query != key.query || kept.states != key.states || kept.words != key.words)
      kept = {key.query, ask(), key.states, key.words};
    return kept.truth;
  }
  /// Forgets all answers: the nodes of the program have changed.
  void forget() { kept_.assign(kKept, {}); }

 private:
  static constexpr std::size_t kKept = 512;  // a power of two
  struct Kept {
    std::uint32_t query = 0;
    Truth truth = Truth::Unknown;
    std::uint64_t states = 0;
    std::array<Word, kMostWords> words{};
  };
  static std::size_t slot(const Key& key);

  std::vector<Kept> kept_ = std::vector<Kept>(kKept);
};

}  // namespace meniscus::engine
