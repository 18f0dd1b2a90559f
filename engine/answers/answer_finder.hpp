// Does an earlier answer hold for what a rule asks now?
//
//   if (const Answer* a = finder.find(scalar, asked, earlier)) ...   // else `earlier` says why
//
// An answer holds where the order (and whose it is) or the patient and the rule are the same, the
// run's day is between its days, the rule asks for the same, every value that the question rested
// on is as it was, and no graver clause of the rule is undecided.  A `hold` has no answer.
// The day is the rules' day: one for a whole run, as for local changes.
#pragma once

#include <string>
#include <string_view>

#include "engine/answers/answer.hpp"
#include "engine/answers/question.hpp"

namespace meniscus::engine {

/// Where an answer stands on a day, whatever the orders say.
enum class AnswerStanding : std::uint8_t { NotYet, InForce, Ended };
AnswerStanding standing_on(std::int64_t day, const Answer& answer);

/// "volume has changed from 0.5 mL to 0.6 mL"; empty where all values are as they were.
std::string what_changed(const Answer& answer, const Question& now);

class AnswerFinder {
 public:
  /// Both must outlive this; `answers` may be null.
  AnswerFinder(const Program& program, const Answers* answers)
      : program_(program), answers_(answers), questions_(program) {}

  [[nodiscard]] bool any() const { return answers_ != nullptr && !answers_->empty(); }

  struct Asked {
    const Hit& hit;
    Grade grade{};
    std::string_view order;
    std::string_view patient;
    bool graver_open = false;  // a graver clause of the rule could not be decided
  };
  /// The newest answer that holds, an order's own before its patient's.  Where there is none,
  /// `earlier` is the newest that was given, and what became of it.
  const Answer* find(Scalar& scalar, const Asked& asked, EarlierAnswer& earlier);

 private:
  const Answer* find_for(Scalar& scalar, const Asked& asked, QuestionScope scope,
                         EarlierAnswer& earlier);
  std::string why_not(Scalar& scalar, const Asked& asked, const Answer& answer);

  const Program& program_;
  const Answers* answers_;
  QuestionReader questions_;
};

}  // namespace meniscus::engine
