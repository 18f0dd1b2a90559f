// What is known of an order's values once some conditions hold: ranges of quantities, sets of
// words.
//
//   Facts facts(program);
//   if (!facts.assume(concerns, Claim::Holds)) ...   // it can never hold; facts.clash() says why
//   facts.decide(when)                               // true, false, or nothing: it depends
//
// Knows:   comparisons of one value with constants (and settings, when asked to), words, sites in
//          the tree, `is given`, `is missing`, joined by `and`, `or`, `not`; that no quantity of an
//          order is below zero; the words of closed vocabularies.
// Never:   says "cannot hold" or "holds" of what might be otherwise; what it does not understand
//          tells nothing.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "engine/program/program.hpp"

namespace meniscus::grammar {

/// Of a condition.  What is missing makes a condition neither hold nor fail.
enum class Claim : std::uint8_t {
  Holds,
  Fails,      // its reverse holds
  NotHeld,    // it does not hold: it fails, or could not be decided
  NotFailed,  // likewise for its reverse
};

/// What a number may be.
struct Range {
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
  bool low_open = false;  // the end itself is not in it
  bool high_open = false;

  [[nodiscard]] bool empty() const;
  [[nodiscard]] bool within(const Range& other) const;
  [[nodiscard]] Range with(const Range& other) const;  // what is in both
};

/// Two nodes that cannot hold together; `other` is kNoNode where one cannot hold by itself.
struct Clash {
  engine::NodeId node = engine::kNoNode;
  engine::NodeId other = engine::kNoNode;
};

class Facts {
 public:
  enum class Settings : bool { Unknown, AsSet };
  explicit Facts(const engine::Program& program, Settings settings = Settings::AsSet)
      : program_(program), settings_(settings) {}

  /// False when the claim cannot be true beside what was assumed; the facts are then of no use.
  bool assume(engine::NodeId condition, Claim claim);
  [[nodiscard]] const Clash& clash() const { return clash_; }

  /// True or false where the condition can only be so.  With `as_if_given`, values that are not
  /// known to be given count as given.
  [[nodiscard]] std::optional<bool> decide(engine::NodeId condition,
                                           bool as_if_given = false) const;

  /// The number of a constant or a setting, or of sums and products of them; and its dimension.
  struct Number {
    double value = 0;
    std::uint64_t dimension = 0;
  };
  [[nodiscard]] std::optional<Number> number(engine::NodeId node) const;

 private:
  using NodeId = engine::NodeId;
  /// A value, and the dimension that it is compared in: a dose may be of several kinds.
  using Subject = std::pair<NodeId, std::uint64_t>;
  struct Known {
    bool given = false;
    Range range;
    NodeId low_by = engine::kNoNode;
    NodeId high_by = engine::kNoNode;
    std::optional<std::set<engine::Word>> words;  // one of these
    std::set<engine::Word> not_words;
    NodeId words_by = engine::kNoNode;
  };
  /// A comparison of one value with constants: it holds for the numbers of `range`, or for words.
  struct Atom {
    Subject subject;
    bool of_words = false;
    Range range;
    std::set<engine::Word> words;
    bool reversed = false;  // it holds for all others
  };

  [[nodiscard]] std::optional<Atom> atom(NodeId node) const;
  [[nodiscard]] std::optional<Atom> number_atom(const engine::Node& node) const;
  [[nodiscard]] std::optional<Number> figure(const engine::Node& node) const;
  [[nodiscard]] std::optional<engine::Word> word(engine::NodeId id) const;
  [[nodiscard]] std::optional<Atom> word_atom(const engine::Node& node) const;
  [[nodiscard]] std::set<engine::Word> sites_in(engine::Word site) const;
  [[nodiscard]] Known known(const Subject& subject) const;
  [[nodiscard]] std::optional<bool> decide_given(const engine::Node& node) const;
  [[nodiscard]] std::optional<bool> decide_atom(const Atom& atom, const Known& known) const;
  bool both(const engine::Node& node, Claim claim);
  bool either(const engine::Node& node, Claim claim);
  bool assume_atom(NodeId node, const Atom& atom, Claim claim);
  bool narrow(NodeId node, const Atom& atom, bool inside, Known& known);
  bool narrow_range(NodeId node, const Atom& atom, bool inside, Known& known);
  bool narrow_words(NodeId node, const Atom& atom, bool inside, Known& known);
  bool assume_given(NodeId value, NodeId node, bool given);
  bool fail(NodeId node, NodeId other);

  const engine::Program& program_;
  Settings settings_;
  std::map<Subject, Known> known_;
  std::map<NodeId, NodeId> absent_;  // values that are missing or none, and which node says so
  Clash clash_;
};

/// The clause that leaves nothing to clause number `clause` of the rule: it, and those above it,
/// hold whenever that one would.  Nothing where the clause can be reached.
std::optional<std::size_t> hidden_by(const engine::Program& program, const engine::Rule& rule,
                                     std::size_t clause, Facts::Settings settings);

}  // namespace meniscus::grammar
