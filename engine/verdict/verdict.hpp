// What the engine says about one order.
//
// Reuse:   a Verdict is cleared and filled again; strings and vectors keep their capacity, so a
//          clear order costs no allocation.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/order/field.hpp"
#include "engine/order/order_block.hpp"

namespace meniscus::engine {

enum class Grade : std::uint8_t { Note, Caution, Clarify, Hold };

/// From best to worst, except Outside and Recorded, which are no judgement.
enum class Outcome : std::uint8_t {
  Clear,
  Note,
  Caution,
  Incomplete,  // a `clarify` or `hold` clause could not be decided, and nothing graver was found
  Clarify,
  Hold,
  Outside,  // no injection
  Recorded  // a given injection, a stop, a cancellation
};
std::string_view name(Grade grade);
std::string_view name(Outcome outcome);
std::optional<Grade> grade_named(std::string_view name);
Outcome outcome_of(Grade grade);

/// Rules of the engine itself, for what no rule of the language can say.
inline constexpr std::string_view kUnreadable = "unreadable";         // no order at all
inline constexpr std::string_view kDoubtfulValue = "doubtful-value";  // a field that is not read
inline constexpr std::string_view kInternal = "internal";             // our own error
constexpr bool is_built_in(std::string_view rule) {
  return rule == kUnreadable || rule == kDoubtfulValue || rule == kInternal;
}

struct BlamedField {
  FieldId field{};
  std::string value;  // as written, or how it is shown; empty when missing
  Origin origin;      // resolved to a place by the source (ports/order_source.hpp)
  bool from_text = false;
};

struct Answer;  // engine/answers

/// What a person answered to a question that is open again.
struct EarlierAnswer {
  const Answer* answer = nullptr;  // owned by the host's Answers; null: none was given
  std::string why;                 // "answered before on 2026-03-02, but volume has changed ..."
};

struct Finding {
  std::string_view
      rule;  // owned by the Program; or a built-in: unreadable, doubtful-value, internal
  std::uint16_t clause = 0;   // 1-based; 0 for a `without` or a built-in
  std::uint16_t without = 0;  // 1-based; 0 for a clause or a built-in
  Grade grade{};
  std::uint16_t group = 0;  // 1-based; findings that blame one field share it
  std::string say;
  std::string ask;
  std::string_view cite;
  std::vector<BlamedField> fields;
  EarlierAnswer earlier;
};

struct NotAssessed {
  std::string missing;  // "patient.weight", "substances: ceftriaxone", "site: kneecap"
  std::vector<std::string_view> rules;  // owned by the Program
  bool grave = false;                   // a clarify or hold clause is among them
};

/// A single change after which findings of `clarify` or `hold` are decided and gone and nothing new
/// appears: a question for a person (engine/slips).
struct Slip {
  FieldId field{};
  std::string from;  // as written
  std::string to;
  std::string why;  // half a sentence: "the decimal point may stand one place off"
  std::vector<std::string_view> clears;  // rules, owned by the Program
};

struct LocalChange;  // engine/program

/// What a rule found and nobody is to act on: it is muted, or the rule is on trial.  It counts for
/// nothing.
struct Hidden {
  std::string_view rule;  // owned by the Program
  Grade grade{};
  std::string say;
  const LocalChange* change = nullptr;  // that hides it; owned by the Program
};

/// A `clarify` that somebody has answered.  It counts for nothing while the answer holds.
struct Answered {
  std::string_view rule;     // owned by the Program
  std::uint16_t clause = 0;  // 1-based; 0 for a `without`
  std::string say;
  std::string ask;
  const Answer* answer = nullptr;  // owned by the host's Answers
};

enum class HistoryScope : std::uint8_t { Input, Store };

struct Verdict {
  unsigned lane = 0;
  std::string_view order;    // the order's id, owned by the block
  std::string_view patient;  // owned by the block
  Outcome outcome = Outcome::Clear;
  std::vector<Finding> findings;  // gravest first within a group; groups by their gravest
  std::vector<Slip> slips;        // likeliest first, at most three
  std::vector<NotAssessed> not_assessed;
  std::vector<Answered> answered;  // in the rules' order
  std::vector<Hidden> muted;       // likewise
  std::vector<Hidden> trial;       // likewise; never shown to who acts on orders
  std::string reason;              // for Outside and Recorded
  std::int64_t as_of_day = 0;
  HistoryScope history = HistoryScope::Input;

  void clear();
  Finding& add_finding();  // reuses a retired one
  Slip& add_slip();        // likewise
  Hidden& add_muted();
  Hidden& add_trial();
  /// Takes the last finding back: it is answered.
  Answered& answer_last_finding();

 private:
  std::vector<Finding> spare_;
  std::vector<Slip> spare_slips_;
  std::vector<Hidden> spare_hidden_;
  std::vector<Answered> spare_answered_;
};

}  // namespace meniscus::engine
