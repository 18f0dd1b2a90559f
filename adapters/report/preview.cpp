// Contract: see preview.hpp.
#include "adapters/report/preview.hpp"

#include <algorithm>

#include "adapters/report/output.hpp"
#include "adapters/report/wrap.hpp"

namespace meniscus::adapters {

namespace {
using engine::Finding;
using engine::Grade;
using engine::Outcome;
using engine::Verdict;

constexpr unsigned kPlain = 5;  // the rank of an example that only speaks

bool is_stopped(Outcome outcome) { return outcome == Outcome::Clarify || outcome == Outcome::Hold; }
bool is_judged(Outcome outcome) {
  return outcome != Outcome::Outside && outcome != Outcome::Recorded;
}
bool is_unread(const Verdict& verdict) {
  return std::any_of(verdict.findings.begin(), verdict.findings.end(),
                     [](const Finding& finding) { return finding.rule == engine::kUnreadable; });
}

std::string orders_of(std::size_t number) {
  return grouped(number) + (number == 1 ? " order" : " orders");
}

void add_part(std::string& list, std::size_t count, std::string_view what) {
  if (count == 0) return;
  if (!list.empty()) list += ", ";
  list.append(grouped(count)).append(" ").append(what);
}
}  // namespace

void Preview::keep(const Verdict& without) {
  Before& before = before_.at(without.lane);
  before.outcome = without.outcome;
  before.said.clear();
  for (const Finding& finding : without.findings)
    before.said.emplace_back(finding.rule, finding.grade);
}

void Preview::compare(const Verdict& with, const PlaceOf& place) {
  if (is_unread(with)) {
    ++unread_;
    return;
  }
  if (!is_judged(with.outcome)) {
    ++others_;
    return;
  }
  ++orders_;
  const Before& before = before_.at(with.lane);
  const bool speaks = count_rules(with);
  if (speaks) ++spoken_;
  std::vector<Said> said;
  for (const Finding& finding : with.findings)
    said.emplace_back(finding.rule, finding.grade);
  const bool same = said == before.said && with.outcome == before.outcome;
  if (!same) ++changed_;
  const unsigned rank = count_outcome(before.outcome, with.outcome);
  count_missing(before.said, said, 0);
  count_missing(said, before.said, 1);
  if (!same || speaks) offer(rank, before, with, place());
}

/// Counts for rules that stand elsewhere what is in `said` and not in `other`.
void Preview::count_missing(const std::vector<Said>& said, const std::vector<Said>& other,
                            std::size_t column) {
  for (const Said& each : said) {
    if (own_.contains(each.first)) continue;
    if (std::find(other.begin(), other.end(), each) == other.end())
      ++others_changed_[each.first].at(column);
  }
}

/// True when a rule of the file speaks.
bool Preview::count_rules(const Verdict& with) {
  bool speaks = false;
  for (const Finding& finding : with.findings) {
    if (!own_.contains(finding.rule)) continue;
    speaks = true;
    ++rules_[std::string(finding.rule)].by_grade.at(static_cast<std::size_t>(finding.grade));
  }
  for (const engine::Hidden& hidden : with.trial) {
    if (!own_.contains(hidden.rule)) continue;
    speaks = true;
    ++rules_[std::string(hidden.rule)].on_trial;
  }
  for (const engine::NotAssessed& entry : with.not_assessed) {
    for (const std::string_view rule : entry.rules) {
      if (!own_.contains(rule)) continue;
      RuleCounts& counts = rules_[std::string(rule)];
      ++counts.not_assessed;
      ++counts.missing[entry.missing];
    }
  }
  return speaks;
}

/// The rank of such an order as an example.
unsigned Preview::count_outcome(Outcome before, Outcome after) {
  if (is_stopped(after) && !is_stopped(before)) {
    ++newly_stopped_;
    return 0;
  }
  if (is_stopped(before) && !is_stopped(after)) {
    ++no_longer_stopped_;
    return 1;
  }
  if (after == Outcome::Incomplete && before < Outcome::Incomplete) {
    ++newly_incomplete_;
    return 2;
  }
  if (after != before) return after > before ? 3 : 4;
  return kPlain;
}

void Preview::offer(unsigned rank, const Before& before, const Verdict& with,
                    const engine::Place& place) {
  if (examples_.size() == kExamples && examples_.back().rank <= rank) return;
  Example example;
  example.rank = rank;
  append_plain(example.head, with.order.empty() ? std::string_view("no number") : with.order);
  example.head.append(" (").append(place.file);
  if (place.line > 0) example.head.append(":").append(std::to_string(place.line));
  example.head.append(") ").append(engine::name(before.outcome));
  if (before.outcome != with.outcome)
    example.head.append(" -> ").append(engine::name(with.outcome));
  std::vector<Said> said;
  for (const Finding& finding : with.findings) {
    said.emplace_back(finding.rule, finding.grade);
    const bool had =
        std::find(before.said.begin(), before.said.end(), said.back()) != before.said.end();
    if (had && !own_.contains(finding.rule)) continue;
    example.lines.push_back(std::string(engine::name(finding.grade)) + " of " +
                            std::string(finding.rule) + ": " + finding.say);
  }
  for (const engine::Hidden& hidden : with.trial) {
    if (own_.contains(hidden.rule))
      example.lines.push_back("on trial, " + std::string(engine::name(hidden.grade)) + " of " +
                              std::string(hidden.rule) + ": " + hidden.say);
  }
  for (const Said& each : before.said) {
    if (std::find(said.begin(), said.end(), each) == said.end())
      example.lines.push_back("no longer a " + std::string(engine::name(each.second)) + " of " +
                              each.first);
  }
  const auto at = std::find_if(examples_.begin(), examples_.end(),
                               [rank](const Example& other) { return other.rank > rank; });
  examples_.insert(at, std::move(example));
  if (examples_.size() > kExamples) examples_.pop_back();
}

/// "2 clarify, 1 not assessed (1 without volume)"
std::string Preview::counts_of(const RuleCounts& counts) {
  std::string list;
  for (std::size_t g = counts.by_grade.size(); g-- > 0;)
    add_part(list, counts.by_grade.at(g), engine::name(static_cast<Grade>(g)));
  add_part(list, counts.on_trial, "on trial");
  add_part(list, counts.not_assessed, "not assessed");
  std::string missing;
  for (const auto& [field, count] : counts.missing)
    add_part(missing, count, "without " + field);
  if (!missing.empty()) list.append(" (").append(missing).append(")");
  return list;
}

std::string Preview::head() const {
  if (orders_ == 0) return "There is no order to judge.";
  const bool own = !own_.empty();
  std::string text = own ? "Would have spoken on " : "Would have changed ";
  text.append(grouped(own ? spoken_ : changed_)).append(" of ").append(orders_of(orders_));
  text.append(", ").append(grouped(newly_stopped_)).append(" of them newly stopped.");
  return text;
}

std::string Preview::text() const {
  std::string out;
  const auto line = [&out](const std::string& sentence, std::size_t indent) {
    out.append(indent, ' ');
    append_wrapped(out, sentence, indent, indent + 2);
  };
  line(head(), 0);
  if (no_longer_stopped_ > 0) line(orders_of(no_longer_stopped_) + " no longer stopped.", 0);
  if (newly_incomplete_ > 0) line(orders_of(newly_incomplete_) + " newly incomplete.", 0);
  for (const std::string& name : own_) {
    const auto found = rules_.find(name);
    line(name + ": " + (found == rules_.end() ? "silent" : counts_of(found->second)), 2);
  }
  for (const auto& [name, counts] : others_changed_) {
    std::string list;
    add_part(list, counts[1], "more");
    add_part(list, counts[0], "fewer");
    std::string sentence = name;
    sentence.append(", not in this file: findings ").append(list);
    line(sentence, 2);
  }
  std::string apart;
  add_part(apart, unread_, "could not be read");
  add_part(apart, others_, "given, stopped or no injection");
  if (!apart.empty()) line("Not counted: " + apart + ".", 0);
  if (!examples_.empty()) out += examples_.size() == 1 ? "Here it is:\n" : "Here are some:\n";
  for (const Example& example : examples_) {
    line(example.head, 2);
    for (const std::string& sentence : example.lines)
      line(sentence, 4);
  }
  return out;
}

}  // namespace meniscus::adapters
