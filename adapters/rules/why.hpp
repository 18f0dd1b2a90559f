// Why a rule said what it said of one order, as data for people: conditions as they stand in the
// rule, with their places and with the values on their sides.
//
//   const WhyTeller why(program);
//   for (const WhyCondition& c : why.conditions(scalar, rule, reasons(scalar, number, answer))) ...
//
// `scalar` stands at the order.  Values are for the person who asked; they go into no log.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "engine/explain/decide.hpp"
#include "engine/explain/wording.hpp"

namespace meniscus::adapters {

/// A name that a rule uses, and what it is for the order.
struct WhyValue {
  std::string name;
  std::string value;                     // "(not stated)" where it is missing
  std::optional<engine::FieldId> field;  // it is a field of the order
};
struct WhyCondition {
  std::string text;   // as written
  std::string place;  // "dose/dose-range.rule:7:29"
  engine::Truth truth{};
  std::vector<WhyValue> sides;
  std::vector<WhyValue> fields;           // of the order, that the sides were worked out from
  engine::NodeId node = engine::kNoNode;  // the comparison
};

class WhyTeller {
 public:
  /// The program must outlive this.
  explicit WhyTeller(const engine::Program& program) : program_(program), wording_(program) {}

  [[nodiscard]] std::vector<WhyCondition> conditions(
      engine::Scalar& scalar, const engine::Rule& rule,
      const std::vector<engine::Decided>& decided) const;

  /// Every field, `let`, definition and setting that the rule uses, by name, each once.  Fields
  /// that the order does not state are left out.
  [[nodiscard]] std::vector<WhyValue> values(engine::Scalar& scalar,
                                             const engine::Rule& rule) const;

 private:
  void add_sides(engine::Scalar& scalar, const engine::Rule& rule, engine::NodeId node,
                 std::vector<WhyValue>& out) const;
  void add_fields(engine::Scalar& scalar, const engine::Rule& rule, engine::NodeId node,
                  WhyCondition& condition) const;
  void add_side(engine::Scalar& scalar, const engine::Rule& rule, engine::NodeId node,
                std::vector<WhyValue>& out) const;
  [[nodiscard]] WhyValue value(engine::Scalar& scalar, engine::NodeId node, std::string name) const;

  const engine::Program& program_;
  engine::Wording wording_;
};

/// "holds", "does not hold", "cannot be told".
std::string_view truth_words(engine::Truth truth);
/// "volume = 1.2 mL, expected = 0.5 mL".
std::string listed(const std::vector<WhyValue>& values);

}  // namespace meniscus::adapters
