// The examples beside the rules, run through the order model and the checker.
//
// Each example is a patient of its own: its `earlier` lines come first, then its order.
// Filled in:  order.id, where none is written; patient.id, where there are earlier lines and none
// is
//             written; action `given` where order.given is; what stands alone in the text.
// Judged:     as of order.placed, else schedule.start, else kExampleDay.
// Values:     `none` means known to be none; everything else is read as a feed would be.
#pragma once

#include <cstdint>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// 2026-06-01, in days since 1970-01-01.
inline constexpr std::int64_t kExampleDay = 20605;

struct ExampleFailure {
  std::string expected;  // "hold from dose-volume-agreement"
  std::string got;       // "clarify from dose-volume-agreement"; what the rule or order gave
};
struct ExampleResult {
  const engine::Example* example = nullptr;  // owned by the program
  std::vector<ExampleFailure> failures;      // empty: passed
};
/// A clause that no example makes fire.
struct Uncovered {
  std::string_view rule;
  std::size_t clause = 0;  // from 1
  std::uint32_t line = 0;
};
struct ExamplesReport {
  std::vector<ExampleResult> results;
  std::vector<Uncovered> uncovered;
  std::size_t clauses = 0;
  [[nodiscard]] std::size_t failed() const;
};

/// Runs the examples that stand in `files` (as the program names them); all when it is empty.
ExamplesReport run_examples(const std::shared_ptr<const engine::Program>& program,
                            const std::set<std::string>& files = {});

}  // namespace meniscus::adapters
