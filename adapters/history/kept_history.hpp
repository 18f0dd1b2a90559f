// The history of earlier runs: loaded when a run begins, added to as it goes on.
//
//   auto kept = KeptHistory::open("sqlite:/var/lib/meniscus/history.db");
//   (*kept)->load(program, today, history);
//   while (source.next(block)) {
//     if (!(*kept)->keep(block, days, history)) stop();   // what is answered is on the disk
//     checker.check(block, history, report);
//   }
//
// Whole:    a store has every order from its first day on; before that day it knows nothing, and
//           rules that look further back are not assessed (History::set_since).
// Refused:  errors are of code Input; what was handed to a keep() that failed is not kept.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "adapters/history/sqlite_store.hpp"
#include "engine/eval/facts.hpp"
#include "engine/history/history.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// History without a store: it begins with the first order of a patient, and nothing before that
/// day is known.
void begin_history(const engine::OrderBlock& block, const engine::Days& days,
                   engine::History& history);

/// By somebody's word everything is known since `day`, if it was not known for longer.
void know_since(std::optional<std::int64_t> day, engine::History& history);

class KeptHistory {
 public:
  /// `place`: `sqlite:PATH`.  Errors: Usage when it is of no known kind; Input.
  static engine::Result<std::unique_ptr<KeptHistory>> open(const std::string& place);

  /// Puts everything that was kept into `history`, and says since when it is whole.  `today`: the
  /// host's day, since 1970-01-01.
  engine::Status load(const std::shared_ptr<const engine::Program>& program, std::int64_t today,
                      engine::History& history);

  /// Keeps the orders of a block; they are on the disk when it returns.  Orders without a patient
  /// cannot be found again and are not kept.  With the first order of all, `history` begins; an
  /// order that was kept before, and is sent again, is taken out of it, to be judged as it was
  /// then.
  engine::Status keep(const engine::OrderBlock& block, const engine::Days& days,
                      engine::History& history);

 private:
  explicit KeptHistory(std::unique_ptr<SqliteStore> store) : store_(std::move(store)) {}

  std::unique_ptr<SqliteStore> store_;
  std::string text_;
  std::vector<unsigned> again_;  // lanes whose orders were kept before
};

}  // namespace meniscus::adapters
