// Judging all orders of some inputs and looking at each: for commands that are about one order or
// about a few.  `meniscus check` has a loop of its own, which writes while it reads.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "engine/eval/checker.hpp"
#include "engine/eval/facts.hpp"
#include "engine/order/feed.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::adapters {

/// One order as it was judged; all of it lives while it is looked at.
struct JudgedOrder {
  const engine::Verdict& verdict;
  const engine::OrderBlock& block;
  const engine::OrderSource& source;
  const engine::CheckOptions& options;
  const engine::History& history;  // what the patients had before this order

  /// For evaluating more of it: with the records of its patient.
  [[nodiscard]] engine::OrderFacts facts() const;
};

struct JudgeAll {
  const Arguments& arguments;
  const Console& console;
  std::shared_ptr<const engine::Program> program;
  const engine::Feed& feed;
  const engine::Answers* answers = nullptr;

  /// Reads the inputs in turn, with one history, and hands over each order.  Where there is a kept
  /// history (--history), it begins with that, and nothing is added to what is kept.  Gives back
  /// Unread where an input or an order could not be read, Usage where the history could not.
  [[nodiscard]] ExitStatus run(const std::vector<std::string>& inputs,
                               const std::function<void(const JudgedOrder&)>& each) const;
};

}  // namespace meniscus::adapters
