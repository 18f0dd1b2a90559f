// Making checkers and checking with them (contract: meniscus.h).
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include "adapters/answers/answers_file.hpp"
#include "adapters/plugin/guard.hpp"
#include "adapters/plugin/orders_judge.hpp"
#include "adapters/plugin/rules.hpp"
#include "adapters/profile/profile.hpp"

/// The handle.
struct MeniscusChecker {
  MeniscusChecker(const meniscus::adapters::Wanted& wanted, meniscus::adapters::Equipment equipment)
      : judge(wanted, std::move(equipment)) {}

  meniscus::adapters::Complaint complaint;
  meniscus::adapters::OrdersJudge judge;
};

namespace meniscus::adapters {

namespace {

/// Strict defaults without a path.
std::optional<engine::Feed> read_feed(const std::string& path, const engine::Program& program,
                                      Complaint& complaint) {
  if (path.empty()) return engine::Feed{};
  ReadProfile profile = read_profile_file(path, &program);
  for (const InputProblem& problem : profile.problems)
    complaint.add("profile", problem, path);
  if (!profile.feed) complaint.fail(MENISCUS_WRONG_PROFILE);
  return std::move(profile.feed);
}

MeniscusStatus read_answers_at(const std::string& path, Complaint& complaint,
                               engine::Answers& into) {
  if (path.empty()) return MENISCUS_OK;
  auto read = read_answers_file(path);
  if (!read) return complaint.fail(MENISCUS_WRONG_ANSWERS, "answers", read.error().message);
  for (const InputProblem& problem : read->problems)
    complaint.add("answers", problem, path);
  if (!read->problems.empty()) return complaint.fail(MENISCUS_WRONG_ANSWERS);
  into = std::move(read->answers);
  return MENISCUS_OK;
}

MeniscusStatus open_store(const Wanted& wanted, Complaint& complaint,
                          std::unique_ptr<KeptHistory>& into) {
  if (wanted.history_from() != HistoryFrom::Store) return MENISCUS_OK;
  auto opened = KeptHistory::open(wanted.store);
  if (!opened) return complaint.fail(MENISCUS_NO_HISTORY, "history", opened.error().message);
  into = std::move(*opened);
  return MENISCUS_OK;
}

MeniscusStatus make_checker(const MeniscusRules& rules, MeniscusSettings& settings,
                            std::unique_ptr<MeniscusChecker>& into) {
  const Wanted& wanted = settings.wanted;
  Complaint& complaint = settings.complaint;
  Equipment equipment;
  equipment.program = rules.program;
  auto feed = read_feed(wanted.profile, *rules.program, complaint);
  if (!feed) return MENISCUS_WRONG_PROFILE;
  equipment.feed = std::move(*feed);
  MeniscusStatus status = read_answers_at(wanted.answers, complaint, equipment.answers);
  if (status == MENISCUS_OK) status = open_store(wanted, complaint, equipment.kept);
  if (status != MENISCUS_OK) return status;
  into = std::make_unique<MeniscusChecker>(wanted, std::move(equipment));
  return into->judge.load(complaint);
}

/// A number from outside.
std::optional<Format> format_of(int format) {
  switch (format) {
    case MENISCUS_AUTO:
      return Format::Auto;
    case MENISCUS_JSON:
      return Format::Json;
    case MENISCUS_CSV:
      return Format::Csv;
    case MENISCUS_HL7:
      return Format::Hl7;
    case MENISCUS_FHIR:
      return Format::Fhir;
  }
  return std::nullopt;
}

}  // namespace

}  // namespace meniscus::adapters

using meniscus::adapters::guarded;

MeniscusStatus meniscus_checker_new(const MeniscusRules* rules, MeniscusSettings* settings,
                                    MeniscusChecker** checker) noexcept {
  if (checker != nullptr) *checker = nullptr;
  if (rules == nullptr || settings == nullptr || checker == nullptr) return MENISCUS_NULL_ARGUMENT;
  return guarded(settings->complaint, [&] {
    std::unique_ptr<MeniscusChecker> made;
    const MeniscusStatus status = meniscus::adapters::make_checker(*rules, *settings, made);
    if (status == MENISCUS_OK) *checker = made.release();
    return status;
  });
}

void meniscus_checker_free(MeniscusChecker* checker) noexcept {
  const std::unique_ptr<MeniscusChecker> given_back(checker);
}

MeniscusStatus meniscus_checker_use_rules(MeniscusChecker* checker,
                                          const MeniscusRules* rules) noexcept {
  if (checker == nullptr || rules == nullptr) return MENISCUS_NULL_ARGUMENT;
  if (checker->judge.is_judging()) return MENISCUS_BUSY;
  return guarded(checker->complaint, [&] {
    if (!checker->judge.serves(*rules->program))
      return checker->complaint.fail(MENISCUS_LOOKS_BACK_FURTHER);
    auto feed = meniscus::adapters::read_feed(checker->judge.wanted().profile, *rules->program,
                                              checker->complaint);
    if (!feed) return MENISCUS_WRONG_PROFILE;
    checker->judge.use(rules->program, std::move(*feed));
    return MENISCUS_OK;
  });
}

MeniscusStatus meniscus_check(MeniscusChecker* checker, int format, const char* bytes, size_t size,
                              MeniscusVerdicts** verdicts) noexcept {
  if (verdicts != nullptr) *verdicts = nullptr;
  if (checker == nullptr || verdicts == nullptr || (bytes == nullptr && size > 0))
    return MENISCUS_NULL_ARGUMENT;
  if (checker->judge.is_judging()) return MENISCUS_BUSY;
  return guarded(checker->complaint, [&] {
    const auto known = meniscus::adapters::format_of(format);
    if (!known) return checker->complaint.fail(MENISCUS_UNKNOWN_FORMAT);
    auto made = std::make_unique<MeniscusVerdicts>();
    const std::string_view text = size == 0 ? std::string_view() : std::string_view(bytes, size);
    const MeniscusStatus status = checker->judge.judge(*known, text, *made, checker->complaint);
    if (status == MENISCUS_OK) *verdicts = made.release();
    return status;
  });
}

const char* meniscus_checker_error(const MeniscusChecker* checker) noexcept {
  return checker == nullptr ? "" : checker->complaint.text();
}

const char* meniscus_checker_problems(const MeniscusChecker* checker) noexcept {
  return checker == nullptr ? "[]" : checker->complaint.problems();
}

const char* meniscus_checker_never_assessed(const MeniscusChecker* checker) noexcept {
  return checker == nullptr ? "[]" : checker->judge.never_assessed().c_str();
}
