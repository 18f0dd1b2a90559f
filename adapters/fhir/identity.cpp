// What an order is called, what it asks for, and in which state it is.
//
// Dispense: is judged as the order that it fills and has its number; what becomes of a dispense
//           never ends the order.
#include "adapters/fhir/identity.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::FieldId;

std::string_view type_code(Element identifier) {
  std::string_view code;
  each(identifier["type"]["coding"], [&](Element coding) {
    if (code.empty()) code = coding["code"].text();
  });
  return code;
}

/// The identifier of a type of HL7 table 0203.
Element identifier_of(Element resource, std::string_view type) {
  Element found;
  each(resource["identifier"], [&](Element identifier) {
    if (!found.exists() && type_code(identifier) == type) found = identifier["value"];
  });
  return found;
}

/// Sets `field` to the number of the order that `reference` names; false where it names none.
bool set_number(const Lane& lane, FieldId field, Element reference) {
  const Element order = lane.resources.resolve(reference, lane.resource);
  if (const Element number = number_of(order); number.exists()) {
    lane.set(field, number);
    return true;
  }
  const Element text = reference["reference"];
  const std::string_view id = id_in_reference(text.text(), "MedicationRequest");
  if (!id.empty())
    lane.set_part(field, id, text);
  else
    lane.set(field, reference["identifier"]["value"]);
  return lane.is_known(field);
}

Element only_prescription(Element resource) {
  Element only;
  unsigned count = 0;
  each(resource["authorizingPrescription"], [&](Element reference) {
    only = reference;
    ++count;
  });
  return count == 1 ? only : Element();
}

/// The part of several instructions that hold beside one another: `rx7`, `rx7#2`, `rx7#3`.
void number_part(const Lane& lane, unsigned part) {
  if (part == 0 || !lane.is_known(FieldId::OrderId)) return;
  const std::string_view written = lane.block.written(lane.lane, FieldId::OrderId);
  const engine::Origin origin = lane.block.origin(lane.lane, FieldId::OrderId);
  const std::string number = std::string(written) + "#" + std::to_string(part + 1);
  engine::set_field(lane.context, lane.block, lane.lane, FieldId::OrderId, lane.block.keep(number),
                    origin);
}

void read_prescriber(const Lane& lane) {
  const Element requester = lane.resource["requester"];
  const Element text = requester["reference"];
  for (const std::string_view type : {"Practitioner", "PractitionerRole", "Organization"}) {
    const std::string_view id = id_in_reference(text.text(), type);
    if (!id.empty()) lane.set_part(FieldId::OrderPrescriber, id, text);
  }
  if (!lane.is_present(FieldId::OrderPrescriber))
    lane.set(FieldId::OrderPrescriber, requester["identifier"]["value"]);
}

void read_dates(const Lane& lane) {
  const Element r = lane.resource;
  switch (lane.type) {
    case OrderType::Request:
      lane.set(FieldId::OrderPlaced, r["authoredOn"]);
      return;
    case OrderType::Dispense: {
      const Element request = lane.resources.resolve(only_prescription(r), r);
      const Element handed = r["whenHandedOver"];
      lane.set(FieldId::OrderPlaced, request["authoredOn"]);
      if (!lane.is_present(FieldId::OrderPlaced))
        lane.set(FieldId::OrderPlaced, handed.exists() ? handed : r["whenPrepared"]);
      return;
    }
    case OrderType::Administration: {
      const Element at = r["effectiveDateTime"];
      lane.set(FieldId::OrderGiven, at.exists() ? at : r["effectivePeriod"]["start"]);
      return;
    }
  }
}

void read_indication(const Lane& lane) {
  Element reason;
  each(lane.resource["reasonCode"], [&](Element code) {
    if (!reason.exists()) reason = Lane::name_of(code);
  });
  lane.set(FieldId::OrderIndication, reason);
}

/// Of a MedicationRequest.
std::string read_intent(const Lane& lane, Element& where) {
  const Element forbidden = lane.resource["doNotPerform"];
  if (forbidden.is_true()) {
    where = forbidden;
    return "it asks not to give the medicine (doNotPerform)";
  }
  const Element intent = lane.resource["intent"];
  switch (intent_of(intent.text())) {
    case Intent::Order:
      break;
    case Intent::Draft:
      lane.set_as(FieldId::OrderStatus, "draft", intent);
      break;
    case Intent::Unknown:
      lane.doubt(FieldId::OrderStatus,
                 intent.exists() ? quoted(intent.text()) + " is no intent of FHIR"
                                 : "the intent is missing: whether it is an order is not known",
                 intent.exists() ? intent : lane.resource);
      break;
  }
  return {};
}

}  // namespace

Element number_of(Element resource) {
  if (!resource.exists()) return {};
  const Element placer = identifier_of(resource, "PLAC");
  if (!placer.text().empty()) return placer;
  if (!resource["id"].text().empty()) return resource["id"];
  Element chosen;
  each(resource["identifier"], [&](Element identifier) {
    const Element value = identifier["value"];
    if (value.text().empty()) return;
    if (!chosen.exists() || identifier["use"].text() == "official") chosen = value;
  });
  return chosen;
}

Element prescription_of(const Lane& lane) {
  if (lane.type != OrderType::Dispense) return {};
  const Element found = lane.resources.resolve(only_prescription(lane.resource), lane.resource);
  return found["resourceType"].text() == "MedicationRequest" ? found : Element();
}

void read_numbers(const Lane& lane, unsigned part) {
  const Element own = number_of(lane.resource);
  switch (lane.type) {
    case OrderType::Request:
      lane.set(FieldId::OrderId, own);
      lane.set(FieldId::OrderFiller, identifier_of(lane.resource, "FILL"));
      break;
    case OrderType::Dispense:
      if (set_number(lane, FieldId::OrderId, only_prescription(lane.resource)))
        lane.set(FieldId::OrderFiller, own);
      else
        lane.set(FieldId::OrderId, own);
      break;
    case OrderType::Administration:
      lane.set(FieldId::OrderId, own);
      set_number(lane, FieldId::OrderFulfils, lane.resource["request"]);
      break;
  }
  number_part(lane, part);
}

std::string read_state(const Lane& lane, Element& where) {
  read_prescriber(lane);
  read_dates(lane);
  read_indication(lane);
  const Element code = lane.resource["status"];
  const auto status = status_of(lane.type, code.text());
  if (lane.type == OrderType::Administration)
    lane.set_as(FieldId::OrderAction, "given",
                code.exists() ? code : lane.resource["resourceType"]);
  if (!status) {
    lane.doubt(
        FieldId::OrderStatus,
        code.exists() ? quoted(code.text()) + " is no status of FHIR" : "the status is missing",
        code.exists() ? code : lane.resource);
  } else {
    where = code;
    if (!status->reason.empty()) return std::string(status->reason);
    if (!status->action.empty()) lane.set_as(FieldId::OrderAction, status->action, code);
    if (!status->status.empty()) lane.set_as(FieldId::OrderStatus, status->status, code);
    if (!status->doubt.empty()) lane.doubt(FieldId::OrderStatus, std::string(status->doubt), code);
  }
  if (lane.type != OrderType::Request) return {};
  if (const Element prior = lane.resource["priorPrescription"];
      prior.exists() && !lane.is_present(FieldId::OrderAction))
    lane.set_as(FieldId::OrderAction, "change", prior["reference"]);
  return read_intent(lane, where);
}

}  // namespace meniscus::adapters::fhir
