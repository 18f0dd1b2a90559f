// Contract: see pipe_check.hpp.
#include "adapters/cli/pipe_check.hpp"

#include <utility>

#include "adapters/cli/sinks.hpp"
#include "adapters/service/message_pipe.hpp"
#include "adapters/support/heap_pages.hpp"

namespace meniscus::adapters {

namespace {
AnswerOptions answer_options(const Arguments& arguments, const AnswerStores& stores) {
  AnswerOptions options{ack_policy(arguments), static_cast<double>(arguments.resend_window)};
  options.as_of = arguments.as_of;
  if (stores.kept == nullptr) options.scope = engine::HistoryScope::Input;
  return options;
}
}  // namespace

PipeCheck::PipeCheck(const Arguments& arguments, const Console& console, RulesInForce rules,
                     engine::History& history, const AnswerStores& stores, Judged judged)
    : console_(console),
      fail_at_(arguments.fail_at),
      clock_(console),
      judged_(std::move(judged)),
      answerer_(std::move(rules), answer_options(arguments, stores), clock_, history, *this,
                stores) {}

ExitStatus PipeCheck::run(engine::Input input) {
  status_ = ExitStatus::Clean;
  PipeEnds ends;
  ends.send = [this](std::string_view answers) {
    const bool written = console_.out(answers).has_value();
    if (console_.heap != nullptr) console_.heap->keep_up();
    return written;
  };
  ends.trouble = [this](std::string_view what) {
    console_.complain(what);
    status_ = worst(status_, ExitStatus::Internal);
  };
  ends.missing = [this, &input](std::string_view what) {
    console_.complain(input.name + ": " + std::string(what));
    status_ = worst(status_, ExitStatus::Unread);
  };
  MessagePipe pipe(answerer_, std::move(ends));
  const engine::Status done = pipe.run(std::move(input.bytes));
  over_ = !done;
  if (!done) {
    console_.complain(done.error().message);
    status_ = worst(status_, ExitStatus::Internal);
  }
  return status_;
}

/// There is no verdict, but the answer shows what came of the orders: the grades, whatever counted
/// when it was given, else whether one was refused.
void PipeCheck::repeated(std::string_view answer) {
  const auto outcome = hl7v2::outcome_in(answer);
  const bool found = outcome ? *outcome >= fail_at_ : hl7v2::refuses_an_order(answer);
  if (found) status_ = worst(status_, ExitStatus::Found);
}

}  // namespace meniscus::adapters
