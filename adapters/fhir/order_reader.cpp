// Contract: see order_reader.hpp.
#include "adapters/fhir/order_reader.hpp"

#include <algorithm>
#include <set>

#include "adapters/fhir/identity.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::FieldId;
using engine::RecordKind;

/// Whether the instructions follow one another or hold beside one another.
enum class Sequence : std::uint8_t { After, Beside, NotSaid };

Sequence sequence_of(const std::vector<Element>& dosages) {
  std::set<std::string_view> numbers;
  unsigned said = 0;
  for (const Element dosage : dosages) {
    const Element number = dosage["sequence"];
    if (!number.is(JsonKind::Number)) continue;
    ++said;
    numbers.insert(number.token());
  }
  if (said != dosages.size()) return Sequence::NotSaid;
  if (numbers.size() == dosages.size()) return Sequence::After;
  return numbers.size() == 1 ? Sequence::Beside : Sequence::NotSaid;
}

std::vector<Element> dosages_of(Element resource, OrderType type) {
  std::vector<Element> dosages;
  const std::string_view key = type == OrderType::Administration ? "dosage" : "dosageInstruction";
  each(resource[key], [&](Element dosage) { dosages.push_back(dosage); });
  return dosages;
}

/// In the order that their sequence says.
void sort_steps(std::vector<Element>& dosages) {
  std::ranges::stable_sort(dosages, {}, [](Element dosage) {
    const std::string_view token = dosage["sequence"].token();
    return std::pair(token.size(), token);  // whole numbers without zeros in front
  });
}

}  // namespace

OrderReader::OrderReader(const engine::ReadContext& context)
    : context_(context), number_feed_(*context.feed), numbers_(context) {
  number_feed_.decimal = engine::DecimalMark::Point;
  numbers_.feed = &number_feed_;
  numbers_.memo = nullptr;
}

void OrderReader::refuse(RecordKind kind, std::string reason, Element where) {
  Plan& plan = plans_.emplace_back();
  plan.kind = kind;
  plan.reason = std::move(reason);
  plan.where = where;
}

void OrderReader::begin(const engine::RecordInfo& record) {
  record_ = record;
  plans_.clear();
  skipped_.clear();
  next_ = 0;
  if (!tree_.parse(record.text)) {
    refuse(RecordKind::Unreadable, "the record holds more values than are read", tree_.root());
    return;
  }
  const Element root = tree_.root();
  resources_.index(root);
  if (root["resourceType"].text() == "Bundle")
    plan_bundle(root);
  else
    plan_resource(root, false);
}

void OrderReader::plan_bundle(Element bundle) {
  // What the second of two such members hides is not known.
  const auto say_twice = [&](Element object) {
    const Element twice = tree_.twice_in(object);
    if (twice.exists())
      refuse(RecordKind::Unreadable, "the key " + quoted(twice.key()) + " stands twice", twice);
    return twice.exists();
  };
  say_twice(bundle);
  each(bundle["entry"], [&](Element entry) {
    const Element resource = entry["resource"];
    if (!entry.is(JsonKind::Object))
      refuse(RecordKind::Unreadable, "an entry of the Bundle that is no object", entry);
    else if (!say_twice(entry) && resource.exists())
      plan_resource(resource, true);
  });
  unsigned count = 0;
  std::string types;
  for (const auto& [type, number] : skipped_) {
    count += number;
    types += (types.empty() ? "" : ", ") + type + " " + std::to_string(number);
  }
  if (count > 0)
    refuse(RecordKind::Outside,
           "resources of the Bundle that are no medication orders and were not read: " + types,
           bundle);
  else if (plans_.empty())
    refuse(RecordKind::Outside, "the Bundle holds no medication order", bundle);
}

bool OrderReader::is_damaged(Element resource) {
  const Element twice = tree_.twice_within(resource);
  if (!twice.exists()) return false;
  refuse(RecordKind::Unreadable, "the key " + quoted(twice.key()) + " stands twice in the resource",
         twice);
  return true;
}

void OrderReader::plan_resource(Element resource, bool in_bundle) {
  const std::string_view type = resource["resourceType"].text();
  if (type.empty()) {
    refuse(RecordKind::Unreadable,
           resource.is(JsonKind::Object) ? "the object does not say what it is (resourceType)"
                                         : "no resource: an object is needed here",
           resource);
    return;
  }
  // What orders refer to must be as sure as they are.
  const auto order = order_type(type);
  if ((order || is_context(type)) && is_damaged(resource)) return;
  if (order) {
    plan_order(resource, *order);
  } else if (!in_bundle) {
    refuse(RecordKind::Outside, quoted(type) + " is no medication order", resource);
  } else if (!is_context(type)) {
    const auto known = std::ranges::find(skipped_, type, &std::pair<std::string, unsigned>::first);
    if (known == skipped_.end())
      skipped_.emplace_back(std::string(type), 1U);
    else
      ++known->second;
  }
}

void OrderReader::plan_order(Element resource, OrderType type) {
  Plan plan;
  plan.resource = resource;
  plan.type = type;
  plan.instructions.parts = dosages_of(resource, type);
  std::vector<Element>& parts = plan.instructions.parts;
  if (parts.size() < 2) {
    plans_.push_back(plan);
    return;
  }
  switch (sequence_of(parts)) {
    case Sequence::After:
      sort_steps(parts);
      plans_.push_back(plan);
      return;
    case Sequence::NotSaid:
      plan.instructions.doubt =
          "several dosage instructions, and their sequence does not say whether they hold beside "
          "one another or one after the other";
      plans_.push_back(plan);
      return;
    case Sequence::Beside:
      break;
  }
  for (const Element part : dosages_of(resource, type)) {
    plan.instructions.parts = {part};
    plans_.push_back(plan);
    ++plan.part;
  }
}

void OrderReader::read_next(engine::OrderBlock& block) {
  const Plan& plan = plans_[next_++];
  const unsigned lane = block.add_lane();
  engine::RecordInfo& record = block.record(lane);
  record = record_;
  record.kind = plan.kind;
  record.reason = plan.reason;
  record.reason_origin = (plan.where.exists() ? plan.where : plan.resource).origin();
  if (plan.kind == RecordKind::Order) fill(block, lane, plan);
}

void OrderReader::fill(engine::OrderBlock& block, unsigned number, const Plan& plan) {
  const Lane lane{context_,     numbers_,  block,         resources_,
                  record_.text, plan.type, plan.resource, number};
  engine::RecordInfo& record = block.record(number);
  Instructions instructions = plan.instructions;
  read_numbers(lane, plan.part);
  read_patient(lane);
  const Element request = prescription_of(lane);
  instructions.order = request.exists() ? request : plan.resource;
  if (request.exists()) compare_patient(lane, request);
  if (instructions.parts.empty() && request.exists())
    instructions.parts = dosages_of(request, OrderType::Request);
  if (instructions.parts.size() > plan.instructions.parts.size() && instructions.parts.size() > 1)
    instructions.doubt = "the prescription has several dosage instructions, the dispense has none";
  Element where = plan.resource;
  std::string reason = read_state(lane, where);
  if (reason.empty()) reason = read_place(lane, instructions, where);
  const Medicine medicine = medicine_of(lane, request.exists() ? request : plan.resource);
  if (!reason.empty()) {
    read_medicine(lane, medicine);
    record.kind = RecordKind::Outside;
    record.reason = std::move(reason);
    record.reason_origin = where.origin();
    return;
  }
  const engine::Value action = block.value(number, FieldId::OrderAction);
  const bool ends = action.known() && (action.text == "cancel" || action.text == "stop");
  if (!medicine.exists() && !ends) {
    record.kind = RecordKind::Unreadable;
    record.reason = "the order names no medicine";
    return;
  }
  read_medicine(lane, medicine);
  if (plan.type == OrderType::Dispense)
    read_supplied(lane, medicine_of(lane, plan.resource), medicine);
  read_dosage(lane, instructions);
  if (request.exists() && plan.instructions.parts.size() == 1)
    compare_prescription(lane, request, instructions.first());
  check_keys(lane, instructions, medicine.medication);
  engine::complete(context_, block, number);
  settle_medicine(lane, medicine);
}

}  // namespace meniscus::adapters::fhir
