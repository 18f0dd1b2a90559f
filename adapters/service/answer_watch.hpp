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

  /// Each verdict, before its message is answered.
  virtual void judged(const engine::Verdict& verdict) = 0;
  /// `message`: as it was received; `answer`: one answer to it, in its frame.
  virtual void answered(std::string_view message, std::string_view answer) = 0;
};

}  // namespace meniscus::adapters
