// The patient: identity, birth, sex, allergies, weight and height.
//
// Weight: LOINC 29463-7, 3141-9 and (for a newborn) 8339-4, else a text code that names the weight;
//         anywhere in the message, as the observation may stand in another order's group.  Of
//         several the latest by OBX-14 counts; without times they must agree.
#include <algorithm>
#include <array>
#include <vector>

#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/order_fields.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;
using engine::ListItem;
using engine::Value;

constexpr std::int64_t kNewbornDays = 28;  // neonatal period, WHO definition (from memory)

ListItem allergy(const Lane& lane, std::string_view coded) {
  const Message& m = lane.message;
  ListItem item;
  std::string_view raw = lane.name_of(coded);
  item.self = {0, engine::kNoWord, lane.text(raw), engine::State::Known};
  for (const unsigned component : {1U, 2U, 4U, 5U}) {
    const std::string_view part = m.component(coded, component);
    if (!lane.knows(FieldId::PatientAllergies, lane.text(part))) continue;
    raw = part;
    std::string ours(lane.text(part));
    const auto translated = lane.context.feed->words.find(FieldId::PatientAllergies);
    if (translated != lane.context.feed->words.end()) {
      const auto found = translated->second.find(ours);
      if (found != translated->second.end()) ours = found->second;
    }
    const engine::Vocabulary::Entry* entry =
        lane.context.program == nullptr
            ? nullptr
            : lane.context.program->vocabularies[engine::index(FieldId::PatientAllergies)].find(
                  ours);
    if (entry == nullptr) continue;
    item.self = Value::word(entry->word, entry->name);
    break;
  }
  item.written = lane.text(raw);
  item.origin = lane.origin(raw);
  return item;
}

void read_allergies(const Lane& lane) {
  const Message& m = lane.message;
  std::vector<ListItem> items;
  std::string_view none_said;
  std::string_view first;
  for (const Segment& s : m.segments()) {
    if (s.name != "AL1") continue;
    const std::string_view coded = m.repetition(m.field(s, 3), 0);
    if (trim(coded).empty()) continue;
    if (is_null(coded) || is_no_allergy(lane.text(m.component(coded, 1))) ||
        is_no_allergy(lane.text(lane.name_of(coded)))) {
      none_said = coded;
      continue;
    }
    if (first.empty()) first = coded;
    items.push_back(allergy(lane, coded));
    // A doubt, and the list with the others all the same.
    if (lane.coding.is_lost(items.back().self.text))
      lane.doubt_text(FieldId::PatientAllergies, lane.name_of(coded));
  }
  if (!items.empty()) {
    const std::uint64_t aux = lane.block.add_items(items);
    lane.block.set(lane.lane, FieldId::PatientAllergies, {0, aux, {}, engine::State::Known},
                   lane.text(first), lane.origin(first));
  } else if (!none_said.empty()) {
    lane.block.set(lane.lane, FieldId::PatientAllergies, Value::none(), lane.text(none_said),
                   lane.origin(none_said));
  }
}

enum class Measured : std::uint8_t { Nothing, Weight, BirthWeight, Height };

Measured by_name(std::string_view name) {
  const std::string word = upper(name);
  const auto has = [&](std::string_view part) { return word.find(part) != std::string::npos; };
  for (const std::string_view other : {"GAIN", "LOSS", "IDEAL", "CHANGE", "TARGET", "DIFFERENCE"})
    if (has(other)) return Measured::Nothing;
  if (has("BIRTH WEIGHT") || has("BIRTHWEIGHT")) return Measured::BirthWeight;
  if (has("WEIGHT")) return Measured::Weight;
  return has("HEIGHT") && !has("FUNDAL") ? Measured::Height : Measured::Nothing;
}

Measured measured(const Lane& lane, std::string_view coded, bool& by_text) {
  const Message& m = lane.message;
  by_text = false;
  for (const unsigned component : {1U, 4U}) {
    const std::string_view code = m.component(coded, component);
    if (code == "29463-7" || code == "3141-9") return Measured::Weight;
    if (code == "8339-4") return Measured::BirthWeight;
    if (code == "8302-2") return Measured::Height;
  }
  // A LOINC code that is none of these says what it is: its name is not read for another meaning.
  if (m.component(coded, 3) == "LN") return Measured::Nothing;
  by_text = true;
  const Measured code = by_name(m.component(coded, 1));
  return code != Measured::Nothing ? code : by_name(m.component(coded, 2));
}

/// The latest of a patient's observations of one thing.
struct Latest {
  const Segment* segment = nullptr;
  double when = 0;
  bool by_text = false;
  bool at_birth = false;
  bool several = false;  // they differ, and nothing says which is the latest
};

bool is_withdrawn(std::string_view status) {
  return status == "D" || status == "W" || status == "X" || status == "N";
}

bool says_the_same(const Message& m, const Segment& a, const Segment& b) {
  return m.field(a, 5) == m.field(b, 5) && m.field(a, 6) == m.field(b, 6);
}

void add(const Message& m, const Latest& observation, Latest& latest) {
  if (latest.segment == nullptr || observation.when > latest.when) {
    latest = observation;
  } else if (observation.when == latest.when &&
             !says_the_same(m, *observation.segment, *latest.segment)) {
    latest.several = true;
  }
}

void set_measure(const Lane& lane, FieldId field, const Latest& chosen) {
  const Message& m = lane.message;
  if (chosen.segment == nullptr) return;
  const std::string_view value = m.field(*chosen.segment, 5);
  if (chosen.several) {
    lane.doubt(field, "the message has values that differ, and no times to tell the latest by",
               value);
    return;
  }
  const Value born = lane.block.value(lane.lane, FieldId::PatientBorn);
  if (chosen.at_birth && born.known() && lane.message_date &&
      lane.message_date->day() - static_cast<std::int64_t>(born.number / 86400) > kNewbornDays) {
    lane.doubt(field, "it is the weight at birth (LOINC 8339-4), not that of today", value);
    return;
  }
  lane.set_amount(field, value, m.field(*chosen.segment, 6), chosen.by_text || chosen.at_birth);
  if (field == FieldId::PatientWeight && lane.is_known(field))
    lane.set_date(FieldId::PatientWeighed, m.first(m.field(*chosen.segment, 14), 1));
}

double seconds_of(std::string_view time) {
  if (time.empty()) return 0;
  const auto when = engine::parse_hl7_date(time);
  return when ? static_cast<double>(when->seconds) : 0;
}

void read_measures(const Lane& lane) {
  const Message& m = lane.message;
  Latest weight;
  Latest birth;
  Latest height;
  for (const Segment& s : m.segments()) {
    if (s.name != "OBX" || trim(m.field(s, 5)).empty() || is_withdrawn(m.field(s, 11))) continue;
    Latest o;
    const Measured kind = measured(lane, m.repetition(m.field(s, 3), 0), o.by_text);
    if (kind == Measured::Nothing) continue;
    o.segment = &s;
    o.when = seconds_of(m.first(m.field(s, 14), 1));
    o.at_birth = kind == Measured::BirthWeight;
    add(m, o, kind == Measured::Weight ? weight : o.at_birth ? birth : height);
  }
  set_measure(lane, FieldId::PatientWeight, weight.segment == nullptr ? birth : weight);
  set_measure(lane, FieldId::PatientHeight, height);
}

}  // namespace

std::string_view patient_number(const Message& message, std::string_view ids) {
  std::string_view chosen;
  for (unsigned n = 0;; ++n) {
    const std::string_view id = message.repetition(ids, n);
    if (id.data() == nullptr) return chosen;
    const std::string_view number = message.component(id, 1);
    if (trim(number).empty()) continue;
    if (message.component(id, 5) == "MR") return number;
    if (chosen.empty()) chosen = number;
  }
}

void read_identity(const Lane& lane, const Segment& pid) {
  const Message& m = lane.message;
  std::string_view chosen = patient_number(m, m.field(pid, 3));
  if (chosen.empty()) chosen = m.first(m.field(pid, 2), 1);
  if (chosen.empty()) chosen = m.first(m.field(pid, 4), 1);
  lane.set(FieldId::PatientId, chosen);
  lane.set_date(FieldId::PatientBorn, m.first(m.field(pid, 7), 1));
  const std::string_view sex = m.first(m.field(pid, 8), 1);
  const std::string word = upper(sex);
  if (word == "F" || word == "FEMALE") {
    lane.set_as(FieldId::PatientSex, "female", sex);
  } else if (word == "M" || word == "MALE") {
    lane.set_as(FieldId::PatientSex, "male", sex);
  } else if (word == "O" || word == "A") {
    lane.set_as(FieldId::PatientSex, "other", sex);
  }
}

void read_patient(const Lane& lane) {
  const Segment* pid = lane.message.find("PID");
  if (pid != nullptr) read_identity(lane, *pid);
  read_allergies(lane);
  read_measures(lane);
}

}  // namespace meniscus::adapters::hl7v2
