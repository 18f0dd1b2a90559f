// Checking buffers one after the other, with one history: the work behind a checker.
//
//   OrdersJudge judge(wanted, std::move(equipment));
//   judge.judge(format, bytes, verdicts, complaint);
//
// Same:     reader, checker and writers of `meniscus check`.
// Closed:   after an error in the middle of an order, a history that outlives the call cannot be
//           trusted: nothing is judged with it any more (UNUSABLE).
// Threads:  one at a time.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>

#include "adapters/history/kept_history.hpp"
#include "adapters/hl7v2/hl7_ack_sink.hpp"
#include "adapters/input/open_orders.hpp"
#include "adapters/plugin/complaint.hpp"
#include "adapters/plugin/host_history.hpp"
#include "adapters/plugin/settings.hpp"
#include "adapters/plugin/verdicts.hpp"
#include "adapters/report/jsonl_writer.hpp"
#include "engine/answers/answer.hpp"
#include "engine/eval/checker.hpp"
#include "engine/history/history.hpp"
#include "engine/order/feed.hpp"

namespace meniscus::adapters {

/// What was read and opened before the first order.
struct Equipment {
  std::shared_ptr<const engine::Program> program;  // shared with the rules' handle
  engine::Feed feed;
  engine::Answers answers;
  std::unique_ptr<KeptHistory> kept;  // null: without a store
};

class OrdersJudge {
 public:
  OrdersJudge(const Wanted& wanted, Equipment equipment);

  /// Puts what the store has kept into the history.  Before the first order.
  MeniscusStatus load(Complaint& complaint);

  MeniscusStatus judge(Format format, std::string_view bytes, MeniscusVerdicts& into,
                       Complaint& complaint);

  /// Whether these rules can take the place of those in force.
  [[nodiscard]] bool serves(const engine::Program& program) const;
  void use(std::shared_ptr<const engine::Program> program, engine::Feed feed);

  [[nodiscard]] const Wanted& wanted() const { return wanted_; }
  [[nodiscard]] bool is_judging() const { return judging_; }
  /// A JSON list.
  [[nodiscard]] const std::string& never_assessed() const { return never_assessed_; }

 private:
  struct Call;

  MeniscusStatus judge_guarded(Call& call, Complaint& complaint);
  MeniscusStatus judge_all(Call& call, Complaint& complaint);
  MeniscusStatus know_before(Call& call, Complaint& complaint);
  void write(Call& call, const engine::Verdict& verdict);
  const engine::Verdict& refusal(const engine::Verdict& judged);
  void make_checker(const engine::OrderSource& source);
  void make_history();
  void make_answers();
  [[nodiscard]] bool has_own_history() const;

  Wanted wanted_;
  Equipment equipment_;
  /// What the history keeps, and for how long.
  struct Remembers {
    double look_back = 0;
    engine::FieldSet fields;
    engine::FieldSet written;
  };

  std::unique_ptr<engine::History> history_;
  Remembers remembers_;
  std::unique_ptr<engine::Checker> checker_;  // for the options below
  std::unique_ptr<HostHistory> host_;         // likewise; null: the host is not asked
  engine::CheckOptions options_;
  std::unique_ptr<hl7v2::Hl7AckSink> answers_;  // null: not answered, or not made
  std::string* answers_to_ = nullptr;           // during a call
  engine::OrderBlock block_;
  engine::Verdict refusal_;
  std::string never_assessed_ = "[]";
  bool judging_ = false;
  bool damaged_ = false;
};

}  // namespace meniscus::adapters
