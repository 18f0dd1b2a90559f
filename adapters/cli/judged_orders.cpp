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

ExitStatus JudgeAll::run(const std::vector<std::string>& inputs,
                         const std::function<void(const JudgedOrder&)>& each) const {
  ExitStatus status = ExitStatus::Clean;
  engine::History history(program->look_back, program->history_fields, program->history_written);
  const engine::ReadContext context{program.get(), &feed};
  for (std::uint32_t file = 0; file < inputs.size(); ++file) {
    auto input = open_input(inputs[file], arguments.from, file, context);
    if (!input) {
      console.complain(input.error().message);
      status = worst(status, ExitStatus::Unread);
      continue;
    }
    engine::CheckOptions options = check_options(arguments, console, feed, *input->source);
    options.answers = answers;
    engine::Checker checker(program, options);
    engine::OrderBlock block;
    const engine::Checker::Report report = [&](const engine::Verdict& verdict) {
      for (const engine::Finding& finding : verdict.findings)
        if (finding.rule == engine::kUnreadable) status = worst(status, ExitStatus::Unread);
      each({verdict, block, *input->source, options, history});
    };
    while (input->source->next(block))
      checker.check(block, history, report);
  }
  return status;
}

}  // namespace meniscus::adapters
