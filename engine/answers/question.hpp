// What a question of a rule rests on: the values that its answer is good for.
//
//   QuestionReader reader(program);
//   const Question& q = reader.read(scalar, {rule, clause, without}, QuestionScope::Order);
//
// Values:   what the clause, the rule's `concerns` and the texts of the question read: fields of
//           the order (and what stands behind a derived one), settings, what look-ups gave, what
//           earlier and active orders said; and the medicine.  Those that are missing are left out.
// The day:  in the scope of an order, also the dates that fix when it is judged and planned, where
//           the rule asks for the day.  Time that passes is no value: an answer has a last day.
// Conditions: a fingerprint of the clause and of `concerns`, which a change of the rule's layout,
//           titles and texts leaves as it is, and a change of what it asks for does not.
// Lifetime: what read() gives is good until the next read().  One reader a thread.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "engine/answers/answer.hpp"
#include "engine/eval/rule_run.hpp"
#include "engine/eval/scalar.hpp"

namespace meniscus::engine {

enum class QuestionScope : std::uint8_t { Order, Patient };

struct Question {
  std::uint64_t conditions = 0;
  std::vector<AnsweredValue> values;
};

class QuestionReader {
 public:
  /// The program must outlive this.
  explicit QuestionReader(const Program& program) : program_(program) {}

  /// `scalar` stands at the order in which `hit` was found.
  const Question& read(Scalar& scalar, const Hit& hit, QuestionScope scope);
  [[nodiscard]] std::uint64_t conditions(const Hit& hit) { return parts_of(hit).conditions; }

 private:
  /// What is worked out once for each clause.
  struct Parts {
    std::uint64_t conditions = 0;
    FieldSet fields;  // named by the rule, or behind what it names
    FieldSet days;    // that only fix the day
    std::vector<std::pair<std::string, NodeId>> others;  // by name, each once
  };
  const Parts& parts_of(const Hit& hit);
  Parts make_parts(const Hit& hit);
  void add_fields(const std::vector<NodeId>& roots, Parts& parts);
  void add_field(const OrderFacts& facts, FieldId field);

  const Program& program_;
  std::vector<FieldSet> fields_by_node_;  // made with the first question
  std::map<std::tuple<std::uint32_t, std::int32_t, std::int32_t>, Parts> parts_;
  Question question_;
};

}  // namespace meniscus::engine
