// Contract: see json_merge.hpp.
#include "adapters/json/json_merge.hpp"

#include <nlohmann/json.hpp>

#include "adapters/support/json_scan.hpp"

namespace meniscus::adapters {

namespace {

constexpr std::string_view kKey = "\"merge\"";
constexpr std::string_view kShape =
    R"(a merge is written {"merge":{"former":"SM-0013","patient":"SM-0012"}})";
constexpr engine::Origin kWhole{0, 1};

/// The text of a member that is there and not empty; nothing else.
std::string text_of(const nlohmann::json& object, const char* name) {
  const auto member = object.find(name);
  return member != object.end() && member->is_string() ? member->get<std::string>() : "";
}

}  // namespace

bool begins_merge(std::string_view record) {
  std::size_t at = 1;  // behind the brace
  while (at < record.size() && is_json_space(record[at]))
    ++at;
  return at < record.size() && record.substr(at, kKey.size()) == kKey;
}

void read_merge(const engine::ReadContext& context, engine::OrderBlock& block, unsigned lane,
                std::string_view record) {
  engine::RecordInfo& info = block.record(lane);
  const auto refuse = [&](std::string_view reason) {
    info.kind = engine::RecordKind::Unreadable;
    info.reason = reason;
    info.reason_origin = kWhole;
  };
  const auto json = nlohmann::json::parse(record, nullptr, false);
  if (!json.is_object()) return refuse("the record is no JSON: the merge cannot be read");
  const auto merge = json.find("merge");
  if (json.size() != 1 || merge == json.end() || !merge->is_object() || merge->size() != 2)
    return refuse(kShape);
  const std::string former = text_of(*merge, "former");
  const std::string patient = text_of(*merge, "patient");
  if (former.empty() || patient.empty()) return refuse(kShape);
  engine::set_field(context, block, lane, engine::FieldId::PatientId, block.keep(patient), kWhole);
  if (!block.value(lane, engine::FieldId::PatientId).known()) return refuse(kShape);
  info.kind = engine::RecordKind::Merge;
  info.former = block.keep(former);
  info.reason_origin = kWhole;
}

std::string merge_line(std::string_view former, std::string_view patient) {
  const nlohmann::ordered_json line = {{"merge", {{"former", former}, {"patient", patient}}}};
  return line.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

}  // namespace meniscus::adapters
