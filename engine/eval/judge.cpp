// Rules over trial orders (contract: judge.hpp).
#include "engine/eval/judge.hpp"

#include "engine/eval/access.hpp"

namespace meniscus::engine {

Judge::Judge(const Program& program, Mode mode, const FieldSet& never_carries)
    : program_(program),
      mode_(mode),
      never_carries_(never_carries),
      scalar_(program),
      columns_(program, scalar_) {}

void Judge::begin(const OrderBlock& block, std::span<const OrderFacts> facts) {
  block_ = &block;
  columns_.begin(block, facts);
}

void Judge::run(std::span<const Task> tasks, RunResult& out) {
  Lanes all = 0;
  for (const Task& task : tasks)
    all |= task.lanes;
  if (mode_ == Mode::Columns) {
    ColumnAccess access{program_, columns_, block_};
    RuleRun<ColumnAccess> run(program_, access, never_carries_, scratch_, out);
    for (const Task& task : tasks)
      if (task.lanes != 0) run.run(task.rule, task.lanes);
    return;
  }
  each_lane(all, [&](unsigned lane) {
    LaneAccess one{program_, columns_.scalar_at(lane)};
    RuleRun<LaneAccess> run(program_, one, never_carries_, scratch_, out);
    const Lanes bit = Lanes{1} << lane;
    for (const Task& task : tasks)
      if ((task.lanes & bit) != 0) run.run(task.rule, bit);
  });
}

Lanes Judge::concerned(std::uint32_t rule, Lanes lanes) {
  const NodeId concerns = program_.rules[rule].concerns;
  if (concerns == kNoNode || lanes == 0) return lanes;
  if (mode_ == Mode::Columns) return columns_.truth(concerns, lanes).holds & lanes;
  return select(lanes, [&](unsigned lane) {
    return columns_.scalar_at(lane).truth(concerns) == Truth::True;
  });
}

}  // namespace meniscus::engine
