// A checker of ten rules (a dozen checks) written by hand, as fast as one would write it for one
// format and one rule set.
//
// What for:  speed has a meaning only beside something.  bench_yardstick shows how many orders a
// second this reads and
//            judges, and how many Meniscus does, whose rules can be read and changed.
// Agrees:    with the shipped rules of the same names on what order_maker.hpp makes;
// yardstick_test.cpp holds it to
//            that.  Limits and tables are copied from rules/ by hand, and for those orders only.
// Reads:     JSON Lines, in the fields' plain form ("0.25 mL"), and HL7 v2 messages; without
// places,
//            history, words or doubts.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <string_view>

#include "engine/verdict/verdict.hpp"

namespace meniscus::bench {

struct YardstickFinding {
  std::string_view rule;
  engine::Grade grade{};
};

/// The names of the rules that the yardstick knows.
std::span<const std::string_view> yardstick_rules();

/// Findings of one order; at most one a rule.
class YardstickFindings {
 public:
  void clear() { size_ = 0; }
  void add(std::string_view rule, engine::Grade grade) { found_[size_++] = {rule, grade}; }
  [[nodiscard]] std::span<const YardstickFinding> all() const { return {found_.data(), size_}; }

 private:
  std::array<YardstickFinding, 16> found_{};
  std::size_t size_ = 0;
};

using YardstickReport = std::function<void(std::string_view id, const YardstickFindings&)>;

/// Judges every message of `messages`, as OrderMaker::append_message() makes them: no escapes, no
/// repetitions, no other separators.
std::size_t run_message_yardstick(std::string_view messages, const YardstickReport& report);

/// Judges every line of `orders`, which has `padding` readable bytes behind its end
/// (simdjson::SIMDJSON_PADDING).  Gives back how many orders were read.
std::size_t run_yardstick(std::string_view orders, const YardstickReport& report);

}  // namespace meniscus::bench
