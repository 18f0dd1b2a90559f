// Contract: see verdicts.hpp.
#include "adapters/plugin/verdicts.hpp"

#include "adapters/report/found.hpp"

namespace meniscus::adapters {

namespace {

MeniscusGrade c_grade(engine::Grade grade) {
  switch (grade) {
    case engine::Grade::Note:
      return MENISCUS_GRADE_NOTE;
    case engine::Grade::Caution:
      return MENISCUS_GRADE_CAUTION;
    case engine::Grade::Clarify:
      return MENISCUS_GRADE_CLARIFY;
    case engine::Grade::Hold:
      return MENISCUS_GRADE_HOLD;
  }
  return MENISCUS_GRADE_HOLD;
}

MeniscusOutcome c_outcome(engine::Outcome outcome) {
  switch (outcome) {
    case engine::Outcome::Clear:
      return MENISCUS_OUTCOME_CLEAR;
    case engine::Outcome::Note:
      return MENISCUS_OUTCOME_NOTE;
    case engine::Outcome::Caution:
      return MENISCUS_OUTCOME_CAUTION;
    case engine::Outcome::Incomplete:
      return MENISCUS_OUTCOME_INCOMPLETE;
    case engine::Outcome::Clarify:
      return MENISCUS_OUTCOME_CLARIFY;
    case engine::Outcome::Hold:
      return MENISCUS_OUTCOME_HOLD;
    case engine::Outcome::Outside:
      return MENISCUS_OUTCOME_OUTSIDE;
    case engine::Outcome::Recorded:
      return MENISCUS_OUTCOME_RECORDED;
  }
  return MENISCUS_OUTCOME_HOLD;
}

/// Of the fields of one finding; `verdict` knows the lane.
void copy_fields(const engine::Finding& finding, unsigned lane, const engine::OrderBlock& block,
                 const engine::OrderSource& source, std::vector<MeniscusField>& into) {
  engine::Place place;
  for (const engine::BlamedField& field : finding.fields) {
    source.position(block, lane, field.field, field.origin, place);
    into.push_back({std::string(engine::info(field.field).name), field.value, place.at, place.line,
                    place.column, field.from_text});
  }
  if (!into.empty()) return;
  place = source.record_place(block, lane);
  into.push_back({{}, {}, place.at, place.line, place.column, false});
}

}  // namespace

MeniscusVerdict copy_of(const engine::Verdict& verdict, const engine::OrderBlock& block,
                        const engine::OrderSource& source, engine::Outcome fail_at) {
  MeniscusVerdict copy;
  copy.order = verdict.order;
  copy.patient = verdict.patient;
  copy.outcome = c_outcome(verdict.outcome);
  copy.stops = is_found(verdict, fail_at);
  copy.reason = verdict.reason;
  copy.findings.reserve(verdict.findings.size());
  for (const engine::Finding& finding : verdict.findings) {
    MeniscusFinding& one = copy.findings.emplace_back();
    one.rule = finding.rule;
    one.grade = c_grade(finding.grade);
    one.group = finding.group;
    one.clause = finding.clause;
    one.say = finding.say;
    one.ask = finding.ask;
    one.cite = finding.cite;
    copy_fields(finding, verdict.lane, block, source, one.fields);
  }
  copy.missing.reserve(verdict.not_assessed.size());
  for (const engine::NotAssessed& line : verdict.not_assessed)
    copy.missing.push_back({line.missing, {line.rules.begin(), line.rules.end()}});
  return copy;
}

}  // namespace meniscus::adapters
