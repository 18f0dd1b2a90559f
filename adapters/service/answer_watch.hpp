// Who hears of what is judged and answered, to count it.
#pragma once

#include <string_view>

#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

class AnswerWatch {
 public:
  AnswerWatch() = default;
  AnswerWatch(const AnswerWatch&) = delete;
  AnswerWatch& operator=(const AnswerWatch&) = delete;
  virtual ~AnswerWatch() = default;

  /// Each verdict, when it was reached.
  virtual void judged(const engine::Verdict& verdict) = 0;
  /// A message came again and gets the answer that it got.
  virtual void repeated(std::string_view answer) = 0;
  /// A trailer counts other messages than came, or did not come; no answer says so.
  virtual void batch_is_off() {}
};

}  // namespace meniscus::adapters
