// One HL7 v2 message after the other: bytes of a frame in, bytes of its answer out.
//
//   Answerer answerer(rules, policy, clock, history);
//   answerer.answer(frame, out);
//
// Same:     reader, checker and answer writer of `check --to hl7`; so an answer is what `check`
//           says of the same messages in the same order.
// Never:    keeps a message, or answers AA with OK without a completed check.  What goes wrong
//           inside (no memory) refuses the message (AR), and the next one is read.
// Memory:   everything that a message needs is kept and used again; `history` forgets by its
//           look-back.
// Threads:  one at a time.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/history/kept_history.hpp"
#include "adapters/hl7v2/hl7_ack_sink.hpp"
#include "adapters/mllp/frame_cutter.hpp"
#include "adapters/service/answer_watch.hpp"
#include "adapters/service/rules_in_force.hpp"
#include "engine/history/history.hpp"
#include "engine/ports/clock.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

class Answerer {
 public:
  /// `clock`, `history`, `watch` and `kept` outlive this.  `kept`: where orders are kept before
  /// they are judged; a message whose orders cannot be kept is refused (AR).  Null: nowhere, and
  /// history begins with the first order.
  Answerer(RulesInForce rules, const hl7v2::AckPolicy& policy, const engine::Clock& clock,
           engine::History& history, AnswerWatch& watch, KeptHistory* kept = nullptr);
  ~Answerer();
  Answerer(const Answerer&) = delete;
  Answerer& operator=(const Answerer&) = delete;

  /// Appends all answers to `out`; none where the message asks for none.
  void answer(const mllp::Frame& frame, std::string& out);

  /// Why the orders of a message could not be kept; empty when all were.  Names no order.
  [[nodiscard]] std::string take_trouble();

  /// Other rules from the next message on.  The history must keep what they look back on.
  void use(RulesInForce rules);

  /// By feed and format, the rules that are never assessed.
  [[nodiscard]] std::vector<engine::NotAssessed> never_assessed() const;

 private:
  class Work;
  std::unique_ptr<Work> work_;
};

}  // namespace meniscus::adapters
