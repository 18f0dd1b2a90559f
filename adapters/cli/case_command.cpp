// `meniscus rules case FILE --order ID`: a checked order as a row of a table of cases (contract:
// rules_command.hpp).
#include <algorithm>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "adapters/cli/inputs.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/rules/case_row.hpp"
#include "adapters/rules/examples.hpp"
#include "engine/eval/checker.hpp"
#include "engine/history/history.hpp"

namespace meniscus::adapters {

namespace {
using engine::Example;
using engine::FieldId;
using engine::Verdict;

/// The order in question, as it was judged.
struct Checked {
  std::uint64_t patient = engine::kNoWord;
  std::int64_t day = 0;
  std::uint64_t number = 0;  // of its lane, over all files
  std::set<std::string> said;
};

std::set<std::string> said_by(const Verdict& verdict) {
  std::set<std::string> said;
  for (const engine::Finding& finding : verdict.findings)
    said.insert(std::string(engine::name(finding.grade)) + " from " + std::string(finding.rule));
  return said;
}

class CaseRun {
 public:
  CaseRun(const Arguments& arguments, const Console& console,
          std::shared_ptr<const engine::Program> program, engine::Feed feed)
      : arguments_(arguments),
        console_(console),
        program_(std::move(program)),
        feed_(std::move(feed)) {}

  ExitStatus run() {
    engine::History history(program_->look_back, program_->history_fields,
                            program_->history_written);
    read_all(true, [&](engine::OrderSource& source, engine::OrderBlock& block) {
      check(source, block, history);
    });
    if (!checked_) {
      console_.complain("there is no order " + arguments_.order + " in what was read");
      return worst(status_, ExitStatus::Usage);
    }
    Example example;
    example.title = "a checked order";
    CaseRows rows(checked_->day);
    example.as_of = rows.as_of();
    // Read again: the order's patient is known only now, and its number is to be the first.
    read_all(false, [&](engine::OrderSource& /*source*/, engine::OrderBlock& block) {
      find_order(block, rows, example);
    });
    read_all(false, [&](engine::OrderSource& /*source*/, engine::OrderBlock& block) {
      find_earlier(block, rows, example);
    });
    const Verdict verdict = judge_example(program_, example);
    example.expectations = expectations_of(verdict);
    console_.say(case_table_text(example));
    say_difference(said_by(verdict));
    return status_;
  }

 private:
  template <class Each>
  void read_all(bool complain, Each&& each) {
    seen_ = 0;
    const engine::ReadContext context{program_.get(), &feed_};
    for (std::uint32_t file = 0; file < arguments_.files.size(); ++file) {
      auto input = open_input(arguments_.files[file], arguments_.from, file, context);
      if (!input) {
        if (complain) console_.complain(input.error().message);
        status_ = worst(status_, ExitStatus::Unread);
        continue;
      }
      engine::OrderBlock block;
      while (input->source->next(block)) {
        each(*input->source, block);
        seen_ += block.size();
      }
    }
  }

  void check(engine::OrderSource& source, engine::OrderBlock& block, engine::History& history) {
    const engine::CheckOptions options = check_options(arguments_, console_, feed_, source);
    engine::Checker(program_, options).check(block, history, [&](const Verdict& verdict) {
      const bool judged = verdict.outcome != engine::Outcome::Outside &&
                          verdict.outcome != engine::Outcome::Recorded;
      if (verdict.order != arguments_.order || !judged) return;
      const engine::Value patient = block.value(verdict.lane, FieldId::PatientId);
      checked_ = Checked{patient.known() ? patient.aux : engine::kNoWord, verdict.as_of_day,
                         seen_ + verdict.lane, said_by(verdict)};
    });
  }

  void find_order(const engine::OrderBlock& block, CaseRows& rows, Example& example) const {
    if (checked_->number < seen_ || checked_->number >= seen_ + block.size()) return;
    example.order = rows.row(block, static_cast<unsigned>(checked_->number - seen_));
  }

  void find_earlier(const engine::OrderBlock& block, CaseRows& rows, Example& example) const {
    for (unsigned lane = 0; lane < block.size() && seen_ + lane < checked_->number; ++lane) {
      const engine::Value patient = block.value(lane, FieldId::PatientId);
      const bool same = patient.known() && patient.aux == checked_->patient;
      if (!same || block.record(lane).kind != engine::RecordKind::Order) continue;
      example.earlier.push_back(rows.row(block, lane));
    }
  }

  /// What was left out may have mattered.
  void say_difference(const std::set<std::string>& row) const {
    std::string gone;
    std::string fresh;
    for (const std::string& each : checked_->said)
      if (!row.contains(each)) gone += (gone.empty() ? "" : ", ") + each;
    for (const std::string& each : row)
      if (!checked_->said.contains(each)) fresh += (fresh.empty() ? "" : ", ") + each;
    if (!gone.empty()) {
      console_.complain("the order also gave " + gone +
                        "; the row does not, because texts and names were left out of it");
    }
    if (!fresh.empty()) console_.complain("the row also gives " + fresh + ", the order did not");
  }

  const Arguments& arguments_;
  const Console& console_;
  std::shared_ptr<const engine::Program> program_;
  engine::Feed feed_;
  std::optional<Checked> checked_;
  std::uint64_t seen_ = 0;  // lanes of the blocks before
  ExitStatus status_ = ExitStatus::Clean;
};
}  // namespace

ExitStatus run_rules_case(const Arguments& arguments, const Console& console) {
  auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  auto feed = load_feed(arguments.profile, *program, console);
  if (!feed) return ExitStatus::Usage;
  return CaseRun(arguments, console, std::move(program), std::move(*feed)).run();
}

}  // namespace meniscus::adapters
