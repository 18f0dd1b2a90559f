// What a synthetic year of orders meets when the rules judge it: how often each rule speaks on
// right orders, how many of the known defects it finds, and in how many groups one defect arrives.
//
// Reads:   the orders through the same readers and checker as `meniscus check`.
// Threads: one measurement a thread; the program is shared.
#pragma once

#include <array>
#include <cstddef>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/program/program.hpp"
#include "engine/verdict/verdict.hpp"
#include "tests/year/year.hpp"

namespace meniscus::year {

/// One rule of the program, or a built-in one.
struct RuleCount {
  std::array<std::size_t, 4> sound{};  // findings on right orders, by grade
  std::size_t injected = 0;            // defects that it is meant to find
  std::size_t found = 0;               // those of them on which it, or its alternative, spoke
};

struct DefectCount {
  std::size_t injected = 0;
  std::size_t found = 0;
  std::size_t one_group = 0;  // what is above a note arrived as one group, or as none
};

struct Burden {
  std::size_t records = 0;                // with given injections, stops, cancellations
  std::size_t sound = 0;                  // right orders
  std::array<std::size_t, 8> outcomes{};  // of right orders, by engine::Outcome
  std::size_t lines = 0;                  // lines on what could not be assessed, on right orders
  std::size_t most_lines = 0;             // on one right order
  std::map<std::string, RuleCount, std::less<>> rules;
  std::vector<DefectCount> defects;  // by number
  std::vector<std::string> never;    // what the feed never carries: "volume: rule, rule"
  std::vector<std::string> remarks;  // some orders that a reader would want to look at

  [[nodiscard]] std::size_t of(engine::Outcome outcome) const {
    return outcomes[static_cast<std::size_t>(outcome)];
  }
  [[nodiscard]] std::size_t grave() const;       // right orders with clarify or hold
  [[nodiscard]] std::size_t above_note() const;  // caution, incomplete, clarify, hold
  [[nodiscard]] std::size_t injected() const;
  [[nodiscard]] std::size_t found() const;
  [[nodiscard]] std::size_t one_group() const;
};

/// `profile`: the sparse form is read with its feed profile; without one nobody says what the feed
/// never carries.
Burden measure(const std::shared_ptr<const engine::Program>& program, const YearOptions& options,
               bool profile = true);

/// The three measurements that the report is about.
struct Measured {
  Burden rich;
  Burden sparse;
  Burden bare;  // the sparse form without its profile
};
Measured measure_all(const std::shared_ptr<const engine::Program>& program, YearOptions options);

/// The report as Markdown: the targets, the rules, the defects.
std::string report(const engine::Program& program, const YearOptions& options,
                   const Measured& measured);

}  // namespace meniscus::year
