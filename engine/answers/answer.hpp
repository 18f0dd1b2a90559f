// What a person answered to a question of a rule (a `clarify`), and what the question rested on.
//
// For:      one order, or every order of one patient; of one rule.
// Holds:    from the day it was given to its last day, both included, at most kLongestDecision
//           days, and only while the rule asks the same of the same values (answer_finder.hpp).
// Never:    for a `hold`.
// Kept:     by the host, in a file or a database; the engine reads none.  It holds what orders say
//           of patients, and is to be kept as orders are.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

namespace meniscus::engine {

/// One value that a question rested on.
struct AnsweredValue {
  std::string name;                 // a field, setting, or what a rule looks up or remembers
  std::optional<std::string> text;  // in one writing (answered_values.hpp); nothing: none
  friend bool operator==(const AnsweredValue&, const AnsweredValue&) = default;
};

struct Answer {
  std::string order;    // its id; empty: for every order of the patient
  std::string patient;  // may be empty where `order` is not
  std::string rule;
  std::uint64_t conditions = 0;  // a fingerprint of what the rule asked for
  std::string say;               // what was said and asked then
  std::string ask;
  std::string text;                   // the answer
  std::string by;                     // the role that gave it
  std::int64_t on = 0;                // days since 1970-01-01
  std::int64_t until = 0;             // its last day
  std::vector<AnsweredValue> values;  // those that were stated; the others were missing
  std::uint32_t line = 0;             // where it is kept, from 1
  friend bool operator==(const Answer&, const Answer&) = default;
};

/// All answers of a run; filled once, then shared.
class Answers {
 public:
  Answers() = default;
  Answers(Answers&&) noexcept = default;
  Answers& operator=(Answers&&) noexcept = default;
  Answers(const Answers&) = delete;  // what is found points into it
  Answers& operator=(const Answers&) = delete;
  ~Answers() = default;

  void add(Answer answer);
  [[nodiscard]] const std::deque<Answer>& all() const { return all_; }
  [[nodiscard]] bool empty() const { return all_.empty(); }

  /// Those for the order, or for the patient (`order` empty), in the order in which they were
  /// given; null where there are none.
  [[nodiscard]] const std::vector<const Answer*>* find(std::string_view order,
                                                       std::string_view patient,
                                                       std::string_view rule) const;

 private:
  std::deque<Answer> all_;  // its addresses are stable
  std::unordered_map<std::string, std::vector<const Answer*>> by_question_;
};

}  // namespace meniscus::engine
