// Contract: see host_history.hpp.
#include "adapters/plugin/host_history.hpp"

#include <new>
#include <utility>

#include "adapters/input/open_orders.hpp"
#include "adapters/support/view_bytes.hpp"

namespace meniscus::adapters {

using engine::FieldId;

namespace {

engine::CheckOptions options_of(std::int64_t today) {
  engine::CheckOptions options;
  options.today = today;
  options.slips = false;
  return options;
}

bool has_date(const engine::OrderBlock& block, unsigned lane) {
  for (const FieldId field : {FieldId::OrderPlaced, FieldId::OrderGiven, FieldId::ScheduleStart}) {
    if (block.value(lane, field).known()) return true;
  }
  return false;
}

/// What keeps a lane from being a former order of this patient; empty when nothing does.
std::string_view fault(const engine::OrderBlock& block, unsigned lane, std::string_view patient) {
  if (block.record(lane).kind == engine::RecordKind::Unreadable) return "cannot be read";
  const engine::Value whose = block.value(lane, FieldId::PatientId);
  if (!whose.known() || whose.text != patient) return "is not of this patient";
  if (!has_date(block, lane)) return "has no order.placed, order.given or schedule.start";
  return {};
}

}  // namespace

HostHistory::HostHistory(const Host& host, std::shared_ptr<const engine::Program> program,
                         std::int64_t today)
    : host_(host), program_(std::move(program)), checker_(program_, options_of(today)) {}

engine::Lanes HostHistory::ask(const engine::OrderBlock& block, engine::History& history) {
  engine::Lanes without = 0;
  for (unsigned lane = 0; lane < block.size(); ++lane) {
    const engine::Value patient = block.value(lane, FieldId::PatientId);
    if (block.record(lane).kind != engine::RecordKind::Order || !patient.known()) continue;
    const auto [at, is_new] = asked_.try_emplace(std::string(patient.text));
    if (is_new) at->second = ask_for(at->first, history);
    if (!at->second.empty()) without |= engine::Lanes{1} << lane;
  }
  return without;
}

const std::string& HostHistory::why(const engine::OrderBlock& block, unsigned lane) const {
  return asked_.at(std::string(block.value(lane, FieldId::PatientId).text));
}

std::string HostHistory::ask_for(std::string_view patient, engine::History& history) {
  writer_.lines.clear();
  writer_.failed = false;
  int answer = -1;
  try {
    answer = host_.callback(host_.user_data, patient.data(), patient.size(), &writer_);
  } catch (...) {
    answer = -1;  // against its contract; what it wrote is not the whole
  }
  if (answer != 0) return "the host could not give it";
  if (writer_.failed) return "not all of it could be taken";
  return remember(patient, history);
}

std::string HostHistory::remember(std::string_view patient, engine::History& history) {
  if (writer_.lines.find_first_not_of(" \t\r\n") == std::string::npos) return {};
  const engine::ReadContext context{program_.get(), &feed_};
  auto opened = open_orders({"history", std::make_unique<ViewBytes>(writer_.lines), 0},
                            Format::Json, context);
  if (!opened) return "it cannot be read";
  while (opened->source->next(former_)) {
    for (unsigned lane = 0; lane < former_.size(); ++lane) {
      const std::string_view wrong = fault(former_, lane, patient);
      if (wrong.empty()) continue;
      std::string why = "line " + std::to_string(opened->source->record_place(former_, lane).line);
      return why.append(" of what the host gave ").append(wrong);
    }
    checker_.remember(former_, history);
  }
  return {};
}

}  // namespace meniscus::adapters

MeniscusStatus meniscus_write(MeniscusWriter* writer, const char* bytes, size_t size) noexcept {
  if (writer == nullptr || (bytes == nullptr && size > 0)) return MENISCUS_NULL_ARGUMENT;
  if (size == 0) return MENISCUS_OK;
  try {
    writer->lines.append(bytes, size);
    return MENISCUS_OK;
  } catch (const std::exception&) {
    writer->failed = true;
    return MENISCUS_OUT_OF_MEMORY;
  }
}
