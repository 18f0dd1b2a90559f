// What the host says that a patient had before (MeniscusHistoryCallback in meniscus.h).
//
// Use:      begin() with each call.  ask() puts the patients of a block into the history, each
// once, and says
//           whose history could not be had: their orders are not to be judged.
// Strict:   a line that cannot be read, has no date, or is another patient's makes all of that
//           patient's history unusable: half a history would be taken for the whole.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <unordered_map>

#include "adapters/plugin/meniscus.h"
#include "engine/eval/checker.hpp"
#include "engine/history/history.hpp"
#include "engine/order/feed.hpp"
#include "engine/order/order_block.hpp"

/// The handle that a callback writes to.
struct MeniscusWriter {
  std::string lines;
  bool failed = false;  // a piece could not be taken: what is there is not the whole
};

namespace meniscus::adapters {

struct Host {
  MeniscusHistoryCallback callback = nullptr;
  void* user_data = nullptr;
};

class HostHistory {
 public:
  HostHistory(const Host& host, std::shared_ptr<const engine::Program> program, std::int64_t today);

  /// Every patient is asked for anew.
  void begin() { asked_.clear(); }

  /// Asks for the patients of `block` that were not asked for before.  Gives the lanes whose
  /// patient's history cannot be had.
  engine::Lanes ask(const engine::OrderBlock& block, engine::History& history);

  /// Why not, in half a sentence without any value; empty when all could be had.
  [[nodiscard]] const std::string& why(const engine::OrderBlock& block, unsigned lane) const;

 private:
  std::string ask_for(std::string_view patient, engine::History& history);
  std::string remember(std::string_view patient, engine::History& history);

  Host host_;
  std::shared_ptr<const engine::Program> program_;  // shared with the checker
  engine::Feed feed_;                               // strict
  engine::Checker checker_;
  engine::OrderBlock former_;
  MeniscusWriter writer_;
  std::unordered_map<std::string, std::string> asked_;  // patient -> why not
};

}  // namespace meniscus::adapters
