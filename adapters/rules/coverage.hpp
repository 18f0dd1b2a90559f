// What the tests of a rule set would notice: every small change of a rule (engine/proof) is made in
// turn, and the rule's tests are judged again.
//
// Noticed:    what some test expects comes out otherwise than without the change.
// Tests of a rule: those that expect something of it by name, and those about a whole order.
// Points:     of each limit three: just below, at it, just above (the limit a tenth lower; the
//             limit itself on the other side; a tenth higher). A point is held by a test that
//             notices.
// Share:      of all changes that were made, whether or not an order could tell them apart.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "adapters/rules/examples.hpp"
#include "engine/proof/mutants.hpp"

namespace meniscus::adapters {

/// An order that tells the rule from the changed rule, made of a test by changing one value.
struct TellingOrder {
  std::string order;        // "dose = 50 mg, volume = 0.525 mL"
  std::size_t earlier = 0;  // lines that its test has before it
  std::string now;          // what the rule gives: "clear"
  std::string changed;      // what the changed rule gives
};
struct Unnoticed {
  std::string rule;
  engine::MutantKind kind{};
  std::string condition;                // as written; empty for a grade
  std::string limit;                    // as written; empty where it is about no limit
  std::string place;                    // file:line:column
  std::string grade;                    // the grade that may as well be another
  std::optional<TellingOrder> telling;  // when asked for, and one was found
};
struct PointCount {
  std::size_t all = 0;
  std::size_t held = 0;
  PointCount& operator+=(const PointCount& other) {
    all += other.all;
    held += other.held;
    return *this;
  }
};
struct Coverage {
  std::size_t changes = 0;
  std::size_t noticed = 0;
  PointCount below, at, above;
  std::vector<Unnoticed> unnoticed;  // by rule

  void add(Coverage other);
};

/// `detail`: make an order that would tell, for what is not noticed at a limit.
Coverage cover(const std::shared_ptr<const engine::Program>& program, const Tests& tests,
               const std::vector<std::uint32_t>& rules, bool detail);

}  // namespace meniscus::adapters
