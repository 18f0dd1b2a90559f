// What a replay is to do: read once, before the first order.  Shared by all its threads.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "engine/answers/answer.hpp"
#include "engine/order/feed.hpp"
#include "engine/program/program.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters::replay {

/// One set of rules.
struct PlanSide {
  std::shared_ptr<const engine::Program> program;
  std::vector<std::uint32_t> shared_rule;  // by rule of the program, then the built-in ones: its
                                           // number in Plan::all_rules
};

struct Plan {
  std::vector<PlanSide> sides;         // one, or before and after
  std::vector<std::string> all_rules;  // of both: those of the first, then what only the second has
  bool words_differ = false;           // the sides read records differently
  engine::Outcome fail_at = engine::Outcome::Incomplete;
  std::optional<std::int64_t> as_of;          // for every order, days since 1970-01-01
  std::int64_t today = 0;                     // for orders without a date
  std::optional<std::int64_t> history_since;  // all is known since this day
  engine::Answers answers;                    // to questions
  std::string answers_text;                   // the file that they are from
  std::vector<std::string> files;             // as examples name them: warm-up first
  std::uint64_t seed = 1;                     // of the drawn examples
  std::size_t examples = 5;                   // of a kind
  std::size_t sample = 0;  // orders drawn for readers: fired and silent ones of each rule

  [[nodiscard]] bool is_stopped(engine::Outcome outcome) const { return outcome >= fail_at; }
};

/// Rules of the engine itself that judge orders; they stand behind the program's.
inline constexpr std::size_t kBuiltInRules = 2;
std::string_view built_in_rule(std::size_t number);

/// Fills `all_rules`, `shared_rule` and `words_differ` of a plan whose sides have their programs.
void finish_plan(Plan& plan);

/// Both read every record alike: the same words, routes and substances.
bool same_words(const engine::Program& one, const engine::Program& other);

}  // namespace meniscus::adapters::replay
