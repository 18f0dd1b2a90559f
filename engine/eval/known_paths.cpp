// Paths that rules went (contract: known_paths.hpp).
#include "engine/eval/known_paths.hpp"

#include <bit>

#include "engine/eval/primitives.hpp"

namespace meniscus::engine {

namespace p = primitives;

/// Reads one lane of the columns for a RuleRun and notes each answer that could be another one.
/// What is made of answers is worked out here (logic, and the states of what is missing), so that
/// little is asked: where a record is missing, nothing that is reckoned from it is.
class KnownPaths::Noting {
 public:
  Noting(KnownPaths& paths, unsigned lane)
      : paths_(paths), lane_(lane), bit_(Lanes{1} << lane), columns_(access_of(paths)) {}

  Lanes unknown(NodeId id, Lanes lanes) {
    return lanes != 0 && truth(id) == Truth::Unknown ? lanes : 0;
  }
  Lanes holds(NodeId id, Lanes lanes) { return lanes != 0 && truth(id) == Truth::True ? lanes : 0; }
  Lanes missing(NodeId id, Lanes lanes) {
    return lanes != 0 && state(id) == State::Missing ? lanes : 0;
  }
  Lanes no_word(NodeId id, Lanes lanes) {
    if (lanes == 0 || node(id).type != Type::Word) return 0;
    if (masks(id).value == 0) return columns_.no_word(id, lanes);
    return state(id) == State::Known && answer({id, Question::Kind::NoWord}) != 0 ? lanes : 0;
  }
  /// Whether fields are there is part of the key.
  [[nodiscard]] Lanes absent(FieldId field, Lanes lanes) const {
    return columns_.absent(field, lanes);
  }
  Lanes before_history(const Query& query, Lanes lanes) {
    if (lanes == 0 || paths_.columns_.facts(lane_).since == History::kAlways) return 0;
    const auto number = static_cast<std::uint32_t>(&query - paths_.program_.queries.data());
    return answer({number, Question::Kind::BeforeHistory}) != 0 ? lanes : 0;
  }

 private:
  static ColumnAccess access_of(KnownPaths& paths) {
    return {paths.program_, paths.columns_, paths.block_};
  }
  [[nodiscard]] const Node& node(NodeId id) const { return paths_.program_.nodes[id]; }
  [[nodiscard]] Variation::Masks masks(NodeId id) { return paths_.variation_.of(id, bit_); }

  std::uint8_t unnoted(const Question& question) {
    const ByAnswer answers = paths_.ask(question, bit_);
    std::uint8_t answer = 0;
    while ((answers.at(answer) & bit_) == 0)
      ++answer;
    return answer;
  }
  std::uint8_t answer(const Question& question) {
    for (const Step& step : paths_.path_) {
      if (step.question == question) return step.answer;
    }
    const std::uint8_t answer = unnoted(question);
    paths_.path_.push_back({question, answer});
    return answer;
  }

  Truth truth(NodeId id) {
    const Question whole{id, Question::Kind::Truth};
    if (masks(id).value == 0) return static_cast<Truth>(unnoted(whole));
    const Node& of = node(id);
    switch (of.op) {
      case Op::Not:
        return p::negate(truth(of.x));
      case Op::And: {
        const Truth x = truth(of.x);
        return x == Truth::False ? x : p::both(x, truth(of.y));
      }
      case Op::Or: {
        const Truth x = truth(of.x);
        return x == Truth::True ? x : p::either(x, truth(of.y));
      }
      case Op::Less:
      case Op::LessEqual:
      case Op::Greater:
      case Op::GreaterEqual:
      case Op::Equal:
      case Op::NotEqual:
        // Two values of which one is missing compare in one way only.
        if (node(of.x).type != Type::Text && joint(of) == State::Missing) return Truth::Unknown;
        break;
      default:
        break;
    }
    return static_cast<Truth>(answer(whole));
  }

  /// Missing where one operand is and none is `none` or `any`; else whatever.
  State joint(const Node& of) {
    const State x = state(of.x);
    if (x == State::None || x == State::Any) return x;
    const State y = state(of.y);
    return x == State::Missing && y == State::Known ? x : y;
  }

  /// As Columns works it out.
  State state(NodeId id) {
    const Question whole{id, Question::Kind::State};
    if (masks(id).state == 0) return static_cast<State>(unnoted(whole));
    const Node& of = node(id);
    switch (of.op) {
      case Op::Add:
      case Op::Subtract:
      case Op::Multiply:
      case Op::Divide:
      case Op::DaysBetween:
      case Op::DateAfter:
        if (joint(of) == State::Missing) return State::Missing;
        break;
      case Op::OrElse: {
        const State x = state(of.x);
        return x == State::Known || x == State::Any ? x : state(of.y);
      }
      case Op::Choose: {
        const Truth first = truth(of.x);
        if (first == Truth::Unknown) return State::Missing;
        return state(first == Truth::True ? of.y : of.z);
      }
      case Op::RecordField:
      case Op::RecordWhen:
        if (state(of.x) == State::Missing) return State::Missing;
        break;
      default:
        break;
    }
    return static_cast<State>(answer(whole));
  }

  KnownPaths& paths_;
  unsigned lane_;
  Lanes bit_;
  ColumnAccess columns_;
};

KnownPaths::KnownPaths(const Program& program, Columns& columns, Variation& variation,
                       const FieldSet& never, RunScratch& scratch)
    : program_(program),
      columns_(columns),
      variation_(variation),
      never_(never),
      scratch_(scratch) {}

void KnownPaths::begin(const OrderBlock& block) {
  block_ = &block;
  if (questions_.size() > kMostQuestions || outcomes_.size() > kMostQuestions) forget();
}

void KnownPaths::forget() {
  roots_.clear();
  questions_.clear();
  outcomes_.clear();
  hits_.clear();
  undecided_.clear();
}

/// Answers as Truth and State number them; of other questions, 1 is yes.
KnownPaths::ByAnswer KnownPaths::ask(const Question& question, Lanes lanes) {
  ColumnAccess access{program_, columns_, block_};
  switch (question.kind) {
    case Question::Kind::State: {
      const ValueView value = columns_.value(question.id, lanes);
      return {~(value.known | value.none | value.any), value.none, value.known, value.any};
    }
    case Question::Kind::NoWord: {
      const Lanes odd = access.no_word(question.id, lanes);
      return {~odd, odd};
    }
    case Question::Kind::BeforeHistory: {
      const Lanes before = access.before_history(program_.queries[question.id], lanes);
      return {~before, before};
    }
    case Question::Kind::Truth:
      break;
  }
  const TruthColumn& truth = columns_.truth(question.id, lanes);
  return {~(truth.holds | truth.unknown | truth.none), truth.holds, truth.unknown, truth.none};
}
static_assert(static_cast<int>(State::Missing) == 0 && static_cast<int>(State::None) == 1 &&
              static_cast<int>(State::Known) == 2 && static_cast<int>(State::Any) == 3);
static_assert(static_cast<int>(Truth::False) == 0 && static_cast<int>(Truth::True) == 1 &&
              static_cast<int>(Truth::Unknown) == 2 && static_cast<int>(Truth::Void) == 3);

Lanes KnownPaths::follow(std::uint32_t order, std::uint32_t rule, Lanes lanes, Lanes all,
                         RunResult& out) {
  const Root* const root = roots_.find(key_of(order, rule));
  return root == nullptr ? 0 : walk(root->link, rule, lanes, all, out);
}

/// Lanes that answer alike go on together.
Lanes KnownPaths::walk(Link link, std::uint32_t rule, Lanes lanes, Lanes all, RunResult& out) {
  Lanes followed = 0;
  while (link != 0 && link % 2 == 0) {
    const Asked& asked = questions_[link / 2 - 1];
    const ByAnswer answers = ask(asked.question, all);
    std::size_t first = 0;
    while ((answers.at(first) & lanes) == 0)
      ++first;
    for (std::size_t other = first + 1; other < answers.size(); ++other) {
      const Lanes some = answers.at(other) & lanes;
      if (some != 0) followed |= walk(asked.next.at(other), rule, some, all, out);
    }
    lanes &= answers.at(first);
    link = asked.next.at(first);
  }
  if (link == 0) return followed;
  add(rule, outcomes_[link / 2], lanes, out);
  return followed | lanes;
}

void KnownPaths::add(std::uint32_t rule, const Outcome& outcome, Lanes lanes,
                     RunResult& out) const {
  if (outcome.concerned && out.concerned != nullptr) (*out.concerned)[rule] |= lanes;
  for (std::uint32_t i = 0; i < outcome.hits; ++i) {
    out.hits.push_back(hits_[outcome.first_hit + i]);
    out.hits.back().lanes = lanes;
  }
  for (std::uint32_t i = 0; i < outcome.undecided; ++i) {
    out.undecided.push_back(undecided_[outcome.first_undecided + i]);
    out.undecided.back().cause.lanes = lanes;
  }
}

void KnownPaths::run(std::uint32_t order, std::uint32_t rule, Lanes lanes, RunResult& out) {
  Root& root = roots_.find_or_add(key_of(order, rule));
  while (lanes != 0 && root.paths < kMostPaths) {
    note(rule, static_cast<unsigned>(std::countr_zero(lanes)), root, out);
    lanes &= lanes - 1;
    if (lanes != 0) lanes &= ~walk(root.link, rule, lanes, lanes, out);
  }
  if (lanes == 0) return;
  ColumnAccess access{program_, columns_, block_};
  RuleRun<ColumnAccess>(program_, access, never_, scratch_, out).run(rule, lanes);
}

void KnownPaths::note(std::uint32_t rule, unsigned lane, Root& root, RunResult& out) {
  const Lanes bit = Lanes{1} << lane;
  const std::size_t hits = out.hits.size();
  const std::size_t undecided = out.undecided.size();
  path_.clear();
  Noting noting(*this, lane);
  RuleRun<Noting>(program_, noting, never_, scratch_, out).run(rule, bit);
  const NodeId concerns = program_.rules[rule].concerns;
  Outcome outcome;
  outcome.concerned = concerns == kNoNode || noting.holds(concerns, bit) != 0;
  outcome.first_hit = static_cast<std::uint32_t>(hits_.size());
  outcome.hits = static_cast<std::uint32_t>(out.hits.size() - hits);
  outcome.first_undecided = static_cast<std::uint32_t>(undecided_.size());
  outcome.undecided = static_cast<std::uint32_t>(out.undecided.size() - undecided);
  hits_.insert(hits_.end(), out.hits.end() - outcome.hits, out.hits.end());
  undecided_.insert(undecided_.end(), out.undecided.end() - outcome.undecided, out.undecided.end());
  keep(root, outcome);
}

/// Where another question was asked at the same place, what varies was told wrongly: nothing is
/// kept then.
void KnownPaths::keep(Root& root, const Outcome& outcome) {
  if (questions_.capacity() < questions_.size() + path_.size()) {
    questions_.reserve(2 * questions_.size() + path_.size());  // so that `link` stays where it is
  }
  ++root.paths;
  Link* link = &root.link;
  for (const Step& step : path_) {
    if (*link == 0) {
      questions_.push_back({step.question, {}});
      *link = static_cast<Link>(2 * questions_.size());
    }
    if (*link % 2 != 0) return;
    Asked& asked = questions_[*link / 2 - 1];
    if (asked.question != step.question) return;
    link = &asked.next.at(step.answer);
  }
  if (*link != 0) return;
  outcomes_.push_back(outcome);
  *link = static_cast<Link>(2 * outcomes_.size() - 1);
}

}  // namespace meniscus::engine
