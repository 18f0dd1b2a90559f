// The rules that a service judges by, and what is particular to its feed.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>

#include "engine/order/feed.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

struct RulesInForce {
  std::shared_ptr<const engine::Program> program;
  engine::Feed feed;
};

}  // namespace meniscus::adapters
