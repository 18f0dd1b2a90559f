// Names of grades and outcomes, and the reuse of a verdict's memory.
#include "engine/verdict/verdict.hpp"

#include <array>

namespace meniscus::engine {
namespace {

constexpr std::array<std::string_view, 4> kGrades = {"note", "caution", "clarify", "hold"};
constexpr std::array<std::string_view, 8> kOutcomes = {"clear",   "note", "caution", "incomplete",
                                                       "clarify", "hold", "outside", "recorded"};

/// The next of `list`, which may be one retired to `spare`; its own fill it again.
template <class Item>
Item& next_of(std::vector<Item>& list, std::vector<Item>& spare) {
  if (spare.empty()) return list.emplace_back();
  Item& item = list.emplace_back(std::move(spare.back()));
  spare.pop_back();
  return item;
}

Hidden& next_hidden(std::vector<Hidden>& list, std::vector<Hidden>& spare) {
  Hidden& hidden = next_of(list, spare);
  hidden.say.clear();
  return hidden;
}

template <class Item>
void retire(std::vector<Item>& list, std::vector<Item>& spare) {
  for (Item& item : list)
    spare.push_back(std::move(item));
  list.clear();
}

}  // namespace

std::string_view name(Grade grade) { return kGrades.at(static_cast<std::size_t>(grade)); }
std::string_view name(Outcome outcome) { return kOutcomes.at(static_cast<std::size_t>(outcome)); }

std::optional<Grade> grade_named(std::string_view name) {
  for (std::size_t i = 0; i < kGrades.size(); ++i) {
    if (kGrades.at(i) == name) return static_cast<Grade>(i);
  }
  return std::nullopt;
}

Outcome outcome_of(Grade grade) {
  switch (grade) {
    case Grade::Note:
      return Outcome::Note;
    case Grade::Caution:
      return Outcome::Caution;
    case Grade::Clarify:
      return Outcome::Clarify;
    case Grade::Hold:
      return Outcome::Hold;
  }
  return Outcome::Hold;
}

void Verdict::clear() {
  lane = 0;
  order = {};
  patient = {};
  outcome = Outcome::Clear;
  retire(findings, spare_);
  retire(slips, spare_slips_);
  retire(answered, spare_answered_);
  not_assessed.clear();
  retire(muted, spare_hidden_);
  retire(trial, spare_hidden_);
  reason.clear();
  as_of_day = 0;
}

Slip& Verdict::add_slip() {
  Slip& slip = next_of(slips, spare_slips_);
  slip.from.clear();
  slip.to.clear();
  slip.why.clear();
  slip.clears.clear();
  return slip;
}

Finding& Verdict::add_finding() {
  Finding& finding = next_of(findings, spare_);
  finding.rule = {};
  finding.clause = 0;
  finding.without = 0;
  finding.group = 0;
  finding.say.clear();
  finding.ask.clear();
  finding.cite = {};
  finding.fields.clear();
  finding.earlier.answer = nullptr;
  finding.earlier.why.clear();
  return finding;
}

Answered& Verdict::answer_last_finding() {
  Finding& finding = findings.back();
  Answered& item = next_of(answered, spare_answered_);
  item.rule = finding.rule;
  item.clause = finding.clause;
  item.say.swap(finding.say);
  item.ask.swap(finding.ask);
  item.answer = nullptr;
  spare_.push_back(std::move(finding));
  findings.pop_back();
  return item;
}

Hidden& Verdict::add_muted() { return next_hidden(muted, spare_hidden_); }
Hidden& Verdict::add_trial() { return next_hidden(trial, spare_hidden_); }

}  // namespace meniscus::engine
