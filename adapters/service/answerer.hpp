// One HL7 v2 message after the other: bytes of a frame in, bytes of its answer out.
//
//   Answerer answerer(rules, options, clock, history, watch, {kept, quarantine});
//   if (!answerer.take_turn({{frame, &out}, ...})) ...   // nothing of the turn may be sent
//
// or, where more may come to a turn, or it is brought to the disk by another thread:
//
//   answerer.answer({{frame, &out}, ...});  answerer.answer(...);  answerer.end_turn();
//
// Same:     reader, checker and answer writer of `check --to hl7`; so an answer is what `check`
//           says of the same messages in the same order.
// Turn:     what the answers of a turn depend on is on the disk when end_turn() has returned; one
//           commit for all of them.  It begins with the first message.  Where that fails, the
//           orders of the turn are not kept, and refuse() gives the answers that may be sent. Where
//           it can be handed over, the next turn is judged while it is brought to the disk.
// Together: messages of a turn are judged in blocks, as those of a file are; each answer is what it
//           would be if the messages came alone, one after the other.
// Again:    a message with the sender, the control id and the content of an earlier one gets the
//           answer that it got, byte for byte, within AnswerOptions::resend_window; the same
//           control id with other content is refused.  Only with `kept`, and for messages that
//           could be read.
// Never:    keeps a message, but for one that cannot be read and a quarantine; or answers AA with
//           OK without a completed check.  What goes wrong inside (no memory) refuses the message
//           (AR), and the next one is read.
// Memory:   everything that a message needs is kept and used again; `history` forgets by its
//           look-back.
// Threads:  one at a time.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/history/kept_history.hpp"
#include "adapters/hl7v2/hl7_ack_sink.hpp"
#include "adapters/mllp/frame_cutter.hpp"
#include "adapters/quarantine/quarantine.hpp"
#include "adapters/service/answer_watch.hpp"
#include "adapters/service/rules_in_force.hpp"
#include "engine/history/history.hpp"
#include "engine/ports/clock.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

struct AnswerOptions {
  hl7v2::AckPolicy policy;
  double resend_window = 3600;          // seconds; 0: every message is judged
  std::optional<std::int64_t> as_of{};  // days since 1970-01-01; none: each order's own day
  // Input: the messages of this answerer are all that there ever was; only without `kept`.
  engine::HistoryScope scope = engine::HistoryScope::Store;
};

/// A message, and where its answers go.
struct Asked {
  mllp::Frame frame;
  std::string* out;
};

/// Where messages leave traces; either may be null, and both outlive the answerer.
struct AnswerStores {
  KeptHistory* kept = nullptr;       // null: history begins with the first order
  Quarantine* quarantine = nullptr;  // null: messages that cannot be read are only refused
};

class Answerer {
 public:
  /// `clock`, `history` and `watch` outlive this.
  Answerer(RulesInForce rules, const AnswerOptions& options, const engine::Clock& clock,
           engine::History& history, AnswerWatch& watch, const AnswerStores& stores = {});
  ~Answerer();
  Answerer(const Answerer&) = delete;
  Answerer& operator=(const Answerer&) = delete;

  /// A turn of these messages alone.  Errors: nothing of it was kept, and it is given up.
  engine::Status take_turn(std::span<const Asked> messages);

  /// Adds messages to the turn.  Appends all answers to each message's text; none where the message
  /// asks for none.  Errors: its orders could not be added, or no memory; the turn is to be given
  /// up.  They name no order.
  engine::Status answer(std::span<const Asked> messages);
  /// Errors: nothing of the turn was kept; it is to be given up.
  engine::Status end_turn();
  /// end_turn() by another thread, beside the next turns: `landed`, which does not throw, is called
  /// there, and settle() follows; where several land together, that of the last one is called.
  /// False: not this turn; end_turn() it.
  bool hand_turn_over(const std::function<void()>& landed);
  /// Waits until some of the turns that were handed over are kept, the first ones, and gives their
  /// number.  Errors: nothing of those that are left was kept; the open turn builds on them and is
  /// to be given up.
  engine::Result<std::size_t> settle();
  /// Gives a turn up: nothing of it is kept.
  void give_turn_up();

  /// Between turns: forgets the answers that are not given again any more; with a window of 0,
  /// none, as another program that shares the store may give them.  Errors: none is forgotten.
  engine::Status drop_old_answers();

  /// Appends the answer to a message whose orders could not be kept.
  void refuse(const mllp::Frame& frame, std::string& out);

  /// What only the log can say: why a message that could not be read was not put into quarantine,
  /// or what is off in a batch.  Empty: nothing.
  [[nodiscard]] std::string take_trouble();

  /// Other rules from the next message on.  The history must keep what they look back on.
  void use(RulesInForce rules, engine::History& history);

  /// By feed and format, the rules that are never assessed.
  [[nodiscard]] std::vector<engine::NotAssessed> never_assessed() const;

 private:
  class Work;
  std::unique_ptr<Work> work_;
};

}  // namespace meniscus::adapters
