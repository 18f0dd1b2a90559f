// A checked order as a row of a table of cases, with nothing in it that says whose it was.
//
// Left out:  who ordered it and for what, every free text (the directions, the frequency's text,
//            the medicine's name as written), the pharmacy's numbers.
// Invented:  the patient is SM-0001; the order A-1, earlier ones A-2 and so on, the same number for
//            the same order.
// Moved:     all dates by the same whole number of weeks, so that the order is judged in the week
//            of 2026-06-01; days of the week, ages and intervals stay.
// Kept:      everything else, as it was written where it is a quantity, else as the program read
//            it.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "engine/order/order_block.hpp"
#include "engine/program/program.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

/// Makes the rows of one patient's orders.
class CaseRows {
 public:
  /// `day`: that the case's order is judged as of, since 1970-01-01.
  explicit CaseRows(std::int64_t day);

  /// The order of the case itself, then, in any number, its earlier ones.
  engine::ExampleOrder row(const engine::OrderBlock& block, unsigned lane);
  /// `day`, moved.
  [[nodiscard]] std::int64_t as_of() const { return day_ + shift_; }

 private:
  [[nodiscard]] std::string text(const engine::OrderBlock& block, unsigned lane,
                                 engine::FieldId field) const;
  std::string invented_id(std::uint64_t id);

  std::int64_t day_;
  std::int64_t shift_;
  std::map<std::uint64_t, std::string> ids_;
};

/// What a verdict says, as `expect` has it: each finding of a rule, else the outcome.
std::vector<engine::Expectation> expectations_of(const engine::Verdict& verdict);

/// A table of one case: head, earlier rows, the row itself.
std::string case_table_text(const engine::Example& example);

}  // namespace meniscus::adapters
