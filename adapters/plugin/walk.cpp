// Looking at verdicts (contract: meniscus.h).  None of these allocates or can fail.
#include <algorithm>
#include <cstddef>
#include <memory>
#include <string>
#include <vector>

#include "adapters/plugin/verdicts.hpp"

namespace {

using meniscus::engine::Grade;
using meniscus::engine::Outcome;

const char* text(const std::string* of, std::size_t* size) {
  if (size != nullptr) *size = of == nullptr ? 0 : of->size();
  return of == nullptr ? "" : of->c_str();
}

/// A text of a handle that may be null.
template <class Handle>
const char* text(const Handle* handle, std::string Handle::*member, std::size_t* size) {
  return text(handle == nullptr ? nullptr : &(handle->*member), size);
}

template <class Handle, class Part>
std::size_t count(const Handle* handle, std::vector<Part> Handle::*parts) {
  return handle == nullptr ? 0 : (handle->*parts).size();
}

template <class Handle, class Part>
const Part* part(const Handle* handle, std::vector<Part> Handle::*parts, std::size_t index) {
  return index < count(handle, parts) ? &(handle->*parts)[index] : nullptr;
}

}  // namespace

void meniscus_verdicts_free(MeniscusVerdicts* verdicts) noexcept {
  const std::unique_ptr<MeniscusVerdicts> given_back(verdicts);
}

const char* meniscus_verdicts_jsonl(const MeniscusVerdicts* verdicts, size_t* size) noexcept {
  return text(verdicts, &MeniscusVerdicts::jsonl, size);
}

const char* meniscus_verdicts_hl7(const MeniscusVerdicts* verdicts, size_t* size) noexcept {
  if (verdicts != nullptr && verdicts->has_hl7) return text(&verdicts->hl7, size);
  if (size != nullptr) *size = 0;
  return nullptr;
}

size_t meniscus_verdicts_count(const MeniscusVerdicts* verdicts) noexcept {
  return count(verdicts, &MeniscusVerdicts::all);
}

int meniscus_verdicts_stop(const MeniscusVerdicts* verdicts) noexcept {
  if (verdicts == nullptr || verdicts->all.empty()) return 1;
  return std::ranges::any_of(verdicts->all, &MeniscusVerdict::stops) ? 1 : 0;
}

const MeniscusVerdict* meniscus_verdicts_at(const MeniscusVerdicts* verdicts,
                                            size_t index) noexcept {
  return part(verdicts, &MeniscusVerdicts::all, index);
}

const char* meniscus_verdict_order(const MeniscusVerdict* verdict, size_t* size) noexcept {
  return text(verdict, &MeniscusVerdict::order, size);
}

const char* meniscus_verdict_patient(const MeniscusVerdict* verdict, size_t* size) noexcept {
  return text(verdict, &MeniscusVerdict::patient, size);
}

MeniscusOutcome meniscus_verdict_outcome(const MeniscusVerdict* verdict) noexcept {
  return verdict == nullptr ? MENISCUS_OUTCOME_HOLD : verdict->outcome;
}

int meniscus_verdict_stops(const MeniscusVerdict* verdict) noexcept {
  return verdict == nullptr || verdict->stops ? 1 : 0;
}

const char* meniscus_verdict_reason(const MeniscusVerdict* verdict, size_t* size) noexcept {
  return text(verdict, &MeniscusVerdict::reason, size);
}

size_t meniscus_verdict_finding_count(const MeniscusVerdict* verdict) noexcept {
  return count(verdict, &MeniscusVerdict::findings);
}

const MeniscusFinding* meniscus_verdict_finding(const MeniscusVerdict* verdict,
                                                size_t index) noexcept {
  return part(verdict, &MeniscusVerdict::findings, index);
}

size_t meniscus_verdict_missing_count(const MeniscusVerdict* verdict) noexcept {
  return count(verdict, &MeniscusVerdict::missing);
}

const MeniscusMissing* meniscus_verdict_missing(const MeniscusVerdict* verdict,
                                                size_t index) noexcept {
  return part(verdict, &MeniscusVerdict::missing, index);
}

const char* meniscus_finding_rule(const MeniscusFinding* finding, size_t* size) noexcept {
  return text(finding, &MeniscusFinding::rule, size);
}

MeniscusGrade meniscus_finding_grade(const MeniscusFinding* finding) noexcept {
  return finding == nullptr ? MENISCUS_GRADE_HOLD : finding->grade;
}

unsigned meniscus_finding_group(const MeniscusFinding* finding) noexcept {
  return finding == nullptr ? 0 : finding->group;
}

unsigned meniscus_finding_clause(const MeniscusFinding* finding) noexcept {
  return finding == nullptr ? 0 : finding->clause;
}

const char* meniscus_finding_say(const MeniscusFinding* finding, size_t* size) noexcept {
  return text(finding, &MeniscusFinding::say, size);
}

const char* meniscus_finding_ask(const MeniscusFinding* finding, size_t* size) noexcept {
  return text(finding, &MeniscusFinding::ask, size);
}

const char* meniscus_finding_cite(const MeniscusFinding* finding, size_t* size) noexcept {
  return text(finding, &MeniscusFinding::cite, size);
}

size_t meniscus_finding_field_count(const MeniscusFinding* finding) noexcept {
  return count(finding, &MeniscusFinding::fields);
}

const MeniscusField* meniscus_finding_field(const MeniscusFinding* finding, size_t index) noexcept {
  return part(finding, &MeniscusFinding::fields, index);
}

const char* meniscus_field_name(const MeniscusField* field, size_t* size) noexcept {
  return text(field, &MeniscusField::name, size);
}

const char* meniscus_field_value(const MeniscusField* field, size_t* size) noexcept {
  return text(field, &MeniscusField::value, size);
}

const char* meniscus_field_place(const MeniscusField* field, size_t* size) noexcept {
  return text(field, &MeniscusField::place, size);
}

uint64_t meniscus_field_line(const MeniscusField* field) noexcept {
  return field == nullptr ? 0 : field->line;
}

uint64_t meniscus_field_column(const MeniscusField* field) noexcept {
  return field == nullptr ? 0 : field->column;
}

int meniscus_field_from_text(const MeniscusField* field) noexcept {
  return field != nullptr && field->from_text ? 1 : 0;
}

const char* meniscus_missing_what(const MeniscusMissing* missing, size_t* size) noexcept {
  return text(missing, &MeniscusMissing::what, size);
}

size_t meniscus_missing_rule_count(const MeniscusMissing* missing) noexcept {
  return count(missing, &MeniscusMissing::rules);
}

const char* meniscus_missing_rule(const MeniscusMissing* missing, size_t index) noexcept {
  const std::string* rule = part(missing, &MeniscusMissing::rules, index);
  return rule == nullptr ? nullptr : rule->c_str();
}

// The engine's names are literals: they end with a zero.
const char* meniscus_grade_name(int grade) noexcept {
  switch (grade) {
    case MENISCUS_GRADE_NOTE:
      return name(Grade::Note).data();
    case MENISCUS_GRADE_CAUTION:
      return name(Grade::Caution).data();
    case MENISCUS_GRADE_CLARIFY:
      return name(Grade::Clarify).data();
    case MENISCUS_GRADE_HOLD:
      return name(Grade::Hold).data();
  }
  return "";
}

const char* meniscus_outcome_name(int outcome) noexcept {
  switch (outcome) {
    case MENISCUS_OUTCOME_CLEAR:
      return name(Outcome::Clear).data();
    case MENISCUS_OUTCOME_NOTE:
      return name(Outcome::Note).data();
    case MENISCUS_OUTCOME_CAUTION:
      return name(Outcome::Caution).data();
    case MENISCUS_OUTCOME_INCOMPLETE:
      return name(Outcome::Incomplete).data();
    case MENISCUS_OUTCOME_CLARIFY:
      return name(Outcome::Clarify).data();
    case MENISCUS_OUTCOME_HOLD:
      return name(Outcome::Hold).data();
    case MENISCUS_OUTCOME_OUTSIDE:
      return name(Outcome::Outside).data();
    case MENISCUS_OUTCOME_RECORDED:
      return name(Outcome::Recorded).data();
  }
  return "";
}
