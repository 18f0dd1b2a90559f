// Contract: see coverage.hpp.
#include "adapters/rules/coverage.hpp"

#include <algorithm>
#include <map>
#include <memory>
#include <utility>

#include "adapters/rules/test_bench.hpp"
#include "engine/eval/access.hpp"
#include "engine/explain/reach.hpp"
#include "engine/explain/wording.hpp"

namespace meniscus::adapters {

namespace {
using engine::Expectation;
using engine::FieldId;
using engine::Grade;
using engine::Mutant;
using engine::MutantKind;
using engine::OrderFacts;
using engine::Outcome;
using engine::Program;
using engine::RunResult;
using engine::Scalar;

/// What one rule, or several together, gave for one order.
struct Gave {
  unsigned grades = 0;  // one bit a grade
  bool undecided = false;
  bool grave = false;  // and a grave clause is among what was left open

  void operator|=(const Gave& other) {
    grades |= other.grades;
    undecided = undecided || other.undecided;
    grave = grave || other.grave;
  }
  friend bool operator==(const Gave&, const Gave&) = default;
};

unsigned bit(Grade grade) { return 1U << static_cast<unsigned>(grade); }

Outcome outcome_of(const Gave& gave) {
  for (const Grade grade : {Grade::Hold, Grade::Clarify})
    if ((gave.grades & bit(grade)) != 0) return engine::outcome_of(grade);
  if (gave.grave) return Outcome::Incomplete;
  for (const Grade grade : {Grade::Caution, Grade::Note})
    if ((gave.grades & bit(grade)) != 0) return engine::outcome_of(grade);
  return Outcome::Clear;
}

std::string words(const Gave& gave) {
  std::string text;
  for (const Grade grade : {Grade::Hold, Grade::Clarify, Grade::Caution, Grade::Note}) {
    if ((gave.grades & bit(grade)) == 0) continue;
    if (!text.empty()) text += " and ";
    text += engine::name(grade);
  }
  if (gave.undecided) text += text.empty() ? "incomplete" : " and incomplete";
  return text.empty() ? "clear" : text;
}

bool holds(const Expectation& expectation, const Gave& gave) {
  if (expectation.nothing) return gave.grades == 0;
  if (expectation.rule.empty()) return outcome_of(gave) == *expectation.outcome;
  if (*expectation.outcome == Outcome::Clear) return gave.grades == 0 && !gave.undecided;
  if (*expectation.outcome == Outcome::Incomplete) return gave.undecided;
  for (const Grade grade : {Grade::Note, Grade::Caution, Grade::Clarify, Grade::Hold}) {
    if (engine::outcome_of(grade) == *expectation.outcome) return (gave.grades & bit(grade)) != 0;
  }
  return false;
}

/// Runs single rules by the tree walk over a program that may change between runs.
class Judging {
 public:
  explicit Judging(const Program& program) : program_(program), scalar_(program) {}

  void program_changed() {
    scalar_.plan();
    scratch_.forget();
  }

  Gave run(std::uint32_t rule, const OrderFacts& facts) {
    scalar_.begin(facts);
    result_.clear();
    engine::LaneAccess access{program_, scalar_};
    engine::RuleRun<engine::LaneAccess>(program_, access, never_, scratch_, result_)
        .run(rule, engine::Lanes{1} << facts.lane);
    Gave gave;
    const engine::Rule& r = program_.rules[rule];
    for (const engine::Hit& hit : result_.hits) {
      gave.grades |= bit(hit.clause >= 0 ? r.clauses[static_cast<std::size_t>(hit.clause)].grade
                                         : r.withouts[static_cast<std::size_t>(hit.without)].grade);
    }
    for (const engine::Undecided& undecided : result_.undecided) {
      gave.undecided = true;
      gave.grave = gave.grave || undecided.grave;
    }
    return gave;
  }

 private:
  const Program& program_;
  Scalar scalar_;
  engine::RunScratch scratch_;
  RunResult result_;
  const engine::FieldSet never_;
};

class Cover {
 public:
  Cover(const std::shared_ptr<const Program>& program, const Tests& tests, bool detail)
      : program_(*program),
        bench_(program, tests),
        mutator_(*program),
        judging_(*program),
        changed_(mutator_.program()),
        wording_(*program),
        detail_(detail) {
    for (std::size_t i = 0; i < bench_.size(); ++i)
      (is_about_order(bench_.test(i)) ? whole_ : named_).push_back(i);
  }

  void run(std::uint32_t rule) {
    find_tests(rule);
    for (const Mutant& mutant : mutator_.mutants(rule)) {
      mutator_.apply(rule, mutant);
      changed_.program_changed();
      const bool noticed = is_noticed(rule);
      count(mutant, noticed);
      if (!noticed) add_unnoticed(rule, mutant);
      mutator_.undo();
    }
  }

  Coverage take() { return std::move(out_); }

 private:
  struct OfRule {
    std::size_t test = 0;
    Gave others;  // of the other rules, for what is expected of the whole order
    std::vector<bool> expected;
  };

  static bool is_about_order(const engine::Example& test) {
    return std::any_of(test.expectations.begin(), test.expectations.end(),
                       [](const Expectation& e) { return e.rule.empty(); });
  }

  [[nodiscard]] bool is_about(std::size_t test, const std::string& rule) const {
    const auto& all = bench_.test(test).expectations;
    return std::any_of(all.begin(), all.end(),
                       [&](const Expectation& e) { return e.rule.empty() || e.rule == rule; });
  }

  void find_tests(std::uint32_t rule) {
    tests_.clear();
    for (const std::vector<std::size_t>* some : {&named_, &whole_}) {
      for (const std::size_t test : *some) {
        if (!bench_.judged(test) || !is_about(test, program_.rules[rule].name)) continue;
        OfRule entry{test, {}, {}};
        if (some == &whole_) entry.others = others(test, rule);
        entry.expected = expectations(entry, rule, judging_.run(rule, bench_.facts(test)));
        tests_.push_back(std::move(entry));
      }
    }
  }

  /// What all rules but one give, and what a doubt adds.
  Gave others(std::size_t test, std::uint32_t but) {
    Gave gave;
    for (std::uint32_t rule = 0; rule < program_.rules.size(); ++rule)
      if (rule != but && !program_.rules[rule].trial)
        gave |= judging_.run(rule, bench_.facts(test));
    if (bench_.doubtful(test)) gave.grades |= bit(Grade::Clarify);
    return gave;
  }

  std::vector<bool> expectations(const OfRule& entry, std::uint32_t rule, const Gave& gave) const {
    std::vector<bool> out;
    for (const Expectation& each : bench_.test(entry.test).expectations) {
      if (!each.rule.empty() && each.rule != program_.rules[rule].name) continue;
      Gave all = gave;
      if (each.rule.empty() && program_.rules[rule].trial) all = {};  // a trial decides nothing
      if (each.rule.empty()) all |= entry.others;
      out.push_back(holds(each, all));
    }
    return out;
  }

  bool is_noticed(std::uint32_t rule) {
    return std::any_of(tests_.begin(), tests_.end(), [&](const OfRule& entry) {
      const Gave gave = changed_.run(rule, bench_.facts(entry.test));
      return expectations(entry, rule, gave) != entry.expected;
    });
  }

  void count(const Mutant& mutant, bool noticed) {
    ++out_.changes;
    if (noticed) ++out_.noticed;
    PointCount* point = nullptr;
    if (mutant.kind == MutantKind::LimitDown) point = &out_.below;
    if (mutant.kind == MutantKind::AtLimit) point = &out_.at;
    if (mutant.kind == MutantKind::LimitUp) point = &out_.above;
    if (point == nullptr) return;
    ++point->all;
    if (noticed) ++point->held;
  }

  void add_unnoticed(std::uint32_t number, const Mutant& mutant) {
    const engine::Rule& rule = program_.rules[number];
    Unnoticed out;
    out.rule = rule.name;
    out.kind = mutant.kind;
    if (mutant.node == engine::kNoNode) {
      const bool clause = mutant.clause.has_value();
      out.grade = engine::name(clause ? rule.clauses[*mutant.clause].grade
                                      : rule.withouts[*mutant.without].grade);
      const std::uint32_t line =
          clause ? rule.clauses[*mutant.clause].line : rule.withouts[*mutant.without].line;
      out.place = rule.file + ":" + std::to_string(line);
    } else {
      out.condition = wording_.text(rule, mutant.node);
      if (mutant.limit != engine::kNoNode) out.limit = limit_text(rule, mutant.limit);
      const engine::RulePlace place = wording_.place(rule, mutant.node);
      out.place.append(place.file).append(":").append(std::to_string(place.at.line));
      out.place.append(":").append(std::to_string(place.at.column));
      if (detail_ && engine::is_point(mutant.kind)) out.telling = telling_order(number, mutant);
    }
    out_.unnoticed.push_back(std::move(out));
  }

  [[nodiscard]] std::string limit_text(const engine::Rule& rule, engine::NodeId limit) const {
    const std::string_view name = wording_.name(rule, limit);
    return name.empty() ? wording_.text(rule, limit) : std::string(name);
  }

  /// The changed rule is in force while this looks for an order that gives it away.
  std::optional<TellingOrder> telling_order(std::uint32_t rule, const Mutant& mutant) {
    for (const OfRule& entry : tests_) {
      engine::Reach& reach = reach_for(bench_.days(entry.test));
      const OrderFacts& facts = bench_.facts(entry.test);
      for (const engine::Reached& reached : reach.around(facts, mutant.node)) {
        const OrderFacts& trial = reach.trial(facts, reached);
        const Gave now = judging_.run(rule, trial);
        const Gave changed = changed_.run(rule, trial);
        if (now == changed) continue;
        const engine::Example& test = bench_.test(entry.test);
        return TellingOrder{order_text(test, reached), test.earlier.size(), words(now),
                            words(changed)};
      }
    }
    return std::nullopt;
  }

  static std::string order_text(const engine::Example& test, const engine::Reached& reached) {
    std::string text;
    bool there = false;
    const auto append = [&](FieldId field, std::string_view value) {
      if (!text.empty()) text += ", ";
      text.append(engine::info(field).name).append(" = ").append(value);
    };
    for (const engine::ExampleField& field : test.order.fields) {
      const bool changed = field.field == reached.field;
      there = there || changed;
      append(field.field, changed ? reached.text : field.text);
    }
    if (!there) append(reached.field, reached.text);
    return text;
  }

  engine::Reach& reach_for(const engine::Days& days) {
    std::unique_ptr<engine::Reach>& reach = reach_[{days.as_of, days.host}];
    if (reach == nullptr) reach = std::make_unique<engine::Reach>(program_, days);
    return *reach;
  }

  const Program& program_;
  TestBench bench_;
  engine::Mutator mutator_;
  Judging judging_;
  Judging changed_;
  engine::Wording wording_;
  bool detail_;
  std::vector<std::size_t> named_;  // tests about rules by name
  std::vector<std::size_t> whole_;  // tests about whole orders
  std::vector<OfRule> tests_;       // of the rule at hand
  std::map<std::pair<std::optional<std::int64_t>, std::int64_t>, std::unique_ptr<engine::Reach>>
      reach_;
  Coverage out_;
};
}  // namespace

void Coverage::add(Coverage other) {
  changes += other.changes;
  noticed += other.noticed;
  below += other.below;
  at += other.at;
  above += other.above;
  std::move(other.unnoticed.begin(), other.unnoticed.end(), std::back_inserter(unnoticed));
}

Coverage cover(const std::shared_ptr<const Program>& program, const Tests& tests,
               const std::vector<std::uint32_t>& rules, bool detail) {
  Cover cover(program, tests, detail);
  for (const std::uint32_t rule : rules)
    cover.run(rule);
  return cover.take();
}

}  // namespace meniscus::adapters
