// The rules that a service judges by, and what is particular to its feed.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>

#include "engine/answers/answer.hpp"
#include "engine/order/feed.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

struct RulesInForce {
  std::shared_ptr<const engine::Program> program;
  engine::Feed feed;
  std::int64_t day = 0;  // days since 1970-01-01: the rules are those of this day
  std::shared_ptr<const engine::Answers> answers{};  // to questions of the rules; may be null
};

}  // namespace meniscus::adapters
