// Contract: see judged_orders.hpp.
#include "adapters/cli/judged_orders.hpp"

#include "adapters/cli/inputs.hpp"
#include "engine/history/history.hpp"

namespace meniscus::adapters {

engine::OrderFacts JudgedOrder::facts() const {
  engine::OrderFacts facts = engine::facts_of(block, verdict.lane, {options.as_of, options.today});
  const engine::Value patient = block.value(verdict.lane, engine::FieldId::PatientId);
  if (patient.known()) facts.records = &history.of(patient.aux);
  facts.since = history.since();
  return facts;
}

namespace {

/// A kept history that is only looked at: what is added to it for the orders that are judged is
/// taken back.
class LookedAt {
 public:
  LookedAt(std::unique_ptr<KeptHistory> kept, engine::History& history)
      : kept_(std::move(kept)), history_(history) {}
  ~LookedAt() {
    if (kept_ != nullptr) kept_->roll_back(history_);
  }
  LookedAt(const LookedAt&) = delete;
  LookedAt& operator=(const LookedAt&) = delete;

  engine::Status begin(const std::shared_ptr<const engine::Program>& program, std::int64_t today) {
    return kept_ == nullptr ? engine::Status(engine::Done{})
                            : kept_->load(program, today, history_);
  }
  engine::Status add(const engine::OrderBlock& block, const engine::Days& days) {
    return kept_ == nullptr ? engine::Status(engine::Done{}) : kept_->add(block, days, history_);
  }
  [[nodiscard]] engine::HistoryScope scope() const {
    return kept_ == nullptr ? engine::HistoryScope::Input : engine::HistoryScope::Store;
  }

 private:
  std::unique_ptr<KeptHistory> kept_;
  engine::History& history_;
};

}  // namespace

ExitStatus JudgeAll::run(const std::vector<std::string>& inputs,
                         const std::function<void(const JudgedOrder&)>& each) const {
  ExitStatus status = ExitStatus::Clean;
  engine::History history(program->look_back, program->history_fields, program->history_written);
  auto opened = open_history(arguments, console);
  if (!opened) return ExitStatus::Usage;
  LookedAt kept(std::move(*opened), history);
  engine::Status looked = kept.begin(program, console.today);
  know_since(arguments.history_since, history);
  const engine::ReadContext context{program.get(), &feed};
  for (std::uint32_t file = 0; looked && file < inputs.size(); ++file) {
    auto input = open_input(inputs[file], arguments.from, file, context);
    if (!input) {
      console.complain(input.error().message);
      status = worst(status, ExitStatus::Unread);
      continue;
    }
    engine::CheckOptions options = check_options(arguments, console, feed, *input->source);
    options.answers = answers;
    options.history = kept.scope();
    engine::Checker checker(program, options);
    engine::OrderBlock block;
    const engine::Checker::Report report = [&](const engine::Verdict& verdict) {
      for (const engine::Finding& finding : verdict.findings)
        if (finding.rule == engine::kUnreadable) status = worst(status, ExitStatus::Unread);
      each({verdict, block, *input->source, options, history});
    };
    while (looked && input->source->next(block)) {
      looked = kept.add(block, {arguments.as_of, console.today});
      if (looked) checker.check(block, history, report);
    }
  }
  if (looked) return status;
  console.complain(looked.error().message);
  return ExitStatus::Usage;
}

}  // namespace meniscus::adapters
