// `check --from hl7 --to hl7` with a store or a quarantine: messages are answered as the service
// answers them, known again when they are sent again, and kept when they cannot be read.
//
//   PipeCheck pipe(arguments, console, rules, history, {kept, quarantine}, judged);
//   const ExitStatus status = pipe.run(std::move(input));
#pragma once

#include <functional>
#include <memory>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "adapters/cli/host_clock.hpp"
#include "adapters/service/answerer.hpp"
#include "engine/ports/byte_source.hpp"

namespace meniscus::adapters {

class PipeCheck : private AnswerWatch {
 public:
  using Judged = std::function<void(const engine::Verdict& verdict)>;

  /// `arguments`, `console`, `history` and `stores` outlive this.  `judged` hears of each verdict.
  PipeCheck(const Arguments& arguments, const Console& console, RulesInForce rules,
            engine::History& history, const AnswerStores& stores, Judged judged);

  /// Answers all messages of an input.  What is wrong is said.  The status is of what `judged` does
  /// not hear.
  ExitStatus run(engine::Input input);
  /// Nothing more may be judged: a turn could not be kept, or answers not be written.
  [[nodiscard]] bool is_over() const { return over_; }

 private:
  void judged(const engine::Verdict& verdict) override { judged_(verdict); }
  void repeated(std::string_view answer) override;

  const Console& console_;
  engine::Outcome fail_at_;
  HostClock clock_;
  Judged judged_;
  Answerer answerer_;
  ExitStatus status_ = ExitStatus::Clean;
  bool over_ = false;
};

}  // namespace meniscus::adapters
