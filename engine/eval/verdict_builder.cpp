// Verdicts.  A clear order passes through here without an allocation.
#include "engine/eval/verdict_builder.hpp"

#include <algorithm>
#include <numeric>

#include "engine/eval/checker.hpp"
#include "engine/eval/say.hpp"

namespace meniscus::engine {
namespace {

constexpr std::string_view kPatientUnknown = "";

/// Appends the names of the fields that a node's operands are reckoned from, each once.  Deep down
/// only where nothing nearer has a name.
void name_operands(const Program& program, NodeId id, std::string& out, int deepest,
                   int depth = 0) {
  if (id == kNoNode || depth > deepest) return;
  const Node& node = program.nodes[id];
  if (node.op == Op::Field) {
    const std::string_view name = info(static_cast<FieldId>(node.a)).name;
    if (out.find(name) != std::string::npos) return;
    if (!out.empty()) out += ", ";
    out += name;
    return;
  }
  for (const NodeId part : {node.x, node.y, node.z})
    name_operands(program, part, out, deepest, depth + 1);
}

}  // namespace

VerdictBuilder::VerdictBuilder(const Program& program, const CheckOptions& options)
    : program_(program), options_(options), answers_(program, options.answers) {}

void VerdictBuilder::head(const Scalar& scalar, Verdict& out) const {
  const OrderFacts& facts = scalar.facts();
  out.clear();
  out.lane = facts.lane;
  const Value id = facts.block->value(facts.lane, FieldId::OrderId);
  const Value filler = facts.block->value(facts.lane, FieldId::OrderFiller);
  out.order = id.known() ? id.text : filler.text;
  const Value patient = facts.block->value(facts.lane, FieldId::PatientId);
  out.patient = patient.known() ? patient.text : kPatientUnknown;
  out.as_of_day = unpack(facts.today.number, facts.today.aux).day();
  out.history = options_.history;
}

void VerdictBuilder::add_field(const Scalar& scalar, FieldId field, Finding& finding) const {
  const OrderFacts& facts = scalar.facts();
  BlamedField& blamed = finding.fields.emplace_back();
  blamed.field = field;
  blamed.value = facts.block->written(facts.lane, field);
  blamed.origin = facts.block->origin(facts.lane, field);
  blamed.from_text = facts.block->from_text(facts.lane, field);
}

namespace {

Grade grade_of(const Rule& rule, const Hit& hit) {
  return hit.clause >= 0 ? rule.clauses[static_cast<std::size_t>(hit.clause)].grade
                         : rule.withouts[static_cast<std::size_t>(hit.without)].grade;
}

const Template& words_of(const Rule& rule, const Hit& hit) {
  return hit.clause >= 0 ? rule.clauses[static_cast<std::size_t>(hit.clause)].say
                         : rule.withouts[static_cast<std::size_t>(hit.without)].say;
}

/// What is written and doubtful is asked about as such (add_doubts): to say that it is not stated
/// would be a second question about one value.  A `hold` stands.
bool is_doubt_itself(const Scalar& scalar, const Rule& rule, const Hit& hit) {
  if (hit.without < 0 || grade_of(rule, hit) > Grade::Clarify) return false;
  const OrderFacts& facts = scalar.facts();
  const std::vector<Doubt>& doubts = facts.block->doubts();
  const auto doubtful = [&](FieldId field) {
    return std::any_of(doubts.begin(), doubts.end(), [&](const Doubt& doubt) {
      return doubt.lane == facts.lane && doubt.field == field;
    });
  };
  const auto& fields = rule.withouts[static_cast<std::size_t>(hit.without)].fields;
  return std::any_of(fields.begin(), fields.end(), doubtful) &&
         std::all_of(fields.begin(), fields.end(), [&](FieldId field) {
           return facts.block->value(facts.lane, field).known() || doubtful(field);
         });
}

}  // namespace

/// The change that mutes what the rule found, or null.  A `hold` needs the host's leave.
const LocalChange* VerdictBuilder::muted_by(Scalar& scalar, const Rule& rule, Grade grade) const {
  if (grade == Grade::Hold && !program_.mute_hold) return nullptr;
  for (const Mute& mute : rule.mutes) {
    if (mute.scope == kNoNode || scalar.truth(mute.scope) == Truth::True) {
      return &program_.changes[mute.change];
    }
  }
  return nullptr;
}

/// True when nobody is to act on the hit; it is then kept beside the findings.
bool VerdictBuilder::hide(Scalar& scalar, const Rule& rule, const Hit& hit, Verdict& out) const {
  const Grade grade = grade_of(rule, hit);
  const LocalChange* change = rule.trial ? &program_.changes[*rule.trial] : nullptr;
  if (change == nullptr) change = muted_by(scalar, rule, grade);
  if (change == nullptr) return false;
  Hidden& hidden = rule.trial ? out.add_trial() : out.add_muted();
  hidden.rule = rule.name;
  hidden.grade = grade;
  hidden.change = change;
  say(scalar, words_of(rule, hit), help_, hidden.say);
  return true;
}

void VerdictBuilder::add_finding(Scalar& scalar, const Hit& hit, Verdict& out) const {
  const Rule& rule = program_.rules[hit.rule];
  Finding& finding = out.add_finding();
  finding.rule = rule.name;
  finding.cite = rule.cite;
  finding.grade = grade_of(rule, hit);
  say(scalar, words_of(rule, hit), help_, finding.say);
  if (hit.clause >= 0) {
    const Clause& clause = rule.clauses[static_cast<std::size_t>(hit.clause)];
    finding.clause = static_cast<std::uint16_t>(hit.clause + 1);
    say(scalar, clause.ask, help_, finding.ask);
    for (const FieldId field : clause.blames)
      add_field(scalar, field, finding);
    return;
  }
  const Without& without = rule.withouts[static_cast<std::size_t>(hit.without)];
  finding.without = static_cast<std::uint16_t>(hit.without + 1);
  say(scalar, without.ask, help_, finding.ask);
  for (const FieldId field : without.fields) {
    if (!scalar.facts().block->value(scalar.facts().lane, field).known()) {
      add_field(scalar, field, finding);
    }
  }
}

/// The last finding, which `hit` gave, is no finding where an answer holds for it.
void VerdictBuilder::answer(Scalar& scalar, const RunResult& result, const Hit& hit, Verdict& out) {
  const Lanes bit = Lanes{1} << scalar.facts().lane;
  Finding& finding = out.findings.back();
  // A clause as grave as one that held is not among what is undecided.
  const bool graver_open = std::any_of(
      result.undecided.begin(), result.undecided.end(), [&](const Undecided& undecided) {
        return undecided.rule == hit.rule && undecided.grave && (undecided.cause.lanes & bit) != 0;
      });
  const AnswerFinder::Asked asked{hit, finding.grade, out.order, out.patient, graver_open};
  const Answer* found = answers_.find(scalar, asked, finding.earlier);
  if (found != nullptr) out.answer_last_finding().answer = found;
}

void VerdictBuilder::add_hits(Scalar& scalar, const RunResult& result, Verdict& out) {
  const Lanes bit = Lanes{1} << scalar.facts().lane;
  for (const Hit& hit : result.hits) {
    if ((hit.lanes & bit) == 0) continue;
    const Rule& rule = program_.rules[hit.rule];
    if ((rule.trial || !rule.mutes.empty()) && hide(scalar, rule, hit, out)) continue;
    if (is_doubt_itself(scalar, rule, hit)) continue;
    add_finding(scalar, hit, out);
    if (answers_.any() && grade_of(rule, hit) >= Grade::Clarify) answer(scalar, result, hit, out);
  }
}

namespace {

/// Why there is no age: no birth date, none to the day, or no day that it is to be counted to.
std::string_view why_no_age(const OrderFacts& facts) {
  const Value born = facts.block->value(facts.lane, FieldId::PatientBorn);
  if (!born.known()) return info(FieldId::PatientBorn).name;
  return unpack(born.number, born.aux).precision < Precision::Day
             ? "patient.age: the birth date has no day"
             : "patient.age: the order has no day for it";
}

/// Words that no table knows, and of a list of other things that one of them says too little.
void name_word(const OrderFacts& facts, FieldId field, std::string& out) {
  out.append(info(field).name).append(": ");
  if (!is_list(info(field).kind)) {
    out.append(facts.block->written(facts.lane, field));
    return;
  }
  const Value list = facts.block->value(facts.lane, field);
  const ListItem* items = facts.block->items(list.aux);
  std::string words;
  for (std::uint32_t i = 0; list.known() && i < OrderBlock::item_count(list.aux); ++i) {
    const Value& word = items[i].self;
    if (!word.known() || word.aux != kNoWord) continue;
    words.append(words.empty() ? "" : ", ").append(word.text);
  }
  if (words.empty()) {
    out.append("a part does not say what is asked of it");
  } else {
    out.append(words).append(", in no table");
  }
}
}  // namespace

void VerdictBuilder::name_cause(Scalar& scalar, const Cause& cause, std::string& out) const {
  const OrderFacts& facts = scalar.facts();
  out.clear();
  switch (cause.kind) {
    case CauseKind::Field:
      out = static_cast<FieldId>(cause.id) == FieldId::PatientAge
                ? why_no_age(facts)
                : info(static_cast<FieldId>(cause.id)).name;
      return;
    case CauseKind::UnknownWord:
      name_word(facts, static_cast<FieldId>(cause.id), out);
      return;
    case CauseKind::EarlierField:
      out.append("earlier ").append(info(static_cast<FieldId>(cause.id)).name);
      return;
    case CauseKind::HistoryStart:
      out.append("history before ")
          .append(format_day(static_cast<std::int64_t>(facts.since / 86400.0)));
      return;
    case CauseKind::Setting:
      out.append("setting ").append(program_.settings[cause.id].name);
      return;
    case CauseKind::Row: {
      const LookUp& lookup = program_.lookups[cause.id];
      out.append(program_.tables[lookup.table].name);
      if (!lookup.key) return;
      const Node& node = program_.nodes[lookup.key_node];
      out.append(": no row for ").append(show(scalar, node, scalar.value(lookup.key_node)));
      return;
    }
    case CauseKind::Kinds:
      for (int deepest = 4; out.empty() && deepest <= 16; deepest *= 2)
        name_operands(program_, cause.id, out, deepest);
      out.append(" (unlike kinds)");
      return;
    case CauseKind::Engine:
      out = engine_values()[cause.id].name;
      return;
  }
}

void VerdictBuilder::add_undecided(Scalar& scalar, const RunResult& result, Verdict& out) {
  const Lanes bit = Lanes{1} << scalar.facts().lane;
  for (const Undecided& undecided : result.undecided) {
    if ((undecided.cause.lanes & bit) == 0) continue;
    if (program_.rules[undecided.rule].trial) continue;
    NotAssessed& line = out.not_assessed[line_for(scalar, undecided.cause, out)];
    line.grave = line.grave || undecided.grave;
    const std::string_view rule = program_.rules[undecided.rule].name;
    if (std::find(line.rules.begin(), line.rules.end(), rule) == line.rules.end()) {
      line.rules.push_back(rule);
    }
  }
}

/// The line of what is missing.  Many rules lack the same, and to name it takes longer than to
/// find it again.
std::size_t VerdictBuilder::line_for(Scalar& scalar, const Cause& cause, Verdict& out) {
  const auto same_cause = [&](const Named& named) {
    return named.kind == cause.kind && named.id == cause.id;
  };
  const auto named = std::find_if(named_.begin(), named_.end(), same_cause);
  if (named != named_.end()) return named->line;
  name_cause(scalar, cause, text_);
  const auto same = [&](const NotAssessed& line) { return line.missing == text_; };
  const auto at = std::find_if(out.not_assessed.begin(), out.not_assessed.end(), same);
  const auto line = static_cast<std::size_t>(at - out.not_assessed.begin());
  if (at == out.not_assessed.end()) out.not_assessed.emplace_back().missing = text_;
  named_.push_back({cause.kind, cause.id, line});
  return line;
}

void VerdictBuilder::add_doubts(const Scalar& scalar, Verdict& out) const {
  const OrderFacts& facts = scalar.facts();
  for (const Doubt& doubt : facts.block->doubts()) {
    if (doubt.lane != facts.lane) continue;
    Finding& finding = out.add_finding();
    finding.rule = kDoubtfulValue;
    finding.grade = Grade::Clarify;
    finding.say.append(info(doubt.field).name).append(": ").append(doubt.reason).append(".");
    finding.ask = "What is meant?";
    BlamedField& blamed = finding.fields.emplace_back();
    blamed.field = doubt.field;
    blamed.value = doubt.written;
    blamed.origin = doubt.origin;
    blamed.from_text = false;
  }
}

/// What was given on a day that is still to come by the host's clock: no order is judged on it, and
/// a clock of another time zone is ahead by less than a day.
void VerdictBuilder::add_given_ahead(const Scalar& scalar, Verdict& out) const {
  const OrderFacts& facts = scalar.facts();
  const Value given = facts.block->value(facts.lane, FieldId::OrderGiven);
  const std::int64_t today = options_.as_of.value_or(options_.today);
  if (!given.known() || today <= 0 || unpack(given.number, given.aux).day() <= today + 1) return;
  Finding& finding = out.add_finding();
  finding.rule = kDoubtfulValue;
  finding.grade = Grade::Clarify;
  finding.say.append(info(FieldId::OrderGiven).name)
      .append(": ")
      .append(format_date(unpack(given.number, given.aux)))
      .append(" lies in the future; no order before that day is judged by it.");
  finding.ask = "When was it given?";
  add_field(scalar, FieldId::OrderGiven, finding);
}

void VerdictBuilder::add_unreadable(const Scalar& scalar, Verdict& out) const {
  const OrderFacts& facts = scalar.facts();
  Finding& finding = out.add_finding();
  finding.rule = kUnreadable;
  finding.grade = Grade::Hold;
  finding.say.append("This could not be read as an order: ")
      .append(facts.block->record(facts.lane).reason)
      .append(".");
}

namespace {

bool share_a_field(const Finding& a, const Finding& b) {
  return std::any_of(a.fields.begin(), a.fields.end(), [&](const BlamedField& x) {
    return std::any_of(b.fields.begin(), b.fields.end(),
                       [&](const BlamedField& y) { return x.field == y.field; });
  });
}

/// Numbers the groups from 1 in the order in which they stand.
void number_groups(std::vector<Finding>& findings) {
  std::uint16_t number = 0;
  std::uint16_t last = 0;
  for (Finding& finding : findings) {
    if (number == 0 || finding.group != last) ++number;
    last = finding.group;
    finding.group = number;
  }
}

}  // namespace

/// Gives every finding the number of the first finding that it shares a field with, near or far.
void VerdictBuilder::find_roots(const Verdict& out) {
  const std::size_t n = out.findings.size();
  root_.resize(n);
  std::iota(root_.begin(), root_.end(), std::uint16_t{0});
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k < i; ++k) {
      if (root_[i] == root_[k] || !share_a_field(out.findings[i], out.findings[k])) continue;
      const std::uint16_t from = std::max(root_[i], root_[k]);
      const std::uint16_t to = std::min(root_[i], root_[k]);
      std::replace(root_.begin(), root_.begin() + static_cast<std::ptrdiff_t>(i) + 1, from, to);
    }
  }
}

/// The gravest group first; in a group the gravest finding first; else the rules' order.
void VerdictBuilder::group(Verdict& out) {
  find_roots(out);
  const std::size_t n = out.findings.size();
  worst_.assign(n, Grade::Note);
  for (std::size_t i = 0; i < n; ++i) {
    out.findings[i].group = root_[i];
    worst_[root_[i]] = std::max(worst_[root_[i]], out.findings[i].grade);
  }
  const auto before = [&](const Finding& a, const Finding& b) {
    if (a.group == b.group) return a.grade > b.grade;
    const Grade x = worst_[a.group];
    const Grade y = worst_[b.group];
    return x != y ? x > y : a.group < b.group;
  };
  // By insertion: they are few, their order must hold, and std::stable_sort allocates.
  for (std::size_t i = 1; i < n; ++i) {
    for (std::size_t k = i; k > 0 && before(out.findings[k], out.findings[k - 1]); --k)
      std::swap(out.findings[k], out.findings[k - 1]);
  }
  number_groups(out.findings);
}

void VerdictBuilder::grade(bool judged, Verdict& out) {
  if (!judged) return;
  for (const Finding& finding : out.findings) {
    out.outcome = std::max(out.outcome, outcome_of(finding.grade));
  }
  const bool grave = std::any_of(out.not_assessed.begin(), out.not_assessed.end(),
                                 [](const NotAssessed& line) { return line.grave; });
  if (grave && out.outcome < Outcome::Incomplete) out.outcome = Outcome::Incomplete;
}

void VerdictBuilder::build(Scalar& scalar, Columns* columns,
                           std::array<const RunResult*, 2> results, bool judged, Verdict& out) {
  help_ = {columns, &numbers_};
  head(scalar, out);
  const OrderFacts& facts = scalar.facts();
  const RecordInfo& record = facts.block->record(facts.lane);
  if (record.kind == RecordKind::Unreadable) {
    add_unreadable(scalar, out);
    out.outcome = Outcome::Hold;
  } else {
    add_doubts(scalar, out);
  }
  if (judged) {
    named_.clear();
    for (const RunResult* result : results) {
      add_hits(scalar, *result, out);
      add_undecided(scalar, *result, out);
    }
    grade(judged, out);
  } else if (record.kind == RecordKind::Outside) {
    out.outcome = Outcome::Outside;
    out.reason = record.reason;
  } else if (record.kind == RecordKind::Order) {
    out.outcome = Outcome::Recorded;
    const Value action = facts.block->value(facts.lane, FieldId::OrderAction);
    out.reason = action.known() ? std::string(action.text) : std::string("given");
    add_given_ahead(scalar, out);
  } else if (record.kind == RecordKind::Merge) {
    out.outcome = Outcome::Recorded;
    out.reason = "merge";
  }
  if (!out.findings.empty()) group(out);
}

}  // namespace meniscus::engine
