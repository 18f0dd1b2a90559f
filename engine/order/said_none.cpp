// Contract: see said_none.hpp.
#include "engine/order/said_none.hpp"

#include <algorithm>
#include <array>

namespace meniscus::engine {

namespace {
constexpr std::array kNeverNone = {
    FieldId::OrderId,       FieldId::OrderPlaced,   FieldId::OrderGiven,    FieldId::PatientId,
    FieldId::PatientBorn,   FieldId::PatientAge,    FieldId::PatientSex,    FieldId::PatientWeight,
    FieldId::PatientHeight, FieldId::SubstanceCode, FieldId::SubstanceName, FieldId::Strength,
    FieldId::Dose,          FieldId::Volume,        FieldId::Route};
}  // namespace

bool can_be_none(FieldId field) { return std::ranges::find(kNeverNone, field) == kNeverNone.end(); }

}  // namespace meniscus::engine
