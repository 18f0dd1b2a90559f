// Contract: see merges.hpp.
#include "adapters/hl7v2/merges.hpp"

#include <algorithm>
#include <array>

#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/order_fields.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

constexpr std::array<std::string_view, 3> kEvents = {"A40", "A34", "A18"};

void refuse(const Lane& lane, std::string_view reason, std::string_view place) {
  engine::RecordInfo& record = lane.block.record(lane.lane);
  record.kind = engine::RecordKind::Unreadable;
  record.reason = reason;
  record.reason_origin = lane.origin(place);
}

}  // namespace

bool is_merge(const Message& message) {
  const Segment* msh = message.find("MSH");
  if (msh == nullptr) return false;
  const std::string_view type = message.field(*msh, 9);
  const std::string_view event = trim(message.first(type, 2));
  return trim(message.first(type, 1)) == "ADT" &&
         std::ranges::find(kEvents, event) != kEvents.end();
}

void plan_merges(const Message& message, std::vector<MergePlan>& plans) {
  plans.clear();
  const auto& segments = message.segments();
  for (int i = 0; i < static_cast<int>(segments.size()); ++i) {
    const std::string_view name = segments[static_cast<std::size_t>(i)].name;
    if (name == "PID") plans.push_back({i, -1});
    if (name != "MRG") continue;
    if (plans.empty() || plans.back().mrg >= 0) plans.push_back({});
    plans.back().mrg = i;
  }
  if (plans.empty()) plans.push_back({});
}

void read_merge(const Lane& lane, const MergePlan& plan) {
  const Message& m = lane.message;
  const auto& segments = m.segments();
  const auto segment = [&](int at) { return &segments[static_cast<std::size_t>(at)]; };
  if (plan.pid < 0) {
    return refuse(lane, "the merge does not say whose records stay (no PID before its MRG)",
                  plan.mrg < 0 ? segments[0].name : segment(plan.mrg)->name);
  }
  const Segment& pid = *segment(plan.pid);
  read_identity(lane, pid);
  if (!lane.is_known(engine::FieldId::PatientId))
    return refuse(lane, "the merge does not say whose records stay (PID-3)", pid.name);
  if (plan.mrg < 0)
    return refuse(lane, "the merge names no former patient (no MRG after its PID)", pid.name);
  const Segment& mrg = *segment(plan.mrg);
  std::string_view former = patient_number(m, m.field(mrg, 1));
  if (trim(former).empty()) former = m.first(m.field(mrg, 4), 1);
  if (trim(former).empty() || is_null(former))
    return refuse(lane, "the merge names no former patient (MRG-1)", mrg.name);
  engine::RecordInfo& record = lane.block.record(lane.lane);
  record.kind = engine::RecordKind::Merge;
  record.former = trim(lane.text(former));
  record.reason_origin = lane.origin(former);
}

}  // namespace meniscus::adapters::hl7v2
