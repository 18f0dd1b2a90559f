// One rule and one order: what the rule made of it, why, and the smallest single change that would
// turn the answer round.
//
//   Explainer explainer(program, {as_of, host}, never);
//   const RuleExplanation e = explainer.explain(facts, rule);
//
// Change:  values are tried at the limits of the conditions that decided (engine/explain/reach),
//          and the order is judged again with each; what is named did turn the answer round. A rule
//          that found something is turned round when it is decided and finds nothing, or, where no
//          change does that, when it finds something milder; another one when it finds something.
// Lifetime: the program, `never` and the facts of the call must outlive the call.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "adapters/rules/why.hpp"
#include "engine/explain/reach.hpp"

namespace meniscus::adapters {

struct TurningChange {
  engine::FieldId field{};
  std::string from;
  std::string to;
  engine::RuleAnswer then;
};
struct RuleExplanation {
  engine::RuleAnswer answer;
  std::string say;  // Fired
  std::vector<WhyCondition> conditions;
  std::optional<TurningChange> change;
};

class Explainer {
 public:
  Explainer(const engine::Program& program, const engine::Days& days,
            const engine::FieldSet& never);

  RuleExplanation explain(const engine::OrderFacts& facts, std::uint32_t rule);
  /// Without a search for a change.
  RuleExplanation reasons_only(const engine::OrderFacts& facts, std::uint32_t rule);
  /// Without texts and without a search for a change.
  engine::RuleAnswer answer(const engine::OrderFacts& facts, std::uint32_t rule);

 private:
  std::optional<TurningChange> find_change(const engine::OrderFacts& facts, std::uint32_t rule,
                                           const engine::RuleAnswer& answer,
                                           const std::vector<engine::Decided>& decided);

  const engine::Program& program_;
  const engine::FieldSet& never_;
  WhyTeller why_;
  engine::Scalar scalar_;
  engine::Scalar trial_;
  engine::Reach reach_;
  engine::RunScratch scratch_;
  engine::RunResult result_;
};

}  // namespace meniscus::adapters
